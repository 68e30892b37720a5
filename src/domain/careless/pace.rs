//! Time per answer against the machine's own history.

use chrono::{DateTime, Utc};

use super::{Looked, SeenCheck, Sign, count, median};
use crate::domain::unit::Figure;

/// Earlier timed checks with the same checklist: with fewer a median says little. Our own cautious choice.
pub(super) const FEWEST: usize = 8;
/// Scaled median deviations below the median; 3.5 is the usual bound for an outlier (Iglewicz and Hoaglin 1993; from
/// memory).
pub(super) const FAR: f64 = 3.5;
/// What makes the median deviation of normal figures their standard deviation: 1 / 0.6745.
const SCALE: f64 = 1.4826;
/// People who always take the same time to the second are still allowed a tenth.
const LEAST_SPREAD: f64 = 0.1;

/// On the logarithm: twice as quick is as odd as half as quick, whatever the machine's usual time is.
pub(super) fn look(checks: &[SeenCheck], from: DateTime<Utc>, looked: &mut Looked) {
    // Of the newest check: what could not be said of earlier ones is no matter now.
    let mut thin: Option<usize> = None;
    for (i, check) in checks.iter().enumerate().filter(|(_, c)| c.recorded_at >= from) {
        let Some(pace) = pace(check) else { continue };
        let mut logs: Vec<f64> = checks[..i]
            .iter()
            .filter(|c| c.checklist == check.checklist && c.items == check.items)
            .filter_map(self::pace)
            .map(f64::ln)
            .collect();
        if logs.len() < FEWEST {
            thin = Some(logs.len());
            continue;
        }
        thin = None;
        let n = logs.len();
        let Some(middle) = median(&mut logs) else { continue };
        let mut apart: Vec<f64> = logs.iter().map(|l| (l - middle).abs()).collect();
        let spread = (SCALE * median(&mut apart).unwrap_or_default()).max(LEAST_SPREAD);
        let usual = middle.exp();
        if pace * 2.0 >= usual - 1e-9 || (middle - pace.ln()) / spread <= FAR {
            continue;
        }
        let sentence = said!(
            "careless-quick",
            pace = Figure(format!("{pace:.1}")),
            items = check.items,
            usual = Figure(format!("{usual:.1}")),
            count = n
        );
        looked.add(check, Sign::Quick, sentence);
    }
    if let Some(n) = thin {
        looked.leave(Sign::Quick, said!("careless-thin-quick", count = n, fewest = FEWEST));
    }
}

/// Seconds per answer. A check finished in no time at all still took a moment.
fn pace(check: &SeenCheck) -> Option<f64> {
    let taken = check.time_taken()?;
    #[expect(clippy::cast_precision_loss, reason = "less than a day of milliseconds")]
    let seconds = (taken.num_milliseconds().max(100)) as f64 / 1000.0;
    (check.items > 0).then(|| seconds / count(check.items))
}
