//! What was part of an incident: packs and kit by their numbers, as it is opened and later, each frozen and set aside in the same step;
//! and what has no number, in words.

use crate::book::{opened, tell};
use crate::support::*;

on_both! {
    async fn a_pack_that_was_part_of_it_too_is_frozen_and_set_aside_as_it_is_added(club: TestClub) {
        club.fit_packs(3).await;
        let olive = club.organiser().await;
        let states = || club.find("SELECT state FROM pack ORDER BY number_key");
        opened(&olive, &[("words", "It smoked."), ("items", "P-001"), ("packs_now", "stay")]).await.done();
        let unknown = tell(&olive, "item", &[("items", "P-999"), ("words", "beside it")]).await;
        assert_eq!(unknown.problems(), ["There is no pack or kit P-999."]);
        assert!(unknown.text.contains("P-999"), "what was typed is kept");
        let again = tell(&olive, "item", &[("items", "P-001"), ("words", "beside it")]).await;
        assert_eq!(again.problems(), ["P-001 is part of it already."]);
        let nothing = tell(&olive, "item", &[("items", ""), ("words", " ")]).await;
        assert_eq!(nothing.problems(), ["Name at least one thing, by its number or in words.", "Say how it was part of it."]);
        let around = tell(&olive, "item", &[("others", "that one (p-002)"), ("words", "beside it")]).await;
        assert_eq!(around.problems(), ["P-002 has a number: name it among the packs and kit that were part of it."]);
        assert_eq!(states().await, ["fit", "fit", "fit"]);

        let beside = [("items", "p-002"), ("others", "the shelf behind P-002"), ("words", "It lay beside it.")];
        tell(&olive, "item", &beside).await.done();
        assert_eq!(states().await, ["fit", "quarantine", "fit"]);
        assert_eq!(club.ids("watch").await.len(), 1, "it is watched");
        let text = club.find("SELECT text FROM book_entry WHERE seq = 2").await.remove(0);
        assert!(text.contains(r#""kind":"item_added""#) && text.contains("c:3820,3810,3820") && text.contains(r#""state":"fit""#), "{text}");
        let page = olive.get("/book/I-001").await.one("main");
        assert!(page.contains("Another thing was part of it") && page.contains("On record of P-002"), "{page}");
        assert_eq!(olive.get("/book/check").await.select(".stop").len(), 0);
        assert_eq!(club.first_break().await, None);
    }

    async fn what_was_called_a_near_miss_and_was_a_fire_sets_aside_what_was_named_before(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        let olive = club.organiser().await;
        let charger = club.find("SELECT number FROM kit WHERE kind = 'charger'").await.remove(0);
        let near = [("kind", "near_miss"), ("damage_was", "nothing"), ("words", "A lead slipped."), ("items", &format!("P-001, P-002, {charger}"))];
        opened(&olive, &near).await.done();
        let states = || club.find("SELECT state FROM pack ORDER BY number_key");
        let aside = || club.find("SELECT COALESCE(set_aside_words, '') FROM kit WHERE kind = 'charger'");
        assert_eq!((states().await, aside().await), (vec!["fit".to_owned(); 3], vec![String::new()]));
        tell(&olive, "correct", &[("corrects", "1"), ("field", "items"), ("instead", &format!("P-001, {charger}")), ("why", "P-002 lay in the van")]).await.done();

        let held = |kind: &'static str, more: &'static [(&'static str, &'static str)]| {
            let mut fields = vec![("kind", kind), ("harm", "nobody"), ("harm_could", "hospital"), ("damage_was", "itself_only"), ("damage_could", "building")];
            fields.retain(|(name, _)| more.iter().all(|(other, _)| other != name));
            fields.extend(more);
            fields
        };
        let unsaid = tell(&olive, "held", &held("fire", &[("why", "")])).await;
        assert!(unsaid.is_refused());
        assert_eq!(states().await, ["fit", "fit", "fit"], "what is refused does nothing");
        tell(&olive, "held", &held("charger_or_wiring", &[("why", "the plug is black"), ("packs_now", "stay")])).await.done();
        assert_eq!(aside().await, [""], "somebody looked at it since");
        tell(&olive, "held", &held("fire", &[("why", "the shelf is charred")])).await.done();
        assert_eq!(states().await, ["quarantine", "fit", "fit"]);
        assert_eq!(club.ids("watch").await.len(), 1);
        assert_eq!(aside().await, [""], "of a fault in a charger it was named already");
        tell(&olive, "held", &held("near_miss", &[("why", "it was soot of last year"), ("damage_was", "nothing")])).await.done();
        assert_eq!(states().await[0], "quarantine", "and it lifts nothing");
        assert_eq!(club.first_break().await, None);
    }

    async fn a_correction_names_no_thing_anew(club: TestClub) {
        club.fit_packs(2).await;
        let olive = club.organiser().await;
        opened(&olive, &[("words", "It smoked."), ("items", "P-001")]).await.done();
        let right = |field: &'static str, instead: &'static str| {
            let olive = &olive;
            async move { tell(olive, "correct", &[("corrects", "1"), ("field", field), ("instead", instead), ("why", "the photo shows it")]).await }
        };
        let anew = right("items", "P-001, P-002").await;
        assert!(anew.problems()[0].starts_with("P-002 is not part of it yet. Write it under “Another thing was part of it”"), "{:?}", anew.problems());
        assert!(right("items", "the red one").await.is_refused());
        assert!(right("others", "P-002").await.is_refused());
        assert_eq!(club.find("SELECT hash FROM book_entry").await.len(), 1);
        right("items", "none").await.done();
        right("others", "a visitor's pack").await.done();
        assert_eq!(club.find("SELECT state FROM pack ORDER BY number_key").await, ["quarantine", "fit"], "and it lifts nothing");
    }

    async fn kit_that_was_part_of_it_is_frozen_and_set_aside_and_so_is_what_has_no_number_told(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(2).await;
        let quinn = club.quartermaster().await;
        let aside = || club.find("SELECT COALESCE(set_aside_words, '') FROM kit WHERE kind = 'charger' ORDER BY number_key");
        let numbers = club.find("SELECT number FROM kit WHERE kind = 'charger' ORDER BY number_key").await;
        let fault = [("kind", "charger_or_wiring"), ("words", "It sparked."), ("others", "a visitor's pack"), ("items", &format!("p-001 {}", numbers[0]))];
        opened(&quinn, &fault).await.done();
        assert_eq!(aside().await, ["It was part of incident I-001: fault of a charger or of wiring.", ""]);
        assert_eq!(club.find("SELECT state FROM pack").await, ["fit"], "the pack has no fault of its own");
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        for part in [r#""what":"charger""#, r#""others":"a visitor's pack""#, r#""aside":0"#, "Charger 1"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains(&format!("On record of {}", numbers[0])) && page.contains("a visitor's pack"), "{page}");
        tell(&quinn, "item", &[("items", &numbers[1]), ("words", "On the same socket."), ("packs_now", "stay")]).await.done();
        assert_eq!(aside().await[1], "", "somebody looked at it since");
        assert!(club.find("SELECT verb FROM activity WHERE subject = 'kit'").await.contains(&"set it aside".to_owned()));
        assert_eq!(club.first_break().await, None);
    }

    async fn what_a_report_by_a_poster_is_about_comes_into_the_incident_that_it_begins(club: TestClub) {
        let olive = club.organiser().await;
        let page = olive.get("/posters").await;
        let made = olive.submit(&page, "main form", &[("name", "Hall door")]).await;
        let wall = olive.get(made.done()).await.select("a[href^='/p/']")[0].attribute("href").to_owned();
        let visitor = club.visitor();
        let form = visitor.get(&format!("{wall}?now=no")).await;
        visitor.submit(&form, "main form", &[("thing", "socket"), ("own_words", "it is loose")]).await.done();
        let begun = olive.get(&format!("/book/new?report={}", club.ids("report").await[0])).await;
        let typed = [("kind", "charger_or_wiring"), ("harm", "nobody"), ("harm_could", "nobody"), ("damage_was", "nothing"), ("damage_could", "nothing"), ("doing", "stored"), ("place", "Hall")];
        olive.submit(&begun, "main form", &typed).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(text.contains("\"others\":\"A socket or cable, by the poster “Hall door”\""), "{text}");
    }
}
