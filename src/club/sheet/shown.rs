//! What a cell of ours shows of a field as its form has it typed: read back, the cell gives the same field.

use super::columns::{Column, Reads};
use super::named;
use crate::bench::connector::{Family, called};
use crate::bench::form::Fields;

/// The cell under this column. An amount goes without its unit, which stands in the heading.
pub fn cell(column: &Column, fields: &Fields, families: &[Family]) -> String {
    let values: Vec<String> = fields
        .all(column.code)
        .into_iter()
        .filter(|value| !value.is_empty())
        .collect();
    let first = values.first().map_or("", String::as_str);
    match column.reads {
        Reads::Amount => first
            .trim_end_matches(|letter: char| letter.is_alphabetic())
            .trim_end()
            .to_owned(),
        Reads::Chemistry | Reads::Chemistries => {
            let label = |code: &String| {
                named::chemistry(code).map_or_else(|| code.clone(), |each| each.label().to_owned())
            };
            joined(values.iter().map(label))
        }
        Reads::Connector | Reads::Balance | Reads::Connectors => {
            joined(values.iter().map(|code| called(code, families).to_owned()))
        }
        Reads::Words => joined(values.iter().cloned()),
        Reads::OneOf(words) => {
            let said = words.iter().find(|(code, _)| *code == first);
            said.map_or_else(String::new, |(_, said)| (*said).to_owned())
        }
        Reads::Tick => first.to_owned(),
        Reads::Ports => first.replace('\n', " | "),
        Reads::Text | Reads::Day | Reads::Place => first.to_owned(),
    }
}

fn joined(values: impl Iterator<Item = String>) -> String {
    values.collect::<Vec<_>>().join(", ")
}
