//! Each limit that a club may tighten: how a form names it, how far it goes, how a person writes it.

use super::ClubLimits;
use crate::bench::typed::{AmountProblem, Words, tenths};

/// One of them: how a form names it, and how far it goes.
pub struct Limit {
    pub code: &'static str,
    pub label: &'static str,
    pub hint: &'static str,
    pub lowest: i64,
    pub highest: i64,
    /// From the lowest on only every so many counts.
    pub step: i64,
    /// Where it stands among the limits.
    pub of: fn(&mut ClubLimits) -> &mut i64,
    /// What the club set elsewhere may lie above `lowest`: then it goes no lower than that.
    pub not_under: Option<fn(&ClubLimits) -> i64>,
}

impl Limit {
    /// Its value is in degrees Celsius.
    pub fn is_temperature(&self) -> bool {
        self.code.ends_with("_celsius")
    }

    /// Its value is a charging rate in tenths of C.
    pub fn is_rate(&self) -> bool {
        self.code.ends_with("_c_tenths")
    }

    /// A value of it as a person writes it.
    pub fn words(&self, value: i64, numbers: Words) -> String {
        if self.is_rate() {
            numbers.c_rate(value).trim_end_matches('C').to_owned()
        } else {
            value.to_string()
        }
    }

    /// What a person wrote. Errors: no number, or finer than it goes.
    pub fn typed(&self, text: &str) -> Result<i64, AmountProblem> {
        if self.is_rate() {
            tenths(text)
        } else {
            text.parse().map_err(|_| AmountProblem::NotANumber)
        }
    }

    pub const fn allows(&self, value: i64) -> bool {
        let is_inside = value >= self.lowest && value <= self.highest;
        is_inside && (value - self.lowest) % self.step == 0
    }

    /// The lowest beside what else this club set.
    pub fn lowest_in(&self, limits: &ClubLimits) -> i64 {
        let other = self.not_under.map_or(self.lowest, |other| other(limits));
        other.clamp(self.lowest, self.highest)
    }
}

/// The far end of each is as tight as a pack and a meter can still meet: common practice, no source.
pub const LIMITS: [Limit; 26] = [
    Limit {
        code: "reading_days",
        label: "A reading is good for (days)",
        hint: "Then the pack's state is not known. 1 to 90.",
        lowest: 1,
        highest: 90,
        step: 1,
        of: |limits| &mut limits.reading_days,
        not_under: None,
    },
    Limit {
        code: "rest_minutes",
        label: "Rest before the spread is judged (minutes)",
        hint: "15 or 60, which are what a reading can say.",
        lowest: 15,
        highest: 60,
        step: 45,
        of: |limits| &mut limits.rest_minutes,
        not_under: None,
    },
    Limit {
        code: "spread_watch_mv",
        label: "Caution at a spread above (mV)",
        hint: "5 to 30.",
        lowest: 5,
        highest: 30,
        step: 1,
        of: |limits| &mut limits.spread_watch_mv,
        not_under: None,
    },
    Limit {
        code: "spread_wide_mv",
        label: "Set aside at a spread above (mV)",
        hint: "Up to 100, and not under the one above.",
        lowest: 5,
        highest: 100,
        step: 1,
        of: |limits| &mut limits.spread_wide_mv,
        not_under: Some(|limits| limits.spread_watch_mv),
    },
    Limit {
        code: "spread_override_mv",
        label: "Handed out with a reason up to a spread of (mV)",
        hint: "0 to 200. 0: a pack set aside for its spread goes to nobody.",
        lowest: 0,
        highest: 200,
        step: 1,
        of: |limits| &mut limits.spread_override_mv,
        not_under: None,
    },
    Limit {
        code: "above_minimum_mv",
        label: "Quarantine a lithium cell already this far above its minimum (mV)",
        hint: "0 to 300. 0: at the minimum of its chemistry, 3.0 V for LiPo, or of its label.",
        lowest: 0,
        highest: 300,
        step: 1,
        of: |limits| &mut limits.above_minimum_mv,
        not_under: None,
    },
    Limit {
        code: "over_full_by_mv",
        label: "Quarantine when a cell is over full by more than (mV)",
        hint: "10 to 50.",
        lowest: 10,
        highest: 50,
        step: 1,
        of: |limits| &mut limits.over_full_by_mv,
        not_under: None,
    },
    Limit {
        code: "charge_from_celsius",
        label: "Charge from (°C)",
        hint: "0 to 15.",
        lowest: 0,
        highest: 15,
        step: 1,
        of: |limits| &mut limits.charge_from_celsius,
        not_under: None,
    },
    Limit {
        code: "charge_to_celsius",
        label: "Charge up to (°C)",
        hint: "25 to 45.",
        lowest: 25,
        highest: 45,
        step: 1,
        of: |limits| &mut limits.charge_to_celsius,
        not_under: None,
    },
    usual_rate(
        "charge_lipo_c_tenths",
        "Charge LiPo at up to (C)",
        "0.1 to 1; its own label comes first where it says less.",
        10,
        |limits| &mut limits.charge_lipo_c_tenths,
    ),
    usual_rate(
        "charge_lihv_c_tenths",
        "Charge LiHV at up to (C)",
        "0.1 to 1; its own label comes first where it says less.",
        10,
        |limits| &mut limits.charge_lihv_c_tenths,
    ),
    usual_rate(
        "charge_liion_c_tenths",
        "Charge Li-ion at up to (C)",
        "0.1 to 0.5; its own label comes first where it says less.",
        5,
        |limits| &mut limits.charge_liion_c_tenths,
    ),
    usual_rate(
        "charge_lifepo4_c_tenths",
        "Charge LiFePO4 at up to (C)",
        "0.1 to 1; its own label comes first where it says less.",
        10,
        |limits| &mut limits.charge_lifepo4_c_tenths,
    ),
    usual_rate(
        "charge_nimh_c_tenths",
        "Charge NiMH at up to (C)",
        "0.1 to 0.5; its own label comes first where it says less.",
        5,
        |limits| &mut limits.charge_nimh_c_tenths,
    ),
    most_rate(
        (
            "charge_lipo_most_c_tenths",
            "Charge LiPo in haste at up to (C)",
        ),
        "Up to 2, and not under the rate above; never more than its own label allows.",
        20,
        |limits| &mut limits.charge_lipo_most_c_tenths,
        |limits| limits.charge_lipo_c_tenths,
    ),
    most_rate(
        (
            "charge_lihv_most_c_tenths",
            "Charge LiHV in haste at up to (C)",
        ),
        "Up to 2, and not under the rate above; never more than its own label allows.",
        20,
        |limits| &mut limits.charge_lihv_most_c_tenths,
        |limits| limits.charge_lihv_c_tenths,
    ),
    most_rate(
        (
            "charge_liion_most_c_tenths",
            "Charge Li-ion in haste at up to (C)",
        ),
        "Up to 1, and not under the rate above; never more than its own label allows.",
        10,
        |limits| &mut limits.charge_liion_most_c_tenths,
        |limits| limits.charge_liion_c_tenths,
    ),
    most_rate(
        (
            "charge_lifepo4_most_c_tenths",
            "Charge LiFePO4 in haste at up to (C)",
        ),
        "Up to 2, and not under the rate above; never more than its own label allows.",
        20,
        |limits| &mut limits.charge_lifepo4_most_c_tenths,
        |limits| limits.charge_lifepo4_c_tenths,
    ),
    most_rate(
        (
            "charge_nimh_most_c_tenths",
            "Charge NiMH in haste at up to (C)",
        ),
        "Up to 1, and not under the rate above; never more than its own label allows.",
        10,
        |limits| &mut limits.charge_nimh_most_c_tenths,
        |limits| limits.charge_nimh_c_tenths,
    ),
    of_health(
        "resistance_practice_percent",
        "For practice only from this share of its first resistance (%)",
        "110 to 150. 150: one and a half times what its first readings said.",
        (110, 150),
        |limits| &mut limits.resistance_practice_percent,
    ),
    Limit {
        not_under: Some(|limits| limits.resistance_practice_percent),
        ..of_health(
            "resistance_aside_percent",
            "Set aside from this share of its first resistance (%)",
            "Up to 200, and not under the one above.",
            (120, 200),
            |limits| &mut limits.resistance_aside_percent,
        )
    },
    of_health(
        "resistance_apart_percent",
        "Set aside when a cell has more than this share of its mates' resistance (%)",
        "125 to 150. Above 125 it is told.",
        (125, 150),
        |limits| &mut limits.resistance_apart_percent,
    ),
    of_health(
        "capacity_practice_percent",
        "For practice only from this share of its label's capacity down (%)",
        "80 to 95.",
        (80, 95),
        |limits| &mut limits.capacity_practice_percent,
    ),
    of_health(
        "capacity_aside_percent",
        "Set aside from this share of its label's capacity down (%)",
        "60 to 80.",
        (60, 80),
        |limits| &mut limits.capacity_aside_percent,
    ),
    of_health(
        "loss_percent_a_month",
        "Caution when a stored lithium cell loses more charge than (% a month)",
        "2 to 5.",
        (2, 5),
        |limits| &mut limits.loss_percent_a_month,
    ),
    of_health(
        "imbalance_percent",
        "Caution when cells stand apart by more than (% of charge)",
        "3 to 8.",
        (3, 8),
        |limits| &mut limits.imbalance_percent,
    ),
];

/// What many readings together are held against, in whole percent.
const fn of_health(
    code: &'static str,
    label: &'static str,
    hint: &'static str,
    (lowest, highest): (i64, i64),
    of: fn(&mut ClubLimits) -> &mut i64,
) -> Limit {
    Limit {
        code,
        label,
        hint,
        lowest,
        highest,
        step: 1,
        of,
        not_under: None,
    }
}

/// A charging rate from a tenth of C.
const fn usual_rate(
    code: &'static str,
    label: &'static str,
    hint: &'static str,
    highest: i64,
    of: fn(&mut ClubLimits) -> &mut i64,
) -> Limit {
    Limit {
        code,
        label,
        hint,
        lowest: 1,
        highest,
        step: 1,
        of,
        not_under: None,
    }
}

/// The same for when it must be quick: no slower than usual.
const fn most_rate(
    (code, label): (&'static str, &'static str),
    hint: &'static str,
    highest: i64,
    of: fn(&mut ClubLimits) -> &mut i64,
    usual: fn(&ClubLimits) -> i64,
) -> Limit {
    Limit {
        not_under: Some(usual),
        ..usual_rate(code, label, hint, highest, of)
    }
}
