//! What the document tells of texts that can't be any text: codes, with the rules' own lists of them, and instants and days,
//! which are named after what they are.

use crate::actions::charging::PURPOSES;
use crate::actions::way_out::Way;
use crate::battery::chemistry::Chemistry;
use crate::bench::charger::Mode;
use crate::bench::connector::Purpose;
use crate::bench::kit::KitKind;
use crate::club::care::belief::Sure;
use crate::club::care::due::{Grave, Reason};
use crate::club::care::kept::Band;
use crate::club::charging::Outcome as ChargeOutcome;
use crate::club::glance::Glance;
use crate::club::going_away::Step;
use crate::club::people::Role;
use crate::club::places::PlaceKind;
use crate::club::reading::Rested;
use crate::club::reading::beside::Context;
use crate::club::seen::{Crash, Seen};
use crate::club::states::{Life, State};
use crate::club::storage_round::Sorted;
use crate::club::to_see_to::Matter;
use crate::club::verdict::Gravity;
use crate::store::lent::Outcome;
use crate::store::pack_list::Order;
use serde_json::{Value, json};

type Codes = Vec<&'static str>;

/// Unsaid is the empty text.
fn or_unsaid(mut codes: Codes) -> Codes {
    codes.push("");
    codes
}

fn of_kit() -> Codes {
    let of_life = Life::ALL.map(Life::code).into_iter();
    of_life.chain(["set_aside", "not_known"]).collect()
}

/// What may stand in this field; None: any text.
fn codes(schema: &str, field: &str) -> Option<Codes> {
    let codes = match (schema, field) {
        ("Kit", "state") => of_kit(),
        ("Pack" | "AtHand" | "Line" | "StoodPack" | "PacksAsked", "state") => {
            State::ALL.map(State::code).to_vec()
        }
        ("Pack" | "DesignSheet" | "CardPlan" | "RecordedCharge", "chemistry") => {
            Chemistry::ALL.map(Chemistry::code).to_vec()
        }
        ("ChargeAsked" | "StartCharge" | "RecordedCharge", "purpose") => PURPOSES.to_vec(),
        ("CardPlan" | "StartCharge" | "RecordedCharge", "mode") => {
            Mode::ALL.map(Mode::code).to_vec()
        }
        ("RecordedCharge" | "EndCharge", "outcome") => {
            ChargeOutcome::ALL.map(ChargeOutcome::code).to_vec()
        }
        ("Kit" | "KitAsked", "kind") => KitKind::ALL.map(KitKind::code).to_vec(),
        ("PlaceSheet", "kind") => PlaceKind::ALL.map(PlaceKind::code).to_vec(),
        ("PersonLine", "kind") => vec!["induction", "pack", "kit", "answers"],
        ("Connector" | "NewConnector", "purpose") => Purpose::ALL.map(Purpose::code).to_vec(),
        ("Condition", "seen") => Seen::ALL.map(Seen::code).to_vec(),
        ("Condition", "crash") => Crash::ALL.map(Crash::code).to_vec(),
        ("TakenBack", "look") => or_unsaid(Glance::OFFERED.map(Glance::code).to_vec()),
        ("BringBack", "look") => {
            or_unsaid([Glance::Nothing, Glance::Wrong].map(Glance::code).to_vec())
        }
        ("TakenBack" | "HandOut" | "LogVolts", "rested") => {
            or_unsaid(Rested::OFFERED.map(Rested::code).to_vec())
        }
        ("Reading", "context") => Context::ALL.map(Context::code).to_vec(),
        ("LogVolts", "context") => or_unsaid(Context::ALL.map(Context::code).to_vec()),
        ("Line", "outcome") => Outcome::ALL.map(Outcome::code).to_vec(),
        ("OpenFinding", "gravity") => Gravity::ALL.map(Gravity::code).to_vec(),
        ("WayOut", "way") => Way::ALL.map(Way::code).to_vec(),
        ("KitWayOut", "life") => Life::ALL.map(Life::code).to_vec(),
        ("ChangeLabel", "what") => vec!["make", "reissue", "revoke"],
        ("Person" | "You", "roles") => Role::ALL.map(Role::code).to_vec(),
        ("Person" | "Borrower" | "PeopleAsked", "induction") => vec!["never", "valid", "ran_out"],
        ("Storage", "band") => Band::ALL.map(Band::code).to_vec(),
        ("Storage", "sure") => Sure::ALL.map(Sure::code).to_vec(),
        ("ToSeeTo", "matter") => Matter::all().map(Matter::code).collect(),
        ("ToSeeTo", "also") => Reason::ALL.map(Reason::code).to_vec(),
        ("ToSeeTo", "when") => Grave::ALL.map(Grave::code).to_vec(),
        ("RoundPack", "stands") => Sorted::ALL.map(Sorted::code).to_vec(),
        ("BeforeClosing", "step") => Step::ALL.map(Step::code).to_vec(),
        ("ReadOnRound", "rested") => or_unsaid(Rested::OFFERED.map(Rested::code).to_vec()),
        ("PacksAsked", "order") => Order::ALL.map(Order::code).to_vec(),
        _ => return None,
    };
    Some(codes)
}

/// A time of day in the hall is called like an instant.
fn format(schema: &str, field: &str) -> Option<&'static str> {
    match field {
        "ends_at" if matches!(schema, "OpenNight" | "NewNight") => None,
        "since" | "state_since" | "out_since" | "until" => Some("date-time"),
        _ if field.ends_with("_at") => Some("date-time"),
        "day" => Some("date"),
        _ if field.ends_with("_on") || field.ends_with("_due") => Some("date"),
        _ => None,
    }
}

/// The schema of this name with what its texts may be.
pub fn told(name: &str, mut schema: Value) -> Value {
    let properties = schema["properties"].as_object_mut();
    for (field, told) in properties.into_iter().flatten() {
        let is_list = told["type"] == "array";
        let told = if is_list { &mut told["items"] } else { told };
        let is_nullable = told["type"].is_array();
        let is_text = told["type"] == "string" || is_nullable && told["type"][0] == "string";
        if let Some(codes) = codes(name, field) {
            let mut all: Vec<Value> = codes.into_iter().map(Value::from).collect();
            if is_nullable {
                all.push(Value::Null);
            }
            told["enum"] = json!(all);
        } else if let (true, Some(format)) = (is_text, format(name, field)) {
            told["format"] = json!(format);
        }
    }
    schema
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_and_formats_are_told_where_they_hold() {
        let text = json!({"type": "string"});
        let maybe = json!({"type": ["string", "null"]});
        let schema = json!({"properties": {
            "state": text, "closed_at": maybe, "due_on": text, "why": text, "ends_at": text,
        }});
        let fields = &told("Line", schema.clone())["properties"];
        assert_eq!(fields["state"]["enum"].as_array().expect("codes").len(), 9);
        assert_eq!(fields["closed_at"]["format"], "date-time");
        assert_eq!(fields["due_on"]["format"], "date");
        assert_eq!(fields["why"], text);
        let night = &told("NewNight", schema)["properties"];
        assert_eq!(night["ends_at"], text);
        let crash =
            json!({"properties": {"crash": maybe, "seen": {"type": "array", "items": text}}});
        let condition = &told("Condition", crash)["properties"];
        assert!(
            condition["crash"]["enum"]
                .as_array()
                .expect("codes")
                .contains(&Value::Null)
        );
        assert_eq!(condition["seen"]["items"]["enum"][0], "swollen");
    }
}
