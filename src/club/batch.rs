//! Which faults say something about a pack's batch: those that come from inside. A hit, a wet or a shorted pack says
//! nothing about its sisters. Common practice, no source.

use super::seen::Seen;
use super::verdict::Rule;

pub const fn is_fault_of_make(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::MissingCell
            | Rule::OverDischarged
            | Rule::Seen(
                Seen::Swollen
                    | Seen::SmokeOrFire
                    | Seen::Leak
                    | Seen::SolventSmell
                    | Seen::TooHotToHold
            )
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swollen_pack_speaks_for_its_batch_and_a_hit_one_does_not() {
        assert!(is_fault_of_make(Rule::Seen(Seen::Swollen)));
        assert!(!is_fault_of_make(Rule::Seen(Seen::HitOrBent)));
        assert!(!is_fault_of_make(Rule::SpreadWide));
    }
}
