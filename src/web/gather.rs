//! /gather: what is gathered by scanning on this device. Each pack that the phone's own camera app opens is added with one
//! tap on its page; a scanner that types, or a hand, adds in the field here. Going on leads to the hand-out or take-back.

use crate::actions::gather::{self, GatherRefusal, open_since};
use crate::app::App;
use crate::club::lending::{Typed, read_numbers};
use crate::club::register;
use crate::store::gatherings::{self, Gathering, Kind};
use crate::web::fields::{Fields, Problems};
use crate::web::hand_out::MOST_LETTERS;
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::scan::called;
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "gather.html")]
struct GatherPage {
    shell: Shell,
    problems: Problems,
    typed: String,
    /// None: nothing is being gathered on this device.
    list: Option<List>,
    is_quartermaster: bool,
    may_borrow: bool,
    /// The camera in the page needs https; over plain http it is said where it would be.
    is_plain_http: bool,
}

struct List {
    called: String,
    is_hand_out: bool,
    numbers: Vec<String>,
}

async fn gather_page(app: &App, who: &SignedIn, shell: Shell) -> Result<GatherPage, PageError> {
    let mut conn = app.db.read().await?;
    let open = gatherings::of_session(&mut conn, who.me.session_id, open_since(who.now)).await?;
    drop(conn);
    Ok(GatherPage {
        shell,
        problems: Problems::default(),
        typed: String::new(),
        list: open.map(|open| List {
            called: called(&open),
            is_hand_out: open.kind() == Kind::HandOut,
            numbers: open.numbers().into_iter().map(str::to_owned).collect(),
        }),
        is_quartermaster: who.me.is_quartermaster,
        may_borrow: who.club.may_members_borrow,
        is_plain_http: who.is_plain_http,
    })
}

/// GET /gather
pub async fn show(State(app): State<App>, who: SignedIn) -> Page {
    page::show(&gather_page(&app, &who, who.shell("Gather by scanning")).await?)
}

async fn refused(app: &App, who: &SignedIn, typed: String, problem: (&str, String)) -> Page {
    let page = gather_page(app, who, who.shell_refused("Gather by scanning")).await?;
    page::refused(&GatherPage {
        problems: Problems::one(problem.0, problem.1),
        typed,
        ..page
    })
}

/// What was typed or scanned, each as it stands on its label; the error is the first word that is no number.
async fn read(
    app: &App,
    who: &SignedIn,
    line: &str,
) -> Result<Result<Vec<String>, String>, PageError> {
    let line = scanned::as_numbers(app, line).await?;
    let prefix = &who.club.pack_prefix;
    Ok(read_numbers(&line).map(|typed| {
        let each = typed.into_iter().flat_map(|one| match one {
            Typed::Packs(from, to) => (from..=to)
                .map(|key| register::number(prefix, key))
                .collect(),
            Typed::Number(number, 1) => vec![number],
            Typed::Number(number, count) => vec![format!("{number}x{count}")],
        });
        each.collect()
    }))
}

fn no_number(word: &str) -> String {
    format!(
        "“{word}” is no number and no label of the club. Scan again, or type packs as 14 15 17-20."
    )
}

fn answered(outcome: Result<(), GatherRefusal>) -> Result<Option<GatherRefusal>, PageError> {
    match outcome {
        Ok(()) => Ok(None),
        Err(GatherRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => Ok(Some(refusal)),
    }
}

/// POST /gather: begins, with what was typed of the hand-out so far.
pub async fn begin(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    if fields.text("purpose").chars().count() > MOST_LETTERS || fields.text("due").len() > 20 {
        let words = format!("Say what it is for in at most {MOST_LETTERS} letters.");
        return Err(PageError::Refused(words));
    }
    let kind = Kind::from_code(&fields.text("kind")).unwrap_or(Kind::HandOut);
    let borrower_id = if who.me.is_quartermaster {
        fields.id("person")
    } else {
        Some(who.me.person_id)
    };
    let mut line = fields.text("items");
    for ticked in fields.all("item") {
        line = format!("{line} {ticked}");
    }
    // What is no number is told on the list's own page, where it can be put right.
    let items = read(&app, &who, &line).await?;
    let (items, typed, problem) = match items {
        Ok(items) => (items, String::new(), None),
        Err(word) => (Vec::new(), line.trim().to_owned(), Some(no_number(&word))),
    };
    let begun = Gathering {
        kind: kind.code().to_owned(),
        borrower_id: borrower_id.filter(|_| kind == Kind::HandOut),
        borrower_name: None,
        items: items.join(" "),
        due: fields.text("due"),
        purpose: fields.text("purpose"),
    };
    match answered(gather::begin(&app.db, &who.by(&fields), who.me.session_id, &begun).await)? {
        Some(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Some(GatherRefusal::NoPerson) => {
            page::go_to(&format!("/hand-out?{}&gather=1", in_address(&begun)))
        }
        Some(refusal @ GatherRefusal::AnotherOpen) => {
            refused(&app, &who, String::new(), ("add", refusal.to_string())).await
        }
        Some(refusal) => Err(PageError::Refused(refusal.to_string())),
        None => match problem {
            Some(words) => refused(&app, &who, typed, ("add", words)).await,
            None => page::go_to("/gather"),
        },
    }
}

/// POST /gather/add: numbers typed or scanned here, or the pack of a label that was scanned.
pub async fn add(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let line = fields.text("add");
    let items = match read(&app, &who, &line).await? {
        Ok(items) => items,
        Err(word) => return refused(&app, &who, line, ("add", no_number(&word))).await,
    };
    if items.is_empty() {
        return refused(
            &app,
            &who,
            line,
            ("add", "Scan a label, or type a number.".to_owned()),
        )
        .await;
    }
    change(&app, &who, &fields, (&items, &[])).await
}

/// POST /gather/leave-out
pub async fn leave_out(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    change(&app, &who, &fields, (&[], &[fields.text("number")])).await
}

async fn change(app: &App, who: &SignedIn, fields: &Fields, what: (&[String], &[String])) -> Page {
    let outcome = gather::change(&app.db, &who.by(fields), who.me.session_id, what).await;
    match answered(outcome)? {
        None => page::go_to("/gather"),
        Some(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Some(refusal) => refused(app, who, fields.text("add"), ("add", refusal.to_string())).await,
    }
}

fn in_address(of: &Gathering) -> String {
    let person = of.borrower_id.map_or_else(String::new, |id| id.to_string());
    let pairs = [
        ("person", person.as_str()),
        ("items", &of.items),
        ("due", &of.due),
        ("purpose", &of.purpose),
    ];
    let filled: Vec<(&str, &str)> = pairs
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        .collect();
    words::in_address(&filled)
}

/// Packs go on as bare numbers, which are looked up together.
fn leads_to(of: &Gathering, prefix: &str) -> String {
    let bare = |number: &str| {
        let digits = number
            .strip_prefix(prefix)
            .and_then(|rest| rest.strip_prefix('-'));
        let key = digits.and_then(|digits| digits.parse::<i64>().ok());
        key.map_or_else(|| number.to_owned(), |key| key.to_string())
    };
    let numbers: Vec<String> = of.numbers().into_iter().map(bare).collect();
    let numbers = numbers.join(" ");
    match of.kind() {
        Kind::HandOut => format!("/hand-out?{}", in_address(of)),
        Kind::TakeBack => format!(
            "/take-back/items?{}",
            words::in_address(&[("numbers", &numbers)])
        ),
    }
}

/// POST /gather/end: goes on with the list, or forgets it.
pub async fn end(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let is_dropped = fields.is_ticked("forget");
    let lead = |of: &Gathering| {
        if is_dropped {
            "/gather".to_owned()
        } else {
            leads_to(of, &who.club.pack_prefix)
        }
    };
    match gather::end(&app.db, &who.by(&fields), who.me.session_id, lead).await {
        Ok(address) => page::go_to(&address),
        Err(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Err(GatherRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refused(&app, &who, String::new(), ("add", refusal.to_string())).await,
    }
}
