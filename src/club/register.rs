//! What a design and a pack must be to be registered. Chemistry, cells and C rates of a design in use change only as a
//! new design, since settings and verdicts follow from them. Units: mAh, tenths of C, g.

use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::battery::pack::Build;

/// A design as a form gives it, read but not yet weighed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DesignSheet {
    pub name: String,
    pub chemistry: Chemistry,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    pub label_discharge_c_tenths: Option<i64>,
    pub label_charge_c_tenths: Option<i64>,
    pub connector: String,
    pub balance_connector: Option<String>,
    pub mass_g: Option<i64>,
    pub size_mm: String,
    /// What the label says of each cell, where it says it.
    pub label: LabelVolts,
}

impl DesignSheet {
    pub fn build(&self) -> Build {
        Build {
            chemistry: self.chemistry,
            cells_series: self.cells_series,
            groups_parallel: self.groups_parallel,
            capacity_mah: self.capacity_mah,
            sees_cells: self.balance_connector.is_some(),
            label: self.label,
        }
    }
}

/// What is implausible, by field. Volts per cell: full above nominal, lowest below it. Ranges are those of packs a club owns: common practice, no source.
pub fn problems(sheet: &DesignSheet) -> Vec<(&'static str, &'static str)> {
    let mut found = Vec::new();
    let mut ask = |holds: bool, field, words| {
        if !holds {
            found.push((field, words));
        }
    };
    ask(
        (1..=60).contains(&sheet.name.chars().count()),
        "name",
        "Give the design a name of up to 60 characters.",
    );
    ask(
        (1..=14).contains(&sheet.cells_series),
        "cells",
        "Give the cells in series, 1 to 14.",
    );
    ask(
        (1..=20).contains(&sheet.groups_parallel),
        "parallel",
        "Give the parallel groups, 1 to 20; most packs have 1.",
    );
    ask(
        (10..=200_000).contains(&sheet.capacity_mah),
        "capacity",
        "Give the capacity between 10 mAh and 200 Ah.",
    );
    let is_rate =
        |rate: Option<i64>, most: i64| rate.is_none_or(|tenths| (1..=most).contains(&tenths));
    ask(
        is_rate(sheet.label_discharge_c_tenths, 5000),
        "discharge_c",
        "A discharge rate is between 0.1C and 500C.",
    );
    ask(
        is_rate(sheet.label_charge_c_tenths, 200),
        "charge_c",
        "A charge rate is between 0.1C and 20C; look for 'charge' on the label.",
    );
    ask(
        !sheet.connector.is_empty(),
        "connector",
        "Choose the discharge connector.",
    );
    ask(
        sheet.mass_g.is_none_or(|g| (1..=50_000).contains(&g)),
        "mass",
        "Give the mass between 1 g and 50 kg.",
    );
    ask(
        sheet.size_mm.chars().count() <= 40,
        "size",
        "Give the size in up to 40 characters, like 75 x 35 x 22.",
    );
    found.extend(label_problems(sheet));
    found
}

/// Volts per cell on the label: full above nominal, lowest below it.
fn label_problems(sheet: &DesignSheet) -> Vec<(&'static str, &'static str)> {
    let table = sheet.chemistry.limits();
    let is_volts =
        |mv: Option<i64>, low: i64, high: i64| mv.is_none_or(|mv| (low..=high).contains(&mv));
    let mut found = Vec::new();
    if !is_volts(
        sheet.label.full_mv,
        table.nominal_mv,
        table.plausible_high_mv,
    ) {
        found.push((
            "full_v",
            "Full is over the nominal volts of one cell; give it per cell, like 4.10 V.",
        ));
    }
    if !is_volts(
        sheet.label.lowest_mv,
        table.plausible_low_mv,
        table.nominal_mv,
    ) {
        found.push((
            "lowest_v",
            "The lowest is under the nominal volts of one cell; give it per cell, like 3.20 V.",
        ));
    }
    found
}

/// What is too long among what is said of a pack, by field. `sayings`: field and text; the notes may be longer.
pub fn too_long(sayings: &[(&'static str, &str)]) -> Vec<(&'static str, String)> {
    let longest = |field: &str| if field == "notes" { 2_000 } else { 500 };
    let told = sayings.iter().filter_map(|(field, text)| {
        let longest = longest(field);
        let words = format!("Keep it under {longest} letters.");
        (text.chars().count() > longest).then_some((*field, words))
    });
    told.collect()
}

/// What settings and verdicts follow from: alike for two designs that differ in name, mass and size alone.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Nature {
    chemistry: Chemistry,
    cells: (i64, i64),
    capacity_mah: i64,
    rates: (Option<i64>, Option<i64>),
    label_mv: (Option<i64>, Option<i64>),
    plugs: (String, Option<String>),
}

impl Nature {
    pub fn of(sheet: &DesignSheet) -> Self {
        Self {
            chemistry: sheet.chemistry,
            cells: (sheet.cells_series, sheet.groups_parallel),
            capacity_mah: sheet.capacity_mah,
            rates: (sheet.label_discharge_c_tenths, sheet.label_charge_c_tenths),
            label_mv: (sheet.label.full_mv, sheet.label.lowest_mv),
            plugs: (sheet.connector.clone(), sheet.balance_connector.clone()),
        }
    }
}

/// Whether a design in use may become this one without being a new design.
pub fn keeps_its_nature(old: &DesignSheet, new: &DesignSheet) -> bool {
    Nature::of(old) == Nature::of(new)
}

/// `P-001`: the prefix and at least three digits.
pub fn number(prefix: &str, key: i64) -> String {
    format!("{prefix}-{key:03}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> DesignSheet {
        DesignSheet {
            name: "3S 450".to_owned(),
            chemistry: Chemistry::LiPo,
            cells_series: 3,
            groups_parallel: 1,
            capacity_mah: 450,
            label_discharge_c_tenths: Some(750),
            label_charge_c_tenths: None,
            connector: "xt30".to_owned(),
            balance_connector: Some("jst-xh".to_owned()),
            mass_g: None,
            size_mm: String::new(),
            label: LabelVolts::default(),
        }
    }

    #[test]
    fn a_small_pack_of_three_cells_can_be_registered() {
        assert_eq!(problems(&sheet()), vec![]);
    }

    #[test]
    fn a_discharge_rate_typed_as_charge_rate_is_asked_about() {
        let odd = DesignSheet {
            label_charge_c_tenths: Some(750),
            ..sheet()
        };
        assert_eq!(problems(&odd)[0].0, "charge_c");
    }

    #[test]
    fn another_cell_count_makes_another_design_and_another_mass_does_not() {
        assert!(!keeps_its_nature(
            &sheet(),
            &DesignSheet {
                cells_series: 4,
                ..sheet()
            }
        ));
        assert!(keeps_its_nature(
            &sheet(),
            &DesignSheet {
                mass_g: Some(41),
                ..sheet()
            }
        ));
    }

    #[test]
    fn what_is_said_of_a_pack_is_refused_when_it_is_too_long_and_notes_may_be_longer() {
        let (fits, long) = ("ü".repeat(500), "ü".repeat(501));
        assert_eq!(too_long(&[("maker", &fits), ("notes", &long)]), vec![]);
        let words = "Keep it under 500 letters.".to_owned();
        assert_eq!(too_long(&[("maker", &long)]), vec![("maker", words)]);
        assert_eq!(too_long(&[("notes", &"n".repeat(2_001))])[0].0, "notes");
    }

    #[test]
    fn numbers_have_three_digits_and_more_when_they_must() {
        assert_eq!(number("P", 7), "P-007");
        assert_eq!(number("MR", 1234), "MR-1234");
    }
}
