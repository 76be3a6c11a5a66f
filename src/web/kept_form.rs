//! A form that came after its session had ended: what was typed stays on the page that asks for a sign-in, and is sent by
//! whoever signs in there, once they say so.

use crate::app::App;
use crate::web::fields::Fields;
use crate::web::gate;
use crate::web::page::{self, Page, PageError};
use crate::web::security::is_our_own;
use crate::web::sign_in::{self, own_path, set_session};
use crate::web::table;
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};

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
}

/// Another site's form is not kept, and neither are passwords and codes (all below /me) or the wish to sign out.
fn is_kept(app: &App, request: &Request) -> bool {
    let path = request.uri().path();
    is_our_own(app, request.headers()) && !path.starts_with("/me/") && path != "/sign-out"
}

/// The page that asks for a sign-in and keeps the form.
pub async fn ask(app: &App, visit: &Visit, request: Request) -> Response {
    if !is_kept(app, &request) {
        return PageError::SignInFirst.into_response();
    }
    let headers = request.headers().clone();
    let to = request.uri().path_and_query().map_or("/", |to| to.as_str());
    let to = to.to_owned();
    let page = match Fields::from_request(request, &()).await {
        Ok(fields) => {
            let pairs = fields.into_pairs();
            let kept = KeptForm { to, pairs };
            if visit.is_at_table {
                table::ask_keeping(app, visit, &headers, kept).await
            } else {
                sign_in::ask_keeping(visit, kept)
            }
        }
        Err(error) => Err(error),
    };
    page.unwrap_or_else(IntoResponse::into_response)
}

#[derive(Template)]
#[template(path = "kept_form.html")]
struct KeptPage {
    shell: Shell,
    name: String,
    kept: KeptForm,
}

/// After the sign-in: the kept form, to be sent under the name of whoever signed in; else the way on.
pub async fn go_on(
    app: &App,
    visit: &Visit,
    token: &str,
    (kept, next): (Option<KeptForm>, &str),
) -> Page {
    let Some(kept) = kept else {
        return Ok(set_session(app, page::go_to(next)?, token));
    };
    let (visit, _) = gate::meet(app, visit.clone(), Some(token.to_owned())).await?;
    let name = visit
        .me
        .as_ref()
        .map_or_else(String::new, |me| me.name.clone());
    let shell = visit.shell("What you typed is kept");
    let mut response = page::show(&KeptPage { shell, name, kept })?;
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
