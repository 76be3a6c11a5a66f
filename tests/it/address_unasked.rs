//! An address for mail that was kept while no mail server was set: told as not confirmed once there is one, asked about by one press,
//! and until it is confirmed nothing goes there but what its person must put right, and danger.

use crate::reminders::{decided, lend};
use crate::support::*;
use sandbucket::tasks::remind;

/// Ada has P-001, due on Thu 26 Nov, and kept an address; no mail server is set.
async fn kept_without_a_server(club: &TestClub) -> Browser {
    club.fit_packs(2).await;
    let ada = club.borrower("Ada").await;
    lend(club, &ada, "P-001", "2026-11-26").await;
    keeps(&ada, "ada@millrace.example").await;
    ada
}

async fn keeps(who: &Browser, address: &str) {
    let page = who.get("/me/reminders").await;
    let kept = who
        .submit(
            &page,
            "form[action='/me/reminders']",
            &[("address", address)],
        )
        .await;
    assert_eq!(kept.done(), "/me/reminders?kept=yes");
}

/// The settings get a mail server.
fn with_server(club: TestClub, post: &Post) -> TestClub {
    let mut club = club;
    club.app = club.with_settings(|settings| {
        settings.smtp_url = Some(post.url());
        settings.public_url = Some("https://packs.example".to_owned());
    });
    club
}

const ASKS: &str = "form[action='/me/reminders/ask']";
const UNASKED: &str = "SELECT address FROM reach WHERE unasked_ms IS NOT NULL";

on_both! {
    async fn without_a_server_an_address_is_kept_unconfirmed_and_pages_show_what_would_have_been_sent(club: TestClub) {
        kept_without_a_server(&club).await;
        assert_eq!(club.find(UNASKED).await, ["ada@millrace.example"]);
        decided(&club, "2026-11-27").await;
        assert_eq!(club.find("SELECT DISTINCT answer FROM mail").await, ["No mail server is set."]);
        let ada = club.member("Ada").await;
        let page = ada.get("/me/reminders").await;
        assert!(page.one("main").contains("Once one is set you are asked here to confirm it"), "{}", page.text);
        assert_eq!(page.select(ASKS).len(), 0, "nothing to ask by");
        let link = page.select("main ol.log a")[0].attribute("href").to_owned();
        assert!(ada.get(&link).await.one("pre").contains("P-001: loan overdue"));
        // Who asks all the same is told why not.
        let refused = ada.post("/me/reminders/ask", &[]).await;
        assert_eq!(refused.problems(), ["No mail server is set here, so nobody can be asked by mail. Whoever runs this server sets one."]);
        // Kept once more, it is what it was; emptied, nothing is.
        keeps(&ada, "ada@millrace.example").await;
        assert_eq!(club.find(UNASKED).await.len(), 1);
        keeps(&ada, "").await;
        assert_eq!(club.find(UNASKED).await, Vec::<String>::new());
    }

    async fn once_a_server_is_set_one_press_asks_and_only_what_one_must_put_right_goes_there_before(club: TestClub) {
        let post = Post::open().await;
        kept_without_a_server(&club).await;
        decided(&club, "2026-11-26").await;
        let club = with_server(club, &post);
        decided(&club, "2026-11-27").await;
        let told: Vec<String> = post.received().iter().map(Received::text).collect();
        assert!(told.len() == 1 && told[0].contains("P-001: loan overdue"), "what one must put right is not missed: {told:?}");
        let ada = club.member("Ada").await;
        let page = ada.get("/me/reminders").await;
        assert!(page.one("main").contains("Until you confirm it, only what you must put right"), "{}", page.text);
        let olive = club.organiser().await;
        let on_their_page = async || olive.get(&format!("/people/{}", ada.id())).await.one("main").contains("It was kept while no mail server was set");
        assert!(on_their_page().await);
        assert_eq!(ada.submit(&page, ASKS, &[]).await.done(), "/me/reminders?kept=asked");
        remind::run(&club.app).await.expect("sent");
        let asked = post.received();
        assert_eq!((asked.len(), asked[1].to.as_str()), (2, "ada@millrace.example"));
        let text = asked[1].text();
        let link = text.lines().find_map(|line| line.strip_prefix("https://packs.example")).expect("a link");
        let page = ada.get("/me/reminders?kept=asked").await;
        assert!(page.one("main").contains("A mail with a link went to it"), "{}", page.text);
        let again = ada.submit(&page, ASKS, &[]).await;
        assert_eq!(again.problems(), ["A mail with a link went there less than an hour ago. Look for it there, also among what was taken for junk."]);
        assert_eq!(club.visitor().post(link, &[]).await.status, 200);
        assert_eq!(club.find(UNASKED).await, Vec::<String>::new());
        assert!(!on_their_page().await);
        let page = club.member("Ada").await.get("/me/reminders").await;
        assert!(!page.one("main").contains("not confirmed"), "{}", page.text);
        assert_eq!(ada_asks(&club).await, "/me/reminders?kept=asked", "confirmed meanwhile: nothing is asked");
        remind::run(&club.app).await.expect("sent");
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM mail WHERE is_to_confirm = TRUE").await, ["1"]);
    }

    async fn danger_goes_to_an_address_too_that_was_kept_without_a_server_and_nobody_confirmed(club: TestClub) {
        let post = Post::open().await;
        let ada = kept_without_a_server(&club).await;
        let quinn = club.quartermaster().await;
        keeps(&quinn, "quinn@millrace.example").await;
        let club = with_server(club, &post);
        ada.post("/packs/P-002/condition", &[("seen", "swollen")]).await.done();
        remind::run(&club.app).await.expect("told");
        let to: Vec<String> = post.received().into_iter().map(|mail| mail.to).collect();
        assert_eq!(to, ["quinn@millrace.example"], "nobody is to miss it");
    }
}

async fn ada_asks(club: &TestClub) -> String {
    let ada = club.member("Ada").await;
    ada.post("/me/reminders/ask", &[("key", "late")])
        .await
        .done()
        .to_owned()
}
