//! Storage care at the demo club: an event of the last days, and the storage round after it, begun and not finished.

use super::{Teller, slip};
use crate::actions::events::{self, Wanted};
use crate::actions::rounds::{self, Began};
use crate::club::events::EventSheet;
use crate::club::lending::Typed;
use crate::store::StoreError;

/// Taken to the event; what of them is out again or to mend since is not on the round.
const TAKEN: (i64, i64) = (1, 6);

impl Teller<'_> {
    pub(super) async fn event_and_round(&self) -> Result<(), StoreError> {
        let orla = self.by(self.cast.orla, (false, false, true), self.now);
        let day = |days_ago: i64| Some(self.zone.day_of(self.now).plus_days(-days_ago));
        let wanted = Wanted {
            sheet: EventSheet {
                name: "Autumn Bouts".to_owned(),
                place: "Weir Street hall".to_owned(),
                first_on: day(2),
                last_on: day(1),
            },
            packs: vec![Typed::Packs(TAKEN.0, TAKEN.1)],
        };
        let made = events::make(self.db, &orla, &wanted).await.map_err(slip)?;
        let address = made.split('?').next().unwrap_or_default();
        let event_id = address.rsplit('/').next().and_then(|id| id.parse().ok());
        let began = Began {
            name: String::new(),
            packs: Vec::new(),
            event_id,
            place_id: None,
        };
        let quinn = self.quinn(self.now);
        rounds::open(self.db, &quinn, &began).await.map_err(slip)?;
        Ok(())
    }
}
