//! A USB PD port as people type it and as pages show it: its watts (`65 W`, then it has the levels every source of that
//! rating has), or its levels as the label prints them (`5 V 3 A / 9 V 2.2 A`). And the levels that a charger takes, as volts
//! (`9 15 20`). mV, mA, mW.

use super::supply::{Level, Port, source_levels};
use super::typed::{AmountProblem, Unit, Words, amount_milli};

/// Reads one port.
pub fn typed(text: &str) -> Result<Port, AmountProblem> {
    if !text.to_lowercase().contains('v') {
        let rating_mw = amount_milli(text, Unit::Watts)?;
        if !(5_000..=240_000).contains(&rating_mw) {
            return Err(AmountProblem::NotANumber);
        }
        let levels = source_levels(rating_mw);
        return Ok(Port { levels });
    }
    let levels: Result<Vec<Level>, AmountProblem> = text
        .split(['/', ';'])
        .filter(|part| !part.trim().is_empty())
        .map(level)
        .collect();
    Ok(Port { levels: levels? })
}

/// `9 V 2.2 A`
fn level(text: &str) -> Result<Level, AmountProblem> {
    let end = text.find(['v', 'V']).ok_or(AmountProblem::NotANumber)?;
    let (volts, amps) = text.split_at(end);
    Ok(Level {
        mv: amount_milli(volts, Unit::Volts)?,
        ma: amount_milli(&amps[1..], Unit::Amps)?,
    })
}

/// As it can be typed again.
pub fn shown(port: &Port, words: Words) -> String {
    if port.levels == source_levels(port.mw()) {
        return words.watts(port.mw());
    }
    let level = |each: &Level| format!("{} {}", words.volts(each.mv), words.amps(each.ma));
    port.levels
        .iter()
        .map(level)
        .collect::<Vec<_>>()
        .join(" / ")
}

/// `9 15 20 V`, `5V/9V/12V`, `9, 15, 20`: the volts that a charger takes. None where nothing was typed: nobody knows.
pub fn levels_typed(text: &str) -> Result<Option<Vec<i64>>, AmountProblem> {
    let is_between = |letter: char| letter.is_whitespace() || matches!(letter, '/' | ';' | ',');
    let words = text
        .split(is_between)
        .map(|word| word.trim_end_matches(['v', 'V']));
    let levels_mv: Vec<i64> = words
        .filter(|word| !word.is_empty())
        .map(|word| amount_milli(word, Unit::Volts))
        .collect::<Result<_, _>>()?;
    Ok((!levels_mv.is_empty()).then_some(levels_mv))
}

/// As it can be typed again.
pub fn levels_shown(levels_mv: Option<&[i64]>, words: Words) -> String {
    let each = levels_mv.unwrap_or_default().iter();
    each.map(|mv| words.number(*mv))
        .collect::<Vec<_>>()
        .join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_of_65_watts_has_the_four_levels_every_such_source_has() {
        let port = typed("65 W").expect("a port");
        assert_eq!(port.levels, source_levels(65_000));
        assert_eq!(shown(&port, Words::COMMA), "65 W");
    }

    #[test]
    fn levels_off_the_label_are_read_as_printed_with_point_or_comma() {
        let port = typed("5 V 3 A / 9V2,2A; 12 V 1.5 A").expect("a port");
        let pairs: Vec<_> = port.levels.iter().map(|each| (each.mv, each.ma)).collect();
        assert_eq!(pairs, [(5_000, 3_000), (9_000, 2_200), (12_000, 1_500)]);
        assert_eq!(typed(&shown(&port, Words::COMMA)), Ok(port));
    }

    #[test]
    fn the_volts_that_a_charger_takes_are_read_as_labels_print_them() {
        let takes = Ok(Some(vec![9_000, 15_000, 20_000]));
        for text in [
            "9 15 20",
            "9V/15V/20V",
            "9, 15, 20 V",
            "9,15,20",
            "9 V; 15 V; 20 V",
        ] {
            assert_eq!(levels_typed(text), takes, "{text}");
        }
        assert_eq!(levels_typed(" "), Ok(None));
        assert_eq!(levels_shown(Some(&[9_000, 15_000]), Words::COMMA), "9 15");
        assert!(levels_typed("9 fast").is_err() && levels_typed("65 W").is_err());
    }

    #[test]
    fn what_is_neither_watts_nor_levels_is_refused() {
        for text in ["", "fast", "4 W", "300", "5 V", "V", "20 V 3 V", "5 A 3 V"] {
            assert!(typed(text).is_err(), "{text}");
        }
    }
}
