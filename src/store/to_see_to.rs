//! What of the pool is to see to besides the packs, in one query: overdue loans, kit to mend or to look over, places with a check
//! that is due or a limit, charges past their time or with kit that was set aside, open storage rounds, what is to be done after
//! incidents, danger told of what is no pack of the club. What of it needs somebody, and how badly, is the club's rule.

use super::{Conn, Result, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::pack::energy_mwh;
use crate::club::calendar::{Day, Instant};
use uuid::Uuid;

/// One thing of it; what a kind has no use for is None.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Besides {
    /// `loan`, `extinguisher`, `detector`, `kit`, `energy`, `charge`, `bad_kit`, `round`, `action`, `report`.
    pub what: String,
    /// Of the loan, the place, the kit, the charge, the round, the report; an action has none.
    pub id: Option<Uuid>,
    /// Number of what is out, of the kit, of the pack that charges, of the incident; reference of the report; name of the place, of the round.
    pub name: String,
    /// Who has it, watches it, sees to it; None where they were erased.
    pub person: Option<String>,
    /// When it is due.
    pub day: Option<String>,
    /// Why kit is set aside; the charger; which kit of a charge is set aside, and why, as `C-01: why`; the chemistry of a part of what lies at a place; how an action stands; of which thing a report tells.
    pub words: Option<String>,
    /// Since when kit is to see to, or set aside; when a charge or a round was begun; when the last of a part came to a place;
    /// when a report came.
    pub at_ms: Option<Instant>,
    /// How many are to mend; most minutes; packs of a round; cells in series times mAh of a part; 1: what
    /// was told went on then.
    pub amount: Option<i64>,
    /// How many are unchecked, or not read on a round; minutes to the cut-off; the place's limit, mWh.
    pub most: Option<i64>,
}

impl Besides {
    /// Of a part of what lies at a place.
    pub fn energy_mwh(&self) -> i64 {
        let chemistry = self.words.as_deref().and_then(Chemistry::from_code);
        let nominal = chemistry.map(|chemistry| chemistry.limits().nominal_mv);
        nominal.map_or(0, |mv| energy_mwh(mv, self.amount.unwrap_or(0)))
    }
}

/// What a loan has out stands in the order of numbers, packs before kit. `today` in the hall.
pub async fn besides(conn: &mut Conn, today: Day, now: Instant) -> Result<Vec<Besides>> {
    rows!(
        conn,
        Besides,
        "SELECT what, id, name, person, day, words, at_ms, amount, most FROM ( \
         SELECT 'loan' AS what, lo.id, COALESCE(k.number, i.number) AS name, p.name AS person, lo.due_on AS day, CAST(NULL AS TEXT) AS words, \
         CAST(NULL AS BIGINT) AS at_ms, CAST(NULL AS BIGINT) AS amount, CAST(NULL AS BIGINT) AS most, \
         CASE WHEN k.id IS NULL THEN 1 ELSE 0 END AS later, COALESCE(k.number_key, i.number_key) AS number_key \
         FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person p ON p.id = lo.borrower_id \
         LEFT JOIN pack k ON k.id = le.pack_id LEFT JOIN kit i ON i.id = le.kit_id \
         WHERE le.closed_ms IS NULL AND lo.due_on < $1 \
         UNION ALL SELECT 'extinguisher', id, name, NULL, extinguisher_check_due, NULL, NULL, NULL, NULL, 0, 0 FROM place \
         WHERE closed_ms IS NULL AND extinguisher_check_due <= $1 \
         UNION ALL SELECT 'detector', id, name, NULL, detector_check_due, NULL, NULL, NULL, NULL, 0, 0 FROM place \
         WHERE closed_ms IS NULL AND detector_check_due <= $1 \
         UNION ALL SELECT 'kit', i.id, i.number, NULL, NULL, i.set_aside_words, CASE WHEN i.aside_count > 0 AND i.set_aside_ms IS NOT NULL \
         THEN i.set_aside_ms ELSE COALESCE((SELECT MAX(lb.closed_ms) FROM lent lb WHERE lb.kit_id = i.id), i.created_ms) END, \
         i.aside_count, i.unchecked_count, 0, 0 FROM kit i WHERE i.life = 'in_use' AND (i.aside_count > 0 OR i.unchecked_count > 0) \
         UNION ALL SELECT 'energy', pl.id, pl.name, NULL, NULL, d.chemistry, \
         MAX(COALESCE((SELECT MAX(lb.closed_ms) FROM lent lb WHERE lb.pack_id = k.id), k.created_ms)), \
         CAST(SUM(d.cells_series * d.capacity_mah) AS BIGINT), pl.energy_limit_mwh, 0, 0 \
         FROM place pl JOIN pack k ON k.place_id = pl.id AND k.life IN ('in_use', 'retired') JOIN design d ON d.id = k.design_id \
         WHERE pl.closed_ms IS NULL AND pl.energy_limit_mwh IS NOT NULL \
         AND NOT EXISTS (SELECT 1 FROM lent lo WHERE lo.pack_id = k.id AND lo.closed_ms IS NULL) \
         AND NOT EXISTS (SELECT 1 FROM care hc WHERE hc.pack_id = k.id AND hc.home_id IS NOT NULL) \
         GROUP BY pl.id, pl.name, d.chemistry, pl.energy_limit_mwh \
         UNION ALL SELECT 'charge', c.id, k.number, w.name, NULL, ch.number, c.started_ms, c.most_minutes, c.cutoff_minutes, 0, 0 \
         FROM charge c JOIN pack k ON k.id = c.pack_id JOIN kit ch ON ch.id = c.charger_id LEFT JOIN person w ON w.id = c.watched_by \
         WHERE c.ended_ms IS NULL AND c.started_ms + c.most_minutes * 60000 < $2 \
         UNION ALL SELECT 'bad_kit', c.id, k.number, w.name, NULL, b.number || ': ' || COALESCE(b.set_aside_words, ''), b.set_aside_ms, \
         NULL, NULL, 0, b.number_key FROM charge c JOIN pack k ON k.id = c.pack_id \
         JOIN kit b ON b.id IN (c.charger_id, c.supply_id, c.cable_id) AND b.aside_count > 0 LEFT JOIN person w ON w.id = c.watched_by \
         WHERE c.ended_ms IS NULL \
         UNION ALL SELECT 'round', r.id, r.name, o.name, NULL, NULL, r.opened_ms, \
         (SELECT COUNT(*) FROM round_pack rp WHERE rp.round_id = r.id), \
         (SELECT COUNT(*) FROM round_pack rp JOIN pack k ON k.id = rp.pack_id WHERE rp.round_id = r.id AND k.life = 'in_use' \
         AND k.state <> 'quarantine' AND COALESCE(k.last_read_ms, 0) < rp.added_ms), 0, 0 \
         FROM storage_round r JOIN person o ON o.id = r.opened_by WHERE r.closed_ms IS NULL \
         UNION ALL SELECT 'action', NULL, a.incident, o.words, a.by_on, a.stands, NULL, NULL, NULL, a.seq, 0 FROM book_action a \
         LEFT JOIN book_part o ON o.seq = a.seq AND o.name = 'owner' \
         WHERE a.stands IN ('to_do', 'to_look_at', 'did_not_work') AND a.by_on <= $1 \
         UNION ALL SELECT 'report', rr.id, rr.reference, NULL, NULL, rr.thing, rr.came_ms, CASE WHEN rr.is_now = 'yes' THEN 1 ELSE 0 END, \
         NULL, 0, 0 FROM report rr WHERE rr.pack_id IS NULL AND rr.looked_ms IS NULL AND rr.merged_into IS NULL \
         AND rr.gravity IN ('danger', 'final_danger') \
         ) b ORDER BY what, id, later, number_key, name",
        today.to_string(),
        now
    )
}
