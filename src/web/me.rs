//! A person's own page: name, password, the code for the table, and where they are signed in.

use crate::actions::profile::{self, ProfileRefusal};
use crate::app::App;
use crate::store::people::{self, Listed};
use crate::store::sessions::{self, Session};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "me.html")]
struct MePage {
    shell: Shell,
    problems: Problems,
    said: &'static str,
    called: String,
    roles: String,
    induction: String,
    sessions: Vec<Row>,
    /// Ways in are changed on a device of one's own.
    is_own_device: bool,
}

struct Row {
    id: Uuid,
    device: String,
    begun: When,
    seen: When,
    is_this: bool,
}

impl Row {
    fn of(session: Session, who: &SignedIn) -> Self {
        Self {
            id: session.id,
            device: session.device,
            begun: words::past(session.created_ms, who.now, &who.zone),
            seen: words::past(session.seen_ms, who.now, &who.zone),
            is_this: session.id == who.me.session_id,
        }
    }
}

#[derive(Deserialize)]
pub struct Said {
    #[serde(default)]
    done: String,
}

impl Said {
    fn words(&self) -> &'static str {
        match self.done.as_str() {
            "name" => "Your name is changed.",
            "password" => "Your password is changed. You were signed out everywhere else.",
            "code" => "The code for the table is changed.",
            "sessions" => "Ended.",
            _ => "",
        }
    }
}

/// GET /me
pub async fn show(State(app): State<App>, who: SignedIn, Query(said): Query<Said>) -> Page {
    page::show(&read(&app, &who, Problems::default(), said.words()).await?)
}

async fn read(
    app: &App,
    who: &SignedIn,
    problems: Problems,
    said: &'static str,
) -> Result<MePage, PageError> {
    let mut conn = app.db.read().await?;
    let me: Listed = people::listed(&mut conn, who.me.person_id)
        .await?
        .ok_or(PageError::NotFound)?;
    let sessions = sessions::of_person(&mut conn, who.me.person_id, who.now).await?;
    let shell = if problems.is_empty() {
        who.shell("You")
    } else {
        who.shell_refused("You")
    };
    Ok(MePage {
        shell,
        problems,
        said,
        called: me.called().to_owned(),
        roles: me.roles().words(),
        induction: me.induction(who.zone.day_of(who.now)).words(),
        sessions: sessions.into_iter().map(|one| Row::of(one, who)).collect(),
        is_own_device: who.tablet.is_none(),
    })
}

/// On to the page with what was done, or the page again with the refusal at its field.
async fn answer(
    app: &App,
    who: &SignedIn,
    outcome: Result<(), ProfileRefusal>,
    done: &str,
    old_password: &str,
) -> Page {
    let refusal = match outcome {
        Ok(()) => return page::go_to(&format!("/me?done={done}")),
        Err(ProfileRefusal::Store(error)) => return Err(error.into()),
        Err(ProfileRefusal::Repeat(repeat)) => return again(&repeat),
        Err(refusal) => refusal,
    };
    let field = match refusal {
        ProfileRefusal::WrongPassword => old_password,
        ProfileRefusal::Password(_) => "new_password",
        ProfileRefusal::Code(_) | ProfileRefusal::Meanwhile => "code",
        _ => "name",
    };
    let problems = Problems::one(field, refusal.to_string());
    page::refused(&read(app, who, problems, "").await?)
}

/// POST /me/name
pub async fn rename(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let outcome = profile::rename(&app.db, &who.by(&fields), &fields.text("name")).await;
    answer(&app, &who, outcome, "name", "").await
}

/// Guessing one's password from a session left open is as slow as at the door.
fn limit(app: &App, who: &SignedIn) -> Result<(), PageError> {
    app.limits
        .sign_in(who.network, &who.me.person_id.to_string())
}

/// POST /me/password
pub async fn change_password(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    limit(&app, &who)?;
    let passwords = (fields.raw("old_password"), fields.raw("new_password"));
    let by = who.by(&fields);
    let stays = who.me.session_id;
    let outcome = profile::change_password(&app.db, &app.hasher, &by, passwords, stays).await;
    answer(&app, &who, outcome, "password", "old_password").await
}

/// POST /me/table-code
pub async fn set_table_code(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    limit(&app, &who)?;
    let password = fields.raw("code_password");
    let code = fields.text("code");
    let by = who.by(&fields);
    let outcome = profile::set_table_code(&app.db, &app.hasher, &by, password, &code).await;
    answer(&app, &who, outcome, "code", "code_password").await
}

/// POST /me/sessions/{id}/end
pub async fn end_session(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = profile::end_session(&app.db, &who.by(&fields), id).await;
    answer(&app, &who, outcome, "sessions", "").await
}

/// POST /me/sessions/end-others
pub async fn end_others(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let by = who.by(&fields);
    let outcome = profile::end_other_sessions(&app.db, &by, who.me.session_id).await;
    answer(&app, &who, outcome, "sessions", "").await
}
