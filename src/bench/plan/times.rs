//! How long each current takes with one pack: reckoned once for each, and not at all where another has told it already.
//! mA, mW, minutes.

use super::asked::Asked;
use super::stops::Way;
use crate::battery::course::{Course, Rested, down, up, up_balanced};
use std::cell::{Cell, RefCell};
use std::collections::HashMap;

pub struct Times<'a> {
    way: Way,
    /// None where nobody said how warm it is.
    rested: Option<Rested<'a>>,
    /// Its cells are made alike where that is waited for.
    is_balanced: bool,
    within: Option<i64>,
    reckoned: RefCell<HashMap<(i64, i64), Option<Course>>>,
    waited_for: RefCell<HashMap<i64, Option<Course>>>,
    /// With balance and without.
    known: [Known; 2],
}

/// Charged with more current it never takes longer: up to one that is late all are, and from one in time on none is.
struct Known {
    late_ma: Cell<i64>,
    early_ma: Cell<i64>,
}

impl<'a> Times<'a> {
    pub fn of(asked: &'a Asked, way: Way) -> Self {
        let pack = &asked.pack;
        let celsius = asked.warmth.pack_celsius.or(asked.warmth.room_celsius);
        let rested = celsius.map(|celsius| pack.rested(celsius));
        let is_filled = matches!(way, Way::Up { target_mv } if target_mv == pack.limits.full_mv);
        let unknown = || Known {
            late_ma: Cell::new(i64::MIN),
            early_ma: Cell::new(i64::MAX),
        };
        Self {
            way,
            rested,
            is_balanced: is_filled && pack.build.chemistry.is_lithium(),
            within: asked.within_minutes(),
            reckoned: RefCell::default(),
            waited_for: RefCell::default(),
            known: [unknown(), unknown()],
        }
    }

    /// With the time for balancing in it, where that is waited for. None: it would not end.
    pub fn course(&self, current_ma: i64, power_mw: i64, is_balanced: bool) -> Option<Course> {
        let course = self.reckoned(current_ma, power_mw)?;
        if !is_balanced || !self.is_balanced {
            return Some(course);
        }
        if let Some(known) = self.waited_for.borrow().get(&current_ma) {
            return *known;
        }
        let target_mv = self.way.target_mv();
        let rested = self.rested.as_ref();
        let waited = rested.and_then(|rested| up_balanced(rested, course, current_ma, target_mv));
        self.waited_for.borrow_mut().insert(current_ma, waited);
        waited
    }

    pub fn has_deadline(&self) -> bool {
        self.within.is_some()
    }

    pub fn is_within(&self, course: &Course) -> bool {
        self.within.is_none_or(|most| course.most_minutes <= most)
    }

    /// `power_mw`: what its charger can get rid of.
    pub fn is_in_time(&self, current_ma: i64, power_mw: i64, is_balanced: bool) -> bool {
        let is_so = |course: Option<Course>| course.is_some_and(|course| self.is_within(&course));
        // What goes down goes otherwise with each charger: nothing is known of it from another.
        if matches!(self.way, Way::Down { .. }) {
            return is_so(self.course(current_ma, power_mw, is_balanced));
        }
        let known = &self.known[usize::from(is_balanced)];
        if current_ma <= known.late_ma.get() {
            return false;
        }
        if current_ma >= known.early_ma.get() {
            return true;
        }
        let is_in_time = is_so(self.course(current_ma, power_mw, is_balanced));
        if is_in_time {
            known.early_ma.set(current_ma);
        } else {
            known.late_ma.set(current_ma);
        }
        is_in_time
    }

    /// The watts that a charger can get rid of hold back what goes down alone.
    fn reckoned(&self, current_ma: i64, power_mw: i64) -> Option<Course> {
        let power_mw = match self.way {
            Way::Up { .. } => 0,
            Way::Down { .. } => power_mw,
        };
        let key = (current_ma, power_mw);
        if let Some(known) = self.reckoned.borrow().get(&key) {
            return *known;
        }
        let rested = self.rested.as_ref();
        let course = rested.and_then(|rested| match self.way {
            Way::Up { target_mv } => up(rested, current_ma, target_mv),
            Way::Down { target_mv } => down(rested, current_ma, power_mw, target_mv),
        });
        self.reckoned.borrow_mut().insert(key, course);
        course
    }
}

/// The least current in time, between one that may not be and one that is; `is_in_time` never turns false as it rises.
pub fn least_in_time(
    from_ma: i64,
    to_ma: i64,
    step_ma: i64,
    is_in_time: impl Fn(i64) -> bool,
) -> i64 {
    let step = step_ma.max(1);
    let (mut early, mut late) = (0, (to_ma - from_ma) / step);
    while early < late {
        let middle = (early + late) / 2;
        if is_in_time(from_ma + middle * step) {
            late = middle;
        } else {
            early = middle + 1;
        }
    }
    from_ma + late * step
}
