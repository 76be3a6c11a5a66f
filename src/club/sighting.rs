//! When a pack was last seen: at each change by which somebody had it in hand or before their eyes. A few are made on the
//! record alone; they are named here, by what the log says of them.

pub const LOAN_EXTENDED: &str = "loan extended";
pub const DETAILS_CHANGED: &str = "changed its details";
pub const LOST: &str = "recorded as lost";
/// Somebody saw what became of it.
pub const LOST_IN_INCIDENT: &str = "lost in an incident";
/// Entered by mistake.
pub const WITHDRAWN: &str = "withdrawn";
pub const READING_CORRECTED: &str = "corrected a reading";
pub const TAKE_BACK_UNDONE: &str = "take-back undone";
pub const SISTER_CAUTIONED: &str = "cautioned for a batch sister";
/// By a stranger: whether they saw it is not known.
pub const REPORTED_UNVERIFIED: &str = "reported by somebody not signed in";
pub const WEIGHED_ANEW: &str = "weighed by the club's new limits";

pub const TAKEN_BACK: &str = "taken back";
pub const BACK_FROM_HOME: &str = "back from home";

/// Somebody handed it over when this was done: it lies where they were told to put it.
pub fn is_carried(verb: &str) -> bool {
    [TAKEN_BACK, BACK_FROM_HOME].contains(&verb)
}

const ON_RECORD_ALONE: [&str; 9] = [
    LOAN_EXTENDED,
    DETAILS_CHANGED,
    LOST,
    WITHDRAWN,
    READING_CORRECTED,
    TAKE_BACK_UNDONE,
    SISTER_CAUTIONED,
    REPORTED_UNVERIFIED,
    WEIGHED_ANEW,
];

/// Somebody saw the pack when this was done.
pub fn is_sighting(verb: &str) -> bool {
    !ON_RECORD_ALONE.contains(&verb)
}
