//! One pack: its state and why, its cells, what may be done now, what stands against it, its whole history.

use crate::actions::once::Repeat;
use crate::app::App;
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::health::source_told;
use crate::club::label::is_code;
use crate::club::limits::fahrenheit_within;
use crate::club::release::may_mend;
use crate::club::states::{Life, State as PackState};
use crate::club::verdict::{Gravity, Rule};
use crate::store::care::InCare;
use crate::store::charges::now::NowRow;
use crate::store::findings::{self, Found, OnePack};
use crate::store::packs::{self, PackView};
use crate::web::asked::{Path, Query};
use crate::web::care_seen::CareSeen;
use crate::web::charging_now::ChargingNow;
use crate::web::fields::{Fields, Problems};
use crate::web::history::{self, Before};
use crate::web::log_page::Line;
use crate::web::pack_next::{FoundBy, next_of_each};
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::stop::{Stop, ToLie, watched_until};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(PackPage);

#[derive(Template)]
#[template(path = "pack.html")]
struct PackPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    /// The place it was just put to, when that holds more energy than it may.
    over: Option<Uuid>,
    /// Where the report is that was just sent.
    told: String,
    row: PackRow,
    pack: PackView,
    facts: Vec<(&'static str, String)>,
    open: Vec<OpenFinding>,
    since: When,
    since_by: String,
    charge_between: String,
    history: Vec<Line>,
    older: Option<i64>,
    is_quartermaster: bool,
    /// What was seen never lets it back to use: neither volts nor a release are asked for.
    is_final: bool,
    /// Something dangerous stands against it, in use, retired or lost.
    is_dangerous: bool,
    /// What to do then.
    stop: Option<Stop>,
    /// Until then somebody stays with it, and nobody carries it.
    leave_until: Option<When>,
    can_release: bool,
    is_in_use: bool,
    is_lost: bool,
    /// Dangerous, and nobody said that it was carried to where it belongs.
    to_lie: Option<ToLie>,
    /// It lies somewhere, and nobody said where.
    lacks_place: bool,
    is_mine: bool,
    may_borrow: bool,
    is_watch_on: bool,
    /// Logs volts and handles packs; an organiser alone does not.
    reads: bool,
    /// How it is stored; None where it is not in use.
    seen: Option<CareSeen>,
    charging: Option<ChargingNow>,
}

struct OpenFinding {
    id: Uuid,
    words: String,
    next: String,
    /// Where the limit comes from, of what its readings say; empty of what a person said.
    source: String,
    since: When,
    by: String,
    /// Of danger, of which whoever looks may say whether it was so.
    report: Option<Uuid>,
    /// Somebody looked at what was reported.
    was_not_so: bool,
    can_be_mended: bool,
    /// Nothing is known to be wrong with it.
    is_to_look_at: bool,
    /// Under which name what is wrong with mending it is noted.
    field: String,
}

/// The pack an address names, or 'not here'.
pub async fn named(app: &App, number: &str) -> Result<PackView, PageError> {
    let mut conn = app.db.read().await?;
    packs::by_number(&mut conn, &number.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)
}

/// May whoever looks take it, or give it to somebody, as it is now?
pub(super) fn may_borrow(
    (pack, now): (&PackView, &NowRow),
    state: PackState,
    who: &SignedIn,
) -> bool {
    let may_lend = who.me.is_quartermaster || who.me.is_member && who.club.may_members_borrow;
    state.is_lendable() && !pack.is_away() && !now.is_charging() && may_lend
}

/// A form sent again leads where it led the first time.
pub fn again(repeat: &Repeat) -> Page {
    match repeat {
        Repeat::Done(address) => page::go_to(address),
        Repeat::OtherBody => Err(PageError::Refused(repeat.to_string())),
    }
}

#[derive(Default, Deserialize)]
pub struct Put {
    #[serde(default)]
    over: String,
    #[serde(default)]
    told: String,
}

/// GET /packs/{number}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(asked): Query<Before>,
    Query(put): Query<Put>,
) -> Page {
    let mut page = one_page(&app, &who, &number, &asked).await?;
    page.over = put.over.parse().ok();
    page.told = Some(put.told)
        .filter(|token| is_code(token))
        .unwrap_or_default();
    page::show(&page)
}

/// A form of the page was refused: what to put right, and what was typed.
pub(super) async fn refused(
    app: &App,
    who: &SignedIn,
    number: &str,
    sent: (Problems, Fields),
) -> Page {
    let mut page = one_page(app, who, number, &Before::default()).await?;
    page.shell.is_error = true;
    (page.problems, page.typed) = sent;
    page::put_right(&page)
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    number: &str,
    asked: &Before,
) -> Result<PackPage, PageError> {
    let mut conn = app.db.read().await?;
    let OnePack {
        care,
        open,
        awaited,
        not_so,
        state_by_name,
    } = findings::with_pack(&mut conn, &number.to_uppercase())
        .await?
        .ok_or(PageError::NotFound)?;
    let told_of = history::part(&mut conn, care.pack.id, asked).await?;
    drop(conn);
    let seen = CareSeen::of(&care, who);
    let pack = care.pack.clone();
    let row = PackRow::of(&pack, who);
    let is_dangerous = is_dangerous(&open);
    // A lost pack lies somewhere, and whoever finds it is told.
    let is_told = is_dangerous && !matches!(pack.life(), Life::GivenAway | Life::Withdrawn);
    let until = watched_until(care.watched_since_ms, who).filter(|_| is_told);
    let is_final = open
        .iter()
        .any(|(found, _)| found.gravity() == Gravity::FinalDanger);
    Ok(PackPage {
        problems: Problems::default(),
        typed: Fields::default(),
        over: None,
        told: String::new(),
        shell: who.shell(pack.number.clone()),
        facts: facts(&pack, who),
        is_final,
        stop: is_told.then(|| Stop::of_pack(&pack, until, care.is_watch_on)),
        leave_until: until.map(|until| clock(until, who.now, &who.zone)),
        is_dangerous: is_told,
        can_release: row.state == PackState::Quarantine
            && !is_final
            && (who.me.is_quartermaster || who.me.is_organiser),
        open: all_told((&open, &awaited, &not_so), &pack, who),
        since: past(since(&pack, row.state, who), who.now, &who.zone),
        since_by: names_by(
            who,
            state_by_name.as_ref().filter(|_| row.code == pack.state),
        ),
        charge_between: charge_between(who),
        older: told_of.older,
        history: told_of
            .entries
            .into_iter()
            .map(|entry| Line::of(entry, who))
            .collect(),
        is_quartermaster: who.me.is_quartermaster,
        is_in_use: pack.life() == Life::InUse,
        is_lost: pack.life() == Life::Lost,
        lacks_place: lacks_place(&care),
        to_lie: ToLie::of(&care, who),
        is_mine: pack.with_id() == Some(who.me.person_id),
        is_watch_on: care.is_watch_on,
        reads: who.me.roles().may_log_volts(),
        may_borrow: may_borrow((&pack, &care.now), row.state, who),
        charging: ChargingNow::of(&care.now, row.state, who),
        row,
        pack,
        seen,
    })
}

/// Of what is dangerous it is said where it is to be taken.
fn lacks_place(care: &InCare) -> bool {
    let pack = &care.pack;
    let lies_here = pack.life() == Life::InUse && !pack.is_away();
    lies_here && pack.place_id.is_none() && care.is_to_lie().is_none()
}

/// Since when it is in the state it has: for 'not known' by age, since its last reading grew too old.
pub(super) fn since(pack: &PackView, state: PackState, who: &SignedIn) -> Instant {
    let is_by_age = state.code() != pack.state;
    let aged = pack
        .last_read_ms
        .filter(|_| is_by_age)
        .map(|at| at.plus_days(who.club.limits().reading_days));
    aged.unwrap_or(pack.state_ms)
}

/// `, by Quinn Marlow` for those who may know.
fn names_by(who: &SignedIn, name: Option<&String>) -> String {
    match name {
        Some(name) if who.me.roles().may_see_holders() => format!(", by {name}"),
        _ => String::new(),
    }
}

/// `0 and 45 °C`
pub(super) fn charge_between(who: &SignedIn) -> String {
    let limits = who.club.limits();
    let (from, to) = (limits.charge_from_celsius, limits.charge_to_celsius);
    let (from, to, unit) = if who.club.uses_fahrenheit {
        let (from, to) = fahrenheit_within(from, to);
        (from, to, "F")
    } else {
        (from, to, "C")
    };
    format!("{from} and {to} °{unit}")
}

/// Something dangerous stands against it.
pub(super) fn is_dangerous(open: &[FoundBy]) -> bool {
    let mut found = open.iter().map(|(found, _)| found.gravity());
    found.any(|gravity| gravity >= Gravity::Danger)
}

/// A finding and a report that told of it.
type OfReport = (Uuid, Uuid);

/// `awaited`: findings, each with the report that somebody must look at before it is closed; `not_so`: each with the one that was not
/// so: what one report and its doubles told of is closed once.
fn all_told(
    (open, awaited, not_so): (&[FoundBy], &[OfReport], &[OfReport]),
    pack: &PackView,
    who: &SignedIn,
) -> Vec<OpenFinding> {
    let in_list = |list: &[OfReport], found: &Found| {
        let one = list.iter().find(|(id, _)| *id == found.id);
        one.map(|(_, report)| *report)
    };
    let mut closed_above = Vec::new();
    let mut all = Vec::new();
    for ((found, by), next) in open.iter().zip(next_of_each(pack, open)) {
        let mut one = told((found, in_list(awaited, found)), by, (pack, &next), who);
        if let Some(report) = in_list(not_so, found) {
            one.was_not_so = true;
            one.can_be_mended &= !closed_above.contains(&report);
            closed_above.extend(one.can_be_mended.then_some(report));
        }
        all.push(one);
    }
    all
}

fn told(
    (found, report): (&Found, Option<Uuid>),
    by: &Option<String>,
    (pack, next): (&PackView, &str),
    who: &SignedIn,
) -> OpenFinding {
    let by_person = found.rule().is_some_and(|rule| {
        let of = (rule, report.is_some());
        may_mend(of, found.gravity(), who.me.is_quartermaster, "asked").is_ok()
    });
    OpenFinding {
        id: found.id,
        field: format!("mend-{}", found.id),
        words: who.numbers().sentence(&found.words),
        next: who.numbers().sentence(next),
        source: who.numbers().sentence(found.rule().map_or("", source_told)),
        since: past(found.found_ms, who.now, &who.zone),
        by: names_by(who, by.as_ref()),
        report: report.filter(|_| who.me.roles().may_see_holders()),
        was_not_so: false,
        can_be_mended: by_person && found.gravity() < Gravity::Danger && pack.life() == Life::InUse,
        is_to_look_at: found.rule().is_some_and(|rule| {
            rule.is_of_health()
                || matches!(
                    rule,
                    Rule::BatchSister | Rule::TookTooMuch | Rule::StoppedWrong
                )
        }),
    }
}

fn facts(pack: &PackView, who: &SignedIn) -> Vec<(&'static str, String)> {
    let numbers = who.numbers();
    let noted = |text: &String| {
        let text = Some(text).filter(|_| who.me.roles().may_read_notes());
        text.cloned().unwrap_or_default()
    };
    let rate = |tenths: Option<i64>| {
        tenths.map_or_else(
            || "not on the label".to_owned(),
            |tenths| numbers.c_rate(tenths),
        )
    };
    let volts = |mv: Option<i64>| mv.map_or_else(String::new, |mv| numbers.volts(mv));
    let on = |day: &Option<String>| {
        let day = day.as_deref().and_then(Day::parse);
        day.map_or_else(String::new, day_words)
    };
    let all = [
        ("Design", pack.design_name.clone()),
        ("Label discharge rate", rate(pack.label_discharge_c_tenths)),
        ("Label charge rate", rate(pack.label_charge_c_tenths)),
        ("Label full volts per cell", volts(pack.label_full_mv)),
        ("Label lowest volts per cell", volts(pack.label_lowest_mv)),
        (
            "Balance connector",
            pack.balance_name()
                .unwrap_or_else(|| "none: cells can't be seen".to_owned()),
        ),
        (
            "Mass",
            pack.mass_g.map_or_else(String::new, |g| format!("{g} g")),
        ),
        (
            "Size",
            if pack.size_mm.is_empty() {
                String::new()
            } else {
                format!("{} mm", pack.size_mm)
            },
        ),
        ("Maker", pack.maker.clone()),
        ("Batch", pack.batch.clone()),
        ("Supplier", noted(&pack.supplier)),
        ("Price", noted(&pack.price)),
        ("Acquired", on(&pack.acquired_on)),
        ("First used", on(&pack.first_used_on)),
        ("Notes", noted(&pack.notes)),
    ];
    all.into_iter()
        .filter(|(_, value)| !value.is_empty())
        .collect()
}
