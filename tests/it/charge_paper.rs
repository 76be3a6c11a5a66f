//! The card of a charge as a form for the wall. Poppler's pdftotext and pdfinfo read it back.

use crate::support::*;
use std::io::Write;
use std::process::{Command, Stdio};

const GENTLY: &str = "?purpose=no_hurry&at=23%3A59&room=21&pack=21";

pub fn read_back(tool: &str, with: &[&str], pdf: &[u8]) -> String {
    let mut child = Command::new(tool)
        .args(with)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("poppler-utils");
    let mut sent = child.stdin.take().expect("its input");
    sent.write_all(pdf).expect("sent");
    drop(sent);
    let told = child.wait_with_output().expect("its answer");
    assert!(told.status.success(), "{tool} reads it");
    String::from_utf8(told.stdout).expect("text")
}

pub fn words(pdf: &[u8]) -> String {
    let text = read_back("pdftotext", &["-layout", "-", "-"], pdf);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

on_both! {
    async fn the_form_for_the_wall_says_what_the_card_says_and_has_lines_to_fill_in(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let page = ada.get(&format!("/packs/P-001/charge{GENTLY}")).await;
        let links = page.select("a[href*='charge.pdf']");
        for (link, size) in links.iter().zip(["595.276 x 841.89 pts (A4)", "612.283 x 792 pts (letter)"]) {
            let pdf = ada.get(link.attribute("href")).await;
            assert_eq!((pdf.status.as_u16(), pdf.header("content-type")), (200, "application/pdf"));
            let about = read_back("pdfinfo", &["-"], pdf.body());
            assert!(about.contains("Pages:           1\n"), "{about}");
            let (given, wanted) = (about.split("Page size:").nth(1).unwrap_or_default(), size.split(' ').next_back().unwrap_or_default());
            assert!(given.lines().next().unwrap_or_default().contains(wanted), "{about}");
            let told = words(pdf.body());
            for part in [
                "P-001", "Full before 23:59.", "First read what C-01 is set to", "C-01, from the mains", "Balance lead in", "2.2 A",
                "Read it back to somebody, then press start: 3S LiPo, balance, 12.6 V, 2.2 A", "Stop if", "Started at", "mAh", "Volts of each cell",
                "check today's state of P-001", "local codes come first",
            ] {
                assert!(told.replace('\u{2019}', "'").contains(part), "{part}: {told}");
            }
            let at = |part: &str| told.find(part).unwrap_or_else(|| panic!("{part}: {told}"));
            assert!(["First read", "from the mains", "Chemistry", "Read it back", "Stop if"].map(at).is_sorted(), "{told}");
        }
        assert_eq!(links.len(), 2);
    }

    async fn of_a_charger_that_does_not_do_it_there_is_no_form_and_the_page_says_why(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(2).await;
        club.behind_the_back("UPDATE kit SET spec = REPLACE(spec, '\"lipo\",', '') WHERE number = 'C-02'").await.expect("no LiPo");
        let ada = club.member("Ada").await;
        let other = ada.get(&format!("/packs/P-001/charge.pdf{GENTLY}&charger=C-02")).await;
        let page = ada.get(other.done()).await;
        assert!(page.text.contains("C-02"), "{}", page.text);
        let own = ada.get(&format!("/packs/P-001/charge.pdf{GENTLY}&charger=C-01")).await;
        assert_eq!(own.header("content-type"), "application/pdf");
    }

    async fn where_there_is_no_card_there_is_no_form_and_the_page_says_why(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let asked = format!("/packs/P-001/charge.pdf{GENTLY}");
        assert_eq!(ada.get(&asked).await.status, 200);
        for (query, why) in [("", "no question"), ("?purpose=no_hurry&at=23%3A59&room=-2&pack=20", "too cold"), ("?purpose=dance", "no purpose"), ("?purpose=no_hurry&at=23%3A59", "warmth not known")] {
            let instead = ada.get(&format!("/packs/P-001/charge.pdf{query}")).await;
            assert!(instead.done().starts_with("/packs/P-001/charge?"), "{why}");
        }
        club.later_by_minutes(24 * 60 + 1);
        let old = ada.get(&asked).await;
        let page = ada.get(old.done()).await;
        assert!(page.one(".stop").contains("more than 24 hours ago"), "{}", page.text);
        assert_eq!(ada.get("/packs/P-999/charge.pdf").await.status, 404);
    }

    async fn what_people_typed_is_no_markup_on_the_form(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(1).await;
        club.chargers(1).await;
        club.behind_the_back("UPDATE club SET name = '#panic() *Mill* $x$ \\ end'").await.expect("a name");
        let pdf = quinn.get(&format!("/packs/P-001/charge.pdf{GENTLY}")).await;
        let told = words(pdf.body());
        assert!(told.contains("#panic() *Mill* $x$ \\ end: card of"), "{told}");
        // Held against what the meter says before it is used.
        let by = "by its volts of 18:30: 3.82 3.81 3.82 V";
        assert!(told.contains(by), "{told}");
        assert!(quinn.get(&format!("/packs/P-001/charge{GENTLY}")).await.one("main").contains(by));
    }
}
