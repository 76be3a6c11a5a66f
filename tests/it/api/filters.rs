//! What is asked for and can't be: nothing of a question is passed over in silence.

use crate::support::*;
use serde_json::json;

on_both! {
    async fn what_no_list_knows_is_refused_under_its_name(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.program(club.quartermaster().await.id()).await;
        for (address, field) in [
            ("/api/v1/packs?order=colour", "order"),
            ("/api/v1/packs?connector=xt61", "connector"),
            ("/api/v1/packs?state=great", "state"),
            ("/api/v1/people?induction=yesterday", "induction"),
            ("/api/v1/kit?kind=robot", "kind"),
        ] {
            let reply = quinn.get(address).await;
            assert_eq!((reply.status, reply.kind().as_str()), (422, "put-right"), "{address}: {}", reply.text);
            assert_eq!(reply.json()["problems"][0]["field"], field, "{address}");
        }
        for address in ["/api/v1/packs?order=seen&connector=xt60", "/api/v1/people?induction=never", "/api/v1/people?induction="] {
            quinn.get(address).await.done();
        }
    }

    async fn a_member_who_asks_what_somebody_else_has_finds_nothing(club: TestClub) {
        club.fit_packs(2).await;
        let (ada, ben) = (club.borrower("Ada").await.id(), club.member("Ben").await.id());
        let quinn = club.program(club.quartermaster().await.id()).await;
        quinn.post("/api/v1/hand-out", &json!({"borrower_id": ada, "items": ["P-001"]})).await.done();
        let asked = format!("/api/v1/packs?holder_id={ada}");
        let found = async |id| club.program(id).await.get(&asked).await.done()["packs"].as_array().expect("packs").len();
        assert_eq!(found(ben).await, 0);
        assert_eq!(found(ada).await, 1);
        assert_eq!(quinn.get(&asked).await.done()["packs"][0]["number"], "P-001");
    }

    async fn people_are_found_as_on_their_page(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.borrower("Ada").await;
        let gone = club.member("Gus").await.id();
        quinn.post(&format!("/people/{gone}/deactivate"), &[]).await.done();
        let program = club.program(quinn.id()).await;
        for (asked, on_page) in [("", ""), ("?induction=valid", "?induction=valid"), ("?induction=never", "?induction=never"), ("?gone=true", "?gone=gone"), ("?text=ad", "?text=ad")] {
            let told = program.get(&format!("/api/v1/people{asked}")).await.done();
            let names: Vec<&str> = told["people"].as_array().expect("people").iter().filter_map(|one| one["name"].as_str()).collect();
            assert_eq!(names, quinn.get(&format!("/people{on_page}")).await.texts("tbody th"), "{asked}");
        }
    }

    async fn kit_comes_a_page_at_a_time_read_as_its_page_is(club: TestClub) {
        for at in 1..=53 {
            club.adapters(&format!("A-{at:02}"), 2).await;
        }
        let program = club.program(club.member("Ada").await.id()).await;
        for text in ["", "adapter"] {
            let first = program.get(&format!("/api/v1/kit?text={text}")).await.done();
            assert_eq!((first["kit"].as_array().expect("kit").len(), &first["next_page"]), (50, &json!(1)));
            let second = program.get(&format!("/api/v1/kit?text={text}&page=1")).await.done();
            assert_eq!((second["kit"].as_array().expect("kit").len(), &second["next_page"]), (3, &json!(null)));
            assert_eq!(second["kit"][0]["number"], "A-51");
        }
    }
}
