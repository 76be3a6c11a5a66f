//! A sheet of packs: each row a pack of a design it names or describes, with a number of its own or the next free one.

use super::Existing;
use super::known::KnownPack;
use super::named::{LARGEST_NUMBER, running_number};
use super::plan::{NewPack, PackChange, Plan, Setting};
use super::plan_designs::{Designs, keep};
use super::row::Reader;
use super::text::Row;
use crate::bench::form::{Fields, Problems};
use crate::club::lending::is_same_number;
use crate::club::pack_form::PacksForm;
use crate::club::register::{self, DesignSheet};
use std::collections::HashMap;
use uuid::Uuid;

pub fn plan(reader: &Reader, setting: Setting) -> Plan {
    let mut packs = Packs::new(reader, setting);
    for row in &reader.grid.rows {
        packs.read(row);
    }
    packs.numbered()
}

struct Packs<'s> {
    reader: &'s Reader<'s>,
    setting: Setting<'s>,
    designs: Designs<'s>,
    /// Designs on record, by id.
    registered: HashMap<Uuid, &'s DesignSheet>,
    /// Where each running number stands.
    lines: HashMap<i64, usize>,
    /// New packs that name no number, by their place in the plan.
    unnumbered: Vec<usize>,
    plan: Plan,
}

impl<'s> Packs<'s> {
    fn new(reader: &'s Reader<'s>, setting: Setting<'s>) -> Self {
        let designs = reader.known.designs.iter();
        Self {
            reader,
            setting,
            designs: Designs::new(reader, setting),
            registered: designs.map(|(id, sheet)| (*id, sheet)).collect(),
            lines: HashMap::new(),
            unnumbered: Vec::new(),
            plan: Plan::default(),
        }
    }

    fn read(&mut self, row: &Row) {
        let (form, mut problems) = self.reader.form(row);
        let typed = form.text("number");
        let key = number_key(&typed, self.reader, self.setting, &mut problems);
        if let Some(line) = key.and_then(|key| self.lines.insert(key, row.line)) {
            problems.add("number", format!("Line {line} has this number too."));
        }
        match key.and_then(|key| self.reader.known.packs.get(&key)) {
            None => self.add(key, &form, &mut problems),
            Some(pack) => {
                self.plan.existing.push(pack.number.clone());
                if self.reader.choices.existing != Some(Existing::Change) {
                    return;
                }
                self.change(pack, (row, &form), &mut problems);
            }
        }
        let troubles = self.reader.troubles(row, &problems);
        self.plan.troubles.extend(troubles);
    }

    fn add(&mut self, key: Option<i64>, form: &Fields, problems: &mut Problems) {
        let design = keep(self.designs.of(form), problems);
        let details = PacksForm::of(form).details(self.setting.today, problems);
        let Some(design) = design.filter(|_| problems.is_empty()) else {
            return;
        };
        if key.is_none() {
            self.unnumbered.push(self.plan.packs.len());
        }
        self.plan.packs.push(NewPack {
            number_key: key.unwrap_or_default(),
            design,
            details,
        });
    }

    /// Its details alone, as far as the sheet has columns for them: a registered pack stays of its design.
    fn change(&mut self, pack: &KnownPack, row: (&Row, &Fields), problems: &mut Problems) {
        let mut all = pack.details.typed();
        for (column, _) in self.reader.mapped() {
            all.put(column.code, &row.1.text(column.code));
        }
        let details = PacksForm::of(&all).details(self.setting.today, problems);
        let design = self.registered.get(&pack.design_id);
        if !design.is_some_and(|design| self.designs.is(row.1, design)) {
            problems.add("design", "This pack is registered of another design, and stays of it. Leave the cells of the design empty.");
        }
        if problems.is_empty() && details != pack.details {
            self.plan.pack_changes.push(PackChange {
                id: pack.id,
                number: pack.number.clone(),
                line: row.0.line,
                design_id: pack.design_id,
                is_moved: details.place_id != pack.details.place_id,
                details,
            });
        }
    }

    /// The plan, those without a number with the next free ones.
    fn numbered(mut self) -> Plan {
        let taken = self.reader.known.packs.keys().chain(self.lines.keys());
        let last = taken.max().copied().unwrap_or(0);
        for (at, key) in self.unnumbered.into_iter().zip(last + 1..) {
            self.plan.packs[at].number_key = key;
        }
        self.plan.designs = self.designs.new;
        self.plan
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
    let Some(key) = running_number(digits) else {
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
