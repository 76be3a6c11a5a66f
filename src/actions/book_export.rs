//! The incident book read out to be given away, whole or one incident, with its photos and files: all of one instant.

use crate::actions::book::{BookFailed, sealed};
use crate::club::book::chain::{Kept, Sealed};
use crate::club::book::erasure;
use crate::club::book::export::Export;
use crate::club::book::part::KeptPart;
use crate::store::Db;
use crate::store::book::entries;
use crate::store::book::files::{self, Given};
use std::collections::BTreeSet;

/// The whole book, or what there is of one incident: its own entries and those that say what of them was erased.
pub async fn export(db: &Db, incident: Option<&str>) -> Result<(Export, Vec<Given>), BookFailed> {
    // Taken as for a write: head, entries, parts and files are then of one instant.
    let mut tx = db.write().await?;
    let told = entries::told(&mut tx, None).await?;
    let files = files::all(&mut tx, incident).await?;
    drop(tx);
    let (entries, parts) = match incident {
        None => (told.entries, told.parts),
        Some(incident) => of_one(incident, &told.entries, told.parts)?,
    };
    let export = Export {
        incident: incident.map(str::to_owned),
        entries,
        parts,
        head: told.book_ends,
    };
    Ok((export, files))
}

fn of_one(
    incident: &str,
    all: &[Kept],
    parts: Vec<KeptPart>,
) -> Result<(Vec<Kept>, Vec<KeptPart>), BookFailed> {
    let read = sealed(all)?;
    let is_own = |one: &&Sealed| one.entry.body["incident"] == incident;
    let own: BTreeSet<i64> = read
        .iter()
        .filter(is_own)
        .map(|one| one.entry.seq)
        .collect();
    if own.is_empty() {
        return Err(BookFailed::NoIncident);
    }
    let erases_of_it = |one: &Sealed| {
        let told = erasure::told_by(&one.entry).unwrap_or_default();
        told.iter().any(|each| own.contains(&each.seq()))
    };
    let chosen: BTreeSet<i64> = read
        .iter()
        .filter(|one| own.contains(&one.entry.seq) || erases_of_it(one))
        .map(|one| one.entry.seq)
        .collect();
    let entries = read
        .iter()
        .zip(all)
        .filter(|(one, _)| chosen.contains(&one.entry.seq))
        .map(|(_, kept)| kept.clone());
    let mut parts = parts;
    parts.retain(|part| chosen.contains(&part.seq));
    Ok((entries.collect(), parts))
}
