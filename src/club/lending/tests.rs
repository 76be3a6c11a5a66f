//! Sentences about the trade, proven; leaves nothing to others.

use super::*;
use crate::club::people::Roles;
use proptest::prelude::*;

fn person(number: u128, roles: Roles) -> Actor {
    Actor {
        id: Uuid::from_u128(number),
        roles,
    }
}

const QUARTERMASTER: Roles = Roles {
    is_member: false,
    is_quartermaster: true,
    is_organiser: false,
};
const MEMBER: Roles = Roles {
    is_member: true,
    is_quartermaster: false,
    is_organiser: false,
};
const ORGANISER: Roles = Roles {
    is_member: false,
    is_quartermaster: false,
    is_organiser: true,
};

fn at_table(state: State) -> PackAtTable {
    PackAtTable {
        number: "P-014".to_owned(),
        state,
        why: "Why.".to_owned(),
        next: "Next.".to_owned(),
        lent: None,
        home: None,
        spread_mv: None,
    }
}

#[test]
fn only_fit_and_cautioned_packs_that_are_here_go_out() {
    for state in State::ALL {
        assert_eq!(
            pack_refusal(&at_table(state)).is_none(),
            state.is_lendable(),
            "{state:?}"
        );
        let out = PackAtTable {
            lent: Some(String::new()),
            ..at_table(state)
        };
        assert!(pack_refusal(&out).is_some(), "{state:?} on loan");
    }
}

#[test]
fn what_is_refused_where_a_loan_is_extended_or_passed_on_says_what_to_do_there() {
    let unknown = pack_refusal(&at_table(State::NotKnown)).expect("refused");
    assert_eq!(
        unknown.told_at(Then::Extend),
        "P-014 is not known: Why. Log its volts now, then extend the loan."
    );
    let never = HandOutRefusal::NoInduction {
        name: "Ada".to_owned(),
    };
    assert_eq!(
        never.told_at(Then::PassOn),
        "Ada was never shown safe charging and handling. Show it, record it, then pass it on."
    );
    let aside = pack_refusal(&at_table(State::SetAside)).expect("refused");
    assert_eq!(aside.told_at(Then::Extend), aside.to_string());
}

#[test]
fn a_pack_at_somebodys_home_goes_out_once_it_is_back() {
    let home = PackAtTable {
        home: Some(" with Mo".to_owned()),
        ..at_table(State::Fit)
    };
    let refusal = pack_refusal(&home).map(|refusal| refusal.to_string());
    let words = "P-014 is at home with Mo, to be put to storage. Say first that it is back.";
    assert_eq!(refusal.as_deref(), Some(words));
    let danger = PackAtTable {
        state: State::Quarantine,
        ..home
    };
    assert!(matches!(
        pack_refusal(&danger),
        Some(HandOutRefusal::Quarantined { .. })
    ));
}

#[test]
fn a_quarantined_pack_on_loan_is_refused_as_quarantined() {
    let pack = PackAtTable {
        lent: Some(" to Ada".to_owned()),
        ..at_table(State::Quarantine)
    };
    assert!(matches!(
        pack_refusal(&pack),
        Some(HandOutRefusal::Quarantined { .. })
    ));
}

fn borrower(id: u128, responsible: Option<u128>) -> Borrower {
    Borrower {
        id: Uuid::from_u128(id),
        name: "Ada".to_owned(),
        is_active: true,
        induction: Induction::Valid { until: None },
        responsible_id: responsible.map(Uuid::from_u128),
    }
}

#[test]
fn without_induction_nobody_borrows() {
    let mut borrower = Borrower {
        id: Uuid::nil(),
        name: "Ada".to_owned(),
        is_active: true,
        induction: Induction::Never,
        responsible_id: None,
    };
    assert!(matches!(
        borrower_refusal(&borrower),
        Some(HandOutRefusal::NoInduction { .. })
    ));
    borrower.induction = Induction::Valid { until: None };
    assert_eq!(borrower_refusal(&borrower), None);
    borrower.is_active = false;
    assert!(matches!(
        borrower_refusal(&borrower),
        Some(HandOutRefusal::NotActive { .. })
    ));
}

#[test]
fn a_spread_of_two_hundred_millivolts_can_be_overridden_and_one_more_can_not() {
    let refusal = || HandOutRefusal::SetAside {
        number: "P-014".to_owned(),
        why: String::new(),
        next: String::new(),
    };
    let by = person(1, QUARTERMASTER);
    let to = &borrower(2, None);
    assert!(
        after_override(
            vec![(refusal(), Some(200))],
            by,
            to,
            ("for the pit demo", 200)
        )
        .is_empty()
    );
    assert_eq!(
        after_override(
            vec![(refusal(), Some(201))],
            by,
            to,
            ("for the pit demo", 200)
        )
        .len(),
        1
    );
    assert_eq!(
        after_override(vec![(refusal(), None)], by, to, ("for the pit demo", 200)).len(),
        1
    );
    assert_eq!(
        after_override(
            vec![(refusal(), Some(150))],
            by,
            to,
            ("for the pit demo", 100)
        )
        .len(),
        1,
        "a stricter club"
    );
    assert_eq!(
        after_override(vec![(refusal(), Some(150))], by, to, ("  ", 200)).len(),
        1
    );
}

#[test]
fn nobody_overrides_for_an_own_loan_nor_without_being_quartermaster() {
    let ran_out = || HandOutRefusal::InductionRanOut {
        name: "Ada".to_owned(),
        on: "Fri 27 Nov 2026".to_owned(),
    };
    let own = after_override(
        vec![(ran_out(), None)],
        person(1, QUARTERMASTER),
        &borrower(1, None),
        ("I know how", 200),
    );
    assert!(own.contains(&HandOutRefusal::OwnOverride) && own.len() == 2);
    let of_own_junior = after_override(
        vec![(ran_out(), None)],
        person(1, QUARTERMASTER),
        &borrower(2, Some(1)),
        ("I answer for him", 200),
    );
    assert!(of_own_junior.contains(&HandOutRefusal::OwnOverride));
    for roles in [MEMBER, ORGANISER] {
        let kept = after_override(
            vec![(ran_out(), None)],
            person(1, roles),
            &borrower(2, None),
            ("he knows how", 200),
        );
        assert_eq!(kept.len(), 1);
    }
}

#[test]
fn quarantine_and_a_missing_induction_are_never_overridden() {
    let refusals = vec![
        (
            HandOutRefusal::Quarantined {
                number: "P-014".to_owned(),
                why: String::new(),
            },
            Some(100),
        ),
        (
            HandOutRefusal::NoInduction {
                name: "Ada".to_owned(),
            },
            None,
        ),
        (
            HandOutRefusal::NotKnown {
                number: "P-015".to_owned(),
                why: String::new(),
            },
            Some(10),
        ),
    ];
    assert_eq!(
        after_override(
            refusals.clone(),
            person(1, QUARTERMASTER),
            &borrower(2, None),
            ("please", 200)
        )
        .len(),
        refusals.len()
    );
}

#[test]
fn organisers_do_not_lend_and_members_only_to_themselves_where_the_club_lets_them() {
    let me = Uuid::from_u128(1);
    assert!(lender_refusal(person(1, ORGANISER), me, true).is_some());
    assert!(lender_refusal(person(1, MEMBER), me, false).is_some());
    assert!(lender_refusal(person(1, MEMBER), Uuid::from_u128(2), true).is_some());
    assert!(lender_refusal(person(1, MEMBER), me, true).is_none());
    assert!(lender_refusal(person(1, QUARTERMASTER), Uuid::from_u128(2), false).is_none());
}

#[test]
fn another_open_finding_takes_the_spread_override_away() {
    let spread = (Some(Rule::SpreadWide), Gravity::ToMend);
    let lead = (
        Some(Rule::Seen(crate::club::seen::Seen::LeadDamaged)),
        Gravity::ToMend,
    );
    let empty = (Some(Rule::Empty), Gravity::Caution);
    assert_eq!(only_spread_mv(&[spread, empty], Some(150)), Some(150));
    assert_eq!(only_spread_mv(&[spread, lead], Some(150)), None);
    assert_eq!(only_spread_mv(&[], Some(150)), None);
}

#[test]
fn adapters_out_and_asked_for_never_pass_what_is_owned() {
    assert_eq!(kit_refusal(adapters(1, 0, 0), 2), None);
    assert!(kit_refusal(adapters(1, 0, 0), 3).is_some());
    assert!(kit_refusal(adapters(1, 0, 0), 0).is_some());
    let refusal = kit_refusal(adapters(1, 1, 1), 1).expect("the rest is doubtful");
    assert_eq!(
        refusal.to_string(),
        "Of A-01 only 0 can be lent now, not 1 (1 set aside: a bent pin; 1 came back unchecked). Give fewer, or another one."
    );
}

#[test]
fn one_bent_adapter_leaves_the_others_to_lend() {
    assert_eq!(kit_refusal(adapters(0, 1, 0), 2), None);
    assert_eq!(kit_out_refusal(adapters(2, 1, 0), 0), None);
    assert!(
        kit_out_refusal(adapters(2, 0, 0), 1).is_some(),
        "it is out itself"
    );
}

#[test]
fn a_charger_set_aside_unchecked_or_out_goes_to_nobody() {
    let charger = |aside, unchecked, lent: Option<&str>| KitAtTable {
        number: "C-01".to_owned(),
        is_counted: false,
        stock: Stock {
            owned: 1,
            out: i64::from(lent.is_some()),
            aside,
            unchecked,
        },
        lent: lent.map(str::to_owned),
        ..adapters(0, aside, unchecked)
    };
    assert_eq!(kit_refusal(charger(0, 0, None), 1), None);
    let words = |kit| kit_refusal(kit, 1).expect("refused").to_string();
    assert_eq!(
        words(charger(1, 0, None)),
        "C-01 is set aside to mend (a bent pin). Give another one."
    );
    assert!(words(charger(0, 1, None)).starts_with("C-01 came back unchecked."));
    assert!(words(charger(0, 0, Some(" to Mo"))).starts_with("C-01 is on loan to Mo."));
    assert!(kit_out_refusal(charger(1, 0, Some(" to Mo")), 0).is_some());
    assert_eq!(kit_out_refusal(charger(0, 0, Some(" to Mo")), 0), None);
}

/// Three of them.
fn adapters(out: i64, aside: i64, unchecked: i64) -> KitAtTable {
    KitAtTable {
        number: "A-01".to_owned(),
        is_counted: true,
        life: Life::InUse,
        stock: Stock {
            owned: 3,
            out,
            aside,
            unchecked,
        },
        aside_words: (aside > 0).then(|| "a bent pin".to_owned()),
        lent: None,
    }
}

#[test]
fn a_line_of_numbers_is_read_as_people_type_it() {
    let read = read_numbers("14 15, 17-20 p-021 A-01x3");
    let expected = vec![
        Typed::Packs(14, 14),
        Typed::Packs(15, 15),
        Typed::Packs(17, 20),
        Typed::Number("P-021".to_owned(), 1),
        Typed::Number("A-01".to_owned(), 3),
    ];
    assert_eq!(read, Ok(expected));
    assert_eq!(read_numbers("14 fifteen"), Err("fifteen".to_owned()));
    let number = |number: &str, count| Typed::Number(number.to_owned(), count);
    let loose = read_numbers("p-14 P14 a-1x2 A-01 x3 c-1");
    let expected = [
        number("P-14", 1),
        number("P-14", 1),
        number("A-1", 2),
        number("A-01", 3),
        number("C-1", 1),
    ];
    assert_eq!(loose, Ok(expected.to_vec()));
    for wrong in ["P-", "P-1y", "A-01x", "P-1-2", "14x2", "PREFIXES-1"] {
        assert_eq!(read_numbers(wrong), Err(wrong.to_owned()));
    }
    assert!(read_numbers("20-17").is_err());
    assert!(read_numbers("1-99999999").is_err());
}

#[test]
fn a_number_without_its_zeros_names_the_same_thing_and_another_prefix_does_not() {
    assert!(is_same_number("P-14", "P-014") && is_same_number("p-014", "P-14"));
    assert!(!is_same_number("P-14", "P-140") && !is_same_number("P-14", "C-14"));
}

#[test]
fn what_is_missing_of_a_range_is_told_as_it_would_be_typed() {
    assert_eq!(missing((17, 20), &[17, 18, 19, 20]), "");
    assert_eq!(missing((17, 25), &[17, 19]), "18, 20-25");
}

proptest! {
    #[test]
    fn no_line_of_numbers_ever_panics(line in ".{0,80}") {
        let _ = read_numbers(&line);
    }
}
