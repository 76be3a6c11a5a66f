//! The one incident of the demo: the pack that swelled on the second evening, with a cause, an action that waits, and who was told.

use super::evenings::Told;
use super::{Teller, slip};
use crate::actions::book::{self, Opening, Things};
use crate::club::book::doing::Doing;
use crate::club::book::incident::{Damage, Harm, Kind};
use crate::club::book::involved::Involved;
use crate::club::book::severity::Severity;
use crate::club::book::telling::{ActionSet, Opened, Telling, Words};
use crate::club::calendar::Instant;

fn said(text: &str) -> Words {
    Words {
        text: text.to_owned(),
        names_somebody: false,
    }
}

/// Days before and after today.
const HAPPENED: i64 = 14;
const LOOKED_INTO: i64 = 12;
const IS_DUE_IN: i64 = 10;

impl Teller<'_> {
    pub(super) async fn the_incident(&self) -> Told {
        let evening = self.quinn(self.on(HAPPENED, "21:40"));
        let opening = Opening {
            opened: swelled(self.on(HAPPENED, "20:50"), evening.at),
            things: Things {
                numbers: &["P-011".to_owned()],
                others: Words::default(),
                were_looked_at: false,
            },
            report: None,
        };
        let address = book::open(self.db, &evening, opening).await.map_err(slip)?;
        let incident = address.rsplit('/').next().unwrap_or_default();
        let later = self.quinn(self.on(LOOKED_INTO, "18:30"));
        let today = self.zone.day_of(self.now);
        let told = [
            Telling::Timeline {
                happened: self.on(HAPPENED, "21:00"),
                words: said("Put into the quarantine box outside, alone, its lid loose."),
            },
            Telling::Cause(said(
                "It was hit on its flat side in the last bout: the dent lies where it swelled. Its mount had come off.",
            )),
            Telling::ToldTo {
                whom: "The hall's caretaker".to_owned(),
                at: self.on(LOOKED_INTO, "17:00"),
                reference: String::new(),
                told_by: "Quinn".to_owned(),
            },
            Telling::ActionSet(ActionSet {
                what: said("A plate under the pack in every robot that is lent."),
                owner: "Mo Tennant".to_owned(),
                due: today.plus_days(IS_DUE_IN),
                works_if: "No dent on any pack after the next league night.".to_owned(),
                look_on: today.plus_days(IS_DUE_IN + 14),
            }),
        ];
        for telling in told {
            let told = book::tell(self.db, &later, incident, telling).await;
            told.map_err(slip)?;
        }
        Ok(())
    }
}

fn swelled(happened: Instant, told: Instant) -> Opened {
    Opened {
        kind: Kind::Swelling,
        severity: Severity {
            harm: Some(Harm::Nobody),
            damage: Damage::ItselfOnly,
            harm_could: Harm::FirstAid,
            damage_could: Damage::OtherThings,
        },
        happened,
        told,
        place: "Hall, beside the small arena".to_owned(),
        involved: Involved::default(),
        doing: Doing::InUse,
        charging_with: String::new(),
        damage: "The pack; nothing else.".to_owned(),
        emergency_services: String::new(),
        words: said("Swollen when it came out of the robot. It was cold."),
        who_was_there: String::new(),
        lent_to: String::new(),
        injuries: String::new(),
        reported: None,
    }
}
