//! Charges at the demo club: two before evenings that are long over, one of tonight, and one that runs now, with the charger
//! left at more than a small pack takes. Each is planned and started as a person would, and refused as theirs would be.

use super::{Teller, slip};
use crate::actions::By;
use crate::actions::charging::{self, Chosen, Conditions, Ended, asked};
use crate::actions::condition::Looked;
use crate::battery::volts::Volts;
use crate::bench::plan::{Answer, Purpose, Warmth, plan};
use crate::club::charging::Outcome;
use crate::store::{StoreError, charges, charging_kit};
use uuid::Uuid;

/// The one on the charging table.
const CHARGER: &str = "C-01";
const WARMTH: Warmth = Warmth {
    pack_celsius: Some(20),
    room_celsius: Some(20),
    pack_is_measured: false,
};

impl Teller<'_> {
    /// Starts a charge of that pack by the plan of now; its id.
    pub(super) async fn charge(
        &self,
        by: &By,
        number: i64,
        purpose: Purpose,
    ) -> Result<Uuid, StoreError> {
        let conditions = Conditions {
            purpose,
            done_within: None,
            warmth: WARMTH,
        };
        let (one, kit) = {
            let mut conn = self.db.read().await?;
            let one = charges::to_charge(&mut conn, &format!("P-{number:03}")).await?;
            let kit = charging_kit::at_hand(&mut conn, None, None).await?;
            (one.ok_or_else(|| slip("no such pack"))?, kit)
        };
        let asked =
            asked(&one, conditions, (by.at, &by.club.limits())).ok_or_else(|| slip("no volts"))?;
        let Answer::Plans { plans, .. } = plan(&asked, &kit.hand) else {
            return Err(slip("no plan"));
        };
        let found = plans.iter().find(|plan| plan.charger.number == CHARGER);
        let best = found.ok_or_else(|| slip("that charger does not do it"))?;
        let chosen = Chosen {
            conditions,
            charger: CHARGER,
            current_ma: best.current_ma,
            mode: best.mode.code(),
            plan: &best.as_one_text(),
            watched_by: None,
        };
        let started = charging::start(self.db, by, one.pack.id, &chosen).await;
        let address = started.map_err(slip)?;
        let id = address.rsplit('/').next().and_then(|id| id.parse().ok());
        id.ok_or_else(|| slip("no charge"))
    }

    /// Ends it as the charger says: with about what was expected, and these volts of its cells.
    pub(super) async fn end_charge(
        &self,
        by: &By,
        id: Uuid,
        (outcome, cells): (Outcome, Vec<i64>),
    ) -> Result<(), StoreError> {
        let found = charges::by_id(&mut self.db.read().await?, id).await?;
        let charge = found.ok_or_else(|| slip("no such charge"))?.charge;
        let looked = Looked::default();
        let said = Ended {
            is_mah_confirmed: false,
            outcome: Some(outcome),
            moved_mah: Some(charge.least_mah.midpoint(charge.most_mah)),
            volts: Some(&Volts::Cells(cells)),
            is_confirmed: false,
            words: "",
            looked: &looked,
        };
        charging::end(self.db, by, id, &said).await.map_err(slip)?;
        Ok(())
    }
}
