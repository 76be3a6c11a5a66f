//! A plain model of lending, kept in memory and written from the club's rules, not from the program: three packs, a
//! charger (kit 0) and five adapters (kit 1), two quartermasters (persons 0 and 1; only 0 was shown safe handling), two
//! members who were (2, 3) and one who never was (4). Hours count from the start. Every act answers "done" or the name
//! of what refuses it, and then changes nothing; only what is seen on a pack that was back already stays on record.

mod acts;
mod kit;
mod pack;

pub use acts::{Act, Seen, Volts, Way, evening};
use kit::Kit;
use pack::{Line, Pack};
use std::collections::{BTreeMap, BTreeSet};

/// What the club lends for, in days, unless a night says otherwise.
const LOAN_DAYS: i64 = 7;
pub const ADAPTERS: i64 = 5;

#[derive(Clone, Copy)]
struct Loan {
    /// Days from the first evening.
    due: i64,
    night: usize,
}

pub struct Pool {
    /// Hours from the first evening of all, half past six, to this one.
    began: i64,
    hour: i64,
    packs: Vec<Pack>,
    kit: [Kit; 2],
    loans: BTreeMap<usize, Loan>,
    /// Counted from 1; and the day the open one ends. 0: made while none was open.
    nights: usize,
    night_ends: Option<i64>,
    gone: BTreeSet<usize>,
}

type Done = Result<(), &'static str>;

const fn is_quartermaster(person: usize) -> bool {
    person < 2
}

const fn was_shown(person: usize) -> bool {
    matches!(person, 0 | 2 | 3)
}

impl Pool {
    pub fn new(began: i64) -> Self {
        Self {
            began,
            hour: 0,
            packs: vec![Pack::new(); 3],
            kit: [Kit::new(false, 1), Kit::new(true, ADAPTERS)],
            loans: BTreeMap::new(),
            nights: 0,
            night_ends: None,
            gone: BTreeSet::new(),
        }
    }

    pub const fn hour(&self) -> i64 {
        self.hour
    }

    fn today(&self) -> i64 {
        ((self.began + self.hour) * 2 + 37).div_euclid(48)
    }

    /// State and holders of each pack and piece of kit, one line each.
    pub fn standings(&self) -> Vec<String> {
        let terms = |holder: usize, loan: usize| {
            let Loan { due, night } = self.loans[&loan];
            format!("with {holder} until {due}, night {night}")
        };
        let packs = self.packs.iter().map(|pack| {
            let out = pack.line().map(|line| terms(line.holder, line.loan));
            format!("{} {}", pack.state(self.hour), out.unwrap_or_default())
        });
        let kit = self.kit.iter().map(|kit| {
            let open = kit.lines.iter().filter(|line| line.closed.is_none());
            let mut out: Vec<String> = open
                .map(|line| format!("{} {}", line.count, terms(line.holder, line.loan)))
                .collect();
            out.sort();
            let (state, owned, aside, unchecked) =
                (kit.state(), kit.owned, kit.aside, kit.unchecked);
            format!(
                "{state} {owned} aside {aside} unchecked {unchecked}: {}",
                out.join("; ")
            )
        });
        packs.chain(kit).collect()
    }

    pub fn act(&mut self, act: &Act) -> String {
        let (hour, today) = (self.hour, self.today());
        let outcome = match *act {
            Act::HandOut { .. } => return self.hand_out(act),
            Act::Later { hours } => {
                self.hour += hours;
                Ok(())
            }
            Act::Extend { by, pack, days } => return told(self.extend(by, pack, days)),
            Act::PassOn { by, pack, to } => return told(self.pass_on(by, pack, to)),
            Act::TakeBack {
                by,
                pack,
                seen,
                volts,
            } => self.packs[pack].take_back(hour, by, seen, volts),
            Act::BringBack { by, pack, seen } => self.packs[pack].bring_back(hour, by, seen),
            Act::Lose { by, pack } => self.packs[pack].lose(hour, by),
            Act::Leave { by, pack, way } => self.packs[pack].leave(hour, by, way),
            Act::Report { by, pack, seen } => self.packs[pack].report(hour, by, seen),
            Act::LogVolts { by, pack, volts } => self.packs[pack].log_volts(hour, by, volts),
            Act::Mend { by, pack } => self.packs[pack].mend(by),
            Act::Release { by, pack } => self.packs[pack].release(by),
            Act::Reopen { by, pack } => self.packs[pack].reopen(hour, by, &self.gone),
            Act::KitBack {
                by,
                kit,
                back,
                counted,
                is_broken,
                to_mend,
            } => self.kit[kit].take_back(hour, by, back, (counted, is_broken, to_mend)),
            Act::KitHome {
                by,
                kit,
                back,
                counted,
                is_broken,
            } => self.kit[kit].bring_home(hour, by, back, (counted, is_broken)),
            Act::KitLookOver {
                kit,
                is_broken,
                counted,
            } => self.kit[kit].look_over(is_broken, counted),
            Act::KitReopen { by, kit, back } => self.kit[kit].reopen(hour, by, back, &self.gone),
            Act::KitLose { by, kit, back } => self.kit[kit].lose(hour, by, back),
            Act::KitPassOn { by, kit, back, to } => {
                return told(self.pass_kit_on(by, (kit, back), to));
            }
            Act::KitAside { kit, counted } => self.kit[kit].set_aside(counted),
            Act::KitMend {
                kit,
                counted,
                is_thrown_away,
            } => self.kit[kit].mend(counted, is_thrown_away),
            Act::KitCount { kit, owned } => self.kit[kit].count(owned),
            Act::KitLeave { kit, way } => self.kit[kit].leave(way),
            Act::OpenNight { by, days } => self.open_night(by, today + days),
            Act::CloseNight { by } => self.close_night(by),
            Act::Deactivate { by, who } => self.deactivate(by, who),
            Act::Reactivate { by, who } => self.reactivate(by, who),
        };
        assert!(self.kit.iter().all(Kit::adds_up), "after {act:?}");
        outcome.err().unwrap_or("done").to_owned()
    }

    /// Why nothing is lent to this person.
    fn person_refusal(&self, person: usize) -> Option<&'static str> {
        if self.gone.contains(&person) {
            return Some("NotActive");
        }
        (!was_shown(person)).then_some("NoInduction")
    }

    fn open_loan(&mut self, due: i64) -> usize {
        let night = if self.night_on().is_some() {
            self.nights
        } else {
            0
        };
        let number = self.loans.len();
        self.loans.insert(number, Loan { due, night });
        number
    }

    fn hand_out(&mut self, act: &Act) -> String {
        let Act::HandOut {
            by,
            to,
            ref packs,
            charger,
            adapters,
            with_reason,
        } = *act
        else {
            return String::new();
        };
        let mut refusals: Vec<&str> = self.person_refusal(to).into_iter().collect();
        if !is_quartermaster(by) {
            refusals.push("NotYourself");
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
        let wanted = [i64::from(charger), adapters];
        for (kit, count) in self.kit.iter().zip(wanted).filter(|(_, count)| *count > 0) {
            refusals.extend(kit.refusal(count));
        }
        if is_own_override {
            refusals.push("OwnOverride");
        }
        if !refusals.is_empty() {
            refusals.sort_unstable();
            return refusals.join(" ");
        }
        let today = self.today();
        let loan = self.open_loan(self.night_on().unwrap_or(today + LOAN_DAYS));
        for pack in packs {
            self.packs[*pack].lines.push(Line {
                loan,
                holder: to,
                closed: None,
            });
        }
        for (kit, count) in self
            .kit
            .iter_mut()
            .zip(wanted)
            .filter(|(_, count)| *count > 0)
        {
            kit.lines.push(kit::Line {
                loan,
                holder: to,
                count,
                closed: None,
                aside: 0,
                unchecked: 0,
            });
        }
        "done".to_owned()
    }

    /// The loan the pack was on last, with everything that is still out on it.
    fn extend(&mut self, by: usize, pack: usize, days: i64) -> Result<(), String> {
        quartermaster_only(by)?;
        let (loan, holder) = {
            let latest = self.packs[pack].lines.last().ok_or("NotOut")?;
            (latest.loan, latest.holder)
        };
        match days {
            ..0 => return Err("Past".to_owned()),
            366.. => return Err("TooFar".to_owned()),
            _ => {}
        }
        let mut refusals = Vec::from_iter(self.person_refusal(holder));
        let is_on_it = |pack: &&Pack| pack.line().is_some_and(|line| line.loan == loan);
        let packs: Vec<&Pack> = self.packs.iter().filter(is_on_it).collect();
        let has_it = |kit: &&Kit| {
            kit.lines
                .iter()
                .any(|line| line.closed.is_none() && line.loan == loan)
        };
        let kit: Vec<&Kit> = self.kit.iter().filter(has_it).collect();
        if packs.is_empty() && kit.is_empty() {
            return Err("NotOut".to_owned());
        }
        refusals.extend(kit.iter().flat_map(|kit| {
            let open = |line: &&kit::Line| line.closed.is_none() && line.loan == loan;
            let lines = kit.lines.iter().filter(open);
            lines.filter_map(|line| kit.stays_out_refusal(line))
        }));
        let of_packs = packs
            .iter()
            .filter_map(|pack| pack.refusal(self.hour, false));
        refusals.extend(of_packs);
        unless_refused(refusals)?;
        let due = self.today() + days;
        self.loans.entry(loan).and_modify(|loan| loan.due = due);
        Ok(())
    }

    fn due_passed_on(&self, loan: usize) -> i64 {
        let (due, today) = (self.loans[&loan].due, self.today());
        if due >= today { due } else { today + LOAN_DAYS }
    }

    fn pass_on(&mut self, by: usize, pack: usize, to: usize) -> Result<(), String> {
        quartermaster_only(by)?;
        let line = self.packs[pack].line().ok_or("NotOut")?;
        let (old, holder) = (line.loan, line.holder);
        if holder == to {
            return Err("HasIt".to_owned());
        }
        let mut refusals = Vec::from_iter(self.person_refusal(to));
        refusals.extend(self.packs[pack].refusal(self.hour, false));
        unless_refused(refusals)?;
        let loan = self.open_loan(self.due_passed_on(old));
        self.packs[pack].close(self.hour, "passed on");
        self.packs[pack].lines.push(Line {
            loan,
            holder: to,
            closed: None,
        });
        Ok(())
    }

    fn pass_kit_on(&mut self, by: usize, which: (usize, usize), to: usize) -> Result<(), String> {
        quartermaster_only(by)?;
        let (kit, back) = which;
        let line = self.kit[kit].open_line(back).ok_or("NotOut")?.clone();
        if line.holder == to {
            return Err("HasIt".to_owned());
        }
        let mut refusals = Vec::from_iter(self.person_refusal(to));
        refusals.extend(self.kit[kit].stays_out_refusal(&line));
        unless_refused(refusals)?;
        let loan = self.open_loan(self.due_passed_on(line.loan));
        let passed_on = Some((self.hour, "passed on"));
        self.kit[kit].open_line(back).ok_or("NotOut")?.closed = passed_on;
        self.kit[kit].lines.push(kit::Line {
            loan,
            holder: to,
            ..line
        });
        Ok(())
    }

    const fn night_end(&self, day: i64) -> i64 {
        day * 24 + 3 - self.began
    }

    /// The day on which the night ends that is open and not past.
    fn night_on(&self) -> Option<i64> {
        self.night_ends
            .filter(|ends| self.night_end(*ends) > self.hour)
    }

    /// Until half past nine of that day, which must lie ahead and within 31 days.
    fn open_night(&mut self, by: usize, ends: i64) -> Done {
        quartermaster_only(by)?;
        let ends_hour = self.night_end(ends);
        if ends_hour <= self.hour || ends_hour >= self.hour + 31 * 24 {
            return Err("End");
        }
        if self.night_ends.is_some() {
            return Err("OpenAlready");
        }
        self.nights += 1;
        self.night_ends = Some(ends);
        Ok(())
    }

    fn close_night(&mut self, by: usize) -> Done {
        quartermaster_only(by)?;
        self.night_ends.take().map(|_| ()).ok_or("NotOpen")
    }

    fn deactivate(&mut self, by: usize, who: usize) -> Done {
        if !is_quartermaster(by) {
            return Err("QuartermastersOnly");
        }
        if self.gone.contains(&who) {
            return Err("Deactivated");
        }
        let has_pack = self
            .packs
            .iter()
            .any(|pack| pack.line().is_some_and(|line| line.holder == who));
        let lines = self.kit.iter().flat_map(|kit| &kit.lines);
        let has_kit = lines
            .into_iter()
            .any(|line| line.closed.is_none() && line.holder == who);
        if has_pack || has_kit {
            return Err("OpenLoans");
        }
        self.gone.insert(who);
        Ok(())
    }

    fn reactivate(&mut self, by: usize, who: usize) -> Done {
        if !is_quartermaster(by) {
            return Err("QuartermastersOnly");
        }
        self.gone.remove(&who).then_some(()).ok_or("Active")
    }
}

fn told(outcome: Result<(), String>) -> String {
    outcome.err().unwrap_or_else(|| "done".to_owned())
}

/// All of them, in the order of their letters.
fn unless_refused(mut refusals: Vec<&str>) -> Result<(), String> {
    refusals.sort_unstable();
    if refusals.is_empty() {
        Ok(())
    } else {
        Err(refusals.join(" "))
    }
}

fn quartermaster_only(by: usize) -> Done {
    if is_quartermaster(by) {
        Ok(())
    } else {
        Err("NotAQuartermaster")
    }
}
