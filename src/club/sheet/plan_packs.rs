//! A sheet of packs: each row a pack of a design it names or describes, with a number of its own or the next free one.

use super::Existing;
use super::plan::{NewPack, PackChange, Plan, Setting};
use super::plan_designs::{Designs, keep};
use super::row::Reader;
use crate::bench::form::{Fields, Problems};
use crate::club::lending::is_same_number;
use crate::club::pack_form::PacksForm;
use crate::club::register::{self, DesignSheet};
use std::collections::HashMap;
use uuid::Uuid;

/// A typed running number is not larger.
const LARGEST_NUMBER: i64 = 999_999;

const DETAILS: [&str; 8] = [
    "maker",
    "batch",
    "supplier",
    "price",
    "acquired",
    "first_used",
    "place",
    "notes",
];

pub fn plan(reader: &Reader, setting: Setting) -> Plan {
    let mut designs = Designs::new(reader, setting);
    let registered: HashMap<Uuid, &DesignSheet> = reader
        .known
        .designs
        .iter()
        .map(|(id, sheet)| (*id, sheet))
        .collect();
    let mut plan = Plan::default();
    let mut lines: HashMap<i64, usize> = HashMap::new();
    let mut unnumbered = Vec::new();
    let fields: Vec<&'static str> = reader
        .mapped()
        .map(|(column, _)| column.code)
        .filter(|code| DETAILS.contains(code))
        .collect();
    for row in &reader.grid.rows {
        let (form, mut problems) = reader.form(row);
        let key = number_key(&form.text("number"), reader, setting, &mut problems);
        if let Some(line) = key.and_then(|key| lines.insert(key, row.line)) {
            problems.add("number", format!("Line {line} has this number too."));
        }
        let known = key.and_then(|key| reader.known.packs.get(&key));
        if let Some(pack) = known {
            plan.existing.push(pack.number.clone());
            if reader.choices.existing == Some(Existing::Change) {
                let details = PacksForm::of(&form).details(setting.today, &mut problems);
                check_design(
                    &designs,
                    &form,
                    registered.get(&pack.design_id),
                    &mut problems,
                );
                let change = PackChange {
                    id: pack.id,
                    line: row.line,
                    fields: fields.clone(),
                    details,
                };
                plan.pack_changes
                    .extend(Some(change).filter(|_| problems.is_empty()));
            } else {
                problems = Problems::default();
            }
        } else {
            let design = keep(designs.of(&form), &mut problems);
            let details = PacksForm::of(&form).details(setting.today, &mut problems);
            if let Some(design) = design.filter(|_| problems.is_empty()) {
                if key.is_none() {
                    unnumbered.push(plan.packs.len());
                }
                plan.packs.push(NewPack {
                    number_key: key.unwrap_or_default(),
                    design,
                    details,
                });
            }
        }
        plan.troubles.extend(reader.troubles(row, &problems));
    }
    let last = reader
        .known
        .packs
        .keys()
        .chain(lines.keys())
        .max()
        .copied()
        .unwrap_or(0);
    for (at, key) in unnumbered.into_iter().zip(last + 1..) {
        plan.packs[at].number_key = key;
    }
    plan.designs = designs.new;
    plan
}

/// A registered pack stays of its design.
fn check_design(
    designs: &Designs,
    form: &Fields,
    design: Option<&&DesignSheet>,
    problems: &mut Problems,
) {
    if !design.is_some_and(|design| designs.is(form, design)) {
        problems.add("design", "This pack is registered of another design, and stays of it. Leave the cells of the design empty.");
    }
}

/// The running number that a cell names: `14`, `P-14` or `P-014`.
fn number_key(
    typed: &str,
    reader: &Reader,
    setting: Setting,
    problems: &mut Problems,
) -> Option<i64> {
    if typed.is_empty() {
        return None;
    }
    let digits = typed
        .trim_start_matches(|letter: char| letter.is_ascii_alphabetic())
        .trim_start_matches('-')
        .trim();
    let prefix = typed[..typed.len() - digits.len()]
        .trim_end_matches('-')
        .trim();
    let is_plain =
        (1..=6).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit());
    let key = digits
        .parse()
        .ok()
        .filter(|key| is_plain && (1..=LARGEST_NUMBER).contains(key));
    let Some(key) = key else {
        let example = register::number(setting.pack_prefix, 14);
        problems.add(
            "number",
            format!(
                "A pack's number is a number from 1 to {LARGEST_NUMBER}, like 14 or {example}."
            ),
        );
        return None;
    };
    let known = reader.known.packs.get(&key).map(|pack| pack.number.clone());
    let wanted = known.unwrap_or_else(|| register::number(setting.pack_prefix, key));
    if !prefix.is_empty() && !is_same_number(&format!("{prefix}-{key}"), &wanted) {
        problems.add("number", format!("That number is written {wanted} here."));
        return None;
    }
    Some(key)
}
