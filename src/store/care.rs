//! What storage care asks of a pack: what is kept beside its latest reading, and what happened since; in one query, however
//! many packs. What happened comes as one text for each pack and is read by `happened`. Decides nothing.

pub mod events;
mod happened;
mod keep;
pub mod record;
pub mod rounds;
pub mod season;

pub use keep::{Loses, keep, not_kept};

use super::charges::now::NowRow;
use super::packs::PackView;
use super::{Conn, Result, row, rows, rows_among};
use crate::battery::range::Range;
use crate::club::calendar::Instant;
use crate::club::care::chased::Holder;
use crate::club::care::cost::Stretch;
use crate::club::care::due::{Event, OnRecord};
use crate::club::care::kept::Kept;
use crate::club::care::story::{LastRead, Lying, Story};
use crate::club::care::walked::Walked;
use crate::club::care::warmth::Warmth;
use crate::club::limits::ClubLimits;
use crate::club::places::PlaceKind;
use crate::club::reading::Rested;
use uuid::Uuid;

/// A pack with what storage care goes by.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct InCare {
    #[sqlx(flatten)]
    pub pack: PackView,
    pub created_ms: Instant,
    pub place_celsius: Option<i64>,
    above_ms: Option<Instant>,
    back_ms: Option<Instant>,
    is_due_when_read: Option<bool>,
    first_check_ms: Option<Instant>,
    lain: Option<String>,
    warmth: Option<String>,
    loses: Option<String>,
    happened: Option<String>,
    events: Option<String>,
    balance_owed_ms: Option<Instant>,
    place_kind: Option<String>,
    /// Where what is dangerous belongs.
    quarantine_id: Option<Uuid>,
    quarantine_name: Option<String>,
    /// Nobody carries it to a meter before its watch is over.
    pub is_watch_on: bool,
    /// It began, or danger was last seen in it.
    pub watched_since_ms: Option<Instant>,
    /// Somebody not signed in told of danger, which did no more than set it aside, and nobody has looked.
    pub is_danger_told: bool,
    /// Who answers for the holder.
    pub answers_id: Option<Uuid>,
    pub answers_name: Option<String>,
    #[sqlx(flatten)]
    pub now: NowRow,
}

/// Since the last reading; what ended together with it was before it, what began with it after it. A charge that came to its end was
/// done by when it was expected at the latest, whenever somebody came to say so.
macro_rules! happened_since {
    () => {
        "(SELECT STRING_AGG(ha.what, ' ') FROM ( \
         SELECT CAST(CASE WHEN hc.outcome = 'finished' AND hc.started_ms + hc.most_minutes * 60000 < hc.ended_ms \
         AND hc.started_ms + hc.most_minutes * 60000 > COALESCE(k.last_read_ms, 0) \
         THEN hc.started_ms + hc.most_minutes * 60000 ELSE hc.ended_ms END AS TEXT) || ':charge:' || hc.purpose || ':' || hc.outcome || ':' \
         || CASE WHEN hc.drawn_mw > 0 THEN 'in' ELSE 'out' END || ':' || COALESCE(CAST(hc.moved_mah AS TEXT), '') AS what \
         FROM charge hc WHERE hc.pack_id = k.id AND hc.ended_ms > COALESCE(k.last_read_ms, 0) \
         UNION ALL SELECT CAST(hl.opened_ms AS TEXT) || ':lent' FROM lent hl \
         WHERE hl.pack_id = k.id AND hl.opened_ms >= COALESCE(k.last_read_ms, 0) \
         UNION ALL SELECT CAST(hb.closed_ms AS TEXT) || ':back' FROM lent hb WHERE hb.pack_id = k.id \
         AND hb.closed_ms > COALESCE(k.last_read_ms, 0) AND hb.outcome IN ('back', 'unchecked', 'forgotten') \
         UNION ALL SELECT CAST(hr.added_ms AS TEXT) || ':round' FROM round_pack hr \
         WHERE hr.pack_id = k.id AND hr.added_ms > COALESCE(k.last_read_ms, 0)) ha)"
    };
}

/// When a pack came back from an event, of `event_pack ep` and `event e`: as its last loan was taken back on the last day, or as it was
/// read as just used on that day; else when the event was over. None where it comes or came back with a loan, or with a storage
/// round of its last day.
macro_rules! back_from_event {
    () => {
        "CASE WHEN EXISTS (SELECT 1 FROM lent el WHERE el.pack_id = ep.pack_id AND el.opened_ms <= e.ends_ms \
         AND (el.closed_ms IS NULL OR el.closed_ms > e.ends_ms)) OR EXISTS (SELECT 1 FROM round_pack er WHERE er.pack_id = ep.pack_id \
         AND er.added_ms BETWEEN e.last_day_ms AND e.ends_ms) THEN NULL ELSE COALESCE((SELECT MAX(bk.at_ms) FROM ( \
         SELECT bl.closed_ms AS at_ms FROM lent bl WHERE bl.pack_id = ep.pack_id AND bl.closed_ms BETWEEN e.last_day_ms AND e.ends_ms \
         AND bl.outcome IN ('back', 'unchecked', 'forgotten') \
         UNION ALL SELECT br.taken_ms FROM reading br WHERE br.pack_id = ep.pack_id AND br.taken_ms BETWEEN e.last_day_ms AND e.ends_ms \
         AND br.rested_minutes = 0 AND br.volts IS NOT NULL AND NOT EXISTS (SELECT 1 FROM reading bc WHERE bc.pack_id = br.pack_id \
         AND bc.corrects_id = br.id)) bk), e.ends_ms) END"
    };
}

/// The events of a pack that were not over when it was last read, however many lie ahead, and the one that was over last; a line each:
/// start, end, when it was back or `lent`, name.
macro_rules! latest_events {
    () => {
        concat!(
            "(SELECT STRING_AGG(CAST(ev.starts_ms AS TEXT) || ':' || CAST(ev.ends_ms AS TEXT) || ':' || COALESCE(CAST(ev.back_ms AS TEXT), 'lent') \
             || ':' || ev.name, '\n') FROM (SELECT e.starts_ms, e.ends_ms, e.name, ",
            crate::store::care::back_from_event!(),
            " AS back_ms FROM (SELECT MAX(eo.ends_ms) AS ends_ms FROM event_pack po JOIN event eo ON eo.id = po.event_id WHERE po.pack_id = k.id \
             AND eo.ends_ms <= k.last_read_ms) la CROSS JOIN event_pack ep JOIN event e ON e.id = ep.event_id \
             WHERE ep.pack_id = k.id AND e.ends_ms >= COALESCE(la.ends_ms, 0)) ev)"
        )
    };
}
macro_rules! in_care {
    ($rest:expr) => {
        crate::store::care::in_care!("", "", $rest)
    };
    ($columns:expr, $joins:expr, $rest:expr) => {
        crate::store::packs::pack_query!(
            concat!(
                ", k.created_ms, pl.warmth_celsius AS place_celsius, pl.kind AS place_kind, \
                 (SELECT qi.id FROM place qi WHERE qi.kind = 'quarantine' AND qi.closed_ms IS NULL ORDER BY qi.created_ms, qi.id LIMIT 1) AS quarantine_id, \
                 (SELECT qn.name FROM place qn WHERE qn.kind = 'quarantine' AND qn.closed_ms IS NULL ORDER BY qn.created_ms, qn.id LIMIT 1) AS quarantine_name, \
                 ca.above_ms, ca.back_ms, ca.is_due_when_read, ca.first_check_ms, ca.lain, ca.warmth, ca.loses, ",
                crate::store::care::happened_since!(),
                " AS happened, ",
                crate::store::care::latest_events!(),
                " AS events, ",
                "(SELECT CASE WHEN bc.is_balanced THEN NULL ELSE COALESCE(bc.ended_ms, bc.started_ms) END FROM charge bc \
                 WHERE bc.pack_id = k.id AND bc.purpose IN ('ready_by', 'no_hurry') \
                 AND (NOT bc.is_balanced OR bc.outcome = 'finished') ORDER BY bc.started_ms DESC LIMIT 1) AS balance_owed_ms, \
",
                crate::store::book::watches::watched_since!(),
                ", \
                 EXISTS (SELECT 1 FROM report dr JOIN finding df ON df.id = dr.finding_id AND df.closed_ms IS NULL \
                 WHERE dr.pack_id = k.id AND dr.effect = 'set_aside' AND dr.gravity IN ('danger', 'final_danger') \
                 AND dr.looked_ms IS NULL) AS is_danger_told, \
                 an.id AS answers_id, an.name AS answers_name",
                crate::store::charges::now::now_columns!(),
                $columns
            ),
            concat!(
                "LEFT JOIN person an ON an.id = COALESCE(pe.responsible_id, ho.responsible_id) ",
                crate::store::charges::now::now_joins!(),
                $joins
            ),
            $rest
        )
    };
}

pub(super) use {back_from_event, happened_since, in_care, latest_events};

impl InCare {
    /// Today's name of whoever has it; None where nobody has.
    pub fn holder_name(&self) -> Option<&str> {
        self.pack.with_name()
    }

    /// It charges, or is lent: its volts of before say nothing of now.
    pub fn is_in_use(&self) -> bool {
        self.pack.is_lent() || self.now.charge().is_some()
    }

    /// `It is on C-01.` Names nobody: it is kept on a round's record.
    pub fn in_use_words(&self) -> String {
        match self.now.charge() {
            Some(now) => format!("It is on {}.", now.charger_number),
            None if self.pack.is_lent() => "Out on a loan.".to_owned(),
            None => String::new(),
        }
    }

    /// Of its own or, where it is out, of whoever has it nobody knows how warm it is.
    pub fn lying(&self, limits: &ClubLimits) -> Lying {
        let celsius = self.place_celsius.filter(|_| !self.pack.is_away());
        Lying {
            loses_percent_a_month: self.loses.as_deref().and_then(range_of),
            ..Lying::of(self.pack.build(), limits, celsius)
        }
    }

    pub fn story(&self, now: Instant) -> Story {
        let read = self.pack.last_read_ms.zip(self.pack.volts());
        let mut since = happened::since(self.happened.as_deref().unwrap_or_default());
        let events = happened::events(self.events.as_deref().unwrap_or_default());
        since.extend(happened::of_events(&events, self.pack.last_read_ms, now));
        let charging = self.now.charge().zip(self.now.purpose());
        since.extend(charging.and_then(|(charge, purpose)| {
            let both = (charge.started, charge.until);
            let as_of = (self.pack.last_read_ms, now);
            happened::running((purpose, charge.is_charge), both, as_of)
        }));
        happened::in_order(&mut since);
        Story {
            read: read.map(|(at, volts)| LastRead {
                at,
                volts,
                rested: Rested::of_minutes(self.pack.last_rested_minutes.unwrap_or_default()),
            }),
            since,
        }
    }

    /// As of just before its latest reading.
    pub fn before_reading(&self) -> Walked {
        Walked {
            kept: Kept {
                above_since: self.above_ms,
                back_since: self.back_ms,
                is_due_when_read: self.is_due_when_read.unwrap_or_default(),
            },
            lain: self.lain(),
            warmth: self.warmth(),
            first_check: self.first_check_ms,
        }
    }

    fn lain(&self) -> Vec<Stretch> {
        let text = self.lain.as_deref().unwrap_or("[]");
        serde_json::from_str(text).unwrap_or_default()
    }

    /// How warm its days above the band were counted at.
    pub fn warmth(&self) -> Warmth {
        let kept = self.warmth.as_deref();
        let kept = kept.and_then(|text| serde_json::from_str(text).ok());
        Warmth::of(kept, &self.lain(), self.pack.last_read_ms)
    }

    pub fn on_record(&self, limits: &ClubLimits, now: Instant) -> OnRecord {
        let (lying, story) = (self.lying(limits), self.story(now));
        let (state, state_why, state_next) = self.pack.told_at(now, limits);
        OnRecord {
            state,
            state_why,
            state_next,
            kept: self.before_reading().kept.after(&lying, &story),
            lying,
            story,
            event: self.event(now),
            balance_owed_since: self.balance_owed_ms,
            added: self.created_ms,
            is_first_check_done: self.first_check_ms.is_some(),
            is_out: self.pack.is_lent() || self.is_at_event(now),
        }
    }

    /// The latest that has begun.
    fn event(&self, now: Instant) -> Option<Event> {
        let all = happened::events(self.events.as_deref().unwrap_or_default());
        let begun = all.into_iter().filter(|event| event.starts <= now);
        let latest = begun.max_by_key(|event| event.ends)?;
        Some(Event {
            name: latest.name,
            ends: latest.ends,
        })
    }

    fn is_at_event(&self, now: Instant) -> bool {
        let all = happened::events(self.events.as_deref().unwrap_or_default());
        all.iter().any(|event| event.goes_on(now))
    }

    /// On record it is at a quarantine place, and not out.
    pub fn lies_at_quarantine(&self) -> bool {
        let is_there = self.place_kind.as_deref() == Some(PlaceKind::Quarantine.code());
        is_there && !self.pack.is_away()
    }

    /// The quarantine place that it is to be taken to; None: no danger stands against it, it is out, or lies in one already.
    pub fn is_to_lie(&self) -> Option<(Uuid, &str)> {
        let is_watched = self.watched_since_ms.is_some();
        if !is_watched || self.lies_at_quarantine() || self.pack.is_away() {
            return None;
        }
        self.quarantine_id.zip(self.quarantine_name.as_deref())
    }

    pub fn holder(&self) -> Option<Holder> {
        Some(Holder {
            person: self.pack.with_id()?,
            answers: self.answers_id,
        })
    }
}

/// `0.5 1.2 3.4`: least, likely, most.
fn range_of(text: &str) -> Option<Range> {
    let mut numbers = text.split(' ').map(|number| number.parse().ok());
    Some(Range {
        least: numbers.next()??,
        likely: numbers.next()??,
        most: numbers.next()??,
    })
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<InCare>> {
    row!(conn, InCare, in_care!("WHERE k.id = $1"), id)
}

pub async fn by_number(conn: &mut Conn, number: &str) -> Result<Option<InCare>> {
    row!(conn, InCare, in_care!("WHERE k.number = $1"), number)
}

/// Every pack in use, by number.
pub async fn in_use(conn: &mut Conn) -> Result<Vec<InCare>> {
    rows!(
        conn,
        InCare,
        in_care!("WHERE k.life = 'in_use' ORDER BY k.number_key, k.number")
    )
}

/// Every pack in use, by number; and after them what was retired or lost with danger known: a retired one until it was disposed of, a
/// lost one until it is found, unless an incident took it.
pub async fn to_see_to(conn: &mut Conn) -> Result<Vec<InCare>> {
    rows!(
        conn,
        InCare,
        in_care!(
            "WHERE k.life = 'in_use' OR (k.life IN ('retired', 'lost') \
             AND EXISTS (SELECT 1 FROM finding gf WHERE gf.pack_id = k.id AND gf.closed_ms IS NULL AND gf.gravity IN ('danger', 'final_danger')) \
             AND NOT EXISTS (SELECT 1 FROM disposal gd WHERE gd.pack_id = k.id) \
             AND NOT (k.life = 'lost' AND EXISTS (SELECT 1 FROM activity gi WHERE gi.subject_id = k.id AND gi.verb = 'lost in an incident' \
             AND NOT EXISTS (SELECT 1 FROM activity gb WHERE gb.subject_id = k.id AND gb.verb = 'found again' AND gb.seq > gi.seq)))) \
             ORDER BY k.life, k.number_key, k.number"
        )
    )
}

/// What this person has, and those have whom they answer for.
pub async fn held_by(conn: &mut Conn, person_id: Uuid) -> Result<Vec<InCare>> {
    rows!(
        conn,
        InCare,
        in_care!(
            "WHERE k.life = 'in_use' AND (lo.borrower_id = $1 OR pe.responsible_id = $1 OR ca.home_id = $1 OR ho.responsible_id = $1) \
             ORDER BY k.number_key, k.number"
        ),
        person_id
    )
}

/// These packs, by number.
pub async fn among(conn: &mut Conn, ids: &[Uuid]) -> Result<Vec<InCare>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        InCare,
        in_care!("WHERE k.id IN ("),
        ids,
        ") ORDER BY k.number_key, k.number"
    )
}
