//! Where a person lands: members at what they have, those who run the pool at the packs.

use crate::club::people::Role;
use crate::web::page::{self, Page};
use crate::web::visit::SignedIn;

/// GET /
pub async fn show(who: SignedIn) -> Page {
    let runs_pool = who.has(Role::Quartermaster) || who.has(Role::Organiser);
    page::go_to(if runs_pool { "/packs" } else { "/mine" })
}
