//! What the tests of storage care begin with: packs, stories and a day.

use super::due::{Due, OnRecord, Reason, due};
use super::kept::Kept;
use super::rules::CareRules;
use super::story::{Charge, Dated, LastRead, Lying, Story, Toward, What};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::charging::Outcome;
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;
use crate::club::states::State;

/// Midnight, so that days of the calendar are counted easily.
pub fn now() -> Instant {
    Zone::utc().start_of(Day::parse("2026-11-26").expect("a day"))
}

pub fn days_ago(days: i64) -> Instant {
    now().plus_days(-days)
}

pub fn build(chemistry: Chemistry) -> Build {
    Build {
        chemistry,
        cells_series: 3,
        groups_parallel: 1,
        capacity_mah: 2_200,
        sees_cells: true,
        label: LabelVolts::default(),
    }
}

pub fn lying(chemistry: Chemistry) -> Lying {
    lying_at(chemistry, 20)
}

pub fn lying_at(chemistry: Chemistry, celsius: i64) -> Lying {
    Lying::of(build(chemistry), &ClubLimits::default(), Some(celsius))
}

/// Three cells alike, rested an hour.
pub fn read(days: i64, cell_mv: i64) -> Story {
    read_cells(days, &[cell_mv; 3])
}

pub fn read_cells(days: i64, cells_mv: &[i64]) -> Story {
    Story {
        read: Some(LastRead {
            at: days_ago(days),
            volts: Volts::Cells(cells_mv.to_vec()),
            rested: Rested::AN_HOUR,
        }),
        since: Vec::new(),
    }
}

impl Story {
    pub fn then(mut self, days: i64, what: What) -> Self {
        let at = days_ago(days);
        self.since.push(Dated { at, what });
        self
    }
}

pub fn done(toward: Toward) -> What {
    What::Charged(Charge {
        toward,
        end: Outcome::Finished,
        is_charge: toward == Toward::Full,
        moved_mah: None,
    })
}

pub fn stopped(toward: Toward, moved_mah: Option<i64>) -> What {
    What::Charged(Charge {
        toward,
        end: Outcome::Stopped,
        is_charge: toward == Toward::Full,
        moved_mah,
    })
}

/// Fit, long in the club, nothing owed.
pub fn pack(lying: Lying, story: Story) -> OnRecord {
    OnRecord {
        state: State::Fit,
        state_why: String::new(),
        state_next: String::new(),
        kept: Kept::default().after(&lying, &story),
        lying,
        story,
        event: None,
        balance_owed_since: None,
        added: days_ago(1_000),
        is_first_check_done: true,
        is_out: false,
    }
}

pub fn lipo(story: Story) -> OnRecord {
    pack(lying(Chemistry::LiPo), story)
}

pub fn due_now(pack: &OnRecord) -> Vec<Due> {
    due_at(pack, now())
}

pub fn due_at(pack: &OnRecord, at: Instant) -> Vec<Due> {
    due(pack, &CareRules::default(), at, &Zone::utc())
}

pub fn reasons(pack: &OnRecord) -> Vec<Reason> {
    due_now(pack).iter().map(|due| due.reason).collect()
}

pub fn only(pack: &OnRecord) -> Due {
    let mut all = due_now(pack);
    assert_eq!(all.len(), 1, "{all:?}");
    all.remove(0)
}
