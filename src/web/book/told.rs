//! What the forms of an incident's page tell.

use super::{happened, unread, words};
use crate::actions::book::sealed;
use crate::app::App;
use crate::club::book::digest::Digest;
use crate::club::book::telling::Telling;
use crate::store::book::entries;
use crate::web::fields::Fields;
use crate::web::page::PageError;
use crate::web::visit::SignedIn;

/// What a form of the page tells; None: it is none of ours, or lacks what it is about.
pub(super) async fn telling(
    app: &App,
    who: &SignedIn,
    incident: &str,
    fields: &Fields,
) -> Result<Option<Telling>, PageError> {
    Ok(match fields.text("what").as_str() {
        "timeline" => Some(Telling::Timeline {
            happened: happened(fields, who).unwrap_or(who.now),
            words: words(fields, "words"),
        }),
        "correct" => {
            let seq: i64 = fields.text("corrects").parse().unwrap_or(0);
            let kept = entries::of_incident(&mut app.db.read().await?, incident).await?;
            let all = sealed(&kept).map_err(unread)?;
            let hash = all
                .iter()
                .find(|one| one.entry.seq == seq)
                .map(|one| one.hash);
            Some(Telling::Corrected {
                seq,
                hash: hash.unwrap_or(Digest::NONE_BEFORE),
                field: fields.text("field"),
                instead: words(fields, "instead"),
                held: None,
                why: fields.text("why"),
            })
        }
        "told_to" => Some(Telling::ToldTo {
            whom: fields.text("whom"),
            at: happened(fields, who).unwrap_or(who.now),
            reference: fields.text("reference"),
            told_by: fields.text("told_by"),
        }),
        "close" => Some(Telling::Closed {
            causes: vec![fields.text("causes")],
            lessons: fields.text("lessons"),
        }),
        "reopen" => Some(Telling::Reopened {
            why: fields.text("why"),
        }),
        _ => None,
    })
}
