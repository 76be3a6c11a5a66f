//! The watch over a pack in quarantine: how it stands, a look from a distance, where the pack lies and what not beside it, and
//! which ways lead out. And the list of all packs that are watched, the newest danger first.

use crate::actions::lying::{self, LiesFailed};
use crate::actions::watching::{self, LookFailed};
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::book::lying::{LIES, NOT_BESIDE};
use crate::club::book::watch::{self as rules, Sign, Standing, WayOut};
use crate::club::hall::Hall;
use crate::club::reports::FROM_ONE_NETWORK;
use crate::club::states::Life;
use crate::club::verdict::{Gravity, Rule};
use crate::store::book::watches::{self, MadeLook};
use crate::store::findings::{self, Found};
use crate::store::packs::PackView;
use crate::web::asked::Path;
use crate::web::charging_now::ChargingNow;
use crate::web::fields::{Fields, Problems};
use crate::web::first_minute::Advice;
use crate::web::pack::again;
use crate::web::pack_row::where_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::stop::{Stop, ToLie, with_local_first};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock, in_a_list, past_at};
use askama::Template;
use axum::extract::State;
use std::cmp::Reverse;

page::puts_right!(WatchPage);

#[derive(Template)]
#[template(path = "quarantine/watch.html")]
struct WatchPage {
    shell: Shell,
    problems: Problems,
    number: String,
    why: String,
    place: String,
    question: String,
    typed: Fields,
    /// The last look saw danger: whom to call, and where.
    hall: Option<Hall>,
    /// None: it is not watched.
    watch: Option<Told>,
    /// Why not.
    not_watched: String,
    /// May it be carried?
    stop: Option<Stop>,
    /// By what is on record it is still on its charger.
    charging: Option<ChargingNow>,
    looks: Vec<Looked>,
    /// Nobody said that it was carried to where it belongs.
    to_lie: Option<ToLie>,
    /// Somebody stays with it: nobody carries it yet.
    is_left: bool,
    is_quartermaster: bool,
    lies: Vec<Advice>,
    not_beside: Vec<Advice>,
    is_retired: bool,
}

/// How it stands, in words.
struct Told {
    since: When,
    watched_until: When,
    ends: When,
    next: Option<When>,
    is_due: bool,
    /// Looks that nobody made.
    missed: usize,
    ways: Vec<&'static str>,
    is_not_over: bool,
}

struct Looked {
    when: When,
    seen: String,
    by: String,
}

const fn way(way: WayOut) -> &'static str {
    match way {
        WayOut::Released => {
            "Released after inspection, on its page: a second person, volts inside the limits logged since, a reason"
        }
        WayOut::Retired => "Retired, and then disposed of",
        WayOut::LostInIncident => {
            "Lost in an incident, where nothing of it is left: said on the incident's page in the book. What is left of a burnt pack is retired and disposed of"
        }
    }
}

fn told(standing: &Standing, open: &[Gravity], pack: &PackView, who: &SignedIn) -> Told {
    let at = |at| clock(at, who.now, &who.zone);
    let ways = rules::ways_at_its_end(open, standing).into_iter();
    let is_retired = pack.life() == Life::Retired;
    let is_left = |out: &WayOut| !is_retired || *out != WayOut::Released;
    Told {
        since: past_at(standing.since, who.now, &who.zone),
        watched_until: at(standing.watched_until),
        ends: at(standing.ends),
        next: standing.next_look.map(at),
        is_due: standing.next_look.is_some_and(|next| next <= who.now),
        missed: standing.missed.len(),
        ways: ways.filter(is_left).map(way).collect(),
        is_not_over: !standing.is_over,
    }
}

fn looked(made: &MadeLook, who: &SignedIn) -> Looked {
    let signs: Vec<&str> = made.look.signs.iter().map(|sign| sign.label()).collect();
    Looked {
        when: past_at(made.look.at, who.now, &who.zone),
        seen: if signs.is_empty() {
            "It lay there as it lay".to_owned()
        } else {
            signs.join("; ")
        },
        by: match &made.by_name {
            Some(name) if who.me.roles().may_see_holders() => format!(", by {name}"),
            _ => String::new(),
        },
    }
}

/// `is_unlooked`: somebody not signed in reported something, and nobody looked since.
fn not_watched(pack: &PackView, is_unlooked: bool) -> String {
    match pack.life() {
        Life::InUse if is_unlooked => {
            format!(
                "It is not watched. It stays out of use until a quartermaster has looked at it, from a distance. {FROM_ONE_NETWORK}"
            )
        }
        Life::InUse => "It is not watched: no danger stands against it.".to_owned(),
        _ => "It is not watched: it is gone.".to_owned(),
    }
}

/// `out: Ada, reported at “the boot of the car”`
fn where_words(pack: &PackView, who: &SignedIn, reported: Option<String>) -> String {
    let on_record = where_it_is(pack, who);
    match reported {
        Some(place) => format!("{on_record}, reported at “{place}”"),
        None => on_record,
    }
}

async fn watch_page(
    app: &App,
    who: &SignedIn,
    number: &str,
    (problems, typed): (Problems, Fields),
) -> Result<WatchPage, PageError> {
    let mut conn = app.db.read().await?;
    let one = findings::with_pack(&mut conn, &number.to_uppercase()).await?;
    let one = one.ok_or(PageError::NotFound)?;
    let stands = watching::stands(
        &mut conn,
        one.care.pack.id,
        (who.now, who.club.in_danger.watch),
    )
    .await?;
    drop(conn);
    let to_lie = ToLie::of(&one.care, who);
    let state = one.care.pack.told_at(who.now, &who.club.limits()).0;
    let charging = ChargingNow::of(&one.care.now, state, who);
    let (pack, numbers) = (one.care.pack, who.numbers());
    let open: Vec<Gravity> = one.open.iter().map(|(found, _)| found.gravity()).collect();
    let title = format!("Watch over {}", pack.number);
    let is_unlooked = |found: &Found| found.rule() == Some(Rule::ReportedUnlooked);
    let is_unlooked = one.open.iter().any(|(found, _)| is_unlooked(found));
    let saw_danger = |made: &MadeLook| made.look.signs.iter().any(|one| one.comes_to().is_some());
    let made = stands
        .as_ref()
        .map_or(&[][..], |(over, _)| over.looks.as_slice());
    let is_after_danger = made.last().is_some_and(saw_danger);
    let looks = made.iter().rev().map(|made| looked(made, who)).collect();
    let watch = stands.as_ref();
    let watch = watch.map(|(_, standing)| told(standing, &open, &pack, who));
    let until = stands.as_ref().map(|(_, standing)| standing.watched_until);
    let until = until.filter(|until| who.now < *until);
    let stop = stands
        .as_ref()
        .map(|(_, standing)| Stop::of_pack(&pack, until, !standing.is_over));
    let reported_place = stands.and_then(|(over, _)| over.reported_place);
    Ok(WatchPage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        problems,
        typed,
        why: numbers.sentence(&pack.state_words),
        hall: is_after_danger.then(|| who.club.hall.clone()),
        not_watched: not_watched(&pack, is_unlooked),
        place: where_words(&pack, who, reported_place),
        question: rules::question(),
        stop,
        charging,
        watch,
        looks,
        to_lie,
        is_left: until.is_some(),
        is_quartermaster: who.me.is_quartermaster,
        lies: with_local_first(&LIES),
        not_beside: NOT_BESIDE.into_iter().map(Advice::from).collect(),
        is_retired: pack.life() == Life::Retired,
        number: pack.number,
    })
}

/// GET /packs/{number}/watch
pub async fn show(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let fresh = (Problems::default(), Fields::default());
    page::show(&watch_page(&app, &who, &number, fresh).await?)
}

/// POST /packs/{number}/watch: a look; or that it was carried to its quarantine place.
pub async fn look(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = crate::web::pack::named(&app, &number).await?;
    if let Ok(place) = fields.text("lies").parse() {
        let said = (place, fields.is_ticked("carried"));
        return match lying::lies_there(&app.db, &who.by(&fields), pack.id, said).await {
            Ok(address) => page::go_to(&address),
            Err(LiesFailed::Repeat(repeat)) => again(&repeat),
            Err(LiesFailed::Store(error)) => Err(error.into()),
            Err(refusal) => {
                let field = match refusal {
                    LiesFailed::NotYet => "carried",
                    _ => "lies",
                };
                let problems = Problems::one(field, refusal.to_string()).by(refusal.against());
                page::put_right(&watch_page(&app, &who, &number, (problems, fields)).await?)
            }
        };
    }
    let ticked = fields.all("sign");
    let signs: Vec<Sign> = ticked
        .iter()
        .filter_map(|code| Sign::from_code(code))
        .collect();
    let is_quiet = fields.is_ticked("quiet");
    match watching::look(&app.db, &who.by(&fields), pack.id, is_quiet, &signs).await {
        Ok(address) => page::go_to(&address),
        Err(LookFailed::Repeat(repeat)) => again(&repeat),
        Err(LookFailed::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::one("sign", refusal.to_string()).by(refusal.against());
            page::put_right(&watch_page(&app, &who, &number, (problems, fields)).await?)
        }
    }
}

impl WatchPage {
    fn is_ticked(&self, sign: &Sign) -> bool {
        self.typed
            .all("sign")
            .iter()
            .any(|code| code == sign.code())
    }
}

#[derive(Template)]
#[template(path = "quarantine/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<Row>,
}

struct Row {
    number: String,
    why: String,
    place: String,
    since: When,
    next: Option<When>,
    is_due: bool,
    is_retired: bool,
    charging: Option<ChargingNow>,
}

/// GET /quarantine
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let all = watches::all(&mut conn).await?;
    let looks = watches::looks_of_all(&mut conn).await?;
    drop(conn);
    let row = |one: watches::Watched| {
        let state = one.pack.told_at(who.now, &who.club.limits()).0;
        let charging = ChargingNow::of(&one.now, state, &who);
        let made = looks.get(&one.watch_id).map_or(&[][..], Vec::as_slice);
        let stands = rules::stands(one.began_ms, who.club.in_danger.watch, made, who.now);
        let next = stands.next_look;
        // Within those whose watch goes on it may have begun anew by a look.
        let presses = (charging.is_none(), stands.is_over, Reverse(stands.since));
        let row = Row {
            charging,
            why: in_a_list(&who.numbers().sentence(&one.pack.state_words)),
            place: where_words(&one.pack, &who, one.reported_place),
            since: past_at(stands.since, who.now, &who.zone),
            is_due: next.is_some_and(|next| next <= who.now),
            next: next.map(|next| clock(next, who.now, &who.zone)),
            is_retired: one.pack.life() == Life::Retired,
            number: one.pack.number,
        };
        (presses, row)
    };
    let mut rows: Vec<_> = all.into_iter().map(row).collect();
    rows.sort_by_key(|(presses, _)| *presses);
    page::show(&ListPage {
        shell: who.shell("In quarantine"),
        rows: rows.into_iter().map(|(_, row)| row).collect(),
    })
}
