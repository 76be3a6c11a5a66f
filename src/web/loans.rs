//! What is out: all of it for those who run the pool, one loan, and one's own. Extend, pass on, lost, undo.

use crate::actions::change_loan::{self, ChangeRefusal};
use crate::actions::once::Repeat;
use crate::actions::take_back::{self, TakeBackRefusal};
use crate::app::App;
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Day;
use crate::club::kit::{self, OVERRIDE_SAYS_NOTHING};
use crate::club::states::State as PackState;
use crate::club::undo;
use crate::store::lent::Outcome;
use crate::store::loans::{self, Loan, LoanLine, Out};
use crate::store::packs::{self, PackView};
use crate::web::asked::{Path, Query};
use crate::web::charging_now::{ChargingNow, of_out};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{Due, When, due, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(LoanPage);

pub struct OutRow {
    pub out: Out,
    pub due: Due,
    pub since: When,
    pub state: Option<PackState>,
    /// Why it is in that state, and what is next.
    pub why: String,
    pub next: String,
    pub charging: Option<ChargingNow>,
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
            since: past(out.opened_ms, who.now, &who.zone),
            why: who
                .numbers()
                .sentence(out.state_words.as_deref().unwrap_or_default()),
            next: who
                .numbers()
                .sentence(out.state_next.as_deref().unwrap_or_default()),
            charging: of_out(&out, who),
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

pub(super) fn count_words(out: &Out) -> String {
    out.counted
        .map_or_else(String::new, |count| format!(" × {count}"))
}

#[derive(Template)]
#[template(path = "loans.html")]
struct LoansPage {
    shell: Shell,
    rows: Vec<OutRow>,
    /// Taken home from a storage round.
    home: Vec<HomeRow>,
    /// Of both.
    overdue: usize,
    /// Came back within the time in which a take-back can be undone, on its loan's page.
    back: Vec<ClosedRow>,
    is_quartermaster: bool,
}

/// A pack that somebody has at home, to put it to storage.
pub struct HomeRow {
    pub pack: PackRow,
    pub with: String,
    pub due: Due,
}

impl HomeRow {
    pub fn of(pack: &PackView, who: &SignedIn) -> Self {
        let pack_row = PackRow::of(pack, who);
        Self {
            with: pack.with_name().unwrap_or_default().to_owned(),
            due: pack_row.due.clone().unwrap_or_default(),
            pack: pack_row,
        }
    }
}

/// So many that came back are listed.
const BACK_AT_MOST: usize = 50;

/// GET /loans
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let since = who.now.plus_hours(-undo::UNDO_HOURS);
    let found = loans::out_and_back_since(&mut conn, since).await?;
    let home = packs::at_home(&mut conn).await?;
    drop(conn);
    let (out, back): (Vec<_>, Vec<_>) = found.into_iter().partition(LoanLine::is_out);
    let out = out.into_iter().map(|line| OutRow::of(line.out, &who));
    let (rows, home): (Vec<OutRow>, Vec<HomeRow>) = (
        out.collect(),
        home.iter().map(|pack| HomeRow::of(pack, &who)).collect(),
    );
    let dues = rows.iter().map(|row| &row.due);
    let overdue = dues.chain(home.iter().map(|row| &row.due));
    let back = back.into_iter().take(BACK_AT_MOST);
    page::show(&LoansPage {
        shell: who.shell("Out now"),
        overdue: overdue.filter(|due| due.is_overdue).count(),
        rows,
        home,
        back: back.filter_map(|line| ClosedRow::of(line, &who)).collect(),
        is_quartermaster: who.me.is_quartermaster,
    })
}

#[derive(Template)]
#[template(path = "loan.html")]
struct LoanPage {
    shell: Shell,
    problems: Problems,
    asked_due: String,
    asked_why: String,
    /// With a reason it may be extended all the same.
    is_overridable: bool,
    loan: Loan,
    due: Due,
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
        asked_why: String::new(),
        is_overridable: false,
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

/// Where a changed loan leads, or what is to be put right.
pub(super) enum Changed {
    To(String),
    Refused(NotChanged),
}

pub(super) struct NotChanged {
    pub words: String,
    pub against: Against,
    /// A reason would do.
    pub is_overridable: bool,
}

impl NotChanged {
    pub fn typed(words: &str) -> Self {
        Self {
            words: words.to_owned(),
            against: Against::Typed,
            is_overridable: false,
        }
    }

    pub fn beside(&self, field: &str) -> Problems {
        Problems::one(field, &*self.words).by(self.against)
    }

    /// And a reason was typed that says nothing, where one would do: that is told at its field.
    pub fn with_reason(&self, field: &str, reason: &str) -> Problems {
        let mut problems = self.beside(field);
        if self.is_overridable && !reason.trim().is_empty() && kit::reason(reason).is_none() {
            problems.add("why", OVERRIDE_SAYS_NOTHING);
        }
        problems
    }
}

pub(super) fn changed(
    who: &SignedIn,
    outcome: Result<String, ChangeRefusal>,
) -> Result<Changed, PageError> {
    let refusal = match outcome {
        Ok(address) => return Ok(Changed::To(address)),
        Err(ChangeRefusal::Repeat(Repeat::Done(address))) => return Ok(Changed::To(address)),
        Err(ChangeRefusal::Store(error)) => return Err(error.into()),
        Err(refusal) => refusal,
    };
    Ok(Changed::Refused(NotChanged {
        words: who.numbers().sentence(&refusal.to_string()),
        against: refusal.against(),
        is_overridable: matches!(
            refusal,
            ChangeRefusal::Lending {
                is_overridable: true,
                ..
            }
        ),
    }))
}

/// POST /loans/{id}/extend
pub async fn extend(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let refuse = async |why: NotChanged| {
        let mut page = one_page(&app, &who, id).await?;
        page.shell.is_error = true;
        page::put_right(&LoanPage {
            problems: why.with_reason("due", &fields.text("why")),
            asked_due: fields.text("due"),
            asked_why: fields.text("why"),
            is_overridable: why.is_overridable,
            ..page
        })
    };
    let Some(due) = Day::parse(&fields.text("due")) else {
        return refuse(NotChanged::typed("Write the day as 2026-11-27.")).await;
    };
    let why = fields.text("why");
    let outcome = change_loan::extend(&app.db, &who.by(&fields), id, (due, &why)).await;
    match changed(&who, outcome.map(|()| format!("/loans/{id}")))? {
        Changed::To(address) => page::go_to(&address),
        Changed::Refused(why) => refuse(why).await,
    }
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
