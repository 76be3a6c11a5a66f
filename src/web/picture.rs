//! The cell picture: a pack drawn as its cells, a column each between the chemistry's empty and full, hatched up to
//! the resting voltage, the storage band dashed across all, an ink wedge at a cell that stands out.
//! A voltage under the column's floor or over its top is drawn outside the column: 2.1 V never looks like 3.3 V.
//! Millivolts in, SVG out; judges nothing. No style attributes, no ids: any number of pictures may share a page.

pub mod chart;
mod draw;
mod scale;
#[cfg(test)]
mod tests;

use crate::bench::typed::Words;
use draw::{Column, band, draw_column, gap, large_columns, wedge};
use scale::Scale;
use std::fmt::Write;

/// More columns than this are not drawn: they would be thinner than the ink.
const MOST_COLUMNS: usize = 24;
/// Above this the volts are printed on two lines in turn, so that they do not touch.
const ONE_LINE_OF_VOLTS: usize = 6;

/// What is known of a pack's volts. Limits are per cell.
pub struct CellPicture<'a> {
    /// One resting voltage per cell, in the order of the balance lead; empty when not read.
    pub cells_mv: &'a [i64],
    /// Volts of the whole pack, when only these could be read.
    pub pack_mv: Option<i64>,
    pub cells_series: i64,
    pub empty_mv: i64,
    pub full_mv: i64,
    /// Above this a cell is over full; what a meter is off by lies between full and here.
    pub over_mv: i64,
    /// Below this a cell has taken harm; the drawing outside turns solid there.
    pub minimum_mv: i64,
    pub storage_low_mv: i64,
    pub storage_high_mv: i64,
    /// Index of the cell that the wedge points at.
    pub standing_out: Option<usize>,
    /// What its chemistry calls the lowest of the drawing: `empty`.
    pub low_word: &'static str,
    /// How the club writes decimals.
    pub numbers: Words,
}

impl CellPicture<'_> {
    /// The drawing for a pack's own page, with volts, scale words and a spoken description.
    pub fn large(&self) -> String {
        let levels = self.levels();
        let scale = self.scale(110.0);
        let top = if levels.iter().flatten().any(|&mv| mv > self.over_mv) {
            34.0
        } else {
            8.0
        };
        let sunk = if levels.iter().flatten().any(|&mv| mv < self.empty_mv) {
            30.0
        } else {
            0.0
        };
        let columns = large_columns(levels.len());
        let lines = if levels.len() > ONE_LINE_OF_VOLTS {
            2.0
        } else {
            1.0
        };
        let height = top + 110.0 + sunk + 10.0 + 17.0 * lines + 17.0;
        let mut svg = format!(
            r#"<svg class="cells" viewBox="0 0 360 {height}" role="img" aria-label="{}">"#,
            self.spoken()
        );
        let _ = write!(svg, r#"<g transform="translate(12 {top})">"#);
        for (index, (column, level)) in columns.iter().zip(&levels).enumerate() {
            svg += &draw_column(*column, *level, &scale, 5.0);
            if self.standing_out == Some(index) && level.is_some() {
                svg += &wedge(*column, level.unwrap_or(0), &scale, gap(&columns), 5.5);
            }
            svg += &self.print_volts(index, *column, *level, 110.0 + sunk + 20.0, levels.len());
        }
        svg += &band(&columns, &scale);
        svg += &self.words_of_the_scale(&scale, &columns);
        svg += "</g></svg>";
        svg
    }

    /// The drawing for a table row, hidden from screen readers: the row prints the volts.
    pub fn small(&self) -> String {
        let levels = self.levels();
        let scale = self.scale(26.0);
        let wide = if self.is_pack_only() { 28.0 } else { 9.0 };
        let columns: Vec<Column> = (0..levels.len())
            .map(|index| Column {
                x: 3.0 + 15.0 * index as f64,
                width: wide,
            })
            .collect();
        let width = columns.last().map_or(0.0, |column| column.x + column.width) + 6.0;
        let mut svg = format!(
            r#"<svg class="mini" viewBox="0 0 {width} 44" width="{width}" height="44" aria-hidden="true"><g transform="translate(0 9)">"#
        );
        for (index, (column, level)) in columns.iter().zip(&levels).enumerate() {
            svg += &draw_column(*column, *level, &scale, f64::INFINITY);
            if self.standing_out == Some(index) && level.is_some() {
                svg += &wedge(*column, level.unwrap_or(0), &scale, 6.0, 4.0);
            }
        }
        svg += &band(&columns, &scale);
        svg += "</g></svg>";
        svg
    }

    /// One level per column; None where nothing was read. A pack-only reading gives one column at its mean cell.
    fn levels(&self) -> Vec<Option<i64>> {
        if let Some(mean_mv) = self.mean_of_pack_mv() {
            return vec![Some(mean_mv)];
        }
        let series = usize::try_from(self.cells_series)
            .unwrap_or(0)
            .max(self.cells_mv.len())
            .clamp(1, MOST_COLUMNS);
        (0..series)
            .map(|index| self.cells_mv.get(index).copied())
            .collect()
    }

    fn is_pack_only(&self) -> bool {
        self.cells_mv.is_empty() && self.pack_mv.is_some()
    }

    fn mean_of_pack_mv(&self) -> Option<i64> {
        self.pack_mv
            .filter(|_| self.cells_mv.is_empty())
            .map(|mv| mv / self.cells_series.max(1))
    }

    fn scale(&self, height: f64) -> Scale {
        Scale {
            empty_mv: self.empty_mv,
            full_mv: self.full_mv,
            over_mv: self.over_mv,
            minimum_mv: self.minimum_mv,
            storage_low_mv: self.storage_low_mv,
            storage_high_mv: self.storage_high_mv,
            height,
        }
    }

    /// Volts of a cell; of the whole pack where that is what is shown.
    fn of_what_is_shown(&self, cell_mv: i64) -> String {
        let cells = if self.pack_mv.is_some() {
            self.cells_series.max(1)
        } else {
            1
        };
        self.volts(cell_mv.saturating_mul(cells))
    }

    fn print_volts(
        &self,
        index: usize,
        column: Column,
        level: Option<i64>,
        y: f64,
        count: usize,
    ) -> String {
        let Some(mv) = level else {
            return String::new();
        };
        let printed = self.pack_mv.filter(|_| self.is_pack_only()).unwrap_or(mv);
        let is_outside = mv < self.empty_mv || mv > self.over_mv;
        let class = if is_outside || self.standing_out == Some(index) {
            r#" class="out""#
        } else {
            ""
        };
        let is_lower = count > ONE_LINE_OF_VOLTS && index % 2 == 1;
        let y = if is_lower { y + 17.0 } else { y };
        let x = column.x + column.width / 2.0;
        let size = if count > ONE_LINE_OF_VOLTS { 13 } else { 15 };
        let mut text = format!(
            r#"<text{class} x="{x:.1}" y="{y}" font-size="{size}" text-anchor="middle">{}</text>"#,
            self.volts(printed)
        );
        if count <= ONE_LINE_OF_VOLTS
            && let Some(word) = self.word_for(mv)
        {
            let _ = write!(
                text,
                r#"<text class="s" x="{x:.1}" y="{}" font-size="12" text-anchor="middle">{word}</text>"#,
                y + 15.0
            );
        }
        text
    }

    fn word_for(&self, mv: i64) -> Option<&'static str> {
        if self.is_pack_only() {
            return Some("whole pack");
        }
        if mv > self.over_mv {
            Some("over")
        } else if mv < self.empty_mv {
            Some("under")
        } else {
            None
        }
    }

    fn words_of_the_scale(&self, scale: &Scale, columns: &[Column]) -> String {
        let x = columns
            .last()
            .map_or(0.0, |last| last.x + last.width)
            .max(120.0)
            + 20.0;
        let band_y = f64::midpoint(scale.y(self.storage_low_mv), scale.y(self.storage_high_mv));
        let band_y = band_y.clamp(22.0, scale.height - 24.0);
        let mut words = String::new();
        let lines = [
            (5.0, format!("full {}", self.of_what_is_shown(self.full_mv))),
            (band_y - 2.0, "storage band".to_owned()),
            (
                band_y + 12.0,
                format!(
                    "{} to {}",
                    self.of_what_is_shown(self.storage_low_mv),
                    self.of_what_is_shown(self.storage_high_mv)
                ),
            ),
            (
                scale.height,
                format!("{} {}", self.low_word, self.of_what_is_shown(self.empty_mv)),
            ),
        ];
        for (y, line) in lines {
            let _ = write!(
                words,
                r#"<text class="s" x="{x:.1}" y="{y:.1}" font-size="12.5">{line}</text>"#
            );
        }
        if self.levels().iter().all(Option::is_none) {
            words += r#"<text class="s" x="0" y="130" font-size="15">volts not read</text>"#;
        }
        words
    }

    /// The picture in words, for who does not see it.
    fn spoken(&self) -> String {
        let mut words = String::new();
        if let (Some(pack_mv), Some(mean_mv)) = (self.pack_mv, self.mean_of_pack_mv()) {
            let _ = write!(
                words,
                "Whole pack {} volts, {} for each cell if they are even",
                self.volts(pack_mv),
                self.volts(mean_mv)
            );
        } else if self.cells_mv.is_empty() {
            words += "Volts not read";
        } else {
            let cells = self
                .cells_mv
                .iter()
                .enumerate()
                .map(|(index, mv)| self.spoken_cell(index, *mv));
            words += &cells.collect::<Vec<_>>().join(", ");
        }
        let [low, high] = [self.storage_low_mv, self.storage_high_mv].map(|mv| self.volts(mv));
        let [empty, full] = [self.empty_mv, self.full_mv].map(|mv| self.volts(mv));
        let _ = write!(
            words,
            ". Storage band {low} to {high}, {} {empty}, full {full} volts a cell.",
            self.low_word
        );
        words
    }

    fn spoken_cell(&self, index: usize, mv: i64) -> String {
        let place = if mv > self.over_mv {
            " (over full)".to_owned()
        } else if mv < self.minimum_mv {
            " (under the minimum)".to_owned()
        } else if mv < self.empty_mv {
            format!(" (under {})", self.low_word)
        } else {
            String::new()
        };
        let stands_out = if self.standing_out == Some(index) {
            " (stands out)"
        } else {
            ""
        };
        let name = if index == 0 { "Cell" } else { "cell" };
        format!(
            "{name} {} {} volts{place}{stands_out}",
            index + 1,
            self.volts(mv)
        )
    }

    fn volts(&self, mv: i64) -> String {
        self.numbers.sentence(&volts(mv))
    }
}

/// "3.91": two places, as a cell meter shows.
fn volts(mv: i64) -> String {
    let hundredths = (mv.max(0) + 5) / 10;
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}
