//! How a page leaves the house: a filled template, a way on after a form, or a trouble told in a sentence with a
//! reference number. What went wrong inside goes to the log under that number and never to the reader.

use crate::bench::form::{Against, Problems};
use crate::store::StoreError;
use crate::web::etag;
use crate::web::not_sent;
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use tracing::Instrument;

pub type Page = Result<Response, PageError>;

/// Fills the template.
pub fn show(template: &impl Template) -> Page {
    show_as(StatusCode::OK, template)
}

/// The same for a page that is alike for everybody who is not signed in: a browser may keep it, and asks each time
/// whether it still holds.
pub fn show_alike(visit: &Visit, template: &impl Template) -> Page {
    let mut response = show(template)?;
    if visit.me.is_none() {
        response.headers_mut().insert(
            header::CACHE_CONTROL,
            HeaderValue::from_static("private, no-cache"),
        );
    }
    Ok(response)
}

/// A refused form with what was typed: 422.
pub fn refused(template: &impl Template) -> Page {
    show_as(StatusCode::UNPROCESSABLE_ENTITY, template)
}

/// What a refused form asks to be put right, for programs that sent what the form sends: the page says it to people.
#[derive(Clone, Debug, Default)]
pub struct ToPutRight {
    /// Field and sentence.
    pub problems: Vec<(String, String)>,
    /// Numbers of what is dangerous and stored all the same.
    pub stored: Vec<String>,
    /// Numbers of what was taken back before the rest was refused.
    pub taken_back: Vec<String>,
    pub against: Against,
}

impl From<&Problems> for ToPutRight {
    fn from(problems: &Problems) -> Self {
        Self {
            problems: problems.list().to_vec(),
            against: problems.against(),
            ..Self::default()
        }
    }
}

/// A page that shows a form with what must be put right.
pub trait PutsRight {
    fn told(&self) -> ToPutRight;
}

/// For pages that keep it under `problems`; `stored`: and under `stored` the numbers of what is stored all the same.
macro_rules! puts_right {
    (stored $page:ty) => {
        impl $crate::web::page::PutsRight for $page {
            fn told(&self) -> $crate::web::page::ToPutRight {
                $crate::web::page::ToPutRight {
                    stored: self.stored.clone(),
                    ..(&self.problems).into()
                }
            }
        }
    };
    ($($page:ty),+) => {
        $(impl $crate::web::page::PutsRight for $page {
            fn told(&self) -> $crate::web::page::ToPutRight {
                (&self.problems).into()
            }
        })+
    };
}
pub(super) use puts_right;

/// As `refused`; what must be put right goes along, for the API to tell.
pub fn put_right(page: &(impl Template + PutsRight)) -> Page {
    let mut response = refused(page)?;
    response.extensions_mut().insert(page.told());
    Ok(response)
}

/// A form that came without a session, kept on the page that asks for one: 401.
pub fn sign_in_first(template: &impl Template) -> Page {
    show_as(StatusCode::UNAUTHORIZED, template)
}

/// What was asked for is not here, in words of its own.
pub fn not_found(template: &impl Template) -> Page {
    show_as(StatusCode::NOT_FOUND, template)
}

fn show_as(status: StatusCode, template: &impl Template) -> Page {
    let text = template
        .render()
        .map_err(|error| PageError::Internal(error.to_string()))?;
    let tag = etag::of(&text).filter(|_| status == StatusCode::OK);
    let mut response = (status, Html(text)).into_response();
    if let Some(tag) = tag {
        response.headers_mut().insert(header::ETAG, tag);
    }
    Ok(response)
}

/// After a form was carried out: the page that says what happened, so that reload repeats nothing.
pub fn go_to(address: &str) -> Page {
    let place =
        HeaderValue::from_str(address).map_err(|error| PageError::Internal(error.to_string()))?;
    Ok((StatusCode::SEE_OTHER, [(header::LOCATION, place)]).into_response())
}

#[derive(Debug, thiserror::Error)]
pub enum PageError {
    #[error("There is no such page, or it is not yours to see.")]
    NotFound,
    #[error("{0}")]
    NotYours(String),
    #[error("Sign in first.")]
    SignInFirst,
    #[error("{words}")]
    TooOften { words: String, retry_after_s: u64 },
    #[error("{0}")]
    Refused(String),
    /// An address or a form that makes no sense.
    #[error("{0}")]
    Unreadable(String),
    #[error("That is more than a form of ours sends. Nothing was changed.")]
    TooLarge,
    #[error("This address is not asked for in that way. Nothing was changed.")]
    NotThatWay,
    #[error("The register can't be reached just now. Nothing was changed; try again in a moment.")]
    Unavailable(String),
    #[error(
        "The server's disk is full. Nothing was changed; what is on record can still be read. Tell whoever runs the server."
    )]
    NoRoom(String),
    #[error(
        "Something went wrong on our side. Nothing more is known to you than this number; give it to whoever runs the server."
    )]
    Internal(String),
}

impl From<StoreError> for PageError {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Unavailable(inner) => Self::Unavailable(inner),
            StoreError::NoRoom(inner) => Self::NoRoom(inner),
            StoreError::Conflict => Self::Internal(
                "a unique index was violated where no refusal was made of it".to_owned(),
            ),
            StoreError::Internal(inner) => Self::Internal(inner),
        }
    }
}

/// A trouble on its way out; the gate, which knows whose page it is, draws it.
#[derive(Clone)]
pub struct Trouble {
    status: StatusCode,
    words: String,
}

impl PageError {
    /// What went wrong inside goes to the log.
    pub(super) fn note_failure(&self) {
        if let Self::Internal(inner) | Self::Unavailable(inner) | Self::NoRoom(inner) = self {
            tracing::error!(error = %inner, "a page failed");
        }
    }

    pub(super) const fn status(&self) -> StatusCode {
        match self {
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::NotYours(_) => StatusCode::FORBIDDEN,
            Self::SignInFirst => StatusCode::UNAUTHORIZED,
            Self::TooOften { .. } => StatusCode::TOO_MANY_REQUESTS,
            Self::Refused(_) => StatusCode::CONFLICT,
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::NotThatWay => StatusCode::METHOD_NOT_ALLOWED,
            Self::Unavailable(_) | Self::NoRoom(_) => StatusCode::SERVICE_UNAVAILABLE,
            Self::Internal(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        let status = self.status();
        self.note_failure();
        let mut response = status.into_response();
        if let Self::TooOften { retry_after_s, .. } = &self {
            response
                .headers_mut()
                .insert(header::RETRY_AFTER, HeaderValue::from(*retry_after_s));
        }
        if matches!(self, Self::Unavailable(_) | Self::NoRoom(_)) {
            response
                .headers_mut()
                .insert(header::RETRY_AFTER, HeaderValue::from(5));
        }
        response.extensions_mut().insert(Trouble {
            status,
            words: self.to_string(),
        });
        response
    }
}

#[derive(Template)]
#[template(path = "trouble.html")]
struct TroublePage {
    shell: Shell,
    /// Of a report that was turned away.
    not_sent: Option<String>,
    words: String,
    reference: Option<String>,
}

/// Draws the page for a trouble that a handler or extractor gave back.
pub fn draw_trouble(visit: &Visit, reference: &str, mut response: Response) -> Response {
    let Some(trouble) = response.extensions_mut().remove::<Trouble>() else {
        return response;
    };
    let title = match trouble.status {
        StatusCode::NOT_FOUND => "Not here",
        StatusCode::FORBIDDEN | StatusCode::UNAUTHORIZED => "Not for you",
        StatusCode::CONFLICT | StatusCode::METHOD_NOT_ALLOWED => "Not done",
        StatusCode::BAD_REQUEST | StatusCode::PAYLOAD_TOO_LARGE => "Can't be read",
        StatusCode::TOO_MANY_REQUESTS => "Wait a little",
        _ => "That failed",
    };
    let page = TroublePage {
        shell: visit.shell_refused(title),
        not_sent: not_sent::words(visit),
        words: trouble.words,
        reference: trouble
            .status
            .is_server_error()
            .then(|| reference.to_owned()),
    };
    let drawn = show_as(trouble.status, &page).unwrap_or_else(|_| trouble.status.into_response());
    let (mut parts, body) = drawn.into_parts();
    for (name, value) in response.headers() {
        if *name != header::CONTENT_LENGTH && *name != header::CONTENT_TYPE {
            parts.headers.insert(name, value.clone());
        }
    }
    Response::from_parts(parts, body)
}

/// The number under which the log tells what happened in one request.
#[derive(Clone)]
pub struct Reference(pub String);

pub async fn with_reference(mut request: Request, next: Next) -> Response {
    let reference = crate::ids::new_id().simple().to_string()[20..].to_owned();
    let span = tracing::info_span!("request", reference, method = %request.method());
    request
        .extensions_mut()
        .insert(Reference(reference.clone()));
    async move {
        let mut response = next.run(request).await;
        if let Ok(value) = HeaderValue::from_str(&reference) {
            response
                .headers_mut()
                .insert(HeaderName::from_static("x-request-id"), value);
        }
        tracing::debug!(status = response.status().as_u16(), "answered");
        response
    }
    .instrument(span)
    .await
}

/// What a panic comes to; its own words go to the log.
pub(super) fn panicked(panic: &(dyn std::any::Any + Send)) -> PageError {
    let words = panic
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("no words");
    PageError::Internal(format!("it panicked: {words}"))
}

/// A bug that got past us: the reader gets a plain 500, the log the rest.
pub fn after_panic(panic: Box<dyn std::any::Any + Send + 'static>) -> Response {
    panicked(panic.as_ref()).note_failure();
    (
        StatusCode::INTERNAL_SERVER_ERROR,
        "Something went wrong on our side. Nothing was changed.",
    )
        .into_response()
}
