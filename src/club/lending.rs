//! Who may borrow what: each refusal says why and what to do. Three of them a quartermaster may override with a reason,
//! never for an own loan: a pack set aside for nothing but a spread of up to 0.20 V (a club may lower that), an
//! induction that ran out, and own storage care that is overdue.
//! Lending needs induction and a fit or cautioned pack: common practice, no source. 0.20 V: common practice, no source.

use super::calendar::{Day, day_words};
use super::care::enforced::CareRefusal;
use super::induction::Induction;
use super::kit::{self, Stock};
use super::people::Actor;
use super::states::{Life, State};
use super::verdict::{Gravity, Rule};
use crate::battery::volts::volts_words;
use crate::bench::form::{Against, Refusal};
use uuid::Uuid;

pub use super::typed_numbers::{
    Typed, in_ranges, is_same_number, key_of, missing, read_numbers, says_how_many,
};

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HandOutRefusal {
    #[error("{number} is on loan{to}. Take it back first.")]
    OnLoan { number: String, to: String },
    #[error("{number} is at home{with}, to be put to storage. Say first that it is back.")]
    AtHome { number: String, with: String },
    #[error("{number} is set aside: {why} {next}")]
    SetAside {
        number: String,
        why: String,
        next: String,
    },
    #[error("{number} is in quarantine: {why} It goes to nobody. Take another one.")]
    Quarantined { number: String, why: String },
    #[error("{number} is in use: {charger} works on {pack} now. End that charge first.")]
    Charging {
        number: String,
        charger: String,
        pack: String,
    },
    #[error("{number} is retired and is handed out no more. Take another one.")]
    Retired { number: String },
    #[error(
        "{number} is recorded as gone and goes out to nobody. A lost one that lies before you: have it recorded as found first."
    )]
    Gone { number: String },
    #[error("{number} is not known: {why} Log its volts now, then hand it out.")]
    NotKnown { number: String, why: String },
    #[error("{number} is set aside to mend ({why}). Give another one.")]
    KitSetAside { number: String, why: String },
    #[error("{number} came back unchecked. Look it over, say so on its page, then hand it out.")]
    KitUnchecked { number: String },
    #[error(
        "{count} of {number} on this loan were to be mended when they came back before. Take them back and look at them first."
    )]
    KitInDoubt { number: String, count: i64 },
    #[error(
        "Of {number} only {free} can be lent now, not {asked}{but}. Give fewer, or another one."
    )]
    NotEnough {
        number: String,
        free: i64,
        asked: i64,
        /// ` (1 set aside: a bent pin)`, or nothing.
        but: String,
    },
    #[error(
        "{name} was never shown safe charging and handling. Show it, record it, then hand out."
    )]
    NoInduction { name: String },
    #[error("{name}'s induction ran out on {on}. Show it again and record it.")]
    InductionRanOut { name: String, on: String },
    #[error(
        "{name} is not active in the club and borrows nothing. A quartermaster makes them active again on their page."
    )]
    NotActive { name: String },
    #[error("A quartermaster hands out. Ask one.")]
    NotYourself,
    #[error(
        "Nobody overrides a refusal for an own loan, or for somebody they answer for. Ask another quartermaster."
    )]
    OwnOverride,
    /// What neglect of storage stops.
    #[error(transparent)]
    Care(#[from] CareRefusal),
}

/// What is refused for the same reasons as handing out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Then {
    Extend,
    PassOn,
}

impl Refusal for HandOutRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotYourself => Against::Right,
            Self::Care(refusal) => refusal.against(),
            _ => Against::Rule,
        }
    }
}

impl HandOutRefusal {
    /// Its sentence where no hand-out was refused, but this: what to do first, and then that.
    pub fn told_at(&self, then: Then) -> String {
        let told = self.to_string();
        let first = ["then hand it out.", "then hand out."]
            .iter()
            .find_map(|words| told.strip_suffix(words));
        match (first, then) {
            (Some(first), Then::Extend) => format!("{first}then extend the loan."),
            (Some(first), Then::PassOn) => format!("{first}then pass it on."),
            (None, _) => told,
        }
    }

    /// It is about whoever is to get it; else about what they are to get.
    pub const fn is_of_person(&self) -> bool {
        matches!(
            self,
            Self::NoInduction { .. }
                | Self::InductionRanOut { .. }
                | Self::NotActive { .. }
                | Self::Care(CareRefusal::OwnCareOverdue { .. })
        )
    }

    /// May a quartermaster go on with a reason? `spread_mv`: what alone sets the pack aside, and the widest that may go.
    pub const fn is_overridable(&self, spread_mv: Option<i64>, widest_mv: i64) -> bool {
        match self {
            Self::InductionRanOut { .. } | Self::Care(CareRefusal::OwnCareOverdue { .. }) => true,
            Self::SetAside { .. } => matches!(spread_mv, Some(mv) if mv <= widest_mv),
            _ => false,
        }
    }
}

/// A pack at the table, as the rule needs it. `spread_mv` is set when nothing but a wide spread sets it aside.
#[derive(Clone, Debug)]
pub struct PackAtTable {
    pub number: String,
    pub state: State,
    pub why: String,
    pub next: String,
    /// Who has it, in words the asking person may read; None: it is here.
    pub lent: Option<String>,
    /// The same of whoever took it home; None: nobody did.
    pub home: Option<String>,
    pub spread_mv: Option<i64>,
}

/// None: it may go out as far as the pack is concerned.
pub fn pack_refusal(pack: &PackAtTable) -> Option<HandOutRefusal> {
    let (number, why) = (pack.number.clone(), pack.why.clone());
    match pack.state {
        State::Quarantine => return Some(HandOutRefusal::Quarantined { number, why }),
        State::Retired => return Some(HandOutRefusal::Retired { number }),
        State::Lost | State::GivenAway | State::Withdrawn => {
            return Some(HandOutRefusal::Gone { number });
        }
        _ => {}
    }
    if let Some(to) = &pack.lent {
        return Some(HandOutRefusal::OnLoan {
            number,
            to: to.clone(),
        });
    }
    if let Some(with) = pack.home.clone() {
        return Some(HandOutRefusal::AtHome { number, with });
    }
    match pack.state {
        State::SetAside => Some(HandOutRefusal::SetAside {
            number,
            why,
            next: pack.next.clone(),
        }),
        State::NotKnown => Some(HandOutRefusal::NotKnown { number, why }),
        _ => None,
    }
}

/// The spread that alone sets a pack aside: of all that is open nothing else is graver than a caution.
pub fn only_spread_mv(open: &[(Option<Rule>, Gravity)], spread_mv: Option<i64>) -> Option<i64> {
    let grave: Vec<_> = open
        .iter()
        .filter(|(_, gravity)| *gravity > Gravity::Caution)
        .collect();
    let is_only_spread = !grave.is_empty()
        && grave
            .iter()
            .all(|(rule, _)| *rule == Some(Rule::SpreadWide));
    if is_only_spread { spread_mv } else { None }
}

#[derive(Clone, Debug)]
pub struct Borrower {
    pub id: Uuid,
    pub name: String,
    pub is_active: bool,
    pub induction: Induction,
    /// Who answers for a guest or junior.
    pub responsible_id: Option<Uuid>,
}

impl Borrower {
    /// The loan is the actor's own: it is theirs, or that of somebody they answer for.
    pub fn is_own_of(&self, actor: Actor) -> bool {
        self.id == actor.id || self.responsible_id == Some(actor.id)
    }
}

/// None: this person may borrow.
pub fn borrower_refusal(borrower: &Borrower) -> Option<HandOutRefusal> {
    let name = borrower.name.clone();
    if !borrower.is_active {
        return Some(HandOutRefusal::NotActive { name });
    }
    match borrower.induction {
        Induction::Never => Some(HandOutRefusal::NoInduction { name }),
        Induction::RanOut { on } => Some(HandOutRefusal::InductionRanOut {
            name,
            on: day_words(on),
        }),
        Induction::Valid { .. } => None,
    }
}

/// May this person hand out to that one? Members only to themselves, and only where the club lets them.
pub fn lender_refusal(
    actor: Actor,
    borrower_id: Uuid,
    may_members_borrow: bool,
) -> Option<HandOutRefusal> {
    let helps_oneself = actor.roles.is_member && may_members_borrow && actor.id == borrower_id;
    (!actor.roles.is_quartermaster && !helps_oneself).then_some(HandOutRefusal::NotYourself)
}

/// A piece of kit at the table.
#[derive(Clone, Debug)]
pub struct KitAtTable {
    pub number: String,
    pub is_counted: bool,
    pub life: Life,
    pub stock: Stock,
    /// Why it, or a part of it, is set aside.
    pub aside_words: Option<String>,
    /// Who has a numbered thing, in words the asking person may read.
    pub lent: Option<String>,
}

/// None: so many of it may go out. Of counted stock what is out, doubtful and asked for must not pass what the club owns.
pub fn kit_refusal(kit: KitAtTable, asked: i64) -> Option<HandOutRefusal> {
    let (number, stock) = (kit.number, kit.stock);
    if kit.life != Life::InUse {
        return Some(HandOutRefusal::Gone { number });
    }
    if kit.is_counted {
        let free = stock.in_order();
        let doubts = stock.doubts(kit.aside_words.as_deref());
        return (asked < 1 || asked > free).then(|| HandOutRefusal::NotEnough {
            number,
            free,
            asked,
            but: if doubts.is_empty() {
                doubts
            } else {
                format!(" ({doubts})")
            },
        });
    }
    if stock.aside > 0 {
        let why = kit.aside_words.unwrap_or_default();
        return Some(HandOutRefusal::KitSetAside { number, why });
    }
    if let Some(to) = kit.lent {
        return Some(HandOutRefusal::OnLoan { number, to });
    }
    (stock.unchecked > 0).then_some(HandOutRefusal::KitUnchecked { number })
}

/// Kit that is out and shall stay out, with this person or the next: not while it is set aside, or `doubtful` of these
/// adapters were found to mend before their take-back was undone.
pub fn kit_out_refusal(kit: KitAtTable, doubtful: i64) -> Option<HandOutRefusal> {
    let number = kit.number;
    if kit.is_counted {
        let count = doubtful;
        return (count > 0).then_some(HandOutRefusal::KitInDoubt { number, count });
    }
    let why = kit.aside_words.unwrap_or_default();
    (kit.stock.aside > 0).then_some(HandOutRefusal::KitSetAside { number, why })
}

/// Which refusals remain when a quartermaster gives this reason. `widest_mv`: see [`HandOutRefusal::is_overridable`].
pub fn after_override(
    refusals: Vec<(HandOutRefusal, Option<i64>)>,
    actor: Actor,
    borrower: &Borrower,
    why: (&str, i64),
) -> Vec<HandOutRefusal> {
    let (reason, widest_mv) = why;
    let is_meant = kit::reason(reason).is_some() && actor.roles.is_quartermaster;
    let is_own = borrower.is_own_of(actor);
    let can_go =
        |refusal: &HandOutRefusal, spread| is_meant && refusal.is_overridable(spread, widest_mv);
    if is_own
        && refusals
            .iter()
            .any(|(refusal, spread)| can_go(refusal, *spread))
    {
        let kept = refusals.into_iter().map(|(refusal, _)| refusal);
        return kept.chain([HandOutRefusal::OwnOverride]).collect();
    }
    refusals
        .into_iter()
        .filter(|(refusal, spread)| !can_go(refusal, *spread))
        .map(|(refusal, _)| refusal)
        .collect()
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DueRefusal {
    #[error("Choose a day from today on.")]
    Past,
    #[error("Choose a day within a year.")]
    TooFar,
}

pub fn due_refusal(due: Day, today: Day) -> Option<DueRefusal> {
    match today.days_until(due) {
        ..0 => Some(DueRefusal::Past),
        0..=365 => None,
        _ => Some(DueRefusal::TooFar),
    }
}

/// How the words of a spread that was overridden are kept.
pub fn override_words(spread_mv: Option<i64>, reason: &str) -> String {
    let reason = reason.trim();
    spread_mv.map_or_else(
        || reason.to_owned(),
        |mv| format!("spread {} V overridden: {reason}", volts_words(mv)),
    )
}

#[cfg(test)]
mod tests;
