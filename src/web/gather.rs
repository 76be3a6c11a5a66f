//! /gather: what is gathered by scanning on this device. Each pack that the phone's own camera app opens is added with one
//! tap on its page; a scanner that types, or a hand, adds in the field here. Going on leads to the hand-out or take-back.

use crate::actions::gather::{self, GatherRefusal, open_since};
use crate::app::App;
use crate::club::lending::{Typed, read_numbers};
use crate::club::states::State as PackState;
use crate::club::typed_numbers::key_of;
use crate::store::gatherings::{self, Gathering, Kind};
use crate::store::packs::{self, WithNow};
use crate::store::{Conn, StoreError, at_hand};
use crate::web::charging_now::on;
use crate::web::fields::{Fields, Problems};
use crate::web::hand_out;
use crate::web::pack::again;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::scan::{called, may_come};
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
    things: Vec<Thing>,
}

/// What is gathered: a pack in its state, or kit.
struct Thing {
    /// `P-014`, `A-01x3`
    number: String,
    pack: Option<PackRow>,
    /// What stands against its going where it is gathered for; empty: nothing that is known now.
    against: String,
}

async fn gather_page(app: &App, who: &SignedIn, shell: Shell) -> Result<GatherPage, PageError> {
    let mut conn = app.db.read().await?;
    let open = gatherings::of_session(&mut conn, who.me.session_id, open_since(who.now)).await?;
    let things = match &open {
        Some(open) => things(&mut conn, open, who).await?,
        None => Vec::new(),
    };
    drop(conn);
    Ok(GatherPage {
        shell,
        problems: Problems::default(),
        typed: String::new(),
        list: open.map(|open| List {
            called: called(&open),
            is_hand_out: open.kind() == Kind::HandOut,
            things,
        }),
        is_quartermaster: who.me.is_quartermaster,
        may_borrow: who.club.may_members_borrow,
        is_plain_http: who.is_plain_http,
    })
}

async fn things(
    conn: &mut Conn,
    open: &Gathering,
    who: &SignedIn,
) -> Result<Vec<Thing>, StoreError> {
    let numbers = open.numbers();
    let keys: Vec<i64> = numbers.iter().filter_map(|number| key_of(number)).collect();
    let found = packs::with_now(conn, &keys).await?;
    let thing = |number: &str| {
        let one = found.iter().find(|one| one.pack.number == number);
        let row = one.map(|one| PackRow::of(&one.pack, who));
        let against = match (one, &row) {
            (Some(one), Some(row)) => against(open.kind(), one, row.state),
            _ => String::new(),
        };
        Thing {
            number: number.to_owned(),
            pack: row,
            against,
        }
    };
    Ok(numbers.into_iter().map(thing).collect())
}

fn against(kind: Kind, one: &WithNow, state: PackState) -> String {
    let charge = one.now.charge();
    match (kind, charge) {
        (Kind::HandOut, Some(now)) => format!(
            "In use: {} works on it now. End that charge first, or leave it out.",
            on(&now.charger_number, now.output, now.has_outputs)
        ),
        (Kind::TakeBack, Some(now)) if one.pack.is_lent() => format!(
            "{} still works on it: see to that charge before you take it off.",
            on(&now.charger_number, now.output, now.has_outputs)
        ),
        _ if may_come(kind, (&one.pack, &one.now), state) => String::new(),
        (Kind::HandOut, None) => "Goes out to nobody now: leave it out.".to_owned(),
        (Kind::TakeBack, _) => "Is not out: leave it out.".to_owned(),
    }
}

/// GET /gather
pub async fn show(State(app): State<App>, who: SignedIn) -> Page {
    page::show(&gather_page(&app, &who, who.shell("Gather by scanning")).await?)
}

async fn refused(app: &App, who: &SignedIn, typed: String, words: String) -> Page {
    let page = gather_page(app, who, who.shell_refused("Gather by scanning")).await?;
    page::refused(&GatherPage {
        problems: Problems::one("add", words),
        typed,
        ..page
    })
}

/// Each as its label has it; the error is what to put right.
async fn numbers_of(app: &App, typed: &[Typed]) -> Result<Result<Vec<String>, String>, PageError> {
    let keys: Vec<i64> = typed.iter().flat_map(Typed::keys).collect();
    let found = at_hand::numbered(&mut app.db.read().await?, &keys).await?;
    let mut numbers = Vec::new();
    for one in typed {
        let before = numbers.len();
        let meant = found
            .iter()
            .filter(|known| one.names(&known.number, known.kit_id.is_none()));
        numbers.extend(meant.map(|known| match one.count() {
            1 => known.number.clone(),
            count => format!("{}x{count}", known.number),
        }));
        if numbers.len() == before {
            return Ok(Err(format!("There is no {one}.")));
        }
    }
    Ok(Ok(numbers))
}

/// POST /gather: begins, with what was typed of the hand-out so far; or a take-back.
pub async fn begin(State(app): State<App>, who: SignedIn, mut fields: Fields) -> Page {
    let kind = Kind::from_code(&fields.text("kind")).unwrap_or(Kind::HandOut);
    if !who.me.is_quartermaster {
        fields.put("person", &who.me.person_id.to_string());
    }
    let by = who.by(&fields);
    let form = hand_out::form_of(&app, &fields).await?;
    let mut problems = Problems::default();
    let begun = match kind {
        Kind::TakeBack => Gathering::default(),
        Kind::HandOut => {
            let (borrower_id, items, _) = form.read(&mut problems);
            let items = numbers_of(&app, &items.unwrap_or_default()).await?;
            Gathering {
                borrower_id,
                items: problems.keep("items", items).unwrap_or_default().join(" "),
                due: form.due.clone(),
                purpose: form.purpose.clone(),
                ..Gathering::default()
            }
        }
    };
    if !problems.is_empty() {
        return hand_out::not_gathered(&app, &who, form, problems).await;
    }
    let begun = Gathering {
        kind: kind.code().to_owned(),
        ..begun
    };
    match gather::begin(&app.db, &by, who.me.session_id, &begun).await {
        Ok(()) => page::go_to("/gather"),
        Err(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Err(GatherRefusal::Store(error)) => Err(error.into()),
        Err(refusal @ GatherRefusal::Full) => {
            let problems = Problems::one("items", refusal.to_string());
            hand_out::not_gathered(&app, &who, form, problems).await
        }
        Err(refusal @ GatherRefusal::NoPerson) => {
            let problems = Problems::one("person", refusal.to_string());
            hand_out::not_gathered(&app, &who, form, problems).await
        }
        Err(refusal @ GatherRefusal::AnotherOpen) => {
            refused(&app, &who, String::new(), refusal.to_string()).await
        }
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}

/// POST /gather/add: numbers typed or scanned here, or the pack of a label that was scanned.
pub async fn add(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let line = fields.text("add");
    let typed = match read_numbers(&scanned::as_numbers(&app, &line).await?) {
        Ok(typed) if typed.is_empty() => Err("Scan a label, or type a number.".to_owned()),
        Ok(typed) => numbers_of(&app, &typed).await?,
        Err(word) => Err(format!(
            "“{word}” is no number and no label of the club. Scan again, or type packs as 14 15 17-20."
        )),
    };
    match typed {
        Ok(numbers) => change(&app, &who, &fields, (&numbers, &[])).await,
        Err(words) => refused(&app, &who, line, words).await,
    }
}

/// POST /gather/leave-out
pub async fn leave_out(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    change(&app, &who, &fields, (&[], &[fields.text("number")])).await
}

async fn change(app: &App, who: &SignedIn, fields: &Fields, what: (&[String], &[String])) -> Page {
    match gather::change(&app.db, &who.by(fields), who.me.session_id, what).await {
        Ok(()) => page::go_to("/gather"),
        Err(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Err(GatherRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refused(app, who, fields.text("add"), refusal.to_string()).await,
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

fn leads_to(of: &Gathering) -> String {
    match of.kind() {
        Kind::HandOut => format!("/hand-out?{}", in_address(of)),
        Kind::TakeBack => {
            let numbers = words::in_address(&[("numbers", &of.items)]);
            format!("/take-back/items?{numbers}")
        }
    }
}

/// POST /gather/end: goes on with the list, or forgets it.
pub async fn end(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let is_dropped = fields.is_ticked("forget");
    let lead = |of: &Gathering| {
        if is_dropped {
            "/gather".to_owned()
        } else {
            leads_to(of)
        }
    };
    match gather::end(&app.db, &who.by(&fields), who.me.session_id, lead).await {
        Ok(address) => page::go_to(&address),
        Err(GatherRefusal::Repeat(repeat)) => again(&repeat),
        Err(GatherRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refused(&app, &who, String::new(), refusal.to_string()).await,
    }
}
