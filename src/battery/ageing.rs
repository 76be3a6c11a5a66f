//! What a cell loses for good by lying, in percent of its capacity, by time, charge and temperature. Two ranges, told
//! apart: the handbook's table, which is harsher, and laboratory cells, none of which is of LiCoO2 as hobby packs are.
//! The spread between cells is larger than between half and full. Leaves wear by use to `remaining`.
//! Months, percent of charge, degrees Celsius.

use super::chemistry::Chemistry;
use super::range::{Range, median};

/// Percent of capacity lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ageing {
    pub handbook: Range,
    pub laboratory: Range,
}

impl Ageing {
    /// None for nickel and lead, which lie by other laws.
    pub fn expected(
        chemistry: Chemistry,
        charge_percent: f64,
        celsius: f64,
        months: f64,
    ) -> Option<Self> {
        let charge = (charge_percent / 100.0).clamp(0.0, 1.0);
        let months = months.max(0.0);
        chemistry.is_lithium().then(|| Self {
            handbook: handbook(charge, celsius, months),
            laboratory: laboratory(chemistry, charge, celsius, months),
        })
    }

    /// From the mildest to the harshest of both.
    pub fn both(&self) -> Range {
        let likely = (self.handbook.likely + self.laboratory.likely) / 2.0;
        let (one, other) = (self.handbook, self.laboratory);
        Range::around(likely, [one.least, one.most, other.least, other.most])
    }
}

/// Degrees Celsius, and percent lost in a year at 40 and at 100 % charge: a battery-education site's table, copied widely.
/// At 60 °C and full its 40 % are of three months; twice as much in a year, if it goes with the root of time.
const HANDBOOK: [(f64, f64, f64); 4] = [
    (0.0, 2.0, 6.0),
    (25.0, 4.0, 20.0),
    (40.0, 15.0, 35.0),
    (60.0, 25.0, 80.0),
];
/// The table is of whole percents, and its copies are not of one mind.
const HANDBOOK_OPEN: (f64, f64) = (0.8, 1.2);

/// Between the table's rows as Arrhenius has it. The table's first column is also given for 40 to 60 % charge, hence
/// two ways up to full. Not over a year, loss goes with time or with its root: nobody says which.
fn handbook(charge: f64, celsius: f64, months: f64) -> Range {
    let half = between_rows(celsius, |(_, half, _)| half);
    let full = between_rows(celsius, |(_, _, full)| full);
    let year =
        |from: f64| half * (full / half).powf(((charge - from) / (1.0 - from)).clamp(0.0, 1.0));
    let years = months / 12.0;
    let by_time = [years, years.sqrt()];
    let (least_time, most_time) = (by_time[0].min(by_time[1]), by_time[0].max(by_time[1]));
    percent(Range {
        least: year(0.6) * least_time * HANDBOOK_OPEN.0,
        likely: year(0.4) * years.powf(0.75),
        most: year(0.4) * most_time * HANDBOOK_OPEN.1,
    })
}

fn between_rows(celsius: f64, column: fn((f64, f64, f64)) -> f64) -> f64 {
    let per_kelvin = |celsius: f64| 1.0 / (celsius + 273.15);
    let celsius = celsius.clamp(HANDBOOK[0].0, HANDBOOK[HANDBOOK.len() - 1].0);
    let rows = HANDBOOK.windows(2).find(|rows| celsius <= rows[1].0);
    let [cold, warm] = rows.unwrap_or(&HANDBOOK[2..]) else {
        return column(HANDBOOK[0]);
    };
    let part =
        (per_kelvin(celsius) - per_kelvin(cold.0)) / (per_kelvin(warm.0) - per_kelvin(cold.0));
    column(*cold) * (column(*warm) / column(*cold)).powf(part)
}

/// One laboratory cell's law, shortened to four numbers: percent lost in a year at 25 °C half full; how it grows with
/// warmth (Arrhenius, kelvin); how many times as much full; and the power of time.
struct Law {
    year_percent: f64,
    kelvin: f64,
    full_times: f64,
    power: f64,
}

const fn law(year_percent: f64, kelvin: f64, full_times: f64, power: f64) -> Law {
    Law {
        year_percent,
        kelvin,
        full_times,
        power,
    }
}

/// The calendar laws of BLAST-Lite 1.1.1 (K. Smith, P. Gasper et al., NREL), which fitted them to published ageing.
const NICKEL_CELLS: [Law; 11] = [
    law(10.06, 1_000.0, 1.10, 0.73), // NMC811/graphite-Si, 4 Ah
    law(5.43, 2_300.0, 1.22, 0.60),  // NCA/graphite-Si, 2.5 Ah
    law(4.20, 2_200.0, 1.00, 0.64),  // NMC811/graphite-Si, 5 Ah
    law(3.92, 3_200.0, 1.81, 0.49),  // NCA/graphite, 3 Ah
    law(2.75, 4_400.0, 1.72, 0.69),  // NMC/graphite, 50 Ah, B1
    law(2.69, 4_300.0, 1.00, 0.48),  // NMC622/graphite, 50 Ah
    law(2.44, 7_000.0, 1.85, 0.74),  // NMC111/graphite, 2 Ah
    law(2.37, 3_900.0, 1.62, 0.57),  // NMC/graphite, 50 Ah, B2
    // Only what grows on the anode: O'Kane et al. 2022, Phys. Chem. Chem. Phys. 24, 7909, in PyBaMM.
    law(1.10, 2_440.0, 1.00, 0.54),
    law(1.04, 7_100.0, 5.03, 0.34), // NMC111/graphite pouch, 75 Ah
    law(0.43, 8_100.0, 3.13, 0.56), // NMC/graphite, 75 Ah
];
const IRON_CELLS: [Law; 2] = [
    law(3.94, 3_600.0, 1.57, 0.46), // 3 Ah cylinder
    law(1.13, 5_600.0, 1.55, 0.51), // 250 Ah prismatic
];
/// What shortening the laws leaves open at their ends: nearly empty or after a month in the cold, full in the heat.
const LABORATORY_OPEN: (f64, f64) = (0.7, 1.35);
/// The cells were kept at 10 to 45 °C; beyond these nobody tells.
const LABORATORY_CELSIUS: (f64, f64) = (-10.0, 60.0);

impl Law {
    fn lost_percent(&self, charge: f64, celsius: f64, months: f64) -> f64 {
        let kelvin = celsius.clamp(LABORATORY_CELSIUS.0, LABORATORY_CELSIUS.1) + 273.15;
        let warmth = (-self.kelvin * (1.0 / kelvin - 1.0 / 298.15)).exp();
        let fullness = self.full_times.powf((charge - 0.5) / 0.5);
        self.year_percent * warmth * fullness * (months / 12.0).powf(self.power)
    }
}

fn laboratory(chemistry: Chemistry, charge: f64, celsius: f64, months: f64) -> Range {
    let laws: &[Law] = match chemistry {
        Chemistry::LiFePo4 => &IRON_CELLS,
        _ => &NICKEL_CELLS,
    };
    let lost: Vec<f64> = laws
        .iter()
        .map(|law| law.lost_percent(charge, celsius, months))
        .collect();
    let likely = median(&lost).unwrap_or_default();
    let open = [LABORATORY_OPEN.0, LABORATORY_OPEN.1];
    percent(Range::around(
        likely,
        lost.iter().flat_map(|lost| open.map(|times| lost * times)),
    ))
}

/// Nothing loses more than all.
fn percent(range: Range) -> Range {
    Range {
        least: range.least.min(100.0),
        likely: range.likely.min(100.0),
        most: range.most.min(100.0),
    }
}

#[cfg(test)]
#[path = "ageing_tests.rs"]
mod tests;
