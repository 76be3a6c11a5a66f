//! A form that comes late: somebody else booked a pack in meanwhile. What is seen or read on it is stored all the same, it
//! is named, and the rest of the form goes on. And what is dangerous waits for nothing else that must be put right.

use crate::support::*;
use std::time::Duration;

/// So many packs out to Ada on one loan; the loan's lines in the order of the packs.
async fn out(club: &TestClub, count: usize) -> (Browser, Browser, Vec<String>) {
    club.fit_packs(count).await;
    let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
    let items = format!("1-{count}");
    hand_out(&quinn, &ada, &items).await;
    (quinn, ada, lines(club).await)
}

async fn hand_out(quinn: &Browser, to: &Browser, items: &str) {
    let to = to.id().to_string();
    let page = quinn.get("/hand-out").await;
    let fields = [("person", to.as_str()), ("items", items)];
    quinn.submit(&page, "main form", &fields).await.done();
}

/// Lines that are out, in the order in which they went out.
async fn lines(club: &TestClub) -> Vec<String> {
    let ids = club.ids("lent WHERE closed_ms IS NULL").await;
    ids.iter().map(ToString::to_string).collect()
}

/// What a tablet shows for these lines, open while others do as they like.
async fn tablet(quinn: &Browser, lines: &[String]) -> Answer {
    let asked: Vec<String> = lines.iter().map(|line| format!("lent={line}")).collect();
    quinn
        .get(&format!("/take-back/items?{}", asked.join("&")))
        .await
}

/// The volts page for these lines.
async fn meter(quinn: &Browser, lines: &[String]) -> Answer {
    let mut fields = Vec::new();
    let looks: Vec<String> = lines.iter().map(|line| format!("look-{line}")).collect();
    fields.extend(looks.iter().map(|look| (look.as_str(), "nothing")));
    let answer = quinn
        .submit(&tablet(quinn, lines).await, "main form", &fields)
        .await;
    quinn.get(answer.done()).await
}

async fn bring_back_alone(ada: &Browser, line: &str) {
    let page = ada.get(&format!("/mine/{line}/bring-back")).await;
    ada.submit(&page, "main form", &[("look", "nothing")])
        .await
        .done();
}

async fn state(who: &Browser, number: &str) -> String {
    let page = who.get(&format!("/packs/{number}")).await;
    page.one(".verdict strong")
}

fn named(start: &str, line: &str) -> String {
    format!("{start}-{line}")
}

const GOOD: &str = "3.83 3.82 3.83";
const DANGEROUS: &str = "3.91 2.80 3.90";

on_both! {
    async fn a_swollen_pack_its_holder_brought_back_meanwhile_is_quarantined_and_named(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 1).await;
        let shown = tablet(&quinn, &lines).await;
        bring_back_alone(&ada, &lines[0]).await;
        let seen = named("seen", &lines[0]);
        let answer = quinn.submit(&shown, "main form", &[(&seen, "swollen")]).await;
        let told = quinn.get(answer.done()).await;
        assert!(told.one(".stop[role=alert]").contains("P-001 was back already; what you saw is stored: Quarantine."), "{}", told.text);
        assert!(told.select("form[action$='/reopen']").is_empty(), "nothing of theirs is undone here");
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert_eq!(club.find("SELECT outcome FROM lent").await, ["unchecked"]);
        let logged = club.find("SELECT verb FROM activity").await.len();
        assert_eq!(quinn.submit(&shown, "main form", &[(&seen, "swollen")]).await.done(), answer.done());
        assert_eq!(club.find("SELECT verb FROM activity").await.len(), logged, "sent twice, stored once");
    }

    async fn of_three_the_one_that_was_back_already_is_named_and_the_others_go_on(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 3).await;
        let shown = tablet(&quinn, &lines).await;
        bring_back_alone(&ada, &lines[1]).await;
        let torn = named("seen", &lines[0]);
        let looks = [named("look", &lines[1]), named("look", &lines[2])];
        let fields = [(torn.as_str(), "wrap_torn"), (looks[0].as_str(), "nothing"), (looks[1].as_str(), "nothing")];
        let answer = quinn.submit(&shown, "main form", &fields).await;
        let page = quinn.get(answer.done()).await;
        assert!(page.one("main [role=status]:not(output)").contains("P-002 was back already."), "{}", page.text);
        assert_eq!(page.texts("legend")[..2], ["P-001", "P-003"]);
        let volts = [named("volts_line", &lines[0]), named("volts_line", &lines[2])];
        let fields = [(volts[0].as_str(), GOOD), (volts[1].as_str(), GOOD), ("rested", "rested_an_hour")];
        let done = quinn.submit(&page, "main form", &fields).await;
        let told = quinn.get(done.done()).await;
        assert!(told.one("main .lead").starts_with("3 of 3 in."));
        assert!(told.text.contains("P-002 was back already."), "told to the end");
        assert_eq!(told.select("form[action$='/reopen']").len(), 2);
        assert_eq!(club.find("SELECT outcome FROM lent ORDER BY outcome").await, ["back", "back", "unchecked"]);
    }

    async fn what_is_to_mend_on_kit_that_was_back_already_sets_it_aside_once(club: TestClub) {
        club.adapters("A-01", 4).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "A-01x3").await;
        let lines = lines(&club).await;
        let (shown, other) = (tablet(&quinn, &lines).await, tablet(&quinn, &lines).await);
        bring_back_alone(&ada, &lines[0]).await;
        let (words, count) = (named("kit_words", &lines[0]), named("to_mend", &lines[0]));
        let fields = [(words.as_str(), "pin bent"), (count.as_str(), "2")];
        let answer = quinn.submit(&shown, "main form", &fields).await;
        let told = quinn.get(answer.done()).await;
        assert!(told.text.contains("A-01 was back already; what you saw is stored."), "{}", told.text);
        assert!(!told.text.contains("Something to mend?"));
        let stock = async || club.find("SELECT aside_count || ' aside, ' || unchecked_count || ' unchecked: ' || set_aside_words FROM kit").await;
        assert_eq!(stock().await, ["2 aside, 1 unchecked: pin bent"]);
        quinn.submit(&other, "main form", &fields).await.done();
        assert_eq!(stock().await, ["2 aside, 1 unchecked: pin bent"], "the same two, told by a second table");
        let three = [(words.as_str(), "pin bent"), (count.as_str(), "3")];
        quinn.submit(&tablet(&quinn, &lines).await, "main form", &three).await;
        let third = quinn.submit(&other, "main form", &[(words.as_str(), "pin bent"), (count.as_str(), "3"), ("key", "another")]).await;
        assert_eq!(third.status, 303, "{}", third.text);
        assert_eq!(stock().await, ["3 aside, 0 unchecked: pin bent"]);
    }

    async fn a_late_report_is_stored_though_another_answer_is_missing(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 2).await;
        let shown = tablet(&quinn, &lines).await;
        bring_back_alone(&ada, &lines[0]).await;
        let seen = named("seen", &lines[0]);
        let refused = quinn.submit(&shown, "main form", &[(&seen, "wrap_torn")]).await;
        assert_eq!(refused.problems().len(), 1, "P-002 has no answer");
        assert!(refused.text.contains("P-001 was back already; what you saw is stored: Set aside."), "{}", refused.text);
        assert_eq!(state(&quinn, "P-001").await, "Set aside");
        let look = named("look", &lines[1]);
        let answer = quinn.submit(&refused, "main form", &[(&look, "nothing")]).await;
        let page = quinn.get(answer.done()).await;
        assert!(page.text.contains("P-001 was back already"), "it is not forgotten on the way");
        assert_eq!(page.select("input[name=volts]").len(), 1);
    }

    async fn a_pack_that_went_out_again_meanwhile_is_quarantined_where_it_is(club: TestClub) {
        let (quinn, _, lines) = out(&club, 1).await;
        let shown = tablet(&quinn, &lines).await;
        let page = meter(&quinn, &lines).await;
        let volts = named("volts_line", &lines[0]);
        quinn.submit(&page, "main form", &[(&volts, GOOD), ("rested", "rested_an_hour")]).await.done();
        let bea = club.borrower("Bea").await;
        hand_out(&quinn, &bea, "1").await;
        let seen = named("seen", &lines[0]);
        quinn.submit(&shown, "main form", &[(&seen, "swollen")]).await.done();
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert!(bea.get("/mine").await.one(".stop").contains("call the fire service"), "who has it is told");
    }

    async fn danger_is_stored_though_the_adapters_of_the_same_form_were_counted_down_meanwhile(club: TestClub) {
        club.fit_packs(1).await;
        club.adapters("A-01", 4).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1 A-01x4").await;
        let of_packs = club.ids("lent WHERE pack_id IS NOT NULL").await[0].to_string();
        let of_kit = club.ids("lent WHERE kit_id IS NOT NULL").await[0].to_string();
        let quinns = club.by(&quinn).await;
        let seen = |lent_id: &str, counted, seen| sandbucket::actions::take_back::LookedAt {
            lent_id: lent_id.parse().expect("a line"), is_here: true,
            looked: sandbucket::actions::condition::Looked { seen: vec![seen], ..Default::default() },
            kit_words: String::new(),
            counted,
            to_mend: None,
        };
        use sandbucket::club::seen::Seen;
        let all = [seen(&of_kit, Some(5), Seen::Nothing), seen(&of_packs, None, Seen::Swollen)];
        let refused = sandbucket::actions::take_back::look(&club.app.db, &quinns, &all, &Default::default()).await;
        assert_eq!(refused.expect_err("five of four").to_string(), "4 of them are out on this loan, so 1 to 4 came back.");
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert_eq!(club.find("SELECT COALESCE(outcome, 'out') FROM lent ORDER BY 1").await, ["back", "out"]);
    }

    async fn of_two_tablets_at_once_the_one_that_reports_danger_is_heard(club: TestClub) {
        let mut rounds = Rounds::new("races of a report with a take-back", &club, Duration::from_secs(2), 1_000);
        let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await);
        let packs = if is_long() { 1_000 } else { 40 };
        club.fit_packs(packs).await;
        while rounds.done() < packs && rounds.go_on() {
            let number = rounds.done().to_string();
            hand_out(&quinn, &ada, &number).await;
            let lines = lines(&club).await;
            let (volts_page, shown) = (meter(&quinn, &lines).await, tablet(&rosa, &lines).await);
            let (volts, seen) = (named("volts_line", &lines[0]), named("seen", &lines[0]));
            let good = [(volts.as_str(), GOOD), ("rested", "rested_an_hour")];
            let swollen = [(seen.as_str(), "swollen")];
            let (taken, reported) = tokio::join!(
                quinn.submit(&volts_page, "main form", &good),
                rosa.submit(&shown, "main form", &swollen),
            );
            taken.done();
            reported.done();
            assert_eq!(state(&quinn, &format!("P-{:03}", rounds.done())).await, "Quarantine", "round {number}");
        }
        assert!(club.find("SELECT id FROM lent WHERE closed_ms IS NULL").await.is_empty());
        rounds.tell();
    }

    async fn volts_of_a_pack_that_was_back_already_are_stored_and_it_is_named(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 2).await;
        let page = meter(&quinn, &lines).await;
        bring_back_alone(&ada, &lines[0]).await;
        let volts = [named("volts_line", &lines[0]), named("volts_line", &lines[1])];
        let fields = [(volts[0].as_str(), DANGEROUS), (volts[1].as_str(), GOOD), ("rested", "rested_an_hour")];
        let done = quinn.submit(&page, "main form", &fields).await;
        let told = quinn.get(done.done()).await;
        assert!(told.one(".stop[role=alert]").contains("P-001 was back already; its volts are stored: Quarantine."), "{}", told.text);
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert_eq!(state(&quinn, "P-002").await, "Fit");
        assert_eq!(club.find("SELECT outcome FROM lent ORDER BY outcome").await, ["back", "unchecked"]);
    }

    async fn nobody_types_volts_of_a_pack_that_was_back_already(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 2).await;
        let page = meter(&quinn, &lines).await;
        bring_back_alone(&ada, &lines[0]).await;
        let volts = named("volts_line", &lines[1]);
        let done = quinn.submit(&page, "main form", &[(&volts, GOOD), ("rested", "rested_an_hour")]).await;
        assert!(quinn.get(done.done()).await.text.contains("P-001 was back already."));
        let again = quinn.get(&page.path).await;
        assert_eq!(again.status, 409, "nothing is left to measure");
    }

    async fn dangerous_volts_are_stored_though_another_pack_is_typed_wrong(club: TestClub) {
        let (quinn, _, lines) = out(&club, 3).await;
        let page = meter(&quinn, &lines).await;
        let volts: Vec<String> = lines.iter().map(|line| named("volts_line", line)).collect();
        let fields = [(volts[0].as_str(), DANGEROUS), (volts[1].as_str(), "3.8x"), (volts[2].as_str(), GOOD), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&page, "main form", &fields).await;
        assert_eq!(refused.problems().len(), 1);
        assert!(refused.one(".stop").contains("P-001: dangerous volts, taken back and in quarantine"), "{}", refused.text);
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        let kept = |line: &String| refused.select(&format!("input[name='{line}']")).iter().map(|one| one.attribute("value").to_owned()).collect::<Vec<_>>();
        assert_eq!(volts.iter().map(kept).collect::<Vec<_>>(), [vec![], vec!["3.8x".to_owned()], vec![GOOD.to_owned()]]);
        assert_eq!(club.find("SELECT COALESCE(outcome, 'out') FROM lent ORDER BY 1").await, ["back", "out", "out"]);
        let readings = club.ids("reading").await.len();
        let again = quinn.submit(&page, "main form", &fields).await;
        assert_eq!(again.problems(), refused.problems(), "the same form again tells the same");
        assert_eq!(club.ids("reading").await.len(), readings, "sent twice, read once");
        let done = quinn.submit(&refused, "main form", &[(&volts[1], GOOD), ("rested", "rested_an_hour")]).await;
        let told = quinn.get(done.done()).await;
        assert!(told.one("main .lead").starts_with("3 of 3 in."));
        assert_eq!(told.texts(".verdict strong"), ["Quarantine", "Fit", "Fit"]);
    }

    async fn dangerous_volts_are_stored_though_the_place_of_another_pack_was_closed(club: TestClub) {
        let (quinn, _, lines) = out(&club, 2).await;
        let page = meter(&quinn, &lines).await;
        let volts: Vec<String> = lines.iter().map(|line| named("volts_line", line)).collect();
        let (place, nowhere) = (named("place", &lines[0]), uuid::Uuid::from_u128(7).to_string());
        let fields = [(volts[0].as_str(), GOOD), (place.as_str(), nowhere.as_str()), (volts[1].as_str(), DANGEROUS), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&page, "main form", &fields).await;
        assert!(refused.text.contains("Choose a place of the club."), "{}", refused.text);
        assert_eq!(state(&quinn, "P-002").await, "Quarantine");
        assert_eq!(club.find("SELECT COALESCE(outcome, 'out') FROM lent ORDER BY 1").await, ["back", "out"]);
    }

    async fn a_pack_reported_while_it_was_out_shows_that_before_it_is_asked_about(club: TestClub) {
        let (quinn, ada, lines) = out(&club, 2).await;
        ada.post("/packs/P-002/condition", &[("seen", "swollen"), ("key", "s-1")]).await.done();
        let page = tablet(&quinn, &lines).await;
        assert_eq!(page.texts(".item .verdict strong"), ["Quarantine"]);
        assert!(page.one(".item .verdict").contains("wollen"), "{}", page.one(".item .verdict"));
        assert!(page.one(".item .stop").contains("get away, keep others away and call the fire service"));
        let item = page.text.split("<section").nth(2).expect("P-002's part");
        let (stop, question) = (item.find("fire service"), item.find("<fieldset"));
        assert!(stop.is_some() && stop < question, "first what is known, then the question");
    }

    async fn a_pack_that_rested_otherwise_is_judged_by_its_own_rest(club: TestClub) {
        let (quinn, _, lines) = out(&club, 2).await;
        let page = meter(&quinn, &lines).await;
        let volts: Vec<String> = lines.iter().map(|line| named("volts_line", line)).collect();
        let own = named("rested", &lines[0]);
        let mut fields = vec![(volts[0].as_str(), "3.90 3.75 3.90"), (volts[1].as_str(), "3.8x"), (own.as_str(), "just_used"), ("rested", "rested_an_hour")];
        let refused = quinn.submit(&page, "main form", &fields).await;
        assert_eq!(refused.select(&format!("select[name='{own}'] option[selected]"))[0].attribute("value"), "just_used", "kept");
        fields[1].1 = "3.90 3.75 3.90";
        quinn.submit(&refused, "main form", &fields).await.done();
        assert_eq!(club.find("SELECT CAST(last_rested_minutes AS TEXT) FROM pack ORDER BY number_key").await, ["0", "60"]);
        assert_eq!(state(&quinn, "P-002").await, "Set aside", "0.15 V apart after an hour");
        assert_ne!(state(&quinn, "P-001").await, "Set aside", "just used, its spread is not judged");
    }
}
