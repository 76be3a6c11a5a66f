//! Things side by side: one row for each, with its mark on a scale that all share and a bar from its least to its most;
//! thresholds are dashed rules. The table that tells the same is the page's own. Data in, SVG out: judges nothing.

use super::axis::{Upright, number};
use super::frame::WIDTH;
use super::{Rule, escaped};
use crate::bench::typed::Words;
use std::fmt::Write;

pub struct Beside<'c> {
    /// Stands once on a page.
    pub id: &'c str,
    pub title: String,
    pub unit: &'static str,
    pub decimals: usize,
    pub rows: Vec<Row>,
    pub rules: Vec<Rule>,
    pub numbers: Words,
}

pub struct Row {
    pub name: String,
    pub least: f64,
    pub middle: f64,
    pub most: f64,
}

const LEFT: f64 = 76.0;
const RIGHT: f64 = 345.0;
const ROW: f64 = 22.0;
/// Of the words of one rule.
const RULE: f64 = 17.0;
const BELOW: f64 = 40.0;

impl Beside<'_> {
    /// Empty where there is not one row.
    pub fn html(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        format!(r#"<figure class="chart">{}</figure>"#, self.svg())
    }

    fn svg(&self) -> String {
        let figures = self.rows.iter().flat_map(|row| [row.least, row.most]);
        let rules = self.rules.iter().map(|rule| rule.at);
        let axis = Upright::of(figures.chain(rules).chain([0.0]));
        let x = |value: f64| LEFT + (RIGHT - LEFT) * axis.range.share(value);
        let top = RULE * self.rules.len() as f64 + 8.0;
        let floor = top + ROW * self.rows.len() as f64;
        let id = escaped(self.id);
        let mut svg = format!(
            r#"<svg viewBox="0 0 {WIDTH} {:.0}" role="img" aria-labelledby="{id}-title {id}-tells"><title id="{id}-title">{}</title><desc id="{id}-tells">{}</desc>"#,
            floor + BELOW,
            escaped(&self.title),
            escaped(&self.told())
        );
        svg += &self.scale(&axis, &x, (top, floor));
        svg += &self.rules(&x, floor);
        for (index, row) in self.rows.iter().enumerate() {
            svg += &drawn(row, &x, top + ROW * (index as f64 + 0.5));
        }
        svg + "</svg>"
    }

    fn scale(&self, axis: &Upright, x: &dyn Fn(f64) -> f64, (top, floor): (f64, f64)) -> String {
        let mut svg = String::new();
        for tick in axis.ticks() {
            let at = x(tick.at);
            let _ = write!(
                svg,
                r#"<path class="grid" d="M{at:.1} {top:.1}V{floor:.1}"/><text class="s" x="{at:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
                floor + 16.0,
                self.numbers.sentence(&tick.words)
            );
        }
        let _ = write!(
            svg,
            r#"<path class="axis" d="M{LEFT} {top:.1}V{floor:.1}H{RIGHT}"/><text class="s" x="{RIGHT}" y="{:.1}" text-anchor="end">{}</text>"#,
            floor + 33.0,
            self.unit
        );
        svg
    }

    /// Each with its words in a line of its own, on the side that has room.
    fn rules(&self, x: &dyn Fn(f64) -> f64, floor: f64) -> String {
        let mut svg = String::new();
        for (index, rule) in self.rules.iter().enumerate() {
            let (at, y) = (x(rule.at), RULE * (index as f64 + 1.0) - 4.0);
            let is_right = at > f64::midpoint(LEFT, RIGHT);
            let (words_x, anchor) = match is_right {
                true => (at - 5.0, "end"),
                false => (at + 5.0, "start"),
            };
            let _ = write!(
                svg,
                r#"<path class="rule" d="M{at:.1} {:.1}V{floor:.1}"/><text class="s" x="{words_x:.1}" y="{y:.1}" text-anchor="{anchor}">{} {}</text>"#,
                y - 10.0,
                escaped(&rule.words),
                self.figure(rule.at)
            );
        }
        svg
    }

    fn figure(&self, value: f64) -> String {
        self.numbers.sentence(&number(value, self.decimals))
    }

    /// For who does not see it.
    fn told(&self) -> String {
        let unit = self.unit;
        let row = |row: &Row| match row.least < row.most {
            true => format!(
                "{} {} {unit}, {} to {}",
                row.name,
                self.figure(row.middle),
                self.figure(row.least),
                self.figure(row.most)
            ),
            false => format!("{} {} {unit}", row.name, self.figure(row.middle)),
        };
        let rule = |rule: &Rule| format!("{} {} {unit}", rule.words, self.figure(rule.at));
        let rows = self.rows.iter().map(row);
        let all: Vec<String> = rows.chain(self.rules.iter().map(rule)).collect();
        all.join("; ") + "."
    }
}

fn drawn(row: &Row, x: &dyn Fn(f64) -> f64, y: f64) -> String {
    let (least, middle, most) = (x(row.least), x(row.middle), x(row.most));
    let mut svg = format!(
        r#"<text class="name" x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
        LEFT - 8.0,
        y + 4.5,
        escaped(&row.name)
    );
    if row.least < row.most {
        let (up, down) = (y - 4.0, y + 4.0);
        let _ = write!(
            svg,
            r#"<path class="line" d="M{least:.1} {up:.1}V{down:.1}M{least:.1} {y:.1}H{most:.1}M{most:.1} {up:.1}V{down:.1}"/>"#
        );
    }
    let _ = write!(
        svg,
        r#"<path class="mark" d="M{:.1} {y:.1}a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z"/>"#,
        middle - 4.0
    );
    svg
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beside(rows: Vec<Row>, numbers: Words) -> Beside<'static> {
        Beside {
            id: "resistance",
            title: "Resistance side by side".to_owned(),
            unit: "mΩ",
            decimals: 1,
            rows,
            rules: vec![Rule {
                at: 9.1,
                words: "practice only above".to_owned(),
            }],
            numbers,
        }
    }

    fn row(name: &str, least: f64, middle: f64, most: f64) -> Row {
        Row {
            name: name.to_owned(),
            least,
            middle,
            most,
        }
    }

    #[test]
    fn each_row_is_told_in_words_with_its_range_and_so_are_the_rules() {
        let html = beside(
            vec![row("P-001", 4.9, 5.0, 5.2), row("P-002", 7.0, 7.0, 7.0)],
            Words::COMMA,
        )
        .html();
        assert!(
            html.contains("P-001 5,0 mΩ, 4,9 to 5,2; P-002 7,0 mΩ; practice only above 9,1 mΩ."),
            "{html}"
        );
        assert_eq!(
            html.matches(r#"class="line""#).count(),
            1,
            "one has no range"
        );
        assert_eq!(html.matches(r#"class="mark""#).count(), 2);
    }

    #[test]
    fn a_larger_figure_stands_farther_right_and_all_on_the_paper() {
        let html = beside(
            vec![row("A", 1.0, 1.0, 1.0), row("B", 90.0, 90.0, 90.0)],
            Words::POINT,
        )
        .html();
        let at: Vec<f64> = html
            .split(r#"class="mark" d="M"#)
            .skip(1)
            .map(|rest| {
                rest.split(' ')
                    .next()
                    .expect("x")
                    .parse()
                    .expect("a number")
            })
            .collect();
        assert!(
            LEFT - 4.0 <= at[0] && at[0] < at[1] && at[1] <= RIGHT,
            "{at:?}"
        );
    }

    #[test]
    fn what_people_typed_is_no_markup_and_nothing_is_drawn_of_nothing() {
        let html = beside(vec![row("<b>", 1.0, 1.0, 1.0)], Words::POINT).html();
        assert!(html.contains("&lt;b&gt;") && !html.contains("<b>"));
        assert_eq!(beside(Vec::new(), Words::POINT).html(), "");
    }
}
