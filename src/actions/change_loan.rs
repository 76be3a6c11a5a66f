//! Extend a loan, pass a thing on it to somebody else, close it as lost. The first two run the refusals of handing out.

use crate::actions::at_table;
use crate::actions::care_at_table::{self, joined};
use crate::actions::hand_out::{self, HandOutFailed};
use crate::actions::kit_on_loan;
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{settle_because, settle_saying};
use crate::actions::volts_now::spread_that_holds;
use crate::actions::{By, log};
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Day;
use crate::club::lending::{self, Borrower, DueRefusal, HandOutRefusal, Then};
use crate::club::release::is_said;
use crate::club::sighting::{LOAN_EXTENDED, LOST};
use crate::club::states::Life;
use crate::ids;
use crate::store::kit::{self, Kit};
use crate::store::lent::{self, Lent, Outcome};
use crate::store::loans::{self, Loan};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx, nights};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ChangeRefusal {
    #[error("Only a quartermaster changes a loan.")]
    NotAQuartermaster,
    #[error("That is not out any more.")]
    NotOut,
    #[error("There is no such person.")]
    NoPerson,
    #[error("That is who has it. Choose somebody else, or extend the loan.")]
    HasIt,
    #[error("Say how it was lost, in 3 letters or more.")]
    NoReason,
    #[error(transparent)]
    Due(#[from] DueRefusal),
    #[error("{}", sentences(.refusals, *.then))]
    Lending {
        refusals: Vec<HandOutRefusal>,
        /// What was wanted.
        then: Then,
        /// A reason would do for one of them.
        is_overridable: bool,
    },
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for ChangeRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::NotOut | Self::Lending { .. } => Against::Rule,
            _ => Against::Typed,
        }
    }
}

fn sentences(refusals: &[HandOutRefusal], then: Then) -> String {
    let all: Vec<String> = refusals.iter().map(|one| one.told_at(then)).collect();
    all.join(" ")
}

impl From<HandOutFailed> for ChangeRefusal {
    fn from(failed: HandOutFailed) -> Self {
        match failed {
            HandOutFailed::Store(error) => Self::Store(error),
            HandOutFailed::Due(refusal) => Self::Due(refusal),
            _ => Self::NoPerson,
        }
    }
}

async fn begin(db: &Db, by: &By) -> Result<Tx, ChangeRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(ChangeRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

/// What stands against it, and the spread that alone sets a pack aside.
type Weighed = (HandOutRefusal, Option<i64>);

/// A pack that is out, as if it lay here.
async fn refusal_of(tx: &mut Tx, by: &By, pack: &PackView) -> Result<Option<Weighed>, StoreError> {
    let spread = spread_that_holds(tx, by, pack).await?;
    let at_table = at_table::at_table(by, &pack.as_if_here(), spread);
    Ok(lending::pack_refusal(&at_table).map(|refusal| (refusal, spread)))
}

fn refusal_of_person(borrower: &Borrower) -> Option<Weighed> {
    lending::borrower_refusal(borrower).map(|refusal| (refusal, None))
}

/// The reason where it overrides something; None where nothing stood against it.
fn overridden<'a>(
    by: &By,
    borrower: &Borrower,
    refusals: Vec<Weighed>,
    (why, then): (&'a str, Then),
) -> Result<Option<&'a str>, ChangeRefusal> {
    if refusals.is_empty() {
        return Ok(None);
    }
    let widest_mv = by.limits().spread_override_mv;
    let is_overridable = refusals
        .iter()
        .any(|(refusal, spread)| refusal.is_overridable(*spread, widest_mv));
    let kept = lending::after_override(refusals, by.actor, borrower, (why, widest_mv));
    if kept.is_empty() {
        return Ok(Some(why.trim()));
    }
    Err(ChangeRefusal::Lending {
        refusals: kept,
        then,
        is_overridable,
    })
}

/// None for a line of packs.
async fn kit_refusal(tx: &mut Tx, by: &By, line: &Lent) -> Result<Option<Weighed>, StoreError> {
    let Some(kit_id) = line.kit_id else {
        return Ok(None);
    };
    let kit = lent::kit_at_table_by_id(tx, kit_id).await?;
    let refusal = kit.and_then(|kit| {
        lending::kit_out_refusal(at_table::kit_at_table(by, &kit), line.aside_count)
    });
    Ok(refusal.map(|refusal| (refusal, None)))
}

/// A due day as the log tells it.
#[derive(Serialize)]
struct Due<'a> {
    due: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<&'a str>,
}

/// `why`: the reason that overrides a refusal; empty without one.
pub async fn extend(
    db: &Db,
    by: &By,
    loan_id: Uuid,
    (due, why): (Day, &str),
) -> Result<(), ChangeRefusal> {
    let mut tx = begin(db, by).await?;
    let loan = loans::by_id(&mut tx, loan_id)
        .await?
        .ok_or(ChangeRefusal::NotOut)?;
    let borrower = hand_out::borrower_of(&mut tx, by, loan.borrower_id).await?;
    let today = by.zone.day_of(by.at);
    if let Some(refusal) = lending::due_refusal(due, today) {
        return Err(refusal.into());
    }
    let mut refusals = Vec::from_iter(refusal_of_person(&borrower));
    let lines = lent::open_on(&mut tx, loan_id).await?;
    if lines.is_empty() {
        return Err(ChangeRefusal::NotOut);
    }
    let mut before = Vec::new();
    for pack_id in lines.iter().filter_map(|line| line.pack_id) {
        let pack = packs::by_id(&mut tx, pack_id).await?;
        before.push(pack.ok_or(ChangeRefusal::NotOut)?);
    }
    // In the order in which the loan's page lists them.
    before.sort_by_key(|pack| pack.number_key);
    for pack in &before {
        refusals.extend(refusal_of(&mut tx, by, pack).await?);
    }
    for line in &lines {
        refusals.extend(kit_refusal(&mut tx, by, line).await?);
    }
    let ids: Vec<Uuid> = before.iter().map(|pack| pack.id).collect();
    let care = care_at_table::weigh(&mut tx, by, &borrower, &ids).await?;
    refusals.extend(care.refusals(by));
    let why = overridden(by, &borrower, refusals, (why, Then::Extend))?;
    loans::set_due(&mut tx, loan_id, due).await?;
    for pack in &before {
        settle_saying(&mut tx, by, pack, (LOAN_EXTENDED, why)).await?;
    }
    for kit_id in lines.iter().filter_map(|line| line.kit_id) {
        let told = (
            &Due {
                due: loan.due_on.clone(),
                reason: None,
            },
            &Due {
                due: due.to_string(),
                reason: why,
            },
        );
        log(&mut tx, by, LOAN_EXTENDED, ("kit", kit_id), told).await?;
    }
    once::finish(tx, by, &format!("/loans/{loan_id}")).await?;
    Ok(())
}

/// What stands on a line.
enum Thing {
    Pack(Box<PackView>),
    Kit(Box<Kit>),
}

impl Thing {
    fn pack_ids(&self) -> &[Uuid] {
        match self {
            Self::Pack(pack) => std::slice::from_ref(&pack.id),
            Self::Kit(_) => &[],
        }
    }

    async fn refusal(
        &self,
        tx: &mut Tx,
        by: &By,
        line: &Lent,
    ) -> Result<Option<Weighed>, StoreError> {
        match self {
            Self::Pack(pack) => refusal_of(tx, by, pack).await,
            Self::Kit(_) => kit_refusal(tx, by, line).await,
        }
    }
}

/// Passes one thing on to somebody else, on a new loan with the same due day. Gives back the new loan's id. `why`: the
/// reason that overrides a refusal; empty without one.
pub async fn pass_on(
    db: &Db,
    by: &By,
    lent_id: Uuid,
    (to, why): (Uuid, &str),
) -> Result<Uuid, ChangeRefusal> {
    let mut tx = begin(db, by).await?;
    let (line, thing) = open_thing(&mut tx, lent_id).await?;
    let old = loans::by_id(&mut tx, line.loan_id)
        .await?
        .ok_or(ChangeRefusal::NotOut)?;
    if old.borrower_id == to {
        return Err(ChangeRefusal::HasIt);
    }
    let borrower = hand_out::borrower_of(&mut tx, by, to).await?;
    let mut refusals = Vec::from_iter(refusal_of_person(&borrower));
    let of_thing = thing.refusal(&mut tx, by, &line).await?;
    let spread = of_thing.as_ref().and_then(|(_, spread)| *spread);
    refusals.extend(of_thing);
    let care = care_at_table::weigh(&mut tx, by, &borrower, thing.pack_ids()).await?;
    refusals.extend(care.refusals(by));
    let is_for_care_alone = refusals
        .iter()
        .all(|(refusal, _)| matches!(refusal, HandOutRefusal::Care(_)));
    let why = overridden(by, &borrower, refusals, (why, Then::PassOn))?;
    let own = why.filter(|_| !is_for_care_alone);
    let words = joined([
        own.map(|why| lending::override_words(spread, why)),
        care.person_words(by, why.unwrap_or_default()),
        thing
            .pack_ids()
            .first()
            .and_then(|id| care.warning(*id))
            .map(str::to_owned),
    ]);
    let today = by.zone.day_of(by.at);
    let due = old
        .due_day()
        .filter(|due| *due >= today)
        .unwrap_or_else(|| today.plus_days(by.club.loan_days));
    lent::close(&mut tx, line.id, Outcome::PassedOn, by.actor.id, by.at).await?;
    let loan = Loan {
        id: ids::new_id(),
        borrower_id: to,
        borrower_name: None,
        handed_by: by.actor.id,
        night_id: nights::on_now(&mut tx, &by.zone, by.at)
            .await?
            .map(|night| night.id),
        due_on: due.to_string(),
        opened_ms: by.at,
        ..old
    };
    loans::open(&mut tx, &loan).await?;
    match &thing {
        Thing::Pack(pack) => hand_out::lend_pack(&mut tx, by, &loan, (pack, words)).await?,
        Thing::Kit(kit) => {
            hand_out::lend_kit(&mut tx, by, &loan, (kit.id, line.counted, words)).await?
        }
    }
    once::finish(tx, by, &format!("/loans/{}", loan.id)).await?;
    Ok(loan.id)
}

async fn open_thing(tx: &mut Tx, lent_id: Uuid) -> Result<(Lent, Thing), ChangeRefusal> {
    let line = lent::by_id(tx, lent_id)
        .await?
        .filter(|line| line.closed_ms.is_none())
        .ok_or(ChangeRefusal::NotOut)?;
    let thing = match (line.pack_id, line.kit_id) {
        (Some(id), _) => {
            let pack = packs::by_id(tx, id).await?;
            pack.map(|pack| Thing::Pack(Box::new(pack)))
        }
        (None, Some(id)) => {
            let kit = kit::by_id(tx, id).await?;
            kit.map(|kit| Thing::Kit(Box::new(kit)))
        }
        (None, None) => None,
    };
    Ok((line, thing.ok_or(ChangeRefusal::NotOut)?))
}

/// Closes a thing's line as lost; what has a number can be found again, of adapters the club owns so many fewer.
pub async fn lose(db: &Db, by: &By, lent_id: Uuid, reason: &str) -> Result<Uuid, ChangeRefusal> {
    let mut tx = begin(db, by).await?;
    if !is_said(reason) {
        return Err(ChangeRefusal::NoReason);
    }
    let because = format!("Lost on loan: {}", reason.trim());
    let (line, thing) = open_thing(&mut tx, lent_id).await?;
    lent::close(&mut tx, line.id, Outcome::Lost, by.actor.id, by.at).await?;
    match &thing {
        Thing::Pack(pack) => {
            packs::set_life(&mut tx, pack.id, Life::Lost).await?;
            settle_because(&mut tx, by, pack, (LOST, Some(&because))).await?;
        }
        Thing::Kit(kit) => {
            kit_on_loan::lost_on_loan(&mut tx, by, kit, (line.counted, &because)).await?;
        }
    }
    once::finish(tx, by, &format!("/loans/{}", line.loan_id)).await?;
    Ok(line.loan_id)
}
