//! A piece of kit of the model: a charger with a number, or adapters that are counted. What is out of it, how many
//! are set aside or unchecked, how it left the pool.

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
    /// What of it was to mend, or seen by nobody at the table, when it came back.
    pub aside: i64,
    pub unchecked: i64,
}

#[derive(Clone, Debug)]
pub struct Kit {
    is_counted: bool,
    pub owned: i64,
    life: Life,
    /// To mend; and brought home by a member, seen by nobody at the table.
    pub aside: i64,
    pub unchecked: i64,
    pub lines: Vec<Line>,
}

type Done = Result<(), &'static str>;

impl Kit {
    pub const fn new(is_counted: bool, owned: i64) -> Self {
        Self {
            is_counted,
            owned,
            life: Life::InUse,
            aside: 0,
            unchecked: 0,
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
        if self.is_counted {
            let is_short = self.out() + self.aside + self.unchecked + count > self.owned;
            return is_short.then_some("NotEnough");
        }
        if self.aside > 0 {
            Some("KitSetAside")
        } else if self.out() > 0 {
            Some("OnLoan")
        } else {
            (self.unchecked > 0).then_some("KitUnchecked")
        }
    }

    /// Why a line of it is not extended nor passed on: it was found to mend, and its take-back undone.
    pub fn stays_out_refusal(&self, line: &Line) -> Option<&'static str> {
        if self.is_counted {
            (line.aside > 0).then_some("KitInDoubt")
        } else {
            (self.aside > 0).then_some("KitSetAside")
        }
    }

    fn put_aside(&mut self, count: i64) {
        self.aside = if self.is_counted {
            self.aside + count
        } else {
            1
        };
    }

    /// Of adapters no more are out, to mend or unchecked than the club owns.
    pub fn adds_up(&self) -> bool {
        !self.is_counted || self.out() + self.aside + self.unchecked <= self.owned
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
        said: (Option<i64>, bool, Option<i64>),
    ) -> Done {
        quartermaster_only(by)?;
        let (counted, is_broken, to_mend) = said;
        let is_counted = self.is_counted;
        if self.open_line(back).is_none() {
            if is_broken {
                self.seen_late(back, to_mend.or(counted));
            }
            return Err("NotOut");
        }
        let line = self.open_line(back).ok_or("NotOut")?;
        let closed = Some((hour, "back"));
        let count = counted.filter(|_| is_counted).unwrap_or(line.count);
        if count < 1 || count > line.count {
            return Err("NotSoMany");
        }
        let to_mend = to_mend.filter(|_| is_counted).unwrap_or(count);
        if to_mend < 1 || to_mend > count {
            return Err("NotSoManyToMend");
        }
        let aside = if is_broken { to_mend } else { 0 };
        if count < line.count {
            // A part comes back: it becomes a line of its own, the latest.
            line.count -= count;
            let part = Line {
                count,
                closed,
                aside,
                ..line.clone()
            };
            self.lines.push(part);
        } else {
            line.closed = closed;
            line.aside = aside;
        }
        if is_broken {
            self.put_aside(to_mend);
        }
        Ok(())
    }

    /// What is wrong with something that was booked in already stays on record, once.
    fn seen_late(&mut self, back: usize, count: Option<i64>) {
        let Some(at) = self.lines.len().checked_sub(1 + back) else {
            return;
        };
        if self.life != Life::InUse {
            return;
        }
        let in_order = self.owned - self.out() - self.aside - self.unchecked;
        let line = &mut self.lines[at];
        let more = if self.is_counted {
            let said = count.unwrap_or(line.count).clamp(1, line.count);
            let here = in_order.max(0) + self.unchecked.min(line.unchecked);
            (said - line.aside).clamp(0, here)
        } else {
            1 - self.aside
        };
        let looked_at = more.min(line.unchecked);
        line.aside += more;
        line.unchecked -= looked_at;
        self.unchecked -= looked_at;
        self.aside += more;
    }

    pub fn bring_home(
        &mut self,
        hour: i64,
        by: usize,
        back: usize,
        said: (Option<i64>, bool),
    ) -> Done {
        let (counted, is_broken) = said;
        let is_counted = self.is_counted;
        let at = self.lines.len().checked_sub(1 + back).ok_or("NotYours")?;
        if self.lines[at].closed.is_some() && self.lines[at].holder == by && is_broken {
            let has = self.life == Life::InUse;
            self.seen_late(back, counted);
            return Err(if has && self.aside > 0 {
                "WasBack"
            } else {
                "NotYours"
            });
        }
        let line = self.open_line(back).filter(|line| line.holder == by);
        let line = line.ok_or("NotYours")?;
        let count = counted.filter(|_| is_counted).unwrap_or(line.count);
        if count < 1 || count > line.count {
            return Err("NotSoMany");
        }
        let (aside, unchecked) = if is_broken { (count, 0) } else { (0, count) };
        let part = Line {
            count,
            closed: Some((hour, "unchecked")),
            aside,
            unchecked,
            ..line.clone()
        };
        if count < line.count {
            line.count -= count;
            self.lines.push(part);
        } else {
            *line = part;
        }
        if is_broken {
            self.put_aside(count);
        } else {
            self.unchecked += count;
        }
        Ok(())
    }

    /// How many are meant; none said: all `most`.
    const fn meant(&self, counted: Option<i64>, most: i64) -> Result<i64, &'static str> {
        match counted {
            Some(count) if self.is_counted && (count < 1 || count > most) => Err("Fields"),
            Some(count) if self.is_counted => Ok(count),
            _ if most < 1 => Err("Fields"),
            _ => Ok(most),
        }
    }

    pub fn look_over(&mut self, is_broken: bool, counted: Option<i64>) -> Done {
        if self.unchecked == 0 {
            return Err("NotUnchecked");
        }
        if is_broken {
            let count = self.meant(counted, self.unchecked)?;
            self.put_aside(count);
        }
        self.unchecked = 0;
        self.lines.iter_mut().for_each(|line| line.unchecked = 0);
        Ok(())
    }

    /// `gone`: who is not active.
    pub fn reopen(&mut self, hour: i64, by: usize, back: usize, gone: &BTreeSet<usize>) -> Done {
        quartermaster_only(by)?;
        let at = self.lines.len().checked_sub(1 + back).ok_or("NotOut")?;
        let line = self.lines.get(at).ok_or("NotOut")?;
        let is_latest = back == 0;
        let is_there = if self.is_counted {
            let others = self.aside - line.aside.min(self.aside) + self.unchecked - line.unchecked;
            self.out() + line.count + others <= self.owned
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
        self.unchecked = if self.is_counted {
            self.unchecked - line.unchecked
        } else {
            0
        };
        if self.is_counted {
            self.aside -= line.aside.min(self.aside);
        }
        self.lines[at].unchecked = 0;
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

    pub fn set_aside(&mut self, counted: Option<i64>) -> Done {
        if self.life != Life::InUse {
            return Err("NoWay");
        }
        if self.is_counted {
            let here = self.owned - self.out() - self.aside - self.unchecked;
            let count = self.meant(counted, here)?;
            self.put_aside(count);
            return Ok(());
        }
        if self.aside > 0 {
            return Err("AlreadySetAside");
        }
        self.aside = 1;
        Ok(())
    }

    pub fn mend(&mut self, counted: Option<i64>, is_thrown_away: bool) -> Done {
        if self.aside == 0 {
            return Err("NotSetAside");
        }
        let count = self.meant(counted, self.aside)?;
        self.aside -= count;
        if self.aside == 0 {
            let back = self.lines.iter_mut().filter(|line| line.closed.is_some());
            back.for_each(|line| line.aside = 0);
        }
        if is_thrown_away && self.is_counted {
            self.owned = (self.owned - count).max(0);
        }
        Ok(())
    }

    pub fn count(&mut self, owned: i64) -> Done {
        if !self.is_counted {
            return Err("NotCounted");
        }
        if owned < self.out() + self.aside + self.unchecked {
            return Err("FewerThanThere");
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
        if way == Way::Find {
            self.unchecked = self.owned - self.aside;
        }
        Ok(())
    }
}
