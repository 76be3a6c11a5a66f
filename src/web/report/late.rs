//! The page that a phone keeps and shows without network: what to do now, and a report of anything. And where every report is sent
//! that waited on a phone: from whichever page it was made on, it is taken in, also where that page would no longer take it.

use super::begins::{at_label, contact_with, of_pack, own, poster_with};
use super::{FormPage, Late, Of, Source, form_page, sent, tell};
use crate::app::App;
use crate::club::label::is_code;
use crate::club::reports::waited;
use crate::club::states::Life;
use crate::ids;
use crate::store::book::{disposals, reports};
use crate::store::packs::{self, PackView};
use crate::store::{StoreError, labels};
use crate::web::asked::Query;
use crate::web::fields::Fields;
use crate::web::first_minute::FirstMinute;
use crate::web::page::{self, Page};
use crate::web::visit::Visit;
use axum::extract::{Request, State};
use serde::Deserialize;
use std::net::IpAddr;
use uuid::Uuid;

fn anything(named: Option<Uuid>) -> Source {
    Source {
        title: "What to do now, and a report".to_owned(),
        what: String::new(),
        here: "/offline".to_owned(),
        of: Of::Anything(named),
    }
}

/// GET /offline
pub async fn show(visit: Visit) -> Page {
    let source = anything(None);
    let shell = visit.shell(source.title.clone());
    let hall = visit.club.as_ref().map(|club| club.hall.clone());
    let page = form_page(shell, source, &visit, Fields::default());
    page::show(&FormPage {
        first: Some(FirstMinute::of(hall.unwrap_or_default())),
        ..page
    })
}

#[derive(Default, Deserialize)]
pub struct Waited {
    /// Address of the page it was made on; empty: this one.
    #[serde(default)]
    of: String,
    /// By the phone's own clock.
    #[serde(default)]
    waited_ms: i64,
    /// `yes`: it was kept, and whoever made it may be gone.
    #[serde(default)]
    kept: String,
}

/// POST /offline: a report that may have waited. It is told who sends it and how long it waited beside what was told, so that what
/// was told is the same each time it is sent.
pub async fn send(
    State(app): State<App>,
    mut visit: Visit,
    Query(asked): Query<Waited>,
    request: Request,
) -> Page {
    let way = Way::of(&asked.of);
    let named = request.headers().get("idempotency-key");
    let named = named.and_then(|key| Some(key.to_str().ok()?.to_owned()));
    let again = came_before(&app, named).await?;
    let label = way.label(visit.network);
    let counted = Some(label.as_str()).filter(|_| again.is_none());
    let mut form = sent(&app, &visit, request, counted).await?;
    // Under another report's key it is a new one.
    if again.is_some_and(|key| key != form.fields.text("key")) {
        app.limits.report(visit.network, &label)?;
    }
    if !is_by_who_made_it(&visit, &form.fields) {
        visit.me = None;
    }
    form.fields = without_who(form.fields);
    let mut late = late(&visit, &asked, &form.fields);
    let was_elsewhere = !matches!(way, Way::Anywhere);
    let source = way.source(&app, &visit, &form.fields).await?;
    late.asks_nothing |= was_elsewhere && matches!(source.of, Of::Anything(_));
    form.fields = without_key(form.fields);
    tell(&app, visit, source, form, Some(late)).await
}

/// The key that the phone names beside its report, where one came under it already.
async fn came_before(app: &App, named: Option<String>) -> Result<Option<String>, StoreError> {
    let Some(key) = named else { return Ok(None) };
    let came = reports::with_phone_key(&mut app.db.read().await?, &key).await?;
    Ok(came.map(|_| key))
}

fn late(visit: &Visit, asked: &Waited, fields: &Fields) -> Late {
    let key = fields.text("key");
    Late {
        hash: ids::digest(&format!("{} {}", asked.of, fields.body_hash())),
        key: if key.is_empty() {
            ids::new_token()
        } else {
            key
        },
        made: waited::made(visit.now, asked.waited_ms),
        asks_nothing: asked.kept == "yes",
    }
}

/// A form without a key of its own: the phone's stays with the report.
fn without_key(fields: Fields) -> Fields {
    without(fields, "key")
}

/// Of what is sent a digest is kept, from which nobody may read by trying who told without a name.
pub(super) fn without_who(fields: Fields) -> Fields {
    without(fields, "who")
}

fn without(fields: Fields, left_out: &str) -> Fields {
    let mut pairs = fields.into_pairs();
    pairs.retain(|(name, _)| name != left_out);
    Fields::new(pairs)
}

/// At a shared tablet somebody else may be signed in by the time it is sent.
fn is_by_who_made_it(visit: &Visit, fields: &Fields) -> bool {
    match (&visit.me, fields.id("who")) {
        (Some(me), Some(who)) => me.person_id == who,
        (Some(me), None) => me.tablet_name.is_none() && !visit.is_at_table,
        (None, _) => true,
    }
}

/// The page on which it was made.
enum Way {
    Label(String),
    Poster(String),
    Pack(String),
    Own,
    Contact,
    Anywhere,
}

impl Way {
    fn of(path: &str) -> Self {
        let mut parts = path.trim_matches('/').split('/');
        let named = |part: Option<&str>| part.unwrap_or_default().to_owned();
        match parts.next().unwrap_or_default() {
            "t" => Self::Label(named(parts.next())),
            "p" => Self::Poster(named(parts.next())),
            "packs" => Self::Pack(named(parts.next())),
            "report" => Self::Own,
            "contact" => Self::Contact,
            _ => Self::Anywhere,
        }
    }

    /// By which a stranger's reports are counted. Where there is no label each network has its own count: a flood from elsewhere keeps
    /// nobody waiting whose sign-in ended while the report waited.
    fn label(&self, network: IpAddr) -> String {
        match self {
            Self::Label(code) | Self::Poster(code) => code.clone(),
            Self::Contact => "contact".to_owned(),
            Self::Pack(_) | Self::Own | Self::Anywhere => format!("offline {network}"),
        }
    }

    /// What a label, a poster or a person signed in no longer vouches for is told all the same, and does nothing to a pack before
    /// somebody looked.
    async fn source(
        self,
        app: &App,
        visit: &Visit,
        told: &Fields,
    ) -> Result<Source, page::PageError> {
        let who = visit.clone().signed_in();
        match (self, who) {
            (Self::Label(code), who) => {
                let found = labelled(app, &code).await?;
                Ok(match (found, who) {
                    (Some((pack, true)), Some(who)) => of_pack(pack, &who),
                    (Some((pack, true)), None) => at_label(&pack, &code),
                    (Some((pack, false)), _) => anything(Some(pack.id)),
                    (None, _) => {
                        app.limits.label(visit.network)?;
                        anything(None)
                    }
                })
            }
            (Self::Poster(code), _) => Ok(poster_with(app, &code)
                .await?
                .unwrap_or_else(|| anything(None))),
            (Self::Pack(number), who) => {
                let mut conn = app.db.read().await?;
                let found = packs::by_number(&mut conn, &number.to_uppercase()).await?;
                drop(conn);
                Ok(match (found, who) {
                    (Some(pack), Some(who)) if !is_gone(app, &pack).await? => of_pack(pack, &who),
                    (found, _) => anything(found.map(|pack| pack.id)),
                })
            }
            (Self::Own, Some(_)) => Ok(own()),
            (Self::Contact, _) => Ok(contact_with(told)),
            (Self::Own | Self::Anywhere, _) => Ok(anything(None)),
        }
    }
}

/// The pack that has this label, or had it; true: it has it, and is not gone.
async fn labelled(app: &App, code: &str) -> Result<Option<(PackView, bool)>, StoreError> {
    if !is_code(code) {
        return Ok(None);
    }
    let mut conn = app.db.read().await?;
    let works = labels::pack_with(&mut conn, code)
        .await?
        .map(|one| one.pack);
    let had = match &works {
        Some(_) => None,
        None => labels::pack_that_had(&mut conn, code).await?,
    };
    drop(conn);
    Ok(match (works, had) {
        (Some(pack), _) => {
            let is_here = !is_gone(app, &pack).await?;
            Some((pack, is_here))
        }
        (None, had) => had.map(|pack| (pack, false)),
    })
}

async fn is_gone(app: &App, pack: &PackView) -> Result<bool, StoreError> {
    let is_given_away = matches!(pack.life(), Life::GivenAway | Life::Withdrawn);
    let mut conn = app.db.read().await?;
    Ok(is_given_away || disposals::is_disposed(&mut conn, pack.id).await?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_it_was_made_on_tells_what_it_is_about() {
        assert!(matches!(Way::of("/t/abc/report"), Way::Label(code) if code == "abc"));
        assert!(matches!(Way::of("/t/abc"), Way::Label(code) if code == "abc"));
        assert!(matches!(Way::of("/p/abc"), Way::Poster(code) if code == "abc"));
        assert!(
            matches!(Way::of("/packs/P-001/condition"), Way::Pack(number) if number == "P-001")
        );
        assert!(matches!(Way::of("/report"), Way::Own));
        for elsewhere in ["", "/", "/mine", "/offline", "https://example.org/t/a"] {
            assert!(matches!(Way::of(elsewhere), Way::Anywhere), "{elsewhere}");
        }
    }
}
