//! What comes before any plan: whether the pack may be charged at all, whether enough is known, and which way its volts go.
//! mV of one cell, degrees Celsius.

use super::asked::{Asked, Purpose};
use super::storage;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::CHARGE_CELSIUS;
use crate::battery::volts::{Volts, volts_words};

/// Up or down to so many volts a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Up { target_mv: i64 },
    Down { target_mv: i64 },
}

impl Way {
    pub fn target_mv(self) -> i64 {
        match self {
            Self::Up { target_mv } | Self::Down { target_mv } => target_mv,
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Before {
    Go(Way),
    Stop(Vec<String>),
    /// Which figures lack, by the names of a form.
    Ask(Vec<&'static str>),
    Nothing(String),
}

/// Every cell this near to full: it is full. Within a charger's tolerance; common practice, no source.
const FULL_WITHIN_MV: i64 = 20;

/// Straight out of a robot a pack is warmer inside than anybody can feel: it lies so long, or its own temperature is read.
/// Common practice, no source (what is charged must be near the room's warmth, not merely lie in it).
const COOLS_MINUTES: i64 = 15;

/// A battery vendor's disposal guide (0.1C, undamaged packs alone); 0.9 V a cell: `battery::limits`.
const NICKEL_BY_HAND: &str = "How long nickel takes to be empty its volts don’t tell, so that no settings are planned for it. Only where it is \
    undamaged: discharge it at no more than 0.1C, to 0.9 V a cell, and stay with it; then tape its plugs and ask where it may be left.";

/// A stop comes before a question, and a question before everything else.
pub fn before(asked: &Asked) -> Before {
    let way = way(asked);
    let mut stops = cells(asked);
    let fills = matches!(
        asked.purpose,
        Purpose::ReadyBy { .. } | Purpose::NoHurry { .. }
    );
    if stops.is_empty() && (fills || matches!(way, Before::Go(Way::Up { .. }))) {
        stops.extend(over_full(asked));
    }
    stops.extend(warmth(asked));
    stops.extend(from_use(asked, &way));
    if !stops.is_empty() {
        return Before::Stop(stops);
    }
    let both = [
        (asked.warmth.pack_celsius, "pack_celsius"),
        (asked.warmth.room_celsius, "room_celsius"),
    ];
    let lacking: Vec<&str> = both
        .into_iter()
        .filter(|(celsius, _)| celsius.is_none())
        .map(|(_, name)| name)
        .collect();
    if !lacking.is_empty() {
        return Before::Ask(lacking);
    }
    way
}

/// Within the tolerance of full (`battery::limits`) a cell that is over it may be used or discharged, and is never charged on.
fn over_full(asked: &Asked) -> Option<String> {
    let (pack, limits) = (&asked.pack, &asked.pack.limits);
    let highest_mv = pack.volts.highest_mv(pack.build.cells_series);
    let is_over = highest_mv > limits.over_full_warn_mv;
    is_over.then(|| {
        let (value, full) = (volts_words(highest_mv), volts_words(limits.full_mv));
        let which = match pack.volts {
            Volts::Cells(_) => "Its fullest cell",
            Volts::Pack(_) => AVERAGE,
        };
        // Nickel and lead lie as they are: no plan brings them down to storage.
        let then = if pack.build.chemistry.is_lithium() {
            "use it, or discharge it to storage"
        } else {
            "use it, or let it lie"
        };
        format!(
            "{which} reads {value} V and full is {full} V: it is not charged on. Check the charger it came from; {then}."
        )
    })
}

/// Of a pack that was measured whole.
const AVERAGE: &str = "The average cell";

fn cells(asked: &Asked) -> Vec<String> {
    let pack = &asked.pack;
    let (limits, count) = (&pack.limits, pack.build.cells_series);
    let mut stops = Vec::new();
    let mut judge = |name: String, (low_mv, high_mv): (i64, i64)| {
        if low_mv < limits.minimum_mv {
            let (value, least) = (volts_words(low_mv), volts_words(limits.minimum_mv));
            stops.push(format!(
                "{name} reads {value} V, under its least of {least} V: it must not be charged or used."
            ));
        }
        if high_mv > limits.over_full_mv {
            let (value, most) = (volts_words(high_mv), volts_words(limits.over_full_mv));
            stops.push(format!(
                "{name} reads {value} V, over {most} V: it is overcharged and must not be charged or used."
            ));
        }
    };
    match &pack.volts {
        Volts::Cells(cells) => {
            for (index, mv) in cells.iter().enumerate() {
                judge(format!("Cell {}", index + 1), (*mv, *mv));
            }
        }
        volts @ Volts::Pack(_) => {
            let both = (volts.lowest_mv(count), volts.highest_mv(count));
            judge(AVERAGE.to_owned(), both);
        }
    }
    stops.extend(unseen(asked));
    stops
}

/// Lithium in series is charged only where every cell is seen.
fn unseen(asked: &Asked) -> Option<String> {
    let (build, count) = (&asked.pack.build, asked.pack.build.cells_series);
    let logged = match &asked.pack.volts {
        Volts::Cells(cells) => i64::try_from(cells.len()).unwrap_or(i64::MAX),
        Volts::Pack(_) => 1,
    };
    let is_of_pack = matches!(asked.pack.volts, Volts::Pack(_)) && !build.chemistry.is_lithium();
    if logged == count || is_of_pack {
        return None;
    }
    if !build.sees_cells && build.chemistry.is_lithium() {
        return Some(
            "It has no balance lead: nobody can see whether a cell is overcharged, so no charge is planned.".to_owned(),
        );
    }
    Some(format!(
        "Each of its {count} cells must be read first; {logged} voltage{} logged.",
        if logged == 1 { " is" } else { "s are" }
    ))
}

fn warmth(asked: &Asked) -> Option<String> {
    let least = asked.club.charge_from_celsius.max(*CHARGE_CELSIUS.start());
    let most = asked.club.charge_to_celsius.min(*CHARGE_CELSIUS.end());
    let outside = |celsius: &Option<i64>| celsius.filter(|at| !(least..=most).contains(at));
    let (pack, room) = (
        outside(&asked.warmth.pack_celsius),
        outside(&asked.warmth.room_celsius),
    );
    // Said once, where a pack is as warm as its room.
    let what = match (pack, room) {
        (Some(pack), Some(room)) if pack == room => format!("Pack and room have {pack} °C"),
        (Some(pack), Some(room)) => format!("The pack has {pack} °C and the room {room} °C"),
        (Some(pack), None) => format!("The pack has {pack} °C"),
        (None, Some(room)) => format!("The room has {room} °C"),
        (None, None) => return None,
    };
    Some(format!(
        "{what}: nothing is charged outside {least} to {most} °C."
    ))
}

/// In how many minutes a pack that came from use may be planned for; None where nothing keeps it waiting.
pub fn rests_for(asked: &Asked) -> Option<i64> {
    let since = asked.pack.from_use_minutes?;
    let is_waiting = since < COOLS_MINUTES && !asked.warmth.pack_is_measured;
    is_waiting.then(|| COOLS_MINUTES - since)
}

fn from_use(asked: &Asked, way: &Before) -> Option<String> {
    let minutes = rests_for(asked)?;
    matches!(way, Before::Go(_)).then(|| {
        let more = if minutes == 1 { "minute" } else { "minutes" };
        format!(
            "It came from use just now: it lies for {minutes} more {more}, or somebody measures how warm the pack itself is."
        )
    })
}

fn way(asked: &Asked) -> Before {
    let (pack, limits) = (&asked.pack, &asked.pack.limits);
    let mean_mv = pack.volts.total_mv() / pack.build.cells_series.max(1);
    let is_lithium = pack.build.chemistry.is_lithium();
    match asked.purpose {
        Purpose::Empty if mean_mv <= limits.minimum_mv + FULL_WITHIN_MV => {
            Before::Nothing("It is empty.".to_owned())
        }
        // Its volts tell no course, so that neither time nor mAh could be said.
        Purpose::Empty if pack.build.chemistry == Chemistry::NiMh => {
            Before::Nothing(NICKEL_BY_HAND.to_owned())
        }
        Purpose::Empty => Before::Go(Way::Down {
            target_mv: limits.minimum_mv,
        }),
        Purpose::Storage if pack.build.chemistry == Chemistry::NiMh && !is_low(asked) => {
            Before::Nothing("Nickel is stored as it is, best partly charged.".to_owned())
        }
        // It is stored full; from the foot of its band on it may lie as it is, as storage care has it.
        Purpose::Storage if pack.build.chemistry == Chemistry::Pb && !is_low(asked) => {
            let least = volts_words(limits.storage_low_mv);
            Before::Nothing(format!("Lead may lie as it is from {least} V a cell on."))
        }
        // Of nickel and lead what is low is charged first.
        Purpose::Storage if is_lithium => storage::way(asked),
        _ if is_full(asked) => Before::Nothing("It is full.".to_owned()),
        _ => Before::Go(Way::Up {
            target_mv: limits.full_mv,
        }),
    }
}

/// Under what it is stored at, in its lowest cell: as storage care has it.
fn is_low(asked: &Asked) -> bool {
    let pack = &asked.pack;
    pack.volts.lowest_mv(pack.build.cells_series) < pack.limits.storage_low_mv
}

/// Nickel's volts do not tell it.
fn is_full(asked: &Asked) -> bool {
    let pack = &asked.pack;
    let full_mv = pack.limits.full_mv - FULL_WITHIN_MV;
    let is_told = pack.build.chemistry.is_lithium();
    is_told && pack.volts.lowest_mv(pack.build.cells_series) >= full_mv
}
