//! Evenings on which program and model once parted, cut down to the fewest steps and kept.

use super::play;
use super::program::people_of;
use crate::pool::Act;
use crate::support::*;
use std::collections::BTreeSet;

async fn plays_as_the_model_says(club: &TestClub, acts: &[Act]) {
    let people = people_of(club).await;
    let played = play(club, &people, acts, &mut BTreeSet::new()).await;
    assert_eq!(played, Ok(()));
}

fn hands_out_kit(to: usize, charger: bool, adapters: i64) -> Act {
    Act::HandOut {
        by: 0,
        to,
        packs: Vec::new(),
        charger,
        adapters,
        with_reason: false,
    }
}

on_both! {
    async fn no_adapter_counted_back_is_not_all_of_them_back(club: TestClub) {
        let back = |counted| Act::KitBack { by: 0, kit: 1, back: 0, counted: Some(counted), is_broken: false, to_mend: None };
        plays_as_the_model_says(&club, &[hands_out_kit(2, false, 3), back(0), back(9), back(3)]).await;
    }

    async fn a_charger_on_loan_can_be_lost_and_found_again(club: TestClub) {
        let lost = Act::KitLose { by: 0, kit: 0, back: 0 };
        let looks_over = Act::KitLookOver { kit: 0, is_broken: false, counted: None };
        let found = Act::KitLeave { kit: 0, way: crate::pool::Way::Find };
        plays_as_the_model_says(&club, &[hands_out_kit(2, true, 0), lost, found, hands_out_kit(3, true, 0), looks_over, hands_out_kit(3, true, 0)]).await;
    }

    async fn a_pack_whose_volts_could_not_be_read_since_is_not_released_by_those_before(club: TestClub) {
        let wet = Act::Report { by: 3, pack: 2, seen: crate::pool::Seen::Wet };
        let log = |by, volts| Act::LogVolts { by, pack: 2, volts };
        let release = || Act::Release { by: 1, pack: 2 };
        let (wide, unread, good) = (crate::pool::Volts::Wide, crate::pool::Volts::Unread, crate::pool::Volts::Good);
        plays_as_the_model_says(&club, &[wet, Act::Later { hours: 1 }, log(1, wide), release(), log(0, unread), release(), log(0, good), release()]).await;
    }

    async fn of_adapters_lost_on_loan_the_club_owns_so_many_fewer(club: TestClub) {
        let lost = Act::KitLose { by: 0, kit: 1, back: 0 };
        plays_as_the_model_says(&club, &[hands_out_kit(2, false, 3), lost, hands_out_kit(2, false, 3)]).await;
    }

    async fn a_charger_is_passed_on_like_a_pack(club: TestClub) {
        let on = Act::KitPassOn { by: 0, kit: 0, back: 0, to: 3 };
        plays_as_the_model_says(&club, &[hands_out_kit(2, true, 0), on]).await;
    }

    async fn what_is_passed_on_belongs_to_the_night_that_is_open_then(club: TestClub) {
        let open = Act::OpenNight { by: 0, days: 1 };
        let on = Act::KitPassOn { by: 0, kit: 0, back: 0, to: 3 };
        plays_as_the_model_says(&club, &[hands_out_kit(2, true, 0), open, on]).await;
    }

    async fn a_pack_whose_cells_came_together_again_while_it_lay_is_fit(club: TestClub) {
        let log = |volts| Act::LogVolts { by: 1, pack: 1, volts };
        let acts = [log(crate::pool::Volts::Wide), Act::Later { hours: 2161 }, log(crate::pool::Volts::Good)];
        plays_as_the_model_says(&club, &acts).await;
    }
}
