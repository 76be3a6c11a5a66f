//! What is seen on what comes back: one short answer for each pack or one for all, the list below it, and what happens to
//! answers that contradict themselves or are missing.

use crate::support::*;

/// Three fit packs out on one loan of Ada's: the quartermaster's browser and the page that asks what is seen.
async fn three_came_back(club: &TestClub) -> (Browser, Answer) {
    club.fit_packs(3).await;
    out(club, "1-3").await
}

async fn out(club: &TestClub, items: &str) -> (Browser, Answer) {
    let quinn = club.quartermaster().await;
    let ada = club.borrower("Ada").await.id().to_string();
    let form = [("person", ada.as_str()), ("items", items)];
    let loan = quinn.post("/hand-out", &form).await.done().to_owned();
    let loan = loan.replace("/loans/", "").replace("?new=1", "");
    let page = quinn.get(&format!("/take-back/items?loan={loan}")).await;
    (quinn, page)
}

/// Field names of the n-th thing on the page, which end in its loan line.
fn name(page: &Answer, kind: &str, index: usize) -> String {
    let shown = page.select("input[name=shown]");
    format!("{kind}-{}", shown[index].attribute("value"))
}

async fn send(quinn: &Browser, page: &Answer, typed: &[(String, &str)]) -> Answer {
    let typed: Vec<(&str, &str)> = typed
        .iter()
        .map(|(name, value)| (name.as_str(), *value))
        .collect();
    quinn.submit(page, "main form", &typed).await
}

fn asked_for_volts(answer: &Answer) -> usize {
    answer.done().matches("volts=").count()
}

async fn state_of(quinn: &Browser, number: &str) -> String {
    quinn
        .get(&format!("/packs/{number}"))
        .await
        .one(".verdict strong")
}

async fn is_out(quinn: &Browser, number: &str) -> bool {
    let page = quinn.get(&format!("/packs/{number}")).await;
    !page.select("a[href^='/take-back/items']").is_empty()
}

on_both! {
    async fn nothing_is_chosen_beforehand(club: TestClub) {
        let (_, page) = three_came_back(&club).await;
        assert!(page.select("main [checked]").is_empty());
        assert_eq!(page.select("input[name=all][value=nothing]").len(), 1);
        assert_eq!(page.select("section.item input[value=swollen]").len(), 3);
    }

    async fn nothing_to_see_on_any_answers_for_all_that_say_nothing_themselves(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let all = ("all".to_owned(), "nothing");
        let wet = (name(&page, "seen", 1), "wet");
        let answer = send(&quinn, &page, &[all, wet]).await;
        assert_eq!(asked_for_volts(&answer), 2);
        assert_eq!(state_of(&quinn, "P-002").await, "Quarantine");
    }

    async fn a_pack_that_is_neither_spoken_of_nor_covered_is_asked_about_beside_its_field(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let answers = [(name(&page, "look", 0), "nothing"), (name(&page, "look", 1), "wrong"), (name(&page, "own_words", 1), "")];
        let refused = send(&quinn, &page, &answers).await;
        assert!(refused.is_refused());
        let problems = refused.problems();
        assert_eq!(problems, [
            "P-002: tick what is wrong, or say it in your own words.",
            "P-003: choose 'Nothing to see' or 'Something is wrong'.",
        ]);
        for (index, problem) in [(1, &problems[0]), (2, &problems[1])] {
            let field = name(&page, "f-look", index);
            assert_eq!(refused.select(&format!("#problems a[href='#{field}']")).len(), 1);
            assert_eq!(refused.one(&format!("fieldset#{field} > .wrong")), **problem);
        }
        let kept = refused.select("main [checked]");
        let kept: Vec<&str> = kept.iter().map(|field| field.attribute("value")).collect();
        assert_eq!(kept, ["nothing", "wrong"]);
        assert!(is_out(&quinn, "P-001").await && is_out(&quinn, "P-003").await);
    }

    async fn danger_counts_although_nothing_to_see_was_chosen_too(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let all = ("all".to_owned(), "nothing");
        let contradiction = [
            all.clone(),
            (name(&page, "look", 0), "nothing"), (name(&page, "seen", 0), "swollen"),
            (name(&page, "look", 1), "still_out"), (name(&page, "seen", 1), "leak"),
        ];
        let answer = send(&quinn, &page, &contradiction).await;
        assert_eq!(asked_for_volts(&answer), 1);
        for number in ["P-001", "P-002"] {
            assert_eq!(state_of(&quinn, number).await, "Quarantine");
        }
        assert!(!is_out(&quinn, "P-001").await, "it is dealt with in the same step");
        assert!(is_out(&quinn, "P-002").await, "who has it is told; nobody has it back");
    }

    async fn danger_is_stored_and_the_rest_asked_about_with_what_was_ticked_in_sight(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let answers = [(name(&page, "look", 0), "nothing"), (name(&page, "seen", 0), "swollen"), (name(&page, "seen", 1), "wrap_torn")];
        let refused = send(&quinn, &page, &answers).await;
        assert!(refused.is_refused());
        assert!(refused.one("main .stop[role=alert]").contains("P-001: taken back and in quarantine"));
        assert_eq!(state_of(&quinn, "P-001").await, "Quarantine");
        let shown = refused.select("input[name=shown]");
        assert_eq!(shown.len(), 2, "P-001 is not asked about again");
        let kept = refused.select("main [checked]");
        let kept: Vec<&str> = kept.iter().map(|field| field.attribute("value")).collect();
        assert_eq!(kept, ["wrong", "wrap_torn"], "its list is shown again");
        assert_eq!(state_of(&quinn, "P-002").await, "Fit", "nothing but danger is stored");
    }

    async fn a_crash_answered_or_own_words_count_without_their_tick(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let answers = [
            (name(&page, "crash", 0), "hit_or_bent"),
            (name(&page, "own_words", 1), "rattles"),
            (name(&page, "crash", 2), "untouched"),
        ];
        let answer = send(&quinn, &page, &answers).await;
        assert_eq!(asked_for_volts(&answer), 2);
        assert_eq!(state_of(&quinn, "P-001").await, "Quarantine");
        let page = quinn.get("/packs/P-002").await;
        assert_eq!(page.one(".verdict strong"), "Set aside");
        assert!(page.one(".verdict p").contains("rattles"));
        assert_eq!(state_of(&quinn, "P-003").await, "Fit");
    }

    async fn part_of_a_loan_comes_back_and_the_rest_stays_out(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        let all = ("all".to_owned(), "nothing");
        let answer = send(&quinn, &page, &[all.clone(), (name(&page, "look", 1), "still_out")]).await;
        assert_eq!(asked_for_volts(&answer), 2);
        assert!(!answer.done().contains(&name(&page, "", 1)[1..]));
        let none: Vec<(String, &str)> = (0..3).map(|index| (name(&page, "look", index), "still_out")).collect();
        let refused = send(&quinn, &page, &[&none[..], &[("key".to_owned(), "none")]].concat()).await;
        assert_eq!(refused.problems(), ["Everything is said to be still out. Choose what came back."]);
    }

    async fn adapters_come_back_in_part_and_never_more_than_went_out(club: TestClub) {
        club.adapters("A-01", 4).await;
        let (quinn, page) = out(&club, "A-01x3").await;
        let counted = name(&page, "counted", 0);
        for typed in ["4", "0", "some"] {
            let answers = [(name(&page, "look", 0), "nothing"), (counted.clone(), typed)];
            let refused = send(&quinn, &page, &answers).await;
            assert_eq!(refused.problems(), ["A-01: type how many came back, from 1 to 3."]);
        }
        let answer = send(&quinn, &page, &[(name(&page, "look", 0), "nothing"), (counted, "2")]).await;
        let told = quinn.get(answer.done()).await;
        assert_eq!(told.one("[role=status]"), "2 of 3 in. 1 still out.");
        assert_eq!(told.texts("section h2"), ["A-01 × 2"]);
    }

    async fn a_member_who_brings_back_alone_answers_the_same_way(club: TestClub) {
        club.fit_packs(2).await;
        out(&club, "1-2").await;
        let ada = club.member("Ada").await;
        let list = ada.get("/mine").await;
        let doors: Vec<String> = list.select("main .do li > a").iter().map(|door| door.attribute("href").to_owned()).collect();
        let page = ada.get(&doors[0]).await;
        assert!(page.select("main [checked]").is_empty());
        assert!(page.select("input[value=still_out]").is_empty(), "what is brought back is here");
        for answers in [vec![], vec![("look", "still_out")]] {
            let refused = ada.submit(&page, "main form", &answers).await;
            assert_eq!(refused.problems(), ["P-001: choose 'Nothing to see' or 'Something is wrong'."]);
        }
        let refused = ada.submit(&page, "main form", &[("look", "wrong")]).await;
        assert_eq!(refused.problems(), ["P-001: tick what is wrong, or say it in your own words."]);
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        let quinn = club.quartermaster().await;
        assert_eq!(state_of(&quinn, "P-001").await, "Not known");
        let page = ada.get(&doors[1]).await;
        ada.submit(&page, "main form", &[("look", "nothing"), ("seen", "shorted")]).await.done();
        assert_eq!(state_of(&quinn, "P-002").await, "Quarantine");
    }

    async fn volts_are_not_believed_before_somebody_said_whether_the_packs_rested(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, page) = out(&club, "1").await;
        assert!(page.select("input[name=all]").is_empty(), "one pack needs no answer for all");
        let first = send(&quinn, &page, &[(name(&page, "look", 0), "nothing")]).await;
        let volts = quinn.get(first.done()).await;
        assert_eq!(volts.texts("button[name=rested]").len(), 3);
        let line = name(&page, "volts_line", 0);
        let refused = quinn.submit(&volts, "main form", &[(&line, "3.91 3.90 3.91")]).await;
        assert_eq!(refused.problems(), ["Say whether the packs rested."]);
        assert!(is_out(&quinn, "P-001").await);
        let done = quinn.submit(&refused, "main form", &[("rested", "rested_an_hour")]).await;
        assert!(quinn.get(done.done()).await.one("main [role=status]").starts_with("1 of 1 in."));
        assert_eq!(state_of(&quinn, "P-001").await, "Fit");
    }

    async fn a_spread_read_too_soon_is_logged_again_at_a_time_and_on_a_day(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let form = [("rested", "just_used"), ("volts_line", "3.91 3.80 3.91")];
        quinn.post("/packs/P-001/volts", &form).await.done();
        let told = |page: &Answer| (page.one(".again time"), page.select(".again time")[0].attribute("datetime").to_owned());
        let page = quinn.get("/packs/P-001").await;
        assert_eq!(told(&page), ("18:45".to_owned(), "2026-11-25T18:45Z".to_owned()));
        assert!(page.one(".again").contains("Log again at 18:45."));
        club.later_by_minutes(60);
        assert!(quinn.get("/packs/P-001").await.one(".again").contains("It has since 18:45: log again."));
        club.later_by_minutes(4 * 60 + 25);
        quinn.post("/packs/P-001/volts", &form).await.done();
        let page = quinn.get("/packs/P-001").await;
        assert_eq!(told(&page), ("00:10 tomorrow (Thu 26 Nov 2026)".to_owned(), "2026-11-26T00:10Z".to_owned()));
        assert!(page.one(".again").contains("Log again at 00:10 tomorrow (Thu 26 Nov 2026)."));
        quinn.post("/packs/P-001/volts", &[("rested", "rested_an_hour"), ("volts_line", "3.91 3.90 3.91")]).await.done();
        assert!(quinn.get("/packs/P-001").await.select(".again").is_empty());
    }

    async fn a_club_with_a_decimal_comma_reads_no_volts_with_a_point(club: TestClub) {
        let (quinn, page) = three_came_back(&club).await;
        club.behind_the_back("UPDATE club SET uses_decimal_comma = TRUE").await.expect("changed");
        let first = send(&quinn, &page, &[("all".to_owned(), "nothing")]).await;
        let volts = quinn.get(first.done()).await;
        assert_eq!(volts.select(".volts[data-mark=',']").len(), 3);
        let lines: Vec<String> = (0..3).map(|index| name(&page, "volts_line", index)).collect();
        let typed = [(lines[0].as_str(), "3,91 2,80 3,90"), (&lines[1], "3,91 3,80 3,90"), (&lines[2], "3,91 3,90 3,91"), ("rested", "rested_an_hour")];
        let done = quinn.submit(&volts, "main form", &typed).await.done().to_owned();
        let seen_volts = |text: &str| {
            let digits = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
            let chars: Vec<char> = text.chars().collect();
            (1..chars.len()).any(|i| chars[i] == '.' && digits(chars.get(i - 1).copied()) && digits(chars.get(i + 1).copied()))
        };
        for path in [done.as_str(), "/packs", "/packs/P-001", "/packs/P-001/readings", "/packs/P-002", "/stood"] {
            let told = quinn.get(path).await;
            let text = told.one("main");
            assert!(!seen_volts(&text), "{path}: {text}");
            for picture in told.select("svg[aria-label]") {
                assert!(!seen_volts(picture.attribute("aria-label")), "{path}");
            }
        }
        assert!(quinn.get("/packs/P-001").await.one(".verdict p").contains("2,80 V"));
        let ada = club.member("Ada").await.id().to_string();
        let refused = quinn.post("/hand-out", &[("person", &ada), ("items", "1")]).await;
        assert!(refused.one(".refused").contains("2,80 V"));
        let olive = club.organiser().await;
        assert!(!seen_volts(&olive.get("/log").await.one("main ol.log")));
    }
}
