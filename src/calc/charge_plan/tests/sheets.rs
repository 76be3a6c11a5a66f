//! That the schema tells what a kit's data sheet holds.

use super::ordinary;
use crate::calc::Calculation;

#[test]
fn each_field_of_a_sheet_is_told_of_and_no_kind_but_its_own() {
    let schema = Calculation::ChargePlan.schema();
    for kit in ["chargers", "supplies", "adapters"] {
        let sheet = ordinary()[kit][0]["spec"].clone();
        let told = schema["properties"][kit].to_string();
        for (field, value) in sheet.as_object().expect("a sheet") {
            assert!(told.contains(&format!("\"{field}\":{{")), "{field}: {told}");
            let kinds = format!("\"enum\":[{value}]");
            assert!(field != "kind" || told.contains(&kinds), "{told}");
        }
    }
    let cable = schema["properties"]["cables"].to_string();
    assert!(cable.contains("\"limit_mw\":{"), "{cable}");
}
