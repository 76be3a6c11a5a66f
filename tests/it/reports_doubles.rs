//! Two reports of one event: they become one incident whichever of them it begins with and whenever they are merged, with the photos of
//! both. And what is no double.

use crate::book_actions::holds;
use crate::support::*;

fn picture(wide: u32) -> Vec<u8> {
    let dots = image::DynamicImage::new_rgb8(wide, 40);
    let mut bytes = std::io::Cursor::new(Vec::new());
    dots.write_to(&mut bytes, image::ImageFormat::Png)
        .expect("a picture");
    bytes.into_inner()
}

/// Two who saw the same swollen pack, each with a photo of their own: ids and references, the first first.
async fn two_of_one(club: &TestClub) -> [(uuid::Uuid, String); 2] {
    club.fit_packs(1).await;
    for (name, wide) in [("Ada", 60), ("Cy", 80)] {
        let fields = [("seen", "swollen"), ("own_words", ""), ("key", name)];
        let photo = picture(wide);
        let who = club.member(name).await;
        who.send_file(
            "/packs/P-001/condition",
            &fields,
            ("photo", "a.png", &photo),
        )
        .await
        .done();
        club.later_by_minutes(20);
    }
    let references = club
        .find("SELECT reference FROM report ORDER BY came_ms")
        .await;
    let [first, second] = references.as_slice() else {
        panic!("{references:?}")
    };
    let id = async |reference: &str| {
        club.ids(&format!("report WHERE reference = '{reference}'"))
            .await[0]
    };
    [
        (id(first).await, first.clone()),
        (id(second).await, second.clone()),
    ]
}

async fn merge(who: &Browser, double: uuid::Uuid, into: &str) -> Answer {
    let key = sandbucket::ids::new_token();
    let fields = [("what", "merge"), ("into", into), ("key", key.as_str())];
    who.post(&format!("/reports/{double}"), &fields).await
}

async fn begin(who: &Browser, id: uuid::Uuid) -> Answer {
    let page = who.get(&format!("/book/new?report={id}")).await;
    let typed = [
        ("kind", "swelling"),
        ("harm", "nobody"),
        ("harm_could", "nobody"),
        ("damage_was", "itself_only"),
        ("damage_could", "itself_only"),
        ("doing", "stored"),
        ("place", "the hall"),
    ];
    who.submit(&page, "main form", &typed).await
}

async fn incidents(club: &TestClub) -> Vec<String> {
    club.find("SELECT incident FROM report ORDER BY came_ms")
        .await
}

on_both! {
    async fn an_incident_begun_from_the_report_that_stays_takes_the_doubles_photo_along_and_both_lead_to_it(club: TestClub) {
        let [stays, double] = two_of_one(&club).await;
        let quinn = club.quartermaster().await;
        merge(&quinn, double.0, &stays.1).await.done();
        let page = quinn.get(&format!("/reports/{}", double.0)).await;
        assert!(page.select("a[href^='/book/new']").is_empty(), "a double is not written down by itself");
        assert!(page.one("main").contains("It goes into the book with the report that stays, its photo too."), "{}", page.one("main"));
        let asked = quinn.get(&format!("/book/new?report={}", stays.0)).await;
        assert!(asked.one(".notice").contains("2 photos that were sent go into the book"), "{}", asked.one(".notice"));
        begin(&quinn, stays.0).await.done();
        assert_eq!(incidents(&club).await, ["I-001", "I-001"]);
        assert_eq!(club.find("SELECT kind FROM book_file").await, ["photo", "photo"]);
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        for wide in [60, 80] {
            assert!(text.contains(&sandbucket::ids::digest_of(&picture(wide))), "{text}");
        }
        for id in [stays.0, double.0] {
            let page = quinn.get(&format!("/reports/{id}")).await;
            assert_eq!(page.select("a[href='/book/I-001']").len(), 1, "{}", page.one("main"));
        }
        assert!(holds(&quinn).await);
    }

    async fn a_double_that_is_written_down_is_the_incident_of_the_report_that_stays_and_there_is_no_second(club: TestClub) {
        let [stays, double] = two_of_one(&club).await;
        let quinn = club.quartermaster().await;
        merge(&quinn, double.0, &stays.1).await.done();
        let asked = quinn.get(&format!("/book/new?report={}", double.0)).await;
        assert!(asked.one(".notice").contains(&stays.1), "it is asked as the one that stays: {}", asked.one(".notice"));
        begin(&quinn, double.0).await.done();
        assert_eq!(incidents(&club).await, ["I-001", "I-001"]);
        for id in [stays.0, double.0] {
            let again = begin(&quinn, id).await;
            assert!(again.problems()[0].contains("in the book already: incident I-001"), "{:?}", again.problems());
        }
        assert!(holds(&quinn).await);
    }

    async fn reports_that_are_merged_once_one_of_them_stands_in_the_book_are_one_incident(club: TestClub) {
        let [stays, double] = two_of_one(&club).await;
        let quinn = club.quartermaster().await;
        begin(&quinn, stays.0).await.done();
        merge(&quinn, double.0, &stays.1).await.done();
        assert_eq!(incidents(&club).await, ["I-001", "I-001"], "the later double too");
        let page = quinn.get(&format!("/reports/{}", double.0)).await;
        assert!(page.select("a[href^='/book/new']").is_empty() && page.select("a[href='/book/I-001']").len() == 1);
    }

    async fn a_report_into_which_one_of_the_book_is_merged_stands_in_the_book(club: TestClub) {
        let [stays, double] = two_of_one(&club).await;
        let quinn = club.quartermaster().await;
        begin(&quinn, double.0).await.done();
        merge(&quinn, double.0, &stays.1).await.done();
        assert_eq!(incidents(&club).await, ["I-001", "I-001"]);
        assert!(begin(&quinn, stays.0).await.is_refused(), "one event is one incident");
    }

    async fn a_near_miss_is_not_merged_into_a_strangers_letter(club: TestClub) {
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        club.visitor().post("/contact", &[("own_words", "May we visit?"), ("key", "c")]).await.done();
        ada.post("/report", &[("about", "near_miss"), ("own_words", "the sand was gone"), ("key", "n")]).await.done();
        let near = club.ids("report WHERE about = 'near_miss'").await[0];
        let letter = club.find("SELECT reference FROM report WHERE about = 'message'").await.remove(0);
        let refused = merge(&quinn, near, &letter).await;
        assert_eq!(refused.problems(), ["They are about different things."]);
    }
}
