//! What is out: all of it for those who run the pool, one loan, and one's own. Extend, pass on, lost, undo.

use crate::actions::change_loan::{self, ChangeRefusal};
use crate::actions::take_back::{self, TakeBackRefusal};
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::states::State as PackState;
use crate::club::undo;
use crate::store::lent::{self, Outcome};
use crate::store::loans::{self, Loan, LoanLine, Out};
use crate::store::people;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, due, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

pub struct OutRow {
    pub out: Out,
    pub due: When,
    pub is_overdue: bool,
    pub since: When,
    pub state: Option<PackState>,
    /// Why it is in that state, and what is next.
    pub why: String,
    pub next: String,
}

impl OutRow {
    /// The thing's own page, or where its borrower brings it back.
    fn leads_to(&self, sees_all: bool) -> String {
        match (sees_all, self.out.kit_id) {
            (false, _) => "/mine".to_owned(),
            (true, Some(kit)) => format!("/kit/{kit}"),
            (true, None) => format!("/packs/{}", self.out.number),
        }
    }

    pub fn of(out: Out, who: &SignedIn) -> Self {
        let today = who.zone.day_of(who.now);
        let day = Day::parse(&out.due_on);
        Self {
            due: day.map(|day| due(day, today)).unwrap_or_default(),
            is_overdue: day.is_some_and(|day| day < today),
            since: past(out.opened_ms, who.now, &who.zone),
            why: who
                .numbers()
                .sentence(out.state_words.as_deref().unwrap_or_default()),
            next: who
                .numbers()
                .sentence(out.state_next.as_deref().unwrap_or_default()),
            state: out.state.as_deref().and_then(PackState::from_code),
            out,
        }
    }

    pub fn count_words(&self) -> String {
        count_words(&self.out)
    }

    /// Lent, and to be careful with.
    pub(super) fn is_cautioned(&self) -> bool {
        matches!(self.state, Some(PackState::Caution | PackState::SetAside))
    }

    pub(super) fn is_in_quarantine(&self) -> bool {
        self.state == Some(PackState::Quarantine)
    }
}

/// Things, of adapters each one.
pub fn things(rows: &[OutRow]) -> i64 {
    rows.iter().map(|row| row.out.count()).sum()
}

fn count_words(out: &Out) -> String {
    out.counted
        .map_or_else(String::new, |count| format!(" × {count}"))
}

#[derive(Template)]
#[template(path = "loans.html")]
struct LoansPage {
    shell: Shell,
    rows: Vec<OutRow>,
    overdue: usize,
    /// Came back within the time in which a take-back can be undone, on its loan's page.
    back: Vec<ClosedRow>,
    is_quartermaster: bool,
}

/// GET /loans
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let found = loans::all_out(&mut conn).await?;
    let since = who.now.plus_hours(-undo::UNDO_HOURS);
    let back = loans::back_since(&mut conn, since, 50).await?;
    drop(conn);
    let rows: Vec<OutRow> = found.into_iter().map(|out| OutRow::of(out, &who)).collect();
    let overdue = rows.iter().filter(|row| row.is_overdue).count();
    page::show(&LoansPage {
        shell: who.shell("Out now"),
        rows,
        overdue,
        back: back
            .into_iter()
            .filter_map(|line| ClosedRow::of(line, &who))
            .collect(),
        is_quartermaster: who.me.is_quartermaster,
    })
}

#[derive(Template)]
#[template(path = "loan.html")]
struct LoanPage {
    shell: Shell,
    problems: Problems,
    asked_due: String,
    loan: Loan,
    due: When,
    rows: Vec<OutRow>,
    closed: Vec<ClosedRow>,
    /// What was handed out all the same, and why.
    overrides: Vec<(String, String)>,
    is_new: bool,
    /// A take-back was just undone.
    is_undone: bool,
    is_quartermaster: bool,
    /// Runs the pool or oversees it; a member only sees own loans.
    sees_all: bool,
}

/// What was on the loan and is no more.
struct ClosedRow {
    line: LoanLine,
    when: When,
    how: &'static str,
    may_undo: bool,
}

impl ClosedRow {
    fn of(line: LoanLine, who: &SignedIn) -> Option<Self> {
        let at = line.closed_ms?;
        Some(Self {
            when: past(at, who.now, &who.zone),
            how: match line.outcome()? {
                Outcome::Back => "back",
                Outcome::Unchecked => "brought back alone",
                Outcome::Lost => "lost",
                Outcome::PassedOn => "passed on",
                Outcome::Forgotten => "back, booked in late",
            },
            may_undo: who.me.is_quartermaster && undo::refusal(&line.for_undo(), who.now).is_none(),
            line,
        })
    }

    fn name(&self) -> String {
        let out = &self.line.out;
        format!("{}{}", out.number, count_words(out))
    }
}

#[derive(Deserialize)]
pub struct New {
    #[serde(default)]
    new: String,
    #[serde(default)]
    undone: String,
}

/// GET /loans/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(query): Query<New>,
) -> Page {
    let page = one_page(&app, &who, id).await?;
    page::show(&LoanPage {
        is_new: !query.new.is_empty(),
        is_undone: !query.undone.is_empty(),
        ..page
    })
}

async fn one_page(app: &App, who: &SignedIn, id: Uuid) -> Result<LoanPage, PageError> {
    let mut conn = app.db.read().await?;
    let loan = loans::by_id(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let is_mine = loan.borrower_id == who.me.person_id;
    if !is_mine && !who.me.roles().may_see_holders() {
        return Err(PageError::NotFound);
    }
    let lines = loans::lines(&mut conn, id).await?;
    drop(conn);
    let overrides = lines
        .iter()
        .filter_map(|line| Some((line.out.number.clone(), line.override_words.clone()?)))
        .collect();
    let (out, closed): (Vec<_>, Vec<_>) = lines.into_iter().partition(LoanLine::is_out);
    let today = who.zone.day_of(who.now);
    Ok(LoanPage {
        problems: Problems::default(),
        asked_due: String::new(),
        shell: who.shell(format!(
            "Loan to {}",
            loan.borrower_name.as_deref().unwrap_or("(erased)")
        )),
        due: loan
            .due_day()
            .map(|day| due(day, today))
            .unwrap_or_default(),
        loan,
        rows: out
            .into_iter()
            .map(|line| OutRow::of(line.out, who))
            .collect(),
        closed: closed
            .into_iter()
            .filter_map(|line| ClosedRow::of(line, who))
            .collect(),
        overrides,
        is_new: false,
        is_undone: false,
        is_quartermaster: who.me.is_quartermaster,
        sees_all: who.me.roles().may_see_holders(),
    })
}

fn changed(who: &SignedIn, outcome: Result<String, ChangeRefusal>) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(ChangeRefusal::Repeat(repeat)) => again(&repeat),
        Err(ChangeRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let words = who.numbers().sentence(&refusal.to_string());
            Err(PageError::Refused(words))
        }
    }
}

/// POST /loans/{id}/extend
pub async fn extend(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let refuse = async |words: String| {
        let mut page = one_page(&app, &who, id).await?;
        page.shell.is_error = true;
        page::refused(&LoanPage {
            problems: Problems::one("due", words),
            asked_due: fields.text("due"),
            ..page
        })
    };
    let Some(due) = Day::parse(&fields.text("due")) else {
        return refuse("Write the day as 2026-11-27.".to_owned()).await;
    };
    let outcome = change_loan::extend(&app.db, &who.by(&fields), id, due).await;
    match changed(&who, outcome.map(|()| format!("/loans/{id}"))) {
        Err(PageError::Refused(words)) => refuse(words).await,
        answer => answer,
    }
}

#[derive(Template)]
#[template(path = "pass_on.html")]
struct PassOnPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    lent_id: Uuid,
    person: String,
    people: Vec<(String, String)>,
}

/// GET /lent/{id}/change: pass it on, or close it as lost.
pub async fn ask_change(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    page::show(&pass_on_page(&app, &who, id).await?)
}

async fn pass_on_page(app: &App, who: &SignedIn, id: Uuid) -> Result<PassOnPage, PageError> {
    let mut conn = app.db.read().await?;
    lent::by_id(&mut conn, id)
        .await?
        .filter(|line| line.closed_ms.is_none())
        .ok_or(PageError::NotFound)?;
    let all = people::who_may_borrow(&mut conn, who.zone.day_of(who.now)).await?;
    drop(conn);
    let people = all
        .into_iter()
        .map(|person| (person.id.to_string(), person.name))
        .collect();
    Ok(PassOnPage {
        shell: who.shell("Pass on or lost"),
        problems: Problems::default(),
        typed: Fields::default(),
        lent_id: id,
        person: String::new(),
        people,
    })
}

/// The page again when its thing is still out, with what to put right beside the field.
async fn change_refused(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    sent: (&str, Fields),
    answer: Page,
) -> Page {
    let words = match answer {
        Err(PageError::Refused(words)) => words,
        answer => return answer,
    };
    let (field, typed) = sent;
    let page = match pass_on_page(app, who, id).await {
        Err(PageError::NotFound) => return Err(PageError::Refused(words)),
        page => page?,
    };
    page::refused(&PassOnPage {
        shell: who.shell_refused("Pass on or lost"),
        problems: Problems::one(field, words),
        person: typed.text("person"),
        typed,
        ..page
    })
}

/// POST /lent/{id}/pass-on
pub async fn pass_on(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let answer = match fields.id("person") {
        Some(to) => {
            let outcome = change_loan::pass_on(&app.db, &who.by(&fields), id, to).await;
            changed(&who, outcome.map(|loan| format!("/loans/{loan}?new=1")))
        }
        None => Err(PageError::Refused("Choose who gets it.".to_owned())),
    };
    change_refused(&app, &who, id, ("person", fields), answer).await
}

/// POST /lent/{id}/lost
pub async fn lose(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = change_loan::lose(&app.db, &who.by(&fields), id, &fields.text("reason")).await;
    let answer = changed(&who, outcome.map(|loan| format!("/loans/{loan}")));
    change_refused(&app, &who, id, ("reason", fields), answer).await
}

/// POST /lent/{id}/reopen
pub async fn reopen(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    match take_back::reopen(&app.db, &who.by(&fields), id).await {
        Ok(loan) => page::go_to(&take_back::undone_at(loan)),
        Err(TakeBackRefusal::Repeat(repeat)) => again(&repeat),
        Err(TakeBackRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
