//! Numbers as people type them at the table: without their zeros, in any case, with a count, in ranges. What is not there
//! is named, never left out in silence.

use crate::support::*;

async fn hand_out(quinn: &Browser, to: &Browser, items: &str) -> Answer {
    let page = quinn.get("/hand-out").await;
    let to = to.id().to_string();
    let fields = [("person", to.as_str()), ("items", items)];
    quinn.submit(&page, "main form", &fields).await
}

async fn typed_at_take_back(quinn: &Browser, numbers: &str) -> Answer {
    let query = urlencoded(&[("numbers", numbers)]);
    quinn.get(&format!("/take-back/items?{query}")).await
}

/// Numbers of what the page asks about.
fn asked_about(page: &Answer) -> Vec<String> {
    let titles = page.texts(".item h2");
    let first = |title: &String| title.split(' ').next().unwrap_or_default().to_owned();
    titles.iter().map(first).collect()
}

/// Three packs, four adapters, a charger.
async fn stocked(club: &TestClub) -> (Browser, Browser) {
    club.fit_packs(3).await;
    club.adapters("C-01", 1).await;
    club.behind_the_back("UPDATE kit SET kind = 'supply'")
        .await
        .expect("one thing");
    club.adapters("A-01", 4).await;
    (club.quartermaster().await, club.borrower("Ada").await)
}

on_both! {
    async fn numbers_without_their_zeros_and_in_small_letters_work_at_hand_out_and_take_back(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        hand_out(&quinn, &ada, "p-1 P2 p-003 c-1 a-1x2 A-01 x1").await.done();
        let counts = club.find("SELECT CAST(counted AS TEXT) FROM lent WHERE counted IS NOT NULL").await;
        assert_eq!((club.ids("lent").await.len(), counts), (5, vec!["3".to_owned()]));
        for typed in ["p-1", "P1", "P-1", "p-0001"] {
            assert_eq!(asked_about(&typed_at_take_back(&quinn, typed).await), ["P-001"], "{typed}");
        }
        assert_eq!(asked_about(&typed_at_take_back(&quinn, "c1 a-1 x2").await), ["A-01", "C-01"]);
    }

    async fn how_many_adapters_were_typed_stands_in_the_form(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        hand_out(&quinn, &ada, "A-01x3").await.done();
        let page = typed_at_take_back(&quinn, "a-1 x2").await;
        assert_eq!(page.select("input[name^=counted]")[0].attribute("value"), "2");
        for (typed, count) in [("A-01x1", "1"), ("a1 x1", "1"), ("A-01", "")] {
            let page = typed_at_take_back(&quinn, typed).await;
            assert_eq!(page.select("input[name^=counted]")[0].attribute("value"), count, "{typed}");
        }
        let line = page.select("input[name=shown]")[0].attribute("value").to_owned();
        let look = format!("look-{line}");
        quinn.submit(&page, "main form", &[(look.as_str(), "nothing")]).await.done();
        let out = club.find("SELECT CAST(counted AS TEXT) FROM lent WHERE closed_ms IS NULL").await;
        assert_eq!(out, ["1"]);
        let bea = club.borrower("Bea").await;
        hand_out(&quinn, &bea, "A-01x2").await.done();
        let of_two_loans = typed_at_take_back(&quinn, "A-01x2").await;
        assert!(of_two_loans.select("input[name^=counted]").iter().all(|count| count.attribute("value").is_empty()), "whose two they are is not known");
        assert_eq!(of_two_loans.select("section.item").len(), 2);
    }

    async fn of_a_range_with_gaps_what_is_missing_is_named_and_nothing_goes_out(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        for (typed, told) in [("2-6", "There is no pack numbered 4-6."), ("7", "There is no pack numbered 7."), ("P-9", "There is no P-9.")] {
            assert_eq!(hand_out(&quinn, &ada, typed).await.problems(), [told], "{typed}");
        }
        assert!(club.ids("loan").await.is_empty());
        hand_out(&quinn, &ada, "1-3").await.done();
    }

    async fn two_of_one_numbered_thing_are_refused(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        assert_eq!(hand_out(&quinn, &ada, "C-01x2").await.problems(), ["C-01 is one thing."]);
        assert_eq!(hand_out(&quinn, &ada, "P-1 x2").await.problems(), ["P-001 is one thing."]);
        assert!(club.ids("loan").await.is_empty());
        hand_out(&quinn, &ada, "C-01x1").await.done();
        assert_eq!(typed_at_take_back(&quinn, "C-01x2").await.problems(), ["C-01 is one thing."]);
    }

    async fn what_is_typed_at_take_back_and_is_not_out_is_named_with_its_page(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        hand_out(&quinn, &ada, "1").await.done();
        let page = typed_at_take_back(&quinn, "1 p-2").await;
        assert_eq!(asked_about(&page), ["P-001"]);
        assert_eq!(page.one("main [role=status]"), "P-002 is not out. Something to see on it? Report it on its page.");
        assert_eq!(page.select("main [role=status] a[href='/packs/P-002']").len(), 1);
        let page = typed_at_take_back(&quinn, "1-5 A-1 S-9").await;
        assert_eq!(page.texts("main [role=status]"), [
            "A-01, P-002, P-003 are not out. Something to see on one of them? Report it on its page.",
            "There is no 4-5, S-9.",
        ]);
        let kit = page.select("main [role=status] a")[0].attribute("href").to_owned();
        assert!(quinn.get(&kit).await.one("h1").contains("A-01"));
        let refused = typed_at_take_back(&quinn, "2 3").await;
        assert_eq!(refused.problems(), ["None of these is out. Somebody may have taken it back already."]);
    }

    async fn taking_back_what_is_out_asks_no_more_for_many_numbers_than_for_one(club: TestClub) {
        let (quinn, ada) = stocked(&club).await;
        hand_out(&quinn, &ada, "1-3 C-01 A-01x2").await.done();
        let (page, asked) = club.queries_of(typed_at_take_back(&quinn, "1 2 3 C-01 A-01")).await;
        assert_eq!(asked_about(&page).len(), 5);
        assert!(asked <= 3, "{asked} statements");
    }
}
