//! A person's calendar: the page where its secret address is made, renewed and ended, and the address itself, which calendar
//! programs ask without signing in. In it stands nothing of other people.

use crate::actions::calendars::{self as keep, CalendarRefusal};
use crate::actions::once::Repeat;
use crate::app::App;
use crate::club::calendar::{Day, Instant};
use crate::club::care::ahead::ahead;
use crate::club::care::kept::Band;
use crate::club::care::seen::band_now;
use crate::club::feed::{Entry, written};
use crate::club::reminders::Kind;
use crate::ids;
use crate::store::calendars::{self as stored, Dated};
use crate::store::care::{self, InCare};
use crate::store::club::Club;
use crate::web::asked::Path;
use crate::web::etag;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn, Visit};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::IntoResponse;

#[derive(Template)]
#[template(path = "calendar.html")]
struct CalendarPage {
    shell: Shell,
    problems: Problems,
    made: Option<When>,
    oversees: bool,
    /// Of the address that somebody may ask for on this page.
    secret: String,
}

#[derive(Template)]
#[template(path = "calendar_once.html")]
struct OncePage {
    shell: Shell,
    address: String,
}

const TITLE: &str = "Your calendar";

async fn own_page(
    app: &App,
    who: &SignedIn,
    problems: Problems,
) -> Result<CalendarPage, PageError> {
    let made = stored::made(&mut app.db.read().await?, who.me.person_id).await?;
    Ok(CalendarPage {
        shell: match problems.is_empty() {
            true => who.shell(TITLE),
            false => who.shell_refused(TITLE),
        },
        problems,
        made: made.map(|at| words::past(at, who.now, &who.zone)),
        oversees: who.oversees(),
        secret: ids::new_token(),
    })
}

/// GET /me/calendar
pub async fn show(State(app): State<App>, who: SignedIn) -> Page {
    page::show(&own_page(&app, &who, Problems::default()).await?)
}

/// POST /me/calendar: answers with the address itself, on no page with an address. The same form again shows the same.
pub async fn renew(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let secret = fields.text("secret");
    match keep::renew(&app.db, &who.by(&fields), &secret).await {
        Ok(()) | Err(CalendarRefusal::Repeat(Repeat::Done(_))) => page::show(&OncePage {
            shell: who.shell("An address, shown once"),
            address: format!("{}/calendar/{secret}", who.base),
        }),
        Err(refusal) => refused(&app, &who, refusal).await,
    }
}

/// POST /me/calendar/end
pub async fn end(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    match keep::end(&app.db, &who.by(&fields)).await {
        Ok(()) => page::go_to("/me/calendar"),
        Err(refusal) => refused(&app, &who, refusal).await,
    }
}

async fn refused(app: &App, who: &SignedIn, refusal: CalendarRefusal) -> Page {
    match refusal {
        CalendarRefusal::Repeat(repeat) => again(&repeat),
        CalendarRefusal::Store(error) => Err(error.into()),
        stale @ CalendarRefusal::StalePage => {
            let problems = Problems::one("secret", stale.to_string());
            page::refused(&own_page(app, who, problems).await?)
        }
    }
}

/// Events stay in it so long after they are over.
const PAST_DAYS: i64 = 30;

/// GET /calendar/{token}: unknown, ended and mistyped answer alike.
pub async fn feed(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Page {
    app.limits.calendar(visit.network)?;
    let club = visit.club.as_ref().ok_or(PageError::NotFound)?;
    let today = visit.zone.day_of(visit.now);
    let mut conn = app.db.read().await?;
    let hash = ids::digest(token.trim_end_matches(".ics"));
    let dated = stored::dated(&mut conn, &hash, today.plus_days(-PAST_DAYS)).await?;
    let whose = dated.iter().find(|one| one.what == "whose");
    let person_id = whose.ok_or(PageError::NotFound)?.id;
    let held = care::held_by(&mut conn, person_id).await?;
    drop(conn);
    let is_own = |one: &&InCare| {
        one.holder()
            .is_some_and(|holder| holder.person == person_id)
    };
    let unwanted: Vec<Kind> = dated.iter().filter_map(unwanted).collect();
    let is_wanted = |kind: Option<Kind>| kind.is_none_or(|kind| !unwanted.contains(&kind));
    let mut entries: Vec<Entry> = dated
        .chunk_by(|one, next| (&one.what, one.id) == (&next.what, next.id))
        .filter(|one| is_wanted(one.first().and_then(kind_of)))
        .filter_map(|one| of_dated(one, &visit))
        .collect();
    for one in held.iter().filter(is_own) {
        entries.extend(of_pack(one, club, &visit, &is_wanted));
    }
    // As of the morning: the same until something changes or the day is over.
    let text = written(&club.name, &entries, visit.zone.start_of(today));
    Ok(answer(text))
}

fn answer(text: String) -> axum::response::Response {
    let tag = etag::of(&text);
    let headers = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (header::CACHE_CONTROL, "private, no-cache"),
    ];
    let mut response = (headers, text).into_response();
    if let Some(tag) = tag {
        response.headers_mut().insert(header::ETAG, tag);
    }
    response
        .headers_mut()
        .insert("x-robots-tag", HeaderValue::from_static("noindex"));
    response
}

fn unwanted(one: &Dated) -> Option<Kind> {
    Kind::from_code(&one.name).filter(|_| one.what == "unwanted")
}

/// What a person chooses it by; None: nobody chooses.
fn kind_of(one: &Dated) -> Option<Kind> {
    match one.what.as_str() {
        "loan" => Some(Kind::LoanDueSoon),
        "induction" => Some(Kind::Induction),
        "extinguisher" | "detector" => Some(Kind::Check),
        _ => None,
    }
}

fn of_dated(things: &[Dated], visit: &Visit) -> Option<Entry> {
    let first = things.first()?;
    let day = |day: &Option<String>| day.as_deref().and_then(Day::parse);
    let opened = |at: Instant| visit.zone.day_of(at);
    let (what, told) = match first.what.as_str() {
        "loan" => {
            let numbers: Vec<&str> = things.iter().map(|one| one.name.as_str()).collect();
            let next = "Bring it back, or ask for more time.";
            (format!("Due back: {}", numbers.join(", ")), next)
        }
        "induction" => (
            "Last day of your induction".to_owned(),
            "Ask a quartermaster to show safe charging and handling again.",
        ),
        "extinguisher" => (
            format!("Check of the fire extinguisher: {}", first.name),
            "Have it checked, then note the day of the next check at the place.",
        ),
        "detector" => (
            format!("Check of the smoke or heat detector: {}", first.name),
            "Have it checked, then note the day of the next check at the place.",
        ),
        "round" => (
            format!("Storage round: {}", first.name),
            "Read what is left and close the round.",
        ),
        "event" => (first.name.clone(), ""),
        _ => return None,
    };
    let first_day = day(&first.first_on).or((first.what == "round").then(|| opened(first.at_ms)))?;
    Some(Entry {
        uid: format!("{}-{}", first.what, first.id),
        first: first_day,
        last: day(&first.last_on).unwrap_or(first_day),
        what,
        told: told.to_owned(),
        place: first.place.clone(),
    })
}

/// What the pack is due for, and the day by which it is to be done at home.
fn of_pack(
    one: &InCare,
    club: &Club,
    visit: &Visit,
    is_wanted: &dyn Fn(Option<Kind>) -> bool,
) -> Vec<Entry> {
    let number = &one.pack.number;
    let entry = |kind: &str, day: Day, what: &str, told: &str| Entry {
        uid: format!("{kind}-{}", one.pack.id),
        first: day,
        last: day,
        what: format!("{number}: {what}"),
        told: club.numbers().sentence(told),
        place: String::new(),
    };
    let on_record = one.on_record(&club.limits(), visit.now);
    let due = ahead(&on_record, &club.care(), visit.now, &visit.zone);
    let due = due
        .into_iter()
        .filter(|(_, due)| is_wanted(Kind::of_care(due.reason)))
        .map(|(day, due)| entry(due.reason.code(), day, due.reason.label(), &due.next));
    let home_by = one.pack.home_by.as_deref().and_then(Day::parse);
    let home = home_by.map(|day| {
        let is_done = band_now(&on_record) == Some(Band::In);
        let (what, next) = match (on_record.state.shows_settings(), is_done) {
            // What is not to be charged is not put to storage: its state's own act stands.
            (false, _) => (
                "At home, not to be charged",
                match on_record.state_next.as_str() {
                    "" => "Don't connect it. Ask a quartermaster.",
                    next => next,
                },
            ),
            (true, true) => (
                "To be brought back",
                "It is in its band: bring it back to the club.",
            ),
            (true, false) => (
                "To be put to storage",
                "You took it home: bring it to storage, log its volts, and bring it back.",
            ),
        };
        entry("home", day, what, next)
    });
    home.into_iter().chain(due).collect()
}
