//! Volts that hardly any pack shows, typed while a whole list is worked through: asked about before anything is stored, so that a
//! slip of the finger neither hides a pack nor puts it in quarantine. What is asked, and whether it may be so.

use super::one_cell::{is_strange, put_right};
use super::{Rested, judge, named, wrong_count};
use crate::battery::pack::Build;
use crate::battery::volts::{Volts, volts_words};
use crate::club::limits::ClubLimits;
use crate::club::verdict::Gravity;

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{words}")]
pub struct AskedFirst {
    pub words: String,
    /// A cell may be dead or missing or far too full; no pack has more cells than it has.
    pub may_be_so: bool,
}

/// None: it is stored as it was typed. With as many volts as the pack has cells, a cell that is believed and dangerous counts at
/// once, whatever another one was typed as: a lost report may cost a fire. So it does among too few, where a cell can show each of
/// them; beside one that none shows nobody knows which cells were typed.
pub fn asked_first(
    build: &Build,
    volts: &Volts,
    rested: Rested,
    limits: &ClubLimits,
) -> Option<AskedFirst> {
    let table = limits.tightened().of_cell(build);
    let count = wrong_count(build, volts, false).into_iter().next();
    let is_danger = || {
        let found = judge(build, volts, rested, limits);
        found.iter().any(|one| one.gravity >= Gravity::Danger)
    };
    let read = named(build, volts);
    let strange: Vec<_> = read.iter().filter(|one| is_strange(one, &table)).collect();
    let has_more = matches!(volts, Volts::Cells(cells) if i64::try_from(cells.len()).unwrap_or(i64::MAX) > build.cells_series);
    let are_its_cells = count.is_none() || !has_more && strange.is_empty();
    if are_its_cells && is_danger() {
        return None;
    }
    let strange = strange.iter().map(|one| {
        let (low, high) = (table.plausible_low_mv, table.plausible_high_mv);
        let (value, next) = (volts_words(one.mv), put_right(one, &table));
        let (low, high) = (volts_words(low), volts_words(high));
        format!("{} with {value} V: hardly any cell shows less than {low} or more than {high} V. {next}", one.name)
    });
    let counted = count.iter().map(|found| {
        let words = found.words.replace(" logged is ", " typed is ");
        format!("{words} {}", found.next)
    });
    let all: Vec<String> = counted.chain(strange).collect();
    (!all.is_empty()).then(|| AskedFirst {
        words: all.join(" "),
        may_be_so: !has_more,
    })
}

#[cfg(test)]
#[path = "asked_first_tests.rs"]
mod tests;
