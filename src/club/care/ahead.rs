//! What will be due for a pack, told day by day ahead by the very rules that tell what is due now, as if nothing happened until then.

use super::due::{Due, OnRecord, due};
use super::rules::CareRules;
use crate::club::calendar::{Day, Instant, Zone};

/// So many days ahead are looked at: past the longest time between two readings that a club may set.
pub const DAYS: i64 = 120;

/// Each reason once, with the day on which it is first due; what is due already, with the day since when.
pub fn ahead(pack: &OnRecord, rules: &CareRules, now: Instant, zone: &Zone) -> Vec<(Day, Due)> {
    let dated = |due: Due| (zone.day_of(due.since.min(now)), due);
    let mut found: Vec<(Day, Due)> = due(pack, rules, now, zone).into_iter().map(dated).collect();
    let today = zone.day_of(now);
    for day in (0..=DAYS).map(|days| today.plus_days(days)) {
        let end = Instant(zone.end_of(day).ms() - 1);
        for new in due(pack, rules, end, zone) {
            if found.iter().all(|(_, known)| known.reason != new.reason) {
                found.push((day, new));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::care::due::Reason;
    use crate::club::care::scenes_tests::*;

    fn told(days: i64, cell_mv: i64) -> Vec<(String, Reason)> {
        let all = ahead(
            &lipo(read(days, cell_mv)),
            &CareRules::default(),
            now(),
            &Zone::utc(),
        );
        let each = all.iter().map(|(day, due)| (day.to_string(), due.reason));
        each.collect()
    }

    /// It is midnight, 2026-11-26. 3 days full: common practice; every 90 days: a battery maker's storage note asks for 3 months.
    #[test]
    fn a_full_pack_is_due_three_days_after_it_was_read_and_a_stored_one_to_be_read_after_ninety() {
        let full = told(0, 4_180);
        assert_eq!(full[0], ("2026-11-29".to_owned(), Reason::AboveBand));
        let stored = told(10, 3_820);
        assert_eq!(stored, [("2027-02-14".to_owned(), Reason::NotLookedAt)]);
    }

    #[test]
    fn what_is_due_already_stands_on_its_own_day_and_once() {
        let full = told(5, 4_180);
        let days: Vec<&str> = full
            .iter()
            .filter(|(_, reason)| *reason == Reason::AboveBand)
            .map(|(day, _)| day.as_str())
            .collect();
        assert_eq!(days.len(), 1);
        assert!(days[0] <= "2026-11-26", "{days:?}");
    }
}
