//! GET and POST /night: open the night once, close it when the hall is locked.

use crate::actions::night::{self, NewNight, NightRefusal};
use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::people::Role;
use crate::store::names;
use crate::store::nights::{self, Night};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

page::puts_right!(NightPage);

#[derive(Template)]
#[template(path = "night.html")]
struct NightPage {
    shell: Shell,
    /// Opens and closes it.
    may_change: bool,
    night: Option<Night>,
    /// What is out and closing the night brings nothing of back: `7 things are`; empty: nothing is.
    still_out: String,
    /// `Thu 26 Nov 2026, 22:00`
    ends: String,
    problems: Problems,
    form: NightForm,
    places: Vec<(String, String)>,
    people: Vec<(String, String)>,
}

struct NightForm {
    place: String,
    on_duty: String,
    ends_on: String,
    ends_at: String,
}

async fn page_for(
    app: &App,
    (shell, may_change): (Shell, bool),
    form: NightForm,
    problems: Problems,
) -> Result<NightPage, PageError> {
    let mut conn = app.db.read().await?;
    let (night, out) = nights::with_what_is_out(&mut conn).await?;
    let choices = names::places_and_active_people(&mut conn).await?;
    let of_kind = |is_place: bool| {
        let of_it = choices.iter().filter(|(kind, _, _)| *kind == is_place);
        of_it
            .map(|(_, id, name)| (id.to_string(), name.clone()))
            .collect()
    };
    let ends = night.as_ref().map_or_else(String::new, |night| {
        let day = night
            .ends_day()
            .map_or_else(|| night.ends_on.clone(), day_words);
        format!("{day}, {}", night.ends_at)
    });
    Ok(NightPage {
        shell,
        may_change,
        night,
        still_out: match out {
            0 => String::new(),
            1 => "1 thing of the club's is".to_owned(),
            _ => format!("{out} things of the club's are"),
        },
        ends,
        problems,
        form,
        places: of_kind(true),
        people: of_kind(false),
    })
}

/// GET /night
pub async fn show(State(app): State<App>, who: SignedIn) -> Page {
    let form = NightForm {
        place: String::new(),
        on_duty: String::new(),
        ends_on: who.zone.day_of(who.now).to_string(),
        ends_at: String::new(),
    };
    let shell = (who.shell("Tonight"), who.has(Role::Quartermaster));
    page::show(&page_for(&app, shell, form, Problems::default()).await?)
}

/// POST /night
pub async fn open(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = NightForm {
        place: fields.text("place"),
        on_duty: fields.text("on_duty"),
        ends_on: fields.text("ends_on"),
        ends_at: fields.text("ends_at"),
    };
    let outcome = match (
        fields.id("place"),
        fields.id("on_duty"),
        Day::parse(&form.ends_on),
    ) {
        (None, _, _) => Err(NightRefusal::NoPlace),
        (_, None, _) => Err(NightRefusal::NoPerson),
        (_, _, None) => Err(NightRefusal::End),
        (Some(place_id), Some(on_duty_id), Some(ends_on)) => {
            let new = NewNight {
                place_id,
                on_duty_id,
                ends_on,
                ends_at: form.ends_at.clone(),
            };
            night::open(&app.db, &who.by(&fields), &new).await
        }
    };
    match outcome {
        Ok(()) => page::go_to("/night"),
        Err(NightRefusal::Repeat(repeat)) => again(&repeat),
        Err(NightRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::refused(refusal.field(), &refusal);
            let shell = (who.shell_refused("Tonight"), true);
            page::put_right(&page_for(&app, shell, form, problems).await?)
        }
    }
}

/// POST /night/close
pub async fn close(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    match night::close(&app.db, &who.by(&fields)).await {
        Ok(()) => page::go_to("/night"),
        Err(NightRefusal::Repeat(repeat)) => again(&repeat),
        Err(NightRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
