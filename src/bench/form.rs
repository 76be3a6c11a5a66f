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

    pub fn extend(&mut self, others: Self) {
        self.0.extend(others.0);
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Refused where there is one.
    pub fn or_none(self) -> Result<(), Self> {
        if self.is_empty() { Ok(()) } else { Err(self) }
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
