//! GET /t/{code}: what a phone opens that scans a label. Who is signed in sees the pack, its state and what may be done
//! now. A stranger sees whose pack it is and what to do when it smokes, swells or is hot, and nothing else.

use crate::actions::gather::open_since;
use crate::app::App;
use crate::club::book::stop::{Known, of_finder};
use crate::club::calendar::Instant;
use crate::club::label::is_code;
use crate::club::states::{Life, State as PackState};
use crate::store::book::disposals;
use crate::store::charges::now::NowRow;
use crate::store::gatherings::{self, Gathering, Kind};
use crate::store::labels::{self, OnLabel};
use crate::store::packs::PackView;
use crate::web::asked::Path;
use crate::web::charging_now::ChargingNow;
use crate::web::first_minute::Advice;
use crate::web::not_sent;
use crate::web::pack::may_borrow;
use crate::web::pack_row::{PackRow, what_it_is};
use crate::web::page::{self, Page, PageError};
use crate::web::scan_charge::{Settings, settings};
use crate::web::stop::{Stop, watched_until, with_local_first};
use crate::web::visit::{Shell, SignedIn, Visit};
use crate::web::words::{When, clock};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "scan_stranger.html")]
struct StrangerPage {
    shell: Shell,
    club_name: String,
    next: String,
    is_at_table: bool,
    /// It was disposed of: what it was.
    was: Option<String>,
    hot: Stop,
    cold: Stop,
    /// Of both, with who says so.
    says: Vec<Advice>,
}

/// Alike for a label that never was, one that was revoked, and a mistyped one.
#[derive(Template)]
#[template(path = "scan_unknown.html")]
struct UnknownPage {
    shell: Shell,
    stop: Stop,
    is_signed_in: bool,
    /// Of a report that was sent there.
    not_sent: Option<String>,
}

#[derive(Template)]
#[template(path = "scan.html")]
struct ScanPage {
    shell: Shell,
    row: PackRow,
    pack: PackView,
    settings: Option<Settings>,
    gathering: Option<Adding>,
    is_quartermaster: bool,
    may: May,
    charging: Option<ChargingNow>,
    /// What to do where danger stands against it.
    stop: Option<Stop>,
    /// Until then somebody stays with it, and nobody carries it.
    leave_until: Option<When>,
    /// It is on loan to whoever looks, who takes nothing back at the table.
    has_it: bool,
    /// The open storage round for which whoever looks may read it.
    round: Option<Uuid>,
}

/// What whoever looks may do about a pack now.
pub(super) struct May {
    /// Take it, or hand it out.
    pub(super) borrow: bool,
    /// The line of its loan.
    pub(super) take_back: Option<Uuid>,
    /// The same; it is with whoever looks, who takes nothing back at the table.
    pub(super) bring_back: Option<Uuid>,
    /// Put it at a place again that somebody has at home.
    pub(super) is_back: bool,
    pub(super) log_volts: bool,
    pub(super) report: bool,
    /// See how to charge it.
    pub(super) charge: bool,
}

impl May {
    pub(super) fn of(one: &OnLabel, state: PackState, who: &SignedIn) -> Self {
        let pack = &one.pack;
        let is_quartermaster = who.me.is_quartermaster;
        let life = pack.life();
        Self {
            borrow: may_borrow((pack, &one.now), state, who),
            take_back: pack.lent_id.filter(|_| is_quartermaster),
            is_back: pack.is_at_home() && is_quartermaster,
            bring_back: pack
                .lent_id
                .filter(|_| has_it(pack, who) && leave_until(one, who).is_none()),
            log_volts: life == Life::InUse
                && state != PackState::Quarantine
                && who.me.roles().may_log_volts(),
            report: matches!(life, Life::InUse | Life::Retired | Life::Lost),
            charge: life == Life::InUse && state.shows_settings() && !one.now.is_charging(),
        }
    }
}

/// What is gathered on this device.
struct Adding {
    kind: Kind,
    /// `Ada's hand-out`
    called: String,
    has_it: bool,
    /// It can go where it is gathered for, as far as can be told now.
    may_come: bool,
}

/// The pack with this label. None for one that never was, one that was revoked, and a mistyped one, and so often only.
pub(super) async fn look_up(
    app: &App,
    visit: &Visit,
    code: &str,
) -> Result<Option<OnLabel>, PageError> {
    let found = if is_code(code) {
        labels::pack_with(&mut app.db.read().await?, code).await?
    } else {
        None
    };
    if found.is_none() {
        // Asked after the look: a hall whose labels are known is never kept waiting by somebody who guesses.
        app.limits.label(visit.network)?;
    }
    Ok(found)
}

/// GET /t/{code}
pub async fn show(State(app): State<App>, visit: Visit, Path(code): Path<String>) -> Page {
    let Some(one) = look_up(&app, &visit, &code).await? else {
        return unknown(&visit);
    };
    let pack = &one.pack;
    let (Some(me), Some(club)) = (visit.me.clone(), visit.club.clone()) else {
        // What the club gave away is no pack of the club.
        if matches!(pack.life(), Life::GivenAway | Life::Withdrawn) {
            return unknown(&visit);
        }
        let is_gone = disposals::is_disposed(&mut app.db.read().await?, pack.id).await?;
        let was = is_gone.then(|| what_it_is(pack));
        let was = was.map(|was| match &visit.club {
            Some(club) => club.numbers().sentence(&was),
            None => was,
        });
        let known = match was {
            Some(_) => Known::Gone,
            None if one.is_danger_known || one.is_unlooked => Known::Danger,
            None => Known::Nothing,
        };
        return stranger(visit, was, known);
    };
    let who = SignedIn { visit, me, club };
    let since = open_since(who.now);
    let gathering =
        gatherings::of_session(&mut app.db.read().await?, who.me.session_id, since).await?;
    page::show(&scan_page(one, gathering, &who))
}

/// Whatever was asked for at a label that leads nowhere.
pub(super) fn unknown(visit: &Visit) -> Page {
    page::not_found(&UnknownPage {
        shell: visit.shell("No such label"),
        stop: Stop::of_anything(),
        is_signed_in: visit.me.is_some(),
        not_sent: not_sent::words(visit),
    })
}

fn stranger(visit: Visit, was: Option<String>, known: Known) -> Page {
    let (hot, cold) = of_finder(known);
    let page = StrangerPage {
        shell: visit.shell("A pack of the club"),
        club_name: visit
            .club
            .as_ref()
            .map_or_else(String::new, |club| club.name.clone()),
        next: visit.path.clone(),
        is_at_table: visit.is_at_table,
        was,
        hot: Stop::of(&hot),
        cold: Stop::of(&cold),
        says: with_local_first(&[hot, cold].concat()),
    };
    page::show_alike(&visit, &page)
}

fn scan_page(one: OnLabel, gathering: Option<Gathering>, who: &SignedIn) -> ScanPage {
    let row = PackRow::of(&one.pack, who);
    let settings = row.state.shows_settings().then(|| settings(&one, who));
    let until = leave_until(&one, who);
    let stop = || Stop::of_pack(&one.pack, until, one.is_watch_on);
    ScanPage {
        shell: who.shell(one.pack.number.clone()),
        settings,
        gathering: gathering.map(|gathering| adding(&gathering, &one, row.state)),
        is_quartermaster: who.me.is_quartermaster,
        may: May::of(&one, row.state, who),
        has_it: has_it(&one.pack, who),
        charging: ChargingNow::of(&one.now, row.state, who),
        round: one.round_id.filter(|_| who.me.is_quartermaster),
        stop: one.is_danger_known.then(stop),
        leave_until: until.map(|until| clock(until, who.now, &who.zone)),
        row,
        pack: one.pack,
    }
}

impl ScanPage {
    /// Settings are shown of no pack that is not fit, so that it is what charges it; empty: it may go on.
    fn stop_first(&self) -> &str {
        self.charging.as_ref().map_or("", |now| now.aside.as_str())
    }
}

fn has_it(pack: &PackView, who: &SignedIn) -> bool {
    let is_with_them = pack.is_lent() && pack.with_id() == Some(who.me.person_id);
    is_with_them && !who.me.is_quartermaster
}

/// Until when nobody carries it; None: it may be carried, or nothing dangerous stands against it.
fn leave_until(one: &OnLabel, who: &SignedIn) -> Option<Instant> {
    let until = watched_until(one.watched_since_ms, who);
    until.filter(|_| one.is_danger_known)
}

fn adding(gathering: &Gathering, one: &OnLabel, state: PackState) -> Adding {
    let kind = gathering.kind();
    Adding {
        kind,
        called: called(gathering),
        has_it: gathering.numbers().contains(&one.pack.number.as_str()),
        may_come: may_come(kind, (&one.pack, &one.now), state),
    }
}

/// It can go where it is gathered for, as far as can be told now.
pub(super) fn may_come(kind: Kind, (pack, now): (&PackView, &NowRow), state: PackState) -> bool {
    match kind {
        // Volts that lack are logged when it is handed out, and a pack somebody forgot to book in is taken back there.
        Kind::HandOut => !state.goes_to_nobody() && !now.is_charging() && !pack.is_at_home(),
        Kind::TakeBack => pack.is_lent(),
    }
}

/// `Ada's hand-out`, `the take-back`
pub(super) fn called(gathering: &Gathering) -> String {
    match (gathering.kind(), &gathering.borrower_name) {
        (Kind::TakeBack, _) => "the take-back".to_owned(),
        (Kind::HandOut, Some(name)) => format!("{name}'s hand-out"),
        (Kind::HandOut, None) => "the hand-out".to_owned(),
    }
}
