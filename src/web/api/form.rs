//! What a program sent, as the form that a page would have sent; and back: which name of the program's a field of the
//! form has, and what the page's answer comes to.

use super::done::Done;
use super::trouble::{Kind, Trouble};
use super::words::in_its_unit;
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
    /// It has no field, and the body may be left away.
    const IS_NOTHING: bool = false;

    /// Fills the form in. What no form could hold is refused here, by the program's names.
    fn fill(&self, form: &mut Form, who: &SignedIn) -> Result<(), Problems>;

    /// One that does what it says in a club where its things are.
    fn example() -> Self;
}

/// As a page refuses, where the API itself found what the form has no place for; fields by the program's names.
pub fn refused(told: ToPutRight) -> Page {
    let mut response = StatusCode::UNPROCESSABLE_ENTITY.into_response();
    let trouble = Trouble::put_right(told);
    response.extensions_mut().insert(trouble);
    Ok(response)
}

#[derive(Clone, Debug, Default)]
pub struct Form {
    pairs: Vec<(String, String)>,
    /// The form's name of a field, and the program's.
    names: Vec<(String, String)>,
    /// The program's names of amounts that are below nothing.
    below_nothing: Vec<String>,
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
        if value.starts_with('-') || value.contains(" -") {
            self.below_nothing.push(sent.to_owned());
        }
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

    fn put_right(&self, mut told: ToPutRight) -> Trouble {
        for (field, words) in &mut told.problems {
            *field = self.name_of(field);
            let is_below = self.below_nothing.contains(field);
            *words = in_its_unit(field, std::mem::take(words), is_below);
        }
        Trouble::put_right(told)
    }

    /// Empty where no program sends such a field: what stands there is of the whole.
    fn name_of(&self, field: &str) -> String {
        let known = self.names.iter().find(|(name, _)| name == field);
        known.map_or_else(String::new, |(_, sent)| sent.clone())
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
    pub fn outcome(&self, page: Page) -> Result<Done, Trouble> {
        let mut response = page?;
        if let Some(trouble) = response.extensions_mut().remove::<Trouble>() {
            return Err(trouble);
        }
        if let Some(told) = response.extensions_mut().remove::<ToPutRight>() {
            return Err(self.put_right(told));
        }
        let place = response.headers().get(header::LOCATION);
        match place.and_then(|place| place.to_str().ok()) {
            Some(place) if response.status() == StatusCode::SEE_OTHER => Ok(Done::at_page(place)),
            _ => {
                tracing::error!(status = %response.status(), "a page answered in a way the API does not know");
                Err(Trouble::new(
                    Kind::Failed,
                    "Something went wrong on our side.",
                ))
            }
        }
    }
}
