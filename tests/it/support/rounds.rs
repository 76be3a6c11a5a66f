//! Slow proofs: seeded dice, and rounds that go on for a time share in every run or to a full count with
//! `SANDBUCKET_LONG=1`. How many were done is told at the end.

use super::{Backend, TestClub, is_long, seed, tell_rounds};
use std::time::{Duration, Instant};

/// SplitMix64.
pub struct Dice(pub u64);

impl Dice {
    /// New each time; the seed is printed, and shown when the test fails.
    pub fn thrown() -> Self {
        let seed = seed();
        println!("SANDBUCKET_TEST_SEED={seed} throws these dice again");
        Self(seed)
    }

    pub fn throw(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((z ^ (z >> 31)) % sides as u64).unwrap_or(0)
    }

    pub fn pick<'a>(&mut self, from: &'a [String]) -> &'a str {
        &from[self.throw(from.len())]
    }
}

pub struct Rounds {
    what: String,
    began: Instant,
    share: Duration,
    full_count: usize,
    least: usize,
    done: usize,
}

impl Rounds {
    pub fn new(what: &str, club: &TestClub, share: Duration, full_count: usize) -> Self {
        Self::on(what, club.backend, share, full_count)
    }

    pub fn on(what: &str, backend: Backend, share: Duration, full_count: usize) -> Self {
        Self {
            what: format!("{what} on {backend:?}"),
            began: Instant::now(),
            share,
            full_count,
            least: 3,
            done: 0,
        }
    }

    /// So many in every run, however long they take.
    pub const fn at_least(mut self, least: usize) -> Self {
        self.least = least;
        self
    }

    /// One more?
    pub fn go_on(&mut self) -> bool {
        let is_due = if is_long() {
            self.done < self.full_count
        } else {
            self.done < self.least || self.began.elapsed() < self.share
        };
        self.done += usize::from(is_due);
        is_due
    }

    pub const fn done(&self) -> usize {
        self.done
    }

    pub fn tell(&self) {
        self.tell_with("nothing diverged");
    }

    pub fn tell_with(&self, seen: &str) {
        let took = self.began.elapsed();
        let took_s = took.as_secs();
        let (what, done, full) = (&self.what, self.done, self.full_count);
        let a_minute = done as u128 * 60_000 / took.as_millis().max(1);
        tell_rounds(&format!(
            "{what}: {done} rounds in {took_s} s, {a_minute} a minute (full count {full}); {seen}"
        ));
    }
}

/// How many times slower this machine is just now than the one where times were measured; 1 where it is as fast.
pub fn slowness() -> u32 {
    const MEASURED: Duration = Duration::from_millis(30);
    let (began, mut dice) = (Instant::now(), Dice(1));
    for _ in 0..2_000_000 {
        std::hint::black_box(dice.throw(6));
    }
    let times = began.elapsed().as_millis() / MEASURED.as_millis();
    u32::try_from(times).unwrap_or(u32::MAX).max(1)
}
