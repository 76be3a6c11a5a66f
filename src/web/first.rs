//! The very first page: whoever read the code on the console starts the club, or looks round the demo club; and the
//! page that ends the demo again.

use crate::actions::demo::{self, DemoRefusal};
use crate::actions::set_up::{self, NewClub, SetUpRefusal};
use crate::actions::sign_in;
use crate::app::App;
use crate::club::calendar::Instant;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::sign_in::{device_of, set_session};
use crate::web::visit::{Shell, SignedIn, Visit};
use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use tracing::Instrument;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "start.html")]
struct StartPage {
    shell: Shell,
    problems: Problems,
    form: StartForm,
}

#[derive(Default)]
struct StartForm {
    code: String,
    /// `club` or `demo`
    kind: String,
    club: String,
    zone: String,
    name: String,
    sign_in: String,
}

impl StartForm {
    fn new_club(&self, password: &str) -> NewClub {
        NewClub {
            name: self.club.clone(),
            time_zone: self.zone.clone(),
            person_name: self.name.clone(),
            sign_in: self.sign_in.clone(),
            password: password.to_owned(),
        }
    }
}

/// GET /start
pub async fn ask_code(visit: Visit) -> Page {
    page::show(&StartPage {
        shell: visit.shell("Start"),
        problems: Problems::default(),
        form: StartForm::default(),
    })
}

/// The form that started the club or the demo, and what its repeat is answered with.
pub struct Started {
    key: String,
    body_hash: String,
    answer: Answer,
}

enum Answer {
    /// The way on; signing in is asked there of whoever never got the first answer.
    Club,
    Demo(Vec<demo::SignIn>),
}

impl Started {
    fn by(fields: &Fields, answer: Answer) -> Self {
        Self {
            key: fields.text("key"),
            body_hash: fields.body_hash(),
            answer,
        }
    }

    /// The same form again, its code and password the same.
    fn is_by(&self, fields: &Fields) -> bool {
        let key = fields.text("key");
        !key.is_empty() && key == self.key && fields.body_hash() == self.body_hash
    }
}

/// POST /start: while there is no club, and again for the form that started it.
pub async fn start(
    State(app): State<App>,
    visit: Visit,
    headers: HeaderMap,
    fields: Fields,
) -> Page {
    app.limits.secret(visit.network)?;
    // To its end, whether or not the browser waits for it: half a demo is none.
    let work = carry_out(app, visit, headers, fields);
    let carried = tokio::spawn(work.in_current_span()).await;
    carried.unwrap_or_else(|error| Err(PageError::Internal(error.to_string())))
}

async fn carry_out(app: App, visit: Visit, headers: HeaderMap, fields: Fields) -> Page {
    let mut first_answer = app.first_answer.lock().await;
    if let Some(started) = first_answer.as_ref().filter(|one| one.is_by(&fields)) {
        return match &started.answer {
            Answer::Club => page::go_to("/"),
            Answer::Demo(sign_ins) => show_demo(&visit, sign_ins.clone()),
        };
    }
    if visit.club.is_some() {
        return Err(PageError::NotFound);
    }
    let form = StartForm {
        code: fields.text("code"),
        kind: fields.text("kind"),
        club: fields.text("club"),
        zone: fields.text("zone"),
        name: fields.text("name"),
        sign_in: fields.text("sign_in"),
    };
    let is_right = is_same_code(&form.code, &app.set_up_code());
    let new = form.new_club(fields.raw("password"));
    let problems = problems_of(&form, is_right, &new);
    if !problems.is_empty() {
        return refuse(&visit, form, problems);
    }
    let (answer, page) = if form.kind == "demo" {
        match demo::start(&app.db, &app.hasher, (visit.now, &visit.base)).await {
            Ok(sign_ins) => (Answer::Demo(sign_ins.clone()), show_demo(&visit, sign_ins)),
            Err(DemoRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => {
                return refuse(&visit, form, Problems::one("kind", refusal.to_string()));
            }
        }
    } else {
        match set_up::start_club(&app.db, &app.hasher, new, visit.now).await {
            Ok(person_id) => (
                Answer::Club,
                sign_in_first(&app, &headers, (person_id, visit.now)).await,
            ),
            Err(SetUpRefusal::Store(error)) => return Err(error.into()),
            Err(refusal) => {
                return refuse(&visit, form, Problems::one("club", refusal.to_string()));
            }
        }
    };
    *first_answer = Some(Started::by(&fields, answer));
    page
}

/// All that is to be put right, in the order of the form.
fn problems_of(form: &StartForm, is_right: bool, new: &NewClub) -> Problems {
    let mut problems = Problems::default();
    if !is_right {
        let words = "That is not the code on the console. The server prints it when it starts.";
        problems.add("code", words);
    }
    if !["club", "demo"].contains(&form.kind.as_str()) {
        let words = "Choose: start your own club, or look round the demo club.";
        problems.add("kind", words);
    }
    if let ("club", Err(wrong)) = (form.kind.as_str(), set_up::checked(new)) {
        for one in wrong {
            problems.add(one.field(), one.to_string());
        }
    }
    problems
}

#[derive(Template)]
#[template(path = "demo_started.html")]
struct DemoStartedPage {
    shell: Shell,
    sign_ins: Vec<demo::SignIn>,
}

/// Not an address of its own: the passwords are shown to who sent the form, and to nobody once one of them signed in.
fn show_demo(visit: &Visit, sign_ins: Vec<demo::SignIn>) -> Page {
    page::show(&DemoStartedPage {
        shell: visit.shell("The demo club"),
        sign_ins,
    })
}

#[derive(Template)]
#[template(path = "demo_end.html")]
struct DemoEndPage {
    shell: Shell,
}

/// GET /demo/end
pub async fn ask_end(who: SignedIn) -> Page {
    if !who.club.is_demo {
        return Err(PageError::NotFound);
    }
    page::show(&DemoEndPage {
        shell: who.shell("End the demo"),
    })
}

/// POST /demo/end
pub async fn end(State(app): State<App>, _: SignedIn, _: Fields) -> Page {
    match demo::end(&app.db).await {
        Ok(()) => {
            app.first_answer.lock().await.take();
            app.renew_set_up_code();
            println!("The demo was ended. {}", app.set_up_words());
            page::go_to("/start")
        }
        Err(DemoRefusal::Store(error)) => Err(error.into()),
        Err(_) => Err(PageError::NotFound),
    }
}

fn refuse(visit: &Visit, form: StartForm, problems: Problems) -> Page {
    page::refused(&StartPage {
        shell: visit.shell_refused("Start"),
        problems,
        form,
    })
}

async fn sign_in_first(app: &App, headers: &HeaderMap, who: (Uuid, Instant)) -> Page {
    let (person_id, now) = who;
    let token = sign_in::begin_session(&app.db, person_id, &device_of(headers), now).await?;
    Ok(set_session(app, page::go_to("/")?, &token))
}

/// Compared by digest, so that time tells nothing of how many letters were right.
fn is_same_code(typed: &str, held: &str) -> bool {
    let plain = |code: &str| {
        let letters: String = code.chars().filter(char::is_ascii_alphanumeric).collect();
        crate::ids::digest(&letters.to_ascii_lowercase())
    };
    plain(typed) == plain(held)
}
