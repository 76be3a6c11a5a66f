//! The form of a pack design, as typed, and read: every field that can't be read or weighed is named in one go.
//! What a design must be is `register`.

use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use crate::bench::form::{Fields, Problems};
use crate::bench::typed::{self, Unit, Words, amount_milli, tenths};
use crate::club::register::{DesignSheet, problems as problems_of};

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DesignForm {
    pub name: String,
    pub chemistry: String,
    pub cells: String,
    pub parallel: String,
    pub capacity: String,
    pub discharge_c: String,
    pub charge_c: String,
    pub connector: String,
    pub balance: String,
    pub mass: String,
    pub size: String,
    pub full_v: String,
    pub lowest_v: String,
}

impl DesignForm {
    pub fn of(fields: &Fields) -> Self {
        Self {
            name: fields.text("name"),
            chemistry: fields.text("chemistry"),
            cells: fields.text("cells"),
            parallel: fields.text("parallel"),
            capacity: fields.text("capacity"),
            discharge_c: fields.text("discharge_c"),
            charge_c: fields.text("charge_c"),
            connector: fields.text("connector"),
            balance: fields.text("balance"),
            mass: fields.text("mass"),
            size: fields.text("size"),
            full_v: fields.text("full_v"),
            lowest_v: fields.text("lowest_v"),
        }
    }

    /// As it would be typed again.
    pub fn typed(design: &DesignSheet, numbers: Words) -> Self {
        let rate =
            |tenths: Option<i64>| tenths.map_or_else(String::new, |tenths| numbers.c_rate(tenths));
        let volts = |mv: Option<i64>| mv.map_or_else(String::new, |mv| numbers.volts(mv));
        Self {
            name: design.name.clone(),
            chemistry: design.chemistry.code().to_owned(),
            cells: design.cells_series.to_string(),
            parallel: design.groups_parallel.to_string(),
            capacity: numbers.mah(design.capacity_mah),
            discharge_c: rate(design.label_discharge_c_tenths),
            charge_c: rate(design.label_charge_c_tenths),
            connector: design.connector.clone(),
            balance: design
                .balance_connector
                .clone()
                .unwrap_or_else(|| "none".to_owned()),
            mass: design.mass_g.map_or_else(String::new, |g| g.to_string()),
            size: design.size_mm.clone(),
            full_v: volts(design.label.full_mv),
            lowest_v: volts(design.label.lowest_mv),
        }
    }

    /// The fields of the form, filled in.
    pub fn fields(self) -> Fields {
        let pairs = [
            ("name", self.name),
            ("chemistry", self.chemistry),
            ("cells", self.cells),
            ("parallel", self.parallel),
            ("capacity", self.capacity),
            ("discharge_c", self.discharge_c),
            ("charge_c", self.charge_c),
            ("connector", self.connector),
            ("balance", self.balance),
            ("mass", self.mass),
            ("size", self.size),
            ("full_v", self.full_v),
            ("lowest_v", self.lowest_v),
        ];
        Fields::new(pairs.map(|(name, value)| (name.to_owned(), value)).to_vec())
    }

    /// Read and weighed.
    pub fn checked(&self) -> Result<DesignSheet, Problems> {
        let sheet = self.read()?;
        let mut problems = Problems::default();
        for (field, words) in problems_of(&sheet) {
            problems.add(field, words);
        }
        if problems.is_empty() {
            Ok(sheet)
        } else {
            Err(problems)
        }
    }

    /// Read; whether it can be a design is weighed when it is kept.
    pub fn read(&self) -> Result<DesignSheet, Problems> {
        let mut problems = Problems::default();
        let chemistry = problems.keep(
            "chemistry",
            Chemistry::from_code(&self.chemistry)
                .ok_or("Choose the chemistry; it stands on the label."),
        );
        let cells = problems.keep(
            "cells",
            typed::cells(&self.cells).ok_or("Give the cells in series, 1 to 14."),
        );
        let parallel = problems.keep(
            "parallel",
            if self.parallel.is_empty() {
                Ok(1)
            } else {
                whole(&self.parallel, "Give the parallel groups, 1 to 20.")
            },
        );
        let capacity = problems.keep(
            "capacity",
            amount_milli(&self.capacity, Unit::MilliampHours),
        );
        let discharge = problems.keep("discharge_c", optional(&self.discharge_c, tenths));
        let charge = problems.keep("charge_c", optional(&self.charge_c, tenths));
        let mass = problems.keep(
            "mass",
            optional(&self.mass, |text| {
                whole(text.trim_end_matches('g').trim(), "Give the mass in grams.")
            }),
        );
        let volts = |text: &str| amount_milli(text, Unit::Volts);
        let full = problems.keep("full_v", optional(&self.full_v, volts));
        let lowest = problems.keep("lowest_v", optional(&self.lowest_v, volts));
        if self.balance.is_empty() {
            problems.add(
                "balance",
                "Choose the balance connector, or that it has none.",
            );
        }
        // What can't be read is told already; a stand-in lets the rest be weighed in the same round.
        let sheet = DesignSheet {
            name: self.name.clone(),
            chemistry: chemistry.unwrap_or(Chemistry::LiPo),
            cells_series: cells.unwrap_or(1),
            groups_parallel: parallel.unwrap_or(1),
            capacity_mah: capacity.unwrap_or(1_000),
            label_discharge_c_tenths: discharge.flatten(),
            label_charge_c_tenths: charge.flatten(),
            connector: self.connector.clone(),
            balance_connector: (self.balance != "none").then(|| self.balance.clone()),
            mass_g: mass.flatten(),
            size_mm: self.size.clone(),
            label: LabelVolts {
                full_mv: full.flatten(),
                lowest_mv: lowest.flatten(),
            },
        };
        if problems.is_empty() {
            return Ok(sheet);
        }
        let is_label_volts = |field: &str| matches!(field, "full_v" | "lowest_v");
        for (field, words) in problems_of(&sheet) {
            if problems.of(field).is_empty() && (chemistry.is_some() || !is_label_volts(field)) {
                problems.add(field, words);
            }
        }
        Err(problems)
    }
}

pub fn whole(text: &str, words: &'static str) -> Result<i64, &'static str> {
    text.parse().map_err(|_| words)
}

fn optional<E>(text: &str, read: impl Fn(&str) -> Result<i64, E>) -> Result<Option<i64>, E> {
    if text.is_empty() {
        Ok(None)
    } else {
        read(text).map(Some)
    }
}
