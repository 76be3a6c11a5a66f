//! A pack or a piece of kit as it lies at the table: its row turned into what the lending rules ask for.

use crate::actions::By;
use crate::club::calendar::Instant;
use crate::club::lending::{self, HandOutRefusal, PackAtTable};
use crate::club::states::State;
use crate::store::lent::KitAtTable;
use crate::store::packs::PackView;

pub(crate) fn at_table(by: &By, pack: &PackView, spread_mv: Option<i64>) -> PackAtTable {
    let state = pack.state_at(by.at, by.limits().not_known_after_days);
    let stored = State::from_code(&pack.state);
    let is_by_age = state == State::NotKnown && stored != Some(State::NotKnown);
    let why = if is_by_age {
        "its last reading is too old.".to_owned()
    } else {
        pack.state_words.clone()
    };
    let lent = pack
        .lent_ms
        .map(|since| to_whom(by, pack.holder_name.as_deref(), since));
    PackAtTable {
        number: pack.number.clone(),
        state,
        why,
        next: pack.state_next.clone(),
        lent,
        spread_mv,
    }
}

/// ` to Mo Tennant since Wed 25 Nov 2026`; the name for those who may know.
fn to_whom(by: &By, name: Option<&str>, since: Instant) -> String {
    let name = name.filter(|_| by.actor.roles.may_see_holders());
    let to = name.map_or_else(String::new, |name| format!(" to {name}"));
    format!("{to} since {}", by.zone.date_words(since))
}

pub(crate) fn kit_refusal(by: &By, kit: &KitAtTable, count: i64) -> Option<HandOutRefusal> {
    let number = kit.number.clone();
    if kit.life != "in_use" {
        return Some(HandOutRefusal::Gone { number });
    }
    if let Some(why) = kit.set_aside_words.clone() {
        return Some(HandOutRefusal::KitSetAside { number, why });
    }
    if kit.is_counted() {
        return lending::count_refusal(&number, kit.owned_count, kit.out_count, count);
    }
    kit.out_since_ms.map(|since| HandOutRefusal::OnLoan {
        number,
        to: to_whom(by, kit.holder_name.as_deref(), since),
    })
}
