//! The first, short answer about one thing that comes back, and what was ticked below it, as a form sends them under names
//! that end in `suffix`. What they come to is `club::glance`.

use crate::actions::condition::Looked;
use crate::club::glance::{self, Glance, GlanceRefusal};
use crate::club::seen::Seen;
use crate::web::fields::Fields;
use crate::web::pack_forms::looked;

#[derive(Clone, Default)]
pub struct Answer {
    /// As the form shows it again: 'something is wrong' once anything is ticked.
    pub glance: Glance,
    /// With nothing seen in it while there is something to put right, or the thing is still out.
    pub looked: Looked,
    pub is_here: bool,
    pub refusal: Option<GlanceRefusal>,
}

impl Answer {
    /// `is_covered`: 'nothing to see' was said of all things that say nothing themselves.
    pub fn of(fields: &Fields, suffix: &str, is_covered: bool) -> Self {
        let looked = looked(fields, suffix);
        let first = Glance::from_code(&fields.text(&format!("look{suffix}")));
        let sees_something = looked.seen.iter().any(|each| *each != Seen::Nothing);
        let shown = if sees_something { Glance::Wrong } else { first };
        let weighed = if glance::is_too_long(&looked.own_words) {
            Err(GlanceRefusal::TooLong)
        } else if glance::lacks_words(&looked.seen, &looked.own_words) {
            Err(GlanceRefusal::NoWords)
        } else {
            glance::weigh(first, looked.seen.clone(), is_covered)
        };
        Self {
            glance: shown,
            is_here: matches!(weighed, Ok(Some(_))) && first != Glance::StillOut,
            refusal: weighed.as_ref().err().copied(),
            looked: Looked {
                seen: weighed.ok().flatten().unwrap_or_default(),
                ..looked
            },
        }
    }

    /// `P-014: choose …`; empty when nothing is to be put right.
    pub fn problem_after(&self, number: &str) -> String {
        self.refusal
            .map_or_else(String::new, |refusal| format!("{number}: {refusal}"))
    }
}
