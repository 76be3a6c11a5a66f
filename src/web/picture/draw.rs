//! The strokes of the cell picture: columns, hatch, storage band, wedge. Drawing units, y downwards, 0 at a column's
//! top. Takes heights from the scale; knows no volts limits of its own.

use super::scale::{Level, Scale};
use std::fmt::Write;

/// Where one column stands and how wide it is, in drawing units.
#[derive(Clone, Copy)]
pub struct Column {
    pub x: f64,
    pub width: f64,
}

/// Columns for the large drawing share 266 units; a single one is not drawn wider than a pack.
pub fn large_columns(count: usize) -> Vec<Column> {
    let pitch = (258.0 / count.max(1) as f64).min(76.0);
    let width = if count == 1 {
        96.0
    } else {
        (pitch * 0.72).floor()
    };
    (0..count)
        .map(|index| Column {
            x: pitch * index as f64,
            width,
        })
        .collect()
}

pub fn gap(columns: &[Column]) -> f64 {
    match columns {
        [first, second, ..] => second.x - first.x - first.width,
        _ => 16.0,
    }
}

/// One column: its hatch, its walls, and what lies outside them. `step` is the distance of the hatch lines.
pub fn draw_column(column: Column, level: Option<i64>, scale: &Scale, step: f64) -> String {
    let Column { x, width } = column;
    let height = scale.height;
    let Some(mv) = level else {
        return format!(
            r#"<rect class="unread" x="{x:.1}" y="0" width="{width}" height="{height}"/>"#
        );
    };
    let Level {
        top_y,
        over,
        under,
        is_deep,
    } = scale.level(mv);
    let mut svg = String::new();
    if top_y < height {
        let deep = height - top_y;
        let _ = write!(
            svg,
            r#"<rect class="fill" x="{x:.1}" y="{top_y:.1}" width="{width}" height="{deep:.1}"/>"#
        );
        svg += &hatch(column, top_y, height, step);
    }
    let _ = write!(
        svg,
        r#"<rect class="tube" x="{x:.1}" y="0" width="{width}" height="{height}"/>"#
    );
    let gap = (height / 28.0).max(2.5);
    if over > 0.0 {
        let y = -gap - over;
        let _ = write!(
            svg,
            r#"<rect class="outside deep" x="{x:.1}" y="{y:.1}" width="{width}" height="{over:.1}"/>"#
        );
    }
    if under > 0.0 {
        let class = if is_deep { "outside deep" } else { "outside" };
        let y = height + gap;
        let [half, end] = [x + width / 2.0, x + width];
        let tip = y + under;
        let _ = write!(
            svg,
            r#"<path class="{class}" d="M{x:.1} {y:.1}H{end:.1}L{half:.1} {tip:.1}z"/>"#
        );
    }
    svg
}

fn hatch(column: Column, top_y: f64, floor_y: f64, step: f64) -> String {
    let Column { x, width } = column;
    let mut lines = format!("M{x:.1} {top_y:.1}h{width}");
    let mut y = floor_y - step;
    if y > top_y + 2.0 {
        let _ = write!(lines, "M{x:.1} {y:.1}h{width}");
        // Each from the end of the one below: written once, a picture has dozens.
        let next = format!("m-{width} -{step}h{width}");
        y -= step;
        while y > top_y + 2.0 {
            lines += &next;
            y -= step;
        }
    }
    format!(r#"<path class="hatch" d="{lines}"/>"#)
}

/// The storage band, dashed across all columns.
pub fn band(columns: &[Column], scale: &Scale) -> String {
    let Some(last) = columns.last() else {
        return String::new();
    };
    let margin = scale.height / 30.0;
    let (top, floor) = (
        scale.y(scale.storage_high_mv),
        scale.y(scale.storage_low_mv),
    );
    let x = columns.first().map_or(0.0, |first| first.x) - margin;
    let width = last.x + last.width + margin - x;
    format!(
        r#"<rect class="band" x="{x:.1}" y="{top:.1}" width="{width:.1}" height="{:.1}"/>"#,
        floor - top
    )
}

/// An ink wedge in the gap to the right of a column, its point on the level.
pub fn wedge(column: Column, mv: i64, scale: &Scale, gap: f64, half: f64) -> String {
    let x = column.x + column.width + 1.0;
    let y = scale.y(mv);
    let length = gap.clamp(3.0, 13.0) - 1.0;
    format!(
        r#"<path class="low" d="M{x:.1} {y:.1}l{length:.1} -{half}v{}z"/>"#,
        half * 2.0
    )
}
