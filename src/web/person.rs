//! One person: roles, induction, what they hold, and the verbs that change them. Each form has its own page or button;
//! a refused button shows the page again with the reason.

use crate::actions::book::erasing;
use crate::actions::membership::{self, PersonRefusal};
use crate::app::App;
use crate::club::calendar::{Day, Instant, Zone, day_words};
use crate::ids;
use crate::store::people::{self, Line, Listed};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(PersonPage);

#[derive(Template)]
#[template(path = "person.html")]
struct PersonPage {
    shell: Shell,
    problems: Problems,
    person: View,
    lines: Lines,
    doors: Doors,
    /// For the link somebody may ask for on this page.
    token: String,
}

struct View {
    id: Uuid,
    name: String,
    roles: String,
    responsible: String,
    induction: String,
    is_inducted: bool,
    is_erased: bool,
    is_active: bool,
    has_password: bool,
    is_guest: bool,
    gone_words: When,
    /// Mail does not reach them: what was answered.
    mail_trouble: String,
    /// Of an active person who can sign in: where nothing tells where mail goes.
    lacks_address: bool,
    /// Nobody said yet that the address is theirs.
    is_unconfirmed: bool,
    /// It was kept while no mail server was set.
    is_unasked: bool,
    /// Nor a push to a phone of theirs.
    phone_trouble: String,
}

impl View {
    fn of(person: &Listed, now: Instant, zone: &Zone) -> Self {
        let induction = person.induction(zone.day_of(now));
        let gone = person.erased_ms.or(person.deactivated_ms);
        Self {
            id: person.id,
            name: person.called().to_owned(),
            roles: person.roles().words(),
            responsible: person.responsible_name.clone().unwrap_or_default(),
            induction: induction.words(),
            is_inducted: induction.is_valid(),
            is_erased: person.erased_ms.is_some(),
            is_active: person.is_active(),
            has_password: person.has_password,
            is_guest: person.roles().is_none(),
            gone_words: gone
                .map(|at| words::past(at, now, zone))
                .unwrap_or_default(),
            mail_trouble: person.mail_trouble.clone().unwrap_or_default(),
            lacks_address: person.is_active() && !person.roles().is_none() && !person.has_address,
            is_unconfirmed: person.is_active()
                && person.is_unconfirmed
                && person.mail_trouble.is_none(),
            is_unasked: person.is_unasked,
            phone_trouble: person.phone_trouble.clone().unwrap_or_default(),
        }
    }
}

/// What stands under the name, by kind.
#[derive(Default)]
struct Lines {
    shown: Vec<ShownLine>,
    held: Vec<Held>,
    /// Packs that they took home to be put to storage.
    home: Vec<Held>,
    answers_for: Vec<String>,
}

struct Held {
    /// Or `4 of A-02`, for counted adapters.
    number: String,
    is_pack: bool,
    due: words::Due,
}

struct ShownLine {
    day: String,
    day_words: String,
    by: String,
    until: String,
}

impl Lines {
    fn of(lines: Vec<Line>, today: Day) -> Self {
        let mut sorted = Self::default();
        for line in lines {
            let named = line.words.clone().unwrap_or_else(|| "(erased)".to_owned());
            let to = line.to_on.as_deref().and_then(Day::parse);
            match line.kind.as_str() {
                "induction" => sorted.shown.push(ShownLine::of(&line, named, to)),
                kind @ ("pack" | "kit" | "home") => {
                    let held = Held {
                        number: named,
                        is_pack: kind != "kit",
                        due: to.map(|day| words::due(day, today)).unwrap_or_default(),
                    };
                    match kind {
                        "home" => sorted.home.push(held),
                        _ => sorted.held.push(held),
                    }
                }
                _ => sorted.answers_for.push(named),
            }
        }
        sorted
    }
}

impl ShownLine {
    fn of(line: &Line, by: String, until: Option<Day>) -> Self {
        let day = line.from_on.clone().unwrap_or_default();
        Self {
            day_words: Day::parse(&day).map_or_else(String::new, day_words),
            day,
            by,
            until: until.map_or_else(
                || "without an end".to_owned(),
                |day| format!("holds until {}", day_words(day)),
            ),
        }
    }
}

/// Which verbs this visitor is offered; the actions decide again.
#[derive(Clone, Copy)]
struct Doors {
    may_note: bool,
    may_change: bool,
    is_own_page: bool,
}

/// GET /people/{id}
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    page::show(&read(&app, &who, id, Problems::default()).await?)
}

async fn read(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    problems: Problems,
) -> Result<PersonPage, PageError> {
    let mut conn = app.db.read().await?;
    let person = people::listed(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let lines = people::lines(&mut conn, id).await?;
    let roles = who.me.roles();
    let is_theirs = if person.is_organiser {
        roles.is_organiser
    } else {
        roles.is_quartermaster
    };
    let title = person.called().to_owned();
    let shell = if problems.is_empty() {
        who.shell(title)
    } else {
        who.shell_refused(title)
    };
    Ok(PersonPage {
        shell,
        problems,
        person: View::of(&person, who.now, &who.zone),
        lines: Lines::of(lines, who.zone.day_of(who.now)),
        doors: Doors {
            may_note: roles.is_quartermaster,
            may_change: is_theirs && who.tablet.is_none(),
            is_own_page: who.me.person_id == id,
        },
        token: ids::new_token(),
    })
}

/// On to the person's page, or the page again with the refusal.
async fn answer(app: &App, who: &SignedIn, id: Uuid, outcome: Result<Uuid, PersonRefusal>) -> Page {
    match outcome {
        Ok(id) => page::go_to(&format!("/people/{id}")),
        Err(PersonRefusal::Store(error)) => Err(error.into()),
        Err(PersonRefusal::Nobody) => Err(PageError::NotFound),
        Err(refusal) => refused(app, who, id, &refusal).await,
    }
}

pub(super) async fn refused(app: &App, who: &SignedIn, id: Uuid, refusal: &PersonRefusal) -> Page {
    let problems = Problems::refused("change", refusal);
    page::put_right(&read(app, who, id, problems).await?)
}

/// POST /people/{id}/deactivate
pub async fn deactivate(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = membership::deactivate(&app.db, &who.by(&fields), id).await;
    answer(&app, &who, id, outcome).await
}

/// POST /people/{id}/reactivate
pub async fn reactivate(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = membership::reactivate(&app.db, &who.by(&fields), id).await;
    answer(&app, &who, id, outcome).await
}

#[derive(Template)]
#[template(path = "erase.html")]
struct ErasePage {
    shell: Shell,
    person: View,
    /// In how many parts of the incident book they are named.
    in_book: usize,
    has_things_out: bool,
}

/// GET /people/{id}/erase: read back before it is done, for it can't be undone.
pub async fn ask_erase(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let mut conn = app.db.read().await?;
    let person = people::listed(&mut conn, id)
        .await?
        .filter(|person| person.erased_ms.is_none())
        .ok_or(PageError::NotFound)?;
    let in_book = erasing::parts_of(&mut conn, (id, person.called())).await?;
    drop(conn);
    page::show(&ErasePage {
        in_book: in_book.len(),
        has_things_out: person.open_count > 0,
        shell: who.shell(format!("Erase {}?", person.called())),
        person: View::of(&person, who.now, &who.zone),
    })
}

/// POST /people/{id}/erase
pub async fn erase(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = membership::erase(&app.db, &who.by(&fields), id).await;
    answer(&app, &who, id, outcome).await
}
