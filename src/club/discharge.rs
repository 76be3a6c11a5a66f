//! Whether a pack may be discharged before it is handed in: only one that is undamaged, as far as anybody saw and measured, and
//! inside its limits. Any doubt leaves it as it is, for who takes damaged packs. What else disposal asks is `disposal`.

use super::calendar::Instant;
use super::verdict::{Finding, Gravity, Rule};

/// Volts older than this do not tell that it is inside its limits: common practice, no source.
const HOURS: i64 = 24;

/// What stands against it: by which rule, how gravely, in which words.
#[derive(Clone, Debug)]
pub struct Stands {
    /// None: a rule that this program does not know.
    pub rule: Option<Rule>,
    pub gravity: Gravity,
    pub words: String,
}

/// As it is on record when it is handed in.
#[derive(Clone, Debug, Default)]
pub struct OnRecord {
    pub open: Vec<Stands>,
    /// The newest volts that nobody corrected: when, and what they come to by the limits. None: never read.
    pub read: Option<(Instant, Vec<Finding>)>,
    /// Somebody told of danger on it, and nobody said whether it was so.
    pub is_unlooked: bool,
}

impl OnRecord {
    /// Every reason not to discharge it, in whole sentences; empty: it may be. `at`: when it was handed in, or now.
    /// Undamaged only: a hobby guide to disposal; damaged or swollen not at all: a US waste authority's page.
    pub fn against_discharge(&self, at: Instant) -> Vec<String> {
        let seen = self.open.iter().filter(|one| one.speaks_of_damage());
        let mut reasons: Vec<String> = seen.map(|one| sentence(&one.words)).collect();
        match &self.read {
            None => reasons.push("Its volts were never logged.".to_owned()),
            Some((read, _)) if at.minutes_since(*read) > HOURS * 60 => {
                reasons.push(format!(
                    "Its volts were not logged in the {HOURS} hours before."
                ));
            }
            Some((_, findings)) => {
                let against = findings.iter().filter(|each| is_outside_or_unseen(each));
                reasons.extend(against.map(|each| sentence(&each.words)));
            }
        }
        if self.is_unlooked {
            reasons.push(
                "Somebody told of danger on it, and nobody said whether it was so.".to_owned(),
            );
        }
        let mut told = Vec::new();
        for reason in reasons {
            if !told.contains(&reason) {
                told.push(reason);
            }
        }
        told
    }
}

impl Stands {
    /// Worn is not damaged; whatever else holds it back may be, also what nobody looked at.
    fn speaks_of_damage(&self) -> bool {
        let is_worn = matches!(
            self.rule,
            Some(Rule::CapacityLow | Rule::ResistanceUp | Rule::ResistanceHigh)
        );
        self.gravity >= Gravity::NotKnown && !is_worn
    }
}

/// Outside a limit, or one of its cells may be and nobody can tell.
fn is_outside_or_unseen(found: &Finding) -> bool {
    let is_unseen = found.rule == Rule::SpreadNotJudged
        || found.rule == Rule::CellsNotSeen && found.gravity >= Gravity::Caution;
    found.gravity >= Gravity::ToMend || is_unseen
}

fn sentence(words: &str) -> String {
    let end = if words.ends_with(['.', '!', '?']) {
        ""
    } else {
        "."
    };
    format!("{words}{end}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::chemistry::Chemistry;
    use crate::battery::limits::LabelVolts;
    use crate::battery::pack::Build;
    use crate::battery::volts::Volts;
    use crate::club::limits::ClubLimits;
    use crate::club::reading::{Rested, judge};
    use crate::club::reports::unverified;
    use crate::club::seen::{Crash, Seen, findings};

    const READ: Instant = Instant(1_764_000_000_000);

    fn stands(found: Finding) -> Stands {
        Stands {
            rule: Some(found.rule),
            gravity: found.gravity,
            words: found.words,
        }
    }

    fn read(cells: &[i64], rested: Rested) -> Vec<Finding> {
        let build = Build {
            chemistry: Chemistry::LiPo,
            cells_series: 3,
            groups_parallel: 1,
            capacity_mah: 2_200,
            sees_cells: true,
            label: LabelVolts::default(),
        };
        judge(
            &build,
            &Volts::Cells(cells.to_vec()),
            rested,
            &ClubLimits::default(),
        )
    }

    fn quiet() -> Option<(Instant, Vec<Finding>)> {
        Some((READ, read(&[3820, 3810, 3820], Rested::AN_HOUR)))
    }

    fn against(open: Vec<Finding>, read: Option<(Instant, Vec<Finding>)>) -> Vec<String> {
        let open = open.into_iter().map(stands).collect();
        OnRecord {
            open,
            read,
            is_unlooked: false,
        }
        .against_discharge(READ.plus_hours(24))
    }

    #[test]
    fn a_whole_or_worn_pack_inside_its_limits_may_be_discharged() {
        assert_eq!(against(vec![], quiet()), [""; 0]);
        let worn = Finding::new(Rule::CapacityLow, Gravity::ToMend, "It holds half", "");
        let sister = Finding::batch_sister("P-014");
        assert_eq!(against(vec![worn, sister], quiet()), [""; 0]);
    }

    #[test]
    fn whatever_was_seen_on_it_keeps_it_from_being_discharged_and_says_what() {
        for seen in Seen::ALL {
            let found = findings(&[seen], Some(Crash::DontKnow), "rattles");
            let told = against(found.clone(), quiet());
            let words: Vec<String> = found.iter().map(|each| sentence(&each.words)).collect();
            assert_eq!(told, words, "{seen:?}");
            assert_eq!(told.is_empty(), seen == Seen::Nothing, "{seen:?}");
        }
        let swollen = findings(&[Seen::Swollen], None, "");
        let held_back = unverified(&swollen, "Swollen or puffed", true).expect("a finding");
        assert_eq!(
            held_back.gravity,
            Gravity::ToMend,
            "a stranger's second of the day"
        );
        assert!(against(vec![held_back], quiet())[0].contains("Swollen or puffed"));
        assert_eq!(
            against(vec![Finding::came_back_unchecked()], quiet()).len(),
            1
        );
        let unknown = OnRecord {
            open: vec![Stands {
                rule: None,
                gravity: Gravity::ToMend,
                words: "Dented".to_owned(),
            }],
            read: quiet(),
            is_unlooked: false,
        };
        assert_eq!(unknown.against_discharge(READ), ["Dented."]);
    }

    #[test]
    fn volts_that_lack_that_are_old_or_outside_a_limit_keep_it_from_being_discharged() {
        assert_eq!(against(vec![], None), ["Its volts were never logged."]);
        let late = OnRecord {
            open: vec![],
            read: quiet(),
            is_unlooked: false,
        };
        let told_of = OnRecord {
            is_unlooked: true,
            ..late.clone()
        };
        assert!(told_of.against_discharge(READ)[0].contains("nobody said whether it was so"));
        let old = late.against_discharge(READ.plus_hours(24).plus_minutes(1));
        assert_eq!(old, ["Its volts were not logged in the 24 hours before."]);
        for (cells, word) in [
            ([3820, 3600, 3820], "apart"),
            ([3820, 2800, 3820], "minimum"),
            ([4300, 4190, 4190], "full"),
        ] {
            let told = against(vec![], Some((READ, read(&cells, Rested::AN_HOUR))));
            assert!(
                told.iter().any(|each| each.contains(word)),
                "{cells:?}: {told:?}"
            );
        }
        let just_used = against(
            vec![],
            Some((READ, read(&[3820, 3810, 3820], Rested::JustUsed))),
        );
        assert!(just_used[0].contains("not judged"), "{just_used:?}");
        let wide = read(&[3820, 3600, 3820], Rested::AN_HOUR);
        assert_eq!(
            against(wide.clone(), Some((READ, wide))).len(),
            1,
            "told once"
        );
    }
}
