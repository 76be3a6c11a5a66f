//! Forecasts held against arithmetic on published rates: percent above the minimum by percent a month.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::Volts;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::{LastRead, Toward, What};
use crate::club::reading::Rested;

fn falls(chemistry: Chemistry, story: &Story) -> Falls {
    match Forecast::of(&lying(chemistry), story) {
        Forecast::Falls(falls) => falls,
        other => panic!("{other:?}"),
    }
}

/// A LiPo in such a place.
fn falls_at(celsius: i64, story: &Story) -> Falls {
    match Forecast::of(&lying_at(Chemistry::LiPo, celsius), story) {
        Forecast::Falls(falls) => falls,
        other => panic!("{other:?}"),
    }
}

fn months(at: Instant) -> f64 {
    (at.ms() - now().ms()) as f64 / 86_400_000.0 / 30.4
}

#[test]
fn a_stored_lipo_takes_more_than_a_year_and_may_take_ten() {
    // 52 to 56 % (Linux kernel) at 3 % a month (an engineering handbook): 17 to 19 months, less 5 % on its first day (BU-802b): 15 to
    // 17; at 2 %: 26 to 28; at 0.2 to 0.4 % (Zilberman et al. 2019): 11 to 23 years.
    let told = falls(Chemistry::LiPo, &read(0, 3_820));
    let earliest = months(told.earliest);
    assert!((10.0..=15.7).contains(&earliest), "{earliest}");
    let likely = months(told.likely.expect("a day"));
    assert!((25.5..=28.5).contains(&likely), "{likely}");
    assert_eq!(told.latest, None);
}

#[test]
fn a_nearly_empty_lipo_may_be_there_in_two_months() {
    // 3.60 V is 5 to 7 % on tables of LiCoO2 and 22 % of NMC: at 3 % a month 1.7 to 7 months, at 2 % 2.5 to 11.
    let told = falls(Chemistry::LiPo, &read(0, 3_600));
    assert!(months(told.earliest) <= 1.7);
    assert!(months(told.likely.expect("a day")) >= 2.5);
    // 22 % at 0.2 % a month (Zilberman et al. 2019): nine years.
    assert!(told.latest.is_none_or(|latest| months(latest) >= 110.0));
    let leaky = Lying {
        loses_percent_a_month: Some(Range::around(9.0, [8.0, 12.0])),
        ..lying(Chemistry::LiPo)
    };
    let Forecast::Falls(soon) = Forecast::of(&leaky, &read(0, 3_600)) else {
        panic!("it falls");
    };
    assert!(soon.earliest < told.earliest && soon.likely < told.likely);
}

/// Lithium 2 to 3 % a month and lead 4 to 6 (an engineering handbook), lithium 1 to 2 after its first day and lead 5
/// (BU-802b), at room temperature; twice as much for each ten degrees more (BU-802b).
#[test]
fn each_published_rate_ends_between_the_first_and_the_last_day_that_are_shown() {
    let (half_lipo, full_lead) = (54.0, 100.0);
    for (celsius, times) in [(20, 1.0), (30, 2.0), (40, 4.0)] {
        for (chemistry, mv, points, rates) in [
            (Chemistry::LiPo, 3_820, half_lipo, [1.0, 2.0, 3.0]),
            (Chemistry::Pb, 2_140, full_lead, [4.0, 5.0, 6.0]),
        ] {
            let there = lying_at(chemistry, celsius);
            let Forecast::Falls(told) = Forecast::of(&there, &read(0, mv)) else {
                panic!("{chemistry:?} at {celsius} °C falls");
            };
            for rate in rates {
                let by_rate = points / (rate * times);
                assert!(
                    months(told.earliest) <= by_rate,
                    "{chemistry:?} {celsius} {rate}: {told:?}"
                );
                let is_by_then = told.latest.is_none_or(|latest| months(latest) >= by_rate);
                assert!(is_by_then, "{chemistry:?} {celsius} {rate}: {told:?}");
            }
        }
    }
}

/// BU-802b: about 5 % in the first 24 hours, then 1 to 2 % a month; 3 % a month more where there is a protection circuit. Pouch packs
/// of hobby size have none; whether a pack of round cells has one is not on record.
#[test]
fn the_first_day_that_is_shown_is_no_later_than_the_published_line_has_it() {
    let two_and_circuit = 2.0 + 3.0;
    for (chemistry, rate) in [
        (Chemistry::LiPo, 2.0),
        (Chemistry::LiHv, 2.0),
        (Chemistry::LiFePo4, 2.0),
        (Chemistry::LiIon, two_and_circuit),
    ] {
        let limits = chemistry.limits();
        for mv in (limits.storage_low_mv..=limits.full_mv).step_by(10) {
            let Forecast::Falls(told) = Forecast::of(&lying(chemistry), &read(0, mv)) else {
                panic!("{chemistry:?} at {mv} mV falls");
            };
            for curve in sources(chemistry) {
                let percent = |mv: i64| curve.percent_at(mv as f64 / 1_000.0);
                let points = percent(mv) - percent(limits.minimum_mv);
                let by_line = 1.0 / 30.4 + (points - 5.0).max(0.0) / rate;
                let first = months(told.earliest);
                assert!(
                    first <= by_line,
                    "{chemistry:?} at {mv} mV: {first} and {by_line}"
                );
            }
        }
    }
}

#[test]
fn a_forecast_names_its_first_and_its_last_day_in_the_hall() {
    let nickel = falls(
        Chemistry::NiMh,
        &Story::default().then(0, done(Toward::Full)),
    );
    // 85 points at 30 % a month, 95 at 20, 100 at 10.
    let words = nickel.words(&Zone::utc());
    let by = "by the loss published of its kind";
    assert_eq!(
        words,
        format!(
            "between Sat 20 Feb 2027 and Sun 26 Sep 2027, most likely about Mon 19 Apr 2027, {by}"
        )
    );
    let told = falls(Chemistry::LiPo, &read(0, 3_820));
    let likely = Zone::utc().date_words(told.likely.expect("a day"));
    let words = told.words(&Zone::utc());
    let spread =
        format!(" at the earliest, most likely about {likely}, perhaps not in ten years, {by}");
    assert!(words.ends_with(&spread), "{words}");
    let cool = falls_at(4, &read(0, 4_150)).words(&Zone::utc());
    let spread = format!(" at the earliest, most likely not in ten years, {by}");
    assert!(cool.ends_with(&spread), "{cool}");
    let own = Lying {
        loses_percent_a_month: Some(Range::around(9.0, [8.0, 12.0])),
        ..lying(Chemistry::LiPo)
    };
    let Forecast::Falls(own) = Forecast::of(&own, &read(0, 3_820)) else {
        panic!("it falls");
    };
    let by_own = ", by the loss that its own readings tell, and the published one";
    assert!(own.words(&Zone::utc()).ends_with(by_own));
}

#[test]
fn at_its_minimum_it_has_fallen() {
    for mv in [3_000, 2_700] {
        let told = falls(Chemistry::LiPo, &read(40, mv));
        assert_eq!(told.earliest, days_ago(40));
        assert_eq!(
            (told.likely, told.latest),
            (Some(days_ago(40)), Some(days_ago(40)))
        );
    }
}

#[test]
fn lead_and_nickel_fall_by_their_own_rates() {
    // Full lead at 4 to 6 % a month (the handbook): 17 to 25 months. Its curve is known to fifteen points.
    let lead = falls(Chemistry::Pb, &read(0, 2_140));
    assert!(months(lead.earliest) <= 16.7);
    assert!(months(lead.latest.expect("a day")) >= 25.0);
    // Full NiMH, 15 % lost on the first day (BU-802b), 10 to 30 % a month: 2.8 to 10 months.
    let nickel = falls(
        Chemistry::NiMh,
        &Story::default().then(0, done(Toward::Full)),
    );
    assert!(months(nickel.earliest) <= 2.84 && months(nickel.earliest) > 2.5);
    assert!((months(nickel.latest.expect("a day")) - 10.0).abs() < 0.1);
    assert_eq!(
        Forecast::of(&lying(Chemistry::NiMh), &read(0, 1_300)),
        Forecast::CannotTell
    );
}

/// It is topped up every 6 months (a page reproducing BU-403), at 4 to 6 % a month (the handbook): until then it is far from its minimum.
#[test]
fn lead_that_is_full_is_far_from_its_minimum_also_where_nobody_saw_its_cells() {
    let mut whole = read(0, 2_130);
    whole.read.as_mut().expect("a reading").volts = Volts::Pack(3 * 2_130);
    let filled = Story::default().then(0, done(Toward::Full));
    for story in [whole, filled] {
        let told = falls(Chemistry::Pb, &story);
        assert!(months(told.earliest) > 6.0, "{told:?}");
    }
}

#[test]
fn in_the_cold_a_full_pack_does_not_fall_in_ten_years_and_of_an_unread_one_nobody_knows() {
    // 3 % a month at 20 °C is 0.4 % at -10 °C: it halves with each ten degrees (BU-802b).
    let cold = lying_at(Chemistry::LiPo, -10);
    assert_eq!(
        Forecast::of(&cold, &read(0, 4_180)),
        Forecast::NotInTenYears
    );
    assert_eq!(Forecast::of(&cold, &Story::default()), Forecast::CannotTell);
}

#[test]
fn what_was_put_in_counts_and_use_is_not_reckoned() {
    let low = read(3, 3_600);
    let charged = low.clone().then(1, stopped(Toward::Full, Some(660)));
    let later = falls(Chemistry::LiPo, &charged).earliest;
    // 30 points at 3 % a month, less what its first day after the charge takes.
    let more = months(later) - months(falls(Chemistry::LiPo, &low).earliest);
    assert!((8.3..=10.5).contains(&more), "{more}");
    let used = low.clone().then(1, What::CameBack);
    assert_eq!(falls(Chemistry::LiPo, &used), falls(Chemistry::LiPo, &low));
}

#[test]
fn a_club_that_sets_the_minimum_higher_is_told_sooner() {
    let mut strict = lying(Chemistry::LiPo);
    strict.limits.minimum_mv = 3_300;
    let Forecast::Falls(sooner) = Forecast::of(&strict, &read(0, 3_700)) else {
        panic!("it falls");
    };
    assert!(sooner.earliest <= falls(Chemistry::LiPo, &read(0, 3_700)).earliest);
    assert!(sooner.likely < falls(Chemistry::LiPo, &read(0, 3_700)).likely);
}

#[test]
fn volts_read_just_used_are_said_to_be_reckoned_low() {
    let just_used = |story: Story| {
        let read = story.read.map(|read| LastRead {
            rested: Rested::JustUsed,
            ..read
        });
        Story { read, ..story }
    };
    let (rested, used) = (read(0, 3_600), just_used(read(0, 3_600)));
    let (rested, used) = (
        falls(Chemistry::LiPo, &rested),
        falls(Chemistry::LiPo, &used),
    );
    assert!(used.earliest < rested.earliest);
    let low = "(its volts were read just used: the first day is reckoned 0.05 V low)";
    assert!(used.words(&Zone::utc()).ends_with(low));
    assert!(!rested.words(&Zone::utc()).contains("just used"));
    // What was filled since goes by that.
    let filled = just_used(read(2, 3_600)).then(1, done(Toward::Full));
    assert!(!falls(Chemistry::LiPo, &filled).is_of_just_used);
}
