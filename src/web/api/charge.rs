//! How a pack is charged now, as numbers: the plans that work, best first, or why there is none. What starts one is
//! `charge_start`.

use super::operation::{Call, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::actions::charging::{asked, may_plan};
use crate::bench::form::Problems;
use crate::bench::plan::{
    Answer, Asked, First, Plan, Purpose, Told, Way, plan, rests_for, sets_volts,
};
use crate::store::charges::ToCharge;
use crate::store::charging_kit::ChargingKit;
use crate::web::charge;
use crate::web::charge_asked::{self, Understood};
use crate::web::charge_card::{GET_AWAY, instead, of_pack, stop_if};
use crate::web::charge_shown::{self, kept_words};
use crate::web::visit::SignedIn;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeAsked {
    /// ready_by, no_hurry, storage or empty.
    purpose: String,
    /// Of ready_by and no_hurry: by when it is to be ready, or until when somebody is there. A time in the hall, like 14:40.
    #[serde(default)]
    at: String,
    /// How warm it is where it is charged; left out: as its place usually is.
    room_celsius: Option<i64>,
    /// How warm the pack is: as the room, once it lay there for an hour; left out: as its place usually is, where it lay so long.
    #[serde(default)]
    pack_celsius: Option<i64>,
    /// That was read off the pack itself: a pack that came from use less than 15 minutes ago is planned for at no other.
    #[serde(default)]
    pack_is_measured: bool,
    /// The plan of this charger alone.
    #[serde(default)]
    charger: String,
}

/// As a form sends a tick.
pub fn ticked(is_set: bool) -> String {
    if is_set { "yes" } else { "" }.to_owned()
}

/// Both degrees say their unit: a form's own may be Fahrenheit.
pub fn celsius(degrees: i64) -> String {
    format!("{degrees} C")
}

impl ChargeAsked {
    fn as_form(&self) -> charge_asked::Form {
        charge_asked::Form {
            purpose: self.purpose.clone(),
            at: self.at.clone(),
            room: self.room_celsius.map_or_else(String::new, celsius),
            pack: self.pack_celsius.map_or_else(String::new, celsius),
            measured: ticked(self.pack_is_measured),
            charger: self.charger.clone(),
            paper: String::new(),
            sent: String::new(),
        }
    }
}

/// What is wrong with the question, under the names that a program asked by.
fn renamed(problems: &Problems) -> Problems {
    let mut told = Problems::default();
    for (field, words) in problems.list() {
        let field = match field.as_str() {
            "room" => "room_celsius",
            "pack" => "pack_celsius",
            other => other,
        };
        told.add(field, words.clone());
    }
    told
}

/// Why a pack gets no settings.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct NoSettings {
    pub why: String,
    /// New volts would help.
    pub log_volts_first: bool,
    /// The charge that runs.
    pub charge_id: Option<Uuid>,
}

/// A thing that does not do it, and why.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct NotThis {
    pub number: String,
    pub why: String,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct ChargePlans {
    pub pack: String,
    /// Good for half an hour; sent again with what is started, as `minutes` is.
    pub planned_at: String,
    /// From then until the time that was asked for; null: it takes the time it takes.
    pub minutes: Option<i64>,
    /// The pack gets none, whatever is at hand; null: it may be charged.
    pub no_settings: Option<NoSettings>,
    /// Why it must not be charged like that, in sentences; then no figure is given.
    pub stop: Vec<String>,
    /// It came from use and lies until then, unless its own temperature is measured.
    pub lies_until: Option<String>,
    /// It is there already, or can't be brought there like that; in a sentence.
    pub nothing: Option<String>,
    /// Of its average cell at 25 °C in hundredths of a milliohm, as the times are reckoned with, and when it was measured;
    /// null: what is typical of its kind.
    pub cell_resistance_mohm_hundredths: Option<i64>,
    pub cell_resistance_measured_at: Option<String>,
    /// Best first, one for each charger; none: see above, and `refused`.
    pub plans: Vec<CardPlan>,
    /// What of the kit at hand does not do it.
    pub refused: Vec<NotThis>,
    /// When to stop.
    pub stop_if: String,
    /// Where it is not ready in time: packs of its design that are full, and that could be ready.
    pub full_instead: Vec<String>,
    pub in_time_instead: Vec<String>,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct CardPlan {
    /// All of it as one text: what starts a charge gives it back.
    pub plan: String,
    pub charger: String,
    /// Counted from 1.
    pub output: i64,
    /// null: from the mains.
    pub supply: Option<String>,
    /// Counted from 1; null: it has but one way out.
    pub supply_port: Option<i64>,
    pub supply_mv: Option<i64>,
    pub cable: Option<String>,
    /// With a USB-C cable, and none of the club's is at hand.
    pub needs_own_cable: bool,
    /// From the charger on to the pack.
    pub adapters: Vec<String>,
    /// Codes of all plugs from the charger on to the pack.
    pub plugs: Vec<String>,
    /// Its balance plug carries the charge; the main lead stays free.
    pub is_through_balance: bool,
    pub has_balance_lead: bool,
    pub chemistry: String,
    pub cells_series: i64,
    pub mode: String,
    pub is_balanced: bool,
    /// It puts charge in; else it takes some out.
    pub is_charge: bool,
    pub current_ma: i64,
    /// 10000 is 1C.
    pub rate_c_ten_thousandths: i64,
    /// null: no volts are set, it ends by a dip in them.
    pub target_mv: Option<i64>,
    /// The same of one cell.
    pub target_cell_mv: Option<i64>,
    pub least_minutes: i64,
    pub most_minutes: i64,
    pub least_mah: i64,
    pub most_mah: i64,
    pub cutoff_mah: i64,
    pub cutoff_minutes: i64,
    /// From the supply, at most.
    pub drawn_mw: i64,
    pub is_in_time: bool,
    /// What comes before anything is plugged in.
    pub first: Option<String>,
    /// What the charger was left at, where that is more than this pack takes: turn it down first.
    pub left_at_ma: Option<i64>,
    pub steps: Vec<String>,
    /// To be read back from the charger before it starts.
    pub read_back: String,
    /// What holds the current back.
    pub limited_by: Vec<String>,
    pub cautions: Vec<String>,
}

impl CardPlan {
    fn of(plan: &Plan, asked: &Asked, kit: &ChargingKit, who: &SignedIn) -> Self {
        let build = &asked.pack.build;
        let told = Told::of(plan, build, &kit.hand, who.numbers());
        let source = plan.feed.source.as_ref();
        let from_one = |port: usize| i64::try_from(port).unwrap_or(i64::MAX).saturating_add(1);
        let adapters = plan.chain.adapters.iter();
        let is_charge = matches!(plan.way, Way::Up { .. });
        let set = |mv: i64| sets_volts(build.chemistry, is_charge).then_some(mv);
        Self {
            plan: plan.as_one_text(),
            charger: plan.charger.number.clone(),
            output: plan.output + 1,
            supply: source.map(|source| source.supply.number.clone()),
            supply_port: source.and_then(|source| source.port).map(from_one),
            supply_mv: source.map(|source| source.mv),
            cable: source.and_then(|source| Some(source.cable.as_ref()?.number.clone())),
            needs_own_cable: source.is_some_and(|source| source.needs_own_cable),
            adapters: adapters.map(|adapter| adapter.number.clone()).collect(),
            plugs: plan.chain.plugs.clone(),
            is_through_balance: plan.through_balance,
            has_balance_lead: plan.has_balance_lead,
            chemistry: build.chemistry.code().to_owned(),
            cells_series: build.cells_series,
            mode: plan.mode.code().to_owned(),
            is_balanced: plan.is_balanced,
            is_charge,
            current_ma: plan.current_ma,
            rate_c_ten_thousandths: plan.c_ten_thousandths,
            target_mv: set(plan.target_mv),
            target_cell_mv: set(plan.target_cell_mv),
            least_minutes: plan.course.least_minutes,
            most_minutes: plan.course.most_minutes,
            least_mah: plan.course.least_mah,
            most_mah: plan.course.most_mah,
            cutoff_mah: plan.cutoff_mah,
            cutoff_minutes: plan.cutoff_minutes,
            drawn_mw: plan.drawn_mw,
            is_in_time: plan.is_in_time,
            left_at_ma: match plan.first {
                First::TurnDown { from_ma } => Some(from_ma),
                First::Read | First::Nothing => None,
            },
            first: told.first,
            steps: told.steps,
            read_back: told.read_back,
            limited_by: told.limited,
            cautions: told.cautions,
        }
    }
}

impl Shown for ChargePlans {
    fn example() -> Self {
        Self {
            pack: "P-001".to_owned(),
            planned_at: "2026-11-25T18:30:00Z".to_owned(),
            minutes: Some(240),
            plans: vec![CardPlan {
                plan: "C-01/0/mains//balance/2200/12600/1670/80/read/-".to_owned(),
                charger: "C-01".to_owned(),
                output: 1,
                plugs: vec!["xt60".to_owned()],
                has_balance_lead: true,
                chemistry: "lipo".to_owned(),
                cells_series: 3,
                mode: "balance".to_owned(),
                is_balanced: true,
                is_charge: true,
                current_ma: 2_200,
                rate_c_ten_thousandths: 10_000,
                target_mv: Some(12_600),
                target_cell_mv: Some(4_200),
                least_minutes: 45,
                most_minutes: 65,
                least_mah: 1_100,
                most_mah: 1_350,
                cutoff_mah: 1_500,
                cutoff_minutes: 80,
                drawn_mw: 33_000,
                is_in_time: true,
                first: Some(
                    "First read what C-01 is set to: what it was left at is not known.".to_owned(),
                ),
                steps: vec!["C-01, from the mains".to_owned()],
                read_back: "3S LiPo, balance, 12.6 V, 2.2 A".to_owned(),
                limited_by: vec!["the club's rate of 1C".to_owned()],
                ..CardPlan::default()
            }],
            stop_if: format!("it swells, smells, gets warm, or you must go. {GET_AWAY}"),
            cell_resistance_mohm_hundredths: Some(515),
            cell_resistance_measured_at: Some("2026-11-02T19:00:00Z".to_owned()),
            ..Self::default()
        }
    }
}

pub async fn plans(call: Call<ChargeAsked>) -> Result<ChargePlans, Trouble> {
    let who = &call.who;
    let (one, kit) = charge::found(&call.app, who, &call.name).await?;
    let form = call.sent.as_form();
    let conditions = match form.understood(who, one.usual(who.now)) {
        Understood::Asked(conditions) => conditions,
        Understood::Wrong(problems) => return Err(Trouble::from(&renamed(&problems))),
        Understood::NotAsked => {
            let problems = Problems::one("purpose", "Choose what it is charged for.");
            return Err(Trouble::from(&problems));
        }
    };
    let limits = who.club.limits();
    let mut told = ChargePlans {
        pack: one.pack.number.clone(),
        planned_at: instant(who.now),
        minutes: conditions.purpose.within_minutes(),
        ..ChargePlans::default()
    };
    if let Err(why) = may_plan(&one, who.now, &limits) {
        told.no_settings = Some(NoSettings {
            why: why.to_string(),
            log_volts_first: why.wants_volts(),
            charge_id: one.running_id,
        });
        return Ok(told);
    }
    let Some(asked) = asked(&one, conditions, (who.now, &limits)) else {
        return Ok(told);
    };
    let is_waiting = rests_for(&asked).is_some();
    let until = one.lies_until(who.now).filter(|_| is_waiting);
    told.lies_until = until.map(instant);
    told.stop_if = format!("{}. {GET_AWAY}", stop_if(asked.pack.build.chemistry));
    if let Some(measured) = one.measured() {
        told.cell_resistance_mohm_hundredths = Some((measured.ohm * 1e5).round() as i64);
        told.cell_resistance_measured_at = Some(instant(measured.at));
    }
    let answer = plan(&asked, &kit.hand).attended(asked.purpose);
    let kept = kept(&answer, (&one, &kit), &call.sent);
    told.answer(answer, (&asked, &kit), who)
        .map_err(|lacking| Trouble::from(&renamed(&form.lacking(&lacking))))?;
    charge_shown::keep(&call.app, who, &kept).await;
    for plan in &mut told.plans {
        plan.cautions.splice(0..0, of_pack(who, &one));
    }
    if !call.sent.charger.is_empty() {
        let charger = call.sent.charger.to_uppercase();
        told.plans.retain(|plan| plan.charger == charger);
    }
    Ok(told)
}

/// What is kept of the plans that are told: of one charger alone, where that was asked for.
fn kept(
    answer: &Answer,
    (one, kit): (&ToCharge, &ChargingKit),
    asked: &ChargeAsked,
) -> Vec<(Uuid, String)> {
    let Answer::Plans { plans, .. } = answer else {
        return Vec::new();
    };
    let charger = asked.charger.to_uppercase();
    let told = plans
        .iter()
        .filter(|plan| charger.is_empty() || plan.charger.number == charger);
    let about = (&one.pack.build(), &kit.hand);
    let words = |plan| (one.pack.id, kept_words(&asked.purpose, plan, about));
    told.map(words).collect()
}

impl ChargePlans {
    /// Err: what must be known first.
    fn answer(
        &mut self,
        answer: Answer,
        (asked, kit): (&Asked, &ChargingKit),
        who: &SignedIn,
    ) -> Result<(), Vec<&'static str>> {
        let words = who.numbers();
        match answer {
            Answer::Ask(lacking) => return Err(lacking),
            Answer::Stop(why) => self.stop = why.iter().map(|each| words.sentence(each)).collect(),
            Answer::Nothing(why) => self.nothing = Some(words.sentence(&why)),
            Answer::Plans { plans, refused } => {
                let is_late = plans.first().is_none_or(|best| !best.is_in_time);
                if is_late && matches!(asked.purpose, Purpose::ReadyBy { .. }) {
                    let others = instead(who, kit, asked, &self.pack);
                    self.full_instead = others.ready;
                    self.in_time_instead = others.could_be;
                }
                let plan = |plan: &Plan| CardPlan::of(plan, asked, kit, who);
                self.plans = plans.iter().map(plan).collect();
                let refused = refused.into_iter().map(|each| NotThis {
                    why: words.sentence(&each.why),
                    number: each.number,
                });
                self.refused = refused.collect();
            }
        }
        Ok(())
    }
}
