//! A pack over time: its cells, how far they stand apart, resistance and capacity, drawn and in figures.

use crate::support::*;

async fn read(who: &Browser, volts: &str, more: &[(&str, &str)]) {
    let mut fields = vec![("volts_line", volts), ("rested", "rested_an_hour")];
    fields.extend(more);
    let page = who.get("/packs/P-001/volts").await;
    who.submit(&page, "main form", &fields).await.done();
}

fn table(page: &Answer, chart: &str) -> Vec<String> {
    let caption = format!("{chart} of P-001 over time");
    let captions = page.texts("table.figures caption");
    let at = captions.iter().position(|found| *found == caption);
    let at = at.unwrap_or_else(|| panic!("no table of {caption}: {captions:?}"));
    let tables = page.select("table.figures tbody");
    vec![tables[at].text.clone()]
}

on_both! {
    async fn cells_are_drawn_with_a_letter_each_thresholds_and_the_same_figures_below(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        for volts in ["3.83 3.82 3.83", "3.91 3.87 3.90"] {
            club.later_by_days(3);
            read(&quinn, volts, &[]).await;
        }
        let page = quinn.get("/packs/P-001/over-time").await;
        let chart = page.select("figure.chart svg[role=img]").remove(0);
        assert_eq!(chart.attribute("aria-labelledby"), "volts-title volts-tells");
        let told = page.one("#volts-tells");
        assert!(told.contains("Cell 2 from 3.820 V to 3.870 V, least 3.820 V, most 3.870 V"), "{told}");
        assert!(told.contains("full 4.200 V; minimum 3.000 V"), "{told}");
        assert!(told.contains("Between highest and lowest: Apart from 10 mV to 40 mV") && told.contains("caution above 30 mV"), "{told}");
        let letters = page.texts("figure.chart text.letter");
        assert_eq!(letters, ["1", "2", "3"]);
        let rows = table(&page, "Cells").remove(0);
        assert!(rows.contains("3.910 3.870 3.900 40") || rows.contains("3.9103.8703.90040"), "{rows}");
        let link = quinn.get("/packs/P-001").await;
        assert_eq!(link.select("a[href='/packs/P-001/over-time']").len(), 1);
    }

    async fn a_reading_that_was_corrected_is_not_drawn(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        read(&quinn, "3.83 3.12 3.83", &[]).await;
        let wrong = club.ids("reading").await[0].to_string();
        club.later_by_minutes(5);
        let fields = [("corrects", wrong.as_str()), ("volts_line", "3.83 3.82 3.83"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &fields).await.done();
        let told = quinn.get("/packs/P-001/over-time").await.one("#volts-tells");
        assert!(told.contains("least 3.820 V") && !told.contains("3.12"), "{told}");
    }

    async fn a_spread_that_was_read_too_soon_stands_among_the_volts_and_not_between_them(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/volts").await;
        let fields = [("volts_line", "3.83 3.62 3.83"), ("rested", "just_used")];
        quinn.submit(&page, "main form", &fields).await.done();
        let told = quinn.get("/packs/P-001/over-time").await.one("#volts-tells");
        assert!(told.contains("Cell 2 from 3.620 V") && !told.contains("Between"), "{told}");
    }

    async fn many_cells_are_drawn_as_their_highest_middle_and_lowest(club: TestClub) {
        club.new_packs(1).await;
        club.behind_the_back("UPDATE design SET cells_series = 9").await.expect("nine cells");
        let quinn = club.quartermaster().await;
        read(&quinn, "3.80 3.81 3.82 3.83 3.84 3.83 3.82 3.81 3.79", &[]).await;
        let page = quinn.get("/packs/P-001/over-time").await;
        assert_eq!(page.texts("figure.chart text.letter"), ["H", "M", "L"]);
        let told = page.one("#volts-tells");
        assert!(told.contains("Highest cell from 3.840 V") && told.contains("Lowest cell from 3.790 V"), "{told}");
        assert!(told.contains("Cell in the middle from 3.820 V"), "{told}");
    }

    async fn resistance_is_drawn_as_read_with_what_it_may_be_for_this_capacity(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/packs/P-001/over-time").await.select("figure").is_empty(), "nothing is on record");
        read(&quinn, "3.83 3.82 3.83", &[("resistance", "5.1 4.9 12.3")]).await;
        let page = quinn.get("/packs/P-001/over-time").await;
        let told = page.one("#resistance-tells");
        assert!(told.contains("Cell 3 from 12.3 mΩ to 12.3 mΩ"), "{told}");
        // 20 and 30 milliohm Ah at 2.2 Ah.
        assert!(told.contains("practice only above 9.1 mΩ; set aside above 13.6 mΩ"), "{told}");
        club.later_by_minutes(5);
        // A meter of 1 kHz shows about half of that: no limit of the other kind stands beside it.
        read(&quinn, "3.83 3.82 3.83", &[("resistance", "2.5 2.4 6.1"), ("meter", "M2"), ("meter_kind", "alternating")]).await;
        let page = quinn.get("/packs/P-001/over-time").await;
        let told = page.one("#resistance-tells");
        assert!(told.contains("Cell 3 from 12.3 mΩ to 6.1 mΩ") && !told.contains("above"), "{told}");
        assert!(page.text.contains("No limits are drawn"), "{}", page.text);
    }

    async fn charge_put_back_is_drawn_as_recorded_as_logged_and_as_said_each_with_its_own_letter(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        let charge = quinn.submit(&card, "main form[method='post']", &[]).await.done().to_owned();
        club.later_by_minutes(60);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "1230"), ("volts_line", "4.19 4.19 4.20")]).await.done();
        club.later_by_minutes(60);
        let told = quinn.get("/packs/P-001/over-time").await.one("#put-back-tells");
        assert!(told.starts_with("Charge put back: Recorded charges from 1230 mAh to 1230 mAh"), "{told}");
        assert!(!told.contains("Said beside volts"), "the same is not told twice: {told}");
        assert!(!told.contains("Charge logs") && told.ends_with("label 2200 mAh."), "{told}");
        read(&quinn, "4.19 4.19 4.20", &[("put_in_mah", "1100")]).await;
        club.charge_log_of(&quinn, "P-001").await;
        let told = quinn.get("/packs/P-001/over-time").await.one("#put-back-tells");
        assert!(told.contains("Said beside volts from 1100 mAh to 1100 mAh"), "{told}");
        assert!(!told.contains("Charge logs"), "that one was of a discharge: {told}");
    }

    async fn capacity_by_charge_logs_is_drawn_on_the_day_it_was_logged_beside_the_label(club: TestClub) {
        club.one_pack().await;
        let cell = "UPDATE design SET cells_series = 1, capacity_mah = 2280";
        club.behind_the_back(cell).await.expect("one cell");
        let quinn = club.quartermaster().await;
        let lco = include_str!("../reference/measured/lco_pouch_discharge.csv");
        let page = quinn.get("/packs/P-001/charge-logs/new").await;
        let sent = quinn.upload(&page, "form[enctype]", &[], ("log", "bench.csv", lco.as_bytes())).await;
        let at = sent.done();
        // Brought in in another order than they were logged.
        for (run, day) in [("3", "2026-11-20"), ("0", "2026-03-02")] {
            let page = quinn.get(at).await;
            let typed = [("run", run), ("logged_on", day)];
            quinn.submit(&page, "form[action$='/choices']", &typed).await.done();
            let page = quinn.get(at).await;
            quinn.submit(&page, "#f-log", &[]).await.done();
        }
        let page = quinn.get("/packs/P-001/over-time").await;
        let told = page.one("#capacity-tells");
        assert!(told.contains("By charge logs from 2336 mAh to 2245 mAh") && told.contains("label 2280 mAh; practice only under 1824 mAh; set aside under 1368 mAh"), "{told}");
        let rows = table(&page, "Capacity").remove(0);
        assert!(rows.starts_with("Mon 2 Mar 2026, 12:00"), "{rows}");
        assert!(page.select("main .empty").len() == 1, "its volts were never logged");
    }
}
