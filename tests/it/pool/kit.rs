//! A piece of kit of the model: a charger with a number, or adapters that are counted. What is out of it, whether it is
//! set aside, how it left the pool.

use super::acts::Way;
use super::pack::Life;
use super::quartermaster_only;
use std::collections::BTreeSet;

/// Hour and how a line ended: "back", "unchecked", or something that can't be undone. None: it is out.
pub type Closed = Option<(i64, &'static str)>;

#[derive(Clone, Debug)]
pub struct Line {
    pub loan: usize,
    pub holder: usize,
    pub count: i64,
    pub closed: Closed,
}

#[derive(Clone, Debug)]
pub struct Kit {
    is_counted: bool,
    pub owned: i64,
    life: Life,
    pub is_aside: bool,
    pub lines: Vec<Line>,
}

type Done = Result<(), &'static str>;

impl Kit {
    pub const fn new(is_counted: bool, owned: i64) -> Self {
        Self {
            is_counted,
            owned,
            life: Life::InUse,
            is_aside: false,
            lines: Vec::new(),
        }
    }

    pub fn out(&self) -> i64 {
        let open = self.lines.iter().filter(|line| line.closed.is_none());
        open.map(|line| line.count).sum()
    }

    pub const fn state(&self) -> &'static str {
        self.life.word()
    }

    /// Why so many of it are not lent.
    pub fn refusal(&self, count: i64) -> Option<&'static str> {
        if self.life != Life::InUse {
            return Some("Gone");
        }
        if self.is_aside {
            return Some("KitSetAside");
        }
        let is_short = self.out() + count > self.owned;
        match (is_short, self.is_counted) {
            (true, true) => Some("NotEnough"),
            (true, false) => Some("OnLoan"),
            (false, _) => None,
        }
    }

    /// The latest line (`back` 0) or the one before, while it is open.
    pub fn open_line(&mut self, back: usize) -> Option<&mut Line> {
        let at = self.lines.len().checked_sub(1 + back)?;
        self.lines.get_mut(at).filter(|line| line.closed.is_none())
    }

    pub fn take_back(
        &mut self,
        hour: i64,
        by: usize,
        back: usize,
        said: (Option<i64>, bool),
    ) -> Done {
        quartermaster_only(by)?;
        let (counted, is_broken) = said;
        let is_counted = self.is_counted;
        let line = self.open_line(back).ok_or("NotOut")?;
        let closed = Some((hour, "back"));
        match counted.filter(|_| is_counted) {
            Some(count) if count < 1 || count > line.count => return Err("NotSoMany"),
            // A part comes back: it becomes a line of its own, the latest.
            Some(count) if count < line.count => {
                line.count -= count;
                let part = Line {
                    count,
                    closed,
                    ..line.clone()
                };
                self.lines.push(part);
            }
            _ => line.closed = closed,
        }
        self.is_aside |= is_broken;
        Ok(())
    }

    pub fn bring_home(&mut self, hour: i64, by: usize, back: usize) -> Done {
        let line = self.open_line(back).filter(|line| line.holder == by);
        line.ok_or("NotYours")?.closed = Some((hour, "unchecked"));
        Ok(())
    }

    /// `gone`: who is not active.
    pub fn reopen(&mut self, hour: i64, by: usize, back: usize, gone: &BTreeSet<usize>) -> Done {
        quartermaster_only(by)?;
        let at = self.lines.len().checked_sub(1 + back).ok_or("NotOut")?;
        let line = self.lines.get(at).ok_or("NotOut")?;
        let is_latest = back == 0;
        let is_there = if self.is_counted {
            self.out() + line.count <= self.owned
        } else {
            is_latest
        };
        match line.closed {
            Some((at, "back" | "unchecked")) if hour - at > 24 => return Err("TooLate"),
            Some((_, "back" | "unchecked")) => {}
            _ => return Err("NotTakenBack"),
        }
        if !is_there || self.life != Life::InUse {
            return Err("NotHere");
        }
        if gone.contains(&line.holder) {
            return Err("NotActive");
        }
        self.lines[at].closed = None;
        Ok(())
    }

    pub fn lose(&mut self, hour: i64, by: usize, back: usize) -> Done {
        quartermaster_only(by)?;
        let line = self.open_line(back).ok_or("NotOut")?;
        line.closed = Some((hour, "lost"));
        let count = line.count;
        if self.is_counted {
            self.owned -= count;
        } else {
            self.life = Life::Lost;
        }
        Ok(())
    }

    pub fn set_aside(&mut self) -> Done {
        match self.life {
            Life::InUse if self.is_aside => Err("AlreadySetAside"),
            Life::InUse => {
                self.is_aside = true;
                Ok(())
            }
            _ => Err("NoWay"),
        }
    }

    pub fn mend(&mut self) -> Done {
        if !self.is_aside {
            return Err("NotSetAside");
        }
        self.is_aside = false;
        Ok(())
    }

    pub fn count(&mut self, owned: i64) -> Done {
        if !self.is_counted {
            return Err("NotCounted");
        }
        if owned < self.out() {
            return Err("FewerThanOut");
        }
        self.owned = owned;
        Ok(())
    }

    /// In use to anything; retired to anything but use; lost to found; the rest is for good.
    pub fn leave(&mut self, way: Way) -> Done {
        let is_way = match (self.life, way) {
            (Life::InUse, Way::Find) => false,
            (Life::InUse, _) => true,
            (Life::Retired, Way::Lose | Way::GiveAway | Way::Withdraw) => true,
            (Life::Lost, Way::Find) => true,
            _ => false,
        };
        if !is_way {
            return Err("NoWay");
        }
        if self.out() > 0 {
            return Err("Out");
        }
        self.life = Life::after(way).unwrap_or(Life::InUse);
        Ok(())
    }
}
