//! A year of an invented club's life on the fake clock: 60 packs of all six chemistries, half of them where it is warm, hot or cold, 15 people,
//! some forgetful, an event each 18 days; volts are mistyped and put right, charges recorded and not read, rounds read and taken home, packs bought, lost
//! and retired. Every reminder that must come came once, on its day and to whom it must, and none else; so did the mail that gathers them.
//! Which, says `oracle`, from rules in words and a diary of what happened. A season of 200 days in every run, the year with `SANDBUCKET_LONG=1`.

mod life;
mod oracle;

use crate::support::*;
use life::{Diary, Life, What};
use oracle::Told;
use std::collections::BTreeSet;

async fn reminders(club: &TestClub, diary: &Diary) -> Vec<Told> {
    let found = club
        .find(
            "SELECT r.told_on || '|' || p.name || '|' || r.reason || '|' || r.thing || '|' || r.due_on || '|' || \
             CASE WHEN r.is_must THEN 'must' ELSE 'may' END FROM reminder r JOIN person p ON p.id = r.person_id",
        )
        .await;
    let mut all: Vec<Told> = found.iter().map(|row| read(row)).collect();
    all.sort();
    assert!(!diary.decided.is_empty());
    all
}

fn read(row: &str) -> Told {
    let parts: Vec<String> = row.split('|').map(str::to_owned).collect();
    Told {
        on: parts[0].clone(),
        who: parts[1].clone(),
        reason: parts[2].clone(),
        thing: parts[3].clone(),
        due_on: parts[4].clone(),
        is_must: parts[5] == "must",
    }
}

/// Those that are in one alone, the first few.
fn apart<'a, T: PartialEq>(one: &'a [T], other: &[T]) -> Vec<&'a T> {
    one.iter()
        .filter(|each| !other.contains(each))
        .take(12)
        .collect()
}

/// What is due for packs, each by another rule.
const OF_PACKS: [&str; 8] = [
    "above_band",
    "event_over",
    "back_not_stored",
    "falls_to_minimum",
    "not_full",
    "nickel_low",
    "first_check",
    "not_looked_at",
];

/// Told that they run low by a day that was reckoned ahead: nothing happened to the pack on the day since when it is due.
fn reckoned(diary: &Diary, told: &[Told]) -> usize {
    let hall = oracle::hall();
    let is_reckoned = |one: &&Told| {
        let mut packs = diary.packs.iter();
        let of = packs.find(|pack| one.thing == format!("pack:{}", pack.number));
        let mut days = of.iter().flat_map(|pack| &pack.happened);
        one.reason == "falls_to_minimum"
            && days.all(|(at, _)| oracle::date(*at, &hall).to_string() != one.due_on)
    };
    told.iter().filter(is_reckoned).count()
}

/// What happened to the packs of these, to see who of the two is wrong.
fn stories<'t>(diary: &Diary, of: impl Iterator<Item = &'t Told>) -> String {
    let things: BTreeSet<&str> = of.map(|one| one.thing.as_str()).collect();
    let packs = diary.packs.iter();
    let named = packs.filter(|pack| things.contains(format!("pack:{}", pack.number).as_str()));
    let hall = oracle::hall();
    let story = |pack: &life::Pack| {
        let all = pack.happened.iter();
        let lines = all.map(|(at, what)| format!("  {} {what:?}", oracle::date(*at, &hall)));
        format!("{}:\n{}", pack.number, lines.collect::<Vec<_>>().join("\n"))
    };
    named.map(story).collect::<Vec<_>>().join("\n")
}

/// Day and person of each mail that must be there.
fn mails(diary: &Diary, told: &[Told]) -> BTreeSet<String> {
    let silent = |name: &str| {
        diary
            .people
            .iter()
            .any(|one| one.name == name && one.is_silent)
    };
    let goes = told.iter().filter(|one| one.is_must || !silent(&one.who));
    goes.map(|one| format!("{} {}", one.on, one.who)).collect()
}

on_both! {
    async fn every_reminder_that_must_come_came_once_and_on_its_day_and_none_else(club: TestClub) {
        let mut dice = Dice::thrown();
        let days = share(200, 365);
        let mut life = Life::begin(&club, &mut dice).await;
        for day in 0..days {
            if day % 18 == 3 {
                life.plan_event(8).await;
            }
            life.a_day().await;
            life.morning().await;
        }
        let (diary, refused) = (&life.diary, life.refused);
        let (came, must) = (reminders(&club, diary).await, oracle::told(diary));
        let (missing, uncalled) = (apart(&must, &came), apart(&came, &must));
        let stories = stories(diary, missing.iter().chain(&uncalled).copied());
        assert!(missing.is_empty() && uncalled.is_empty(), "missing: {missing:#?}\nuncalled for: {uncalled:#?}\n{stories}");
        assert_eq!(came.len(), must.len());
        let sent = club.find("SELECT m.on_day || ' ' || p.name FROM mail m JOIN person p ON p.id = m.person_id").await;
        assert_eq!(sent.len(), sent.iter().collect::<BTreeSet<_>>().len(), "one mail for a person and day");
        let sent: BTreeSet<String> = sent.into_iter().collect();
        assert_eq!(sent, mails(diary, &must));
        let kinds: BTreeSet<&str> = must.iter().map(|one| one.reason.as_str()).collect();
        assert!(kinds.len() >= 13, "the dice left out too much: {kinds:?}");
        assert!(OF_PACKS.iter().all(|reason| kinds.contains(reason)), "the dice left out too much: {kinds:?}");
        let reckoned = reckoned(diary, &must);
        assert!(reckoned >= share(3, 20), "hardly anything fell to its minimum by a day that was reckoned: {reckoned}");
        let righted = diary.count(|what| matches!(what, What::Righted { .. }));
        let charged = diary.count(|what| matches!(what, What::Charged(_)));
        let (on_rounds, gone) = (diary.count(|what| *what == What::PutOn), diary.count(|what| *what == What::Gone));
        assert!(on_rounds > 0 && gone > 0, "{on_rounds} on rounds, {gone} retired or lost");
        assert!(righted >= days / 10 && charged >= days / 6, "{righted} put right, {charged} charged");
        tell_rounds(&format!(
            "a club's life on {:?}: {days} days, {} reminders in {} mails, {reckoned} of them low by a day that was reckoned, {} loans, {refused} refused, \
             {} events, {charged} charges, {righted} readings put right, \
             {on_rounds} packs on rounds, {} taken home, {gone} retired or lost, {} reasons",
            club.backend, came.len(), sent.len(), diary.loans.len(), diary.events.len(), diary.homes.len(), kinds.len()
        ));
    }
}
