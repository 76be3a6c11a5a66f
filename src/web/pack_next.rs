//! What is to be done of all that stands against a pack, on its page and in the API: nobody is told to charge what must not be charged.

use crate::club::states::Life;
use crate::club::verdict::{Finding, Rule, silence};
use crate::store::findings::Found;
use crate::store::packs::PackView;

/// A finding, and who found it.
pub(super) type FoundBy = (Found, Option<String>);

/// What each asks for, beside the others. Out of use there is nothing to do.
pub(super) fn next_of_each(pack: &PackView, open: &[FoundBy]) -> Vec<String> {
    let finding = |(found, _): &FoundBy| {
        let rule = found.rule().unwrap_or(Rule::OverDischarged);
        Finding::new(rule, found.gravity(), &found.words, &found.next_words)
    };
    let mut findings: Vec<Finding> = open.iter().map(finding).collect();
    if pack.life() != Life::InUse {
        findings.iter_mut().for_each(|one| one.next.clear());
    }
    silence(findings.iter_mut());
    findings.into_iter().map(|one| one.next).collect()
}
