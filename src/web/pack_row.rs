//! A pack as a page shows it: state in a word and a sentence, cell picture, what it is, where or with whom, last seen and read.

use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::volts::{Volts, words};
use crate::bench::typed::Words;
use crate::club::calendar::Day;
use crate::club::reading::{Rested, log_again_at};
use crate::club::states::{Life, State};
use crate::store::packs::PackView;
use crate::web::kit::capital;
use crate::web::picture::CellPicture;
use crate::web::visit::SignedIn;
use crate::web::words::{Due, When, clock, due, past};

pub struct LogAgain {
    pub at: When,
    /// The time has come.
    pub is_rested: bool,
}

pub struct PackRow {
    pub id: uuid::Uuid,
    pub number: String,
    pub state: State,
    pub code: &'static str,
    pub label: &'static str,
    pub why: String,
    pub next: String,
    pub log_again: Option<LogAgain>,
    pub what: String,
    /// Empty: it is not in the club any more.
    pub where_words: String,
    /// None: it is here, or the asking person may not know.
    pub due: Option<Due>,
    pub seen: When,
    pub read: When,
    /// Its last reading is older than its last sight.
    pub was_read_before: bool,
    pub volts: String,
    pub is_lent: bool,
    build: Build,
    limits: CellLimits,
    spread_watch_mv: i64,
    cells: Option<Volts>,
    numbers: Words,
}

impl PackRow {
    pub fn of(pack: &PackView, who: &SignedIn) -> Self {
        let (state, why, next) = pack.told_at(who.now, &who.club.limits());
        let volts = pack.volts();
        let numbers = who.numbers();
        Self {
            id: pack.id,
            number: pack.number.clone(),
            state,
            code: state.code(),
            label: state.label(),
            why: numbers.sentence(&why),
            next: numbers.sentence(&next),
            log_again: log_again(pack, state, who),
            what: numbers.sentence(&what_it_is(pack)),
            where_words: where_it_is(pack, who),
            due: due_of(pack, who),
            seen: past(pack.seen_ms, who.now, &who.zone),
            was_read_before: pack.last_read_ms.is_some_and(|at| at < pack.seen_ms),
            read: pack.last_read_ms.map_or_else(
                || When {
                    words: "never read".to_owned(),
                    ..When::default()
                },
                |at| past(at, who.now, &who.zone),
            ),
            volts: volts
                .as_ref()
                .map_or_else(String::new, |volts| numbers.sentence(&words(volts))),
            is_lent: pack.is_lent(),
            build: pack.build(),
            limits: who.club.limits().of_cell(&pack.build()),
            spread_watch_mv: who.club.limits().spread_watch_mv,
            cells: volts,
            numbers,
        }
    }

    pub fn small(&self) -> String {
        picture(
            (&self.build, &self.limits, self.spread_watch_mv),
            self.cells.as_ref(),
            self.numbers,
            |picture| picture.small(),
        )
    }

    pub fn large(&self) -> String {
        picture(
            (&self.build, &self.limits, self.spread_watch_mv),
            self.cells.as_ref(),
            self.numbers,
            |picture| picture.large(),
        )
    }
}

/// When its cells are to be logged again, because the last reading came too soon to judge the spread between them.
fn log_again(pack: &PackView, state: State, who: &SignedIn) -> Option<LogAgain> {
    let is_asked = state.is_lendable() || state == State::SetAside;
    if !is_asked || !who.me.roles().may_log_volts() {
        return None;
    }
    let rested = Rested::of_minutes(pack.last_rested_minutes?);
    let limits = who.club.limits();
    let at = log_again_at(&pack.volts()?, rested, pack.last_read_ms?, &limits)?;
    Some(LogAgain {
        at: clock(at, who.now, &who.zone),
        is_rested: at <= who.now,
    })
}

/// `LiPo 3S 450 mAh, XT30, 5.0 Wh`
pub fn what_it_is(pack: &PackView) -> String {
    let build = pack.build();
    let groups = if build.groups_parallel > 1 {
        format!("{}P", build.groups_parallel)
    } else {
        String::new()
    };
    format!(
        "{} {}S{groups} {} mAh, {}, {}",
        build.chemistry.label(),
        build.cells_series,
        build.capacity_mah,
        pack.connector_name(),
        build.energy_words()
    )
}

/// A member reads who has a pack only of own loans.
impl PackRow {
    /// Where it is, at the head of a sentence.
    pub fn where_first(&self) -> String {
        capital(&self.where_words)
    }
}

pub(super) fn where_it_is(pack: &PackView, who: &SignedIn) -> String {
    if matches!(pack.life(), Life::Lost | Life::GivenAway | Life::Withdrawn) {
        return String::new();
    }
    if !pack.is_away() {
        return pack
            .place_name
            .clone()
            .unwrap_or_else(|| "no place named".to_owned());
    }
    let with = if is_with(pack, who) {
        Some("you")
    } else {
        let may_see = who.me.roles().may_see_holders();
        pack.with_name().filter(|_| may_see)
    };
    match (pack.is_lent(), with) {
        (true, Some(name)) => format!("out: {name}"),
        (true, None) => "out".to_owned(),
        (false, Some(name)) => format!("at home with {name}"),
        (false, None) => "at somebody's home".to_owned(),
    }
}

fn is_with(pack: &PackView, who: &SignedIn) -> bool {
    pack.with_id() == Some(who.me.person_id)
}

fn due_of(pack: &PackView, who: &SignedIn) -> Option<Due> {
    let may_know = is_with(pack, who) || who.me.roles().may_see_holders();
    let home_by = pack.home_by.as_deref().and_then(Day::parse);
    let day = if pack.is_lent() {
        pack.due_day()
    } else {
        home_by
    };
    let day = day.filter(|_| may_know);
    day.map(|day| due(day, who.zone.day_of(who.now)))
}

fn picture(
    of: (&Build, &CellLimits, i64),
    volts: Option<&Volts>,
    numbers: Words,
    draw: impl Fn(&CellPicture<'_>) -> String,
) -> String {
    let (build, limits, spread_watch_mv) = of;
    let none = Vec::new();
    let (cells, pack_mv) = match volts {
        Some(Volts::Cells(cells)) => (cells, None),
        Some(Volts::Pack(mv)) => (&none, Some(*mv)),
        None => (&none, None),
    };
    draw(&CellPicture {
        cells_mv: cells,
        pack_mv,
        cells_series: build.cells_series,
        empty_mv: limits.empty_mv,
        full_mv: limits.full_mv,
        over_mv: limits.over_full_warn_mv,
        minimum_mv: limits.minimum_mv,
        storage_low_mv: limits.storage_low_mv,
        storage_high_mv: limits.storage_high_mv,
        low_word: build.chemistry.low_word(),
        standing_out: standing_out(cells, spread_watch_mv),
        numbers,
    })
}

/// The cell farthest from the middle, when the spread is a caution in this club.
fn standing_out(cells: &[i64], spread_watch_mv: i64) -> Option<usize> {
    let low = *cells.iter().min()?;
    let high = *cells.iter().max()?;
    if high - low <= spread_watch_mv {
        return None;
    }
    let mut sorted = cells.to_vec();
    sorted.sort_unstable();
    let middle = sorted[sorted.len() / 2];
    let odd = if middle - low >= high - middle {
        low
    } else {
        high
    };
    cells.iter().position(|mv| *mv == odd)
}
