//! Loans: what is out, one loan, one's own; extending, passing on, losing, bringing back alone, undoing. How one
//! begins is `hand_out`.

use super::charges::Charging;
use super::condition::Condition;
use super::document;
use super::form::{self, Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::returned::{Of, misplaced, of_condition};
use super::trouble::Trouble;
use super::words::instant;
use crate::bench::form::{Fields, Problems};
use crate::store::lent::Outcome;
use crate::store::loans::{self, Loan as Stored, LoanLine, Out};
use crate::web::asked::Path;
use crate::web::loans::OutRow;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use crate::web::{bring_back, loans as page, pass_on};
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A thing that is or was on a loan.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Line {
    pub lent_id: Uuid,
    pub loan_id: Uuid,
    pub number: String,
    pub what: String,
    pub is_pack: bool,
    /// How many things it is: of adapters each one.
    pub count: i64,
    pub borrower_id: Uuid,
    /// null: they were erased.
    pub borrower: Option<String>,
    pub due_on: String,
    pub is_overdue: bool,
    pub purpose: String,
    pub out_since: String,
    /// Of packs.
    pub state: Option<String>,
    pub why: String,
    /// Of packs: the charge that works on it now.
    pub charging: Option<Charging>,
    /// null: it is out.
    pub closed_at: Option<String>,
    /// back, unchecked, lost, passed_on or forgotten.
    pub outcome: Option<String>,
    /// What was handed out all the same, and why.
    pub override_words: Option<String>,
}

impl Line {
    fn out(out: Out, who: &SignedIn) -> Self {
        let row = OutRow::of(out, who);
        Self {
            lent_id: row.out.lent_id,
            loan_id: row.out.loan_id,
            is_pack: row.out.pack_id.is_some(),
            count: row.out.count(),
            is_overdue: row.due.is_overdue,
            state: row.state.map(|state| state.code().to_owned()),
            why: row.why,
            charging: Charging::of(&row.out.now, who),
            out_since: instant(row.out.opened_ms),
            number: row.out.number,
            what: row.out.what,
            borrower_id: row.out.borrower_id,
            borrower: row.out.borrower_name,
            due_on: row.out.due_on,
            purpose: row.out.purpose,
            closed_at: None,
            outcome: None,
            override_words: None,
        }
    }

    pub fn of(line: LoanLine, who: &SignedIn) -> Self {
        let is_out = line.is_out();
        let outcome = line.outcome().map(Outcome::code);
        let out = Self::out(line.out, who);
        Self {
            closed_at: line.closed_ms.map(instant),
            outcome: outcome.map(str::to_owned),
            override_words: line.override_words,
            is_overdue: out.is_overdue && is_out,
            ..out
        }
    }

    pub fn example() -> Self {
        Self {
            lent_id: document::LENT,
            loan_id: document::LOAN,
            number: "P-002".to_owned(),
            what: "Mill 3S 2200".to_owned(),
            is_pack: true,
            count: 1,
            borrower: Some("Ada".to_owned()),
            due_on: "2026-12-02".to_owned(),
            out_since: "2026-11-25T18:30:00Z".to_owned(),
            state: Some("fit".to_owned()),
            ..Self::default()
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct Lines {
    /// All of them, what is due first on top.
    pub lines: Vec<Line>,
}

impl Shown for Lines {
    fn example() -> Self {
        Self {
            lines: vec![Line::example()],
        }
    }
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OutAsked {
    /// true: only what is overdue.
    overdue: Option<bool>,
}

pub async fn out_now(call: Call<OutAsked>) -> Result<Lines, Trouble> {
    let found = loans::all_out(&mut call.app.db.read().await?).await?;
    let only_overdue = call.sent.overdue.unwrap_or(false);
    let lines = found.into_iter().map(|out| Line::out(out, &call.who));
    Ok(Lines {
        lines: lines
            .filter(|line| line.is_overdue || !only_overdue)
            .collect(),
    })
}

pub async fn mine(call: Call<Nothing>) -> Result<Lines, Trouble> {
    let me = call.who.me.person_id;
    let found = loans::out_with(&mut call.app.db.read().await?, me).await?;
    Ok(Lines {
        lines: found
            .into_iter()
            .map(|out| Line::out(out, &call.who))
            .collect(),
    })
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Loan {
    pub id: Uuid,
    pub borrower_id: Uuid,
    /// null: they were erased.
    pub borrower: Option<String>,
    pub due_on: String,
    pub purpose: String,
    pub opened_at: String,
    /// Where it was handed out, when a night was open.
    pub night_place: Option<String>,
    pub on_duty: Option<String>,
    /// What is out first.
    pub lines: Vec<Line>,
}

impl Loan {
    fn of(loan: Stored, lines: Vec<LoanLine>, who: &SignedIn) -> Self {
        Self {
            id: loan.id,
            borrower_id: loan.borrower_id,
            borrower: loan.borrower_name,
            due_on: loan.due_on,
            purpose: loan.purpose,
            opened_at: instant(loan.opened_ms),
            night_place: loan.night_place,
            on_duty: loan.on_duty_name,
            lines: lines.into_iter().map(|line| Line::of(line, who)).collect(),
        }
    }
}

impl Shown for Loan {
    fn example() -> Self {
        Self {
            id: document::LOAN,
            borrower: Some("Ada".to_owned()),
            due_on: "2026-12-02".to_owned(),
            opened_at: "2026-11-25T18:30:00Z".to_owned(),
            lines: vec![Line::example()],
            ..Self::default()
        }
    }
}

/// Somebody else's loan is not there for a member.
pub async fn show(call: Call<Nothing>) -> Result<Loan, Trouble> {
    let mut conn = call.app.db.read().await?;
    let who = &call.who;
    let loan = loans::by_id(&mut conn, call.id)
        .await?
        .filter(|loan| loan.borrower_id == who.me.person_id || who.me.roles().may_see_holders());
    let loan = loan.ok_or(PageError::NotFound)?;
    let lines = loans::lines(&mut conn, call.id).await?;
    Ok(Loan::of(loan, lines, who))
}

impl Shown for Line {
    fn example() -> Self {
        Self::example()
    }
}

pub async fn brought_back(call: Call<Nothing>) -> Result<Line, Trouble> {
    let line = loans::line(&mut call.app.db.read().await?, call.id).await?;
    let line = line.filter(|line| line.out.is_with(call.who.me.person_id) && !line.is_out());
    Ok(Line::of(line.ok_or(PageError::NotFound)?, &call.who))
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Extend {
    /// YYYY-MM-DD.
    pub due_on: String,
    /// Why a refusal that can be overridden is.
    #[serde(default)]
    pub override_reason: String,
}

impl Sent for Extend {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("due_on", "due", &self.due_on);
        form.called("override_reason", "why", &self.override_reason);
        Ok(())
    }

    fn example() -> Self {
        Self {
            due_on: "2026-12-10".to_owned(),
            override_reason: String::new(),
        }
    }
}

pub async fn extend(call: Call<Extend>, form: Fields) -> Page {
    page::extend(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PassOn {
    /// Who gets it.
    pub person_id: Uuid,
    /// Why a refusal that can be overridden is.
    #[serde(default)]
    pub override_reason: String,
}

impl Sent for PassOn {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.called("person_id", "person", self.person_id);
        form.called("override_reason", "why", &self.override_reason);
        Ok(())
    }

    fn example() -> Self {
        Self {
            person_id: document::OTHER_PERSON,
            override_reason: String::new(),
        }
    }
}

pub async fn pass_on(call: Call<PassOn>, form: Fields) -> Page {
    pass_on::pass_on(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Lost {
    /// How it was lost.
    pub reason: String,
}

impl Sent for Lost {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("reason", &self.reason);
        Ok(())
    }

    fn example() -> Self {
        Self {
            reason: "in the river".to_owned(),
        }
    }
}

pub async fn lose(call: Call<Lost>, form: Fields) -> Page {
    pass_on::lose(State(call.app), call.who, Path(call.id), form).await
}

pub async fn reopen(call: Call<Nothing>, form: Fields) -> Page {
    page::reopen(State(call.app), call.who, Path(call.id), form).await
}

/// What is brought back alone, and how it looks.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct BringBack {
    /// nothing or wrong: the short answer.
    pub look: String,
    /// Of a pack: what is seen on it.
    pub condition: Condition,
    /// Of kit: what is wrong with it; empty: it is fine.
    pub kit_words: String,
    /// Of adapters: how many; left out: all of them.
    pub count: Option<i64>,
}

impl Sent for BringBack {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("look", &self.look);
        form.text("kit_words", &self.kit_words);
        form.maybe("count", "counted", self.count);
        self.condition.fill(form, "", "condition.")
    }

    fn example() -> Self {
        Self {
            look: "nothing".to_owned(),
            ..Self::default()
        }
    }
}

pub async fn bring_back(call: Call<BringBack>, form: Fields) -> Page {
    let out = bring_back::mine_out(&call.app, &call.who, call.id).await?;
    let said = &call.sent;
    let of_kit = [
        ("kit_words", Of::Kit, !said.kit_words.trim().is_empty()),
        ("count", Of::Adapters, said.count.is_some()),
    ];
    let fields = of_condition(&said.condition).into_iter().chain(of_kit);
    let problems = misplaced(&out, "", fields);
    if !problems.is_empty() {
        return form::refused((&problems).into());
    }
    bring_back::bring_back(State(call.app), call.who, Path(call.id), form).await
}
