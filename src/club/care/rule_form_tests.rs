//! What of the rules of storage care can be typed and what can't.

use super::*;

fn fields(rules: &CareRules) -> Vec<String> {
    let refused = check(rules, &CareRules::default());
    refused.iter().map(|one| one.field().to_owned()).collect()
}

#[test]
fn each_count_goes_from_its_lowest_to_its_highest_and_what_passes_is_kept_as_it_is() {
    assert_eq!(check(&CareRules::default(), &CareRules::default()), []);
    for count in &COUNTS {
        let with = |value| {
            let mut rules = CareRules::default();
            for other in COUNTS.iter().filter(|other| other.not_under.is_none()) {
                *(other.of)(&mut rules) = other.lowest;
            }
            for other in COUNTS.iter().filter(|other| other.not_under.is_some()) {
                *(other.of)(&mut rules) = other.highest;
            }
            *(count.of)(&mut rules) = value;
            rules
        };
        for value in [count.lowest, count.highest] {
            assert_eq!(fields(&with(value)), Vec::<String>::new(), "{}", count.code);
            assert_eq!(with(value).tightened(), with(value), "{}", count.code);
        }
        assert_eq!(fields(&with(count.lowest - 1)), [count.code]);
        assert!(fields(&with(count.highest + 1)).contains(&count.code.to_owned()));
    }
}

#[test]
fn no_table_lets_a_fuller_or_warmer_pack_lie_longer_or_reminds_after_its_limit() {
    let mut rules = CareRules::default();
    // 14 days at the longest: a University of Maryland flight lab.
    rules.storage.rows[0][0].limit_days = 15;
    rules.storage.rows[2][3].remind_days = 0;
    assert_eq!(fields(&rules), ["limit_0_0", "remind_2_3"]);
    let mut rules = CareRules::default();
    rules.storage.rows[2][1].limit_days = 11;
    let refused = check(&rules, &CareRules::default());
    assert_eq!(
        refused[0].to_string(),
        "A fuller or warmer pack may not lie longer: 10 days at most."
    );
    let mut rules = CareRules::default();
    rules.storage.rows[2][3].remind_days = 3;
    assert_eq!(fields(&rules), ["remind_2_3"]);
}
