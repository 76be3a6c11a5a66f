//! What an errand tells of things that somebody else had booked in before: each by name, and whether what was seen or
//! read on it is stored all the same.

use crate::actions::errand::Errand;
use crate::club::states::State;
use crate::store::loans::{self, LoanLine};
use crate::store::{Conn, StoreError};
use crate::web::fields::Fields;
use uuid::Uuid;

pub(super) struct BackAlready {
    pub words: String,
    /// Its own page.
    pub address: String,
    pub is_danger: bool,
}

/// What a form or an address says is done of the errand.
pub(super) fn errand_of(fields: &Fields) -> Errand {
    Errand {
        lent: ids(fields, "lent"),
        volts: Vec::new(),
        already: ids(fields, "already"),
        seen_late: ids(fields, "seen_late"),
        read_late: ids(fields, "read_late"),
        over: fields.id("over"),
    }
}

pub(super) fn ids(fields: &Fields, name: &str) -> Vec<Uuid> {
    fields
        .all(name)
        .iter()
        .filter_map(|text| text.parse().ok())
        .take(200)
        .collect()
}

pub(super) async fn told(conn: &mut Conn, errand: &Errand) -> Result<Vec<BackAlready>, StoreError> {
    let lists = [
        (&errand.already, ""),
        (&errand.seen_late, "; what you saw is stored"),
        (&errand.read_late, "; its volts are stored"),
    ];
    let all: Vec<Uuid> = lists
        .iter()
        .flat_map(|(lines, _)| lines.iter().copied())
        .collect();
    let found = loans::lines_among(conn, &all).await?;
    let of = |id: &Uuid| found.iter().find(|line| line.out.lent_id == *id);
    let told = lists.into_iter().flat_map(|(lines, stored)| {
        lines
            .iter()
            .filter_map(of)
            .map(move |line| one(line, stored))
    });
    Ok(told.collect())
}

fn one(line: &LoanLine, stored: &str) -> BackAlready {
    let number = &line.out.number;
    let state = line.out.state.as_deref().and_then(State::from_code);
    let now = state
        .filter(|_| !stored.is_empty())
        .map_or_else(String::new, |state| format!(": {}", state.label()));
    let to_mend = if line.out.kit_id.is_some() {
        " Something to mend? Say so on its page."
    } else {
        ""
    };
    BackAlready {
        words: format!("{number} was back already{stored}{now}.{to_mend}"),
        address: line
            .out
            .kit_id
            .map_or_else(|| format!("/packs/{number}"), |kit| format!("/kit/{kit}")),
        is_danger: state == Some(State::Quarantine),
    }
}
