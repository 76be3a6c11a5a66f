//! Reports that waited on a phone: each exists once however often it is sent, tells when it was made and when it came, and only ever
//! makes a pack more careful. What its label, its poster or its session no longer vouches for is told, and does nothing by itself.

use crate::support::*;

const HOUR_MS: i64 = 3_600_000;

async fn label_of(club: &TestClub, number: usize) -> String {
    let quinn = club.quartermaster().await;
    let path = format!("/packs/P-{number:03}/label");
    quinn.post(&path, &[("what", "make")]).await.done();
    club.find(&format!("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE k.number_key = {number} AND la.ended_ms IS NULL")).await.remove(0)
}

/// As the phone sends it: what was told, the key it made, from which page, and how long it waited.
async fn send(who: &Browser, of: &str, waited_ms: i64, fields: &[(&str, &str)]) -> Answer {
    let of = of.replace('/', "%2F");
    who.post(
        &format!("/offline?of={of}&waited_ms={waited_ms}&kept=yes"),
        fields,
    )
    .await
}

async fn state(club: &TestClub, number: &str) -> String {
    club.find(&format!("SELECT state FROM pack WHERE number = '{number}'"))
        .await
        .remove(0)
}

async fn effects(club: &TestClub) -> Vec<String> {
    club.find("SELECT effect FROM report ORDER BY came_ms, id")
        .await
}

on_both! {
    async fn a_late_report_tells_when_it_was_made_and_when_it_came_by_how_long_it_waited(club: TestClub) {
        club.fit_packs(1).await;
        let code = label_of(&club, 1).await;
        let visitor = club.visitor();
        let sent = send(&visitor, &format!("/t/{code}/report"), 3 * HOUR_MS, &[("key", "k1"), ("seen", "wet"), ("is_now", "yes")]).await;
        assert!(sent.done().starts_with("/reported/"));
        let page = visitor.get(sent.done()).await;
        assert!(page.one("main .notice[role=status]").contains("Made today, 15:30, came today, 18:30."), "{}", page.one("main .notice[role=status]"));
        assert_eq!(state(&club, "P-001").await, "quarantine");
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/reports").await.one("main").contains("made today, 15:30"));
        let one = quinn.get(&format!("/reports/{}", club.ids("report").await[0])).await;
        assert!(one.one("dl.facts").contains("on a phone that could not send it") && one.text.contains("Yes, when it was made"));
        let begun = quinn.get(&format!("/book/new?report={}", club.ids("report").await[0])).await;
        assert_eq!(begun.select("input[name=time]")[0].attribute("value"), "15:30", "an incident begins when it was seen, not when its report came");
        let typed = [("kind", "hazard"), ("harm", "nobody"), ("harm_could", "nobody"), ("damage_was", "nothing"), ("damage_could", "nothing"), ("doing", "stored"), ("place", "Hall")];
        quinn.submit(&begun, "main form", &typed).await.done();
        let main = quinn.get("/book/I-001").await.one("main");
        assert!(main.contains(", made today, 15:30, came today, 18:30"), "{main}");
        for (key, waited) in [("k2", -HOUR_MS), ("k3", 0), ("k4", i64::MAX)] {
            send(&visitor.again().at([203, 0, 113, 1]), "/contact", waited, &[("key", key), ("own_words", key)]).await.done();
        }
        let told = "SELECT words || ' ' || (CASE WHEN made_ms IS NULL THEN 'at once' WHEN made_ms >= came_ms THEN 'after' WHEN came_ms - made_ms = 5184000000 THEN 'bounded' ELSE 'odd' END) FROM report WHERE about = 'message' ORDER BY words";
        assert_eq!(club.find(told).await, ["k2 at once", "k3 at once", "k4 bounded"], "no time to come, none of long ago");
        assert_eq!(club.visitor().post("/offline?waited_ms=soon", &[("key", "k5")]).await.status, 400);
    }

    async fn sent_again_after_weeks_signed_in_or_out_it_exists_once_and_with_other_words_it_is_refused(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.member("Ada").await;
        let fields = [("key", "8a1f"), ("seen", "swollen"), ("own_words", "puffed like a cushion")];
        let first = send(&ada, "/packs/P-001/condition", 5 * HOUR_MS, &fields).await;
        club.later_by_days(9);
        for who in [ada.again(), club.visitor(), club.quartermaster().await] {
            let again = send(&who, "/packs/P-001/condition", 9 * 24 * HOUR_MS, &fields).await;
            assert_eq!(again.done(), first.done(), "the same answer");
        }
        assert_eq!((club.ids("report").await.len(), club.ids("finding WHERE rule = 'swollen'").await.len()), (1, 1));
        let other = send(&ada, "/packs/P-001/condition", 0, &[("key", "8a1f"), ("seen", "wet")]).await;
        assert_eq!(other.status, 422, "another report under the same key");
        assert_eq!(send(&ada, "/packs/P-002/condition", 0, &fields).await.status, 422, "nor of another pack");
        assert_eq!(club.ids("report").await.len(), 1);
        assert_eq!(club.first_break().await, None);
    }

    async fn what_a_revoked_label_or_an_ended_session_tells_is_not_lost_and_does_nothing_before_somebody_looked(club: TestClub) {
        club.fit_packs(3).await;
        let code = label_of(&club, 1).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "revoke")]).await.done();
        let visitor = club.visitor();
        let of = [format!("/t/{code}/report"), "/packs/P-002/condition".to_owned(), "/t/0123456789abcdefghjkmnopqr/report".to_owned(), "/packs/P-999/condition".to_owned(), "/p/nothing".to_owned(), "/report".to_owned()];
        let mut pages = Vec::new();
        for (at, of) in of.iter().enumerate() {
            let key = format!("key {at}");
            let sent = send(&visitor, of, 0, &[("key", &key), ("seen", "swollen"), ("about", "near_miss")]).await;
            let page = visitor.get(sent.done()).await.one("main");
            pages.push(page.split("Keep this address").next().expect("a page").split_once("Sent").expect("sent").1.to_owned());
        }
        pages.dedup();
        assert_eq!(pages.len(), 1, "alike whether there is such a pack: {pages:?}");
        assert_eq!((state(&club, "P-001").await, state(&club, "P-002").await), ("fit".to_owned(), "fit".to_owned()));
        assert_eq!(effects(&club).await, ["none"; 6]);
        let list = quinn.get("/reports").await.one("main");
        assert!(list.contains("P-001") && list.contains("P-002") && list.contains("Danger:"), "whoever runs the pool is told which pack: {list}");
        let id = club.find("SELECT r.token FROM report r JOIN pack k ON k.id = r.pack_id WHERE k.number = 'P-002'").await.remove(0);
        assert!(!visitor.get(&format!("/reported/{id}")).await.text.contains("P-002"));
        let ids = club.ids("report WHERE pack_id IS NOT NULL").await;
        for id in ids {
            let page = quinn.get(&format!("/reports/{id}")).await;
            assert!(page.text.contains("Nothing was done to it"));
            let looked = [("was_so", "yes"), ("looked", "puffed, as told")];
            quinn.submit(&page, "form:has(input[name=what][value=look])", &looked).await.done();
        }
        assert_eq!(club.find("SELECT DISTINCT gravity FROM finding").await, ["final_danger"], "somebody looked, and it was so");
        assert_eq!(club.first_break().await, None);
    }

    async fn what_a_member_tells_by_a_revoked_label_stands_against_the_pack_once_somebody_looked(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        for number in 1..=2 {
            let code = label_of(&club, number).await;
            quinn.post(&format!("/packs/P-00{number}/label"), &[("what", "revoke")]).await.done();
            let key = format!("late {number}");
            send(&ada, &format!("/t/{code}/report"), HOUR_MS, &[("key", &key), ("seen", "swollen")]).await.done();
            assert_eq!(state(&club, &format!("P-00{number}")).await, "fit", "the label vouches for nothing any more");
        }
        let looked = async |number: usize, was_so: &str| {
            let id = club.ids(&format!("report WHERE phone_key = 'late {number}'")).await[0];
            let page = quinn.get(&format!("/reports/{id}")).await;
            quinn.submit(&page, "form:has(input[name=what][value=look])", &[("was_so", was_so), ("looked", "seen from the door")]).await.done();
        };
        looked(1, "yes").await;
        looked(2, "no").await;
        assert_eq!((state(&club, "P-001").await, state(&club, "P-002").await), ("quarantine".to_owned(), "fit".to_owned()));
        assert_eq!(club.find("SELECT rule || ' ' || gravity FROM finding").await, ["swollen final_danger"]);
        assert_eq!(club.ids("watch").await.len(), 1, "and it is watched from then on");
    }

    async fn strangers_late_reports_count_as_those_that_come_at_once(club: TestClub) {
        club.fit_packs(3).await;
        let mut at = Vec::new();
        for number in 1..=3 {
            at.push(format!("/t/{}/report", label_of(&club, number).await));
        }
        let visitor = club.visitor();
        for (number, of) in at.iter().enumerate() {
            let key = format!("key {number}");
            send(&visitor, of, 40 * HOUR_MS, &[("key", &key), ("seen", "smoke_or_fire")]).await.done();
        }
        assert_eq!(effects(&club).await, ["quarantined", "set_aside", "set_aside"], "one a day from a network, however old they say to be");
        assert_eq!(club.find("SELECT DISTINCT gravity FROM finding ORDER BY gravity").await, ["danger", "to_mend"], "never final");
        let mut held = 0;
        for number in 0..30 {
            let answer = send(&visitor, &at[0], HOUR_MS, &[("key", &format!("more {number}")), ("seen", "wet")]).await;
            if answer.status == 429 {
                held += 1;
                assert!(answer.text.contains("Not sent: tell a person of the club now."));
            }
        }
        assert!(held > 10, "{held}");
    }

    async fn danger_that_was_seen_before_somebody_released_the_pack_makes_it_careful_again(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, rosa) = (club.member("Ada").await, club.second_quartermaster().await);
        let quinn = club.quartermaster().await;
        let one = [("key", "first"), ("seen", "wet")];
        quinn.post("/packs/P-001/condition", &one).await.done();
        club.later_by_minutes(90);
        let fields = [("volts_line", "3.83 3.82 3.83"), ("rested", "rested_an_hour")];
        quinn.post("/packs/P-001/volts", &fields).await.done();
        club.watches_are_over().await;
        rosa.post("/packs/P-001/release", &[("release_reason", "dry and whole")]).await.done();
        assert_eq!(state(&club, "P-001").await, "fit");
        send(&ada, "/packs/P-001/condition", 80 * 60_000, &[("key", "late"), ("seen", "wet"), ("volts_line", "3.10 3.10 3.10"), ("rested", "rested_an_hour")]).await.done();
        assert_eq!(state(&club, "P-001").await, "quarantine", "what came late never makes less of it");
        assert_eq!(club.find("SELECT last_volts FROM pack").await, ["c:3830,3820,3830"], "old volts are not taken for those of now");
        assert!(club.find("SELECT left_out FROM report WHERE phone_key = 'late'").await[0].contains("Measure again"));
        assert_ne!(rosa.post("/packs/P-001/release", &[("release_reason", "still dry")]).await.status, 303, "and nothing of it is released at once");
    }

    async fn what_is_kept_of_a_nameless_report_is_the_same_whoever_of_the_club_sent_it(club: TestClub) {
        for (key, name) in [("one", "Ada"), ("two", "Bea")] {
            let member = club.member(name).await;
            let id = member.id().to_string();
            let told = [("about", "near_miss"), ("own_words", "it sparked"), ("nameless", "yes"), ("who", id.as_str())];
            send(&member, "/report", HOUR_MS, &[told.as_slice(), &[("key", key)]].concat()).await.done();
            member.post("/report", &[told.as_slice(), &[("key", name)]].concat()).await.done();
        }
        assert_eq!(club.find("SELECT DISTINCT phone_hash FROM report WHERE phone_key IS NOT NULL").await.len(), 1);
        assert_eq!(club.find("SELECT DISTINCT body_hash FROM form_key WHERE answer LIKE '/reported/%' AND key IN ('Ada', 'Bea')").await.len(), 1);
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM report WHERE by_id IS NULL").await, ["4"]);
    }

    async fn volts_that_waited_are_no_reading_and_the_danger_they_tell_of_counts(club: TestClub) {
        club.fit_packs(2).await;
        let ada = club.member("Ada").await;
        let before = club.find("SELECT last_volts FROM pack ORDER BY number_key").await;
        for (number, key, line) in [("P-001", "low", "3.80 1.70 3.80"), ("P-002", "fine", "3.80 3.81 3.80")] {
            let fields = [("key", key), ("seen", "connector_damaged"), ("volts_line", line), ("rested", "rested_an_hour")];
            send(&ada, &format!("/packs/{number}/condition"), 3 * 60_000, &fields).await.done();
        }
        assert_eq!(state(&club, "P-001").await, "quarantine");
        assert_eq!(state(&club, "P-002").await, "set_aside");
        assert_eq!(club.find("SELECT last_volts FROM pack ORDER BY number_key").await, before, "no reading of now");
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/packs/P-001").await.text.contains("Cell 2 rests at 1.70 V"));
        let ended = [("key", "ended"), ("seen", "connector_damaged"), ("volts_line", "3.80 1.70 3.80"), ("rested", "rested_an_hour")];
        send(&club.visitor(), "/packs/P-002/condition", 3 * 60_000, &ended).await.done();
        assert!(club.find("SELECT left_out FROM report WHERE phone_key = 'ended'").await[0].starts_with("Its volts, typed as “3.80 1.70 3.80”: nobody of the club"), "nothing is lost unsaid");
        for (key, volts) in [("low", "3.80 1.70 3.80"), ("fine", "3.80 3.81 3.80")] {
            let token = club.find(&format!("SELECT token FROM report WHERE phone_key = '{key}'")).await.remove(0);
            let page = quinn.get(&format!("/reported/{token}")).await;
            assert!(page.text.contains(&format!("Volts: {volts}")) && page.text.contains("Measure again"), "{}", page.one("main"));
        }
    }

    async fn at_a_shared_tablet_nobody_sends_in_the_name_of_who_is_signed_in_next(club: TestClub) {
        club.fit_packs(2).await;
        let (ada, bea) = (club.member("Ada").await, club.member("Bea").await);
        let hers = ada.id().to_string();
        send(&bea, "/packs/P-001/condition", HOUR_MS, &[("key", "1"), ("seen", "wrap_torn"), ("who", &hers)]).await.done();
        send(&ada, "/packs/P-002/condition", HOUR_MS, &[("key", "2"), ("seen", "wrap_torn"), ("who", &hers)]).await.done();
        let told = "SELECT COALESCE(p.name, 'nobody') || ' ' || r.effect FROM report r LEFT JOIN person p ON p.id = r.by_id ORDER BY r.phone_key";
        assert_eq!(club.find(told).await, ["nobody none", "Ada set_aside"]);
    }

    async fn the_page_that_a_phone_keeps_tells_what_to_do_and_nothing_of_packs_or_people(club: TestClub) {
        club.in_full_swing(6).await;
        let quinn = club.quartermaster().await;
        let settings = quinn.get("/settings").await;
        quinn.submit(&settings, "form[action='/settings']", &[("emergency_number", "112"), ("hall_address", "Mill Lane 1"), ("hall_plan", "Sand: only Rosa.")]).await.done();
        let page = club.visitor().get("/offline").await;
        assert_eq!(page.select(".dial a")[0].attribute("href"), "tel:112");
        assert!(page.one(".hall").contains("Mill Lane 1") && page.text.contains("Sand: only Rosa."));
        let (advice, form) = (page.text.find("<ol class=\"steps\">").expect("advice"), page.text.find("<form method=\"post\" action=\"/offline\"").expect("a form"));
        assert!(advice < form, "what to do stands before any field");
        for secret in ["P-00", "Quinn", "Ada", "LiPo", "Fit", "Charge it", "3.8"] {
            assert!(!page.one("main").contains(secret), "{secret}");
        }
        let plain = |page: &Answer| page.text.split("name=\"key\"").next().expect("a page").to_owned();
        assert_eq!(plain(&page), plain(&club.visitor().get("/offline").await), "alike for everybody");
        let worker = club.visitor().get("/worker.js").await;
        assert_eq!((worker.status.as_u16(), worker.header("content-type"), worker.header("cache-control")), (200, "text/javascript; charset=utf-8", "no-store"));
        assert!(worker.header("content-security-policy").contains("worker-src 'self'"));
        let files = worker.text.lines().next().expect("files").split('"').filter(|part| part.starts_with('/')).map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(files.len(), 5);
        let named = page.text.split('"').filter(|part| part.starts_with("/static/"));
        let not_kept: Vec<&str> = named.filter(|part| !files.iter().any(|file| file == part)).collect();
        assert!(not_kept.is_empty() && page.text.contains(&files[0]), "the page names what the worker keeps and no other file: {not_kept:?}");
        for file in files {
            assert_eq!(club.visitor().get(&file).await.status, 200, "{file}");
        }
        let elsewhere = [("origin", "https://example.org"), ("sec-fetch-site", "cross-site")];
        let before = club.contents().await;
        assert_eq!(club.visitor().post_with("/offline", &elsewhere, &[("key", "1"), ("thing", "socket"), ("own_words", "loose")]).await.status, 403);
        assert_eq!(club.contents().await, before);
    }

    async fn without_script_the_kept_page_is_a_plain_form_too(club: TestClub) {
        club.fit_packs(1).await;
        let visitor = club.visitor();
        let page = visitor.get("/offline").await;
        let refused = visitor.submit(&page, "main form", &[("place", "by the door")]).await;
        assert!(refused.is_refused() && refused.text.contains("by the door"));
        let sent = visitor.submit(&refused, "main form", &[("thing", "charger"), ("own_words", "it hums")]).await;
        assert!(visitor.get(sent.done()).await.text.contains("it hums"));
        let again = visitor.submit(&refused, "main form", &[("thing", "charger"), ("own_words", "it hums")]).await;
        assert_eq!(again.done(), sent.done());
        assert_eq!(club.ids("report").await.len(), 1);
    }

    async fn the_same_report_sent_again_takes_nobodys_turn_at_the_label(club: TestClub) {
        club.new_packs(1).await;
        let at = format!("/t/{}/report", label_of(&club, 1).await);
        let phone = club.visitor();
        let path = format!("/offline?of={}&waited_ms=0&kept=yes", at.replace('/', "%2F"));
        let again = async |key: &str, named: &str| phone.post_with(&path, &[("origin", "http://hall.example:8080"), ("idempotency-key", named)], &[("key", key), ("seen", "wet")]).await;
        let first = again("k1", "k1").await.done().to_owned();
        assert_eq!(again("k1", "k1").await.done(), first);
        assert_eq!(club.ids("report").await.len(), 1);
        for number in 2..=12 {
            let key = format!("k{number}");
            again(&key, &key).await.done();
        }
        assert_eq!(again("k13", "k1").await.status, 429, "a new one behind the first one's key counts");
        assert_eq!(club.ids("report").await.len(), 12);
    }

    async fn a_photo_that_was_refused_on_its_way_is_told_of_on_its_report_and_may_come_again(club: TestClub) {
        club.found().await;
        let visitor = club.visitor();
        for (key, refused, words) in [("large", "", "A photo may have 12 MB."), ("refused", "yes", "That photo was refused on its way here.")] {
            let sent = send(&visitor, "/offline", 0, &[("key", key), ("own_words", "a hot socket")]).await;
            visitor.post(sent.done(), &[("key", &format!("{key}-photo")), ("refused", refused)]).await.done();
            let page = visitor.get(sent.done()).await;
            assert!(page.one("main").contains(words), "{}", page.one("main"));
            assert!(!page.select("[name=photo]").is_empty(), "a smaller one may be added");
            let id = club.ids(&format!("report WHERE phone_key = '{key}'")).await[0];
            assert!(club.quartermaster().await.get(&format!("/reports/{id}")).await.one("main").contains(words));
        }
    }

    async fn a_photo_that_waited_comes_after_its_report_and_once(club: TestClub) {
        club.found().await;
        let visitor = club.visitor();
        let sent = send(&visitor, "/offline", HOUR_MS, &[("key", "p"), ("own_words", "a hot socket")]).await;
        let mut bytes = std::io::Cursor::new(Vec::new());
        image::DynamicImage::new_rgb8(40, 20).write_to(&mut bytes, image::ImageFormat::Png).expect("a picture");
        let picture = bytes.into_inner();
        club.later_by_days(20);
        for _ in 0..2 {
            let added = visitor.send_file(sent.done(), &[("key", "p-photo")], ("photo", "a.png", &picture)).await;
            assert!(added.done().starts_with(sent.done()), "{}", added.done());
        }
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM report_photo").await, ["1"]);
    }
}
