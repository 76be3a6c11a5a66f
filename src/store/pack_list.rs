//! The packs page: filtered, sorted, a page at a time. Cost follows what is shown, not what is stored: by number, by
//! gravity, by when it was last seen and by a state that is stored, an index has the packs in order. By what a pack is and where,
//! and for a text, a holder or a 'not known' by age, all packs in use are read.

use super::care::{InCare, in_care};
use super::measured::{Measured, MeasuredRow, measured_columns, measured_join};
use super::packs::{PackView, pack_view};
use super::{Conn, Result, rows};
use crate::club::calendar::Instant;
use uuid::Uuid;

pub const PER_PAGE: i64 = 50;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    #[default]
    Number,
    State,
    WhatItIs,
    Where,
    LastSeen,
}

impl Order {
    pub const ALL: [Self; 5] = [
        Self::Number,
        Self::State,
        Self::WhatItIs,
        Self::Where,
        Self::LastSeen,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::Number => "number",
            Self::State => "state",
            Self::WhatItIs => "what",
            Self::Where => "where",
            Self::LastSeen => "seen",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|order| order.code() == code)
    }
}

/// A pack of the list, with what was measured of it where a draw is asked for.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Found {
    #[sqlx(flatten)]
    pub care: InCare,
    #[sqlx(flatten)]
    measured: MeasuredRow,
}

impl Found {
    pub fn measured(&self) -> Option<Measured> {
        self.measured.told(&self.care.pack.for_health())
    }
}

/// What is asked for; None or empty asks for nothing in particular.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    pub state: Option<String>,
    pub cells: Option<i64>,
    pub capacity_mah_min: Option<i64>,
    pub capacity_mah_max: Option<i64>,
    /// By capacity and what its label allows it to give; unknown is not enough.
    pub gives_ma_min: Option<i64>,
    pub connector: Option<String>,
    pub place_id: Option<Uuid>,
    pub holder_id: Option<Uuid>,
    /// In number, design, maker, batch; in notes where `is_for_notes`.
    pub text: Option<String>,
    /// Whoever asks may read notes.
    pub is_for_notes: bool,
    pub order: Order,
    pub page: i64,
    /// A fit or cautioned pack last read before this instant is 'not known'.
    pub old_before: Instant,
}

/// What a text is looked for in. Read row by row, so that a full page ends the search.
macro_rules! words {
    () => {
        "LOWER(k.number || ' / ' || d.name || ' / ' || k.maker || ' / ' || k.batch || ' / ' || CASE WHEN $14 = TRUE THEN k.notes ELSE '' END)"
    };
}

/// `$packs` says which packs, in words an index knows; the rest narrows them down. The design is joined from the left:
/// a database that knows how few designs there are would otherwise read all packs of each and sort them.
macro_rules! asked {
    ($packs:literal, $order:literal) => {
        concat!(
            "WHERE ",
            $packs,
            " AND (CAST($3 AS BIGINT) IS NULL OR d.cells_series = $3) \
             AND (CAST($4 AS BIGINT) IS NULL OR d.capacity_mah >= $4) \
             AND (CAST($5 AS BIGINT) IS NULL OR d.capacity_mah <= $5) \
             AND (CAST($15 AS BIGINT) IS NULL OR d.capacity_mah * d.label_discharge_c_tenths >= $15 * 10) \
             AND (CAST($6 AS TEXT) IS NULL OR d.connector = $6) \
             AND (CAST($7 AS UUID) IS NULL OR (k.place_id = $7 AND le.id IS NULL AND ca.home_id IS NULL)) \
             AND (CAST($8 AS UUID) IS NULL OR lo.borrower_id = $8 OR ca.home_id = $8) \
             AND (CAST($9 AS TEXT) IS NULL OR ",
            words!(),
            " LIKE LOWER($9) ESCAPE '!' OR ",
            words!(),
            " LIKE LOWER($12) ESCAPE '!' OR ",
            words!(),
            " LIKE LOWER($13) ESCAPE '!') ORDER BY ",
            $order,
            "k.number_key, k.number LIMIT $10 OFFSET $11"
        )
    };
}

/// A page of them. What storage care asks is asked of these alone, whatever had to be sorted for it.
macro_rules! page_in_care {
    ($packs:literal, $order:literal) => {
        in_care!(
            measured_columns!(),
            measured_join!("CAST($15 AS BIGINT) IS NOT NULL"),
            concat!(
            "WHERE k.id IN (SELECT k.id FROM pack k LEFT JOIN design d ON d.id = k.design_id LEFT JOIN place pl ON pl.id = k.place_id \
             LEFT JOIN lent le ON le.pack_id = k.id AND le.closed_ms IS NULL LEFT JOIN loan lo ON lo.id = le.loan_id \
             LEFT JOIN care ca ON ca.pack_id = k.id ",
            asked!($packs, $order),
            ") ORDER BY ",
            $order,
            "k.number_key, k.number"
        )
        )
    };
}

macro_rules! all_as_packs {
    ($packs:literal, $order:literal) => {
        pack_view!(asked!($packs, $order))
    };
}

/// The orders of `$packs`; `$all` says the same where no index has the order and all of them are read anyway.
macro_rules! in_order {
    ($query:ident, $order:expr, $packs:literal, $all:literal) => {
        match $order {
            Order::Number => $query!($packs, ""),
            Order::State => $query!(
                $packs,
                "CASE k.state WHEN 'quarantine' THEN 0 WHEN 'set_aside' THEN 1 WHEN 'not_known' THEN 2 WHEN 'caution' THEN 3 WHEN 'fit' THEN 4 ELSE 5 END, "
            ),
            Order::WhatItIs => $query!($all, "d.cells_series, d.capacity_mah, d.chemistry, "),
            Order::Where => $query!(
                $all,
                "CASE WHEN le.id IS NULL AND ca.home_id IS NULL THEN 0 ELSE 1 END, LOWER(pl.name), "
            ),
            Order::LastSeen => $query!($packs, "k.seen_ms, "),
        }
    };
}

macro_rules! text_of {
    ($query:ident, $asked:expr) => {
        match $asked.state.as_deref() {
            None => in_order!(
                $query,
                $asked.order,
                "k.life = 'in_use' AND CAST($1 AS TEXT) IS NULL AND CAST($2 AS BIGINT) IS NOT NULL",
                "COALESCE(k.life, '') = 'in_use' AND CAST($1 AS TEXT) IS NULL AND CAST($2 AS BIGINT) IS NOT NULL"
            ),
            Some("not_known") => in_order!(
                $query,
                $asked.order,
                "(k.state = $1 OR (k.state IN ('fit', 'caution') AND (k.last_read_ms IS NULL OR k.last_read_ms < $2)))",
                "(k.state = $1 OR (k.state IN ('fit', 'caution') AND (k.last_read_ms IS NULL OR k.last_read_ms < $2)))"
            ),
            Some(_) => in_order!(
                $query,
                $asked.order,
                "k.state = $1 AND (k.state NOT IN ('fit', 'caution') OR k.last_read_ms >= $2)",
                "k.state = $1 AND (k.state NOT IN ('fit', 'caution') OR k.last_read_ms >= $2)"
            ),
        }
    };
}

/// Asks it with what is asked for: so many after so many.
macro_rules! found {
    ($conn:expr, $row:ty, $text:expr, $asked:expr, $part:expr) => {
        rows!(
            $conn,
            $row,
            $text,
            $asked.state.as_deref(),
            $asked.old_before,
            $asked.cells,
            $asked.capacity_mah_min,
            $asked.capacity_mah_max,
            $asked.connector.as_deref(),
            $asked.place_id,
            $asked.holder_id,
            $asked.text.as_deref().map(like),
            $part.0,
            $part.1,
            // The databases know capitals of ASCII only: the text as typed, all small, all capitals.
            $asked.text.as_deref().map(|text| like(&text.to_lowercase())),
            $asked.text.as_deref().map(|text| like(&text.to_uppercase())),
            $asked.is_for_notes,
            $asked.gives_ma_min
        )
    };
}

/// One more than a page when there are more.
pub async fn find(conn: &mut Conn, asked: &Asked) -> Result<Vec<Found>> {
    let after = asked.page.clamp(0, 100_000) * PER_PAGE;
    find_part(conn, asked, (PER_PAGE + 1, after)).await
}

async fn find_part(conn: &mut Conn, asked: &Asked, part: (i64, i64)) -> Result<Vec<Found>> {
    found!(conn, Found, text_of!(page_in_care, asked), asked, part)
}

const ALL: (i64, i64) = (i64::MAX, 0);

/// All of them, whatever page is asked for.
pub async fn find_all(conn: &mut Conn, asked: &Asked) -> Result<Vec<PackView>> {
    found!(conn, PackView, text_of!(all_as_packs, asked), asked, ALL)
}

/// The same with what was measured of each, for who asks what speaks against a draw.
pub async fn find_all_measured(conn: &mut Conn, asked: &Asked) -> Result<Vec<Found>> {
    find_part(conn, asked, ALL).await
}

/// The text anywhere, its own wildcards taken as letters.
fn like(text: &str) -> String {
    let plain = text
        .replace('!', "!!")
        .replace('%', "!%")
        .replace('_', "!_");
    format!("%{plain}%")
}
