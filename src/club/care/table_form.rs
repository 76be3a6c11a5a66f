//! What is wrong with a table of storage as it was typed: each wrong figure once, at its own field, and nothing of those that are only
//! held against it. A figure that can't be bounds no other; of those that contradict each other the one that is new is wrong, and of these
//! the one that contradicts most. Days.

use super::rule_form::{NO_SOURCE, RuleRefusal, cell};
use super::rules::{StorageTable, WAIT_DAYS, Wait};

const ROWS: usize = 3;
const COLUMNS: usize = 4;

type Place = (usize, usize);

/// In the order of the form.
pub(super) fn check(storage: &StorageTable, stood: &StorageTable) -> Vec<RuleRefusal> {
    let both = (storage, stood);
    let limits = apart(both, "limit", |wait| wait.limit_days);
    let is_wrong = |field: &str| limits.iter().any(|(_, refused)| refused.field() == field);
    let mut reminds = apart(both, "remind", |wait| wait.remind_days);
    for (row, column) in places() {
        let wait = storage.rows[row][column];
        let field = cell("remind", row, column);
        let is_told = reminds.iter().any(|(_, refused)| refused.field() == field);
        if wait.remind_days > wait.limit_days && !is_told && !is_wrong(&cell("limit", row, column))
        {
            reminds.push(((row, column), RuleRefusal::RemindsLate { field }));
        }
    }
    let mut all: Vec<(Place, RuleRefusal)> = reminds.into_iter().chain(limits).collect();
    all.sort_by_key(|(place, _)| *place);
    all.into_iter().map(|(_, refused)| refused).collect()
}

fn places() -> impl Iterator<Item = Place> {
    (0..ROWS).flat_map(|row| (0..COLUMNS).map(move |column| (row, column)))
}

/// Of one kind of figure: those that can't be, and those that contradict others.
fn apart(
    (storage, stood): (&StorageTable, &StorageTable),
    kind: &str,
    of: fn(&Wait) -> i64,
) -> Vec<(Place, RuleRefusal)> {
    let value = |(row, column): Place| of(&storage.rows[row][column]);
    let is_new =
        |(row, column): Place| of(&storage.rows[row][column]) != of(&stood.rows[row][column]);
    let field = |(row, column): Place| cell(kind, row, column);
    let (mut left, wrong): (Vec<Place>, Vec<Place>) =
        places().partition(|place| WAIT_DAYS.contains(&value(*place)));
    let cannot_be = wrong.into_iter().map(|place| {
        let field = field(place);
        (place, RuleRefusal::Wait { field })
    });
    let mut refused: Vec<(Place, RuleRefusal)> = cannot_be.collect();
    while let Some(odd) = oddest(&left, &value, &is_new) {
        left.retain(|place| *place != odd);
        let at_most = before(&left, odd).map(value).min();
        let at_least = after(&left, odd).map(value).max();
        let field = field(odd);
        let told = match (at_most, at_least) {
            (Some(at_most), _) if value(odd) > at_most => RuleRefusal::Kinder { field, at_most },
            (_, Some(at_least)) => RuleRefusal::Harsher { field, at_least },
            _ => continue,
        };
        refused.push((odd, told));
    }
    refused
}

/// The less full and colder ones, which may lie as long or longer.
fn before(all: &[Place], (row, column): Place) -> impl Iterator<Item = Place> {
    let is_before = move |place: &&Place| place.0 <= row && place.1 <= column;
    let others = all.iter().filter(is_before).copied();
    others.filter(move |place| *place != (row, column))
}

fn after(all: &[Place], (row, column): Place) -> impl Iterator<Item = Place> {
    let is_after = move |place: &&Place| place.0 >= row && place.1 >= column;
    let others = all.iter().filter(is_after).copied();
    others.filter(move |place| *place != (row, column))
}

/// The one that is new and contradicts most others; of two alike the fuller and warmer. None: nothing contradicts anything.
fn oddest(
    left: &[Place],
    value: &impl Fn(Place) -> i64,
    is_new: &impl Fn(Place) -> bool,
) -> Option<Place> {
    let count = |place: Place| {
        let kinder = before(left, place).filter(|other| value(*other) < value(place));
        let harsher = after(left, place).filter(|other| value(*other) > value(place));
        kinder.count() + harsher.count()
    };
    let counted = left
        .iter()
        .map(|place| (is_new(*place), count(*place), *place));
    let odd = counted.filter(|(_, count, _)| *count > 0).max()?;
    Some(odd.2)
}

/// Where the days come from that a field of the table starts with.
pub fn source(kind: &str, (row, column): Place) -> &'static str {
    match (kind, row, column) {
        ("limit", 2, 1) => "harm possible after a week full, an RC vendor's storage note",
        ("limit", 0, 0 | 1) => "not used for more than 14 days, a university flight lab",
        _ => NO_SOURCE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(kind: &str, (row, column): Place, days: i64) -> Vec<(String, String)> {
        let mut storage = StorageTable::default();
        let wait = &mut storage.rows[row][column];
        match kind {
            "remind" => wait.remind_days = days,
            _ => wait.limit_days = days,
        }
        let all = check(&storage, &StorageTable::default());
        all.iter()
            .map(|one| (one.field().to_owned(), one.to_string()))
            .collect()
    }

    #[test]
    fn one_wrong_figure_is_told_once_and_at_its_own_field() {
        for place in places() {
            for kind in ["remind", "limit"] {
                for days in [-1, 0, 1, 14, 15, 50] {
                    let all = told(kind, place, days);
                    let field = cell(kind, place.0, place.1);
                    assert!(all.len() <= 1, "{field} {days}: {all:?}");
                    assert!(
                        all.iter()
                            .all(|(at, _)| at.ends_with(&field[field.len() - 4..])),
                        "{field} {days}: {all:?}"
                    );
                }
            }
        }
        assert_eq!(
            check(&StorageTable::default(), &StorageTable::default()),
            []
        );
    }

    #[test]
    fn what_is_wrong_says_how_many_days_there_may_be() {
        let words = |kind, place, days| told(kind, place, days).remove(0).1;
        assert_eq!(words("limit", (0, 0), 50), "Choose 1 to 14 days.");
        assert_eq!(
            words("limit", (2, 3), 4),
            "A fuller or warmer pack may not lie longer: 3 days at most."
        );
        let kinder = RuleRefusal::Kinder {
            field: "remind_2_3".to_owned(),
            at_most: 1,
        };
        assert!(kinder.to_string().ends_with("1 day at most."));
        assert_eq!(
            words("limit", (0, 0), 1),
            "A fuller or warmer pack may lie longer then: 14 days at least, or fewer there."
        );
    }
}
