//! Telling of what is wrong, by a stranger and by a person of the club: danger first, what a report does to a pack, what the
//! reporter sees afterwards, and how a flood is held.

use crate::support::*;
use image::ImageFormat;
use sandbucket::app::App;
use sandbucket::store::Db;
use std::io::Cursor;

/// Codes of so many packs' labels.
async fn labelled(club: &TestClub, count: usize) -> Vec<String> {
    club.fit_packs(count).await;
    let quinn = club.quartermaster().await;
    for number in 1..=count {
        let path = format!("/packs/P-{number:03}/label");
        quinn.post(&path, &[("what", "make")]).await.done();
    }
    club.find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE la.ended_ms IS NULL ORDER BY k.number_key").await
}

async fn state(club: &TestClub, number: &str) -> String {
    let sql = format!("SELECT state FROM pack WHERE number = '{number}'");
    club.find(&sql).await.remove(0)
}

/// The form as a browser sends it that never saw the page: its key is made anew.
async fn send(who: &Browser, to: &str, typed: &[(&str, &str)]) -> Answer {
    let key = sandbucket::ids::new_token();
    let mut fields = vec![("key", key.as_str())];
    fields.extend(typed);
    who.post(to, &fields).await
}

fn picture() -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let dots = image::DynamicImage::new_rgb8(40, 20);
    dots.write_to(&mut bytes, ImageFormat::Png)
        .expect("a picture");
    bytes.into_inner()
}

on_both! {
    async fn what_to_do_now_stands_before_any_field_with_the_number_and_the_address_in_big_print(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let visitor = club.visitor();
        let scanned = visitor.get(&format!("/t/{code}")).await;
        let ways: Vec<Element> = scanned.select("ul.do a");
        let now = visitor.get(ways[0].attribute("href")).await;
        assert!(now.one("h1").contains("Get away") && now.select("main form, main input").is_empty());
        assert!(now.one(".dial-none").contains("has not written its number") && now.text.contains("has not written the hall's address"));
        let quinn = club.quartermaster().await;
        let settings = quinn.get("/settings").await;
        let asked = quinn.get("/to-see-to").await.one("p.notice");
        assert!(asked.contains("Not written yet: the number to call, the hall’s address."), "{asked}");
        let typed = [("emergency_number", "112"), ("hall_address", "Mill Lane 1"), ("hall_plan", "Sand by the door: only Rosa."), ("meeting_point", "the oak")];
        quinn.submit(&settings, "form[action='/settings']", &typed).await.done();
        assert!(!quinn.get("/to-see-to").await.text.contains("Not written yet"));
        let now = visitor.get(ways[0].attribute("href")).await;
        assert_eq!(now.select(".dial a")[0].attribute("href"), "tel:112");
        assert_eq!(now.one(".hall"), "Mill Lane 1");
        assert!(now.text.contains("Sand by the door: only Rosa.") && now.text.contains("the oak"));
        let steps = now.texts("ol.steps li");
        assert!(steps[0].starts_with("Local rules and the fire service come first"), "{steps:?}");
        assert!(now.select("ol.steps li").len() == now.select("ol.steps .source").len() && steps.iter().any(|step| step.contains("US Fire Administration")));
        let hot = now.select("ul.do a");
        let form = visitor.get(hot[1].attribute("href")).await;
        assert_eq!(form.select("input[value=too_hot_to_hold][checked]").len(), 1, "the answer goes along: three taps, and the fourth sends it");
        assert_eq!(form.select("input[name=is_now][value=yes][checked]").len(), 1);
        visitor.submit(&form, "main form", &[]).await.done();
        assert_eq!(state(&club, "P-001").await, "quarantine");
    }

    async fn a_strangers_first_danger_quarantines_at_once_and_is_not_final_before_a_person_looked(club: TestClub) {
        let codes = labelled(&club, 3).await;
        let visitor = club.visitor();
        let form = visitor.get(&format!("/t/{}/report?now=no", codes[0])).await;
        for secret in ["P-001", "Quinn", "2200", "LiPo", "3.82", "Fit"] {
            assert!(!form.text.contains(secret), "{secret} is told to a stranger");
        }
        let sent = visitor.submit(&form, "main form", &[("seen", "swollen"), ("place", "by the door"), ("is_now", "no")]).await;
        let page = visitor.get(sent.done()).await;
        assert!(page.text.contains("Nobody has read it yet") && page.text.contains("Swollen or puffed"));
        assert!(!page.text.contains("P-001") && !page.text.to_lowercase().contains("quarantine, "));
        assert_eq!(state(&club, "P-001").await, "quarantine");
        assert_eq!(club.find("SELECT gravity FROM finding").await, ["danger"], "never final by a stranger");
        assert_eq!(club.find("SELECT CASE WHEN is_verified THEN 'verified' ELSE 'unverified' END FROM report").await, ["unverified"]);
        send(&visitor, &format!("/t/{}/report", codes[1]), &[("seen", "smoke_or_fire")]).await.done();
        assert_eq!(state(&club, "P-002").await, "set_aside", "the second danger from one network in a day");
        send(&club.visitor().at([203, 0, 113, 9]), &format!("/t/{}/report", codes[1]), &[("seen", "smoke_or_fire")]).await.done();
        assert_eq!(state(&club, "P-002").await, "quarantine", "another network saw it too");
        send(&visitor, &format!("/t/{}/report", codes[2]), &[("own_words", "it rattles")]).await.done();
        assert_eq!(state(&club, "P-003").await, "set_aside");
        club.later_by_minutes(24 * 60 + 1);
        send(&visitor, &format!("/t/{}/report", codes[2]), &[("seen", "wet")]).await.done();
        assert_eq!(state(&club, "P-003").await, "quarantine", "a day later it counts again");
        let quinn = club.quartermaster().await;
        let history = quinn.get("/packs/P-001").await.texts("ol.log li span");
        assert!(history[0].contains("somebody unnamed: P-001 reported by somebody not signed in: Swollen or puffed."), "{}", history[0]);
        assert_eq!(club.first_break().await, None);
    }

    async fn once_a_day_from_a_network_holds_for_all_processes_and_no_address_can_be_tried_through(club: TestClub) {
        let codes = labelled(&club, 3).await;
        let at_home: std::net::IpAddr = "2001:db8:1:2::10".parse().expect("an address");
        let swollen = [("seen", "swollen")];
        send(&club.visitor(), &format!("/t/{}/report", codes[0]), &swollen).await.done();
        let other = Db::open(club.url(), false).await.expect("another process");
        let app = App::new(other.clone(), club.clock.clone(), settings(club.url()));
        send(&Browser::new(&app, None), &format!("/t/{}/report", codes[1]), &swollen).await.done();
        assert_eq!(state(&club, "P-002").await, "set_aside", "it knows what came to the first");
        send(&Browser::new(&app, None).at(at_home), &format!("/t/{}/report", codes[2]), &swollen).await.done();
        assert_eq!(state(&club, "P-003").await, "quarantine", "another network");
        other.close().await;
        let kept = club.find("SELECT network FROM report ORDER BY came_ms, id").await;
        assert!(kept.iter().all(|one| sandbucket::ids::is_token(one)), "{kept:?}");
        assert!(kept[0] == kept[1] && kept[0] != kept[2], "{kept:?}");
        let all = club.contents().await.into_values().flatten().collect::<Vec<_>>().join("\n");
        for network in ["192.0.2.7", "2001:db8:1:2::", "2001:db8:1:2::10"] {
            let bare = sandbucket::ids::digest(network);
            assert!(!all.contains(network) && !all.contains(&bare), "{network}");
        }
        club.later_by_days(2);
        club.later_by_minutes(1);
        sandbucket::tasks::sweep::sweep(&club.app).await.expect("swept");
        assert_eq!(club.find("SELECT 'one' FROM report WHERE network IS NOT NULL").await, [""; 0], "forgotten");
    }

    async fn sent_twice_a_report_exists_once_also_of_a_stranger(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let at = format!("/t/{code}/report");
        let visitor = club.visitor();
        let form = visitor.get(&format!("{at}?now=no")).await;
        let first = visitor.upload(&form, "main form", &[("seen", "wet")], ("photo", "a.png", &picture())).await;
        let again = visitor.upload(&form, "main form", &[("seen", "wet")], ("photo", "a.png", &picture())).await;
        assert_eq!(first.done(), again.done());
        assert_eq!((club.ids("report").await.len(), club.ids("finding").await.len()), (1, 1));
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM report_photo").await, ["1"]);
        assert_eq!(visitor.submit(&form, "main form", &[("seen", "leak")]).await.status, 409, "the same form with something else in it");
        assert!(!visitor.get(first.done()).await.select("input[name=photo]").iter().any(|_| true), "it has its photo");
    }

    async fn unknown_revoked_and_mistyped_labels_and_posters_answer_alike(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "revoke")]).await.done();
        let poster = send(&quinn, "/posters", &[("name", "Door")]).await.done().to_owned();
        let wall = club.find("SELECT code FROM poster").await.remove(0);
        send(&quinn, &format!("{poster}/end"), &[]).await.done();
        let visitor = club.visitor();
        let mut answers = Vec::new();
        for at in [format!("/t/{code}/report"), "/t/x/report?now=no".to_owned(), "/t/0123456789abcdefghjkmnopqr/report".to_owned(), format!("/p/{wall}"), "/p/x".to_owned()] {
            let page = visitor.get(&at).await;
            assert_eq!(page.status, 404, "{at}");
            answers.push(page.one("main"));
            let before = club.contents().await;
            let posted = send(&visitor, at.split('?').next().expect("a path"), &[("seen", "wet"), ("thing", "socket")]).await;
            assert_eq!(posted.status, 404, "{at}");
            let not_sent = posted.one("main [role=alert]");
            answers.push(posted.one("main").replacen(&format!("{not_sent} "), "", 1));
            assert_eq!(club.contents().await, before, "{at}");
        }
        answers.dedup();
        assert_eq!(answers.len(), 1, "{answers:?}");
        assert!(answers[0].contains("get away, keep others away and call the fire service"));
    }

    async fn volts_told_with_a_report_make_it_as_grave_as_they_are(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        let typed = [("seen", "connector_damaged"), ("volts_line", "3.29 1.70 3.30"), ("rested", "rested_an_hour")];
        let told = send(&ada, "/packs/P-001/condition", &typed).await;
        told.done();
        assert_eq!(club.find("SELECT gravity || ' ' || effect FROM report").await, ["danger quarantined"]);
        let id = club.ids("report").await[0];
        let page = quinn.get(&format!("/reports/{id}")).await;
        assert!(page.one("main").contains("Volts: 3.29 1.70 3.30"), "what makes it danger is told: {}", page.text);
        assert!(page.one("main").contains("It put the pack in quarantine") && page.one(".stop").contains("Stop"), "{}", page.text);
        let token = club.find("SELECT token FROM report").await.remove(0);
        let hers = ada.get(&format!("/reported/{token}")).await;
        assert!(hers.one(".first-do").contains("Leave it where it lies"), "{}", hers.text);
        let meanwhile = hers.texts("ol.steps li");
        assert!(hers.texts("h2").contains(&"What to do meanwhile".to_owned()) && meanwhile[0].starts_with("Local rules and the fire service come first"), "{meanwhile:?}");
        assert!(meanwhile.iter().any(|line| line.starts_with("Nobody carries it while it is watched")), "what its own page says: {meanwhile:?}");
        club.behind_the_back("UPDATE report SET came_ms = came_ms - 1").await.expect("earlier");
        club.more_packs(1).await;
        send(&ada, "/packs/P-002/condition", &[("seen", "wrap_torn"), ("volts_line", "3.82 3.60 3.82"), ("rested", "rested_an_hour")]).await.done();
        let latest = "SELECT gravity || ' ' || effect FROM report ORDER BY came_ms DESC LIMIT 1";
        assert_eq!(club.find(latest).await, ["to_mend set_aside"], "what stands apart sets it aside");
        let token = club.find("SELECT token FROM report ORDER BY came_ms DESC LIMIT 1").await.remove(0);
        let calm = ada.get(&format!("/reported/{token}")).await;
        assert!(!calm.text.contains("What to do meanwhile") && !calm.text.contains("tell of danger"), "{}", calm.text);
        let odd = [("seen", "something_else"), ("own_words", "flames from a lead"), ("is_now", "yes"), ("volts_line", "3.82 3.82 3.82"), ("rested", "rested_an_hour")];
        send(&ada, "/packs/P-002/condition", &odd).await.done();
        let token = club.find("SELECT token FROM report WHERE words <> ''").await.remove(0);
        let now = ada.get(&format!("/reported/{token}")).await;
        assert!(!now.text.contains("Its volts tell of danger"), "what was seen does: {}", now.text);
        assert!(now.texts("ol.steps li").iter().any(|line| line.starts_with("Raise the alarm")), "{}", now.text);
    }

    async fn a_double_is_answered_as_the_report_that_stays(club: TestClub) {
        let codes = labelled(&club, 1).await;
        let quinn = club.quartermaster().await;
        for network in 1..=2 {
            let visitor = club.visitor().at([203, 0, 113, network]);
            send(&visitor, &format!("/t/{}/report", codes[0]), &[("seen", "swollen")]).await.done();
            club.later_by_minutes(1);
        }
        let reports = club.find("SELECT reference || ' ' || token FROM report ORDER BY came_ms").await;
        let parts: Vec<(&str, &str)> = reports.iter().map(|both| both.split_once(' ').expect("two")).collect();
        let mut ids = Vec::new();
        for (reference, _) in &parts {
            ids.extend(club.ids(&format!("report WHERE reference = '{reference}'")).await);
        }
        let see = |id, what: &'static str, more: (&'static str, String)| {
            let quinn = &quinn;
            async move { quinn.post(&format!("/reports/{id}"), &[("what", what), (more.0, &more.1), ("key", what)]).await.done().to_owned() }
        };
        see(ids[1], "merge", ("into", parts[0].0.to_owned())).await;
        see(ids[0], "answer", ("answer", "It is in quarantine now.".to_owned())).await;
        let theirs = club.visitor().get(&format!("/reported/{}", parts[1].1)).await;
        assert!(theirs.one("main").contains("The club works on that report") && theirs.one("main").contains("It is in quarantine now."), "{}", theirs.text);
    }

    async fn what_a_stranger_told_and_was_not_so_says_so_lifts_nothing_and_moves_nothing(club: TestClub) {
        let codes = labelled(&club, 1).await;
        let quinn = club.quartermaster().await;
        send(&club.visitor(), &format!("/t/{}/report", codes[0]), &[("seen", "smoke_or_fire"), ("place", "the boot of the car")]).await.done();
        let place = club.find("SELECT COALESCE(CAST(place_id AS TEXT), '') FROM pack").await;
        let watch = quinn.get("/packs/P-001/watch").await;
        assert!(watch.one("main").contains("reported at “the boot of the car”"), "{}", watch.text);
        assert!(quinn.get("/quarantine").await.one("table").contains("the boot of the car"));
        let id = club.ids("report").await[0];
        let look = [("what", "look"), ("was_so", "no"), ("looked", "cold, flat and quiet"), ("key", "l")];
        quinn.post(&format!("/reports/{id}"), &look).await.done();
        let page = quinn.get("/packs/P-001").await;
        assert!(page.one(".verdict").contains("Quarantine") && page.text.contains("who looked since saw that it was not so"), "{}", page.text);
        assert!(!page.one(".verdict").contains("not yet looked at") && !page.one("ol.told").contains("not yet looked at"));
        assert_eq!(club.find("SELECT COALESCE(CAST(place_id AS TEXT), '') FROM pack").await, place, "nobody took it anywhere");
    }

    async fn a_members_report_is_what_they_saw_and_its_photo_and_volts_stand_with_it(club: TestClub) {
        club.fit_packs(2).await;
        let (ada, quinn) = (club.member("Ada").await, club.quartermaster().await);
        let first = ada.get("/packs/P-001/condition").await;
        assert!(first.select("main form").is_empty() && first.select("ul.do a").len() == 2, "danger is asked about first");
        let form = ada.get("/packs/P-001/condition?now=no").await;
        let typed = [("seen", "lead_damaged"), ("place", "shelf 2"), ("volts_line", "3.70 3.71 3.70"), ("rested", "rested_an_hour")];
        let sent = ada.upload(&form, "main form", &typed, ("photo", "a.png", &picture())).await;
        let page = ada.get(sent.done()).await;
        assert!(page.one("main [role=status]").contains("Reported"));
        assert_eq!((state(&club, "P-001").await.as_str(), club.find("SELECT last_volts FROM pack WHERE number = 'P-001'").await[0].as_str()), ("set_aside", "c:3700,3710,3700"));
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM report_photo").await, ["1"]);
        let mine = ada.get(page.select("[role=status] a")[0].attribute("href")).await;
        assert!(mine.text.contains("Lead damaged"));
        let told = quinn.get("/packs").await;
        assert!(told.text.contains("1 report that nobody has read"), "on whatever page they look at");
        assert!(!ada.get("/packs").await.text.contains("nobody has read"));
        let odd = [("seen", "wrap_torn"), ("volts_line", "much")];
        let refused = send(&ada, "/packs/P-002/condition", &odd).await;
        assert!(refused.is_refused() && refused.text.contains("much"));
        assert_eq!(state(&club, "P-002").await, "fit");
        let stored = send(&ada, "/packs/P-002/condition", &[("seen", "swollen"), ("volts_line", "much")]).await;
        stored.done();
        assert_eq!(state(&club, "P-002").await, "quarantine", "danger is stored whatever stands beside it");
        assert_eq!(club.find("SELECT gravity FROM finding WHERE rule = 'swollen'").await, ["final_danger"]);
        assert_eq!(club.find("SELECT left_out FROM report WHERE seen = 'swollen'").await, ["Its volts could not be read: log them on its page."], "letters are no volts");
    }

    async fn a_photo_that_cant_be_read_costs_no_report_and_one_is_added_afterwards(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let visitor = club.visitor();
        let form = visitor.get(&format!("/t/{code}/report?now=no")).await;
        for (name, bytes) in [("bomb.png", b"\x89PNG\r\n\x1a\n".as_slice()), ("page.jpg", b"<html><script>")] {
            let sent = visitor.upload(&form, "main form", &[("seen", "wet"), ("key", name)], ("photo", name, bytes)).await;
            let page = visitor.get(sent.done()).await;
            assert!(page.text.contains("Not kept of it: That is no photo that can be read."), "{name}");
            let refused = visitor.upload(&page, "main form", &[], ("photo", name, bytes)).await;
            assert!(refused.is_refused() && refused.problems()[0].contains("no photo"));
            // The script of a phone sends it after the words, and nobody sees what is answered.
            let key = format!("{name}-photo");
            let path = sent.done();
            club.behind_the_back("UPDATE report SET photo_refused = ''").await.expect("as if nothing came yet");
            visitor.send_file(path, &[("key", &key)], ("photo", name, bytes)).await.done();
            assert!(visitor.get(path).await.text.contains("Not kept of it: That is no photo that can be read."), "{name}");
            visitor.post(path, &[("key", &key)]).await.done();
            assert!(visitor.get(path).await.text.contains("Not kept of it: A photo may have 12 MB."), "named and not sent");
            let added = visitor.upload(&page, "main form", &[], ("photo", "a.png", &picture())).await;
            let page = visitor.get(added.done()).await;
            assert!(page.text.contains("The photo is added.") && !page.text.contains("Not kept"));
        }
        let quinn = club.quartermaster().await;
        let id = club.ids("report").await[0];
        let served = quinn.get(&format!("/reports/{id}/photo")).await;
        assert_eq!((served.header("content-type"), served.header("x-content-type-options")), ("image/jpeg", "nosniff"));
        assert_eq!(club.visitor().get(&format!("/reports/{id}/photo")).await.status, 303);
    }

    async fn a_poster_reports_what_has_no_label_and_a_stranger_writes_to_the_club(club: TestClub) {
        club.fit_packs(1).await;
        let olive = club.organiser().await;
        let made = send(&olive, "/posters", &[("name", "Hall door")]).await;
        let printed = olive.get(made.done()).await;
        assert_eq!(olive.get(printed.select("img.poster")[0].attribute("src")).await.header("content-type"), "image/svg+xml");
        let wall = printed.select("a[href^='/p/']")[0].attribute("href").to_owned();
        let visitor = club.visitor();
        let form = visitor.get(&format!("{wall}?now=no")).await;
        let refused = visitor.submit(&form, "main form", &[("own_words", "it is loose")]).await;
        assert_eq!(refused.problems(), ["Choose what it is about."]);
        assert!(refused.text.contains("it is loose"), "what was typed is kept");
        let nothing = visitor.submit(&form, "main form", &[("thing", "socket")]).await;
        assert_eq!(nothing.problems(), ["Say in a few words what it is."]);
        visitor.submit(&form, "main form", &[("thing", "socket"), ("own_words", "it is loose"), ("reach", "gil@example.org")]).await.done();
        let contact = visitor.get("/contact").await;
        visitor.submit(&contact, "main form", &[("own_words", "May we visit?")]).await.done();
        let list = olive.get("/reports").await;
        let told = list.one("main");
        assert!(told.contains("A socket or cable, by the poster “Hall door”") && told.contains("May we visit?"), "{told}");
        assert_eq!(state(&club, "P-001").await, "fit");
    }

    async fn a_near_miss_is_told_without_a_name_and_nothing_leads_to_who_told_it(club: TestClub) {
        club.fit_packs(1).await;
        let (ada, quinn) = (club.member("Ada Lark").await, club.quartermaster().await);
        let form = ada.get("/report?now=no").await;
        let sent = ada.submit(&form, "main form", &[("about", "wrong_setting"), ("own_words", "6S set for a 3S"), ("nameless", "yes")]).await;
        assert!(ada.get(sent.done()).await.text.contains("6S set for a 3S"));
        let again = ada.submit(&form, "main form", &[("about", "wrong_setting"), ("own_words", "6S set for a 3S"), ("nameless", "yes")]).await;
        assert_eq!(again.done(), sent.done());
        // A script sends the photo after the words, in her session.
        ada.send_file(sent.done(), &[("key", "k-photo")], ("photo", "a.png", &picture())).await.done();
        assert_eq!(club.find("SELECT verb FROM activity WHERE verb = 'photo added'").await, ["photo added"]);
        let her = club.literal(ada.id());
        for sql in [format!("SELECT 'report' FROM report WHERE by_id = {her}"), format!("SELECT verb FROM activity WHERE by_id = {her}"), format!("SELECT answer FROM form_key WHERE person_id = {her}")] {
            assert_eq!(club.find(&sql).await, [""; 0], "{sql}");
        }
        let id = club.ids("report").await[0];
        let page = quinn.get(&format!("/reports/{id}")).await;
        assert!(page.text.contains("somebody of the club, without a name") && !page.text.contains("Lark"));
        let named = [("about", "near_miss"), ("own_words", "it sparked")];
        send(&ada, "/report", &named).await.done();
        assert!(quinn.get("/reports").await.text.contains("Ada Lark"), "a name is kept where it was not left out");
        assert_eq!(send(&ada, "/report", &[("about", "pack"), ("own_words", "x")]).await.problems(), ["Choose what you tell of."]);
    }

    async fn a_flood_of_strangers_is_held_told_to_tell_a_person_and_members_still_come_through(club: TestClub) {
        let codes = labelled(&club, 4).await;
        let quinn = club.quartermaster().await;
        let settings = quinn.get("/settings").await;
        quinn.submit(&settings, "form[action='/settings']", &[("emergency_number", "112")]).await.done();
        let visitor = club.visitor();
        let (mut stored, mut held) = (0, 0);
        for round in 0..40 {
            let answer = send(&visitor, &format!("/t/{}/report", codes[round % 4]), &[("seen", "swollen"), ("own_words", &round.to_string())]).await;
            match answer.status.as_u16() {
                303 => stored += 1,
                429 => {
                    held += 1;
                    assert!(answer.text.contains("Not sent: tell a person of the club now.") && answer.text.contains("112"), "{}", answer.text);
                    assert!(!answer.header("retry-after").is_empty());
                }
                other => panic!("{other}"),
            }
        }
        assert!((10..=20).contains(&stored) && held == 40 - stored, "{stored} stored, {held} held");
        assert_eq!(club.ids("report").await.len(), stored);
        let quarantined = "SELECT COUNT(*) || '' FROM pack WHERE state = 'quarantine'";
        assert_eq!(club.find(quarantined).await, ["1"], "one network takes one pack a day into quarantine");
        send(&club.member("Ada").await, "/packs/P-004/condition", &[("seen", "swollen")]).await.done();
        assert_eq!(club.find(quarantined).await, ["2"]);
    }

    async fn who_floods_photos_spends_nothing_of_what_the_others_in_the_hall_may_send(club: TestClub) {
        labelled(&club, 2).await;
        let (ben, ada) = (club.member("Ben").await, club.member("Ada").await);
        let photo = async |who: &Browser, key: &str| who.send_file("/packs/P-001/photos", &[("key", key)], ("photo", "a.png", b"no picture")).await.status;
        let mut held = 0;
        for round in 0..200 {
            held += usize::from(photo(&ben, &format!("b{round}")).await == 429);
        }
        assert!(held > 100, "{held} held");
        let told = async |key: &str, photo: (&str, &[u8])| {
            let fields = [("key", key), ("seen", "swollen"), ("own_words", key)];
            ada.send_file("/packs/P-001/condition", &fields, ("photo", photo.0, photo.1)).await
        };
        told("with a photo", ("a.png", &picture())).await.done();
        // Now the hall's share is spent by several.
        for name in ["Cy", "Di", "Eve", "Fay"] {
            let who = club.member(name).await;
            for round in 0..40 {
                photo(&who, &format!("{name}{round}")).await;
            }
        }
        let refused = told("with another", ("a.png", &picture())).await;
        assert!(refused.status == 429 && refused.text.contains("Not sent: tell a person of the club now."), "{}", refused.status);
        told("without one", ("", b"")).await.done();
        assert_eq!(club.ids("report").await.len(), 2);
    }

    async fn whatever_turns_a_report_away_says_first_that_a_person_must_be_told(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.member("Ada").await);
        let settings = quinn.get("/settings").await;
        quinn.submit(&settings, "form[action='/settings']", &[("emergency_number", "112")]).await.done();
        let first = "Not sent: tell a person of the club now. Smoke, heat, hissing or fire: get away and call the fire service";
        let says_so = |answer: &Answer, status: u16| {
            assert_eq!(answer.status, status, "{}", answer.path);
            assert!(answer.one("main [role=alert]").starts_with(first), "{}", answer.text);
        };
        let at = "/packs/P-001/condition";
        ada.post(at, &[("key", "once"), ("seen", "wrap_torn")]).await.done();
        let other = ada.post(at, &[("key", "once"), ("seen", "swollen")]).await;
        says_so(&other, 409);
        assert!(other.text.contains("sent before with something else in it") && other.one("main [role=alert]").contains("(112)"));
        quinn.post("/packs/P-001/label", &[("what", "revoke")]).await.done();
        says_so(&send(&club.visitor(), &format!("/t/{code}/report"), &[("seen", "swollen")]).await, 404);
        says_so(&send(&ada, "/packs/P-999/condition", &[("seen", "swollen")]).await, 404);
        assert!(!ada.get("/packs/P-999/condition").await.text.contains("Not sent"), "nothing was sent");
        club.app.db.close().await;
        for path in [at, "/report", "/contact"] {
            says_so(&ada.post(path, &[("seen", "swollen"), ("own_words", "puffed")]).await, 503);
        }
        assert!(!ada.post("/packs/P-001/volts", &[]).await.text.contains("Not sent"));
    }

    async fn a_report_that_comes_as_the_pack_is_handed_out_leaves_no_pack_out_unknown(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let to = ada.id().to_string();
        let fields = [("person", to.as_str()), ("items", "1")];
        let at = format!("/t/{code}/report");
        let (visitor, smoke) = (club.visitor(), [("seen", "smoke_or_fire")]);
        let (out, told) = tokio::join!(quinn.post("/hand-out", &fields), send(&visitor, &at, &smoke));
        told.done();
        assert_eq!(state(&club, "P-001").await, "quarantine");
        if out.status == 303 {
            assert!(ada.get("/mine").await.one(".stop").contains("get away"), "whoever has it is told");
        } else {
            assert!(club.ids("loan").await.is_empty());
        }
        assert_ne!(quinn.post("/hand-out", &fields).await.status, 303, "it goes out no more");
    }

    async fn while_strangers_flood_from_many_networks_each_takes_one_pack_and_members_come_through_at_once(club: TestClub) {
        let codes = labelled(&club, 6).await;
        let ada = club.member("Ada").await;
        let flood = (0..120_u8).map(|round| {
            let visitor = club.visitor().at([203, 0, 113, round % 4]);
            let at = format!("/t/{}/report", codes[usize::from(round) % 5]);
            async move { send(&visitor, &at, &[("seen", "smoke_or_fire")]).await.status.as_u16() }
        });
        let hers = send(&ada, "/packs/P-006/condition", &[("seen", "swollen")]);
        let (told, hers) = tokio::join!(futures_util::future::join_all(flood), hers);
        hers.done();
        assert_eq!(state(&club, "P-006").await, "quarantine");
        let stored = told.iter().filter(|status| **status == 303).count();
        let held = told.iter().filter(|status| **status == 429).count();
        assert_eq!(stored + held, 120, "{told:?}");
        assert!(held >= 20, "each network sends a few: {held} held");
        assert_eq!(club.ids("report").await.len(), stored + 1, "no report is dropped that was not told so");
        let quarantined = "SELECT COUNT(*) || '' FROM report WHERE effect = 'quarantined' AND NOT is_verified";
        assert_eq!(club.find(quarantined).await, ["4"], "one pack from each network");
        assert_eq!(club.find("SELECT number FROM pack WHERE state NOT IN ('quarantine', 'set_aside')").await, [""; 0]);
        assert_eq!(club.find("SELECT COUNT(*) || '' FROM finding WHERE gravity = 'final_danger'").await, ["1"], "hers alone is final");
        assert_eq!(club.first_break().await, None);
    }

    async fn no_message_is_longer_than_the_server_takes_so_that_none_that_waited_is_refused_for_its_length(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (visitor, ada, quinn) = (club.visitor(), club.member("Ada").await, club.quartermaster().await);
        let poster = send(&quinn, "/posters", &[("name", "Door")]).await.done().to_owned();
        let wall = quinn.get(&poster).await.select("a[href^='/p/']")[0].attribute("href").to_owned();
        let theirs = ["/contact".to_owned(), "/offline".to_owned(), format!("/t/{code}/report?now=no"), format!("{wall}?now=no")];
        let hers = ["/report?now=no".to_owned(), "/packs/P-001/condition?now=no".to_owned()];
        let all = theirs.iter().map(|at| (&visitor, at)).chain(hers.iter().map(|at| (&ada, at)));
        for (who, at) in all {
            let page = who.get(at).await;
            let fields = page.select("form[data-report] textarea, form[data-report] input:not([type=hidden], [type=radio], [type=checkbox], [type=file])");
            let fields: Vec<&Element> = fields.iter().filter(|one| one.attribute("name") != "volts_line").collect();
            assert!(!fields.is_empty(), "{at}");
            for field in fields {
                let most: usize = field.attribute("maxlength").parse().unwrap_or_else(|_| panic!("{at}: {} takes any length", field.attribute("name")));
                assert_eq!(most, if field.attribute("name") == "own_words" { 500 } else { 200 }, "{at}");
            }
        }
        // Five hundred letters as the phone counts them: it sends the end of a line as two.
        let longest = format!("{}\r\n{}", "a".repeat(250), "b".repeat(249));
        send(&visitor, "/offline?of=/contact&waited_ms=60000&kept=yes", &[("own_words", &longest), ("reach", &"r".repeat(200))]).await.done();
        let refused = send(&visitor, "/contact", &[("own_words", &format!("{longest}!"))]).await;
        assert!(refused.is_refused() && refused.problems().len() == 1, "{:?}", refused.problems());
    }
}
