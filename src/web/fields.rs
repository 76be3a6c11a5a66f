//! What a form sent: fields by name, several values under one name kept in order. And the list of what must be put
//! right, each with the field it belongs to, shown on top of a refused form and beside the field.

use crate::bench::FieldProblem;
use crate::bench::typed::Words;
use crate::web::page::PageError;
use axum::extract::rejection::FormRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;

#[derive(Clone, Debug, Default)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    pub fn new(pairs: Vec<(String, String)>) -> Self {
        Self(pairs)
    }

    pub fn into_pairs(self) -> Vec<(String, String)> {
        self.0
    }

    /// The field's value without outer white space; empty when it is missing.
    pub fn text(&self, name: &str) -> String {
        self.raw(name).trim().to_owned()
    }

    /// In place of whatever was sent under that name.
    pub fn put(&mut self, name: &str, value: &str) {
        self.0.retain(|(key, _)| key != name);
        self.0.push((name.to_owned(), value.to_owned()));
    }

    /// As typed, for passwords.
    pub fn raw(&self, name: &str) -> &str {
        self.0
            .iter()
            .find(|(key, _)| key == name)
            .map_or("", |(_, value)| value)
    }

    pub fn all(&self, name: &str) -> Vec<String> {
        self.0
            .iter()
            .filter(|(key, _)| key == name)
            .map(|(_, value)| value.trim().to_owned())
            .collect()
    }

    pub fn is_ticked(&self, name: &str) -> bool {
        !self.text(name).is_empty()
    }

    /// None: nothing typed. What is no number is out of every range and refused as such.
    pub fn count(&self, name: &str) -> Option<i64> {
        let typed = self.text(name);
        (!typed.is_empty()).then(|| typed.parse().unwrap_or(-1))
    }

    pub fn id(&self, name: &str) -> Option<uuid::Uuid> {
        self.text(name).parse().ok()
    }

    /// Names of all fields that were sent, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(|(key, _)| key.as_str())
    }

    /// What the form's one-time key guards: everything sent, in order, but the key itself.
    pub fn body_hash(&self) -> String {
        let body: Vec<String> = self
            .0
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
        Ok(Self(pairs.into_iter().map(without_nul).collect()))
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

/// What must be put right, in the order of the form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems(Vec<(String, String)>);

impl From<Vec<FieldProblem>> for Problems {
    fn from(found: Vec<FieldProblem>) -> Self {
        let pair = |each: FieldProblem| (each.field.to_owned(), each.words);
        Self(found.into_iter().map(pair).collect())
    }
}

impl Problems {
    pub fn one(field: &str, words: impl Into<String>) -> Self {
        let mut problems = Self::default();
        problems.add(field, words);
        problems
    }

    pub fn add(&mut self, field: &str, words: impl Into<String>) {
        self.0.push((field.to_owned(), words.into()));
    }

    /// The value, or its refusal noted against the field.
    pub fn keep<T, E: std::fmt::Display>(
        &mut self,
        field: &str,
        outcome: Result<T, E>,
    ) -> Option<T> {
        outcome
            .map_err(|refusal| self.add(field, refusal.to_string()))
            .ok()
    }

    /// With numbers as this club writes them. Not for problems that repeat what was typed.
    pub fn worded(mut self, numbers: Words) -> Self {
        for (_, words) in &mut self.0 {
            *words = numbers.sentence(words);
        }
        self
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn list(&self) -> &[(String, String)] {
        &self.0
    }

    /// What is wrong with this field; empty when nothing is.
    pub fn of(&self, field: &str) -> &str {
        self.0
            .iter()
            .find(|(name, _)| name == field)
            .map_or("", |(_, words)| words)
    }
}
