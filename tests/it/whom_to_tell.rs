//! Who must or may be told of an incident: the club's own checklist, and per incident who was told and when, in the book.

use crate::book::{opened, tell};
use crate::support::*;

on_both! {
    async fn an_incident_shows_the_checklist_and_who_was_told_stands_in_the_book(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked.")]).await.done();
        let page = olive.get("/book/I-001").await;
        let told = page.one("main");
        assert!(told.contains("your local rules go before it") && told.contains("Insurer after any fire, injury or damage"), "{told}");
        assert_eq!(told.matches("nobody said yet").count(), 6);
        assert_eq!(tell(&olive, "told_to", &[("whom", " ")]).await.problems(), ["Say who was told."]);
        tell(&olive, "told_to", &[("whom", "insurer"), ("day", "2026-11-25"), ("time", "18:20"), ("reference", "C-17")]).await.done();
        assert_eq!(tell(&olive, "not_told", &[("whom", "Host of the event"), ("why", "")]).await.problems(), ["Say why they need not be told."]);
        tell(&olive, "not_told", &[("whom", "Host of the event"), ("why", "it was in our own hall")]).await.done();
        tell(&olive, "told_to", &[("whom", "The school next door")]).await.done();
        let told = olive.get("/book/I-001").await.one("main");
        for part in ["told today, 18:20", "need not be told: it was in our own hall", "The school next door"] {
            assert!(told.contains(part), "{part}: {told}");
        }
        assert_eq!(told.matches("nobody said yet").count(), 4);
        let kinds = club.find("SELECT text FROM book_entry ORDER BY seq").await;
        assert!(kinds[2].contains("\"kind\":\"not_told\"") && kinds[1].contains("\"reference\":\"C-17\""), "{kinds:?}");
        tell(&olive, "close", &[("causes", "a nicked lead"), ("lessons", "look at leads")]).await.done();
        tell(&olive, "not_told", &[("whom", "Seller or maker"), ("why", "we built it")]).await.done();
        assert!(olive.get("/book/check").await.one("main").contains("The book holds"));
    }

    async fn whom_and_when_somebody_was_told_is_put_right_and_the_checklist_goes_by_it(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked.")]).await.done();
        tell(&olive, "told_to", &[("whom", "Insurer"), ("day", "2026-11-25"), ("time", "18:20")]).await.done();
        let right = async |field: &str, instead: &str| {
            tell(&olive, "correct", &[("corrects", "2"), ("field", field), ("instead", instead), ("why", "the call list shows it")]).await
        };
        assert_eq!(right("told_ms", "tomorrow").await.problems(), ["Write day and time like 2026-11-27 14:05."]);
        assert_eq!(right("told_ms", "2026-11-26 09:00").await.problems(), ["That is still to come."]);
        assert_eq!(right("damage", "none").await.problems(), ["Entry 2 says nothing of that. Choose the entry that does."]);
        right("told_ms", "2026-11-25 18:10").await.done();
        assert!(olive.get("/book/I-001").await.one("main").contains("Insurer after any fire, injury or damagetold today, 18:10"));
        right("whom", "Fire service").await.done();
        let page = olive.get("/book/I-001").await.one("main");
        assert!(page.contains("Fire service after any fire, also one that is outtold today, 18:10"), "{page}");
        assert_eq!(page.matches("nobody said yet").count(), 5, "the insurer too: {page}");
        let of_it = tell(&olive, "correct", &[("corrects", "3"), ("field", "told_ms"), ("instead", "2026-11-25 18:00"), ("why", "x")]).await;
        assert_eq!(of_it.problems(), ["Entry 3 puts entry 2 right itself. Choose entry 2 here."]);
        assert!(olive.get("/book/check").await.one("main").contains("The book holds"));
    }

    async fn the_club_sets_its_own_list_and_an_empty_one_is_the_usual_again(club: TestClub) {
        let (olive, ada) = (club.organiser().await, club.member("Ada").await);
        let page = olive.get("/book/whom-to-tell").await;
        let told = page.one("main");
        for part in ["Check your local rules", "United Kingdom", "United States", "European Union", "Anywhere", "common practice, no source"] {
            assert!(told.contains(part), "{part}: {told}");
        }
        let twice = olive.submit(&page, "main form", &[("list", "Insurer: at once\ninsurer")]).await;
        assert_eq!(twice.problems(), ["Name everybody once."]);
        assert!(twice.one("textarea").contains("Insurer: at once"));
        assert_eq!(olive.submit(&page, "main form", &[("list", "Insurer: at once\nThe mill's caretaker")]).await.done(), "/book/whom-to-tell");
        opened(&olive, &[("words", "It smoked.")]).await.done();
        let told = olive.get("/book/I-001").await.one("main");
        assert!(told.contains("The mill's caretaker") && told.matches("nobody said yet").count() == 2, "{told}");
        let page = olive.get("/book/whom-to-tell").await;
        olive.submit(&page, "main form", &[("list", " ")]).await.done();
        assert_eq!(olive.get("/book/I-001").await.one("main").matches("nobody said yet").count(), 6);
        assert_eq!((ada.get("/book/whom-to-tell").await.status.as_u16(), ada.post("/book/whom-to-tell", &[("list", "x")]).await.status.as_u16()), (403, 403));
    }
}
