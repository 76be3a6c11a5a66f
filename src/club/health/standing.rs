//! How a pack stands by its readings alone, as a program asks without a club: each reading's volts are judged in turn and
//! close or open findings as at the table, what they tell together comes on top, and the state follows.

use super::figured::figured;
use super::history::{Asked, HealthReading};
use super::reason::Reason;
use super::{Told, health};
use crate::battery::pack::Build;
use crate::club::calendar::Instant;
use crate::club::charging::{LAST_CHARGE, beyond_label};
use crate::club::reading::beside::Charge;
use crate::club::reading::{closed_by_reading, failed_again, judge_within};
use crate::club::seen::{self, Seen};
use crate::club::states::{Life, State, is_old, state_of};
use crate::club::verdict::{Finding, Gravity, Rule, silence};

#[derive(Clone, Copy)]
pub struct Story<'a> {
    pub asked: Asked<'a>,
    /// Of each reading in the order of `asked`: its volts were measured again and are so. What is not said was not.
    pub confirmed: &'a [bool],
    /// What a person saw on it.
    pub seen: &'a [Seen],
    /// When a second person last released it from quarantine: danger that was read before counts no more.
    pub released: Option<Instant>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    pub state: State,
    /// Gravest first.
    pub reasons: Vec<Reason>,
    pub told: Told,
}

pub fn verdict(story: &Story<'_>) -> Verdict {
    let asked = &story.asked;
    let (mut findings, last_read) = of_volts(story);
    findings.extend(seen::findings(story.seen, None, ""));
    findings.extend(not_known(asked, last_read));
    let health = health(asked);
    let recorded = findings.into_iter().map(|finding| recorded(story, finding));
    let mut reasons: Vec<Reason> = recorded.collect();
    reasons.extend(health.reasons);
    reasons.sort_by_key(|reason| std::cmp::Reverse(reason.finding.gravity));
    silence(reasons.iter_mut().map(|reason| &mut reason.finding));
    let gravities: Vec<Gravity> = reasons.iter().map(|each| each.finding.gravity).collect();
    let days = asked.club.tightened().reading_days;
    Verdict {
        state: state_of(Life::InUse, &gravities, last_read, asked.now, days),
        reasons,
        told: health.told,
    }
}

/// With the figures of the latest volts that say so.
fn recorded(story: &Story<'_>, finding: Finding) -> Reason {
    let (build, club) = (&story.asked.pack.build, story.asked.club);
    let latest_first = story.asked.readings.iter().rev();
    let mut told = latest_first.filter_map(|reading| {
        let volts = reading.volts.as_ref()?;
        let mut found = judge_within(build, volts, reading.rested, &club.tightened(), false);
        let says_so = found.contains(&finding) || {
            failed_again(&mut found);
            found.contains(&finding)
        };
        says_so.then(|| figured(&finding, (build, volts), club))
    });
    let figure = if finding.rule.is_of_volts() {
        told.next().flatten()
    } else {
        None
    };
    Reason {
        cell: finding.cell,
        figure,
        ..Reason::recorded(finding)
    }
}

fn not_known(asked: &Asked<'_>, last_read: Option<Instant>) -> Option<Finding> {
    let club = asked.club.tightened();
    match last_read {
        // What was read and nobody believes is asked about.
        None if asked.readings.iter().any(|reading| reading.volts.is_some()) => None,
        None => Some(Finding::never_read()),
        Some(read) if is_old(read, asked.now, club.reading_days) => {
            Some(Finding::reading_old(asked.now.days_since(read), &club))
        }
        Some(_) => None,
    }
}

/// What is open once all were read, and when volts were last read that anybody believes.
fn of_volts(story: &Story<'_>) -> (Vec<Finding>, Option<Instant>) {
    let asked = &story.asked;
    let (build, club) = (&asked.pack.build, asked.club.tightened());
    let confirmed = story.confirmed.iter().copied();
    let confirmed = confirmed.chain(std::iter::repeat(false));
    let mut readings: Vec<_> = asked.readings.iter().zip(confirmed).collect();
    readings.sort_by_key(|(reading, _)| reading.at);
    let (mut open, mut last_read) = (Vec::new(), None);
    let mut released = story.released;
    // Since its cells last stood too far apart.
    let mut was_charged = false;
    for (reading, is_confirmed) in readings {
        if let Some(at) = released.filter(|at| *at < reading.at) {
            release(&mut open, at, asked.now);
            released = None;
        }
        put_in(&mut open, build, reading);
        was_charged |= was_just_charged(reading);
        let Some(volts) = &reading.volts else {
            continue;
        };
        let mut found = judge_within(build, volts, reading.rested, &club, is_confirmed);
        let stood = |rule: Rule| open.iter().any(|old| old.rule == rule);
        // Beside what took it out of service no lesser spread is told.
        if stood(Rule::SpreadOut) {
            found.retain(|each| !each.rule.is_of_spread());
        } else if was_charged && stood(Rule::SpreadWide) {
            failed_again(&mut found);
        }
        if found.iter().any(|each| each.rule == Rule::SpreadWide) {
            was_charged = false;
        }
        if found.iter().all(|each| each.rule != Rule::Implausible) {
            last_read = Some(reading.at);
        }
        open.retain(|old: &Finding| {
            let is_renewed = found.iter().any(|new| new.rule == old.rule);
            !is_renewed && !closed_by_reading(old.rule, &found, reading.rested, asked.club)
        });
        open.extend(found);
    }
    if let Some(at) = released {
        release(&mut open, at, asked.now);
    }
    (open, last_read)
}

fn was_just_charged(reading: &HealthReading) -> bool {
    matches!(reading.charge, Some(Charge::PutIn(1..)))
}

/// Too much of it is found as where it stands beside volts by hand. No reading answers that.
fn put_in(open: &mut Vec<Finding>, build: &Build, reading: &HealthReading) {
    let Some(Charge::PutIn(mah)) = reading.charge.filter(|charge| charge.mah() > 0) else {
        return;
    };
    let of = (build.chemistry, build.capacity_mah);
    if let Some(too_much) = beyond_label(of.0, of.1, mah) {
        open.retain(|old| old.rule != too_much.rule);
        open.push(too_much);
    } else if let Some(before) = open.iter_mut().find(|old| old.rule == Rule::TookTooMuch) {
        before.words = before.words.replacen(LAST_CHARGE, "A charge of it", 1);
    }
}

/// What lies ahead did not happen yet.
fn release(open: &mut Vec<Finding>, at: Instant, now: Instant) {
    if at <= now {
        let is_answered = |finding: &Finding| {
            let is_for_a_person = matches!(finding.rule, Rule::TookTooMuch | Rule::SpreadOut);
            finding.gravity >= Gravity::Danger || is_for_a_person
        };
        open.retain(|finding| !is_answered(finding));
    }
}
