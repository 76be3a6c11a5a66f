//! What a reading comes to: it is judged, by itself and with those before it, closes what it answers and opens what it finds.
//! And what was read before, by limits that are new.

use super::{Measured, apart};
use crate::actions::standing::{self, settle};
use crate::actions::{By, care};
use crate::battery::volts::Volts;
use crate::club::care::story::LastRead;
use crate::club::charging::beyond_label;
use crate::club::health::{Asked, Health, HealthLimits, health};
use crate::club::limits::ClubLimits;
use crate::club::reading::{Rested, judge, judge_confirmed};
use crate::club::sighting::WEIGHED_ANEW;
use crate::club::verdict::{Finding, Gravity, Rule, closed_by_reading};
use crate::store::packs::{self, PackView};
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx, findings};
use uuid::Uuid;

/// What the reading comes to for the pack; and whether somebody looked it over with it.
pub(in crate::actions) async fn weigh(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    what: (&Measured, bool),
    reading: &Reading,
) -> Result<()> {
    let (measured, is_looked_over) = what;
    let mut found = verdict(by, pack, measured);
    apart::weigh(tx, by, (pack, reading), &mut found).await?;
    found.extend(beside_it(pack, reading));
    let health = health_of(tx, by, pack).await?;
    if let Measured::Read { volts, rested, .. } = measured {
        let is_plausible = found
            .iter()
            .all(|finding| finding.rule != Rule::Implausible);
        if is_plausible {
            let read = LastRead {
                at: reading.taken_ms,
                volts: volts.clone(),
                rested: *rested,
            };
            if reading.corrects_id.is_none() {
                care::on_to_reading(tx, by, (pack.id, &read), &health).await?;
            }
            readings::set_last(tx, pack.id, volts, rested.minutes(), reading.taken_ms).await?;
        }
        close_answered(tx, by, pack, (&found, &health, *rested, is_looked_over)).await?;
    } else {
        close_unread(tx, by, pack, &health).await?;
    }
    for finding in found.iter().chain(health.opens()) {
        standing::find(tx, by, pack, finding, Some(reading.id)).await?;
    }
    Ok(())
}

/// What was put in, as it stands beside the volts: too much is found as when it is told at the end of a charge.
pub(in crate::actions) fn beside_it(pack: &PackView, reading: &Reading) -> Option<Finding> {
    let build = pack.build();
    beyond_label(build.chemistry, build.capacity_mah, reading.put_in_mah?)
}

/// What its readings tell together, the one just stored among them.
pub(in crate::actions) async fn health_of(tx: &mut Tx, by: &By, pack: &PackView) -> Result<Health> {
    let of_pack = pack.for_health();
    let readings = readings::for_health(tx, pack.id).await?;
    let limits = by.limits();
    Ok(health(&Asked {
        pack: &of_pack,
        readings: &readings,
        // What they tell is a note, and no note is kept.
        sisters: &[],
        now: by.at,
        club: &limits,
        limits: &HealthLimits::of(&limits),
        zone: Some(&by.zone),
    }))
}

/// What the newest reading says with those before it, of which an older one was corrected.
pub(in crate::actions) async fn weigh_together(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    reading_id: Uuid,
) -> Result<()> {
    let health = health_of(tx, by, pack).await?;
    for open in findings::open(tx, pack.id).await? {
        if open.rule().is_some_and(|rule| is_told_anew(&health, rule)) {
            let words = "answered by a correction";
            findings::close(tx, open.id, by.actor.id, words, by.at).await?;
        }
    }
    for finding in health.opens() {
        standing::find(tx, by, pack, finding, Some(reading_id)).await?;
    }
    Ok(())
}

/// What fell with a reading that was corrected, and the others say all the same.
pub(in crate::actions) async fn say_again(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    (fell, reading_id): (&[Rule], Uuid),
) -> Result<()> {
    if !fell.iter().any(|rule| rule.is_of_health()) {
        return Ok(());
    }
    let health = health_of(tx, by, pack).await?;
    for finding in fell.iter().filter_map(|rule| health.says(*rule)) {
        standing::find(tx, by, pack, finding, Some(reading_id)).await?;
    }
    Ok(())
}

/// What a stored reading's volts come to by the limits of now; None: it has none.
pub(in crate::actions) fn verdict_of(
    by: &By,
    pack: &PackView,
    reading: &Reading,
) -> Option<Vec<Finding>> {
    let volts = Volts::from_text(reading.volts.as_deref()?)?;
    let rested = Rested::of_minutes(reading.rested_minutes);
    Some(judge(&pack.build(), &volts, rested, &by.limits()))
}

/// What the reading comes to, without storing anything.
pub fn verdict(by: &By, pack: &PackView, measured: &Measured) -> Vec<Finding> {
    match measured {
        Measured::Unread { why } => vec![Finding::could_not_read(why)],
        Measured::Read {
            volts,
            rested,
            is_confirmed: false,
        } => judge(&pack.build(), volts, *rested, &by.limits()),
        Measured::Read {
            volts,
            rested,
            is_confirmed: true,
        } => judge_confirmed(&pack.build(), volts, *rested, &by.limits()),
    }
}

async fn close_answered(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    answer: (&[Finding], &Health, Rested, bool),
) -> Result<()> {
    let (found, health, rested, is_looked_over) = answer;
    for open in findings::open(tx, pack.id).await? {
        let Some(rule) = open.rule() else { continue };
        // Who brought a pack back alone does not say for the table that somebody looked at it.
        let is_seen = is_looked_over && by.actor.roles.is_quartermaster;
        let is_for_the_table = rule == Rule::CameBackUnchecked && !is_seen;
        let is_answered = !is_for_the_table && closed_by_reading(rule, found, rested, &by.limits());
        // Found again with other numbers: the new words replace the old. Danger keeps its first entry.
        let is_renewed =
            open.gravity() < Gravity::Danger && found.iter().any(|finding| finding.rule == rule);
        if is_answered || is_renewed || is_told_anew(health, rule) {
            findings::close(tx, open.id, by.actor.id, "answered by a reading", by.at).await?;
        }
    }
    Ok(())
}

/// By what readings tell together: said no longer, or in new words.
fn is_told_anew(health: &Health, rule: Rule) -> bool {
    health.closes(rule) || health.opens().any(|finding| finding.rule == rule)
}

/// That it could not be read is said once, with the latest reason. Beside volts that could not be read there may be a
/// resistance.
async fn close_unread(tx: &mut Tx, by: &By, pack: &PackView, health: &Health) -> Result<()> {
    for open in findings::open(tx, pack.id).await? {
        match open.rule() {
            Some(Rule::CouldNotRead) => {
                findings::close(tx, open.id, by.actor.id, "tried again", by.at).await?;
            }
            Some(rule) if is_told_anew(health, rule) => {
                let words = "answered by a reading";
                findings::close(tx, open.id, by.actor.id, words, by.at).await?;
            }
            _ => {}
        }
    }
    Ok(())
}

/// What was read before counts by the club's limits of now. Nothing that stands against a pack is lifted by it. What readings
/// tell together is asked only where limits of that are new: it costs a query for each pack.
pub(in crate::actions) async fn weigh_anew(
    tx: &mut Tx,
    by: &By,
    before: &ClubLimits,
) -> Result<()> {
    let with_health = HealthLimits::of(before) != HealthLimits::of(&by.limits());
    const PART: i64 = 200;
    let mut last = 0;
    loop {
        let packs = packs::read_in_use(tx, last, PART).await?;
        let Some(latest) = packs.last() else {
            return Ok(());
        };
        last = latest.number_key;
        for pack in &packs {
            weigh_last(tx, by, (pack, with_health)).await?;
        }
    }
}

async fn weigh_last(tx: &mut Tx, by: &By, (pack, with_health): (&PackView, bool)) -> Result<()> {
    use Rule::{OverCharged, OverDischarged, SpreadOut, SpreadWatch, SpreadWide};
    let Some(volts) = pack.volts() else {
        return Ok(());
    };
    let rested = Rested::of_minutes(pack.last_rested_minutes.unwrap_or(0));
    let of_limits = [
        OverDischarged,
        OverCharged,
        SpreadOut,
        SpreadWide,
        SpreadWatch,
    ];
    let mut found = judge(&pack.build(), &volts, rested, &by.limits());
    found.retain(|each| of_limits.contains(&each.rule));
    if with_health {
        found.extend(health_of(tx, by, pack).await?.opens().cloned());
    }
    apart::beside_what_stands(tx, pack.id, &mut found).await?;
    let mut is_new = false;
    for finding in &found {
        is_new |= standing::renew(tx, by, pack, finding).await?;
    }
    if is_new {
        settle(tx, by, pack, WEIGHED_ANEW).await?;
    }
    Ok(())
}
