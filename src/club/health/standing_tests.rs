//! How a pack stands by its readings alone, and what is told beside it.

use super::scenes_tests::*;
use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::peak::Limit;
use crate::battery::volts::Volts;
use crate::club::reading::Rested;
use crate::club::seen::Seen;
use crate::club::states::State;
use crate::club::verdict::Gravity;

#[test]
fn a_pack_without_readings_is_not_known_and_so_is_one_read_long_ago() {
    let never = verdict_of(&lipo(), &[]);
    assert_eq!(never.state, State::NotKnown);
    assert_eq!(
        rules(&never.reasons),
        [(Rule::NeverRead, Gravity::NotKnown)]
    );
    let old = verdict_of(&lipo(), &[on(91).cells(&[3_850; 3])]);
    assert_eq!(old.state, State::NotKnown);
    assert_eq!(
        old.reasons[0].finding.words,
        "It was last read 91 days ago; after 90 days its state is not known."
    );
    let fit = verdict_of(&lipo(), &[on(1).cells(&[3_850; 3])]);
    assert_eq!((fit.state, rules(&fit.reasons)), (State::Fit, vec![]));
}

#[test]
fn the_gravest_makes_the_state_and_stands_first() {
    let readings = [
        on(100).cells(&[3_900; 3]).milliohm(&[3.0; 3]),
        on(0).cells(&[3_900, 3_900, 2_900]).milliohm(&[6.5; 3]),
    ];
    let verdict = verdict_of(&lipo(), &readings);
    assert_eq!(verdict.state, State::Quarantine);
    assert_eq!(
        rules(&verdict.reasons)[0],
        (Rule::OverDischarged, Gravity::Danger)
    );
    assert_eq!(verdict.reasons[0].sure, Sure::AsRecorded);
    assert!(verdict.reasons[0].source.contains("a county fire service"));
}

#[test]
fn danger_once_read_stays_until_a_second_person_released_it() {
    let readings = [
        on(60).cells(&[3_900, 3_900, 2_900]),
        on(50).cells(&[3_900; 3]),
        on(1).cells(&[3_900; 3]),
    ];
    let state = |released: Option<i64>| {
        let released = released.map(|days| now().plus_days(-days));
        verdict_after(&lipo(), &readings, (&[], released)).state
    };
    assert_eq!(state(None), State::Quarantine);
    assert_eq!(state(Some(40)), State::Fit);
    assert_eq!(state(Some(0)), State::Fit);
    assert_eq!(state(Some(70)), State::Quarantine, "before it was read");
    assert_eq!(state(Some(-5)), State::Quarantine, "not yet");
}

#[test]
fn what_a_later_reading_answers_is_gone_and_what_it_can_t_answer_stays() {
    let wide = on(5).cells(&[3_900, 3_900, 3_750]);
    let narrow = on(0).cells(&[3_900; 3]);
    assert_eq!(
        verdict_of(&lipo(), std::slice::from_ref(&wide)).state,
        State::SetAside
    );
    assert_eq!(
        verdict_of(&lipo(), &[wide.clone(), narrow.clone()]).state,
        State::Fit
    );
    let unrested = narrow.just_used();
    let verdict = verdict_of(&lipo(), &[wide, unrested]);
    assert_eq!(verdict.state, State::SetAside);
    assert_eq!(verdict.reasons[0].finding.rule, Rule::SpreadWide);
}

#[test]
fn cells_that_stand_out_again_after_a_charge_or_by_far_are_out_of_service_whatever_is_read_later() {
    let wide = |days: i64| on(days).cells(&[3_900, 3_900, 3_750]);
    let fine = || on(0).cells(&[3_900; 3]);
    let rule_of = |readings: &[HealthReading]| {
        let verdict = verdict_of(&lipo(), readings);
        let of_spread = |rule: &Rule| matches!(rule, Rule::SpreadOut | Rule::SpreadWide);
        let mut rules = verdict.reasons.iter().map(|each| each.finding.rule);
        (verdict.state, rules.find(of_spread))
    };
    let out = (State::SetAside, Some(Rule::SpreadOut));
    // Read twice and charged between, as stands beside the second or a reading between.
    let wide_only = (State::SetAside, Some(Rule::SpreadWide));
    assert_eq!(rule_of(&[wide(5), wide(3)]), wide_only);
    assert_eq!(rule_of(&[wide(5), wide(3).put_in(200)]), out);
    let charged = on(4).cells(&[4_190, 4_190, 4_040]).put_in(900).just_used();
    assert_eq!(rule_of(&[wide(5), charged.clone(), wide(3)]), out);
    // What was put in before it first stood out says nothing.
    assert_eq!(rule_of(&[wide(5).put_in(200), wide(3)]), wide_only);
    assert_eq!(
        rule_of(&[wide(5).put_in(200), wide(3), fine()]),
        (State::Fit, None)
    );
    // By far, at once; and no later volts undo either.
    let far = on(5).cells(&[3_900, 3_900, 3_690]);
    assert_eq!(rule_of(std::slice::from_ref(&far)), out);
    assert_eq!(rule_of(&[far, fine()]), out);
    assert_eq!(rule_of(&[wide(5), wide(3).put_in(200), fine()]), out);
    // With the figure and the limit that its words tell.
    let figure_of = |readings: &[HealthReading]| {
        let verdict = verdict_of(&lipo(), readings);
        let mut reasons = verdict.reasons.into_iter();
        let reason = reasons.find(|each| each.finding.rule == Rule::SpreadOut);
        let figure = reason.and_then(|each| each.figure).expect("a figure");
        (figure.value, figure.limit)
    };
    assert_eq!(figure_of(&[wide(5), wide(3).put_in(200)]), (0.15, 0.1));
    assert_eq!(
        figure_of(&[on(5).cells(&[3_900, 3_900, 3_690])]),
        (0.21, 0.2)
    );
}

#[test]
fn what_was_seen_counts_beside_what_was_read() {
    let readings = [on(0).cells(&[3_850; 3])];
    let state = |seen: &[Seen]| verdict_after(&lipo(), &readings, (seen, Some(now()))).state;
    assert_eq!(state(&[Seen::Nothing]), State::Fit);
    assert_eq!(state(&[Seen::WrapTorn]), State::SetAside);
    assert_eq!(state(&[Seen::Swollen]), State::Quarantine);
}

#[test]
fn in_whatever_order_readings_come_the_verdict_is_the_same() {
    let mut readings = vec![
        on(90).cells(&[3_900; 3]).milliohm(&[3.0; 3]),
        on(60).cells(&[3_500; 3]),
        on(59).cells(&[4_190; 3]).put_in(1_700),
        on(30).cells(&[3_850; 3]).checked(),
        on(2)
            .cells(&[3_700, 3_850, 3_850])
            .checked()
            .milliohm(&[5.0; 3]),
    ];
    let told = verdict_of(&lipo(), &readings);
    readings.reverse();
    assert_eq!(verdict_of(&lipo(), &readings), told);
}

#[test]
fn no_energy_is_told_of_a_pack_that_is_nearly_used_up_or_was_never_read_rested() {
    let low = verdict_of(&lipo(), &[on(2).cells(&[3_600; 3])]).told;
    assert!(low.charge.is_some() && low.energy.is_none());
    assert_eq!(verdict_of(&lipo(), &[]).told.energy, None);
}

#[test]
fn charge_peak_and_ageing_are_told_of_the_pack_as_it_lies() {
    let pack = HealthPack {
        label_discharge_c_tenths: Some(300),
        ..lipo()
    };
    let told = verdict_of(
        &pack,
        &[on(2).cells(&[3_850, 3_805, 3_850]).milliohm(&[5.0; 3])],
    )
    .told;
    let charge = told.charge.expect("a charge");
    // 3.805 V is half full on the built-in curve.
    assert_eq!((charge.charge.percent, charge.days_ago), (Some(50.0), 2.0));
    assert!(charge.charge.low_percent < 45.0 && charge.charge.high_percent > 55.0);
    // 30C of 2.2 Ah; 0.605 V over 5 milliohm are 121 A, less with what comes only after minutes.
    assert_eq!(told.peak.at_charge_percent, 50.0);
    assert_eq!(told.peak.peak.label_ma, Some(66_000));
    assert_eq!(told.peak.peak.limited_by, Some(Limit::Label));
    let sag = told.peak.peak.sag_ma.expect("a sag");
    assert!(sag.contains(121_000.0), "{sag:?}");
    // 30 % of 2.2 Ah, three cells that rest at 3.76 to 3.81 V on the way (kernel tables): 7.4 Wh, less 0.02 V of sag; 18 minutes.
    let energy = told.energy.expect("an energy");
    assert_eq!((energy.down_to_percent, energy.current_ma), (20.0, 2_200));
    assert!(
        (energy.usable.energy_mwh.likely - 7_400.0).abs() < 200.0,
        "{energy:?}"
    );
    assert!(
        (energy.usable.minutes.likely - 18.0).abs() < 0.1,
        "{energy:?}"
    );
    // From the least to the most charge that its volts leave open.
    assert!(
        energy.is_by_label
            && energy.usable.energy_mwh.least < 6_000.0
            && energy.usable.energy_mwh.most > 9_000.0,
        "{energy:?}"
    );
    let ageing = told.ageing.expect("two ranges");
    // The handbook: 4 % in a year at 25 °C and 40 % charge, 20 % at 100 %.
    assert!(ageing.ageing.handbook.contains(5.0), "{ageing:?}");
    assert!(ageing.ageing.handbook.most < 20.0, "{ageing:?}");
    assert!(ageing.ageing.laboratory.most > ageing.ageing.laboratory.least);
    assert_eq!(
        told.remaining,
        Remaining::NotEnoughReadings { have: 0, need: 4 }
    );
}

#[test]
fn a_pack_that_was_measured_whole_tells_what_its_average_tells() {
    let mut pack = pack(Chemistry::LiPo, 2, 1_000);
    pack.build.sees_cells = false;
    let reading = HealthReading {
        volts: Some(Volts::Pack(7_610)),
        ..on(0)
    };
    let told = verdict_of(&pack, &[reading]).told;
    assert_eq!(told.charge.expect("a charge").charge.percent, Some(50.0));
    assert!(told.balance.is_none());
}

#[test]
fn an_implausible_reading_tells_nothing_of_charge_and_sets_the_pack_aside() {
    let readings = [
        on(5).cells(&[3_850; 3]),
        on(0).cells(&[3_850, 38_500, 3_850]),
    ];
    let verdict = verdict_of(&lipo(), &readings);
    assert_eq!(verdict.state, State::SetAside);
    assert_eq!(verdict.reasons[0].sure, Sure::OneReading);
    assert_eq!(verdict.told.charge.map(|charge| charge.days_ago), Some(5.0));
}

#[test]
fn nothing_here_is_danger_or_says_that_a_pack_is_safe_and_every_reason_has_its_source() {
    let readings = [
        on(200).cells(&[3_900; 3]).milliohm(&[3.0; 3]),
        on(60).cells(&[3_500; 3]),
        on(59).cells(&[4_190; 3]).put_in(900).checked(),
        on(30).cells(&[4_180, 4_180, 3_814]).checked(),
        on(10).cells(&[3_900; 3]).milliohm(&[9.0, 9.0, 40.0]),
        on(0).cells(&[3_812, 3_784, 3_812]),
    ];
    let health = health_of(&lipo(), &readings);
    assert!(health.reasons.len() >= 6, "{:?}", rules(&health.reasons));
    for reason in &health.reasons {
        assert!(reason.finding.gravity < Gravity::Danger);
        assert!(reason.finding.words.ends_with('.') && reason.finding.next.ends_with('.'));
        assert!(reason.source.ends_with('.') && !reason.sure.words().is_empty());
        let said = [reason.finding.words.as_str(), reason.finding.next.as_str()].concat();
        assert!(!said.to_lowercase().contains("safe"), "{said}");
        let figure = reason.figure.expect("a figure");
        let is_floor = figure.unit == Unit::PercentOfLabel;
        assert_eq!(figure.value < figure.limit, is_floor, "{reason:?}");
    }
}

#[test]
fn a_quarter_of_an_hours_rest_tells_the_charge_in_a_wider_band_and_a_pack_just_used_tells_none() {
    let read = |days, minutes| HealthReading {
        rested: Rested::of_minutes(minutes),
        ..on(days).cells(&[3_800; 3])
    };
    let charge = |readings: &[HealthReading]| health_of(&lipo(), readings).told.charge;
    let told = |minutes| charge(&[read(0, minutes)]);
    let (hour, quarter) = (told(60).expect("a charge"), told(15).expect("a charge"));
    assert!(hour.is_settled && !quarter.is_settled);
    let width = |told: &ChargeTold| told.charge.high_percent - told.charge.low_percent;
    assert!(
        width(&quarter) > width(&hour) + 3.0,
        "{quarter:?}, {hour:?}"
    );
    assert_eq!(told(59), Some(quarter));
    assert_eq!([0, 14].map(told), [None; 2]);
    // The newest that had lain counts, and none after it that had not.
    let days = |readings: &[HealthReading]| charge(readings).map(|told| told.days_ago);
    assert_eq!(days(&[read(3, 60), read(2, 20), read(1, 5)]), Some(2.0));
}

/// A maker's put-back limit, 105 % of the label (section 0 of the trade's facts); as a charge on record is judged.
#[test]
fn more_than_a_label_takes_sets_a_pack_aside_until_somebody_looked() {
    let empty = on(5).cells(&[3_500; 3]);
    let told = |mah: i64, after: &[HealthReading], released: Option<i64>| {
        let mut readings = vec![empty.clone(), on(4).cells(&[4_190; 3]).put_in(mah)];
        readings.extend_from_slice(after);
        let released = released.map(|days| now().plus_days(-days));
        let verdict = verdict_after(&lipo(), &readings, (&[], released));
        let too_much = verdict.reasons.into_iter();
        let mut too_much = too_much.filter(|each| each.finding.rule == Rule::TookTooMuch);
        (verdict.state, too_much.next())
    };
    let (state, found) = told(5_000, &[], None);
    let found = found.expect("a reason");
    assert_eq!(
        (state, found.finding.gravity),
        (State::SetAside, Gravity::ToMend)
    );
    assert_eq!(
        found.finding.words,
        "Its last charge put in 5000 mAh, more than 105 % of the 2200 mAh on its label."
    );
    assert_eq!(told(2_310, &[], None), (State::Fit, None));
    let later = [on(1).cells(&[4_190; 3]).put_in(200)];
    let (state, found) = told(5_000, &later, None);
    assert_eq!(state, State::SetAside);
    let words = found.expect("a reason").finding.words;
    assert!(
        words.starts_with("A charge of it put in 5000 mAh"),
        "{words}"
    );
    assert_eq!(told(5_000, &later, Some(2)), (State::Fit, None));
}

/// A county fire service: never charge a cell below 3.0 V (section 1 of the trade's facts).
#[test]
fn beside_what_must_not_be_charged_nothing_says_to_charge_or_balance_it() {
    let low = verdict_of(&lipo(), &[on(0).cells(&[3_850, 3_700, 2_950])]);
    assert!(low.reasons.len() >= 2, "{:?}", rules(&low.reasons));
    for reason in &low.reasons {
        let is_danger = reason.finding.gravity >= Gravity::Danger;
        assert_eq!(reason.finding.next.is_empty(), !is_danger, "{reason:?}");
    }
    // One that empties itself must not be charged either, though it is no danger.
    let emptied = [
        on(1).cells(&[3_850; 3]).checked(),
        on(0).cells(&[3_848, 3_850, 3_670]).checked(),
    ];
    let verdict = verdict_of(&lipo(), &emptied);
    let next = |rule: Rule| {
        let mut reasons = verdict.reasons.iter();
        let reason = reasons.find(|reason| reason.finding.rule == rule);
        reason.expect("a reason").finding.next.clone()
    };
    assert!(next(Rule::SelfDischarge).starts_with("Don't use or charge it"));
    assert_eq!(next(Rule::SpreadWide), "");
    // Alone it says what to do.
    let wide = verdict_of(&lipo(), &[on(0).cells(&[3_850, 3_700, 3_850])]);
    assert!(
        wide.reasons[0]
            .finding
            .next
            .starts_with("It gets no settings")
    );
}

/// Common practice, no source.
#[test]
fn a_reading_that_nobody_believes_is_asked_about_and_not_called_missing() {
    let strange = on(0).cells(&[38_500, 3_850, 3_850]);
    let verdict = verdict_of(&lipo(), std::slice::from_ref(&strange));
    assert_eq!(verdict.state, State::SetAside);
    let said = rules(&verdict.reasons);
    assert!(said.contains(&(Rule::Implausible, Gravity::ToMend)));
    assert!(
        said.iter().all(|(rule, _)| *rule != Rule::NeverRead),
        "{said:?}"
    );
    let unread = verdict_of(&lipo(), &[on(0)]);
    assert_eq!(
        rules(&unread.reasons),
        [(Rule::NeverRead, Gravity::NotKnown)]
    );
}
