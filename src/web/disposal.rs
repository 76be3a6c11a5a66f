//! Getting rid of a retired pack: what is asked, read back once, then done for good. Afterwards this is the page that says what
//! the pack was and where it went.

use crate::actions::disposal::{self, DisposalFailed};
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::calendar::{Day, day_words};
use crate::club::disposal::{ADVICE, DisposalRefusal, Harmless, Told};
use crate::club::states::Life;
use crate::paper::photo::MOST_BYTES;
use crate::store::book::disposals::{self, Disposal};
use crate::store::findings;
use crate::store::packs::PackView;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::first_minute::Advice;
use crate::web::pack::again;
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page, PageError};
use crate::web::photos::{made, served};
use crate::web::stop::with_local_first;
use crate::web::upload::Upload;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

page::puts_right!(DisposalPage);

#[derive(Template)]
#[template(path = "quarantine/disposal.html")]
struct DisposalPage {
    shell: Shell,
    problems: Problems,
    number: String,
    what: String,
    typed: Fields,
    /// It was done; what is on record of it.
    done: Option<Disposal>,
    day: String,
    how: &'static str,
    may_dispose: bool,
    is_retired: bool,
    /// Why it waits: its watch goes on.
    waits: Option<DisposalRefusal>,
    may_name: bool,
    /// Before any of it is done.
    advice: Vec<Advice>,
}

impl DisposalPage {
    fn is_chosen(&self, harmless: &Harmless) -> bool {
        self.typed.text("harmless") == harmless.code()
    }
}

async fn disposal_page(
    app: &App,
    who: &SignedIn,
    (pack, is_watched): &(PackView, bool),
    (problems, typed): (Problems, Fields),
) -> Result<DisposalPage, PageError> {
    let done = disposals::of_pack(&mut app.db.read().await?, pack.id).await?;
    let title = format!("Disposal of {}", pack.number);
    let day = done.as_ref().and_then(|done| Day::parse(&done.disposed_on));
    let how = done
        .as_ref()
        .and_then(|done| Harmless::from_code(&done.harmless));
    Ok(DisposalPage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        problems,
        number: pack.number.clone(),
        what: who.numbers().sentence(&what_it_is(pack)),
        typed,
        day: day.map_or_else(String::new, day_words),
        how: how.map_or("", Harmless::label),
        may_dispose: who.me.is_quartermaster,
        is_retired: pack.life() == Life::Retired,
        waits: is_watched.then_some(DisposalRefusal::StillWatched),
        may_name: who.me.roles().may_see_holders(),
        advice: with_local_first(&ADVICE),
        done,
    })
}

/// The pack, and whether its watch goes on.
async fn looked_up(app: &App, number: &str) -> Result<(PackView, bool), PageError> {
    let one = findings::with_pack(&mut app.db.read().await?, &number.to_uppercase()).await?;
    let care = one.ok_or(PageError::NotFound)?.care;
    Ok((care.pack, care.is_watch_on))
}

/// GET /packs/{number}/disposal
pub async fn show(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let pack = looked_up(&app, &number).await?;
    let fresh = (Problems::default(), Fields::default());
    page::show(&disposal_page(&app, &who, &pack, fresh).await?)
}

fn told<'a>(fields: &Fields, texts: &'a [String; 2]) -> Told<'a> {
    Told {
        harmless: Harmless::from_code(&fields.text("harmless")),
        are_terminals_taped: fields.is_ticked("taped"),
        handed_in: &texts[0],
        receipt: &texts[1],
        disposed_on: Day::parse(&fields.text("disposed_on")),
        mass_g: fields.count("mass_g"),
    }
}

/// POST /packs/{number}/disposal: first checked and asked for once more, since it is for good.
pub async fn dispose(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    sent: Upload<MOST_BYTES>,
) -> Page {
    let pack = looked_up(&app, &number).await?;
    let (fields, file) = (sent.fields, sent.file);
    let by = who.by(&fields);
    let texts = [fields.text("handed_in"), fields.text("receipt")];
    let told = told(&fields, &texts);
    let mut problems = Problems::default();
    let photo = match file {
        None => None,
        Some(file) => match made(&app, Some(file)).await? {
            Ok(picture) => Some(picture),
            Err(words) => {
                problems.add("photo", words);
                None
            }
        },
    };
    let outcome = if !problems.is_empty() || !fields.is_ticked("for_good") {
        let checked = disposal::may(&app.db, &by, pack.0.id, &told).await;
        checked.map(|()| String::new())
    } else {
        disposal::dispose(&app.db, &by, pack.0.id, (&told, photo.as_ref())).await
    };
    match outcome {
        Ok(address) if !address.is_empty() => return page::go_to(&address),
        Ok(_) if problems.is_empty() => {
            let words = "It is for good. Read it once more, and tick that it is right.";
            problems.add("for_good", words);
        }
        Ok(_) => {}
        Err(DisposalFailed::Repeat(repeat)) => return again(&repeat),
        Err(DisposalFailed::Store(error)) => return Err(error.into()),
        Err(DisposalFailed::NoPack) => return Err(PageError::NotFound),
        Err(DisposalFailed::Told(found)) => problems.extend(found.into()),
        Err(DisposalFailed::Refused(refusal)) => {
            problems = Problems::refused("harmless", &refusal).by(refusal.against());
        }
    }
    page::put_right(&disposal_page(&app, &who, &pack, (problems, fields)).await?)
}

/// GET /packs/{number}/disposal/photo: the receipt.
pub async fn photo(State(app): State<App>, _: SignedIn, Path(number): Path<String>) -> Page {
    let number = number.to_uppercase();
    served(disposals::photo(&mut app.db.read().await?, &number).await?)
}
