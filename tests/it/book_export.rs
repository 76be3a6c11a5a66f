//! The incident book given away: as a zip that the command checks, and as a PDF whose every page tells where the book ends.
//! Poppler's pdftotext reads it back.

use crate::book::{opened, tell};
use crate::book_begins::{attach, in_sql, picture};
use crate::charge_paper::{read_back, words};
use crate::support::*;
use sandbucket::club::book::chain::Head;
use sandbucket::club::book::digest::Digest;
use sandbucket::paper::{bundle, zip};

/// Two incidents, told in turns; gives back the seal that the book's page prints.
async fn two_incidents(club: &TestClub, olive: &Browser) -> Head {
    for (words, key) in [("It smoked.", "1"), ("A cable <b>glowed</b>.", "2")] {
        let who = ("who_was_there", "Ada and Ben");
        opened(olive, &[("words", words), who, ("key", key)])
            .await
            .done();
    }
    tell(olive, "timeline", &[("words", "Sand was put on it.")])
        .await
        .done();
    let seal = olive.get("/book").await.one("p.seal code");
    let hash = Digest::typed(&seal).expect("a seal");
    assert_eq!(
        club.find("SELECT hash FROM book_entry WHERE seq = 3").await,
        [hash.to_string()]
    );
    Head {
        count: 3,
        hash,
        at_ms: 0,
    }
}

async fn zip_of(who: &Browser, address: &str) -> Vec<u8> {
    let given = who.get(address).await;
    assert_eq!(
        (given.status.as_u16(), given.header("content-type")),
        (200, "application/zip")
    );
    assert!(
        given
            .header("content-disposition")
            .starts_with("attachment")
    );
    given.body().to_vec()
}

on_both! {
    async fn the_whole_book_is_given_away_as_a_zip_that_is_checked_against_a_printed_end(club: TestClub) {
        let olive = club.organiser().await;
        let printed = two_incidents(&club, &olive).await;
        let given = zip_of(&olive, "/book/export.zip").await;
        let found = bundle::check(&given, &[printed]).expect("it holds");
        assert_eq!((found.entries, found.files, found.head.hash, found.incident), (3, Some(0), printed.hash, None));
        let members = zip::read(&given).expect("a zip");
        let names: Vec<&str> = members.iter().map(|one| one.name.as_str()).collect();
        assert_eq!(names, ["README.txt", "book.json", "check.html"]);
        let text = |at: usize| String::from_utf8(members[at].bytes.clone()).expect("text");
        assert!(text(0).contains(&printed.hash.in_groups()) && text(0).contains(&found.head.time()), "{}", text(0));
        assert!(text(1).contains("\"words\":\"Ada and Ben\""), "who may see the book sees who was there");
        let alone = bundle::check(text(1).as_bytes(), &[printed]).expect("the text alone holds");
        assert_eq!(alone.files, None);
        let wrong_time = Head { at_ms: found.head.at_ms + 60_000, ..printed };
        assert!(bundle::check(&given, &[wrong_time]).expect_err("refused").to_string().contains("another time"));
        tell(&olive, "timeline", &[("words", "It lay there cold.")]).await.done();
        let longer = zip_of(&olive, "/book/export.zip").await;
        assert!(bundle::check(&longer, &[printed]).is_ok(), "what was printed before still stands");
    }

    async fn one_incident_is_given_away_alone_and_tells_nothing_of_another(club: TestClub) {
        let olive = club.organiser().await;
        let printed = two_incidents(&club, &olive).await;
        let given = zip_of(&olive, "/book/I-001/export.zip").await;
        let found = bundle::check(&given, &[printed]).expect("it holds");
        assert_eq!((found.entries, found.incident.as_deref(), found.not_compared), (2, Some("I-001"), vec![]));
        let text = String::from_utf8(zip::read(&given).expect("a zip")[1].bytes.clone()).expect("text");
        assert!(text.contains("It smoked.") && !text.contains("glowed"), "{text}");
        let other = zip_of(&olive, "/book/I-002/export.zip").await;
        assert_eq!(bundle::check(&other, &[printed]).expect("it holds").not_compared, [3], "nothing can be said of it");
        let touched = text.replace("It smoked.", "It hummed.");
        assert!(bundle::check(touched.as_bytes(), &[]).is_err());
        assert_eq!(olive.get("/book/I-009/export.zip").await.status, 404);
    }

    async fn on_paper_every_page_tells_where_the_book_ends(club: TestClub) {
        let olive = club.organiser().await;
        let printed = two_incidents(&club, &olive).await;
        for at in 0..20 {
            tell(&olive, "timeline", &[("words", &format!("Line {at}: watched from 3 m, nothing seen.\nAnd so on.")), ("key", &format!("k{at}"))]).await.done();
        }
        let seal = olive.get("/book/I-001").await.one("p.seal code");
        assert_ne!(Digest::typed(&seal), Ok(printed.hash));
        for (address, size) in [("/book/export.pdf", "A4"), ("/book/I-001/export.pdf?paper=letter", "letter")] {
            let pdf = olive.get(address).await;
            assert_eq!((pdf.status.as_u16(), pdf.header("content-type")), (200, "application/pdf"));
            let about = read_back("pdfinfo", &["-"], pdf.body());
            let pages: usize = about.split("Pages:").nth(1).and_then(|rest| rest.lines().next()?.trim().parse().ok()).expect("pages");
            assert!(about.contains(size) && pages > 1, "{about}");
            let told = words(pdf.body());
            assert_eq!(told.matches(&format!("Seal {seal}")).count(), pages + 1, "on each page, and at the last entry: {told}");
            assert_eq!(told.matches("The book ends with entry 23, written").count(), pages);
            for part in ["It smoked.", "Ada and Ben", "Line 19: watched from 3 m", "Printed", "by Olive"] {
                assert!(told.contains(part), "{part}: {told}");
            }
            assert_eq!(told.contains("<b>glowed</b>"), size == "A4", "what was typed is no markup; another incident is not told");
        }
    }

    async fn photos_stand_on_paper_and_one_that_was_erased_leaves_its_digest_and_the_word(club: TestClub) {
        let quinn = club.quartermaster().await;
        opened(&quinn, &[("words", "It smoked.")]).await.done();
        attach(&quinn, "a.png", &picture()).await.done();
        attach(&quinn, "a.txt", b"what the landlord wrote").await.done();
        let photos_in = |pdf: &[u8]| read_back("pdfimages", &["-list", "-"], pdf).lines().filter(|line| line.contains(" image ")).count();
        let sha256 = Digest::parse(&club.find("SELECT sha256 FROM book_file ORDER BY seq").await[0]).expect("a digest");
        let kept = quinn.get(&format!("/book/I-001/files/{sha256}")).await;
        for address in ["/book/export.pdf", "/book/I-001/export.pdf"] {
            let pdf = quinn.get(address).await;
            assert_eq!(photos_in(pdf.body()), 1, "{address}");
            assert!(words(pdf.body()).contains(&format!("Photo: {}", sha256.in_groups())));
        }
        club.lift_the_guards().await;
        let put = async |bytes: &[u8]| {
            let sql = format!("UPDATE book_file SET bytes = {} WHERE kind = 'photo'", in_sql(&club, bytes));
            club.behind_the_back(&sql).await.expect("changed");
        };
        put(b"no picture at all").await;
        let pdf = quinn.get("/book/I-001/export.pdf").await;
        assert!(photos_in(pdf.body()) == 0 && words(pdf.body()).contains("Photo, not shown here: it is in the zip"), "what was put in its place is not drawn");
        put(kept.body()).await;

        let page = quinn.get("/book/I-001").await;
        let image = format!("img[src='/book/I-001/files/{sha256}']");
        assert_eq!(page.select(&image).len(), 1);
        let offered = page.select("select[name=erased] option");
        let chosen = offered.iter().map(|one| one.attribute("value").to_owned()).find(|value| value.contains(&sha256.to_string())).expect("it may be erased");
        let erase = [("erased", chosen.as_str()), ("why", "A face was on it.")];
        quinn.submit(&page, "form:has(input[name=what][value=erase])", &erase).await.done();
        let page = quinn.get("/book/I-001").await;
        assert!(page.select(&image).is_empty() && page.one("main").contains("Photo of entry 2: erased"), "{}", page.text);
        assert_eq!(page.select("select[name=erased] option").len(), offered.len() - 1, "what is gone is not offered");
        let pdf = quinn.get("/book/I-001/export.pdf").await;
        assert_eq!(photos_in(pdf.body()), 0);
        assert!(words(pdf.body()).contains(&format!("Photo, erased: {}", sha256.in_groups())));
    }

    async fn an_empty_book_can_be_given_away_and_printed_too(club: TestClub) {
        let quinn = club.quartermaster().await;
        let given = zip_of(&quinn, "/book/export.zip").await;
        assert_eq!(bundle::check(&given, &[]).expect("it holds").entries, 0);
        assert_eq!(quinn.get("/book/export.pdf").await.status, 200);
        let page = quinn.get("/book/check.html").await;
        assert!(page.header("content-disposition").starts_with("attachment") && page.text.contains("Check an incident book"));
        for address in ["/book/export.zip", "/book/export.pdf", "/book/check.html"] {
            assert_eq!(club.member("Ada").await.get(address).await.status, 403, "{address}");
            assert_eq!(club.visitor().get(address).await.status, 303, "{address}");
        }
    }
}
