"""Ordinary least squares by statsmodels, for tests/trends.rs: somebody else's arithmetic on the same series.

Reads a JSON list of {"x": [...], "y": [...], "ahead": [...]} from standard input, and answers a list of
{"intercept", "slope", "intercept_error", "slope_error", "s", "r_squared", "p", "ahead": [[expected, low, high], ...]}:
`s` is the residual standard deviation, `p` the two-sided p-value of the slope, `low` and `high` bound what one more
reading will be with 95 %.
"""

import json
import sys

import numpy as np
from statsmodels.regression.linear_model import OLS


def fitted(series):
    x, y, ahead = (np.array(series[name], dtype=float) for name in ("x", "y", "ahead"))
    line = OLS(y, np.column_stack([np.ones_like(x), x])).fit()
    bounds = line.get_prediction(np.column_stack([np.ones_like(ahead), ahead])).summary_frame(alpha=0.05)
    return {
        "intercept": line.params[0],
        "slope": line.params[1],
        "intercept_error": line.bse[0],
        "slope_error": line.bse[1],
        "s": float(np.sqrt(line.mse_resid)),
        "r_squared": line.rsquared,
        "p": line.pvalues[1],
        "ahead": bounds[["mean", "obs_ci_lower", "obs_ci_upper"]].to_numpy().tolist(),
    }


json.dump([fitted(series) for series in json.load(sys.stdin)], sys.stdout)
