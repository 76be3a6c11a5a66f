//! The volts of one pack as they are typed on a page: a box for each cell, or all in one line, or why they could not be read.

use crate::actions::By;
use crate::actions::reading::Measured;
use crate::actions::volts_now::{asked_first, counts_at_once};
use crate::battery::volts::{self, Volts, read_boxes, read_typed};
use crate::bench::typed::Words;
use crate::club::reading::Rested;
use crate::club::reading::asked_first::AskedFirst;
use crate::store::packs::PackView;
use crate::store::readings::Reading;
use crate::web::fields::{Fields, Problems};

/// Of why volts could not be read.
pub const MOST_LETTERS: usize = 300;

/// The volts of one pack as a form has them, under names that end in `suffix`.
#[derive(Clone, Default)]
pub struct VoltsForm {
    pub line: String,
    pub boxes: Vec<String>,
    pub unread: String,
    /// `yes`, or the very volts that were asked about: others are asked about anew.
    pub confirmed: String,
    /// The very volts that are asked about, where they may be so: what a tick says of them. Empty: nothing is asked.
    pub to_confirm: String,
}

impl VoltsForm {
    pub fn of(fields: &Fields, suffix: &str) -> Self {
        Self {
            line: fields.text(&format!("volts_line{suffix}")),
            boxes: fields.all(&format!("volts{suffix}")),
            unread: fields.text(&format!("unread{suffix}")),
            confirmed: fields.text(&format!("confirmed{suffix}")),
            to_confirm: String::new(),
        }
    }

    /// As the reading has it, to be put right; empty without one.
    pub fn of_reading(reading: Option<&Reading>, numbers: Words) -> Self {
        let Some(reading) = reading else {
            return Self::default();
        };
        let volts = reading.volts.as_deref().and_then(Volts::from_text);
        let cells = match volts {
            Some(Volts::Cells(cells)) => cells,
            Some(Volts::Pack(mv)) => vec![mv],
            None => Vec::new(),
        };
        let typed = |mv: &i64| numbers.sentence(&volts::volts_words(*mv));
        Self {
            boxes: cells.iter().map(typed).collect(),
            ..Self::default()
        }
    }

    pub fn has_volts(&self) -> bool {
        !self.line.is_empty() || self.boxes.iter().any(|text| !text.is_empty())
    }

    pub fn is_confirmed(&self) -> bool {
        !self.confirmed.is_empty() && self.confirmed == self.to_confirm
    }

    /// As `measured_now`, for a form that is answered before anything of it is stored: volts that hardly any pack shows are asked
    /// about. Danger among them is none of these.
    pub fn read_or_ask(
        &mut self,
        by: &By,
        pack: &PackView,
        rested: Option<Rested>,
        numbers: Words,
    ) -> Result<Measured, Wrong> {
        // Kept, should the form be refused for something else.
        self.to_confirm.clone_from(&self.confirmed);
        let measured = self.measured_now(by, pack, rested, numbers)?;
        let Some(asked) = asked_first(by, pack, &measured) else {
            return Ok(measured);
        };
        self.to_confirm = to_confirm(&asked, &measured).unwrap_or_default();
        let words = format!("{}: {}", pack.number, numbers.sentence(&asked.words));
        Err(Wrong(vec![("volts_line", words)]))
    }

    /// As `measured`; what is dangerous counts though nobody said whether the pack rested: then as just used.
    pub fn measured_now(
        &mut self,
        by: &By,
        pack: &PackView,
        rested: Option<Rested>,
        numbers: Words,
    ) -> Result<Measured, Wrong> {
        let unsaid = rested.is_none().then_some(Rested::JustUsed);
        match unsaid.map(|rested| self.clone().measured(pack, Some(rested), numbers)) {
            Some(Ok(measured)) if counts_at_once(by, pack, &measured) => Ok(measured),
            _ => self.measured(pack, rested, numbers),
        }
    }

    /// What was measured, or what to put right. How digits alone are split into cells is shown before it is stored: the
    /// line then holds the cells, to be sent again.
    pub fn measured(
        &mut self,
        pack: &PackView,
        rested: Option<Rested>,
        numbers: Words,
    ) -> Result<Measured, Wrong> {
        let number = &pack.number;
        if !self.has_volts() {
            return match self.unread.clone() {
                why if read_typed(&why, pack.cells_series, false).is_ok() => Err(Wrong(vec![(
                    "volts_line",
                    format!("{number}: “{why}” reads like its volts. Type them as volts."),
                )])),
                why if why.is_empty() => Err(Wrong(vec![(
                    "volts_line",
                    format!("Type the volts of {number}, or say why they could not be read."),
                )])),
                why if why.chars().count() > MOST_LETTERS => Err(Wrong(vec![(
                    "unread",
                    format!("{number}: say in at most {MOST_LETTERS} letters why."),
                )])),
                why => Ok(Measured::Unread { why }),
            };
        }
        if !self.unread.is_empty() {
            let words = format!(
                "{number}: say its volts, or why they could not be read; empty the other one."
            );
            return Err(Wrong(vec![("volts_line", words)]));
        }
        if !self.line.is_empty() && self.boxes.iter().any(|text| !text.is_empty()) {
            let words =
                format!("{number}: volts stand in the boxes and in the line. Empty one of them.");
            return Err(Wrong(vec![("volts_line", words)]));
        }
        let mut wrong = Vec::new();
        if rested.is_none() {
            wrong.push(("rested", "Say whether the packs rested.".to_owned()));
        }
        let sees_cells = pack.balance_connector.is_some();
        let whole = self.boxes.first().filter(|_| !sees_cells);
        let read = match (self.line.is_empty(), whole) {
            (true, Some(whole)) => read_typed(whole, pack.cells_series, false),
            (true, None) => read_boxes(&self.boxes),
            (false, _) => read_typed(&self.line, pack.cells_series, sees_cells),
        };
        match &read {
            Err(problem) => wrong.push((
                "volts_line",
                format!("{number}: {}", numbers.sentence(&problem.to_string())),
            )),
            Ok(volts) if is_split(&self.line, volts) => {
                self.line = numbers.sentence(&volts::words(volts));
                let words = format!(
                    "{number}: this was read as {}. If that is right, send it again.",
                    self.line
                );
                wrong.push(("volts_line", words));
            }
            Ok(_) => {}
        }
        match (read, rested) {
            (Ok(volts), Some(rested)) if wrong.is_empty() => Ok(Measured::Read {
                is_confirmed: self.confirmed == "yes" || self.confirmed == volts.to_text(),
                volts,
                rested,
            }),
            _ => Err(Wrong(wrong)),
        }
    }
}

/// For each part of the form (`volts_line`, `unread`, `rested`) the sentence beside it.
pub struct Wrong(Vec<(&'static str, String)>);

impl Wrong {
    /// The parts with their sentences.
    pub fn into_parts(self) -> Vec<(&'static str, String)> {
        self.0
    }

    /// Notes it all against the fields of the pack whose names end in `suffix`; rest is asked once for all packs.
    pub fn note(self, problems: &mut Problems, suffix: &str) {
        for (part, words) in self.0 {
            match part {
                "rested" if problems.of(part).is_empty() => problems.add(part, words),
                "rested" => {}
                _ => problems.add(&format!("{part}{suffix}"), words),
            }
        }
    }
}

/// A tick that says that just these volts are so; where it may be so.
pub(super) fn to_confirm(asked: &AskedFirst, measured: &Measured) -> Option<String> {
    match measured {
        Measured::Read { volts, .. } if asked.may_be_so => Some(volts.to_text()),
        _ => None,
    }
}

/// Several cells in one row of digits: where they part was decided by the program.
pub(super) fn is_split(line: &str, volts: &Volts) -> bool {
    let is_row = !line.is_empty() && line.trim().bytes().all(|byte| byte.is_ascii_digit());
    is_row && matches!(volts, Volts::Cells(cells) if cells.len() > 1)
}
