//! What those who run the pool do with a report: it is read, looked at, merged, answered; and none of that lets a pack out.

use crate::support::*;

async fn reported(club: &TestClub, number: usize, from: u8, seen: &str) {
    let sql = format!(
        "SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE k.number_key = {number} AND la.ended_ms IS NULL"
    );
    if club.find(&sql).await.is_empty() {
        let path = format!("/packs/P-{number:03}/label");
        let quinn = club.quartermaster().await;
        quinn.post(&path, &[("what", "make")]).await.done();
    }
    let at = format!("/t/{}/report", club.find(&sql).await[0]);
    let visitor = club.visitor().at([203, 0, 113, from]);
    let key = sandbucket::ids::new_token();
    let fields = [("seen", seen), ("key", key.as_str())];
    visitor.post(&at, &fields).await.done();
}

async fn state(club: &TestClub) -> String {
    club.find("SELECT state FROM pack ORDER BY number_key")
        .await
        .remove(0)
}

/// The page of the latest report.
async fn latest(club: &TestClub, who: &Browser) -> Answer {
    let mut ids = club.ids("report").await;
    ids.sort_unstable();
    who.get(&format!("/reports/{}", ids[ids.len() - 1])).await
}

fn form(what: &str) -> String {
    format!("form:has(input[name=what][value={what}])")
}

async fn do_it(who: &Browser, page: &Answer, what: &str, typed: &[(&str, &str)]) -> Answer {
    who.submit(page, &form(what), typed).await
}

async fn read_dry(club: &TestClub, quinn: &Browser) {
    club.later_by_minutes(90);
    let fields = [
        ("volts_line", "3.83 3.82 3.83"),
        ("rested", "rested_an_hour"),
    ];
    quinn.post("/packs/P-001/volts", &fields).await.done();
}

on_both! {
    async fn those_that_nobody_read_stand_first_and_the_gravest_on_top(club: TestClub) {
        club.fit_packs(3).await;
        reported(&club, 1, 1, "wrap_torn").await;
        club.later_by_minutes(1);
        reported(&club, 2, 2, "swollen").await;
        club.later_by_minutes(1);
        reported(&club, 3, 3, "wet").await;
        let quinn = club.quartermaster().await;
        let told = |page: &Answer| page.texts("tbody [data-label=Told]");
        let list = quinn.get("/reports").await;
        assert_eq!(told(&list), ["Danger: Swollen or puffed", "Danger: Wet", "Outer wrap torn, foil whole"]);
        assert!(quinn.get("/packs").await.text.contains("3 reports that nobody has read"));
        let first = quinn.get(list.select("tbody th a")[0].attribute("href")).await;
        do_it(&quinn, &first, "read", &[]).await.done();
        let list = quinn.get("/reports").await;
        assert_eq!(told(&list)[2], "Danger: Swollen or puffed", "read, so it stands last");
        assert!(quinn.get("/packs").await.text.contains("2 reports that nobody has read"));
        let again = quinn.get(&first.path).await;
        assert!(again.select(&form("read")).is_empty() && again.text.contains("by Quinn"));
    }

    async fn it_was_so_makes_it_as_grave_as_it_was_seen_and_no_release_follows(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "swollen").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let page = latest(&club, &quinn).await;
        for (typed, words) in [(&[("looked", "puffed")][..], "Choose whether it was so."), (&[("was_so", "yes")], "Say what you saw when you looked.")] {
            let refused = do_it(&quinn, &page, "look", typed).await;
            assert_eq!(refused.problems(), [words]);
        }
        do_it(&quinn, &page, "look", &[("was_so", "yes"), ("looked", "puffed on both sides")]).await.done();
        let open = "SELECT rule || ' ' || gravity FROM finding WHERE closed_ms IS NULL";
        assert_eq!(club.find(open).await, ["swollen final_danger"]);
        let refused = rosa.post("/packs/P-001/release", &[("release_reason", "it went down")]).await;
        assert!(refused.problems()[0].starts_with("What was seen on it is final"));
        let history = quinn.get("/packs/P-001").await.texts("ol.log li span");
        assert!(history[0].contains("looked at what was reported: it was so") && history[0].contains("puffed on both sides"), "{}", history[0]);
        let page = quinn.get(&page.path).await;
        assert!(page.select(&form("look")).is_empty(), "said once");
    }

    async fn it_was_not_so_lifts_nothing_and_opens_the_way_that_the_rules_give(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "swollen").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        read_dry(&club, &quinn).await;
        club.watches_are_over().await;
        let release = async || rosa.post("/packs/P-001/release", &[("release_reason", "flat and cold")]).await;
        assert!(release().await.problems()[0].contains("nobody said yet whether it was so"));
        let page = latest(&club, &quinn).await;
        do_it(&quinn, &page, "read", &[]).await.done();
        do_it(&quinn, &page, "answer", &[("answer", "We look at it.")]).await.done();
        assert_eq!(state(&club).await, "quarantine", "neither reading nor answering lifts it");
        do_it(&quinn, &page, "look", &[("was_so", "no"), ("looked", "flat and cold")]).await.done();
        assert_eq!(state(&club).await, "quarantine", "nor does finding it wrong");
        let done = rosa.post("/packs/P-001/release", &[("release_reason", "flat and cold")]).await;
        assert_eq!(done.status, 303, "{:?}", done.problems());
        assert_eq!(state(&club).await, "fit");
    }

    async fn of_two_who_look_at_once_whoever_saw_that_it_was_so_is_believed(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "swollen").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let (first, second) = (latest(&club, &quinn).await, latest(&club, &rosa).await);
        do_it(&quinn, &first, "look", &[("was_so", "no"), ("looked", "whole to me")]).await.done();
        do_it(&rosa, &second, "look", &[("was_so", "yes"), ("looked", "puffed at the back")]).await.done();
        assert_eq!(state(&club).await, "quarantine");
        let said = "SELECT looked_words || ' ' || CASE WHEN was_so THEN 'so' ELSE 'not so' END FROM report";
        assert_eq!(club.find(said).await, ["puffed at the back so"]);
        assert!(latest(&club, &quinn).await.one("main").contains("it was so"));
        // Nobody says either again.
        for (who, so) in [(&rosa, "yes"), (&quinn, "no")] {
            let again = do_it(who, &second, "look", &[("was_so", so), ("looked", "again"), ("key", so)]).await;
            assert!(again.problems()[0].contains("already"), "{:?}", again.problems());
        }
        assert_eq!(club.find("SELECT rule FROM finding WHERE gravity = 'final_danger'").await, ["swollen"]);
    }

    async fn doubles_are_merged_into_one_that_is_as_grave_and_nothing_is_lifted_by_it(club: TestClub) {
        club.fit_packs(2).await;
        reported(&club, 1, 1, "wrap_torn").await;
        club.later_by_minutes(1);
        reported(&club, 1, 2, "wet").await;
        club.later_by_minutes(1);
        reported(&club, 2, 3, "wet").await;
        let quinn = club.quartermaster().await;
        let references = club.find("SELECT reference FROM report ORDER BY came_ms").await;
        let [torn, wet, other] = references.as_slice() else { panic!("{references:?}") };
        let page_of = async |reference: &str| {
            let list = quinn.get("/reports").await;
            let found = list.select("tbody th a").into_iter().find(|link| link.text == reference);
            quinn.get(found.expect("the report").attribute("href")).await
        };
        let merge = async |from: &str, into: &str| do_it(&quinn, &page_of(from).await, "merge", &[("into", into)]).await;
        assert!(merge(wet, torn).await.problems()[0].contains("graver"));
        assert_eq!(merge(wet, other).await.problems(), ["They are about different things."]);
        assert_eq!(merge(wet, wet).await.problems(), ["That is this report itself."]);
        assert!(merge(wet, "none").await.problems()[0].contains("no such other report"));
        merge(torn, wet).await.done();
        assert_eq!(state(&club).await, "quarantine");
        let stays = page_of(wet).await;
        assert!(stays.one("main").contains("Doubles of it") && stays.text.contains(torn.as_str()));
        let double = page_of(torn).await;
        assert!(double.select(&form("look")).is_empty() && double.text.contains("It is a double."));
        do_it(&quinn, &stays, "look", &[("was_so", "yes"), ("looked", "dripping")]).await.done();
        let open = "SELECT rule FROM finding WHERE closed_ms IS NULL AND pack_id = (SELECT id FROM pack WHERE number = 'P-001') ORDER BY rule";
        assert_eq!(club.find(open).await, ["wet", "wrap_torn"], "what each told of stands now");
    }

    async fn a_report_that_is_merged_is_looked_at_with_the_one_that_stays_before_the_pack_is_released(club: TestClub) {
        club.fit_packs(2).await;
        // The second danger from one network in a day sets aside alone; another network's quarantines.
        for (number, from) in [(2, 1), (1, 1), (1, 2)] {
            reported(&club, number, from, "wet").await;
            club.later_by_minutes(1);
        }
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let stays = club.ids("report WHERE effect = 'set_aside'").await[0];
        let reference = club.find("SELECT reference FROM report WHERE effect = 'set_aside'").await.remove(0);
        let double = latest(&club, &quinn).await;
        do_it(&quinn, &double, "merge", &[("into", &reference)]).await.done();
        read_dry(&club, &quinn).await;
        club.watches_are_over().await;
        let release = async || rosa.post("/packs/P-001/release", &[("release_reason", "dry and cold")]).await;
        let refused = release().await;
        assert!(refused.is_refused() && refused.problems()[0].contains("nobody said yet whether it was so"), "{:?}", refused.problems());
        let page = quinn.get(&format!("/reports/{stays}")).await;
        do_it(&quinn, &page, "look", &[("was_so", "no"), ("looked", "dry and cold")]).await.done();
        release().await.done();
        assert_ne!(state(&club).await, "quarantine");
    }

    async fn the_reporter_sees_that_it_was_read_and_the_answer_and_nothing_else(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "wet").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let page = latest(&club, &quinn).await;
        assert_eq!(do_it(&quinn, &page, "answer", &[("answer", " ")]).await.problems(), ["Write the answer."]);
        let named = do_it(&quinn, &page, "answer", &[("answer", "Thank you. Rosa carried it out.")]).await;
        assert!(named.problems()[0].starts_with("Somebody of the club is named here.") && named.text.contains("Rosa carried it out."), "what was typed is kept: {:?}", named.problems());
        do_it(&quinn, &page, "answer", &[("answer", "Thank you, it is out of use.")]).await.done();
        let token = club.find("SELECT token FROM report").await.remove(0);
        let visitor = club.visitor();
        let theirs = visitor.get(&format!("/reported/{token}")).await;
        assert!(theirs.text.contains("Thank you, it is out of use.") && !theirs.text.contains("Nobody has read it"));
        club.later_by_minutes(90);
        do_it(&rosa, &page, "answer", &[("answer", "It was disposed of."), ("key", "late")]).await.done();
        let theirs = visitor.get(&format!("/reported/{token}")).await;
        assert_eq!(theirs.texts("dd:has(.lines)").len(), 2, "{}", theirs.text);
        assert!(theirs.texts("dd:has(.lines)")[0].starts_with("Thank you, it is out of use. ("), "the first stays, with when it was given");
        assert!(theirs.texts("dd:has(.lines) time").len() == 2 && !theirs.text.contains("Rosa"));
        let ours = latest(&club, &quinn).await;
        let answers = ours.texts("dd:has(.lines)");
        assert!(answers[0].contains("by Quinn") && answers[1].contains("by Rosa") && ours.text.contains("once more"), "{answers:?}");
        for secret in ["P-001", "Quinn", "quarantine place", "LiPo"] {
            assert!(!theirs.text.contains(secret), "{secret}");
        }
        for guessed in ["x", "0123456789abcdefghjkmnopqr"] {
            assert_eq!(visitor.get(&format!("/reported/{guessed}")).await.status, 404);
        }
    }

    async fn danger_that_only_set_a_pack_aside_is_seen_to_at_once_until_somebody_looked(club: TestClub) {
        club.fit_packs(2).await;
        reported(&club, 1, 1, "wet").await;
        reported(&club, 2, 1, "wet").await;
        let quinn = club.quartermaster().await;
        let row = || async { quinn.get("/to-see-to").await.texts("tbody tr").into_iter().find(|row| row.contains("P-002")).unwrap_or_default() };
        assert!(row().await.contains("Set aside") && row().await.contains("At once"), "{}", row().await);
        let finding = club.ids("finding WHERE gravity = 'to_mend'").await[0].to_string();
        let mend = async |key| quinn.post("/packs/P-002/mended", &[("finding", &finding), ("reason", "dry and whole"), ("key", key)]).await;
        let refused = mend("early").await;
        assert_eq!(refused.problems(), ["Danger was reported, and nobody said yet whether it was so. Look at it, and say so on the report."]);
        assert!(refused.select("form[action$=mended]").is_empty(), "it is not offered either");
        let ways = quinn.get("/packs/P-002/way-out").await;
        let offered = ways.select("input[name=way]");
        assert_eq!(offered.iter().map(|way| way.attribute("value")).collect::<Vec<_>>(), ["retire", "lost"]);
        assert!(ways.text.contains("look at that report first"), "{}", ways.one("main"));
        for way in ["give-away", "withdraw"] {
            let gone = quinn.post("/packs/P-002/way-out", &[("way", way), ("reason", "for free"), ("key", way)]).await;
            assert!(gone.is_refused() && gone.text.contains("Somebody told of danger on it, and nobody said whether it was so"), "{way}: {}", gone.status);
        }
        let report = refused.select("ol.told a[href^='/reports/']")[0].attribute("href").to_owned();
        let page = quinn.get(&report).await;
        do_it(&quinn, &page, "look", &[("was_so", "no"), ("looked", "dry")]).await.done();
        assert!(row().await.contains("Set aside") && row().await.contains("This week"), "{}", row().await);
        mend("looked").await.done();
    }

    async fn what_was_reported_and_was_not_so_is_closed_in_its_own_words_and_once_for_all_its_doubles(club: TestClub) {
        club.fit_packs(1).await;
        for network in [1, 2, 3] {
            let seen = ["wrap_torn", "lead_damaged", "connector_damaged"][usize::from(network) - 1];
            reported(&club, 1, network, seen).await;
            club.later_by_minutes(1);
        }
        let quinn = club.quartermaster().await;
        let stays = club.find("SELECT reference FROM report ORDER BY came_ms").await.remove(0);
        let double = club.ids("report WHERE seen = 'lead_damaged'").await[0];
        do_it(&quinn, &quinn.get(&format!("/reports/{double}")).await, "merge", &[("into", &stays)]).await.done();
        let id = club.ids(&format!("report WHERE reference = '{stays}'")).await[0];
        do_it(&quinn, &quinn.get(&format!("/reports/{id}")).await, "look", &[("was_so", "no"), ("looked", "all whole")]).await.done();
        let page = quinn.get("/packs/P-001").await;
        assert_eq!(page.texts("ol.told > li").len(), 3, "{}", page.text);
        assert_eq!(page.texts("form[action$='/mended'] button"), ["It was not so: close it", "It is mended"], "once for what was looked at");
        quinn.submit(&page, "form[action$='/mended']", &[("reason", "all whole, cold")]).await.done();
        let page = quinn.get("/packs/P-001").await;
        let open = "SELECT words FROM finding WHERE closed_ms IS NULL";
        assert_eq!(club.find(open).await.len(), 1, "nobody looked at the third: {:?}", club.find(open).await);
        let history = page.texts("ol.log li span");
        assert!(history[0].contains("closed what was reported and was not so") && !history[0].contains("mended"), "{}", history[0]);
    }

    async fn something_else_alone_is_asked_for_words_and_danger_beside_it_counts(club: TestClub) {
        club.fit_packs(1).await;
        let ada = club.member("Ada").await;
        let page = ada.get("/packs/P-001/condition?now=no").await;
        let refused = ada.submit(&page, "main form", &[("seen", "something_else")]).await;
        assert_eq!(refused.problems(), ["Say in your own words what you see."]);
        assert_eq!(state(&club).await, "fit");
        let both = [("seen", "something_else"), ("seen", "wet"), ("key", "both")];
        ada.post("/packs/P-001/condition", &both).await.done();
        assert_eq!(state(&club).await, "quarantine");
    }

    async fn two_who_answer_at_once_leave_both_answers_and_a_form_sent_twice_one(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "wet").await;
        reported(&club, 1, 2, "wet").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let page = latest(&club, &quinn).await;
        let (one, other) = ([("answer", "It is out of use."), ("key", "a")], [("answer", "Thank you."), ("key", "b")]);
        let (first, second, again) = tokio::join!(
            do_it(&quinn, &page, "answer", &one),
            do_it(&rosa, &page, "answer", &other),
            do_it(&quinn, &page, "answer", &one)
        );
        assert_eq!((first.done(), second.done()), (again.done(), again.done()));
        let mut stand = club.find("SELECT words FROM report_answer").await;
        stand.sort();
        assert_eq!(stand, ["It is out of use.", "Thank you."]);
        let older = "SELECT token FROM report WHERE id NOT IN (SELECT report_id FROM report_answer)";
        let older = format!("/reported/{}", club.find(older).await.remove(0));
        let visitor = club.visitor();
        assert!(visitor.get(&older).await.text.contains("None yet."));
        let stays = club.find("SELECT reference FROM report WHERE id IN (SELECT report_id FROM report_answer)").await.remove(0);
        let double = quinn.get(quinn.get("/reports").await.select("[data-fresh=unread] tbody th a")[0].attribute("href")).await;
        do_it(&quinn, &double, "merge", &[("into", &stays)]).await.done();
        assert_eq!(visitor.get(&older).await.texts("dd:has(.lines)").len(), 2, "who sent the double reads both");
    }

    async fn what_a_stranger_ticked_and_wrote_is_read_together_once_it_was_so(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let at = format!("/t/{}/report", club.find("SELECT code FROM label").await[0]);
        let words = "it fell off the bench by the window";
        let told = [("seen", "wet"), ("seen", "wrap_torn"), ("own_words", words), ("key", "told")];
        club.visitor().post(&at, &told).await.done();
        let page = latest(&club, &quinn).await;
        do_it(&quinn, &page, "look", &[("was_so", "yes"), ("looked", "soaked")]).await.done();
        let open = "SELECT words FROM finding WHERE closed_ms IS NULL ORDER BY words";
        assert_eq!(club.find(open).await, ["Seen: Outer wrap torn, foil whole.", "Seen: Wet: it fell off the bench by the window"]);
        assert!(quinn.get("/packs/P-001").await.one(".verdict").contains("Wet: it fell off the bench"));
    }

    async fn a_strangers_long_words_are_shortened_in_lists_and_stand_whole_on_the_reports_own_page(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "make")]).await.done();
        let at = format!("/t/{}/report", club.find("SELECT code FROM label").await[0]);
        let words = format!("{}the end", "it rattles. ".repeat(40));
        for (network, key) in [(1, "one"), (2, "two")] {
            let told = [("seen", "wet"), ("seen", "something_else"), ("own_words", words.as_str()), ("key", key)];
            club.visitor().at([203, 0, 113, network]).post(&at, &told).await.done();
            club.later_by_minutes(1);
        }
        let page = latest(&club, &quinn).await;
        assert!(page.one(".lead").contains("the end"), "whole on its own page");
        for list in ["/reports", "/to-see-to", "/quarantine"] {
            let rows = quinn.get(list).await.one("tbody");
            assert!(rows.contains("Wet; it rattles.") || rows.contains("Wet: it rattles."), "{list}: {rows}");
            assert!(rows.contains('…') && !rows.contains("the end"), "{list}: {rows}");
        }
        let stays = club.find("SELECT reference FROM report ORDER BY came_ms").await.remove(0);
        do_it(&quinn, &page, "merge", &[("into", &stays)]).await.done();
        let id = club.ids(&format!("report WHERE reference = '{stays}'")).await[0];
        let doubles = quinn.get(&format!("/reports/{id}")).await.one("[data-fresh=doubles]");
        assert!(doubles.contains('…') && !doubles.contains("the end"), "{doubles}");
    }

    async fn two_who_say_different_things_at_once_leave_one_answer(club: TestClub) {
        club.fit_packs(1).await;
        reported(&club, 1, 1, "swollen").await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let page = latest(&club, &quinn).await;
        let (so, not) = ([("was_so", "yes"), ("looked", "puffed"), ("key", "a")], [("was_so", "no"), ("looked", "flat"), ("key", "b")]);
        let (one, other) = tokio::join!(do_it(&quinn, &page, "look", &so), do_it(&rosa, &page, "look", &not));
        let done = [one.status.as_u16(), other.status.as_u16()];
        // What was seen counts, whoever of them came first; who saw nothing is told that somebody did.
        assert_eq!(done[0], 303, "{done:?}");
        assert_eq!(club.find("SELECT looked_words FROM report WHERE was_so").await, ["puffed"], "{done:?}");
        assert_eq!(state(&club).await, "quarantine");
    }
}
