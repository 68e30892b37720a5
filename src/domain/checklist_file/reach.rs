//! What no reading can reach: rules that never decide, severities that never come about, positions nobody speaks of.

use super::rules::Placed;
use super::table::Faults;
use crate::domain::checklist::Checklist;

pub(super) fn check(_checklist: &Checklist, _placed: &[Placed], _faults: &Faults) {}
