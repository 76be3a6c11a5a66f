//! Chargers of the Millrace club: each from the mains, with every mode, for packs of one to six cells.

use super::TestClub;
use sandbucket::bench::charger::{Charger, Input, Memory, Mode};
use sandbucket::bench::kit::{KitKind, Spec};
use sandbucket::bench::supply::Supply;
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

fn sheet(name: String, spec: Spec) -> KitSheet {
    KitSheet {
        name,
        maker: String::new(),
        notes: String::new(),
        place_id: None,
        owned_count: 1,
        spec,
    }
}

impl TestClub {
    /// So many more, numbered on from those that are there; their ids.
    pub async fn chargers(&self, count: i64) -> Vec<Uuid> {
        self.chargers_as(count, &table_charger()).await
    }

    /// The same, each fed at 24 V, and one brick for all of them.
    pub async fn chargers_on_one_brick(&self, count: i64) -> Vec<Uuid> {
        let fed = Charger {
            input: Input::Dc {
                mv_min: 11_000,
                mv_max: 26_000,
                connector: "xt60".into(),
            },
            ..table_charger()
        };
        let brick = Spec::Supply(Supply::Dc {
            mv: 24_000,
            mw: 300_000,
            connector: "xt60".into(),
        });
        let mut tx = self.app.db.write().await.expect("the turn");
        let blank = kit::numbered(ids::new_id(), (KitKind::Supply, 1), self.now());
        let brick = blank
            .with(sheet("Brick".to_owned(), brick))
            .expect("a supply");
        kit::add(&mut tx, &brick).await.expect("kit");
        tx.save().await.expect("saved");
        self.chargers_as(count, &fed).await
    }

    async fn chargers_as(&self, count: i64, as_one: &Charger) -> Vec<Uuid> {
        let there = "SELECT number FROM kit WHERE kind = 'charger'";
        let first = i64::try_from(self.find(there).await.len()).expect("a few") + 1;
        let mut added = Vec::new();
        let mut tx = self.app.db.write().await.expect("the turn");
        for key in first..first + count {
            let sheet = sheet(format!("Charger {key}"), Spec::Charger(as_one.clone()));
            let blank = kit::numbered(ids::new_id(), (KitKind::Charger, key), self.now());
            let charger = blank.with(sheet).expect("a charger");
            kit::add(&mut tx, &charger).await.expect("kit");
            added.push(charger.id);
        }
        tx.save().await.expect("saved");
        added
    }
}
