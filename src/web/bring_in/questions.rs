//! What in the sheet could mean two things, and what becomes of what is on record already: asked, never guessed.

use super::columns::again;
use super::{done_address, led, opened};
use crate::actions::bring_in::{self as action, Opened};
use crate::app::App;
use crate::club::sheet::cells::{DayOrder, Mark};
use crate::club::sheet::plan::Doubt;
use crate::club::sheet::{Choices, Existing};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "bring_in/questions.html")]
struct QuestionsPage {
    shell: Shell,
    id: Uuid,
    problems: Problems,
    questions: Vec<Question>,
}

struct Question {
    name: &'static str,
    words: String,
    hint: String,
    answers: Vec<(String, String)>,
    chosen: String,
}

const TITLE: &str = "Questions about the sheet";
/// So many numbers that exist are named.
const NAMED: usize = 12;

fn questions(opened: &Opened) -> Vec<Question> {
    let (found, choices) = (&opened.doubts, &opened.choices);
    let mut all = Vec::new();
    if let Some(doubt) = &found.days {
        all.push(Question {
            name: "days",
            words: format!("Which day is {}?", doubt.text),
            hint: place_of(doubt),
            answers: vec![
                ("day_first".to_owned(), "The day comes first".to_owned()),
                ("month_first".to_owned(), "The month comes first".to_owned()),
            ],
            chosen: code(&choices.days),
        });
    }
    for (name, doubt, said) in [
        ("comma", &found.comma, &choices.comma),
        ("point", &found.point, &choices.point),
    ] {
        if let Some(doubt) = doubt {
            let mark = if name == "comma" { "comma" } else { "point" };
            all.push(Question {
                name,
                words: format!("What does the {mark} in {} mean?", doubt.text),
                hint: place_of(doubt),
                answers: vec![
                    (
                        "thousands".to_owned(),
                        format!(
                            "It stands between thousands: {}",
                            doubt.text.replace([',', '.'], "")
                        ),
                    ),
                    (
                        "decimal".to_owned(),
                        format!("Decimals come behind it: {}", doubt.text.replace(',', ".")),
                    ),
                ],
                chosen: code(said),
            });
        }
    }
    all.extend(about_existing(opened));
    all
}

fn about_existing(opened: &Opened) -> Option<Question> {
    let existing = &opened.plan.existing;
    if existing.is_empty() {
        return None;
    }
    let named: Vec<&str> = existing.iter().take(NAMED).map(String::as_str).collect();
    let more = existing.len().saturating_sub(NAMED);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    Some(Question {
        name: "existing",
        words: match existing.len() {
            1 => "One of the sheet's rows is on record already. What becomes of it?".to_owned(),
            count => format!("{count} of the sheet's rows are on record already. What becomes of them?"),
        },
        hint: format!("{}{more}. A sheet never changes a state, what became of a thing, how many there are of it, or what a design is.", named.join(", ")),
        answers: vec![
            ("leave".to_owned(), "Leave what is on record as it is".to_owned()),
            ("change".to_owned(), "Change the details on record to what the sheet's columns say; an empty cell empties the field".to_owned()),
        ],
        chosen: code(&opened.choices.existing),
    })
}

fn place_of(doubt: &Doubt) -> String {
    format!(
        "Line {}, {}; it goes for the whole sheet.",
        doubt.line, doubt.column
    )
}

/// As its form has it.
fn code(said: &Option<impl serde::Serialize>) -> String {
    let value = said
        .as_ref()
        .and_then(|said| serde_json::to_value(said).ok());
    value
        .and_then(|value| value.as_str().map(str::to_owned))
        .unwrap_or_default()
}

/// GET /bring-in/{id}/questions
pub async fn ask_questions(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let Some((opened, _)) = opened(&app, &who, id).await? else {
        return page::go_to(&done_address(id));
    };
    page::show(&QuestionsPage {
        shell: who.shell(TITLE),
        id,
        problems: Problems::default(),
        questions: questions(&opened),
    })
}

/// POST /bring-in/{id}/questions
pub async fn answer_questions(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let Some((opened, _)) = opened(&app, &who, id).await? else {
        return again(&app, &who, id, &fields).await;
    };
    let mut asked = questions(&opened);
    let mut problems = Problems::default();
    for question in &mut asked {
        question.chosen = fields.text(question.name);
        if !question
            .answers
            .iter()
            .any(|(code, _)| *code == question.chosen)
        {
            problems.add(question.name, format!("Choose one: {}", question.words));
        }
    }
    if problems.is_empty() {
        return led(action::choose(&app.db, &who.by(&fields), id, |choices| {
            note(choices, &fields)
        })
        .await);
    }
    page::refused(&QuestionsPage {
        shell: who.shell_refused(TITLE),
        id,
        problems,
        questions: asked,
    })
}

fn note(choices: &mut Choices, fields: &Fields) {
    choices.days = DayOrder::from_code(&fields.text("days")).or(choices.days);
    choices.comma = Mark::from_code(&fields.text("comma")).or(choices.comma);
    choices.point = Mark::from_code(&fields.text("point")).or(choices.point);
    choices.existing = Existing::from_code(&fields.text("existing")).or(choices.existing);
}
