//! The storage round: what came back, read pack by pack, planned, taken home, closed with a record; on one phone or several.

use crate::support::*;

pub const RESTED: (&str, &str) = ("rested", "rested_an_hour");

pub async fn begun(club: &TestClub, packs: &str) -> (Browser, String) {
    let quinn = club.quartermaster().await;
    let page = quinn.get("/storage-rounds/new").await;
    let round = quinn.submit(&page, "main form", &[("packs", packs)]).await;
    let address = round
        .done()
        .split('?')
        .next()
        .unwrap_or_default()
        .to_owned();
    (quinn, address)
}

pub async fn read(who: &Browser, round: &str, pack: &str, volts: &str) -> Answer {
    let page = who.get(round).await;
    let typed = [("pack", pack), ("volts_line", volts), RESTED];
    who.submit(&page, "form[action$='/read']", &typed).await
}

/// The heads of its groups.
pub async fn groups(who: &Browser, round: &str) -> Vec<String> {
    let page = who.get(round).await;
    let heads = page.texts("h3").into_iter();
    heads.filter(|head| head.contains(": ")).collect()
}

on_both! {
    async fn volts_read_now_sort_the_packs_and_another_phone_goes_on(club: TestClub) {
        club.fit_packs(5).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-5").await;
        // They were read minutes ago, and since then they came back: nothing is sorted by belief.
        assert_eq!(groups(&quinn, &round).await, ["Volts to be read: 5"]);
        club.later_by_minutes(1);
        // 3.75 to 3.90 V: common practice, no source. Under 3.00 V in a cell: quarantine.
        read(&quinn, &round, "P-001", "3.82 3.82 3.82").await.done();
        read(&quinn, &round, "2", "4.10 4.10 4.10").await.done();
        let rosa = club.second_quartermaster().await;
        let done = read(&rosa, &round, "p3", "3.65 3.65 3.65").await;
        assert!(rosa.get(done.done()).await.text.contains("P-003 is read. Needs charge."));
        read(&rosa, &round, "P-004", "3.82 2.80 3.82").await.done();
        assert_eq!(
            groups(&quinn, &round).await,
            ["Don't touch: 1", "Volts to be read: 1", "Needs discharge: 1", "Needs charge: 1", "In the band: 1"]
        );
        let page = quinn.get(&round).await;
        assert!(page.one(".lead").contains("1 of 5 in the band."));
        let evening = page.form("form[action='/charges/evening']").1;
        assert!(evening.contains(&("numbers".to_owned(), "2-3".to_owned())), "{evening:?}");
        // Logged on its own page it counts as well.
        quinn.post("/packs/P-005/volts", &[("volts_line", "3.80 3.80 3.80"), RESTED]).await.done();
        assert!(quinn.get(&round).await.one(".lead").contains("2 of 5 in the band."));
    }

    async fn the_same_volts_as_before_it_came_back_are_a_reading_of_the_round(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/volts", &[("volts_line", "4.10 4.10 4.10"), RESTED]).await.done();
        club.later_by_minutes(1);
        let (quinn, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        let done = read(&quinn, &round, "P-001", "4.10 4.10 4.10").await;
        assert!(quinn.get(done.done()).await.text.contains("P-001 is read. Needs discharge."));
        assert_eq!(club.ids("reading").await.len(), 2);
        club.later_by_minutes(1);
        read(&quinn, &round, "P-001", "4.10 4.10 4.10").await.done();
        assert_eq!(club.ids("reading").await.len(), 2, "sent again it is the same");
    }

    async fn what_charges_or_is_lent_is_not_in_the_band_and_the_record_says_what_it_is_used_for(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-3").await;
        club.later_by_minutes(1);
        for pack in ["1", "2", "3"] {
            read(&quinn, &round, pack, "3.82 3.82 3.82").await.done();
        }
        assert_eq!(groups(&quinn, &round).await, ["In the band: 3"]);
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        quinn.submit(&card, "main form[method='post']", &[]).await.done();
        let ada = club.borrower("Ada").await;
        let person = ada.id().to_string();
        quinn.post("/hand-out", &[("person", &*person), ("items", "2"), ("due", ""), ("purpose", "practice")]).await.done();
        // Whoever has it reads it there.
        quinn.post("/packs/P-002/volts", &[("volts_line", "3.81 3.81 3.81"), RESTED]).await.done();
        assert_eq!(groups(&quinn, &round).await, ["Volts to be read: 2", "In the band: 1"]);
        let page = quinn.get(&round).await;
        let told = page.texts(".why");
        assert!(told.contains(&"It is on C-01.".to_owned()) && told.contains(&"Out on a loan.".to_owned()), "{told:?}");
        quinn.post(&format!("{round}/close"), &[]).await.done();
        let record = quinn.get(&round).await;
        assert_eq!(record.texts(".why"), told, "as it stood");
        assert!(record.one(".lead").contains("1 of 3 in the band"), "{}", record.one("main"));
    }

    async fn what_an_event_had_that_is_lost_by_now_is_named_as_left_out(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let event = [("name", "Autumn Bouts"), ("place", "Hall"), ("first_on", "2026-11-25"), ("last_on", "2026-11-25"), ("packs", "1-2")];
        quinn.post("/events/new", &event).await.done();
        club.behind_the_back("UPDATE pack SET life = 'lost', state = 'lost' WHERE number = 'P-002'").await.expect("lost");
        let id = club.ids("event").await[0].to_string();
        let page = quinn.get(&format!("/storage-rounds/new?event={id}")).await;
        let begun = quinn.submit(&page, "main form", &[("event", &id)]).await;
        let told = quinn.get(begun.done()).await;
        assert!(told.text.contains("Left out: P-002, lost, retired or gone"), "{}", told.text);
        assert!(told.text.contains("P-001"), "{}", told.text);
    }

    async fn what_is_wrong_with_a_reading_is_said_and_danger_is_stored_all_the_same(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1").await;
        let page = quinn.get(&round).await;
        for (typed, field) in [
            (vec![("pack", "77"), ("volts_line", "3.82 3.82 3.82"), RESTED], "pack"),
            (vec![("pack", "1"), ("volts_line", "many"), RESTED], "volts_line"),
            (vec![("pack", "1"), ("volts_line", "3.82 3.82 3.82")], "rested"),
            (vec![("pack", "2"), ("volts_line", "3.82 3.82 3.82"), RESTED], "pack"),
        ] {
            let refused = quinn.submit(&page, "form[action$='/read']", &typed).await;
            assert!(refused.is_refused(), "{typed:?}");
            assert_eq!(refused.select(".problems a")[0].attribute("href"), format!("#f-{field}"), "{typed:?}");
            let (_, held) = refused.form("form[action$='/read']");
            assert!(held.contains(&("volts_line".to_owned(), typed[1].1.to_owned())), "{held:?}");
        }
        assert_eq!(club.ids("reading").await.len(), 2, "those the packs began with");
        let danger = [("pack", "2"), ("volts_line", "3.82 2.80 3.82")];
        quinn.submit(&page, "form[action$='/read']", &danger).await.done();
        assert!(quinn.get("/packs/P-002").await.one(".verdict").contains("Quarantine"));
    }

    async fn the_whole_box_and_an_events_packs_come_back_and_what_is_out_does_not(club: TestClub) {
        club.fit_packs(4).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/places/new", &[("name", "Box A"), ("kind", "box"), ("room", ""), ("notes", "")]).await.done();
        let place = club.find("SELECT name FROM place WHERE name = 'Box A'").await;
        assert_eq!(place.len(), 1);
        club.behind_the_back("UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Box A') WHERE number IN ('P-001', 'P-002')")
            .await
            .expect("they lie there");
        let person = ada.id().to_string();
        quinn.post("/hand-out", &[("person", &person), ("items", "P-002"), ("due", "2026-12-01")]).await.done();
        let event = [("name", "Autumn Bouts"), ("first_on", "2026-11-25"), ("last_on", "2026-11-25"), ("packs", "3")];
        quinn.post("/events/new", &event).await.done();
        club.later_by_minutes(5);
        let page = quinn.get("/storage-rounds/new").await;
        let place = page.select("#f-place option")[1].attribute("value").to_owned();
        let event = page.select("#f-event option")[1].attribute("value").to_owned();
        let both = [("place", place.as_str()), ("event", event.as_str())];
        let labels = page.texts("#f-place option");
        assert!(labels.contains(&"Box A".to_owned()), "{labels:?}");
        let place = page.select("#f-place option").iter().zip(&labels).find(|(_, label)| *label == "Box A").map(|(one, _)| one.attribute("value").to_owned());
        let place = place.expect("Box A");
        let both = [("place", place.as_str()), both[1]];
        let round = quinn.submit(&page, "main form", &both).await;
        let told = quinn.get(round.done()).await;
        assert_eq!(told.one("h1"), "After Autumn Bouts");
        assert_eq!(told.texts("tbody th"), ["P-001", "P-003"], "P-002 is out");
        let refused = quinn.submit(&page, "main form", &[("packs", "1-2"), ("key", "out")]).await;
        assert!(refused.problems()[0].contains("2 is on a loan. Take back what is out first."), "{:?}", refused.problems());
        let none = quinn.submit(&page, "main form", &[("packs", ""), ("key", "none")]).await;
        assert!(none.problems()[0].contains("Name the packs that came back"), "{:?}", none.problems());
    }

    async fn its_evening_names_charger_moves_and_end_of_each_pack(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-3").await;
        club.later_by_minutes(1);
        for (pack, volts) in [("1", "4.00 4.00 4.00"), ("2", "4.18 4.18 4.18"), ("3", "3.82 3.82 3.82")] {
            read(&quinn, &round, pack, volts).await.done();
        }
        // Volts just read stand for a pack that lies; the plan begins with them.
        let page = quinn.get(&round).await;
        let (_, fields) = page.form("form[action='/charges/evening']");
        let asked: Vec<String> = fields.iter().filter(|(_, value)| !value.is_empty()).map(|(name, value)| format!("{name}={}", value.replace(' ', "+"))).collect();
        let told = quinn.get(&format!("/charges/evening?{}&at=&room=21&pack=21", asked.join("&"))).await;
        assert_eq!(told.texts("tbody th"), ["P-002", "P-001"], "the fullest first: {}", told.one("main"));
        assert_eq!(told.texts("td[data-label=On]"), ["C-01", "C-01"]);
        assert!(told.texts("td[data-label=Moves]").iter().all(|moves| moves.starts_with("takes out ")), "{}", told.one("tbody"));
        let (from, to) = (told.texts("td[data-label=From]"), told.texts("td[data-label='Done by']"));
        assert!(from[1] > to[0], "one after the other: {from:?}, {to:?}");
        let lead = told.one("p.lead");
        assert!(lead.contains(&format!("until {} at the latest.", to[1])), "{lead}");
    }

    async fn lead_and_nickel_are_sorted_planned_and_counted_by_their_own_rules(club: TestClub) {
        club.new_packs(2).await;
        let become_of = |words: &'static str| club.behind_the_back(words);
        become_of("UPDATE design SET name = 'Six of nickel', chemistry = 'nimh', cells_series = 6, balance_connector = NULL").await.expect("NiMH");
        club.new_packs(2).await;
        become_of("UPDATE design SET chemistry = 'pb', balance_connector = NULL WHERE chemistry = 'lipo'").await.expect("lead");
        club.chargers(2).await;
        become_of("UPDATE kit SET spec = REPLACE(spec, '\"lihv\"', '\"nimh\",\"pb\"')").await.expect("for both");
        let (quinn, round) = begun(&club, "1-4").await;
        club.later_by_minutes(1);
        // NiMH at 1.2 V a cell or more (from memory of cell handbooks), lead full: 2.10 V and more at rest.
        for (pack, volts) in [("1", "6.90"), ("2", "7.50"), ("3", "6.15"), ("4", "6.39")] {
            read(&quinn, &round, pack, volts).await.done();
        }
        let page = quinn.get(&round).await;
        assert_eq!(groups(&quinn, &round).await, ["Needs charge: 2", "In the band: 2"], "{}", page.one("#list"));
        let offered = page.select("input[name=numbers]")[0].attribute("value").to_owned();
        assert_eq!(offered.split([' ', ',']).filter(|key| !key.is_empty()).collect::<Vec<_>>(), ["1", "3"]);
        let told = quinn.get("/charges/evening?numbers=1-3&purpose=storage&at=&room=21&pack=21").await;
        let mut turns = told.texts("tbody th");
        turns.sort();
        assert_eq!(turns, ["P-001", "P-003"], "{}", told.one("main"));
        assert!(told.one("ul.told").contains("Nickel is stored as it is"), "{}", told.one("ul.told"));
        let away = quinn.get("/going-away?until=2026-12-01").await;
        assert_eq!(away.text.matches("It lies under its storage band.").count(), 2, "{}", away.one("main"));
        club.later_by_minutes(1);
        let weeks = quinn.get("/season.csv?from=2026-11-23").await.text;
        assert!(weeks.trim_end().ends_with(",4,2,0,2,0,50.0"), "{weeks}");
    }

    async fn until_it_is_read_it_is_due_and_who_took_it_home_is_asked_first(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-2").await;
        let ada = club.borrower("Ada").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "4.18 4.18 4.18").await.done();
        read(&quinn, &round, "2", "3.82 3.82 3.82").await.done();
        let page = quinn.get(&format!("{round}/home")).await;
        let person = ada.id().to_string();
        let none = quinn.submit(&page, "main form", &[("home_pack", ""), ("person", ""), ("by", "")]).await;
        assert_eq!(none.problems().len(), 3, "told at once: {:?}", none.problems());
        let late = [("home_pack", "P-001"), ("person", person.as_str()), ("by", "2026-12-20")];
        let refused = quinn.submit(&page, "main form", &late).await;
        assert!(refused.problems()[0].contains("within two weeks"), "{:?}", refused.problems());
        let home = [("home_pack", "P-001"), ("person", person.as_str()), ("by", "2026-11-28")];
        let kept = quinn.submit(&page, "main form", &home).await;
        let told = quinn.get(kept.done()).await;
        assert!(told.text.contains("At home with Ada until Sat 28 Nov 2026"), "{}", told.one("main"));
        let history = quinn.get("/packs/P-001").await.one(".log");
        assert!(history.contains("taken home to put to storage by Ada"), "{history}");
        let close = quinn.submit(&told, "form[action$='/close']", &[]).await;
        let record = quinn.get(close.done()).await;
        assert!(record.one(".lead").contains("1 of 2 in the band."), "{}", record.one("main"));
        assert!(record.select("main form").is_empty(), "the record changes no more");
        club.later_by_days(3);
        let due = quinn.get("/to-see-to").await;
        assert_eq!(due.texts("tbody th"), ["P-001"]);
        // Due since it was read outside of its band on the round, three days ago: quartermasters too, as the usual rule says.
        assert_eq!(due.texts("td[data-label=Ask]"), ["Ada, quartermasters"]);
        assert!(due.text.contains("at home, to be done by Sat 28 Nov 2026"), "{}", due.one("tbody"));
        assert!(ada.get("/mine").await.text.contains("Bring it to 3.82 V per cell"));
        // A week after the agreed day is over: nothing more is lent.
        club.later_by_days(11);
        let form = [("person", person.as_str()), ("items", "P-002"), ("due", "2026-12-20")];
        let refused = quinn.post("/hand-out", &form).await;
        assert!(refused.text.contains("Ada has P-001 to put to storage"), "{}", refused.text);
        ada.post("/packs/P-001/volts", &[("volts_line", "3.82 3.82 3.82"), RESTED]).await.done();
        let left = quinn.get("/to-see-to").await;
        assert_eq!(left.texts("td[data-label=Why] b"), ["Still at home"], "done, and to be brought back");
        let again = quinn.get(&round).await;
        assert!(again.text.contains("Needs discharge: 1"), "the record keeps how it stood then");
        quinn.post("/hand-out", &form).await.done();
    }

    async fn a_round_read_before_its_event_is_over_is_not_due_again_when_it_ends(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let event = [("name", "Autumn Bouts"), ("first_on", "2026-11-25"), ("last_on", "2026-11-25"), ("packs", "1")];
        quinn.post("/events/new", &event).await.done();
        club.later_by_minutes(5);
        let (_, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.82 3.82 3.82").await.done();
        let due = quinn.get("/to-see-to").await;
        assert!(due.one("tbody").contains("Storage round open") && due.one("tbody").contains("1 pack, each read."), "{}", due.one("tbody"));
        assert_eq!(due.select(&format!("tbody a[href='{round}']")).len(), 1);
        quinn.post(&format!("{round}/close"), &[]).await.done();
        club.later_by_days(4);
        assert!(quinn.get("/to-see-to").await.text.contains("Nothing needs anybody now"));
    }

    async fn a_round_before_an_events_last_day_does_not_bring_a_pack_back_from_it(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.82 3.82 3.82").await.done();
        quinn.post(&format!("{round}/close"), &[]).await.done();
        club.later_by_minutes(1);
        let event = [("name", "Autumn Bouts"), ("first_on", "2026-11-25"), ("last_on", "2026-11-26"), ("packs", "1")];
        quinn.post("/events/new", &event).await.done();
        club.later_by_days(4);
        let due = quinn.get("/to-see-to").await;
        assert_eq!(due.texts("tbody th"), ["P-001"]);
        assert!(due.one("tbody").contains("nobody read its volts"), "{}", due.one("tbody"));
    }

    async fn what_a_loan_brought_back_low_after_an_event_is_due_as_soon_as_it_is_on_a_round(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let event = [("name", "Autumn Bouts"), ("first_on", "2026-11-25"), ("last_on", "2026-11-25"), ("packs", "1")];
        quinn.post("/events/new", &event).await.done();
        let person = ada.id().to_string();
        quinn.post("/hand-out", &[("person", person.as_str()), ("items", "1"), ("due", "2026-11-27")]).await.done();
        club.later_by_days(1);
        let lent = club.ids("lent").await[0].to_string();
        let line = format!("volts_line-{lent}");
        let low = [("lent", lent.as_str()), ("volts", &lent), (&line, "3.68 3.68 3.68"), RESTED, ("key", "back")];
        quinn.post("/take-back/volts", &low).await.done();
        let due = quinn.get("/to-see-to").await;
        assert!(!due.text.contains("Not put to storage"), "whoever used it on a loan has a day: {}", due.one("main"));
        club.later_by_minutes(5);
        // Read since its event, it keeps its volts on the round.
        let (quinn, round) = begun(&club, "1").await;
        assert_eq!(groups(&quinn, &round).await, ["Needs charge: 1"]);
        let due = quinn.get("/to-see-to").await.one("tbody");
        assert!(due.contains("Not put to storage"), "{due}");
    }

    async fn the_evening_is_planned_the_fullest_first_until_the_hall_locks(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-3").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.95 3.95 3.95").await.done();
        read(&quinn, &round, "2", "4.18 4.18 4.18").await.done();
        read(&quinn, &round, "3", "3.60 3.60 3.60").await.done();
        let plan = |at: &str| format!("/charges/evening?numbers=1-3&purpose=storage&at={at}&room=21&pack=21");
        let whole = quinn.get(&plan("")).await;
        assert_eq!(whole.status, 200, "{}", whole.text);
        assert_eq!(whole.texts("tbody th"), ["P-002", "P-001", "P-003"], "{}", whole.one("main"));
        assert!(whole.texts("td[data-label=Moves]").iter().all(|words| words.contains("mAh") && words.contains("min")), "{}", whole.one("tbody"));
        let locks = quinn.get(&plan("19:00")).await;
        let (on, left) = (locks.texts("tbody th"), locks.texts(".told b"));
        assert!(on.len() < 3 && on.len() + left.len() == 3, "{on:?} {left:?}");
        assert!(locks.text.contains("There is no time left for it"), "{}", locks.one("main"));
        let wrong = quinn.get(&plan("soon")).await;
        assert!(wrong.problems()[0].contains("Type a time like 14:40."), "{:?}", wrong.problems());
    }

    async fn a_member_looks_at_no_round_and_an_organiser_changes_none(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_minutes(5);
        let (_, round) = begun(&club, "1").await;
        assert_eq!(club.member("Mo").await.get(&round).await.status, 403);
        let olive = club.organiser().await;
        assert_eq!(olive.get(&round).await.status, 200);
        assert_eq!(olive.post(&format!("{round}/close"), &[]).await.status, 403);
    }
}
