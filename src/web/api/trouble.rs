//! What went wrong, as RFC 9457 tells it to programs: a kind that stays the same, the sentence that a page would show,
//! and for what was sent each field with its sentence. What went wrong inside goes to the log alone.

use super::BASE;
use crate::bench::form::{Against, Problems};
use crate::store::StoreError;
use crate::web::page::{PageError, Reference, ToPutRight};
use axum::extract::{OriginalUri, Request};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// Code, title and status of each kind. The codes are part of the API.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Unreadable,
    NoToken,
    NotYours,
    NotHere,
    NotThatWay,
    Refused,
    StillRunning,
    TooLarge,
    NotJson,
    PutRight,
    OtherBody,
    TooOften,
    Unavailable,
    Failed,
}

impl Kind {
    pub const ALL: [Self; 14] = [
        Self::Unreadable,
        Self::NoToken,
        Self::NotYours,
        Self::NotHere,
        Self::NotThatWay,
        Self::Refused,
        Self::StillRunning,
        Self::TooLarge,
        Self::NotJson,
        Self::PutRight,
        Self::OtherBody,
        Self::TooOften,
        Self::Unavailable,
        Self::Failed,
    ];

    /// Code, status, title.
    const fn told(self) -> (&'static str, u16, &'static str) {
        match self {
            Self::Unreadable => ("unreadable", 400, "It can't be read"),
            Self::NoToken => ("no-token", 401, "No token that works"),
            Self::NotYours => ("not-yours", 403, "Not for you"),
            Self::NotHere => ("not-here", 404, "Not here"),
            Self::NotThatWay => ("not-that-way", 405, "Not in that way"),
            Self::Refused => ("refused", 409, "A rule stands against it"),
            Self::StillRunning => ("still-running", 409, "Still being carried out"),
            Self::TooLarge => ("too-large", 413, "Too large"),
            Self::NotJson => ("not-json", 415, "Not in the form that is taken"),
            Self::PutRight => ("put-right", 422, "To be put right"),
            Self::OtherBody => ("other-body", 422, "The key had another body"),
            Self::TooOften => ("too-often", 429, "Too often"),
            Self::Unavailable => ("unavailable", 503, "Not just now"),
            Self::Failed => ("failed", 500, "That failed"),
        }
    }

    pub const fn code(self) -> &'static str {
        self.told().0
    }

    pub const fn status(self) -> u16 {
        self.told().1
    }

    pub const fn title(self) -> &'static str {
        self.told().2
    }

    fn of_status(status: StatusCode) -> Self {
        let mut all = Self::ALL.into_iter();
        all.find(|kind| kind.status() == status.as_u16())
            .unwrap_or(Self::Failed)
    }
}

#[derive(Clone, Debug)]
pub struct Trouble {
    kind: Kind,
    detail: String,
    problems: Vec<Problem>,
    stored: Vec<String>,
    taken_back: Vec<String>,
    retry_after_s: Option<u64>,
    /// A token was shown, and it is none.
    is_token_wrong: bool,
}

/// A field of what was sent, and what is to be put right there.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Problem {
    /// Its name; `items[0].look` inside a list. Empty: of the whole.
    pub field: String,
    pub detail: String,
}

/// RFC 9457.
#[derive(Serialize, ToSchema)]
pub struct ProblemDetails {
    /// The kind, an address that stays the same.
    #[serde(rename = "type")]
    kind: String,
    title: String,
    status: u16,
    /// The sentence that a page would show.
    detail: String,
    /// This one request; behind the # the number under which the server's log tells of it.
    instance: String,
    /// Everything that is to be put right, or that stands against it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    problems: Vec<Problem>,
    /// Numbers of packs that are dangerous: what was said of them is stored, though the rest was refused.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    stored: Vec<String>,
    /// Numbers of what was taken back before the rest was refused, because something changed meanwhile: don't send it again.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    taken_back: Vec<String>,
}

impl Trouble {
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        Self {
            kind,
            detail: detail.into(),
            problems: Vec::new(),
            stored: Vec::new(),
            taken_back: Vec::new(),
            retry_after_s: None,
            is_token_wrong: false,
        }
    }

    pub fn no_token() -> Self {
        let words = "Show a token that works: Authorization: Bearer …. Tokens are made on the page /me/tokens.";
        Self::new(Kind::NoToken, words)
    }

    /// One was shown that never was, has ended, or is mistyped.
    pub fn wrong_token() -> Self {
        Self {
            is_token_wrong: true,
            ..Self::no_token()
        }
    }

    /// What a refused form would ask to be put right; fields by the names that the program sent.
    pub fn put_right(told: ToPutRight) -> Self {
        let problem = |(field, detail): (String, String)| Problem { field, detail };
        let problems: Vec<Problem> = told.problems.into_iter().map(problem).collect();
        let sentences: Vec<&str> = problems.iter().map(|each| each.detail.as_str()).collect();
        let kind = match told.against {
            Against::Typed => Kind::PutRight,
            Against::Rule => Kind::Refused,
            Against::Right => Kind::NotYours,
        };
        Self {
            stored: told.stored,
            taken_back: told.taken_back,
            ..Self::new(kind, sentences.join(" "))
        }
        .with(problems)
    }

    /// What RFC 6750 says of the token that was shown.
    fn bearer(&self) -> HeaderValue {
        HeaderValue::from_static(if self.is_token_wrong {
            "Bearer realm=\"club\", error=\"invalid_token\""
        } else {
            "Bearer realm=\"club\""
        })
    }

    fn with(self, problems: Vec<Problem>) -> Self {
        Self { problems, ..self }
    }
}

impl From<&Problems> for Trouble {
    fn from(problems: &Problems) -> Self {
        Self::put_right(problems.into())
    }
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        PageError::from(error).into()
    }
}

impl From<PageError> for Trouble {
    fn from(error: PageError) -> Self {
        error.note_failure();
        let retry_after_s = match &error {
            PageError::TooOften { retry_after_s, .. } => Some(*retry_after_s),
            PageError::Unavailable(_) | PageError::NoRoom(_) => Some(5),
            _ => None,
        };
        let detail = match &error {
            PageError::NotFound => "There is no such thing, or it is not yours to see.".to_owned(),
            PageError::TooLarge => {
                "That is more than is taken at once. Nothing was changed.".to_owned()
            }
            other => other.to_string(),
        };
        Self {
            retry_after_s,
            ..Self::new(Kind::of_status(error.status()), detail)
        }
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.kind.status());
        let mut response = status
            .unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
            .into_response();
        if let Some(seconds) = self.retry_after_s {
            let headers = response.headers_mut();
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if self.kind == Kind::NoToken {
            let headers = response.headers_mut();
            headers.insert(header::WWW_AUTHENTICATE, self.bearer());
        }
        response.extensions_mut().insert(self);
        response
    }
}

/// One request, as its answer names it.
pub struct Occurrence(String);

impl Occurrence {
    pub fn of(request: &Request) -> Self {
        let reference = request.extensions().get::<Reference>();
        let path = request.extensions().get::<OriginalUri>().map_or_else(
            || format!("{BASE}{}", request.uri().path()),
            |OriginalUri(uri)| uri.path().to_owned(),
        );
        let reference = reference.map_or("", |reference| reference.0.as_str());
        Self(format!("{path}#{reference}"))
    }
}

/// Writes out a trouble on its way to the program; everything else passes.
pub fn draw(occurrence: &Occurrence, mut response: Response) -> Response {
    let told = response.extensions_mut().remove::<Trouble>();
    let trouble = match (told, response.status()) {
        (Some(trouble), _) => trouble,
        (None, StatusCode::METHOD_NOT_ALLOWED) => PageError::NotThatWay.into(),
        (None, _) => return response,
    };
    let details = ProblemDetails {
        kind: format!("/api#{}", trouble.kind.code()),
        title: trouble.kind.title().to_owned(),
        status: trouble.kind.status(),
        detail: trouble.detail,
        instance: occurrence.0.clone(),
        problems: trouble.problems,
        stored: trouble.stored,
        taken_back: trouble.taken_back,
    };
    let text = serde_json::to_string(&details).unwrap_or_default();
    let kind = HeaderValue::from_static("application/problem+json");
    let mut drawn = (response.status(), [(header::CONTENT_TYPE, kind)], text).into_response();
    for name in [header::RETRY_AFTER, header::WWW_AUTHENTICATE, header::ALLOW] {
        if let Some(value) = response.headers().get(&name) {
            drawn.headers_mut().insert(name, value.clone());
        }
    }
    drawn
}
