//! Volts that somebody of the club types beside a report on a pack.

use super::{Of, Source};
use crate::actions::reading::Measured;
use crate::club::reading::Rested;
use crate::store::packs::PackView;
use crate::web::fields::{Fields, Problems};
use crate::web::visit::SignedIn;
use crate::web::volts_form::VoltsForm;

pub(super) const LEFT_OUT: &str = "Its volts could not be read: log them on its page.";

pub(super) const WAITED: &str = "Its volts as a reading: they were measured before it came. Measure again and log them on its page.";

pub(super) const NOBODYS: &str = "Its volts: nobody of the club was signed in any more as it came. Measure again and log them on its page.";

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
