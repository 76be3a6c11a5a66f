//! Where a person lands: members at what they have, quartermasters at what is to see to, organisers at
//! the packs.

use crate::club::people::Role;
use crate::web::page::{self, Page};
use crate::web::visit::SignedIn;

/// GET /
pub async fn show(who: SignedIn) -> Page {
    page::go_to(match () {
        () if who.has(Role::Quartermaster) => "/to-see-to",
        () if who.has(Role::Organiser) => "/packs",
        () => "/mine",
    })
}
