//! Inductions: who was shown safe charging and handling, by whom, on which day and until when it holds. Records are only
//! added: the latest showing of a person counts (of one day's, the one noted last).

use super::{Result, Tx, change};
use crate::club::calendar::{Day, Instant};
use crate::club::induction::Shown;
use uuid::Uuid;

#[derive(Clone, Copy, Debug)]
pub struct Record {
    pub id: Uuid,
    pub person_id: Uuid,
    pub shown_by: Uuid,
    pub shown: Shown,
    pub noted_ms: Instant,
}

pub async fn add(tx: &mut Tx, record: &Record) -> Result<()> {
    change!(
        tx,
        "INSERT INTO induction (id, person_id, shown_by, shown_on, ends_on, noted_ms) VALUES ($1, $2, $3, $4, $5, $6)",
        record.id,
        record.person_id,
        record.shown_by,
        record.shown.on.to_string(),
        record.shown.ends_on.map(|day| day.to_string()),
        record.noted_ms
    )?;
    Ok(())
}

/// The showing behind two stored days. A last day that can't be read counts as the first: never as without an end.
pub(super) fn shown(on: Option<&str>, ends_on: Option<&str>) -> Option<Shown> {
    let on = Day::parse(on?)?;
    let ends_on = ends_on.map(|text| Day::parse(text).unwrap_or(on));
    Some(Shown { on, ends_on })
}
