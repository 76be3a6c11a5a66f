//! Corrections: a new reading that names the wrong one. Both stay, and a quarantine is lifted by neither.

use crate::actions::reading::apart::say_still;
use crate::actions::reading::{
    LogVoltsRefusal, Logged, Measured, as_it_was, beside_it, health_of, reading_of, say_again,
    verdict, weigh, weigh_together,
};
use crate::actions::standing;
use crate::actions::{By, care};
use crate::battery::volts::{self, Volts};
use crate::club::reading::beside::Beside;
use crate::club::verdict::{Finding, Gravity, Rule};
use crate::store::findings::Found;
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx, findings};
use uuid::Uuid;

/// Which reading was wrong, and what was wrong with it (may be empty).
#[derive(Clone, Copy)]
pub struct Correction<'a> {
    pub id: Uuid,
    pub why: &'a str,
}

/// Stores what the wrong reading should have said, for the moment at which that was read. What the pack stands at follows only when
/// nothing was read since; of an older one nothing counts but a danger, and a spread where one was open.
/// Gives back which reading it is, and what the log tells of it.
pub(super) async fn correct(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    (logged, wrong_id): (Logged<'_>, Uuid),
) -> std::result::Result<(Uuid, String), LogVoltsRefusal> {
    let wrong = readings::by_id(tx, wrong_id)
        .await?
        .filter(|reading| reading.pack_id == pack.id)
        .ok_or(LogVoltsRefusal::OtherReading)?;
    if readings::is_corrected(tx, wrong.id).await? {
        return Err(LogVoltsRefusal::Corrected);
    }
    let reading_id = put_in_place(tx, by, pack, (logged, &wrong)).await?;
    let right = with_beside(said(logged.measured), logged.beside);
    let told = format!("{right}, in place of {}", told(&wrong));
    Ok((reading_id, told))
}

async fn put_in_place(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    (logged, wrong): (Logged<'_>, &Reading),
) -> Result<Uuid> {
    let measured = &as_it_was(tx, pack, (logged.measured, wrong.taken_ms)).await?;
    let logged = Logged { measured, ..logged };
    let newest = readings::latest(tx, pack.id, 1).await?;
    let is_newest = newest
        .first()
        .is_some_and(|newest| newest.taken_ms == wrong.taken_ms);
    let reading = Reading {
        taken_ms: wrong.taken_ms,
        corrects_id: Some(wrong.id),
        lent_id: wrong.lent_id,
        ..reading_of(by, pack, &logged)
    };
    readings::add(tx, &reading).await?;
    let found = verdict(by, pack, measured);
    let fell = close_what_it_said(tx, by, pack, (wrong, measured, &found)).await?;
    if is_newest {
        weigh(tx, by, pack, (measured, false), &reading).await?;
        if let Measured::Unread { .. } = measured {
            put_back_last_volts(tx, pack).await?;
        }
    } else {
        let counts = |each: &&Finding| {
            let had_spread = fell.iter().any(|rule| rule.is_of_spread());
            let stands_apart = matches!(each.rule, Rule::SpreadOut | Rule::SpreadWide);
            each.gravity >= Gravity::Danger || had_spread && stands_apart
        };
        let beside = beside_it(pack, &reading).filter(|each| fell.contains(&each.rule));
        for finding in found.iter().filter(counts).chain(&beside) {
            standing::find(tx, by, pack, finding, Some(reading.id)).await?;
        }
        weigh_together(tx, by, pack, reading.id).await?;
        // What was read since may have been put right as not read: then this is what it last read.
        put_back_last_volts(tx, pack).await?;
        if fell.contains(&Rule::SpreadOut) {
            say_still(tx, by, pack).await?;
        }
    }
    say_again(tx, by, pack, (&fell, reading.id)).await?;
    say_it_was_corrected(tx, by, pack, (wrong, &found)).await?;
    let health = health_of(tx, by, pack).await?;
    care::corrected(tx, by, pack.id, &health).await?;
    Ok(reading.id)
}

/// What was read last is not what the meter said: the last reading that nobody corrected is.
async fn put_back_last_volts(tx: &mut Tx, pack: &PackView) -> Result<()> {
    let holds = readings::latest_uncorrected(tx, pack.id, true).await?;
    let last = holds.as_ref().and_then(|reading| {
        let volts = Volts::from_text(reading.volts.as_deref()?)?;
        Some((volts, reading))
    });
    match last {
        Some((volts, reading)) => {
            let (rested, at) = (reading.rested_minutes, reading.taken_ms);
            readings::set_last(tx, pack.id, &volts, rested, at).await
        }
        None => readings::clear_last(tx, pack.id).await,
    }
}

/// What came of the wrong reading and is no danger falls with it; a spread only when the right one is judged for spread,
/// which takes a rested pack. Gives back what fell.
async fn close_what_it_said(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    corrected: (&Reading, &Measured, &[Finding]),
) -> Result<Vec<Rule>> {
    let (wrong, measured, found_now) = corrected;
    let is_judged = matches!(measured, Measured::Read { .. })
        && found_now
            .iter()
            .all(|found| !matches!(found.rule, Rule::SpreadNotJudged | Rule::Implausible));
    let falls = |found: &Found| {
        let is_spread = found.rule().is_some_and(Rule::is_of_spread);
        // No later reading would close it.
        let is_undone = found.rule() == Some(Rule::SpreadOut)
            && matches!(measured, Measured::Read { .. })
            && found_now.iter().all(|now| now.rule != Rule::Implausible);
        found.gravity() < Gravity::Danger && (is_judged || is_undone || !is_spread)
    };
    let mut fell = Vec::new();
    for found in findings::open(tx, pack.id).await? {
        if found.reading_id == Some(wrong.id) && falls(&found) {
            findings::close(
                tx,
                found.id,
                by.actor.id,
                "its reading was corrected",
                by.at,
            )
            .await?;
            fell.extend(found.rule());
        }
    }
    Ok(fell)
}

/// A danger that came of the wrong reading stays, and no longer speaks as if the pack read so.
async fn say_it_was_corrected(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    corrected: (&Reading, &[Finding]),
) -> Result<()> {
    const NEXT: &str = "It stays in quarantine until a second person releases it.";
    let (wrong, found_now) = corrected;
    let open = findings::open(tx, pack.id).await?;
    let of_it = open.iter().filter(|found| {
        found.reading_id == Some(wrong.id)
            && found.gravity() >= Gravity::Danger
            && found_now.iter().all(|now| now.words != found.words)
    });
    for found in of_it {
        let day = by.zone.date_words(by.at);
        let words = format!(
            "A reading said so and was corrected on {day}: {}",
            found.words
        );
        findings::say(tx, found.id, (&words, NEXT)).await?;
    }
    Ok(())
}

/// `3.91, 3.87 V`, or why nothing was read.
fn said(measured: &Measured) -> String {
    match measured {
        Measured::Read { volts, .. } => format!("{} V", volts::words(volts)),
        Measured::Unread { why } => format!("not read, {why}"),
    }
}

fn told(reading: &Reading) -> String {
    let volts = reading.volts.as_deref().and_then(Volts::from_text);
    let volts = volts.map_or_else(
        || {
            let why = reading.unread_words.as_deref().unwrap_or_default();
            format!("not read, {why}")
        },
        |volts| format!("{} V", volts::words(&volts)),
    );
    with_beside(volts, Some(&reading.beside()))
}

/// `3.91 3.87 3.90 V; 21 °C`
fn with_beside(volts: String, beside: Option<&Beside>) -> String {
    match beside.map_or_else(String::new, Beside::words) {
        beside if beside.is_empty() => volts,
        beside => format!("{volts}; {beside}"),
    }
}
