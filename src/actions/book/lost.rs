//! A pack that an incident took: an entry of the incident names it, and the pack is recorded as lost in it, both in one transaction.
//! Only one that is part of the incident, out of quarantine, and by the pool's own rules of who records a pack as lost.

use super::{BookFailed, begin, sealed, told, write};
use crate::actions::By;
use crate::actions::standing::settle_because;
use crate::bench::{FieldProblem, Findings};
use crate::club::book::story::Story;
use crate::club::book::telling::{Telling, Words};
use crate::club::release::{self, WayOut, WayOutRefusal};
use crate::club::sighting;
use crate::club::states::Life;
use crate::club::verdict::Gravity;
use crate::store::Db;
use crate::store::book::{disposals, entries};
use crate::store::findings::{self, Found};
use crate::store::lent::{self, Outcome};
use crate::store::packs;

/// What whoever records it says.
pub struct Lost<'a> {
    pub number: &'a str,
    /// Else it is retired and disposed of.
    pub is_nothing_left: bool,
    /// What became of it.
    pub words: Words,
}

impl Lost<'_> {
    fn problems(&self) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        found.unless(!self.number.is_empty(), "pack", "Say which pack.");
        found.unless(
            self.is_nothing_left,
            "nothing_left",
            "Tick that nothing of it is left. What is left of a burnt pack is retired and disposed of.",
        );
        let is_said = release::is_said(&self.words.text);
        found.unless(
            is_said,
            "words",
            "Say what became of it, in three letters or more.",
        );
        found.pass(()).err().unwrap_or_default()
    }
}

pub async fn lose(db: &Db, by: &By, incident: &str, said: Lost<'_>) -> Result<String, BookFailed> {
    let mut tx = begin(db, by).await?;
    if !by.actor.roles.is_quartermaster {
        return Err(WayOutRefusal::NotAQuartermaster.into());
    }
    let problems = said.problems();
    if !problems.is_empty() {
        return Err(BookFailed::Told(problems));
    }
    let Lost { number, words, .. } = said;
    let Some(pack) = packs::by_number(&mut tx, number).await? else {
        return Err(told("pack", format!("There is no pack {number}.")));
    };
    let kept = entries::of_incident(&mut tx, incident).await?;
    if !kept.is_empty() && !Story::of(&sealed(&kept)?).items.contains_key(&pack.number) {
        return Err(told(
            "pack",
            format!(
                "{} is not part of this incident yet. Write first that it was, so that what is known of it is kept.",
                pack.number
            ),
        ));
    }
    let open = findings::open(&mut tx, pack.id).await?;
    let gravities: Vec<Gravity> = open.iter().map(Found::gravity).collect();
    let asked = WayOut {
        life: pack.life(),
        is_on_loan: pack.is_lent(),
        is_quartermaster: by.actor.roles.is_quartermaster,
        awaits_a_look: false,
        reason: &words.text,
    };
    release::may_lose_in_incident(&asked, &gravities)?;
    if disposals::is_disposed(&mut tx, pack.id).await? {
        return Err(WayOutRefusal::Gone.into());
    }
    if let Some(lent_id) = pack.lent_id {
        lent::close(&mut tx, lent_id, Outcome::Lost, by.actor.id, by.at).await?;
    }
    packs::set_life(&mut tx, pack.id, Life::Lost).await?;
    // What was written of it stands in the book, where it can be erased.
    let because = format!("Lost in incident {incident} of the incident book.");
    let act = (sighting::LOST_IN_INCIDENT, Some(because.as_str()));
    settle_because(&mut tx, by, &pack, act).await?;
    let telling = Telling::PackLost {
        called: pack.number.clone(),
        words,
    };
    write(tx, by, incident, telling, &[]).await
}
