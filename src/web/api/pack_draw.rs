//! What is said of a pack that was found by a robot's draw.

use crate::bench::connector::Family;
use crate::store::pack_list::{Asked, Found};
use crate::web::draw_seen::DrawSeen;
use crate::web::visit::SignedIn;
use serde::Serialize;
use utoipa::ToSchema;

/// Packs are found by their label; what else is known of how much one may give.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct PackDraw {
    pub number: String,
    /// What its main plug carries on and on; null: no figure is on record.
    pub plug_ma: Option<i64>,
    /// By its own resistance, half full and on the careful side; null: that is not known, and it goes by its label alone.
    pub own_resistance_ma: Option<i64>,
    /// What its state, its plug and its own resistance say against it.
    pub doubts: Vec<String>,
}

impl PackDraw {
    /// None where no draw is asked for.
    pub fn of(one: &Found, about: (&Asked, &[Family]), who: &SignedIn) -> Option<Self> {
        let seen = DrawSeen::of(one, about, who)?;
        Some(Self {
            number: one.care.pack.number.clone(),
            plug_ma: seen.plug_ma,
            own_resistance_ma: seen.own_ma,
            doubts: seen.doubts,
        })
    }

    pub fn example() -> Self {
        Self {
            number: "P-001".to_owned(),
            plug_ma: Some(30_000),
            own_resistance_ma: Some(41_800),
            doubts: Vec::new(),
        }
    }
}
