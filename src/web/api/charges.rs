//! What charges now and who stays with it; one charge, its end, and reading back after a power cut. Who stays with it is told
//! to those who may see who has what, and to oneself.

use super::document;
use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::readings::typed;
use super::trouble::Trouble;
use super::words::instant;
use crate::battery::chemistry::Chemistry;
use crate::bench::form::{Fields, Problems};
use crate::bench::plan::sets_volts;
use crate::club::charging::Outcome;
use crate::store::charges::now::NowRow;
use crate::store::charges::{self, Listed};
use crate::web::asked::Path;
use crate::web::charge_hand_over;
use crate::web::charges as pages;
use crate::web::charging_now::may_know;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct RecordedCharge {
    pub id: Uuid,
    pub pack: String,
    pub design: String,
    pub chemistry: String,
    pub cells_series: i64,
    pub charger: String,
    /// Counted from 1.
    pub output: i64,
    /// null: from the mains.
    pub supply: Option<String>,
    /// Counted from 1; null: it has but one way out.
    pub supply_port: Option<i64>,
    pub purpose: String,
    pub mode: String,
    pub is_balanced: bool,
    /// It puts charge in; else it takes some out.
    pub is_charge: bool,
    /// null: it must be stopped.
    pub current_ma: Option<i64>,
    /// null: it must be stopped, or ends by a dip in volts and none are set.
    pub target_mv: Option<i64>,
    /// It runs on a pack that is not fit or a caution any more, or with kit that was set aside: why it is stopped at once. null: it may go on.
    pub must_stop: Option<String>,
    /// What was expected.
    pub least_minutes: i64,
    pub most_minutes: i64,
    pub least_mah: i64,
    pub most_mah: i64,
    /// null: it must be stopped.
    pub cutoff_mah: Option<i64>,
    /// null: it must be stopped.
    pub cutoff_minutes: Option<i64>,
    pub drawn_mw: i64,
    /// What the charger is to say, also after a power cut; empty: it must be stopped.
    pub read_back: String,
    pub started_at: String,
    /// When it is done at the latest.
    pub done_at: String,
    /// It should be done and has not been ended: look at it.
    pub is_over: bool,
    pub is_watched_by_you: bool,
    /// For those who may see who has what, and of yourself.
    pub watched_by_id: Option<Uuid>,
    pub watched_by: Option<String>,
    /// Since when they stay with it.
    pub watched_since: String,
    /// How often it was handed over: sent back with what hands it over.
    pub handed_over_count: i64,
    /// When the pack was taken back from its loan while this ran; null: it was not.
    pub pack_back_at: Option<String>,
    /// After a power cut.
    pub read_back_at: Option<String>,
    /// null: it runs.
    pub ended_at: Option<String>,
    pub outcome: Option<String>,
    pub moved_mah: Option<i64>,
    /// What was seen.
    pub end_words: Option<String>,
}

impl RecordedCharge {
    fn of(one: Listed, who: &SignedIn) -> Self {
        let charge = &one.charge;
        let is_yours = charge.watched_by == who.me.person_id;
        let may_know = is_yours || who.me.roles().may_see_holders();
        let until = charge.started_ms.plus_minutes(charge.most_minutes);
        let must_stop = one.must_stop();
        let set = |value: i64| (!must_stop).then_some(value);
        let has_volts = Chemistry::from_code(&one.chemistry)
            .is_none_or(|chemistry| sets_volts(chemistry, charge.is_charge()));
        Self {
            id: charge.id,
            read_back: if must_stop {
                String::new()
            } else {
                pages::read_back_words(&one, who.numbers())
            },
            output: charge.output + 1,
            supply_port: charge.supply_port.map(|port| port + 1),
            is_balanced: charge.is_balanced,
            is_charge: charge.is_charge(),
            current_ma: set(charge.current_ma),
            must_stop: Some(pages::must_stop(&one, who.numbers())).filter(|why| !why.is_empty()),
            target_mv: set(charge.target_mv).filter(|_| has_volts),
            least_minutes: charge.least_minutes,
            most_minutes: charge.most_minutes,
            least_mah: charge.least_mah,
            most_mah: charge.most_mah,
            cutoff_mah: set(charge.cutoff_mah),
            cutoff_minutes: set(charge.cutoff_minutes),
            drawn_mw: charge.drawn_mw,
            started_at: instant(charge.started_ms),
            done_at: instant(until),
            is_over: charge.ended_ms.is_none() && until < who.now,
            is_watched_by_you: is_yours,
            watched_by_id: may_know.then_some(charge.watched_by),
            watched_by: one.watched_name.filter(|_| may_know),
            watched_since: instant(charge.watched_ms.unwrap_or(charge.started_ms)),
            handed_over_count: charge.handed_count,
            pack_back_at: one.pack_back_ms.map(instant),
            read_back_at: charge.read_back_ms.map(instant),
            ended_at: charge.ended_ms.map(instant),
            moved_mah: charge.moved_mah,
            purpose: one.charge.purpose,
            mode: one.charge.mode,
            outcome: one.charge.outcome,
            end_words: one.charge.end_words,
            pack: one.pack_number,
            design: one.design_name,
            chemistry: one.chemistry,
            cells_series: one.cells_series,
            charger: one.charger_number,
            supply: one.supply_number,
        }
    }
}

impl Shown for RecordedCharge {
    fn example() -> Self {
        Self {
            pack: "P-001".to_owned(),
            design: "Mill 3S 2200".to_owned(),
            chemistry: "lipo".to_owned(),
            cells_series: 3,
            charger: "C-01".to_owned(),
            output: 1,
            purpose: "no_hurry".to_owned(),
            mode: "balance".to_owned(),
            is_balanced: true,
            is_charge: true,
            current_ma: Some(2_200),
            target_mv: Some(12_600),
            least_minutes: 45,
            most_minutes: 65,
            least_mah: 1_100,
            most_mah: 1_350,
            cutoff_mah: Some(1_500),
            cutoff_minutes: Some(80),
            drawn_mw: 33_000,
            read_back: "3S LiPo, balance, 12.6 V, 2.2 A".to_owned(),
            started_at: "2026-11-25T18:30:00Z".to_owned(),
            done_at: "2026-11-25T19:35:00Z".to_owned(),
            watched_since: "2026-11-25T18:30:00Z".to_owned(),
            is_watched_by_you: true,
            ..Self::default()
        }
    }
}

/// A charge that runs on a pack. Who stays with it is told to those who may see who has what, and to oneself.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Charging {
    pub charge_id: Uuid,
    pub charger: String,
    /// Counted from 1.
    pub output: i64,
    /// It puts charge in; else it takes some out.
    pub is_charge: bool,
    pub started_at: String,
    /// When it is done at the latest.
    pub done_at: String,
    /// It should be done and has not been ended: look at it.
    pub is_over: bool,
    pub is_watched_by_you: bool,
    pub watched_by_id: Option<Uuid>,
    pub watched_by: Option<String>,
}

impl Charging {
    pub fn of(row: &NowRow, who: &SignedIn) -> Option<Self> {
        let now = row.charge()?;
        let may_know = may_know(&now, who);
        Some(Self {
            charge_id: now.id,
            output: now.output + 1,
            is_charge: now.is_charge,
            started_at: instant(now.started),
            done_at: instant(now.until),
            is_over: now.until < who.now,
            is_watched_by_you: now.watched_by == who.me.person_id,
            watched_by_id: may_know.then_some(now.watched_by),
            watched_by: now.watched_name.filter(|_| may_know),
            charger: now.charger_number,
        })
    }
}

#[derive(Serialize, ToSchema)]
pub struct ChargesNow {
    /// The one that is done first on top.
    pub charges: Vec<RecordedCharge>,
}

impl Shown for ChargesNow {
    fn example() -> Self {
        Self {
            charges: vec![RecordedCharge::example()],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<ChargesNow, Trouble> {
    let running = charges::running(&mut call.app.db.read().await?).await?;
    let all = running
        .into_iter()
        .map(|one| RecordedCharge::of(one, &call.who));
    Ok(ChargesNow {
        charges: all.collect(),
    })
}

pub async fn show(call: Call<Nothing>) -> Result<RecordedCharge, Trouble> {
    let one = charges::by_id(&mut call.app.db.read().await?, call.id).await?;
    let one = one.ok_or(PageError::NotFound)?;
    Ok(RecordedCharge::of(one, &call.who))
}

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndCharge {
    /// What was wrong is stored at once, whatever else can't be read.
    pub outcome: String,
    /// As the charger shows it.
    #[serde(default)]
    pub moved_mah: Option<i64>,
    /// The charger really shows it. More than the current can have moved in the time is refused until that is said.
    #[serde(default)]
    pub is_moved_confirmed: bool,
    /// After it, of each cell, cell 1 first; of a pack without a balance lead the one of the whole pack.
    #[serde(default)]
    pub volts_mv: Vec<i64>,
    /// The meter really shows them. Volts that hardly any pack shows are refused until that is said.
    #[serde(default)]
    pub is_confirmed: bool,
    /// What was seen; said when something was wrong.
    #[serde(default)]
    #[schema(max_length = 300)]
    pub words: String,
}

impl Sent for EndCharge {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("outcome", &self.outcome);
        form.maybe("moved_mah", "mah", self.moved_mah);
        let is_sure = self.is_moved_confirmed;
        form.tick("is_moved_confirmed", "mah_confirmed", is_sure);
        let line = typed(&self.volts_mv).join(" ");
        form.called("volts_mv", "volts_line", line);
        form.tick("is_confirmed", "confirmed", self.is_confirmed);
        form.text("words", &self.words);
        Ok(())
    }

    fn example() -> Self {
        Self {
            outcome: Outcome::Finished.code().to_owned(),
            moved_mah: Some(120),
            is_moved_confirmed: false,
            volts_mv: vec![4_190, 4_190, 4_200],
            is_confirmed: false,
            words: "cool all the way".to_owned(),
        }
    }
}

pub async fn end(call: Call<EndCharge>, form: Fields) -> Page {
    pages::end(State(call.app), call.who, Path(call.id), form).await
}

pub async fn read_back(call: Call<Nothing>, form: Fields) -> Page {
    pages::read_back(State(call.app), call.who, Path(call.id), form).await
}

#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandOver {
    /// Who stays with it from now on; left out: you. Somebody else is named by a quartermaster alone.
    #[serde(default)]
    pub watched_by_id: Option<Uuid>,
    /// As the charge told it: one that was handed over since is refused.
    pub handed_over_count: i64,
}

impl Sent for HandOver {
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems> {
        let to = self.watched_by_id.unwrap_or(who.me.person_id);
        form.called("watched_by_id", "watched_by", to);
        form.called("handed_over_count", "handed", self.handed_over_count);
        Ok(())
    }

    fn example() -> Self {
        Self {
            watched_by_id: Some(document::OTHER_PERSON),
            handed_over_count: 0,
        }
    }
}

pub async fn hand_over(call: Call<HandOver>, form: Fields) -> Page {
    charge_hand_over::hand(State(call.app), call.who, Path(call.id), form).await
}
