//! Hand out: several packs and pieces of kit on one loan, all or nothing. Every refusal is given at once, each with what
//! to do. Volts logged at the table count before the packs are asked; a pack nobody booked in is taken back on the way.

mod against;

use crate::actions::at_table::{at_table, kit_named, pack_named};
use crate::actions::care_at_table::{self, Care, joined};
use crate::actions::once::{self, Repeat};
use crate::actions::reading::Measured;
use crate::actions::standing::{self, settle_saying};
use crate::actions::volts_now::{book_in, can_volts_help, spread_that_holds, with_volts_now};
use crate::actions::{By, log};
use crate::club::calendar::Day;
use crate::club::lending::{self, Borrower, DueRefusal, HandOutRefusal, Typed};
use crate::ids;
use crate::store::care::rounds;
use crate::store::lent::{self, KitRow, Lent};
use crate::store::loans::{self, Loan};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx, nights, people};
use against::{charging_refusals, item_refusals};
use serde::Serialize;
use serde_json::json;
use uuid::Uuid;

pub struct HandOut {
    pub borrower_id: Uuid,
    pub items: Vec<Typed>,
    /// None: until the night ends, else the club's usual days.
    pub due: Option<Day>,
    pub purpose: String,
    /// Why a refusal that can be overridden is.
    pub override_reason: String,
    /// Volts read at the table just now, by pack number.
    pub volts_now: Vec<(String, Measured)>,
    /// Numbers of packs that counted as out or came back unchecked, and were looked over with nothing to see.
    pub looked_at: Vec<String>,
}

#[derive(Debug, thiserror::Error)]
pub enum HandOutFailed {
    #[error("Choose who borrows.")]
    NoPerson,
    #[error("Name at least one pack or piece of kit.")]
    Nothing,
    #[error("There is no {0}.")]
    NoItem(String),
    #[error("{0} is one thing.")]
    OneThing(String),
    #[error(transparent)]
    Due(#[from] DueRefusal),
    /// Refused: every reason; with the packs whose volts, logged now, could mend it.
    #[error("not handed out")]
    Refused {
        refusals: Vec<HandOutRefusal>,
        may_log_now: Vec<PackView>,
        is_overridable: bool,
    },
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What is to go out, each with what stands against it.
struct Chosen {
    packs: Vec<(PackView, Option<i64>)>,
    kit: Vec<(KitRow, i64)>,
}

/// The new loan's id.
pub async fn hand_out(db: &Db, by: &By, wanted: &HandOut) -> Result<Uuid, HandOutFailed> {
    let mut tx = once::begin::<HandOutFailed>(db, by).await?;
    let borrower = borrower_of(&mut tx, by, wanted.borrower_id).await?;
    let due = due_day(&mut tx, by, wanted.due).await?;
    let mut chosen = choose(&mut tx, by, &wanted.items).await?;
    let mut refusals: Vec<(HandOutRefusal, Option<i64>)> = Vec::new();
    if let Some(refusal) =
        lending::lender_refusal(by.actor, borrower.id, by.club.may_members_borrow)
    {
        refusals.push((refusal, None));
    }
    refusals.extend(lending::borrower_refusal(&borrower).map(|refusal| (refusal, None)));
    let mut forgotten = Vec::new();
    if by.actor.roles.is_quartermaster {
        let now = with_volts_now(&mut tx, by, chosen.packs, wanted).await?;
        (chosen.packs, forgotten) = (now.chosen, now.forgotten);
    }
    let of_items = item_refusals(by, &chosen);
    let care = care_at_table::weigh(&mut tx, by, &borrower, &chosen.lendable(by)).await?;
    refusals.extend(of_items);
    refusals.extend(care.refusals(by));
    refusals.extend(charging_refusals(&mut tx, &chosen).await?);
    let widest_mv = by.limits().spread_override_mv;
    let is_overridable = refusals
        .iter()
        .any(|(refusal, spread)| refusal.is_overridable(*spread, widest_mv));
    let is_for_person = refusals
        .iter()
        .any(|(refusal, _)| matches!(refusal, HandOutRefusal::InductionRanOut { .. }));
    let why = (wanted.override_reason.as_str(), widest_mv);
    let kept = lending::after_override(refusals, by.actor, &borrower, why);
    if !kept.is_empty() {
        let helped = chosen
            .packs
            .iter()
            .filter(|(pack, _)| forgotten.iter().all(|one| one.id != pack.id))
            .filter(|(pack, spread)| {
                let waits_for_volts =
                    by.actor.roles.is_quartermaster && care.waits_for_volts(pack.id);
                waits_for_volts || can_volts_help(by, pack, *spread)
            });
        let may_log_now = helped
            .map(|(pack, _)| pack.clone())
            .chain(forgotten.iter().cloned())
            .collect();
        // What the meter said is kept even when nothing is handed out: it may be a danger.
        tx.save().await?;
        return Err(HandOutFailed::Refused {
            refusals: kept,
            may_log_now,
            is_overridable,
        });
    }
    for pack in &forgotten {
        book_in(&mut tx, by, pack).await?;
    }
    let reason = wanted.override_reason.trim();
    let overridden = Overridden {
        reason,
        is_for_person,
        care_words: care.person_words(by, reason),
        care: &care,
    };
    let loan_id = open_loan(&mut tx, by, wanted, (due, &chosen, overridden)).await?;
    once::finish(tx, by, &format!("/loans/{loan_id}")).await?;
    Ok(loan_id)
}

pub(crate) async fn borrower_of(tx: &mut Tx, by: &By, id: Uuid) -> Result<Borrower, HandOutFailed> {
    let today = by.zone.day_of(by.at);
    let person = people::borrower(tx, id, today)
        .await?
        .ok_or(HandOutFailed::NoPerson)?;
    Ok(borrower_from(person))
}

pub fn borrower_from(person: people::Borrower) -> Borrower {
    Borrower {
        id: person.id,
        name: person.name,
        is_active: person.is_active,
        induction: person.induction,
        responsible_id: person.responsible_id,
    }
}

async fn due_day(tx: &mut Tx, by: &By, asked: Option<Day>) -> Result<Day, HandOutFailed> {
    let today = by.zone.day_of(by.at);
    let night = nights::on_now(tx, &by.zone, by.at)
        .await?
        .and_then(|night| night.ends_day());
    let due = asked
        .or(night)
        .unwrap_or_else(|| today.plus_days(by.club.loan_days));
    lending::due_refusal(due, today).map_or(Ok(due), |refusal| Err(refusal.into()))
}

async fn choose(tx: &mut Tx, by: &By, items: &[Typed]) -> Result<Chosen, HandOutFailed> {
    let mut chosen = Chosen {
        packs: Vec::new(),
        kit: Vec::new(),
    };
    for item in items {
        match item {
            Typed::Packs(from, to) => {
                let found = packs::in_range(tx, (*from, *to), 200).await?;
                let keys: Vec<i64> = found.iter().map(|pack| pack.number_key).collect();
                let missing = lending::missing((*from, *to), &keys);
                if !missing.is_empty() {
                    return Err(HandOutFailed::NoItem(format!("pack numbered {missing}")));
                }
                found.into_iter().for_each(|pack| chosen.add_pack(pack));
            }
            Typed::Number(number, count) => {
                choose_by_label(tx, &mut chosen, (number, *count)).await?;
            }
        }
    }
    if chosen.packs.is_empty() && chosen.kit.is_empty() {
        return Err(HandOutFailed::Nothing);
    }
    for (pack, spread) in &mut chosen.packs {
        *spread = spread_that_holds(tx, by, pack).await?;
    }
    Ok(chosen)
}

async fn choose_by_label(
    tx: &mut Tx,
    chosen: &mut Chosen,
    typed: (&str, i64),
) -> Result<(), HandOutFailed> {
    let (number, count) = typed;
    let one_thing = |number: &str| match count {
        1 => Ok(()),
        _ => Err(HandOutFailed::OneThing(number.to_owned())),
    };
    if let Some(pack) = pack_named(tx, number).await? {
        one_thing(&pack.number)?;
        chosen.add_pack(pack);
        return Ok(());
    }
    let kit = kit_named(tx, number).await?;
    let kit = kit.ok_or_else(|| HandOutFailed::NoItem(number.to_owned()))?;
    if !kit.is_counted() {
        one_thing(&kit.number)?;
    }
    chosen.add_kit(kit, count);
    Ok(())
}

/// A reason is kept where it overrode something, and nowhere else: on the packs with the spread; on everything when the
/// borrower's induction ran out.
struct Overridden<'a> {
    reason: &'a str,
    is_for_person: bool,
    /// Why somebody overdue with own storage care borrows all the same.
    care_words: Option<String>,
    care: &'a Care,
}

impl Overridden<'_> {
    fn words(&self, pack_id: Option<Uuid>, spread_mv: Option<i64>) -> Option<String> {
        let own = (spread_mv.is_some() || self.is_for_person)
            .then(|| lending::override_words(spread_mv, self.reason));
        let warning = pack_id.and_then(|id| self.care.warning(id));
        joined([own, self.care_words.clone(), warning.map(str::to_owned)])
    }
}

impl Chosen {
    /// What nothing but its spread keeps here, if anything does.
    fn lendable(&self, by: &By) -> Vec<Uuid> {
        let goes = |(pack, spread): &&(PackView, Option<i64>)| {
            let refusal = lending::pack_refusal(&at_table(by, pack, *spread));
            matches!(refusal, None | Some(HandOutRefusal::SetAside { .. }))
        };
        self.packs
            .iter()
            .filter(goes)
            .map(|(pack, _)| pack.id)
            .collect()
    }

    /// A pack named twice is one pack.
    fn add_pack(&mut self, pack: PackView) {
        if self.packs.iter().all(|(other, _)| other.id != pack.id) {
            self.packs.push((pack, None));
        }
    }

    fn add_kit(&mut self, kit: KitRow, count: i64) {
        match self.kit.iter_mut().find(|(other, _)| other.id == kit.id) {
            Some((other, counted)) if other.is_counted() => *counted += count,
            Some(_) => {}
            None => self.kit.push((kit, count)),
        }
    }
}

async fn open_loan(
    tx: &mut Tx,
    by: &By,
    wanted: &HandOut,
    what: (Day, &Chosen, Overridden<'_>),
) -> Result<Uuid, HandOutFailed> {
    let (due, chosen, overridden) = what;
    let loan = Loan {
        id: ids::new_id(),
        borrower_id: wanted.borrower_id,
        borrower_name: None,
        handed_by: by.actor.id,
        night_id: nights::on_now(tx, &by.zone, by.at)
            .await?
            .map(|night| night.id),
        due_on: due.to_string(),
        purpose: wanted.purpose.chars().take(200).collect(),
        opened_ms: by.at,
        night_place: None,
        on_duty_name: None,
    };
    loans::open(tx, &loan).await?;
    for (pack, spread) in &chosen.packs {
        let words = overridden.words(Some(pack.id), *spread);
        lend_pack(tx, by, &loan, (pack, words)).await?;
    }
    for (kit, count) in &chosen.kit {
        let counted = kit.is_counted().then_some(*count);
        let words = overridden.words(None, None);
        lend_kit(tx, by, &loan, (kit.id, counted, words)).await?;
    }
    Ok(loan.id)
}

/// What the log keeps of kit that goes out.
#[derive(Serialize)]
struct HandedOut {
    holder_id: Uuid,
    due: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
}

pub(crate) async fn lend_kit(
    tx: &mut Tx,
    by: &By,
    loan: &Loan,
    what: (Uuid, Option<i64>, Option<String>),
) -> Result<(), StoreError> {
    let (kit_id, counted, override_words) = what;
    let line = Lent {
        kit_id: Some(kit_id),
        counted,
        override_words: override_words.clone(),
        ..line(loan, by)
    };
    lent::open(tx, &line).await?;
    let now = HandedOut {
        holder_id: loan.borrower_id,
        due: loan.due_on.clone(),
        reason: override_words,
    };
    log(tx, by, "handed out", ("kit", kit_id), (&json!({}), &now)).await
}

pub(crate) async fn lend_pack(
    tx: &mut Tx,
    by: &By,
    loan: &Loan,
    what: (&PackView, Option<String>),
) -> Result<(), StoreError> {
    let (pack, override_words) = what;
    rounds::is_back_from_home(tx, pack.id, by.at).await?;
    lent::open(
        tx,
        &Lent {
            pack_id: Some(pack.id),
            override_words: override_words.clone(),
            ..line(loan, by)
        },
    )
    .await?;
    let before = PackView {
        holder_id: None,
        due_on: None,
        ..standing::reload(tx, pack.id).await?
    };
    settle_saying(tx, by, &before, ("handed out", override_words.as_deref())).await?;
    Ok(())
}

fn line(loan: &Loan, by: &By) -> Lent {
    Lent {
        id: ids::new_id(),
        loan_id: loan.id,
        pack_id: None,
        kit_id: None,
        counted: None,
        opened_ms: by.at,
        override_words: None,
        closed_ms: None,
        closed_by: None,
        outcome: None,
        aside_count: 0,
        unchecked_count: 0,
    }
}
