//! A form that came after its session had ended: what was typed stays on the page that asks for a sign-in, and is sent by
//! whoever signs in there, once they say so.

use crate::app::App;
use crate::ids;
use crate::paper::photo::MOST_BYTES;
use crate::store::sessions;
use crate::web::LARGEST_FORM;
use crate::web::fields::Fields;
use crate::web::gate;
use crate::web::kept_danger::{self, Danger};
use crate::web::not_sent::is_of_reports;
use crate::web::page::{self, Page, PageError};
use crate::web::security::is_our_own;
use crate::web::sign_in::{self, own_path, set_session};
use crate::web::table;
use crate::web::upload::{Upload, brings_a_file};
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use uuid::Uuid;

/// What a form had sent, and where to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptForm {
    pub to: String,
    pub pairs: Vec<(String, String)>,
}

impl KeptForm {
    /// What the form that signs in carries along.
    pub fn carried(fields: &Fields) -> Option<Self> {
        let to = fields.text("kept_to");
        let pairs = serde_json::from_str(fields.raw("kept")).ok()?;
        (own_path(&to) == to).then_some(Self { to, pairs })
    }

    /// How it travels.
    pub fn text(&self) -> String {
        serde_json::to_string(&self.pairs).unwrap_or_default()
    }

    /// A report, or what tells of danger: a person is told first.
    pub fn is_urgent(&self) -> bool {
        is_of_reports(&self.to) || kept_danger::is_told(self)
    }

    /// It fits into the form that signs in, where each sign of it may take three.
    fn fits(&self) -> bool {
        self.text().len() * 3 < LARGEST_FORM
    }

    /// What was typed, to be read once more: without what only programs read.
    fn told(&self) -> Vec<(String, &str)> {
        let is_typed = |pair: &&(String, String)| {
            pair.0 != "key" && !pair.1.is_empty() && pair.1.parse::<Uuid>().is_err()
        };
        let typed = self.pairs.iter().filter(is_typed);
        typed
            .map(|(name, value)| (called(name), value.as_str()))
            .collect()
    }
}

/// `volts_line-0191…` is `volts line`.
fn called(name: &str) -> String {
    let id_at = name.len().saturating_sub(37);
    let plain = match name.split_at_checked(id_at) {
        Some((plain, id))
            if id
                .strip_prefix('-')
                .is_some_and(|id| id.parse::<Uuid>().is_ok()) =>
        {
            plain
        }
        _ => name,
    };
    plain.replace('_', " ")
}

/// Another site's form is not kept, and neither are other files, passwords and codes (all below /me) or the wish to sign out.
fn is_kept(app: &App, visit: &Visit, request: &Request) -> bool {
    let path = request.uri().path();
    let is_kept = !path.starts_with("/me/") && path != "/sign-out";
    // A report is kept without its photo, which can be added afterwards.
    let is_kept = is_kept && (visit.is_report || !brings_a_file(request));
    is_kept && is_our_own(app, request.headers())
}

/// The page that asks for a sign-in and keeps the form.
pub async fn ask(app: &App, visit: &Visit, request: Request) -> Response {
    if !is_kept(app, visit, &request) {
        return PageError::SignInFirst.into_response();
    }
    let headers = request.headers().clone();
    let to = request.uri().path_and_query().map_or("/", |to| to.as_str());
    let to = to.to_owned();
    let page = match typed(app, visit, request).await {
        Ok(fields) => {
            let pairs = fields.into_pairs();
            let kept = KeptForm { to, pairs };
            if !kept.fits() {
                Err(PageError::SignInFirst)
            } else if visit.is_at_table {
                table::ask_keeping(app, visit, &headers, kept).await
            } else {
                sign_in::ask_keeping(visit, kept)
            }
        }
        Err(error) => Err(error),
    };
    page.unwrap_or_else(IntoResponse::into_response)
}

async fn typed(app: &App, visit: &Visit, request: Request) -> Result<Fields, PageError> {
    if !brings_a_file(&request) {
        return Fields::from_request(request, &()).await;
    }
    // Who was signed in has a share of their own: no stranger uses it up.
    match typed_by(app, request.headers()).await? {
        Some(person) => app.limits.upload_of(person)?,
        None => {
            let of_network = format!("kept {}", visit.network);
            app.limits.report(visit.network, &of_network)?;
        }
    }
    let mut pairs = Upload::<MOST_BYTES>::of_form(request)
        .await?
        .fields
        .into_pairs();
    pairs.retain(|(name, _)| name != "photo");
    Ok(Fields::new(pairs))
}

#[derive(Template)]
#[template(path = "kept_form.html")]
struct KeptPage {
    shell: Shell,
    name: String,
    /// None: somebody else typed it.
    kept: Option<KeptForm>,
    /// What somebody else typed was a report: where one is made.
    report_at: Option<String>,
    /// What of it tells of danger.
    dangers: Vec<Danger>,
}

/// Whose session it was that had ended; None when that is not known any more.
pub async fn typed_by(app: &App, headers: &HeaderMap) -> Result<Option<Uuid>, PageError> {
    let Some(token) = gate::session_cookie(app, headers) else {
        return Ok(None);
    };
    let mut conn = app.db.read().await?;
    Ok(sessions::whose(&mut conn, &ids::digest(&token)).await?)
}

/// After the sign-in: the kept form, to be read and sent by who typed it; else the way on. At the shared tablet nobody sends
/// what another one typed: it might be what takes a second person. What of it tells of danger is shown to them all the same.
pub async fn go_on(
    app: &App,
    visit: &Visit,
    token: &str,
    (kept, typed_by, next): (Option<KeptForm>, Option<Uuid>, &str),
) -> Page {
    let Some(kept) = kept else {
        return Ok(set_session(app, page::go_to(next)?, token));
    };
    let (visit, _) = gate::meet(app, visit.clone(), Some(token.to_owned())).await?;
    let (name, me) = visit
        .me
        .as_ref()
        .map_or_else(Default::default, |me| (me.name.clone(), Some(me.person_id)));
    let is_theirs = typed_by == me || typed_by.is_none() && !visit.is_at_table;
    let dangers = if is_theirs {
        Vec::new()
    } else {
        kept_danger::told(app, &kept).await?
    };
    let report_at =
        is_of_reports(&kept.to).then(|| kept.to.split('?').next().unwrap_or_default().to_owned());
    let kept = Some(kept).filter(|_| is_theirs);
    let shell = visit.shell(if is_theirs {
        "What you typed is kept"
    } else {
        "What was typed is not sent"
    });
    let mut response = page::show(&KeptPage {
        shell,
        name,
        kept,
        report_at,
        dangers,
    })?;
    let headers = response.headers_mut();
    headers.remove(header::ETAG);
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(set_session(app, response, token))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_travels_whole_and_only_to_a_page_of_ours() {
        let pairs = [
            ("note", "two\r\nlines, \"quoted\" & <b>"),
            ("items", "14"),
            ("items", "15"),
        ]
        .map(|(name, value)| (name.to_owned(), value.to_owned()));
        let kept = KeptForm {
            to: "/hand-out".to_owned(),
            pairs: pairs.to_vec(),
        };
        let mut fields = Fields::default();
        fields.put("kept", &kept.text());
        fields.put("kept_to", &kept.to);
        let told = KeptForm {
            pairs: vec![
                ("key".to_owned(), "abc".to_owned()),
                ("shown".to_owned(), Uuid::nil().to_string()),
                (format!("volts_line-{}", Uuid::nil()), "3.81".to_owned()),
                ("purpose".to_owned(), String::new()),
            ],
            ..kept.clone()
        };
        assert_eq!(told.told(), [("volts line".to_owned(), "3.81")]);
        assert_eq!(KeptForm::carried(&fields), Some(kept));
        for elsewhere in [
            "//example.org/",
            "https://example.org",
            "/\\example.org",
            "",
        ] {
            fields.put("kept_to", elsewhere);
            assert_eq!(KeptForm::carried(&fields), None, "{elsewhere}");
        }
    }
}
