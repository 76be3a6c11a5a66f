//! The ways out of a state, each asked of a pure rule: released from quarantine, mended, retired, lost and found, given
//! away, withdrawn. No computation retires a pack and no setting brings one back after final danger.
//! A refusal's Display is the sentence with what to do. Who the people are, and storing it, is left to others.

use super::calendar::Instant;
use super::states::Life;
use super::verdict::{Finding, Gravity, Rule};
use crate::bench::form::{Against, Refusal};

/// Who wants to release a pack, and what they have to do with its story.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Releaser {
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    /// Reported, saw or logged what the pack is in quarantine for.
    pub is_reporter: bool,
    /// Had it last, or answers for who had.
    pub is_last_holder: bool,
}

/// The pack and what was logged on it.
#[derive(Clone, Copy, Debug)]
pub struct Quarantined<'a> {
    pub open: &'a [Gravity],
    pub since: Instant,
    /// The newest reading: when, and how its volts stand to the limits.
    pub last_reading: Option<(Instant, Inside)>,
    pub quartermasters_in_club: i64,
    pub is_on_loan: bool,
}

/// How the volts of a reading stand to the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inside {
    Yes,
    No,
    /// Read before the pack had rested: the spread between its cells is not judged.
    SpreadNotJudged,
}

impl Inside {
    /// Nothing in it that quarantines, sets aside or is asked about, and nothing left unjudged.
    pub fn of(findings: &[Finding]) -> Self {
        if findings.iter().any(|each| each.gravity >= Gravity::ToMend) {
            Self::No
        } else if findings
            .iter()
            .any(|each| each.rule == Rule::SpreadNotJudged)
        {
            Self::SpreadNotJudged
        } else {
            Self::Yes
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ReleaseRefusal {
    #[error("It is not in quarantine.")]
    NotQuarantined,
    #[error("What was seen on it is final: it never goes back to use. Retire it.")]
    FinalDanger,
    #[error("It is out on a loan. Take it back first: who releases it has it before them.")]
    OnLoan,
    #[error("Only a quartermaster releases a pack from quarantine. Ask one.")]
    NotAQuartermaster,
    #[error(
        "You reported it, so a second person has to release it. Ask another quartermaster, or an organiser where the club has one quartermaster."
    )]
    Reporter,
    #[error(
        "You had it last, so a second person has to release it. Ask another quartermaster, or an organiser where the club has one quartermaster."
    )]
    LastHolder,
    #[error("Its volts were not logged since it went into quarantine. Log them first.")]
    NoReadingSince,
    #[error("Its last volts are not inside the limits. It stays in quarantine.")]
    OutsideLimits,
    #[error(
        "Its last volts were read before it had rested, so the spread between its cells is not judged. Log them again, rested."
    )]
    NotRested,
    #[error("Write down why it may go back to use, in 3 letters or more.")]
    NoReason,
}

impl Refusal for ReleaseRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::NoReason => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// A second person, volts inside limits logged since, a reason; never after final danger.
/// Swollen stays out even if it goes down: a battery maker's safety guide quoting a US fire department.
/// The second person: common practice, no source.
pub fn may_release(
    pack: &Quarantined<'_>,
    by: Releaser,
    reason: &str,
) -> Result<(), ReleaseRefusal> {
    match pack.open.iter().max() {
        Some(Gravity::FinalDanger) => return Err(ReleaseRefusal::FinalDanger),
        Some(Gravity::Danger) => {}
        _ => return Err(ReleaseRefusal::NotQuarantined),
    }
    if pack.is_on_loan {
        return Err(ReleaseRefusal::OnLoan);
    }
    let stands_in = by.is_organiser && pack.quartermasters_in_club <= 1;
    if !by.is_quartermaster && !stands_in {
        return Err(ReleaseRefusal::NotAQuartermaster);
    }
    if by.is_reporter {
        return Err(ReleaseRefusal::Reporter);
    }
    if by.is_last_holder {
        return Err(ReleaseRefusal::LastHolder);
    }
    match pack.last_reading {
        Some((at, Inside::Yes)) if at > pack.since => {}
        Some((at, Inside::No)) if at > pack.since => return Err(ReleaseRefusal::OutsideLimits),
        Some((at, Inside::SpreadNotJudged)) if at > pack.since => {
            return Err(ReleaseRefusal::NotRested);
        }
        _ => return Err(ReleaseRefusal::NoReadingSince),
    }
    is_said(reason)
        .then_some(())
        .ok_or(ReleaseRefusal::NoReason)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MendRefusal {
    #[error("Only a quartermaster closes this. Ask one.")]
    NotAQuartermaster,
    #[error("This is quarantine, not something to mend. It needs a release by a second person.")]
    Quarantine,
    #[error("Only a new reading closes this. Log its volts.")]
    NeedsReading,
    #[error(
        "Danger was reported, and nobody said yet whether it was so. Look at it, and say so on the report."
    )]
    NotLookedAt,
    #[error(
        "Nothing says yet that its cells came together: log its volts first, rested and inside the limits."
    )]
    StillApart,
    #[error("Write down what was done or seen, in 3 letters or more.")]
    NoReason,
}

impl Refusal for MendRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::NoReason => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// Whether a quartermaster may close one open finding as mended or looked at. What hangs on volts needs volts; what took it out of service, both. What was inferred from
/// many readings may be wrong with the meter, which a person sees; the next reading that says so opens it again. `awaits_a_look`: danger
/// was reported, and nobody said whether it was so.
pub fn may_mend(
    (rule, awaits_a_look): (Rule, bool),
    gravity: Gravity,
    is_quartermaster: bool,
    reason: &str,
) -> Result<(), MendRefusal> {
    if !is_quartermaster {
        return Err(MendRefusal::NotAQuartermaster);
    }
    if gravity >= Gravity::Danger {
        return Err(MendRefusal::Quarantine);
    }
    if !matches!(
        rule,
        Rule::Seen(_)
            | Rule::BatchSister
            | Rule::ReportedUnlooked
            | Rule::TookTooMuch
            | Rule::StoppedWrong
            | Rule::SpreadOut
            | Rule::ResistanceUp
            | Rule::ResistanceApart
            | Rule::ResistanceHigh
            | Rule::CapacityLow
            | Rule::SelfDischarge
    ) {
        return Err(MendRefusal::NeedsReading);
    }
    if awaits_a_look {
        return Err(MendRefusal::NotLookedAt);
    }
    is_said(reason).then_some(()).ok_or(MendRefusal::NoReason)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WayOutRefusal {
    #[error("Only a quartermaster does this. Ask one.")]
    NotAQuartermaster,
    #[error("It is on loan. Take it back first, or close the loan as lost.")]
    OnLoan,
    #[error("It is retired and stays so.")]
    AlreadyRetired,
    #[error("It is recorded as lost. Record it as found first.")]
    Lost,
    #[error("It was given away, withdrawn or disposed of; nothing more is recorded on it.")]
    Gone,
    #[error("It is not recorded as lost.")]
    NotLost,
    #[error(
        "Danger stands against it: it is given to nobody, and was not entered by mistake. Release it first, or retire it and have it disposed of; one that an incident took is lost in it, as the book says."
    )]
    Dangerous,
    #[error(
        "Somebody told of danger on it, and nobody said whether it was so: look at that report first. Until then it is given to nobody, and was not entered by mistake."
    )]
    NotLookedAt,
    #[error("It is not in quarantine. Say first what was seen on it.")]
    NotQuarantined,
    #[error("Write down why, in 3 letters or more.")]
    NoReason,
}

impl WayOutRefusal {
    /// Danger keeps it, known or told.
    pub const fn is_of_danger(&self) -> bool {
        matches!(self, Self::Dangerous | Self::NotLookedAt)
    }
}

impl Refusal for WayOutRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::NoReason => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// A pack on its way out, and the person who says so.
#[derive(Clone, Copy, Debug)]
pub struct WayOut<'a> {
    pub life: Life,
    pub is_on_loan: bool,
    pub is_quartermaster: bool,
    /// Somebody told of danger on it, and nobody said whether it was so.
    pub awaits_a_look: bool,
    pub reason: &'a str,
}

/// In use to retired, by a person. The pack is in hand: not lost, not on loan.
pub fn may_retire(way: &WayOut<'_>) -> Result<(), WayOutRefusal> {
    may_leave(way)?;
    match way.life {
        Life::Retired => Err(WayOutRefusal::AlreadyRetired),
        _ => with_reason(way),
    }
}

/// In use or retired to given away; never with danger on record, closed or not by retiring.
pub fn may_give_away(way: &WayOut<'_>, open: &[Gravity]) -> Result<(), WayOutRefusal> {
    may_leave(way)?;
    if is_dangerous(open) {
        return Err(WayOutRefusal::Dangerous);
    }
    if way.awaits_a_look {
        return Err(WayOutRefusal::NotLookedAt);
    }
    with_reason(way)
}

/// Entered by mistake: in use or retired to withdrawn; never with danger on record, which somebody saw on a pack that is there. Its
/// number is never used again.
pub fn may_withdraw(way: &WayOut<'_>, open: &[Gravity]) -> Result<(), WayOutRefusal> {
    may_give_away(way, open)
}

/// In use or retired to lost; what stands against it is told all the same to whoever finds it. A lent pack may be lost: its loan is closed in the same step.
pub fn may_lose(way: &WayOut<'_>) -> Result<(), WayOutRefusal> {
    may_leave(&WayOut {
        is_on_loan: false,
        ..*way
    })?;
    with_reason(way)
}

/// Taken by an incident: out of quarantine, as any pack is recorded as lost.
pub fn may_lose_in_incident(way: &WayOut<'_>, open: &[Gravity]) -> Result<(), WayOutRefusal> {
    may_lose(way)?;
    is_dangerous(open)
        .then_some(())
        .ok_or(WayOutRefusal::NotQuarantined)
}

fn is_dangerous(open: &[Gravity]) -> bool {
    open.iter().any(|gravity| *gravity >= Gravity::Danger)
}

/// Lost to where it was before; its findings stand as they were and its state is read afresh from them.
pub fn may_find(way: &WayOut<'_>) -> Result<(), WayOutRefusal> {
    match way.life {
        _ if !way.is_quartermaster => Err(WayOutRefusal::NotAQuartermaster),
        Life::Lost => Ok(()),
        Life::GivenAway | Life::Withdrawn => Err(WayOutRefusal::Gone),
        Life::InUse | Life::Retired => Err(WayOutRefusal::NotLost),
    }
}

fn may_leave(way: &WayOut<'_>) -> Result<(), WayOutRefusal> {
    match way.life {
        _ if !way.is_quartermaster => Err(WayOutRefusal::NotAQuartermaster),
        Life::Lost => Err(WayOutRefusal::Lost),
        Life::GivenAway | Life::Withdrawn => Err(WayOutRefusal::Gone),
        Life::InUse | Life::Retired if way.is_on_loan => Err(WayOutRefusal::OnLoan),
        Life::InUse | Life::Retired => Ok(()),
    }
}

fn with_reason(way: &WayOut<'_>) -> Result<(), WayOutRefusal> {
    is_said(way.reason)
        .then_some(())
        .ok_or(WayOutRefusal::NoReason)
}

/// Shorter ones say nothing to whoever reads them later, as with kit and overrides.
pub fn is_said(reason: &str) -> bool {
    reason.trim().chars().count() >= 3
}

#[cfg(test)]
mod tests;
