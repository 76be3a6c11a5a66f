//! What a storage round refuses, asks about and leaves out: volts that can't be, who takes nothing home, packs of another round.

use crate::rounds::{RESTED, begun, groups, read};
use crate::support::*;
use crate::table_rules::hand_out;

/// The same form again, with these fields changed.
async fn again(who: &Browser, refused: &Answer, typed: &[(&str, &str)]) -> Answer {
    who.submit(refused, "form[action$='/read']", typed).await
}

async fn home(who: &Browser, round: &str, pack: &str, person: &Browser) -> Answer {
    let page = who.get(&format!("{round}/home")).await;
    let person = person.id().to_string();
    let typed = [
        ("home_pack", pack),
        ("person", &person),
        ("by", "2026-11-28"),
    ];
    match page.select("main form").is_empty() {
        true => who.post(&format!("{round}/home"), &typed).await,
        false => who.submit(&page, "main form", &typed).await,
    }
}

on_both! {
    async fn volts_that_cannot_be_are_asked_about_before_anything_is_stored(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-2").await;
        club.later_by_minutes(1);
        for (volts, told) in [
            ("38.2 3.82 3.82", "P-001: Cell 1 with 38.20 V: hardly any cell shows less than 1.00 or more than 5.00 V. Was 3.82 V meant?"),
            ("4.19 4.19", "P-001: The number of voltages typed is 2; a 3S pack has 3 cells."),
        ] {
            let refused = read(&quinn, &round, "1", volts).await;
            assert!(refused.one("#w-volts_line").starts_with(told), "{}", refused.one("main"));
            assert_eq!(refused.select("#f-volts_line")[0].attribute("value"), volts);
            assert_eq!(refused.select("input[name=confirmed]").len(), 1, "it may be so");
        }
        let many = read(&quinn, &round, "1", "3.82 3.82 3.82 3.82").await;
        assert!(many.is_refused() && many.select("input[name=confirmed]").is_empty(), "no pack has more cells than it has");
        assert_eq!(club.ids("reading").await.len(), 2, "nothing is stored");
        // What was said to be so holds for just those volts.
        let refused = read(&quinn, &round, "1", "38.2 3.82 3.82").await;
        let value = refused.select("input[name=confirmed]")[0].attribute("value").to_owned();
        let other = again(&quinn, &refused, &[("confirmed", &value), ("volts_line", "3.82 38.2 3.82")]).await;
        assert!(other.is_refused(), "others are asked about anew");
        again(&quinn, &refused, &[("volts_line", "3.82 3.82 3.82"), ("key", "right")]).await.done();
        assert!(quinn.get(&round).await.one(".lead").contains("1 of 2 in the band."));
        let refused = read(&quinn, &round, "2", "0.2 3.82 3.82").await;
        let value = refused.select("input[name=confirmed]")[0].attribute("value").to_owned();
        let stored = again(&quinn, &refused, &[("confirmed", &value)]).await;
        assert!(quinn.get(stored.done()).await.one(".notice").contains("Cell 1 shows 0.20 V and it was confirmed"));
        assert!(quinn.get("/packs/P-002").await.one(".verdict").contains("Quarantine"));
    }

    async fn what_was_typed_into_a_round_that_was_closed_meanwhile_is_not_lost(club: TestClub) {
        club.fit_packs(3).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-2").await;
        club.later_by_minutes(1);
        let page = quinn.get(&round).await;
        quinn.post(&format!("{round}/close"), &[]).await.done();
        let typed = [("pack", "1"), ("volts_line", "4.05 4.06 4.05"), RESTED];
        let late = again(&quinn, &page, &typed).await;
        assert_eq!(late.one("#w-volts_line"), "This round is closed. What is not done stays due.");
        assert_eq!(late.select("#f-volts_line")[0].attribute("value"), "4.05 4.06 4.05");
        quinn.submit(&late, "form[action='/packs/P-001/volts']", &[]).await.done();
        assert_eq!(club.find("SELECT last_volts FROM pack WHERE number = 'P-001'").await, ["c:4050,4060,4050"]);
        let wrong = again(&quinn, &page, &[("pack", "1"), ("volts_line", "4.05 and more"), RESTED, ("key", "wrong")]).await;
        assert_eq!(wrong.select("#f-volts_line")[0].attribute("value"), "4.05 and more");
        let nobody = again(&quinn, &page, &[("pack", "77"), ("volts_line", "3.82 3.82 3.82"), RESTED, ("key", "77")]).await;
        assert!(nobody.one("main").contains("you typed 77: 3.82 3.82 3.82"), "{}", nobody.one("main"));
        let added = quinn.submit(&page, "form[action$='/add']", &[("add", "3 77")]).await;
        assert!(added.is_refused() && added.one("#f-add").starts_with("Not put on it: 3 77."), "{}", added.one("main"));
        let new = quinn.get(added.select("#f-add a")[0].attribute("href")).await;
        assert_eq!(new.one("textarea"), "3 77");
    }

    async fn at_the_table_a_mistype_is_asked_about_and_danger_is_not(club: TestClub) {
        club.new_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let page = hand_out(&quinn, &ada, "1 2", &[]).await;
        let rested = ("rested", "rested_an_hour");
        let typed = [("volts_line-P-001", "9.9 1"), ("volts_line-P-002", "3.91 2.80 3.90"), rested];
        let refused = quinn.submit(&page, "main form", &typed).await;
        let told = refused.problems();
        assert!(told[0].starts_with("P-001: The number of voltages typed is 2; a 3S pack has 3 cells."), "{told:?}");
        assert_eq!(refused.select("#f-volts_line-P-001")[0].attribute("value"), "9.9 1");
        assert_eq!(club.find("SELECT number FROM pack WHERE state = 'quarantine'").await, ["P-002"]);
        let right = [("items", "1"), ("volts_line-P-001", "3.83 3.82 3.83"), rested];
        quinn.submit(&refused, "main form", &right).await.done();
        let page = hand_out(&quinn, &ada, "1", &[]).await;
        let odd = [("volts_line-P-001", "0.5 3.82 3.82"), ("looked_at", "P-001"), rested];
        let refused = quinn.submit(&page, "main form", &odd).await;
        let value = refused.select("input[name='confirmed-P-001']")[0].attribute("value").to_owned();
        let so = [("confirmed-P-001", value.as_str()), ("looked_at", "P-001")];
        assert!(quinn.submit(&refused, "main form", &so).await.is_refused());
        assert_eq!(club.find("SELECT number FROM pack WHERE state = 'quarantine' ORDER BY 1").await, ["P-001", "P-002"]);
    }

    async fn nobody_takes_home_to_whom_it_would_not_be_lent(club: TestClub) {
        club.fit_packs(3).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-3").await;
        let (wren, ada) = (club.member("Wren").await, club.borrower("Ada").await);
        club.later_by_minutes(1);
        for pack in ["1", "2", "3"] {
            read(&quinn, &round, pack, "4.18 4.18 4.18").await.done();
        }
        let page = quinn.get(&format!("{round}/home")).await;
        let offered = page.texts("#f-person option");
        assert!(offered.contains(&"Ada".to_owned()) && !offered.contains(&"Wren".to_owned()), "{offered:?}");
        let refused = home(&quinn, &round, "P-001", &wren).await;
        assert!(refused.one("#w-person").starts_with("Wren was never shown safe charging"), "{}", refused.one("main"));
        club.behind_the_back("UPDATE induction SET ends_on = '2026-11-24'").await.expect("it ran out");
        let refused = home(&quinn, &round, "P-001", &ada).await;
        assert!(refused.one("#w-person").starts_with("Ada's induction ran out"), "{}", refused.one("main"));
        club.behind_the_back("UPDATE induction SET ends_on = '2027-11-24'").await.expect("shown again");
        quinn.post("/packs/P-002/condition", &[("seen", "wrap_torn"), ("key", "torn")]).await.done();
        quinn.post("/packs/P-003/volts", &[("volts_line", "4.18 2.80 4.18"), RESTED]).await.done();
        for pack in ["P-002", "P-003"] {
            let refused = home(&quinn, &round, pack, &ada).await;
            assert!(refused.one("#w-home_pack").contains("not to be touched"), "{}", refused.one("main"));
        }
        assert_eq!(quinn.get(&format!("{round}/home")).await.texts("#f-home_pack option").len(), 2, "choose, P-001");
        home(&quinn, &round, "P-001", &ada).await.done();
        let bea = club.borrower("Bea").await;
        let refused = home(&quinn, &round, "P-001", &bea).await;
        assert!(refused.one("#w-home_pack").contains("P-001 is at home with Ada"), "{}", refused.one("main"));
    }

    async fn what_charges_or_is_on_loan_is_not_taken_home_nor_by_somebody_whose_own_care_is_overdue(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-3").await;
        let (ada, bea) = (club.borrower("Ada").await, club.borrower("Bea").await);
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.60 3.60 3.60").await.done();
        read(&quinn, &round, "2", "4.18 4.18 4.18").await.done();
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        quinn.submit(&card, "main form[method='post']", &[]).await.done();
        let refused = home(&quinn, &round, "P-001", &bea).await;
        assert!(refused.one("#w-home_pack").contains("C-01 works on P-001 now"), "{}", refused.one("main"));
        hand_out(&quinn, &ada, "2", &[]).await.done();
        let refused = home(&quinn, &round, "P-002", &bea).await;
        assert!(refused.one("#w-home_pack").contains("P-002"), "{}", refused.one("main"));
        // Due after three days above the band, and a week overdue then.
        club.later_by_days(10);
        read(&quinn, &round, "3", "4.18 4.18 4.18").await.done();
        let person = ada.id().to_string();
        let typed = [("home_pack", "P-003"), ("person", person.as_str()), ("by", "2026-12-07")];
        let refused = quinn.post(&format!("{round}/home"), &typed).await;
        assert!(refused.one("#w-person").starts_with("Ada has P-002 to put to storage"), "{}", refused.one("main"));
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM care WHERE home_id IS NOT NULL").await, ["0"]);
    }

    async fn a_pack_of_another_open_round_is_left_out_and_said_so(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let event = [("name", "Autumn Bouts"), ("first_on", "2026-11-24"), ("last_on", "2026-11-24"), ("packs", "1-3")];
        quinn.post("/events/new", &event).await.done();
        hand_out(&quinn, &ada, "3", &[]).await.done();
        club.later_by_minutes(5);
        let (_, first) = begun(&club, "1").await;
        club.later_by_minutes(1);
        read(&quinn, &first, "1", "3.82 3.82 3.82").await.done();
        let page = quinn.get("/storage-rounds/new").await;
        let all = page.select("#f-event option")[1].attribute("value").to_owned();
        let begun = quinn.submit(&page, "main form", &[("event", &all)]).await;
        let told = quinn.get(begun.done()).await;
        let notices = told.texts(".notice").join(" ");
        assert!(notices.contains("Left out: P-001, on another open round.") && notices.contains("Left out: P-003, on a loan."), "{notices}");
        assert_eq!(told.texts("tbody th"), ["P-002"]);
        assert_eq!(told.select(&format!("a[href='{first}']")).len(), 1);
        assert_eq!(groups(&quinn, &first).await, ["In the band: 1"], "its volts are kept");
        let page = quinn.get("/storage-rounds/new").await;
        let refused = quinn.submit(&page, "main form", &[("packs", "1")]).await;
        assert!(refused.problems()[0].contains("P-001 is on another open round."), "{:?}", refused.problems());
        assert_eq!(refused.select(&format!("a[href='{first}']")).len(), 1);
        // Nobody is sent with a meter to what is in quarantine.
        quinn.post("/packs/P-002/condition", &[("seen", "wet"), ("key", "wet")]).await.done();
        let second = told.path.split('?').next().unwrap_or_default().to_owned();
        quinn.post(&format!("{second}/close"), &[("key", "close")]).await.done();
        let page = quinn.get("/storage-rounds/new").await;
        let refused = quinn.submit(&page, "main form", &[("packs", "2")]).await;
        assert!(refused.problems()[0].contains("P-002 is in quarantine."), "{:?}", refused.problems());
        let added = quinn.post(&format!("{first}/add"), &[("add", "1-2"), ("key", "add")]).await;
        assert!(added.problems()[0].contains("P-002 is in quarantine."), "{:?}", added.problems());
        // Closed, and another begun: what was read since the event is not read again.
        quinn.post(&format!("{first}/close"), &[]).await.done();
        let refused = quinn.submit(&page, "main form", &[("packs", "1"), ("key", "anew")]).await;
        let second = refused.done().split('?').next().unwrap_or_default().to_owned();
        assert_eq!(groups(&quinn, &second).await, ["In the band: 1"]);
    }

    async fn what_nothing_can_be_made_of_is_said_in_its_own_words(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, round) = begun(&club, "1").await;
        let refused = read(&quinn, &round, "P-099", "3.82 3.82 3.82").await;
        assert_eq!(refused.problems(), ["There is no pack P-099."]);
        quinn.post("/places/new", &[("name", "Empty box"), ("kind", "box"), ("room", ""), ("notes", "")]).await.done();
        let page = quinn.get("/storage-rounds/new").await;
        let place = page.select("#f-place option")[1].attribute("value").to_owned();
        let refused = quinn.submit(&page, "main form", &[("place", &place)]).await;
        assert_eq!(refused.one("#w-place"), "Nothing lies there now.");
        let long = "n".repeat(81);
        let refused = quinn.submit(&page, "main form", &[("name", &long), ("packs", "98 99"), ("key", "two")]).await;
        assert_eq!(refused.problems(), ["Give the round a name of at most 80 letters.", "There is no pack 98, 99."]);
        let refused = quinn.submit(&page, "main form", &[("name", &long), ("packs", "many"), ("key", "three")]).await;
        assert_eq!(refused.problems().len(), 2, "{:?}", refused.problems());
        let page = quinn.get(&round).await;
        let refused = quinn.submit(&page, "form[action$='/add']", &[("add", "")]).await;
        assert_eq!(refused.problems(), ["Type the numbers of the packs, or scan their labels."]);
    }

    async fn a_scanned_label_and_enter_ask_for_the_volts_of_that_pack(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, round) = begun(&club, "1").await;
        let page = quinn.get(&round).await;
        assert_eq!(page.select("[autofocus]")[0].attribute("id"), "f-pack", "it begins in its field");
        assert!(club.member("Ada").await.get(&round).await.select("[autofocus]").is_empty(), "who changes nothing has no field");
        let entered = quinn.submit(&page, "form[action$='/read']", &[("pack", "1"), ("enter", "yes"), RESTED]).await;
        let asked = quinn.get(entered.done()).await;
        assert!(!asked.is_refused() && asked.one(".notice") == "P-001: type its volts.", "{}", asked.one("main"));
        assert_eq!(asked.select("[autofocus]")[0].attribute("id"), "f-volts_line");
        let (_, held) = asked.form("form[action$='/read']");
        assert!(held.contains(&("pack".to_owned(), "P-001".to_owned())) && held.contains(&("rested".to_owned(), RESTED.1.to_owned())), "{held:?}");
        let done = quinn.submit(&asked, "form[action$='/read']", &[("volts_line", "3.82 3.82 3.82")]).await;
        assert_eq!(quinn.get(done.done()).await.select("[autofocus]")[0].attribute("id"), "f-pack");
        let other = quinn.submit(&page, "form[action$='/read']", &[("pack", "2"), ("enter", "yes"), ("key", "two")]).await;
        assert_eq!(quinn.get(other.done()).await.one("#w-pack"), "P-002 is not on this round. Add it first.");
        let wrong = read(&quinn, &round, "1", "many").await;
        assert_eq!(wrong.select("[autofocus]")[0].attribute("id"), "f-volts_line");
        // The page of its label leads here, for those who read it on the round.
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let code = club.find("SELECT code FROM label").await;
        let label = format!("/t/{}", code[0]);
        let to_read = format!("a[href='{round}?done=ask&pack=P-001']");
        assert_eq!(quinn.get(&label).await.select(&to_read).len(), 1);
        assert!(club.member("Mo").await.get(&label).await.select(&to_read).is_empty());
    }

    async fn the_record_keeps_when_each_was_read_and_carries_its_days(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1").await;
        club.later_by_minutes(1);
        read(&quinn, &round, "1", "3.82 3.82 3.82").await.done();
        let closed = quinn.post(&format!("{round}/close"), &[]).await;
        let at = quinn.get(&round).await.texts("td[data-label=Read]");
        let record = quinn.get(closed.done()).await;
        assert!(record.one(".what").contains("Begun Wed 25 Nov 2026, ") && record.one(".what").contains("closed Wed 25 Nov 2026, "), "{}", record.one(".what"));
        assert!(at[0].starts_with("Wed 25 Nov 2026, "), "{at:?}");
        club.later_by_days(1);
        quinn.post("/packs/P-001/volts", &[("volts_line", "3.90 3.90 3.90"), RESTED]).await.done();
        assert_eq!(quinn.get(&round).await.texts("td[data-label=Read]"), at, "as it was then");
    }

    async fn the_evening_leads_back_and_plans_nothing_that_is_at_home(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-2").await;
        let ada = club.borrower("Ada").await;
        club.later_by_minutes(1);
        for pack in ["1", "2"] {
            read(&quinn, &round, pack, "4.18 4.18 4.18").await.done();
        }
        home(&quinn, &round, "P-001", &ada).await.done();
        let page = quinn.get(&round).await;
        let (_, held) = page.form("form[action='/charges/evening']");
        assert!(held.contains(&("numbers".to_owned(), "2".to_owned())), "{held:?}");
        let id = round.rsplit('/').next().unwrap_or_default();
        let plan = |at: &str| format!("/charges/evening?round={id}&numbers=2&purpose=storage&at={at}&room=21&pack=21");
        // 18:36 in the hall.
        let over = quinn.get(&plan("18:00")).await;
        assert!(over.one(".notice").starts_with("18:00 is over for today: planned until 18:00 tomorrow"), "{}", over.one("main"));
        let short = quinn.get(&plan("18:40")).await;
        assert_eq!(short.select(&format!("a[href='{round}/home?pack=P-002']")).len(), 1, "{}", short.one("main"));
        assert_eq!(short.select(&format!("a[href='{round}']")).len(), 1);
        assert!(short.select(".notice").is_empty());
    }

    async fn what_is_left_alone_says_why_and_what_is_next_in_the_words_of_its_page(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(5);
        let (quinn, round) = begun(&club, "1-2").await;
        club.later_by_minutes(1);
        let done = read(&quinn, &round, "1", "3.82 2.80 3.82").await;
        let why = "Cell 2 rests at 2.80 V";
        assert!(quinn.get(done.done()).await.one(".notice").contains(why));
        read(&quinn, &round, "2", "3.90 3.70 3.90").await.done();
        let page = quinn.get(&round).await;
        let own = quinn.get("/packs/P-002").await;
        let next = own.texts(".next")[0].replace("Next: ", "");
        assert!(page.one("tbody").contains(why) && page.one("tbody").contains(&next), "{}: {next}", page.one("tbody"));
        quinn.post(&format!("{round}/close"), &[]).await.done();
        read_well(&club, &quinn).await;
        let record = quinn.get(&round).await;
        assert!(record.one("tbody").contains(&next), "as it was said then: {}", record.one("tbody"));
    }
}

async fn read_well(club: &TestClub, quinn: &Browser) {
    club.later_by_minutes(1);
    let even = [("volts_line", "3.82 3.82 3.82"), RESTED];
    quinn.post("/packs/P-002/volts", &even).await.done();
}
