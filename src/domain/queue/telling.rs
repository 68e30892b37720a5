//! Why a work order stands where it stands, in one sentence.

use super::order::{NotForYou, Watch, Why};
use crate::domain::checklist::System;
use crate::domain::machine::class_said;
use crate::words::Text;

impl Why {
    /// `class` is the machine's; `pinned_by` the name of who pinned it.
    pub fn because(&self, class: &str, pinned_by: &str) -> Text {
        let mut reasons = Vec::new();
        if self.pin.is_some() {
            reasons.push(said!("place-pinned", name = pinned_by));
        }
        reasons.push(if self.out_of_service { said!("place-out-of-service") } else { said!("place-usable") });
        if let Some(lacks) = self.lacks {
            reasons.push(said!("place-yard-lacks", short = lacks, class = class_said(class)));
            reasons.push(said!(
                "place-work-left",
                minutes = self.remaining.num_minutes() % 60,
                hours = self.remaining.num_hours()
            ));
        }
        if let Some(watch) = self.watch {
            reasons.push(match watch {
                Watch::Passed => said!("place-good-until-passed"),
                Watch::Today => said!("place-good-until-today"),
                Watch::MoreDays(days) => said!("place-good-for", days = days),
            });
        }
        reasons.push(match (self.age.num_days(), self.age.num_hours()) {
            (0, 0) => said!("place-opened-within-the-hour"),
            (0, hours) => said!("place-open-for-hours", hours = hours),
            (days, _) => said!("place-open-for-days", days = days),
        });
        Text::joined(&reasons, "; ").map(as_a_sentence)
    }
}

impl NotForYou {
    /// What somebody lacks, when that is what stands in the way.
    pub fn skills_lacking(&self) -> Option<Text> {
        let NotForYou::Lacks(skills) = self else { return None };
        let systems: Vec<System> = skills.iter().filter_map(|s| s.0.parse().ok()).collect();
        let named =
            Text::each(|lang| systems.iter().map(|s| t_in!(lang, &s.key())).collect::<Vec<_>>().join(", "));
        Some(said!("place-asks-for-skill", systems = named))
    }
}

fn as_a_sentence(reasons: &str) -> String {
    let mut letters = reasons.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use chrono::{DateTime, TimeDelta, Utc};
    use uuid::Uuid;

    use super::*;
    use crate::domain::ids::PersonId;
    use crate::domain::queue::order::{Pin, Skill};
    use crate::words::Lang;

    fn why() -> Why {
        Why {
            pin: None,
            out_of_service: true,
            lacks: None,
            remaining: TimeDelta::minutes(90),
            watch: None,
            age: TimeDelta::hours(5),
            ahead_by: None,
        }
    }

    #[test]
    fn every_place_says_why() {
        let lacks = Why { lacks: Some(1), ..why() };
        assert_eq!(
            lacks.because("quad", ""),
            "The machine is out of service; the yard is short of 1 today (quad); 1 h 30 min of work expected; open for 5 hours."
        );
        let watched =
            Why { out_of_service: false, watch: Some(Watch::MoreDays(3)), age: TimeDelta::days(2), ..why() };
        assert_eq!(
            watched.because("quad", ""),
            "The machine can be used meanwhile; good for 3 more days; open for 2 days."
        );
        let pin = Pin { rank: 1, by: PersonId(Uuid::nil()), at: DateTime::<Utc>::UNIX_EPOCH };
        let pinned = Why { pin: Some(pin), ..why() }.because("quad", "Sara");
        assert_eq!(pinned, "Pinned by Sara; the machine is out of service; open for 5 hours.");
        assert!(pinned.in_lang(Lang::Es).starts_with("Fijada por Sara; la máquina"));
    }

    #[test]
    fn what_is_lacking_is_named() {
        let lacks = NotForYou::Lacks(BTreeSet::from([Skill("brakes".into())]));
        assert_eq!(lacks.skills_lacking().unwrap(), "This work asks for somebody skilled in: brakes.");
        assert_eq!(NotForYou::OtherYard.skills_lacking(), None);
    }
}
