//! How long a pack lay above its storage band, how full and how warm: told from one reading to the next, so that what full days
//! cost is added up as they pass and no old reading is read again. Days on which it was out count for none: nobody knows what it
//! held. Percent of what a cell holds, days of 24 hours, degrees Celsius.

use super::cost::Stretch;
use super::kept::Kept;
use super::story::{Lying, Story};
use super::told::Told;
use crate::club::calendar::Instant;

const DAY_MS: f64 = 86_400_000.0;

/// From the story's reading `until` then. `before`: what was kept before that reading.
pub fn lain(before: Kept, lying: &Lying, story: &Story, until: Instant) -> Vec<Stretch> {
    let mut so_far = Story {
        read: story.read.clone(),
        since: Vec::new(),
    };
    let mut from = story.read.as_ref().map(|read| read.at);
    let mut found = Vec::new();
    for dated in &story.since {
        found.extend(stretch(before, lying, &so_far, (from, dated.at)));
        so_far.since.push(*dated);
        from = Some(dated.at);
    }
    found.extend(stretch(before, lying, &so_far, (from, until)));
    found
}

fn stretch(
    before: Kept,
    lying: &Lying,
    so_far: &Story,
    (from, to): (Option<Instant>, Instant),
) -> Option<Stretch> {
    before.after(lying, so_far).above_since?;
    let told = Told::of(lying, so_far).filter(|told| !told.is_out_since)?;
    let days = to.ms().saturating_sub(from?.ms()) as f64 / DAY_MS;
    (days > 0.0).then(|| Stretch {
        percent: told.highest_percent(lying).round() as i64,
        celsius: lying.celsius(),
        days,
    })
}

#[cfg(test)]
#[path = "lain_tests.rs"]
mod tests;
