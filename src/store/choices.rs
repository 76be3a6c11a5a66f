//! What forms and filters offer to choose from: open places, connector families, who has packs out. In one query.

use super::{Conn, Result, connectors, rows};
use crate::bench::connector::{Family, built_in};
use uuid::Uuid;

#[derive(Clone, Debug, Default)]
pub struct Choices {
    /// By name.
    pub places: Vec<(Uuid, String)>,
    /// The built-in ones, then the club's own.
    pub families: Vec<Family>,
    /// By name; empty unless asked for.
    pub holders: Vec<(Uuid, String)>,
}

pub async fn of_forms(conn: &mut Conn) -> Result<Choices> {
    read(conn, false).await
}

/// `sees_holders`: whoever asks may see who has what.
pub async fn of_packs_page(conn: &mut Conn, sees_holders: bool) -> Result<Choices> {
    read(conn, sees_holders).await
}

async fn read(conn: &mut Conn, sees_holders: bool) -> Result<Choices> {
    let found = rows!(
        conn,
        (String, Option<Uuid>, String),
        "SELECT 'place' AS kind, id, name AS words FROM place WHERE closed_ms IS NULL \
         UNION ALL SELECT 'family', NULL, spec FROM connector \
         UNION ALL SELECT 'holder', p.id, COALESCE(p.name, '(erased)') FROM person p WHERE $1 = TRUE AND p.id IN \
         (SELECT lo.borrower_id FROM lent le JOIN loan lo ON lo.id = le.loan_id WHERE le.closed_ms IS NULL AND le.pack_id IS NOT NULL \
         UNION SELECT hc.home_id FROM care hc WHERE hc.home_id IS NOT NULL) \
         ORDER BY words",
        sees_holders
    )?;
    let mut choices = Choices {
        families: built_in(),
        ..Choices::default()
    };
    for (kind, id, words) in found {
        match (kind.as_str(), id) {
            ("place", Some(id)) => choices.places.push((id, words)),
            ("holder", Some(id)) => choices.holders.push((id, words)),
            _ => choices.families.push(connectors::family(&words)?),
        }
    }
    Ok(choices)
}
