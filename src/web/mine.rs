//! What a member has of the club's, and what those have whom the member answers for.

use crate::app::App;
use crate::store::loans;
use crate::web::loans::OutRow;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "mine.html")]
struct MinePage {
    shell: Shell,
    rows: Vec<OutRow>,
    /// With juniors and guests the person answers for.
    others: Vec<OutRow>,
    may_borrow: bool,
}

/// GET /mine
pub async fn mine(State(app): State<App>, who: SignedIn) -> Page {
    let found = loans::out_with(&mut app.db.read().await?, who.me.person_id).await?;
    let rows = found.into_iter().map(|out| OutRow::of(out, &who));
    let (rows, others) = rows.partition(|row| row.out.borrower_id == who.me.person_id);
    page::show(&MinePage {
        shell: who.shell("What I have"),
        rows,
        others,
        may_borrow: who.club.may_members_borrow,
    })
}
