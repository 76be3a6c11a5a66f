//! What is said beside a pack that was found by a robot's draw. Packs are found by their label: what their state, their plug
//! and their own resistance say against that is told beside each. mA, ohm of one cell at 25 °C.

use super::states::State;
use crate::battery::pack::Build;
use crate::battery::peak::{Known, Peak, least_under_load_mv};
use crate::bench::typed::Words;

/// A pack, and what a robot draws of it.
#[derive(Clone, Debug)]
pub struct Draw {
    pub need_ma: i64,
    pub state: State,
    pub build: Build,
    pub label_c_tenths: Option<i64>,
    /// Its main plug as people call it, and what it carries on and on; None: no figure is on record.
    pub plug: (String, Option<i64>),
    /// Of its worst cell; None: never measured, or it can't be compared.
    pub worst_ohm: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// It is lent to nobody in its state.
    NotLent,
    PlugCarries {
        ma: i64,
    },
    PlugUnrated,
    /// Its volts are at their least before so much flows.
    Sags {
        careful_ma: i64,
    },
}

/// A robot draws of a pack from full on until it is used up: half full stands for that. Common practice, no source.
const HALF_FULL_PERCENT: f64 = 50.0;

impl Draw {
    /// What it gives by its own resistance on the careful side, half full; None where that is not known.
    pub fn own_ma(&self) -> Option<i64> {
        let known = Known {
            label_c_tenths: self.label_c_tenths,
            cell_uohm: Some((self.worst_ohm? * 1e6).ceil() as i64),
            celsius: None,
        };
        let sag = Peak::of(&self.build, HALF_FULL_PERCENT, &known).sag_ma?;
        Some(sag.least.floor() as i64)
    }

    pub fn doubts(&self) -> Vec<Doubt> {
        let plug = match self.plug.1 {
            Some(ma) => (ma < self.need_ma).then_some(Doubt::PlugCarries { ma }),
            None => Some(Doubt::PlugUnrated),
        };
        let sags = self.own_ma().filter(|ma| *ma < self.need_ma);
        let not_lent = (!self.state.is_lendable()).then_some(Doubt::NotLent);
        let sags = sags.map(|careful_ma| Doubt::Sags { careful_ma });
        [not_lent, plug, sags].into_iter().flatten().collect()
    }

    /// As a sentence.
    pub fn words(&self, doubt: Doubt, numbers: Words) -> String {
        let plug = &self.plug.0;
        match doubt {
            Doubt::NotLent => format!("{}: it is lent to nobody now.", self.state.label()),
            Doubt::PlugCarries { ma } => {
                format!("Its plug, {plug}, carries {} on and on.", numbers.amps(ma))
            }
            Doubt::PlugUnrated => format!("Its plug, {plug}, has no rating on record."),
            Doubt::Sags { careful_ma } => format!(
                "By its own resistance it gives {} half full, before a cell is down to {}.",
                numbers.amps(careful_ma / 100 * 100),
                numbers.volts(least_under_load_mv(self.build.chemistry))
            ),
        }
    }

    /// By what it is told to give so much.
    pub const fn by(is_measured: bool) -> &'static str {
        if is_measured {
            "By its label and its own resistance."
        } else {
            "By its label alone: its own resistance is not known."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::chemistry::Chemistry;
    use crate::battery::limits::LabelVolts;

    /// 1 Ah, 3S, 60C on its label, on an XT60 (30 A by its maker).
    fn draw(need_ma: i64, worst_ohm: Option<f64>) -> Draw {
        Draw {
            need_ma,
            state: State::Fit,
            build: Build {
                chemistry: Chemistry::LiPo,
                cells_series: 3,
                groups_parallel: 1,
                capacity_mah: 1_000,
                sees_cells: true,
                label: LabelVolts::default(),
            },
            label_c_tenths: Some(600),
            plug: ("XT60".to_owned(), Some(30_000)),
            worst_ohm,
        }
    }

    #[test]
    fn a_pack_of_which_nothing_speaks_against_the_draw_is_told_without_a_doubt() {
        assert_eq!(draw(30_000, None).doubts(), []);
        assert_eq!(draw(30_000, Some(0.005)).doubts(), []);
        assert_eq!(draw(30_000, None).own_ma(), None);
    }

    #[test]
    fn a_plug_that_carries_less_and_one_that_nobody_rated_are_told() {
        let more = draw(30_100, None);
        assert_eq!(more.doubts(), [Doubt::PlugCarries { ma: 30_000 }]);
        let told = more.words(more.doubts()[0], Words::COMMA);
        assert_eq!(told, "Its plug, XT60, carries 30 A on and on.");
        let own = Draw {
            plug: ("hall plug".to_owned(), None),
            ..draw(1_000, None)
        };
        assert_eq!(own.doubts(), [Doubt::PlugUnrated]);
    }

    /// 20 milliohm: half full 3.805 V resting on the built-in curve, 0.605 V down to the 3.2 of a robotics club: 30 A at 25 °C,
    /// less in a cool hall and over seconds.
    #[test]
    fn a_cell_that_sags_before_so_much_flows_is_told_on_the_careful_side() {
        let worn = draw(25_000, Some(0.020));
        let own_ma = worn.own_ma().expect("a figure");
        assert!((10_000..25_000).contains(&own_ma), "{own_ma}");
        assert_eq!(worn.doubts(), [Doubt::Sags { careful_ma: own_ma }]);
        assert!(
            worn.words(worn.doubts()[0], Words::POINT)
                .ends_with("before a cell is down to 3.2 V.")
        );
        // What its own resistance leaves room for is no doubt.
        assert_eq!(draw(own_ma, Some(0.020)).doubts(), []);
    }

    #[test]
    fn what_is_lent_to_nobody_is_told_whatever_it_gives() {
        for state in State::ALL {
            let pack = Draw {
                state,
                ..draw(1_000, None)
            };
            let is_told = pack.doubts() == [Doubt::NotLent];
            assert_eq!(is_told, !state.is_lendable(), "{}", state.label());
        }
    }
}
