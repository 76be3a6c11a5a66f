//! What was typed at take-back and is not out: each number with its page, where something to see on it can be reported;
//! and numbers that the club does not have.

use crate::club::lending::{Typed, key_of, missing};
use crate::store::at_hand::{self, Numbered};
use crate::store::loans::Out;
use crate::store::{Conn, StoreError};

#[derive(Default)]
pub(super) struct NotOut {
    /// Label and page of each.
    pub things: Vec<(String, String)>,
    /// As they were typed: `18, 20-25`, `C-09`.
    pub unknown: Vec<String>,
}

pub(super) fn is_named(typed: &Typed, out: &Out) -> bool {
    typed.names(&out.number, out.pack_id.is_some())
}

/// Of what was typed everything that `out` does not hold.
pub(super) async fn of(
    conn: &mut Conn,
    typed: &[Typed],
    out: &[Out],
) -> Result<NotOut, StoreError> {
    let mut told = NotOut::default();
    let asked = typed.iter().filter(|typed| match typed {
        Typed::Packs(from, to) => !are_all_out((*from, *to), out),
        Typed::Number(..) => !out.iter().any(|one| is_named(typed, one)),
    });
    let asked: Vec<&Typed> = asked.collect();
    let keys: Vec<i64> = asked.iter().flat_map(|typed| typed.keys()).collect();
    let found = at_hand::numbered(conn, &keys).await?;
    for typed in asked {
        let there = found
            .iter()
            .filter(|one| typed.names(&one.number, one.kit_id.is_none()));
        let there: Vec<&Numbered> = there.collect();
        match typed {
            Typed::Packs(from, to) => {
                let known: Vec<i64> = there.iter().map(|one| one.number_key).collect();
                told.unknown.push(missing((*from, *to), &known));
            }
            Typed::Number(number, _) if there.is_empty() => told.unknown.push(number.clone()),
            Typed::Number(..) => {}
        }
        let here = there.into_iter().filter(|one| !one.is_out);
        told.things.extend(here.map(page_of));
    }
    told.unknown.retain(|text| !text.is_empty());
    told.things.sort();
    told.things.dedup();
    Ok(told)
}

fn are_all_out(range: (i64, i64), out: &[Out]) -> bool {
    let packs = out.iter().filter(|one| one.pack_id.is_some());
    let keys: Vec<i64> = packs.filter_map(|one| key_of(&one.number)).collect();
    missing(range, &keys).is_empty()
}

fn page_of(one: &Numbered) -> (String, String) {
    let page = match one.kit_id {
        Some(id) => format!("/kit/{id}"),
        None => format!("/packs/{}", one.number),
    };
    (one.number.clone(), page)
}
