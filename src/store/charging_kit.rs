//! The kit a charge can be planned with: what works and is not lent, what its outputs do now and were last set to. One
//! query, whose cost follows the kit that the club has in use.

use super::charges::lately::{at_event, event_span};
use super::{Conn, Result, StoreError, inductions, rows};
use crate::battery::chemistry::Chemistry;
use crate::battery::volts::Volts;
use crate::bench::connector::built_in;
use crate::bench::kit::Spec;
use crate::bench::plan::{
    AdaptersAtHand, AtHand, CableAtHand, ChargerAtHand, LeftAt, Numbered, Running, SupplyAtHand,
    Wired,
};
use crate::club::calendar::{Day, Instant};
use crate::club::charging::AtEvent;
use crate::club::hand_over::{Watcher, watcher_refusal};
use crate::club::induction::Induction;
use crate::club::people::Roles;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// What a plan chooses from, the ids behind its numbers, and who may stay with a charge.
pub struct ChargingKit {
    pub hand: AtHand,
    pub ids: HashMap<String, Uuid>,
    /// Who may stay with a charge, by name; empty where nobody asked.
    pub watchers: Vec<Watcher>,
    /// Packs of the same design that lie here and could go out, at most thirty.
    pub sisters: Vec<Sister>,
}

pub struct Sister {
    pub number: String,
    pub volts: Volts,
    pub rested_minutes: i64,
    pub read: Instant,
    /// It may have been used there since.
    pub at_event: Option<AtEvent>,
}

#[derive(sqlx::FromRow)]
struct Row {
    part: String,
    id: Option<Uuid>,
    number: Option<String>,
    number_key: Option<i64>,
    spec: Option<String>,
    free: Option<i64>,
    output: Option<i64>,
    port: Option<i64>,
    ma_or_mw: Option<i64>,
    other: Option<String>,
}

/// `watchers_on`: for a choice of who stays with it, the day. `design`: whose packs could go instead.
pub async fn at_hand(
    conn: &mut Conn,
    watchers_on: Option<Day>,
    design: Option<Uuid>,
) -> Result<ChargingKit> {
    let found = rows!(
        conn,
        Row,
        concat!(
            "SELECT 'kit' AS part, i.id, i.number, i.number_key, i.spec, i.owned_count - i.aside_count - i.unchecked_count \
          - CAST(COALESCE((SELECT SUM(COALESCE(le.counted, 1)) FROM lent le WHERE le.kit_id = i.id AND le.closed_ms IS NULL), 0) AS BIGINT) AS free, \
          CAST(NULL AS BIGINT) AS output, CAST(NULL AS BIGINT) AS port, CAST(NULL AS BIGINT) AS ma_or_mw, CAST(NULL AS TEXT) AS other \
          FROM kit i WHERE i.life = 'in_use' AND i.kind IN ('charger', 'supply', 'cable', 'adapter') \
         UNION ALL SELECT 'family', NULL, NULL, NULL, spec, NULL, NULL, NULL, NULL, NULL FROM connector \
         UNION ALL SELECT 'running', c.charger_id, su.number, NULL, NULL, NULL, c.output, c.supply_port, c.drawn_mw, ca.number \
          FROM charge c LEFT JOIN kit su ON su.id = c.supply_id LEFT JOIN kit ca ON ca.id = c.cable_id WHERE c.ended_ms IS NULL \
         UNION ALL SELECT 'taken', c.cable_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL FROM charge c WHERE c.ended_ms IS NULL AND c.cable_id IS NOT NULL \
         UNION ALL SELECT 'taken', c.adapter_near, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL FROM charge c WHERE c.ended_ms IS NULL AND c.adapter_near IS NOT NULL \
         UNION ALL SELECT 'taken', c.adapter_far, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL FROM charge c WHERE c.ended_ms IS NULL AND c.adapter_far IS NOT NULL \
         UNION ALL SELECT 'setting', s.charger_id, NULL, NULL, NULL, NULL, s.output, NULL, s.current_ma, \
          (SELECT MIN(d.chemistry || ' ' || CAST(d.cells_series AS TEXT)) FROM charge c JOIN pack k ON k.id = c.pack_id JOIN design d ON d.id = k.design_id \
           WHERE c.charger_id = s.charger_id AND c.output = s.output AND c.started_ms = s.set_ms) FROM charger_setting s \
         UNION ALL SELECT 'watcher', p.id, i.shown_on, NULL, i.ends_on, CASE WHEN p.is_member THEN 1 ELSE 0 END, \
          CASE WHEN p.is_quartermaster THEN 1 ELSE 0 END, NULL, NULL, p.name FROM person p \
          JOIN induction i ON i.id = (SELECT l.id FROM induction l WHERE l.person_id = p.id ORDER BY l.shown_on DESC, l.noted_ms DESC LIMIT 1) \
          WHERE $1 AND p.name IS NOT NULL AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL \
         UNION ALL SELECT * FROM (SELECT 'sister' AS part, k.id, k.number, k.number_key, k.last_volts, CAST(NULL AS BIGINT), k.last_rested_minutes, CAST(NULL AS BIGINT), k.last_read_ms, \
          ",
            event_span!(),
            " FROM pack k \
          WHERE k.design_id = $2 AND k.life = 'in_use' AND k.state IN ('fit', 'caution') AND k.last_volts IS NOT NULL \
          AND NOT EXISTS (SELECT 1 FROM lent le WHERE le.pack_id = k.id AND le.closed_ms IS NULL) \
          AND NOT EXISTS (SELECT 1 FROM care hc WHERE hc.pack_id = k.id AND hc.home_id IS NOT NULL) \
          AND NOT EXISTS (SELECT 1 FROM charge c WHERE c.pack_id = k.id AND (c.ended_ms IS NULL OR c.ended_ms > k.last_read_ms)) \
          AND NOT EXISTS (SELECT 1 FROM lent lb WHERE lb.pack_id = k.id AND lb.closed_ms > k.last_read_ms) \
          AND NOT EXISTS (SELECT 1 FROM round_pack ra WHERE ra.pack_id = k.id AND ra.added_ms > k.last_read_ms) \
          AND NOT EXISTS (SELECT 1 FROM charge_log cl WHERE cl.pack_id = k.id AND cl.to_ms > k.last_read_ms) \
          ORDER BY k.number_key LIMIT 30) sisters"
        ),
        watchers_on.is_some(),
        design
    )?;
    assembled(found, watchers_on)
}

fn assembled(found: Vec<Row>, today: Option<Day>) -> Result<ChargingKit> {
    let uses = Uses::of(&found);
    let mut kit = ChargingKit {
        hand: AtHand {
            families: built_in(),
            ..AtHand::default()
        },
        ids: HashMap::new(),
        watchers: Vec::new(),
        sisters: Vec::new(),
    };
    for row in found {
        match row.part.as_str() {
            "kit" => kit.add(row, &uses)?,
            "family" => {
                let spec = row.spec.unwrap_or_default();
                kit.hand.families.push(super::connectors::family(&spec)?);
            }
            "watcher" => kit
                .watchers
                .extend(today.and_then(|today| watcher(row, today))),
            "sister" => kit.sisters.extend(sister(row)),
            _ => {}
        }
    }
    kit.hand.chargers.sort_by(|a, b| a.id.cmp(&b.id));
    kit.hand.supplies.sort_by(|a, b| a.id.cmp(&b.id));
    kit.hand.cables.sort_by(|a, b| a.id.cmp(&b.id));
    kit.hand.adapters.sort_by(|a, b| a.id.cmp(&b.id));
    kit.watchers.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(kit)
}

/// None: they may not stay with a charge today.
fn watcher(row: Row, today: Day) -> Option<Watcher> {
    let shown = inductions::shown(row.number.as_deref(), row.spec.as_deref());
    let watcher = Watcher {
        id: row.id?,
        name: row.other?,
        roles: Roles {
            is_member: row.free == Some(1),
            is_quartermaster: row.output == Some(1),
            is_organiser: false,
        },
        is_active: true,
        induction: Induction::of(shown, today),
    };
    watcher_refusal(&watcher).is_none().then_some(watcher)
}

fn sister(row: Row) -> Option<Sister> {
    Some(Sister {
        number: row.number?,
        volts: Volts::from_text(&row.spec?)?,
        rested_minutes: row.output.unwrap_or(0),
        read: Instant(row.ma_or_mw?),
        at_event: row.other.as_deref().and_then(at_event),
    })
}

fn cable(row: &Row) -> Option<(String, CableAtHand)> {
    let Ok(Spec::Cable(sheet)) = serde_json::from_str(row.spec.as_deref()?) else {
        return None;
    };
    let number = row.number.clone().filter(|_| row.part == "kit")?;
    let id = Numbered {
        key: row.number_key.unwrap_or(0),
        number: number.clone(),
    };
    Some((number, CableAtHand { id, sheet }))
}

/// What charges that run now keep busy, and what each output was last set to.
struct Uses {
    running: HashMap<Uuid, Vec<Running>>,
    taken: HashMap<Uuid, i64>,
    settings: BTreeMap<(Uuid, i64), LeftAt>,
}

/// From `lipo 3`.
fn chemistry_and_cells(text: &str) -> Option<(Chemistry, i64)> {
    let (code, cells) = text.split_once(' ')?;
    Some((Chemistry::from_code(code)?, cells.parse().ok()?))
}

impl Uses {
    fn of(found: &[Row]) -> Self {
        let cables: HashMap<String, CableAtHand> = found.iter().filter_map(cable).collect();
        let mut uses = Self {
            running: HashMap::new(),
            taken: HashMap::new(),
            settings: BTreeMap::new(),
        };
        for row in found {
            let Some(id) = row.id else { continue };
            match row.part.as_str() {
                "running" => uses.running.entry(id).or_default().push(Running {
                    output: row.output.unwrap_or(0),
                    wired: row.other.as_ref().map_or(Wired::NotTheClubs, |number| {
                        let cable = cables.get(number).cloned();
                        cable.map_or(Wired::Unknown, Wired::Cable)
                    }),
                    supply: row.number.clone().map(|number| {
                        (number, usize::try_from(row.port.unwrap_or(0)).unwrap_or(0))
                    }),
                    input_mw: row.ma_or_mw.unwrap_or(0),
                }),
                "taken" => *uses.taken.entry(id).or_insert(0) += 1,
                "setting" => {
                    let setting = LeftAt {
                        output: row.output.unwrap_or(0),
                        ma: row.ma_or_mw.unwrap_or(0),
                        of: row.other.as_deref().and_then(chemistry_and_cells),
                    };
                    uses.settings.insert((id, row.output.unwrap_or(0)), setting);
                }
                _ => {}
            }
        }
        uses
    }
}

impl ChargingKit {
    fn add(&mut self, row: Row, uses: &Uses) -> Result<()> {
        let (Some(kit_id), Some(number), Some(spec)) = (row.id, row.number, row.spec) else {
            return Ok(());
        };
        let taken = uses.taken.get(&kit_id).copied().unwrap_or(0);
        let free = row.free.unwrap_or(0) - taken;
        let id = Numbered {
            key: row.number_key.unwrap_or(0),
            number: number.clone(),
        };
        if free <= 0 {
            let running = uses.running.get(&kit_id).into_iter().flatten();
            let elsewhere = running.map(|each| (id.clone(), each.clone()));
            self.hand.elsewhere.extend(elsewhere);
            return Ok(());
        }
        self.ids.insert(number, kit_id);
        let sheet: Spec =
            serde_json::from_str(&spec).map_err(|error| StoreError::Internal(error.to_string()))?;
        match sheet {
            Spec::Charger(sheet) => {
                let running = uses.running.get(&kit_id).cloned().unwrap_or_default();
                let settings = uses.settings.range((kit_id, 0)..=(kit_id, i64::MAX));
                let left = settings.map(|(_, left)| *left).collect();
                self.hand.chargers.push(ChargerAtHand {
                    id,
                    sheet,
                    left,
                    running,
                });
            }
            Spec::Supply(sheet) => self.hand.supplies.push(SupplyAtHand { id, sheet }),
            Spec::Cable(sheet) => self.hand.cables.push(CableAtHand { id, sheet }),
            Spec::Adapter(sheet) => self.hand.adapters.push(AdaptersAtHand { id, sheet, free }),
            Spec::Board(_) => {}
        }
        Ok(())
    }
}
