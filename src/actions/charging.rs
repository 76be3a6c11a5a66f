//! A charge is started from its plan, read back again after a power cut, and ended. What may be set is asked anew inside the
//! turn to write: a plan that somebody looked at a minute ago may not hold any more.

use crate::actions::condition::Looked;
use crate::actions::once;
use crate::actions::reading::{self, Logged, Measured};
use crate::actions::standing::{self, Change};
use crate::actions::volts_now::{asked_first, is_danger};
use crate::actions::{By, log, report};
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::Volts;
use crate::bench::plan::{Answer, Plan, Purpose, plan};
use crate::bench::typed::Words;
use crate::club::besides::set_aside_words;
use crate::club::calendar::Instant;
use crate::club::charging::{self, Moved, NoSettings, Outcome, too_much_for_time};
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;
use crate::club::reading::beside::{Beside, Charge as Moving, Context};
use crate::club::states;
use crate::club::verdict::{Finding, Rule};
use crate::ids;
use crate::store::charges::{self, Charge, End, Listed, ToCharge};
use crate::store::charging_kit::{self, ChargingKit};
use crate::store::packs::PackView;
use crate::store::{Db, Tx, packs};
use uuid::Uuid;

pub mod hand_over;
mod question;
mod refusal;
pub use question::{Conditions, asked, may_plan, of_pack};
pub use refusal::ChargeRefusal;

/// The most letters of what was seen.
pub const MOST_LETTERS: usize = 300;
/// No pack of a club takes more.
pub const MOST_MAH: i64 = 1_000_000;

/// The plan that a person read: which charger, and what it was to be set to.
#[derive(Clone, Debug)]
pub struct Chosen<'a> {
    pub conditions: Conditions,
    pub charger: &'a str,
    pub current_ma: i64,
    pub mode: &'a str,
    /// All of it, as the card carried it on (`Plan::as_one_text`).
    pub plan: &'a str,
    /// None: whoever starts it.
    pub watched_by: Option<Uuid>,
}

/// Starts a charge as planned; gives back where its page is.
pub async fn start(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    chosen: &Chosen<'_>,
) -> Result<String, ChargeRefusal> {
    let mut tx = once::begin::<ChargeRefusal>(db, by).await?;
    let watched_by = chosen.watched_by.unwrap_or(by.actor.id);
    if watched_by != by.actor.id && !by.actor.roles.is_quartermaster {
        return Err(ChargeRefusal::NotYourTurn);
    }
    let one = charges::to_charge_by_id(&mut tx, pack_id)
        .await?
        .ok_or(ChargeRefusal::NoPack)?;
    let limits = by.club.limits();
    may_plan(&one, by.at, &limits)?;
    let is_measured = chosen.conditions.warmth.pack_is_measured;
    if one.lies_until(by.at).is_some() && !is_measured {
        return Err(ChargeRefusal::StraightFromUse);
    }
    if watched_by != by.actor.id {
        hand_over::may_watch(&mut tx, by, watched_by).await?;
    }
    let kit = charging_kit::at_hand(&mut tx, None, None).await?;
    let plan = as_read(&one, chosen, (by.at, &limits), &kit).ok_or(ChargeRefusal::Changed)?;
    if !plan.is_attended(chosen.conditions.purpose) {
        return Err(ChargeRefusal::NobodyThere);
    }
    let charge =
        charge_of(by, &one, (&plan, chosen, watched_by), &kit).ok_or(ChargeRefusal::Changed)?;
    charges::add(&mut tx, &charge).await?;
    let about = format!(
        "{}, {}, {}",
        plan.charger.number,
        chosen.mode,
        Words::POINT.amps(plan.current_ma)
    );
    settle(&mut tx, by, &one.pack, ("charge started", &about)).await?;
    let answer = format!("/charges/{}", charge.id);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// What was read is still the plan.
fn as_read(
    one: &ToCharge,
    chosen: &Chosen,
    (now, limits): (Instant, &ClubLimits),
    kit: &ChargingKit,
) -> Option<Plan> {
    let asked = asked(one, chosen.conditions, (now, limits))?;
    let Answer::Plans { plans, .. } = plan(&asked, &kit.hand) else {
        return None;
    };
    plans.into_iter().find(|plan| {
        plan.charger.number == chosen.charger
            && plan.current_ma == chosen.current_ma
            && plan.mode.code() == chosen.mode
            && plan.as_one_text() == chosen.plan
    })
}

/// Every code of a purpose.
pub const PURPOSES: [&str; 4] = ["ready_by", "no_hurry", "storage", "empty"];

pub const fn purpose_code(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::ReadyBy { .. } => "ready_by",
        Purpose::NoHurry { .. } => "no_hurry",
        Purpose::Storage => "storage",
        Purpose::Empty => "empty",
    }
}

fn charge_of(
    by: &By,
    one: &ToCharge,
    (plan, chosen, watched_by): (&Plan, &Chosen, Uuid),
    kit: &ChargingKit,
) -> Option<Charge> {
    let id_of = |number: &str| kit.ids.get(number).copied();
    let source = plan.feed.source.as_ref();
    let adapter = |index: usize| {
        let adapter = plan.chain.adapters.get(index)?;
        id_of(&adapter.number)
    };
    Some(Charge {
        id: ids::new_id(),
        pack_id: one.pack.id,
        charger_id: id_of(&plan.charger.number)?,
        output: plan.output,
        supply_id: source.and_then(|source| id_of(&source.supply.number)),
        supply_port: source.and_then(|source| i64::try_from(source.port?).ok()),
        cable_id: source.and_then(|source| id_of(&source.cable.as_ref()?.number)),
        adapter_near: adapter(0),
        adapter_far: adapter(1),
        mode: plan.mode.code().to_owned(),
        is_balanced: plan.is_balanced,
        purpose: purpose_code(chosen.conditions.purpose).to_owned(),
        current_ma: plan.current_ma,
        target_mv: plan.target_mv,
        least_minutes: plan.course.least_minutes,
        most_minutes: plan.course.most_minutes,
        least_mah: plan.course.least_mah,
        most_mah: plan.course.most_mah,
        cutoff_mah: plan.cutoff_mah,
        cutoff_minutes: plan.cutoff_minutes,
        drawn_mw: plan.drawn_mw,
        started_ms: by.at,
        started_by: by.actor.id,
        watched_by,
        watched_ms: None,
        handed_count: 0,
        read_back_ms: None,
        ended_ms: None,
        outcome: None,
        moved_mah: None,
        end_words: None,
    })
}

async fn settle(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    (verb, about): (&str, &str),
) -> Result<PackView, ChargeRefusal> {
    let change = Change {
        verb,
        about: Some(about),
        ..Change::default()
    };
    Ok(standing::settle_as(tx, by, pack, change).await?)
}

async fn running(tx: &mut Tx, id: Uuid) -> Result<Listed, ChargeRefusal> {
    let one = charges::by_id(tx, id)
        .await?
        .ok_or(ChargeRefusal::NoCharge)?;
    if one.charge.ended_ms.is_some() {
        return Err(ChargeRefusal::Ended);
    }
    Ok(one)
}

/// The power was cut, and somebody read the settings back before it went on.
pub async fn read_back(db: &Db, by: &By, id: Uuid) -> Result<String, ChargeRefusal> {
    let mut tx = once::begin::<ChargeRefusal>(db, by).await?;
    let one = running(&mut tx, id).await?;
    if let Some((number, why)) = one.set_aside().first() {
        return Err(ChargeRefusal::SetAside(set_aside_words(number, why)));
    }
    if one.must_stop() {
        return Err(NoSettings::State(one.pack_state().label()).into());
    }
    charges::note_read_back(&mut tx, id, by.at).await?;
    let about = ("pack", one.charge.pack_id);
    let said = format!("{} after a power cut", one.charger_number);
    log(
        &mut tx,
        by,
        "settings read back again",
        about,
        (&None::<()>, &said),
    )
    .await?;
    let answer = format!("/charges/{id}");
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// What a person says when it ends.
#[derive(Clone, Debug)]
pub struct Ended<'a> {
    pub outcome: Option<Outcome>,
    pub moved_mah: Option<i64>,
    /// The charger really shows it, whatever may be in the time.
    pub is_mah_confirmed: bool,
    pub volts: Option<&'a Volts>,
    /// The meter really shows them, whatever one would expect.
    pub is_confirmed: bool,
    pub words: &'a str,
    /// What was seen on the pack itself.
    pub looked: &'a Looked,
}

/// Ends it: what it moved, the volts after it, what was seen. Whoever is there may end it.
pub async fn end(db: &Db, by: &By, id: Uuid, said: &Ended<'_>) -> Result<String, ChargeRefusal> {
    let outcome = said.outcome.ok_or(ChargeRefusal::NoOutcome)?;
    let words = said.words.trim();
    if words.chars().count() > MOST_LETTERS || outcome == Outcome::Wrong && words.is_empty() {
        return Err(ChargeRefusal::Unsaid);
    }
    if said
        .moved_mah
        .is_some_and(|mah| !(0..=MOST_MAH).contains(&mah))
    {
        return Err(ChargeRefusal::Mah);
    }
    let mut tx = once::begin::<ChargeRefusal>(db, by).await?;
    let one = charges::by_id(&mut tx, id)
        .await?
        .ok_or(ChargeRefusal::NoCharge)?;
    let pack = packs::by_id(&mut tx, one.charge.pack_id)
        .await?
        .ok_or(ChargeRefusal::NoPack)?;
    let found = found(&one, said, outcome);
    if one.charge.ended_ms.is_some() {
        return seen_late(tx, by, &pack, &found).await;
    }
    // What must not wait for an answer is stored with whatever stands beside it.
    let measured = measured(&pack, said);
    not_asked(by, (&one.charge, &pack), said, (measured.as_ref(), &found))?;
    let end = End {
        at: by.at,
        by: by.actor.id,
        outcome,
        moved_mah: said.moved_mah,
        words,
    };
    charges::end(&mut tx, id, &end).await?;
    for finding in &found {
        standing::find(&mut tx, by, &pack, finding, None).await?;
    }
    if let Some(measured) = measured {
        let beside = beside(&one, said);
        let logged = Logged {
            beside: Some(&beside),
            ..Logged::volts(&measured, false)
        };
        reading::take(&mut tx, by, &pack, logged, pack.lent_id).await?;
    }
    let about = match said.moved_mah {
        Some(mah) => format!("{}, {mah} mAh, {}", one.charger_number, outcome.code()),
        None => format!("{}, {}", one.charger_number, outcome.code()),
    };
    let after = settle(&mut tx, by, &pack, ("charge ended", &about)).await?;
    let is_well = after
        .state_at(by.at, by.club.limits().reading_days)
        .shows_settings();
    // After what was wrong comes what is seen on the pack; and whoever stands beside a bad one is told so.
    let answer = match outcome {
        Outcome::Wrong if !said.looked.is_danger() => {
            format!("/packs/{}/condition", pack.number)
        }
        _ if !is_well => format!("/packs/{}", pack.number),
        _ => format!("/charges/{id}"),
    };
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// Somebody ended it meanwhile: what was wrong is stored all the same.
async fn seen_late(
    mut tx: Tx,
    by: &By,
    pack: &PackView,
    found: &[Finding],
) -> Result<String, ChargeRefusal> {
    if found.is_empty() || report::is_gone(&mut tx, pack).await? {
        return Err(ChargeRefusal::Ended);
    }
    for finding in found {
        standing::find(&mut tx, by, pack, finding, None).await?;
    }
    settle(
        &mut tx,
        by,
        pack,
        ("told of a charge that had ended", &found[0].words),
    )
    .await?;
    let answer = format!("/packs/{}/condition", pack.number);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// What was read after it, of a pack that is in use.
fn measured(pack: &PackView, said: &Ended<'_>) -> Option<Measured> {
    let volts = said.volts.filter(|_| pack.life() == states::Life::InUse)?;
    Some(Measured::Read {
        volts: volts.clone(),
        rested: Rested::JustUsed,
        is_confirmed: said.is_confirmed,
    })
}

/// What the charger showed goes with the volts after it: trends of capacity are made of that.
fn beside(one: &Listed, said: &Ended<'_>) -> Beside {
    let moving = |mah: i64| {
        if one.charge.is_charge() {
            Moving::PutIn(mah)
        } else {
            Moving::TakenOut(mah)
        }
    };
    Beside {
        resistance: None,
        meter: Some(one.charger_number.clone()),
        meter_kind: None,
        celsius: None,
        charge: said.moved_mah.filter(|mah| *mah > 0).map(moving),
        context: Some(Context::AfterCharge),
    }
}

/// What is asked about before anything is stored: volts that hardly any pack shows, and more charge than can have moved in the time. What
/// was wrong, and what is dangerous, waits for no answer.
fn not_asked(
    by: &By,
    (charge, pack): (&Charge, &PackView),
    said: &Ended<'_>,
    (measured, found): (Option<&Measured>, &[Finding]),
) -> Result<(), ChargeRefusal> {
    let of_volts = measured.and_then(|measured| asked_first(by, pack, measured));
    if let Some(asked) = of_volts.filter(|_| found.is_empty()) {
        return Err(asked.into());
    }
    let is_told = found.iter().any(|found| found.rule != Rule::TookTooMuch)
        || measured.is_some_and(|measured| is_danger(by, pack, measured));
    let moved_mah = said
        .moved_mah
        .filter(|_| !said.is_mah_confirmed && !is_told);
    let minutes = by.at.minutes_since(charge.started_ms);
    match moved_mah.and_then(|mah| too_much_for_time(mah, charge.current_ma, minutes)) {
        Some(asked) => Err(asked.into()),
        None => Ok(()),
    }
}

fn found(one: &Listed, said: &Ended<'_>, outcome: Outcome) -> Vec<Finding> {
    let took = said.moved_mah.and_then(|moved_mah| {
        charging::findings(&Moved {
            chemistry: Chemistry::from_code(&one.chemistry)?,
            is_charge: one.charge.is_charge(),
            capacity_mah: one.capacity_mah,
            expected_most_mah: one.charge.most_mah,
            moved_mah,
        })
    });
    let wrong = (outcome == Outcome::Wrong).then(|| charging::stopped_wrong(said.words));
    let seen = said.looked.findings();
    took.into_iter().chain(wrong).chain(seen).collect()
}
