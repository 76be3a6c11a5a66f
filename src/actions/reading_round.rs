//! Volts of many packs in one form: each reading that holds is stored, whatever is wrong with another's.

use crate::actions::By;
use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::once;
use crate::actions::reading::{LogVoltsRefusal, Logged, LoggedOn, log_once};
use crate::store::Db;
use uuid::Uuid;

/// What was read on one pack.
pub struct OfPack<'a> {
    pub pack_id: Uuid,
    pub logged: Logged<'a>,
}

/// The pack, and its reading that is on record now.
pub struct OnRecord {
    pub pack_id: Uuid,
    pub number: String,
    pub reading_id: Uuid,
}

/// A round of the shelves, as far as it came.
pub struct Round {
    pub stored: Vec<OnRecord>,
    /// Packs whose reading a rule refused.
    pub refused: Vec<(Uuid, LogVoltsRefusal)>,
    /// The page that tells what came of it.
    pub address: String,
}

/// `before`: numbers of packs that this round stored already; `place_id`: where it goes on.
pub async fn log_round(
    db: &Db,
    by: &By,
    all: &[OfPack<'_>],
    (before, place_id): (&[String], Option<Uuid>),
) -> Result<Round, LogVoltsRefusal> {
    let mut tx = once::begin::<LogVoltsRefusal>(db, by).await?;
    let (mut stored, mut refused, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for one in all {
        match log_once(&mut tx, by, one.pack_id, one.logged).await {
            Ok(done) => {
                places.extend(newly_at(&done));
                stored.push(OnRecord {
                    pack_id: one.pack_id,
                    number: done.after.number,
                    reading_id: done.reading_id,
                });
            }
            Err(LogVoltsRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => refused.push((one.pack_id, refusal)),
        }
    }
    let over = over_limit(&mut tx, places).await?;
    let numbers = before.iter().chain(stored.iter().map(|one| &one.number));
    let address = telling_of(&done_at(numbers, place_id), over);
    if refused.is_empty() {
        once::finish(tx, by, &address).await?;
    } else {
        // The form comes again with what is put right.
        tx.save().await?;
    }
    Ok(Round {
        stored,
        refused,
        address,
    })
}

/// Where it was put by its reading.
fn newly_at(done: &LoggedOn) -> Option<Uuid> {
    let place_id = done.after.place_id;
    place_id.filter(|_| place_id != done.before.place_id)
}

fn done_at<'a>(numbers: impl Iterator<Item = &'a String>, place_id: Option<Uuid>) -> String {
    let mut told: Vec<&str> = Vec::new();
    for number in numbers {
        if !told.contains(&number.as_str()) {
            told.push(number);
        }
    }
    let place = place_id.map_or_else(String::new, |id| format!("&place={id}"));
    format!("/readings/done?read={}{place}", told.join(","))
}
