//! Drills of the first minute, by when the next is to be held, and the club's plan for the card on the wall.

use crate::club::book::wall_card::WallPlan;
use crate::club::calendar::{Day, Instant};
use crate::club::drill::{self, Drill};
use crate::store::{Conn, Result, Tx, change, row, rows};
use uuid::Uuid;

#[derive(Clone, Debug)]
pub struct Held {
    pub held_on: String,
    /// None: erased since.
    pub led_by: Option<String>,
    pub people: i64,
    pub out_s: Option<i64>,
    pub called_s: Option<i64>,
    pub counted_s: Option<i64>,
    pub went_well: String,
    pub to_change: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    drill_by: Option<String>,
    held_on: Option<String>,
    led_by: Option<String>,
    people: Option<i64>,
    out_s: Option<i64>,
    called_s: Option<i64>,
    counted_s: Option<i64>,
    went_well: Option<String>,
    to_change: Option<String>,
}

/// How drills stand, and all of them, the latest first.
pub async fn all(conn: &mut Conn) -> Result<(Stand, Vec<Held>)> {
    let found = rows!(
        conn,
        Row,
        "SELECT c.drill_by, d.held_on, p.name AS led_by, d.people, d.out_s, d.called_s, d.counted_s, d.went_well, d.to_change \
         FROM club c LEFT JOIN drill d ON TRUE LEFT JOIN person p ON p.id = d.led_by \
         ORDER BY d.held_on DESC NULLS LAST, d.noted_ms DESC NULLS LAST LIMIT 200"
    )?;
    let set = found.first().and_then(|row| row.drill_by.clone());
    let held = |row: Row| {
        Some(Held {
            held_on: row.held_on?,
            led_by: row.led_by,
            people: row.people?,
            out_s: row.out_s,
            called_s: row.called_s,
            counted_s: row.counted_s,
            went_well: row.went_well?,
            to_change: row.to_change?,
        })
    };
    let all: Vec<Held> = found.into_iter().filter_map(held).collect();
    let stand = Stand {
        set: day(set),
        last: day(all.first().map(|last| last.held_on.clone())),
        people: all.first().map_or(0, |last| last.people),
        out_s: all.first().and_then(|last| last.out_s),
    };
    Ok((stand, all))
}

fn day(text: Option<String>) -> Option<Day> {
    text.as_deref().and_then(Day::parse)
}

/// How drills stand: which was the last, and by when the next is due.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stand {
    pub last: Option<Day>,
    pub people: i64,
    pub out_s: Option<i64>,
    /// Which day the club set.
    pub set: Option<Day>,
}

impl Stand {
    pub fn due(&self) -> Option<Day> {
        drill::due(self.set, self.last)
    }
}

pub async fn stand(conn: &mut Conn) -> Result<Stand> {
    let found = row!(
        conn,
        (Option<String>, Option<String>, Option<i64>, Option<i64>),
        "SELECT c.drill_by, d.held_on, d.people, d.out_s FROM club c LEFT JOIN drill d ON d.id = \
         (SELECT id FROM drill ORDER BY held_on DESC, noted_ms DESC LIMIT 1)"
    )?;
    Ok(
        found.map_or_else(Stand::default, |(set, last, people, out_s)| Stand {
            set: day(set),
            last: day(last),
            people: people.unwrap_or(0),
            out_s,
        }),
    )
}

pub async fn add(
    tx: &mut Tx,
    (id, led_by): (Uuid, Uuid),
    drill: &Drill,
    (by, at): (Uuid, Instant),
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO drill (id, held_on, led_by, people, out_s, called_s, counted_s, went_well, to_change, noted_by, noted_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        id,
        drill.held_on.to_string(),
        led_by,
        drill.people,
        drill.out_s,
        drill.called_s,
        drill.counted_s,
        &drill.went_well,
        &drill.to_change,
        by,
        at
    )?;
    Ok(())
}

/// None: no day is set any more.
pub async fn set_due(tx: &mut Tx, day: Option<Day>) -> Result<()> {
    let day = day.map(|day| day.to_string());
    change!(tx, "UPDATE club SET drill_by = $1", day)?;
    Ok(())
}

pub async fn wall_plan(conn: &mut Conn) -> Result<WallPlan> {
    let found = row!(conn, (String,), "SELECT wall_plan FROM club")?;
    Ok(found.map_or_else(WallPlan::default, |(text,)| WallPlan::from(text)))
}

pub async fn keep_wall_plan(tx: &mut Tx, plan: &WallPlan) -> Result<()> {
    change!(tx, "UPDATE club SET wall_plan = $1", plan.to_text())?;
    Ok(())
}
