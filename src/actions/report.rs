//! A report: what somebody saw is told, and stored with what it does to a pack in the same transaction. Of a person of the club
//! it counts as what they saw; of a stranger it is unverified and does what `club::reports` says. Reading, looking and
//! answering are `see_to_reports`.

use crate::actions::condition::{self, ConditionRefusal, Looked, settle_seen};
use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, Logged, Measured, answer_after};
use crate::actions::standing;
use crate::actions::{By, log, watching};
use crate::club::glance;
use crate::club::people::Role;
use crate::club::reports::{self, About, Effect, IsNow, PLACE_MOST, Thing};
use crate::club::seen::Seen;
use crate::club::sighting::REPORTED_UNVERIFIED;
use crate::club::states::Life;
use crate::club::verdict::{Gravity, Rule};
use crate::ids;
use crate::store::at_once;
use crate::store::book::disposals;
use crate::store::book::reports::{self as store, NewReport, Phone};
use crate::store::findings::{self, Found};
use crate::store::packs::{self, PackView};
use crate::store::phones::{self, PushKey};
use crate::store::{Db, Result, Tx};
use serde::Serialize;
use uuid::Uuid;

/// What somebody told.
#[derive(Clone, Copy)]
pub struct Telling<'a> {
    pub about: About,
    pub thing: Option<Thing>,
    pub pack_id: Option<Uuid>,
    pub poster_id: Option<Uuid>,
    pub looked: &'a Looked,
    pub is_now: IsNow,
    pub place_words: &'a str,
    /// How to reach a stranger.
    pub reach: &'a str,
    /// Of the club, though they do not say who.
    pub is_nameless: bool,
    /// A stranger's network: a keyed digest of it is kept.
    pub network: Option<&'a str>,
    pub measured: Option<&'a Measured>,
    /// What of it can't be kept, and why.
    pub left_out: &'a str,
    /// It waited on a phone, or may have.
    pub phone: Option<&'a Phone<'a>>,
}

impl<'a> Telling<'a> {
    pub const fn of_pack(pack_id: Uuid, looked: &'a Looked) -> Self {
        Self {
            about: About::Pack,
            thing: None,
            pack_id: Some(pack_id),
            poster_id: None,
            looked,
            is_now: IsNow::NotSaid,
            place_words: "",
            reach: "",
            is_nameless: false,
            network: None,
            measured: None,
            left_out: "",
            phone: None,
        }
    }

    /// The pack to which it does something: one that is only named waits for somebody to look.
    fn acts_on(&self) -> Option<Uuid> {
        self.pack_id.filter(|_| self.about == About::Pack)
    }

    /// It was made before it came.
    fn has_waited(&self) -> bool {
        self.phone.is_some_and(|phone| phone.made_ms.is_some())
    }

    fn is_verified(&self, by: &By) -> bool {
        self.is_nameless || by.actor.person().is_some()
    }

    fn check(&self) -> std::result::Result<(), ConditionRefusal> {
        let is_pack = self.about == About::Pack;
        if is_pack && self.looked.seen.is_empty() {
            Err(ConditionRefusal::NothingTicked)
        // What waited on a phone is taken as it is: nobody is there any more to be asked.
        } else if is_pack && self.phone.is_none() && self.looked.lacks_words() {
            Err(ConditionRefusal::NoWords)
        } else if self.about == About::Hall && self.thing.is_none() {
            Err(ConditionRefusal::NoThing)
        } else if !is_pack && self.looked.words().is_none() {
            Err(ConditionRefusal::NothingSaid)
        } else if glance::is_too_long(&self.looked.own_words) {
            Err(ConditionRefusal::TooLong)
        } else if self.place_words.chars().count() > PLACE_MOST {
            Err(ConditionRefusal::PlaceTooLong)
        } else if self.reach.chars().count() > PLACE_MOST {
            Err(ConditionRefusal::ReachTooLong)
        } else {
            Ok(())
        }
    }
}

/// Gives back where to go on: of a pack and somebody of the club its page, else that of the report, for whoever sent it.
pub async fn tell(
    db: &Db,
    by: &By,
    telling: &Telling<'_>,
) -> std::result::Result<String, ConditionRefusal> {
    telling.check()?;
    let looked = &Looked {
        happens_now: telling.is_now == IsNow::Yes,
        ..telling.looked.clone()
    };
    let telling = &Telling { looked, ..*telling };
    let mut tx = once::begin::<ConditionRefusal>(db, by).await?;
    was_told(&mut tx, telling.phone).await?;
    let network = match telling.network {
        Some(network) => network_digest(&mut tx, network).await?,
        None => None,
    };
    let telling = &Telling {
        network: network.as_deref(),
        ..*telling
    };
    let pack = match telling.acts_on() {
        Some(id) => Some(to_report_on(&mut tx, id).await?),
        None => None,
    };
    let done = match &pack {
        Some(pack) if telling.is_verified(by) => seen_on(&mut tx, by, pack, telling).await?,
        Some(pack) => claimed_of(&mut tx, by, pack, telling).await?,
        None => Done::default(),
    };
    let is_seen = !telling.looked.findings().is_empty();
    let is_report = pack.is_none() || is_seen || telling.phone.is_some();
    let token = if is_report {
        Some(keep(&mut tx, by, telling, &done).await?)
    } else {
        None
    };
    // A phone gets the same answer however often it asks, signed in or not.
    let page = telling.phone.map_or(done.answer.as_str(), |_| "");
    let answer = address(page, token.as_deref());
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// The secret is one that the database keeps, and from which no digest leads back: the same for all processes and after a start anew.
/// Who has that too, with the whole database, can try addresses through until the digest is forgotten.
async fn network_digest(tx: &mut Tx, network: &str) -> Result<Option<String>> {
    let key = phones::key(tx).await?;
    let digest = |key: PushKey| ids::keyed_digest(&key.private_key, "network of a report", network);
    Ok(key.map(digest))
}

/// A phone that got no answer sends again: what came is answered as it was, whoever is signed in by now.
async fn was_told(
    tx: &mut Tx,
    phone: Option<&Phone<'_>>,
) -> std::result::Result<(), ConditionRefusal> {
    let Some(phone) = phone else { return Ok(()) };
    match store::with_phone_key(tx, phone.key).await? {
        None => Ok(()),
        // Of some the digest is forgotten: of what was erased, and of what came before digests left names out.
        Some((token, hash)) if hash.is_empty() || hash == phone.hash => {
            Err(Repeat::Done(address("", Some(&token))).into())
        }
        Some(_) => Err(Repeat::OtherBody.into()),
    }
}

fn address(page: &str, token: Option<&str>) -> String {
    match (page, token) {
        ("", token) => format!("/reported/{}", token.unwrap_or_default()),
        (page, None) => page.to_owned(),
        (page, Some(token)) if page.contains('?') => format!("{page}&told={token}"),
        (page, Some(token)) => format!("{page}?told={token}"),
    }
}

async fn to_report_on(tx: &mut Tx, id: Uuid) -> std::result::Result<PackView, ConditionRefusal> {
    let pack = packs::by_id(tx, id)
        .await?
        .ok_or(ConditionRefusal::NoPack)?;
    if is_gone(tx, &pack).await? {
        return Err(ConditionRefusal::Gone);
    }
    Ok(pack)
}

/// Nothing more is recorded on it.
pub(super) async fn is_gone(tx: &mut Tx, pack: &PackView) -> Result<bool> {
    let is_given_away = matches!(pack.life(), Life::GivenAway | Life::Withdrawn);
    Ok(is_given_away || disposals::is_disposed(tx, pack.id).await?)
}

/// What a report did.
#[derive(Default)]
struct Done {
    effect: Effect,
    /// Of its volts, where they are graver than what was seen.
    of_volts: Gravity,
    /// Stored as a reading, as it keeps them; empty: none were.
    volts: String,
    finding_id: Option<Uuid>,
    /// The pack's page; empty: whoever sent it sees none.
    answer: String,
}

/// It counts as what any person of the club sees on a pack; with its volts, where they were measured.
async fn seen_on(tx: &mut Tx, by: &By, pack: &PackView, telling: &Telling<'_>) -> Result<Done> {
    condition::note(tx, by, pack, telling.looked).await?;
    let may_log = by.actor.roles.may_log_volts() && pack.life() == Life::InUse;
    let (mut of_volts, mut volts) = (Gravity::Note, String::new());
    let measured = telling.measured.filter(|_| may_log);
    if let Some(measured) = measured.filter(|_| telling.has_waited()) {
        of_volts = danger_of(tx, by, pack, measured).await?;
        volts = measured.as_kept();
    } else if let Some(measured) = measured {
        let logged = Logged::volts(measured, false);
        let reading = reading::take(tx, by, pack, logged, pack.lent_id).await?;
        let open = findings::open(tx, pack.id).await?;
        let of_it = open.iter().filter(|one| one.reading_id == Some(reading));
        volts = measured.as_kept();
        of_volts = of_it.map(Found::gravity).fold(of_volts, Gravity::max);
    }
    let after = settle_seen(tx, by, pack, (condition::REPORTED, telling.looked)).await?;
    let seen = reports::gravest(&telling.looked.findings());
    Ok(Done {
        effect: Effect::of(seen.max(of_volts)),
        of_volts,
        volts,
        answer: answer_after(tx, pack, &after).await?,
        ..Done::default()
    })
}

/// Volts that waited on a phone are no reading, since nobody knows what was done with the pack since; the danger that they tell of
/// counts all the same.
async fn danger_of(tx: &mut Tx, by: &By, pack: &PackView, measured: &Measured) -> Result<Gravity> {
    let mut gravest = Gravity::Note;
    for finding in reading::verdict(by, pack, measured) {
        if finding.gravity >= Gravity::Danger {
            standing::find(tx, by, pack, &finding, None).await?;
            gravest = gravest.max(finding.gravity);
        }
    }
    Ok(gravest)
}

/// It makes the pack more careful until a person looked, and never final.
async fn claimed_of(tx: &mut Tx, by: &By, pack: &PackView, telling: &Telling<'_>) -> Result<Done> {
    let day_ago = by.at.plus_days(-1);
    let has_quarantined = match telling.network {
        Some(network) => store::has_quarantined(tx, network, day_ago).await?,
        None => true,
    };
    let what = telling.looked.words().unwrap_or_default();
    let seen = telling.looked.findings();
    let Some(finding) = reports::unverified(&seen, &what, has_quarantined) else {
        return Ok(Done::default());
    };
    standing::find(tx, by, pack, &finding, None).await?;
    if reports::gravest(&seen) >= Gravity::Danger {
        watching::begin_anew(tx, by, pack.id).await?;
    }
    settle_seen(tx, by, pack, (REPORTED_UNVERIFIED, telling.looked)).await?;
    let open = findings::open(tx, pack.id).await?;
    let same = open.iter().find(|found| {
        found.rule() == Some(Rule::ReportedUnlooked)
            && found.words == finding.words
            && found.gravity() == finding.gravity
    });
    Ok(Done {
        effect: Effect::of(finding.gravity),
        finding_id: same.map(|found| found.id),
        ..Done::default()
    })
}

/// What the log keeps of a report; not its words, which may speak of people.
#[derive(Serialize)]
struct Logs<'a> {
    about: &'a str,
    is_verified: bool,
}

/// Stores it; gives back the token of its page.
async fn keep(tx: &mut Tx, by: &By, telling: &Telling<'_>, done: &Done) -> Result<String> {
    let (id, token, reference) = (ids::new_id(), ids::new_label_code(), ids::new_code(2));
    let looked = telling.looked;
    let ticked = looked.seen.iter().filter(|seen| **seen != Seen::Nothing);
    let seen = reports::seen_codes(&ticked.copied().collect::<Vec<_>>());
    let gravity = reports::gravest(&looked.findings()).max(done.of_volts);
    let roles = by.actor.roles;
    let new = NewReport {
        id,
        token: &token,
        reference: &reference,
        about: telling.about,
        thing: telling.thing.map_or("", Thing::code),
        pack_id: telling.pack_id,
        poster_id: telling.poster_id,
        seen: &seen,
        crash: looked.crash.map(|crash| crash.code()),
        words: looked.own_words.trim(),
        volts: &done.volts,
        is_now: telling.is_now,
        place_words: telling.place_words,
        reach: telling.reach,
        gravity,
        rank: reports::rank(gravity, telling.is_now),
        effect: done.effect.code(),
        finding_id: done.finding_id,
        is_verified: telling.is_verified(by),
        by_id: by.actor.person(),
        network: telling.network,
        left_out: telling.left_out,
        came_ms: by.at,
        phone: telling.phone,
        is_read: roles.has_any(&[Role::Quartermaster, Role::Organiser]),
    };
    store::add(tx, &new).await?;
    if let Some(pack_id) = telling.acts_on().filter(|_| gravity >= Gravity::Danger) {
        at_once::told_by_report(tx, pack_id, by.at).await?;
    }
    // A report on a pack stands in the log with what it did to the pack.
    if telling.acts_on().is_none() {
        let logs = Logs {
            about: telling.about.code(),
            is_verified: new.is_verified,
        };
        log(tx, by, "reported", ("report", id), (&None::<()>, &logs)).await?;
    }
    Ok(token)
}

/// The token of a report in the address that `tell` gave.
pub fn token_in(address: &str) -> Option<&str> {
    let told = address.split_once("told=").map(|(_, rest)| rest);
    let token = told.or_else(|| address.strip_prefix("/reported/"))?;
    token.split(['&', '?', '#']).next()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_is_found_in_each_address_that_a_report_leads_to() {
        for page in ["", "/packs/P-001", "/packs/P-001?over=7"] {
            assert_eq!(token_in(&address(page, Some("abc"))), Some("abc"));
        }
        assert_eq!(token_in("/packs/P-001"), None);
    }
}
