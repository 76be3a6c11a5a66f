//! The season of storage care as sheets: week by week, and event by event.

use super::{answer, check_limit};
use crate::app::App;
use crate::club::sheet::written::Sheet;
use crate::web::asked::Query;
use crate::web::page::{Page, PageError};
use crate::web::season::{Asked, Season, last_day, looked_back};
use crate::web::visit::SignedIn;
use axum::extract::State;

async fn asked_for(app: &App, who: &SignedIn, asked: &Asked) -> Result<Season, PageError> {
    check_limit(app, who)?;
    let from = asked.from_day(who).map_err(PageError::Unreadable)?;
    Ok(looked_back(app, who, from).await?)
}

/// A figure as the club writes it.
fn figure(who: &SignedIn, value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| {
        who.numbers().sentence(&format!("{value:.1}"))
    })
}

/// GET /season.csv
pub async fn weeks(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let season = asked_for(&app, &who, &asked).await?;
    let heads = [
        "Week from",
        "Packs",
        "In band",
        "Above band",
        "Under band",
        "Not known",
        "In band (%)",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for (week, counts) in &season.weeks {
        sheet.row([
            week.first.to_string(),
            counts.all().to_string(),
            counts.inside.to_string(),
            counts.above.to_string(),
            counts.under.to_string(),
            counts.unknown.to_string(),
            figure(&who, counts.percent(counts.inside)),
        ]);
    }
    answer(&who, "season-weeks", sheet)
}

/// GET /season/events.csv
pub async fn events(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let season = asked_for(&app, &who, &asked).await?;
    let heads = [
        "Event",
        "Ended on",
        "Packs",
        "Put to storage",
        "Median days to storage",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for event in &season.events {
        sheet.row([
            event.name.clone(),
            last_day(event, &who).to_string(),
            event.after.packs.to_string(),
            event.after.stored.to_string(),
            figure(&who, event.after.median_days),
        ]);
    }
    answer(&who, "season-events", sheet)
}
