//! What is typed of each pack where many are read in one form: as it stands on the page, and as it is read.

use crate::actions::By;
use crate::actions::correction::Correction;
use crate::actions::reading::{Logged, Measured};
use crate::bench::typed::Words;
use crate::club::beside_form::BesideForm;
use crate::club::reading::Rested;
use crate::club::reading::beside::Beside;
use crate::store::packs::PackView;
use crate::store::readings::to_read::ToRead;
use crate::web::fields::{Fields, Problems};
use crate::web::pack_row::PackRow;
use crate::web::visit::SignedIn;
use crate::web::volts_form::VoltsForm;
use uuid::Uuid;

/// One pack on the page, with what was typed of it.
pub(super) struct PackToRead {
    pub pack: PackView,
    pub row: PackRow,
    suffix: String,
    pub volts: VoltsForm,
    pub beside: BesideForm,
    pub is_unchecked: bool,
    pub is_looked_over: bool,
    /// Its dangerous volts are on record as this reading, which the form put right corrects.
    pub corrects: Option<Uuid>,
}

impl PackToRead {
    pub fn of(one: &ToRead, who: &SignedIn, fields: &Fields) -> Self {
        let pack = one.pack.clone();
        let suffix = format!("-{}", pack.number);
        Self {
            row: PackRow::of(&pack, who),
            volts: VoltsForm::of(fields, &suffix),
            beside: BesideForm::of_one_among(fields, &suffix),
            is_unchecked: one.is_unchecked,
            is_looked_over: fields.is_ticked(&format!("looked_over{suffix}")),
            corrects: fields.id(&format!("corrects{suffix}")),
            pack,
            suffix,
        }
    }

    pub fn sees_cells(&self) -> bool {
        self.pack.balance_connector.is_some()
    }

    pub fn has_resistance(&self) -> bool {
        self.sees_cells() || self.pack.cells_series == 1 || !self.beside.resistance.is_empty()
    }

    fn is_untouched(&self) -> bool {
        let is_ticked = self.is_looked_over || !self.volts.confirmed.is_empty();
        !self.volts.has_volts() && self.beside.resistance.is_empty() && !is_ticked
    }

    pub fn field(&self, name: &str) -> String {
        format!("{name}{}", self.suffix)
    }

    /// What is wrong beside its volts: its own, and what is said once for all.
    fn note(&self, wrong: &Problems, problems: &mut Problems) {
        for (field, words) in wrong.list() {
            match field.as_str() {
                "resistance" => {
                    let words = format!("{}: {words}", self.pack.number);
                    problems.add(&self.field("resistance"), words);
                }
                shared => problems.add(shared, words.clone()),
            }
        }
    }

    pub fn logged<'a>(&self, measured: &'a Measured, beside: &'a Beside) -> Logged<'a> {
        let corrects = self.corrects.map(|id| Correction { id, why: "" });
        Logged {
            measured,
            beside: Some(beside),
            corrects,
            is_looked_over: self.is_looked_over,
        }
    }
}

/// What was read on one pack of the page.
pub(super) struct ReadOnOne {
    pub pack_id: Uuid,
    /// None: its volts can't be read.
    pub measured: Option<Measured>,
    pub beside: Beside,
    pub is_right: bool,
}

/// What was read, with what must be put right noted beside each pack and once for what is said once.
pub(super) fn read_all(
    packs: &mut [PackToRead],
    rested: &str,
    by: &By,
    numbers: Words,
) -> (Vec<ReadOnOne>, Problems) {
    let rested = Rested::from_code(rested);
    let (mut read, mut all) = (Vec::new(), Problems::default());
    for one in packs.iter_mut().filter(|one| !one.is_untouched()) {
        let (beside, wrong) = one.beside.read(&one.pack.build(), numbers);
        let mut problems = Problems::default();
        let measured = match one.volts.read_or_ask(by, &one.pack, rested, numbers) {
            Ok(measured) => Some(measured),
            Err(wrong) => {
                wrong.note(&mut problems, &one.suffix);
                None
            }
        };
        one.note(&wrong, &mut problems);
        read.push(ReadOnOne {
            pack_id: one.pack.id,
            measured,
            beside,
            is_right: problems.is_empty(),
        });
        for (field, words) in problems.list() {
            if all.of(field).is_empty() {
                all.add(field, words.clone());
            }
        }
    }
    if read.is_empty() {
        let first = packs.first().map(|one| one.field("volts_line"));
        let field = first.unwrap_or_else(|| "place".to_owned());
        all.add(&field, "Type the volts of one pack at least.");
    }
    (read, all)
}
