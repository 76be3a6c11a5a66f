//! Every ten minutes: ended sessions, links, tokens, old one-time keys, spreadsheets and charge logs on their way in go,
//! and limits forget who has recovered. Of packs that were read before storage care kept anything of them it is kept now.

use crate::actions::care;
use crate::app::App;
use crate::store::book::reports;
use crate::store::charges::{logs, shown};
use crate::store::{StoreError, keys, links, outbox, reminders, sessions, sheets, tokens};
use std::time::Duration;

const KEPT_DAYS: i64 = 730;

pub async fn keep_sweeping(app: App) {
    let mut ticks = tokio::time::interval(Duration::from_secs(600));
    loop {
        ticks.tick().await;
        app.limits.sweep();
        if let Err(error) = sweep(&app).await {
            tracing::warn!(%error, "sweeping failed; it will be tried again");
        }
    }
}

/// A form may be sent again for two days, and a report's network counts no longer; a spreadsheet or a charge log waits for one.
/// Links in mail work for 90 days. What was reminded of and sent, and what cards told, is kept for two years, so that what a
/// season had can be looked up in the next.
pub async fn sweep(app: &App) -> Result<(), StoreError> {
    let now = app.clock.now();
    care::catch_up(&app.db, now).await?;
    let mut tx = app.db.write().await?;
    sessions::sweep(&mut tx, now).await?;
    links::sweep(&mut tx, now).await?;
    tokens::sweep(&mut tx, now).await?;
    keys::sweep(&mut tx, now.plus_days(-2)).await?;
    sheets::sweep(&mut tx, now.plus_days(-1)).await?;
    logs::sweep(&mut tx, now.plus_days(-1)).await?;
    reports::sweep(&mut tx, now.plus_days(-2)).await?;
    outbox::sweep_links(&mut tx, now.plus_days(-90)).await?;
    outbox::sweep(&mut tx, now.plus_days(-KEPT_DAYS)).await?;
    reminders::sweep(&mut tx, now.plus_days(-KEPT_DAYS)).await?;
    shown::sweep(&mut tx, now.plus_days(-KEPT_DAYS)).await?;
    tx.save().await
}
