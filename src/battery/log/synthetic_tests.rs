//! A tester for tests: it charges and discharges a cell whose volts follow plain formulas, and writes down what a real one
//! would. Readings lie a second apart unless said otherwise.

use super::current_sign::CurrentSign;
use super::{Log, Recorded, Sample};

/// Resting volts from 3.0 V empty to 4.2 V full, straight; one ohmic resistance.
pub struct Tester {
    pub capacity_ah: f64,
    pub ohm: f64,
    pub every_seconds: f64,
    samples: Vec<Sample>,
    seconds: f64,
    held_ah: f64,
}

impl Tester {
    pub fn with_cell(capacity_ah: f64, ohm: f64, percent: f64) -> Self {
        Self {
            capacity_ah,
            ohm,
            every_seconds: 1.0,
            samples: Vec::new(),
            seconds: 0.0,
            held_ah: capacity_ah * percent / 100.0,
        }
    }

    pub fn every(mut self, seconds: f64) -> Self {
        self.every_seconds = seconds;
        self
    }

    pub fn resting_v(&self) -> f64 {
        3.0 + 1.2 * self.held_ah / self.capacity_ah
    }

    pub fn rest(self, seconds: f64) -> Self {
        self.current(0.0, seconds)
    }

    /// Positive charges. The step takes no time: its last reading before and its first after have the same second.
    pub fn current(mut self, amps: f64, seconds: f64) -> Self {
        let readings = (seconds / self.every_seconds).round() as usize;
        self.write(amps);
        for _ in 0..readings {
            self.step(amps, amps);
        }
        self
    }

    pub fn current_until(mut self, amps: f64, volts: f64) -> Self {
        self.write(amps);
        while (self.resting_v() + amps * self.ohm - volts) * amps.signum() < 0.0 {
            self.step(amps, amps);
        }
        self
    }

    /// At a voltage, until the current has fallen this far.
    pub fn volts(mut self, volts: f64, until_a: f64) -> Self {
        loop {
            let amps = (volts - self.resting_v()) / self.ohm;
            self.write(amps);
            if amps <= until_a {
                return self;
            }
            self.pass(amps);
        }
    }

    /// At so many watts out of the cell.
    pub fn power(mut self, watts: f64, seconds: f64) -> Self {
        let readings = (seconds / self.every_seconds).round() as usize;
        for _ in 0..readings {
            let volts = self.resting_v();
            let amps = (volts - (volts * volts - 4.0 * self.ohm * watts).sqrt()) / (2.0 * self.ohm);
            self.step(-amps, -amps);
        }
        self
    }

    /// From one current straight to another.
    pub fn ramp(mut self, from_a: f64, to_a: f64, seconds: f64) -> Self {
        let readings = (seconds / self.every_seconds).round();
        self.write(from_a);
        for at in 0..readings as usize {
            let at = at as f64;
            let amps = |part: f64| from_a + (to_a - from_a) * part / readings;
            self.step(amps(at), amps(at + 1.0));
        }
        self
    }

    fn step(&mut self, from_a: f64, to_a: f64) {
        self.pass(f64::midpoint(from_a, to_a));
        self.write(to_a);
    }

    fn pass(&mut self, amps: f64) {
        self.seconds += self.every_seconds;
        self.held_ah += amps * self.every_seconds / 3_600.0;
    }

    fn write(&mut self, amps: f64) {
        self.samples.push(Sample {
            seconds: self.seconds,
            volts: self.resting_v() + amps * self.ohm,
            amps,
            ..Sample::default()
        });
    }

    pub fn samples(self) -> Vec<Sample> {
        self.samples
    }

    pub fn recorded(self) -> Recorded {
        Recorded::new(self.samples).expect("a log")
    }

    pub fn log(self) -> Log {
        self.recorded().with_sign(CurrentSign::ChargingIsPositive)
    }
}

#[test]
fn what_is_no_log_is_told_with_its_reading() {
    let at = |seconds: f64| Sample {
        seconds,
        volts: 4.0,
        ..Sample::default()
    };
    let told = |samples: Vec<Sample>| {
        let problem = Recorded::new(samples).expect_err("no log");
        (problem.at(), problem.to_string())
    };
    assert_eq!(
        told(vec![]),
        (None, "There is nothing in this log.".to_owned())
    );
    assert_eq!(told(vec![at(1.0)]).0, Some(0));
    assert_eq!(
        told(vec![at(1.0), at(1.0)]).1,
        "All readings of this log have the same time."
    );
    let back = told(vec![at(1.0), at(3.0), at(2.0)]);
    assert_eq!(
        back,
        (Some(2), "The time goes back, from 3 s to 2 s.".to_owned())
    );
    for wrong in [
        Sample {
            volts: 4_200.0,
            ..at(2.0)
        },
        Sample {
            volts: -1.0,
            ..at(2.0)
        },
        Sample {
            volts: f64::NAN,
            ..at(2.0)
        },
        Sample {
            amps: f64::INFINITY,
            ..at(2.0)
        },
        Sample {
            amps: 20_000.0,
            ..at(2.0)
        },
        Sample {
            seconds: f64::NAN,
            ..at(2.0)
        },
    ] {
        assert_eq!(told(vec![at(1.0), wrong]).0, Some(1), "{wrong:?}");
    }
}

#[test]
fn the_resistance_that_a_charger_says_is_told_from_its_least_to_its_most() {
    let mut samples = Tester::with_cell(1.0, 0.02, 50.0).rest(3.0).samples();
    let none = Recorded::new(samples.clone())
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive);
    assert_eq!(none.stated_ohm(), None);
    samples[1].stated_ohm = Some(0.021);
    samples[2].stated_ohm = Some(0.019);
    let log = Recorded::new(samples)
        .expect("a log")
        .with_sign(CurrentSign::ChargingIsPositive);
    assert_eq!(log.stated_ohm(), Some((0.019, 0.021)));
    assert_eq!(log.seconds(), 3.0);
}
