//! A form that is sent after its session ended: five quiet minutes at the table's tablet, two weeks on a phone. What was
//! typed is kept on the page that asks for a sign-in and sent by whoever signs in there, when they say so.

use crate::support::*;
use axum::http::Method;
use uuid::Uuid;

const CODE: &str = "482915";

async fn set_code(club: &TestClub, id: Uuid) {
    let fields = [("code_password", PASSWORD), ("code", CODE)];
    let own = club.signed_in(id).await;
    own.post("/me/table-code", &fields).await.done();
}

/// Quinn at the table's tablet, with a pack and somebody to borrow it.
async fn table(club: &TestClub) -> (Browser, Uuid, Browser) {
    let tablet = club.start().await;
    club.fit_packs(1).await;
    let quinn = club.ids("person WHERE sign_in = 'quinn'").await[0];
    let ada = club.borrower("Ada").await;
    tablet
        .post("/tablets", &[("name", "Table by the door")])
        .await
        .done();
    set_code(club, quinn).await;
    sit_down(&tablet, quinn).await;
    (tablet, quinn, ada)
}

async fn sit_down(tablet: &Browser, id: Uuid) {
    let id = id.to_string();
    let fields = [("who", id.as_str()), ("code", CODE)];
    tablet.post("/table", &fields).await.done();
}

/// The same, by the pages that keep a form.
async fn tap_and_code(tablet: &Browser, page: &Answer, id: Uuid, code: &str) -> Answer {
    let id = id.to_string();
    let tapped = tablet
        .submit(page, "form[action='/table']", &[("who", id.as_str())])
        .await;
    tablet
        .submit(&tapped, "form[action='/table']", &[("code", code)])
        .await
}

on_both! {
    async fn a_hand_out_typed_at_the_table_survives_five_quiet_minutes(club: TestClub) {
        let (tablet, quinn, ada) = table(&club).await;
        let page = tablet.get("/hand-out").await;
        club.later_by_minutes(6);
        let to = ada.id().to_string();
        let fields = [("person", to.as_str()), ("items", "1"), ("purpose", "Two \"rounds\" &\nmore")];
        let asked = tablet.submit(&page, "main form", &fields).await;
        assert_eq!(asked.status, 401);
        assert!(asked.one("main [role=alert]").contains("It is kept here"), "{}", asked.text);
        assert!(club.ids("loan").await.is_empty(), "nothing is stored by nobody");
        let wrong = tap_and_code(&tablet, &asked, quinn, "000000").await;
        assert!(wrong.is_refused());
        let kept = tablet.submit(&wrong, "form[action='/table']", &[("code", CODE)]).await;
        assert_eq!(kept.status, 200);
        assert_eq!(kept.one("main button"), format!("Send it as {}", kept.one(".who span")));
        assert!(club.ids("loan").await.is_empty(), "the person says when it is sent");
        tablet.submit(&kept, "main form", &[]).await.done();
        assert_eq!(club.find("SELECT purpose FROM loan").await, ["Two \"rounds\" &\nmore"]);
        let again = tablet.submit(&kept, "main form", &[]).await;
        assert!(again.done().starts_with("/loans/"), "sent twice, handed out once");
        assert_eq!(club.ids("loan").await.len(), 1);
    }

    async fn at_the_table_nobody_sends_what_another_one_typed(club: TestClub) {
        let (tablet, quinn, ada) = table(&club).await;
        let bea = club.with_password("Bea").await;
        set_code(&club, bea).await;
        let page = tablet.get("/hand-out").await;
        club.later_by_minutes(6);
        let to = ada.id().to_string();
        let asked = tablet.submit(&page, "main form", &[("person", to.as_str()), ("items", "1")]).await;
        let other = tap_and_code(&tablet, &asked, bea, CODE).await;
        assert_eq!(other.one("h1"), "What was typed is not sent");
        assert!(other.select("main form").is_empty(), "it may be what takes a second person");
        assert!(other.select("main [role=alert]").is_empty(), "nothing of it tells of danger");
        sit_down(&tablet, quinn).await;
        let page = tablet.get("/hand-out").await;
        club.later_by_minutes(6);
        let asked = tablet.submit(&page, "main form", &[("person", to.as_str()), ("items", "1")]).await;
        let tapped = tablet.submit(&asked, "form[action='/table']", &[("who", bea.to_string().as_str())]).await;
        let back = tablet.submit(&tapped, "form[action='/table']:not(:has([name=who]))", &[]).await;
        let kept = tap_and_code(&tablet, &back, quinn, CODE).await;
        assert!(kept.one("dl.facts").contains("items1"), "it is read once more: {}", kept.one("main"));
        tablet.submit(&kept, "main form", &[]).await.done();
        assert_eq!(club.ids("loan").await.len(), 1);
    }

    async fn at_the_table_the_next_person_reads_what_another_one_typed_of_danger_and_sends_nothing_of_it(club: TestClub) {
        let (tablet, quinn, ada) = table(&club).await;
        let bea = club.with_password("Bea").await;
        set_code(&club, bea).await;
        let to = ada.id().to_string();
        club.quartermaster().await.post("/hand-out", &[("person", to.as_str()), ("items", "1")]).await.done();
        let line = club.ids("lent").await[0];
        let (seen, words) = (format!("seen-{line}"), format!("own_words-{line}"));
        let items = format!("/take-back/items?lent={line}");
        type Typed<'t> = (&'t str, &'t str, &'t [(&'t str, &'t str)]);
        let typed: [Typed<'_>; 3] = [
            ("/packs/P-001/condition?now=no", "main form", &[("seen", "swollen"), ("own_words", "like a cushion")]),
            (&items, "form[action='/take-back/items']", &[(&seen, "swollen"), (&words, "like a cushion")]),
            ("/report?now=no", "main form", &[("seen", "swollen"), ("own_words", "Mo's own"), ("about", "near_miss")]),
        ];
        for (path, form, fields) in typed {
            sit_down(&tablet, quinn).await;
            let page = tablet.get(path).await;
            club.later_by_minutes(6);
            let asked = tablet.submit(&page, form, fields).await;
            assert!(asked.one("main [role=alert]").starts_with("Not sent: tell a person of the club now."), "{path}: {}", asked.text);
            let other = tap_and_code(&tablet, &asked, bea, CODE).await;
            assert!(other.one("main [role=alert]").contains("It tells of danger, and nobody has it yet: tell a person of the club now."), "{path}: {}", other.text);
            assert!(other.select("main form").is_empty() && other.select("main button").is_empty(), "nothing of it is sent in her name");
            let told = other.one("main .told");
            let ways = other.select("main .told a");
            let link = ways[0].attribute("href");
            if path.starts_with("/report") {
                assert!(told.contains("Swollen or puffed") && link == "/report", "{told}");
                assert!(!other.text.contains("Mo's own"), "those who run the pool alone would have read it");
            } else {
                assert!(told.contains("P-001: Swollen or puffed; like a cushion") && link == "/packs/P-001/condition", "{path}: {told}");
            }
            assert_eq!(tablet.get(link).await.status, 200);
        }
        assert!(club.ids("report").await.is_empty() && club.ids("finding").await.is_empty(), "nothing is stored");
        sit_down(&tablet, quinn).await;
        let page = tablet.get("/report?now=no").await;
        club.later_by_minutes(6);
        let asked = tablet.submit(&page, "main form", &[("own_words", "a loose socket"), ("about", "near_miss")]).await;
        let other = tap_and_code(&tablet, &asked, bea, CODE).await;
        assert!(other.one("main [role=alert]").contains("ask who sat here before") && !other.text.contains("a loose socket"));
    }

    async fn strangers_use_up_no_members_turn_to_keep_a_report_and_who_is_turned_away_is_told_to_tell_a_person(club: TestClub) {
        club.fit_packs(1).await;
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        club.later_by_days(14);
        let at = "/packs/P-001/condition";
        let report = [("seen", "swollen")];
        let sent = async |who: &Browser| who.send_file(at, &report, ("photo", "", b"")).await;
        let mut held = 0;
        for network in 0..8 {
            for _ in 0..13 {
                let answer = sent(&club.visitor().at([203, 0, 113, network])).await;
                if answer.status == 429 {
                    held += 1;
                    assert!(answer.one("main [role=alert]").starts_with("Not sent: tell a person of the club now."), "{}", answer.text);
                } else {
                    assert_eq!(answer.status, 401);
                    assert!(answer.one("main [role=alert]").starts_with("Not sent: tell a person of the club now."), "{}", answer.text);
                }
            }
        }
        assert_eq!(held, 8, "each network has twelve at once");
        while sent(&club.visitor()).await.status != 429 {}
        let asked = sent(&ada).await;
        assert_eq!(asked.status, 401, "whose session it was is known, so no stranger in the same network takes her turn");
        let kept = ada.submit(&asked, "form[action='/sign-in']", &[("sign_in", "ada"), ("password", PASSWORD)]).await;
        ada.submit(&kept, "main form", &[]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
    }

    async fn on_a_phone_the_password_opens_the_way_and_a_wrong_one_loses_nothing(club: TestClub) {
        club.fit_packs(1).await;
        let id = club.with_password("Ada").await;
        let ada = club.signed_in(id).await;
        let page = ada.get("/packs/P-001/condition?now=no").await;
        club.later_by_days(15);
        let asked = ada.submit(&page, "main form", &[("seen", "wet")]).await;
        assert_eq!(asked.status, 401);
        let wrong = ada.submit(&asked, "form[action='/sign-in']", &[("sign_in", "ada"), ("password", "not the right one")]).await;
        assert!(wrong.is_refused());
        let kept = ada.submit(&wrong, "form[action='/sign-in']", &[("sign_in", "ada"), ("password", PASSWORD)]).await;
        assert_eq!(kept.one("main button"), "Send it as Ada");
        ada.submit(&kept, "main form", &[]).await.done();
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
    }

    async fn another_sites_form_is_not_kept_and_neither_are_passwords(club: TestClub) {
        club.fit_packs(1).await;
        let nobody = club.visitor();
        for headers in [&[("sec-fetch-site", "cross-site")][..], &[("origin", "https://example.org")][..]] {
            let fields = urlencoded(&[("seen", "wet")]);
            let answer = nobody.send(Method::POST, "/packs/P-001/condition", headers, Some(fields)).await;
            assert_eq!(answer.status, 401, "{headers:?}");
            assert!(answer.select("[name=kept]").is_empty(), "{headers:?}");
        }
        let answer = nobody.post("/me/password", &[("new_password", "a secret of fifteen letters")]).await;
        assert_eq!(answer.status, 401);
        assert!(!answer.text.contains("a secret"), "{}", answer.text);
        for elsewhere in ["https://example.org/", "//example.org/"] {
            let id = club.with_password("Bea").await;
            let fields = [("sign_in", "bea"), ("password", PASSWORD), ("kept_to", elsewhere), ("kept", "[]")];
            let answer = club.visitor().post("/sign-in", &fields).await;
            assert_eq!(answer.done(), "/", "{elsewhere}");
            club.behind_the_back(&format!("UPDATE person SET sign_in = NULL WHERE id = {}", club.literal(id))).await.expect("free again");
        }
    }
}
