//! How far a cell's volts may still lie from where they settle, by how long it has rested. After a load they rise, after a
//! charge they fall: nobody knows which, so a band opens to both sides. Minutes, V.

/// From here on volts tell a cell's charge.
pub const SETTLED_MINUTES: i64 = 60;
/// From here on they tell how far cells stand apart, and a charge roughly.
pub const NEARLY_MINUTES: i64 = 15;

/// A model LiCoO2 pouch cell after 1C and after 5C (PyBaMM DFN, Ai et al. 2020; `relaxation.csv`): up to 1.7 mV from an hour on,
/// 7.5 from a quarter of one, 93 half a minute after 5C. Other chemistries are taken alike: common practice, no source.
pub const fn unsettled_v(rested_minutes: i64) -> f64 {
    match rested_minutes {
        SETTLED_MINUTES.. => 0.002,
        NEARLY_MINUTES..SETTLED_MINUTES => 0.008,
        _ => 0.1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::reference::{number, rows};

    #[test]
    fn a_physical_cell_lies_as_far_from_settled_as_is_told_and_no_farther() {
        let rows = rows("relaxation.csv");
        for rest in [
            0..NEARLY_MINUTES,
            NEARLY_MINUTES..SETTLED_MINUTES,
            SETTLED_MINUTES..i64::MAX,
        ] {
            let within = rows.iter().filter(|row| {
                let minutes = number(row, "minutes_rested").floor() as i64;
                rest.contains(&minutes)
            });
            let off_v = within.map(|row| number(row, "mv_from_settled").abs() / 1_000.0);
            let most_v = off_v.fold(0.0, f64::max);
            let told_v = unsettled_v(rest.start);
            assert!(
                most_v <= told_v && told_v <= most_v * 1.25,
                "{rest:?}: {most_v}, {told_v}"
            );
        }
    }
}
