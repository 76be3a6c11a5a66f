//! What an errand tells of things that somebody else had booked in before: each by name, and whether what was seen or
//! read on it is stored all the same.

use crate::actions::errand::Errand;
use crate::club::states::State;
use crate::store::loans::{self, LoanLine};
use crate::store::packs::OfLine;
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
        .take(2_000)
        .collect()
}

/// A thing of the errand, as far as a page knows it already.
pub(super) struct Thing {
    pub line_id: Uuid,
    pub number: String,
    pub kit_id: Option<Uuid>,
    /// Packs only.
    pub state: Option<State>,
}

impl From<&LoanLine> for Thing {
    fn from(line: &LoanLine) -> Self {
        Self {
            line_id: line.out.lent_id,
            number: line.out.number.clone(),
            kit_id: line.out.kit_id,
            state: line.out.state.as_deref().and_then(State::from_code),
        }
    }
}

impl From<&OfLine> for Thing {
    fn from(one: &OfLine) -> Self {
        Self {
            line_id: one.line_id,
            number: one.pack.number.clone(),
            kit_id: None,
            state: State::from_code(&one.pack.state),
        }
    }
}

/// For a page that knows nothing of them yet.
pub(super) async fn asked_for(
    conn: &mut Conn,
    errand: &Errand,
) -> Result<Vec<BackAlready>, StoreError> {
    let late: Vec<Uuid> = errand.late().collect();
    let found = loans::lines_among(conn, &late).await?;
    let things: Vec<Thing> = found.iter().map(Thing::from).collect();
    Ok(told(errand, &things))
}

pub(super) fn told(errand: &Errand, things: &[Thing]) -> Vec<BackAlready> {
    let lists = [
        (&errand.already, ""),
        (&errand.seen_late, "; what you saw is stored"),
        (&errand.read_late, "; its volts are stored"),
    ];
    let of = |id: &Uuid| things.iter().find(|thing| thing.line_id == *id);
    let told = lists.into_iter().flat_map(|(lines, stored)| {
        lines
            .iter()
            .filter_map(of)
            .map(move |thing| one(thing, stored))
    });
    told.collect()
}

fn one(thing: &Thing, stored: &str) -> BackAlready {
    let number = &thing.number;
    let now = thing
        .state
        .filter(|_| !stored.is_empty())
        .map_or_else(String::new, |state| format!(": {}", state.label()));
    let to_mend = if thing.kit_id.is_some() && stored.is_empty() {
        " Something to mend? Say so on its page."
    } else {
        ""
    };
    BackAlready {
        words: format!("{number} was back already{stored}{now}.{to_mend}"),
        address: thing
            .kit_id
            .map_or_else(|| format!("/packs/{number}"), |kit| format!("/kit/{kit}")),
        is_danger: thing.state == Some(State::Quarantine),
    }
}
