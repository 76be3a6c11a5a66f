//! What loans, charges, their logs and events say of a pack's last use, and how warm it usually is where it lies: what decides whether
//! its volts still tell what is in it. For every query whose pack is `k`.

use crate::club::calendar::Instant;
use crate::club::charging::{AtEvent, OnRecord, came_from_use, lies_until};
use crate::club::reading::Rested;
use crate::club::states::State;
use crate::store::packs::PackView;
use crate::store::{Conn, Result, row};
use uuid::Uuid;

/// From and to of the events that may have used it since it was last read: those that touch the day after the latest reading, which is
/// as long as that may count; what was taken back or put on a round on an event's last day, and read after that, is out of it.
macro_rules! event_span {
    () => {
        "(SELECT CAST(MIN(e.starts_ms) AS TEXT) || ' ' || CAST(MAX(e.ends_ms) AS TEXT) FROM event_pack ep JOIN event e ON e.id = ep.event_id \
         WHERE ep.pack_id = k.id AND e.ends_ms > k.last_read_ms AND e.starts_ms <= k.last_read_ms + 86400000 \
         AND NOT EXISTS (SELECT 1 FROM round_pack er WHERE er.pack_id = k.id AND er.added_ms BETWEEN e.last_day_ms AND k.last_read_ms) \
         AND NOT EXISTS (SELECT 1 FROM lent el WHERE el.pack_id = k.id AND el.outcome IN ('back', 'unchecked', 'forgotten') \
         AND el.closed_ms BETWEEN e.last_day_ms AND k.last_read_ms))"
    };
}

/// Its columns. Which charge a log may be of is the rule of `which_charge`.
macro_rules! lately_columns {
    () => {
        concat!(", (SELECT MAX(c.ended_ms) FROM charge c WHERE c.pack_id = k.id) AS last_end_ms, \
         (SELECT MAX(lb.closed_ms) FROM lent lb WHERE lb.pack_id = k.id) AS last_back_ms, \
         (SELECT MAX(ra.added_ms) FROM round_pack ra WHERE ra.pack_id = k.id) AS on_round_ms, \
         (SELECT MAX(cf.ended_ms) FROM charge cf WHERE cf.pack_id = k.id AND cf.outcome = 'finished' \
          AND cf.purpose IN ('ready_by', 'no_hurry', 'storage')) AS last_filled_ms, \
         (SELECT MAX(lu.closed_ms) FROM lent lu WHERE lu.pack_id = k.id AND lu.outcome IN ('back', 'unchecked', 'forgotten')) AS back_from_use_ms, \
         (SELECT MAX(ju.taken_ms) FROM reading ju WHERE ju.pack_id = k.id AND ju.taken_ms > k.last_read_ms - 3600000 \
          AND ju.rested_minutes = 0 AND ju.volts IS NOT NULL AND (ju.context IS NULL OR ju.context <> 'after_charge') \
          AND NOT EXISTS (SELECT 1 FROM reading jc WHERE jc.pack_id = k.id AND jc.corrects_id = ju.id)) AS just_used_ms, \
         ", $crate::store::charges::lately::event_span!(), " AS event_span, \
         (SELECT MAX(cl.to_ms) FROM charge_log cl WHERE cl.pack_id = k.id AND cl.to_ms > k.last_read_ms \
          AND NOT EXISTS (SELECT 1 FROM charge cm WHERE cm.pack_id = k.id AND cm.started_ms <= cl.to_ms \
          AND (cm.ended_ms IS NULL OR cm.ended_ms >= cl.from_ms) \
          AND (cm.drawn_mw > 0) = (cl.charged_uah > cl.discharged_uah) \
          AND CASE WHEN cm.moved_mah IS NULL THEN cl.seconds * 1000 <= (COALESCE(cm.ended_ms, cl.added_ms) - cm.started_ms) * 5 / 4 + 600000 \
          ELSE ABS(cl.charged_uah - cl.discharged_uah) <= cm.moved_mah * 1250 + 20000 END)) AS logged_ms, \
         ca.home_back_ms, pl.warmth_celsius AS place_celsius")
    };
}

/// Of a reading `r`: until when the pack was last on a loan, at an event, at home, charged or discharged before it, or put on a round as
/// back and not looked at, as far as that is on record; 0: never.
macro_rules! used_before {
    () => {
        "COALESCE((SELECT MAX(us.at_ms) FROM (\
         SELECT COALESCE(ul.closed_ms, r.taken_ms) AS at_ms FROM lent ul WHERE ul.pack_id = r.pack_id AND ul.opened_ms <= r.taken_ms \
         UNION ALL SELECT COALESCE(uc.ended_ms, r.taken_ms) FROM charge uc WHERE uc.pack_id = r.pack_id AND uc.started_ms <= r.taken_ms \
         UNION ALL SELECT ue.ends_ms FROM event_pack up JOIN event ue ON ue.id = up.event_id WHERE up.pack_id = r.pack_id AND ue.starts_ms <= r.taken_ms \
         UNION ALL SELECT ug.to_ms FROM charge_log ug WHERE ug.pack_id = r.pack_id AND ug.from_ms <= r.taken_ms \
         UNION ALL SELECT ur.added_ms FROM round_pack ur WHERE ur.pack_id = r.pack_id AND ur.added_ms <= r.taken_ms \
         UNION ALL SELECT CASE WHEN uh.home_id IS NULL THEN uh.home_back_ms ELSE r.taken_ms END FROM care uh \
         WHERE uh.pack_id = r.pack_id AND (uh.home_id IS NOT NULL OR uh.home_back_ms IS NOT NULL)) us), 0) AS used_ms"
    };
}

pub(in crate::store) use {event_span, lately_columns, used_before};

/// Degrees Celsius that are taken where nobody says otherwise; None: they are asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Usual {
    pub room: Option<i64>,
    pub pack: Option<i64>,
}

/// What lay so long where it is is as warm as the room; common practice, no source.
const AS_WARM_AS_ROOM_MINUTES: i64 = 60;

/// As the query found it.
#[derive(Clone, Debug, Default, sqlx::FromRow)]
pub struct Lately {
    last_end_ms: Option<Instant>,
    last_back_ms: Option<Instant>,
    /// When it was put on a storage round: as what came back and nobody looked at.
    on_round_ms: Option<Instant>,
    last_filled_ms: Option<Instant>,
    /// When it last came back from a loan, and was last read just used but not after a charge; no longer ago than matters.
    back_from_use_ms: Option<Instant>,
    just_used_ms: Option<Instant>,
    /// Until when what was logged of it, and is on record as no charge, may have gone on.
    logged_ms: Option<Instant>,
    /// When it was brought from somebody's home to its place.
    home_back_ms: Option<Instant>,
    /// From and to, in milliseconds.
    event_span: Option<String>,
    /// As warm as its place usually is.
    place_celsius: Option<i64>,
}

impl Lately {
    /// What decides whether the pack may have settings.
    pub fn on_record(&self, pack: &PackView, (state, is_charging): (State, bool)) -> OnRecord {
        OnRecord {
            state,
            is_charging,
            read: pack.last_read_ms.filter(|_| pack.last_volts.is_some()),
            lent: pack.lent_ms,
            used: self.last_back_ms.max(self.last_end_ms),
            on_round: self.on_round_ms,
            logged: self.logged_ms,
            filled: pack.filled(self.last_filled_ms),
            at_event: self.event_span.as_deref().and_then(at_event),
        }
    }

    /// How warm it usually is where it lies; None: nobody said, or it is out.
    pub fn usual_celsius(&self, pack: &PackView) -> Option<i64> {
        self.place_celsius.filter(|_| !pack.is_away())
    }

    /// The pack's own is its place's once it lay there for an hour, as far as is on record.
    pub fn usual(&self, pack: &PackView, now: Instant) -> Usual {
        let room = self.usual_celsius(pack);
        let last = self.came_from_use(pack).max(self.home_back_ms);
        let last = last.max(self.last_back_ms).max(self.last_end_ms);
        let has_lain = last.is_none_or(|at| now.minutes_since(at) >= AS_WARM_AS_ROOM_MINUTES);
        Usual {
            room,
            pack: room.filter(|_| has_lain),
        }
    }

    /// When it came out of a robot, as far as that is on record.
    pub fn came_from_use(&self, pack: &PackView) -> Option<Instant> {
        let rested = Rested::of_minutes(pack.last_rested_minutes.unwrap_or(0));
        let latest = pack.last_read_ms.map(|at| (at, rested));
        came_from_use(self.back_from_use_ms, self.just_used_ms, latest)
    }

    /// Until when it lies before it is charged; None: it has lain.
    pub fn lies_until(&self, pack: &PackView, now: Instant) -> Option<Instant> {
        lies_until(self.came_from_use(pack), now)
    }
}

/// Was anything put in that began after the one and was over by the other, as a charge, its log or what stands beside a reading tells?
pub async fn was_charged_between(
    conn: &mut Conn,
    pack_id: Uuid,
    (after, until): (Instant, Instant),
) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(1 AS BIGINT) FROM charge c WHERE c.pack_id = $1 AND c.drawn_mw > 0 AND c.started_ms >= $2 AND c.ended_ms <= $3 \
         UNION ALL SELECT CAST(1 AS BIGINT) FROM charge_log cl WHERE cl.pack_id = $1 AND cl.from_ms >= $2 AND cl.to_ms <= $3 \
         AND cl.charged_uah > cl.discharged_uah \
         UNION ALL SELECT CAST(1 AS BIGINT) FROM reading r WHERE r.pack_id = $1 AND r.taken_ms > $2 AND r.taken_ms <= $3 AND r.put_in_mah > 0 \
         AND NOT EXISTS (SELECT 1 FROM charge b WHERE b.pack_id = r.pack_id AND b.started_ms < $2 AND b.ended_ms = r.taken_ms) \
         AND NOT EXISTS (SELECT 1 FROM reading n WHERE n.pack_id = r.pack_id AND n.corrects_id = r.id) LIMIT 1",
        pack_id,
        after,
        until
    )?;
    Ok(found.is_some())
}

/// From `1764100000000 1764180000000`.
pub(in crate::store) fn at_event(span: &str) -> Option<AtEvent> {
    let (from, to) = span.split_once(' ')?;
    Some(AtEvent {
        from: Instant(from.parse().ok()?),
        to: Instant(to.parse().ok()?),
    })
}
