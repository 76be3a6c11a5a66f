//! Chargers of the Millrace club: each from the mains, with every mode, for packs of one to six cells.

use super::TestClub;
use sandbucket::bench::charger::{Charger, Input, Memory, Mode};
use sandbucket::bench::kit::{KitKind, Spec};
use sandbucket::club::kit::KitSheet;
use sandbucket::ids;
use sandbucket::store::kit;
use uuid::Uuid;

fn table_charger() -> Charger {
    Charger {
        chemistries: vec!["lipo".into(), "lihv".into()],
        cells_from: 1,
        cells_to: 6,
        current_min_ma: 100,
        current_max_ma: 10_000,
        current_step_ma: 100,
        charge_mw: 200_000,
        discharge_mw: 10_000,
        modes: Mode::ALL.to_vec(),
        has_mah_cutoff: true,
        has_time_cutoff: true,
        outputs: 1,
        output_connector: "xt60".into(),
        balance_connector: Some("jst-xh".into()),
        current_memory: Memory::Remembers,
        input: Input::Mains,
        fixed_through_balance: None,
        can_boost: true,
    }
}

impl TestClub {
    /// So many more, numbered on from those that are there; their ids.
    pub async fn chargers(&self, count: i64) -> Vec<Uuid> {
        let there = "SELECT number FROM kit WHERE kind = 'charger'";
        let first = i64::try_from(self.find(there).await.len()).expect("a few") + 1;
        let mut added = Vec::new();
        let mut tx = self.app.db.write().await.expect("the turn");
        for key in first..first + count {
            let sheet = KitSheet {
                name: format!("Charger {key}"),
                maker: String::new(),
                notes: String::new(),
                place_id: None,
                owned_count: 1,
                spec: Spec::Charger(table_charger()),
            };
            let blank = kit::numbered(ids::new_id(), (KitKind::Charger, key), self.now());
            let charger = blank.with(sheet).expect("a charger");
            kit::add(&mut tx, &charger).await.expect("kit");
            added.push(charger.id);
        }
        tx.save().await.expect("saved");
        added
    }
}
