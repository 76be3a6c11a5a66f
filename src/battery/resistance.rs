//! How hard a cell is to push: its resistance in ten seconds, as a hobby meter tells it, times its capacity, so that small
//! packs are not judged by big packs' figures. Units: ohm, Ah, degrees Celsius.

use super::chemistry::Chemistry;

/// Resistance of a cell in ten seconds times its capacity: of a fresh one, what is likely, and of a worn one. Ohm Ah.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typical {
    pub fresh_ohm_ah: f64,
    pub likely_ohm_ah: f64,
    pub worn_ohm_ah: f64,
}

impl Typical {
    /// LiPo, LiHV: fresh hobby cells of 0.35 to 5 Ah show 5 to 12 milliohm Ah, 30 is where they are retired: common
    /// practice, no source. Li-ion and LiFePO4: between the cells of Chen et al. 2020 and Prada et al. 2013 in PyBaMM and
    /// high-rate cells' data sheets, from memory. NiMH, Pb: from memory.
    pub const fn of(chemistry: Chemistry) -> Self {
        let (fresh, likely, worn) = match chemistry {
            Chemistry::LiPo | Chemistry::LiHv => (0.006, 0.014, 0.040),
            Chemistry::LiIon => (0.040, 0.070, 0.150),
            Chemistry::LiFePo4 => (0.015, 0.030, 0.070),
            Chemistry::NiMh => (0.025, 0.040, 0.100),
            Chemistry::Pb => (0.025, 0.040, 0.100),
        };
        Self {
            fresh_ohm_ah: fresh,
            likely_ohm_ah: likely,
            worn_ohm_ah: worn,
        }
    }
}

/// `exp(k (1/T - 1/298.15 K))`, k in kelvin: the middle of what PyBaMM's sets and a phone pouch pack's published table
/// (Linux kernel, ab8500) give, 2,200 to 4,100.
const KELVIN: f64 = 2_500.0;

/// By how much more than at 25 °C. Below freezing and above 60 °C no measure of ours reaches; the nearest counts.
pub fn times_at(celsius: f64) -> f64 {
    let kelvin = celsius.clamp(0.0, 60.0) + 273.15;
    (KELVIN * (1.0 / kelvin - 1.0 / 298.15)).exp()
}

/// The part of it that comes only after minutes, as times the ten seconds' value: a meter is done before it shows. About
/// a tenth to a fifth in thin electrodes made for power, half in thick ones made for energy: PyBaMM, DFN, LiCoO2 cells.
pub fn with_slow_part(ten_seconds_ohm_ah: f64) -> f64 {
    const THIN_OHM_AH: f64 = 0.040;
    const THICK_OHM_AH: f64 = 0.070;
    let part = (ten_seconds_ohm_ah - THIN_OHM_AH) / (THICK_OHM_AH - THIN_OHM_AH);
    1.15 + 0.40 * part.clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cold_cell_resists_as_published_tables_say() {
        // Relative to 25 °C: the bands of k = 2,200 and 4,100 K, within which the phone pack's table lies from 10 to 40 °C.
        for (celsius, least, most) in [
            (40.0, 0.51, 0.81),
            (25.0, 1.0, 1.0),
            (10.0, 1.47, 2.08),
            (0.0, 1.96, 3.53),
        ] {
            let times = times_at(celsius);
            assert!(
                times >= least - 1e-9 && times <= most + 1e-9,
                "{celsius} °C: {times}"
            );
        }
        assert_eq!(times_at(-20.0), times_at(0.0));
    }

    #[test]
    fn the_slow_part_grows_from_power_to_energy_cells() {
        assert!((with_slow_part(0.008) - 1.15).abs() < 1e-9);
        assert!((with_slow_part(0.104) - 1.55).abs() < 1e-9);
        assert!(with_slow_part(0.050) > 1.15 && with_slow_part(0.050) < 1.55);
    }

    #[test]
    fn fresh_is_less_than_likely_and_likely_less_than_worn() {
        for chemistry in Chemistry::ALL {
            let typical = Typical::of(chemistry);
            assert!(
                typical.fresh_ohm_ah < typical.likely_ohm_ah
                    && typical.likely_ohm_ah < typical.worn_ohm_ah
            );
        }
    }
}
