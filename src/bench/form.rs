//! A form as it was filled in: fields by name, several values under one name kept in order. And the list of what must be
//! put right, each with the field it belongs to. A sheet's row is read as such a form too. How a form comes is left to others.

use crate::bench::FieldProblem;
use crate::bench::typed::Words;

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

    /// Name and value of each, in order.
    pub fn pairs(&self) -> &[(String, String)] {
        &self.0
    }
}

/// What a form fails by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Against {
    /// What was typed: something else would do.
    #[default]
    Typed,
    /// A rule: nothing that could be typed would do as things stand.
    Rule,
    /// A right that whoever sent it lacks.
    Right,
}

/// The Display is the sentence; this says what kind of a refusal it is.
pub trait Refusal: std::fmt::Display {
    fn against(&self) -> Against;
}

/// What must be put right, in the order of the form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems {
    list: Vec<(String, String)>,
    against: Against,
}

impl From<Vec<FieldProblem>> for Problems {
    fn from(found: Vec<FieldProblem>) -> Self {
        let pair = |each: FieldProblem| (each.field.to_owned(), each.words);
        Self {
            list: found.into_iter().map(pair).collect(),
            against: Against::Typed,
        }
    }
}

impl Problems {
    pub fn one(field: &str, words: impl Into<String>) -> Self {
        let mut problems = Self::default();
        problems.add(field, words);
        problems
    }

    /// The form was in order, and this stood against it.
    pub fn refused(field: &str, refusal: &impl Refusal) -> Self {
        Self::one(field, refusal.to_string()).by(refusal.against())
    }

    /// What these fail by.
    pub fn by(self, against: Against) -> Self {
        Self { against, ..self }
    }

    pub const fn against(&self) -> Against {
        self.against
    }

    pub fn add(&mut self, field: &str, words: impl Into<String>) {
        self.list.push((field.to_owned(), words.into()));
        self.against = Against::Typed;
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
        for (_, words) in &mut self.list {
            *words = numbers.sentence(words);
        }
        self
    }

    pub fn extend(&mut self, others: Self) {
        if self.list.is_empty() {
            self.against = others.against;
        }
        self.list.extend(others.list);
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Refused where there is one.
    pub fn or_none(self) -> Result<(), Self> {
        if self.is_empty() { Ok(()) } else { Err(self) }
    }

    pub fn list(&self) -> &[(String, String)] {
        &self.list
    }

    /// What is wrong with this field; empty when nothing is.
    pub fn of(&self, field: &str) -> &str {
        self.list
            .iter()
            .find(|(name, _)| name == field)
            .map_or("", |(_, words)| words)
    }
}
