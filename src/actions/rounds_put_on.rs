//! What is put on a storage round: packs by number, an event's list, all that lies at a place. What is on another open round, out, at
//! somebody's home or in quarantine is left out and named; what was read since it is back keeps its volts.

use crate::actions::rounds::{Began, RoundRefusal, all_of};
use crate::actions::standing::{self, Change};
use crate::actions::{self, By};
use crate::club::events::MOST_PACKS;
use crate::club::lending::{Typed, in_ranges};
use crate::club::states::Life;
use crate::club::storage_round::back_from;
use crate::store::Tx;
use crate::store::care::rounds::{self, WasOn};
use crate::store::care::{self, events};
use crate::store::packs::{self, PackView};
use uuid::Uuid;

/// Numbers of what was not put on the round, with the open round that it is on.
#[derive(Default)]
pub(super) struct LeftOut {
    lent: Vec<String>,
    home: Vec<String>,
    quarantined: Vec<String>,
    /// Lost, retired or gone.
    gone: Vec<String>,
    on_other: Vec<(String, Uuid)>,
}

impl LeftOut {
    fn first_round(&self) -> Option<Uuid> {
        self.on_other.first().map(|(_, id)| *id)
    }

    /// For the page that tells it: `&lent=P-007&other=<round>.P-006.P-008`; a `~` before the next round.
    pub(super) fn in_address(&self) -> String {
        let part = |name: &str, all: &[String]| match all {
            [] => String::new(),
            all => format!("&{name}={}", all.join(".")),
        };
        let mut rounds: Vec<Uuid> = self.on_other.iter().map(|(_, id)| *id).collect();
        rounds.sort_unstable();
        rounds.dedup();
        let other: Vec<String> = rounds.iter().map(|id| self.of_round(*id)).collect();
        let others = match other.is_empty() {
            true => String::new(),
            false => format!("&other={}", other.join("~")),
        };
        format!(
            "{}{}{}{}{others}",
            part("lent", &self.lent),
            part("home", &self.home),
            part("quarantine", &self.quarantined),
            part("gone", &self.gone)
        )
    }

    fn of_round(&self, id: Uuid) -> String {
        let on_it = self.on_other.iter().filter(|(_, other)| *other == id);
        let numbers: Vec<&str> = on_it.map(|(number, _)| number.as_str()).collect();
        format!("{id}.{}", numbers.join("."))
    }

    fn words(&self) -> String {
        let on_other: Vec<String> = self
            .on_other
            .iter()
            .map(|(number, _)| number.clone())
            .collect();
        let parts = [
            (&on_other, "on another open round"),
            (&self.lent, "on a loan"),
            (&self.home, "at somebody's home"),
            (&self.quarantined, "in quarantine"),
            (&self.gone, "lost, retired or gone"),
        ];
        let said = parts.into_iter().filter(|(numbers, _)| !numbers.is_empty());
        let said = said.map(|(numbers, what)| {
            let is = if numbers.len() == 1 { "is" } else { "are" };
            format!("{} {is} {what}", numbers.join(", "))
        });
        said.collect::<Vec<_>>().join("; ")
    }
}

/// Each pack once, with what is out and was not typed; and what the event is called.
pub(super) async fn came_back(
    tx: &mut Tx,
    began: &Began,
) -> Result<(Vec<PackView>, LeftOut, Option<String>), RoundRefusal> {
    let typed = named(tx, &began.packs).await;
    let event = match began.event_id {
        Some(id) => events::by_id(tx, id).await?.map(Some),
        None => Some(None),
    };
    let event = event.ok_or(RoundRefusal::NoEvent);
    let (mut found, event) = match (typed, event) {
        (Ok(found), Ok(event)) => (found, event),
        (typed, event) => return Err(all_of([typed.err(), event.err()])),
    };
    let mut name = None;
    if let Some(event) = event {
        for number in event.numbers() {
            found.extend(packs::by_number(tx, &number).await?);
        }
        name = Some(event.name);
    }
    if let Some(id) = began.place_id {
        let lying = packs::lying_at(tx, id).await?.into_iter();
        found.extend(lying.filter(|pack| pack.life() == Life::InUse));
    }
    found.sort_by_key(|pack| (pack.number_key, pack.number.clone()));
    found.dedup_by_key(|pack| pack.id);
    if found.is_empty() {
        return Err(match (began.event_id, began.place_id) {
            (Some(_), _) => RoundRefusal::NothingOfEvent,
            (None, Some(_)) => RoundRefusal::NothingThere,
            (None, None) => RoundRefusal::Nothing,
        });
    }
    let is_typed = |pack: &PackView| began.packs.iter().any(|one| one.names(&pack.number, true));
    let out = |pack: &mut PackView| pack.is_lent() && !is_typed(pack);
    let lent = found.extract_if(.., out).map(|pack| pack.number).collect();
    let left = LeftOut {
        lent,
        ..LeftOut::default()
    };
    Ok((found, left, name))
}

pub(super) async fn named(tx: &mut Tx, typed: &[Typed]) -> Result<Vec<PackView>, RoundRefusal> {
    let keys: Vec<i64> = typed.iter().flat_map(Typed::keys).collect();
    if keys.len() > MOST_PACKS {
        return Err(RoundRefusal::TooMany);
    }
    let mut found = packs::with_keys(tx, &keys).await?;
    let mut missing = Vec::new();
    for one in typed {
        for key in one.keys() {
            let is_it = |pack: &PackView| pack.number_key == key && one.names(&pack.number, true);
            if !found.iter().any(is_it) {
                missing.push(match one {
                    Typed::Packs(..) => key.to_string(),
                    Typed::Number(number, _) => number.clone(),
                });
            }
        }
    }
    if !missing.is_empty() {
        return Err(RoundRefusal::NoPack(missing.join(", ")));
    }
    found.retain(|pack| typed.iter().any(|one| one.names(&pack.number, true)));
    Ok(found)
}

/// Puts them on the round. `left`: what is left out already.
pub(super) async fn put_on(
    tx: &mut Tx,
    by: &By,
    id: Uuid,
    (mut found, mut left): (Vec<PackView>, LeftOut),
) -> Result<LeftOut, RoundRefusal> {
    if found.len() > MOST_PACKS {
        return Err(RoundRefusal::TooMany);
    }
    let lent: Vec<&PackView> = found.iter().filter(|pack| pack.is_lent()).collect();
    if !lent.is_empty() {
        let numbers = in_ranges(lent.iter().map(|pack| pack.number_key));
        let is = if lent.len() == 1 { "is" } else { "are" };
        return Err(RoundRefusal::Lent(format!("{numbers} {is}")));
    }
    // Nothing is logged on it.
    let gone = found.extract_if(.., |pack| pack.life() != Life::InUse);
    left.gone = gone.map(|pack| pack.number).collect();
    let home = found.extract_if(.., |pack| pack.is_at_home());
    left.home = home.map(|pack| pack.number).collect();
    let ids: Vec<Uuid> = found.iter().map(|pack| pack.id).collect();
    let rounds = rounds::rounds_of(tx, &ids).await?;
    let open_of = |pack: &PackView| {
        let mut on = rounds.iter().filter(|on| on.pack_id == pack.id);
        on.find_map(|on| on.open_id)
    };
    // On this one it stays as it is.
    found.retain(|pack| open_of(pack) != Some(id));
    // Nobody is sent to it with a meter, nor with a charger.
    let quarantined = found.extract_if(.., |pack| pack.is_quarantined());
    left.quarantined = quarantined.map(|pack| pack.number).collect();
    let on_other = found.extract_if(.., |pack| open_of(pack).is_some());
    left.on_other = on_other
        .filter_map(|pack| open_of(&pack).map(|id| (pack.number, id)))
        .collect();
    if found.is_empty() && !left.words().is_empty() {
        return Err(RoundRefusal::AllLeftOut(left.words(), left.first_round()));
    }
    for pack in &found {
        put_one_on(tx, by, id, (pack, &rounds)).await?;
    }
    Ok(left)
}

async fn put_one_on(
    tx: &mut Tx,
    by: &By,
    id: Uuid,
    (pack, rounds): (&PackView, &[WasOn]),
) -> Result<(), RoundRefusal> {
    let last = rounds.iter().find(|on| on.pack_id == pack.id);
    let one = care::by_id(tx, pack.id).await?;
    let on_record = one.map(|one| one.on_record(&by.limits(), by.at));
    let from = on_record.map_or(by.at, |on_record| {
        back_from(&on_record, last.map(|on| on.added_ms), by.at)
    });
    rounds::add(tx, id, pack.id, from).await?;
    // Its volts are those of the round: what stood before them has the round in it.
    if from < by.at {
        actions::care::anew(tx, by, pack.id).await?;
    }
    let change = Change {
        verb: match from == by.at {
            true => "came back, not looked at",
            false => "put on a storage round, read before",
        },
        ..Change::default()
    };
    standing::settle_as(tx, by, pack, change).await?;
    Ok(())
}
