//! A season looked back on, told pack by pack.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::Volts;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::Toward;
use crate::club::reading::Rested;

fn day(text: &str) -> Day {
    Day::parse(text).expect("a day")
}

fn volts(days: i64, cell_mv: i64) -> (Instant, Step) {
    let at = days_ago(days);
    let read = LastRead {
        at,
        volts: Volts::Cells(vec![cell_mv; 3]),
        rested: Rested::AN_HOUR,
    };
    (at, Step::Read(read))
}

fn was(days: i64, what: What) -> (Instant, Step) {
    (days_ago(days), Step::Was(what))
}

fn looked(steps: Vec<(Instant, Step)>) -> OfPack {
    let long_ago = (days_ago(1_000), None);
    OfPack::new(
        lying(Chemistry::LiPo),
        long_ago,
        steps,
        &ClubLimits::default(),
    )
}

fn left(days: i64, steps: Vec<(Instant, Step)>) -> OfPack {
    OfPack {
        until: Some(days_ago(days)),
        ..looked(steps)
    }
}

/// Of an event of three days, as its packs were back when it ended.
fn stay(ended: i64) -> Stay {
    Stay {
        starts: days_ago(ended + 3),
        ends: days_ago(ended),
        back: days_ago(ended),
    }
}

fn days_of(packs: &[OfPack], ended: i64) -> After {
    after_event(packs.iter().map(|pack| (pack, stay(ended)))).expect("some pack")
}

#[test]
fn weeks_begin_on_mondays_of_the_hall_and_the_last_one_ends_now() {
    // Thursday 2026-11-26, midnight UTC.
    let utc = weeks(day("2026-11-11"), now(), &Zone::utc());
    let firsts: Vec<String> = utc.iter().map(|week| week.first.to_string()).collect();
    assert_eq!(firsts, ["2026-11-09", "2026-11-16", "2026-11-23"]);
    assert_eq!(utc[1].ends, Zone::utc().start_of(day("2026-11-23")));
    assert_eq!(utc[2].ends, now());
    // London's clocks went back on 2026-10-25: that week has an hour more.
    let london = Zone::named("Europe/London").expect("a zone");
    let over_change = weeks(day("2026-10-19"), now(), &london);
    let hours = (over_change[0].ends.ms() - london.start_of(day("2026-10-19")).ms()) / 3_600_000;
    assert_eq!(hours, 7 * 24 + 1);
    assert_eq!(weeks(day("2020-01-01"), now(), &Zone::utc()).len(), 106);
}

#[test]
fn a_pack_stands_where_it_was_read_or_charged_to_as_each_week_ends() {
    let weeks = weeks(day("2026-10-26"), now(), &Zone::utc());
    assert_eq!(
        weeks.len(),
        5,
        "they end 24, 17, 10 and 3 days ago, and now"
    );
    let full = looked(vec![volts(40, 3_820), volts(20, 4_180), volts(5, 3_830)]);
    let stored = looked(vec![volts(26, 4_190), was(12, done(Toward::Storage))]);
    let out = looked(vec![volts(30, 3_820), was(15, What::Lent)]);
    let low = looked(vec![volts(2, 3_600)]);
    let of = |pack: OfPack| -> Vec<String> {
        let told = |counts: &Counts| match counts {
            Counts { inside: 1, .. } => "in",
            Counts { above: 1, .. } => "above",
            Counts { under: 1, .. } => "under",
            Counts { unknown: 1, .. } => "unknown",
            _ => "none",
        };
        let counts = stood(&[pack], &weeks);
        counts
            .iter()
            .map(|counts| told(counts).to_owned())
            .collect()
    };
    assert_eq!(of(full), ["in", "above", "above", "in", "in"]);
    assert_eq!(of(stored), ["above", "above", "in", "in", "in"]);
    assert_eq!(of(out), ["in", "in", "unknown", "unknown", "unknown"]);
    assert_eq!(
        of(low),
        ["unknown", "unknown", "unknown", "unknown", "under"]
    );
    let gone = left(12, vec![volts(40, 3_820)]);
    assert_eq!(of(gone), ["in", "in", "none", "none", "none"]);
    let slip = looked(vec![volts(40, 3_820), volts(20, 9_180)]);
    assert_eq!(of(slip), ["in"; 5], "9.18 V is no cell's");
}

#[test]
fn shares_are_of_all_packs_of_that_week() {
    let weeks = weeks(day("2026-11-23"), now(), &Zone::utc());
    let packs = [
        looked(vec![volts(9, 3_820)]),
        looked(vec![volts(9, 4_180)]),
        looked(vec![volts(9, 4_180)]),
        looked(Vec::new()),
    ];
    let counts = stood(&packs, &weeks)[0];
    let whole = Counts {
        inside: 1,
        above: 2,
        under: 0,
        unknown: 1,
    };
    assert_eq!(counts, whole);
    assert_eq!(counts.percent(counts.inside), Some(25.0));
    assert_eq!(Counts::default().percent(0), None);
}

#[test]
fn the_median_is_of_the_days_until_each_pack_was_put_to_storage() {
    // Ended 20 days ago; put to storage 1, 3 and 8 days later.
    let in_a_day = || looked(vec![volts(30, 3_820), volts(20, 4_150), volts(19, 3_830)]);
    let in_three = || {
        looked(vec![
            was(22, done(Toward::Full)),
            was(17, done(Toward::Storage)),
        ])
    };
    let in_eight = || looked(vec![volts(19, 4_100), volts(12, 3_840)]);
    let never = || {
        looked(vec![
            volts(30, 3_820),
            volts(19, 4_100),
            was(10, What::Lent),
        ])
    };
    let three = days_of(&[in_eight(), in_a_day(), in_three()], 20);
    assert_eq!(
        (three.packs, three.stored, three.median_days),
        (3, 3, Some(3.0))
    );
    let two = days_of(&[in_a_day(), in_three()], 20);
    assert_eq!(two.median_days, Some(2.0));
    let with_one = days_of(&[in_a_day(), in_three(), never()], 20);
    assert_eq!((with_one.stored, with_one.median_days), (2, Some(3.0)));
    let half = days_of(&[in_a_day(), never()], 20);
    assert_eq!((half.packs, half.stored, half.median_days), (2, 1, None));
    // What left unstored is in nobody's median; no pack, no median.
    assert_eq!(days_of(&[in_a_day(), left(5, Vec::new())], 20).packs, 1);
    assert_eq!(after_event([(&left(5, Vec::new()), stay(20))]), None);
    assert_eq!(after_event([]), None);
}

#[test]
fn what_came_back_within_the_event_and_was_read_in_its_band_took_no_day() {
    // It went on from 23 to 20 days ago; nobody read anything after it.
    let of = |steps: Vec<(Instant, Step)>| {
        let after = days_of(&[looked(steps)], 20);
        (after.stored, after.median_days)
    };
    let (stored, open) = ((1, Some(0.0)), (0, None));
    let there = || was(23, What::TakenToEvent);
    let on_round = || was(21, What::PutOnRound);
    assert_eq!(of(vec![there(), on_round(), volts(21, 3_830)]), stored);
    assert_eq!(
        of(vec![there(), on_round(), volts(20, 3_830)]),
        stored,
        "as it ended"
    );
    let loan = [was(23, What::Lent), was(22, What::CameBack)];
    assert_eq!(of([&loan[..], &[volts(22, 3_830)]].concat()), stored);
    let charged = [on_round(), volts(21, 4_100), was(20, done(Toward::Storage))];
    assert_eq!(of(charged.to_vec()), stored);
    // Not back, outside of its band, or not left alone since.
    assert_eq!(of(vec![there(), volts(21, 3_830)]), open);
    assert_eq!(of(vec![there(), on_round(), volts(21, 4_100)]), open);
    assert_eq!(
        of(vec![on_round(), volts(21, 3_830), was(20, What::Lent)]),
        open
    );
    let filled = [on_round(), volts(21, 3_830), was(20, done(Toward::Full))];
    assert_eq!(of(filled.to_vec()), open);
    assert_eq!(
        of(vec![on_round(), volts(21, 3_830), volts(20, 4_100)]),
        open
    );
    let again = [volts(22, 3_830), was(21, What::CameBack)];
    assert_eq!(of(again.to_vec()), open, "read before it came back");
}
