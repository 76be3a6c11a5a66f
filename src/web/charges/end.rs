//! Ending a charge: what was wrong and dangerous volts are stored whatever else of the form can't be read, and also where somebody
//! ended it meanwhile.

use super::{ChargePage, EndForm, one, page_of};
use crate::actions::charging::{self, ChargeRefusal, Ended};
use crate::actions::reading::{self, LogVoltsRefusal, Logged, Measured};
use crate::actions::volts_now::is_danger;
use crate::app::App;
use crate::battery::volts::{Volts, read_typed, words};
use crate::bench::form::Refusal;
use crate::bench::typed::Words;
use crate::club::charging::Outcome;
use crate::club::reading::Rested;
use crate::club::reading::asked_first::AskedFirst;
use crate::store::charges::Listed;
use crate::store::packs;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::pack_forms::looked;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::SignedIn;
use crate::web::volts_form::is_split;
use axum::extract::State;
use uuid::Uuid;

/// POST /charges/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let running = one(&app, id).await?;
    let mut form = typed(&fields);
    let is_danger = form.looked.is_danger();
    let mut problems = Problems::default();
    let moved_mah = fields.count("mah").filter(|mah| *mah >= 0);
    if moved_mah.is_none() && !form.mah.is_empty() {
        problems.add("mah", ChargeRefusal::Mah.to_string());
    }
    let volts = typed_volts(&running, &mut form, who.numbers(), &mut problems);
    let said = Ended {
        // Whatever else was ticked: something was wrong.
        outcome: if is_danger {
            Some(Outcome::Wrong)
        } else {
            Outcome::from_code(&form.outcome)
        },
        moved_mah,
        is_mah_confirmed: is_mah_confirmed(&form),
        volts: volts.as_ref(),
        is_confirmed: is_confirmed(&form.confirmed, volts.as_ref()),
        words: &form.words,
        looked: &form.looked,
    };
    // What was wrong is stored at once, whatever else can't be read.
    let is_wrong = said.outcome == Some(Outcome::Wrong) && !form.words.trim().is_empty();
    if problems.is_empty() || is_wrong {
        match charging::end(&app.db, &who.by(&fields), id, &said).await {
            Ok(address) => return page::go_to(&address),
            Err(ChargeRefusal::Repeat(repeat)) => return again(&repeat),
            Err(ChargeRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => {
                let told = who.numbers().sentence(&refusal.to_string());
                match &refusal {
                    ChargeRefusal::AskedFirst(asked) => {
                        form.to_confirm = to_confirm(asked, volts.as_ref());
                    }
                    ChargeRefusal::TooMuchForTime(_) => form.mah_to_confirm.clone_from(&form.mah),
                    _ => {}
                }
                problems.extend(Problems::one(refusal.field(), told).by(refusal.against()));
            }
        }
    }
    if let Some(volts) = &volts {
        keep_danger(&app, &who, (&running, volts), (&mut form, &mut problems)).await?;
    }
    let shell = who.shell_refused(format!(
        "{} on {}",
        running.pack_number, running.charger_number
    ));
    page::put_right(&ChargePage {
        problems,
        ..page_of(&who, running, shell, form)
    })
}

fn typed(fields: &Fields) -> EndForm {
    let looked = looked(fields, "");
    let words = fields.text("words");
    let is_seen_alone = looked.is_danger() && words.trim().is_empty();
    EndForm {
        outcome: fields.text("outcome"),
        mah: fields.text("mah"),
        mah_confirmed: fields.text("mah_confirmed"),
        volts: fields.text("volts_line"),
        confirmed: fields.text("confirmed"),
        // Kept, should the form be refused for something else.
        mah_to_confirm: fields.text("mah_confirmed"),
        to_confirm: fields.text("confirmed"),
        words: if is_seen_alone {
            looked.words().unwrap_or_default()
        } else {
            words
        },
        looked,
    }
}

/// Dangerous volts are stored whatever else of the form is wrong, and leave it: sent once more they would be another reading.
async fn keep_danger(
    app: &App,
    who: &SignedIn,
    (running, volts): (&Listed, &Volts),
    (form, problems): (&mut EndForm, &mut Problems),
) -> Result<(), PageError> {
    let pack = packs::by_id(&mut app.db.read().await?, running.charge.pack_id).await?;
    let by = who.by(&Fields::default());
    let measured = Measured::Read {
        volts: volts.clone(),
        rested: Rested::JustUsed,
        is_confirmed: is_confirmed(&form.confirmed, Some(volts)),
    };
    let Some(pack) = pack.filter(|pack| is_danger(&by, pack, &measured)) else {
        return Ok(());
    };
    let logged = Logged::volts(&measured, false);
    match reading::keep_danger(&app.db, &by, pack.id, logged).await {
        Ok(_) => {
            form.volts = String::new();
            let stored = "These volts tell of danger: they are stored, and the pack is in quarantine. Don't type them again.";
            problems.add("volts_line", stored.to_owned());
            Ok(())
        }
        Err(LogVoltsRefusal::Store(error)) => Err(error.into()),
        // Nothing is read on a pack that is gone.
        Err(_) => Ok(()),
    }
}

/// A tick holds for just the volts it was asked of; a program says it of what it sends.
fn is_confirmed(ticked: &str, volts: Option<&Volts>) -> bool {
    volts.is_some_and(|volts| ticked == "yes" || ticked == volts.to_text())
}

/// The same of mAh.
fn is_mah_confirmed(form: &EndForm) -> bool {
    !form.mah.is_empty() && (form.mah_confirmed == "yes" || form.mah_confirmed == form.mah)
}

fn to_confirm(asked: &AskedFirst, volts: Option<&Volts>) -> String {
    let volts = volts.filter(|_| asked.may_be_so);
    volts.map_or_else(String::new, Volts::to_text)
}

/// The volts as typed; where a row of digits was parted by the program, the line is given back to be sent again.
fn typed_volts(
    one: &Listed,
    form: &mut EndForm,
    numbers: Words,
    problems: &mut Problems,
) -> Option<Volts> {
    if form.volts.trim().is_empty() {
        return None;
    }
    let read = read_typed(&form.volts, one.cells_series, one.sees_cells);
    let volts = read
        .map_err(|problem| problems.add("volts_line", numbers.sentence(&problem.to_string())))
        .ok()?;
    if is_split(&form.volts, &volts) {
        form.volts = numbers.sentence(&words(&volts));
        problems.add(
            "volts_line",
            format!(
                "This was read as {}. If that is right, send it again.",
                form.volts
            ),
        );
        return None;
    }
    Some(volts)
}
