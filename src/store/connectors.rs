//! The club's own connector families; the usual ones come with the program (`bench::connector`).

use super::{Conn, Result, StoreError, Tx, change, rows};
use crate::bench::connector::{Family, built_in};
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

/// Conflict when the club has one of that code.
pub async fn add(tx: &mut Tx, family: &Family, at: Instant) -> Result<()> {
    let spec =
        serde_json::to_string(family).map_err(|error| StoreError::Internal(error.to_string()))?;
    change!(
        tx,
        "INSERT INTO connector (code, spec, created_ms) VALUES ($1, $2, $3)",
        &family.code,
        spec,
        at
    )?;
    Ok(())
}
