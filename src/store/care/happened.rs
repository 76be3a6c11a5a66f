//! What happened to a pack since its last reading, read from the text that its query gives.

use crate::club::calendar::Instant;
use crate::club::care::story::{Charge, Dated, Toward, What};
use crate::club::charging::Outcome;

/// `1764150000000:lent 1764160000000:back 1764170000000:charge:storage:finished:out:450`
pub fn since(text: &str) -> Vec<Dated> {
    text.split(' ').filter_map(dated).collect()
}

fn dated(text: &str) -> Option<Dated> {
    let mut parts = text.split(':');
    let at = Instant(parts.next()?.parse().ok()?);
    let what = match parts.next()? {
        "lent" => What::Lent,
        "back" => What::CameBack,
        "round" => What::PutOnRound,
        "charge" => What::Charged(charge((
            parts.next()?,
            parts.next()?,
            parts.next()?,
            parts.next()?,
        ))?),
        _ => return None,
    };
    Some(Dated { at, what })
}

/// Purpose, outcome, `in` or `out`, mAh or nothing.
pub fn charge((purpose, outcome, way, mah): (&str, &str, &str, &str)) -> Option<Charge> {
    Some(Charge {
        toward: toward(purpose)?,
        end: Outcome::from_code(outcome)?,
        is_charge: way == "in",
        moved_mah: mah.parse().ok(),
    })
}

fn toward(purpose: &str) -> Option<Toward> {
    match purpose {
        "ready_by" | "no_hurry" => Some(Toward::Full),
        "storage" => Some(Toward::Storage),
        "empty" => Some(Toward::Empty),
        _ => None,
    }
}

/// Of a charge that runs: it is on its charger; or past its time, when it counts from then on as one that was stopped and nobody noted how
/// far it got. Nothing where it was read since that.
pub fn running(
    (purpose, is_charge): (&str, bool),
    (started, until): (Instant, Instant),
    (read, now): (Option<Instant>, Instant),
) -> Option<Dated> {
    let done = Charge {
        toward: toward(purpose)?,
        end: Outcome::Stopped,
        is_charge,
        moved_mah: None,
    };
    let (at, what) = if now < until {
        (started, What::OnCharger)
    } else {
        (until, What::Charged(done))
    };
    let is_since = what == What::OnCharger || read.is_none_or(|read| at > read);
    is_since.then_some(Dated { at, what })
}

/// An event that a pack was taken to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    pub starts: Instant,
    pub ends: Instant,
    /// None: it comes or came back with a loan or a storage round.
    pub back: Option<Instant>,
    pub name: String,
}

impl Taken {
    /// And the pack is there.
    pub fn goes_on(&self, now: Instant) -> bool {
        let is_back = self.back.is_some_and(|back| back <= now);
        self.starts <= now && now < self.ends && !is_back
    }
}

/// A line each: `1764150000000:1764250000000:1764250000000:Autumn Bouts`; `lent` in place of when it was back.
pub fn events(text: &str) -> Vec<Taken> {
    text.lines().filter_map(taken).collect()
}

fn taken(line: &str) -> Option<Taken> {
    let mut parts = line.splitn(4, ':');
    let mut instant = || Some(Instant(parts.next()?.parse().ok()?));
    let (starts, ends) = (instant()?, instant()?);
    let back = parts.next()?.parse().ok().map(Instant);
    let name = parts.next()?.to_owned();
    Some(Taken {
        starts,
        ends,
        back,
        name,
    })
}

/// Taken there when it began, and back; what lies before the reading, or ahead, is left out.
pub fn of_events(events: &[Taken], read: Option<Instant>, now: Instant) -> Vec<Dated> {
    let counts = |dated: &Dated| dated.at <= now && read.is_none_or(|read| dated.at > read);
    let each = events.iter().flat_map(|event| {
        let back = event.back.map(|at| Dated {
            at,
            what: What::BackFromEvent,
        });
        let there = Dated {
            at: event.starts,
            what: What::TakenToEvent,
        };
        std::iter::once(there).chain(back)
    });
    each.filter(counts).collect()
}

/// Oldest first; of one instant what ended stands before what began.
pub fn in_order(since: &mut [Dated]) {
    since.sort_by_key(|dated| {
        let rank = match dated.what {
            What::Charged(_) => 0,
            What::CameBack | What::BackFromEvent | What::PutOnRound => 1,
            What::Lent | What::TakenToEvent | What::OnCharger => 2,
        };
        (dated.at, rank)
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_happened_is_read_back_and_stands_in_order() {
        let mut told = since("30:back 10:lent 30:lent 20:charge:no_hurry:stopped:in: 5:nonsense");
        in_order(&mut told);
        let charge = Charge {
            toward: Toward::Full,
            end: Outcome::Stopped,
            is_charge: true,
            moved_mah: None,
        };
        let all = [
            (10, What::Lent),
            (20, What::Charged(charge)),
            (30, What::CameBack),
            (30, What::Lent),
        ];
        let all = all.map(|(at, what)| Dated {
            at: Instant(at),
            what,
        });
        assert_eq!(told, all);
        assert_eq!(since(""), []);
    }

    #[test]
    fn a_charge_that_runs_leaves_it_open_until_its_time_is_over_and_then_counts_as_stopped_nobody_knows_where()
     {
        let at = |now: i64, read: i64| {
            let both = (Instant(10), Instant(40));
            running(
                ("no_hurry", true),
                both,
                (Some(Instant(read)), Instant(now)),
            )
        };
        let what = |dated: Option<Dated>| dated.map(|dated| (dated.at.ms(), dated.what));
        assert_eq!(what(at(30, 5)), Some((10, What::OnCharger)));
        let Some((40, What::Charged(charge))) = what(at(90, 5)) else {
            panic!("{:?}", at(90, 5));
        };
        assert_eq!(
            (charge.toward, charge.end, charge.moved_mah),
            (Toward::Full, Outcome::Stopped, None)
        );
        assert_eq!(at(90, 50), None, "read since");
    }

    #[test]
    fn a_pack_is_back_when_its_event_is_over_or_on_its_last_day_unless_somebody_has_it() {
        let told = events("10:20:19:Autumn: Bouts\n30:40:lent:Spring Bouts\n90:99:99:Next year");
        let there: Vec<i64> = (8..22)
            .filter(|now| told[0].goes_on(Instant(*now)))
            .collect();
        assert_eq!(there, Vec::from_iter(10..19));
        assert!(told[1].goes_on(Instant(39)), "on a loan");
        assert_eq!(told[0].name, "Autumn: Bouts");
        let dated = of_events(&told, Some(Instant(15)), Instant(50));
        let whats: Vec<(i64, What)> = dated.iter().map(|one| (one.at.ms(), one.what)).collect();
        assert_eq!(whats, [(19, What::BackFromEvent), (30, What::TakenToEvent)]);
    }
}
