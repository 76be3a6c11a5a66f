//! The incident book: an incident is told entry by entry, nothing in it is changed, and every tampering is found.

use crate::support::*;

const OPENED: [(&str, &str); 9] = [
    ("kind", "smoke"),
    ("harm", "nobody"),
    ("harm_could", "first_aid"),
    ("damage_was", "itself_only"),
    ("damage_could", "itself_only"),
    ("day", "2026-11-25"),
    ("time", "18:05"),
    ("place", "Hall, table 2"),
    ("doing", "in_use"),
];

pub async fn opened(who: &Browser, more: &[(&str, &str)]) -> Answer {
    let page = who.get("/book/new").await;
    let mut fields = OPENED.to_vec();
    fields.retain(|(name, _)| !more.iter().any(|(other, _)| other == name));
    fields.extend(more);
    who.submit(&page, "main form", &fields).await
}

fn form(what: &str) -> String {
    format!("form:has(input[name=what][value={what}])")
}

pub async fn tell(who: &Browser, what: &str, typed: &[(&str, &str)]) -> Answer {
    let page = who.get("/book/I-001").await;
    who.submit(&page, &form(what), typed).await
}

async fn holds(who: &Browser) -> bool {
    let page = who.get("/book/check").await.one("main");
    assert!(
        page.contains("The book holds") || page.contains("It does not hold"),
        "{page}"
    );
    page.contains("The book holds")
}

on_both! {
    async fn an_incident_is_told_entry_by_entry_with_what_was_known_of_its_packs(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        let empty = opened(&olive, &[("kind", ""), ("day", ""), ("doing", "")]).await;
        assert_eq!(empty.problems().len(), 3, "{:?}", empty.problems());
        assert_eq!(opened(&olive, &[("words", "It smoked."), ("items", "P-999")]).await.problems(), ["There is no pack or kit P-999."]);
        let done = opened(&olive, &[("words", "It smoked on the table."), ("items", "p-001"), ("who_was_there", "Ada and Ben")]).await;
        assert_eq!(done.done(), "/book/I-001");
        let page = olive.get("/book/I-001").await;
        for part in ["Incident: Smoke or venting", "Hall, table 2", "It smoked on the table.", "Ada and Ben", "It is open"] {
            assert!(page.one("main").contains(part), "{part}: {}", page.one("main"));
        }
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(text.contains("c:3820,3810,3820") && !text.contains("Ada"), "readings are frozen into it, names are not in it: {text}");
        assert_eq!(tell(&olive, "timeline", &[("words", " ")]).await.problems(), ["Say what happened then."]);
        tell(&olive, "timeline", &[("words", "Sand was put on it.")]).await.done();
        tell(&olive, "told_to", &[("whom", "The landlord")]).await.done();
        let refused = tell(&olive, "close", &[("causes", ""), ("lessons", "x")]).await;
        assert!(refused.problems()[0].starts_with("Say why it happened"));
        tell(&olive, "close", &[("causes", "a nicked lead"), ("lessons", "look at leads")]).await.done();
        assert!(olive.get("/book").await.one("tbody tr").contains("closed"));
        assert!(club.visitor().get("/book").await.status == 303 && club.member("Ada").await.get("/book").await.status == 403);
        assert!(holds(&olive).await);
    }

    async fn a_correction_is_a_new_entry_and_the_wrong_one_stays(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked.")]).await.done();
        let fields = [("corrects", "1"), ("field", "place"), ("instead", "Table 3"), ("why", "the photo shows it")];
        tell(&olive, "correct", &fields).await.done();
        let page = olive.get("/book/I-001").await.one("main");
        assert!(page.contains("Hall, table 2") && page.contains("put right in entry 2") && page.contains("Table 3") && page.contains("2: Put right"), "{page}");
        let wrong = tell(&olive, "correct", &[("corrects", "1"), ("field", ""), ("instead", "x"), ("why", "y")]).await;
        assert_eq!(wrong.problems(), ["Say what of it is wrong."]);
        assert!(holds(&olive).await);
    }

    async fn what_an_entry_did_not_say_and_a_correction_does_stands_beside_it(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked.")]).await.done();
        let fields = [("corrects", "1"), ("field", "who_was_there"), ("instead", "Ada"), ("why", "she says so")];
        tell(&olive, "correct", &fields).await.done();
        let page = olive.get("/book/I-001").await.one("main");
        assert!(page.contains("Who was thereNot said") && page.contains("put right in entry 2"), "{page}");
        assert!(holds(&olive).await);
    }

    async fn going_back_and_sending_once_more_opens_no_second_incident(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked.")]).await.done();
        let again = opened(&olive, &[("words", "It smoked. ")]).await;
        assert_eq!(again.problems(), ["Incident I-001 was opened with these words a moment ago. Go on there. Was this another one, say how it differs."]);
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM book_entry").await, ["1"]);
        opened(&olive, &[("words", "It smoked."), ("place", "Yard")]).await.done();
        club.later_by_minutes(61);
        opened(&olive, &[("words", "It smoked."), ("place", "Yard")]).await.done();
        assert!(holds(&olive).await);
    }

    async fn the_database_refuses_to_change_an_entry_and_every_tampering_past_it_is_found(club: TestClub) {
        let olive = club.organiser().await;
        for words in ["It smoked.", "It smoked again.", "A third one."] {
            opened(&olive, &[("words", words), ("who_was_there", "Ada"), ("key", words)]).await.done();
        }
        let printed = olive.get("/book").await.one("main code");
        assert!(holds(&olive).await);
        for sql in ["UPDATE book_entry SET text = '{}' WHERE seq = 2", "DELETE FROM book_entry WHERE seq = 3", "UPDATE book_part SET words = 'Ben'"] {
            assert!(club.behind_the_back(sql).await.is_err(), "{sql}");
        }
        let same = olive.get(&format!("/book/check?number=3&seal={}", printed.replace(' ', "+"))).await;
        assert!(same.one("main").contains("what was printed still stands"), "{}", same.one("main"));
        let timed = |time: &str| format!("/book/check?number=3&seal={}&time={time}", printed.replace(' ', "+"));
        let ends = olive.get("/book").await.one("p.seal");
        let time = ends.split("written ").nth(1).and_then(|rest| rest.split(';').next()).expect("a time").to_owned();
        let same = olive.get(&timed(&time)).await;
        assert!(same.one("main").contains("what was printed still stands"), "{}", same.one("main"));
        let other = olive.get(&timed("2020-01-01T00:00:00Z")).await;
        let typed_wrongly = |page: &Answer| page.one(".first-do[role=alert]").contains("no sign of tampering") && page.select(".stop").is_empty();
        assert!(typed_wrongly(&other) && other.text.contains("another time"), "{}", other.one("main"));
        for number in [2, 7] {
            let other = olive.get(&format!("/book/check?number={number}&seal={}", printed.replace(' ', "+"))).await;
            assert!(typed_wrongly(&other) && other.text.contains("that of entry 3: look at the number"), "{}", other.one("main"));
        }
        let unknown = olive.get(&format!("/book/check?number=3&seal={}", "a".repeat(64))).await;
        assert!(unknown.one(".stop").contains("was rewritten"), "a seal that stands nowhere: {}", unknown.one("main"));
        let odd = olive.get("/book/check?time=yesterday").await;
        assert_eq!(odd.problems().len(), 3, "{:?}", odd.problems());
        assert_eq!(odd.select("input[name=time]")[0].attribute("value"), "yesterday", "what was typed is kept");
        for sql in [
            "UPDATE book_entry SET text = REPLACE(text, 'smoked again', 'hummed') WHERE seq = 2",
            "DELETE FROM book_part WHERE seq = 3",
            "DELETE FROM book_part WHERE seq = 1",
        ] {
            club.lift_the_guards().await;
            club.behind_the_back(sql).await.expect(sql);
            assert!(!holds(&olive).await, "{sql}");
        }
    }

    async fn an_end_that_was_cut_off_with_its_head_is_found_against_what_was_printed(club: TestClub) {
        let olive = club.organiser().await;
        for words in ["It smoked.", "It smoked again."] {
            opened(&olive, &[("words", words), ("key", words)]).await.done();
        }
        let printed = olive.get("/book").await.one("main code").replace(' ', "+");
        club.lift_the_guards().await;
        let first = club.find("SELECT hash FROM book_entry WHERE seq = 1").await.remove(0);
        for sql in ["DELETE FROM book_part WHERE seq = 2", "DELETE FROM book_entry WHERE seq = 2"] {
            club.behind_the_back(sql).await.expect("cut off");
        }
        assert!(!holds(&olive).await, "the head beside it knows of two");
        club.behind_the_back(&format!("UPDATE turn SET book_count = 1, book_hash = '{first}'")).await.expect("the head too");
        assert!(holds(&olive).await, "nothing in the database tells");
        let against = olive.get(&format!("/book/check?number=2&seal={printed}")).await;
        assert!(against.one(".stop").contains("its end was cut off"), "{}", against.one("main"));
        let odd = olive.get("/book/check?number=2&seal=abc").await;
        assert!(odd.is_refused() && odd.problems()[0].contains("64 of the digits"));
    }

    async fn sent_twice_an_incident_is_opened_once_and_two_at_once_have_two_numbers(club: TestClub) {
        let (olive, quinn) = (club.organiser().await, club.quartermaster().await);
        let page = olive.get("/book/new").await;
        let mut fields = OPENED.to_vec();
        fields.push(("words", "It smoked."));
        let first = olive.submit(&page, "main form", &fields).await;
        let again = olive.submit(&page, "main form", &fields).await;
        assert_eq!(first.done(), again.done());
        let (one, two) = tokio::join!(opened(&olive, &[("words", "Another.")]), opened(&quinn, &[("words", "A third.")]));
        let mut places = [one.done().to_owned(), two.done().to_owned()];
        places.sort();
        assert_eq!(places, ["/book/I-002", "/book/I-003"]);
        assert!(holds(&quinn).await);
        assert_eq!(club.first_break().await, None);
    }
}
