//! What plugs into what, pure: connector families, chargers, supplies, cables, adapters, and how people type amounts.
//! Values in, values out; whole mV, mA, mAh and mW throughout. Who may borrow a thing is the club's business,
//! what a cell bears is the battery's; this room only knows what a plug, a wire and a charger can carry.

pub mod chain;
pub mod charger;
mod charger_check;
pub mod connector;
pub mod form;
pub mod kit;
pub mod kit_sheet;
pub mod kit_typed;
pub mod plan;
pub mod port;
pub mod shape;
pub mod supply;
pub mod typed;
pub mod unfit;

use std::ops::RangeInclusive;

use serde::Serialize;

/// One thing wrong with one field of a form, in a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FieldProblem {
    pub field: &'static str,
    pub words: String,
}

/// What a check found so far; empty means the value may be kept.
#[derive(Debug, Default)]
pub(crate) struct Findings(Vec<FieldProblem>);

impl Findings {
    pub(crate) fn add(&mut self, field: &'static str, words: impl Into<String>) {
        self.0.push(FieldProblem {
            field,
            words: words.into(),
        });
    }

    pub(crate) fn unless(&mut self, holds: bool, field: &'static str, words: &str) {
        if !holds {
            self.add(field, words);
        }
    }

    pub(crate) fn within(
        &mut self,
        value: i64,
        range: RangeInclusive<i64>,
        field: &'static str,
        words: &str,
    ) {
        self.unless(range.contains(&value), field, words);
    }

    /// A connector is named by its family's code; which codes the club knows is asked elsewhere. `called`: what a form calls
    /// the field.
    pub(crate) fn connector(&mut self, code: &str, field: &'static str, called: &str) {
        let is_named = !code.trim().is_empty() && code.chars().count() <= 40;
        if !is_named {
            self.add(field, format!("{called}: choose a connector."));
        }
    }

    pub(crate) fn pass<T>(self, value: T) -> Result<T, Vec<FieldProblem>> {
        if self.0.is_empty() {
            Ok(value)
        } else {
            Err(self.0)
        }
    }
}
