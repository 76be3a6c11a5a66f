//! A pack or a piece of kit as it lies at the table: its row turned into what the lending rules ask for.

use crate::actions::By;
use crate::club::calendar::Instant;
use crate::club::lending::{KitAtTable, PackAtTable, Typed, is_same_number, key_of};
use crate::club::states::Life;
use crate::club::verdict::Rule;
use crate::store::lent::{self, KitRow};
use crate::store::packs::{self, PackView};
use crate::store::{Conn, Result, findings};

pub(crate) fn at_table(by: &By, pack: &PackView, spread_mv: Option<i64>) -> PackAtTable {
    let reading_days = by.limits().reading_days;
    let state = pack.state_at(by.at, reading_days);
    let why = if pack.is_by_age(by.at, reading_days) {
        "its last reading is too old.".to_owned()
    } else {
        pack.state_words.clone()
    };
    let lent = pack
        .lent_ms
        .map(|since| to_whom(by, pack.holder_name.as_deref(), since));
    let home = pack.home_id.map(|_| with_whom(by, pack));
    PackAtTable {
        home,
        number: pack.number.clone(),
        state,
        why,
        next: pack.state_next.clone(),
        lent,
        spread_mv,
    }
}

/// The pack with this label, typed with its zeros or without.
pub async fn pack_named(conn: &mut Conn, number: &str) -> Result<Option<PackView>> {
    let exact = packs::by_number(conn, number).await?;
    let Some(key) = key_of(number).filter(|_| exact.is_none()) else {
        return Ok(exact);
    };
    let all = packs::in_range(conn, (key, key), 200).await?;
    let mut same = all.into_iter();
    Ok(same.find(|pack| is_same_number(&pack.number, number)))
}

/// The one pack that is named like this in a line of what goes out.
pub async fn pack_meant(conn: &mut Conn, typed: &Typed) -> Result<Option<PackView>> {
    match typed {
        Typed::Number(number, 1) => pack_named(conn, number).await,
        Typed::Packs(from, to) if from == to => {
            let found = packs::in_range(conn, (*from, *to), 2).await?;
            Ok(<[PackView; 1]>::try_from(found).ok().map(|[pack]| pack))
        }
        _ => Ok(None),
    }
}

/// The kit with this label, typed with its zeros or without.
pub async fn kit_named(conn: &mut Conn, number: &str) -> Result<Option<KitRow>> {
    let exact = lent::kit_at_table(conn, number).await?;
    let Some(key) = key_of(number).filter(|_| exact.is_none()) else {
        return Ok(exact);
    };
    let mut all = lent::kit_numbered(conn, key).await?.into_iter();
    match all.find(|label| is_same_number(label, number)) {
        Some(label) => lent::kit_at_table(conn, &label).await,
        None => Ok(None),
    }
}

/// It counts as out, or came back unchecked: a meter alone does not see how it looks.
pub async fn is_unlooked(conn: &mut Conn, pack: &PackView) -> Result<bool> {
    let open = findings::open(conn, pack.id).await?;
    let is_unchecked = open
        .iter()
        .any(|found| found.rule() == Some(Rule::CameBackUnchecked));
    Ok(pack.is_lent() || is_unchecked)
}

/// ` with Mo Tennant`, for those who may know.
fn with_whom(by: &By, pack: &PackView) -> String {
    let name = pack
        .with_name()
        .filter(|_| by.actor.roles.may_see_holders());
    name.map_or_else(String::new, |name| format!(" with {name}"))
}

/// ` to Mo Tennant since Wed 25 Nov 2026`; the name for those who may know.
fn to_whom(by: &By, name: Option<&str>, since: Instant) -> String {
    let name = name.filter(|_| by.actor.roles.may_see_holders());
    let to = name.map_or_else(String::new, |name| format!(" to {name}"));
    format!("{to} since {}", by.zone.date_words(since))
}

pub(crate) fn kit_at_table(by: &By, kit: &KitRow) -> KitAtTable {
    KitAtTable {
        number: kit.number.clone(),
        is_counted: kit.is_counted(),
        life: Life::from_code(&kit.life).unwrap_or(Life::Retired),
        stock: kit.stock(),
        aside_words: kit.set_aside_words.clone(),
        lent: kit
            .out_since_ms
            .map(|since| to_whom(by, kit.holder_name.as_deref(), since)),
    }
}
