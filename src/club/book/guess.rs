//! What kind of incident a report may be of, by what was seen. It is only told to who opens the incident: they choose.

use super::incident::Kind;
use crate::club::seen::Seen;

/// The gravest of what was seen speaks; None: nothing of it says.
pub fn guess(seen: &[Seen]) -> Option<Kind> {
    let of = |one: &Seen| match one {
        Seen::SmokeOrFire => Some((0, Kind::Smoke)),
        Seen::Leak | Seen::SolventSmell => Some((1, Kind::Smoke)),
        Seen::Swollen => Some((2, Kind::Swelling)),
        Seen::Shorted => Some((3, Kind::Short)),
        Seen::PuncturedOrTorn | Seen::HitOrBent | Seen::InACrash => Some((4, Kind::Crash)),
        _ => None,
    };
    let gravest = seen.iter().filter_map(of).min_by_key(|(rank, _)| *rank);
    gravest.map(|(_, kind)| kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smoke_speaks_before_swelling_and_a_crash_and_a_torn_wrap_says_nothing() {
        assert_eq!(
            guess(&[Seen::Swollen, Seen::SmokeOrFire]),
            Some(Kind::Smoke)
        );
        assert_eq!(
            guess(&[Seen::InACrash, Seen::Swollen]),
            Some(Kind::Swelling)
        );
        assert_eq!(guess(&[Seen::WrapTorn]), None);
        assert_eq!(guess(&[]), None);
    }
}
