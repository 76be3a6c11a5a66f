//! What people do on a club night, and how dice make evenings of it. Persons and packs by their index in the pool.

use crate::support::Dice;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    Nothing,
    /// To mend.
    WrapTorn,
    /// Danger: can be released.
    Wet,
    /// Final danger.
    Swollen,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Volts {
    Good,
    /// 0.05 V apart: a caution.
    Watch,
    /// 0.15 V apart: set aside.
    Wide,
    /// Under the minimum: quarantine.
    Dangerous,
    Unread,
}

/// How a pack or a piece of kit leaves the pool, and comes back into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Retire,
    GiveAway,
    Withdraw,
    Lose,
    Find,
}

/// `kit` is 0, the charger, or 1, the adapters; `back` names its latest line or the one before.
#[derive(Clone, Debug)]
pub enum Act {
    HandOut {
        by: usize,
        to: usize,
        packs: Vec<usize>,
        charger: bool,
        adapters: i64,
        with_reason: bool,
    },
    KitBack {
        by: usize,
        kit: usize,
        back: usize,
        counted: Option<i64>,
        is_broken: bool,
        to_mend: Option<i64>,
    },
    KitHome {
        by: usize,
        kit: usize,
        back: usize,
        counted: Option<i64>,
        is_broken: bool,
    },
    KitLookOver {
        kit: usize,
        is_broken: bool,
        counted: Option<i64>,
    },
    KitReopen {
        by: usize,
        kit: usize,
        back: usize,
    },
    KitLose {
        by: usize,
        kit: usize,
        back: usize,
    },
    KitPassOn {
        by: usize,
        kit: usize,
        back: usize,
        to: usize,
    },
    KitAside {
        kit: usize,
        counted: Option<i64>,
    },
    KitMend {
        kit: usize,
        counted: Option<i64>,
        is_thrown_away: bool,
    },
    KitCount {
        kit: usize,
        owned: i64,
    },
    KitLeave {
        kit: usize,
        way: Way,
    },
    OpenNight {
        by: usize,
        days: i64,
    },
    CloseNight {
        by: usize,
    },
    Deactivate {
        by: usize,
        who: usize,
    },
    Reactivate {
        by: usize,
        who: usize,
    },
    TakeBack {
        by: usize,
        pack: usize,
        seen: Seen,
        volts: Volts,
    },
    BringBack {
        by: usize,
        pack: usize,
        seen: Seen,
    },
    Extend {
        by: usize,
        pack: usize,
        days: i64,
    },
    PassOn {
        by: usize,
        pack: usize,
        to: usize,
    },
    Lose {
        by: usize,
        pack: usize,
    },
    Leave {
        by: usize,
        pack: usize,
        way: Way,
    },
    Report {
        by: usize,
        pack: usize,
        seen: Seen,
    },
    LogVolts {
        by: usize,
        pack: usize,
        volts: Volts,
    },
    Mend {
        by: usize,
        pack: usize,
    },
    Release {
        by: usize,
        pack: usize,
    },
    Reopen {
        by: usize,
        pack: usize,
    },
    Later {
        hours: i64,
    },
}

impl Act {
    /// What it is, without its circumstances.
    pub fn name(&self) -> String {
        let text = format!("{self:?}");
        text.split(' ').next().unwrap_or_default().to_owned()
    }

    fn thrown(dice: &mut Dice) -> Self {
        let pack = dice.throw(3);
        // Mostly a quartermaster: a club night, not a siege.
        let by = [0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 3, 4][dice.throw(12)];
        let to = [2, 2, 2, 3, 3, 3, 4, 0, 0, 1][dice.throw(10)];
        let seen = match dice.throw(20) {
            0..=13 => Seen::Nothing,
            14..=16 => Seen::WrapTorn,
            17 | 18 => Seen::Wet,
            _ => Seen::Swollen,
        };
        let volts = match dice.throw(20) {
            0..=12 => Volts::Good,
            13 | 14 => Volts::Watch,
            15 | 16 => Volts::Wide,
            17 => Volts::Dangerous,
            _ => Volts::Unread,
        };
        match dice.throw(40) {
            0..=9 => {
                let all = [
                    vec![pack],
                    vec![pack],
                    vec![0, 1],
                    vec![pack, (pack + 1) % 3],
                    vec![0, 1, 2],
                ];
                Self::HandOut {
                    by,
                    to,
                    packs: all[dice.throw(5)].clone(),
                    charger: dice.throw(4) == 0,
                    adapters: [0, 0, 1, 2, 3, 6][dice.throw(6)],
                    with_reason: dice.throw(3) == 0,
                }
            }
            10..=13 => Self::TakeBack {
                by,
                pack,
                seen,
                volts,
            },
            14 => Self::BringBack {
                by: dice.throw(5),
                pack,
                seen,
            },
            15 => Self::Extend {
                by,
                pack,
                days: [-1, 0, 3, 365, 366][dice.throw(5)],
            },
            16 => Self::PassOn { by, pack, to },
            17 => Self::Lose { by, pack },
            18 => Self::Leave {
                by,
                pack,
                way: Way::Find,
            },
            19 if dice.throw(3) == 0 => Self::Leave {
                by,
                pack,
                way: [Way::Retire, Way::GiveAway, Way::Withdraw, Way::Lose][dice.throw(4)],
            },
            19 | 20 => Self::Report {
                by: dice.throw(5),
                pack,
                seen,
            },
            21 | 22 => Self::LogVolts { by, pack, volts },
            23 => Self::Mend { by, pack },
            24 => Self::Release { by, pack },
            25 => Self::Reopen { by, pack },
            26..=34 => Self::with_kit(dice, by, to),
            35 => Self::OpenNight {
                by,
                days: [-1, 0, 1, 2, 30, 31][dice.throw(6)],
            },
            36 => Self::CloseNight { by },
            37 if dice.throw(2) == 0 => Self::Deactivate {
                by,
                who: 2 + dice.throw(3),
            },
            37 => Self::Reactivate {
                by,
                who: 2 + dice.throw(3),
            },
            _ => Self::Later {
                hours: [1, 1, 5, 23, 25, 24 * 60][dice.throw(6)],
            },
        }
    }

    fn with_kit(dice: &mut Dice, by: usize, to: usize) -> Self {
        let (kit, back) = (dice.throw(2), [0, 0, 1][dice.throw(3)]);
        match dice.throw(17) {
            14 => Self::KitReopen { by, kit, back },
            15 | 16 => Self::KitLookOver {
                kit,
                is_broken: dice.throw(2) == 0,
                counted: some_of_them(dice),
            },
            0..=4 => Self::KitBack {
                by,
                kit,
                back,
                counted: [None, None, Some(1), Some(2), Some(0), Some(9)][dice.throw(6)],
                is_broken: dice.throw(6) == 0,
                to_mend: some_of_them(dice),
            },
            5 => Self::KitHome {
                by: dice.throw(5),
                kit,
                back,
                counted: some_of_them(dice),
                is_broken: dice.throw(3) == 0,
            },
            6 => Self::KitLose { by, kit, back },
            7 | 8 => Self::KitPassOn { by, kit, back, to },
            9 => Self::KitAside {
                kit,
                counted: some_of_them(dice),
            },
            10 | 11 => Self::KitMend {
                kit,
                counted: some_of_them(dice),
                is_thrown_away: dice.throw(3) == 0,
            },
            12 => Self::KitCount {
                kit,
                owned: [0, 2, 5, 7][dice.throw(4)],
            },
            _ => Self::KitLeave {
                kit,
                way: [
                    Way::Find,
                    Way::Find,
                    Way::Lose,
                    Way::Lose,
                    Way::Retire,
                    Way::GiveAway,
                    Way::Withdraw,
                ][dice.throw(7)],
            },
        }
    }
}

/// All of them, some, or more than there are.
fn some_of_them(dice: &mut Dice) -> Option<i64> {
    [None, None, None, Some(1), Some(2), Some(6)][dice.throw(6)]
}

/// An evening starts with the volts of each pack and goes on as the dice fall, now and then with a scene that dice
/// alone would seldom play.
pub fn evening(dice: &mut Dice, steps: usize) -> Vec<Act> {
    let opening = (0..3).map(|pack| Act::LogVolts {
        by: 1,
        pack,
        volts: Volts::Good,
    });
    let mut acts: Vec<Act> = opening.collect();
    while acts.len() < steps {
        match dice.throw(32) {
            4 => acts.extend(kit_brought_home(dice)),
            6 => acts.extend(a_charger_set_aside_while_out(dice)),
            5 => acts.extend(one_of_the_adapters_bent(dice)),
            3 => acts.extend(kit_back_undone(dice)),
            0 => acts.extend(danger_looked_at_again(dice)),
            1 => acts.extend(a_spread_gone_old(dice)),
            2 => acts.extend(a_take_back_undone(dice)),
            _ => acts.push(Act::thrown(dice)),
        }
    }
    acts
}

fn danger_looked_at_again(dice: &mut Dice) -> Vec<Act> {
    let pack = dice.throw(3);
    let volts = [Volts::Good, Volts::Watch, Volts::Wide, Volts::Unread][dice.throw(4)];
    vec![
        Act::Report {
            by: [0, 2, 3][dice.throw(3)],
            pack,
            seen: Seen::Wet,
        },
        Act::Later { hours: 1 },
        Act::LogVolts { by: 1, pack, volts },
        Act::Release {
            by: dice.throw(3),
            pack,
        },
    ]
}

fn a_take_back_undone(dice: &mut Dice) -> Vec<Act> {
    let (pack, hours) = (dice.throw(3), [1, 24, 25][dice.throw(3)]);
    vec![
        Act::HandOut {
            by: 0,
            to: 2,
            packs: vec![pack],
            charger: false,
            adapters: 0,
            with_reason: false,
        },
        Act::TakeBack {
            by: 0,
            pack,
            seen: Seen::Nothing,
            volts: Volts::Good,
        },
        Act::Later { hours },
    ]
    .into_iter()
    .chain(match dice.throw(4) {
        0 => vec![Act::Deactivate { by: 0, who: 2 }],
        1 => vec![retired(pack), retired(pack)],
        _ => Vec::new(),
    })
    .chain([Act::Reopen { by: 1, pack }])
    .collect()
}

/// A member brings kit home alone; then it is asked for again, undone, looked over.
fn kit_brought_home(dice: &mut Dice) -> Vec<Act> {
    let kit = dice.throw(2);
    let out = || Act::HandOut {
        by: 0,
        to: 2,
        packs: Vec::new(),
        charger: kit == 0,
        adapters: if kit == 1 { 4 } else { 0 },
        with_reason: false,
    };
    let (by, back) = (0, 0);
    let home = Act::KitHome {
        by: 2,
        kit,
        back,
        counted: some_of_them(dice),
        is_broken: dice.throw(3) == 0,
    };
    let then = match dice.throw(3) {
        0 => Act::KitReopen { by, kit, back },
        _ => Act::KitLookOver {
            kit,
            is_broken: dice.throw(2) == 0,
            counted: some_of_them(dice),
        },
    };
    vec![out(), home, out(), then, out()]
}

/// Somebody finds fault with it where it is; then its loan is to go on.
fn a_charger_set_aside_while_out(dice: &mut Dice) -> Vec<Act> {
    let (kit, by, pack) = (0, 0, 0);
    let out = Act::HandOut {
        by,
        to: 3,
        packs: vec![pack],
        charger: true,
        adapters: 0,
        with_reason: false,
    };
    let aside = Act::KitAside { kit, counted: None };
    let on = match dice.throw(3) {
        0 => Act::KitPassOn {
            by,
            kit,
            back: 0,
            to: 2,
        },
        _ => Act::Extend { by, pack, days: 3 },
    };
    vec![out, aside, on]
}

/// A bent one among those that come back; then the loan of the rest is to go on.
fn one_of_the_adapters_bent(dice: &mut Dice) -> Vec<Act> {
    let (kit, back, by) = (1, 0, 0);
    let out = |adapters| Act::HandOut {
        by,
        to: 3,
        packs: vec![0],
        charger: false,
        adapters,
        with_reason: false,
    };
    let bent = Act::KitBack {
        by,
        kit,
        back,
        counted: Some(2),
        is_broken: true,
        to_mend: Some(1),
    };
    let mut acts = vec![out(4), bent];
    if dice.throw(2) == 0 {
        acts.push(Act::KitReopen { by, kit, back });
    }
    acts.push(Act::KitAside {
        kit,
        counted: some_of_them(dice),
    });
    acts.push(
        [
            Act::Extend {
                by,
                pack: 0,
                days: 3,
            },
            Act::KitPassOn {
                by,
                kit,
                back,
                to: 2,
            },
            Act::KitPassOn {
                by,
                kit,
                back: 1,
                to: 2,
            },
        ][dice.throw(3)]
        .clone(),
    );
    acts.push(Act::KitMend {
        kit,
        counted: some_of_them(dice),
        is_thrown_away: dice.throw(2) == 0,
    });
    acts
}

const fn retired(pack: usize) -> Act {
    Act::Leave {
        by: 0,
        pack,
        way: Way::Retire,
    }
}

fn kit_back_undone(dice: &mut Dice) -> Vec<Act> {
    let (kit, hours) = (dice.throw(2), [1, 24, 25][dice.throw(3)]);
    let mut acts = vec![
        Act::HandOut {
            by: 0,
            to: 3,
            packs: Vec::new(),
            charger: kit == 0,
            adapters: if kit == 1 { 3 } else { 0 },
            with_reason: false,
        },
        Act::KitBack {
            by: 1,
            kit,
            back: 0,
            counted: [None, Some(2)][dice.throw(2)],
            is_broken: false,
            to_mend: None,
        },
        Act::Later { hours },
    ];
    let between = [
        None,
        Some(Act::KitCount { kit, owned: 2 }),
        Some(Act::KitLeave {
            kit,
            way: Way::Lose,
        }),
        Some(Act::Deactivate { by: 0, who: 3 }),
    ];
    acts.extend(between[dice.throw(4)].clone());
    acts.push(Act::KitReopen {
        by: 0,
        kit,
        back: 0,
    });
    acts
}

fn a_spread_gone_old(dice: &mut Dice) -> Vec<Act> {
    let (pack, hours) = (dice.throw(3), [1, 24 * 90, 24 * 90 + 1][dice.throw(3)]);
    vec![
        Act::LogVolts {
            by: 1,
            pack,
            volts: Volts::Wide,
        },
        Act::Later { hours },
        Act::HandOut {
            by: 0,
            to: [0, 2][dice.throw(2)],
            packs: vec![pack],
            charger: false,
            adapters: 0,
            with_reason: true,
        },
    ]
}
