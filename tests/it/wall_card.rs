//! The first minute prepared: the card for the wall from the club's own plan, drills that are written down, and posters as PDF.
//! Poppler's pdfinfo and pdftotext read them back.

use crate::charge_paper::read_back;
use crate::support::*;

const DRILL: [(&str, &str); 5] = [
    ("held_on", "2026-11-20"),
    ("people", "14"),
    ("out", "2:30"),
    ("went_well", "Everybody was out."),
    ("to_change", "The side door was locked."),
];

/// In the order in which it was set: two columns stand beside each other.
fn words(pdf: &[u8]) -> String {
    let text = read_back("pdftotext", &["-raw", "-", "-"], pdf);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// On one page, of this size.
fn is_one_page(pdf: &Answer, size: &str) {
    assert_eq!(
        (pdf.status.as_u16(), pdf.header("content-type")),
        (200, "application/pdf")
    );
    let about = read_back("pdfinfo", &["-"], pdf.body());
    assert!(
        about.contains("Pages:           1\n") && about.contains(size),
        "{about}"
    );
}

async fn note(who: &Browser, led_by: &str, more: &[(&str, &str)]) -> Answer {
    let page = who.get("/drills").await;
    let mut fields = DRILL.to_vec();
    fields.retain(|(name, _)| !more.iter().any(|(other, _)| other == name));
    fields.push(("led_by", led_by));
    fields.extend(more);
    who.submit(&page, "form[action='/drills']", &fields).await
}

on_both! {
    async fn the_card_for_the_wall_is_made_of_the_clubs_own_plan_on_one_page(club: TestClub) {
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let form = olive.get("/wall-card/plan").await;
        let typed = [("calls", "whoever sees it, by phone"), ("sand", "red bucket <b>beside the bench"), ("tongs", "hook by the door")];
        let long = "x".repeat(121);
        let refused = olive.submit(&form, "main form", &[("power", long.as_str())]).await;
        assert_eq!(refused.problems(), ["Say it in at most 120 letters: the card has one page."]);
        assert!(refused.text.contains(&long), "what was typed is kept");
        assert_eq!(olive.submit(&form, "main form", &typed).await.done(), "/wall-card");
        let page = ada.get("/wall-card").await;
        let told = page.one("main");
        for part in ["Local rules and the fire service come first", "whoever sees it, by phone", "hook by the door", "not written down", "US Fire Administration", "common practice, no source"] {
            assert!(told.contains(part), "{part}: {told}");
        }
        for (address, size) in [("/wall-card.pdf", "A4"), ("/wall-card.pdf?paper=letter", "letter")] {
            let pdf = ada.get(address).await;
            is_one_page(&pdf, size);
            let told = words(pdf.body());
            for part in ["Call the fire service", "Local rules and the fire service come first", "red bucket", "<b>beside the bench", "by phone", "Sources:", "Millrace Robotics Club"] {
                assert!(told.contains(part), "{part}: {told}");
            }
        }
        assert_eq!((ada.get("/wall-card/plan").await.status.as_u16(), ada.post("/wall-card/plan", &typed).await.status.as_u16()), (403, 403));
        assert_eq!(club.visitor().get("/wall-card").await.status, 303);
        let log = club.find("SELECT after FROM activity ORDER BY seq DESC LIMIT 1").await;
        assert!(!log.concat().contains("bucket"), "names in a plan don't stay in the log: {log:?}");
    }

    async fn the_longest_plan_still_leaves_the_card_on_one_page(club: TestClub) {
        let olive = club.organiser().await;
        let long = "Whoever leads the evening, with a torch and the list of who is here. ".repeat(2);
        let long = &long[..120];
        let fields: Vec<(&str, &str)> = ["calls", "leads_out", "meets_them", "counts", "power", "sand", "tongs", "extinguishers"].map(|name| (name, long)).to_vec();
        let form = olive.get("/wall-card/plan").await;
        olive.submit(&form, "main form", &fields).await.done();
        let settings = olive.get("/settings").await;
        let (address, plan) = ("Mill Lane 1\n".repeat(8), "Sand only while it is small. ".repeat(34));
        olive.submit(&settings, "main form", &[("hall_address", address.trim()), ("hall_plan", plan.trim()), ("meeting_point", long), ("emergency_number", "112")]).await.done();
        for (address, size) in [("/wall-card.pdf", "A4"), ("/wall-card.pdf?paper=letter", "letter")] {
            let pdf = olive.get(address).await;
            is_one_page(&pdf, size);
            assert!(words(pdf.body()).contains("Fire service 112"));
        }
    }

    async fn a_drill_is_written_down_and_told_on_the_books_page_with_when_the_next_is_due(club: TestClub) {
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        assert!(olive.get("/book").await.one("main").contains("No drill is written down yet."));
        let ada_id = ada.id().to_string();
        let odd = note(&olive, "", &[("held_on", "2026-12-24"), ("people", "some"), ("out", "2:99"), ("went_well", ""), ("to_change", "")]).await;
        assert_eq!(odd.problems(), [
            "Choose who led it.", "A drill is written down once it was held.", "Say how many people were there, like 14.",
            "Give minutes and seconds, like 2:30, or leave it empty.", "Say what went well or what to change.",
        ]);
        assert_eq!(odd.select("#f-out")[0].attribute("value"), "2:99");
        let early = note(&olive, &ada_id, &[("counted", "2:00")]).await;
        let asked = "Nobody is counted before everybody is out. Each time is from the alarm: put one of the two right.";
        assert_eq!((early.problems(), early.one("#w-counted")), (vec![asked.to_owned()], asked.to_owned()));
        assert_eq!(early.select("#f-counted")[0].attribute("value"), "2:00", "what was typed is kept");
        assert_eq!(note(&olive, &ada_id, &[]).await.done(), "/drills");
        let told = olive.get("/drills").await.one("main");
        for part in ["Fri 20 Nov 2026", "Led by Ada, 14 people there", "everybody was out after 2:30", "The side door was locked."] {
            assert!(told.contains(part), "{part}: {told}");
        }
        let book = olive.get("/book").await.one("main");
        assert!(book.contains("The last drill was on Fri 20 Nov 2026 with 14 people; everybody was out after 2:30 minutes."), "{book}");
        assert!(book.contains("Sat 20 Nov 2027"), "a year later: {book}");
        let page = olive.get("/drills").await;
        let past = olive.submit(&page, "form[action='/drills/due']", &[("drill_by", "2026-11-01")]).await;
        assert_eq!(past.problems(), ["The next drill lies ahead: give a day from today on."]);
        olive.submit(&page, "form[action='/drills/due']", &[("drill_by", "2026-12-01")]).await.done();
        assert!(olive.get("/book").await.one("main").contains("due in 6 days (Tue 1 Dec 2026)"));
        club.later_by_days(10);
        assert!(club.organiser().await.get("/book").await.one("main").contains("4 days overdue"));
        assert_eq!(ada.get("/drills").await.status, 403);
        assert_eq!(club.first_break().await, None);
    }

    async fn nobody_is_named_in_what_is_written_of_a_drill_where_it_could_never_be_erased(club: TestClub) {
        let (olive, ada) = (club.organiser().await, club.member("Ada Sluys").await);
        let id = ada.id().to_string();
        let words = "Somebody is named here, where it could never be erased. Say it without the name.";
        let typed = [("went_well", "Ada Sluys counted well."), ("to_change", "Ada's phone was off.")];
        let refused = note(&olive, &id, &typed).await;
        assert_eq!(refused.problems(), [words, words]);
        for (field, text) in typed {
            assert_eq!(refused.one(&format!("#f-{field}")), text, "what was typed is kept");
        }
        assert!(club.find("SELECT went_well FROM drill").await.is_empty());
        let said = [("went_well", "The count went well."), ("to_change", "One phone was off.")];
        olive.submit(&refused, "form[action='/drills']", &said).await.done();
        assert_eq!(club.find("SELECT to_change FROM drill").await, ["One phone was off."]);
    }

    async fn a_drill_sent_twice_is_written_down_once_and_who_led_it_can_be_erased(club: TestClub) {
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let page = olive.get("/drills").await;
        let mut fields = DRILL.to_vec();
        let id = ada.id().to_string();
        fields.push(("led_by", &id));
        let first = olive.submit(&page, "form[action='/drills']", &fields).await;
        let again = olive.submit(&page, "form[action='/drills']", &fields).await;
        assert_eq!(first.done(), again.done());
        assert_eq!(club.find("SELECT went_well FROM drill").await.len(), 1);
        club.quartermaster().await.post(&format!("/people/{id}/erase"), &[]).await.done();
        let told = olive.get("/drills").await.one("main");
        assert!(told.contains("Led by (erased)") && !told.contains("Ada"), "{told}");
    }

    async fn a_poster_is_a_pdf_of_one_page_until_it_is_ended(club: TestClub) {
        let olive = club.organiser().await;
        let page = olive.get("/posters").await;
        let made = olive.submit(&page, "main form", &[("name", "Beside the bench")]).await.done().to_owned();
        for (query, size) in [("", "A4"), ("?paper=letter", "letter")] {
            let pdf = olive.get(&format!("{made}/poster.pdf{query}")).await;
            is_one_page(&pdf, size);
            let (told, code) = (words(pdf.body()), club.find("SELECT code FROM poster").await.remove(0));
            for part in ["Something wrong? Report it.", "get everybody out and call the fire service first", &format!("/p/{code}"), "Beside the bench"] {
                assert!(told.contains(part), "{part}: {told}");
            }
        }
        olive.post(&format!("{made}/end"), &[]).await.done();
        assert_eq!(olive.get(&format!("{made}/poster.pdf")).await.status, 404);
    }
}
