//! What storage care keeps of a pack: on to each reading as it is stored, anew where an old one was corrected, and once for packs
//! that were read before anything was kept. Belongs to the reading's own transaction.

use crate::actions::By;
use crate::battery::range::Range;
use crate::club::calendar::Instant;
use crate::club::care::story::LastRead;
use crate::club::care::walked::{Step, walked};
use crate::club::health::Health;
use crate::club::limits::ClubLimits;
use crate::club::reading::judge;
use crate::club::verdict::Rule;
use crate::store::care::{self, InCare, Loses, record};
use crate::store::{Db, Result, Tx, club};
use uuid::Uuid;

/// Before the pack's last volts are these: what stood until now is kept beside them. Not for a correction, which stands for another
/// moment: see `corrected`. A clock that was set back makes none: readings count in the order in which they came in.
pub(super) async fn on_to_reading(
    tx: &mut Tx,
    by: &By,
    (pack_id, read): (Uuid, &LastRead),
    health: &Health,
) -> Result<()> {
    let Some(one) = care::by_id(tx, pack_id).await? else {
        return Ok(());
    };
    let (lying, story) = (one.lying(&by.limits()), one.story(by.at));
    let walked = one.before_reading().on_to(&lying, &story, read);
    care::keep(tx, pack_id, &walked, Loses::of_newest(loses(health))).await
}

/// What the quickest of its cells loses a month, where its readings tell it.
fn loses(health: &Health) -> Option<Range> {
    let cells = health.told.lying.as_ref()?.cells.iter();
    let told = cells.filter_map(|cell| cell.percent_a_month);
    told.max_by(|one, other| one.likely.total_cmp(&other.likely))
}

/// Gone through from its first day.
pub(super) async fn anew(tx: &mut Tx, by: &By, pack_id: Uuid) -> Result<()> {
    walk(tx, pack_id, (&by.limits(), by.at), Loses::AsBefore).await
}

/// The same, with what its readings tell together by now: what a wrong one told falls with it.
pub(super) async fn corrected(tx: &mut Tx, by: &By, pack_id: Uuid, health: &Health) -> Result<()> {
    let loses = Loses::Just(loses(health));
    walk(tx, pack_id, (&by.limits(), by.at), loses).await
}

async fn walk(
    tx: &mut Tx,
    pack_id: Uuid,
    (limits, now): (&ClubLimits, Instant),
    loses: Loses,
) -> Result<()> {
    let Some(one) = care::by_id(tx, pack_id).await? else {
        return Ok(());
    };
    let mut steps = record::whole(tx, pack_id, now).await?;
    steps.retain(|(_, step)| counts(&one, step, limits));
    let walked = walked(&one.lying(limits), &one.warmth(), steps);
    care::keep(tx, pack_id, &walked, loses).await
}

/// Volts that can't be are on record and are not what the pack was last read at.
fn counts(one: &InCare, step: &Step, limits: &ClubLimits) -> bool {
    let Step::Read(read) = step else {
        return true;
    };
    let found = judge(&one.pack.build(), &read.volts, read.rested, limits);
    Some(read.at) == one.pack.last_read_ms
        || found.iter().all(|each| each.rule != Rule::Implausible)
}

/// For packs that were read before anything was kept: a few at a time, so that others may write in between.
pub async fn catch_up(db: &Db, now: Instant) -> Result<()> {
    const AT_ONCE: i64 = 50;
    let Some(club) = club::read(&mut db.read().await?).await? else {
        return Ok(());
    };
    loop {
        let mut tx = db.write().await?;
        let packs = care::not_kept(&mut tx, AT_ONCE).await?;
        if packs.is_empty() {
            return Ok(());
        }
        for pack_id in packs {
            walk(&mut tx, pack_id, (&club.limits(), now), Loses::AsBefore).await?;
        }
        tx.save().await?;
    }
}
