//! What would come of a sheet, read back as it would stand: of each kind of thing the first few, so that a column that was
//! taken for another, or a day read the wrong way round, is seen before anything is brought in.

use crate::actions::bring_in::Opened;
use crate::bench::kit::KitKind;
use crate::club::calendar::{Day, day_words};
use crate::club::kit::KitSheet;
use crate::club::pack_form::Details;
use crate::club::register::{self, DesignSheet};
use crate::club::sheet::plan::DesignOf;
use crate::web::designs::words_of;
use crate::web::visit::SignedIn;
use crate::web::words::shortened;
use uuid::Uuid;

/// So many of each kind are shown.
const SHOWN: usize = 5;
/// Of what somebody wrote about a thing, so many letters.
const LONGEST: usize = 60;

pub struct Table {
    pub title: &'static str,
    /// How the first column is headed.
    pub called: &'static str,
    pub rows: Vec<Row>,
    /// How many more there are.
    pub more: usize,
}

impl Table {
    fn of(
        title: &'static str,
        called: &'static str,
        all: impl ExactSizeIterator<Item = Row>,
    ) -> Self {
        let more = all.len().saturating_sub(SHOWN);
        Self {
            title,
            called,
            rows: all.take(SHOWN).collect(),
            more,
        }
    }

    pub fn has_places(&self) -> bool {
        self.rows.iter().any(|row| !row.place.is_empty())
    }

    pub fn has_now(&self) -> bool {
        self.rows.iter().any(|row| !row.now.is_empty())
    }

    pub fn has_days(&self) -> bool {
        self.rows.iter().any(|row| !row.acquired.is_empty())
    }
}

#[derive(Default)]
pub struct Row {
    /// Its number; a design's name.
    pub name: String,
    pub what: String,
    pub place: String,
    pub acquired: String,
    /// What else is said of it.
    pub more: String,
    /// Of what would change: as it stands now.
    pub now: String,
}

impl Row {
    /// With what differs from the row of what stands now.
    fn changed_from(self, old: Option<Self>) -> Self {
        let Some(old) = old else { return self };
        let pairs = [
            (&old.name, &self.name),
            (&old.what, &self.what),
            (&old.place, &self.place),
            (&old.acquired, &self.acquired),
            (&old.more, &self.more),
        ];
        let differs = pairs.iter().filter(|(old, new)| old != new);
        let now: Vec<&str> = differs
            .map(|(old, _)| match old.as_str() {
                "" => "nothing on record",
                words => words,
            })
            .collect();
        let now = now.join("; ");
        Self { now, ..self }
    }
}

/// Only those that have rows.
pub fn tables(opened: &Opened, who: &SignedIn) -> Vec<Table> {
    let (plan, reads) = (&opened.plan, Reads { opened, who });
    let mut all = vec![
        Table::of(
            "New designs",
            "Name",
            plan.designs.iter().map(|new| reads.design(new)),
        ),
        Table::of(
            "New packs",
            "Number",
            plan.packs.iter().map(|new| {
                let number = register::number(&who.club.pack_prefix, new.number_key);
                reads.pack(number, new.design, &new.details)
            }),
        ),
        Table::of(
            "New kit",
            "Number",
            plan.kit.iter().map(|new| {
                let number = new.sheet.spec.kind().number(new.number_key);
                reads.kit(number, &new.sheet)
            }),
        ),
        Table::of(
            "Packs as they would be after the change",
            "Number",
            plan.pack_changes.iter().map(|change| {
                let design = DesignOf::Known(change.design_id);
                let row = |details| reads.pack(change.number.clone(), design, details);
                let known = opened.known.packs.values().find(|old| old.id == change.id);
                row(&change.details).changed_from(known.map(|old| row(&old.details)))
            }),
        ),
        Table::of(
            "Designs as they would be after the change",
            "Name",
            plan.design_changes.iter().map(|(id, sheet)| {
                let mut known = opened.known.designs.iter();
                let known = known.find(|(old, _)| old == id);
                reads
                    .design(sheet)
                    .changed_from(known.map(|(_, old)| reads.design(old)))
            }),
        ),
        Table::of(
            "Kit as it would be after the change",
            "Number",
            plan.kit_changes.iter().map(|change| {
                let row = |sheet| reads.kit(change.number.clone(), sheet);
                let known = opened.known.kit.values().find(|old| old.id == change.id);
                row(&change.sheet).changed_from(known.map(|old| row(&old.sheet)))
            }),
        ),
    ];
    all.retain(|table| !table.rows.is_empty());
    all
}

struct Reads<'o> {
    opened: &'o Opened,
    who: &'o SignedIn,
}

impl Reads<'_> {
    fn design(&self, sheet: &DesignSheet) -> Row {
        let numbers = self.who.numbers();
        let rate =
            |tenths: Option<i64>| tenths.map_or_else(String::new, |rate| numbers.c_rate(rate));
        let volts = |mv: Option<i64>| mv.map_or_else(String::new, |mv| numbers.volts(mv));
        Row {
            name: sheet.name.clone(),
            what: self.design_words(sheet),
            more: listed([
                ("discharge", &rate(sheet.label_discharge_c_tenths)),
                ("charge", &rate(sheet.label_charge_c_tenths)),
                ("full", &volts(sheet.label.full_mv)),
                ("lowest", &volts(sheet.label.lowest_mv)),
                (
                    "mass",
                    &sheet.mass_g.map_or_else(String::new, |g| format!("{g} g")),
                ),
                ("size", &sheet.size_mm),
            ]),
            ..Row::default()
        }
    }

    fn pack(&self, number: String, design: DesignOf, details: &Details) -> Row {
        let on = |day: &Option<String>| {
            let day = day.as_deref().and_then(Day::parse);
            day.map_or_else(String::new, day_words)
        };
        let design = match design {
            DesignOf::New(at) => self.opened.plan.designs.get(at),
            DesignOf::Known(id) => {
                let mut known = self.opened.known.designs.iter();
                known
                    .find(|(known, _)| *known == id)
                    .map(|(_, sheet)| sheet)
            }
        };
        let what = |sheet: &DesignSheet| format!("{}: {}", sheet.name, self.design_words(sheet));
        Row {
            name: number,
            what: design.map_or_else(String::new, what),
            place: self.place(details.place_id),
            acquired: on(&details.acquired_on),
            more: listed([
                ("maker", &details.maker),
                ("batch", &details.batch),
                ("supplier", &details.supplier),
                ("price", &details.price),
                ("first used", &on(&details.first_used_on)),
                ("notes", &details.notes),
            ]),
            ..Row::default()
        }
    }

    fn kit(&self, number: String, sheet: &KitSheet) -> Row {
        let kind: KitKind = sheet.spec.kind();
        let spec = sheet.spec.clone().with_names(&self.opened.known.families);
        let count = if kind.is_counted() {
            sheet.owned_count.to_string()
        } else {
            String::new()
        };
        Row {
            name: number,
            what: format!("{}: {}", kind.label(), spec.summary(self.who.numbers())),
            place: self.place(sheet.place_id),
            more: listed([
                ("owned", &count),
                ("name", &sheet.name),
                ("maker", &sheet.maker),
                ("notes", &sheet.notes),
            ]),
            ..Row::default()
        }
    }

    fn design_words(&self, sheet: &DesignSheet) -> String {
        let families = &self.opened.known.families;
        words_of(
            &sheet.build(),
            &sheet.connector,
            families,
            self.who.numbers(),
        )
    }

    fn place(&self, id: Option<Uuid>) -> String {
        let mut places = self.opened.known.places.iter();
        let found = places.find(|(place, _)| Some(*place) == id);
        found.map_or_else(String::new, |(_, name)| name.clone())
    }
}

/// `maker: Mill, notes: new wrap`, of what is said, and no more of it than fits a row.
fn listed<const N: usize>(said: [(&str, &String); N]) -> String {
    let said = said.into_iter().filter(|(_, words)| !words.is_empty());
    let said: Vec<String> = said
        .map(|(name, words)| format!("{name}: {}", shortened(words, LONGEST)))
        .collect();
    said.join(", ")
}
