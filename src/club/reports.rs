//! Reports of what somebody saw: what they may be about, what one of a stranger does to a pack, which doubles may be merged.
//! A report only ever makes a pack more careful; neither reading, answering, merging nor finding it wrong lifts anything.
//! What a member's report does is `seen`'s to say.

use super::calendar::Instant;
use super::seen::Seen;
use super::verdict::{Finding, Gravity};
use crate::bench::form::{Against, Refusal};

pub mod confirmed;
pub mod waited;

/// Longest texts, in letters: common practice, no source.
pub const PLACE_MOST: usize = 200;
pub const ANSWER_MOST: usize = 1_000;

/// What stands in place of words that were erased.
pub const ERASED: &str = "(erased)";

/// Why danger that was reported did no more than set a pack aside.
pub const FROM_ONE_NETWORK: &str = "From one network one unverified report a day puts a pack into quarantine; the others set theirs aside until somebody looked.";

/// What stands against a pack once somebody looked and found it otherwise, and what comes next: it is lifted by the pool's own ways alone.
pub fn was_not_so(what: Option<&str>) -> (String, &'static str) {
    let told = what.map_or_else(String::new, |what| format!(" ({what})"));
    (
        format!("A stranger reported it{told}; who looked since saw that it was not so."),
        "A quartermaster lets it back on its page, as the rules say.",
    )
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum About {
    Pack,
    /// What has no label.
    Hall,
    NearMiss,
    WrongSetting,
    /// A stranger writes to the club.
    Message,
}

impl About {
    pub const ALL: [Self; 5] = [
        Self::Pack,
        Self::Hall,
        Self::NearMiss,
        Self::WrongSetting,
        Self::Message,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Pack => "pack",
            Self::Hall => "hall",
            Self::NearMiss => "near_miss",
            Self::WrongSetting => "wrong_setting",
            Self::Message => "message",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Pack => "A pack",
            Self::Hall => "Something in the hall",
            Self::NearMiss => "A near miss",
            Self::WrongSetting => "A wrong setting",
            Self::Message => "A message",
        }
    }

    /// Told without blame, and without a name where one likes.
    pub const fn may_be_nameless(self) -> bool {
        matches!(self, Self::Hall | Self::NearMiss | Self::WrongSetting)
    }
}

/// What has no label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Thing {
    VisitorsPack,
    Charger,
    Socket,
    Other,
}

impl Thing {
    pub const ALL: [Self; 4] = [Self::VisitorsPack, Self::Charger, Self::Socket, Self::Other];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::VisitorsPack => "visitor_pack",
            Self::Charger => "charger",
            Self::Socket => "socket",
            Self::Other => "other",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::VisitorsPack => "A visitor's pack, or one without a label",
            Self::Charger => "A charger or power supply",
            Self::Socket => "A socket or cable",
            Self::Other => "Something else",
        }
    }
}

/// Is it happening now?
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum IsNow {
    Yes,
    No,
    #[default]
    NotSaid,
}

impl IsNow {
    pub const ALL: [Self; 3] = [Self::Yes, Self::No, Self::NotSaid];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::NotSaid => "not_said",
        }
    }

    pub fn from_code(code: &str) -> Self {
        let mut all = Self::ALL.into_iter();
        all.find(|each| each.code() == code).unwrap_or_default()
    }
}

/// What a report did to its pack.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Effect {
    Quarantined,
    SetAside,
    #[default]
    Nothing,
}

impl Effect {
    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Quarantined => "quarantined",
            Self::SetAside => "set_aside",
            Self::Nothing => "none",
        }
    }

    /// Of the gravest that was found.
    pub const fn of(gravity: Gravity) -> Self {
        match gravity {
            Gravity::FinalDanger | Gravity::Danger => Self::Quarantined,
            Gravity::ToMend => Self::SetAside,
            _ => Self::Nothing,
        }
    }
}

/// Nothing grave where nothing was found.
pub fn gravest(findings: &[Finding]) -> Gravity {
    let all = findings.iter().map(|finding| finding.gravity);
    all.max().unwrap_or(Gravity::Note)
}

/// Somebody who tells the same danger once more within so long sent it twice; later they saw it again. Common practice, no source.
const SAME_TELLING_MINUTES: i64 = 15;

pub fn is_sent_twice(told: Instant, now: Instant) -> bool {
    now < told.plus_minutes(SAME_TELLING_MINUTES)
}

/// The graver, the higher; what happens now before what does not.
pub fn rank(gravity: Gravity, is_now: IsNow) -> i64 {
    let milder = Gravity::ALL.iter().filter(|each| **each < gravity).count();
    let now = i64::from(is_now == IsNow::Yes);
    i64::try_from(milder).unwrap_or(0) * 2 + now
}

/// What stands against a pack that somebody reported who is not signed in: the first danger from a network in a day
/// quarantines, all else sets aside until a person looked. Never final: that is for who looks. None: nothing was seen.
/// One network can so take many packs out of a night, and none out of the pool: common practice, no source.
pub fn unverified(seen: &[Finding], what: &str, has_quarantined: bool) -> Option<Finding> {
    let gravity = match gravest(seen) {
        Gravity::Note => return None,
        gravity if gravity >= Gravity::Danger && !has_quarantined => Gravity::Danger,
        _ => Gravity::ToMend,
    };
    let is_danger = gravest(seen) >= Gravity::Danger;
    let finding = Finding::reported_unlooked(&format!("by somebody not signed in: {what}."));
    Some(Finding {
        gravity,
        next: if is_danger {
            DANGER_NEXT
        } else {
            &finding.next
        }
        .to_owned(),
        ..finding
    })
}

const DANGER_NEXT: &str = "Hot, hissing, smoking or swelling: get away and call the fire service. Cold and quiet: keep away from it until a quartermaster has looked, and said whether it was so.";

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LookRefusal {
    #[error("Somebody said already whether it was so.")]
    AlreadyLookedAt,
    #[error("It is a double of another report. Say it there.")]
    Merged,
    #[error("Say what you saw when you looked.")]
    NothingSaid,
    #[error("Choose whether it was so.")]
    NotChosen,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MergeRefusal {
    #[error("There is no such other report. Type its reference.")]
    NoOther,
    #[error("That is this report itself.")]
    Itself,
    #[error("It is a double already, or others are doubles of it.")]
    IsMerged,
    #[error("They are about different things.")]
    OtherThing,
    #[error("This one tells of something graver. Merge the other one into this.")]
    Graver,
    #[error("Somebody looked at the other one before this came. Look at this one too.")]
    CameAfter,
}

impl Refusal for LookRefusal {
    fn against(&self) -> Against {
        match self {
            Self::AlreadyLookedAt | Self::Merged => Against::Rule,
            _ => Against::Typed,
        }
    }
}

impl Refusal for MergeRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NoOther | Self::Itself => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// A report, as merging asks of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Double<'a> {
    pub id: u128,
    /// The pack, or what it is about and the kind of thing.
    pub of: (&'a str, &'a str, Option<u128>),
    pub gravity: Gravity,
    pub is_merged: bool,
    pub is_looked_at: bool,
}

/// Whoever looks at `into` answers for `double` too: so it is about the same and as grave, and nobody looked at it before.
pub fn may_merge(double: &Double<'_>, into: &Double<'_>) -> Result<(), MergeRefusal> {
    if double.id == into.id {
        Err(MergeRefusal::Itself)
    } else if double.is_merged || into.is_merged {
        Err(MergeRefusal::IsMerged)
    } else if double.of != into.of {
        Err(MergeRefusal::OtherThing)
    } else if double.gravity > into.gravity {
        Err(MergeRefusal::Graver)
    } else if into.is_looked_at && !double.is_looked_at {
        Err(MergeRefusal::CameAfter)
    } else {
        Ok(())
    }
}

/// What was seen, in one row: `swollen wet`.
pub fn seen_codes(seen: &[Seen]) -> String {
    let codes: Vec<&str> = seen.iter().map(|each| each.code()).collect();
    codes.join(" ")
}

pub fn seen_of(codes: &str) -> Vec<Seen> {
    codes.split(' ').filter_map(Seen::from_code).collect()
}

#[cfg(test)]
mod tests;
