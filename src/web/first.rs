//! The very first page: whoever read the code on the console starts the club, or looks round the demo club; and the
//! page that ends the demo again.

use crate::actions::demo::{self, DemoRefusal};
use crate::actions::set_up::{self, NewClub, SetUpRefusal};
use crate::actions::sign_in;
use crate::app::App;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::sign_in::{device_of, set_session};
use crate::web::visit::{Shell, SignedIn, Visit};
use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;

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
    let form = StartForm {
        zone: "Europe/London".to_owned(),
        ..StartForm::default()
    };
    page::show(&StartPage {
        shell: visit.shell("Start"),
        problems: Problems::default(),
        form,
    })
}

/// POST /start
pub async fn start(
    State(app): State<App>,
    visit: Visit,
    headers: HeaderMap,
    fields: Fields,
) -> Page {
    app.limits.secret(visit.network)?;
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
    if form.kind == "demo" {
        start_demo(&app, &visit, form).await
    } else {
        start_club(&app, &visit, &headers, (form, new)).await
    }
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

/// Not an address of its own: the passwords are shown this once. A reload finds the first page gone.
async fn start_demo(app: &App, visit: &Visit, form: StartForm) -> Page {
    match demo::start(&app.db, &app.hasher, visit.now).await {
        Ok(sign_ins) => page::show(&DemoStartedPage {
            shell: visit.shell("The demo club"),
            sign_ins,
        }),
        Err(DemoRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refuse(visit, form, Problems::one("kind", refusal.to_string())),
    }
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

async fn start_club(
    app: &App,
    visit: &Visit,
    headers: &HeaderMap,
    asked: (StartForm, NewClub),
) -> Page {
    let (form, new) = asked;
    match set_up::start_club(&app.db, &app.hasher, new, visit.now).await {
        Ok(person_id) => {
            let token =
                sign_in::begin_session(&app.db, person_id, &device_of(headers), visit.now).await?;
            Ok(set_session(app, page::go_to("/")?, &token))
        }
        Err(SetUpRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refuse(visit, form, Problems::one("club", refusal.to_string())),
    }
}

/// Compared by digest, so that time tells nothing of how many letters were right.
fn is_same_code(typed: &str, held: &str) -> bool {
    let plain = |code: &str| {
        let letters: String = code.chars().filter(char::is_ascii_alphanumeric).collect();
        crate::ids::digest(&letters.to_ascii_lowercase())
    };
    plain(typed) == plain(held)
}
