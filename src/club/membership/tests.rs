//! Who may change whom, told as it happens in a club.

use super::MembershipRefusal as Refusal;
use super::*;

const MEMBER: Roles = Roles {
    is_member: true,
    is_quartermaster: false,
    is_organiser: false,
};
const QUARTERMASTER: Roles = Roles {
    is_quartermaster: true,
    ..MEMBER
};
const ORGANISER: Roles = Roles {
    is_member: false,
    is_quartermaster: false,
    is_organiser: true,
};
const GUEST: Roles = Roles {
    is_member: false,
    is_quartermaster: false,
    is_organiser: false,
};

const fn acting(roles: Roles) -> Actor {
    Actor {
        id: Uuid::from_u128(1),
        roles,
    }
}

const fn person(roles: Roles) -> Standing {
    Standing {
        id: Uuid::from_u128(2),
        roles,
        is_active: true,
        has_password: true,
        responsible: None,
        open_loans: 0,
        answers_for: 0,
        quartermasters: 2,
        organisers: 2,
    }
}

fn answering() -> Standing {
    Standing {
        id: Uuid::from_u128(3),
        ..person(MEMBER)
    }
}

#[test]
fn only_an_organiser_makes_organisers_and_only_a_quartermaster_makes_quartermasters() {
    let all = Roles {
        is_organiser: true,
        ..QUARTERMASTER
    };
    assert_eq!(
        may_invite(&acting(QUARTERMASTER), ORGANISER),
        Err(Refusal::OrganisersOnly)
    );
    assert_eq!(
        may_invite(&acting(ORGANISER), MEMBER),
        Err(Refusal::QuartermastersOnly)
    );
    assert_eq!(may_invite(&acting(all), all), Ok(()));
    assert_eq!(may_invite(&acting(all), GUEST), Err(Refusal::NoRole));
    assert_eq!(
        may_set_roles(&acting(QUARTERMASTER), &person(all), MEMBER, None),
        Err(Refusal::OrganisersOnly)
    );
}

#[test]
fn an_organiser_who_does_not_lend_cannot_make_themselves_quartermaster() {
    let both = Roles {
        is_quartermaster: true,
        ..ORGANISER
    };
    assert_eq!(
        may_set_roles(&acting(ORGANISER), &person(ORGANISER), both, None),
        Err(Refusal::QuartermastersOnly)
    );
}

#[test]
fn the_last_quartermaster_can_neither_go_nor_lose_the_role() {
    let last = Standing {
        quartermasters: 1,
        ..person(QUARTERMASTER)
    };
    let by = acting(QUARTERMASTER);
    assert_eq!(may_deactivate(&by, &last), Err(Refusal::LastQuartermaster));
    assert_eq!(may_erase(&by, &last), Err(Refusal::LastQuartermaster));
    assert_eq!(
        may_set_roles(&by, &last, MEMBER, None),
        Err(Refusal::LastQuartermaster)
    );
    assert_eq!(may_deactivate(&by, &person(QUARTERMASTER)), Ok(()));
    // One who was invited and never signed in is not the one the club depends on.
    let invited = Standing {
        has_password: false,
        ..last
    };
    assert_eq!(may_deactivate(&by, &invited), Ok(()));
}

#[test]
fn the_last_organiser_stays_because_nobody_could_make_another() {
    let last = Standing {
        organisers: 1,
        ..person(ORGANISER)
    };
    let by = acting(ORGANISER);
    assert_eq!(may_erase(&by, &last), Err(Refusal::LastOrganiser));
    assert_eq!(
        may_set_roles(&by, &last, GUEST, Some(&answering())),
        Err(Refusal::QuartermastersOnly)
    );
}

#[test]
fn nobody_goes_with_packs_in_their_bag() {
    let borrower = Standing {
        open_loans: 3,
        ..person(MEMBER)
    };
    let by = acting(QUARTERMASTER);
    let refusal = Err(Refusal::OpenLoans { count: 3 });
    assert_eq!(may_deactivate(&by, &borrower), refusal);
    assert_eq!(may_erase(&by, &borrower), refusal);
}

#[test]
fn nobody_goes_while_juniors_depend_on_them() {
    let mentor = Standing {
        answers_for: 1,
        ..person(MEMBER)
    };
    let by = acting(QUARTERMASTER);
    let refusal = Err(Refusal::AnswersForOthers { count: 1 });
    assert_eq!(may_deactivate(&by, &mentor), refusal);
    assert_eq!(may_erase(&by, &mentor), refusal);
    assert_eq!(
        may_set_roles(&by, &mentor, MEMBER, Some(&answering())),
        refusal
    );
    assert!(
        Refusal::AnswersForOthers { count: 1 }
            .to_string()
            .contains("1 guest or junior.")
    );
}

#[test]
fn a_junior_needs_an_active_member_who_answers_and_that_one_answers_for_themselves() {
    let by = acting(QUARTERMASTER);
    let junior = Standing {
        has_password: false,
        ..person(GUEST)
    };
    assert_eq!(
        may_set_roles(&by, &junior, GUEST, None),
        Err(Refusal::NobodyAnswers)
    );
    assert_eq!(
        may_set_roles(&by, &junior, GUEST, Some(&answering())),
        Ok(())
    );
    let gone = Standing {
        is_active: false,
        ..answering()
    };
    let junior_too = Standing {
        responsible: Some(Uuid::from_u128(4)),
        ..answering()
    };
    for who in [gone, junior_too, person(GUEST), person(ORGANISER)] {
        assert_eq!(
            may_set_roles(&by, &junior, GUEST, Some(&who)),
            Err(Refusal::CannotAnswer)
        );
    }
    let back = Standing {
        is_active: false,
        responsible: Some(gone.id),
        ..junior
    };
    assert_eq!(
        may_reactivate(&by, &back, Some(&gone)),
        Err(Refusal::CannotAnswer)
    );
}

#[test]
fn whoever_signs_in_keeps_a_role() {
    assert_eq!(
        may_set_roles(
            &acting(QUARTERMASTER),
            &person(MEMBER),
            GUEST,
            Some(&answering())
        ),
        Err(Refusal::SignsInWithoutRole)
    );
}

#[test]
fn a_quartermaster_never_gets_to_see_an_organisers_link() {
    let by = acting(QUARTERMASTER);
    let organiser = person(ORGANISER);
    let newcomer = Standing {
        has_password: false,
        ..organiser
    };
    assert_eq!(may_reset(&by, &organiser), Err(Refusal::OrganisersOnly));
    assert_eq!(
        may_invite_again(&by, &newcomer),
        Err(Refusal::OrganisersOnly)
    );
    assert_eq!(
        may_deactivate(&by, &organiser),
        Err(Refusal::OrganisersOnly)
    );
    assert_eq!(may_reset(&acting(ORGANISER), &organiser), Ok(()));
}

#[test]
fn links_go_to_those_they_can_help() {
    let by = acting(QUARTERMASTER);
    let newcomer = Standing {
        has_password: false,
        ..person(MEMBER)
    };
    let gone = Standing {
        is_active: false,
        ..person(MEMBER)
    };
    let own = Standing {
        id: by.id,
        ..person(QUARTERMASTER)
    };
    assert_eq!(may_reset(&by, &person(MEMBER)), Ok(()));
    assert_eq!(may_reset(&by, &newcomer), Err(Refusal::NeverSignedIn));
    assert_eq!(may_reset(&by, &gone), Err(Refusal::Deactivated));
    assert_eq!(may_reset(&by, &own), Err(Refusal::OwnReset));
    assert_eq!(may_invite_again(&by, &newcomer), Ok(()));
    assert_eq!(
        may_invite_again(&by, &person(MEMBER)),
        Err(Refusal::SignsInAlready)
    );
}
