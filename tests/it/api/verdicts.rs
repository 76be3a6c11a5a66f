//! What a pack's readings tell together, to a program: as `/calc/verdict` has it, of the pack on record.

use crate::support::*;
use serde_json::json;

on_both! {
    async fn the_readings_of_a_pack_carry_what_they_tell_with_how_sure_and_by_which_source(club: TestClub) {
        club.new_packs(1).await;
        let ada = club.program(club.member("Ada").await.id()).await;
        let none = ada.get("/api/v1/packs/P-001/readings").await.done();
        assert_eq!((&none["verdict"]["findings"], &none["verdict"]["told"]["charge"]), (&json!([]), &json!(null)));
        for tenths in [[30, 30, 30], [30, 66, 30]] {
            let reading = json!({ "volts_mv": [3900, 3900, 3900], "rested": "rested_an_hour", "resistance_mohm_tenths": tenths, "temperature_celsius": 21, "meter": "C-02" });
            ada.post("/api/v1/packs/P-001/volts", &reading).await.done();
            club.later_by_days(1);
        }
        let verdict = ada.get("/api/v1/packs/P-001/readings").await.done()["verdict"].clone();
        let finding = &verdict["findings"][0];
        assert_eq!((&finding["cell"], &finding["gravity"]), (&json!(2), &json!("to_mend")), "{verdict}");
        for words in ["words", "next", "source", "sure"] {
            assert!(finding[words].as_str().is_some_and(|said| !said.is_empty()), "{words} of {finding}");
        }
        let told = &verdict["told"];
        assert_eq!(told["resistance"]["cells"][1]["times_first_readings"], json!(2.2));
        // 57 to 78 % of 24.4 Wh, less the 20 % that are left.
        let wh = |field: &str| told["energy"][field].as_f64().expect("watt hours");
        assert!((8.0..9.5).contains(&wh("energy_low_wh")) && (13.5..15.0).contains(&wh("energy_high_wh")), "{told}");
        let (_, count) = club.queries_of(ada.get("/api/v1/packs/P-001/readings")).await;
        assert!(count <= 3, "{count}");
    }
}
