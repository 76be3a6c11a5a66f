//! The geometry of the cell picture: what stands inside a column, what outside it, and what is said of it.

use super::draw::large_columns;
use super::scale::Scale;
use super::{CellPicture, volts};
use crate::bench::typed::Words;

fn lipo(cells_mv: &[i64]) -> CellPicture<'_> {
    CellPicture {
        cells_mv,
        pack_mv: None,
        cells_series: 3,
        empty_mv: 3300,
        full_mv: 4200,
        over_mv: 4220,
        minimum_mv: 3000,
        storage_low_mv: 3750,
        storage_high_mv: 3850,
        low_word: "empty",
        standing_out: None,
        numbers: Words::POINT,
    }
}

fn scale() -> Scale {
    lipo(&[]).scale(90.0)
}

#[test]
fn a_full_cell_reaches_the_top_and_an_empty_one_lies_on_the_floor() {
    assert_eq!(scale().y(4200), 0.0);
    assert_eq!(scale().y(3300), 90.0);
    assert_eq!(scale().y(3750), 45.0);
}

#[test]
fn the_storage_band_stands_where_its_volts_are() {
    let svg = lipo(&[3800, 3800, 3800]).large();
    let (high_y, low_y) = (110.0 * 350.0 / 900.0, 110.0 * 450.0 / 900.0);
    let drawn = format!(
        r#"y="{high_y:.1}" width="213.3" height="{:.1}"/>"#,
        low_y - high_y
    );
    assert!(svg.contains(&drawn), "{drawn} in {svg}");
}

#[test]
fn a_cell_within_its_limits_draws_nothing_outside() {
    for mv in [3300, 3000 + 900, 4200] {
        let level = scale().level(mv);
        assert_eq!((level.over, level.under), (0.0, 0.0), "{mv}");
    }
    assert!(!lipo(&[3300, 3900, 4200]).large().contains("outside"));
}

#[test]
fn what_a_meter_is_off_by_at_full_is_not_drawn_as_over() {
    let full = lipo(&[4210, 4200, 4220]);
    assert!(!full.large().contains("over<") && !full.large().contains(r#"class="out""#));
    assert!(!full.spoken().contains("over full"), "{}", full.spoken());
    assert!(
        lipo(&[4221, 4200, 4200])
            .spoken()
            .contains("4.22 volts (over full)")
    );
}

#[test]
fn a_cell_at_2_1_volts_does_not_look_like_one_at_3_3() {
    let [dead, low, empty] = [2100, 3200, 3300].map(|mv| scale().level(mv));
    assert!(dead.under > low.under && low.under > empty.under);
    assert!(dead.is_deep && !low.is_deep && !empty.is_deep);
    assert_ne!(
        lipo(&[2100, 3300, 3300]).small(),
        lipo(&[3300, 3300, 3300]).small()
    );
    assert!(lipo(&[2100, 3300, 3300]).large().contains(">under<"));
}

#[test]
fn an_overcharged_cell_is_drawn_over_the_top_and_more_of_it_is_higher() {
    let [little, more, much] = [4230, 4260, 5000].map(|mv| scale().level(mv).over);
    assert!(0.0 < little && little < more && more < much);
    assert!(much <= 90.0 * 0.22 + 0.001);
    assert!(lipo(&[4350, 4200, 4200]).large().contains(">over<"));
}

#[test]
fn nothing_drawn_leaves_the_drawing() {
    for mv in [0, 2100, 3200, 4210, 9999] {
        let level = lipo(&[]).scale(26.0).level(mv);
        assert!(
            level.over + 2.5 <= 9.0 && level.under + 2.5 <= 9.0,
            "{mv}: {level:?}"
        );
    }
}

#[test]
fn the_cell_that_stands_out_has_a_wedge_and_no_other() {
    let mut picture = lipo(&[3910, 3870, 3900]);
    assert!(!picture.large().contains(r#"class="low""#));
    picture.standing_out = Some(1);
    assert_eq!(picture.large().matches(r#"class="low""#).count(), 1);
    assert_eq!(picture.small().matches(r#"class="low""#).count(), 1);
    assert!(picture.large().contains("cell 2 3.87 volts (stands out)"));
}

#[test]
fn a_pack_never_read_is_dashed_columns_that_say_so() {
    let svg = lipo(&[]).large();
    assert_eq!(svg.matches(r#"class="unread""#).count(), 3);
    assert!(svg.contains("Volts not read") && !svg.contains("hatch"));
}

#[test]
fn pack_volts_alone_are_one_column_at_the_mean_cell() {
    let mut picture = lipo(&[]);
    picture.pack_mv = Some(11_700);
    let svg = picture.large();
    assert_eq!(svg.matches(r#"class="tube""#).count(), 1);
    assert!(svg.contains(">11.70<") && svg.contains("Whole pack 11.70 volts, 3.90 for each cell"));
}

#[test]
fn every_cell_is_named_in_words() {
    let words = lipo(&[2100, 3200, 4350]).spoken();
    assert!(words.starts_with(
        "Cell 1 2.10 volts (under the minimum), cell 2 3.20 volts (under empty), cell 3 4.35"
    ));
    assert!(words.ends_with("Storage band 3.75 to 3.85, empty 3.30, full 4.20 volts a cell."));
}

#[test]
fn one_to_fourteen_columns_stay_within_the_drawing_and_apart() {
    for count in 1..=14 {
        let columns = large_columns(count);
        let last = columns[count - 1];
        assert!(last.x + last.width <= 258.0, "{count}");
        assert!(
            columns
                .windows(2)
                .all(|pair| pair[0].x + pair[0].width < pair[1].x),
            "{count}"
        );
    }
}

#[test]
fn limits_without_a_range_do_not_break_the_drawing() {
    let mut picture = lipo(&[3300, 99_000_000, -5]);
    picture.full_mv = picture.empty_mv;
    picture.cells_series = -1;
    for svg in [picture.large(), picture.small()] {
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    }
}

#[test]
fn no_picture_needs_an_inline_style() {
    let svg = lipo(&[2100, 3870, 4350]).large() + &lipo(&[]).small();
    assert!(!svg.contains("style") && !svg.contains(" id="));
}

#[test]
fn volts_are_rounded_as_a_meter_shows_them() {
    assert_eq!(
        [3905, 3904, 0, 11_700, -3].map(volts),
        ["3.91", "3.90", "0.00", "11.70", "0.00"]
    );
}
