//! Packs of a design side by side.

use crate::support::*;

async fn read(who: &Browser, number: &str, volts: &str, resistance: &str) {
    let page = who.get(&format!("/packs/{number}/volts")).await;
    let fields = [
        ("volts_line", volts),
        ("rested", "rested_an_hour"),
        ("resistance", resistance),
    ];
    who.submit(&page, "main form", &fields).await.done();
}

async fn side_by_side(club: &TestClub, who: &Browser) -> Answer {
    let design = club.ids("design").await[0];
    who.get(&format!("/designs/{design}/compare")).await
}

on_both! {
    async fn each_pack_stands_with_its_latest_volts_spread_resistance_and_capacity_beside_its_sisters(club: TestClub) {
        club.new_packs(3).await;
        let quinn = club.quartermaster().await;
        read(&quinn, "P-001", "3.83 3.82 3.83", "5.0 5.0 5.2").await;
        read(&quinn, "P-002", "3.91 3.87 3.90", "10.0 9.8 10.2").await;
        club.charge_log_of(&quinn, "P-001").await;
        club.behind_the_back("UPDATE charge_log SET capacity_uah = 2090000").await.expect("all the way");
        let page = side_by_side(&club, &quinn).await;
        let rows = page.texts("tbody tr");
        assert_eq!(rows.len(), 3);
        for words in ["P-001", "Fit", "3.83 3.82 3.83", "10 mV", "5.0 5.0 5.2 mΩ", "0.67 times the middle", "2090 mAh", "95 % of the label"] {
            assert!(rows[0].contains(words), "{words}: {}", rows[0]);
        }
        for words in ["P-002", "40 mV", "1.33 times the middle"] {
            assert!(rows[1].contains(words), "{words}: {}", rows[1]);
        }
        assert!(rows[2].contains("P-003") && rows[2].contains("never read"), "{}", rows[2]);
        let told = page.one("#resistance-tells");
        assert!(told.starts_with("P-001 5.0 mΩ, 5.0 to 5.2; P-002 10.0 mΩ, 9.8 to 10.2;"), "{told}");
        assert!(told.ends_with("practice only above 9.1 mΩ; set aside above 13.6 mΩ."), "{told}");
        assert_eq!(page.one("#capacity-tells"), "P-001 2090 mAh; label 2200 mAh; practice only under 1760 mAh; set aside under 1320 mAh.");
    }

    async fn one_bad_cell_is_named_where_the_middle_of_its_pack_hides_it(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        read(&quinn, "P-001", "3.83 3.82 3.83", "10.0 10.0 12.0").await;
        read(&quinn, "P-002", "3.83 3.82 3.83", "10.0 18.0 10.0").await;
        let rows = side_by_side(&club, &quinn).await.texts("tbody tr");
        assert!(!rows[0].contains("times the others"), "{}", rows[0]);
        assert!(rows[1].contains("1.00 times the middle, cell 2 1.80 times the others"), "{}", rows[1]);
    }

    async fn how_far_apart_cells_stood_that_had_not_rested_is_not_told(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/volts", &[("volts_line", "3.83 3.75 3.83"), ("rested", "just_used")]).await.done();
        let row = side_by_side(&club, &quinn).await.texts("tbody tr")[0].clone();
        assert!(row.contains("read before it had rested") && !row.contains("80 mV"), "{row}");
    }

    async fn it_is_reached_from_the_design_and_by_every_role(club: TestClub) {
        club.fit_packs(2).await;
        let design = club.ids("design").await[0];
        let link = format!("a[href='/designs/{design}/compare']");
        for who in [club.quartermaster().await, club.organiser().await] {
            assert_eq!(who.get(&format!("/designs/{design}")).await.select(&link).len(), 1);
            assert_eq!(side_by_side(&club, &who).await.select("tbody tr").len(), 2);
        }
        let ada = club.member("Ada").await;
        assert_eq!(ada.get("/packs/P-001/over-time").await.select(&link).len(), 1);
        assert_eq!(side_by_side(&club, &ada).await.status, 200);
    }

    async fn columns_of_what_is_on_record_of_none_are_left_out_and_so_are_packs_that_are_gone(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        club.behind_the_back("UPDATE pack SET life = 'retired' WHERE number = 'P-002'").await.expect("retired");
        let page = side_by_side(&club, &quinn).await;
        assert_eq!(page.texts("thead th"), ["Pack", "State", "Cells", "Volts", "Apart", "Read"]);
        assert_eq!(page.select("tbody tr").len(), 1);
        assert!(page.select("figure.chart").is_empty(), "nothing to draw");
    }
}
