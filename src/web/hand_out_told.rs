//! Why something can't go out, as the page of a hand-out tells it to whoever asks.

use crate::bench::form::{Against, Refusal};
use crate::club::care::enforced::CareRefusal;
use crate::club::lending::{Borrower, HandOutRefusal, borrower_refusal, lender_refusal};
use crate::web::visit::SignedIn;

/// A refusal in words, with the page on which a quartermaster does what it asks for.
pub(super) struct Told {
    /// The field it is about.
    pub field: &'static str,
    pub words: String,
    pub against: Against,
    pub link: Option<(String, &'static str)>,
}

impl Told {
    /// `person`: who is to get it, as the form has them.
    pub fn of(refusal: &HandOutRefusal, who: &SignedIn, person: &str) -> Self {
        let link = match refusal {
            HandOutRefusal::NoInduction { .. } | HandOutRefusal::InductionRanOut { .. } => {
                let address = format!("/people/{}/induction", person);
                Some((address, "Note an induction"))
            }
            HandOutRefusal::Charging { .. } => Some(("/charges".to_owned(), "Charging")),
            HandOutRefusal::KitUnchecked { number } => {
                Some((format!("/kit?text={number}"), "Look it over"))
            }
            HandOutRefusal::AtHome { number, .. } => {
                Some((format!("/packs/{number}/back"), "It is back"))
            }
            HandOutRefusal::SetAside { number, .. } => {
                Some((format!("/packs/{number}"), "See to it"))
            }
            HandOutRefusal::NotEnough { number, but, .. } if !but.is_empty() => {
                Some((format!("/kit?text={number}"), "See to it"))
            }
            _ => None,
        };
        Self {
            // A member borrows for nobody else and chooses no person.
            field: if refusal.is_of_person() && who.me.is_quartermaster {
                "person"
            } else {
                "items"
            },
            words: who.numbers().sentence(&words_for(refusal, who)),
            against: refusal.against(),
            link: link.filter(|_| who.me.is_quartermaster),
        }
    }
}

/// A member who borrows is told whom to ask; the rule's own words tell a quartermaster what to do.
fn words_for(refusal: &HandOutRefusal, who: &SignedIn) -> String {
    match refusal {
        _ if who.me.is_quartermaster => refusal.to_string(),
        HandOutRefusal::OnLoan { number, to } => format!("{number} is on loan{to}. Take another one."),
        HandOutRefusal::AtHome { number, .. } => {
            format!("{number} is at somebody's home, to be put to storage. Take another one.")
        }
        HandOutRefusal::NotKnown { number, why } => {
            format!("{number} is not known: {why} Ask a quartermaster to look at it.")
        }
        HandOutRefusal::SetAside { number, why, .. } => {
            format!("{number} is set aside: {why} Take another one.")
        }
        HandOutRefusal::NoInduction { .. } => {
            "You were not shown safe charging and handling yet. Ask a quartermaster to show you; once that is on record you can borrow.".to_owned()
        }
        HandOutRefusal::InductionRanOut { on, .. } => {
            format!("Your induction ran out on {on}. Ask a quartermaster to show you again.")
        }
        HandOutRefusal::KitUnchecked { number } => {
            format!("{number} came back unchecked. Ask a quartermaster to look it over.")
        }
        HandOutRefusal::Care(refusal @ CareRefusal::OwnCareOverdue { .. }) => own_words(refusal),
        HandOutRefusal::Care(CareRefusal::UnreadOnRound { number }) => {
            format!("{number} is on a storage round as back, and nobody looked at it since. Log its volts on its page now, then borrow it.")
        }
        HandOutRefusal::Care(CareRefusal::PastStorageLimit { number, days, limit }) => {
            format!("{number} is above its storage band for {days} and past the club's limit of {limit}. Log its volts on its page now, then borrow it.")
        }
        other => other.to_string(),
    }
}

/// As its own person reads it.
pub(super) fn own_words(refusal: &CareRefusal) -> String {
    match refusal {
        CareRefusal::OwnCareOverdue { packs, days, .. } => {
            format!(
                "You have {packs} to put to storage, due for {days}. Nothing more is lent to you until that is done."
            )
        }
        other => other.to_string(),
    }
}

/// What no pack chosen would change, for a member who borrows for themselves.
pub(super) fn barred(me: &[Borrower], who: &SignedIn) -> String {
    if who.me.is_quartermaster {
        return String::new();
    }
    let may_borrow = who.club.may_members_borrow;
    me.iter()
        .find_map(|me| {
            lender_refusal(who.actor(), me.id, may_borrow).or_else(|| borrower_refusal(me))
        })
        .map_or_else(String::new, |refusal| Told::of(&refusal, who, "").words)
}
