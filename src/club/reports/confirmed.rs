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

/// Told while there was smoke, heat, hissing or fire: the gravest of it is danger, whatever it would be by itself.
pub fn as_it_happens(mut findings: Vec<Finding>) -> Vec<Finding> {
    if let Some(gravest) = findings.first_mut()
        && gravest.gravity < Gravity::Danger
    {
        gravest.gravity = Gravity::Danger;
        gravest.words += " There was smoke, heat, hissing or fire as it was told.";
        gravest.next = Seen::TooHotToHold.what_to_do().to_owned();
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
    fn what_is_told_while_there_is_smoke_or_heat_is_danger_whatever_it_is() {
        let told =
            |seen: &[Seen]| as_it_happens(seen::findings(seen, None, "flames from the lead"));
        let lead = told(&[Seen::SomethingElse, Seen::LeadDamaged]);
        assert!(lead[0].next.starts_with("Don't touch or carry it."));
        let gravities = [lead[0].gravity, lead[1].gravity];
        assert_eq!(
            gravities,
            [Gravity::Danger, Gravity::ToMend],
            "the gravest alone"
        );
        assert_eq!(
            told(&[Seen::Swollen]),
            seen::findings(&[Seen::Swollen], None, "")
        );
        assert_eq!(told(&[Seen::Nothing]), vec![]);
    }
}
