//! The fields a person would have typed for a data sheet: what a form to change it starts with. `kit_sheet` reads them;
//! its tests prove that both ways meet. Units: mV, mA, mW.

use crate::bench::charger::{Charger, Input, Memory};
use crate::bench::kit::Spec;
use crate::bench::port;
use crate::bench::supply::Supply;
use crate::bench::typed::Words;

type Pairs = Vec<(String, String)>;

/// The fields that would be typed for this sheet.
pub fn typed(spec: &Spec, words: Words) -> Pairs {
    match spec {
        Spec::Charger(charger) => typed_charger(charger, words),
        Spec::Supply(supply) => typed_supply(supply, words),
        Spec::Cable(cable) => pairs([
            ("from", cable.from.clone()),
            ("to", cable.to.clone()),
            ("limit_mw", words.number(cable.limit_mw)),
        ]),
        Spec::Adapter(adapter) => pairs([
            ("from", adapter.from.clone()),
            ("to", adapter.to.clone()),
            ("rated_ma", words.number(adapter.rated_ma)),
        ]),
        Spec::Board(board) => {
            let mut all = pairs([("positions", board.positions.to_string())]);
            all.extend(each("connectors", &board.connectors));
            all
        }
    }
}

fn pairs<const N: usize>(known: [(&str, String); N]) -> Pairs {
    known.map(|(name, value)| (name.to_owned(), value)).to_vec()
}

fn each(name: &str, values: &[String]) -> Pairs {
    let pair = |value: &String| (name.to_owned(), value.clone());
    values.iter().map(pair).collect()
}

fn tick(is_set: bool) -> String {
    if is_set { "yes" } else { "" }.to_owned()
}

fn typed_charger(charger: &Charger, words: Words) -> Pairs {
    let modes: Vec<String> = charger
        .modes
        .iter()
        .map(|mode| mode.code().to_owned())
        .collect();
    let mut all = pairs([
        ("cells_from", charger.cells_from.to_string()),
        ("cells_to", charger.cells_to.to_string()),
        ("charge_mw", words.number(charger.charge_mw)),
        ("discharge_mw", words.number(charger.discharge_mw)),
        ("has_mah_cutoff", tick(charger.has_mah_cutoff)),
        ("has_time_cutoff", tick(charger.has_time_cutoff)),
        ("outputs", charger.outputs.to_string()),
        (
            "balance_connector",
            charger.balance_connector.clone().unwrap_or_default(),
        ),
        ("can_boost", tick(charger.can_boost)),
    ]);
    all.extend(each("chemistries", &charger.chemistries));
    all.extend(each("modes", &modes));
    all.extend(match charger.fixed_through_balance {
        Some(ma) => pairs([("fixed_through_balance", words.number(ma))]).into_iter(),
        None => pairs([
            ("current_min_ma", words.number(charger.current_min_ma)),
            ("current_max_ma", words.number(charger.current_max_ma)),
            ("current_step_ma", words.number(charger.current_step_ma)),
            ("output_connector", charger.output_connector.clone()),
        ])
        .into_iter(),
    });
    all.extend(match charger.current_memory {
        Memory::Remembers => pairs([("current_memory", "remembers".to_owned())]),
        Memory::NotKnown => pairs([("current_memory", "not_known".to_owned())]),
        Memory::Factory { ma } => pairs([
            ("current_memory", "factory".to_owned()),
            ("factory_ma", words.number(ma)),
        ]),
    });
    all.extend(typed_input(&charger.input, words));
    all
}

fn typed_input(input: &Input, words: Words) -> Pairs {
    match input {
        Input::Dc {
            mv_min,
            mv_max,
            connector,
        } => pairs([
            ("input", "dc".to_owned()),
            ("input_mv_min", words.number(*mv_min)),
            ("input_mv_max", words.number(*mv_max)),
            ("input_connector", connector.clone()),
        ]),
        Input::UsbPd { mw, levels_mv } => pairs([
            ("input", "usb_pd".to_owned()),
            ("input_mw", words.number(*mw)),
            (
                "input_levels",
                port::levels_shown(levels_mv.as_deref(), words),
            ),
        ]),
        Input::Mains => pairs([("input", "mains".to_owned())]),
    }
}

fn typed_supply(supply: &Supply, words: Words) -> Pairs {
    match supply {
        Supply::Dc { mv, mw, connector } => pairs([
            ("gives", "dc".to_owned()),
            ("mv", words.number(*mv)),
            ("mw", words.number(*mw)),
            ("connector", connector.clone()),
        ]),
        Supply::UsbPd { ports, shared_mw } => {
            let lines: Vec<String> = ports.iter().map(|each| port::shown(each, words)).collect();
            let shared = shared_mw.map_or_else(String::new, |mw| words.number(mw));
            pairs([
                ("gives", "usb_pd".to_owned()),
                ("ports", lines.join("\n")),
                ("shared_mw", shared),
            ])
        }
    }
}
