//! What was part of an incident: found by its number, packs and kit alike, with what is on record of it; and set aside, in the same
//! transaction, until somebody looked at it.

use super::frozen::{self, Known};
use super::{BookFailed, told};
use crate::actions::keep_kit::told as told_of_kit;
use crate::actions::see_to_kit::with_aside;
use crate::actions::{By, log, standing};
use crate::bench::typed::Words as Numbers;
use crate::club::book::chain::Sealed;
use crate::club::book::doing::Doing;
use crate::club::book::frozen::KnownKit;
use crate::club::book::incident::Kind;
use crate::club::book::involved::{Involved, Item, numbers};
use crate::club::book::story::{Story, happened};
use crate::club::book::telling::{Opened, Words};
use crate::club::calendar::Instant;
use crate::club::states::Life;
use crate::club::verdict::Finding;
use crate::store::book::watches;
use crate::store::kit::{self, Kit};
use crate::store::packs::{self, PackView};
use crate::store::{StoreError, Tx, findings, places};

/// What somebody says was part of it.
pub struct Things<'a> {
    /// Of packs and kit.
    pub numbers: &'a [String],
    /// What has no number.
    pub others: Words,
    /// Somebody looked at them since: they stay as they are.
    pub were_looked_at: bool,
}

#[derive(Default)]
pub(super) struct Found {
    packs: Vec<(PackView, Known)>,
    kit: Vec<(Kit, KnownKit)>,
    /// In the order in which they were named.
    items: Vec<Item>,
    others: Words,
    were_looked_at: bool,
    happened: Instant,
}

/// So many words are looked up, no more: all writes wait meanwhile.
const MOST_LOOKED_UP: usize = 200;

/// What has a number is named by it, so that what is known of it is frozen and it is set aside. `named`: those that are.
pub(super) async fn has_no_number(
    tx: &mut Tx,
    field: &'static str,
    text: &str,
    named: &[String],
) -> Result<(), BookFailed> {
    // What is longer than the book takes is refused for that.
    for word in numbers(text).into_iter().take(MOST_LOOKED_UP) {
        let word = word.trim_matches(|sign: char| !sign.is_alphanumeric());
        let may_be = word.contains(|sign: char| sign.is_ascii_digit());
        if may_be
            && !named.iter().any(|number| number == word)
            && (packs::by_number(tx, word).await?.is_some()
                || kit::by_number(tx, word).await?.is_some())
        {
            let words = format!(
                "{word} has a number: name it among the packs and kit that were part of it."
            );
            return Err(told(field, words));
        }
    }
    Ok(())
}

/// `at`: when the incident happened.
pub(super) async fn find(
    tx: &mut Tx,
    at: Instant,
    things: &Things<'_>,
) -> Result<Found, BookFailed> {
    has_no_number(tx, "others", &things.others.text, things.numbers).await?;
    let mut found = Found {
        others: things.others.clone(),
        were_looked_at: things.were_looked_at,
        happened: at,
        ..Found::default()
    };
    for (place, number) in things.numbers.iter().enumerate() {
        if things.numbers[..place].contains(number) {
            continue;
        }
        let (what, called, id) = if let Some(pack) = packs::by_number(tx, number).await? {
            let known = frozen::known_of(tx, &pack, at).await?;
            let item = ("pack".to_owned(), pack.number.clone(), pack.id);
            found.packs.push((pack, known));
            item
        } else if let Some(kit) = kit::by_number(tx, number).await? {
            let known = known_of_kit(tx, &kit).await?;
            let item = (kit.kind.clone(), kit.number.clone(), kit.id);
            found.kit.push((kit, known));
            item
        } else {
            return Err(told("items", format!("There is no pack or kit {number}.")));
        };
        found.items.push(Item {
            what,
            called,
            id: Some(id),
        });
    }
    Ok(found)
}

/// Of what is part of an incident so far: what the kind that it is held to be now endangers, and the one before did not.
pub(super) async fn set_aside_what_is_graver(
    tx: &mut Tx,
    by: &By,
    (incident, all): (&str, &[Sealed]),
    (kind, were_looked_at): (Kind, bool),
) -> Result<(), BookFailed> {
    let story = Story::of(all);
    let Some((before, _)) = story.held else {
        return Ok(());
    };
    let happened = happened(all, &story, &by.zone);
    let numbers: Vec<String> = story.items.into_keys().collect();
    let things = Things {
        numbers: &numbers,
        others: Words::default(),
        were_looked_at,
    };
    let mut found = find(tx, happened, &things).await?;
    let is_worse_for_packs = kind.ends_a_pack() && !before.ends_a_pack();
    if before.endangers_packs() && !is_worse_for_packs {
        found.packs.clear();
    }
    if before.endangers_kit() {
        found.kit.clear();
    }
    found.set_aside(tx, by, (incident, kind), false).await?;
    Ok(())
}

/// There are packs among these already.
pub(super) async fn has_packs(tx: &mut Tx, story: &Story) -> Result<bool, StoreError> {
    for number in story.items.keys() {
        if packs::by_number(tx, number).await?.is_some() {
            return Ok(true);
        }
    }
    Ok(false)
}

async fn known_of_kit(tx: &mut Tx, kit: &Kit) -> Result<KnownKit, StoreError> {
    let place = match kit.place_id {
        Some(id) => places::by_id(tx, id).await?.map(|place| place.name.into()),
        None => None,
    };
    Ok(KnownKit {
        number: kit.number.clone(),
        kind: kit.kind.clone(),
        name: kit.name.clone().into(),
        maker: kit.maker.clone().into(),
        what: kit.spec()?.summary(Numbers::POINT).into(),
        life: kit.life.clone(),
        owned: kit.owned_count,
        out: kit::out_count(tx, kit.id).await?,
        aside: kit.aside_count,
        unchecked: kit.unchecked_count,
        set_aside: kit.set_aside_words.clone().unwrap_or_default().into(),
        place,
    })
}

impl Found {
    /// What was being done, where nobody typed it and the record says it.
    pub fn fill_in(&self, by: &By, opened: &mut Opened) {
        for (_, known) in &self.packs {
            if opened.doing == Doing::Charging && opened.charging_with.is_empty() {
                let ran = known.pack.charge_at(opened.happened);
                opened.charging_with = ran.map_or_else(String::new, |ran| {
                    format!("{} (on record)", ran.words(by.club.numbers()))
                });
            }
            if opened.doing == Doing::Lent && opened.lent_to.is_empty() {
                let loan = known.pack.loan_at(opened.happened);
                let name = loan.and_then(|at| known.borrowers.get(at));
                opened.lent_to = name.cloned().unwrap_or_default();
            }
        }
    }

    /// Packs into quarantine, kit out of lending, unless they are there for it already or out of the pool. A pack that alone was part of
    /// what ends one, with nothing else named, did it.
    pub async fn set_aside(
        &self,
        tx: &mut Tx,
        by: &By,
        (incident, kind): (&str, Kind),
        has_other_packs: bool,
    ) -> Result<(), StoreError> {
        if self.were_looked_at {
            return Ok(());
        }
        let is_alone = self.items.len() == 1 && self.others.text.trim().is_empty();
        let did_it = kind.ends_a_pack() && is_alone && self.packs.len() == 1 && !has_other_packs;
        let finding = Finding::in_incident(incident, kind.label(), did_it);
        for (pack, _) in self.packs.iter().filter(|_| kind.endangers_packs()) {
            let is_new = !self.stands_already(tx, pack, &finding).await?;
            if pack.life() == Life::InUse && is_new {
                standing::find(tx, by, pack, &finding, None).await?;
                standing::settle(tx, by, pack, "was named in an incident").await?;
            }
        }
        for (kit, known) in self.kit.iter().filter(|_| kind.endangers_kit()) {
            let is_free = !kit.is_counted() || kit.stock(known.out).in_order() > 0;
            if kit.life() == Life::InUse && kit.aside_count == 0 && is_free {
                set_kit_aside(tx, by, kit, &finding.words).await?;
            }
        }
        Ok(())
    }

    /// It is watched since it happened, for something as grave: what is written of it afterwards begins no watch anew.
    async fn stands_already(
        &self,
        tx: &mut Tx,
        pack: &PackView,
        finding: &Finding,
    ) -> Result<bool, StoreError> {
        if !pack.is_quarantined() {
            return Ok(false);
        }
        let watch = watches::over(tx, pack.id).await?;
        let open = findings::open(tx, pack.id).await?;
        let is_as_grave = open.iter().any(|one| one.gravity() >= finding.gravity);
        Ok(is_as_grave && watch.is_some_and(|watch| watch.began_ms >= self.happened))
    }

    pub fn involved(self) -> Involved {
        let (packs, kit) = (self.packs.into_iter(), self.kit.into_iter());
        let mut involved = Involved {
            items: self.items,
            others: self.others,
            kit: kit.map(|(_, known)| known).collect(),
            ..Involved::default()
        };
        for (_, known) in packs {
            involved.apart.extend(known.names());
            involved.packs.push(known.pack);
        }
        involved
    }
}

/// Of what is counted, one.
async fn set_kit_aside(tx: &mut Tx, by: &By, before: &Kit, why: &str) -> Result<(), StoreError> {
    let after = with_aside(before.clone(), by, (1, why));
    kit::save(tx, &after).await?;
    let change = (
        &told_of_kit(tx, before).await?,
        &told_of_kit(tx, &after).await?,
    );
    log(tx, by, "set it aside", ("kit", after.id), change).await
}
