//! What is read of packs, put right, charged and looked after.

use super::kinds::Level;
use super::*;
use sandbucket::actions::charging::{self, Ended};
use sandbucket::actions::condition::Looked;
use sandbucket::actions::correction::Correction;
use sandbucket::actions::reading::{Logged, Measured, log_volts};
use sandbucket::club::charging::Outcome;
use sandbucket::club::reading::Rested;
use sandbucket::ids;

impl Life<'_> {
    /// What a meter shows of a pack that is as full as that, and what somebody says of it: nearly always that it had rested for an hour,
    /// true or not. It had really lain no longer than since its last charge, or since it was read just used.
    pub(super) fn measure(&mut self, (pack, at): (usize, i64), level: Level) -> (Read, Measured) {
        let kind = self.diary.packs[pack].kind;
        let said = match self.dice.throw(12) {
            0 => 0,
            1 => 20,
            _ => 60,
        };
        let all = self.diary.packs[pack].until(self.now());
        let used = all.iter().filter(|(then, what)| {
            let is_just_used = matches!(what, What::Read(Read { rested: 0, .. }));
            *then < at && (is_just_used || matches!(what, What::Charged(_)))
        });
        let since = used.map(|(then, _)| (at - then) / 60_000).min();
        let read = Read {
            rested: since.unwrap_or(said).min(said),
            ..kind.read(level, self.dice)
        };
        let measured = Measured::Read {
            volts: kind.volts(read),
            rested: Rested::of_minutes(said),
            is_confirmed: true,
        };
        (read, measured)
    }

    pub(super) async fn read(&mut self, pack: usize, level: Level) {
        self.next_minute();
        let now = self.now();
        let (read, measured) = self.measure((pack, now), level);
        let id = self.diary.packs[pack].id;
        let logged = Logged::volts(&measured, true);
        let logged = log_volts(&self.club.app.db, &self.by_now(), id, logged).await;
        logged.expect("volts");
        self.diary.packs[pack]
            .happened
            .push((now, What::Read(read)));
    }

    /// One of the latest volts of some pack was mistyped, and somebody sees it.
    pub(super) async fn put_right(&mut self) {
        let pack = self.dice.throw(self.diary.packs.len());
        let one = &self.diary.packs[pack];
        if !self.is_here(pack) {
            return;
        }
        let is_righted = |at: i64| {
            let mut all = one.happened.iter();
            all.any(|(_, what)| matches!(what, What::Righted { at: of, .. } if *of == at))
        };
        let read = one.happened.iter().rev();
        let read = read.filter(|(at, what)| matches!(what, What::Read(_)) && !is_righted(*at));
        let latest: Vec<i64> = read.map(|(at, _)| *at).take(3).collect();
        if latest.is_empty() {
            return;
        }
        self.next_minute();
        let at = latest[self.dice.throw(latest.len())];
        let level = [Level::Full, Level::Part, Level::Stored, Level::Low][self.dice.throw(4)];
        let (read, measured) = self.measure((pack, at), level);
        let (read, measured) = match self.dice.throw(6) {
            0 => (
                None,
                Measured::Unread {
                    why: "it was another pack".to_owned(),
                },
            ),
            _ => (Some(read), measured),
        };
        let id = self.diary.packs[pack].id;
        let wrong = format!(
            "reading WHERE pack_id = {} AND taken_ms = {at} AND corrects_id IS NULL",
            self.club.literal(id)
        );
        let logged = Logged {
            corrects: Some(Correction {
                id: self.club.ids(&wrong).await[0],
                why: "mistyped",
            }),
            ..Logged::volts(&measured, false)
        };
        let logged = log_volts(&self.club.app.db, &self.by_now(), id, logged).await;
        logged.expect("put right");
        let now = self.now();
        self.diary.packs[pack]
            .happened
            .push((now, What::Righted { at, read }));
    }

    /// Recorded and ended, and nobody read its volts.
    async fn charge(&mut self, pack: usize, charge: Charge) {
        self.next_minute();
        let (id, started) = (ids::new_id(), self.now());
        let purpose = match charge.toward {
            Toward::Full => "no_hurry",
            Toward::Storage => "storage",
        };
        let drawn_mw = if charge.is_in { 30_000 } else { 0 };
        self.sql(&format!(
            "INSERT INTO charge (id, pack_id, charger_id, output, mode, is_balanced, purpose, current_ma, target_mv, least_minutes, \
             most_minutes, least_mah, most_mah, cutoff_mah, cutoff_minutes, drawn_mw, started_ms, started_by, watched_by) \
             VALUES ({}, {}, {}, 0, 'balance', TRUE, '{purpose}', 2200, 12600, 30, 45, 100, 2200, 2310, 90, {drawn_mw}, {started}, {by}, {by})",
            self.club.literal(id),
            self.club.literal(self.diary.packs[pack].id),
            self.club.literal(self.charger),
            by = self.club.literal(self.by.actor.id)
        ))
        .await;
        self.next_minute();
        let ended = Ended {
            outcome: Some(match charge.is_finished {
                true => Outcome::Finished,
                false => Outcome::Stopped,
            }),
            moved_mah: charge.mah,
            is_mah_confirmed: true,
            volts: None,
            is_confirmed: false,
            words: "",
            looked: &Looked::default(),
        };
        let ended = charging::end(&self.club.app.db, &self.by_now(), id, &ended).await;
        ended.expect("ended");
        let now = self.now();
        self.diary.packs[pack]
            .happened
            .push((now, What::Charged(charge)));
    }

    fn mah(&mut self) -> i64 {
        100 + 10 * self.dice.throw(140) as i64
    }

    pub(super) fn is_out(&self, pack: usize) -> bool {
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        lines
            .into_iter()
            .any(|line| line.pack == pack && line.closed.is_none())
    }

    /// As of its latest volts or charge, as somebody without a meter would guess it.
    pub(super) fn level(&self, pack: usize) -> Option<Level> {
        let one = &self.diary.packs[pack];
        let all = one.until(self.now());
        all.into_iter().rev().find_map(|(_, what)| match what {
            What::Read(read) => Some(one.kind.level(read.high)),
            What::Charged(charge) => Some(match charge.toward {
                _ if !charge.is_finished => Level::Part,
                Toward::Full if one.kind.is_lithium() => Level::Full,
                _ => Level::Stored,
            }),
            _ => None,
        })
    }

    fn days_since(&self, pack: usize, is_like: fn(&What) -> bool) -> Option<i64> {
        let mut all = self.diary.packs[pack].happened.iter().rev();
        let latest = all.find(|(_, what)| is_like(what));
        latest.map(|(at, _)| (self.now() - at) / DAY_MS)
    }

    /// On some evenings somebody reads packs, puts full ones to storage, and charges what is low; every fifth pack lies at the back.
    pub(super) async fn look_after(&mut self) {
        for pack in 0..self.diary.packs.len() {
            if self.is_out(pack) || self.is_at_home(pack) || !self.is_here(pack) {
                continue;
            }
            let Some(read) = self.days_since(pack, |what| matches!(what, What::Read(_))) else {
                if self.dice.throw(12) == 0 {
                    self.read(pack, Level::Stored).await;
                }
                continue;
            };
            let of_ten = if pack % 5 == 4 { 60 } else { 7 };
            let is_stored = self.level(pack) == Some(Level::Stored);
            if !is_stored && self.dice.throw(of_ten) == 0 {
                self.put_to_storage(pack).await;
            } else if is_stored && read > 85 && self.dice.throw(9) == 0 {
                let is_low = self.dice.throw(6) == 0;
                let level = if is_low { Level::Low } else { Level::Stored };
                self.read(pack, level).await;
            } else if is_stored && self.dice.throw(150) == 0 {
                self.read(pack, Level::Low).await;
            } else if is_stored && self.dice.throw(30) == 0 {
                let charged = self.days_since(pack, |what| matches!(what, What::Charged(_)));
                if charged.is_some_and(|days| days < read) {
                    self.read(pack, Level::Stored).await;
                }
            }
        }
    }

    /// By volts that somebody reads after it, or by a charger alone.
    async fn put_to_storage(&mut self, pack: usize) {
        let by = self.dice.throw(6);
        if by > 2 {
            return self.read(pack, Level::Stored).await;
        }
        let is_lithium = self.diary.packs[pack].kind.is_lithium();
        let is_finished = by < 2;
        let is_noted = self.dice.throw(2) == 0;
        let charge = Charge {
            toward: if is_lithium {
                Toward::Storage
            } else {
                Toward::Full
            },
            is_in: !is_lithium || self.level(pack) == Some(Level::Low),
            is_finished,
            mah: is_noted.then(|| self.mah()),
        };
        self.charge(pack, charge).await;
    }

    /// Eight are charged for it, some of them are lent.
    pub(super) async fn eve_of(&mut self, packs: &[usize]) {
        let fit: Vec<usize> = packs
            .iter()
            .copied()
            .filter(|pack| {
                let is_read = self.days_since(*pack, |what| matches!(what, What::Read(_)));
                let is_at_hand =
                    !self.is_out(*pack) && !self.is_at_home(*pack) && self.is_here(*pack);
                is_at_hand && is_read.is_some() && self.level(*pack) != Some(Level::Low)
            })
            .collect();
        for pack in fit.iter().take(8) {
            let by = self.dice.throw(9);
            if by > 2 {
                self.read(*pack, Level::Full).await;
                continue;
            }
            let charge = Charge {
                toward: Toward::Full,
                is_in: true,
                is_finished: by > 0,
                mah: (self.dice.throw(2) == 0).then(|| self.mah()),
            };
            self.charge(*pack, charge).await;
        }
        for some in fit.chunks(2).take(3) {
            let to = 3 + self.dice.throw(12);
            let days = 2 + self.dice.throw(4);
            self.lend(to, some, days).await;
        }
    }
}
