//! The figures of what the volts of a reading say: what its cell read, and the limit that it is past, as the words of the finding have
//! them. V.

use super::reason::{Figure, Unit};
use crate::battery::pack::Build;
use crate::battery::volts::Volts;
use crate::club::limits::ClubLimits;
use crate::club::reading::OUT_OF_SERVICE_MV;
use crate::club::verdict::{Finding, Rule};

/// `volts`: those that it was found by. None: it goes by no limit of volts.
pub fn figured(
    finding: &Finding,
    (build, volts): (&Build, &Volts),
    club: &ClubLimits,
) -> Option<Figure> {
    let limits = club.tightened();
    let table = limits.of_cell(build);
    let limit_mv = match finding.rule {
        Rule::SpreadOut if is_far(volts) => OUT_OF_SERVICE_MV,
        Rule::SpreadOut | Rule::SpreadWide => limits.spread_wide_mv,
        Rule::SpreadWatch => limits.spread_watch_mv,
        Rule::OverDischarged => table.minimum_mv,
        Rule::Empty => table.empty_mv,
        Rule::OverCharged => table.over_full_mv,
        Rule::OverFullWarn => table.over_full_warn_mv,
        _ => return None,
    };
    let is_low = matches!(finding.rule, Rule::OverDischarged | Rule::Empty);
    let mv = match volts {
        _ if finding.rule.is_of_spread() => volts.spread_mv()?,
        Volts::Cells(cells) => *cells.get(finding.cell?.checked_sub(1)?)?,
        Volts::Pack(_) if is_low => volts.lowest_mv(build.cells_series),
        Volts::Pack(_) => volts.highest_mv(build.cells_series),
    };
    let v = |mv: i64| mv as f64 / 1_000.0;
    Some(Figure {
        value: v(mv),
        limit: v(limit_mv),
        unit: Unit::Volts,
    })
}

/// Cells that failed twice stand out by less.
fn is_far(volts: &Volts) -> bool {
    volts.spread_mv().is_some_and(|mv| mv > OUT_OF_SERVICE_MV)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::club::health::scenes_tests::lipo;
    use crate::club::reading::{Rested, judge};

    #[test]
    fn what_volts_say_has_the_cell_the_volts_and_the_limit_of_its_words() {
        let (build, club) = (lipo().build, ClubLimits::default());
        for (cells, rule, cell, value, limit) in [
            ([3_900, 3_600, 3_900], Rule::SpreadOut, None, 0.3, 0.2),
            ([3_900, 3_750, 3_900], Rule::SpreadWide, None, 0.15, 0.1),
            ([3_900, 3_860, 3_900], Rule::SpreadWatch, None, 0.04, 0.03),
            (
                [3_100, 2_900, 3_100],
                Rule::OverDischarged,
                Some(2),
                2.9,
                3.0,
            ),
            (
                [4_200, 4_200, 4_240],
                Rule::OverFullWarn,
                Some(3),
                4.24,
                4.23,
            ),
            (
                [4_260, 4_200, 4_200],
                Rule::OverCharged,
                Some(1),
                4.26,
                4.25,
            ),
        ] {
            let volts = Volts::Cells(cells.to_vec());
            let found = judge(&build, &volts, Rested::AN_HOUR, &club);
            let finding = found
                .iter()
                .find(|each| each.rule == rule)
                .expect("it is found");
            let figure = figured(finding, (&build, &volts), &club).expect("a figure");
            assert_eq!(
                (finding.cell, figure.value, figure.limit),
                (cell, value, limit),
                "{rule:?}"
            );
        }
        let seen = Finding::never_read();
        let volts = Volts::Cells(vec![3_900; 3]);
        assert_eq!(figured(&seen, (&build, &volts), &club), None);
    }
}
