//! Volts logged while handing out: they count before the packs are asked, and are stored whatever becomes of the loan. A
//! pack nobody booked in is taken back on the way, once somebody looked it over: when it goes out again, or is dangerous.

use crate::actions::By;
use crate::actions::at_table::is_unlooked;
use crate::actions::hand_out::{HandOut, HandOutFailed};
use crate::actions::reading::{self, Logged, Measured};
use crate::actions::standing::{self, settle};
use crate::battery::volts::Volts;
use crate::club::lending;
use crate::club::reading::asked_first::{AskedFirst, asked_first as asked};
use crate::club::sighting::TAKEN_BACK;
use crate::club::states::State;
use crate::club::verdict::{Gravity, Rule};
use crate::store::lent::{self, Outcome};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx, findings, readings};

/// None, and nothing to override, once the volts it was read from are too old: the pack is not known besides.
pub(super) async fn spread_that_holds(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
) -> Result<Option<i64>, StoreError> {
    if pack.is_read_long_ago(by.at, by.limits().reading_days) {
        return Ok(None);
    }
    let open = findings::open(tx, pack.id).await?;
    let weighed: Vec<_> = open
        .iter()
        .map(|found| (found.rule(), found.gravity()))
        .collect();
    // The spread that set it aside: a later reading of a pack that had not rested does not make it smaller.
    let wide = open
        .iter()
        .find(|found| found.rule() == Some(Rule::SpreadWide));
    let judged = match wide.and_then(|found| found.reading_id) {
        Some(id) => readings::by_id(tx, id).await?,
        None => None,
    };
    let found_mv = judged
        .and_then(|reading| Volts::from_text(reading.volts.as_deref()?))
        .and_then(|volts| volts.spread_mv());
    let last_mv = pack.volts().and_then(|volts| volts.spread_mv());
    Ok(lending::only_spread_mv(&weighed, found_mv.max(last_mv)))
}

/// A reading taken now can mend 'not known' and a spread, and books in a pack that was forgotten. What is to mend for
/// another reason is not connected to a meter.
pub(super) fn can_volts_help(by: &By, pack: &PackView, spread_mv: Option<i64>) -> bool {
    let state = pack.state_at(by.at, by.limits().reading_days);
    by.actor.roles.is_quartermaster
        && match state {
            State::Quarantine => false,
            State::SetAside => spread_mv.is_some(),
            State::NotKnown => true,
            _ => pack.is_lent(),
        }
}

/// A pack that is to go out, and the spread that alone sets it aside.
type ChosenPack = (PackView, Option<i64>);

/// What was read, stored.
pub(super) struct ReadNow {
    /// The packs that are to go out, as they stand after it. Those nobody booked in stand as if they lay here.
    pub chosen: Vec<ChosenPack>,
    /// The same as their loan has them: it is closed when they go out.
    pub forgotten: Vec<PackView>,
}

/// Stores what was read. What was read on another pack, because it was taken off the list since, is stored too.
pub(super) async fn with_volts_now(
    tx: &mut Tx,
    by: &By,
    chosen: Vec<ChosenPack>,
    wanted: &HandOut,
) -> Result<ReadNow, StoreError> {
    let mut read = Vec::new();
    for (number, measured) in &wanted.volts_now {
        if let Some(pack) = packs::by_number(tx, number).await? {
            read.extend(read_now(tx, by, (&pack, measured), &wanted.looked_at).await?);
        }
    }
    let mut now = ReadNow {
        chosen: Vec::new(),
        forgotten: Vec::new(),
    };
    for (pack, spread) in chosen {
        let Some(after) = read.iter().find(|after| after.id == pack.id) else {
            now.chosen.push((pack, spread));
            continue;
        };
        let spread = spread_that_holds(tx, by, after).await?;
        let is_forgotten = after.is_lent() && wanted.looked_at.contains(&after.number);
        if is_forgotten {
            now.forgotten.push(after.clone());
            now.chosen.push((after.as_if_here(), spread));
        } else {
            now.chosen.push((after.clone(), spread));
        }
    }
    Ok(now)
}

/// It goes out again, so its loan was over.
pub(super) async fn book_in(tx: &mut Tx, by: &By, pack: &PackView) -> Result<(), StoreError> {
    if let Some(lent_id) = pack.lent_id {
        lent::close(tx, lent_id, Outcome::Forgotten, by.actor.id, by.at).await?;
        settle(tx, by, pack, "taken back, forgotten before").await?;
    }
    Ok(())
}

/// The pack after the reading; None, and nothing stored, while nobody looked over what has to be and it is no danger.
/// What is dangerous and lies at the table is taken back.
async fn read_now(
    tx: &mut Tx,
    by: &By,
    read: (&PackView, &Measured),
    looked_at: &[String],
) -> Result<Option<PackView>, StoreError> {
    let (pack, measured) = read;
    let is_seen = looked_at.contains(&pack.number) || !is_unlooked(tx, pack).await?;
    if !is_seen && !is_danger(by, pack, measured) {
        return Ok(None);
    }
    let volts = Logged::volts(measured, is_seen);
    let is_new = reading::take_once(tx, by, pack, volts, pack.lent_id).await?;
    let verb = match pack.lent_id {
        Some(lent_id) if is_seen && is_danger(by, pack, measured) => {
            lent::close(tx, lent_id, Outcome::Back, by.actor.id, by.at).await?;
            TAKEN_BACK
        }
        _ if !is_new => return standing::reload(tx, pack.id).await.map(Some),
        _ => "logged volts",
    };
    settle(tx, by, pack, verb).await.map(Some)
}

/// Whether the reading alone puts the pack in quarantine.
pub fn is_danger(by: &By, pack: &PackView, measured: &Measured) -> bool {
    let found = reading::verdict(by, pack, measured);
    found
        .iter()
        .any(|finding| finding.gravity >= Gravity::Danger)
}

/// What is asked about these volts before anything is stored; None once it was said that they are so.
pub fn asked_first(by: &By, pack: &PackView, measured: &Measured) -> Option<AskedFirst> {
    match measured {
        Measured::Read {
            volts,
            rested,
            is_confirmed: false,
        } => asked(&pack.build(), volts, *rested, &by.limits()),
        _ => None,
    }
}

/// Whether they are stored whatever else is wrong with the form they came with.
pub fn counts_at_once(by: &By, pack: &PackView, measured: &Measured) -> bool {
    asked_first(by, pack, measured).is_none() && is_danger(by, pack, measured)
}

/// Of a form that is refused: stores what is dangerous, and gives back the numbers of those packs.
pub async fn keep_danger(db: &Db, by: &By, wanted: &HandOut) -> Result<Vec<String>, HandOutFailed> {
    if !by.actor.roles.is_quartermaster || wanted.volts_now.is_empty() {
        return Ok(Vec::new());
    }
    let mut tx = db.write().await?;
    let mut kept = Vec::new();
    for (number, measured) in &wanted.volts_now {
        let pack = packs::by_number(&mut tx, number).await?;
        let Some(pack) = pack.filter(|pack| is_danger(by, pack, measured)) else {
            continue;
        };
        let after = read_now(&mut tx, by, (&pack, measured), &wanted.looked_at).await?;
        kept.extend(
            after
                .map(|after| after.number)
                .filter(|number| !kept.contains(number)),
        );
    }
    if !kept.is_empty() {
        tx.save().await?;
    }
    Ok(kept)
}
