//! Charge logs of packs, as a person brings them in: chosen, read back, asked about where the file does not say it, stored,
//! shown and removed. The files are measured ones (`tests/reference/measured`, each names its source).

use crate::support::*;

const LCO: &str = include_str!("../reference/measured/lco_pouch_discharge.csv");
const SLOW: &str = include_str!("../reference/measured/nmc_pouch_slow_cycle.csv");
const PULSES: &str = include_str!("../reference/measured/nmc_pouch_hppc_relaxation.csv");

const NEW: &str = "/packs/P-001/charge-logs/new";

/// P-001 is one cell of the club's LCO design: 2.28 Ah, full at 4.2 V.
async fn one_lco_cell(club: &TestClub) -> Browser {
    one_cell(club, 2_280, "NULL").await
}

/// Or of the NMC one: 22 mAh, and its label says full at 4.1 V.
async fn one_nmc_cell(club: &TestClub) -> Browser {
    one_cell(club, 22, "4100").await
}

async fn one_cell(club: &TestClub, capacity_mah: i64, full_mv: &str) -> Browser {
    club.one_pack().await;
    let cell = format!(
        "UPDATE design SET cells_series = 1, capacity_mah = {capacity_mah}, label_full_mv = {full_mv}"
    );
    club.behind_the_back(&cell).await.expect("one cell");
    club.quartermaster().await
}

/// Where it is read back.
async fn send(who: &Browser, name: &str, text: &str) -> Answer {
    let page = who.get(NEW).await;
    who.upload(&page, "form[enctype]", &[], ("log", name, text.as_bytes()))
        .await
}

async fn sent(who: &Browser, text: &str) -> String {
    send(who, "bench.csv", text).await.done().to_owned()
}

async fn choose(who: &Browser, at: &str, typed: &[(&str, &str)]) -> Answer {
    let page = who.get(at).await;
    who.submit(&page, "form[action$='/choices']", typed).await
}

async fn store(who: &Browser, at: &str) -> Answer {
    let page = who.get(at).await;
    who.submit(&page, "#f-log", &[]).await
}

async fn brought_in(who: &Browser, text: &str) -> Answer {
    let at = sent(who, text).await;
    who.get(store(who, &at).await.done()).await
}

/// What stands beside this name among the facts.
fn fact(page: &Answer, name: &str) -> String {
    let names = page.texts("dl.facts > dt");
    let at = names.iter().position(|found| found == name);
    let at = at.unwrap_or_else(|| panic!("no {name} among {names:?}"));
    page.texts("dl.facts > dd")[at].clone()
}

/// A balance charger's log of a 3S pack: 900 mAh in, its second cell behind the others until the end.
const OF_CELLS: &str = "Time (min),Pack voltage (V),Current (A),Cell 1 (V),Cell 2 (V),Cell 3 (V),Cell 4 (V),Temperature (degC)
0,11.46,1.8,3.83,3.80,3.83,0,21
15,12.06,1.8,4.05,3.96,4.05,0,26
30,12.585,1.8,4.2,4.185,4.2,0,25
";

const CARD: &str = "/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21";

/// P-001 is charged for so many minutes, so many mAh go in by its charger, and its volts are read after that.
async fn charged_and_read(club: &TestClub, (minutes, mah): (i64, &str), volts: &str) -> Browser {
    club.fit_packs(1).await;
    club.chargers(1).await;
    let quinn = club.quartermaster().await;
    let card = quinn.get(CARD).await;
    let charge = quinn.submit(&card, "main form[method='post']", &[]).await;
    let end = format!("{}/end", charge.done());
    club.later_by_minutes(minutes);
    quinn
        .post(&end, &[("outcome", "stopped"), ("mah", mah)])
        .await
        .done();
    club.later_by_minutes(20);
    let typed = [("volts_line", volts), ("rested", "rested_a_while")];
    quinn.post("/packs/P-001/volts", &typed).await.done();
    // A log that is brought in later may be of a charge after that.
    club.later_by_minutes(1);
    quinn
}

fn can_be_stored(page: &Answer) -> bool {
    !page.select("#f-log").is_empty()
}

on_both! {
    async fn a_log_by_the_open_formats_names_is_read_back_and_stored_with_what_it_showed(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let at = sent(&quinn, SLOW).await;
        let before = club.contents().await;
        let page = quinn.get(&at).await;
        assert!(page.one("p.what").starts_with("bench.csv, for P-001. Nothing of it is stored yet."));
        assert_eq!(club.contents().await, before, "looking stores nothing");
        let stored = quinn.get(store(&quinn, &at).await.done()).await;
        // First row of the source's fade series: 21.87 mAh in, 21.738 mAh out.
        assert!(fact(&stored, "Charge in").starts_with("21.9 mAh"), "{}", fact(&stored, "Charge in"));
        assert!(fact(&stored, "Charge out").starts_with("21.7 mAh"));
        assert!(fact(&stored, "Capacity").starts_with("21.7 mAh: 99 % of the label's 22 mAh"), "{}", fact(&stored, "Capacity"));
        assert_eq!(fact(&stored, "Current"), "Positive current charges");
        assert_eq!(fact(&stored, "SHA-256 of the file"), sandbucket::ids::digest_of(SLOW.as_bytes()));
        let kinds = stored.texts("h2 + table tbody th");
        for kind in ["Constant current (CC)", "Rest"] {
            assert!(kinds.iter().any(|found| found == kind), "{kind}: {kinds:?}");
        }
        assert_eq!(stored.select("figure.chart svg[role=img]").len(), 1);
        assert_eq!(club.find("SELECT CAST(capacity_uah / 100 AS TEXT) FROM charge_log").await, ["217"]);
        assert_eq!(quinn.get(&at).await.status, 404, "the file is not kept");
        assert!(club.ids("charge_log_waiting").await.is_empty());
        let history = quinn.get("/packs/P-001").await;
        assert!(history.texts("ol.log li span")[0].ends_with("charge log brought in"));
    }

    async fn a_log_that_looks_like_another_packs_is_asked_about_before_it_is_stored(club: TestClub) {
        club.one_pack().await;
        club.behind_the_back("UPDATE design SET cells_series = 4").await.expect("four cells");
        let quinn = club.quartermaster().await;
        let at = sent(&quinn, OF_CELLS).await;
        let page = quinn.get(&at).await;
        let asked = page.one("#f-of_it");
        assert!(asked.contains("Is this the log of P-001?") && asked.contains("It tells of 3 cells, and the pack has 4."), "{asked}");
        let refused = store(&quinn, &at).await;
        assert!(refused.is_refused());
        assert_eq!(refused.problems(), ["It looks like the log of another pack: tick that it is the log of this one, or forget the file."]);
        assert!(club.ids("charge_log").await.is_empty() && can_be_stored(&refused), "nothing is stored, nothing is lost");
        let tick = |page: &Answer| page.select("input[name=of_it]")[0].attribute("value").to_owned();
        let said = tick(&refused);
        choose(&quinn, &at, &[("logged_on", "2026-11-20")]).await.done();
        let other = quinn.post(&at, &[("of_it", said.as_str())]).await;
        assert!(other.is_refused(), "it was said of the log as it was read before");
        let said = tick(&other);
        let stored = quinn.submit(&other, "#f-log", &[("of_it", said.as_str())]).await;
        let stored = quinn.get(stored.done()).await;
        assert!(stored.text.contains("It tells of 3 cells, and the pack has 4."), "it goes on being told");
        assert_eq!(club.ids("charge_log").await.len(), 1);
    }

    async fn a_balance_chargers_log_tells_of_each_cell_and_how_far_they_stood_apart(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let stored = brought_in(&quinn, OF_CELLS).await;
        assert!(fact(&stored, "Charge in").starts_with("900 mAh"), "{}", fact(&stored, "Charge in"));
        assert_eq!(fact(&stored, "Ends at"), "12.585 V, 1.80 A");
        assert_eq!(fact(&stored, "Cells at the end"), "4.200 4.185 4.200 V");
        assert_eq!(fact(&stored, "Cells apart"), "15 mV at the end, 90 mV at the most, at 0:15:00");
        assert_eq!(fact(&stored, "Warmest"), "26 °C");
        assert_eq!(stored.texts("[data-label=Current]")[0], "1.80 A, 0.82C", "of the label's 2200 mAh");
        let told = stored.one("#log-tells");
        assert!(told.contains("Volts of each cell: Cell 1 from 3.830 V to 4.200 V") && told.contains("Cell 2 from 3.800 V to 4.185 V"), "{told}");
        assert!(told.contains("full 4.200 V; minimum 3.000 V") && !told.contains("Cell 4"), "{told}");
        assert!(told.contains("Charge from 0 mAh to 900 mAh"), "{told}");
        let at = sent(&quinn, OF_CELLS).await;
        let choices = quinn.get(&at).await;
        let offered = choices.texts("#f-column_3 option");
        let has = |words: &str| offered.iter().any(|each| each == words);
        assert!(has("Cell 3, in V") && has("Cell 4, in mV") && !has("Cell 5, in V"), "{offered:?}");
    }

    async fn a_log_leads_to_the_recorded_charge_that_it_may_be_of_and_that_one_to_it(club: TestClub) {
        club.fit_packs(2).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        let charge = quinn.submit(&card, "main form[method='post']", &[]).await.done().to_owned();
        club.later_by_minutes(40);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "905")]).await.done();
        let ended = quinn.get(&charge).await;
        assert!(ended.select("a[href^='/charge-logs/']").is_empty());
        assert_eq!(ended.select("a[href='/packs/P-001/charge-logs/new']").len(), 1);
        assert!(club.organiser().await.get(&charge).await.select("a[href$='/charge-logs/new']").is_empty());
        let stored = brought_in(&quinn, OF_CELLS).await;
        assert_eq!(stored.select("main a[href^='/charges/']")[0].attribute("href"), charge);
        let ended = quinn.get(&charge).await;
        let logs = ended.select("a[href^='/charge-logs/']");
        assert_eq!((logs.len(), logs[0].attribute("href")), (1, stored.path.as_str()));
        assert_eq!(logs[0].text, "bench.csv: 900 mAh in");
        // A discharge of the same evening, and the log of another pack, are of no charge of this one.
        club.charge_log_of(&quinn, "P-001").await;
        club.charge_log_of(&quinn, "P-002").await;
        assert_eq!(quinn.get(&charge).await.select("a[href^='/charge-logs/']").len(), 1);
    }

    async fn volts_from_before_a_charge_that_a_log_alone_tells_of_give_no_settings(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        assert_eq!(quinn.get(CARD).await.select("dl.set").len(), 1);
        const PLANS: &str = "/api/v1/packs/P-001/charge?purpose=no_hurry&at=23:59&room_celsius=21&pack_celsius=21";
        let program = club.program(quinn.id()).await;
        assert_eq!(program.get(PLANS).await.done()["plans"][0]["current_ma"], 2_200);
        club.later_by_minutes(30);
        let stored = brought_in(&quinn, OF_CELLS).await;
        let why = "A log of a charge that is not on record was brought in";
        let card = quinn.get(CARD).await;
        assert!(card.select("dl.set").is_empty() && card.one(".stop").contains(why), "{}", card.text);
        let told = program.get(PLANS).await.done();
        assert!(told["plans"] == serde_json::json!([]) && told["no_settings"]["why"].to_string().contains(why), "{told}");
        // Volts of now tell what is in it.
        club.later_by_minutes(1);
        quinn.post("/packs/P-001/volts", &[("volts_line", "3.83 3.83 3.83"), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(quinn.get(CARD).await.select("dl.set").len(), 1);
        // And so they do once a log that was brought in for the wrong pack is removed.
        club.later_by_minutes(1);
        let discharged = club.charge_log_of(&quinn, "P-001").await;
        assert!(quinn.get(CARD).await.select("dl.set").is_empty(), "a discharge too");
        for log in [discharged.as_str(), stored.path.as_str()] {
            let page = quinn.get(&format!("{log}?remove=yes")).await;
            quinn.submit(&page, "form[action$='/remove']", &[]).await.done();
        }
        assert_eq!(quinn.get(CARD).await.select("dl.set").len(), 1);
    }

    async fn the_log_of_a_charge_on_record_spoils_no_volts_that_were_read_after_it(club: TestClub) {
        let quinn = charged_and_read(&club, (40, "900"), "4.05 4.05 4.05").await;
        brought_in(&quinn, OF_CELLS).await;
        assert_eq!(quinn.get(CARD).await.select("dl.set").len(), 1);
    }

    async fn a_log_of_far_more_than_the_charge_on_record_is_of_one_that_is_not(club: TestClub) {
        let quinn = charged_and_read(&club, (2, "20"), "3.85 3.85 3.85").await;
        assert_eq!(quinn.get(CARD).await.select("dl.set").len(), 1);
        // 900 mAh went in, and 20 are on record.
        let stored = brought_in(&quinn, OF_CELLS).await;
        assert!(stored.select("main a[href^='/charges/']").is_empty());
        let card = quinn.get(CARD).await;
        let why = "A log of a charge that is not on record was brought in";
        assert!(card.select("dl.set").is_empty() && card.one(".stop").contains(why), "{}", card.text);
    }

    async fn a_file_that_was_brought_in_before_is_told_also_where_it_was_for_another_pack(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        let stored = brought_in(&quinn, OF_CELLS).await;
        let other = quinn.get("/packs/P-002/charge-logs/new").await;
        let file = ("log", "again.csv", OF_CELLS.as_bytes());
        let at = quinn.upload(&other, "form[enctype]", &[], file).await.done().to_owned();
        let page = quinn.get(&at).await;
        assert_eq!(page.one("main .notice"), "This file was brought in before: log 1 of it, for P-001.");
        assert_eq!(page.select("main .notice a")[0].attribute("href"), stored.path);
        assert!(can_be_stored(&page), "it is told, and theirs to judge");
    }

    async fn of_several_logs_in_a_file_one_after_the_other_is_chosen_and_stored(club: TestClub) {
        let quinn = one_lco_cell(&club).await;
        let at = sent(&quinn, LCO).await;
        let page = quinn.get(&at).await;
        assert_eq!(page.one(".first-do"), "The file holds 4 logs, one after the other. Choose one.");
        assert!(!can_be_stored(&page) && page.select("input[name=run]").len() == 4);
        assert!(page.select("[name=run][checked]").is_empty(), "none is chosen beforehand");
        let refused = choose(&quinn, &at, &[]).await;
        assert_eq!(refused.problems(), ["Choose one of the logs."]);
        assert_eq!(refused.one("fieldset#f-run > .wrong"), "Choose one of the logs.");
        // The last 'Discharging Capacity / Ah' of each rate in the file.
        for (run, capacity) in [("0", "2336 mAh"), ("3", "2245 mAh")] {
            choose(&quinn, &at, &[("run", run)]).await.done();
            let stored = quinn.get(store(&quinn, &at).await.done()).await;
            assert!(fact(&stored, "Capacity").starts_with(capacity), "{}", fact(&stored, "Capacity"));
        }
        let again = store(&quinn, &at).await;
        assert_eq!(again.problems(), ["This log is on record already. It was brought in before."]);
        assert_eq!(quinn.get("/packs/P-001/charge-logs").await.select("ul.listed li").len(), 2);
    }

    async fn headings_that_are_not_known_are_chosen_and_a_choice_that_can_not_be_is_told_beside_it(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let at = sent(&quinn, "t;u;i\n0;11,1;2\n30;11,4;2\n60;11,7;2\n").await;
        let page = quinn.get(&at).await;
        assert!(page.one(".first-do").starts_with("No column is plainly the time"), "{}", page.one(".first-do"));
        assert!(page.texts("#f-columns label")[1].contains("“u”, first 11,1"));
        assert!(!can_be_stored(&page));
        let twice = [("column_0", "voltage_volt V"), ("column_1", "voltage_volt V"), ("column_2", "current_ampere A")];
        let refused = choose(&quinn, &at, &twice).await;
        assert_eq!(refused.problems(), ["Both “t” and “u” are taken for the volts. Choose one."]);
        assert_eq!(refused.one("#w-column_1"), "Both “t” and “u” are taken for the volts. Choose one.");
        let kept = refused.select("#f-column_2 option[selected]");
        assert_eq!(kept[0].attribute("value"), "current_ampere A", "what was chosen stays");
        let none = choose(&quinn, &at, &[("column_1", "voltage_volt V"), ("column_2", "current_ampere A")]).await;
        assert!(none.problems()[0].starts_with("No column is plainly the time"));
        let right = [("column_0", "test_time_second min"), twice[1], twice[2]];
        choose(&quinn, &at, &right).await.done();
        let stored = quinn.get(store(&quinn, &at).await.done()).await;
        assert!(fact(&stored, "Charge in").starts_with("2000 mAh"), "an hour at 2 A");
    }

    async fn which_way_the_current_flows_is_asked_where_the_log_does_not_tell(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let at = sent(&quinn, "Test Time / s,Voltage / V,Current / A\n0,12.0,1\n3600,12.0,1\n").await;
        let page = quinn.get(&at).await;
        assert!(page.one(".first-do").starts_with("The volts hardly move"), "{}", page.one(".first-do"));
        assert!(!can_be_stored(&page) && page.select("[name=sign][checked]").is_empty());
        let refused = choose(&quinn, &at, &[]).await;
        assert!(refused.one("fieldset#f-sign > .wrong").starts_with("The volts hardly move"));
        choose(&quinn, &at, &[("sign", "discharging")]).await.done();
        let stored = quinn.get(store(&quinn, &at).await.done()).await;
        assert!(fact(&stored, "Charge out").starts_with("1000 mAh"));
        assert_eq!(fact(&stored, "Current"), "Positive current discharges");
    }

    async fn resistance_is_told_from_steps_of_the_current_at_the_second_that_is_chosen(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let at = sent(&quinn, PULSES).await;
        choose(&quinn, &at, &[("second", "10"), ("logged_on", "2026-11-20")]).await.done();
        let stored = quinn.get(store(&quinn, &at).await.done()).await;
        // (4.09102 - 3.95949) / (0.0949966 - 0.00015) ohm, from the file's own rows.
        let rows = stored.select("h2 + p + table tbody tr");
        assert!(rows[0].text.starts_with("0:00:00") && rows[0].text.contains("1387 mΩ"), "{}", rows[0].text);
        assert!(rows[0].text.contains("9.6 s"), "{}", rows[0].text);
        assert!(stored.text.contains("none: The reading nearest to the second"), "none is made up");
        assert!(fact(&stored, "Resistance").contains("10 s after a step of the current: the middle of"));
        assert_eq!(stored.one("p.what"), "Fri 20 Nov 2026");
        let list = quinn.get("/packs/P-001/charge-logs").await;
        assert!(list.one("ul.listed").contains("mΩ a cell") && list.one("ul.listed").contains("Fri 20 Nov 2026"));
    }

    async fn what_is_no_log_is_refused_beside_its_field_and_nothing_is_kept(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let before = club.contents().await;
        let large = "x".repeat(10 * 1024 * 1024 + 1);
        let rows = format!("Test Time / s,Voltage / V,Current / A\n{}", "1,4,1\n".repeat(50_001));
        for (text, words) in [
            ("", "There is nothing in this file."),
            ("PK\u{3}\u{4}", "That is a workbook."),
            ("Test Time / s,Voltage / V,Current / A\n", "Below the headings in line 1 stands nothing."),
            (&rows, "A log has at most 50,000 rows below its headings; this one has 50001."),
            (&large, "A log has at most 10 MB."),
        ] {
            let refused = send(&quinn, "bench.csv", text).await;
            assert!(refused.problems()[0].starts_with(words), "{:?}", refused.problems());
            assert_eq!(refused.select("#f-log")[0].attribute("aria-invalid"), "true");
            assert!(refused.one("head > title").starts_with("Error: "));
        }
        assert_eq!(quinn.post(NEW, &[]).await.problems(), ["Choose the log's file."]);
        assert_eq!(club.contents().await, before);
        let page = quinn.get(NEW).await;
        let file = ("log", "bench.csv", SLOW.as_bytes());
        assert_eq!(quinn.send_file("/packs/P-999/charge-logs/new", &[], file).await.status, 404);
        assert!(page.one("#h-log").contains("The file itself is not kept."));
    }

    async fn a_cell_that_is_no_number_is_named_with_its_line_and_column(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let at = sent(&quinn, "Test Time / s,Voltage / V,Current / A\n0,12.0,1\n10,twelve,1\n20,12.1,1\n").await;
        let page = quinn.get(&at).await;
        assert_eq!(page.one(".first-do"), "Line 3, column “Voltage / V”: 'twelve' is no number.");
        let refused = choose(&quinn, &at, &[]).await;
        assert_eq!(refused.one("#w-column_1"), "Line 3, column “Voltage / V”: 'twelve' is no number.");
        assert!(!can_be_stored(&refused));
    }

    async fn a_log_of_another_packs_volts_is_doubted_before_it_is_stored(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let at = sent(&quinn, LCO).await;
        choose(&quinn, &at, &[("run", "0")]).await.done();
        let page = quinn.get(&at).await;
        assert!(page.texts("ul.told li")[0].starts_with("Its volts reach 4.18 V. A pack of 3 cells is full at 12.60 V"));
        assert!(fact(&page, "Capacity").starts_with("not told"));
    }

    async fn a_day_that_is_still_to_come_is_refused_and_what_else_was_chosen_stays(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let at = sent(&quinn, PULSES).await;
        let refused = choose(&quinn, &at, &[("logged_on", "2026-11-26"), ("second", "5")]).await;
        assert_eq!(refused.problems(), ["Choose a day up to today, or leave it empty."]);
        let value = |field: &str| refused.select(field)[0].attribute("value").to_owned();
        assert_eq!((value("#f-logged_on").as_str(), value("#f-second option[selected]").as_str()), ("2026-11-26", "5"));
    }

    async fn a_double_click_stores_one_log_and_leads_to_the_same_place(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let page = quinn.get(NEW).await;
        let file = ("log", "bench.csv", SLOW.as_bytes());
        let first = quinn.upload(&page, "form[enctype]", &[], file).await.done().to_owned();
        let second = quinn.upload(&page, "form[enctype]", &[], file).await.done().to_owned();
        assert_eq!(first, second);
        assert_eq!(club.ids("charge_log_waiting").await.len(), 1);
        let page = quinn.get(&first).await;
        let stored = quinn.submit(&page, "#f-log", &[]).await.done().to_owned();
        assert_eq!(quinn.submit(&page, "#f-log", &[]).await.done(), stored);
        assert_eq!(club.ids("charge_log").await.len(), 1);
    }

    async fn a_file_on_its_way_is_seen_by_nobody_else_listed_for_who_sent_it_and_forgotten_on_their_word(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let (ada, bea) = (club.member("Ada").await, club.member("Bea").await);
        let at = sent(&ada, SLOW).await;
        for other in [&quinn, &bea] {
            assert_eq!(other.get(&at).await.status, 404);
            assert_eq!(other.post(&at, &[]).await.status, 404);
            assert!(other.get(NEW).await.select("main ul.do").is_empty());
        }
        assert!(ada.get(NEW).await.one("main ul.do").starts_with("bench.csv"));
        let page = ada.get(&at).await;
        let gone = ada.submit(&page, "form[action$='/forget']", &[]).await;
        assert!(ada.get(gone.done()).await.one("[role=status]").starts_with("The file is forgotten."));
        assert!(club.ids("charge_log_waiting").await.is_empty() && club.ids("charge_log").await.is_empty());
    }

    async fn files_on_their_way_go_after_a_day_and_a_fourth_pushes_the_oldest_out(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let mut all = Vec::new();
        for _ in 0..4 {
            club.later_by_minutes(1);
            all.push(sent(&quinn, SLOW).await);
        }
        assert_eq!(quinn.get(&all[0]).await.status, 404);
        assert_eq!(quinn.get(&all[1]).await.status, 200);
        club.later_by_days(2);
        sandbucket::tasks::sweep::sweep(&club.app).await.expect("swept");
        assert!(club.ids("charge_log_waiting").await.is_empty());
    }

    async fn a_log_is_removed_by_a_quartermaster_or_by_who_brought_it_in_and_asked_first(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        let (ada, bea, olive) = (club.member("Ada").await, club.member("Bea").await, club.organiser().await);
        let hers = brought_in(&ada, SLOW).await;
        let at = hers.path.clone();
        assert!(hers.select("form[action$='/remove']").is_empty(), "it is for good: asked first");
        assert!(bea.get(&at).await.select("a[href*='?remove=']").is_empty());
        assert_eq!(bea.post(&format!("{at}/remove"), &[]).await.status, 403);
        assert_eq!(olive.get(&at).await.status, 200, "an organiser looks");
        assert!(olive.get("/packs/P-001/charge-logs").await.select("a[href$='/new']").is_empty(), "and brings none in");
        assert!(quinn.get(&at).await.text.contains("by Ada") && !bea.get(&at).await.text.contains("by Ada"));
        let page = ada.get(&format!("{at}?remove=yes")).await;
        let done = ada.submit(&page, "form[action$='/remove']", &[]).await;
        assert_eq!(done.done(), "/packs/P-001/charge-logs");
        assert_eq!(quinn.get(&at).await.status, 404);
        assert!(quinn.get("/packs/P-001").await.texts("ol.log li span")[0].ends_with("charge log removed"));
        let again = brought_in(&ada, SLOW).await;
        let page = quinn.get(&format!("{}?remove=yes", again.path)).await;
        quinn.submit(&page, "form[action$='/remove']", &[]).await.done();
        assert_eq!(club.first_break().await, None);
    }

    async fn a_log_tells_the_same_figures_in_a_table_and_with_a_decimal_comma_where_the_club_writes_one(club: TestClub) {
        let quinn = one_nmc_cell(&club).await;
        club.behind_the_back("UPDATE club SET uses_decimal_comma = TRUE").await.expect("a comma");
        let stored = brought_in(&quinn, SLOW).await;
        assert!(fact(&stored, "Capacity").starts_with("21,7 mAh"));
        let rows = stored.select("details.figures table tbody tr");
        let drawn = club.find("SELECT points FROM charge_log").await.remove(0);
        assert_eq!(rows.len(), drawn.split(';').count(), "every point that is drawn stands in the table");
        assert!(rows[0].text.starts_with("0:00:003,044"), "{}", rows[0].text);
        let svg = stored.select("figure.chart svg").remove(0);
        assert!(svg.text.contains("4,1") && !svg.text.contains("4.1"), "{}", svg.text);
    }
}
