//! What a form sent, read off the request, and what its one-time key guards. The fields themselves, and the list of what must
//! be put right (shown on top of a refused form and beside the field), are `bench::form`.

pub use crate::bench::form::{Fields, Problems};
use crate::web::page::PageError;
use axum::extract::rejection::FormRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;

impl Fields {
    /// What the form's one-time key guards: everything sent, in order, but the key itself.
    pub fn body_hash(&self) -> String {
        let body: Vec<String> = self
            .pairs()
            .iter()
            .filter(|(key, _)| key != "key")
            .map(|(key, value)| format!("{}={key}{}={value}", key.len(), value.len()))
            .collect();
        crate::ids::digest(&body.join("&"))
    }
}

impl<S: Send + Sync> FromRequest<S> for Fields {
    type Rejection = PageError;

    async fn from_request(request: Request, state: &S) -> Result<Self, PageError> {
        let axum::Form(pairs) = axum::Form::<Vec<(String, String)>>::from_request(request, state)
            .await
            .map_err(unread)?;
        // What was no UTF-8 was read as this mark, which no keyboard types.
        let is_garbled = |text: &str| text.contains(char::REPLACEMENT_CHARACTER);
        if pairs
            .iter()
            .any(|(name, value)| is_garbled(name) || is_garbled(value))
        {
            return Err(unreadable());
        }
        Ok(Self::new(pairs.into_iter().map(without_nul).collect()))
    }
}

fn unread(rejection: FormRejection) -> PageError {
    use axum::response::IntoResponse;
    match rejection.into_response().status() {
        StatusCode::PAYLOAD_TOO_LARGE => PageError::TooLarge,
        _ => unreadable(),
    }
}

pub(super) fn unreadable() -> PageError {
    PageError::Unreadable(
        "The form could not be read, so nothing was changed. Open the page again and fill it in there.".to_owned(),
    )
}

/// No keyboard types a NUL, and PostgreSQL keeps none in a text.
pub(super) fn without_nul((name, value): (String, String)) -> (String, String) {
    (name.replace('\0', ""), value.replace('\0', ""))
}
