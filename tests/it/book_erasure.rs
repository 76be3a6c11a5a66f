//! Erasing a person from the incident book: every part that names them goes, an entry says so, the book still holds. And what of injuries
//! it keeps is the club's to say.

use crate::book_actions::{holds, opened, tell};
use crate::support::*;
use sandbucket::paper::{bundle, zip};

async fn named_in_the_book(club: &TestClub) -> (Browser, uuid::Uuid) {
    let quinn = club.quartermaster().await;
    let ada = club.member("Ada Miller").await;
    opened(
        &quinn,
        &[
            ("who_was_there", "ada miller and Ben"),
            ("words", "Ada Miller pulled the plug."),
        ],
    )
    .await
    .done();
    tell(&quinn, "timeline", &[("words", "Sand was put on it.")])
        .await
        .done();
    (quinn, ada.id())
}

on_both! {
    async fn a_person_who_is_erased_is_gone_from_the_book_and_it_still_holds(club: TestClub) {
        let (quinn, ada) = named_in_the_book(&club).await;
        let printed = quinn.get("/book").await.one("main code");
        let all = club.find("SELECT text FROM book_entry").await.join(" ");
        assert!(!all.contains("Ada") && !all.contains("Ben"), "names are beside the book, also in words: {all}");
        let asked = quinn.get(&format!("/people/{ada}/erase")).await;
        assert!(asked.one(".notice").contains("2 parts"), "{}", asked.one("main"));
        quinn.submit(&asked, "main form", &[]).await.done();
        let left = club.find("SELECT words FROM book_part").await.join("; ");
        assert!(!left.to_lowercase().contains("ada"), "{left}");
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("(erased)") && page.contains("Sand was put on it.") && !page.contains("Ada"), "{page}");
        assert!(holds(&quinn).await);
        let against = quinn.get(&format!("/book/check?number=2&seal={}", printed.replace(' ', "+"))).await;
        assert!(against.one("main").contains("what was printed still stands"), "{}", against.one("main"));
        let last = club.find("SELECT text FROM book_entry WHERE seq = 3").await.remove(0);
        assert!(last.contains("\"erased\"") && last.contains("who_was_there") && !last.contains("Ada"), "{last}");
        assert!(!quinn.get("/book").await.one("main").contains("I-002"), "an erasure is no incident");
        let by = club.find("SELECT words FROM book_part WHERE seq = 3 AND name = 'written_by'").await;
        assert_eq!((by.len(), last.contains(&by[0])), (1, false), "by whom, and not in the entry itself");
        assert!(quinn.get("/book").await.one("#e-3 ~ dl").contains(&by[0]), "{}", quinn.get("/book").await.one("main"));
        bundle::check(quinn.get("/book/export.zip").await.body(), &[]).expect("it holds");
        opened(&quinn, &[("words", "Another.")]).await;
        assert!(quinn.get("/book").await.one("main").contains("I-002"));
    }

    async fn a_name_typed_on_a_pack_is_a_part_of_the_book_that_can_be_erased(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ben) = (club.quartermaster().await, club.member("Ben Oakes").await);
        let own = [("seen", "something_else"), ("own_words", "Ben Oakes dropped it, Gil Strange says")];
        quinn.post("/packs/P-001/condition", &own).await.done();
        club.later_by_minutes(1);
        let double = [("seen", "something_else"), ("own_words", "Ben Oakes let it fall"), ("key", "double")];
        club.member("Ada").await.post("/packs/P-001/condition", &double).await.done();
        let (id, stays) = (club.find("SELECT reference FROM report ORDER BY came_ms").await, club.ids("report").await);
        let double = stays.iter().max().expect("two reports");
        quinn.post(&format!("/reports/{double}"), &[("what", "merge"), ("into", id[0].as_str())]).await.done();
        quinn.post("/packs/P-001/condition", &[("seen", "hit_or_bent")]).await.done();
        opened(&quinn, &[("items", "P-001")]).await.done();
        let chain = || async { club.find("SELECT text FROM book_entry").await.join(" ") };
        let text = chain().await;
        assert!(text.contains("words P-001 1") && !text.contains("Oakes") && !text.contains("Strange"), "a stranger's name too: {text}");
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("Seen: Ben Oakes dropped it") && page.contains("Seen: Ben Oakes let it fall") && page.contains("hit or bent"), "{page}");
        let asked = quinn.get(&format!("/people/{}/erase", ben.id())).await;
        quinn.submit(&asked, "main form", &[]).await.done();
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("(erased)") && page.contains("hit or bent") && !page.contains("Oakes"), "{page}");
        assert!(!chain().await.contains("Oakes") && holds(&quinn).await);
        let given = quinn.get("/book/export.zip").await;
        bundle::check(given.body(), &[]).expect("it holds");
        let members = zip::read(given.body()).expect("a zip");
        for member in members {
            assert!(!String::from_utf8_lossy(&member.bytes).contains("Oakes"), "{}", member.name);
        }
    }

    async fn a_person_called_otherwise_since_is_found_where_the_old_name_stands(club: TestClub) {
        let (quinn, ada) = named_in_the_book(&club).await;
        club.behind_the_back(&format!("UPDATE person SET name = 'A. Weaver' WHERE id = {}", club.literal(ada))).await.expect("renamed");
        let asked = quinn.get(&format!("/people/{ada}/erase")).await;
        quinn.submit(&asked, "main form", &[]).await.done();
        assert!(!club.find("SELECT words FROM book_part").await.join("; ").to_lowercase().contains("ada"));
        assert!(holds(&quinn).await);
    }

    async fn a_part_that_is_missing_without_an_erasure_is_tampering_and_so_is_one_put_back(club: TestClub) {
        let (quinn, ada) = named_in_the_book(&club).await;
        let kept = club.find("SELECT salt FROM book_part WHERE seq = 1 AND name = 'who_was_there'").await.remove(0);
        let asked = quinn.get(&format!("/people/{ada}/erase")).await;
        quinn.submit(&asked, "main form", &[]).await.done();
        let back = format!("INSERT INTO book_part (seq, name, salt, words) VALUES (1, 'who_was_there', '{kept}', 'ada miller and Ben')");
        club.behind_the_back(&back).await.expect("put back");
        assert!(!holds(&quinn).await, "what was erased is there again");
        club.behind_the_back("DELETE FROM book_part WHERE seq = 1 AND name = 'who_was_there'").await.expect("gone again");
        assert!(holds(&quinn).await);
        for sql in ["DELETE FROM book_part_person", "DELETE FROM book_part WHERE seq = 2"] {
            club.behind_the_back(sql).await.expect(sql);
        }
        assert!(!holds(&quinn).await, "nobody wrote that this one was erased");
    }

    async fn words_or_a_photo_are_erased_by_choice_with_an_entry_that_says_so_and_the_book_holds(club: TestClub) {
        let (quinn, _) = named_in_the_book(&club).await;
        let erase = |typed: Vec<(&'static str, String)>| {
            let quinn = &quinn;
            async move {
                let page = quinn.get("/book/I-001").await;
                let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
                quinn.submit(&page, "form:has(input[name=what][value=erase])", &typed).await
            }
        };
        let page = quinn.get("/book/I-001").await;
        let offered = page.select("select[name=erased] option");
        let of = |name: &str| offered.iter().find(|one| one.attribute("value").contains(name)).map(|one| one.attribute("value").to_owned());
        let chosen = of("who_was_there").expect("a part about people");
        let refused = erase(vec![("erased", String::new()), ("why", "they asked".to_owned())]).await;
        assert_eq!(refused.problems(), ["Choose what is erased."]);
        let named = erase(vec![("erased", chosen.clone()), ("why", "Ada Miller asked".to_owned())]).await;
        assert!(named.problems()[0].starts_with("Somebody is named here"), "{:?}", named.problems());
        assert!(named.text.contains("Ada Miller asked"), "what was typed is kept");
        let entries = club.find("SELECT hash FROM book_entry").await.len();
        erase(vec![("erased", chosen.clone()), ("why", "They asked for it.".to_owned())]).await.done();
        assert_eq!(club.find("SELECT hash FROM book_entry").await.len(), entries + 1);
        assert!(club.find("SELECT words FROM book_part WHERE name = 'who_was_there'").await.is_empty());
        assert!(holds(&quinn).await, "an entry says that it was erased");
        let by = entries + 1;
        let page = quinn.get("/book/I-001").await;
        assert!(page.one("main").contains(&format!("Who was there: erased by entry {by} of the book")), "{}", page.one("main"));
        assert_eq!(page.texts(&format!("main a[href='/book#e-{by}']")).len(), 1, "of that alone");
        let book = quinn.get("/book").await;
        let said = format!("#e-{} ~ dl", entries + 1);
        let said = book.texts(&said).concat();
        assert!(said.contains("Entry 1: Who was there") && said.contains("They asked for it."), "{said}");
        let again = erase(vec![("erased", chosen), ("why", "They asked for it.".to_owned())]).await;
        assert_eq!(again.problems(), ["That is erased already."]);
        let ada = club.member("Ada").await;
        assert_eq!(ada.post("/book/I-001", &[("what", "erase"), ("key", "no")]).await.status, 403);
    }

    async fn what_has_no_number_can_be_erased_where_its_hint_says_so(club: TestClub) {
        let (quinn, _) = named_in_the_book(&club).await;
        for (page, hint) in [("/book/new", "#h-others"), ("/book/I-001", "#h-item-others")] {
            let said = quinn.get(page).await.one(hint);
            assert!(said.contains("tick that below: these words can be erased then") && !said.contains("for good"), "{page}: {said}");
        }
        let strange = [("others", "Gil Strange's pack"), ("words", "It lay beside it."), ("names_somebody", "yes")];
        tell(&quinn, "item", &strange).await.done();
        let page = quinn.get("/book/I-001").await;
        let offered = page.select("select[name=erased] option").into_iter().find(|one| one.text.contains("Gil Strange"));
        let chosen = offered.expect("it can be chosen").attribute("value").to_owned();
        let erase = [("erased", chosen.as_str()), ("why", "They asked for it.")];
        quinn.submit(&page, "form:has(input[name=what][value=erase])", &erase).await.done();
        assert!(!quinn.get("/book/I-001").await.text.contains("Strange") && holds(&quinn).await);
    }

    async fn nobody_is_named_where_it_could_never_be_erased(club: TestClub) {
        let (quinn, _) = named_in_the_book(&club).await;
        let held = opened(&quinn, &[("place", "Ada Miller's car"), ("damage", "Miller's coat"), ("key", "n")]).await;
        assert_eq!(held.problems(), ["Somebody is named here, where it could never be erased. Say it without the name."]);
        let told = tell(&quinn, "told_to", &[("whom", "The landlord"), ("reference", "spoke with Ada Miller")]).await;
        assert_eq!(told.problems(), ["Somebody is named here, where it could never be erased. Say it without the name."]);
        tell(&quinn, "cause", &[("words", "Miller or Ada? Ada had charged it alone.")]).await.done();
        let last = club.find("SELECT text FROM book_entry ORDER BY seq DESC LIMIT 1").await.remove(0);
        assert!(!last.contains("Ada"), "a first name that one alone has is a part: {last}");
        assert!(holds(&quinn).await);
    }

    async fn nobody_who_stands_nowhere_in_the_book_writes_into_it_by_being_erased(club: TestClub) {
        let (quinn, _) = named_in_the_book(&club).await;
        let zoe = club.member("Zoe").await;
        let asked = quinn.get(&format!("/people/{}/erase", zoe.id())).await;
        assert!(asked.select(".notice").is_empty());
        quinn.submit(&asked, "main form", &[]).await.done();
        assert_eq!(club.find("SELECT hash FROM book_entry").await.len(), 2);
    }

    async fn how_much_of_injuries_is_kept_is_the_clubs_to_say(club: TestClub) {
        let quinn = club.quartermaster().await;
        let hurt = [("kind", "injury"), ("harm", "first_aid"), ("injuries", "a burnt finger")];
        let page = quinn.get("/book/new").await;
        assert!(page.select("[name=injuries]").is_empty() && !page.select("[name=harm]").is_empty(), "how grave, no words, is how it begins");
        let keep = |what: &'static str| {
            let quinn = &quinn;
            async move {
                let page = quinn.get("/settings").await;
                quinn.submit(&page, "main form", &[("injuries_kept", what)]).await.done();
            }
        };
        keep("in_words").await;
        opened(&quinn, &hurt).await.done();
        assert!(quinn.get("/book/I-001").await.one("main").contains("a burnt finger"));
        assert!(!club.find("SELECT text FROM book_entry").await.join(" ").contains("finger"), "it is a part");
        keep("nothing").await;
        let page = quinn.get("/book/new").await;
        assert!(page.select("[name=injuries]").is_empty() && page.select("[name=harm]").is_empty());
        opened(&quinn, &[("kind", "injury")]).await.done();
        assert!(club.find("SELECT text FROM book_entry WHERE seq = 2").await.remove(0).contains("\"harm\":null"));
        opened(&quinn, &[("kind", "near_miss"), ("damage_was", "nothing")]).await.done();
        let sneaked = opened(&quinn, &[("injuries", "a burnt finger"), ("key", "another")]).await;
        assert!(sneaked.problems()[0].contains("keeps no words about injuries"), "{:?}", sneaked.problems());
        assert!(holds(&quinn).await);
    }
}
