//! What is somebody's to do after an incident: who is named as its owner says that it is done, with no other right in the book.

use super::{BookFailed, write_and_go_on};
use crate::actions::By;
use crate::actions::once;
use crate::club::book::telling::{Telling, Words};
use crate::store::Db;
use crate::store::book::actions;

/// Where it goes on.
pub const PAGE: &str = "/mine/actions";

pub async fn done(db: &Db, by: &By, seq: i64, words: &str) -> Result<String, BookFailed> {
    let mut tx = once::begin::<BookFailed>(db, by).await?;
    let own = actions::own(&mut tx, by.actor.id).await?;
    let of = own.into_iter().find(|own| own.seq == seq);
    let incident = of.ok_or(BookFailed::NoIncident)?.incident;
    let words = Words {
        text: words.to_owned(),
        names_somebody: false,
    };
    let telling = Telling::ActionDone { seq, words };
    let page = format!("{PAGE}?written={incident}");
    write_and_go_on(tx, by, (&incident, &page), telling, &[]).await
}
