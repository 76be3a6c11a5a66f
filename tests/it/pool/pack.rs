//! One pack of the model: its life, what is on record against it, the lines it was lent on, and what may be done to it.

use super::acts::{Seen, Volts, Way};
use super::quartermaster_only;
use std::collections::BTreeSet;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Life {
    InUse,
    Lost,
    Retired,
    GivenAway,
    Withdrawn,
}

impl Life {
    pub const fn word(self) -> &'static str {
        match self {
            Self::InUse => "in_use",
            Self::Lost => "lost",
            Self::Retired => "retired",
            Self::GivenAway => "given_away",
            Self::Withdrawn => "withdrawn",
        }
    }

    /// Where a way out leads; None: back to where it was.
    pub const fn after(way: Way) -> Option<Self> {
        match way {
            Way::Retire => Some(Self::Retired),
            Way::GiveAway => Some(Self::GivenAway),
            Way::Withdraw => Some(Self::Withdrawn),
            Way::Lose => Some(Self::Lost),
            Way::Find => None,
        }
    }
}

/// Something dangerous that is on record: what, by whom, who had the pack last.
#[derive(Clone, Debug)]
pub struct Danger {
    what: &'static str,
    is_final: bool,
    since: i64,
    reporter: usize,
    last_holder: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct Line {
    pub loan: usize,
    pub holder: usize,
    /// Hour and how it ended: "back", "unchecked", or something that can't be undone.
    pub closed: Option<(i64, &'static str)>,
}

#[derive(Clone, Debug)]
pub struct Pack {
    life: Life,
    before_lost: Life,
    dangers: Vec<Danger>,
    is_torn: bool,
    spread: Option<Volts>,
    is_unread: bool,
    is_unchecked: bool,
    /// Hour of the last volts that were read, and whether they were inside the limits.
    read: Option<(i64, bool)>,
    pub lines: Vec<Line>,
}

impl Pack {
    pub const fn new() -> Self {
        Self {
            life: Life::InUse,
            before_lost: Life::InUse,
            dangers: Vec::new(),
            is_torn: false,
            spread: None,
            is_unread: false,
            is_unchecked: false,
            read: None,
            lines: Vec::new(),
        }
    }

    pub fn line(&self) -> Option<&Line> {
        self.lines.last().filter(|line| line.closed.is_none())
    }

    pub fn state(&self, hour: i64) -> &'static str {
        let is_known = self.read.is_some_and(|(at, _)| hour - at <= 90 * 24);
        match self.life {
            Life::Lost | Life::Retired | Life::GivenAway | Life::Withdrawn => self.life.word(),
            Life::InUse if !self.dangers.is_empty() => "quarantine",
            Life::InUse if self.is_torn || self.spread == Some(Volts::Wide) => "set_aside",
            Life::InUse if self.is_unread || self.is_unchecked || !is_known => "not_known",
            Life::InUse if self.spread == Some(Volts::Watch) => "caution",
            Life::InUse => "fit",
        }
    }

    /// Why it is not lent, as far as the pack itself is concerned.
    pub fn refusal(&self, hour: i64, counts_loan: bool) -> Option<&'static str> {
        match self.state(hour) {
            "quarantine" => Some("Quarantined"),
            "retired" => Some("Retired"),
            "lost" | "given_away" | "withdrawn" => Some("Gone"),
            _ if counts_loan && self.line().is_some() => Some("OnLoan"),
            "set_aside" => Some("SetAside"),
            "not_known" => Some("NotKnown"),
            _ => None,
        }
    }

    /// Set aside for nothing but a spread that is not too wide to be overridden. Not known besides is never overridden.
    pub fn is_only_spread(&self, hour: i64) -> bool {
        let is_wide = self.spread == Some(Volts::Wide);
        let balanced = Self {
            spread: None,
            ..self.clone()
        };
        is_wide && balanced.state(hour) == "fit"
    }

    pub fn endanger(&mut self, hour: i64, by: usize, what: &'static str) {
        // Told again after a reading, or later, it is a new report.
        let last = self.read.map_or(i64::MIN, |(at, _)| at).max(hour);
        let is_told =
            |danger: &Danger| danger.what == what && danger.reporter == by && last <= danger.since;
        if self.dangers.iter().any(is_told) {
            return;
        }
        let last_holder = self.lines.last().map(|line| line.holder);
        self.dangers.push(Danger {
            what,
            is_final: what == "swollen",
            since: hour,
            reporter: by,
            last_holder,
        });
    }

    pub fn see(&mut self, hour: i64, by: usize, seen: Seen) {
        match seen {
            Seen::Nothing => {}
            Seen::WrapTorn => self.is_torn = true,
            Seen::Wet => self.endanger(hour, by, "wet"),
            Seen::Swollen => self.endanger(hour, by, "swollen"),
        }
    }

    pub fn read(&mut self, hour: i64, by: usize, volts: Volts) {
        if volts == Volts::Unread {
            self.is_unread = true;
            return;
        }
        if volts == Volts::Dangerous {
            self.endanger(hour, by, "over-discharged");
        }
        self.read = Some((hour, matches!(volts, Volts::Good | Volts::Watch)));
        self.is_unread = false;
        if by < 2 {
            self.is_unchecked = false;
        }
        self.spread = matches!(volts, Volts::Watch | Volts::Wide).then_some(volts);
    }

    pub fn close(&mut self, hour: i64, how: &'static str) {
        if let Some(line) = self.lines.last_mut() {
            line.closed = Some((hour, how));
        }
    }
}

impl Pack {
    pub fn take_back(
        &mut self,
        hour: i64,
        by: usize,
        seen: Seen,
        volts: Volts,
    ) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        // What is seen stays on record, though somebody took it back already.
        if !self.lines.is_empty() {
            self.see(hour, by, seen);
        }
        self.line().ok_or("NotOut")?;
        // Danger seen, now or while it was out: never asked for volts.
        let is_seen = |danger: &Danger| danger.what != "over-discharged";
        if !self.dangers.iter().any(is_seen) {
            self.read(hour, by, volts);
        }
        self.close(hour, "back");
        Ok(())
    }

    pub fn bring_back(&mut self, hour: i64, by: usize, seen: Seen) -> Result<(), &'static str> {
        let line = self.lines.last().filter(|line| line.holder == by);
        let is_out = line.ok_or("NotYours")?.closed.is_none();
        if !is_out {
            // What is seen stays on record, though somebody took it back already.
            if seen == Seen::Nothing || matches!(self.life, Life::GivenAway | Life::Withdrawn) {
                return Err("NotYours");
            }
            self.see(hour, by, seen);
            return Err("WasBack");
        }
        self.see(hour, by, seen);
        self.is_unchecked = true;
        self.close(hour, "unchecked");
        Ok(())
    }

    pub fn lose(&mut self, hour: i64, by: usize) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        self.line().ok_or("NotOut")?;
        self.close(hour, "lost");
        (self.before_lost, self.life) = (self.life, Life::Lost);
        Ok(())
    }

    pub fn leave(&mut self, hour: i64, by: usize, way: Way) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        match (self.life, way) {
            (Life::GivenAway | Life::Withdrawn, _) => return Err("Gone"),
            (Life::Lost, Way::Find) => {
                self.life = self.before_lost;
                self.is_unchecked |= self.life == Life::InUse;
                return Ok(());
            }
            (_, Way::Find) => return Err("NotLost"),
            (Life::Lost, _) => return Err("Lost"),
            _ if self.line().is_some() && way != Way::Lose => return Err("OnLoan"),
            (Life::Retired, Way::Retire) => return Err("AlreadyRetired"),
            (_, Way::GiveAway | Way::Withdraw) if !self.dangers.is_empty() => {
                return Err("Dangerous");
            }
            _ => {}
        }
        if self.line().is_some() {
            self.close(hour, "lost");
        }
        (self.before_lost, self.life) = (self.life, Life::after(way).unwrap_or(Life::InUse));
        Ok(())
    }

    pub fn report(&mut self, hour: i64, by: usize, seen: Seen) -> Result<(), &'static str> {
        if matches!(self.life, Life::GivenAway | Life::Withdrawn) {
            return Err("Gone");
        }
        self.see(hour, by, seen);
        Ok(())
    }

    pub fn log_volts(&mut self, hour: i64, by: usize, volts: Volts) -> Result<(), &'static str> {
        if self.life != Life::InUse {
            return Err("Gone");
        }
        self.read(hour, by, volts);
        Ok(())
    }

    /// Tries to mend the gravest thing on record.
    pub fn mend(&mut self, by: usize) -> Result<(), &'static str> {
        let has_spread = self.spread == Some(Volts::Wide);
        let is_clear = self.dangers.is_empty() && !self.is_torn && self.spread.is_none();
        if is_clear && !self.is_unread && !self.is_unchecked {
            return Err("NotOpen");
        }
        quartermaster_only(by)?;
        match () {
            () if !self.dangers.is_empty() => Err("Quarantine"),
            // "wrap_torn" comes after "spread_wide" in the alphabet, and both set aside.
            () if self.is_torn => {
                self.is_torn = false;
                Ok(())
            }
            () if has_spread => Err("NeedsReading"),
            () => Err("NeedsReading"),
        }
    }

    pub fn release(&mut self, by: usize) -> Result<(), &'static str> {
        if self.dangers.iter().any(|danger| danger.is_final) {
            return Err("FinalDanger");
        }
        let since = self.dangers.iter().map(|danger| danger.since).max();
        let since = since.ok_or("NotQuarantined")?;
        if self.line().is_some() {
            return Err("OnLoan");
        }
        quartermaster_only(by)?;
        if self.dangers.iter().any(|danger| danger.reporter == by) {
            return Err("Reporter");
        }
        if self
            .dangers
            .iter()
            .any(|danger| danger.last_holder == Some(by))
        {
            return Err("LastHolder");
        }
        // A later try that read nothing takes back what was known.
        match self.read.filter(|_| !self.is_unread) {
            Some((at, true)) if at > since => {
                self.dangers.clear();
                Ok(())
            }
            Some((at, false)) if at > since => Err("OutsideLimits"),
            _ => Err("NoReadingSince"),
        }
    }

    /// `gone`: who is not active.
    pub fn reopen(
        &mut self,
        hour: i64,
        by: usize,
        gone: &BTreeSet<usize>,
    ) -> Result<(), &'static str> {
        quartermaster_only(by)?;
        let line = self.lines.last_mut().ok_or("NotOut")?;
        match line.closed {
            Some((at, "back" | "unchecked")) if hour - at > 24 => Err("TooLate"),
            Some((_, "back" | "unchecked")) if self.life != Life::InUse => Err("NotHere"),
            Some((_, "back" | "unchecked")) if gone.contains(&line.holder) => Err("NotActive"),
            Some((_, how @ ("back" | "unchecked"))) => {
                if how == "unchecked" {
                    self.is_unchecked = false;
                }
                line.closed = None;
                Ok(())
            }
            _ => Err("NotTakenBack"),
        }
    }
}
