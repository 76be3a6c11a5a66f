//! Kit as a sheet: of one kind with its columns, or of all kinds with all of them. A member reads that a thing is out, not
//! with whom, and no notes.

use super::{answer, check_limit, columns_for};
use crate::app::App;
use crate::bench::connector::Family;
use crate::bench::kit::KitKind;
use crate::club::sheet::Holds;
use crate::club::sheet::columns::Column;
use crate::club::sheet::shown;
use crate::club::sheet::written::Sheet;
use crate::store::connectors;
use crate::store::kit as store;
use crate::web::asked::Query;
use crate::web::kit::{Row, row};
use crate::web::kit_list::Filter;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;

/// GET /kit.csv
pub async fn list(State(app): State<App>, who: SignedIn, Query(filter): Query<Filter>) -> Page {
    check_limit(&app, &who)?;
    let mut conn = app.db.read().await?;
    let found = store::list(&mut conn, filter.whole()).await?;
    let own = connectors::own(&mut conn).await?;
    drop(conn);
    let kind = filter.whole().kind;
    let mut columns = columns_for(&who, Holds::Kit, kind);
    let is_counted = kind.is_none_or(KitKind::is_counted);
    columns.retain(|column| column.code != "owned_count" || is_counted);
    let heads = columns.iter().map(|column| column.label);
    let more = [
        "State",
        "What it is",
        "Where or with whom",
        "Out",
        "Set aside",
        "Not looked over",
    ];
    let heads: Vec<&str> = heads.chain(more).collect();
    let mut sheet = Sheet::new(who.numbers(), &heads);
    for listed in found {
        let row = row(listed, &who)?;
        if row.suits(&filter.text) {
            sheet.row(cells(&row, &columns, &own, &who)?);
        }
    }
    let name = kind.map_or("kit", |kind| kind.code());
    answer(&who, name, sheet)
}

fn cells(
    row: &Row,
    columns: &[Column],
    own: &[Family],
    who: &SignedIn,
) -> Result<Vec<String>, PageError> {
    let (kit, stock) = (&row.listed.kit, row.listed.stock());
    let mut fields = kit.sheet()?.typed(who.numbers());
    fields.put("number", &kit.number);
    fields.put("kind", row.kind);
    fields.put(
        "place",
        row.listed.place_name.as_deref().unwrap_or_default(),
    );
    if kit.is_counted() {
        fields.put("owned_count", &kit.owned_count.to_string());
    }
    let own = columns
        .iter()
        .map(|column| shown::cell(column, &fields, own));
    let now = [
        row.state_words.clone(),
        row.what.clone(),
        row.whereabouts.clone(),
        stock.out.to_string(),
        stock.aside.to_string(),
        stock.unchecked.to_string(),
    ];
    Ok(own.chain(now).collect())
}
