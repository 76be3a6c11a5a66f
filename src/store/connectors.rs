//! The club's own connector families; the usual ones come with the program (`bench::connector`).

use super::{Conn, Result, StoreError, Tx, change, row, rows};
use crate::bench::connector::{Family, built_in, shown};
use crate::bench::kit::Spec;
use crate::club::calendar::Instant;

/// The built-in families, then the club's own by code.
pub async fn all(conn: &mut Conn) -> Result<Vec<Family>> {
    let mut families = built_in();
    families.extend(own(conn).await?);
    Ok(families)
}

pub async fn own(conn: &mut Conn) -> Result<Vec<Family>> {
    let found = rows!(conn, (String,), "SELECT spec FROM connector ORDER BY code")?;
    found.into_iter().map(|(spec,)| family(&spec)).collect()
}

pub(super) fn family(spec: &str) -> Result<Family> {
    serde_json::from_str(spec).map_err(|error| StoreError::Internal(error.to_string()))
}

/// As people call it: by its own family's name (`spec`: its JSON), else a built-in one's.
pub(super) fn name(code: &str, spec: Option<&str>) -> String {
    let own = spec.and_then(|spec| family(spec).ok());
    own.map_or_else(|| shown(code).to_owned(), |family| family.name)
}

/// One of the club's own.
pub async fn own_by_code(conn: &mut Conn, code: &str) -> Result<Option<Family>> {
    let found = row!(
        conn,
        (String,),
        "SELECT spec FROM connector WHERE code = $1",
        code
    )?;
    found.map(|(spec,)| family(&spec)).transpose()
}

/// Its code stays.
pub async fn save(tx: &mut Tx, family: &Family) -> Result<()> {
    let spec = to_json(family)?;
    change!(
        tx,
        "UPDATE connector SET spec = $2 WHERE code = $1",
        &family.code,
        spec
    )?;
    Ok(())
}

pub async fn remove(tx: &mut Tx, code: &str) -> Result<()> {
    change!(tx, "DELETE FROM connector WHERE code = $1", code)?;
    Ok(())
}

/// Names of designs and numbers of kit that have it, gone or not: their sheets would name nothing.
pub async fn users(conn: &mut Conn, code: &str) -> Result<Vec<String>> {
    let mut users: Vec<String> = rows!(
        conn,
        (String,),
        "SELECT name FROM design WHERE connector = $1 OR balance_connector = $1 ORDER BY name",
        code
    )?
    .into_iter()
    .map(|(name,)| name)
    .collect();
    let kit = rows!(
        conn,
        (String, String),
        "SELECT number, spec FROM kit WHERE spec LIKE $1 ORDER BY kind, number_key",
        format!("%\"{code}\"%")
    )?;
    for (number, spec) in kit {
        let spec: Spec =
            serde_json::from_str(&spec).map_err(|error| StoreError::Internal(error.to_string()))?;
        if spec.connectors().contains(&code) {
            users.push(number);
        }
    }
    Ok(users)
}

fn to_json(family: &Family) -> Result<String> {
    serde_json::to_string(family).map_err(|error| StoreError::Internal(error.to_string()))
}

/// Conflict when the club has one of that code.
pub async fn add(tx: &mut Tx, family: &Family, at: Instant) -> Result<()> {
    let spec = to_json(family)?;
    change!(
        tx,
        "INSERT INTO connector (code, spec, created_ms) VALUES ($1, $2, $3)",
        &family.code,
        spec,
        at
    )?;
    Ok(())
}
