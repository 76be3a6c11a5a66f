//! What was measured: a voltage for each cell, or one for the whole pack. How it is written for people and for storage.
//! Leaves what people type to `typed` (its reader is named here) and what a voltage means to the club's verdict. mV.

pub use super::typed::{VoltsProblem, read_boxes, read_typed};

/// More cells than any hobby pack has; a longer list is a mistake.
pub const CELLS_MAX: usize = 32;
/// More than any pack a club owns reads.
pub const PACK_MV_MAX: i64 = 999_999;

/// Millivolts, cell 1 first.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Volts {
    Cells(Vec<i64>),
    Pack(i64),
}

impl Volts {
    /// `c:3910,3870,3900` or `p:7920`
    pub fn to_text(&self) -> String {
        match self {
            Self::Cells(cells) => {
                let list: Vec<String> = cells.iter().map(i64::to_string).collect();
                format!("c:{}", list.join(","))
            }
            Self::Pack(mv) => format!("p:{mv}"),
        }
    }

    /// Reads what `to_text` wrote; anything else is None.
    pub fn from_text(text: &str) -> Option<Self> {
        let (kind, list) = text.split_once(':')?;
        match kind {
            "c" => {
                let cells: Option<Vec<i64>> = list.split(',').map(stored_mv).collect();
                cells.filter(|c| c.len() <= CELLS_MAX).map(Self::Cells)
            }
            "p" => stored_mv(list).map(Self::Pack),
            _ => None,
        }
    }

    /// The whole pack's voltage in mV.
    pub fn total_mv(&self) -> i64 {
        match self {
            Self::Cells(cells) => cells.iter().fold(0, |sum, mv| sum.saturating_add(*mv)),
            Self::Pack(mv) => *mv,
        }
    }

    /// Its lowest cell, in mV; of a pack that was measured whole the average of so many, rounded towards danger: down.
    pub fn lowest_mv(&self, cells_series: i64) -> i64 {
        match self {
            Self::Cells(cells) => cells.iter().min().copied().unwrap_or_default(),
            Self::Pack(mv) => mv.div_euclid(cells_series.max(1)),
        }
    }

    /// The same of its highest, an average rounded up.
    pub fn highest_mv(&self, cells_series: i64) -> i64 {
        match self {
            Self::Cells(cells) => cells.iter().max().copied().unwrap_or_default(),
            Self::Pack(mv) => {
                let cells = cells_series.max(1);
                mv.div_euclid(cells) + i64::from(mv.rem_euclid(cells) > 0)
            }
        }
    }

    /// Highest cell less lowest, in mV; None where fewer than two cells were seen.
    pub fn spread_mv(&self) -> Option<i64> {
        match self {
            Self::Cells(cells) if cells.len() > 1 => {
                let (high, low) = (cells.iter().max()?, cells.iter().min()?);
                Some(high.saturating_sub(*low))
            }
            _ => None,
        }
    }
}

fn stored_mv(text: &str) -> Option<i64> {
    let is_number = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let mv: i64 = is_number.then(|| text.parse().ok())??;
    (mv <= PACK_MV_MAX).then_some(mv)
}

/// `3.91 3.87 3.90`, or `7.92` for a whole pack. Typed again, it reads as the same volts.
pub fn words(volts: &Volts) -> String {
    match volts {
        Volts::Cells(cells) => {
            let list: Vec<String> = cells.iter().map(|mv| volts_words(*mv)).collect();
            list.join(" ")
        }
        Volts::Pack(mv) => volts_words(*mv),
    }
}

/// `3.91`; the third decimal only where there is one: `3.912`.
pub fn volts_words(mv: i64) -> String {
    let (sign, size) = (if mv < 0 { "-" } else { "" }, mv.unsigned_abs());
    let (whole, rest) = (size / 1_000, size % 1_000);
    if rest.is_multiple_of(10) {
        format!("{sign}{whole}.{:02}", rest / 10)
    } else {
        format!("{sign}{whole}.{rest:03}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn volts_are_stored_as_text_and_read_back() {
        let cells = Volts::Cells(vec![3910, 3870, 3900]);
        assert_eq!(cells.to_text(), "c:3910,3870,3900");
        assert_eq!(Volts::from_text("c:3910,3870,3900"), Some(cells));
        assert_eq!(Volts::from_text("p:7920"), Some(Volts::Pack(7920)));
        for text in [
            "",
            "c:",
            "p:",
            "p:-1",
            "p:1,2",
            "c:1,,2",
            "x:1",
            "p:1000000",
            "c:+1",
        ] {
            assert_eq!(Volts::from_text(text), None, "{text}");
        }
    }

    #[test]
    fn volts_in_words_show_a_third_decimal_only_where_there_is_one() {
        assert_eq!(
            words(&Volts::Cells(vec![3910, 3872, 50, 5])),
            "3.91 3.872 0.05 0.005"
        );
        assert_eq!(words(&Volts::Pack(12_600)), "12.60");
        assert_eq!(volts_words(-20), "-0.02");
    }

    #[test]
    fn the_spread_is_between_the_highest_and_the_lowest_cell() {
        assert_eq!(Volts::Cells(vec![3910, 3870, 3900]).spread_mv(), Some(40));
        assert_eq!(Volts::Cells(vec![3910]).spread_mv(), None);
        assert_eq!(Volts::Pack(7920).spread_mv(), None);
        assert_eq!(Volts::Cells(vec![3910, 3870]).total_mv(), 7780);
    }

    proptest! {
        #[test]
        fn any_stored_text_is_read_or_is_none(text in ".{0,40}|[cp]:[0-9,]{0,30}") {
            if let Some(volts) = Volts::from_text(&text) {
                prop_assert_eq!(Volts::from_text(&volts.to_text()), Some(volts));
            }
        }
    }
}
