//! People: those who sign in and those who don't, and how they stand for lending.

use super::{Conn, Result, Tx, change, inductions, row, rows};
use crate::club::calendar::{Day, Instant};
use crate::club::hand_over::Watcher;
use crate::club::induction::Induction;
use crate::club::people::Roles;
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Person {
    pub id: Uuid,
    /// None once erased.
    pub name: Option<String>,
    pub sign_in: Option<String>,
    pub password_hash: Option<String>,
    pub table_code_hash: Option<String>,
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    pub responsible_id: Option<Uuid>,
    pub created_ms: Instant,
    pub deactivated_ms: Option<Instant>,
    pub erased_ms: Option<Instant>,
}

impl Person {
    pub const fn roles(&self) -> Roles {
        Roles {
            is_member: self.is_member,
            is_quartermaster: self.is_quartermaster,
            is_organiser: self.is_organiser,
        }
    }

    pub const fn is_active(&self) -> bool {
        self.deactivated_ms.is_none() && self.erased_ms.is_none()
    }

    pub fn called(&self) -> &str {
        self.name.as_deref().unwrap_or("(erased)")
    }
}

macro_rules! person {
    ($rest:literal) => {
        concat!(
            "SELECT id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, \
             responsible_id, created_ms, deactivated_ms, erased_ms FROM person ",
            $rest
        )
    };
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Person>> {
    row!(conn, Person, person!("WHERE id = $1"), id)
}

/// `sign_in` in small letters.
pub async fn by_sign_in(conn: &mut Conn, sign_in: &str) -> Result<Option<Person>> {
    row!(conn, Person, person!("WHERE sign_in = $1"), sign_in)
}

/// Everybody who is not erased, by name.
pub async fn all(conn: &mut Conn) -> Result<Vec<Person>> {
    rows!(
        conn,
        Person,
        person!("WHERE erased_ms IS NULL ORDER BY LOWER(name), id")
    )
}

pub async fn add(tx: &mut Tx, person: &Person) -> Result<()> {
    change!(
        tx,
        "INSERT INTO person (id, name, sign_in, password_hash, table_code_hash, is_member, is_quartermaster, is_organiser, \
         responsible_id, created_ms, deactivated_ms, erased_ms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        person.id,
        &person.name,
        &person.sign_in,
        &person.password_hash,
        &person.table_code_hash,
        person.is_member,
        person.is_quartermaster,
        person.is_organiser,
        person.responsible_id,
        person.created_ms,
        person.deactivated_ms,
        person.erased_ms
    )?;
    Ok(())
}

pub async fn save(tx: &mut Tx, person: &Person) -> Result<()> {
    change!(
        tx,
        "UPDATE person SET name = $2, sign_in = $3, password_hash = $4, table_code_hash = $5, is_member = $6, \
         is_quartermaster = $7, is_organiser = $8, responsible_id = $9, deactivated_ms = $10, erased_ms = $11 WHERE id = $1",
        person.id,
        &person.name,
        &person.sign_in,
        &person.password_hash,
        &person.table_code_hash,
        person.is_member,
        person.is_quartermaster,
        person.is_organiser,
        person.responsible_id,
        person.deactivated_ms,
        person.erased_ms
    )?;
    Ok(())
}

/// How many quartermasters can sign in.
pub async fn quartermaster_count(conn: &mut Conn) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(*) FROM person WHERE is_quartermaster = TRUE AND password_hash IS NOT NULL \
         AND deactivated_ms IS NULL AND erased_ms IS NULL"
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// A person as lists show them: with their induction, who answers for them, and how many things they hold.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Listed {
    pub id: Uuid,
    pub name: Option<String>,
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    pub responsible_id: Option<Uuid>,
    pub responsible_name: Option<String>,
    pub has_password: bool,
    pub deactivated_ms: Option<Instant>,
    pub erased_ms: Option<Instant>,
    pub shown_on: Option<String>,
    pub ends_on: Option<String>,
    pub open_count: i64,
    /// What the mail server answered, where their address is dead or their latest mail was given up.
    pub mail_trouble: Option<String>,
    /// Somewhere to send mail to.
    pub has_address: bool,
    /// They were asked whether that is theirs, and did not say so yet.
    pub is_unconfirmed: bool,
    /// Nor could anybody ask: no mail server was set.
    pub is_unasked: bool,
    /// What its push service answered, where a phone of theirs is not told any more.
    pub phone_trouble: Option<String>,
}

impl Listed {
    pub const fn roles(&self) -> Roles {
        Roles {
            is_member: self.is_member,
            is_quartermaster: self.is_quartermaster,
            is_organiser: self.is_organiser,
        }
    }

    pub const fn is_active(&self) -> bool {
        self.deactivated_ms.is_none() && self.erased_ms.is_none()
    }

    pub fn called(&self) -> &str {
        self.name.as_deref().unwrap_or("(erased)")
    }

    pub fn induction(&self, today: Day) -> Induction {
        let latest = inductions::shown(self.shown_on.as_deref(), self.ends_on.as_deref());
        Induction::of(latest, today)
    }
}

macro_rules! listed {
    ($rest:literal) => {
        concat!(
            "SELECT p.id, p.name, p.is_member, p.is_quartermaster, p.is_organiser, p.responsible_id, r.name AS responsible_name, \
             (p.password_hash IS NOT NULL) AS has_password, p.deactivated_ms, p.erased_ms, i.shown_on, i.ends_on, \
             (SELECT COUNT(*) FROM lent JOIN loan ON loan.id = lent.loan_id \
              WHERE loan.borrower_id = p.id AND lent.closed_ms IS NULL) + (SELECT COUNT(*) FROM care hc WHERE hc.home_id = p.id) AS open_count, \
             COALESCE((SELECT re.dead_words FROM reach re WHERE re.person_id = p.id AND re.dead_ms IS NOT NULL), \
             (SELECT CASE WHEN ma.state = 'dead' THEN ma.answer END FROM mail ma WHERE ma.person_id = p.id AND ma.channel = 'mail' \
              AND (ma.is_to_confirm = FALSE OR ma.state = 'dead') \
              AND EXISTS (SELECT 1 FROM reach rk WHERE rk.person_id = p.id AND rk.address = ma.address \
              AND (rk.kept_ms IS NULL OR rk.kept_ms <= COALESCE(ma.sent_ms, ma.made_ms))) \
              ORDER BY ma.on_day DESC LIMIT 1)) AS mail_trouble, \
             EXISTS (SELECT 1 FROM reach ra WHERE ra.person_id = p.id AND ra.address <> '') AS has_address, \
             EXISTS (SELECT 1 FROM reach ru WHERE ru.person_id = p.id AND (ru.unconfirmed_ms IS NOT NULL OR ru.unasked_ms IS NOT NULL)) AS is_unconfirmed, \
             EXISTS (SELECT 1 FROM reach rq WHERE rq.person_id = p.id AND rq.unasked_ms IS NOT NULL) AS is_unasked, \
             (SELECT ph.ended_words FROM phone ph WHERE ph.person_id = p.id AND ph.ended_ms IS NOT NULL \
              ORDER BY ph.ended_ms DESC LIMIT 1) AS phone_trouble \
             FROM person p LEFT JOIN person r ON r.id = p.responsible_id \
             LEFT JOIN induction i ON i.id = (SELECT l.id FROM induction l WHERE l.person_id = p.id \
             ORDER BY l.shown_on DESC, l.noted_ms DESC LIMIT 1) ",
            $rest
        )
    };
}

/// Everybody who is not erased and in whose name `text` stands (all: empty), by name. Looked for here: SQLite knows
/// capitals of the English alphabet only.
pub async fn list(conn: &mut Conn, text: &str) -> Result<Vec<Listed>> {
    let mut all = rows!(
        conn,
        Listed,
        listed!("WHERE p.erased_ms IS NULL ORDER BY LOWER(p.name), p.id")
    )?;
    let wanted = text.trim().to_lowercase();
    all.retain(|person| person.called().to_lowercase().contains(&wanted));
    Ok(all)
}

/// One person, erased or not.
pub async fn listed(conn: &mut Conn, id: Uuid) -> Result<Option<Listed>> {
    row!(conn, Listed, listed!("WHERE p.id = $1"), id)
}

/// Somebody at the hand-out table, with how their induction stands today.
#[derive(Clone, Debug)]
pub struct Borrower {
    pub id: Uuid,
    pub name: String,
    pub roles: Roles,
    pub is_active: bool,
    /// Who answers for a guest or junior.
    pub responsible_id: Option<Uuid>,
    pub responsible_name: Option<String>,
    pub induction: Induction,
    pub open_count: i64,
}

impl Borrower {
    fn of(person: Listed, today: Day) -> Self {
        Self {
            id: person.id,
            name: person.called().to_owned(),
            roles: person.roles(),
            is_active: person.is_active(),
            induction: person.induction(today),
            responsible_id: person.responsible_id,
            responsible_name: person.responsible_name,
            open_count: person.open_count,
        }
    }

    /// As who is to stay with a charge.
    pub fn watcher(&self) -> Watcher {
        Watcher {
            id: self.id,
            name: self.name.clone(),
            roles: self.roles,
            is_active: self.is_active,
            induction: self.induction,
        }
    }
}

pub async fn borrower(conn: &mut Conn, id: Uuid, today: Day) -> Result<Option<Borrower>> {
    let found = listed(conn, id).await?;
    Ok(found.map(|person| Borrower::of(person, today)))
}

/// Active members, quartermasters, guests and juniors, by name; inducted or not: the refusal says what to do.
pub async fn who_may_borrow(conn: &mut Conn, today: Day) -> Result<Vec<Borrower>> {
    let active = rows!(
        conn,
        Listed,
        listed!(
            "WHERE p.erased_ms IS NULL AND p.deactivated_ms IS NULL AND (p.is_member = TRUE OR p.is_quartermaster = TRUE \
             OR p.is_organiser = FALSE) ORDER BY LOWER(p.name), p.id"
        )
    )?;
    let borrowers = active.into_iter().map(|person| Borrower::of(person, today));
    Ok(borrowers.collect())
}

/// A line of what stands against a person's name: an induction, a thing they hold, or a junior they answer for.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Line {
    pub kind: String,
    pub words: Option<String>,
    pub from_on: Option<String>,
    pub to_on: Option<String>,
    pub at_ms: Instant,
}

/// Inductions (by whom, shown on, ends on), things on open loans (number, none, due on), packs at home (the same), dependants (name), in one query; latest first.
pub async fn lines(conn: &mut Conn, id: Uuid) -> Result<Vec<Line>> {
    rows!(
        conn,
        Line,
        "SELECT 'induction' AS kind, s.name AS words, i.shown_on AS from_on, i.ends_on AS to_on, i.noted_ms AS at_ms \
         FROM induction i JOIN person s ON s.id = i.shown_by WHERE i.person_id = $1 \
         UNION ALL \
         SELECT CASE WHEN l.pack_id IS NULL THEN 'kit' ELSE 'pack' END, \
         COALESCE(k.number, CASE WHEN l.counted IS NULL THEN t.number ELSE CAST(l.counted AS TEXT) || ' of ' || t.number END), CAST(NULL AS TEXT), o.due_on, l.opened_ms \
         FROM loan o JOIN lent l ON l.loan_id = o.id AND l.closed_ms IS NULL LEFT JOIN pack k ON k.id = l.pack_id \
         LEFT JOIN kit t ON t.id = l.kit_id WHERE o.borrower_id = $1 \
         UNION ALL \
         SELECT 'home', k.number, CAST(NULL AS TEXT), hc.home_by, k.state_ms FROM care hc JOIN pack k ON k.id = hc.pack_id WHERE hc.home_id = $1 \
         UNION ALL \
         SELECT 'answers', d.name, CAST(NULL AS TEXT), CAST(NULL AS TEXT), d.created_ms \
         FROM person d WHERE d.responsible_id = $1 AND d.erased_ms IS NULL AND d.deactivated_ms IS NULL \
         ORDER BY 1, 3 DESC, 5 DESC, 2",
        id
    )
}
