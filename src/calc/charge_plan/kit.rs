//! The kit at hand as it is given: each with its number and its data sheet, as the API spells it. Units: mV, mA, mW.

use super::ChargePlan;
use super::plugs::Plugs;
use crate::bench::chain::{Adapter, Cable};
use crate::bench::charger::{Charger, Input};
use crate::bench::kit::{KitKind, Spec};
use crate::bench::plan::{
    AdaptersAtHand, AtHand, CableAtHand, ChargerAtHand, LeftAt, Numbered, Running, SupplyAtHand,
    Wired,
};
use crate::bench::supply::Supply;
use crate::calc::given::{maybe_within, within};
use crate::calc::{Wrong, fitted, shapes};
use crate::club::typed_numbers::key_of;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedCharger {
    /// Like C-02.
    #[schema(max_length = 40)]
    pub number: String,
    /// The data sheet of a charger, with its `kind`, as the club's kit shows it.
    #[schema(schema_with = shapes::charger_sheet)]
    pub spec: Value,
    /// What its current was last set to, where it remembers; null: unknown.
    #[schema(minimum = 0, maximum = 100000)]
    #[serde(default)]
    pub left_at_ma: Option<i64>,
    /// Outputs that charge other packs now.
    #[schema(inline, max_items = 16)]
    #[serde(default)]
    pub running: Option<Vec<PlannedRunning>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedRunning {
    /// From 1.
    #[schema(minimum = 1, maximum = 16)]
    pub output: i64,
    /// The number of the given supply that it runs from; null: another one, unknown, or the mains.
    #[schema(max_length = 40)]
    #[serde(default)]
    pub supply: Option<String>,
    /// Of that supply, from 1; null: the first.
    #[schema(minimum = 1, maximum = 12)]
    #[serde(default)]
    pub port: Option<i64>,
    /// What it draws.
    #[schema(minimum = 0, maximum = 10000000)]
    pub input_mw: i64,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedSupply {
    #[schema(max_length = 40)]
    pub number: String,
    /// The data sheet of a supply.
    #[schema(schema_with = shapes::supply_sheet)]
    pub spec: Value,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedCable {
    #[schema(max_length = 40)]
    pub number: String,
    /// The data sheet of a cable.
    #[schema(schema_with = shapes::cable_sheet)]
    pub spec: Value,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedAdapter {
    #[schema(max_length = 40)]
    pub number: String,
    /// The data sheet of an adapter.
    #[schema(schema_with = shapes::adapter_sheet)]
    pub spec: Value,
    /// How many of them lie here.
    #[schema(minimum = 0, maximum = 1000000)]
    pub free: i64,
}

/// A connector that only this club knows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedConnector {
    #[schema(max_length = 40)]
    pub code: String,
    #[schema(max_length = 60)]
    pub name: String,
    /// What it carries on and on; null: no figure is on record, and it is reckoned with little.
    #[schema(minimum = 100, maximum = 500000)]
    #[serde(default)]
    pub rating_ma: Option<i64>,
}

impl PlannedCharger {
    pub fn example() -> Self {
        Self {
            number: "C-02".to_owned(),
            spec: json!({
                "kind": "charger", "chemistries": ["lipo", "lihv"], "cells_from": 1, "cells_to": 6,
                "current_min_ma": 100, "current_max_ma": 10_000, "current_step_ma": 100, "charge_mw": 120_000,
                "discharge_mw": 5_000, "modes": ["balance", "charge", "storage", "discharge"],
                "has_mah_cutoff": true, "has_time_cutoff": true, "outputs": 1, "output_connector": "xt60",
                "balance_connector": "jst-xh", "current_memory": {"wakes": "remembers"},
                "input": {"takes": "usb_pd", "mw": 65_000, "levels_mv": [9_000, 15_000, 20_000]}, "fixed_through_balance": null, "can_boost": true,
            }),
            left_at_ma: Some(2_200),
            running: None,
        }
    }
}

impl PlannedSupply {
    pub fn example() -> Self {
        let level = |mv: i64, ma: i64| json!({"mv": mv, "ma": ma});
        let levels = [
            level(5_000, 3_000),
            level(9_000, 3_000),
            level(15_000, 3_000),
        ];
        Self {
            number: "S-05".to_owned(),
            spec: json!({"kind": "supply", "gives": "usb_pd", "ports": [{"levels": levels}], "shared_mw": null}),
        }
    }
}

impl PlannedAdapter {
    pub fn example() -> Self {
        Self {
            number: "A-03".to_owned(),
            spec: json!({"kind": "adapter", "from": "xt60", "to": "xt30", "rated_ma": 12_000}),
            free: 4,
        }
    }
}

/// The most of each that are planned with at once.
const CHARGERS: usize = 100;
const SUPPLIES: usize = 100;
const CABLES: usize = 200;
const ADAPTERS: usize = 400;
const CONNECTORS: usize = 100;
const OUTPUTS: usize = 16;

/// The connectors there are, for pack and kit alike.
pub(super) fn plugs(given: &ChargePlan) -> Result<Plugs, Wrong> {
    let own = given.connectors.as_deref();
    Plugs::of(listed("connectors", own, CONNECTORS)?)
}

pub(super) fn at_hand(given: &ChargePlan, plugs: Plugs) -> Result<AtHand, Wrong> {
    let chargers = listed("chargers", given.chargers.as_deref(), CHARGERS)?;
    let supplies = listed("supplies", given.supplies.as_deref(), SUPPLIES)?;
    let cables = listed("cables", given.cables.as_deref(), CABLES)?;
    let adapters = listed("adapters", given.adapters.as_deref(), ADAPTERS)?;
    let supply = |(at, each): (&str, &PlannedSupply), id| {
        let plug = |sheet: &mut Supply, at: &str| match sheet {
            Supply::Dc { connector, .. } => plugs.spell(&format!("{at}.connector"), connector),
            Supply::UsbPd { .. } => Ok(()),
        };
        let sheet = sheet(at, (&each.spec, KitKind::Supply), (Spec::Supply, plug))?;
        Ok(SupplyAtHand { id, sheet })
    };
    let supplies = each("supplies", supplies, |each| &each.number, supply)?;
    let charger =
        |(at, each): (&str, &PlannedCharger), id| charger((at, each), id, (&plugs, &supplies));
    let cable = |(at, each): (&str, &PlannedCable), id| {
        let ends = |sheet: &mut Cable, at: &str| ends(&plugs, at, (&mut sheet.from, &mut sheet.to));
        let sheet = sheet(at, (&each.spec, KitKind::Cable), (Spec::Cable, ends))?;
        Ok(CableAtHand { id, sheet })
    };
    let adapter = |(at, each): (&str, &PlannedAdapter), id| {
        let ends =
            |sheet: &mut Adapter, at: &str| ends(&plugs, at, (&mut sheet.from, &mut sheet.to));
        let sheet = sheet(at, (&each.spec, KitKind::Adapter), (Spec::Adapter, ends))?;
        let free = within(&format!("{at}.free"), each.free, (0, 1_000_000))?;
        Ok(AdaptersAtHand { id, sheet, free })
    };
    Ok(AtHand {
        chargers: each("chargers", chargers, |each| &each.number, charger)?,
        cables: each("cables", cables, |each| &each.number, cable)?,
        adapters: each("adapters", adapters, |each| &each.number, adapter)?,
        supplies,
        families: plugs.families(),
        elsewhere: Vec::new(),
    })
}

fn ends(plugs: &Plugs, at: &str, (from, to): (&mut String, &mut String)) -> Result<(), Wrong> {
    plugs.spell(&format!("{at}.from"), from)?;
    plugs.spell(&format!("{at}.to"), to)
}

fn listed<'g, T>(field: &str, given: Option<&'g [T]>, most: usize) -> Result<&'g [T], Wrong> {
    let given = given.unwrap_or_default();
    if given.len() <= most {
        Ok(given)
    } else {
        Err(Wrong::with(field, format!("give at most {most}")))
    }
}

/// Each thing under its number, which no other of its kind has.
fn each<G, T>(
    name: &str,
    given: &[G],
    number: impl Fn(&G) -> &String,
    read: impl Fn((&str, &G), Numbered) -> Result<T, Wrong>,
) -> Result<Vec<T>, Wrong> {
    let mut all = Vec::new();
    for (index, thing) in given.iter().enumerate() {
        let (at, called) = (format!("{name}[{index}]"), number(thing));
        let wrong = |words: &str| Err(Wrong::with(&format!("{at}.number"), words));
        if !(1..=40).contains(&called.trim().chars().count()) {
            return wrong("give a number of at most 40 letters, like C-02");
        }
        if given[..index].iter().any(|other| number(other) == called) {
            return wrong("two of them have this number");
        }
        let id = Numbered {
            key: key_of(called).unwrap_or(index as i64),
            number: called.clone(),
        };
        all.push(read((&at, thing), id)?);
    }
    Ok(all)
}

/// A data sheet of this kind, with plausible figures and connectors that are known.
fn sheet<T: DeserializeOwned + Serialize + Clone>(
    at: &str,
    (spec, kind): (&Value, KitKind),
    (whole, plugs): (
        impl Fn(T) -> Spec,
        impl Fn(&mut T, &str) -> Result<(), Wrong>,
    ),
) -> Result<T, Wrong> {
    let at = format!("{at}.spec");
    let mut fields = spec.clone();
    let named = fields
        .as_object_mut()
        .and_then(|fields| fields.remove("kind"));
    if named.as_ref().and_then(Value::as_str) != Some(kind.code()) {
        let words = format!("give {}", kind.code());
        return Err(Wrong::with(&format!("{at}.kind"), words));
    }
    let mut sheet: T = fitted(&at, fields)?;
    plugs(&mut sheet, &at)?;
    match whole(sheet.clone()).checked() {
        Ok(_) => Ok(sheet),
        Err(found) => {
            let first = found.into_iter().next();
            let (field, words) = first.map_or(("", String::new()), |each| (each.field, each.words));
            Err(Wrong::with(&format!("{at}.{field}"), words))
        }
    }
}

fn charger(
    (at, given): (&str, &PlannedCharger),
    id: Numbered,
    (plugs, supplies): (&Plugs, &[SupplyAtHand]),
) -> Result<ChargerAtHand, Wrong> {
    let plugs = |sheet: &mut Charger, at: &str| {
        let field = |name: &str| format!("{at}.{name}");
        plugs.spell(&field("output_connector"), &mut sheet.output_connector)?;
        if let Some(balance) = &mut sheet.balance_connector {
            plugs.spell(&field("balance_connector"), balance)?;
        }
        match &mut sheet.input {
            Input::Dc { connector, .. } => plugs.spell(&field("input.connector"), connector),
            Input::UsbPd { .. } | Input::Mains => Ok(()),
        }
    };
    let spec = sheet(at, (&given.spec, KitKind::Charger), (Spec::Charger, plugs))?;
    let field = format!("{at}.running");
    let runs = listed(&field, given.running.as_deref(), OUTPUTS)?;
    let mut running: Vec<Running> = Vec::new();
    for (index, each) in runs.iter().enumerate() {
        let at = format!("{field}[{index}]");
        let run = run(&at, each, (&spec, supplies))?;
        if running.iter().any(|other| other.output == run.output) {
            let words = "this output is named twice";
            return Err(Wrong::with(&format!("{at}.output"), words));
        }
        running.push(run);
    }
    let left_at = maybe_within(&format!("{at}.left_at_ma"), given.left_at_ma, (0, 100_000))?;
    let left = left_at.into_iter().flat_map(|ma| {
        let every = move |output| LeftAt {
            output,
            ma,
            of: None,
        };
        (0..spec.outputs).map(every)
    });
    Ok(ChargerAtHand {
        id,
        left: left.collect(),
        running,
        sheet: spec,
    })
}

fn run(
    at: &str,
    given: &PlannedRunning,
    (charger, supplies): (&Charger, &[SupplyAtHand]),
) -> Result<Running, Wrong> {
    let field = |name: &str| format!("{at}.{name}");
    Ok(Running {
        wired: Wired::Unknown,
        output: within(&field("output"), given.output, (1, charger.outputs))? - 1,
        supply: fed_by(&field, given, supplies)?,
        input_mw: within(&field("input_mw"), given.input_mw, (0, 10_000_000))?,
    })
}

/// The supply that it runs from, and which of its ports: what is drawn there is left to nobody else.
fn fed_by(
    field: &dyn Fn(&str) -> String,
    given: &PlannedRunning,
    supplies: &[SupplyAtHand],
) -> Result<Option<(String, usize)>, Wrong> {
    let Some(number) = &given.supply else {
        return match given.port {
            Some(_) => Err(Wrong::with(&field("port"), "say of which supply")),
            None => Ok(None),
        };
    };
    let supply = supplies.iter().find(|each| each.id.number == *number);
    let supply = supply.ok_or_else(|| {
        let words = "none of the given supplies has this number";
        Wrong::with(&field("supply"), words)
    })?;
    let ports = match &supply.sheet {
        Supply::Dc { .. } => 1,
        Supply::UsbPd { ports, .. } => i64::try_from(ports.len()).unwrap_or(i64::MAX),
    };
    let port = maybe_within(&field("port"), given.port, (1, ports))?.unwrap_or(1);
    Ok(Some((
        number.clone(),
        usize::try_from(port - 1).unwrap_or(0),
    )))
}
