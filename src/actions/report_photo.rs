//! The photo of a report: added by whoever sent it, once, in time, after the report itself was stored.

use crate::actions::{By, log};
use crate::club::calendar::Instant;
use crate::club::people::Actor;
use crate::club::reports::waited::MOST_DAYS;
use crate::store::book::report_photos;
use crate::store::book::reports::{self as store, Report};
use crate::store::photos::Picture;
use crate::store::{Db, Result};
use serde::Serialize;

/// Until when a photo may still be added: within a day, or for as long as a phone may have kept it. One
/// that was erased does not come again.
pub fn takes_one(report: &Report, now: Instant) -> bool {
    let days = if report.is_of_phone { MOST_DAYS } else { 1 };
    !report.has_photo && report.photo_erased_ms.is_none() && now <= report.came_ms.plus_days(days)
}

/// The photo of a report is stored after it, so that nothing waits for a picture to be made: by its token, once, in time.
/// One that could not be made is told of. False: it has a photo already, or it is too late.
pub async fn add(
    db: &Db,
    by: &By,
    token: &str,
    picture: std::result::Result<&Picture, &str>,
) -> Result<bool> {
    let mut tx = db.write().await?;
    let Some(report) = store::by_token(&mut tx, token).await? else {
        return Ok(false);
    };
    if !takes_one(&report, by.at) {
        return Ok(false);
    }
    match picture {
        Ok(picture) => {
            report_photos::add(&mut tx, report.id, picture, by.at).await?;
            let told = Photographed {
                original_sha256: &picture.original_sha256,
            };
            let subject = ("report", report.id);
            let by = &as_its_teller(by, &report);
            log(&mut tx, by, "photo added", subject, (&None::<()>, &told)).await?;
        }
        Err(why) => report_photos::refuse(&mut tx, report.id, why).await?,
    }
    tx.save().await?;
    Ok(true)
}

/// Whose report names nobody, their photo names nobody: a phone sends it by itself, whoever is signed in by then.
fn as_its_teller(by: &By, report: &Report) -> By {
    match report.by_id {
        Some(_) => by.clone(),
        None => By {
            actor: Actor::NOBODY,
            token_id: None,
            ..by.clone()
        },
    }
}

#[derive(Serialize)]
struct Photographed<'a> {
    original_sha256: &'a str,
}
