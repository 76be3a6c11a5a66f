//! The shared tablet. `/table`: people who set a code; one tap and the code changes over. `/tablets`: a quartermaster makes
//! the browser at hand the table's tablet, and ends those that are not needed.

use crate::actions::tablet::{self, TabletRefusal};
use crate::app::App;
use crate::club::people::Role;
use crate::ids;
use crate::store::tablets::{self, AtTable, InUse};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::gate::{COOKIE, TABLET_COOKIE, cookie};
use crate::web::kept_form::{self, KeptForm};
use crate::web::page::{self, Page, PageError};
use crate::web::sign_in::{self, set_cookie};
use crate::web::visit::{Shell, SignedIn, Visit};
use crate::web::words::{self, When};
use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use serde::Deserialize;
use uuid::Uuid;

/// A tablet is the table's until it is ended; browsers keep a cookie 400 days at most.
const KEEP_S: i64 = 400 * 24 * 3600;

#[derive(Template)]
#[template(path = "table.html")]
struct TablePage {
    shell: Shell,
    problems: Problems,
    /// None: this browser is not, or no longer, the table's.
    tablet: Option<String>,
    people: Vec<AtTable>,
    chosen: Option<AtTable>,
    is_quartermaster: bool,
    kept: Option<KeptForm>,
}

#[derive(Deserialize)]
pub struct Chosen {
    #[serde(default)]
    who: String,
}

fn token_hash(app: &App, headers: &HeaderMap) -> String {
    ids::digest(&cookie(app, headers, TABLET_COOKIE).unwrap_or_default())
}

async fn table_page(
    app: &App,
    visit: &Visit,
    headers: &HeaderMap,
    chosen: Option<Uuid>,
    problems: Problems,
) -> Result<TablePage, PageError> {
    let mut conn = app.db.read().await?;
    let (tablet, people) = tablets::with_people(&mut conn, &token_hash(app, headers))
        .await?
        .map_or_else(|| (None, Vec::new()), |(name, people)| (Some(name), people));
    Ok(TablePage {
        shell: if problems.is_empty() {
            visit.shell("The table")
        } else {
            visit.shell_refused("The table")
        },
        problems,
        tablet,
        chosen: people.iter().find(|one| Some(one.id) == chosen).cloned(),
        people,
        is_quartermaster: visit.me.as_ref().is_some_and(|me| me.is_quartermaster),
        kept: None,
    })
}

/// GET /table
pub async fn ask(
    State(app): State<App>,
    visit: Visit,
    headers: HeaderMap,
    Query(chosen): Query<Chosen>,
) -> Page {
    let chosen = chosen.who.parse().ok();
    page::show(&table_page(&app, &visit, &headers, chosen, Problems::default()).await?)
}

/// The same page in answer to a form whose session had ended.
pub async fn ask_keeping(app: &App, visit: &Visit, headers: &HeaderMap, kept: KeptForm) -> Page {
    let page = table_page(app, visit, headers, None, Problems::default()).await?;
    if page.tablet.is_none() {
        return sign_in::ask_keeping(visit, kept);
    }
    page::sign_in_first(&TablePage {
        shell: visit.shell_refused("The table"),
        kept: Some(kept),
        ..page
    })
}

/// POST /table
pub async fn change_over(
    State(app): State<App>,
    visit: Visit,
    headers: HeaderMap,
    fields: Fields,
) -> Page {
    let found = tablets::by_token(&mut app.db.read().await?, &token_hash(&app, &headers)).await?;
    let kept = KeptForm::carried(&fields);
    let (Some(here), Some(who)) = (found, fields.id("who")) else {
        return match kept {
            Some(kept) => ask_keeping(&app, &visit, &headers, kept).await,
            None => page::go_to("/table"),
        };
    };
    if kept.is_some() && !fields.is_ticked("code") {
        let page = table_page(&app, &visit, &headers, Some(who), Problems::default()).await?;
        return page::show(&TablePage { kept, ..page });
    }
    app.limits.table_code(here.id, who)?;
    let typed_by = kept_form::typed_by(&app, &headers).await?;
    let typed = (who, fields.raw("code"));
    match tablet::change_over(&app.db, &app.hasher, &here, typed, visit.now).await {
        Ok(token) => kept_form::go_on(&app, &visit, &token, (kept, typed_by, "/")).await,
        Err(TabletRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::one("code", refusal.to_string());
            let page = table_page(&app, &visit, &headers, Some(who), problems).await?;
            page::refused(&TablePage { kept, ..page })
        }
    }
}

#[derive(Template)]
#[template(path = "tablets.html")]
struct TabletsPage {
    shell: Shell,
    problems: Problems,
    called: String,
    rows: Vec<Row>,
    /// Makes and ends them.
    may_change: bool,
}

struct Row {
    id: Uuid,
    name: String,
    opened: When,
    by: String,
}

async fn tablets_page(
    app: &App,
    who: &SignedIn,
    called: String,
    problems: Problems,
) -> Result<TabletsPage, PageError> {
    let found = tablets::in_use(&mut app.db.read().await?).await?;
    let row = |tablet: InUse| Row {
        id: tablet.id,
        name: tablet.name,
        opened: words::past(tablet.opened_ms, who.now, &who.zone),
        by: tablet
            .opened_by_name
            .unwrap_or_else(|| "(erased)".to_owned()),
    };
    Ok(TabletsPage {
        shell: if problems.is_empty() {
            who.shell("Shared tablets")
        } else {
            who.shell_refused("Shared tablets")
        },
        problems,
        called,
        may_change: who.has(Role::Quartermaster),
        rows: found.into_iter().map(row).collect(),
    })
}

/// GET /tablets
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    page::show(&tablets_page(&app, &who, String::new(), Problems::default()).await?)
}

/// POST /tablets
pub async fn open(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let called = fields.text("name");
    let by = who.by(&fields);
    match tablet::open_tablet(&app.db, &by, &called, who.me.session_id).await {
        Ok(token) => {
            let signed_out = set_cookie(&app, page::go_to("/table")?, COOKIE, "", 0);
            Ok(set_cookie(&app, signed_out, TABLET_COOKIE, &token, KEEP_S))
        }
        Err(TabletRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::one("name", refusal.to_string());
            page::refused(&tablets_page(&app, &who, called, problems).await?)
        }
    }
}

/// POST /tablets/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    match tablet::end_tablet(&app.db, &who.by(&fields), id).await {
        Ok(()) | Err(TabletRefusal::NotInUse) => page::go_to("/tablets"),
        Err(TabletRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}
