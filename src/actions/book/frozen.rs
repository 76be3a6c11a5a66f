//! What is on record of a pack as an incident is opened, and the names in it, each a part of its own.

use crate::actions::standing::Standing;
use crate::club::book::frozen::{Charged, KnownPack, Lent, Read, Stood};
use crate::store::book::lent_before;
use crate::store::charges::{self, Listed};
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx, findings, log};

/// So many of the latest readings, changes, loans and charges of a pack are frozen into the book.
const READINGS: i64 = 10;
const CHANGES: i64 = 20;
const LOANS: i64 = 5;
const CHARGES: i64 = 5;

/// What is known, and who had it on each of its loans.
pub struct Known {
    pub pack: KnownPack,
    pub borrowers: Vec<String>,
    /// Who stayed with each of its charges.
    pub stayed: Vec<String>,
}

impl Known {
    /// Names of the part, and the names in it; nothing where there is none.
    pub fn names(&self) -> Vec<(String, String)> {
        let listed = |what: &str, names: &[String]| {
            let name = format!("{what} {}", self.pack.number);
            (!names.is_empty()).then(|| (name, names.join("\n")))
        };
        let all = [
            listed("lent", &self.borrowers),
            listed("charged", &self.stayed),
        ];
        all.into_iter().flatten().collect()
    }
}

fn named(name: Option<String>) -> String {
    name.unwrap_or_else(|| "(erased)".to_owned())
}

pub async fn known_of(tx: &mut Tx, pack: &PackView) -> Result<Known> {
    let open = findings::open(tx, pack.id).await?;
    let read = readings::latest(tx, pack.id, READINGS).await?;
    let told = log::of_subject(tx, pack.id, i64::MAX, CHANGES).await?;
    let lent = lent_before::of_pack(tx, pack.id, LOANS).await?;
    let charged = charges::of_pack(tx, pack.id, CHARGES).await?;
    let stood = told.iter().filter_map(stood);
    let stayed = charged.iter().map(|one| named(one.watched_name.clone()));
    Ok(Known {
        stayed: stayed.collect(),
        pack: KnownPack {
            number: pack.number.clone(),
            design: pack.design_name.clone().into(),
            chemistry: pack.chemistry.clone(),
            cells_series: pack.cells_series,
            capacity_mah: pack.capacity_mah,
            maker: pack.maker.clone().into(),
            batch: pack.batch.clone().into(),
            state: pack.state.clone(),
            why: pack.state_words.clone().into(),
            since_ms: pack.state_ms.ms(),
            is_lent: pack.is_lent(),
            place: pack
                .place_name
                .clone()
                .filter(|_| !pack.is_away())
                .map(Into::into),
            against_it: open.into_iter().map(|found| found.words.into()).collect(),
            stood: stood.collect(),
            readings: read.into_iter().map(reading).collect(),
            loans: lent.iter().map(loan).collect(),
            charges: charged.into_iter().map(charge).collect(),
        },
        borrowers: lent.into_iter().map(|one| named(one.borrower)).collect(),
    })
}

fn stood(told: &log::Told) -> Option<Stood> {
    let after: Standing = serde_json::from_str(&told.after).ok()?;
    Some(Stood {
        log_seq: told.seq,
        at_ms: told.at_ms.ms(),
        verb: told.verb.clone(),
        state: after.state,
        why: after.why.into(),
    })
}

fn reading(one: Reading) -> Read {
    Read {
        taken_ms: one.taken_ms.ms(),
        volts: one.volts,
        rested_minutes: one.rested_minutes,
        resistance: one.resistance,
        celsius: one.celsius,
    }
}

fn loan(one: &lent_before::Before) -> Lent {
    Lent {
        from_ms: one.opened_ms.ms(),
        until_ms: one.closed_ms.map(|at| at.ms()),
        due_on: one.due_on.clone(),
        outcome: one.outcome.clone(),
    }
}

fn charge(one: Listed) -> Charged {
    let charge = one.charge;
    Charged {
        started_ms: charge.started_ms.ms(),
        ended_ms: charge.ended_ms.map(|at| at.ms()),
        charger: one.charger_number,
        output: charge.output,
        supply: one.supply_number,
        mode: charge.mode,
        purpose: charge.purpose,
        current_ma: charge.current_ma,
        target_mv: charge.target_mv,
        least_minutes: charge.least_minutes,
        most_minutes: charge.most_minutes,
        least_mah: charge.least_mah,
        most_mah: charge.most_mah,
        cutoff_mah: charge.cutoff_mah,
        cutoff_minutes: charge.cutoff_minutes,
        read_back_ms: charge.read_back_ms.map(|at| at.ms()),
        outcome: charge.outcome,
        moved_mah: charge.moved_mah,
    }
}
