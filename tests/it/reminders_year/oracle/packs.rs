//! What is due for a pack, by these rules in words:
//!
//! A lithium pack whose fullest cell is above its band, as it was read or as a charger left it, is above it since then, until it is read in it
//! or a charger is done with storage. How long it may lie there goes by how full its fullest cell is and how warm it lies: at 20 degrees,
//! which counts where nobody measured and for what is on loan or at somebody's home, 3 days from 90 percent on, 5 from 70 on, 7 below; up to 15
//! degrees 5, 8 and 10, up to 35 degrees 2, 3 and 4, above 1, 2 and 2.
//! Then it is due; it is dangerous after twice the days that it may lie at most: 7, 10, 14; 10, 12, 14; 4, 6, 8; 2, 3, 4. Is its event over while it was
//! above since before the end, it is due from the end of the last day; is it back for a day and was not put to storage since, it is due too.
//! To storage it is put by volts in its band, or a charger that is done: with storage, nickel and lead with filling it.
//! It is back from an event when that is over; was its last loan until then taken back on the last day, or was it read just used on it, then
//! it is back from that moment; what is put on a storage round on its last day comes back with that. Put on a round it is back, where it did
//! not wait for storage already, since then, or since it was read where that was within a day, nothing was done with it after it, and its event was over
//! or it was on a round before. From an event or on a round it is due since it was back, as soon as it is read outside of its band, or filled, or after a
//! day; so it is since it was read under its band (20 mV of lithium are a meter's) where it was above until then and is not out. Once the
//! days above are over it is above its band alone, since the first of the three. It is low as `lies` says; lead too when it is not full, and nickel when it
//! is nearly empty. A pack that was never read has its first check due from the day it was added; else its volts are due 90 days after the last. For what is retired or lost nothing is due.

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
const fn may_lie(percent: f64, celsius: i64) -> (i64, i64) {
    let [full, fuller, half_full] = match celsius {
        ..16 => [(5, 10), (8, 12), (10, 14)],
        16..26 => [(3, 7), (5, 10), (7, 14)],
        26..36 => [(2, 4), (3, 6), (4, 8)],
        _ => [(1, 2), (2, 3), (2, 4)],
    };
    match percent {
        90.0.. => full,
        70.0.. => fuller,
        _ => half_full,
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
        let mut homes = self.diary.homes.iter();
        let home = homes.find(|home| {
            let is_back = home.back.is_some_and(|back| back <= self.at);
            home.pack == pack && home.from <= self.at && !is_back
        });
        let lent = open.next().map(|(by, _)| by);
        lent.or(home.map(|home| home.by))
    }

    fn was_lent_at(&self, pack: usize, at: i64) -> bool {
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        lines.into_iter().any(|line| {
            line.pack == pack && line.opened <= at && line.closed.is_none_or(|closed| closed > at)
        })
    }

    fn is_out(&self, pack: usize) -> bool {
        let put_on = self.put_on(pack);
        let goes_on = |event: &Event| {
            let back = self.back_from(pack, event, &put_on);
            let is_back = back.is_some_and(|at| at <= self.at);
            event.starts <= self.at && self.at < event.ends && !is_back
        };
        let mut events = self.diary.events.iter();
        self.was_lent_at(pack, self.at)
            || events.any(|event| event.packs.contains(&pack) && goes_on(event))
    }

    /// When it counts as put on each of its storage rounds, in their order.
    fn put_on(&self, pack: usize) -> Vec<i64> {
        let all = self.diary.packs[pack].until(self.at).into_iter();
        let mut put_on = Vec::new();
        for (at, _) in all.filter(|(_, what)| *what == What::PutOn) {
            let then = Moment { at, ..*self };
            put_on.push(then.counts_as_back(pack, &put_on));
        }
        put_on
    }

    /// Put on a round just now.
    fn counts_as_back(&self, pack: usize, before: &[i64]) -> i64 {
        let latest = self.happened(pack, before).pop();
        let Some((read, What::Read(_))) = latest else {
            return self.at;
        };
        let is_over = self.event(pack).is_some_and(|event| event.ends <= read);
        let was_on_round = before.iter().any(|at| *at <= read);
        if self.at - read < DAY_MS && (is_over || was_on_round) {
            read
        } else {
            self.at
        }
    }

    /// The latest that it was taken to.
    fn event(&self, pack: usize) -> Option<&Event> {
        let all = self.diary.events.iter();
        let begun = all.filter(|event| event.packs.contains(&pack) && event.starts <= self.at);
        begun.max_by_key(|event| event.ends)
    }

    /// None: it comes back with a loan, or a storage round.
    fn back_from(&self, pack: usize, event: &Event, put_on: &[i64]) -> Option<i64> {
        if self.was_lent_at(pack, event.ends) {
            return None;
        }
        let last_day = end_of(
            date(event.ends - 1, self.hall)
                .yesterday()
                .expect("a day before"),
            self.hall,
        );
        let within = last_day..=event.ends;
        if put_on.iter().any(|at| within.contains(at)) {
            return None;
        }
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        let closed = lines
            .filter(|line| line.pack == pack)
            .filter_map(|line| line.closed);
        let known = self.diary.packs[pack].until(self.at);
        let is_just_used = |what: &What| matches!(what, What::Read(Read { rested: 0, .. }));
        let just_used = known.iter().filter(|(_, what)| is_just_used(what));
        let back = closed.chain(just_used.map(|(at, _)| *at));
        let on_last_day = back.filter(|at| within.contains(at));
        Some(on_last_day.max().unwrap_or(event.ends))
    }

    /// What happened to a pack so far, events and rounds with it; in order.
    fn happened(&self, pack: usize, put_on: &[i64]) -> Vec<(i64, What)> {
        let mut all = self.diary.packs[pack].until(self.at);
        all.retain(|(_, what)| !matches!(what, What::PutOn | What::Gone | What::Found));
        all.extend(put_on.iter().map(|at| (*at, What::PutOn)));
        for event in self
            .diary
            .events
            .iter()
            .filter(|event| event.packs.contains(&pack))
        {
            all.push((event.starts, What::Out));
            all.extend(
                self.back_from(pack, event, put_on)
                    .map(|at| (at, What::Over)),
            );
        }
        all.retain(|(at, _)| *at <= self.at);
        let what_ends_first = |what: &What| match what {
            What::Charged(_) => 0,
            What::Back | What::Over | What::PutOn => 1,
            What::Out => 3,
            _ => 2,
        };
        all.sort_by_key(|(at, what)| (*at, what_ends_first(what)));
        all
    }

    fn stands(&self, pack: usize) -> Stands {
        let mut stands = Stands::default();
        let kind = self.diary.packs[pack].kind;
        for (at, what) in self.happened(pack, &self.put_on(pack)) {
            match what {
                What::Out => (stands.back, stands.is_from_event) = (None, false),
                What::Back => (stands.back, stands.is_from_event) = (Some(at), false),
                What::Over => (stands.back, stands.is_from_event) = (Some(at), true),
                What::Charged(charge) => stands.charged(kind, at, charge),
                What::Read(read) => stands.read(kind, at, read),
                What::PutOn => {
                    (stands.back, stands.is_from_event) = (stands.back.or(Some(at)), true);
                }
                // These stand in what is left of the others.
                What::Righted { .. } | What::Gone | What::Found => {}
            }
        }
        stands
    }

    pub(super) fn due(&self, pack: usize) -> Vec<Due> {
        let Pack { celsius, added, .. } = self.diary.packs[pack];
        let ways = self.diary.packs[pack].until(self.at).into_iter();
        let mut ways = ways.filter(|(_, what)| matches!(what, What::Gone | What::Found));
        if ways.next_back().is_some_and(|(_, what)| what == What::Gone) {
            return Vec::new();
        }
        let stands = self.stands(pack);
        let celsius = celsius
            .filter(|_| self.holder(pack).is_none())
            .unwrap_or(20);
        let mut all = self.to_be_stored(pack, &stands, celsius);
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
            let celsius = celsius as f64;
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
    fn to_be_stored(&self, pack: usize, stands: &Stands, celsius: i64) -> Vec<Due> {
        let mut other = Vec::new();
        if let (Some(event), Some(above)) = (self.event(pack), stands.above)
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
            let (remind, at_most) = may_lie(told.fullest_percent(), celsius);
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
