//! Kit: chargers, supplies, cables, adapters, boards, each with its data sheet as JSON, and how many are out on loans.
//! Whether a thing may be lent is the club's rule.

use super::{Conn, Result, StoreError, Tx, change, row, rows};
use crate::bench::connector::Family;
use crate::bench::kit::{KitKind, Spec};
use crate::club::calendar::Instant;
use crate::club::kit::{KitSheet, Stock};
use crate::club::states::Life;
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Kit {
    pub id: Uuid,
    pub number: String,
    pub number_key: i64,
    pub kind: String,
    pub name: String,
    pub maker: String,
    /// JSON of a [`Spec`].
    pub spec: String,
    pub owned_count: i64,
    pub place_id: Option<Uuid>,
    pub notes: String,
    pub life: String,
    /// How many of it are to mend, and how many were brought back and not looked at.
    pub aside_count: i64,
    pub unchecked_count: i64,
    /// Why some of it is set aside, who said so last and when.
    pub set_aside_words: Option<String>,
    pub set_aside_ms: Option<Instant>,
    pub set_aside_by: Option<Uuid>,
    pub created_ms: Instant,
}

impl Kit {
    /// The same thing with what a person says of it now.
    pub fn with(self, sheet: KitSheet) -> Result<Self> {
        Ok(Self {
            kind: sheet.spec.kind().code().to_owned(),
            name: sheet.name,
            maker: sheet.maker,
            spec: to_json(&sheet.spec)?,
            owned_count: sheet.owned_count,
            place_id: sheet.place_id,
            notes: sheet.notes,
            ..self
        })
    }

    /// What a person says of it.
    pub fn sheet(&self) -> Result<KitSheet> {
        Ok(KitSheet {
            name: self.name.clone(),
            maker: self.maker.clone(),
            notes: self.notes.clone(),
            place_id: self.place_id,
            owned_count: self.owned_count,
            spec: self.spec()?,
        })
    }

    pub fn kind(&self) -> Option<KitKind> {
        KitKind::from_code(&self.kind)
    }

    pub fn is_counted(&self) -> bool {
        self.kind().is_some_and(KitKind::is_counted)
    }

    pub fn spec(&self) -> Result<Spec> {
        serde_json::from_str(&self.spec).map_err(|error| StoreError::Internal(error.to_string()))
    }

    /// A life this program does not know is taken for the most careful: out of the pool.
    pub fn life(&self) -> Life {
        Life::from_code(&self.life).unwrap_or(Life::Retired)
    }

    /// `out`: how many of it are on open loans.
    pub const fn stock(&self, out: i64) -> Stock {
        Stock {
            owned: self.owned_count,
            out,
            aside: self.aside_count,
            unchecked: self.unchecked_count,
        }
    }
}

fn to_json(spec: &Spec) -> Result<String> {
    serde_json::to_string(spec).map_err(|error| StoreError::Internal(error.to_string()))
}

/// A thing with where it belongs and what is out. `holder_name` is one borrower's: the only one's for numbered kit.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Listed {
    #[sqlx(flatten)]
    pub kit: Kit,
    pub place_name: Option<String>,
    pub out_count: i64,
    pub holder_name: Option<String>,
    /// The club's own connector families, as one JSON list: sheets name them by code, people by name.
    own_families: Option<String>,
}

impl Listed {
    /// The data sheet for reading, each connector by its name.
    pub fn named_spec(&self) -> Result<Spec> {
        let own: Vec<Family> = match &self.own_families {
            Some(list) => serde_json::from_str(list)
                .map_err(|error| StoreError::Internal(error.to_string()))?,
            None => Vec::new(),
        };
        Ok(self.kit.spec()?.with_names(&own))
    }

    pub const fn stock(&self) -> Stock {
        self.kit.stock(self.out_count)
    }

    /// How many of it can go out now.
    pub fn free(&self) -> i64 {
        self.stock().free(self.kit.life())
    }
}

/// Which part of the list: a kind (every kind: None), a place, gone or not, and how many rows after how many.
#[derive(Clone, Copy, Debug)]
pub struct Part {
    pub kind: Option<KitKind>,
    pub place_id: Option<Uuid>,
    pub is_gone: bool,
    /// Only what has to be seen to: set aside, or back unchecked.
    pub is_to_see_to: bool,
    pub at_most: i64,
    pub after: i64,
}

impl Part {
    pub const ALL_IN_USE: Self = Self {
        kind: None,
        place_id: None,
        is_gone: false,
        is_to_see_to: false,
        at_most: i64::MAX,
        after: 0,
    };
}

/// By kind, in the order of [`KitKind::ALL`], and number.
pub async fn list(conn: &mut Conn, part: Part) -> Result<Vec<Listed>> {
    rows!(
        conn,
        Listed,
        "SELECT k.id, k.number, k.number_key, k.kind, k.name, k.maker, k.spec, k.owned_count, k.place_id, k.notes, k.life, \
         k.aside_count, k.unchecked_count, k.set_aside_words, k.set_aside_ms, k.set_aside_by, k.created_ms, pl.name AS place_name, \
         COALESCE(o.out_count, 0) AS out_count, o.holder_name, \
         (SELECT '[' || STRING_AGG(c.spec, ',') || ']' FROM connector c) AS own_families \
         FROM kit k LEFT JOIN place pl ON pl.id = k.place_id LEFT JOIN \
         (SELECT l.kit_id, CAST(SUM(COALESCE(l.counted, 1)) AS BIGINT) AS out_count, \
         MIN(h.name) AS holder_name FROM lent l JOIN loan ln ON ln.id = l.loan_id JOIN person h ON h.id = ln.borrower_id \
         WHERE l.closed_ms IS NULL AND l.kit_id IS NOT NULL GROUP BY l.kit_id) o ON o.kit_id = k.id \
         WHERE ($1 = '' OR k.kind = $1) AND (CAST($2 AS UUID) IS NULL OR k.place_id = $2) \
         AND (CASE WHEN k.life = 'in_use' THEN 0 ELSE 1 END) = $3 \
         AND ($6 = 0 OR k.aside_count > 0 OR k.unchecked_count > 0) \
         ORDER BY CASE k.kind WHEN 'charger' THEN 0 WHEN 'supply' THEN 1 WHEN 'cable' THEN 2 WHEN 'adapter' THEN 3 ELSE 4 END, \
         k.number_key LIMIT $4 OFFSET $5",
        part.kind.map_or("", KitKind::code),
        part.place_id,
        i32::from(part.is_gone),
        part.at_most,
        part.after,
        i32::from(part.is_to_see_to)
    )
}

/// A thing as one person sees it: with what of it is in their own hands.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct SeenBy {
    #[sqlx(flatten)]
    pub listed: Listed,
    pub own_count: i64,
    /// The line, and the day, that is due first.
    pub own_lent_id: Option<Uuid>,
    pub own_due_on: Option<String>,
    /// The packs that charge with it now.
    running_with: Option<String>,
}

impl SeenBy {
    /// Numbers of the packs whose charges run with it though it was set aside.
    pub fn to_stop(&self) -> Vec<String> {
        let kit = &self.listed.kit;
        let running = self.running_with.as_deref().filter(|_| kit.aside_count > 0);
        let numbers = running.unwrap_or_default().split_whitespace();
        let mut all: Vec<String> = numbers.map(str::to_owned).collect();
        all.sort_unstable_by_key(|number| (number.len(), number.clone()));
        all
    }
}

pub async fn seen_by(conn: &mut Conn, id: Uuid, person_id: Uuid) -> Result<Option<SeenBy>> {
    row!(
        conn,
        SeenBy,
        "SELECT k.id, k.number, k.number_key, k.kind, k.name, k.maker, k.spec, k.owned_count, k.place_id, k.notes, k.life, \
         k.aside_count, k.unchecked_count, k.set_aside_words, k.set_aside_ms, k.set_aside_by, k.created_ms, pl.name AS place_name, \
         COALESCE(o.out_count, 0) AS out_count, o.holder_name, \
         (SELECT '[' || STRING_AGG(c.spec, ',') || ']' FROM connector c) AS own_families, \
         (SELECT CAST(COALESCE(SUM(COALESCE(ml.counted, 1)), 0) AS BIGINT) FROM lent ml JOIN loan mo ON mo.id = ml.loan_id \
         WHERE ml.kit_id = k.id AND ml.closed_ms IS NULL AND mo.borrower_id = $2) AS own_count, \
         own.lent_id AS own_lent_id, own.due_on AS own_due_on, \
         (SELECT STRING_AGG(rk.number, ' ') FROM charge rc JOIN pack rk ON rk.id = rc.pack_id \
         WHERE rc.ended_ms IS NULL AND k.id IN (rc.charger_id, rc.supply_id, rc.cable_id)) AS running_with \
         FROM kit k LEFT JOIN (SELECT ml.id AS lent_id, ml.kit_id, mo.due_on FROM lent ml JOIN loan mo ON mo.id = ml.loan_id \
         WHERE ml.kit_id = $1 AND ml.closed_ms IS NULL AND mo.borrower_id = $2 ORDER BY mo.due_on, ml.id LIMIT 1) own ON own.kit_id = k.id LEFT JOIN place pl ON pl.id = k.place_id LEFT JOIN \
         (SELECT l.kit_id, CAST(SUM(COALESCE(l.counted, 1)) AS BIGINT) AS out_count, \
         MIN(h.name) AS holder_name FROM lent l JOIN loan ln ON ln.id = l.loan_id JOIN person h ON h.id = ln.borrower_id \
         WHERE l.closed_ms IS NULL AND l.kit_id = $1 GROUP BY l.kit_id) o ON o.kit_id = k.id WHERE k.id = $1",
        id,
        person_id
    )
}

/// What can go out now, by kind and number: in use, not set aside, not all of it out.
pub async fn lendable(conn: &mut Conn) -> Result<Vec<Listed>> {
    let mut all = list(conn, Part::ALL_IN_USE).await?;
    all.retain(|listed| listed.free() > 0);
    Ok(all)
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Kit>> {
    row!(
        conn,
        Kit,
        "SELECT id, number, number_key, kind, name, maker, spec, owned_count, place_id, notes, life, aside_count, unchecked_count, set_aside_words, \
         set_aside_ms, set_aside_by, created_ms FROM kit WHERE id = $1",
        id
    )
}

/// `number` as it is shown: `C-02`.
pub async fn by_number(conn: &mut Conn, number: &str) -> Result<Option<Kit>> {
    row!(
        conn,
        Kit,
        "SELECT id, number, number_key, kind, name, maker, spec, owned_count, place_id, notes, life, aside_count, unchecked_count, set_aside_words, \
         set_aside_ms, set_aside_by, created_ms FROM kit WHERE number = $1",
        number
    )
}

/// How many of it are on open loans.
pub async fn out_count(conn: &mut Conn, id: Uuid) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(COALESCE(SUM(COALESCE(counted, 1)), 0) AS BIGINT) FROM lent WHERE kit_id = $1 AND closed_ms IS NULL",
        id
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// The next number of a kind; rows are never deleted, so none comes twice.
pub async fn next_number_key(conn: &mut Conn, kind: KitKind) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COALESCE(MAX(number_key), 0) FROM kit WHERE kind = $1",
        kind.code()
    )?;
    Ok(found.map_or(0, |(key,)| key) + 1)
}

/// A new thing in use; its number is `kind`'s next.
pub async fn blank(tx: &mut Tx, id: Uuid, kind: KitKind, at: Instant) -> Result<Kit> {
    Ok(numbered(id, (kind, next_number_key(tx, kind).await?), at))
}

/// A new thing in use, with a number of its kind.
pub fn numbered(id: Uuid, (kind, number_key): (KitKind, i64), at: Instant) -> Kit {
    Kit {
        id,
        number: kind.number(number_key),
        number_key,
        kind: kind.code().to_owned(),
        name: String::new(),
        maker: String::new(),
        spec: String::new(),
        owned_count: 1,
        place_id: None,
        notes: String::new(),
        life: Life::InUse.code().to_owned(),
        aside_count: 0,
        unchecked_count: 0,
        set_aside_words: None,
        set_aside_ms: None,
        set_aside_by: None,
        created_ms: at,
    }
}

pub async fn add(tx: &mut Tx, kit: &Kit) -> Result<()> {
    change!(
        tx,
        "INSERT INTO kit (id, number, number_key, kind, name, maker, spec, owned_count, place_id, notes, life, \
         set_aside_words, set_aside_ms, set_aside_by, created_ms, aside_count, unchecked_count) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)",
        kit.id,
        &kit.number,
        kit.number_key,
        &kit.kind,
        &kit.name,
        &kit.maker,
        &kit.spec,
        kit.owned_count,
        kit.place_id,
        &kit.notes,
        &kit.life,
        &kit.set_aside_words,
        kit.set_aside_ms,
        kit.set_aside_by,
        kit.created_ms,
        kit.aside_count,
        kit.unchecked_count
    )?;
    Ok(())
}

/// Everything but number, kind and when it was added.
pub async fn save(tx: &mut Tx, kit: &Kit) -> Result<()> {
    change!(
        tx,
        "UPDATE kit SET name = $2, maker = $3, spec = $4, owned_count = $5, place_id = $6, notes = $7, life = $8, \
         set_aside_words = $9, set_aside_ms = $10, set_aside_by = $11, aside_count = $12, unchecked_count = $13 WHERE id = $1",
        kit.id,
        &kit.name,
        &kit.maker,
        &kit.spec,
        kit.owned_count,
        kit.place_id,
        &kit.notes,
        &kit.life,
        &kit.set_aside_words,
        kit.set_aside_ms,
        kit.set_aside_by,
        kit.aside_count,
        kit.unchecked_count
    )?;
    Ok(())
}
