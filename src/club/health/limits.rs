//! The limits that a pack's health is held against, each with where it comes from. A club starts with them and may tighten
//! some; the resistance ladder, what is told only and what ends a cell in a day are the trade's.

use crate::battery::resistance_history::ResistanceLimits;
use crate::battery::self_discharge::LossLimits;
use crate::club::limits::ClubLimits;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HealthLimits {
    pub resistance: ResistanceLimits,
    pub loss: LossLimits,
    /// Of the label's capacity. As little, and it is for practice; as little as the second, and it is set aside.
    pub capacity_practice_percent: i64,
    pub capacity_aside_percent: i64,
    /// Points of charge between two cells. More is a caution.
    pub imbalance_percent: i64,
}

/// Capacity: lead is replaced at 80 % (IEEE 450 and 1188), and 60 % is where IEC 61960-3 ends its endurance of portable
/// cells, from memory. Imbalance: common practice, no source. The rest stands with its own limits.
impl Default for HealthLimits {
    fn default() -> Self {
        Self {
            resistance: ResistanceLimits::default(),
            loss: LossLimits::default(),
            capacity_practice_percent: 80,
            capacity_aside_percent: 60,
            imbalance_percent: 8,
        }
    }
}

impl HealthLimits {
    pub fn of(club: &ClubLimits) -> Self {
        let club = club.tightened();
        Self {
            resistance: ResistanceLimits {
                first_caution_percent: club.resistance_practice_percent,
                first_grave_percent: club.resistance_aside_percent,
                mates_grave_percent: club.resistance_apart_percent,
                ..ResistanceLimits::default()
            },
            loss: LossLimits {
                percent_a_month: club.loss_percent_a_month,
                ..LossLimits::default()
            },
            capacity_practice_percent: club.capacity_practice_percent,
            capacity_aside_percent: club.capacity_aside_percent,
            imbalance_percent: club.imbalance_percent,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_club_starts_with_the_limits_of_the_trade_and_sets_each_of_its_own() {
        let mut club = ClubLimits::default();
        assert_eq!(HealthLimits::of(&club), HealthLimits::default());
        club.resistance_practice_percent = 140;
        club.resistance_aside_percent = 180;
        club.resistance_apart_percent = 130;
        club.loss_percent_a_month = 4;
        club.capacity_practice_percent = 85;
        club.capacity_aside_percent = 70;
        club.imbalance_percent = 6;
        let own = HealthLimits::of(&club);
        let resistance = own.resistance;
        assert_eq!(
            [
                resistance.first_caution_percent,
                resistance.first_grave_percent,
                resistance.mates_grave_percent
            ],
            [140, 180, 130]
        );
        assert_eq!(
            [
                own.loss.percent_a_month,
                own.capacity_practice_percent,
                own.capacity_aside_percent,
                own.imbalance_percent
            ],
            [4, 85, 70, 6]
        );
        club.loss_percent_a_month = 50;
        assert_eq!(HealthLimits::of(&club).loss.percent_a_month, 5);
    }
}
