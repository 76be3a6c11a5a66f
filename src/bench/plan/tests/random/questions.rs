//! Random packs and what is asked about them.

use super::*;

/// How the cells of a pack stand to each other.
#[derive(Clone, Debug)]
enum Cells {
    /// All alike but the first, which is ahead by so many mV.
    FirstAhead(i64),
    /// Each by itself, in thousandths of the way from 200 mV under the least to 200 mV over full.
    Alone(Vec<i64>),
    /// All alike but the last, which stands at a limit, or a millivolt past it.
    LastAtLimit(usize),
}

const PAST_LIMITS_MV: i64 = 200;

fn any_cells() -> impl Strategy<Value = Cells> {
    prop_oneof![
        16 => select(vec![0_i64, 5, 10, 20, 29, 60]).prop_map(Cells::FirstAhead),
        2 => vec(0_i64..=1_000, 6).prop_map(Cells::Alone),
        1 => (0_usize..7).prop_map(Cells::LastAtLimit),
    ]
}

impl Cells {
    fn apply(&self, limits: &CellLimits, each: &mut [i64]) {
        match self {
            Self::FirstAhead(apart) => each[0] = (each[0] + apart).min(limits.full_mv),
            Self::Alone(thousandths) => {
                let least_mv = limits.minimum_mv - PAST_LIMITS_MV;
                let room_mv = limits.full_mv + PAST_LIMITS_MV - least_mv;
                let drawn = each.iter_mut().zip(thousandths);
                drawn.for_each(|(mv, part)| *mv = least_mv + room_mv * part / 1_000);
            }
            Self::LastAtLimit(which) => {
                let at_limits = [
                    limits.minimum_mv - 1,
                    limits.minimum_mv,
                    limits.full_mv + 1,
                    limits.over_full_warn_mv,
                    limits.over_full_warn_mv + 1,
                    limits.over_full_mv,
                    limits.over_full_mv + 1,
                ];
                if let Some(last) = each.last_mut() {
                    *last = at_limits[*which];
                }
            }
        }
    }
}

/// A pack, its label and what it reads now.
fn any_pack() -> impl Strategy<Value = Pack> {
    let build = (
        select(Chemistry::ALL.to_vec()),
        1_i64..7,
        50_i64..8_000,
        select(vec![None, None, None, Some(100_i64)]),
        select(vec![None, None, None, Some(100_i64)]),
        select(vec![None, Some(5_i64), Some(10), Some(30), Some(50)]),
        plug(),
    );
    let rest = (
        prop_oneof![9 => Just(None), 1 => (0_i64..30).prop_map(Some)],
        0_i64..1_000,
        any_cells(),
        select(vec![true, true, true, false]),
        select(vec![true, false, false, false]),
        select(vec![None, Some(0.004_f64), Some(0.03)]),
        prop_oneof![10 => Just(Some("jst-xh")), 1 => Just(Some("jst-ph")), 1 => Just(None)],
        any::<bool>(),
    );
    (build, rest).prop_map(|(build, rest)| {
        let (chemistry, cells, mah, lowered, raised, label_charge_c_tenths, plug) = build;
        let (
            from_use_minutes,
            within,
            stand,
            is_spread_known,
            owes_balance,
            ohm,
            balance,
            is_whole,
        ) = rest;
        let label = LabelVolts {
            full_mv: lowered.map(|mv| chemistry.limits().full_mv - mv),
            lowest_mv: raised.map(|mv| chemistry.limits().minimum_mv + mv),
        };
        let limits = chemistry.limits().with_label(label);
        let cell_mv = limits.minimum_mv + (limits.full_mv - limits.minimum_mv) * within / 1_000;
        let mut pack = super::pack(chemistry, cells, mah, cell_mv);
        pack.build.label = label;
        if let Volts::Cells(each) = &mut pack.volts {
            stand.apply(&limits, each);
        }
        if is_whole && !chemistry.is_lithium() {
            pack.volts = Volts::Pack(pack.volts.total_mv());
        }
        Pack {
            limits,
            connector: plug.into(),
            balance: balance.map(str::to_owned),
            label_charge_c_tenths,
            rested_minutes: if is_spread_known { 15 + within % 60 } else { 0 },
            is_spread_known,
            owes_balance,
            resistance_ohm: ohm,
            from_use_minutes,
            ..pack
        }
    })
}

/// Mostly mild; seldom too cold, too hot, or nobody said.
fn any_celsius() -> impl Strategy<Value = Option<i64>> {
    prop_oneof![
        24 => Just(Some(20_i64)),
        2 => (0_i64..46).prop_map(Some),
        1 => (-10_i64..56).prop_map(Some),
        1 => Just(None),
    ]
}

pub fn any_asked() -> impl Strategy<Value = Asked> {
    let purpose = (
        select(vec![20_i64, 30, 45, 60, 90, 240, 400]),
        select(vec![0_usize, 0, 0, 1, 2, 3]),
        select(vec![None, None, Some(40_i64), Some(200)]),
    );
    let club = (
        select(vec![5_i64, 10, 10]),
        select(vec![10_i64, 20, 20, 30]),
        select(vec![0_i64, 0, 0, 5]),
        select(vec![45_i64, 45, 45, 40]),
        select(vec![30_i64, 30, 10]),
    );
    (
        any_pack(),
        any_celsius(),
        any_celsius(),
        any::<bool>(),
        purpose,
        club,
    )
        .prop_map(
            |(pack, pack_celsius, room_celsius, pack_is_measured, purpose, club)| {
                let (usual, most_c_tenths, from, to, small_spread_mv) = club;
                let (minutes, purpose, done_within) = purpose;
                let there_minutes = minutes;
                let purposes = [
                    Purpose::ReadyBy { minutes },
                    Purpose::NoHurry { there_minutes },
                    Purpose::Storage,
                    Purpose::Empty,
                ];
                let default = pack.build.chemistry.default_charge_c_tenths();
                Asked {
                    pack,
                    warmth: Warmth {
                        pack_celsius,
                        room_celsius,
                        pack_is_measured,
                    },
                    purpose: purposes[purpose],
                    done_within,
                    club: ClubRules {
                        usual_c_tenths: usual.min(default),
                        most_c_tenths,
                        charge_from_celsius: from,
                        charge_to_celsius: to,
                        small_spread_mv,
                    },
                }
            },
        )
}
