//! Undoing a take-back that was a mistake: within a day, while the thing lies here and who had it is in the club.
//! A day: common practice, no source.

use super::calendar::Instant;
use super::states::Life;

pub const UNDO_HOURS: i64 = 24;

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UndoRefusal {
    #[error("Only what was taken back can be put on its loan again.")]
    NotTakenBack,
    #[error("More than a day has passed; hand it out anew instead.")]
    TooLate,
    #[error("It went out again or left the pool since, so its loan stays closed.")]
    NotHere,
    #[error("Who had it is not active in the club any more, so its loan stays closed.")]
    NotActive,
}

/// A line of a loan as undoing needs it.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// When it was taken back; None: it was not, but is still out, lost or passed on.
    pub taken_back: Option<Instant>,
    pub life: Life,
    /// It was on a later line, or so many adapters are not here any more.
    pub is_out_again: bool,
    pub is_borrower_active: bool,
}

pub fn refusal(line: &Line, now: Instant) -> Option<UndoRefusal> {
    let Some(at) = line.taken_back else {
        return Some(UndoRefusal::NotTakenBack);
    };
    if now > at.plus_hours(UNDO_HOURS) {
        Some(UndoRefusal::TooLate)
    } else if line.is_out_again || line.life != Life::InUse {
        Some(UndoRefusal::NotHere)
    } else if !line.is_borrower_active {
        Some(UndoRefusal::NotActive)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BACK: Line = Line {
        taken_back: Some(Instant(0)),
        life: Life::InUse,
        is_out_again: false,
        is_borrower_active: true,
    };

    #[test]
    fn a_take_back_is_undone_for_a_day_and_no_longer() {
        let end = Instant(0).plus_hours(24);
        assert_eq!(refusal(&BACK, end), None);
        let later = Instant(end.ms() + 1);
        assert_eq!(refusal(&BACK, later), Some(UndoRefusal::TooLate));
    }

    #[test]
    fn what_is_not_here_or_had_by_nobody_of_the_club_stays_back() {
        let cases = [
            (
                Line {
                    taken_back: None,
                    ..BACK
                },
                UndoRefusal::NotTakenBack,
            ),
            (
                Line {
                    is_out_again: true,
                    ..BACK
                },
                UndoRefusal::NotHere,
            ),
            (
                Line {
                    life: Life::Lost,
                    ..BACK
                },
                UndoRefusal::NotHere,
            ),
            (
                Line {
                    is_borrower_active: false,
                    ..BACK
                },
                UndoRefusal::NotActive,
            ),
        ];
        for (line, why) in cases {
            assert_eq!(refusal(&line, Instant(1)), Some(why));
        }
    }
}
