//! What a member has of the club's, and what those have whom the member answers for.

use crate::actions::care_at_table::person_refusal;
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::care::due::Grave;
use crate::store::care::{self, InCare};
use crate::store::loans;
use crate::web::fields::Fields;
use crate::web::hand_out_told::own_words;
use crate::web::loans::OutRow;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page};
use crate::web::to_see_to::due_of;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{Due, due};
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "mine.html")]
struct MinePage {
    shell: Shell,
    rows: Vec<OutRow>,
    /// With juniors and guests the person answers for.
    others: Vec<OutRow>,
    /// Taken home to be put to storage, until a quartermaster says that it is back.
    home: Vec<AtHome>,
    may_borrow: bool,
    /// Own storage care is overdue: nothing more is lent meanwhile; empty: it is not.
    barred: String,
    /// After incidents.
    actions_to_do: i64,
    /// What of it must be put to storage, or read.
    care: Vec<OfMine>,
}

/// A pack and what is due for it.
struct OfMine {
    number: String,
    is_grave: bool,
    when: &'static str,
    why: String,
    next: String,
}

impl OfMine {
    fn of(one: &InCare, who: &SignedIn) -> Option<Self> {
        let all = due_of(one, who);
        let first = all
            .iter()
            .find(|due| due.reason.is_storage_care())
            .or(all.first())?;
        Some(Self {
            number: one.pack.number.clone(),
            is_grave: first.grave >= Grave::Today,
            when: first.grave.label(),
            why: who.numbers().sentence(&first.why),
            next: who.numbers().sentence(&first.next),
        })
    }
}

/// A pack at home, with the person or with somebody they answer for.
struct AtHome {
    number: String,
    what: String,
    due: Option<Due>,
    /// Empty: with the person.
    with: String,
}

impl AtHome {
    fn of(one: &InCare, who: &SignedIn) -> Option<Self> {
        let pack = &one.pack;
        let id = pack.home_id?;
        let row = PackRow::of(pack, who);
        let by = pack.home_by.as_deref().and_then(Day::parse);
        let name = pack.with_name().filter(|_| id != who.me.person_id);
        Some(Self {
            number: row.number,
            what: row.what,
            due: by.map(|day| due(day, who.zone.day_of(who.now))),
            with: name.unwrap_or_default().to_owned(),
        })
    }
}

/// GET /mine
pub async fn mine(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let found = loans::out_with(&mut conn, who.me.person_id).await?;
    let held = care::held_by(&mut conn, who.me.person_id).await?;
    drop(conn);
    let own = (who.me.person_id, who.me.name.as_str());
    let refusal = person_refusal(&who.by(&Fields::default()), own, &held);
    let barred = refusal.as_ref().map_or_else(String::new, own_words);
    let rows = found.into_iter().map(|out| OutRow::of(out, &who));
    let (rows, others) = rows.partition(|row| row.out.borrower_id == who.me.person_id);
    page::show(&MinePage {
        shell: who.shell("What I have"),
        rows,
        others,
        home: held
            .iter()
            .filter_map(|one| AtHome::of(one, &who))
            .collect(),
        may_borrow: who.club.may_members_borrow && barred.is_empty(),
        barred,
        actions_to_do: who.me.actions_to_do,
        care: held
            .iter()
            .filter_map(|one| OfMine::of(one, &who))
            .collect(),
    })
}
