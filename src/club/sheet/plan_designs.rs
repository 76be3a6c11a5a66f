//! A sheet of designs, and the designs that rows of packs name or describe. One on record is used where it fits; a sheet
//! finds it by its name and changes its mass and size at most, since verdicts follow from the rest.

use super::Existing;
use super::columns::{self, Column};
use super::plan::{DesignOf, Plan, Setting};
use super::row::Reader;
use crate::bench::connector::called;
use crate::bench::form::{Fields, Problems};
use crate::club::design_form::DesignForm;
use crate::club::register::{DesignSheet, Nature, keeps_its_nature};
use std::collections::HashMap;
use uuid::Uuid;

const OTHER_NATURE: &str = "A sheet changes a design's mass and size; its chemistry, cells, capacity, rates, volts and plugs stay. Register another design instead.";
const SEVERAL: &str = "Several designs are called that. Describe it too, so that one of them fits.";

pub fn plan(reader: &Reader, setting: Setting) -> Plan {
    let mut plan = Plan::default();
    let mut named: HashMap<String, usize> = HashMap::new();
    for row in &reader.grid.rows {
        let (fields, mut problems) = reader.form(row);
        let name = fields.text("name");
        if let Some(line) = named
            .insert(name.to_lowercase(), row.line)
            .filter(|_| !name.is_empty())
        {
            problems.add(
                "name",
                format!("Line {line} has a design of this name too."),
            );
        }
        let known = reader.designs_called(&name);
        if known.is_empty() {
            let new = keep(read(&fields, setting), &mut problems);
            plan.designs.extend(new);
        } else {
            plan.existing.push(name);
            if reader.choices.existing != Some(Existing::Change) {
                continue;
            }
            let changed = changed(&known, &fields, (reader, setting));
            let changed = keep(changed, &mut problems);
            plan.design_changes.extend(changed.flatten());
        }
        plan.troubles.extend(reader.troubles(row, &problems));
    }
    plan
}

/// The one design of that name that stays what it is, as the row has it; None where the row says what is on record.
fn changed(
    known: &[&(Uuid, DesignSheet)],
    fields: &Fields,
    (reader, setting): (&Reader, Setting),
) -> Result<Option<(Uuid, DesignSheet)>, Problems> {
    let (mut fitting, mut refused) = (Vec::new(), Problems::one("name", OTHER_NATURE));
    for (id, old) in known {
        match read(&over(fields, old, reader, setting), setting) {
            Ok(new) if keeps_its_nature(old, &new) => fitting.push((*id, new, old)),
            Ok(_) => {}
            Err(problems) => refused = problems,
        }
    }
    match (fitting.pop(), fitting.is_empty()) {
        (None, _) => Err(refused),
        (Some(_), false) => Err(Problems::one("name", SEVERAL)),
        (Some((id, new, old)), true) => Ok((new != *old).then_some((id, new))),
    }
}

fn read(fields: &Fields, setting: Setting) -> Result<DesignSheet, Problems> {
    DesignForm::of(fields)
        .checked()
        .map_err(|problems| problems.worded(setting.numbers))
}

/// The value, unless something was wrong: then noted, at most once for each field.
pub fn keep<T>(read: Result<T, Problems>, problems: &mut Problems) -> Option<T> {
    match read {
        Ok(value) => Some(value).filter(|_| problems.is_empty()),
        Err(found) => {
            for (field, words) in found.list() {
                if problems.of(field).is_empty() {
                    problems.add(field, words.clone());
                }
            }
            None
        }
    }
}

/// What is on record, and in its place what the sheet has columns for; the name as it stands on record.
fn over(fields: &Fields, old: &DesignSheet, reader: &Reader, setting: Setting) -> Fields {
    let mut all = typed(old, setting);
    for (column, _) in reader.mapped().filter(|(column, _)| column.code != "name") {
        all.put(column.code, &fields.text(column.code));
    }
    all
}

fn typed(sheet: &DesignSheet, setting: Setting) -> Fields {
    let form = DesignForm::typed(sheet, setting.numbers);
    form.fields()
}

/// In a sheet of packs the design's name stands in the column of designs.
fn of_packs(problems: &Problems) -> Problems {
    let mut renamed = Problems::default();
    for (field, words) in problems.list() {
        renamed.add(
            if field == "name" { "design" } else { field },
            words.clone(),
        );
    }
    renamed
}

/// The designs of a sheet of packs, each made once for all rows alike. What is asked of them for every row is looked up, not
/// searched for: a sheet may have twenty thousand.
pub struct Designs<'s> {
    reader: &'s Reader<'s>,
    setting: Setting<'s>,
    pub new: Vec<DesignSheet>,
    /// What came of a description, by all its cells.
    met: HashMap<String, Result<DesignOf, Problems>>,
    /// Of the new ones, by name in small letters.
    named: HashMap<String, usize>,
    by_nature: HashMap<Nature, DesignOf>,
    /// How many were named alike by us.
    alike: HashMap<String, usize>,
}

impl<'s> Designs<'s> {
    pub fn new(reader: &'s Reader<'s>, setting: Setting<'s>) -> Self {
        let mut by_nature = HashMap::new();
        for (id, sheet) in &reader.known.designs {
            let first = by_nature.entry(Nature::of(sheet));
            first.or_insert(DesignOf::Known(*id));
        }
        Self {
            reader,
            setting,
            new: Vec::new(),
            met: HashMap::new(),
            named: HashMap::new(),
            by_nature,
            alike: HashMap::new(),
        }
    }

    pub fn of(&mut self, fields: &Fields) -> Result<DesignOf, Problems> {
        let cells: Vec<String> = columns::described()
            .map(|column| fields.text(column.code))
            .collect();
        let name = fields.text("design");
        if cells.iter().all(String::is_empty) {
            return self.named(&name);
        }
        let key = format!("{name}\u{1f}{}", cells.join("\u{1f}"));
        if let Some(met) = self.met.get(&key) {
            return met.clone();
        }
        let found = self.described(fields, &name);
        self.met.insert(key, found.clone());
        found
    }

    /// Whether the row's cells say nothing but what this design is.
    pub fn is(&self, fields: &Fields, design: &DesignSheet) -> bool {
        let name = fields.text("design").to_lowercase();
        (name.is_empty() || name == design.name.to_lowercase()) && self.fits(fields, design)
    }

    /// On record, or described by a row above.
    fn named(&self, name: &str) -> Result<DesignOf, Problems> {
        let refused = |words: &str| Err(Problems::one("design", words));
        if name.is_empty() {
            return refused(
                "Name the design, or describe it: chemistry, cells, capacity and connectors.",
            );
        }
        match (
            self.reader.designs_called(name).as_slice(),
            self.named.get(&name.to_lowercase()),
        ) {
            ([(id, _)], _) => Ok(DesignOf::Known(*id)),
            ([], Some(at)) => Ok(DesignOf::New(*at)),
            ([], None) => refused(&format!(
                "There is no design called “{name}”. Register it first, or describe it in a row above: chemistry, cells, capacity and connectors."
            )),
            _ => refused(SEVERAL),
        }
    }

    /// What the row says of a design is what stands there, its mass and size too: nothing it says is passed over.
    fn fits(&self, fields: &Fields, old: &DesignSheet) -> bool {
        self.reads_as(fields, old, columns::described())
    }

    /// With these cells of the row in place of what stands there, it is the same.
    fn reads_as<'c>(
        &self,
        fields: &Fields,
        old: &DesignSheet,
        columns: impl Iterator<Item = &'c Column>,
    ) -> bool {
        let mut all = typed(old, self.setting);
        for column in columns.filter(|column| !fields.text(column.code).is_empty()) {
            all.put(column.code, &fields.text(column.code));
        }
        read(&all, self.setting).is_ok_and(|new| new == *old)
    }

    /// The columns in which the row says something else of it.
    fn differing(&self, fields: &Fields, old: &DesignSheet) -> String {
        let differs = |column: &&Column| !self.reads_as(fields, old, std::iter::once(*column));
        let labels: Vec<&str> = columns::described()
            .filter(differs)
            .map(|column| column.label)
            .collect();
        labels.join(", ")
    }

    /// The design found for a row, if the row says nothing else of it.
    fn agreed(&self, fields: &Fields, found: DesignOf) -> Result<DesignOf, Problems> {
        let (sheet, where_words) = match found {
            DesignOf::Known(id) => {
                let mut known = self.reader.known.designs.iter();
                let found = known.find(|(of, _)| *of == id);
                (found.map(|(_, sheet)| sheet), "on record")
            }
            DesignOf::New(at) => (self.new.get(at), "in a row above"),
        };
        match sheet.filter(|sheet| !self.fits(fields, sheet)) {
            None => Ok(found),
            Some(sheet) => Err(Problems::one(
                "design",
                format!(
                    "The design “{}” {where_words} has other figures: {}. Leave these cells empty, or give this one another name.",
                    sheet.name,
                    self.differing(fields, sheet)
                ),
            )),
        }
    }

    fn described(&mut self, fields: &Fields, name: &str) -> Result<DesignOf, Problems> {
        let known = self.reader.designs_called(name);
        if !known.is_empty() {
            let fitting = known.iter().find(|(_, old)| self.fits(fields, old));
            if let Some((id, _)) = fitting.or(known.first()) {
                return self.agreed(fields, DesignOf::Known(*id));
            }
        }
        let mut form = DesignForm::of(fields);
        name.clone_into(&mut form.name);
        if name.is_empty() {
            // It is named once it is known to be new.
            "a design".clone_into(&mut form.name);
        }
        let sheet = form
            .checked()
            .map_err(|problems| of_packs(&problems.worded(self.setting.numbers)))?;
        let nature = Nature::of(&sheet);
        match self.named.get(&name.to_lowercase()) {
            Some(at) => self.agreed(fields, DesignOf::New(*at)),
            None if !name.is_empty() => Ok(self.add(sheet, nature)),
            None => match self.by_nature.get(&nature) {
                Some(found) => self.agreed(fields, *found),
                None => {
                    let name = self.free_name(&sheet);
                    Ok(self.add(DesignSheet { name, ..sheet }, nature))
                }
            },
        }
    }

    fn add(&mut self, sheet: DesignSheet, nature: Nature) -> DesignOf {
        let at = self.new.len();
        self.named.insert(sheet.name.to_lowercase(), at);
        self.by_nature.entry(nature).or_insert(DesignOf::New(at));
        self.new.push(sheet);
        DesignOf::New(at)
    }

    /// `LiPo 3S 450 mAh XT30`, with a number behind it where that is taken.
    fn free_name(&mut self, sheet: &DesignSheet) -> String {
        let groups = if sheet.groups_parallel > 1 {
            format!("{}P", sheet.groups_parallel)
        } else {
            String::new()
        };
        let connector = called(&sheet.connector, &self.reader.known.families);
        let plain = format!(
            "{} {}S{groups} {} mAh {connector}",
            sheet.chemistry.label(),
            sheet.cells_series,
            sheet.capacity_mah
        );
        let plain: String = plain.chars().take(50).collect();
        loop {
            let count = self.alike.entry(plain.clone()).or_default();
            *count += 1;
            let name = match *count {
                1 => plain.clone(),
                count => format!("{plain} ({count})"),
            };
            let is_taken = self.named.contains_key(&name.to_lowercase())
                || !self.reader.designs_called(&name).is_empty();
            if !is_taken {
                return name;
            }
        }
    }
}
