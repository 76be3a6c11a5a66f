//! What a log's columns may hold, and by which names: those of the open Battery Data Format 0.1.0 (batterydf, Apache-2.0: label
//! or machine-readable name), and others whose words and unit are plain.

use super::units::Unit;
use crate::battery::log::Sample;
use crate::battery::volts::CELLS_MAX;
use std::borrow::Cow;

/// What a log may have. Its code is the format's machine-readable name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    Time,
    Volts,
    Amps,
    Cycle,
    Step,
    SurfaceCelsius,
    AmbientCelsius,
    Charging,
    Discharging,
    Net,
    Resistance,
    /// The volts of one cell at the balance lead; the first is 1. The format names none: these names are ours.
    Cell(usize),
}

impl Field {
    const OF_THE_FORMAT: [Self; 11] = [
        Self::Time,
        Self::Volts,
        Self::Amps,
        Self::Cycle,
        Self::Step,
        Self::SurfaceCelsius,
        Self::AmbientCelsius,
        Self::Charging,
        Self::Discharging,
        Self::Net,
        Self::Resistance,
    ];

    /// Of a pack with so many cells.
    pub fn of_pack(cells: usize) -> impl Iterator<Item = Self> {
        let cells = (1..=cells.min(CELLS_MAX)).map(Self::Cell);
        Self::OF_THE_FORMAT.into_iter().chain(cells)
    }

    pub fn all() -> impl Iterator<Item = Self> {
        Self::of_pack(CELLS_MAX)
    }

    pub fn label(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Time => "Test Time / s",
            Self::Volts => "Voltage / V",
            Self::Amps => "Current / A",
            Self::Cycle => "Cycle Count / 1",
            Self::Step => "Step Count / 1",
            Self::SurfaceCelsius => "Surface Temperature T1 / degC",
            Self::AmbientCelsius => "Ambient Temperature / degC",
            Self::Charging => "Charging Capacity / Ah",
            Self::Discharging => "Discharging Capacity / Ah",
            Self::Net => "Net Capacity / Ah",
            Self::Resistance => "Internal Resistance / ohm",
            Self::Cell(cell) => return Cow::Owned(format!("Cell {cell} / V")),
        })
    }

    pub fn code(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Time => "test_time_second",
            Self::Volts => "voltage_volt",
            Self::Amps => "current_ampere",
            Self::Cycle => "cycle_count",
            Self::Step => "step_count",
            Self::SurfaceCelsius => "temperature_t1_celsius",
            Self::AmbientCelsius => "ambient_temperature_celsius",
            Self::Charging => "charging_capacity_ah",
            Self::Discharging => "discharging_capacity_ah",
            Self::Net => "net_capacity_ah",
            Self::Resistance => "internal_resistance_ohm",
            Self::Cell(cell) => return Cow::Owned(format!("cell_{cell}_volt")),
        })
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::all().find(|each| each.code() == code)
    }

    /// Inside a sentence.
    pub fn words(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Time => "the time",
            Self::Volts => "the volts",
            Self::Amps => "the current",
            Self::Cycle => "the cycle",
            Self::Step => "the step",
            Self::SurfaceCelsius => "the temperature of the cell",
            Self::AmbientCelsius => "the temperature of the room",
            Self::Charging => "the charge counted in",
            Self::Discharging => "the charge counted out",
            Self::Net => "the net charge",
            Self::Resistance => "the resistance",
            Self::Cell(cell) => return Cow::Owned(format!("the volts of cell {cell}")),
        })
    }

    pub const fn is_required(self) -> bool {
        matches!(self, Self::Time | Self::Volts | Self::Amps)
    }

    /// The format's own first.
    pub const fn units(self) -> &'static [Unit] {
        match self {
            Self::Time => &[
                Unit::Second,
                Unit::Millisecond,
                Unit::Minute,
                Unit::Hour,
                Unit::Clock,
            ],
            Self::Volts | Self::Cell(_) => &[Unit::Volt, Unit::Millivolt],
            Self::Amps => &[Unit::Ampere, Unit::Milliampere],
            Self::Cycle | Self::Step => &[Unit::One],
            Self::SurfaceCelsius | Self::AmbientCelsius => &[Unit::Celsius],
            Self::Charging | Self::Discharging | Self::Net => {
                &[Unit::AmpereHour, Unit::MilliampereHour]
            }
            Self::Resistance => &[Unit::Ohm, Unit::Milliohm],
        }
    }

    /// Counts are whole.
    pub fn fits(self, number: f64) -> bool {
        !matches!(self, Self::Cycle | Self::Step) || number.fract() == 0.0
    }

    pub(super) fn put(self, sample: &mut Sample, number: f64) {
        match self {
            Self::Time => sample.seconds = number,
            Self::Volts => sample.volts = number,
            Self::Amps => sample.amps = number,
            Self::Cycle => sample.cycle = Some(number as i64),
            Self::Step => sample.step = Some(number as i64),
            Self::SurfaceCelsius => sample.celsius = Some(number),
            // Only where the cell's own is not told.
            Self::AmbientCelsius => sample.celsius = sample.celsius.or(Some(number)),
            Self::Charging => sample.charging_ah = Some(number),
            Self::Discharging => sample.discharging_ah = Some(number),
            Self::Net => sample.net_ah = Some(number),
            Self::Resistance => sample.stated_ohm = Some(number),
            Self::Cell(cell) => {
                if let Some(volts) = sample.cells.get_mut(cell - 1) {
                    *volts = number as f32;
                }
            }
        }
    }

    /// By label or machine-readable name, however it is spaced and whether its letters are large or small.
    pub(super) fn named(heading: &str) -> Option<Self> {
        let bare = |name: &str| name.to_lowercase().split_whitespace().collect::<String>();
        let wanted = bare(heading);
        Self::all().find(|each| bare(&each.label()) == wanted || each.code() == wanted)
    }

    /// The words before a unit that leave no doubt, in small letters; none where the unit says it all: `mV`.
    const fn plain_words(self) -> &'static [&'static str] {
        match self {
            Self::Time => &[
                "",
                "time",
                "test time",
                "elapsed time",
                "elapsed",
                "total time",
                "run time",
            ],
            Self::Volts => &[
                "",
                "voltage",
                "volts",
                "cell voltage",
                "pack voltage",
                "battery voltage",
                "u",
                "v",
            ],
            Self::Amps => &["", "current", "amps", "i", "battery current"],
            Self::Cycle => &[
                "cycle",
                "cycle index",
                "cycle number",
                "cycle no",
                "cycle count",
            ],
            Self::Step => &["step", "step index", "step number", "step no", "step count"],
            Self::SurfaceCelsius => &[
                "temperature",
                "temp",
                "cell temperature",
                "cell temp",
                "surface temperature",
                "battery temperature",
            ],
            Self::AmbientCelsius => &[
                "ambient temperature",
                "room temperature",
                "chamber temperature",
                "ambient temp",
            ],
            Self::Charging => &[
                "charging capacity",
                "charge capacity",
                "charged",
                "charge in",
                "charged capacity",
                "capacity charged",
            ],
            Self::Discharging => &[
                "discharging capacity",
                "discharge capacity",
                "discharged",
                "charge out",
                "discharged capacity",
                "capacity discharged",
            ],
            Self::Net => &["net capacity", "net charge"],
            Self::Resistance => &["internal resistance", "resistance", "ir", "ri"],
            Self::Cell(_) => &[],
        }
    }

    fn is_plainly(self, name: &str) -> bool {
        match self {
            Self::Cell(cell) => {
                let with_number = |words: &str| words.replace('#', &cell.to_string());
                let names = ["cell #", "cell#", "cell voltage #", "cell # voltage", "v#"];
                names.into_iter().any(|each| with_number(each) == name)
            }
            _ => self.plain_words().contains(&name),
        }
    }

    /// Where the words and the unit at their end are plain: `Voltage (mV)`, `elapsed_time[min]`, `I/mA`, `Cycle`,
    /// `Cell 2 (V)`.
    pub(super) fn guessed(heading: &str) -> Option<(Self, Unit)> {
        let lower = heading.to_lowercase();
        let words: Vec<&str> = lower
            .split(|letter: char| !letter.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect();
        Self::all().find_map(|field| {
            let unit = *field.units().iter().find(|unit| unit.ends(&words))?;
            let before = words.len() - unit.words_at_end(&words);
            let name = words.get(..before)?.join(" ");
            field.is_plainly(&name).then_some((field, unit))
        })
    }
}
