//! What is on record of a pack as an incident is opened, and the names in it, each a part of its own.

use crate::actions::standing::Standing;
use crate::club::book::frozen::{Charged, KnownPack, Lent, Read, Shown, Stood};
use crate::club::calendar::Instant;
use crate::store::book::around::{self, Side};
use crate::store::charges::shown::{self, CardShown};
use crate::store::charges::{self, Listed};
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::store::{Result, Tx, findings};

/// So many of the readings, changes, loans, charges and cards of a pack are frozen into the book: the last before it happened, and the
/// first since.
const READINGS: i64 = 10;
const CHANGES: i64 = 20;
const LOANS: i64 = 5;
const CHARGES: i64 = 5;
const CARDS: i64 = 10;

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

/// What lies since the instant and before it, of each what is nearest, the latest first. `more` says where one more was found than is kept.
fn kept<T>(more: &mut Vec<String>, (what, most): (&str, i64), sides: [Vec<T>; 2]) -> Vec<T> {
    let most = usize::try_from(most).unwrap_or(0);
    let mut cut = |mut found: Vec<T>, when: &str| {
        if found.len() > most {
            more.push(format!("{what} {when}"));
        }
        found.truncate(most);
        found
    };
    let [since, before] = sides;
    let mut all = cut(since, "since");
    all.reverse();
    all.extend(cut(before, "before"));
    all
}

/// `at`: when the incident happened.
pub async fn known_of(tx: &mut Tx, pack: &PackView, at: Instant) -> Result<Known> {
    let open = findings::open(tx, pack.id).await?;
    let (id, mut more) = (pack.id, Vec::new());
    let (since, before) = (Side::After(at), Side::UpTo(at));
    let found = [
        readings::around(tx, id, since, READINGS + 1).await?,
        readings::around(tx, id, before, READINGS + 1).await?,
    ];
    let read = kept(&mut more, ("readings", READINGS), found);
    let found = [
        around::changes(tx, id, since, CHANGES + 1).await?,
        around::changes(tx, id, before, CHANGES + 1).await?,
    ];
    let told = kept(&mut more, ("changes", CHANGES), found);
    let found = [
        around::loans(tx, id, since, LOANS + 1).await?,
        around::loans(tx, id, before, LOANS + 1).await?,
    ];
    let lent = kept(&mut more, ("loans", LOANS), found);
    let found = [
        charges::around(tx, id, since, CHARGES + 1).await?,
        charges::around(tx, id, before, CHARGES + 1).await?,
    ];
    let charged = kept(&mut more, ("charges", CHARGES), found);
    let found = [
        shown::around(tx, id, since, CARDS + 1).await?,
        shown::around(tx, id, before, CARDS + 1).await?,
    ];
    let cards = kept(&mut more, ("cards", CARDS), found);
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
            cards: cards.into_iter().map(card).collect(),
            more,
        },
        borrowers: lent.into_iter().map(|one| named(one.borrower)).collect(),
    })
}

fn stood(told: &around::Changed) -> Option<Stood> {
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

fn loan(one: &around::Before) -> Lent {
    Lent {
        from_ms: one.opened_ms.ms(),
        until_ms: one.closed_ms.map(|at| at.ms()),
        due_on: one.due_on.clone(),
        outcome: one.outcome.clone(),
    }
}

fn card(one: CardShown) -> Shown {
    Shown {
        first_ms: one.first_ms.ms(),
        last_ms: one.last_ms.ms(),
        said: one.said,
    }
}

fn charge(one: Listed) -> Charged {
    let charge = one.charge;
    Charged {
        started_ms: charge.started_ms.ms(),
        ended_ms: charge.ended_ms.map(|at| at.ms()),
        charger: one.charger_number,
        // Outputs are told from 1, as on the charger.
        output: charge.output + 1,
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
