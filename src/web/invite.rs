//! Letting people in: the invitation, the page that shows a link once, and the links themselves (`/join`, `/reset`).
//! A link's token stands in its address because it must fit into a message; it works once and is kept only as a hash.

use crate::actions::links::{self, Chosen, INVITE_DAYS, LinkRefusal, RESET_HOURS};
use crate::actions::membership::PersonRefusal;
use crate::actions::{newcomers, sign_in};
use crate::app::App;
use crate::club::people::Roles;
use crate::ids;
use crate::store::links::{Kind, Open};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page, PageError};
use crate::web::person;
use crate::web::person_forms::{RoleTick, role_ticks, roles_ticked};
use crate::web::sign_in::{device_of, set_session};
use crate::web::visit::{Shell, SignedIn, Visit};
use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "invite.html")]
struct InvitePage {
    shell: Shell,
    problems: Problems,
    called: String,
    ticks: Vec<RoleTick>,
    token: String,
}

/// GET /people/invite
pub async fn ask_invite(who: SignedIn) -> Page {
    page::show(&InvitePage {
        shell: who.shell("Invite somebody"),
        problems: Problems::default(),
        called: String::new(),
        ticks: role_ticks(Roles::default(), who.me.roles()),
        token: ids::new_token(),
    })
}

/// POST /people/invite
pub async fn invite(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let called = fields.text("name");
    let token = fields.text("token");
    let mine = who.me.roles();
    let roles = roles_ticked(&fields, Roles::default(), mine);
    match newcomers::invite(&app.db, &who.by(&fields), &called, roles, &token).await {
        Ok(id) => show_link(&who, id, Kind::Invite, &token),
        Err(PersonRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => page::refused(&InvitePage {
            shell: who.shell_refused("Invite somebody"),
            problems: Problems::one(refusal.field(), refusal.to_string()),
            called,
            ticks: role_ticks(roles, mine),
            token: ids::new_token(),
        }),
    }
}

/// POST /people/{id}/link
pub async fn renew(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let token = fields.text("token");
    match links::renew_link(&app.db, &who.by(&fields), id, &token).await {
        Ok((id, kind)) => show_link(&who, id, kind, &token),
        Err(PersonRefusal::Store(error)) => Err(error.into()),
        Err(PersonRefusal::Nobody) => Err(PageError::NotFound),
        Err(refusal) => person::refused(&app, &who, id, &refusal).await,
    }
}

#[derive(Template)]
#[template(path = "link_once.html")]
struct LinkPage {
    shell: Shell,
    id: Uuid,
    link: String,
    lasts: String,
    is_reset: bool,
}

/// The answer to the form itself, not a page with an address: a secret shown once has none. Sending the form again
/// shows the same link.
fn show_link(who: &SignedIn, id: Uuid, kind: Kind, token: &str) -> Page {
    let (path, lasts) = match kind {
        Kind::Invite => ("join", format!("{INVITE_DAYS} days")),
        Kind::Reset => ("reset", format!("{RESET_HOURS} hour")),
    };
    page::show(&LinkPage {
        shell: who.shell("A link, shown once"),
        id,
        link: format!("{}/{path}/{token}", who.base),
        lasts,
        is_reset: kind == Kind::Reset,
    })
}

#[derive(Template)]
#[template(path = "join.html")]
struct JoinPage {
    shell: Shell,
    problems: Problems,
    called: String,
    token: String,
    sign_in: String,
}

#[derive(Template)]
#[template(path = "reset.html")]
struct ResetPage {
    shell: Shell,
    problems: Problems,
    called: String,
    sign_in: String,
    token: String,
}

#[derive(Template)]
#[template(path = "link_gone.html")]
struct GonePage {
    shell: Shell,
    words: String,
}

/// Only tokens that don't work count against the limit: a hall full of newcomers joins from one network.
fn gone(app: &App, visit: &Visit) -> Page {
    app.limits.secret(visit.network)?;
    page::not_found(&GonePage {
        shell: visit.shell_refused("This link does not work"),
        words: LinkRefusal::Gone.to_string(),
    })
}

async fn look_up(
    app: &App,
    visit: &Visit,
    kind: Kind,
    token: &str,
) -> Result<Option<Open>, PageError> {
    Ok(links::look_up(&app.db, kind, token, visit.now).await?)
}

/// GET /join/{token}: looking at it does not use it up.
pub async fn ask_join(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Page {
    let Some(link) = look_up(&app, &visit, Kind::Invite, &token).await? else {
        return gone(&app, &visit);
    };
    page::show(&JoinPage {
        shell: visit.shell("Join"),
        problems: Problems::default(),
        called: link.person_name,
        token,
        sign_in: String::new(),
    })
}

/// POST /join/{token}
pub async fn join(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    headers: HeaderMap,
    fields: Fields,
) -> Page {
    let Some(link) = look_up(&app, &visit, Kind::Invite, &token).await? else {
        return gone(&app, &visit);
    };
    let sign_in = fields.text("sign_in");
    let chosen = chosen(&visit, &sign_in, &fields);
    match links::join(&app.db, &app.hasher, &token, chosen, visit.now).await {
        Ok(id) => {
            let device = device_of(&headers);
            let session = sign_in::begin_session(&app.db, id, &device, visit.now).await?;
            Ok(set_session(&app, page::go_to("/")?, &session))
        }
        Err(LinkRefusal::Store(error)) => Err(error.into()),
        Err(LinkRefusal::Gone) => gone(&app, &visit),
        Err(refusal) => page::refused(&JoinPage {
            shell: visit.shell_refused("Join"),
            problems: Problems::one(refusal.field(), refusal.to_string()),
            called: link.person_name,
            token,
            sign_in,
        }),
    }
}

fn chosen<'a>(visit: &'a Visit, sign_in: &'a str, fields: &'a Fields) -> Chosen<'a> {
    Chosen {
        sign_in,
        password: fields.raw("password"),
        club_name: visit.club.as_ref().map_or("", |club| &club.name),
    }
}

/// GET /reset/{token}
pub async fn ask_reset(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Page {
    let Some(link) = look_up(&app, &visit, Kind::Reset, &token).await? else {
        return gone(&app, &visit);
    };
    page::show(&ResetPage {
        shell: visit.shell("Choose a new password"),
        problems: Problems::default(),
        called: link.person_name,
        sign_in: link.sign_in.unwrap_or_default(),
        token,
    })
}

/// POST /reset/{token}
pub async fn reset(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    fields: Fields,
) -> Page {
    let Some(link) = look_up(&app, &visit, Kind::Reset, &token).await? else {
        return gone(&app, &visit);
    };
    let chosen = chosen(&visit, "", &fields);
    match links::reset(&app.db, &app.hasher, &token, chosen, visit.now).await {
        Ok(_) => page::go_to("/reset/done"),
        Err(LinkRefusal::Store(error)) => Err(error.into()),
        Err(LinkRefusal::Gone) => gone(&app, &visit),
        Err(refusal) => page::refused(&ResetPage {
            shell: visit.shell_refused("Choose a new password"),
            problems: Problems::one("password", refusal.to_string()),
            called: link.person_name,
            sign_in: link.sign_in.unwrap_or_default(),
            token,
        }),
    }
}

#[derive(Template)]
#[template(path = "reset_done.html")]
struct ResetDonePage {
    shell: Shell,
}

/// GET /reset/done
pub async fn reset_done(visit: Visit) -> Page {
    let page = ResetDonePage {
        shell: visit.shell("The new password holds"),
    };
    page::show_alike(&visit, &page)
}
