//! The charges of a pack as a sheet: what its charge pages say of each, but who stayed with it.

use super::{answer, at, check_limit};
use crate::app::App;
use crate::bench::charger::Mode;
use crate::bench::plan::mode_words;
use crate::club::charging::Outcome;
use crate::club::sheet::written::Sheet;
use crate::store::charges::{self, Listed};
use crate::web::asked::Path;
use crate::web::charge_card::purpose_words;
use crate::web::pack::named;
use crate::web::page::Page;
use crate::web::visit::SignedIn;
use axum::extract::State;

/// More than a pack is ever charged.
const MOST_CHARGES: i64 = 100_000;

/// GET /packs/{number}/charges.csv
pub async fn of_pack(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    check_limit(&app, &who)?;
    let pack = named(&app, &number).await?;
    let found = charges::of_pack(&mut app.db.read().await?, pack.id, MOST_CHARGES).await?;
    let heads = [
        "Started",
        "Ended",
        "Charger",
        "Output",
        "Supply",
        "What for",
        "Mode",
        "Current (A)",
        "Set to (V)",
        "Expected from (mAh)",
        "Expected to (mAh)",
        "Put in (mAh)",
        "Taken out (mAh)",
        "How it ended",
        "What was seen",
    ];
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for one in &found {
        sheet.row(cells(one, &who));
    }
    answer(&who, &format!("charges-{}", pack.number), sheet)
}

fn cells(one: &Listed, who: &SignedIn) -> [String; 15] {
    let charge = &one.charge;
    let number = |milli: i64| who.numbers().number(milli);
    let moved = |is_in: bool| {
        let mah = charge.moved_mah.filter(|_| charge.is_charge() == is_in);
        mah.map_or_else(String::new, |mah| mah.to_string())
    };
    [
        at(charge.started_ms, who),
        charge.ended_ms.map_or_else(String::new, |end| at(end, who)),
        one.charger_number.clone(),
        (charge.output + 1).to_string(),
        one.supply_number.clone().unwrap_or_default(),
        purpose_words(&charge.purpose).to_owned(),
        Mode::from_code(&charge.mode)
            .map_or("", mode_words)
            .to_owned(),
        number(charge.current_ma),
        number(charge.target_mv),
        charge.least_mah.to_string(),
        charge.most_mah.to_string(),
        moved(true),
        moved(false),
        charge.outcome().map_or("", Outcome::label).to_owned(),
        charge.end_words.clone().unwrap_or_default(),
    ]
}
