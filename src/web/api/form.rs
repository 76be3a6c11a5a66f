//! What a program sent, as the form that a page would have sent; and back: which name of the program's a field of the
//! form has, and what the page's answer comes to.

use super::seen::Seen;
use super::trouble::{Kind, Trouble};
use crate::bench::form::{Fields, Problems};
use crate::ids;
use crate::web::page::{Page, ToPutRight};
use crate::web::visit::SignedIn;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use serde::Serialize;
use serde::de::DeserializeOwned;
use utoipa::ToSchema;

/// The body of a request that changes something.
pub trait Sent: DeserializeOwned + Serialize + ToSchema + Send + Sync + 'static {
    /// Fills the form in. What no form could hold is refused here.
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems>;

    /// One that does what it says in a club where its things are.
    fn example() -> Self;
}

/// The answer of a page that refuses, where the API itself found what the form has no place for.
pub fn refused(told: ToPutRight) -> Page {
    let mut response = StatusCode::UNPROCESSABLE_ENTITY.into_response();
    response.extensions_mut().insert(told);
    Ok(response)
}

#[derive(Clone, Debug, Default)]
pub struct Form {
    pairs: Vec<(String, String)>,
    /// The form's name of a field, and the program's.
    names: Vec<(String, String)>,
}

impl Form {
    /// Under the same name in both.
    pub fn text(&mut self, name: &str, value: impl ToString) {
        self.called(name, name, value);
    }

    /// `sent`: the program's name, `field`: the form's.
    pub fn called(&mut self, sent: &str, field: &str, value: impl ToString) {
        self.name(sent, field);
        // No keyboard types a NUL, and PostgreSQL keeps none in a text.
        let value = value.to_string().replace('\0', "");
        self.pairs.push((field.to_owned(), value));
    }

    /// Left out where there is nothing.
    pub fn maybe(&mut self, sent: &str, field: &str, value: Option<impl ToString>) {
        match value {
            Some(value) => self.called(sent, field, value),
            None => self.name(sent, field),
        }
    }

    pub fn each(&mut self, sent: &str, field: &str, values: &[impl ToString]) {
        self.name(sent, field);
        for value in values {
            self.called(sent, field, value.to_string());
        }
    }

    pub fn tick(&mut self, sent: &str, field: &str, is_ticked: bool) {
        self.maybe(sent, field, is_ticked.then_some("yes"));
    }

    /// What is wrong with that field is told under the program's name.
    pub fn name(&mut self, sent: &str, field: &str) {
        self.names.push((field.to_owned(), sent.to_owned()));
    }

    fn name_of(&self, field: &str) -> String {
        let known = self.names.iter().find(|(name, _)| name == field);
        known.map_or_else(|| field.to_owned(), |(_, sent)| sent.clone())
    }

    /// As fields, under the key of the request, if it has one. `request`: all of it, so that another one under the same
    /// key is another body.
    pub fn fields(&self, key: Option<&str>, request: &str) -> Fields {
        let mut fields = Fields::new(self.pairs.clone());
        if let Some(key) = key {
            fields.put("key", key);
            fields.put("request", &ids::digest(request));
        }
        fields
    }

    /// Where the page led, or what it asks to be put right.
    pub fn outcome(&self, page: Page) -> Result<Seen, Trouble> {
        let mut response = page?;
        if let Some(told) = response.extensions_mut().remove::<ToPutRight>() {
            return Err(Trouble::put_right(told, |field| self.name_of(field)));
        }
        let place = response.headers().get(header::LOCATION);
        match place.and_then(|place| place.to_str().ok()) {
            Some(place) if response.status() == StatusCode::SEE_OTHER => Ok(Seen::at_page(place)),
            _ => {
                tracing::error!(status = %response.status(), "a page answered in a way the API does not know");
                Err(Trouble::new(
                    Kind::Failed,
                    "Something went wrong on our side.",
                ))
            }
        }
    }

    pub fn refused(&self, problems: &Problems) -> Trouble {
        Trouble::put_right(problems.into(), |field| self.name_of(field))
    }
}
