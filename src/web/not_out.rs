//! What was typed at take-back and is not out: each number with its page, where something to see on it can be reported;
//! and numbers that the club does not have.

use crate::actions::at_table::{kit_named, pack_named};
use crate::club::lending::{Typed, is_same_number, key_of, missing};
use crate::store::loans::Out;
use crate::store::packs;
use crate::store::{Conn, StoreError};

#[derive(Default)]
pub(super) struct NotOut {
    /// Label and page of each.
    pub things: Vec<(String, String)>,
    /// As they were typed: `18, 20-25`, `C-09`.
    pub unknown: Vec<String>,
}

pub(super) fn is_named(typed: &Typed, out: &Out) -> bool {
    match typed {
        Typed::Packs(from, to) => {
            out.pack_id.is_some()
                && key_of(&out.number).is_some_and(|key| (*from..=*to).contains(&key))
        }
        Typed::Number(number, _) => is_same_number(&out.number, number),
    }
}

/// Of what was typed everything that `out` does not hold.
pub(super) async fn of(
    conn: &mut Conn,
    typed: &[Typed],
    out: &[Out],
) -> Result<NotOut, StoreError> {
    let mut told = NotOut::default();
    let asked: Vec<(i64, i64)> = typed
        .iter()
        .filter_map(|typed| match typed {
            Typed::Packs(from, to) if !are_all_out((*from, *to), out) => Some((*from, *to)),
            _ => None,
        })
        .collect();
    let keys: Vec<i64> = asked.iter().flat_map(|(from, to)| *from..=*to).collect();
    let found = packs::with_keys(conn, &keys).await?;
    let known: Vec<i64> = found.iter().map(|pack| pack.number_key).collect();
    let gaps = asked.iter().map(|range| missing(*range, &known));
    told.unknown.extend(gaps.filter(|text| !text.is_empty()));
    let here = found.iter().filter(|pack| !pack.is_lent());
    told.things.extend(here.map(|pack| of_pack(&pack.number)));
    for typed in typed {
        match typed {
            Typed::Packs(..) => {}
            Typed::Number(..) if out.iter().any(|one| is_named(typed, one)) => {}
            Typed::Number(number, _) => {
                if let Some(pack) = pack_named(conn, number).await? {
                    told.things.push(of_pack(&pack.number));
                } else if let Some(kit) = kit_named(conn, number).await? {
                    told.things.push((kit.number, format!("/kit/{}", kit.id)));
                } else {
                    told.unknown.push(number.clone());
                }
            }
        }
    }
    told.things.sort();
    told.things.dedup();
    Ok(told)
}

fn are_all_out(range: (i64, i64), out: &[Out]) -> bool {
    let packs = out.iter().filter(|one| one.pack_id.is_some());
    let keys: Vec<i64> = packs.filter_map(|one| key_of(&one.number)).collect();
    missing(range, &keys).is_empty()
}

fn of_pack(number: &str) -> (String, String) {
    (number.to_owned(), format!("/packs/{number}"))
}
