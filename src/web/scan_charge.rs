//! How the pack behind a label is charged, before a charger is chosen: the current it takes at most where it lies, and about how
//! long that takes; or why it must not be charged now. The card asks more.

use crate::actions::charging::{Conditions, of_pack};
use crate::battery::charge;
use crate::bench::plan::{self, AtMost, By, MILD_CELSIUS, Purpose, Warmth, at_most};
use crate::bench::typed::Words;
use crate::club::charging::{NoSettings, may_have_settings};
use crate::club::reading::still_tells_charge;
use crate::club::states::State as PackState;
use crate::store::labels::OnLabel;
use crate::web::pack::charge_between;
use crate::web::visit::SignedIn;
use crate::web::words::{When, past};

/// How to charge it; only of a pack that is fit or cautioned.
pub(super) struct Settings {
    pub(super) chemistry: &'static str,
    pub(super) cells: i64,
    pub(super) connector: String,
    pub(super) balance: Option<String>,
    /// Empty: there is none now.
    pub(super) current: String,
    /// `1C`
    pub(super) rate: String,
    pub(super) by: By,
    /// `about 45 to 65 minutes, from 3.75 V a cell`; empty: its volts do not tell it.
    pub(super) time: String,
    /// Its last reading no longer tells what is in it.
    pub(super) log_first: bool,
    pub(super) is_full: bool,
    /// Why it must not be charged now, or need not be.
    pub(super) dont: Vec<String>,
    pub(super) is_charging: bool,
    pub(super) read: When,
    /// `0 and 45 °C`
    pub(super) between: String,
}

/// The same in numbers.
pub(super) struct Charging {
    pub(super) rate_c_tenths: i64,
    /// None: its volts are too old for any setting, or it must not be charged now.
    pub(super) current_ma: Option<i64>,
    pub(super) by: By,
    /// To full, and from which volts of a cell.
    pub(super) about: Option<(charge::About, i64)>,
    pub(super) log_first: bool,
    /// A finished charge filled it, which its volts don't tell.
    pub(super) is_full: bool,
    pub(super) is_running: bool,
    /// Why it must not be charged now, or need not be, in sentences.
    pub(super) dont: Vec<String>,
}

impl Charging {
    /// As it is charged in ordinary use, with somebody there, where it lies.
    pub(super) fn of(one: &OnLabel, who: &SignedIn) -> Self {
        let (pack, limits) = (&one.pack, who.club.limits());
        let build = pack.build();
        let club_rate = limits.charge_c_tenths(build.chemistry);
        let by_label = charge::rate_c_tenths(club_rate, pack.label_charge_c_tenths);
        let is_running = one.now.is_charging();
        let record = one.lately.on_record(pack, (PackState::Fit, is_running));
        let settings = may_have_settings(&record, who.now);
        let mut told = Self {
            rate_c_tenths: by_label,
            current_ma: None,
            by: if by_label < club_rate {
                By::Label
            } else {
                By::Club
            },
            about: None,
            log_first: settings.is_err_and(NoSettings::wants_volts),
            is_full: settings == Err(NoSettings::Filled),
            is_running,
            dont: Vec::new(),
        };
        let celsius = one.lately.usual_celsius(pack).or(Some(MILD_CELSIUS));
        let conditions = Conditions {
            purpose: Purpose::NoHurry { there_minutes: 0 },
            done_within: None,
            warmth: Warmth {
                pack_celsius: celsius,
                room_celsius: celsius,
                pack_is_measured: false,
            },
        };
        let question = of_pack(pack, &one.lately, conditions, (who.now, &limits));
        let question = question.filter(|_| settings.is_ok());
        match question.as_ref().map(at_most) {
            Some(AtMost::Ma(most)) => {
                told.rate_c_tenths = most.c_tenths;
                told.by = most.by;
                told.current_ma = Some(charge::settable_ma(most.ma));
                let read = (pack.last_read_ms, pack.last_rested_minutes);
                let is_fresh = still_tells_charge(read, pack.lent_ms, who.now, &limits);
                told.log_first = !is_fresh;
                let asked = question.as_ref().filter(|_| is_fresh);
                told.about = asked.and_then(|asked| about(&asked.pack, celsius, most.ma));
            }
            Some(AtMost::Stop(words)) => told.dont = words,
            Some(AtMost::Nothing(words)) => told.dont = vec![words],
            None => {}
        }
        told
    }
}

fn about(pack: &plan::Pack, celsius: Option<i64>, most_ma: i64) -> Option<(charge::About, i64)> {
    let rested = pack.rested(celsius.unwrap_or(MILD_CELSIUS));
    let cell_mv = pack.volts.total_mv() / pack.build.cells_series.max(1);
    charge::about(&rested, charge::settable_ma(most_ma)).map(|about| (about, cell_mv))
}

pub(super) fn settings(one: &OnLabel, who: &SignedIn) -> Settings {
    let pack = &one.pack;
    let (build, numbers) = (pack.build(), who.numbers());
    let charging = Charging::of(one, who);
    Settings {
        chemistry: build.chemistry.label(),
        cells: build.cells_series,
        connector: pack.connector_name(),
        balance: pack.balance_name(),
        current: charging
            .current_ma
            .map_or_else(String::new, |ma| numbers.amps(ma)),
        rate: numbers.c_rate(charging.rate_c_tenths),
        by: charging.by,
        time: charging.about.map_or_else(String::new, |(about, cell_mv)| {
            time_words(about, cell_mv, numbers)
        }),
        log_first: charging.log_first,
        is_full: charging.is_full,
        dont: charging
            .dont
            .iter()
            .map(|each| numbers.sentence(each))
            .collect(),
        is_charging: charging.is_running,
        between: charge_between(who),
        read: pack
            .last_read_ms
            .map_or_else(When::default, |at| past(at, who.now, &who.zone)),
    }
}

fn time_words(about: charge::About, cell_mv: i64, numbers: Words) -> String {
    let (least, most) = (about.least_minutes, about.most_minutes);
    let from = numbers.volts(cell_mv);
    match least {
        0 => format!("up to {most} minutes, from {from} a cell"),
        _ => format!("about {least} to {most} minutes, from {from} a cell"),
    }
}
