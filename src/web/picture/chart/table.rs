//! The table below a chart: the same figures, one row for each time, oldest first. A long one is folded away.

use super::axis::{elapsed, number};
use super::points::finite;
use super::{Across, Chart, escaped};
use crate::club::calendar::{Instant, Zone};
use std::collections::BTreeMap;
use std::fmt::Write;

/// More rows than this are folded away.
const IN_SIGHT: usize = 12;
/// More columns than this stand one below the other on a phone.
const BESIDE: usize = 4;

/// Time, and which of several at the same time.
type Row = (i64, usize);

/// Figures in words, by row and column.
pub struct Figures {
    columns: usize,
    rows: BTreeMap<Row, (f64, Vec<String>)>,
}

impl Figures {
    pub fn of(chart: &Chart<'_>) -> Self {
        let columns = chart.panels.iter().map(|panel| panel.lines.len()).sum();
        let mut rows: BTreeMap<Row, (f64, Vec<String>)> = BTreeMap::new();
        let mut column = 0;
        for panel in &chart.panels {
            for line in &panel.lines {
                let mut last = (i64::MIN, 0);
                for (at, value) in finite(&line.points) {
                    let key = in_order(at);
                    last = (key, if last.0 == key { last.1 + 1 } else { 0 });
                    let words = chart.numbers.sentence(&number(value, panel.decimals));
                    let row = rows.entry(last);
                    let row = row.or_insert_with(|| (at, vec![String::new(); columns]));
                    row.1[column] = words;
                }
                column += 1;
            }
        }
        Self { columns, rows }
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    pub fn html(&self, chart: &Chart<'_>) -> String {
        let table = self.table(chart);
        if self.rows.len() <= IN_SIGHT {
            return table;
        }
        format!(
            r#"<details class="figures"><summary>The same in figures: {} rows</summary>{table}</details>"#,
            self.rows.len()
        )
    }

    fn table(&self, chart: &Chart<'_>) -> String {
        let heads = self.heads(chart);
        let class = if self.columns >= BESIDE {
            "rows plain figures"
        } else {
            "figures"
        };
        let mut html = format!(
            r#"<table class="{class}" role="table"><caption>{}</caption><thead role="rowgroup"><tr role="row">"#,
            escaped(&chart.title)
        );
        for head in &heads {
            let _ = write!(html, r#"<th scope="col" role="columnheader">{head}</th>"#);
        }
        html += r#"</tr></thead><tbody role="rowgroup">"#;
        for (at, figures) in self.rows.values() {
            let _ = write!(
                html,
                r#"<tr role="row"><th scope="row" role="rowheader">{}</th>"#,
                when(*at, chart.across)
            );
            for (figure, head) in figures.iter().zip(heads.iter().skip(1)) {
                let _ = write!(html, r#"<td role="cell" data-label="{head}">{figure}</td>"#);
            }
            html += "</tr>";
        }
        html + "</tbody></table>"
    }

    /// `Cell 1 (V)`, of the time first.
    fn heads(&self, chart: &Chart<'_>) -> Vec<String> {
        let time = match chart.across {
            Across::Elapsed => "Time (h:mm:ss)",
            Across::Days(_) => "When",
        };
        let mut heads = vec![time.to_owned()];
        for panel in &chart.panels {
            let head = |name: &str| format!("{} ({})", escaped(name), panel.unit);
            heads.extend(panel.lines.iter().map(|line| head(&line.name)));
        }
        heads
    }
}

/// Sorts as the time does; a tenth of a millisecond is the finest that any time has.
fn in_order(at: f64) -> i64 {
    (at * 1e4).round() as i64
}

fn when(at: f64, across: Across<'_>) -> String {
    match across {
        Across::Elapsed => elapsed(at),
        Across::Days(zone) => {
            let (at, utc) = (Instant(at as i64), Zone::utc());
            format!(
                r#"<time datetime="{}T{}Z">{}, {}</time>"#,
                utc.day_of(at),
                utc.time_words(at),
                zone.date_words(at),
                zone.time_words(at)
            )
        }
    }
}
