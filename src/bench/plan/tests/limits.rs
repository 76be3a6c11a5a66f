//! Of random benches: no plan asks more of any part of its chain than its sheet, label or rule allows, read anew by hand. And
//! each of these checks is seen to fail where the plan or its kit is changed behind its back.

use super::super::fits::from_supply;
use super::super::laid_out::LaidOut;
use super::by_hand::{Hard, Joined, can_be_set, feeds, full_mv, of_plan};
use super::random::{any_asked, any_hand, benches, sampled};
use super::*;
use proptest::prelude::*;

/// Everything about a plan that its kit, its pack or a rule does not allow.
pub fn exceeded(plan: &Plan, asked: &Asked, hand: &AtHand) -> Vec<&'static str> {
    let joined = of_plan(plan, hand);
    let is_up = matches!(plan.way, Way::Up { .. });
    let hard = match asked.purpose {
        Purpose::ReadyBy { .. } => Hard::AsAsked,
        _ => Hard::AsUsual,
    };
    let mut wrong = joined.misfits(asked, hand);
    let limits = joined.limits(asked, hand, is_up, hard);
    let broken = limits.iter().filter(|(_, ma)| plan.current_ma > *ma);
    wrong.extend(broken.map(|(word, _)| *word));
    wrong.extend(of_setting(plan, asked, &joined.charger.sheet));
    wrong.extend(never_charged(asked));
    let highest_mv = highest_mv(asked);
    let is_over = highest_mv > asked.pack.limits.over_full_warn_mv;
    wrong.extend((is_up && is_over).then_some("over full charged on"));
    wrong.extend((plan.current_ma <= 0).then_some("no current"));
    wrong.extend(unsaid(plan, &joined, hand));
    if is_up && let Some(mw) = plan.feed.mw {
        // What is left of the supply covers what the card says is drawn, and this what reaches the pack.
        let reaches = plan.current_ma * full_mv(asked) / 1_000 * 100;
        if plan.drawn_mw > mw || plan.drawn_mw * 85 < reaches - 8_500 {
            wrong.push("drawn");
        }
    }
    wrong
}

fn of_setting(plan: &Plan, asked: &Asked, sheet: &Charger) -> Vec<&'static str> {
    let pack = &asked.pack;
    let is_lithium = pack.build.chemistry.is_lithium();
    let is_stack = is_lithium && pack.build.cells_series > 1;
    let is_led = sheet.fixed_through_balance.is_none();
    let may_be = match (plan.way, asked.purpose) {
        (Way::Down { .. }, Purpose::Storage) => vec![Mode::Storage, Mode::Discharge],
        (Way::Down { .. }, _) => vec![Mode::Discharge],
        (Way::Up { .. }, Purpose::Storage) if is_lithium => vec![Mode::Storage],
        (Way::Up { .. }, _) if is_stack && is_led && plan.is_balanced => vec![Mode::Balance],
        (Way::Up { .. }, _) if !plan.is_balanced => vec![Mode::Charge],
        (Way::Up { .. }, _) => vec![Mode::Charge, Mode::Balance],
    };
    let most_cell_mv = match plan.way {
        Way::Up { target_mv } if asked.purpose == Purpose::Storage && is_lithium => {
            target_mv.min(pack.limits.storage_high_mv)
        }
        _ => pack.limits.full_mv,
    };
    let least_cell_mv = pack.limits.minimum_mv;
    let is_even = pack
        .volts
        .spread_mv()
        .is_some_and(|mv| mv <= asked.club.small_spread_mv);
    let may_be_quick = is_even && pack.is_spread_known && !pack.owes_balance;
    let put_back = pack.build.capacity_mah * 105;
    let all = [
        (
            !can_be_set(sheet).contains(&plan.current_ma),
            "charger's steps",
        ),
        (!sheet.modes.contains(&plan.mode), "charger's modes"),
        (!may_be.contains(&plan.mode), "mode"),
        (plan.target_cell_mv > most_cell_mv, "target above"),
        (plan.target_cell_mv < least_cell_mv, "target below"),
        (
            plan.target_mv != plan.target_cell_mv * pack.build.cells_series,
            "target of all cells",
        ),
        (is_stack && !plan.has_balance_lead, "balance lead"),
        (is_lithium && plan.cutoff_mah * 100 > put_back, "put back"),
        (!plan.is_balanced && !may_be_quick, "quick"),
        (
            !plan.is_balanced && !matches!(asked.purpose, Purpose::ReadyBy { .. }),
            "quick unasked",
        ),
    ];
    told(&all)
}

/// What nobody knows of its kit and a card must say.
fn unsaid(plan: &Plan, joined: &Joined, hand: &AtHand) -> Vec<&'static str> {
    let is_up = matches!(plan.way, Way::Up { .. });
    let on_the_way_in = feeds::plugs(joined).into_iter().filter(|_| is_up);
    let mut plugs = on_the_way_in.chain(plan.chain.plugs.iter().map(String::as_str));
    let has_figure = |plug: &str| {
        let mut families = hand.families.iter();
        families.any(|family| family.code == plug && family.rating_ma.is_some())
    };
    let is_blank = plugs.any(|plug| !has_figure(plug));
    let levels = match &joined.charger.sheet.input {
        Input::UsbPd { levels_mv, .. } => levels_mv.as_ref(),
        _ => Some(&Vec::new()),
    };
    let says = |what: fn(&Caution) -> bool| plan.cautions.iter().any(what);
    let all = [
        (
            is_blank != says(|each| matches!(each, Caution::UnratedPlug)),
            "unrated plug unsaid",
        ),
        (
            levels.is_none() != says(|each| matches!(each, Caution::LevelsUnknown { .. })),
            "levels unsaid",
        ),
        (
            joined.charger.sheet.has_mah_cutoff == says(|each| *each == Caution::NoMahCutoff),
            "mAh cut-off unsaid",
        ),
        (
            joined.charger.sheet.has_time_cutoff == says(|each| *each == Caution::NoTimeCutoff),
            "time cut-off unsaid",
        ),
        (plan.first != first(plan, joined), "what first"),
    ];
    told(&all)
}

/// What to do before anything is plugged in, by what the charger's maker says it starts from.
fn first(plan: &Plan, joined: &Joined) -> First {
    let sheet = &joined.charger.sheet;
    let mut all = joined.charger.left.iter();
    let last = all.find(|left| left.output == joined.output);
    let starts_from = match sheet.current_memory {
        _ if sheet.fixed_through_balance.is_some() => return First::Nothing,
        Memory::Factory { ma } => Some(ma),
        Memory::Remembers => last.map(|left| left.ma),
        Memory::NotKnown => None,
    };
    match starts_from {
        Some(from_ma) if from_ma > plan.current_ma => First::TurnDown { from_ma },
        Some(_) => First::Nothing,
        None => First::Read,
    }
}

fn lowest_mv(asked: &Asked) -> i64 {
    match &asked.pack.volts {
        Volts::Cells(cells) => *cells.iter().min().expect("a cell"),
        Volts::Pack(mv) => mv / asked.pack.build.cells_series,
    }
}

/// Of a pack measured whole one cell holds its average at least, to the next millivolt.
fn highest_mv(asked: &Asked) -> i64 {
    let count = asked.pack.build.cells_series;
    match &asked.pack.volts {
        Volts::Cells(cells) => *cells.iter().max().expect("a cell"),
        Volts::Pack(mv) => (mv + count - 1) / count,
    }
}

/// What no pack is charged at.
pub fn never_charged(asked: &Asked) -> Vec<&'static str> {
    let (pack, club) = (&asked.pack, &asked.club);
    let both = [asked.warmth.pack_celsius, asked.warmth.room_celsius];
    let (coldest, hottest) = (
        club.charge_from_celsius.max(0),
        club.charge_to_celsius.min(45),
    );
    let all = [
        (
            pack.from_use_minutes < Some(15)
                && pack.from_use_minutes.is_some()
                && !asked.warmth.pack_is_measured,
            "straight from use",
        ),
        (both.iter().any(|at| at.is_none()), "warmth unknown"),
        (both.iter().flatten().any(|at| *at < coldest), "too cold"),
        (both.iter().flatten().any(|at| *at > hottest), "too hot"),
        (lowest_mv(asked) < pack.limits.minimum_mv, "cell too low"),
        (
            highest_mv(asked) > pack.limits.over_full_mv,
            "cell too high",
        ),
    ];
    told(&all)
}

fn told(all: &[(bool, &'static str)]) -> Vec<&'static str> {
    all.iter()
        .filter(|(is_so, _)| *is_so)
        .map(|(_, word)| *word)
        .collect()
}

/// Better is lower, as the order is stated, up to the numbers.
fn stated(plan: &Plan) -> (bool, bool, i64, usize, i64) {
    (
        !plan.is_in_time,
        !plan.is_balanced,
        plan.current_ma,
        plan.chain.adapters.len(),
        plan.course.most_minutes,
    )
}

proptest! {
    #![proptest_config(benches())]

    #[test]
    fn no_plan_exceeds_any_limit_of_any_part_in_its_chain(asked in any_asked(), hand in any_hand()) {
        if let Answer::Plans { plans, refused } = plan(&asked, &hand) {
            for plan in &plans {
                prop_assert_eq!(exceeded(plan, &asked, &hand), Vec::<&str>::new(), "{:?}", plan);
            }
            for pair in plans.windows(2) {
                prop_assert!(stated(&pair[0]) <= stated(&pair[1]), "{:?}", pair);
            }
            let has_balanced = plans.iter().any(|plan| plan.is_balanced && plan.is_in_time);
            prop_assert!(!has_balanced || plans.iter().all(|plan| plan.is_balanced));
            let named = plans.len() + refused.iter().filter(|each| each.number.starts_with('C')).count();
            prop_assert_eq!(named, hand.chargers.len(), "each charger is planned with or refused");
            let full_mv = asked.pack.limits.full_mv * asked.pack.build.cells_series;
            let kit = LaidOut::of(&hand, &asked.pack.connector);
            let why = |number: &str| refused.iter().find(|each| each.number == number).map(|each| each.why.as_str());
            let does_it = |charger: &&ChargerAtHand| why(&charger.id.number).is_none_or(|why| why.starts_with("In that time"));
            for supply in &hand.supplies {
                let mut able = hand.chargers.iter().filter(does_it);
                let feeds_one = able.any(|charger| from_supply(charger, supply, full_mv, &kit).is_ok());
                let is_told = why(&supply.id.number).is_some();
                prop_assert!(is_told != feeds_one, "{} {:?}", supply.id.number, why(&supply.id.number));
            }
        }
    }
}

/// A change behind a plan's back, and what the proof must say of it. True where it could be made.
type Change = (&'static str, fn(&mut Plan, &mut Asked, &mut AtHand) -> bool);

fn its_charger<'h>(plan: &Plan, hand: &'h mut AtHand) -> &'h mut ChargerAtHand {
    let mut all = hand.chargers.iter_mut();
    all.find(|each| each.id == plan.charger)
        .expect("its charger")
}

fn its_supply<'h>(plan: &Plan, hand: &'h mut AtHand) -> Option<&'h mut Supply> {
    let source = plan.feed.source.as_ref()?;
    let mut all = hand.supplies.iter_mut();
    Some(&mut all.find(|each| each.id == source.supply)?.sheet)
}

fn its_port<'h>(plan: &Plan, hand: &'h mut AtHand) -> Option<&'h mut Port> {
    let port = plan.feed.source.as_ref()?.port?;
    match its_supply(plan, hand)? {
        Supply::UsbPd { ports, .. } => ports.get_mut(port),
        Supply::Dc { .. } => None,
    }
}

fn its_cable<'h>(plan: &Plan, hand: &'h mut AtHand) -> Option<&'h mut Cable> {
    let id = plan.feed.source.as_ref()?.cable.clone()?;
    let mut all = hand.cables.iter_mut();
    Some(&mut all.find(|each| each.id == id)?.sheet)
}

fn its_adapter<'h>(plan: &Plan, hand: &'h mut AtHand) -> Option<&'h mut AdaptersAtHand> {
    let id = plan.chain.adapters.first()?;
    hand.adapters.iter_mut().find(|each| each.id == *id)
}

/// Carries it out where there is what to change.
fn on<T>(what: Option<T>, change: impl FnOnce(T)) -> bool {
    what.map(change).is_some()
}

fn is_up(plan: &Plan) -> bool {
    matches!(plan.way, Way::Up { .. })
}

mod changes;

const LATER: [Change; 7] = [
    ("over full charged on", |plan, asked, _| {
        asked.pack.limits.over_full_warn_mv = highest_mv(asked) - 1;
        is_up(plan)
    }),
    ("straight from use", |_, asked, _| {
        asked.pack.from_use_minutes = Some(14);
        asked.warmth.pack_is_measured = false;
        true
    }),
    ("unrated plug unsaid", |plan, _, _| {
        let had = plan.cautions.len();
        plan.cautions.retain(|each| *each != Caution::UnratedPlug);
        plan.cautions.len() < had
    }),
    ("mAh cut-off unsaid", |plan, _, hand| {
        its_charger(plan, hand).sheet.has_mah_cutoff ^= true;
        true
    }),
    ("time cut-off unsaid", |plan, _, hand| {
        its_charger(plan, hand).sheet.has_time_cutoff ^= true;
        true
    }),
    ("what first", |plan, _, hand| {
        let ma = plan.current_ma + 1;
        let sheet = &mut its_charger(plan, hand).sheet;
        sheet.current_memory = Memory::Factory { ma };
        sheet.fixed_through_balance.is_none()
    }),
    ("levels unsaid", |plan, _, hand| {
        plan.cautions.clear();
        matches!(
            its_charger(plan, hand).sheet.input,
            Input::UsbPd {
                levels_mv: None,
                ..
            }
        )
    }),
];

#[test]
fn each_check_of_the_proof_fails_where_a_part_is_weakened_behind_the_plans_back() {
    let mut seen: std::collections::BTreeMap<&str, i64> = std::collections::BTreeMap::new();
    for (asked, hand) in sampled(4_000) {
        let Answer::Plans { plans, .. } = plan(&asked, &hand) else {
            continue;
        };
        for plan in &plans {
            for (word, change) in changes::ALL
                .iter()
                .copied()
                .chain(changes::OF_FEEDS.iter().copied())
                .chain(LATER)
            {
                let (mut plan, mut asked, mut hand) = (plan.clone(), asked.clone(), hand.clone());
                if change(&mut plan, &mut asked, &mut hand) {
                    let wrong = exceeded(&plan, &asked, &hand);
                    assert!(
                        wrong.contains(&word),
                        "{word} is not among {wrong:?}: {plan:?}"
                    );
                    *seen.entry(word).or_insert(0) += 1;
                }
            }
        }
    }
    let words = changes::ALL
        .iter()
        .chain(&changes::OF_FEEDS)
        .chain(&LATER)
        .map(|(word, _)| *word);
    let unseen: Vec<&str> = words.filter(|word| !seen.contains_key(word)).collect();
    assert!(unseen.is_empty(), "never tried: {unseen:?}");
}
