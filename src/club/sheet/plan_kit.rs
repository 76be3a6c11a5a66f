//! A sheet of kit: each row a thing of the kind that a column, or the whole sheet, says. Kind and count of what is on record
//! stay; a count is counted, not brought in.

use super::known::KnownKit;
use super::plan::{KitChange, NewKit, Plan, Setting};
use super::plan_designs::keep;
use super::row::Reader;
use super::{Existing, named};
use crate::bench::form::{Fields, Problems};
use crate::bench::kit::{KitKind, Spec};
use crate::club::kit::KitSheet;
use std::collections::HashMap;

pub fn plan(reader: &Reader, setting: Setting) -> Plan {
    let mut plan = Plan::default();
    let mut lines: HashMap<(KitKind, i64), usize> = HashMap::new();
    let mut unnumbered = Vec::new();
    for row in &reader.grid.rows {
        let (mut form, mut problems) = reader.form(row);
        let Some(kind) = kind_of(reader, &form, &mut problems) else {
            plan.troubles.extend(reader.troubles(row, &problems));
            continue;
        };
        let key = number_key(&form.text("number"), kind, &mut problems).map(|key| (kind, key));
        if let Some(line) = key.and_then(|key| lines.insert(key, row.line)) {
            problems.add("number", format!("Line {line} has this number too."));
        }
        check_count(kind, &form, &mut problems);
        if let Some(thing) = key.and_then(|key| reader.known.kit.get(&key)) {
            plan.existing.push(thing.number.clone());
            if reader.choices.existing != Some(Existing::Change) {
                continue;
            }
            let changed = changed(thing, kind, &form, (reader, setting));
            let changed = keep(changed, &mut problems);
            plan.kit_changes.extend(changed.flatten());
        } else {
            if kind.is_counted() && form.text("owned_count").is_empty() {
                form.put("owned_count", "");
            }
            if let Some(sheet) = keep(read(kind, &form, reader, setting), &mut problems) {
                if key.is_none() {
                    unnumbered.push(plan.kit.len());
                }
                let number_key = key.map_or(0, |(_, key)| key);
                plan.kit.push(NewKit { number_key, sheet });
            }
        }
        plan.troubles.extend(reader.troubles(row, &problems));
    }
    number(
        &mut plan,
        unnumbered,
        reader.known.kit.keys().chain(lines.keys()),
    );
    plan
}

/// As the row has it; None where that is what is on record.
fn changed(
    thing: &KnownKit,
    kind: KitKind,
    form: &Fields,
    (reader, setting): (&Reader, Setting),
) -> Result<Option<KitChange>, Problems> {
    let form = over(form, &thing.sheet, reader, setting);
    let sheet = KitSheet {
        owned_count: thing.sheet.owned_count,
        ..read(kind, &form, reader, setting)?
    };
    Ok((sheet != thing.sheet).then(|| KitChange {
        id: thing.id,
        number: thing.number.clone(),
        sheet,
    }))
}

/// What has a number of its own is one.
fn check_count(kind: KitKind, form: &Fields, problems: &mut Problems) {
    let count = form.text("owned_count");
    if !kind.is_counted() && !["", "1"].contains(&count.as_str()) {
        problems.add(
            "owned_count",
            "Only adapters are counted; write a row for each.",
        );
    }
}

/// The next free ones of each kind.
fn number<'k>(
    plan: &mut Plan,
    unnumbered: Vec<usize>,
    taken: impl Iterator<Item = &'k (KitKind, i64)>,
) {
    let mut last: HashMap<KitKind, i64> = HashMap::new();
    for (kind, key) in taken {
        let last = last.entry(*kind).or_default();
        *last = (*last).max(*key);
    }
    for at in unnumbered {
        let next = last.entry(plan.kit[at].sheet.spec.kind()).or_default();
        *next += 1;
        plan.kit[at].number_key = *next;
    }
}

fn kind_of(reader: &Reader, form: &Fields, problems: &mut Problems) -> Option<KitKind> {
    let of_all = reader.choices.kind.as_deref().and_then(KitKind::from_code);
    let found = of_all.or_else(|| named::kit_kind(&form.text("kind")));
    if found.is_none() {
        problems.add(
            "kind",
            "Write the kind: charger, power supply, cable, adapter or parallel board.",
        );
    }
    found
}

/// By the rules of the form and of the plugs at both ends.
fn read(
    kind: KitKind,
    form: &Fields,
    reader: &Reader,
    setting: Setting,
) -> Result<KitSheet, Problems> {
    let sheet = KitSheet::typed_as(kind, form, setting.numbers)?;
    let sheet = sheet
        .checked()
        .map_err(|found| Problems::from(found).worded(setting.numbers))?;
    let beyond = match &sheet.spec {
        Spec::Adapter(adapter) => adapter.beyond_its_plugs(&reader.known.families),
        _ => None,
    };
    match beyond {
        Some(problem) => Err(Problems::from(vec![problem]).worded(setting.numbers)),
        None => Ok(sheet),
    }
}

/// What is on record, and in its place what the sheet has columns for.
fn over(form: &Fields, old: &KitSheet, reader: &Reader, setting: Setting) -> Fields {
    let old = old.typed(setting.numbers).into_pairs().into_iter();
    let is_mapped = |name: &str| reader.choices.columns.contains_key(name);
    let mut pairs: Vec<(String, String)> = old.filter(|(name, _)| !is_mapped(name)).collect();
    let new = form
        .pairs()
        .iter()
        .filter(|(name, _)| name != "owned_count");
    pairs.extend(new.cloned());
    Fields::new(pairs)
}

/// The running number that a cell names: `2`, `C-2` or `C-02`.
fn number_key(typed: &str, kind: KitKind, problems: &mut Problems) -> Option<i64> {
    if typed.is_empty() {
        return None;
    }
    let capitals = typed.to_ascii_uppercase();
    let digits = capitals
        .strip_prefix(kind.number_prefix())
        .unwrap_or(&capitals);
    let key = named::running_number(digits);
    if key.is_none() {
        let words = format!(
            "The number of a {} is like {}02.",
            kind.label(),
            kind.number_prefix()
        );
        problems.add("number", words);
    }
    key
}
