//! What a report holds about people can be erased: its photo with the one in the incident book, photo and words by choice, and the words
//! that name somebody who is erased. What it told of danger stays.

use crate::book_actions::{holds, opened};
use crate::book_begins::{attach, picture};
use crate::support::*;

/// Somebody's report with a photo, for the key alone otherwise the same.
async fn reported(who: &Browser, words: &str, photo: &[u8]) {
    let key = sandbucket::ids::new_token();
    let fields = [
        ("seen", "swollen"),
        ("own_words", words),
        ("place", "by Ben Oakes's bench"),
        ("key", key.as_str()),
    ];
    who.send_file("/packs/P-001/condition", &fields, ("photo", "a.png", photo))
        .await
        .done();
}

/// Another picture than `picture`.
fn other_picture() -> Vec<u8> {
    let dots = image::DynamicImage::new_rgb8(50, 70);
    let mut bytes = std::io::Cursor::new(Vec::new());
    dots.write_to(&mut bytes, image::ImageFormat::Png)
        .expect("a picture");
    bytes.into_inner()
}

async fn photos(club: &TestClub) -> usize {
    club.find("SELECT original_sha256 FROM report_photo")
        .await
        .len()
}

/// The incident that begins with this report.
async fn begun(who: &Browser, id: uuid::Uuid) {
    let page = who.get(&format!("/book/new?report={id}")).await;
    let typed = [
        ("kind", "swelling"),
        ("harm", "nobody"),
        ("harm_could", "nobody"),
        ("damage_was", "itself_only"),
        ("damage_could", "itself_only"),
        ("doing", "stored"),
        ("names_somebody", "yes"),
        ("place", "the hall"),
    ];
    who.submit(&page, "main form", &typed).await.done();
}

/// The first photo of the incident, by the choice of whoever keeps the book.
async fn erase_from_book(who: &Browser) {
    let page = who.get("/book/I-001").await;
    let offered = page.select("select[name=erased] option");
    let photo = offered
        .iter()
        .find(|one| one.text.contains("its photo"))
        .expect("a photo");
    let typed = [
        ("erased", photo.attribute("value")),
        ("why", "a face is to be seen"),
    ];
    who.submit(&page, "form:has(input[name=what][value=erase])", &typed)
        .await
        .done();
}

on_both! {
    async fn a_photo_erased_from_the_book_is_gone_from_the_report_it_came_with_and_its_double(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, cy, quinn) = (club.member("Ada").await, club.member("Cy").await, club.quartermaster().await);
        reported(&ada, "puffed", &picture()).await;
        club.later_by_minutes(20);
        reported(&cy, "puffed too", &picture()).await;
        club.later_by_minutes(20);
        reported(&club.member("Di").await, "and another", &other_picture()).await;
        let ids = club.find("SELECT CAST(reference AS TEXT) FROM report ORDER BY came_ms").await;
        let mut all = Vec::new();
        for reference in &ids {
            all.push(club.ids(&format!("report WHERE reference = '{reference}'")).await[0]);
        }
        quinn.post(&format!("/reports/{}", all[1]), &[("what", "merge"), ("into", ids[0].as_str()), ("key", "m")]).await.done();
        begun(&quinn, all[0]).await;
        let page = quinn.get("/book/I-001").await;
        assert!(page.text.contains("A photo that came with a report goes there too"), "{}", page.text);
        erase_from_book(&quinn).await;
        for id in &all[..2] {
            for at in [format!("/reports/{id}/photo"), format!("/reports/{id}/photo/small")] {
                assert_eq!(quinn.get(&at).await.status, 404, "{at}");
            }
            let page = quinn.get(&format!("/reports/{id}")).await;
            assert!(page.one("main").contains("Its photo was erased"), "{}", page.one("main"));
        }
        assert_eq!(quinn.get(&format!("/reports/{}/photo", all[2])).await.status, 200, "another's stays");
        assert_eq!(photos(&club).await, 1);
        let reasons = club.find("SELECT after FROM activity WHERE verb = 'erased its photo'").await;
        assert!(reasons.len() == 2 && reasons[0].contains("It was erased from the incident book."), "{reasons:?}");
        let token = club.find("SELECT token FROM report ORDER BY came_ms").await.remove(0);
        let at = format!("/reported/{token}");
        assert!(ada.get(&at).await.select("input[name=photo]").is_empty(), "it is not asked for again");
        ada.send_file(&at, &[("key", "once more")], ("photo", "a.png", &picture())).await.done();
        assert_eq!(photos(&club).await, 1, "and what a phone still holds brings it not back");
        assert!(holds(&quinn).await);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_photo_that_was_taken_from_a_report_and_attached_by_hand_goes_from_both(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        reported(&ada, "puffed", &picture()).await;
        opened(&quinn, &[]).await.done();
        attach(&quinn, "sent.png", &picture()).await.done();
        erase_from_book(&quinn).await;
        assert_eq!(photos(&club).await, 0, "it was sent as just this file");
        assert!(holds(&quinn).await);
    }

    async fn a_reports_photo_and_words_are_erased_after_reading_them_back_and_what_it_did_stays(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        reported(&ada, "Gil Strange dropped it", &picture()).await;
        let id = club.ids("report").await[0];
        let (at, ask) = (format!("/reports/{id}"), format!("/reports/{id}/erase"));
        assert!(quinn.get(&at).await.select(&format!("a[href='{ask}']")).len() == 1);
        let page = quinn.get(&ask).await;
        assert!(page.one("main").contains("Gil Strange dropped it") && page.one("main").contains("This can't be undone."), "{}", page.one("main"));
        let erase = async |typed: &[(&str, &str)]| quinn.submit(&quinn.get(&ask).await, "main form", typed).await;
        assert_eq!(erase(&[("why", "they asked")]).await.problems(), ["Choose what is erased."]);
        assert_eq!(erase(&[("words", "yes")]).await.problems(), ["Say why, without a name."]);
        let named = erase(&[("words", "yes"), ("why", "Ada asked")]).await;
        assert!(named.problems()[0].starts_with("Somebody is named here, where it could never be erased."), "{:?}", named.problems());
        assert_eq!(photos(&club).await, 1, "nothing is gone yet");
        erase(&[("photo", "yes"), ("words", "yes"), ("why", "they asked for it")]).await.done();
        let page = quinn.get(&at).await;
        assert!(!page.text.contains("Strange") && !page.text.contains("Oakes"), "{}", page.one("main"));
        assert!(page.one("main").contains("Swollen or puffed: (erased)") && page.one("main").contains("Danger:"), "{}", page.one("main"));
        assert_eq!((quinn.get(&format!("{at}/photo")).await.status.as_u16(), photos(&club).await), (404, 0));
        assert_eq!(club.find("SELECT gravity || ' ' || effect FROM report").await, ["final_danger quarantined"]);
        assert_eq!(club.find("SELECT state FROM pack").await, ["quarantine"]);
        let log = club.find("SELECT after FROM activity WHERE verb = 'erased its photo and its words'").await;
        assert!(log.len() == 1 && log[0].contains("they asked for it"), "{log:?}");
        assert!(quinn.get(&ask).await.one("main").contains("There is nothing more to erase."));
        let again = quinn.post(&ask, &[("words", "yes"), ("why", "once more"), ("key", "k")]).await;
        assert_eq!(again.problems(), ["That is erased already."]);
        assert_eq!(ada.get(&ask).await.status, 403);
        assert_eq!(ada.post(&ask, &[("words", "yes"), ("why", "x y z"), ("key", "a")]).await.status, 403);
        assert_eq!(quinn.get(&format!("/reports/{}/erase", sandbucket::ids::new_id())).await.status, 404);
        assert_eq!(club.first_break().await, None);
    }

    async fn who_is_erased_is_named_in_no_report_any_more_and_what_the_others_told_stays(club: TestClub) {
        club.fit_packs(1).await;
        let (ben, ada, quinn) = (club.member("Ben Oakes").await, club.member("Ada Lark").await, club.quartermaster().await);
        reported(&ada, "Ben Oakes dropped it", &picture()).await;
        let near = [("about", "near_miss"), ("own_words", "the sand was gone"), ("place", "where Ben keeps it"), ("key", "n")];
        ada.post("/report", &near).await.done();
        let id = club.ids("report WHERE about = 'pack'").await[0];
        let look = [("what", "look"), ("was_so", "yes"), ("looked", "Ben Oakes showed me"), ("key", "l")];
        quinn.post(&format!("/reports/{id}"), &look).await.done();
        let asked = quinn.get(&format!("/people/{}/erase", ben.id())).await;
        assert!(asked.one("main dl").contains("in reports each answer that names them"), "{}", asked.one("main dl"));
        quinn.submit(&asked, "main form", &[]).await.done();
        let held = club.find("SELECT words || '; ' || place_words || '; ' || reach || '; ' || looked_words FROM report ORDER BY about DESC").await;
        assert_eq!(held, ["(erased); (erased); ; (erased)", "the sand was gone; (erased); ; "]);
        assert_eq!(photos(&club).await, 1, "whether a photo shows them, a person says who looks");
        let log = club.find("SELECT after FROM activity WHERE verb = 'erased its words'").await;
        assert!(log.len() == 2 && log.iter().all(|one| one.contains("Somebody was erased from the list of people.")), "{log:?}");
        let page = quinn.get(&format!("/reports/{id}")).await;
        assert!(page.one("main").contains("by Ada Lark") || page.one("main").contains("Ada Lark"), "{}", page.one("main"));
    }
}
