//! Volts that somebody of the club types beside a report on a pack.

use super::{Of, Source};
use crate::actions::reading::Measured;
use crate::club::reading::Rested;
use crate::store::packs::PackView;
use crate::web::fields::{Fields, Problems};
use crate::web::visit::SignedIn;
use crate::web::volts_form::VoltsForm;

pub(super) fn unreadable(fields: &Fields) -> String {
    let typed = as_typed(fields);
    format!("Its volts{typed} could not be read: log them on its page.")
}

pub(super) const WAITED: &str = "Its volts as a reading: they were measured before it came. Measure again and log them on its page.";

/// They count for nothing, and whoever goes to the pack knows what was seen there.
pub(super) fn nobodys(fields: &Fields) -> String {
    let typed = as_typed(fields);
    format!(
        "Its volts{typed}: nobody of the club was signed in any more as it came. Measure again and log them on its page."
    )
}

/// `, typed as “3.29 1.70”` of what volts are written with; empty where that is nothing.
fn as_typed(fields: &Fields) -> String {
    const MOST: usize = 100;
    let line = fields.text("volts_line");
    let signs = line
        .chars()
        .filter(|sign| sign.is_ascii_digit() || " .,;/+-Vv".contains(*sign));
    let typed: String = signs.take(MOST).collect();
    match typed.trim() {
        "" => String::new(),
        typed => format!(", typed as “{typed}”"),
    }
}

/// Typed by somebody of the club whose sign-in ended while the report waited.
pub(super) fn are_nobodys(who: Option<&SignedIn>, fields: &Fields) -> bool {
    who.is_none() && !fields.text("volts_line").trim().is_empty()
}

pub(super) fn volts(
    source: &Source,
    who: Option<&SignedIn>,
    fields: &Fields,
) -> Result<Option<Measured>, Problems> {
    match (&source.of, who) {
        (Of::Pack(_, Some(pack)), Some(who)) => of_pack(fields, pack, who),
        _ => Ok(None),
    }
}

fn of_pack(fields: &Fields, pack: &PackView, who: &SignedIn) -> Result<Option<Measured>, Problems> {
    let mut typed = VoltsForm::of(fields, "");
    if !typed.has_volts() || !who.me.roles().may_log_volts() {
        return Ok(None);
    }
    let rested = Rested::from_code(&fields.text("rested"));
    let by = who.by(fields);
    match typed.measured_now(&by, pack, rested, who.numbers()) {
        Ok(measured) => Ok(Some(measured)),
        Err(wrong) => {
            let mut problems = Problems::default();
            wrong.note(&mut problems, "");
            Err(problems)
        }
    }
}
