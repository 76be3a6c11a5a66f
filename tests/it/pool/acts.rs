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

#[derive(Clone, Debug)]
pub enum Act {
    HandOut {
        by: usize,
        to: usize,
        packs: Vec<usize>,
        with_reason: bool,
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
    Find {
        by: usize,
        pack: usize,
    },
    Retire {
        by: usize,
        pack: usize,
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
        match dice.throw(28) {
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
            18 => Self::Find { by, pack },
            19 if dice.throw(4) == 0 => Self::Retire { by, pack },
            19 | 20 => Self::Report {
                by: dice.throw(5),
                pack,
                seen,
            },
            21 | 22 => Self::LogVolts { by, pack, volts },
            23 => Self::Mend { by, pack },
            24 => Self::Release { by, pack },
            25 => Self::Reopen { by, pack },
            _ => Self::Later {
                hours: [1, 1, 5, 23, 25, 24 * 60][dice.throw(6)],
            },
        }
    }
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
        match dice.throw(30) {
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
            with_reason: false,
        },
        Act::TakeBack {
            by: 0,
            pack,
            seen: Seen::Nothing,
            volts: Volts::Good,
        },
        Act::Later { hours },
        Act::Reopen { by: 1, pack },
    ]
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
            with_reason: true,
        },
    ]
}
