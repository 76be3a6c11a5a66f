//! What is to be done after an incident: set, done, looked at; so one that could have been grave is closed. And what it is held to be
//! can be put right.

use crate::reminders::decided;
use crate::support::*;

/// Could have been grave.
pub const GRAVE: [(&str, &str); 10] = [
    ("kind", "fire"),
    ("harm", "nobody"),
    ("harm_could", "hospital"),
    ("damage_was", "itself_only"),
    ("damage_could", "building"),
    ("day", "2026-11-25"),
    ("time", "18:05"),
    ("place", "Hall, table 2"),
    ("doing", "in_use"),
    ("words", "It burnt on the table."),
];

pub async fn opened(who: &Browser, more: &[(&str, &str)]) -> Answer {
    let page = who.get("/book/new").await;
    let mut fields = GRAVE.to_vec();
    fields.retain(|(name, _)| !more.iter().any(|(other, _)| other == name));
    fields.extend(more);
    who.submit(&page, "main form", &fields).await
}

pub async fn tell(who: &Browser, what: &str, typed: &[(&str, &str)]) -> Answer {
    let page = who.get("/book/I-001").await;
    let form = format!("form:has(input[name=what][value={what}])");
    who.submit(&page, &form, typed).await
}

pub async fn holds(who: &Browser) -> bool {
    let page = who.get("/book/check").await.one("main");
    assert!(
        page.contains("The book holds") || page.contains("It does not hold"),
        "{page}"
    );
    page.contains("The book holds")
}

async fn entries(club: &TestClub) -> usize {
    club.find("SELECT hash FROM book_entry").await.len()
}

const TILES: [(&str, &str); 5] = [
    ("action_what", "Tiles on the charging table"),
    ("owner", "Mo"),
    ("due", "2026-12-01"),
    ("works_if", "no wood is left"),
    ("look_on", "2026-12-10"),
];

on_both! {
    async fn what_could_have_been_grave_is_closed_once_an_action_was_done_and_works(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[]).await.done();
        assert!(olive.get("/book/I-001").await.one(".first-do").contains("set at least one action"));
        let bare = [("causes", "a nicked lead"), ("lessons", "look at leads")];
        assert!(tell(&olive, "close", &bare).await.problems()[0].contains("set at least one action"));
        let empty = tell(&olive, "action_set", &[]).await;
        assert_eq!(empty.problems().len(), 2, "{:?}", empty.problems());
        let early = tell(&olive, "action_set", &[("due", "2026-12-01"), ("look_on", "2026-11-30"), ("action_what", "x"), ("owner", "Mo"), ("works_if", "y")]).await;
        assert_eq!(early.problems(), ["Whether it worked is looked at on the day it is due, or later."]);
        tell(&olive, "action_set", &TILES).await.done();
        let text = club.find("SELECT text FROM book_entry WHERE seq = 2").await.remove(0);
        assert!(text.contains("Tiles on") && !text.contains("Mo"), "who sees to it is a part: {text}");
        let row = olive.get("/book").await.texts("h2 + table tbody tr").join(" ");
        assert!(row.contains("I-001") && row.contains("Mo") && row.contains("To be done"), "{row}");
        assert!(tell(&olive, "close", &bare).await.problems()[0].contains("not done"));
        tell(&olive, "action_done", &[("action", "2"), ("words", "tiles laid")]).await.done();
        assert_eq!(tell(&olive, "action_looked_at", &[("action", "2"), ("words", "looked")]).await.problems(), ["Say whether it works."]);
        tell(&olive, "action_looked_at", &[("action", "2"), ("worked", "no"), ("words", "one lies loose")]).await.done();
        assert!(olive.get("/book").await.one("main").contains("Did not work: set another"));
        assert!(tell(&olive, "close", &bare).await.is_refused());
        tell(&olive, "action_set", &TILES).await.done();
        tell(&olive, "action_done", &[("action", "5"), ("words", "glued")]).await.done();
        let works = [("action", "5"), ("worked", "yes"), ("words", "none moves")];
        let early = tell(&olive, "action_looked_at", &works).await;
        assert!(early.problems()[0].starts_with("Whether it works is looked at on Thu 10 Dec 2026.") && early.text.contains("none moves"), "{:?}", early.problems());
        assert_eq!(early.select("input[name=worked][value=yes][checked]").len(), 1, "what was chosen is kept");
        tell(&olive, "correct", &[("corrects", "5"), ("field", "look_on"), ("instead", "2026-11-25"), ("why", "the tiles are glued")]).await.done();
        let chosen = tell(&olive, "action_looked_at", &works).await;
        chosen.done();
        tell(&olive, "cause", &[("words", "a nicked lead")]).await.done();
        tell(&olive, "lesson", &[("words", "look at leads")]).await.done();
        tell(&olive, "close", &[]).await.done();
        let page = olive.get("/book").await;
        assert!(page.one("tbody tr").contains("closed") && !page.one("main").contains("Still to be done"));
        assert!(holds(&olive).await);
    }

    async fn an_action_is_seen_to_on_its_day_and_no_longer_once_it_works(club: TestClub) {
        let quinn = club.quartermaster().await;
        opened(&quinn, &[]).await.done();
        tell(&quinn, "action_set", &TILES).await.done();
        let due = || async { quinn.get("/to-see-to").await.texts("tbody tr").iter().filter(|row| row.contains("Action after an incident")).cloned().collect::<Vec<_>>() };
        assert!(due().await.is_empty(), "its day has not come");
        club.later_by_days(7);
        let row = due().await.remove(0);
        assert!(row.contains("I-001") && row.contains("Mo") && row.contains("Do it") && row.contains("Today"), "{row}");
        assert!(quinn.get("/book").await.one("td[data-label=By]").ends_with(")"), "its days say that it is due");
        tell(&quinn, "action_done", &[("action", "2"), ("words", "laid")]).await.done();
        assert!(due().await.is_empty(), "it is looked at later");
        club.later_by_days(9);
        assert!(due().await.remove(0).contains("Whether it works"));
        tell(&quinn, "action_looked_at", &[("action", "2"), ("worked", "yes"), ("words", "no wood")]).await.done();
        assert!(due().await.is_empty());
    }

    async fn an_incident_opened_by_hand_begins_with_the_halls_day_and_time(club: TestClub) {
        let page = club.organiser().await.get("/book/new").await;
        let value = |name: &str| page.select(&format!("input[name={name}]"))[0].attribute("value").to_owned();
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        assert_eq!(value("day"), zone.day_of(club.now()).to_string());
        assert_eq!(value("time"), zone.time_words(club.now()));
    }

    async fn whose_it_is_reads_it_on_a_page_of_their_own_and_says_there_that_it_is_done(club: TestClub) {
        let (olive, mo, ada) = (club.organiser().await, club.member("Mo").await, club.member("Ada").await);
        opened(&olive, &[]).await.done();
        assert!(!mo.get("/mine").await.text.contains("/mine/actions"));
        tell(&olive, "action_set", &TILES).await.done();
        tell(&olive, "action_set", &[("action_what", "A second bucket of sand"), ("owner", "Ada"), ("due", "2026-12-02"), ("works_if", "it stands there"), ("look_on", "2026-12-10")]).await.done();
        let leads = mo.get("/mine").await;
        assert_eq!(leads.select("a[href='/mine/actions']").len(), 1, "{}", leads.text);
        let page = mo.get("/mine/actions").await;
        let told = page.one("main");
        for words in ["Tiles on the charging table", "Tue 1 Dec 2026", "Incident I-001: Fire"] {
            assert!(told.contains(words), "{words}: {told}");
        }
        for other in ["sand", "Hall, table 2", "burnt", "Ada", "Olive", "no wood"] {
            assert!(!told.contains(other), "{other}: {told}");
        }
        assert_eq!(mo.get("/book/I-001").await.status, 403, "nothing else of the book");
        let empty = mo.submit(&page, "main form", &[("words-2", " ")]).await;
        assert_eq!(empty.problems(), ["Say what was done."]);
        let done = [("words-2", "Tiles laid"), ("key", "done")];
        assert_eq!(ada.post("/mine/actions/2", &done).await.status, 404, "it is not hers");
        assert_eq!(mo.post("/mine/actions/3", &[("words-3", "x"), ("key", "x")]).await.status, 404);
        assert_eq!(entries(&club).await, 3);
        mo.submit(&page, "main form", &done).await.done();
        assert!(mo.get("/mine/actions").await.one("main").contains("Nothing after an incident is yours"));
        let late = mo.submit(&page, "main form", &[("words-2", "Again"), ("key", "again")]).await;
        assert_eq!((late.status.as_u16(), late.one("main [role=alert] blockquote")), (404, "Again".to_owned()), "it is done; what was typed is not lost");
        assert_eq!(entries(&club).await, 4);
        let book = olive.get("/book/I-001").await.one("main");
        assert!(book.contains("Tiles laid") && book.contains("whether it works is to be looked at"), "{book}");
        assert_eq!(club.find("SELECT words FROM book_part WHERE seq = 4 AND name = 'written_by'").await, ["Mo"]);
        assert!(holds(&olive).await);
    }

    async fn an_owner_put_right_is_another_persons_page_and_two_who_say_done_at_once_say_it_once(club: TestClub) {
        let (olive, mo, ada) = (club.organiser().await, club.member("Mo").await, club.member("Ada").await);
        opened(&olive, &[]).await.done();
        tell(&olive, "action_set", &TILES).await.done();
        tell(&olive, "correct", &[("corrects", "2"), ("field", "owner"), ("instead", "Ada"), ("why", "agreed on the phone")]).await.done();
        assert!(mo.get("/mine/actions").await.one("main").contains("Nothing after an incident"));
        assert!(ada.get("/mine/actions").await.text.contains("Tiles on the charging table"));
        assert_eq!(mo.post("/mine/actions/2", &[("words-2", "x"), ("key", "x")]).await.status, 404);
        let (hers, theirs) = ([("words-2", "laid"), ("key", "a")], [("what", "action_done"), ("action", "2"), ("words", "seen to"), ("key", "b")]);
        let (one, other) = tokio::join!(ada.post("/mine/actions/2", &hers), olive.post("/book/I-001", &theirs));
        let done = [&one, &other].into_iter().filter(|answer| answer.status == 303).count();
        assert_eq!((done, entries(&club).await), (1, 4), "{} {}", one.status, other.status);
        assert!(holds(&olive).await);
    }

    async fn whose_it_is_is_reminded_before_its_day_and_those_who_run_the_club_when_it_is_late_or_to_be_looked_at(club: TestClub) {
        let olive = club.organiser().await;
        club.member("Mo").await;
        opened(&olive, &[]).await.done();
        tell(&olive, "action_set", &TILES).await.done();
        for day in ["2026-11-29", "2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03"] {
            decided(&club, day).await;
        }
        let told = "SELECT r.told_on || ' ' || p.name || ' ' || r.reason || ' ' || r.href FROM reminder r JOIN person p ON p.id = r.person_id \
            WHERE r.kind = 'action' ORDER BY r.told_on, p.name";
        let reminders = club.find(told).await;
        let (due, late) = ("2026-11-30 Mo action_due /mine/actions", "2026-12-02 Mo action_late /mine/actions");
        assert_eq!(reminders[..3], [due.to_owned(), late.to_owned(), "2026-12-02 Olive action_late /book/I-001#e-2".to_owned()], "{reminders:?}");
        let texts = club.find("SELECT title || why || next_words FROM reminder WHERE kind = 'action'").await.concat();
        assert!(!texts.contains("Tiles") && !texts.contains("Mo "), "what it is and whose stays in the book: {texts}");
        let mo = club.member("Mo").await;
        let page = mo.get("/mine/actions").await;
        mo.submit(&page, "main form", &[("words-2", "Tiles laid")]).await.done();
        let before = club.find(told).await.len();
        for day in ["2026-12-04", "2026-12-09", "2026-12-10", "2026-12-11", "2026-12-12"] {
            decided(&club, day).await;
        }
        let looked = club.find(told).await.split_off(before);
        assert!(!looked.is_empty() && looked.iter().all(|one| one.contains("action_look /book/I-001#e-2") && !one.contains(" Mo ")), "{looked:?}");
        let days: std::collections::BTreeSet<&str> = looked.iter().map(|one| &one[..10]).collect();
        assert_eq!(days.len(), 1, "once: {looked:?}");
        let olive = club.organiser().await;
        let works = [("action", "2"), ("worked", "yes"), ("words", "no wood")];
        tell(&olive, "action_looked_at", &works).await.done();
        let before = club.find(told).await.len();
        decided(&club, "2026-12-20").await;
        assert_eq!(club.find(told).await.len(), before);
        let choices = club.member("Mo").await.get("/me/reminders").await;
        assert!(choices.text.contains("To do after an incident"), "and one may choose not to get it");
    }

    async fn when_something_happened_is_now_or_what_was_typed_in_full_and_never_still_to_come(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[]).await.done();
        for (what, said) in [("timeline", ("words", "The hall was aired.")), ("told_to", ("whom", "Insurer"))] {
            for (day, time, words) in [("2026-11-20", "", "Say the time too."), ("2027-05-05", "10:00", "That is still to come."), ("", "23:59", "That is still to come.")] {
                let refused = tell(&olive, what, &[("day", day), ("time", time), said]).await;
                assert_eq!(refused.problems(), [words], "{what} {day} {time}");
                assert!(refused.text.contains(said.1), "what was typed is kept");
            }
            tell(&olive, what, &[("day", ""), ("time", "09:15"), said]).await.done();
            assert!(olive.get("/book/I-001").await.one("main").contains("today, 09:15"));
            tell(&olive, what, &[("day", "2026-11-20"), ("time", "21:33"), said]).await.done();
            assert!(olive.get("/book/I-001").await.one("main").contains("Fri 20 Nov 2026, 21:33"));
        }
        assert_eq!(entries(&club).await, 5);
    }

    async fn a_day_is_put_right_by_a_day_and_counts_from_then_on(club: TestClub) {
        let quinn = club.quartermaster().await;
        opened(&quinn, &[]).await.done();
        tell(&quinn, "action_set", &TILES).await.done();
        let by = || club.find("SELECT by_on FROM book_action");
        let right = |seq: &'static str, field: &'static str, instead: &'static str| [("corrects", seq), ("field", field), ("instead", instead), ("why", "agreed on the phone")];
        let before = by().await;
        for (seq, field, words) in [("2", "due", "Write the day like"), ("1", "happened_ms", "Write day and time like")] {
            let refused = tell(&quinn, "correct", &right(seq, field, "soon")).await;
            assert!(refused.problems()[0].starts_with(words) && refused.text.contains("agreed on the phone"), "{:?}", refused.problems());
        }
        assert_eq!(by().await, before);
        tell(&quinn, "correct", &right("2", "due", "2027-03-01")).await.done();
        assert_eq!(by().await, ["2027-03-01"]);
        tell(&quinn, "correct", &right("1", "happened_ms", "2026-11-24 09:15")).await.done();
        let page = quinn.get("/book/I-001").await;
        assert!(page.one(".lead").contains("yesterday, 09:15"), "{}", page.one(".lead"));
        assert!(holds(&quinn).await);
    }

    async fn a_correction_says_what_it_is_held_to_be_and_what_was_said_stays(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[]).await.done();
        let milder = [("kind", "smoke"), ("harm", "nobody"), ("harm_could", "first_aid"), ("damage_was", "itself_only"), ("damage_could", "itself_only")];
        let refused = tell(&olive, "held", &[("why", "the photo shows it")]).await;
        assert!(refused.problems()[0].starts_with("Choose what happened"), "{:?}", refused.problems());
        let mut impossible = milder.to_vec();
        impossible.extend([("harm", "hospital"), ("why", "x")]);
        impossible.remove(1);
        assert!(tell(&olive, "held", &impossible).await.problems()[0].contains("at least as bad"));
        let mut fields = milder.to_vec();
        fields.push(("why", "the photo shows it"));
        tell(&olive, "held", &fields).await.done();
        let page = olive.get("/book/I-001").await;
        assert!(page.one(".lead").contains("Smoke or venting") && page.one(".notice").contains("entry 2 puts them right"), "{}", page.one("main"));
        assert!(page.one("main").contains("Fire") && page.one("main").contains("building"), "what was said first stays");
        assert!(olive.get("/book").await.one("tbody tr").contains("Smoke or venting"));
        let text = club.find("SELECT text FROM book_entry WHERE seq = 2").await.remove(0);
        let first = club.find("SELECT hash FROM book_entry WHERE seq = 1").await.remove(0);
        assert!(text.contains(&first), "it names the digest of what it corrects");
        tell(&olive, "close", &[("causes", "a nicked lead"), ("lessons", "look at leads")]).await.done();
        let mut graver = GRAVE[..5].to_vec();
        graver.push(("why", "the shelf above was charred"));
        tell(&olive, "held", &graver).await.done();
        assert!(olive.get("/book/I-001").await.one(".first-do").contains("Open it again and set one"));
        assert!(holds(&olive).await);
    }
}
