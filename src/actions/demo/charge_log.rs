//! What the demo club's charger wrote down of a charge: brought in as a person would, and refused as theirs would be.

use super::{Teller, slip};
use crate::actions::By;
use crate::actions::charge_logs;
use crate::club::charge_log::read_back::{Choices, Stage, read_back};
use crate::ids;
use crate::store::charges::logs;
use crate::store::{StoreError, charges};
use std::fmt::Write;
use uuid::Uuid;

/// A reading each half minute.
const STEP_MINUTES: f64 = 0.5;
/// Once its cells are full, the current falls to a third and a bit in so many minutes.
const FALLS_IN_MINUTES: f64 = 5.0;
/// Of a hobby pack's cell, and how far the second one of three lags behind the others.
const CELL_OHM: f64 = 0.012;
const LAGS_V: f64 = 0.035;

impl Teller<'_> {
    /// The log of that charge, on the day it was of.
    pub(super) async fn bring_in_log(&self, by: &By, charge: Uuid) -> Result<(), StoreError> {
        let found = charges::by_id(&mut self.db.read().await?, charge).await?;
        let found = found.ok_or_else(|| slip("no such charge"))?;
        let file = written(&found);
        let choices = Choices {
            logged_on: Some(self.zone.day_of(found.charge.started_ms).to_string()),
            ..Choices::default()
        };
        let arrived = logs::Arrived {
            name: "c-01.csv",
            original_sha256: &ids::digest_of(file.as_bytes()),
            file: file.as_bytes(),
            choices: &choices,
        };
        let sent = charge_logs::send(self.db, by, &found.pack_number, &arrived).await;
        let address = sent.map_err(slip)?;
        let id = address.rsplit('/').next().and_then(|id| id.parse().ok());
        let id = id.ok_or_else(|| slip("no log on its way"))?;
        let waiting = logs::own_waiting(&mut self.db.read().await?, id, by.actor.id).await?;
        let waiting = waiting.ok_or_else(|| slip("its log did not arrive"))?;
        let read = read_back(&waiting.file, &choices, &waiting.pack.build());
        let Stage::Ready(ready) = read.stage else {
            return Err(slip("its log is not read"));
        };
        let kept = charge_logs::keep(self.db, by, &waiting, &ready, false).await;
        kept.map_err(slip)?;
        Ok(())
    }
}

/// Constant current until the cells are full, then less and less: as much in all as was recorded.
fn written(one: &charges::Listed) -> String {
    let amps = one.charge.current_ma as f64 / 1_000.0;
    let minutes_in_all = one.charge.moved_mah.unwrap_or(one.charge.least_mah) as f64 * 0.06 / amps;
    let full_at = (minutes_in_all - FALLS_IN_MINUTES).max(1.0);
    let cells = one.cells_series;
    let mut text = "Time (min),Pack voltage (V),Current (A),Charged (mAh)".to_owned();
    for cell in 1..=cells {
        let _ = write!(text, ",Cell {cell} (V)");
    }
    let (mut minutes, mut mah) = (0.0, 0.0);
    while minutes < full_at + 4.0 * FALLS_IN_MINUTES {
        let now = current(amps, minutes - full_at);
        let share = (minutes / full_at).min(1.0);
        let held: Vec<f64> = (0..cells)
            .map(|cell| volts(share, now, cell == 1))
            .collect();
        let pack: f64 = held.iter().sum();
        let _ = write!(text, "\n{minutes:.1},{pack:.3},{now:.3},{mah:.0}");
        for cell in held {
            let _ = write!(text, ",{cell:.3}");
        }
        let next = current(amps, minutes + STEP_MINUTES - full_at);
        mah += f64::midpoint(now, next) * STEP_MINUTES / 0.06;
        minutes += STEP_MINUTES;
    }
    text + "\n"
}

fn current(amps: f64, minutes_since_full: f64) -> f64 {
    amps * (-minutes_since_full.max(0.0) / FALLS_IN_MINUTES).exp()
}

/// From half full on; one that lags is as full as the others in the end.
fn volts(share: f64, amps: f64, lags: bool) -> f64 {
    let rests_at = 3.81 + 0.36 * share.powf(1.4);
    let behind = if lags { LAGS_V * (1.0 - share) } else { 0.0 };
    (rests_at + amps * CELL_OHM - behind).min(4.2)
}
