//! Volts typed while handing out, under names that carry the pack's number: kept on every refusal, until they are stored.

use crate::actions::By;
use crate::actions::at_table::{is_unlooked, pack_meant};
use crate::actions::reading::Measured;
use crate::actions::volts_now::{asked_first, is_danger};
use crate::app::App;
use crate::club::lending::read_numbers;
use crate::club::reading::Rested;
use crate::store::packs::PackView;
use crate::web::fields::{Fields, Problems};
use crate::web::page::PageError;
use crate::web::scanned;
use crate::web::visit::SignedIn;
use crate::web::volts_form::{VoltsForm, to_confirm};

/// One pack on the page: what is asked of it and what was typed.
pub(super) struct LogNow {
    pub number: String,
    pub line: String,
    pub problem: String,
    /// None: it shows no cells, its volts are those of the whole pack.
    pub cells: Option<i64>,
    /// It is booked in with its volts.
    pub is_out: bool,
    /// It counts as out or came back unchecked, so somebody has to have looked at it.
    pub is_unlooked: bool,
    pub is_looked_at: bool,
    /// The very volts that were asked about, to say that they are so, and whether that was said; empty: nothing is asked.
    pub to_confirm: String,
    pub is_confirmed: bool,
}

/// Volts of one pack as they were typed at the table, and whether it was looked over.
pub(super) struct TypedVolts {
    pack: PackView,
    /// Its number as the form has it.
    name: String,
    line: String,
    is_unlooked: bool,
    is_looked_at: bool,
    /// What it was said to be so, as the form has it.
    confirmed: String,
    to_confirm: String,
}

impl TypedVolts {
    pub fn number(&self) -> &str {
        &self.pack.number
    }
}

impl LogNow {
    pub fn of(typed: TypedVolts, problems: &Problems) -> Self {
        let pack = typed.pack;
        Self {
            problem: problems
                .of(&format!("volts_line-{}", typed.name))
                .to_owned(),
            cells: pack.balance_connector.as_ref().map(|_| pack.cells_series),
            is_out: pack.is_lent(),
            is_unlooked: typed.is_unlooked,
            is_looked_at: typed.is_looked_at,
            is_confirmed: !typed.confirmed.is_empty() && typed.confirmed == typed.to_confirm,
            to_confirm: typed.to_confirm,
            line: typed.line,
            number: pack.number,
        }
    }
}

/// Packs whose volts could mend what refuses them, with what was typed already.
pub(super) async fn to_type(
    app: &App,
    asked: Vec<PackView>,
    mut typed: Vec<TypedVolts>,
) -> Result<Vec<TypedVolts>, PageError> {
    let mut conn = app.db.read().await?;
    let mut all = Vec::new();
    for pack in asked {
        let before = typed.extract_if(.., |one| one.pack.id == pack.id).next();
        let is_unlooked = is_unlooked(&mut conn, &pack).await?;
        all.push(match before {
            Some(before) => TypedVolts {
                name: pack.number.clone(),
                is_unlooked,
                pack,
                ..before
            },
            None => TypedVolts {
                name: pack.number.clone(),
                line: String::new(),
                is_unlooked,
                is_looked_at: false,
                confirmed: String::new(),
                to_confirm: String::new(),
                pack,
            },
        });
    }
    Ok(all)
}

/// Numbers of packs whose volts are dangerous.
pub(super) fn dangerous(by: &By, typed: &[TypedVolts], read: &[(String, Measured)]) -> Vec<String> {
    let is_so = |one: &&TypedVolts| {
        read.iter().any(|(number, measured)| {
            *number == one.pack.number && is_danger(by, &one.pack, measured)
        })
    };
    let numbers = typed.iter().filter(is_so);
    numbers.map(|one| one.pack.number.clone()).collect()
}

/// Numbers of packs that were looked over.
pub(super) fn looked_at(typed: &[TypedVolts]) -> Vec<String> {
    let looked_at = typed.iter().filter(|one| one.is_looked_at);
    looked_at.map(|one| one.pack.number.clone()).collect()
}

/// The packs whose volts were typed at the table; more than fifty are nobody's evening. A number is read as in the line of
/// what goes out; what names no pack, or one that was named before, is noted under `volts_number-`.
pub(super) async fn typed(
    app: &App,
    fields: &Fields,
    problems: &mut Problems,
) -> Result<Vec<TypedVolts>, PageError> {
    let looked_at = fields.all("looked_at");
    let mut typed: Vec<TypedVolts> = Vec::new();
    for (name, line) in lines(fields).take(50) {
        let said = scanned::as_numbers(app, name).await?;
        let mut conn = app.db.read().await?;
        let pack = match read_numbers(&said).as_deref() {
            Ok([one]) => pack_meant(&mut conn, one).await?,
            _ => None,
        };
        let field = format!("volts_number-{name}");
        let Some(pack) = pack else {
            let name: String = name.chars().take(40).collect();
            problems.add(&field, format!("There is no pack “{name}”."));
            continue;
        };
        if typed.iter().any(|one| one.pack.id == pack.id) {
            let words = format!("{} is named twice: say its volts once.", pack.number);
            problems.add(&field, words);
        }
        typed.push(TypedVolts {
            name: name.to_owned(),
            line: line.trim().to_owned(),
            is_unlooked: is_unlooked(&mut conn, &pack).await?,
            is_looked_at: looked_at.iter().any(|looked_at| looked_at == name),
            confirmed: fields.text(&format!("confirmed-{name}")),
            to_confirm: fields.text(&format!("confirmed-{name}")),
            pack,
        });
    }
    Ok(typed)
}

/// Number and volts, as the form has them.
fn lines(fields: &Fields) -> impl Iterator<Item = (&str, &str)> {
    let pairs = fields.pairs().iter();
    pairs.filter_map(|(name, line)| Some((name.strip_prefix("volts_line-")?, line.as_str())))
}

/// What was measured, and what must be put right. A danger counts also where nobody looked the pack over.
pub(super) fn measured(
    who: &SignedIn,
    rested: &str,
    typed: &mut [TypedVolts],
    problems: &mut Problems,
) -> Vec<(String, Measured)> {
    let rested = Rested::from_code(rested);
    let by = who.by(&Fields::default());
    let mut read = Vec::new();
    for one in typed.iter_mut().filter(|one| !one.line.is_empty()) {
        let number = &one.pack.number;
        let field = format!("volts_line-{}", one.name);
        let is_missing_a_look = one.is_unlooked && !one.is_looked_at;
        if is_missing_a_look {
            let words = if one.pack.is_lent() {
                format!("{number} counts as out: look it over and say so, or take it back.")
            } else {
                format!("{number} came back unchecked: look it over and say so.")
            };
            problems.add(&field, words);
        }
        let mut volts = VoltsForm {
            line: one.line.clone(),
            confirmed: one.confirmed.clone(),
            ..VoltsForm::default()
        };
        match volts.measured_now(&by, &one.pack, rested, who.numbers()) {
            Ok(measured) if let Some(asked) = asked_first(&by, &one.pack, &measured) => {
                one.to_confirm = to_confirm(&asked, &measured).unwrap_or_default();
                problems.add(
                    &field,
                    format!("{number}: {}", who.numbers().sentence(&asked.words)),
                );
            }
            Ok(measured) if is_missing_a_look && !is_danger(&by, &one.pack, &measured) => {}
            Ok(measured) => read.push((number.clone(), measured)),
            Err(_) if is_missing_a_look => {}
            Err(wrong) => wrong.note(problems, &format!("-{}", one.name)),
        }
        one.line = volts.line;
    }
    read
}
