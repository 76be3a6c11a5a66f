//! A line chart: figures over time, drawn without colour. Each line has a stroke and marks of its own and its letter at its
//! end; thresholds are dashed rules with their words; below it stands a table of the same figures. Data in, HTML out: judges
//! nothing. No style attributes; ids begin with the chart's own, so several may share a page.

mod axis;
pub mod beside;
mod cells;
mod draw;
mod frame;
mod points;
mod table;
#[cfg(test)]
mod tests;

use crate::bench::typed::Words;
use crate::club::calendar::Zone;
pub use cells::lines_of_cells;
use draw::{Drawn, style_of};
use frame::Frame;
use std::fmt::Write;

/// What the figures are over.
#[derive(Clone, Copy)]
pub enum Across<'z> {
    /// Seconds since the first of them.
    Elapsed,
    /// Unix milliseconds, told in the hall's time.
    Days(&'z Zone),
}

pub struct Chart<'z> {
    /// Stands once on a page.
    pub id: &'z str,
    pub title: String,
    pub across: Across<'z>,
    /// One above the other, with the same time below all.
    pub panels: Vec<Panel>,
    /// What it was doing meanwhile, named above the first panel.
    pub stretches: Vec<Stretch>,
    /// How the club writes decimals.
    pub numbers: Words,
}

/// Lines of one unit.
#[derive(Clone, Default)]
pub struct Panel {
    pub name: String,
    pub unit: &'static str,
    /// Of a figure in the table and in words.
    pub decimals: usize,
    pub lines: Vec<Line>,
    pub rules: Vec<Rule>,
    pub has_zero: bool,
}

#[derive(Clone, Default)]
pub struct Line {
    /// Stands at its end.
    pub letter: String,
    pub name: String,
    /// Time and figure, in the order of time. What is no number is left out.
    pub points: Vec<(f64, f64)>,
}

/// A threshold.
#[derive(Clone)]
pub struct Rule {
    pub at: f64,
    /// `full`; its figure is put behind it.
    pub words: String,
}

#[derive(Clone)]
pub struct Stretch {
    pub from: f64,
    pub to: f64,
    pub words: &'static str,
}

impl Chart<'_> {
    /// The drawing, what its letters mean, and the table. Empty where there is not one figure.
    pub fn html(&self) -> String {
        let figures = table::Figures::of(self);
        if figures.is_empty() {
            return String::new();
        }
        let (svg, key) = (self.svg(), self.key());
        format!(
            r#"<figure class="chart">{svg}{key}</figure>{}"#,
            figures.html(self)
        )
    }

    pub fn svg(&self) -> String {
        let frame = Frame::of(self);
        let id = escaped(self.id);
        let mut svg = format!(
            r#"<svg viewBox="0 0 {} {:.0}" role="img" aria-labelledby="{id}-title {id}-tells"><title id="{id}-title">{}</title><desc id="{id}-tells">{}</desc>"#,
            frame::WIDTH,
            frame.height(),
            escaped(&self.title),
            escaped(&self.told())
        );
        svg += &draw::stretches(&self.stretches, &frame);
        for (index, panel) in self.panels.iter().enumerate() {
            svg += &Drawn::of(panel, &frame, index).svg(self.numbers);
        }
        svg += &draw::time(&frame, self.across);
        svg += "</svg>";
        svg
    }

    /// What the letters at the ends mean, where the name is another.
    fn key(&self) -> String {
        let mut key = String::new();
        for panel in &self.panels {
            for (index, line) in panel.lines.iter().enumerate() {
                if line.name != line.letter && panel.lines.len() > 1 {
                    let (style, sample) = (style_of(index), draw::sample(index));
                    let name = escaped(&line.name);
                    let letter = match line.name.ends_with(&line.letter) {
                        true => String::new(),
                        false => format!("<b>{}</b> ", escaped(&line.letter)),
                    };
                    let _ = write!(
                        key,
                        r#"<span><svg class="{style}" viewBox="0 0 32 12" width="32" height="12" aria-hidden="true">{sample}</svg>{letter}{name}</span> "#
                    );
                }
            }
        }
        if key.is_empty() {
            return key;
        }
        format!(r#"<figcaption class="key">{}</figcaption>"#, key.trim_end())
    }

    /// The chart in words, for who does not see it.
    fn told(&self) -> String {
        let each = self.panels.iter().map(|panel| self.panel_told(panel));
        each.collect::<Vec<_>>().join(" ")
    }

    fn panel_told(&self, panel: &Panel) -> String {
        let figure = |value: f64| self.figure(panel, value);
        let mut words = format!("{}:", panel.name);
        for line in &panel.lines {
            let points = points::finite(&line.points);
            let (Some(first), Some(last)) = (points.first(), points.last()) else {
                continue;
            };
            let (least, most) = points::least_and_most(points.iter().map(|point| point.1));
            let _ = write!(
                words,
                " {} from {} to {}, least {}, most {};",
                line.name,
                figure(first.1),
                figure(last.1),
                figure(least),
                figure(most)
            );
        }
        for rule in panel.rules.iter().filter(|rule| points::is_drawn(rule.at)) {
            let _ = write!(words, " {} {};", rule.words, figure(rule.at));
        }
        words.pop();
        words + "."
    }

    /// `3.91 V`, as this club writes it.
    fn figure(&self, panel: &Panel, value: f64) -> String {
        let number = axis::number(value, panel.decimals);
        self.numbers.sentence(&format!("{number} {}", panel.unit))
    }
}

fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe += "&amp;",
            '<' => safe += "&lt;",
            '>' => safe += "&gt;",
            '"' => safe += "&quot;",
            other => safe.push(other),
        }
    }
    safe
}
