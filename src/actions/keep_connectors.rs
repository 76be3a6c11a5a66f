//! The club's own connector families: added, changed, removed while nothing has them. A code stays for good, since data
//! sheets name it; so does what a family is used for.

use crate::actions::keep_kit::{Address, KitRefusal, begin};
use crate::actions::{By, log, once};
use crate::bench::connector::{Family, built_in};
use crate::ids;
use crate::store::{Db, StoreError, Tx, connectors};
use serde_json::{Value, json};

/// How many of those that have a family a refusal names.
const NAMED: usize = 5;

pub async fn add_connector(db: &Db, by: &By, family: Family) -> Result<Address, KitRefusal> {
    let family = family.checked().map_err(KitRefusal::Fields)?;
    if built_in().iter().any(|known| known.code == family.code) {
        return Err(KitRefusal::CodeTaken);
    }
    let mut tx = begin(db, by).await?;
    connectors::add(&mut tx, &family, by.at)
        .await
        .map_err(|error| match error {
            StoreError::Conflict => KitRefusal::CodeTaken,
            other => other.into(),
        })?;
    finish(
        tx,
        by,
        ("added the connector", "added"),
        (None, Some(&family)),
    )
    .await
}

/// Name, pins, ratings, polarity and source.
pub async fn change_connector(db: &Db, by: &By, family: Family) -> Result<Address, KitRefusal> {
    let mut tx = begin(db, by).await?;
    let before = own(&mut tx, &family.code).await?;
    let after = Family {
        purpose: before.purpose,
        ..family
    };
    let after = after.checked().map_err(KitRefusal::Fields)?;
    connectors::save(&mut tx, &after).await?;
    let told = (Some(&before), Some(&after));
    finish(tx, by, ("changed the connector", "changed"), told).await
}

pub async fn remove_connector(db: &Db, by: &By, code: &str) -> Result<Address, KitRefusal> {
    let mut tx = begin(db, by).await?;
    let before = own(&mut tx, code).await?;
    let users = connectors::users(&mut tx, code).await?;
    if !users.is_empty() {
        let more = users.len().saturating_sub(NAMED);
        let named = users[..users.len().min(NAMED)].join(", ");
        let rest = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        return Err(KitRefusal::InUse(format!("{named}{rest}")));
    }
    connectors::remove(&mut tx, code).await?;
    finish(
        tx,
        by,
        ("removed the connector", "removed"),
        (Some(&before), None),
    )
    .await
}

async fn own(tx: &mut Tx, code: &str) -> Result<Family, KitRefusal> {
    connectors::own_by_code(tx, code)
        .await?
        .ok_or(KitRefusal::Gone)
}

/// `words`: the log's verb, and the address's.
async fn finish(
    mut tx: Tx,
    by: &By,
    words: (&str, &str),
    change: (Option<&Family>, Option<&Family>),
) -> Result<Address, KitRefusal> {
    let told = |family: Option<&Family>| family.map_or(Value::Null, |family| json!(family));
    let change = (&told(change.0), &told(change.1));
    log(&mut tx, by, words.0, ("connector", ids::new_id()), change).await?;
    let address = format!("/connectors?done={}", words.1);
    once::finish(tx, by, &address).await?;
    Ok(address)
}
