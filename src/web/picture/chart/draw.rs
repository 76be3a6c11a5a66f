//! The strokes of a chart: axes, rules, lines with their marks and letters, and what it was doing above. Takes places from
//! the frame; what is drawn how is the stylesheet's.

use super::axis::{Upright, day_ticks, elapsed_ticks, unit_of_elapsed};
use super::frame::{Frame, apart};
use super::points::{finite, thinned};
use super::{Across, Panel, Rule, Stretch, escaped};
use crate::bench::typed::Words;
use std::fmt::Write;

/// Strokes and marks that the stylesheet tells apart.
const STYLES: usize = 8;
/// More points than this have no marks: they would touch.
const MOST_MARKS: usize = 40;
/// Stretches of time in which a line keeps what stands out: about one for each unit of the drawing.
const STRETCHES: usize = 276;
/// Between two lines of words.
const LEADING: f64 = 13.0;
/// As wide as a letter of a stretch is at most.
const LETTER: f64 = 7.0;

const CLASSES: [&str; STYLES] = ["s0", "s1", "s2", "s3", "s4", "s5", "s6", "s7"];

/// The class of the nth line of a panel.
pub fn style_of(index: usize) -> &'static str {
    CLASSES[index % STYLES]
}

/// A mark around a point: disc, square, triangle, diamond; the second four are open.
fn mark(index: usize, x: f64, y: f64) -> String {
    let shape = match index % 4 {
        0 => format!("M{:.1} {y:.1}a3 3 0 1 0 6 0a3 3 0 1 0 -6 0z", x - 3.0),
        1 => format!("M{:.1} {:.1}h5v5h-5z", x - 2.5, y - 2.5),
        2 => format!("M{x:.1} {:.1}l3.5 6h-7z", y - 3.5),
        _ => format!("M{x:.1} {:.1}l3.5 3.5l-3.5 3.5l-3.5 -3.5z", y - 3.5),
    };
    let class = if index % STYLES < 4 {
        "mark"
    } else {
        "mark open"
    };
    format!(r#"<path class="{class}" d="{shape}"/>"#)
}

/// A line of its kind, for the key.
pub fn sample(index: usize) -> String {
    format!(
        r#"<path class="line" d="M0 6h32"/>{}"#,
        mark(index, 16.0, 6.0)
    )
}

/// One panel and where it stands.
pub struct Drawn<'c> {
    panel: &'c Panel,
    frame: &'c Frame,
    axis: Upright,
    top: f64,
    floor: f64,
    lines: Vec<Vec<(f64, f64)>>,
}

impl<'c> Drawn<'c> {
    pub fn of(panel: &'c Panel, frame: &'c Frame, index: usize) -> Self {
        let lines: Vec<Vec<(f64, f64)>> = panel
            .lines
            .iter()
            .map(|line| finite(&line.points))
            .collect();
        let figures = lines.iter().flatten().map(|point| point.1);
        let rules = panel.rules.iter().map(|rule| rule.at);
        let zero = panel.has_zero.then_some(0.0);
        let axis = Upright::of(figures.chain(rules).chain(zero));
        let (top, floor) = frame.ends(index);
        Self {
            panel,
            frame,
            axis,
            top,
            floor,
            lines,
        }
    }

    fn y(&self, value: f64) -> f64 {
        self.floor - (self.floor - self.top) * self.axis.range.share(value)
    }

    pub fn svg(&self, numbers: Words) -> String {
        let mut svg = String::new();
        let _ = write!(
            svg,
            r#"<text class="name" x="0" y="{:.1}">{} ({})</text>"#,
            self.top - 10.0,
            escaped(&self.panel.name),
            self.panel.unit
        );
        svg += &self.grid(numbers);
        for (index, points) in self.lines.iter().enumerate() {
            svg += &self.line(index, points);
        }
        svg += &self.rules(numbers);
        svg += &self.letters();
        svg
    }

    fn grid(&self, numbers: Words) -> String {
        let (left, right) = (self.frame.left(), self.frame.right());
        let mut svg = String::new();
        for tick in self.axis.ticks() {
            let y = self.y(tick.at);
            let _ = write!(
                svg,
                r#"<path class="grid" d="M{left} {y:.1}H{right}"/><text class="s" x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
                left - 5.0,
                y + 4.0,
                numbers.sentence(&tick.words)
            );
        }
        let _ = write!(
            svg,
            r#"<path class="axis" d="M{left} {:.1}V{:.1}H{right}"/>"#,
            self.top, self.floor
        );
        svg
    }

    fn line(&self, index: usize, points: &[(f64, f64)]) -> String {
        let drawn = thinned(points, STRETCHES);
        let places: Vec<(f64, f64)> = drawn
            .iter()
            .map(|(at, value)| (self.frame.x(*at), self.y(*value)))
            .collect();
        let mut path = String::new();
        for (x, y) in &places {
            let _ = write!(
                path,
                "{}{x:.1} {y:.1}",
                if path.is_empty() { "M" } else { "L" }
            );
        }
        if path.is_empty() {
            return path;
        }
        let mut svg = format!(
            r#"<g class="{}"><path class="line" d="{path}"/>"#,
            style_of(index)
        );
        if places.len() <= MOST_MARKS {
            svg.extend(places.iter().map(|(x, y)| mark(index, *x, *y)));
        }
        svg + "</g>"
    }

    /// Of a rule's words: above it, and below it where the scale ends there, so that it does not strike them.
    fn words_y(&self, at: f64) -> f64 {
        let y = self.y(at);
        if y - 3.0 < self.top + 8.0 {
            y + 10.0
        } else {
            y - 3.0
        }
    }

    /// Dashed, each with its words and figure above it, at the left.
    fn rules(&self, numbers: Words) -> String {
        let rules: Vec<&Rule> = self
            .panel
            .rules
            .iter()
            .filter(|rule| self.axis.range.has(rule.at))
            .collect();
        let wanted: Vec<f64> = rules.iter().map(|rule| self.words_y(rule.at)).collect();
        let words = apart(&wanted, LEADING, (self.top + 8.0, self.floor - 3.0));
        let (left, right) = (self.frame.left(), self.frame.right());
        let mut svg = String::new();
        for (rule, words_y) in rules.iter().zip(words) {
            let figure = super::axis::number(rule.at, self.panel.decimals);
            let _ = write!(
                svg,
                r#"<path class="rule" d="M{left} {:.1}H{right}"/><text class="s" x="{:.1}" y="{words_y:.1}">{} {}</text>"#,
                self.y(rule.at),
                left + 5.0,
                escaped(&rule.words),
                numbers.sentence(&figure)
            );
        }
        svg
    }

    /// Each beside the end of its line, joined to it by a thin stroke; one line alone needs none.
    fn letters(&self) -> String {
        if self.panel.lines.len() < 2 {
            return String::new();
        }
        let ends: Vec<(usize, f64, f64)> = self
            .lines
            .iter()
            .enumerate()
            .filter_map(|(index, points)| {
                let (at, value) = points.last()?;
                Some((index, self.frame.x(*at), self.y(*value)))
            })
            .collect();
        let wanted: Vec<f64> = ends.iter().map(|end| end.2).collect();
        let placed = apart(&wanted, LEADING, (self.top, self.floor));
        let beside = self.frame.right() + 12.0;
        let mut svg = String::new();
        for ((index, x, y), letter_y) in ends.into_iter().zip(placed) {
            let _ = write!(
                svg,
                r#"<path class="to-letter" d="M{x:.1} {y:.1}L{:.1} {letter_y:.1}"/><text class="letter" x="{beside:.1}" y="{:.1}">{}</text>"#,
                beside - 3.0,
                letter_y + 4.5,
                escaped(&self.panel.lines[index].letter)
            );
        }
        svg
    }
}

/// Below the last panel: ticks, their words, and the unit.
pub fn time(frame: &Frame, across: Across<'_>) -> String {
    let (ticks, unit) = match across {
        Across::Elapsed => {
            let (_, unit) = unit_of_elapsed(frame.time);
            (elapsed_ticks(frame.time), unit)
        }
        Across::Days(zone) => (day_ticks(frame.time, zone), ""),
    };
    let floor = frame.floor();
    let mut svg = String::new();
    for tick in ticks {
        let x = frame.x(tick.at);
        let half = tick.words.len() as f64 * LETTER / 2.0;
        // Words at the ends stay on the paper.
        let words_x = x.clamp(half, super::frame::WIDTH - half);
        let _ = write!(
            svg,
            r#"<path class="axis" d="M{x:.1} {floor:.1}v5"/><text class="s" x="{words_x:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
            floor + 18.0,
            tick.words
        );
    }
    if !unit.is_empty() {
        let _ = write!(
            svg,
            r#"<text class="s" x="{}" y="{:.1}" text-anchor="end">{unit}</text>"#,
            frame.right(),
            floor + 33.0
        );
    }
    svg
}

/// Above the first panel, each between its ends, and thin strokes down through all where they have room.
pub fn stretches(stretches: &[Stretch], frame: &Frame) -> String {
    let (y, floor) = (16.0, frame.floor());
    let mut svg = String::new();
    for stretch in stretches {
        if !stretch.from.is_finite() || !stretch.to.is_finite() {
            continue;
        }
        let (from, to) = (frame.x(stretch.from), frame.x(stretch.to));
        let wide = (to - from).max(0.0);
        let _ = write!(
            svg,
            r#"<path class="stretch" d="M{from:.1} {:.1}v6M{from:.1} {y:.1}h{wide:.1}"/>"#,
            y - 3.0
        );
        if wide >= stretch.words.len() as f64 * LETTER {
            let _ = write!(
                svg,
                r#"<path class="grid" d="M{from:.1} {y:.1}V{floor:.1}"/><text class="s" x="{:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
                from + wide / 2.0,
                y - 4.0,
                stretch.words
            );
        }
    }
    svg
}
