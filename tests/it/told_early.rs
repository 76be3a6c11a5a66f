//! What somebody is told before a form is filled in for nothing: that nothing may be borrowed yet, what is still out when the
//! hall is locked, what stands against a pack that was scanned, that a design is on record already.

use crate::support::*;

const HAND_OUT: &str = "main form[action='/hand-out']";

async fn may_members_borrow(club: &TestClub) {
    club.behind_the_back("UPDATE club SET may_members_borrow = TRUE")
        .await
        .expect("its setting");
}

async fn hand_out(quinn: &Browser, to: &Browser, items: &str) -> Answer {
    let to = to.id().to_string();
    quinn
        .post("/hand-out", &[("person", &to), ("items", items)])
        .await
}

on_both! {
    async fn a_member_who_was_shown_nothing_yet_reads_so_before_choosing_a_pack(club: TestClub) {
        club.fit_packs(1).await;
        may_members_borrow(&club).await;
        let mo = club.member("Mo").await;
        let words = "You were not shown safe charging and handling yet. Ask a quartermaster to show you; once that is on record you can borrow.";
        let form = mo.get("/hand-out").await;
        assert_eq!(form.texts(".notice"), [words]);
        assert!(form.select(HAND_OUT).is_empty(), "no pack chosen would change it");
        let mos = mo.id().to_string();
        let refused = mo.post("/hand-out", &[("person", mos.as_str()), ("items", "1"), ("key", "early")]).await;
        assert_eq!(refused.texts(".refused li"), [words], "the rule's answer is the same");
        assert_eq!(refused.select("#f-items")[0].attribute("value"), "1", "what was sent is kept");
        let quinn = club.quartermaster().await;
        assert_eq!(quinn.get("/hand-out").await.select(HAND_OUT).len(), 1, "a quartermaster chooses whom, and may override");
        club.induct(&mo).await;
        let free = mo.get("/hand-out").await;
        assert!(free.select(".notice").is_empty() && free.select(HAND_OUT).len() == 1);
        club.behind_the_back("UPDATE induction SET ends_on = '2026-11-20'").await.expect("an end");
        let told = mo.get("/hand-out").await.texts(".notice").join(" ");
        assert!(told.starts_with("Your induction ran out on ") && told.ends_with("Ask a quartermaster to show you again."), "{told}");
    }

    async fn the_night_says_what_is_still_out_before_and_after_it_is_closed(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/places/new", &[("name", "Hall"), ("kind", "table")]).await.done();
        let form = quinn.get("/night").await;
        let options = form.select("#f-place option");
        let place = options[1].attribute("value").to_owned();
        let on_duty = quinn.id().to_string();
        let typed = [("place", &*place), ("on_duty", &on_duty), ("ends_at", "22:00")];
        quinn.submit(&form, "main form[action='/night']", &typed).await.done();
        assert_eq!(quinn.get("/night").await.texts("form[action='/night/close'] p"), ["Nothing is out."]);
        hand_out(&quinn, &ada, "1").await.done();
        assert!(quinn.get("/night").await.texts(".notice").join(" ").starts_with("1 thing of the club's is out."));
        hand_out(&quinn, &ada, "2-3").await.done();
        let night = quinn.get("/night").await;
        assert!(night.texts(".notice").join(" ").starts_with("3 things of the club's are out. Closing the night takes nothing back"));
        quinn.submit(&night, "form[action='/night/close']", &[]).await.done();
        let after = quinn.get("/night").await;
        assert_eq!(after.texts(".notice"), ["3 things of the club's are out. Out now"]);
        assert_eq!(after.select(".notice a")[0].attribute("href"), "/loans");
    }

    async fn what_was_gathered_says_its_state_and_what_goes_out_to_nobody(club: TestClub) {
        club.fit_packs(3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/packs/P-002/condition", &[("seen", "wrap_torn"), ("key", "torn")]).await.done();
        quinn.post("/packs/P-003/condition", &[("seen", "swollen"), ("key", "swollen")]).await.done();
        let person = ada.id().to_string();
        quinn.post("/gather", &[("person", &*person), ("items", "1-3")]).await.done();
        let list = quinn.get("/gather").await;
        let told = list.texts(".gathered li > div");
        assert!(told[0].contains("Fit") && !told[0].contains("leave it out"), "{told:?}");
        assert!(told[1].contains("Set aside") && !told[1].contains("Goes out to nobody"), "{told:?}");
        assert!(told[2].contains("Quarantine") && told[2].contains("Goes out to nobody now: leave it out."), "{told:?}");
        assert_eq!(club.queries_of(quinn.get("/gather")).await.1, 3);
    }

    async fn the_same_design_is_registered_once(club: TestClub) {
        let quinn = club.quartermaster().await;
        let design = [("name", "Quick"), ("chemistry", "lipo"), ("cells", "3"), ("capacity", "450"), ("connector", "xt30"), ("balance", "jst-xh")];
        let form = quinn.get("/designs/new").await;
        quinn.submit(&form, "main form", &design).await.done();
        let again = quinn.submit(&quinn.get("/designs/new").await, "main form", &design).await;
        assert_eq!(again.problems(), ["The same design is on record already, with this name. Register packs of that one."]);
        let small = quinn.submit(&quinn.get("/designs/new").await, "main form", &[&design[1..], &[("name", "qUICK")]].concat()).await;
        assert!(small.is_refused());
        let other = quinn.submit(&quinn.get("/designs/new").await, "main form", &[&design[..5], &[("balance", "none")]].concat()).await;
        other.done();
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM design").await, ["2"]);
    }

    async fn what_somebody_has_leads_to_the_packs_own_page(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1").await.done();
        let mine = ada.get("/mine").await;
        assert_eq!(mine.select("ul.do p a")[0].attribute("href"), "/packs/P-001");
        assert_eq!(ada.get("/packs/P-001").await.status, 200);
    }
}
