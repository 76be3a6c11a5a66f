//! Keeps what a card told, as it is shown on a page, on paper, in an evening's plan or to a program: the incident book tells it. A card
//! is shown also where that can't be kept.

use crate::app::App;
use crate::battery::pack::Build;
use crate::bench::plan::{AtHand, Plan, Told};
use crate::bench::typed::Words;
use crate::store::Result;
use crate::store::charges::shown;
use crate::web::charge_card::purpose_words;
use crate::web::visit::SignedIn;
use uuid::Uuid;

/// `for storage: C-01, output 2, from S-01, set to 3S LiPo, storage, 11.46 V, 0.4 A, cut off at 900 mAh, 60 minutes; takes 33 to 38 minutes`
pub(super) fn kept_words(purpose: &str, plan: &Plan, (build, hand): (&Build, &AtHand)) -> String {
    let told = Told::of(plan, build, hand, Words::POINT);
    let source = plan.feed.source.as_ref();
    let from = source.map_or_else(String::new, |source| {
        format!(", from {}", source.supply.number)
    });
    format!(
        "{}: {}, output {}{from}, set to {}, cut off at {}; takes {}",
        purpose_words(purpose),
        plan.charger.number,
        plan.output + 1,
        told.read_back,
        told.cut_off,
        told.takes,
    )
}

/// Each with its pack. What can't be kept is logged, and nobody is kept from the card by it.
pub(super) async fn keep(app: &App, who: &SignedIn, cards: &[(Uuid, String)]) {
    if cards.is_empty() {
        return;
    }
    if let Err(error) = kept(app, who, cards).await {
        tracing::warn!(%error, "what a card told was not kept");
    }
}

async fn kept(app: &App, who: &SignedIn, cards: &[(Uuid, String)]) -> Result<()> {
    let mut tx = app.db.write().await?;
    for (pack_id, said) in cards {
        shown::keep(&mut tx, (*pack_id, said), who.now).await?;
    }
    tx.save().await
}
