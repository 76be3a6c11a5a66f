//! A person's own tokens of the API: which there are, making one, the page that shows its secret once, ending one.

use crate::actions::once::Repeat;
use crate::actions::tokens::{self, TokenRefusal};
use crate::app::App;
use crate::club::tokens::{DAYS, May, wish};
use crate::ids;
use crate::store::tokens::{self as store, Token};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "tokens.html")]
struct TokensPage {
    shell: Shell,
    problems: Problems,
    rows: Vec<Row>,
    called: String,
    may: String,
    days: String,
    /// Of the token that somebody may ask for on this page.
    secret: String,
    all_may: [May; 2],
    all_days: Vec<String>,
}

struct Row {
    id: Uuid,
    name: String,
    may: &'static str,
    used: When,
    ends: When,
}

impl Row {
    fn of(token: Token, who: &SignedIn) -> Self {
        let may = if token.may_change {
            May::Change
        } else {
            May::Look
        };
        let never = When {
            words: "never".to_owned(),
            ..When::default()
        };
        Self {
            id: token.id,
            name: token.name,
            may: may.label(),
            used: token
                .used_ms
                .map_or(never, |at| words::past(at, who.now, &who.zone)),
            ends: words::clock(token.ends_ms, who.now, &who.zone),
        }
    }
}

async fn tokens_page(
    app: &App,
    who: &SignedIn,
    shell: Shell,
    typed: &Fields,
) -> Result<TokensPage, PageError> {
    let mut conn = app.db.read().await?;
    let found = store::of_person(&mut conn, who.me.person_id, who.now).await?;
    Ok(TokensPage {
        shell,
        problems: Problems::default(),
        rows: found.into_iter().map(|token| Row::of(token, who)).collect(),
        called: typed.text("name"),
        may: typed.text("may"),
        days: typed.text("days"),
        secret: ids::new_token(),
        all_may: May::ALL,
        all_days: DAYS.map(|days| days.to_string()).to_vec(),
    })
}

const TITLE: &str = "Tokens for programs";

/// GET /me/tokens
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    page::show(&tokens_page(&app, &who, who.shell(TITLE), &Fields::default()).await?)
}

#[derive(Template)]
#[template(path = "token_once.html")]
struct OncePage {
    shell: Shell,
    called: String,
    secret: String,
}

/// POST /me/tokens: answers with the secret itself, on no page with an address. The same form again shows the same.
pub async fn make(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let refuse = async |problems: Problems| {
        let page = tokens_page(&app, &who, who.shell_refused(TITLE), &fields).await?;
        page::refused(&TokensPage { problems, ..page })
    };
    let wish = match wish(
        &fields.text("name"),
        &fields.text("may"),
        &fields.text("days"),
    ) {
        Ok(wish) => wish,
        Err(problems) => return refuse(problems).await,
    };
    let secret = fields.text("secret");
    match tokens::make(&app.db, &who.by(&fields), &wish, &secret).await {
        Ok(()) | Err(TokenRefusal::Repeat(Repeat::Done(_))) => page::show(&OncePage {
            shell: who.shell("A token, shown once"),
            called: wish.name,
            secret,
        }),
        Err(TokenRefusal::Repeat(repeat)) => again(&repeat),
        Err(TokenRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => refuse(Problems::one("name", refusal.to_string())).await,
    }
}

/// POST /me/tokens/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    match tokens::end(&app.db, &who.by(&fields), id).await {
        Ok(()) => page::go_to("/me/tokens"),
        Err(TokenRefusal::Repeat(repeat)) => again(&repeat),
        Err(TokenRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
