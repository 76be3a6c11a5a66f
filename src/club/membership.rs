//! Who may change whom: giving and taking roles, links that let somebody in, deactivating, erasing, guests and juniors
//! and who answers for them. The club never loses its last quartermaster or organiser. Decides from counts it is handed.

use super::people::{Actor, Role, Roles};
use crate::bench::form::{Against, Refusal};
use uuid::Uuid;

/// A person as these rules see them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Standing {
    pub id: Uuid,
    pub roles: Roles,
    pub is_active: bool,
    pub has_password: bool,
    pub responsible: Option<Uuid>,
    /// Things on loans of theirs that are not closed.
    pub open_loans: i64,
    /// Active guests and juniors they answer for.
    pub answers_for: i64,
    /// Quartermasters and organisers in the club who can sign in, this person included.
    pub quartermasters: i64,
    pub organisers: i64,
}

impl Standing {
    const fn is_last(&self, role: Role) -> bool {
        let count = match role {
            Role::Quartermaster => self.quartermasters,
            Role::Organiser => self.organisers,
            Role::Member => return false,
        };
        self.roles.has(role) && self.is_active && self.has_password && count <= 1
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MembershipRefusal {
    #[error("Only an organiser may do this: it concerns an organiser.")]
    OrganisersOnly,
    #[error("Only a quartermaster may do this.")]
    QuartermastersOnly,
    #[error("This is the last quartermaster. Make another one first.")]
    LastQuartermaster,
    #[error("This is the last organiser. Make another one first.")]
    LastOrganiser,
    #[error("They still have {count} on loan or at home. Take back first.")]
    OpenLoans { count: i64 },
    #[error("They answer for {count} {}. Choose somebody else for each first.", if *count == 1 { "guest or junior" } else { "guests or juniors" })]
    AnswersForOthers { count: i64 },
    #[error("Choose at least one role.")]
    NoRole,
    #[error("Whoever signs in needs a role. To keep them out, deactivate them.")]
    SignsInWithoutRole,
    #[error("Choose the member who answers for them.")]
    NobodyAnswers,
    #[error(
        "That person can't answer for somebody: choose an active member for whom nobody else answers."
    )]
    CannotAnswer,
    #[error("They sign in already; make a reset link instead.")]
    SignsInAlready,
    #[error("They never signed in; make an invitation instead.")]
    NeverSignedIn,
    #[error("They are deactivated. Reactivate them first.")]
    Deactivated,
    #[error("They are active already.")]
    Active,
    #[error("Change your own password on your own page.")]
    OwnReset,
}

impl Refusal for MembershipRefusal {
    fn against(&self) -> Against {
        match self {
            Self::OrganisersOnly | Self::QuartermastersOnly => Against::Right,
            Self::NoRole | Self::SignsInWithoutRole | Self::NobodyAnswers | Self::CannotAnswer => {
                Against::Typed
            }
            _ => Against::Rule,
        }
    }
}

type Allowed = Result<(), MembershipRefusal>;

/// Organisers give and take the organiser's role, quartermasters the other two; nobody gives what is not theirs to give.
pub fn may_give(actor: &Actor, before: Roles, after: Roles) -> Allowed {
    for role in Role::ALL {
        if before.has(role) == after.has(role) {
            continue;
        }
        match role {
            Role::Organiser if !actor.roles.is_organiser => {
                return Err(MembershipRefusal::OrganisersOnly);
            }
            Role::Member | Role::Quartermaster if !actor.roles.is_quartermaster => {
                return Err(MembershipRefusal::QuartermastersOnly);
            }
            _ => {}
        }
    }
    Ok(())
}

/// What concerns an organiser is for organisers; the rest is for quartermasters.
const fn may_touch(actor: &Actor, target: Roles) -> Allowed {
    if target.is_organiser && !actor.roles.is_organiser {
        return Err(MembershipRefusal::OrganisersOnly);
    }
    if !target.is_organiser && !actor.roles.is_quartermaster {
        return Err(MembershipRefusal::QuartermastersOnly);
    }
    Ok(())
}

/// New people: at least one role, each the actor's to give.
pub fn may_invite(actor: &Actor, roles: Roles) -> Allowed {
    if roles.is_none() {
        return Err(MembershipRefusal::NoRole);
    }
    may_give(actor, Roles::default(), roles)
}

/// May `responsible` answer for somebody? A member who is active and for whom nobody else answers.
pub const fn may_answer(responsible: &Standing) -> Allowed {
    let holds_role = responsible.roles.is_member || responsible.roles.is_quartermaster;
    if responsible.is_active && holds_role && responsible.responsible.is_none() {
        Ok(())
    } else {
        Err(MembershipRefusal::CannotAnswer)
    }
}

/// May `target` have these roles, with `responsible` (if any) answering for them?
pub fn may_set_roles(
    actor: &Actor,
    target: &Standing,
    after: Roles,
    responsible: Option<&Standing>,
) -> Allowed {
    may_give(actor, target.roles, after)?;
    let answering = responsible.map(|person| person.id);
    if answering != target.responsible && !actor.roles.is_quartermaster {
        return Err(MembershipRefusal::QuartermastersOnly);
    }
    if after.is_none() && target.has_password {
        return Err(MembershipRefusal::SignsInWithoutRole);
    }
    if after.is_none() && responsible.is_none() {
        return Err(MembershipRefusal::NobodyAnswers);
    }
    if let Some(person) = responsible {
        if person.id == target.id {
            return Err(MembershipRefusal::CannotAnswer);
        }
        may_answer(person)?;
    }
    let can_still_answer = (after.is_member || after.is_quartermaster) && responsible.is_none();
    if target.answers_for > 0 && !can_still_answer {
        return Err(MembershipRefusal::AnswersForOthers {
            count: target.answers_for,
        });
    }
    may_lose(target, Role::Quartermaster, after)?;
    may_lose(target, Role::Organiser, after)
}

const fn may_lose(target: &Standing, role: Role, after: Roles) -> Allowed {
    if after.has(role) || !target.is_last(role) {
        return Ok(());
    }
    Err(match role {
        Role::Organiser => MembershipRefusal::LastOrganiser,
        Role::Member | Role::Quartermaster => MembershipRefusal::LastQuartermaster,
    })
}

/// A link to choose a sign-in, for somebody who has none yet.
pub fn may_invite_again(actor: &Actor, target: &Standing) -> Allowed {
    may_touch(actor, target.roles)?;
    if target.has_password {
        return Err(MembershipRefusal::SignsInAlready);
    }
    if target.roles.is_none() {
        return Err(MembershipRefusal::NoRole);
    }
    if target.is_active {
        Ok(())
    } else {
        Err(MembershipRefusal::Deactivated)
    }
}

/// A link to choose a new password. It is shown to whoever makes it, so never an organiser's to a mere quartermaster.
pub fn may_reset(actor: &Actor, target: &Standing) -> Allowed {
    may_touch(actor, target.roles)?;
    if actor.id == target.id {
        return Err(MembershipRefusal::OwnReset);
    }
    if !target.is_active {
        return Err(MembershipRefusal::Deactivated);
    }
    if target.has_password {
        Ok(())
    } else {
        Err(MembershipRefusal::NeverSignedIn)
    }
}

pub fn may_deactivate(actor: &Actor, target: &Standing) -> Allowed {
    may_touch(actor, target.roles)?;
    if !target.is_active {
        return Err(MembershipRefusal::Deactivated);
    }
    may_go(target)
}

/// Whoever was deactivated may still be erased.
pub fn may_erase(actor: &Actor, target: &Standing) -> Allowed {
    may_touch(actor, target.roles)?;
    may_go(target)
}

/// `responsible` as they stand today, if somebody answers for the target.
pub fn may_reactivate(actor: &Actor, target: &Standing, responsible: Option<&Standing>) -> Allowed {
    may_touch(actor, target.roles)?;
    if target.is_active {
        return Err(MembershipRefusal::Active);
    }
    responsible.map_or(Ok(()), may_answer)
}

fn may_go(target: &Standing) -> Allowed {
    may_lose(target, Role::Quartermaster, Roles::default())?;
    may_lose(target, Role::Organiser, Roles::default())?;
    if target.open_loans > 0 {
        return Err(MembershipRefusal::OpenLoans {
            count: target.open_loans,
        });
    }
    if target.answers_for > 0 {
        return Err(MembershipRefusal::AnswersForOthers {
            count: target.answers_for,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests;
