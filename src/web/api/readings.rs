//! Readings of a pack: those on record with what they tell together, and logging volts, correcting them, or saying why they could not be read.

use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::{ReadVolts, instant, tenths, thousandths};
use crate::battery::resistance_read::MeterKind;
use crate::bench::form::{Fields, Problems};
use crate::calc::{Compute, HealthTold, Verdict};
use crate::club::reading::beside::Context;
use crate::store::readings::{self, OnPage};
use crate::web::asked::Path;
use crate::web::log_volts;
use crate::web::pack::named;
use crate::web::page::Page;
use crate::web::readings_told::weighed;
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

const MOST: usize = 500;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Reading {
    pub id: Uuid,
    pub taken_at: String,
    pub volts: Option<ReadVolts>,
    pub rested_minutes: Option<i64>,
    /// Why it could not be read.
    pub unread: Option<String>,
    /// Of each cell, cell 1 first, in tenths of a milliohm.
    pub resistance_mohm_tenths: Option<Vec<i64>>,
    /// What it was read with.
    pub meter: Option<String>,
    /// How that finds a resistance: load or alternating; null: nobody said, it counts as load.
    pub meter_kind: Option<String>,
    /// Of the pack.
    pub temperature_celsius: Option<i64>,
    /// Since the reading before.
    pub put_in_mah: Option<i64>,
    pub taken_out_mah: Option<i64>,
    /// What it was about.
    pub context: Option<String>,
    /// The reading that it stands in place of.
    pub corrects_id: Option<Uuid>,
    /// A later one stands in its place.
    pub is_corrected: bool,
}

#[derive(Serialize, ToSchema)]
pub struct Readings {
    /// The latest 500 at most, the latest first.
    pub readings: Vec<Reading>,
    /// What they tell together, by the club's limits, each finding with how sure it is; as `/calc/verdict` answers it.
    #[schema(inline)]
    pub verdict: Option<HealthTold>,
}

impl Shown for Readings {
    fn example() -> Self {
        Self {
            readings: vec![Reading {
                taken_at: "2026-11-25T18:30:00Z".to_owned(),
                volts: ReadVolts::of_text(Some("3820 3810 3820")),
                rested_minutes: Some(60),
                resistance_mohm_tenths: Some(vec![51, 49, 53]),
                meter: Some("C-02".to_owned()),
                temperature_celsius: Some(21),
                put_in_mah: Some(1_200),
                context: Some("after_charge".to_owned()),
                ..Reading::default()
            }],
            verdict: Verdict::example().compute().ok().map(HealthTold::from),
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Readings, Trouble> {
    let pack = named(&call.app, &call.name).await?;
    let mut conn = call.app.db.read().await?;
    let OnPage {
        latest,
        for_health,
        sisters,
    } = readings::on_page(&mut conn, (pack.id, pack.design_id), MOST).await?;
    let corrected: Vec<Uuid> = latest.iter().filter_map(|one| one.corrects_id).collect();
    let all = latest.iter().map(|one| told(one, &corrected));
    let read = (for_health.as_slice(), sisters.as_slice());
    Ok(Readings {
        readings: all.collect(),
        verdict: Some(weighed(&pack, read, &call.who, HealthTold::of)),
    })
}

fn told(one: &readings::Reading, corrected: &[Uuid]) -> Reading {
    let beside = one.beside();
    let resistance = beside.resistance.as_ref();
    Reading {
        id: one.id,
        taken_at: instant(one.taken_ms),
        volts: ReadVolts::of_text(one.volts.as_deref()),
        rested_minutes: one.volts.as_ref().map(|_| one.rested_minutes),
        unread: one.unread_words.clone(),
        resistance_mohm_tenths: resistance.map(|cells| cells.tenths().to_vec()),
        temperature_celsius: beside.celsius,
        context: beside.context.map(|context| context.code().to_owned()),
        meter_kind: beside.meter_kind.map(|kind| kind.code().to_owned()),
        meter: beside.meter,
        put_in_mah: one.put_in_mah,
        taken_out_mah: one.taken_out_mah,
        corrects_id: one.corrects_id,
        is_corrected: corrected.contains(&one.id),
    }
}

/// What the meter said, or why it said nothing: one of `volts_mv` and `unread`.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct LogVolts {
    /// Of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack.
    pub volts_mv: Vec<i64>,
    /// Why they could not be read.
    #[schema(max_length = 300)]
    pub unread: String,
    /// rested_an_hour, rested_a_while (15 minutes or more) or just_used.
    pub rested: String,
    /// It was asked about as implausible, measured again, and is so.
    pub is_confirmed: bool,
    /// Somebody looked it over and saw nothing: what came back unchecked is known only then.
    pub is_looked_over: bool,
    /// The reading that it stands in place of, and what was wrong with that one.
    pub corrects_id: Option<Uuid>,
    pub why: String,
    /// Of each cell, cell 1 first, in tenths of a milliohm: as many as the pack has cells, each from 1 to 20000; or none.
    pub resistance_mohm_tenths: Vec<i64>,
    /// The meter or charger it was read with.
    #[schema(max_length = 60)]
    pub meter: String,
    /// How that finds a resistance: load or alternating (about 1 kHz); empty: not said.
    pub meter_kind: String,
    /// Of the pack, from -20 to 60.
    pub temperature_celsius: Option<i64>,
    /// Since the reading before: what was put in, or what was taken out.
    pub put_in_mah: Option<i64>,
    pub taken_out_mah: Option<i64>,
    /// More charge than three times the label's capacity is asked about; it is so.
    pub is_charge_confirmed: bool,
    /// What it was about; empty: nothing in particular.
    pub context: String,
}

/// Volts as they would be typed, each by itself.
pub fn typed(volts_mv: &[i64]) -> Vec<String> {
    volts_mv.iter().map(|mv| thousandths(*mv)).collect()
}

/// As a form says that volts which were asked about are so.
pub const fn confirmed(is_confirmed: bool) -> &'static str {
    if is_confirmed { "yes" } else { "" }
}

impl Sent for LogVolts {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.each("volts_mv", "volts", &typed(&self.volts_mv));
        form.name("volts_mv", "volts_line");
        form.text("unread", &self.unread);
        form.text("rested", &self.rested);
        form.tick("is_confirmed", "confirmed", self.is_confirmed);
        form.tick("is_looked_over", "looked_over", self.is_looked_over);
        form.maybe("corrects_id", "corrects", self.corrects_id);
        form.text("why", &self.why);
        let resistance: Vec<String> = self
            .resistance_mohm_tenths
            .iter()
            .copied()
            .map(tenths)
            .collect();
        form.called("resistance_mohm_tenths", "resistance", resistance.join(" "));
        form.text("meter", &self.meter);
        form.text("meter_kind", &self.meter_kind);
        form.maybe("temperature_celsius", "celsius", self.temperature_celsius);
        form.maybe("put_in_mah", "put_in_mah", self.put_in_mah);
        form.maybe("taken_out_mah", "taken_out_mah", self.taken_out_mah);
        form.tick(
            "is_charge_confirmed",
            "charge_confirmed",
            self.is_charge_confirmed,
        );
        form.text("context", &self.context);
        Ok(())
    }

    fn example() -> Self {
        Self {
            volts_mv: vec![3_820, 3_810, 3_820],
            rested: "rested_an_hour".to_owned(),
            resistance_mohm_tenths: vec![51, 49, 53],
            meter: "C-02".to_owned(),
            meter_kind: MeterKind::Load.code().to_owned(),
            temperature_celsius: Some(21),
            put_in_mah: Some(1_200),
            context: Context::AfterCharge.code().to_owned(),
            ..Self::default()
        }
    }
}

pub async fn log_volts(call: Call<LogVolts>, form: Fields) -> Page {
    log_volts::log(State(call.app), call.who, Path(call.name), form).await
}
