//! What is done to one pack: log volts, report its condition, mend, release, change details, ways out.

use crate::actions::condition::{self, ConditionRefusal, Looked};
use crate::actions::correction::Correction;
use crate::actions::reading::{self, LogVoltsRefusal, Logged};
use crate::actions::release::{self, ReleaseFailed};
use crate::app::App;
use crate::battery::volts::{self, Volts};
use crate::bench::form::Refusal;
use crate::club::glance;
use crate::club::reading::Rested;
use crate::club::seen::{Crash, Seen};
use crate::club::verdict::Rule;
use crate::store::findings;
use crate::store::packs::PackView;
use crate::store::readings::{self, Reading};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{self, again, named};
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use crate::web::words::past;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

page::puts_right!(VoltsPage, ConditionPage);

/// What was ticked about one pack.
pub fn looked(fields: &Fields, suffix: &str) -> Looked {
    let crash = Crash::from_code(&fields.text(&format!("crash{suffix}")));
    let own_words = fields.text(&format!("own_words{suffix}"));
    let ticked = fields.all(&format!("seen{suffix}"));
    let ticked = ticked.iter().filter_map(|code| Seen::from_code(code));
    Looked {
        seen: glance::told(ticked.collect(), crash, &own_words),
        crash,
        own_words,
    }
}

#[derive(Template)]
#[template(path = "volts.html")]
struct VoltsPage {
    shell: Shell,
    number: String,
    what: String,
    cells: Vec<usize>,
    sees_cells: bool,
    problems: Problems,
    form: VoltsForm,
    rested: String,
    corrects: String,
    /// What the wrong reading said, and what was wrong with it.
    wrong_words: String,
    why: String,
    is_asked: bool,
    /// It came back unchecked: a quartermaster says with the volts that it is looked over.
    is_unchecked: bool,
    is_looked_over: bool,
    has_decimal_comma: bool,
}

impl VoltsPage {
    async fn of(
        app: &App,
        pack: &PackView,
        who: &SignedIn,
        shell: Shell,
        corrects: String,
    ) -> Result<Self, PageError> {
        let mut conn = app.db.read().await?;
        let open = findings::open(&mut conn, pack.id).await?;
        let wrong = match corrects.parse() {
            Ok(id) => readings::by_id(&mut conn, id).await?,
            Err(_) => None,
        };
        drop(conn);
        let wrong = wrong.filter(|reading| reading.pack_id == pack.id);
        let sees_cells = pack.balance_connector.is_some();
        let count = if sees_cells {
            usize::try_from(pack.cells_series).unwrap_or(1)
        } else {
            1
        };
        Ok(Self {
            shell,
            number: pack.number.clone(),
            what: who.numbers().sentence(&what_it_is(pack)),
            cells: (1..=count).collect(),
            sees_cells,
            problems: Problems::default(),
            form: VoltsForm::of_reading(wrong.as_ref(), who.numbers()),
            rested: wrong.as_ref().map_or_else(String::new, rested_code),
            wrong_words: wrong
                .as_ref()
                .map_or_else(String::new, |reading| said(reading, who)),
            why: String::new(),
            corrects,
            is_asked: open
                .iter()
                .any(|found| found.rule() == Some(Rule::Implausible)),
            is_unchecked: who.me.is_quartermaster
                && open
                    .iter()
                    .any(|found| found.rule() == Some(Rule::CameBackUnchecked)),
            is_looked_over: false,
            has_decimal_comma: who.club.uses_decimal_comma,
        })
    }

    fn value(&self, cell: &usize) -> &str {
        self.form.boxes.get(cell - 1).map_or("", String::as_str)
    }
}

#[derive(Deserialize)]
pub struct Corrects {
    #[serde(default)]
    corrects: String,
}

/// GET /packs/{number}/volts
pub async fn ask_volts(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<Corrects>,
) -> Page {
    let pack = named(&app, &number).await?;
    let shell = who.shell(volts_title(&pack, &query.corrects));
    page::show(&VoltsPage::of(&app, &pack, &who, shell, query.corrects).await?)
}

fn rested_code(reading: &Reading) -> String {
    Rested::of_minutes(reading.rested_minutes).code().to_owned()
}

/// `3.91, 3.87, 3.90 V (yesterday …)`, or why nothing was read.
fn said(reading: &Reading, who: &SignedIn) -> String {
    let volts = reading.volts.as_deref().and_then(Volts::from_text);
    let words = match (volts, &reading.unread_words) {
        (Some(volts), _) => format!("{} V", who.numbers().sentence(&volts::words(&volts))),
        (None, Some(why)) => format!("not read, {why}"),
        (None, None) => "not read".to_owned(),
    };
    let when = past(reading.taken_ms, who.now, &who.zone).words;
    format!("{words} ({when})")
}

fn volts_title(pack: &PackView, corrects: &str) -> String {
    if corrects.is_empty() {
        format!("Log volts of {}", pack.number)
    } else {
        format!("Correct a reading of {}", pack.number)
    }
}

/// POST /packs/{number}/volts
pub async fn log_volts(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let mut form = VoltsForm::of(&fields, "");
    let rested = Rested::from_code(&fields.text("rested"));
    let measured = form.measured_now(&who.by(&fields), &pack, rested, who.numbers());
    let refuse = async |problems: Problems| {
        let corrects = fields.text("corrects");
        let shell = who.shell_refused(volts_title(&pack, &corrects));
        let page = VoltsPage::of(&app, &pack, &who, shell, corrects).await?;
        page::put_right(&VoltsPage {
            problems,
            form: form.clone(),
            rested: fields.text("rested"),
            why: fields.text("why"),
            is_looked_over: fields.is_ticked("looked_over"),
            ..page
        })
    };
    let measured = match measured {
        Ok(measured) => measured,
        Err(wrong) => {
            let mut problems = Problems::default();
            wrong.note(&mut problems, "");
            return refuse(problems).await;
        }
    };
    let why = fields.text("why");
    let logged = Logged {
        measured: &measured,
        corrects: fields.id("corrects").map(|id| Correction { id, why: &why }),
        is_looked_over: fields.is_ticked("looked_over"),
    };
    match reading::log_volts(&app.db, &who.by(&fields), pack.id, logged).await {
        Ok(address) => page::go_to(&address),
        Err(LogVoltsRefusal::Repeat(repeat)) => again(&repeat),
        Err(LogVoltsRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refuse(Problems::refused(refusal.field(), &refusal)).await,
    }
}

#[derive(Template)]
#[template(path = "condition.html")]
struct ConditionPage {
    shell: Shell,
    number: String,
    what: String,
    problems: Problems,
    looked: Looked,
    suffix: String,
}

/// GET /packs/{number}/condition
pub async fn ask_condition(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
) -> Page {
    let pack = named(&app, &number).await?;
    page::show(&ConditionPage {
        shell: who.shell(format!("What do you see on {}?", pack.number)),
        what: who.numbers().sentence(&what_it_is(&pack)),
        number: pack.number,
        problems: Problems::default(),
        looked: Looked::default(),
        suffix: String::new(),
    })
}

/// POST /packs/{number}/condition
pub async fn report(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let looked = looked(&fields, "");
    match condition::report_condition(&app.db, &who.by(&fields), pack.id, &looked).await {
        Ok(address) => page::go_to(&address),
        Err(ConditionRefusal::Repeat(repeat)) => again(&repeat),
        Err(ConditionRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let field = match refusal {
                ConditionRefusal::TooLong => "own_words",
                _ => "seen",
            };
            page::put_right(&ConditionPage {
                shell: who.shell_refused(format!("What do you see on {}?", pack.number)),
                what: who.numbers().sentence(&what_it_is(&pack)),
                number: pack.number,
                problems: Problems::refused(field, &refusal),
                looked,
                suffix: String::new(),
            })
        }
    }
}

/// POST /packs/{number}/mended
pub async fn mended(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let finding = fields.id("finding").ok_or(PageError::NotFound)?;
    match condition::mend(
        &app.db,
        &who.by(&fields),
        finding,
        pack.id,
        &fields.text("reason"),
    )
    .await
    {
        Ok(_) => page::go_to(&format!("/packs/{}", pack.number)),
        Err(ConditionRefusal::Repeat(repeat)) => again(&repeat),
        Err(ConditionRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::refused(&format!("mend-{finding}"), &refusal);
            pack::refused(&app, &who, &number, (problems, fields)).await
        }
    }
}

/// POST /packs/{number}/release
pub async fn release(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    match release::release(
        &app.db,
        &who.by(&fields),
        pack.id,
        &fields.text("release_reason"),
    )
    .await
    {
        Ok(_) => page::go_to(&format!("/packs/{}", pack.number)),
        Err(ReleaseFailed::Repeat(repeat)) => again(&repeat),
        Err(ReleaseFailed::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let words = who.numbers().sentence(&refusal.to_string());
            let problems = Problems::one("release_reason", words).by(refusal.against());
            pack::refused(&app, &who, &number, (problems, fields)).await
        }
    }
}
