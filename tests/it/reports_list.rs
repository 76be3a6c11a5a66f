//! The list of reports in a flood: what strangers send hides nothing that a member told, all of it can be reached, and what somebody went
//! through is read in one press.

use crate::support::*;

/// So many strangers' reports of smoke that nobody read, each a minute after the one before.
async fn flood(club: &TestClub, count: i64) {
    let quinn = club.quartermaster().await;
    quinn
        .post("/packs/P-001/label", &[("what", "make")])
        .await
        .done();
    let code = club.find("SELECT code FROM label").await.remove(0);
    let at = format!("/t/{code}/report");
    club.visitor()
        .post(&at, &[("seen", "smoke_or_fire"), ("key", "the first")])
        .await
        .done();
    for one in 1..count {
        let id = club.literal(sandbucket::ids::new_id());
        let sql = format!(
            "INSERT INTO report (id, token, reference, about, thing, pack_id, seen, words, is_now, place_words, reach, gravity, rank, \
             effect, is_verified, left_out, came_ms) SELECT {id}, 'token {one}', 'F{one}', about, thing, pack_id, seen, words, is_now, \
             place_words, reach, gravity, rank, 'set_aside', is_verified, left_out, came_ms + {one} * 60000 FROM report \
             WHERE token NOT LIKE 'token %'"
        );
        club.behind_the_back(&sql).await.expect("one more");
    }
    club.later_by_minutes(count);
}

async fn unread(club: &TestClub) -> i64 {
    let sql = "SELECT COUNT(*) || '' FROM report WHERE read_ms IS NULL";
    club.find(sql).await[0].parse().expect("a count")
}

on_both! {
    async fn what_members_told_stands_on_the_first_page_however_many_strangers_tell_of_smoke(club: TestClub) {
        club.fit_packs(2).await;
        flood(&club, 205).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        ada.post("/packs/P-002/condition", &[("seen", "swollen"), ("key", "s")]).await.done();
        ada.post("/report", &[("about", "near_miss"), ("own_words", "the sand was gone"), ("key", "n")]).await.done();
        let first = quinn.get("/reports").await;
        let told = first.texts("[data-fresh=unread] tbody [data-label=Told]");
        assert_eq!(told[0], "Danger: Swollen or puffed", "of what is as grave a member's stands first: {told:?}");
        assert_eq!(told[1], "Danger: Smoke, hissing, sparks or fire");
        assert_eq!(told.last().expect("rows"), "the sand was gone", "and a near miss is not crowded out");
        assert_eq!(told.len(), 52);
    }

    async fn every_report_that_nobody_read_is_reached_by_leafing(club: TestClub) {
        club.fit_packs(1).await;
        flood(&club, 120).await;
        let quinn = club.quartermaster().await;
        let (mut at, mut seen) = ("/reports".to_owned(), std::collections::BTreeSet::new());
        for part in [50, 50, 20] {
            let page = quinn.get(&at).await;
            let rows = page.texts("[data-fresh=unread] tbody th");
            assert_eq!(rows.len(), part, "{at}");
            seen.extend(rows);
            let more = page.select("p.pager a").into_iter().find(|link| link.text.contains("More that nobody read"));
            at = more.map(|link| link.attribute("href").to_owned()).unwrap_or_default();
        }
        assert_eq!((at.as_str(), seen.len()), ("", 120), "the last page leads no further");
        for odd in ["0", "-3", "x", "99999999999999999999", "9000"] {
            assert_eq!(quinn.get(&format!("/reports?unread={odd}")).await.status, 200, "{odd}");
        }
    }

    async fn behind_the_last_part_nobody_is_told_that_all_was_read(club: TestClub) {
        club.fit_packs(1).await;
        flood(&club, 50).await;
        let quinn = club.quartermaster().await;
        let told = quinn.get("/reports?unread=2").await.one("main");
        assert!(told.contains("None further back.") && !told.contains("Every report was read"), "{told}");
    }

    async fn letters_and_what_stands_shortened_are_read_one_by_one(club: TestClub) {
        club.fit_packs(1).await;
        flood(&club, 4).await;
        let (stranger, quinn) = (club.visitor().at([203, 0, 113, 9]), club.quartermaster().await);
        let long = format!("It rattles. {}", "And it is a long story. ".repeat(18));
        stranger.post("/contact", &[("own_words", "Call me back"), ("reach", "a@b.example"), ("key", "l")]).await.done();
        let one = format!("UPDATE report SET words = '{long}' WHERE id = (SELECT id FROM report WHERE about <> 'message' ORDER BY came_ms, id LIMIT 1)");
        club.behind_the_back(&one).await.expect("a long story");
        assert_eq!(unread(&club).await, 5);
        let page = quinn.get("/reports").await;
        assert!(page.one("main details").contains("3 reports of people who are not signed in"), "{}", page.one("main details"));
        quinn.submit(&page, "form[action='/reports']", &[]).await.done();
        assert_eq!(unread(&club).await, 2);
    }

    async fn strangers_reports_are_read_many_in_one_press_and_what_members_told_or_came_since_is_not(club: TestClub) {
        club.fit_packs(2).await;
        flood(&club, 60).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        ada.post("/packs/P-002/condition", &[("seen", "swollen"), ("key", "s")]).await.done();
        let hers = club.ids("report WHERE is_verified").await[0].to_string();
        let page = quinn.get("/reports").await;
        assert!(page.one("main details").contains("It lifts nothing"), "{}", page.one("main details"));
        quinn.submit(&page, "form[action='/reports']", &[]).await.done();
        assert_eq!(unread(&club).await, 11, "fifty stood there");
        quinn.post("/reports", &[("read", hers.as_str()), ("key", "h")]).await.done();
        assert_eq!(unread(&club).await, 11, "what a member told is read by itself");
        assert_eq!(club.find("SELECT state FROM pack WHERE number = 'P-001'").await, ["quarantine"]);
        assert_eq!(club.find("SELECT verb FROM activity WHERE verb = 'read'").await.len(), 50, "the log says who read each");
        assert_eq!(ada.post("/reports", &[("read", hers.as_str()), ("key", "a")]).await.status, 403);
        assert_eq!(quinn.post("/reports", &[("read", "x"), ("key", "x")]).await.status, 400);
    }
}
