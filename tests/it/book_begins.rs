//! How an incident begins: with what is on record of its packs, or with a report and its photo. What belongs to it: documents and
//! photos. And how a pack is lost in it.

use crate::book_actions::{holds, opened, tell};
use crate::support::*;

pub fn picture() -> Vec<u8> {
    let dots = image::DynamicImage::new_rgb8(60, 40);
    let mut bytes = std::io::Cursor::new(Vec::new());
    dots.write_to(&mut bytes, image::ImageFormat::Png)
        .expect("a picture");
    bytes.into_inner()
}

/// How bytes are written in SQL here.
pub fn in_sql(club: &TestClub, bytes: &[u8]) -> String {
    use std::fmt::Write;
    let hex = bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    });
    match club.backend {
        Backend::Sqlite => format!("x'{hex}'"),
        Backend::Postgres => format!("decode('{hex}', 'hex')"),
    }
}

pub async fn attach(who: &Browser, name: &str, bytes: &[u8]) -> Answer {
    let key = sandbucket::ids::new_token();
    let fields = [
        ("what", "file"),
        ("words", "what is left of it"),
        ("key", key.as_str()),
    ];
    who.send_file("/book/I-001/files", &fields, ("file", name, bytes))
        .await
}

on_both! {
    async fn what_is_on_record_of_a_pack_is_frozen_and_whom_it_was_lent_to_is_a_part(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let to = ada.id().to_string();
        quinn.post("/hand-out", &[("person", to.as_str()), ("items", "1")]).await.done();
        club.later_by_minutes(10);
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let (day, time) = (zone.day_of(club.now()).to_string(), zone.time_words(club.now()));
        let happened = [("items", "P-001 p-001"), ("doing", "lent"), ("day", day.as_str()), ("time", time.as_str())];
        opened(&quinn, &happened).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        for part in ["\"loans\":[{", "\"stood\":[{", "\"verb\":\"handed out\"", "c:3820,3810,3820", "\"is_lent\":true", "lent P-001"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert!(!text.contains("Ada"), "{text}");
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(club.find("SELECT words FROM book_part WHERE name = 'lent_to'").await == ["Ada"], "by the loan on record");
        assert!(page.contains("On record of P-001") && page.contains("It was on loan."), "{page}");
        assert_eq!(text.matches("\"called\":\"P-001\"").count(), 1, "the same pack twice is one");
        quinn.post("/packs/P-001/condition", &[("seen", "swollen")]).await;
        assert_eq!(club.find("SELECT text FROM book_entry").await.remove(0), text, "what comes later changes nothing of it");
        assert!(holds(&quinn).await);
    }

    async fn told_weeks_later_it_keeps_what_was_read_about_the_hour_and_says_what_more_there_is(club: TestClub) {
        club.fit_packs(1).await;
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let (day, time) = (zone.day_of(club.now()).to_string(), zone.time_words(club.now()));
        let read = |at: i64, volts: &str| {
            let (id, now) = (club.literal(sandbucket::ids::new_id()), club.now().ms() + at * 60_000);
            format!("INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes) SELECT {id}, pack_id, {now}, by_id, 'c:{volts}', 60 FROM reading WHERE taken_ms = (SELECT MIN(taken_ms) FROM reading)")
        };
        club.behind_the_back(&read(-5, "3811,3811,3811")).await.expect("a reading of the hour");
        for since in 1..13 {
            club.behind_the_back(&read(since * 1_440, "3812,3812,3812")).await.expect("one of the days since");
        }
        club.later_by_days(20);
        let quinn = club.quartermaster().await;
        opened(&quinn, &[("items", "P-001"), ("day", day.as_str()), ("time", time.as_str())]).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(text.contains("c:3811,3811,3811") && text.contains("c:3820,3810,3820"), "{text}");
        assert_eq!(text.matches("c:3812,3812,3812").count(), 10, "{text}");
        assert!(text.contains(r#""more":["readings since"]"#), "{text}");
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("More lies on record than is kept here: readings since."), "{page}");
    }

    async fn what_it_was_charging_with_is_taken_from_the_charge_that_ran_then(club: TestClub) {
        club.fit_packs(1).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let card = quinn.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        quinn.submit(&card, "main form[method='post']", &[]).await.done();
        club.later_by_minutes(10);
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let (day, time) = (zone.day_of(club.now()).to_string(), zone.time_words(club.now()));
        let happened = [("items", "P-001"), ("doing", "charging"), ("day", day.as_str()), ("time", time.as_str())];
        opened(&quinn, &happened).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(text.contains("(on record)") && text.contains("\"charges\":[{") && text.contains("\"current_ma\":"), "{text}");
        assert!(text.contains("\"output\":1,"), "the first output is told as on the charger: {text}");
        let asked = opened(&quinn, &[("doing", "charging"), ("key", "no pack named")]).await;
        assert!(asked.problems()[0].contains("I don't know"), "{:?}", asked.problems());
    }

    async fn a_card_that_was_shown_and_never_started_is_frozen_with_what_it_said(club: TestClub) {
        club.fit_packs(3).await;
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let first = club.now().ms();
        let ask = "/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21";
        let card = quinn.get(ask).await;
        club.later_by_minutes(5);
        quinn.get(ask).await;
        let last = club.now().ms();
        let shown = club.find("SELECT said FROM card_shown").await;
        assert_eq!(shown.len(), 1, "the same card is kept once: {shown:?}");
        assert!(shown[0].starts_with("without hurry: C-01, output 1"), "{}", shown[0]);
        assert!(shown[0].contains("set to 3S LiPo, balance, 12.6 V, "), "{}", shown[0]);
        let read_back = card.one("main").contains("3S LiPo, balance, 12.6 V, ");
        assert!(read_back, "as the card says it: {}", card.one("main"));
        // What nobody may charge by, and what another pack was told, is no card of it.
        quinn.get("/packs/P-002/charge?purpose=no_hurry&at=18%3A45&room=21&pack=21").await;
        assert_eq!(club.find("SELECT said FROM card_shown").await.len(), 1);
        let happened = [("items", "P-001 P-002"), ("doing", "stored")];
        club.later_by_minutes(10);
        opened(&quinn, &happened).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        let frozen = format!(r#""cards":[{{"first_ms":{first},"last_ms":{last},"said":"without hurry: C-01, output 1"#);
        assert!(text.contains(&frozen) && text.matches("\"cards\"").count() == 1, "{text}");
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("A card was shown") && page.contains("without hurry: C-01, output 1, "), "{page}");
        assert!(holds(&quinn).await);
    }

    async fn every_way_to_look_at_a_card_is_kept_and_a_look_that_can_t_be_is_no_less_a_card(club: TestClub) {
        club.fit_packs(4).await;
        club.chargers(2).await;
        let quinn = club.quartermaster().await;
        let asked = "purpose=no_hurry&at=23%3A59&room=21&pack=21";
        let of = async |number: &str| {
            let sql = format!("SELECT c.said FROM card_shown c JOIN pack p ON p.id = c.pack_id WHERE p.number = '{number}'");
            club.find(&sql).await
        };
        assert_eq!(quinn.get(&format!("/packs/P-002/charge.pdf?{asked}")).await.header("content-type"), "application/pdf");
        assert_eq!(of("P-002").await.len(), 1);
        quinn.get(&format!("/charges/evening?numbers=3-4&{asked}")).await;
        assert_eq!((of("P-003").await.len(), of("P-004").await.len()), (1, 1));
        club.behind_the_back("ALTER TABLE card_shown RENAME TO gone").await.expect("it is gone");
        let page = quinn.get(&format!("/packs/P-001/charge?{asked}")).await;
        assert_eq!(page.status, 200);
        assert!(page.one("main").contains("3S LiPo, balance, 12.6 V, "), "{}", page.one("main"));
    }

    async fn an_incident_begins_with_a_report_and_each_names_the_other(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let fields = [("seen", "swollen"), ("own_words", ""), ("place", "Hall, table 4")];
        ada.send_file("/packs/P-001/condition", &fields, ("photo", "a.png", &picture())).await.done();
        let id = club.ids("report").await[0];
        let report = quinn.get(&format!("/reports/{id}")).await;
        assert!(report.text.contains(&format!("/book/new?report={id}")));
        let page = quinn.get(&format!("/book/new?report={id}")).await;
        assert!(page.one(".notice").contains("may be “A pack swelled”"), "{}", page.one(".notice"));
        assert!(page.select("input[name=kind][checked]").is_empty(), "nothing is chosen for them");
        let filled = page.form("main form").1;
        let has = |name: &str, value: &str| filled.iter().any(|(n, v)| n == name && v == value);
        assert!(has("items", "P-001") && has("place", "Hall, table 4") && has("report", &id.to_string()), "{filled:?}");
        let typed = [("kind", "swelling"), ("harm", "nobody"), ("harm_could", "nobody"), ("damage_was", "itself_only"), ("damage_could", "itself_only"), ("doing", "stored")];
        quinn.submit(&page, "main form", &typed).await.done();
        let text = club.find("SELECT text FROM book_entry").await.remove(0);
        let reference = club.find("SELECT reference FROM report").await.remove(0);
        let original = sandbucket::ids::digest_of(&picture());
        assert!(text.contains(&reference) && text.contains(&original), "{text}");
        assert!(quinn.get(&format!("/reports/{id}")).await.one("main").contains("incident I-001"));
        assert!(quinn.get("/book/I-001").await.text.contains("alt=\"Photo of entry 1\""));
        let again = quinn.submit(&page, "main form", &[&typed[..], &[("key", "another")]].concat()).await;
        assert!(again.problems()[0].contains("in the book already: incident I-001"), "{:?}", again.problems());
        assert!(holds(&quinn).await);
        assert_eq!(quinn.get("/book/new?report=nothing").await.status, 404);
    }

    async fn photos_are_made_anew_documents_kept_as_they_are_and_a_changed_one_is_found(club: TestClub) {
        let olive = club.organiser().await;
        opened(&olive, &[]).await.done();
        attach(&olive, "a.png", &picture()).await.done();
        let pdf = b"%PDF-1.7 what the insurer wrote";
        attach(&olive, "a.pdf", pdf).await.done();
        attach(&olive, "a.html", b"<script>alert(1)</script>").await.done();
        let odd = attach(&olive, "a.bin", &[0, 159, 146, 150]).await;
        assert!(odd.problems().len() == 1 && odd.text.contains("The file was not kept: choose it again."));
        assert_eq!(attach(&olive, "a.txt", b"  ").await.problems().len(), 1);
        let digests = club.find("SELECT sha256 FROM book_file ORDER BY seq").await;

        let expected = [("image/jpeg", "inline"), ("application/pdf", "attachment"), ("text/plain; charset=utf-8", "attachment")];
        for (at, (kind, how)) in expected.iter().enumerate() {
            let got = olive.get(&format!("/book/I-001/files/{}", digests[at])).await;
            assert_eq!((got.header("content-type"), got.header("x-content-type-options")), (*kind, "nosniff"));
            assert!(got.header("content-disposition").starts_with(how));
        }
        assert_eq!(olive.get(&format!("/book/I-001/files/{}", "0".repeat(64))).await.status, 404);
        assert_eq!(club.member("Ada").await.get(&format!("/book/I-001/files/{}", digests[0])).await.status, 403);
        let text = club.find("SELECT text FROM book_entry WHERE seq = 2").await.remove(0);
        assert!(text.contains(&digests[0]) && text.contains(&sandbucket::ids::digest_of(&picture())), "{text}");
        assert!(holds(&olive).await);
        assert!(club.behind_the_back("UPDATE book_file SET kind = 'text'").await.is_err());
        club.lift_the_guards().await;
        let other = in_sql(&club, b"%PDF-1.7 what the insurer never wrote");
        club.behind_the_back(&format!("UPDATE book_file SET bytes = {other} WHERE kind = 'pdf'")).await.expect("changed");
        assert!(!holds(&olive).await);
        club.behind_the_back(&format!("UPDATE book_file SET bytes = {} WHERE kind = 'pdf'", in_sql(&club, pdf))).await.expect("as it was");
        assert!(holds(&olive).await);
        club.behind_the_back("DELETE FROM book_file WHERE kind = 'text'").await.expect("gone");
        assert!(!holds(&olive).await);
    }

    async fn packs_that_were_part_of_it_go_to_quarantine_with_it_unless_somebody_looked_at_them_since(club: TestClub) {
        club.fit_packs(4).await;
        let olive = club.organiser().await;
        let states = || club.find("SELECT state FROM pack ORDER BY number_key");
        let page = olive.get("/book/new").await;
        assert_eq!(page.select("input[name=packs_now][checked]")[0].attribute("value"), "quarantine", "what is not chosen is the careful way");
        opened(&olive, &[("kind", "smoke"), ("items", "P-001, p-002;P-001")]).await.done();
        assert_eq!(states().await, ["quarantine", "quarantine", "fit", "fit"]);
        let why = club.find("SELECT words FROM finding WHERE rule = 'in_incident'").await;
        assert_eq!(why, ["It was part of incident I-001: smoke or venting.", "It was part of incident I-001: smoke or venting."]);
        assert_eq!(club.ids("watch").await.len(), 2, "both are watched");
        let frozen = club.find("SELECT text FROM book_entry").await.remove(0);
        assert!(frozen.contains(r#""state":"fit""#) && !frozen.contains(r#""state":"quarantine""#), "as it stood before: {frozen}");
        opened(&olive, &[("items", "P-003"), ("packs_now", "stay"), ("key", "stays")]).await.done();
        let near = [("kind", "near_miss"), ("damage_was", "nothing"), ("items", "P-004"), ("key", "near")];
        opened(&olive, &near).await.done();
        assert_eq!(states().await, ["quarantine", "quarantine", "fit", "fit"]);
        let quinn = club.quartermaster().await;
        let ada = club.borrower("Ada").await;
        let out = [("person", ada.id().to_string()), ("items", "P-001".to_owned()), ("due", "2026-11-30".to_owned()), ("key", "out".to_owned())];
        let out = out.each_ref().map(|(name, value)| (*name, value.as_str()));
        assert!(quinn.post("/hand-out", &out).await.is_refused());
        assert!(holds(&olive).await);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_pack_is_lost_in_an_incident_only_out_of_quarantine_and_the_incident_names_it(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, olive) = (club.quartermaster().await, club.organiser().await);
        opened(&quinn, &[("items", "P-001"), ("packs_now", "stay")]).await.done();
        let said = |pack| [("pack", pack), ("words", "nothing is left of it"), ("nothing_left", "yes")];
        assert_eq!(tell(&quinn, "lost", &said("P-001")).await.problems(), ["It is not in quarantine. Say first what was seen on it."]);
        assert_eq!(tell(&quinn, "lost", &said("P-999")).await.problems(), ["There is no pack P-999."]);
        let other = tell(&quinn, "lost", &said("P-002")).await;
        assert!(other.problems()[0].starts_with("P-002 is not part of this incident yet."), "{:?}", other.problems());
        quinn.post("/packs/P-001/condition", &[("seen", "smoke_or_fire")]).await.done();
        assert_eq!(tell(&quinn, "lost", &[("pack", "p-001"), ("words", " "), ("nothing_left", "yes")]).await.problems(), ["Say what became of it, in three letters or more."]);
        let tick = "Tick that nothing of it is left. What is left of a burnt pack is retired and disposed of.";
        assert_eq!(tell(&quinn, "lost", &[("pack", "p-001"), ("words", "ab"), ("nothing_left", "yes")]).await.problems(), ["Say what became of it, in three letters or more."]);
        assert_eq!(tell(&quinn, "lost", &[]).await.problems(), ["Say which pack.", tick, "Say what became of it, in three letters or more."]);
        let asked = tell(&quinn, "lost", &[("pack", "P-001"), ("words", "it burnt out")]).await;
        assert_eq!((asked.problems(), asked.one("#f-lost-nothing_left .wrong")), (vec![tick.to_owned()], tick.to_owned()));
        assert_eq!((asked.select("#f-lost-pack")[0].attribute("value"), asked.one("#f-lost-words")), ("P-001", "it burnt out".to_owned()), "what was typed is kept");
        assert!(olive.get("/book/I-001").await.select("input[value=lost]").is_empty(), "who does not run the pool is not asked");
        let fields = [("what", "lost"), ("pack", "P-001"), ("words", "gone"), ("key", "o")];
        assert!(olive.post("/book/I-001", &fields).await.problems()[0].contains("Only a quartermaster"));
        assert_eq!(club.find("SELECT state FROM pack ORDER BY number_key").await, ["quarantine", "fit"]);
        tell(&quinn, "lost", &said("p-001")).await.done();
        assert_eq!(club.find("SELECT state FROM pack ORDER BY number_key").await, ["lost", "fit"]);
        assert_eq!(club.find("SELECT how FROM watch").await, ["gone"]);
        assert!(quinn.get("/packs/P-001").await.one("main").contains("Lost in incident I-001"));
        let page = quinn.get("/book/I-001").await.one("main");
        assert!(page.contains("Pack lost") && page.contains("nothing is left of it"), "{page}");
        assert!(tell(&quinn, "lost", &said("P-001")).await.is_refused(), "once is enough");
        assert!(holds(&quinn).await);
        assert_eq!(club.first_break().await, None);
    }

    async fn the_club_watches_longer_if_it_says_so_and_never_shorter(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/condition", &[("seen", "wet")]).await.done();
        let keep = |name: &'static str, value: &'static str| {
            let quinn = &quinn;
            async move {
                let page = quinn.get("/settings").await;
                quinn.submit(&page, "main form", &[(name, value)]).await
            }
        };
        assert_eq!(keep("watched_minutes", "30").await.problems(), ["It is watched for 60 to 480 minutes."]);
        assert_eq!(keep("kept_hours", "").await.problems(), ["Then it lies for 24 to 336 hours."]);
        let next = || async { club.find("SELECT CAST((next_ms - began_ms) / 60000 AS TEXT) FROM watch").await.remove(0) };
        assert_eq!(next().await, "15");
        keep("look_every_minutes", "5").await.done();
        assert_eq!(next().await, "5", "a watch that goes on follows");
        keep("kept_hours", "48").await.done();
        let page = quinn.get("/packs/P-001/watch").await.one("main");
        assert!(page.contains("27 Nov"), "two days later: {page}");
    }
}
