//! A log's file, read back before anything of it is stored: its columns as they were understood, which of several logs, which
//! way its current flows where the log does not tell, and what it would come to. Each can be changed.

use super::led;
use super::shown::{LogView, lasting};
use crate::actions::bring_in::off_the_threads;
use crate::actions::charge_logs::{self as action, ChargeLogRefusal};
use crate::app::App;
use crate::battery::log::current_sign::CurrentSign;
use crate::bench::form::Against;
use crate::bench::typed::Words;
use crate::club::calendar::Day;
use crate::club::charge_log::PULSE_SECONDS;
use crate::club::charge_log::read_back::{
    self as club, Choices, ChosenColumn, ReadBack, Run, Stage, code_of,
};
use crate::club::log_file::columns::Column;
use crate::club::log_file::fields::Field;
use crate::club::log_file::words::LogFileProblem;
use crate::ids;
use crate::store::charges::logs::{self as store, Waiting};
use crate::store::packs::PackView;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(ReadBackPage);

type Choice = (String, String);

#[derive(Template)]
#[template(path = "charge_logs/read_back.html")]
struct ReadBackPage {
    shell: Shell,
    problems: Problems,
    id: Uuid,
    number: String,
    name: String,
    /// What is to be put right or said before it can be stored.
    trouble: String,
    /// Logs of the same file that are on record: where each is, and whose it is.
    twins: Vec<(Uuid, String)>,
    view: Option<LogView>,
    /// Why it looks like another pack's; empty: it does not.
    doubted: Vec<String>,
    /// What the tick against that says: it holds for just what was shown.
    of_it: String,
    columns: Vec<ColumnRow>,
    fields: Vec<Choice>,
    /// Empty: the file holds one log.
    runs: Vec<Choice>,
    run: String,
    /// Empty: the log tells the sign of its current.
    sign_question: String,
    signs: Vec<Choice>,
    sign: String,
    seconds: Vec<Choice>,
    second: String,
    logged_on: String,
}

struct ColumnRow {
    name: String,
    heading: String,
    label: String,
    chosen: String,
}

const TITLE: &str = "Read the charge log back";

/// A file on its way, and the logs of it that are on record.
struct Own {
    waiting: Waiting,
    twins: Vec<Twin>,
}

/// Where it is, whose it is, and which of those in the file.
type Twin = (Uuid, String, i64);

async fn own(app: &App, who: &SignedIn, id: Uuid) -> Result<Option<Own>, PageError> {
    let mut conn = app.db.read().await?;
    let waiting = store::own_waiting(&mut conn, id, who.me.person_id).await?;
    let Some(waiting) = waiting else {
        return Ok(None);
    };
    let twins = store::of_file(&mut conn, &waiting.original_sha256).await?;
    Ok(Some(Own { waiting, twins }))
}

fn twin((id, number, run): &Twin) -> (Uuid, String) {
    (*id, format!("log {} of it, for {number}", run + 1))
}

/// The file, and what it comes to with these choices. Ten megabytes take a while.
async fn opened(own: Own, choices: Choices) -> Result<(Own, ReadBack), PageError> {
    let work = move || {
        let build = own.waiting.pack.build();
        let read = club::read_back(&own.waiting.file, &choices, &build);
        (own, read)
    };
    Ok(off_the_threads(work).await?)
}

fn page_of(
    who: &SignedIn,
    Own { waiting, twins }: &Own,
    read: ReadBack,
    (choices, problems): (&Choices, Problems),
) -> ReadBackPage {
    let numbers = who.numbers();
    let trouble = trouble(&read);
    let sign_question = read
        .sign_asked
        .map_or_else(String::new, |asked| asked.to_string());
    let signs = CurrentSign::ALL.map(|sign| (sign.code().to_owned(), sign.label().to_owned()));
    let second = |second: &u8| (second.to_string(), format!("{second} s"));
    let is_one = read.runs.len() < 2;
    let runs = read.runs.iter().enumerate().filter(|_| !is_one);
    ReadBackPage {
        shell: match problems.is_empty() {
            true => who.shell(TITLE),
            false => who.shell_refused(TITLE),
        },
        id: waiting.waiting_id,
        number: waiting.pack.number.clone(),
        name: waiting.file_name.clone(),
        // Beside its field it is said already.
        trouble: if problems.is_empty() {
            numbers.sentence(&trouble)
        } else {
            String::new()
        },
        problems,
        columns: column_rows(&read.columns, &choices.columns),
        fields: fields(&waiting.pack, &read.columns),
        twins: twins.iter().map(twin).collect(),
        runs: runs
            .map(|(at, run)| (at.to_string(), run_words(at, run, numbers)))
            .collect(),
        run: choices.run.map_or_else(String::new, |run| run.to_string()),
        sign_question,
        signs: signs.to_vec(),
        sign: choices.sign.clone().unwrap_or_default(),
        seconds: PULSE_SECONDS.iter().map(second).collect(),
        second: choices.pulse_second().to_string(),
        logged_on: choices.logged_on.clone().unwrap_or_default(),
        of_it: of_it(choices, &read.stage),
        doubted: match &read.stage {
            Stage::Ready(ready) => ready
                .doubted
                .iter()
                .map(|each| numbers.sentence(each))
                .collect(),
            _ => Vec::new(),
        },
        view: match read.stage {
            Stage::Ready(ready) => Some(LogView::of(
                &ready.log,
                &ready.points,
                &waiting.pack.build(),
                numbers,
            )),
            _ => None,
        },
    }
}

/// Of other choices, or other doubts, it is asked anew.
fn of_it(choices: &Choices, stage: &Stage) -> String {
    match stage {
        Stage::Ready(ready) => ids::digest(&format!("{choices:?} {:?}", ready.doubted)),
        _ => String::new(),
    }
}

fn trouble(read: &ReadBack) -> String {
    match (&read.stage, read.sign_asked) {
        (Stage::Unreadable(problem), _) => problem.to_string(),
        (Stage::WhichRun, _) => {
            format!(
                "The file holds {} logs, one after the other. Choose one.",
                read.runs.len()
            )
        }
        (Stage::WhichSign, Some(asked)) => asked.to_string(),
        (Stage::WhichSign | Stage::Ready(_), _) => String::new(),
    }
}

/// Each with the first that stands below its heading, and what it was chosen for, else taken for; of headings alike the first.
fn column_rows(columns: &[Column], chosen: &[ChosenColumn]) -> Vec<ColumnRow> {
    let mut rows: Vec<ColumnRow> = Vec::new();
    for (at, column) in columns.iter().enumerate() {
        let heading = column.heading.clone();
        if rows.iter().any(|row| row.heading == heading) {
            continue;
        }
        let called = match heading.is_empty() {
            true => format!("column {}, without a heading", at + 1),
            false => format!("“{heading}”"),
        };
        let below = match column.below.is_empty() {
            true => String::new(),
            false => format!(", first {}", column.below),
        };
        let said = chosen.iter().find(|chosen| chosen.heading == heading);
        rows.push(ColumnRow {
            name: format!("column_{at}"),
            label: format!("{called}{below}"),
            chosen: said.map_or_else(|| code_of(column.ours), |said| said.ours.clone()),
            heading,
        });
    }
    rows
}

/// `Voltage, in mV`, each field in each of its units; of cells as many as the pack has, or the file tells of.
fn fields(pack: &PackView, columns: &[Column]) -> Vec<Choice> {
    let taken = columns.iter().filter_map(|column| match column.ours {
        Some((Field::Cell(cell), _)) => Some(cell),
        _ => None,
    });
    let cells = taken.fold(pack.cells_series.max(1) as usize, usize::max);
    let mut all = Vec::new();
    for field in Field::of_pack(cells) {
        let label = field.label();
        let name = label.split(" / ").next().unwrap_or_default();
        for unit in field.units() {
            let words = match field.units() {
                [_] => name.to_owned(),
                _ => format!("{name}, in {}", unit.label()),
            };
            all.push((code_of(Some((field, *unit))), words));
        }
    }
    all
}

fn run_words(at: usize, run: &Run, numbers: Words) -> String {
    let words = format!(
        "Log {}: {:.2} to {:.2} V in {}, {} readings",
        at + 1,
        run.from_v,
        run.to_v,
        lasting(run.seconds),
        run.rows
    );
    numbers.sentence(&words)
}

/// GET /charge-logs/read-back/{id}
pub async fn read_back(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let own = own(&app, &who, id).await?.ok_or(PageError::NotFound)?;
    let choices = own.waiting.choices()?;
    let (own, read) = opened(own, choices.clone()).await?;
    let shown = (&choices, Problems::default());
    page::show(&page_of(&who, &own, read, shown))
}

/// POST /charge-logs/read-back/{id}/choices
pub async fn choose(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let by = who.by(&fields);
    let Some(own) = own(&app, &who, id).await? else {
        return led(action::gone(&app.db, &by).await);
    };
    let (choices, problems) = chosen(&fields, &own.waiting, who.zone.day_of(who.now)).await?;
    let (own, read) = opened(own, choices.clone()).await?;
    let problems = told(problems, &fields, &read);
    if problems.is_empty() {
        return led(action::choose(&app.db, &by, id, &choices).await);
    }
    page::put_right(&page_of(&who, &own, read, (&choices, problems)))
}

/// What the form says; a field it lacks stays as it was.
async fn chosen(
    fields: &Fields,
    waiting: &Waiting,
    today: Day,
) -> Result<(Choices, Problems), PageError> {
    let mut choices = waiting.choices()?;
    let mut problems = Problems::default();
    if fields.names().any(|name| name.starts_with("column_")) {
        let file = waiting.file.clone();
        let columns = off_the_threads(move || club::check(&file, &Choices::default())).await?;
        let rows = column_rows(&columns.unwrap_or_default(), &[]).into_iter();
        let sent = rows.map(|row| ChosenColumn {
            ours: fields.text(&row.name),
            heading: row.heading,
        });
        choices.columns = sent.collect();
    }
    choices.run = fields.text("run").parse().ok().or(choices.run);
    let sign = CurrentSign::from_code(&fields.text("sign"));
    choices.sign = sign.map(|sign| sign.code().to_owned()).or(choices.sign);
    choices.pulse_second = fields.text("second").parse().ok().or(choices.pulse_second);
    let day = fields.text("logged_on");
    let is_past = Day::parse(&day).is_some_and(|day| day <= today);
    if !day.is_empty() && !is_past {
        problems.add("logged_on", "Choose a day up to today, or leave it empty.");
    }
    choices.logged_on = Some(day).filter(|day| !day.is_empty());
    Ok((choices, problems))
}

/// With what the file comes to. A question that was not shown yet is no problem of this form.
fn told(mut problems: Problems, fields: &Fields, read: &ReadBack) -> Problems {
    let asked = fields.all("asked");
    let was_asked = |what: &str| asked.iter().any(|each| each == what);
    match (&read.stage, read.sign_asked) {
        (Stage::Unreadable(problem), _) => {
            problems.add(&field_of(problem, &read.columns), problem.to_string());
        }
        (Stage::WhichRun, _) if was_asked("run") => problems.add("run", "Choose one of the logs."),
        (Stage::WhichSign, Some(question)) if was_asked("sign") => {
            problems.add("sign", question.to_string());
        }
        _ => {}
    }
    problems
}

/// The column that a problem is about; all of them where it is about none.
fn field_of(problem: &LogFileProblem, columns: &[Column]) -> String {
    let heading = match problem {
        LogFileProblem::Twice { second, .. } => second,
        LogFileProblem::NotANumber { heading, .. }
        | LogFileProblem::TwoMarks { heading, .. }
        | LogFileProblem::WrongUnit { heading, .. } => heading,
        _ => return "columns".to_owned(),
    };
    let at = columns.iter().position(|column| column.heading == *heading);
    at.map_or_else(|| "columns".to_owned(), |at| format!("column_{at}"))
}

/// POST /charge-logs/read-back/{id}
pub async fn keep(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let by = who.by(&fields);
    let Some(own) = own(&app, &who, id).await? else {
        return led(action::gone(&app.db, &by).await);
    };
    let choices = own.waiting.choices()?;
    let (own, read) = opened(own, choices.clone()).await?;
    let Stage::Ready(ready) = &read.stage else {
        return page::go_to(&format!("/charge-logs/read-back/{id}"));
    };
    let is_of_it = fields.text("of_it") == of_it(&choices, &read.stage);
    match action::keep(&app.db, &by, &own.waiting, ready, is_of_it).await {
        Err(refusal @ ChargeLogRefusal::Doubted) => {
            let problems = Problems::one("of_it", refusal.to_string());
            page::put_right(&page_of(&who, &own, read, (&choices, problems)))
        }
        Err(
            refusal @ (ChargeLogRefusal::Enough
            | ChargeLogRefusal::OnRecord
            | ChargeLogRefusal::ChosenAnew),
        ) => {
            let problems = Problems::one("log", refusal.to_string()).by(Against::Rule);
            page::put_right(&page_of(&who, &own, read, (&choices, problems)))
        }
        outcome => led(outcome),
    }
}

/// POST /charge-logs/read-back/{id}/forget
pub async fn forget(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    led(action::forget(&app.db, &who.by(&fields), id).await)
}
