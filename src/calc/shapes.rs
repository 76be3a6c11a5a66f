//! What a schema says of lists and choices whose parts have bounds of their own.

use super::charge_plan::LONGEST_MINUTES;
use super::given::MOHM;
use super::verdict::SEEN_MAX;
use crate::battery::volts::CELLS_MAX;
use crate::bench::chain::{Adapter, Cable};
use crate::bench::charger::Charger;
use crate::bench::kit::KitKind;
use crate::bench::supply::Supply;
use crate::club::seen::Seen;
use utoipa::openapi::schema::{
    AdditionalProperties, AllOfBuilder, Array, ArrayBuilder, ArrayItems, Object, ObjectBuilder,
    OneOfBuilder, Schema, SchemaType, Type,
};
use utoipa::{Number, PartialSchema};

/// Of a pack that is charged, in V.
pub fn cells_v() -> Array {
    let words = "Cell 1 first, V; null: pack_v is given.";
    each_cell(words, (0.0, 10.0))
}

/// As it was read, in V.
pub fn read_cells_v() -> Array {
    let words = "Cell 1 first, V; null: the cells were not read.";
    each_cell(words, (0.0, 999.0))
}

pub fn cells_mohm() -> Array {
    let words = "Of each cell, cell 1 first, as many as it has; null: not read.";
    each_cell(words, MOHM)
}

fn each_cell(words: &str, bounds: (f64, f64)) -> Array {
    maybe_list(words, number(bounds).into(), (1, CELLS_MAX))
}

pub fn resting_curve() -> Array {
    let point = ArrayBuilder::new()
        .items(number((0.0, 100.0)))
        .min_items(Some(2))
        .max_items(Some(2));
    let words = "The cell's own resting volts, as [percent, V], both rising from point to point, percent from 0 to 100, \
        volts above 0 and up to 10; null: its chemistry's.";
    maybe_list(words, point.into(), (2, 1_000))
}

pub fn seen() -> Array {
    let code = ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(Seen::ALL.map(Seen::code)))
        .build();
    let words = "What a person saw on it, by code.";
    maybe_list(words, code.into(), (0, SEEN_MAX))
}

/// As `PlannedFor` is spelled.
pub fn purpose() -> Schema {
    let alone = ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(["storage", "empty"]))
        .description(Some(
            "storage: it will lie. empty: as empty as its chemistry may be, before it is disposed of.",
        ))
        .build();
    OneOfBuilder::new()
        .description(Some("What the charge is for."))
        .item(minutes(
            "ready_by_minutes",
            "It must be ready in so many minutes: as hard as label and club allow where nothing gentler is.",
        ))
        .item(minutes(
            "there_minutes",
            "No hurry, and somebody is there for so many minutes.",
        ))
        .item(alone)
        .build()
        .into()
}

fn minutes(name: &str, words: &str) -> Object {
    let minutes = ObjectBuilder::new()
        .schema_type(Type::Integer)
        .minimum(Some(Number::Int(1)))
        .maximum(Some(Number::Int(LONGEST_MINUTES as isize)))
        .build();
    ObjectBuilder::new()
        .schema_type(Type::Object)
        .property(name, minutes)
        .required(name)
        .additional_properties(Some(AdditionalProperties::<Schema>::FreeForm(false)))
        .description(Some(words))
        .build()
}

pub fn charger_sheet() -> Schema {
    sheet::<Charger>(KitKind::Charger)
}

pub fn supply_sheet() -> Schema {
    sheet::<Supply>(KitKind::Supply)
}

pub fn cable_sheet() -> Schema {
    sheet::<Cable>(KitKind::Cable)
}

pub fn adapter_sheet() -> Schema {
    sheet::<Adapter>(KitKind::Adapter)
}

/// A data sheet with its `kind`, as the club's kit shows it.
fn sheet<T: PartialSchema>(kind: KitKind) -> Schema {
    let code = ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some([kind.code()]));
    let named = ObjectBuilder::new()
        .schema_type(Type::Object)
        .property("kind", code)
        .required("kind");
    AllOfBuilder::new()
        .description(Some(format!(
            "The data sheet of this {}, as the club's kit shows it.",
            kind.code()
        )))
        .item(named)
        .item(T::schema())
        .build()
        .into()
}

fn number((least, most): (f64, f64)) -> Object {
    ObjectBuilder::new()
        .schema_type(Type::Number)
        .minimum(Some(Number::Float(least)))
        .maximum(Some(Number::Float(most)))
        .build()
}

fn maybe_list(words: &str, items: ArrayItems, (least, most): (usize, usize)) -> Array {
    ArrayBuilder::new()
        .schema_type(SchemaType::from_iter([Type::Array, Type::Null]))
        .items(items)
        .min_items(Some(least).filter(|least| *least > 0))
        .max_items(Some(most))
        .description(Some(words))
        .build()
}
