//! A plan in words, for a card on a screen, on paper or in an answer to a program: what first, steps, settings, what to read
//! back. Numbers are written as the club writes them.

use super::asked::AtHand;
use super::made::mah_step;
use super::{Caution, Chain, First, Limit, Plan, Way, Weakest};
use crate::battery::chemistry::Chemistry;
use crate::battery::pack::{Build, c_ten_thousandths};
use crate::bench::charger::Mode;
use crate::bench::connector::called;
use crate::bench::typed::Words;

/// What a card says, in its order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// `First turn C-02 down: it was left at 2.2 A, which is 4.9C on this pack.`
    pub first: Option<String>,
    pub steps: Vec<String>,
    pub chemistry: &'static str,
    /// `3S`
    pub cells: String,
    pub mode: &'static str,
    /// `0.4 A`
    pub current: String,
    /// `0.89C`
    pub rate: String,
    /// `12.60 V, 4.20 V a cell`
    pub target: String,
    /// `230 mAh, 45 minutes`
    pub cut_off: String,
    /// `33 to 38 minutes`
    pub takes: String,
    /// `puts in 150 to 190 mAh`
    pub moves: String,
    /// As [`read_back_words`] has it.
    pub read_back: String,
    /// What holds the current back.
    pub limited: Vec<String>,
    pub cautions: Vec<String>,
}

impl Told {
    pub fn of(plan: &Plan, build: &Build, hand: &AtHand, words: Words) -> Self {
        let (chemistry, cells) = (build.chemistry.label(), format!("{}S", build.cells_series));
        let (mode, current) = (mode_words(plan.mode), words.amps(plan.current_ma));
        let pack_volts = words.volts(plan.target_mv);
        let is_charge = matches!(plan.way, Way::Up { .. });
        let course = &plan.course;
        let expected = (course.least_mah, course.most_mah);
        let verb = match plan.way {
            Way::Up { .. } => "puts in",
            Way::Down { .. } => "takes out",
        };
        Self {
            first: first_words(plan, build, words),
            steps: steps(plan, hand, words),
            read_back: read_back_words(
                (build.chemistry, build.cells_series),
                (plan.mode, is_charge),
                (&pack_volts, &current),
            ),
            chemistry,
            cells,
            mode,
            current,
            rate: c_words(plan.c_ten_thousandths, words),
            target: if sets_volts(build.chemistry, is_charge) {
                format!("{pack_volts}, {} a cell", words.volts(plan.target_cell_mv))
            } else {
                "A dip in volts, by itself".to_owned()
            },
            cut_off: format!(
                "{}, {} minutes",
                words.mah(plan.cutoff_mah),
                plan.cutoff_minutes
            ),
            takes: between_words(course.least_minutes, course.most_minutes, "minutes"),
            moves: format!(
                "{verb} {}",
                expected_words(expected, plan.cutoff_mah, build.capacity_mah)
            ),
            limited: plan.limits.iter().map(limit_words).collect(),
            cautions: plan
                .cautions
                .iter()
                .map(|caution| caution_words(*caution, words))
                .collect(),
        }
    }
}

/// Nickel has no volts to charge to: its charger finds its end.
pub fn sets_volts(chemistry: Chemistry, is_charge: bool) -> bool {
    chemistry != Chemistry::NiMh || !is_charge
}

/// `3S LiPo, balance, 12.60 V, 0.4 A`; without volts where none are set.
pub fn read_back_words(
    (chemistry, cells): (Chemistry, i64),
    (mode, is_charge): (Mode, bool),
    (pack_volts, current): (&str, &str),
) -> String {
    let pack = format!("{cells}S {}", chemistry.label());
    let mode = mode_words(mode).to_lowercase();
    if sets_volts(chemistry, is_charge) {
        format!("{pack}, {mode}, {pack_volts}, {current}")
    } else {
        format!("{pack}, {mode}, {current}")
    }
}

/// `640 to 980 mAh`: what a charge is expected to move, in steps of the pack's size; its charger stops at its cut-off.
pub fn expected_words((least, most): (i64, i64), cutoff_mah: i64, capacity_mah: i64) -> String {
    let step = mah_step(capacity_mah);
    let most = ((most + step - 1) / step * step).min(cutoff_mah);
    between_words((least / step * step).min(most), most, "mAh")
}

/// `33 to 38 minutes`, `up to 150 minutes`, `40 mAh`
fn between_words(least: i64, most: i64, unit: &str) -> String {
    match least {
        ..=0 => format!("up to {most} {unit}"),
        _ if least == most => format!("{most} {unit}"),
        _ => format!("{least} to {most} {unit}"),
    }
}

/// `4.9C`; two decimals under 1C.
fn c_words(ten_thousandths: i64, words: Words) -> String {
    let (places, scaled) = if ten_thousandths < 10_000 {
        (100, (ten_thousandths + 50) / 100)
    } else {
        (10, (ten_thousandths + 500) / 1_000)
    };
    format!("{}C", words.number(scaled * 1_000 / places))
}

pub fn mode_words(mode: Mode) -> &'static str {
    match mode {
        Mode::Balance => "Balance",
        Mode::Charge => "Charge",
        Mode::Storage => "Storage",
        Mode::Discharge => "Discharge",
    }
}

fn first_words(plan: &Plan, build: &Build, words: Words) -> Option<String> {
    let current = current_words(plan, build, words);
    let charger = &plan.charger.number;
    let other = plan.left_for.map(|(chemistry, cells)| {
        format!(
            "{charger} was last set to {cells}S {}: set it to {}S {}.",
            chemistry.label(),
            build.cells_series,
            build.chemistry.label()
        )
    });
    match (current, other) {
        (Some(current), Some(other)) => Some(format!("{current} {other}")),
        (current, other) => current.or(other),
    }
}

fn current_words(plan: &Plan, build: &Build, words: Words) -> Option<String> {
    let charger = &plan.charger.number;
    match plan.first {
        First::TurnDown { from_ma } => {
            let rate = c_ten_thousandths(from_ma, build.capacity_mah).unwrap_or(0);
            Some(format!(
                "First turn {charger} down: it was left at {}, which is {} on this pack.",
                words.amps(from_ma),
                c_words(rate, words)
            ))
        }
        First::Read => Some(format!(
            "First read what {charger} is set to: what it was left at is not known."
        )),
        First::Nothing => None,
    }
}

fn steps(plan: &Plan, hand: &AtHand, words: Words) -> Vec<String> {
    let mut steps = vec![power_words(plan, words)];
    if plan.through_balance {
        let plug = plan
            .chain
            .plugs
            .first()
            .map_or("", |code| called(code, &hand.families));
        steps.push(format!(
            "Balance plug {plug} into the charger: it carries the charge, the main lead stays free"
        ));
        return steps;
    }
    steps.extend(lead_words(&plan.chain, hand));
    if plan.has_balance_lead {
        steps.push("Balance lead in".to_owned());
    }
    steps
}

/// `C-02, output 2, on supply S-05, port 1, 15 V, with cable K-01`
fn power_words(plan: &Plan, words: Words) -> String {
    let mut text = plan.charger.number.clone();
    if plan.has_outputs > 1 {
        text.push_str(&format!(", output {}", plan.output + 1));
    }
    let Some(source) = &plan.feed.source else {
        return text + ", from the mains";
    };
    text.push_str(&format!(" on supply {}", source.supply.number));
    if let Some(port) = source.port {
        text.push_str(&format!(", port {}", port + 1));
    }
    text.push_str(&format!(", {}", words.volts(source.mv)));
    if let Some(cable) = &source.cable {
        text.push_str(&format!(", with cable {}", cable.number));
    }
    if source.needs_own_cable {
        text.push_str(", with a USB-C cable (none of the club's is at hand)");
    }
    text
}

fn lead_words(chain: &Chain, hand: &AtHand) -> Vec<String> {
    let name = |code: &String| called(code, &hand.families).to_owned();
    // What a plug's shape does not keep is looked at.
    let polarity = |code: &String| {
        let family = hand.family(code).filter(|family| family.asks_to_check());
        let look = family.map_or_else(String::new, |family| format!(" ({})", family.polarity));
        format!("red to red, black to black{look}")
    };
    if chain.adapters.is_empty() {
        let plug = chain.plugs.first();
        return plug
            .map(|code| {
                format!(
                    "{} straight into the charger, {}",
                    name(code),
                    polarity(code)
                )
            })
            .into_iter()
            .collect();
    }
    let joined = chain.adapters.iter().zip(chain.plugs.windows(2));
    joined
        .map(|(adapter, ends)| {
            format!(
                "Adapter {}, {} to {}, {}",
                adapter.number,
                name(&ends[0]),
                name(&ends[1]),
                polarity(&ends[1])
            )
        })
        .collect()
}

/// What holds a current back, as the beginning of a sentence or after "held back by".
pub fn limit_words(limit: &Limit) -> String {
    let rate = |c_tenths: i64| Words::POINT.c_rate(c_tenths);
    match limit {
        Limit::ClubRate { c_tenths } => format!("the club's rate of {}", rate(*c_tenths)),
        Limit::ClubMost { c_tenths } => format!("the club's most of {}", rate(*c_tenths)),
        Limit::Label { c_tenths } => format!("the pack's label, {}", rate(*c_tenths)),
        Limit::LabelSilent { c_tenths } => {
            format!("a label that gives no charge rate: {}", rate(*c_tenths))
        }
        Limit::Cool { c_tenths } => format!("the cold: {} at most up to 5 °C", rate(*c_tenths)),
        Limit::Warm { c_tenths } => format!("the heat: {} at most from 40 °C", rate(*c_tenths)),
        Limit::Disposal { c_tenths } => format!("emptying it slowly: {}", rate(*c_tenths)),
        Limit::Charger => "the charger's most".to_owned(),
        Limit::ChargerWatts => "the charger's watts".to_owned(),
        Limit::DischargeWatts => "the watts that the charger can take out of a pack".to_owned(),
        Limit::Chain(Weakest::Plug(code)) => {
            format!("the plug {}", crate::bench::connector::shown(code))
        }
        Limit::Chain(Weakest::UnratedPlug(code)) => format!(
            "the plug {}, which has no rating on record",
            crate::bench::connector::shown(code)
        ),
        Limit::Chain(Weakest::Adapter(number)) => format!("adapter {number}"),
        Limit::Supply { number } => format!("what {number} can feed"),
    }
}

fn reduced_words(c_tenths: Option<i64>, words: Words) -> String {
    c_tenths.map_or_else(
        || "never harder than this".to_owned(),
        |c_tenths| format!("{} at most", words.c_rate(c_tenths)),
    )
}

fn caution_words(caution: Caution, words: Words) -> String {
    match caution {
        Caution::Quick => "This ends without waiting for its cells to be alike: its next charge must be a balanced one.".to_owned(),
        Caution::AboveOneC => "Faster than 1C: its label allows it, and it ages the cells. Stay and feel that it stays cool.".to_owned(),
        Caution::Cool { c_tenths, is_room_mild } => {
            let start = format!("It is cold: {}", reduced_words(c_tenths, words));
            if is_room_mild {
                format!("{start}, and let the pack come to the room's warmth first.")
            } else {
                format!("{start}.")
            }
        }
        Caution::Warm { c_tenths } => format!(
            "It is hot: {}, and never straight out of the robot.",
            reduced_words(c_tenths, words)
        ),
        Caution::TwoAdapters => "Two adapters in a row: look that neither gets warm.".to_owned(),
        Caution::UnratedPlug => "One plug has no rating on record: feel that it stays cool.".to_owned(),
        Caution::LevelsUnknown { mv } => format!(
            "Its sheet names no USB PD levels: look that it starts at {}.",
            words.volts(mv)
        ),
        Caution::EndsLower { cell_mv } => format!(
            "Its label ends at {} a cell, lower than its chemistry: set that on the charger; where it can't be set, don't charge.",
            words.volts(cell_mv)
        ),
        Caution::NoMahCutoff => "This charger has no cut-off by mAh: look at what it has put in.".to_owned(),
        Caution::NoTimeCutoff => "This charger has no timer: set one of your own.".to_owned(),
        Caution::TimeUnknown => "Its volts hardly tell its charge: the time is wide open.".to_owned(),
        Caution::OwesBalance => "Its last charge was a quick one: wait until the balance has ended.".to_owned(),
        Caution::Nickel => "Nickel ends by a dip in volts: the charger must detect it, and the timer stands behind it.".to_owned(),
        Caution::Lead => "Lead may give off gas: charge it where air moves.".to_owned(),
        Caution::StorageBySteps => "It has no storage mode: set the volts a cell at which the discharge ends.".to_owned(),
        Caution::CellsApart => "Its cells are apart: set these volts as the end, so that none of them leaves its storage band; where they can’t be set, don’t use this mode. Balance it at the next charge.".to_owned(),
        Caution::ForDisposal => "Only of a pack that is undamaged; tape its plugs afterwards and ask where it may be left.".to_owned(),
        Caution::OutOfTime => "This does not end in the time there is.".to_owned(),
        Caution::ReadUnrested => {
            "Its volts were read before it had rested: time and mAh may be off, and never charge it straight out of the robot.".to_owned()
        }
    }
}
