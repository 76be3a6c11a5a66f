//! The columns a sheet may have: for each a field of ours, how it is headed in a sheet of ours, by which other words it is
//! found, and how its cells are read. State, verdict, life, volts and holder have none: a sheet can't say them.

use super::Holds;
use super::named::plain;
use crate::bench::kit::KitKind;

/// How the cells of a column are read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reads {
    Text,
    /// A number with its unit.
    Amount,
    Day,
    Place,
    Chemistry,
    Connector,
    /// A connector, or `none`.
    Balance,
    /// Several in one cell.
    Chemistries,
    Connectors,
    Words,
    /// Yes or no.
    Tick,
    /// One of these words.
    OneOf(&'static [(&'static str, &'static str)]),
    /// USB PD ports, one behind the other.
    Ports,
}

#[derive(Clone, Copy, Debug)]
pub struct Column {
    pub code: &'static str,
    pub label: &'static str,
    also: &'static [&'static str],
    pub reads: Reads,
    pub is_needed: bool,
    /// Kinds of kit that have it; empty: all.
    kinds: &'static [KitKind],
}

const fn column(code: &'static str, label: &'static str, reads: Reads) -> Column {
    Column {
        code,
        label,
        also: &[],
        reads,
        is_needed: false,
        kinds: &[],
    }
}

impl Column {
    const fn also(self, also: &'static [&'static str]) -> Self {
        Self { also, ..self }
    }

    const fn needed(self) -> Self {
        Self {
            is_needed: true,
            ..self
        }
    }

    const fn of(self, kinds: &'static [KitKind]) -> Self {
        Self { kinds, ..self }
    }

    fn is_of(&self, kind: Option<KitKind>) -> bool {
        self.kinds.is_empty() || kind.is_none_or(|kind| self.kinds.contains(&kind))
    }

    /// `chargers, power supplies`; empty where it is for all.
    pub fn kinds_words(&self) -> String {
        let names: Vec<&str> = self.kinds.iter().map(|kind| kind.plural()).collect();
        names.join(", ")
    }

    fn is_headed(&self, heading: &str) -> bool {
        let heading = plain(without_unit(heading));
        let labels = [self.label, self.code]
            .into_iter()
            .chain(self.also.iter().copied());
        labels
            .into_iter()
            .any(|label| plain(without_unit(label)) == heading)
    }
}

const NUMBER: Column = column("number", "Number", Reads::Text).also(&[
    "no",
    "nr",
    "pack",
    "pack number",
    "id",
    "label",
]);
const PLACE: Column = column("place", "Place", Reads::Place).also(&["where", "location", "stored"]);
const MAKER: Column =
    column("maker", "Maker", Reads::Text).also(&["brand", "manufacturer", "make"]);
const NOTES: Column =
    column("notes", "Notes", Reads::Text).also(&["note", "remarks", "comment", "comments"]);

/// What a design is, in a sheet of designs and in one of packs.
const DESCRIBED: [Column; 12] = [
    column("chemistry", "Chemistry", Reads::Chemistry)
        .also(&["type", "chem"])
        .needed(),
    column("cells", "Cells", Reads::Text)
        .also(&["s", "series", "cells in series", "cell count"])
        .needed(),
    column("parallel", "Cells in parallel", Reads::Text).also(&[
        "p",
        "parallel",
        "parallel groups",
    ]),
    column("capacity", "Capacity (mAh)", Reads::Amount)
        .also(&["mah", "ah"])
        .needed(),
    column("discharge_c", "Label discharge rate (C)", Reads::Amount).also(&[
        "discharge rate",
        "discharge c",
        "c rate",
        "c rating",
        "c",
    ]),
    column("charge_c", "Label charge rate (C)", Reads::Amount).also(&["charge rate", "charge c"]),
    column("connector", "Discharge connector", Reads::Connector)
        .also(&["connector", "plug"])
        .needed(),
    column("balance", "Balance connector", Reads::Balance)
        .also(&["balance", "balancer", "balance plug"])
        .needed(),
    column("mass", "Mass (g)", Reads::Amount).also(&["weight"]),
    column("size", "Size (mm)", Reads::Text).also(&["dimensions"]),
    column("full_v", "Label full volts per cell (V)", Reads::Amount).also(&["full volts"]),
    column("lowest_v", "Label lowest volts per cell (V)", Reads::Amount).also(&["lowest volts"]),
];

/// What tells of a design.
pub fn described() -> impl Iterator<Item = &'static Column> {
    DESCRIBED.iter()
}

fn of_packs() -> Vec<Column> {
    let mut all = vec![
        NUMBER,
        column("design", "Design", Reads::Text).also(&["model", "design name", "name"]),
    ];
    // A pack's row may name its design instead.
    all.extend(DESCRIBED.map(|column| Column {
        is_needed: false,
        ..column
    }));
    all.extend([
        MAKER,
        column("batch", "Batch", Reads::Text).also(&["lot"]),
        column("supplier", "Supplier", Reads::Text).also(&["shop", "vendor", "bought from"]),
        column("price", "Price", Reads::Text).also(&["cost", "paid"]),
        column("acquired", "Acquired on", Reads::Day).also(&[
            "acquired",
            "bought",
            "bought on",
            "purchased",
            "purchase date",
            "date",
        ]),
        column("first_used", "First used on", Reads::Day).also(&[
            "first used",
            "first use",
            "in use since",
        ]),
        PLACE,
        NOTES,
    ]);
    all
}

fn of_designs() -> Vec<Column> {
    let name = column("name", "Name", Reads::Text).also(&["design", "model", "design name"]);
    let mut all = vec![name.needed()];
    all.extend(DESCRIBED);
    all
}

const CHARGER: &[KitKind] = &[KitKind::Charger];
const SUPPLY: &[KitKind] = &[KitKind::Supply];
const TWO_ENDS: &[KitKind] = &[KitKind::Cable, KitKind::Adapter];

const MEMORIES: &[(&str, &str)] = &[
    ("remembers", "remembers"),
    ("factory", "factory"),
    ("not_known", "not known"),
];
const INPUTS: &[(&str, &str)] = &[("dc", "DC"), ("usb_pd", "USB PD"), ("mains", "mains")];
const GIVES: &[(&str, &str)] = &[("dc", "DC"), ("usb_pd", "USB PD")];

const KIT: [Column; 39] = [
    NUMBER,
    column("kind", "Kind", Reads::Text).also(&["type"]),
    column("name", "Name", Reads::Text).also(&["model"]),
    MAKER,
    PLACE,
    NOTES,
    column("owned_count", "Owned", Reads::Text).also(&["count", "quantity", "how many"]),
    column("from", "From", Reads::Connector).of(TWO_ENDS),
    column("to", "To", Reads::Connector).of(TWO_ENDS),
    column("limit_mw", "Carries (W)", Reads::Amount)
        .also(&["watt limit"])
        .of(&[KitKind::Cable]),
    column("rated_ma", "Rated (A)", Reads::Amount)
        .also(&["amps"])
        .of(&[KitKind::Adapter]),
    column("connectors", "Connectors", Reads::Connectors).of(&[KitKind::Board]),
    column("positions", "Positions", Reads::Text).of(&[KitKind::Board]),
    column("gives", "Gives", Reads::OneOf(GIVES)).of(SUPPLY),
    column("mv", "Volts out (V)", Reads::Amount)
        .also(&["volts"])
        .of(SUPPLY),
    column("mw", "Watts out (W)", Reads::Amount)
        .also(&["watts"])
        .of(SUPPLY),
    column("connector", "Connector", Reads::Connector).of(SUPPLY),
    column("ports", "USB PD ports", Reads::Ports)
        .also(&["ports"])
        .of(SUPPLY),
    column("shared_mw", "All ports together (W)", Reads::Amount).of(SUPPLY),
    column("chemistries", "Chemistries", Reads::Chemistries).of(CHARGER),
    column("cells_from", "Cells from", Reads::Text).of(CHARGER),
    column("cells_to", "Cells to", Reads::Text).of(CHARGER),
    column("current_min_ma", "Least current (A)", Reads::Amount).of(CHARGER),
    column("current_max_ma", "Most current (A)", Reads::Amount).of(CHARGER),
    column("current_step_ma", "In steps of (A)", Reads::Amount).of(CHARGER),
    column(
        "fixed_through_balance",
        "Fixed current through the balance plug (A)",
        Reads::Amount,
    )
    .of(CHARGER),
    column("charge_mw", "Charges with (W)", Reads::Amount).of(CHARGER),
    column("discharge_mw", "Discharges with (W)", Reads::Amount).of(CHARGER),
    column("modes", "Modes", Reads::Words).of(CHARGER),
    column("has_mah_cutoff", "Stops at a charge", Reads::Tick).of(CHARGER),
    column("has_time_cutoff", "Stops at a time", Reads::Tick).of(CHARGER),
    column("outputs", "Outputs", Reads::Text).of(CHARGER),
    column("output_connector", "Output connector", Reads::Connector).of(CHARGER),
    column("balance_connector", "Balance connector", Reads::Connector).of(CHARGER),
    column(
        "current_memory",
        "Current when switched on",
        Reads::OneOf(MEMORIES),
    )
    .of(CHARGER),
    column("factory_ma", "Factory current (A)", Reads::Amount).of(CHARGER),
    column("input", "Fed by", Reads::OneOf(INPUTS)).of(CHARGER),
    column("input_mv_min", "Input from (V)", Reads::Amount).of(CHARGER),
    column("input_mv_max", "Input to (V)", Reads::Amount).of(CHARGER),
];

const KIT_MORE: [Column; 4] = [
    column("input_connector", "Input connector", Reads::Connector).of(CHARGER),
    column("input_mw", "Input USB PD (W)", Reads::Amount).of(CHARGER),
    column("input_levels", "Input USB PD levels (V)", Reads::Text).of(CHARGER),
    column("can_boost", "Boosts", Reads::Tick).of(CHARGER),
];

/// All columns of such a sheet; of kit only those that `kind` has, and no `kind` where the whole sheet is of one.
pub fn of(holds: Holds, kind: Option<KitKind>) -> Vec<Column> {
    match holds {
        Holds::Packs => of_packs(),
        Holds::Designs => of_designs(),
        Holds::Kit => {
            let all = KIT.into_iter().chain(KIT_MORE);
            let fits =
                |column: &Column| column.is_of(kind) && (kind.is_none() || column.code != "kind");
            let all = all.filter(fits).map(|column| Column {
                is_needed: column.code == "kind",
                ..column
            });
            all.collect()
        }
    }
}

/// Which column of the sheet each field seems to be, by its heading: shown, for somebody to change.
pub fn guessed(columns: &[Column], headings: &[String]) -> Vec<(&'static str, usize)> {
    let mut taken: Vec<usize> = Vec::new();
    let mut guesses = Vec::new();
    for column in columns {
        let fits =
            |(at, heading): &(usize, &String)| !taken.contains(at) && column.is_headed(heading);
        if let Some((at, _)) = headings.iter().enumerate().find(fits) {
            taken.push(at);
            guesses.push((column.code, at));
        }
    }
    guesses
}

/// `Capacity` of `Capacity (Ah)`.
fn without_unit(heading: &str) -> &str {
    heading.split(['(', '[']).next().unwrap_or_default()
}

/// Units that fields of ours take, and others that stand above numbers in sheets: no field takes these, so that what stands
/// below them is refused instead of being read as ours.
const UNITS: [&str; 35] = [
    "a",
    "ma",
    "ah",
    "mah",
    "w",
    "mw",
    "v",
    "mv",
    "c",
    "g", // ours
    "wh",
    "mwh",
    "kwh",
    "kw",
    "kv",
    "ka",
    "kah",
    "kg",
    "mg",
    "oz",
    "lb",
    "lbs", //
    "watthours",
    "amphours",
    "milliamps",
    "milliwatts",
    "kilowatts",
    "millivolts",
    "kilovolts",
    "kilograms",
    "milligrams",
    "ounces",
    "ounce",
    "pounds",
    "pound",
];

/// The unit that stands in a heading, for numbers below it that have none of their own: behind it in brackets, as its last
/// word, or alone.
pub fn unit_of(heading: &str) -> Option<&'static str> {
    let in_brackets = heading.rsplit_once(['(', '[']).map(|(_, unit)| unit);
    let last = heading
        .rsplit(|letter: char| !letter.is_alphanumeric())
        .find(|word| !word.is_empty());
    let found = [in_brackets, last].into_iter().flatten().map(plain);
    let mut known = found.filter_map(|word| UNITS.into_iter().find(|unit| **unit == *word));
    known.next()
}

#[cfg(test)]
mod tests;
