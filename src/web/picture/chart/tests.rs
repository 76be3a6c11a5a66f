//! What a chart shows, that it shows it within its frame, and that no figures break it.

use super::axis::{Range, Upright, day_ticks, elapsed, elapsed_ticks};
use super::frame::apart;
use super::points::{finite, least_and_most, thinned};
use super::*;
use crate::club::calendar::{Day, Instant};
use proptest::prelude::*;

fn line(letter: &str, points: &[(f64, f64)]) -> Line {
    Line {
        letter: letter.to_owned(),
        name: format!("Cell {letter}"),
        points: points.to_vec(),
    }
}

fn panel(lines: Vec<Line>) -> Panel {
    Panel {
        name: "Volts of each cell".to_owned(),
        unit: "V",
        decimals: 2,
        lines,
        rules: vec![Rule {
            at: 4.2,
            words: "full".to_owned(),
        }],
        has_zero: false,
    }
}

fn chart<'z>(across: Across<'z>, panels: Vec<Panel>) -> Chart<'z> {
    Chart {
        id: "volts",
        title: "Cells of P-001".to_owned(),
        across,
        panels,
        stretches: Vec::new(),
        numbers: Words::POINT,
    }
}

fn two_cells() -> Vec<Panel> {
    vec![panel(vec![
        line("1", &[(0.0, 3.8), (3_600.0, 4.1), (7_200.0, 3.95)]),
        line("2", &[(0.0, 3.79), (7_200.0, 3.6)]),
    ])]
}

/// Every `x y` of the lines, and of their marks' middles as far as they are told.
fn places(svg: &str) -> Vec<(f64, f64)> {
    let paths = svg.split(r#"<path class="line" d=""#).skip(1);
    let drawn = paths.filter_map(|rest| rest.split('"').next());
    let pairs = drawn.flat_map(|path| path.split(['M', 'L']).filter(|pair| !pair.is_empty()));
    pairs
        .map(|pair| {
            let (x, y) = pair.split_once(' ').expect("x y");
            (x.parse().expect("x"), y.parse().expect("y"))
        })
        .collect()
}

#[test]
fn each_line_has_a_stroke_of_its_own_and_its_letter_at_its_end() {
    let svg = chart(Across::Elapsed, two_cells()).svg();
    for style in [r#"<g class="s0">"#, r#"<g class="s1">"#] {
        assert_eq!(svg.matches(style).count(), 1, "{svg}");
    }
    for letter in ["1", "2"] {
        let words = format!(">{letter}</text>");
        assert!(svg.contains(&words), "{words}: {svg}");
    }
    assert_eq!(
        svg.matches(r#"class="mark"#).count(),
        5,
        "one at each figure"
    );
}

#[test]
fn a_screen_reader_is_told_what_it_is_and_what_it_shows() {
    let svg = chart(Across::Elapsed, two_cells()).svg();
    assert!(svg.contains(r#"role="img" aria-labelledby="volts-title volts-tells""#));
    assert!(svg.contains(r#"<title id="volts-title">Cells of P-001</title>"#));
    let told = "Volts of each cell: Cell 1 from 3.80 V to 3.95 V, least 3.80 V, most 4.10 V; \
        Cell 2 from 3.79 V to 3.60 V, least 3.60 V, most 3.79 V; full 4.20 V.";
    assert!(
        svg.contains(&format!(r#"<desc id="volts-tells">{told}</desc>"#)),
        "{svg}"
    );
}

#[test]
fn the_table_has_the_same_figures_by_their_times() {
    let html = chart(Across::Elapsed, two_cells()).html();
    for row in [
        ["0:00:00", "3.80", "3.79"],
        ["1:00:00", "4.10", ""],
        ["2:00:00", "3.95", "3.60"],
    ] {
        let cells = format!(
            r#"<th scope="row" role="rowheader">{}</th><td role="cell" data-label="Cell 1 (V)">{}</td><td role="cell" data-label="Cell 2 (V)">{}</td>"#,
            row[0], row[1], row[2]
        );
        assert!(html.contains(&cells), "{cells}: {html}");
    }
    assert!(!html.contains("<details"), "three rows are in sight");
    let long: Vec<(f64, f64)> = (0..40).map(|at| (f64::from(at), 3.8)).collect();
    let html = chart(Across::Elapsed, vec![panel(vec![line("1", &long)])]).html();
    assert!(html.contains("<summary>The same in figures: 40 rows</summary>"));
}

#[test]
fn two_figures_of_one_instant_are_two_rows() {
    let step = [(0.0, 4.1), (0.0, 3.9), (10.0, 3.8)];
    let html = chart(Across::Elapsed, vec![panel(vec![line("1", &step)])]).html();
    assert_eq!(html.matches(r#"rowheader">0:00:00<"#).count(), 2, "{html}");
}

#[test]
fn a_threshold_is_a_dashed_rule_with_its_words_and_figure() {
    let svg = chart(Across::Elapsed, two_cells()).svg();
    assert_eq!(svg.matches(r#"class="rule""#).count(), 1);
    assert!(svg.contains(">full 4.20</text>"), "{svg}");
}

#[test]
fn thresholds_near_each_other_keep_their_words_apart() {
    let mut near = panel(vec![line("1", &[(0.0, 3.0), (1.0, 4.2)])]);
    near.rules = [4.2, 4.19, 4.18]
        .map(|at| Rule {
            at,
            words: "full".to_owned(),
        })
        .to_vec();
    let svg = chart(Across::Elapsed, vec![near]).svg();
    let words = svg.split(r#"class="rule""#).skip(1);
    let mut heights: Vec<f64> = words
        .map(|rest| {
            let text = rest.split("<text").nth(1).expect("its words");
            let y = text.split(r#" y=""#).nth(1).expect("y");
            y.split('"').next().expect("y").parse().expect("a number")
        })
        .collect();
    heights.sort_by(f64::total_cmp);
    assert!(
        heights.windows(2).all(|two| two[1] - two[0] > 12.9),
        "{heights:?}"
    );
}

#[test]
fn a_club_with_a_decimal_comma_reads_no_point() {
    let mut comma = chart(Across::Elapsed, two_cells());
    comma.numbers = Words::COMMA;
    let html = comma.html();
    assert!(html.contains(">full 4,20<") && html.contains(">3,79<") && html.contains(" 3,80 V"));
    let texts = html.split('>').skip(1);
    let shown: Vec<&str> = texts.filter_map(|rest| rest.split('<').next()).collect();
    let has_point = |text: &&str| text.contains("3.") || text.contains("4.");
    assert_eq!(shown.iter().find(|text| has_point(text)), None);
}

#[test]
fn what_it_was_doing_is_named_where_there_is_room() {
    let mut told = chart(Across::Elapsed, two_cells());
    let stretch = |from, to, words| Stretch { from, to, words };
    told.stretches = vec![
        stretch(0.0, 7_100.0, "CC"),
        stretch(7_100.0, 7_200.0, "rest"),
    ];
    let svg = told.svg();
    assert!(svg.contains(">CC</text>") && !svg.contains(">rest</text>"));
    assert_eq!(svg.matches(r#"class="stretch""#).count(), 2);
}

#[test]
fn names_are_text_and_no_markup() {
    let mut hostile = chart(Across::Elapsed, two_cells());
    hostile.title = "<script>&\"".to_owned();
    hostile.panels[0].lines[0].name = "<b>".to_owned();
    hostile.panels[0].lines[0].letter = "<i>".to_owned();
    let html = hostile.html();
    assert!(!html.contains("<script") && !html.contains("<i>") && html.contains("&lt;b&gt;"));
}

#[test]
fn a_chart_of_nothing_is_nothing() {
    for lines in [
        vec![],
        vec![line("1", &[])],
        vec![line("1", &[(f64::NAN, 1.0)])],
    ] {
        assert_eq!(chart(Across::Elapsed, vec![panel(lines)]).html(), "");
    }
}

#[test]
fn no_chart_needs_an_inline_style() {
    assert!(
        !chart(Across::Elapsed, two_cells())
            .html()
            .contains("style=")
    );
}

#[test]
fn ticks_are_round_and_reach_around_all_figures() {
    let ticks = |values: &[f64]| {
        let axis = Upright::of(values.iter().copied());
        let words = axis.ticks().into_iter().map(|tick| tick.words);
        words.collect::<Vec<String>>().join(" ")
    };
    assert_eq!(ticks(&[3.0, 4.2]), "3.0 3.5 4.0 4.5");
    assert_eq!(ticks(&[-2.2, 1.1]), "-3 -2 -1 0 1 2");
    assert_eq!(ticks(&[0.0, 2_245.0]), "0 1000 2000 3000");
    assert_eq!(ticks(&[0.0, 0.042]), "0.00 0.02 0.04 0.06");
    assert_eq!(ticks(&[]).split(' ').next(), Some("0.0000"));
}

#[test]
fn the_time_of_a_log_is_told_in_the_unit_that_fits() {
    let ticks = |high: f64| {
        let range = Range { low: 0.0, high };
        let words = elapsed_ticks(range).into_iter().map(|tick| tick.words);
        words.collect::<Vec<String>>().join(" ")
    };
    assert_eq!(ticks(30.0), "0 10 20 30");
    assert_eq!(ticks(3_600.0), "0 20 40 60");
    assert_eq!(ticks(82_800.0), "0 10 20");
    assert_eq!(elapsed(3_723.0), "1:02:03");
    assert_eq!(elapsed(0.46), "0:00:00.5");
}

#[test]
fn days_begin_at_midnight_in_the_hall() {
    let zone = Zone::named("Europe/London").expect("a zone");
    let start = |day: &str| zone.start_of(Day::parse(day).expect("a day")).ms() as f64;
    let words = |low: f64, high: f64| {
        let ticks = day_ticks(Range { low, high }, &zone).into_iter();
        ticks
            .map(|tick| tick.words)
            .collect::<Vec<String>>()
            .join(", ")
    };
    let ticks = day_ticks(
        Range {
            low: start("2026-03-20"),
            high: start("2026-04-10"),
        },
        &zone,
    );
    // The clock changes on 29 March; each is midnight all the same.
    let times: Vec<String> = ticks
        .iter()
        .map(|tick| zone.time_words(Instant(tick.at as i64)))
        .collect();
    assert_eq!(times, ["00:00"; 4]);
    assert_eq!(
        words(start("2026-03-20"), start("2026-04-10")),
        "20 Mar, 27 Mar, 3 Apr, 10 Apr"
    );
    let evening = start("2026-11-25") + 18.5 * 3_600_000.0;
    assert_eq!(words(evening - 7.2e6, evening + 7.2e6), "18:00");
    assert_eq!(
        words(start("2024-01-01"), start("2026-01-01")),
        "Jan 2024, Jun 2024, Dec 2024, Jun 2025, Dec 2025"
    );
}

prop_compose! {
    fn any_points()(
        points in proptest::collection::vec((any::<f64>(), any::<f64>()), 0..60),
        near in proptest::collection::vec((0.0_f64..1e13, -20.0_f64..20.0), 0..300),
    ) -> Vec<(f64, f64)> {
        points.into_iter().chain(near).collect()
    }
}

proptest! {
    #[test]
    fn no_figures_whatever_break_it_or_leave_its_frame(
        first in any_points(), second in any_points(), at in any::<f64>(), is_elapsed: bool, has_zero: bool,
        stretch in (any::<f64>(), any::<f64>()),
    ) {
        let zone = Zone::named("Europe/London").expect("a zone");
        let across = if is_elapsed { Across::Elapsed } else { Across::Days(&zone) };
        let mut one = panel(vec![line("1", &first), line("2", &second)]);
        one.rules[0].at = at;
        one.has_zero = has_zero;
        let mut drawn = chart(across, vec![one.clone(), one]);
        drawn.stretches = vec![Stretch { from: stretch.0, to: stretch.1, words: "CC" }];
        let html = drawn.html();
        prop_assert!(!html.contains("NaN") && !html.contains("inf"), "{}", html);
        let frame = frame::Frame::of(&drawn);
        let svg = drawn.svg();
        let floor = frame.floor();
        for (x, y) in places(&svg) {
            prop_assert!((frame.left() - 0.1..=frame.right() + 0.1).contains(&x), "{}", x);
            prop_assert!((0.0..=floor + 0.1).contains(&y), "{}", y);
        }
        for (places, index) in svg.split(r#"<text class="name""#).skip(1).zip(0..) {
            let (top, floor) = frame.ends(index);
            for (_, y) in self::places(places) {
                prop_assert!((top - 0.1..=floor + 0.1).contains(&y), "{} in panel {}", y, index);
            }
        }
    }

    #[test]
    fn however_much_is_left_out_both_ends_and_the_extremes_stay(points in any_points(), stretches in 1_usize..50) {
        let points = finite(&points);
        let kept = thinned(&points, stretches);
        prop_assert!(kept.len() <= points.len().min(4 * (stretches + 1)));
        prop_assert_eq!((kept.first(), kept.last()), (points.first(), points.last()));
        let ends = |points: &[(f64, f64)]| least_and_most(points.iter().map(|point| point.1));
        prop_assert_eq!(ends(&kept), ends(&points));
        prop_assert!(kept.iter().all(|point| points.contains(point)));
    }

    #[test]
    fn words_are_apart_in_their_order_and_between_the_ends(wanted in proptest::collection::vec(-50.0_f64..300.0, 0..40)) {
        let ends = (20.0, 190.0);
        let placed = apart(&wanted, 13.0, ends);
        prop_assert_eq!(placed.len(), wanted.len());
        prop_assert!(placed.iter().all(|y| (ends.0 - 1e-6..=ends.1 + 1e-6).contains(y)), "{:?}", placed);
        let mut sorted = placed.clone();
        sorted.sort_by(f64::total_cmp);
        let gap = 13.0_f64.min((ends.1 - ends.0) / wanted.len().saturating_sub(1).max(1) as f64);
        prop_assert!(sorted.windows(2).all(|two| two[1] - two[0] >= gap - 1e-6), "{:?}", sorted);
        for one in 0..wanted.len() {
            for other in 0..wanted.len() {
                prop_assert!(wanted[one] >= wanted[other] || placed[one] <= placed[other]);
            }
        }
    }

    #[test]
    fn an_axis_reaches_around_all_its_figures(values in proptest::collection::vec(-1e15_f64..1e15, 1..20)) {
        let axis = Upright::of(values.iter().copied());
        prop_assert!(values.iter().all(|value| axis.range.has(*value)), "{:?}", axis.range);
        prop_assert!((2..=9).contains(&axis.ticks().len()));
    }
}

#[test]
fn words_of_a_threshold_at_the_end_of_the_scale_are_not_struck_by_its_rule() {
    for at in [4.2, 4.15, 4.0, 3.0] {
        let mut one = panel(vec![line("1", &[(0.0, 3.0), (1.0, 4.2)])]);
        one.rules[0].at = at;
        let svg = chart(Across::Elapsed, vec![one]).svg();
        let number = |after: &str, until: char| -> f64 {
            let rest = svg.split(after).nth(1).expect(after);
            rest[..rest.find(until).expect("its end")]
                .parse()
                .expect("a number")
        };
        let rule = svg.split(r#"class="rule" d="M"#).nth(1).expect("a rule");
        let y = number(
            &format!(
                r#"class="rule" d="M{} "#,
                rule.split(' ').next().expect("x")
            ),
            'H',
        );
        let text = svg
            .split(r#"class="rule""#)
            .nth(1)
            .and_then(|rest| rest.split(r#"" y=""#).nth(1))
            .expect("its words");
        let baseline: f64 = text[..text.find('"').expect("its end")]
            .parse()
            .expect("a number");
        let is_struck = baseline - 8.0 < y && y < baseline;
        assert!(
            !is_struck,
            "{at}: rule at {y}, words from {} to {baseline}",
            baseline - 8.0
        );
    }
}
