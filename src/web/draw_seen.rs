//! What stands beside a pack that was found by a robot's draw, on the list and for a program.

use crate::bench::connector::Family;
use crate::club::draw::Draw;
use crate::store::pack_list::{Asked, Found};
use crate::web::visit::SignedIn;

pub struct DrawSeen {
    /// `By its label alone: its own resistance is not known.`
    pub by: &'static str,
    pub doubts: Vec<String>,
    /// By its own resistance, on the careful side.
    pub own_ma: Option<i64>,
    pub plug_ma: Option<i64>,
}

impl DrawSeen {
    /// None where no draw is asked for. `families`: all that there are.
    pub fn of(one: &Found, (asked, families): (&Asked, &[Family]), who: &SignedIn) -> Option<Self> {
        let pack = &one.care.pack;
        let family = families.iter().find(|family| family.code == pack.connector);
        let draw = Draw {
            need_ma: asked.gives_ma_min?,
            state: pack.state_at(who.now, who.club.limits().reading_days),
            build: pack.build(),
            label_c_tenths: pack.label_discharge_c_tenths,
            plug: (
                pack.connector_name(),
                family.and_then(|family| family.rating_ma),
            ),
            worst_ohm: one.measured().map(|measured| measured.worst_ohm),
        };
        let own_ma = draw.own_ma();
        let words = |doubt| draw.words(doubt, who.numbers());
        Some(Self {
            by: Draw::by(own_ma.is_some()),
            doubts: draw.doubts().into_iter().map(words).collect(),
            own_ma,
            plug_ma: draw.plug.1,
        })
    }
}
