//! What a charge that ended tells: nickel that it filled, and volts that are asked about as they are typed.

use crate::support::*;

const GENTLY: &str = "/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21";

async fn started(who: &Browser) -> String {
    let page = who.get(GENTLY).await;
    let answer = who.submit(&page, "main form[method='post']", &[]).await;
    answer.done().to_owned()
}

/// P-001 is six cells of nickel without a balance lead, and the charger charges nickel.
async fn nickel(club: &TestClub) -> Browser {
    club.new_packs(1).await;
    club.chargers(1).await;
    for change in [
        "UPDATE design SET chemistry = 'nimh', cells_series = 6, balance_connector = NULL",
        "UPDATE kit SET spec = REPLACE(spec, '\"lihv\"', '\"nimh\"')",
    ] {
        club.behind_the_back(change).await.expect("nickel");
    }
    let quinn = club.quartermaster().await;
    read(&quinn, "7.60", "rested_an_hour").await;
    quinn
}

async fn read(who: &Browser, volts: &str, rested: &str) {
    let typed = [("volts_line", volts), ("rested", rested)];
    who.post("/packs/P-001/volts", &typed).await.done();
}

on_both! {
    async fn nickel_that_a_charge_has_filled_is_not_planned_again_before_it_was_used_or_a_day_is_over(club: TestClub) {
        let quinn = nickel(&club).await;
        let card = quinn.get(GENTLY).await;
        assert!(card.text.contains("Read it back: 6S NiMH, charge, 1.1 A"), "no volts are set: {}", card.text);
        assert!(!card.text.to_lowercase().contains("balance"), "it has no balance lead: {}", card.text);
        assert!(card.texts("dl.set dd").contains(&"A dip in volts, by itself".to_owned()));
        let charge = started(&quinn).await;
        club.later_by_minutes(150);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "2300")]).await.done();
        club.later_by_minutes(90);
        read(&quinn, "8.30", "rested_an_hour").await;
        let full = quinn.get(GENTLY).await;
        assert!(full.one(".stop").contains("It is full after a finished charge and was not used since."), "{}", full.text);
        assert!(full.select("dl.set").is_empty() && full.select("a.main").is_empty());
        let sheet = [("numbers", "1"), ("sheet", "a4-21"), ("base", "http://127.0.0.1:8080")];
        quinn.post("/labels", &sheet).await.done();
        let labels = club.find("SELECT code FROM label").await;
        let scanned = quinn.get(&format!("/t/{}", labels[0])).await;
        assert!(scanned.text.contains("Full after a finished charge:") && !scanned.text.contains("Log volts first"), "{}", scanned.text);
        club.later_by_minutes(30);
        read(&quinn, "7.90", "just_used").await;
        club.later_by_minutes(16);
        // The hall is open late: 150 minutes from then on somebody is there.
        let again = quinn.get(&GENTLY.replace("at=23%3A59", "at=06%3A00")).await;
        assert!(again.text.contains("Read it back: 6S NiMH"), "it was used: {}", again.one("main"));
    }

    async fn low_nickel_is_charged_for_storage_and_is_full_then(club: TestClub) {
        let quinn = nickel(&club).await;
        let storage = "/packs/P-001/charge?purpose=storage&room=21&pack=21";
        assert!(quinn.get(storage).await.text.contains("Nickel is stored as it is, best partly charged."));
        club.later_by_minutes(1);
        // 1.15 V a cell.
        read(&quinn, "6.90", "rested_an_hour").await;
        let page = quinn.get(storage).await;
        assert!(page.text.contains("Read it back: 6S NiMH, charge, 1.1 A"), "{}", page.text);
        let charge = quinn.submit(&page, "main form[method='post']", &[]).await.done().to_owned();
        club.later_by_minutes(150);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "2300")]).await.done();
        club.later_by_minutes(90);
        read(&quinn, "8.30", "rested_an_hour").await;
        let full = quinn.get(GENTLY).await;
        assert!(full.one(".stop").contains("It is full after a finished charge and was not used since."), "{}", full.text);
    }

    async fn volts_of_too_few_cells_typed_as_a_charge_ends_are_asked_about_before_they_are_stored(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let end = format!("{}/end", started(&ada).await);
        let before = club.contents().await;
        let typed = [("outcome", "finished"), ("mah", "900"), ("volts_line", "4.19 4.19"), ("words", "cool all the way")];
        let asked = ada.post(&end, &typed).await;
        assert!(asked.is_refused());
        assert!(asked.problems()[0].starts_with("The number of voltages typed is 2; a 3S pack has 3 cells."), "{:?}", asked.problems());
        for (field, value) in [("#f-mah", "900"), ("#f-volts_line", "4.19 4.19"), ("#f-words", "cool all the way")] {
            assert_eq!(asked.select(field)[0].attribute("value"), value, "what was typed is kept");
        }
        let more = ada.post(&end, &[("outcome", "finished"), ("volts_line", "4.19 4.19 4.19 4.19")]).await;
        assert!(more.is_refused() && more.select("input[name=confirmed]").is_empty(), "no pack has more cells than it has");
        assert_eq!(club.contents().await, before, "nothing is stored");
        // The tick holds for just these.
        let ticks = asked.select("input[name=confirmed]");
        let tick = ticks[0].attribute("value").to_owned();
        assert_eq!(tick, "c:4190,4190");
        let other = ada.post(&end, &[("outcome", "finished"), ("volts_line", "4.19 4.18"), ("confirmed", &tick)]).await;
        assert!(other.is_refused());
        let unread = ada.post(&end, &[("outcome", "finished"), ("mah", "many"), ("volts_line", "4.19 4.19"), ("confirmed", &tick)]).await;
        assert!(unread.is_refused() && unread.select("input[name=confirmed][checked]").len() == 1, "what was ticked is kept");
        let sure = [("outcome", "finished"), ("volts_line", "4.19 4.19"), ("confirmed", tick.as_str())];
        assert_eq!(ada.post(&end, &sure).await.done(), "/packs/P-001");
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"], "a cell is dead or missing");
    }

    async fn more_charge_than_its_current_can_have_moved_in_the_time_is_asked_about_before_it_is_stored(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let end = format!("{}/end", started(&ada).await);
        club.later_by_minutes(10);
        let before = club.contents().await;
        let typed = [("outcome", "finished"), ("mah", "2150"), ("volts_line", "4.19 4.19 4.20")];
        let asked = ada.post(&end, &typed).await;
        assert!(asked.is_refused());
        let told = &asked.problems()[0];
        assert!(told.starts_with("2150 mAh can’t be: in 10 minutes at 2.2 A it is about 366 mAh at the most."), "{told}");
        assert_eq!(asked.select("#f-volts_line")[0].attribute("value"), "4.19 4.19 4.20", "what was typed is kept");
        assert_eq!(club.contents().await, before, "nothing is stored");
        // The tick holds for just so much.
        let ticks = asked.select("input[name=mah_confirmed]");
        assert_eq!((ticks.len(), ticks[0].attribute("value")), (1, "2150"));
        let other = ada.post(&end, &[("outcome", "finished"), ("mah", "2140"), ("mah_confirmed", "2150")]).await;
        assert!(other.is_refused() && club.contents().await == before);
        // A slip is put right, and nothing stands against the pack.
        let right = [("outcome", "finished"), ("mah", "215"), ("volts_line", "4.19 4.19 4.20")];
        ada.post(&end, &right).await.done();
        assert_eq!(club.find("SELECT state FROM pack WHERE number = 'P-001'").await, ["fit"]);
        // What the charger really shows is stored.
        let page = ada.get(&GENTLY.replace("P-001", "P-002")).await;
        let end = format!("{}/end", ada.submit(&page, "main form[method='post']", &[]).await.done());
        ada.post(&end, &[("outcome", "finished"), ("mah", "2150"), ("mah_confirmed", "2150")]).await.done();
        assert_eq!(club.find("SELECT rule FROM finding WHERE closed_ms IS NULL").await, ["took_too_much"]);
    }

    async fn what_was_wrong_waits_for_no_answer_about_the_charge_that_moved(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let end = format!("{}/end", started(&ada).await);
        ada.post(&end, &[("outcome", "finished"), ("mah", "2150"), ("seen", "swollen")]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
    }

    async fn what_is_read_while_a_pack_charges_has_not_rested_whatever_is_said(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let charge = started(&quinn).await;
        club.later_by_minutes(20);
        let form = quinn.get("/packs/P-001/volts").await;
        assert!(form.one("p.notice").contains("It charges now on C-01"), "{}", form.text);
        assert_eq!(form.select(&format!("p.notice a[href='{charge}']")).len(), 1);
        let many = quinn.get("/readings/many").await;
        assert_eq!(many.texts("fieldset.item > legend"), ["P-002"], "nobody reads one on a charger along with the others");
        read(&quinn, "4.05 4.01 4.05", "rested_an_hour").await;
        let rested = "SELECT CAST(rested_minutes AS TEXT) FROM reading ORDER BY taken_ms DESC, id DESC LIMIT 1";
        assert_eq!(club.find(rested).await, ["0"]);
        assert!(club.find("SELECT rule FROM finding WHERE closed_ms IS NULL").await.is_empty(), "no spread is judged");
        // Put right later, it was read while it charged all the same.
        club.later_by_minutes(20);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished")]).await.done();
        let readings = quinn.get("/packs/P-001/readings").await;
        let link = readings.select("a[href*='corrects=']")[0].attribute("href").to_owned();
        let form = quinn.get(&link).await;
        assert!(form.select("p.notice a[href^='/charges/']").is_empty(), "it charges no more");
        let wrong = link.split("corrects=").nth(1).expect("which");
        let right = [("corrects", wrong), ("volts_line", "4.05 4.03 4.05"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &right).await.done();
        assert_eq!(club.find("SELECT CAST(rested_minutes AS TEXT) FROM reading WHERE corrects_id IS NOT NULL").await, ["0"]);
        // What lies counts as it is said.
        club.later_by_minutes(70);
        read(&quinn, "4.18 4.17 4.18", "rested_an_hour").await;
        assert_eq!(club.find(rested).await, ["60"]);
    }

    async fn recorded_charges_come_as_a_sheet_and_it_does_not_say_who_stayed_with_them(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let (ada, ben) = (club.member("Ada").await, club.member("Ben").await);
        let end = format!("{}/end", started(&ada).await);
        club.later_by_minutes(40);
        ada.post(&end, &[("outcome", "finished"), ("mah", "900"), ("words", "cool all the way")]).await.done();
        let page = ben.get("/packs/P-001/over-time").await;
        assert_eq!(page.select("a[href='/packs/P-001/charges.csv']").len(), 1);
        let sheet = ben.get("/packs/P-001/charges.csv").await;
        assert_eq!(sheet.header("content-type"), "text/csv; charset=utf-8");
        assert!(sheet.header("content-disposition").contains("charges-P-001-"));
        let line = sheet.text.lines().nth(1).expect("a charge");
        assert!(line.contains(",C-01,1,,without hurry,Balance,2.2,12.6,"), "{line}");
        assert!(line.ends_with(",900,,The charger said it is done,cool all the way"), "{line}");
        assert!(!sheet.text.contains("Ada"), "{}", sheet.text);
        assert_eq!(ben.get("/packs/P-999/charges.csv").await.status, 404);
    }

    async fn what_was_wrong_is_stored_at_once_whatever_volts_stand_beside_it(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let end = format!("{}/end", started(&ada).await);
        let wrong = [("outcome", "wrong"), ("words", "it got warm"), ("volts_line", "4.19 4.19")];
        assert_eq!(ada.post(&end, &wrong).await.done(), "/packs/P-001/condition");
        assert_eq!(club.find("SELECT state FROM pack").await, ["set_aside"]);
    }
}
