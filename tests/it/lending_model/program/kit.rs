//! The model's acts with kit, in the program.

use super::{Evening, looked, named, named_change};
use crate::pool::{ADAPTERS, Act, Seen, Way};
use crate::support::*;
use sandbucket::actions::bring_back::Brought;
use sandbucket::actions::errand::Errand;
use sandbucket::actions::see_to_kit::{LookedOver, Mended};
use sandbucket::actions::take_back::LookedAt;
use sandbucket::actions::{By, bring_back, change_loan, keep_kit, see_to_kit, take_back};
use sandbucket::bench::chain::Adapter;
use sandbucket::bench::charger::{Charger, Input, Memory, Mode};
use sandbucket::bench::kit::Spec;
use sandbucket::club::kit::KitSheet;
use sandbucket::club::lending::Typed;
use sandbucket::club::states::Life;
use sandbucket::store::kit;
use sandbucket::store::loans::Out;
use uuid::Uuid;

/// A new charger, and new adapters.
pub async fn bought(club: &TestClub, by: &By) -> [Uuid; 2] {
    let charger = Spec::Charger(Charger {
        chemistries: vec!["lipo".to_owned()],
        cells_from: 1,
        cells_to: 6,
        current_min_ma: 100,
        current_max_ma: 10_000,
        current_step_ma: 100,
        charge_mw: 120_000,
        discharge_mw: 5_000,
        modes: vec![Mode::Balance, Mode::Storage],
        has_mah_cutoff: true,
        has_time_cutoff: true,
        outputs: 1,
        output_connector: "xt60".to_owned(),
        balance_connector: Some("jst-xh".to_owned()),
        current_memory: Memory::Remembers,
        input: Input::Mains,
        fixed_through_balance: None,
        can_boost: false,
    });
    let adapters = Spec::Adapter(Adapter {
        from: "xt60".to_owned(),
        to: "xt30".to_owned(),
        rated_ma: 12_000,
    });
    let mut ids = [Uuid::nil(); 2];
    for (id, (spec, owned_count)) in ids.iter_mut().zip([(charger, 1), (adapters, ADAPTERS)]) {
        let sheet = KitSheet {
            name: String::new(),
            maker: String::new(),
            notes: String::new(),
            place_id: None,
            owned_count,
            spec,
        };
        let address = keep_kit::add_kit(&club.app.db, by, sheet)
            .await
            .expect("kit");
        let text = address.trim_start_matches("/kit/").split('?').next();
        *id = text.and_then(|text| text.parse().ok()).expect("an id");
    }
    ids
}

const fn wrong(is_broken: bool) -> &'static str {
    if is_broken { "a bent pin" } else { "" }
}

impl Evening<'_> {
    async fn kit_of(&self, id: Uuid) -> kit::Kit {
        let mut conn = self.club.app.db.read().await.expect("a connection");
        kit::by_id(&mut conn, id).await.expect("kit").expect("it")
    }

    pub(super) async fn kit_typed(&self, charger: bool, adapters: i64) -> Vec<Typed> {
        let mut typed = Vec::new();
        for (id, count) in self.kit.into_iter().zip([i64::from(charger), adapters]) {
            if count > 0 {
                typed.push(Typed::Number(self.kit_of(id).await.number, count));
            }
        }
        typed
    }

    async fn kit_line(&self, kit: usize, back: usize) -> Uuid {
        self.line_of("kit_id", self.kit[kit], back).await
    }

    /// As the model tells it; `out` is everything that is out, with its terms in words.
    pub(super) async fn kit_told(&self, id: Uuid, out: &[(String, Out)]) -> String {
        let kit = self.kit_of(id).await;
        let open = out.iter().filter(|(_, one)| one.kit_id == Some(id));
        let mut lines: Vec<String> = open
            .map(|(terms, one)| format!("{} {terms}", one.counted.unwrap_or(1)))
            .collect();
        lines.sort();
        format!(
            "{} {} aside {} unchecked {}: {}",
            kit.life,
            kit.owned_count,
            kit.aside_count,
            kit.unchecked_count,
            lines.join("; ")
        )
    }

    pub(super) async fn act_with_kit(&self, act: &Act) -> String {
        let db = &self.club.app.db;
        // Kit is looked after by quartermasters only; the table of routes sees to that.
        let quinn = self.by(0);
        match *act {
            Act::KitBack {
                by,
                kit,
                back,
                counted,
                is_broken,
                to_mend,
            } => {
                let one = LookedAt {
                    lent_id: self.kit_line(kit, back).await,
                    is_here: true,
                    looked: looked(Seen::Nothing),
                    kit_words: wrong(is_broken).to_owned(),
                    counted,
                    to_mend,
                };
                let line = one.lent_id;
                match take_back::look(db, &self.by(by), &[one], &Errand::default()).await {
                    Ok(errand) if errand.was_back(line) => "NotOut".to_owned(),
                    outcome => named(outcome),
                }
            }
            Act::KitReopen { by, kit, back } => {
                let line = self.kit_line(kit, back).await;
                named(take_back::reopen(db, &self.by(by), line).await)
            }
            Act::KitHome {
                by,
                kit,
                back,
                counted,
                is_broken,
            } => {
                let line = self.kit_line(kit, back).await;
                let brought = Brought {
                    looked: looked(Seen::Nothing),
                    kit_words: wrong(is_broken),
                    counted,
                };
                named(bring_back::bring_back(db, &self.by(by), line, &brought).await)
            }
            Act::KitLookOver {
                kit,
                is_broken,
                counted,
            } => {
                let said = LookedOver {
                    wrong: wrong(is_broken),
                    count: counted,
                    shown: None,
                };
                named(see_to_kit::look_over(db, &quinn, self.kit[kit], said).await)
            }
            Act::KitLose { by, kit, back } => {
                let line = self.kit_line(kit, back).await;
                named(change_loan::lose(db, &self.by(by), line, "in the river").await)
            }
            Act::KitPassOn { by, kit, back, to } => {
                let (line, to) = (self.kit_line(kit, back).await, self.people[to].actor.id);
                named_change(change_loan::pass_on(db, &self.by(by), line, (to, "")).await)
            }
            Act::KitAside { kit, counted } => {
                let said = (wrong(true), counted);
                named(see_to_kit::set_aside(db, &quinn, self.kit[kit], said).await)
            }
            Act::KitMend {
                kit,
                counted,
                is_thrown_away,
            } => {
                let mended = Mended {
                    words: "a new plug",
                    count: counted,
                    is_thrown_away,
                    shown: None,
                };
                named(see_to_kit::mend(db, &quinn, self.kit[kit], mended).await)
            }
            Act::KitCount { kit, owned } => {
                named(keep_kit::count_adapters(db, &quinn, self.kit[kit], owned).await)
            }
            Act::KitLeave { kit, way } => {
                let next = match way {
                    Way::Retire => Life::Retired,
                    Way::GiveAway => Life::GivenAway,
                    Way::Withdraw => Life::Withdrawn,
                    Way::Lose => Life::Lost,
                    Way::Find => Life::InUse,
                };
                named(see_to_kit::end_life(db, &quinn, self.kit[kit], next, "so it is").await)
            }
            _ => panic!("{act:?} is no act with kit"),
        }
    }
}
