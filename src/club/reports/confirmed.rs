//! What a report comes to: a stranger's that was so, and what is told while it happens.

use crate::club::seen::{self, Crash, Seen};
use crate::club::verdict::{Finding, Gravity, Rule};

/// What a stranger's report comes to once somebody looked and it was so. What was told together is read together: their own words
/// stand beside the gravest of what they ticked, and by themselves where they ticked nothing.
pub fn confirmed(seen: &[Seen], crash: Option<Crash>, own_words: &str) -> Vec<Finding> {
    let (mut found, own_words) = (seen::findings(seen, crash, own_words), own_words.trim());
    let of_words = Rule::Seen(Seen::SomethingElse);
    if found.len() > 1 && !own_words.is_empty() && found.iter().any(|each| each.rule == of_words) {
        found.retain(|each| each.rule != of_words);
        let gravest = &mut found[0];
        gravest.words = format!("{}: {own_words}", gravest.words.trim_end_matches('.'));
    }
    found
}

/// What nobody has a word for, and goes on as it is told, is danger until somebody looked: it may be flames from a lead.
pub fn as_it_happens(mut findings: Vec<Finding>) -> Vec<Finding> {
    let of_words = Rule::Seen(Seen::SomethingElse);
    for one in findings.iter_mut().filter(|one| one.rule == of_words) {
        one.gravity = one.gravity.max(Gravity::Danger);
        one.words += " It was happening as it was told.";
        one.next = Seen::TooHotToHold.what_to_do().to_owned();
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_stranger_wrote_stands_beside_the_gravest_that_they_ticked() {
        let words = |seen: &[Seen], own: &str| -> Vec<String> {
            let found = confirmed(seen, None, own).into_iter();
            found.map(|each| each.words).collect()
        };
        let ticked = [Seen::WrapTorn, Seen::SomethingElse, Seen::Wet];
        let told = ["Seen: Wet: it fell", "Seen: Outer wrap torn, foil whole."];
        assert_eq!(words(&ticked, " it fell "), told);
        assert_eq!(words(&[Seen::SomethingElse], "it fell"), ["Seen: it fell"]);
        assert_eq!(words(&[Seen::Wet], ""), ["Seen: Wet."]);
        let both = [Seen::Wet, Seen::SomethingElse];
        assert_eq!(words(&both, ""), ["Seen: Wet.", "Seen: Something else."]);
    }

    #[test]
    fn what_nobody_has_a_word_for_is_danger_while_it_happens_and_nothing_else_is_raised() {
        let told = |seen: &[Seen]| -> Vec<Gravity> {
            let found = as_it_happens(seen::findings(seen, None, "flames from the lead"));
            found.into_iter().map(|each| each.gravity).collect()
        };
        assert_eq!(told(&[Seen::SomethingElse]), [Gravity::Danger]);
        let both = told(&[Seen::SomethingElse, Seen::WrapTorn]);
        assert!(both.contains(&Gravity::Danger) && both.contains(&Gravity::ToMend));
        assert_eq!(told(&[Seen::LeadDamaged]), [Gravity::ToMend]);
        assert_eq!(told(&[Seen::Nothing]), []);
    }
}
