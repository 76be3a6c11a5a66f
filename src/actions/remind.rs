//! A day's reminders are decided and put into the outbox, in one transaction that begins by taking the day: whichever process comes
//! first has it. What goes to nobody is held and shown. Who sends it is `tasks`.

use crate::club::book::story::ActionStands;
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::care::due::{OnRecord, due};
use crate::club::care::seen::in_band_since;
use crate::club::place_checks::Check;
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::decide::{At, Reminder, decide};
use crate::club::reminders::facts::{
    ActionDue, CheckDue, Facts, LoanOut, PackDue, Person, Unread, Whereabouts,
};
use crate::club::reminders::rules::ReminderRules;
use crate::ids;
use crate::store::care::InCare;
use crate::store::club::{self, Club};
use crate::store::loans::Out;
use crate::store::outbox::{Channel, New};
use crate::store::people::Listed;
use crate::store::places::Place;
use crate::store::reach::Reach;
use crate::store::{
    Conn, Db, Result, Tx, book, care, loans, outbox, people, phones, places, reach, reminders,
};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// How messages leave here.
#[derive(Clone, Copy, Debug)]
pub struct Posting<'a> {
    /// Is there a mail server?
    pub has_server: bool,
    /// What Message-IDs end with.
    pub host: &'a str,
}

/// How many reminders and messages a day came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Decided {
    pub day: Day,
    pub reminders: usize,
    pub messages: usize,
}

/// None: it is decided, or its hour has not come, or there is no club.
pub async fn decide_day(db: &Db, now: Instant, posting: Posting<'_>) -> Result<Option<Decided>> {
    let mut conn = db.read().await?;
    let Some(club) = club::read(&mut conn).await? else {
        return Ok(None);
    };
    let zone = Zone::named(&club.time_zone).unwrap_or_else(Zone::utc);
    let rules = reminders::rules(&mut conn).await?;
    let today = zone.day_of(now);
    // What a clock decided that ran ahead for days keeps nobody from being reminded today.
    let last = reminders::last_day(&mut conn, today.plus_days(1)).await?;
    if last.is_some_and(|last| last >= today) || now < rules.moment(today, &zone) {
        return Ok(None);
    }
    let facts = facts(&mut conn, &club, (now, &zone), last).await?;
    drop(conn);
    let at = At {
        rules: &rules,
        care: &club.care(),
        now,
        zone: &zone,
    };
    let all = decide(&facts, &at);
    let mut tx = db.write().await?;
    if !reminders::begin_day(&mut tx, today, now).await? {
        return Ok(None);
    }
    let outgoing = Outgoing::read(&mut tx, posting, now).await?;
    let (told, kept) = keep(&mut tx, &club, &all, (today, now), &outgoing).await?;
    let messages = put(&mut tx, &told, &at, &outgoing).await?;
    tx.save().await?;
    Ok(Some(Decided {
        day: today,
        reminders: kept,
        messages,
    }))
}

/// All that is on record of it now.
async fn facts(
    conn: &mut Conn,
    club: &Club,
    (now, zone): (Instant, &Zone),
    last: Option<Day>,
) -> Result<Facts> {
    let (limits, rules) = (club.limits(), club.care());
    let packs = care::in_use(conn).await?.into_iter().map(|one| {
        let on_record = one.on_record(&limits, now);
        PackDue {
            due: due(&on_record, &rules, now, zone),
            holder: one.holder(),
            whereabouts: whereabouts(&one, &on_record),
            number: one.pack.number,
        }
    });
    let packs = packs.filter(|pack| !pack.due.is_empty()).collect();
    let people = people::list(conn, "").await?;
    Ok(Facts {
        people: people.into_iter().map(person).collect(),
        packs,
        loans: by_loan(loans::all_out(conn).await?),
        checks: checks(conn).await?,
        actions: actions(conn).await?,
        reports: unread(conn).await?,
        book: book::entries::head(conn).await?,
        last,
    })
}

fn whereabouts(one: &InCare, on_record: &OnRecord) -> Whereabouts {
    let home = one.pack.home_by.as_deref().and_then(Day::parse);
    let loan = one.pack.due_day().filter(|_| one.pack.is_lent());
    match (loan, home) {
        (Some(due), _) => Whereabouts::OnLoan(due),
        (None, Some(_)) if in_band_since(on_record).is_some() => Whereabouts::StillAtHome,
        (None, Some(by)) => Whereabouts::AtHome(by),
        (None, None) => Whereabouts::Here,
    }
}

pub(super) fn person(listed: Listed) -> Person {
    Person {
        id: listed.id,
        roles: listed.roles(),
        is_active: listed.is_active(),
        answers: listed.responsible_id,
        ends: listed.ends_on.as_deref().and_then(Day::parse),
    }
}

fn by_loan(out: Vec<Out>) -> Vec<LoanOut> {
    let mut loans: BTreeMap<Uuid, LoanOut> = BTreeMap::new();
    for one in out {
        let Some(due_on) = Day::parse(&one.due_on) else {
            continue;
        };
        let loan = loans.entry(one.loan_id).or_insert_with(|| LoanOut {
            id: one.loan_id,
            borrower: one.borrower_id,
            due_on,
            things: Vec::new(),
        });
        loan.things.push(match one.counted {
            Some(count) => format!("{count} of {}", one.number),
            None => one.number,
        });
    }
    loans.into_values().collect()
}

/// What stands at the places of today; the rule says which of it is due.
async fn checks(conn: &mut Conn) -> Result<Vec<CheckDue>> {
    let places = places::all_open(conn).await?;
    let of_place = |place: Place| {
        let days = [
            (Check::Extinguisher, place.extinguisher_check_due),
            (Check::Detector, place.detector_check_due),
        ];
        let due = days.map(|(check, day)| {
            Some(CheckDue {
                place: place.id,
                called: place.name.clone(),
                check,
                due_on: Day::parse(&day?)?,
            })
        });
        due.into_iter().flatten()
    };
    Ok(places.into_iter().flat_map(of_place).collect())
}

async fn actions(conn: &mut Conn) -> Result<Vec<ActionDue>> {
    let found = book::actions::that_wait(conn).await?;
    let due = found.into_iter().filter_map(|one| {
        Some(ActionDue {
            by: Day::parse(&one.by_on)?,
            is_done: one.stands == ActionStands::ToLookAt.code(),
            seq: one.seq,
            incident: one.incident,
            owner: one.owner_id,
        })
    });
    Ok(due.collect())
}

async fn unread(conn: &mut Conn) -> Result<Vec<Unread>> {
    const OF_EACH: i64 = 250;
    let found = book::reports::unread(conn, OF_EACH, 0).await?;
    let unread = found.into_iter().map(|report| Unread {
        id: report.id,
        reference: report.reference,
        came: report.came_ms,
    });
    Ok(unread.collect())
}

/// What each person is newly told, by which ways any of it goes; and how many reminders that are.
async fn keep(
    tx: &mut Tx,
    club: &Club,
    all: &[Reminder],
    (today, now): (Day, Instant),
    outgoing: &Outgoing<'_>,
) -> Result<(BTreeMap<Uuid, Ways>, usize)> {
    let told_on = today.to_string();
    let (chosen, usual) = (reach::all_choices(tx).await?, Choices::default());
    let unconfirmed = reach::unconfirmed(tx).await?;
    let mut waited = outbox::whose_never_went(tx).await?;
    waited.retain(|person| outgoing.goes(&outgoing.reach(*person)).is_ok());
    let (mut told, mut kept) = (BTreeMap::new(), 0);
    for one in all {
        let choices = chosen.get(&one.person).unwrap_or(&usual);
        let mut ways = choices.ways(one.kind, one.is_must);
        // An address that nobody confirmed may be a stranger's: what their person need not put right waits for that
        // (`store::reminders::tell_anew`). Where no server is set nothing goes anywhere, and pages show what would have been sent.
        let is_theirs = !outgoing.posting.has_server || !unconfirmed.contains(&one.person);
        ways.by_mail &= one.is_must || is_theirs;
        let worded = Reminder {
            why: club.numbers().sentence(&one.why),
            next: club.numbers().sentence(&one.next),
            ..one.clone()
        };
        let is_new = reminders::keep(tx, &worded, ways, (&told_on, now)).await?;
        if !is_new {
            let may_be_told = ways.by_mail && (one.is_must || waited.contains(&one.person));
            if !may_be_told || !reminders::tell_after_all(tx, &worded, (&told_on, now)).await? {
                continue;
            }
            ways = Ways {
                by_mail: true,
                ..Ways::NONE
            };
        }
        kept += 1;
        let any = told.entry(one.person).or_insert(Ways::NONE);
        any.by_mail |= ways.by_mail;
        any.by_push |= ways.by_push;
    }
    if !waited.is_empty() {
        outbox::drop_untold(tx).await?;
    }
    Ok((told, kept))
}

/// A message for each person and channel that any of it goes by, when nothing is quiet for them any more.
async fn put(
    tx: &mut Tx,
    told: &BTreeMap<Uuid, Ways>,
    at: &At<'_>,
    outgoing: &Outgoing<'_>,
) -> Result<usize> {
    let key = at.zone.day_of(at.now).to_string();
    let mut count = 0;
    for (person, ways) in told {
        let reach = outgoing.reach(*person);
        let message = Message {
            key: &key,
            is_at_once: false,
            goes: quiet_over(&reach, at.rules, (at.now, at.zone)),
        };
        count += outgoing.put(tx, &reach, *ways, message).await?;
    }
    Ok(count)
}

/// By which key reminders know the message that tells them, and when it goes.
#[derive(Clone, Copy)]
pub(super) struct Message<'a> {
    pub key: &'a str,
    pub is_at_once: bool,
    pub goes: Instant,
}

/// How everybody is reached, as messages are put into the outbox.
pub(super) struct Outgoing<'a> {
    posting: Posting<'a>,
    now: Instant,
    reached: BTreeMap<Uuid, Reach>,
    phones: BTreeSet<Uuid>,
}

impl<'a> Outgoing<'a> {
    pub(super) async fn read(tx: &mut Tx, posting: Posting<'a>, now: Instant) -> Result<Self> {
        Ok(Self {
            posting,
            now,
            reached: reach::all(tx).await?,
            phones: phones::whose(tx).await?,
        })
    }

    pub(super) fn reach(&self, person: Uuid) -> Reach {
        let known = self.reached.get(&person).cloned();
        known.unwrap_or_else(|| Reach::nowhere(person))
    }

    /// Does mail go there, and else why not?
    fn goes(&self, reach: &Reach) -> std::result::Result<(), &'static str> {
        if !self.posting.has_server {
            return Err("No mail server is set.");
        }
        if reach.address.is_empty() {
            return Err("No address.");
        }
        match reach.dead_ms {
            Some(_) => Err("Mail to this address was refused before."),
            None => Ok(()),
        }
    }

    /// By mail, and by push to who has a phone that asked; how many of them are new.
    pub(super) async fn put(
        &self,
        tx: &mut Tx,
        reach: &Reach,
        ways: Ways,
        message: Message<'_>,
    ) -> Result<usize> {
        let by_mail = ways.by_mail.then(|| (Channel::Mail, self.goes(reach)));
        let has_phone = self.phones.contains(&reach.person_id);
        let by_push = (ways.by_push && has_phone).then_some((Channel::Push, Ok(())));
        let mut count = 0;
        for (channel, goes) in by_mail.into_iter().chain(by_push) {
            let new = New {
                person_id: reach.person_id,
                on_day: message.key,
                is_at_once: message.is_at_once,
                is_to_confirm: false,
                channel,
                message_id: &format!("{}@{}", ids::new_id().simple(), self.posting.host),
                address: &reach.address,
                goes: goes.map(|()| message.goes),
            };
            count += usize::from(outbox::put(tx, &new, self.now).await?);
        }
        Ok(count)
    }
}

/// The first instant from then on at which something may go to them.
pub fn quiet_over(reach: &Reach, rules: &ReminderRules, (at, zone): (Instant, &Zone)) -> Instant {
    let quiet = reach.quiet().or_else(|| rules.quiet());
    quiet.map_or(at, |quiet| quiet.over(at, zone))
}

/// What a person was told and how they are reached goes with their name.
pub(super) async fn forget(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    outbox::forget(tx, person_id).await?;
    reminders::forget(tx, person_id).await?;
    reach::forget(tx, person_id).await
}
