//! A sheet of designs, and the designs that rows of packs name or describe. One on record is used where it fits; a sheet
//! changes its name, mass and size at most, since verdicts follow from the rest.

use super::plan::{DesignOf, Plan, Setting};
use super::row::Reader;
use super::{Existing, columns};
use crate::bench::connector::called;
use crate::bench::form::{Fields, Problems};
use crate::club::design_form::DesignForm;
use crate::club::register::{DesignSheet, keeps_its_nature};
use std::collections::HashMap;

const OTHER_NATURE: &str = "A sheet changes a design's name, mass and size; its chemistry, cells, capacity, rates, volts and plugs stay. Register another design instead.";

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
        let known = reader.known.designs_called(&name);
        if !known.is_empty() {
            plan.existing.push(name);
        }
        match (known.first(), reader.choices.existing) {
            (Some(_), None | Some(Existing::Leave)) => {}
            (Some((id, old)), Some(Existing::Change)) => {
                let fields = over(&fields, old, reader, setting);
                let read = keep(read(&fields, setting), &mut problems);
                match read {
                    Some(new) if keeps_its_nature(old, &new) => {
                        plan.design_changes.push((*id, new))
                    }
                    Some(_) => problems.add("name", OTHER_NATURE),
                    None => {}
                }
            }
            (None, _) => plan
                .designs
                .extend(keep(read(&fields, setting), &mut problems)),
        }
        plan.troubles.extend(reader.troubles(row, &problems));
    }
    plan
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

/// What is on record, and in its place what the sheet has columns for.
fn over(fields: &Fields, old: &DesignSheet, reader: &Reader, setting: Setting) -> Fields {
    let mut all = typed(old, setting);
    for (column, _) in reader.mapped() {
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

/// The designs of a sheet of packs, each made once for all rows alike.
pub struct Designs<'s> {
    reader: &'s Reader<'s>,
    setting: Setting<'s>,
    pub new: Vec<DesignSheet>,
    /// What came of a description, by all its cells.
    met: HashMap<String, Result<DesignOf, Problems>>,
}

impl<'s> Designs<'s> {
    pub fn new(reader: &'s Reader<'s>, setting: Setting<'s>) -> Self {
        Self {
            reader,
            setting,
            new: Vec::new(),
            met: HashMap::new(),
        }
    }

    pub fn of(&mut self, fields: &Fields) -> Result<DesignOf, Problems> {
        let cells: Vec<String> = columns::described().map(|code| fields.text(code)).collect();
        let key = format!("{}\u{1f}{}", fields.text("design"), cells.join("\u{1f}"));
        if let Some(met) = self.met.get(&key) {
            return met.clone();
        }
        let found = self.find(fields);
        self.met.insert(key, found.clone());
        found
    }

    fn find(&mut self, fields: &Fields) -> Result<DesignOf, Problems> {
        let name = fields.text("design");
        let is_described = columns::described().any(|code| !fields.text(code).is_empty());
        let named = self.reader.known.designs_called(&name);
        match (name.is_empty(), is_described, named.as_slice()) {
            (true, false, _) => Err(Problems::one(
                "design",
                "Name the design, or describe it: chemistry, cells, capacity and connectors.",
            )),
            (false, false, [(id, _)]) => Ok(DesignOf::Known(*id)),
            (false, false, []) => self.of_another_row(&name),
            (false, false, _) => Err(Problems::one(
                "design",
                "Several designs are called that. Describe it too, so that one of them fits.",
            )),
            (false, true, [_, ..]) => {
                let fits = |(_, old): &&&(uuid::Uuid, DesignSheet)| self.fits(fields, old);
                let found = named.iter().find(fits);
                found.map(|(id, _)| DesignOf::Known(*id)).ok_or_else(|| {
                    Problems::one("design", "The design of that name has other figures on record. Leave the figures empty, or give this one another name.")
                })
            }
            (_, true, _) => self.described(fields, &name),
        }
    }

    /// A row above may have described it.
    fn of_another_row(&self, name: &str) -> Result<DesignOf, Problems> {
        let wanted = name.to_lowercase();
        let found = self
            .new
            .iter()
            .position(|sheet| sheet.name.to_lowercase() == wanted);
        found.map(DesignOf::New).ok_or_else(|| {
            let words = format!("There is no design called “{name}”. Register it first, or describe it in this sheet: chemistry, cells, capacity and connectors.");
            Problems::one("design", words)
        })
    }

    /// What the row says of a design on record is what stands there.
    fn fits(&self, fields: &Fields, old: &DesignSheet) -> bool {
        let mut all = typed(old, self.setting);
        for code in columns::described().filter(|code| !fields.text(code).is_empty()) {
            all.put(code, &fields.text(code));
        }
        read(&all, self.setting).is_ok_and(|new| keeps_its_nature(old, &new))
    }

    fn described(&mut self, fields: &Fields, name: &str) -> Result<DesignOf, Problems> {
        let mut form = DesignForm::of(fields);
        form.name = if name.is_empty() {
            "a design".to_owned()
        } else {
            name.to_owned()
        };
        let mut sheet = form
            .checked()
            .map_err(|problems| of_packs(&problems.worded(self.setting.numbers)))?;
        if !name.is_empty() {
            let wanted = name.to_lowercase();
            return match self
                .new
                .iter()
                .position(|other| other.name.to_lowercase() == wanted)
            {
                Some(at) if keeps_its_nature(&self.new[at], &sheet) => Ok(DesignOf::New(at)),
                Some(_) => Err(Problems::one(
                    "design",
                    "A row above describes a design of this name with other figures.",
                )),
                None => Ok(self.add(sheet)),
            };
        }
        let known = self.reader.known.designs.iter();
        if let Some((id, _)) = known
            .clone()
            .find(|(_, other)| keeps_its_nature(other, &sheet))
        {
            return Ok(DesignOf::Known(*id));
        }
        if let Some(at) = self
            .new
            .iter()
            .position(|other| keeps_its_nature(other, &sheet))
        {
            return Ok(DesignOf::New(at));
        }
        sheet.name = self.free_name(&sheet);
        Ok(self.add(sheet))
    }

    /// Of the new ones only the first `count` stay.
    pub fn forget_after(&mut self, count: usize) {
        if self.new.len() > count {
            self.new.truncate(count);
            self.met
                .retain(|_, met| !matches!(met, Ok(DesignOf::New(at)) if *at >= count));
        }
    }

    fn add(&mut self, sheet: DesignSheet) -> DesignOf {
        self.new.push(sheet);
        DesignOf::New(self.new.len() - 1)
    }

    /// `LiPo 3S 450 mAh XT30`, with a number behind it where that is taken.
    fn free_name(&self, sheet: &DesignSheet) -> String {
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
        let is_free = |name: &String| {
            self.reader.known.designs_called(name).is_empty()
                && self.new.iter().all(|other| other.name != *name)
        };
        let numbered = (2..).map(|number| format!("{plain} ({number})"));
        let mut names = std::iter::once(plain.clone()).chain(numbered);
        names.find(is_free).unwrap_or(plain)
    }
}
