//! What a person gets and where it reaches them; ending kinds by a link out of a mail; and the club's rules of reminders. The log
//! keeps that it was changed, never an address.

use crate::actions::confirm_address::asked_about;
use crate::actions::once::{self, Repeat};
use crate::actions::remind::Posting;
use crate::actions::{By, log};
use crate::club::calendar::Instant;
use crate::club::reminders::Kind;
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::letter;
use crate::club::reminders::quiet::{Quiet, is_time};
use crate::club::reminders::rules::{self, ReminderRules, RuleRefusal, is_address};
use crate::ids;
use crate::store::log::Entry;
use crate::store::outbox::Channel;
use crate::store::reach::{self, Reach};
use crate::store::{Conn, Db, StoreError, outbox, reminders};
use serde_json::json;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ChoiceRefusal {
    /// In the order of the form.
    #[error("{} fields must be put right.", .0.len())]
    Wrong(Vec<WishRefusal>),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WishRefusal {
    #[error("Write an address like quinn@club.example, or leave it empty.")]
    Address,
    #[error("Five addresses were asked about since yesterday. Keep this one tomorrow.")]
    TooOften,
    #[error(
        "A mail with a link went there less than an hour ago. Look for it there, also among what was taken for junk."
    )]
    JustAsked,
    #[error(
        "No mail server is set here, so nobody can be asked by mail. Whoever runs this server sets one."
    )]
    NoServer,
    #[error("Write both times as 21:00, or leave both empty.")]
    Quiet(&'static str),
}

impl WishRefusal {
    pub const fn field(self) -> &'static str {
        match self {
            Self::Address | Self::TooOften | Self::JustAsked | Self::NoServer => "address",
            Self::Quiet(field) => field,
        }
    }
}

/// What a person's own form says. Empty texts: no address, the club's quiet hours.
pub struct Wish {
    pub address: String,
    pub quiet_from: String,
    pub quiet_to: String,
    pub choices: Choices,
    /// Whether the form asked about phones; else what was chosen of them stays.
    pub has_push: bool,
}

impl Wish {
    const fn has_no_quiet(&self) -> bool {
        self.quiet_from.is_empty() && self.quiet_to.is_empty()
    }

    fn wrong(&self) -> Vec<WishRefusal> {
        let mut wrong = Vec::new();
        if !self.address.is_empty() && !is_address(&self.address) {
            wrong.push(WishRefusal::Address);
        }
        if self.has_no_quiet() || Quiet::of(&self.quiet_from, &self.quiet_to).is_some() {
            return wrong;
        }
        let is_from = !is_time(&self.quiet_from);
        let is_to = !is_time(&self.quiet_to);
        // Of two times that are one, the first.
        if is_from || !is_to {
            wrong.push(WishRefusal::Quiet("quiet_from"));
        }
        if is_to {
            wrong.push(WishRefusal::Quiet("quiet_to"));
        }
        wrong
    }
}

const PAGE: &str = "/me/reminders?kept=yes";

/// Where it is kept. An address that was dead is tried again once it is kept anew; one that is new is asked about first.
pub async fn choose(
    db: &Db,
    by: &By,
    wish: &Wish,
    posting: Posting<'_>,
) -> Result<&'static str, ChoiceRefusal> {
    let wrong = wish.wrong();
    if !wrong.is_empty() {
        return Err(ChoiceRefusal::Wrong(wrong));
    }
    let has_none = wish.has_no_quiet();
    let mut tx = once::begin::<ChoiceRefusal>(db, by).await?;
    let hour = |text: &str| (!has_none).then(|| text.to_owned());
    let standing = asked_about(&mut tx, by, &wish.address, posting).await?;
    let reach = Reach {
        address: wish.address.clone(),
        quiet_from: hour(&wish.quiet_from),
        quiet_to: hour(&wish.quiet_to),
        unconfirmed_ms: standing.asked,
        unasked_ms: standing.unasked,
        kept_ms: kept_since(&mut tx, by, &wish.address).await?,
        ..Reach::nowhere(by.actor.id)
    };
    reach::save(&mut tx, &reach).await?;
    let (before, mut choices) = (
        reach::choices(&mut tx, by.actor.id).await?,
        wish.choices.clone(),
    );
    for kind in Kind::ALL {
        let mut ways = wish.choices.of(kind);
        if !wish.has_push {
            ways.by_push = before.of(kind).by_push;
        }
        choices.0.insert(kind, ways);
        reach::choose(&mut tx, by.actor.id, kind, ways).await?;
    }
    let subject = ("person", by.actor.id);
    log(
        &mut tx,
        by,
        "chose reminders",
        subject,
        (&(), &told(&choices)),
    )
    .await?;
    once::finish(tx, by, PAGE).await?;
    Ok(PAGE)
}

/// Now, where it is another than before, or was dead.
async fn kept_since(
    conn: &mut Conn,
    by: &By,
    address: &str,
) -> Result<Option<Instant>, StoreError> {
    let before = reach::of(conn, by.actor.id).await?;
    let same = before.filter(|before| before.address == address && before.dead_ms.is_none());
    Ok(same.map_or(Some(by.at), |same| same.kept_ms))
}

/// Kinds that do not come by a way, as the log keeps them.
fn told(choices: &Choices) -> serde_json::Value {
    let without = |has: fn(Ways) -> bool| {
        let kinds = Kind::ALL.into_iter().filter(|kind| !has(choices.of(*kind)));
        kinds.map(Kind::code).collect::<Vec<_>>().join(" ")
    };
    json!({
        "no_mail": without(|ways| ways.by_mail),
        "no_push": without(|ways| ways.by_push),
        "not_in_calendar": without(|ways| ways.in_calendar),
    })
}

/// What a link out of a mail may end.
pub struct Ends {
    person_id: Uuid,
    pub kinds: Vec<Kind>,
    /// The address that their person has now is not confirmed: the link ends nothing.
    pub is_unconfirmed: bool,
}

/// The optional kinds of the mail that this link came with; of those that one, where it is named. None: there is no such link.
pub async fn ends_of_link(
    conn: &mut Conn,
    (token, only): (&str, Option<Kind>),
) -> Result<Option<Ends>, StoreError> {
    if !ids::is_token(token) {
        return Ok(None);
    }
    let Some(mail) = outbox::with_token(conn, &ids::digest(token)).await? else {
        return Ok(None);
    };
    let lines = reminders::gathered(conn, (mail.person_id, &mail.on_day), Channel::Mail).await?;
    let mut kinds = letter::optional(&letter::parts(lines));
    kinds.retain(|kind| only.is_none_or(|only| only == *kind));
    let reach = reach::of(conn, mail.person_id).await?;
    Ok(Some(Ends {
        person_id: mail.person_id,
        kinds,
        is_unconfirmed: reach.is_some_and(|reach| reach.is_unconfirmed()),
    }))
}

/// Ends them by mail, whoever holds the link, where the address is confirmed; twice is as once. None: there is no such link.
pub async fn end_by_link(
    db: &Db,
    (token, only): (&str, Option<Kind>),
    at: Instant,
) -> Result<Option<Ends>, StoreError> {
    // Who guesses links does not take the turn to write.
    let mut conn = db.read().await?;
    if ends_of_link(&mut conn, (token, only)).await?.is_none() {
        return Ok(None);
    }
    drop(conn);
    let mut tx = db.write().await?;
    let ends = match ends_of_link(&mut tx, (token, only)).await? {
        Some(ends) if !ends.is_unconfirmed => ends,
        nothing => return Ok(nothing),
    };
    let person_id = ends.person_id;
    let before = reach::choices(&mut tx, person_id).await?;
    let mut after = before.clone();
    for kind in &ends.kinds {
        let ways = Ways {
            by_mail: false,
            ..before.of(*kind)
        };
        after.0.insert(*kind, ways);
        reach::choose(&mut tx, person_id, *kind, ways).await?;
    }
    if before != after {
        let entry = Entry {
            at,
            by: Some(person_id),
            by_token: None,
            verb: "ended reminders by a link",
            subject: "person",
            subject_id: person_id,
            before: "null".to_owned(),
            after: told(&after).to_string(),
        };
        crate::store::log::add(&mut tx, &entry).await?;
    }
    tx.save().await?;
    Ok(Some(ends))
}

#[derive(Debug, thiserror::Error)]
pub enum RulesRefusal {
    #[error("{} rules can't be kept.", .0.len())]
    Rules(Vec<RuleRefusal>),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

const RULES_PAGE: &str = "/settings/reminders?kept=yes";

/// They count from the next day that is decided.
pub async fn change_rules(
    db: &Db,
    by: &By,
    wanted: &ReminderRules,
) -> Result<&'static str, RulesRefusal> {
    let broken = rules::check(wanted);
    if !broken.is_empty() {
        return Err(RulesRefusal::Rules(broken));
    }
    let mut tx = once::begin::<RulesRefusal>(db, by).await?;
    let before = reminders::rules(&mut tx).await?;
    reminders::save_rules(&mut tx, wanted).await?;
    let subject = ("club", Uuid::nil());
    log(
        &mut tx,
        by,
        "changed the rules of reminders",
        subject,
        (&before, wanted),
    )
    .await?;
    once::finish(tx, by, RULES_PAGE).await?;
    Ok(RULES_PAGE)
}
