//! Cells that no balancing brings together: by far apart, or apart again though they were charged since. No reading brings such a pack
//! back, a quartermaster's word does, and a wrong reading takes what it said with it.

use crate::support::*;
use crate::table_rules::state;

const GENTLY: &str = "?purpose=no_hurry&at=23%3A30&room=21&pack=21";

async fn read(who: &Browser, volts: &str, more: &[(&str, &str)]) {
    let fields = [("volts_line", volts), ("rested", "rested_an_hour")];
    let page = who.get("/packs/P-001/volts").await;
    let form = "main form[action$='/volts']";
    who.submit(&page, form, &[&fields, more].concat())
        .await
        .done();
}

/// The reading of so many before the newest, put right as one that had rested as long as it says.
async fn corrected(club: &TestClub, who: &Browser, back: usize, cells: [&str; 3]) {
    let page = who.get("/packs/P-001/readings").await;
    let link = page.select("a[href*='corrects=']")[back]
        .attribute("href")
        .to_owned();
    let form = who.get(&link).await;
    let mut right = cells.map(|cell| ("volts", cell)).to_vec();
    right.push(("why", "a slip"));
    who.submit(&form, "main form[action$='/volts']", &right)
        .await
        .done();
    assert_eq!(club.first_break().await, None);
}

/// A fit pack that was read a while ago.
async fn begun(club: &TestClub) -> Browser {
    club.fit_packs(1).await;
    club.later_by_minutes(20);
    club.quartermaster().await
}

async fn open(club: &TestClub) -> Vec<String> {
    club.find("SELECT rule FROM finding WHERE closed_ms IS NULL ORDER BY rule")
        .await
}

on_both! {
    async fn cells_far_apart_are_out_of_service_until_a_quartermaster_says_otherwise(club: TestClub) {
        let quinn = begun(&club).await;
        let ada = club.borrower("Ada").await;
        read(&quinn, "3.90 3.65 3.90", &[]).await;
        assert_eq!(open(&club).await, ["spread_out"]);
        let page = quinn.get("/packs/P-001").await.one("main");
        assert!(page.contains("0.25 V apart; the limit is 0.20 V") && page.contains("it is out of service"), "{page}");
        // A word alone brings nothing together.
        let finding = club.ids("finding WHERE closed_ms IS NULL").await[0].to_string();
        let says = [("finding", finding.as_str()), ("reason", "the balance plug was loose, cells were swapped")];
        let refused = quinn.post("/packs/P-001/mended", &says).await;
        assert!(refused.is_refused() && refused.text.contains("log its volts first"), "{:?}", refused.problems());
        club.later_by_minutes(60);
        read(&quinn, "3.90 3.72 3.90", &[]).await;
        assert!(quinn.post("/packs/P-001/mended", &says).await.is_refused(), "0.18 V");
        assert_eq!(open(&club).await, ["spread_out"], "what advises a charge is not told beside it");
        // Volts inside the limits change nothing.
        club.later_by_minutes(60);
        read(&quinn, "3.82 3.81 3.82", &[]).await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        let to = ada.id().to_string();
        let wanted = [("person", to.as_str()), ("items", "1"), ("due", "2026-11-30"), ("reason", "it is only practice")];
        assert!(quinn.post("/hand-out", &wanted).await.is_refused());
        assert!(quinn.get("/packs/P-001/charge").await.one("main").contains("No settings"));
        assert_eq!(ada.post("/packs/P-001/mended", &says).await.status, 403);
        quinn.post("/packs/P-001/mended", &says).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn cells_that_are_apart_again_after_a_charge_are_out_of_service(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.90 3.75 3.90", &[]).await;
        // Read again without a charge between says nothing new.
        club.later_by_days(1);
        read(&quinn, "3.90 3.76 3.90", &[]).await;
        assert_eq!(open(&club).await, ["spread_wide"]);
        club.later_by_days(1);
        read(&quinn, "3.95 3.82 3.95", &[("put_in_mah", "180")]).await;
        assert_eq!(open(&club).await, ["spread_out"]);
        let page = quinn.get("/packs/P-001").await.one("main");
        assert!(page.contains("It was charged since it last stood out.") && page.contains("Failing twice"), "{page}");
        club.later_by_days(1);
        read(&quinn, "3.85 3.84 3.85", &[]).await;
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
    }

    async fn what_a_mistyped_reading_took_out_of_service_is_back_with_its_correction(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.82 3.21 3.82", &[]).await;
        assert!(open(&club).await.contains(&"spread_out".to_owned()));
        corrected(&club, &quinn, 0, ["3.82", "3.81", "3.82"]).await;
        assert_eq!(open(&club).await, Vec::<String>::new());
        assert_eq!(state(&quinn, "P-001").await, "Fit");
    }

    async fn what_says_so_again_is_no_way_out_for_whoever_corrects_it(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.90 3.65 3.90", &[]).await;
        club.later_by_minutes(20);
        read(&quinn, "3.90 3.66 3.90", &[]).await;
        corrected(&club, &quinn, 0, ["3.82", "3.81", "3.82"]).await;
        assert_eq!(open(&club).await, ["spread_out"], "the first reading stands");
        // That was the slip, and what was read after it says the same: it stays.
        club.later_by_minutes(20);
        read(&quinn, "3.90 3.64 3.90", &[]).await;
        corrected(&club, &quinn, 2, ["3.82", "3.81", "3.82"]).await;
        assert_eq!(open(&club).await, ["spread_out"], "the last reading says so too");
    }

    async fn volts_of_a_slip_just_used_leave_nothing_behind(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.82 3.31 3.82", &[("rested", "just_used")]).await;
        assert!(open(&club).await.contains(&"spread_out".to_owned()));
        corrected(&club, &quinn, 0, ["3.82", "3.81", "3.82"]).await;
        assert_eq!(open(&club).await, Vec::<String>::new());
    }

    async fn what_failed_twice_does_so_when_its_reading_is_put_right_a_little(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.90 3.75 3.90", &[]).await;
        club.later_by_days(1);
        read(&quinn, "3.95 3.82 3.95", &[("put_in_mah", "180")]).await;
        corrected(&club, &quinn, 0, ["3.95", "3.81", "3.95"]).await;
        assert_eq!(open(&club).await, ["spread_out"]);
        // New limits find nothing lesser beside it.
        let olive = club.organiser().await;
        let settings = olive.get("/settings").await;
        olive.submit(&settings, "main form[action='/settings']", &[("spread_watch_mv", "20")]).await.done();
        assert_eq!(open(&club).await, ["spread_out"]);
    }

    async fn beside_what_is_out_of_service_nothing_says_to_charge_it(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.45 3.20 3.45", &[]).await;
        assert_eq!(open(&club).await, ["empty", "empty", "empty", "spread_out"]);
        let page = quinn.get("/packs/P-001").await.one("main");
        assert!(page.contains("it must not be charged or used") && page.contains("is empty below"), "{page}");
        assert!(!page.contains("Charge it soon"), "{page}");
        let told = club.program(quinn.id()).await.get("/api/v1/packs/P-001").await.text;
        assert!(told.contains("it must not be charged or used") && !told.contains("Charge it soon"), "{told}");
        // A pack that is only empty is told to be charged.
        club.later_by_minutes(20);
        read(&quinn, "3.82 3.81 3.82", &[]).await;
        let finding = club.ids("finding WHERE closed_ms IS NULL").await[0].to_string();
        club.later_by_minutes(20);
        read(&quinn, "3.45 3.44 3.45", &[]).await;
        quinn.post("/packs/P-001/mended", &[("finding", finding.as_str()), ("reason", "new cells")]).await.done();
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Charge it soon"));
    }

    async fn what_a_charger_wrote_down_between_is_a_charge_too_and_one_of_before_is_not(club: TestClub) {
        let quinn = begun(&club).await;
        read(&quinn, "3.90 3.75 3.90", &[]).await;
        let log = async |days: i64, digest: &str| {
            let from = club.now().plus_days(days);
            let (from, to) = (from.ms(), from.plus_minutes(40).ms());
            let (id, by) = (club.literal(sandbucket::ids::new_id()), club.literal(quinn.id()));
            club.behind_the_back(&format!(
                "INSERT INTO charge_log (id, pack_id, added_ms, added_by, name, original_sha256, run, sign, seconds, charged_uah, discharged_uah, \
                 told, points, from_ms, to_ms) SELECT {id}, k.id, {to}, {by}, 'log.csv', '{digest}', 0, 'charging', \
                 2400, 180000, 0, '{{}}', '', {from}, {to} FROM pack k"
            ))
            .await
            .expect("a log");
        };
        log(-3, "before").await;
        club.later_by_days(2);
        read(&quinn, "3.91 3.76 3.91", &[]).await;
        assert_eq!(open(&club).await, ["spread_wide"]);
        club.later_by_days(2);
        log(-1, "between").await;
        read(&quinn, "3.95 3.82 3.95", &[]).await;
        assert_eq!(open(&club).await, ["spread_out"]);
    }

    async fn a_charge_on_record_between_is_one_though_the_first_reading_was_put_right_after_it(club: TestClub) {
        let quinn = begun(&club).await;
        club.chargers(1).await;
        let card = quinn.get(&format!("/packs/P-001/charge{GENTLY}")).await;
        let charge = quinn.submit(&card, "main form[method='post']", &[]).await.done().to_owned();
        club.later_by_minutes(60);
        quinn.post(&format!("{charge}/end"), &[("outcome", "finished"), ("mah", "900")]).await.done();
        // The volts of before were a slip.
        corrected(&club, &quinn, 0, ["3.82", "3.70", "3.82"]).await;
        assert!(open(&club).await.contains(&"spread_wide".to_owned()));
        club.later_by_days(1);
        read(&quinn, "4.15 4.02 4.15", &[]).await;
        assert_eq!(open(&club).await, ["spread_out"]);
    }

    async fn what_its_readings_tell_together_asks_for_no_charge_of_a_pack_that_gets_none(club: TestClub) {
        begun(&club).await;
        club.later_by_days(60);
        let quinn = club.quartermaster().await;
        read(&quinn, "3.82 3.81 3.76", &[]).await;
        let page = quinn.get("/packs/P-001/readings").await.one("main section");
        assert!(page.contains("it only lay") && page.contains("Charge it to storage, balance it"), "{page}");
        club.later_by_days(30);
        let quinn = club.quartermaster().await;
        read(&quinn, "3.82 3.81 3.60", &[]).await;
        let found = club.find("SELECT rule || ' ' || gravity FROM finding WHERE closed_ms IS NULL").await;
        assert!(["spread_out to_mend", "self_discharge caution"].iter().all(|each| found.contains(&(*each).to_owned())), "{found:?}");
        let page = quinn.get("/packs/P-001/readings").await.one("main section");
        assert!(page.contains("it only lay") && !page.contains("Charge it to storage, balance it"), "{page}");
    }
}
