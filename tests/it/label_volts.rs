//! A pack's own label counts in the verdict where it is stricter than its chemistry, and never loosens it.

use crate::support::*;

/// Registers one 2S LiPo whose label says this of each cell; P-001.
async fn labelled(quinn: &Browser, full: &str, lowest: &str) -> Answer {
    let fields = [
        ("name", "2S 450"),
        ("chemistry", "lipo"),
        ("cells", "2"),
        ("capacity", "450 mAh"),
        ("connector", "xt30"),
        ("balance", "jst-xh"),
        ("full_v", full),
        ("lowest_v", lowest),
    ];
    let answer = quinn.post("/designs", &fields).await;
    if let Some(design) = answer
        .location
        .as_deref()
        .and_then(|place| place.rsplit('=').next())
    {
        quinn
            .post("/packs", &[("design", design), ("count", "1")])
            .await
            .done();
    }
    answer
}

async fn state_after(club: &TestClub, quinn: &Browser, volts: &str) -> (String, String) {
    let typed = [("volts_line", volts), ("rested", "rested_an_hour")];
    quinn.post("/packs/P-001/volts", &typed).await.done();
    let told = club
        .find("SELECT state || '|' || state_words FROM pack")
        .await
        .remove(0);
    let (state, words) = told.split_once('|').expect("both");
    (state.to_owned(), words.to_owned())
}

on_both! {
    async fn a_pack_over_its_own_labels_full_is_quarantined_though_its_chemistry_bears_more(club: TestClub) {
        let quinn = club.quartermaster().await;
        labelled(&quinn, "4.10 V", "").await.done();
        assert_eq!(state_after(&club, &quinn, "4.15 4.15").await.0, "caution");
        let (state, words) = state_after(&club, &quinn, "4.16 4.16").await;
        assert_eq!(state, "quarantine");
        assert!(words.contains("full on its label is 4.10 V"), "{words}");
        assert!(quinn.get("/packs/P-001").await.text.contains("Label full volts per cell"));
    }

    async fn a_pack_under_its_own_labels_lowest_is_quarantined_though_its_chemistry_bears_less(club: TestClub) {
        let quinn = club.quartermaster().await;
        labelled(&quinn, "", "3,20").await.done();
        let (state, words) = state_after(&club, &quinn, "3.19 3.21").await;
        assert_eq!(state, "quarantine");
        assert!(words.contains("the lowest on its label is 3.20 V"), "{words}");
    }

    async fn a_label_looser_than_the_chemistry_loosens_nothing(club: TestClub) {
        let quinn = club.quartermaster().await;
        labelled(&quinn, "4.35", "2.5").await.done();
        let (state, words) = state_after(&club, &quinn, "4.26 4.26").await;
        assert_eq!(state, "quarantine");
        assert!(words.contains("full for LiPo is 4.20 V"), "{words}");
    }

    async fn label_volts_that_can_be_no_cells_are_refused_and_those_of_a_design_in_use_stay(club: TestClub) {
        let quinn = club.quartermaster().await;
        for (full, lowest, field) in [("12.3", "", "full_v"), ("3.2", "", "full_v"), ("", "3.9", "lowest_v"), ("full", "", "full_v")] {
            let refused = labelled(&quinn, full, lowest).await;
            assert!(refused.is_refused());
            assert_eq!(refused.select("#problems a")[0].attribute("href"), format!("#f-{field}"), "{full} {lowest}");
        }
        labelled(&quinn, "4.1", "").await.done();
        let design = club.ids("design").await[0];
        let page = quinn.get(&format!("/designs/{design}")).await;
        assert!(page.form("main form").1.contains(&("full_v".to_owned(), "4.1 V".to_owned())));
        let path = format!("/designs/{design}");
        assert!(quinn.submit(&page, &format!("form[action='{path}']"), &[("full_v", "4.2")]).await.is_refused());
    }
}
