//! What is due for a pack, by these rules in words:
//!
//! A lithium pack whose fullest cell is above its band, as it was read or as a charger left it, is above it since then, until it is read in it
//! or a charger is done with storage. How long it may lie there goes by how full its fullest cell is and how warm it lies: at 20 degrees,
//! which counts where nobody measured and for what is on loan, 3 days from 90 percent on, 5 from 70 on, 7 below; at 28 degrees 2, 3 and 4.
//! Then it is due; it is dangerous after twice the days that it may lie at most: 7, 10, 14, and 4, 6, 8. Is its event over while it was
//! above since before the end, it is due from the end of the last day; is it back for a day and was not put to storage since, it is due too.
//! To storage it is put by volts in its band, or a charger that is done: with storage, nickel and lead with filling it.
//! It is back from an event when that is over; was its last loan until then taken back on the last day, or was it read just used on it, then
//! it is back from that moment. From an event it is due since it was back, as soon as it is read outside of its band, or filled, or after a
//! day; so it is since it was read under its band (20 mV of lithium are a meter's) where it was above until then and is not out. Once the
//! days above are over it is above its band alone, since the first of the three. It is low as `lies` says; lead too when it is not full, and nickel when it
//! is nearly empty. A pack that was never read has its first check due from the day it was added; else its volts are due 90 days after the last.

use super::lies::{Band, Told as Lies};
use super::*;
use crate::reminders_year::life::{Charge, Event, Kind, Pack, Read, Toward, What};

pub struct Due {
    pub reason: &'static str,
    pub since: i64,
    pub is_dangerous: bool,
}

/// How a pack stands at a moment.
#[derive(Default)]
struct Stands {
    above: Option<i64>,
    back: Option<i64>,
    is_from_event: bool,
    read: Option<i64>,
    told: Option<Lies>,
}

impl Stands {
    fn is_stored(&mut self) {
        (self.above, self.back, self.is_from_event) = (None, None, false);
    }

    fn read(&mut self, kind: Kind, at: i64, read: Read) {
        let told = Lies::read(kind, at, read);
        (self.read, self.told) = (Some(at), Some(told));
        match told.band() {
            Band::In => self.is_stored(),
            Band::Above => self.above = self.above.or(Some(at)),
            Band::Under => {
                if self.above.is_some() && self.back.is_none() {
                    (self.back, self.is_from_event) = (Some(at), true);
                }
                self.above = None;
            }
        }
    }

    fn charged(&mut self, kind: Kind, at: i64, charge: Charge) {
        self.told = Lies::charged(self.told, kind, at, charge);
        let puts_to_storage = match kind.is_lithium() {
            true => Toward::Storage,
            false => Toward::Full,
        };
        if charge.is_finished && charge.toward == puts_to_storage {
            self.is_stored();
        } else if self.told.is_some_and(|told| told.band() == Band::Above) {
            self.above = self.above.or(Some(at));
        }
    }
}

/// Days that a pack may lie above its band: until it is due, and at most.
fn may_lie(percent: f64, is_warm: bool) -> (i64, i64) {
    match (percent, is_warm) {
        (90.0.., false) => (3, 7),
        (70.0.., false) => (5, 10),
        (_, false) => (7, 14),
        (90.0.., true) => (2, 4),
        (70.0.., true) => (3, 6),
        (_, true) => (4, 8),
    }
}

impl Moment<'_> {
    pub(super) fn holder(&self, pack: usize) -> Option<usize> {
        let loans = self.diary.loans.iter();
        let lines = loans.flat_map(|loan| loan.lines.iter().map(move |line| (loan.by, line)));
        let mut open = lines.filter(|(_, line)| {
            line.pack == pack
                && line.opened <= self.at
                && line.closed.is_none_or(|closed| closed > self.at)
        });
        open.next().map(|(by, _)| by)
    }

    fn was_lent_at(&self, pack: usize, at: i64) -> bool {
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        lines.into_iter().any(|line| {
            line.pack == pack && line.opened <= at && line.closed.is_none_or(|closed| closed > at)
        })
    }

    fn is_out(&self, pack: usize) -> bool {
        let goes_on = |event: &Event| {
            let is_back = self.back_from(pack, event).is_some_and(|at| at <= self.at);
            event.starts <= self.at && self.at < event.ends && !is_back
        };
        let mut events = self.diary.events.iter();
        self.was_lent_at(pack, self.at)
            || events.any(|event| event.packs.contains(&pack) && goes_on(event))
    }

    /// None: it comes back with a loan.
    fn back_from(&self, pack: usize, event: &Event) -> Option<i64> {
        if self.was_lent_at(pack, event.ends) {
            return None;
        }
        let last_day = end_of(
            date(event.ends - 1, self.hall)
                .yesterday()
                .expect("a day before"),
            self.hall,
        );
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        let closed = lines
            .filter(|line| line.pack == pack)
            .filter_map(|line| line.closed);
        let known = self.diary.packs[pack].until(self.at);
        let is_just_used = |what: &What| matches!(what, What::Read(Read { rested: 0, .. }));
        let just_used = known.iter().filter(|(_, what)| is_just_used(what));
        let back = closed.chain(just_used.map(|(at, _)| *at));
        let on_last_day = back.filter(|at| (last_day..=event.ends).contains(at));
        Some(on_last_day.max().unwrap_or(event.ends))
    }

    /// What happened to a pack so far, events with it; in order.
    fn happened(&self, pack: usize) -> Vec<(i64, What)> {
        let mut all = self.diary.packs[pack].until(self.at);
        for event in self
            .diary
            .events
            .iter()
            .filter(|event| event.packs.contains(&pack))
        {
            all.push((event.starts, What::Out));
            all.extend(self.back_from(pack, event).map(|at| (at, What::Over)));
        }
        all.retain(|(at, _)| *at <= self.at);
        let what_ends_first = |what: &What| match what {
            What::Charged(_) => 0,
            What::Back | What::Over => 1,
            What::Read(_) | What::Righted { .. } => 2,
            What::Out => 3,
        };
        all.sort_by_key(|(at, what)| (*at, what_ends_first(what)));
        all
    }

    fn stands(&self, pack: usize) -> Stands {
        let mut stands = Stands::default();
        let kind = self.diary.packs[pack].kind;
        for (at, what) in self.happened(pack) {
            match what {
                What::Out => (stands.back, stands.is_from_event) = (None, false),
                What::Back => (stands.back, stands.is_from_event) = (Some(at), false),
                What::Over => (stands.back, stands.is_from_event) = (Some(at), true),
                What::Charged(charge) => stands.charged(kind, at, charge),
                What::Read(read) => stands.read(kind, at, read),
                // Stands in the volts themselves.
                What::Righted { .. } => {}
            }
        }
        stands
    }

    pub(super) fn due(&self, pack: usize) -> Vec<Due> {
        let stands = self.stands(pack);
        let Pack { is_warm, added, .. } = self.diary.packs[pack];
        let is_warm = is_warm && !self.was_lent_at(pack, self.at);
        let mut all = self.to_be_stored(pack, &stands, is_warm);
        let mut add = |reason, since: i64, is_dangerous| {
            all.push(Due {
                reason,
                since,
                is_dangerous,
            });
        };
        match stands.read {
            None => add("first_check", added, false),
            Some(at) => add("not_looked_at", at + 90 * DAY_MS, false),
        }
        if let Some(told) = stands.told {
            let celsius = if is_warm { 28.0 } else { 20.0 };
            if let Some(low) = told.low(celsius) {
                let is_there = low.is_there.is_some_and(|at| at <= self.at);
                add("falls_to_minimum", low.from, is_there);
            }
            if let Some(since) = told.not_full(celsius) {
                add("not_full", since, false);
            }
            if let Some(since) = told.nickel_low() {
                add("nickel_low", since, false);
            }
        }
        all.retain(|due| due.since <= self.at);
        all
    }

    /// For long enough above its band; else each of the others.
    fn to_be_stored(&self, pack: usize, stands: &Stands, is_warm: bool) -> Vec<Due> {
        let mut other = Vec::new();
        let begun = self.diary.events.iter();
        let begun = begun.filter(|event| event.packs.contains(&pack) && event.starts <= self.at);
        if let (Some(event), Some(above)) = (begun.max_by_key(|event| event.ends), stands.above)
            && above <= event.ends
        {
            other.push(("event_over", event.ends));
        }
        if let Some(back) = stands.back.filter(|_| !self.is_out(pack)) {
            let is_told = stands.told.is_some_and(|told| told.at >= back);
            let is_due = is_told || back + DAY_MS <= self.at;
            let since = match stands.is_from_event && is_due {
                true => back,
                false => back + DAY_MS,
            };
            other.push(("back_not_stored", since));
        }
        other.retain(|(_, since)| *since <= self.at);
        let due = |(reason, since), is_dangerous| Due {
            reason,
            since,
            is_dangerous,
        };
        let above = stands.above.zip(stands.told).map(|(above, told)| {
            let (remind, at_most) = may_lie(told.fullest_percent(), is_warm);
            (
                above + remind * DAY_MS,
                self.at >= above + 2 * at_most * DAY_MS,
            )
        });
        let Some((since, is_dangerous)) = above.filter(|(since, _)| *since <= self.at) else {
            return other.into_iter().map(|one| due(one, false)).collect();
        };
        let first = other.iter().map(|(_, since)| *since).fold(since, i64::min);
        vec![due(("above_band", first), is_dangerous)]
    }
}
