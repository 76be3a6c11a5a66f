//! What the verdict on a pack costs from as many readings as a page shows: each with resistance, of packs that are charged
//! from nearly empty, from half full, and that mostly lie.

use crate::Figures;
use crate::cpu::middle;
use sandbucket::battery::chemistry::Chemistry;
use sandbucket::battery::limits::LabelVolts;
use sandbucket::battery::pack::Build;
use sandbucket::battery::volts::Volts;
use sandbucket::club::calendar::{Instant, Zone};
use sandbucket::club::health::{
    Asked, HealthLimits, HealthPack, HealthReading, Resistance, Story, verdict,
};
use sandbucket::club::limits::ClubLimits;
use sandbucket::club::reading::Rested;
use sandbucket::club::reading::beside::{Charge, Context};

const READINGS: i64 = 500;
const CELLS: i64 = 6;
const VERDICT_MS_MAX: f64 = 1.0;
const ROUNDS: usize = 201;
const NOW: Instant = Instant(1_795_600_000_000);

pub fn measure(figures: &mut Figures) {
    for (words, low_mv) in [
        ("charged from nearly empty", Some(3_500)),
        ("charged from half full", Some(3_800)),
        ("lying", None),
    ] {
        let pack = a_pack();
        let readings: Vec<HealthReading> = (0..READINGS).map(|at| reading(at, low_mv)).collect();
        let story = Story {
            asked: Asked {
                pack: &pack,
                readings: &readings,
                sisters: &readings[..20],
                now: NOW,
                club: &ClubLimits::default(),
                limits: &HealthLimits::default(),
                zone: Some(&Zone::utc()),
            },
            confirmed: &[],
            seen: &[],
            released: None,
        };
        let taken = (0..ROUNDS).map(|_| {
            let began = std::time::Instant::now();
            std::hint::black_box(verdict(std::hint::black_box(&story)));
            began.elapsed().as_secs_f64() * 1e3
        });
        let middle_ms = middle(taken.collect());
        figures.hold(
            &format!("the verdict on a pack of {READINGS} readings, {words}"),
            &format!("{middle_ms:.2} ms, the middle of {ROUNDS}; limit {VERDICT_MS_MAX:.0} ms"),
            middle_ms < VERDICT_MS_MAX,
        );
    }
}

fn a_pack() -> HealthPack {
    HealthPack {
        build: Build {
            chemistry: Chemistry::LiPo,
            cells_series: CELLS,
            groups_parallel: 1,
            capacity_mah: 2_200,
            sees_cells: true,
            label: LabelVolts::default(),
        },
        label_discharge_c_tenths: Some(300),
    }
}

/// Every second day; charged at every second reading, or only looked after.
fn reading(at: i64, low_mv: Option<i64>) -> HealthReading {
    let is_full = at % 2 == 1;
    let cell_mv = match low_mv {
        Some(_) if is_full => 4_190,
        Some(low_mv) => low_mv,
        None => 3_850 - at / 50,
    };
    let put_in = low_mv.map_or(0, |low_mv| (4_190 - low_mv) * 3);
    let cell_uohm = 3_000 + at * 4;
    HealthReading {
        at: NOW.plus_days(-2 * (READINGS - at)),
        volts: Some(Volts::Cells(
            (0..CELLS).map(|cell| cell_mv + cell).collect(),
        )),
        rested: Rested::AN_HOUR,
        resistance: Some(Resistance {
            cells_uohm: (0..CELLS).map(|cell| cell_uohm + cell * 20).collect(),
            meter: Some(format!("C-0{}", at % 3)),
            kind: None,
        }),
        celsius: Some(20.0),
        charge: (is_full && low_mv.is_some()).then_some(Charge::PutIn(put_in)),
        context: low_mv.is_none().then_some(Context::StorageCheck),
        used: None,
    }
}
