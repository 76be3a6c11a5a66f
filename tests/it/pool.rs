//! A plain model of lending, kept in memory and written from the club's rules, not from the program: three packs, two
//! quartermasters (0 and 1; only 0 was shown safe handling), two members who were (2, 3) and one who never was (4).
//! Hours count from the start. Every act answers "done" or the name of what refuses it, and then changes nothing.

mod acts;
mod pack;

pub use acts::{Act, Seen, Volts, evening};
use pack::{Line, Pack};

pub struct Pool {
    hour: i64,
    loans: usize,
    packs: Vec<Pack>,
}

const fn is_quartermaster(person: usize) -> bool {
    person < 2
}

const fn was_shown(person: usize) -> bool {
    matches!(person, 0 | 2 | 3)
}

impl Pool {
    pub fn new(count: usize) -> Self {
        Self {
            hour: 0,
            loans: 0,
            packs: vec![Pack::new(); count],
        }
    }

    pub const fn hour(&self) -> i64 {
        self.hour
    }

    pub fn standings(&self) -> Vec<(String, Option<usize>)> {
        let of = |pack: &Pack| {
            (
                pack.state(self.hour).to_owned(),
                pack.line().map(|line| line.holder),
            )
        };
        self.packs.iter().map(of).collect()
    }

    pub fn act(&mut self, act: &Act) -> String {
        let outcome = match *act {
            Act::HandOut {
                by,
                to,
                ref packs,
                with_reason,
            } => return self.hand_out(by, to, packs, with_reason),
            Act::Later { hours } => {
                self.hour += hours;
                Ok(())
            }
            Act::Extend { by, pack, days } => self.extend(by, pack, days),
            Act::PassOn { by, pack, to } => self.pass_on(by, pack, to),
            Act::TakeBack {
                by,
                pack,
                seen,
                volts,
            } => self.packs[pack].take_back(self.hour, by, seen, volts),
            Act::BringBack { by, pack, seen } => self.packs[pack].bring_back(self.hour, by, seen),
            Act::Lose { by, pack } => self.packs[pack].lose(self.hour, by),
            Act::Find { by, pack } => self.packs[pack].find(by),
            Act::Retire { by, pack } => self.packs[pack].retire(by),
            Act::Report { by, pack, seen } => {
                self.packs[pack].see(self.hour, by, seen);
                Ok(())
            }
            Act::LogVolts { by, pack, volts } => self.packs[pack].log_volts(self.hour, by, volts),
            Act::Mend { by, pack } => self.packs[pack].mend(by),
            Act::Release { by, pack } => self.packs[pack].release(by),
            Act::Reopen { by, pack } => self.packs[pack].reopen(self.hour, by),
        };
        outcome.err().unwrap_or("done").to_owned()
    }

    fn hand_out(&mut self, by: usize, to: usize, packs: &[usize], with_reason: bool) -> String {
        let mut refusals: Vec<&str> = Vec::new();
        if !is_quartermaster(by) {
            refusals.push("NotYourself");
        }
        if !was_shown(to) {
            refusals.push("NoInduction");
        }
        let may_override = with_reason && is_quartermaster(by);
        let mut is_own_override = false;
        for pack in packs {
            let pack = &self.packs[*pack];
            match pack.refusal(self.hour, true) {
                Some("SetAside") if may_override && pack.is_only_spread(self.hour) => {
                    if by == to {
                        is_own_override = true;
                        refusals.push("SetAside");
                    }
                }
                refusal => refusals.extend(refusal),
            }
        }
        if is_own_override {
            refusals.push("OwnOverride");
        }
        if !refusals.is_empty() {
            refusals.sort_unstable();
            return refusals.join(" ");
        }
        self.loans += 1;
        for pack in packs {
            self.packs[*pack].lines.push(Line {
                loan: self.loans,
                holder: to,
                closed: None,
            });
        }
        "done".to_owned()
    }

    fn extend(&self, by: usize, pack: usize, days: i64) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        let latest = self.packs[pack].lines.last().ok_or("NotOut")?;
        match days {
            ..0 => return Err("Past"),
            366.. => return Err("TooFar"),
            _ => {}
        }
        let is_on_it = |pack: &&Pack| pack.line().is_some_and(|line| line.loan == latest.loan);
        let on_it: Vec<&Pack> = self.packs.iter().filter(is_on_it).collect();
        if on_it.is_empty() {
            return Err("NotOut");
        }
        let refusal = on_it.iter().find_map(|pack| pack.refusal(self.hour, false));
        refusal.map_or(Ok(()), Err)
    }

    fn pass_on(&mut self, by: usize, pack: usize, to: usize) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        let pack = &mut self.packs[pack];
        pack.line().ok_or("NotOut")?;
        if !was_shown(to) {
            return Err("NoInduction");
        }
        if let Some(refusal) = pack.refusal(self.hour, false) {
            return Err(refusal);
        }
        pack.close(self.hour, "passed on");
        self.loans += 1;
        pack.lines.push(Line {
            loan: self.loans,
            holder: to,
            closed: None,
        });
        Ok(())
    }
}

fn quartermaster_only(by: usize) -> Result<(), &'static str> {
    if is_quartermaster(by) {
        Ok(())
    } else {
        Err("NotAQuartermaster")
    }
}
