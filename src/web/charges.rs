//! GET /charges, what charges now and who stays with it; one charge, its end, and reading back after a power cut.

use crate::actions::charging::{self, ChargeRefusal};
use crate::actions::condition::Looked;
use crate::app::App;
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::{Volts, words};
use crate::bench::charger::Mode;
use crate::bench::plan::{self, expected_words, mode_words};
use crate::bench::typed::Words;
use crate::club::besides::set_aside_words;
use crate::club::charging::Outcome;
use crate::store::charges::now::has_outputs;
use crate::store::charges::{self, Listed};
use crate::web::asked::Path;
use crate::web::charge_card::{self, long, purpose_words};
use crate::web::charge_logs;
use crate::web::charging_now::{on, watched};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock, past};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

mod end;

pub use end::end;

page::puts_right!(ChargePage);

#[derive(Template)]
#[template(path = "charges.html")]
struct ChargesPage {
    shell: Shell,
    rows: Vec<Row>,
    is_quartermaster: bool,
}

struct Row {
    id: Uuid,
    pack_number: String,
    what: String,
    charger: String,
    /// Empty: it must be stopped.
    current: String,
    /// Why it must be.
    stop: &'static str,
    since: When,
    /// When it is done at the latest.
    until: When,
    is_over: bool,
    watched: String,
    /// Since when, where it was handed to them.
    watched_since: Option<When>,
}

impl Row {
    fn of(one: &Listed, who: &SignedIn) -> Self {
        let charge = &one.charge;
        let until = charge.started_ms.plus_minutes(charge.most_minutes);
        Self {
            id: charge.id,
            pack_number: one.pack_number.clone(),
            what: one.design_name.clone(),
            charger: on(
                &one.charger_number,
                charge.output,
                has_outputs(&one.charger_spec),
            ),
            current: if one.must_stop() {
                String::new()
            } else {
                who.numbers().amps(charge.current_ma)
            },
            stop: match one.set_aside().is_empty() {
                true => "the pack is not fit any more",
                false => "what it charges with was set aside",
            },
            since: past(charge.started_ms, who.now, &who.zone),
            until: clock(until, who.now, &who.zone),
            is_over: until < who.now,
            watched: watched((charge.watched_by, one.watched_name.as_deref()), who),
            watched_since: charge.watched_ms.map(|at| clock(at, who.now, &who.zone)),
        }
    }
}

/// GET /charges
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let running = charges::running(&mut app.db.read().await?).await?;
    page::show(&ChargesPage {
        shell: who.shell("Charging now"),
        rows: running.iter().map(|one| Row::of(one, &who)).collect(),
        is_quartermaster: who.me.is_quartermaster,
    })
}

#[derive(Template)]
#[template(path = "charge_one.html")]
struct ChargePage {
    shell: Shell,
    problems: Problems,
    row: Row,
    one: Listed,
    purpose: &'static str,
    mode: &'static str,
    read_back: String,
    /// Why it must be stopped at once; empty: it may go on.
    must_stop: String,
    stop_if: &'static str,
    cut_off: String,
    expected: String,
    read_again: Option<When>,
    /// When the pack was taken back while it charged.
    pack_back: Option<When>,
    ended: Option<Over>,
    /// Charge logs that may be of it.
    logs: Vec<(Uuid, String)>,
    may_end: bool,
    /// Whoever looks stays with it.
    is_mine: bool,
    is_quartermaster: bool,
    me: Uuid,
    may_bring_in: bool,
    form: EndForm,
    outcomes: [(&'static str, &'static str); 3],
}

/// How it ended.
struct Over {
    at: When,
    how: &'static str,
    moved: String,
    took: String,
    /// Read as it ended; empty: none were, or they were corrected.
    volts: String,
    words: String,
}

#[derive(Default)]
struct EndForm {
    outcome: String,
    mah: String,
    /// As with volts.
    mah_to_confirm: String,
    mah_confirmed: String,
    volts: String,
    /// What the tick stands for that says that the volts are so, and whether it is set; empty: nothing is asked.
    to_confirm: String,
    confirmed: String,
    words: String,
    looked: Looked,
}

async fn one(app: &App, id: Uuid) -> Result<Listed, PageError> {
    charges::by_id(&mut app.db.read().await?, id)
        .await?
        .ok_or(PageError::NotFound)
}

fn page_of(who: &SignedIn, one: Listed, shell: Shell, form: EndForm) -> ChargePage {
    let (charge, numbers) = (&one.charge, who.numbers());
    let mode = Mode::from_code(&charge.mode).map_or("", mode_words);
    let verb = if charge.is_charge() { "in" } else { "out" };
    ChargePage {
        problems: Problems::default(),
        row: Row::of(&one, who),
        purpose: purpose_words(&charge.purpose),
        read_back: read_back_words(&one, numbers),
        must_stop: must_stop(&one, numbers),
        stop_if: Chemistry::from_code(&one.chemistry).map_or("", charge_card::stop_if),
        cut_off: format!(
            "{}, {}",
            numbers.mah(charge.cutoff_mah),
            long(charge.cutoff_minutes)
        ),
        expected: format!(
            "{} {verb}",
            expected_words(
                (charge.least_mah, charge.most_mah),
                charge.cutoff_mah,
                one.capacity_mah
            )
        ),
        read_again: charge.read_back_ms.map(|at| past(at, who.now, &who.zone)),
        pack_back: one.pack_back_ms.map(|at| past(at, who.now, &who.zone)),
        ended: over(&one, who, numbers),
        logs: Vec::new(),
        may_bring_in: who.me.roles().may_log_volts(),
        is_mine: charge.watched_by == who.me.person_id,
        is_quartermaster: who.me.is_quartermaster,
        me: who.me.person_id,
        may_end: charge.ended_ms.is_none() && who.me.roles().may_log_volts(),
        mode,
        form,
        outcomes: Outcome::ALL.map(|each| (each.code(), each.label())),
        shell,
        one,
    }
}

/// Why it must be stopped at once; empty: it may go on.
pub(super) fn must_stop(one: &Listed, numbers: Words) -> String {
    if !one.must_stop() {
        return String::new();
    }
    let aside = one.set_aside().into_iter();
    let mut said: Vec<String> = aside
        .map(|(number, why)| set_aside_words(number, why))
        .collect();
    if !one.pack_state().shows_settings() {
        said.push(pack_words(one, numbers));
    }
    said.join(" ")
}

fn pack_words(one: &Listed, numbers: Words) -> String {
    let why = numbers.sentence(&one.pack_state_words);
    let next = numbers.sentence(&one.pack_state_next);
    let said = format!(
        "{}: {}. {why} {next}",
        one.pack_number,
        one.pack_state().label()
    );
    said.trim_end().to_owned()
}

/// As its card had it.
pub(super) fn read_back_words(one: &Listed, numbers: Words) -> String {
    let charge = &one.charge;
    let known = Chemistry::from_code(&one.chemistry).zip(Mode::from_code(&charge.mode));
    known.map_or_else(String::new, |(chemistry, mode)| {
        plan::read_back_words(
            (chemistry, one.cells_series),
            (mode, charge.is_charge()),
            (
                &numbers.volts(charge.target_mv),
                &numbers.amps(charge.current_ma),
            ),
        )
    })
}

fn over(one: &Listed, who: &SignedIn, numbers: Words) -> Option<Over> {
    let charge = &one.charge;
    let at = charge.ended_ms?;
    Some(Over {
        at: past(at, who.now, &who.zone),
        how: charge.outcome().map_or("", Outcome::label),
        moved: charge
            .moved_mah
            .map_or_else(String::new, |mah| numbers.mah(mah)),
        took: long(at.minutes_since(charge.started_ms)),
        volts: one
            .end_volts
            .as_deref()
            .and_then(Volts::from_text)
            .map_or_else(String::new, |volts| numbers.sentence(&words(&volts))),
        words: charge.end_words.clone().unwrap_or_default(),
    })
}

/// GET /charges/{id}
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let one = one(&app, id).await?;
    let logs = charge_logs::of_charge(&mut app.db.read().await?, &one.charge, &who).await?;
    let shell = who.shell(format!("{} on {}", one.pack_number, one.charger_number));
    page::show(&ChargePage {
        logs,
        ..page_of(&who, one, shell, EndForm::default())
    })
}

/// A form of its page was refused, and nothing was typed.
pub(super) async fn refused(app: &App, who: &SignedIn, id: Uuid, problems: Problems) -> Page {
    let one = one(app, id).await?;
    let shell = who.shell_refused(format!("{} on {}", one.pack_number, one.charger_number));
    page::put_right(&ChargePage {
        problems,
        ..page_of(who, one, shell, EndForm::default())
    })
}

/// POST /charges/{id}/read-back
pub async fn read_back(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    match charging::read_back(&app.db, &who.by(&fields), id).await {
        Ok(address) => page::go_to(&address),
        Err(ChargeRefusal::Repeat(repeat)) => again(&repeat),
        Err(ChargeRefusal::Store(error)) => Err(error.into()),
        Err(ChargeRefusal::NoCharge) => Err(PageError::NotFound),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
