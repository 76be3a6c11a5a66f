//! A charge plan as it is answered: every figure, and beside it the words of a card. V, mA, mAh, mW, minutes, C.

use super::apart::Apart;
use super::codes::{ToldCaution, ToldFirst, ToldLimit, ToldMode, volts};
use crate::battery::pack::Build;
use crate::bench::plan::{Answer, AtHand, Plan, Refused, Source, Told, Way, sets_volts};
use crate::bench::typed::Words;
use serde::Serialize;
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ChargePlanTold {
    #[schema(inline)]
    pub answer: AnswerKind,
    /// Why it must not be charged or used, or why there is nothing to do.
    pub why: Vec<String>,
    /// Names of what must be said first.
    pub ask: Vec<String>,
    /// Those that work, best first: in time, balanced, lower current, fewer adapters, sooner, by number. One for each charger.
    #[schema(inline)]
    pub plans: Vec<ToldPlan>,
    #[schema(inline)]
    pub refused: Vec<ToldRefused>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum AnswerKind {
    /// It must not be charged or discharged.
    Stop,
    /// Something must be said first.
    Ask,
    /// It is there already, or can't be brought there like that.
    Nothing,
    Plans,
}

/// What does not do it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct ToldRefused {
    pub number: String,
    pub why: String,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldPlan {
    pub charger: String,
    /// From 1.
    pub output: i64,
    pub outputs: i64,
    /// null: from the mains.
    #[schema(inline)]
    pub supply: Option<ToldSupply>,
    /// What the supply has left for it; null: no end to it.
    pub supply_mw: Option<i64>,
    /// From the charger on, by number.
    pub adapters: Vec<String>,
    /// Every plug in turn, from the charger's to the pack's, by code.
    pub plugs: Vec<String>,
    /// What the weakest of them carries.
    pub plugs_ma: i64,
    /// It charges through its balance plug.
    pub through_balance: bool,
    /// The balance lead goes in.
    pub balance_lead: bool,
    #[schema(inline)]
    pub mode: ToldMode,
    /// false: without waiting for balance; the next charge is then owed one.
    pub balanced: bool,
    /// false: discharged.
    pub charges: bool,
    pub current_ma: i64,
    pub c_rate: f64,
    /// null: no volts are set, it ends by a dip in them.
    pub target_cell_v: Option<f64>,
    /// The same of the whole pack.
    pub target_pack_v: Option<f64>,
    pub minutes_low: i64,
    /// With the time for balancing in it.
    pub minutes_high: i64,
    pub mah_low: i64,
    pub mah_high: i64,
    pub in_time: bool,
    pub cutoff_mah: i64,
    pub cutoff_minutes: i64,
    /// From the supply, at most.
    pub drawn_mw: i64,
    /// What holds the current back; empty where time asked for no more.
    #[schema(inline)]
    pub limits: Vec<ToldLimit>,
    #[schema(inline)]
    pub first: ToldFirst,
    #[schema(inline)]
    pub cautions: Vec<ToldCaution>,
    #[schema(inline)]
    pub told: ToldWords,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldSupply {
    pub number: String,
    /// From 1; null: it has no ports.
    pub port: Option<i64>,
    pub volts: f64,
    /// null: it plugs straight in, or a common cable is needed.
    pub cable: Option<String>,
    /// A USB-C cable is needed, and none of the given ones is it.
    pub needs_own_cable: bool,
}

/// The same as a card says it, in its order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct ToldWords {
    pub first: Option<String>,
    pub steps: Vec<String>,
    pub chemistry: String,
    pub cells: String,
    pub mode: String,
    pub current: String,
    pub rate: String,
    pub target: String,
    pub cut_off: String,
    pub takes: String,
    pub moves: String,
    pub read_back: String,
    pub limited: Vec<String>,
    pub cautions: Vec<String>,
}

impl ChargePlanTold {
    pub(super) fn of(answer: Answer, build: &Build, hand: &AtHand) -> Self {
        let nothing = Self {
            answer: AnswerKind::Plans,
            why: Vec::new(),
            ask: Vec::new(),
            plans: Vec::new(),
            refused: Vec::new(),
        };
        match answer {
            Answer::Stop(why) => Self {
                answer: AnswerKind::Stop,
                why,
                ..nothing
            },
            Answer::Ask(names) => Self {
                answer: AnswerKind::Ask,
                ask: names.into_iter().map(str::to_owned).collect(),
                ..nothing
            },
            Answer::Nothing(words) => Self {
                answer: AnswerKind::Nothing,
                why: vec![words],
                ..nothing
            },
            Answer::Plans { plans, refused } => Self {
                plans: plans
                    .iter()
                    .map(|plan| ToldPlan::of(plan, build, hand))
                    .collect(),
                refused: refused.into_iter().map(ToldRefused::from).collect(),
                ..nothing
            },
        }
    }
}

impl ChargePlanTold {
    /// What cells that stand apart ask for comes first.
    pub(super) fn with(mut self, apart: &Apart) -> Self {
        if let Some((what, words)) = apart.caution() {
            for plan in &mut self.plans {
                let caution = ToldCaution { what, cell_v: None };
                plan.cautions.insert(0, caution);
                plan.told.cautions.insert(0, words.clone());
            }
        }
        self
    }
}

impl From<Refused> for ToldRefused {
    fn from(refused: Refused) -> Self {
        Self {
            number: refused.number,
            why: refused.why,
        }
    }
}

impl ToldPlan {
    fn of(plan: &Plan, build: &Build, hand: &AtHand) -> Self {
        let adapters = plan.chain.adapters.iter();
        let charges = matches!(plan.way, Way::Up { .. });
        let set = |mv: i64| sets_volts(build.chemistry, charges).then(|| volts(mv));
        Self {
            charger: plan.charger.number.clone(),
            output: plan.output + 1,
            outputs: plan.has_outputs,
            supply: plan.feed.source.as_ref().map(ToldSupply::of),
            supply_mw: plan.feed.mw,
            adapters: adapters.map(|adapter| adapter.number.clone()).collect(),
            plugs: plan.chain.plugs.clone(),
            plugs_ma: plan.chain.rating_ma,
            through_balance: plan.through_balance,
            balance_lead: plan.has_balance_lead,
            mode: plan.mode.into(),
            balanced: plan.is_balanced,
            charges,
            current_ma: plan.current_ma,
            c_rate: plan.c_ten_thousandths as f64 / 10_000.0,
            target_cell_v: set(plan.target_cell_mv),
            target_pack_v: set(plan.target_mv),
            minutes_low: plan.course.least_minutes,
            minutes_high: plan.course.most_minutes,
            mah_low: plan.course.least_mah,
            mah_high: plan.course.most_mah,
            in_time: plan.is_in_time,
            cutoff_mah: plan.cutoff_mah,
            cutoff_minutes: plan.cutoff_minutes,
            drawn_mw: plan.drawn_mw,
            limits: plan.limits.iter().map(ToldLimit::of).collect(),
            first: plan.first.into(),
            cautions: plan.cautions.iter().copied().map(Into::into).collect(),
            told: Told::of(plan, build, hand, Words::POINT).into(),
        }
    }
}

impl ToldSupply {
    fn of(source: &Source) -> Self {
        Self {
            number: source.supply.number.clone(),
            port: source.port.map(|port| port as i64 + 1),
            volts: volts(source.mv),
            cable: source.cable.as_ref().map(|cable| cable.number.clone()),
            needs_own_cable: source.needs_own_cable,
        }
    }
}

impl From<Told> for ToldWords {
    fn from(told: Told) -> Self {
        Self {
            first: told.first,
            steps: told.steps,
            chemistry: told.chemistry.to_owned(),
            cells: told.cells,
            mode: told.mode.to_owned(),
            current: told.current,
            rate: told.rate,
            target: told.target,
            cut_off: told.cut_off,
            takes: told.takes,
            moves: told.moves,
            read_back: told.read_back,
            limited: told.limited,
            cautions: told.cautions,
        }
    }
}
