//! What a scanned label opens: for a stranger, a member, a quartermaster; what may be done there; gathering by scanning.

use crate::support::*;

async fn labelled(club: &TestClub, count: usize) -> Vec<String> {
    club.fit_packs(count).await;
    let quinn = club.quartermaster().await;
    quinn
        .post(
            "/labels",
            &[
                ("numbers", &*format!("1-{count}")),
                ("sheet", "a4-21"),
                ("base", "http://127.0.0.1:8080"),
            ],
        )
        .await
        .done();
    codes(club).await
}

async fn codes(club: &TestClub) -> Vec<String> {
    club.find("SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE la.ended_ms IS NULL ORDER BY k.number_key").await
}

async fn hand_out(quinn: &Browser, to: &Browser, items: &str) {
    quinn
        .post(
            "/hand-out",
            &[("person", &*to.id().to_string()), ("items", items)],
        )
        .await
        .done();
}

async fn borrowing(club: &TestClub) {
    club.behind_the_back("UPDATE club SET may_members_borrow = TRUE")
        .await
        .expect("its setting");
}

/// What may be tapped on the page, in order.
fn taps(page: &Answer) -> Vec<String> {
    page.texts("ul.do a, ul.do button")
}

on_both! {
    async fn a_stranger_sees_whose_pack_it_is_and_what_to_do_and_nothing_else(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada Lark").await);
        hand_out(&quinn, &ada, "1").await;
        let page = club.visitor().get(&format!("/t/{code}")).await;
        assert_eq!(page.status, 200);
        assert!(page.one("h1").contains("Millrace") && page.text.contains("get away, keep others away and call the fire service"));
        for secret in ["P-001", "Ada", "Lark", "Quinn", "2200", "LiPo", "3.82", "Fit", "out:"] {
            assert!(!page.text.contains(secret), "{secret} is told to a stranger");
        }
        let ways: Vec<String> = page.select("main a").iter().map(|link| link.attribute("href").replace(&code, "…")).collect();
        assert_eq!(ways, ["/t/…/report?now=yes", "/t/…/report?now=no", "/contact", "/sign-in?next=/t/…"]);
    }

    async fn unknown_revoked_and_mistyped_labels_answer_alike(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/label", &[("what", "revoke")]).await.done();
        let mistyped = format!("{}{}", &code[..25], if code.ends_with('0') { '1' } else { '0' });
        for who in [club.visitor(), quinn] {
            let mut answers = Vec::new();
            for asked in [code.as_str(), &mistyped, "P-001", "x", "0123456789abcdefghjkmnopqr", &"a".repeat(500)] {
                let page = who.get(&format!("/t/{asked}")).await;
                assert_eq!(page.status, 404, "{asked}");
                answers.push(page.one("main"));
            }
            answers.dedup();
            assert_eq!(answers.len(), 1, "{answers:?}");
        }
    }

    async fn a_member_sees_state_settings_and_what_may_be_done_now(club: TestClub) {
        let codes = labelled(&club, 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let at = format!("/t/{}", codes[0]);
        let page = ada.get(&at).await;
        assert_eq!(page.one("h1"), "P-001");
        assert!(page.one(".verdict").contains("Fit"));
        assert_eq!(taps(&page), ["Charge itwhich charger, how hard, how long", "Log voltslast: today, 18:30", "Something is wrong with it"]);
        // 2,200 mAh at 1C, from 3.82 V: half full, give or take.
        let settings = page.one("dl.set");
        assert!(settings.contains("LiPo") && settings.contains("3S") && settings.contains("2.2 A") && settings.contains("XT60"), "{settings}");
        assert!(settings.contains("minutes, from 3.816 V a cell") || settings.contains("minutes, from 3.817 V a cell"), "{settings}");
        assert!(!page.text.contains("Log volts first"));
        borrowing(&club).await;
        assert_eq!(taps(&ada.get(&at).await)[0], "Borrow it");
        hand_out(&quinn, &ada, "1").await;
        assert_eq!(taps(&ada.get(&at).await)[0], "Bring it back");
        let bring = ada.get(&at).await.select("ul.do a.first")[0].attribute("href").to_owned();
        assert_eq!(ada.get(&bring).await.status, 200);
        let bea = club.borrower("Bea").await;
        let others = bea.get(&at).await;
        assert_eq!(taps(&others), ["Charge itwhich charger, how hard, how long", "Log voltslast: today, 18:30", "Something is wrong with it"]);
        assert!(!others.text.contains("Ada"), "who has it is not for every member");
        assert_eq!(taps(&quinn.get(&at).await)[0], "Take it back");
        assert_eq!(taps(&quinn.get(&format!("/t/{}", codes[1])).await)[0], "Hand it out");
    }

    async fn settings_are_shown_of_a_fit_or_cautioned_pack_only(club: TestClub) {
        let codes = labelled(&club, 4).await;
        let quinn = club.quartermaster().await;
        let read = async |number: &str, volts: &str| {
            quinn.post(&format!("/packs/{number}/volts"), &[("volts_line", volts), ("rested", "rested_an_hour")]).await.done();
        };
        read("P-002", "3.82 3.78 3.82").await;
        read("P-003", "3.95 3.80 3.95").await;
        quinn.post("/packs/P-004/condition", &[("seen", "swollen")]).await.done();
        for (code, state, is_shown) in [(&codes[0], "Fit", true), (&codes[1], "Caution", true), (&codes[2], "Set aside", false), (&codes[3], "Quarantine", false)] {
            let page = quinn.get(&format!("/t/{code}")).await;
            assert!(page.one(".verdict").contains(state), "{}", page.one(".verdict"));
            assert_eq!(page.select("dl.set").len() == 1, is_shown, "{state}");
        }
        let dangerous = quinn.get(&format!("/t/{}", codes[3])).await;
        assert_eq!(taps(&dangerous), ["Something is wrong with it"]);
        assert!(dangerous.one(".stop").contains("call the fire service"));
        club.later_by_days(91);
        assert!(quinn.get(&format!("/t/{}", codes[0])).await.select("dl.set").is_empty(), "not known any more");
    }

    async fn a_gentler_club_tells_its_own_current_and_the_label_of_the_pack_still_comes_first(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let quinn = club.quartermaster().await;
        let told = async || {
            let page = quinn.get(&format!("/t/{code}")).await;
            (page.texts("dl.set dd")[2].clone(), page.one("dl.set + p"))
        };
        let (current, why) = told().await;
        assert_eq!(current, "2.2 A");
        assert!(why.contains("At 1C, the club's rate for LiPo"), "{why}");
        let page = quinn.get("/settings").await;
        for loose in ["1.1", "0", "0.55", "fast"] {
            let refused = quinn.submit(&page, "main form[action='/settings']", &[("key", loose), ("charge_lipo_c_tenths", loose)]).await;
            assert_eq!(refused.problems(), ["Choose 0.1 to 1. A club may be stricter than the start, not looser."]);
            assert_eq!(refused.select("#f-charge_lipo_c_tenths")[0].attribute("value"), loose);
        }
        let gentle = [("key", "gentle"), ("charge_lipo_c_tenths", "0,5"), ("charge_lihv_c_tenths", "0.2")];
        quinn.submit(&page, "main form[action='/settings']", &gentle).await.done();
        assert_eq!(quinn.get("/settings").await.select("#f-charge_lipo_c_tenths")[0].attribute("value"), "0.5");
        let (current, why) = told().await;
        assert_eq!(current, "1.1 A");
        assert!(why.contains("At 0.5C, the club's rate for LiPo"), "{why}");
        club.find("UPDATE design SET label_charge_c_tenths = 2 RETURNING name").await;
        let (current, why) = told().await;
        assert_eq!(current, "0.4 A", "0.44 A, down to what a charger can be set to");
        assert!(why.contains("At 0.2C, the rate on its label"), "{why}");
    }

    async fn an_old_reading_or_one_before_the_loan_asks_for_volts_first(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let page = async |who: &Browser| who.get(&format!("/t/{code}")).await;
        assert!(page(&ada).await.one("dl.set").contains("To full"));
        club.later_by_minutes(5);
        hand_out(&quinn, &ada, "1").await;
        let told = page(&ada).await;
        assert!(told.text.contains("Log volts first:") && !told.one("dl.set").contains("To full"));
        club.later_by_minutes(70);
        ada.post("/packs/P-001/volts", &[("volts_line", "3.70 3.70 3.70"), ("rested", "rested_an_hour")]).await.done();
        assert!(page(&ada).await.one("dl.set").contains("To full"));
        club.later_by_minutes(24 * 60);
        assert!(page(&club.borrower("Bea").await).await.text.contains("Log volts first:"));
    }

    async fn while_a_pack_charges_and_until_it_is_read_again_its_label_shows_no_current(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        club.chargers(1).await;
        let ada = club.member("Ada").await;
        let volts = [("volts_line", "3.80 3.80 3.80"), ("rested", "rested_an_hour")];
        ada.post("/packs/P-001/volts", &volts).await.done();
        let current = async || ada.get(&format!("/t/{code}")).await;
        assert!(current().await.one("dl.set").contains("2.2 A"));
        let card = ada.get("/packs/P-001/charge?purpose=no_hurry&at=23%3A59&room=21&pack=21").await;
        let address = ada.submit(&card, "main form[method='post']", &[]).await.done().to_owned();
        let charging = current().await;
        assert!(!charging.one("dl.set").contains("2.2 A") && charging.text.contains("It charges now"), "{}", charging.text);
        club.later_by_minutes(50);
        ada.post(&format!("{address}/end"), &[("outcome", "finished")]).await.done();
        let over = current().await;
        assert!(!over.one("dl.set").contains("2.2 A") && over.text.contains("Log volts first:"), "{}", over.text);
        ada.post("/packs/P-001/volts", &volts).await.done();
        assert!(current().await.one("dl.set").contains("2.2 A"));
    }

    async fn a_scan_changes_nothing(club: TestClub) {
        let codes = labelled(&club, 1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let before = club.contents().await;
        for who in [&club.visitor(), &quinn, &ada] {
            who.get(&format!("/t/{}", codes[0])).await;
            who.get("/t/nothing").await;
        }
        assert_eq!(club.contents().await, before);
    }

    async fn guessing_labels_meets_a_limit_and_known_ones_stay_open(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let stranger = club.visitor();
        let guess = || format!("/t/{}", sandbucket::ids::new_label_code());
        let mut found = 0;
        for _ in 0..30 {
            found += u32::from(stranger.get(&guess()).await.status == 200);
        }
        let refused = stranger.get(&guess()).await;
        assert_eq!((found, refused.status.as_u16()), (0, 429));
        assert!(!refused.header("retry-after").is_empty());
        assert_eq!(stranger.get(&format!("/t/{code}")).await.status, 200, "a real label in the same network still opens");
        assert_eq!(club.visitor().at([203, 0, 113, 9]).get(&guess()).await.status, 404, "another network guesses for itself");
    }

    async fn what_a_scanner_types_is_a_number_in_every_field_for_packs(club: TestClub) {
        let codes = labelled(&club, 3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let address = |at: usize| format!("http://127.0.0.1:8080/t/{}", codes[at]);
        hand_out(&quinn, &ada, &format!("{} 2 {}", address(0), codes[2].to_uppercase())).await;
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM lent").await, ["3"]);
        let items = quinn.get(&format!("/take-back/items?numbers={}", address(1).replace(':', "%3A"))).await;
        assert!(items.text.contains("P-002") && !items.text.contains("P-001"));
        let found = quinn.get(&format!("/packs?text={}", address(2).replace(':', "%3A"))).await;
        let found = quinn.get(found.done()).await;
        assert_eq!(found.texts("tbody th"), ["P-003"]);
        let nowhere = quinn.post("/hand-out", &[("person", &*ada.id().to_string()), ("items", "http://pi/t/0123456789abcdefghjkmnopqr")]).await;
        assert!(nowhere.problems()[0].contains("is no number"), "{:?}", nowhere.problems());
    }

    async fn five_packs_are_handed_out_by_scanning_only(club: TestClub) {
        let codes = labelled(&club, 5).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada Lark").await);
        let person = ada.id().to_string();
        let form = quinn.get("/hand-out").await;
        let (_, held) = form.form("main form[action='/hand-out']");
        let key = held.iter().find(|(name, _)| name == "key").expect("its key").1.clone();
        let begun = quinn.post("/gather", &[("key", key.as_str()), ("person", &person), ("items", ""), ("due", "2026-11-28"), ("purpose", "practice")]).await;
        assert_eq!(begun.done(), "/gather");
        for code in &codes {
            let page = quinn.get(&format!("/t/{code}")).await;
            assert_eq!(taps(&page)[0], "Add to Ada Lark's hand-out");
            let added = quinn.submit(&page, "ul.do form", &[]).await;
            quinn.submit(&page, "ul.do form", &[]).await.done();
            assert_eq!(added.done(), "/gather");
        }
        assert_eq!(taps(&quinn.get(&format!("/t/{}", codes[0])).await)[0], "In Ada Lark's hand-outsee the list");
        let list = quinn.get("/gather").await;
        assert_eq!(list.texts(".gathered .n"), ["P-001", "P-002", "P-003", "P-004", "P-005"]);
        let on = quinn.submit(&list, "form:has(button.main)", &[]).await;
        let page = quinn.get(on.done()).await;
        let (_, filled) = page.form("main form[action='/hand-out']");
        for (name, value) in [("person", person.as_str()), ("due", "2026-11-28"), ("purpose", "practice")] {
            assert!(filled.contains(&(name.to_owned(), value.to_owned())), "{name}: {filled:?}");
        }
        quinn.submit(&page, "main form[action='/hand-out']", &[]).await.done();
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM lent WHERE closed_ms IS NULL").await, ["5"]);
        assert!(quinn.get("/gather").await.text.contains("Nothing is being gathered on this device."));
    }

    async fn a_take_back_is_gathered_and_what_is_not_out_is_told(club: TestClub) {
        let codes = labelled(&club, 3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1-2").await;
        let begin = quinn.get("/take-back").await;
        assert_eq!(quinn.submit(&begin, "form[action='/gather']", &[]).await.done(), "/gather");
        let here = quinn.get(&format!("/t/{}", codes[2])).await;
        assert_eq!(taps(&here)[0], "It is not out: nothing to take backsee the list");
        for code in &codes[..2] {
            let page = quinn.get(&format!("/t/{code}")).await;
            assert_eq!(taps(&page)[0], "Add to the take-back");
            quinn.submit(&page, "ul.do form", &[]).await.done();
        }
        let list = quinn.get("/gather").await;
        quinn.submit(&list, ".gathered li:first-child form", &[]).await.done();
        let list = quinn.get("/gather").await;
        assert_eq!(list.texts(".gathered .n"), ["P-002"]);
        let on = quinn.submit(&list, "form:has(button.main)", &[]).await;
        assert_eq!(on.done(), "/take-back/items?numbers=P-002");
    }

    async fn a_scanner_that_types_adds_line_by_line_and_what_it_misreads_is_kept(club: TestClub) {
        let codes = labelled(&club, 2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let adapters = [("kind", "adapter"), ("from", "xt60"), ("to", "xt30"), ("rated_ma", "12"), ("owned_count", "8")];
        quinn.post("/kit/new", &adapters).await.done();
        quinn.post("/gather", &[("person", &*ada.id().to_string()), ("items", "A-01x3")]).await.done();
        let scanned = format!("http://127.0.0.1:8080/t/{}", codes[1]);
        quinn.submit(&quinn.get("/gather").await, "form[action='/gather/add']", &[("add", &scanned)]).await.done();
        quinn.submit(&quinn.get("/gather").await, "form[action='/gather/add']", &[("add", "1")]).await.done();
        assert_eq!(quinn.get("/gather").await.texts(".gathered .n"), ["A-01x3", "P-002", "P-001"]);
        let refused = quinn.submit(&quinn.get("/gather").await, "form[action='/gather/add']", &[("add", "htp;;pi7t7")]).await;
        assert!(refused.problems()[0].contains("is no number and no label of the club"), "{:?}", refused.problems());
        assert_eq!(refused.select("#f-add")[0].attribute("value"), "htp;;pi7t7");
        let empty = quinn.submit(&quinn.get("/gather").await, "form[action='/gather/add']", &[("add", "")]).await;
        assert_eq!(empty.problems(), ["Scan a label, or type a number."]);
    }

    async fn each_device_gathers_for_itself_and_a_list_left_alone_is_forgotten(club: TestClub) {
        let codes = labelled(&club, 1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        quinn.post("/gather", &[("person", &*ada.id().to_string()), ("items", "1")]).await.done();
        let tablet = club.signed_in(quinn.id()).await;
        assert!(tablet.get("/gather").await.text.contains("Nothing is being gathered on this device."));
        assert_eq!(taps(&tablet.get(&format!("/t/{}", codes[0])).await)[0], "Hand it out");
        club.later_by_minutes(12 * 60 + 1);
        assert!(quinn.get("/gather").await.text.contains("Nothing is being gathered on this device."));
        assert_eq!(quinn.post("/gather/add", &[("add", "1")]).await.problems(), ["Nothing is being gathered on this device. Begin with Hand out or Take back."]);
    }

    async fn volts_typed_at_a_refused_hand_out_are_not_lost_to_the_button_that_gathers(club: TestClub) {
        club.new_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        assert_eq!(quinn.get("/hand-out").await.select("[formaction='/gather']").len(), 1);
        let refused = quinn.post("/hand-out", &[("person", &*ada.id().to_string()), ("items", "1")]).await;
        assert!(refused.is_refused() && !refused.select("[name='volts_line-P-001']").is_empty());
        assert!(refused.select("[formaction='/gather']").is_empty(), "Enter in the volts hands out, and stores danger");
    }

    async fn volts_typed_at_the_hand_out_and_unrested_ones_tell_no_time(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1").await;
        let told = ada.get(&format!("/t/{code}")).await;
        assert!(told.text.contains("Log volts first:"), "read in the same minute as it went out");
        club.later_by_minutes(30);
        ada.post("/packs/P-001/volts", &[("volts_line", "3.70 3.70 3.70"), ("rested", "just_used")]).await.done();
        let told = ada.get(&format!("/t/{code}")).await;
        assert!(told.text.contains("it lies for 15 more minutes") && !told.one("dl.set").contains("Current"), "{}", told.one("main"));
        club.later_by_minutes(15);
        let told = ada.get(&format!("/t/{code}")).await;
        assert!(told.text.contains("Log volts first:") && !told.one("dl.set").contains("To full"), "unrested volts tell no charge");
    }

    async fn what_can_not_be_gathered_is_told_in_the_form_it_came_from_and_nothing_typed_is_lost(club: TestClub) {
        labelled(&club, 2).await;
        club.more_packs(61).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let ada = ada.id().to_string();
        let long = "x".repeat(201);
        for (items, purpose, words) in [
            ("1 fifteen", "", "“fifteen” is no number. Type packs as 14 15 17-20, kit as C-01, three adapters as A-01x3."),
            ("1 999", "", "There is no 999."),
            ("C-09", "", "There is no C-09."),
            ("1-63", "", "That is as much as one list holds. Go on with these first."),
            ("1", long.as_str(), "Say it in at most 200 letters."),
        ] {
            let refused = quinn.post("/gather", &[("person", &ada), ("items", items), ("due", "2026-11-28"), ("purpose", purpose)]).await;
            assert_eq!(refused.problems(), [words]);
            let (_, held) = refused.form("main form[action='/hand-out']");
            for (name, value) in [("person", ada.as_str()), ("items", items), ("due", "2026-11-28"), ("purpose", purpose)] {
                assert!(held.contains(&(name.to_owned(), value.to_owned())), "{name}: {held:?}");
            }
        }
        assert_eq!(club.find("SELECT CAST(COUNT(*) AS TEXT) FROM gathering").await, ["0"]);
    }

    async fn a_pack_keeps_its_number_when_the_club_changes_its_letters(club: TestClub) {
        let codes = labelled(&club, 1).await;
        let quinn = club.quartermaster().await;
        club.behind_the_back("UPDATE club SET pack_prefix = 'MR'").await.expect("other letters");
        let begin = quinn.get("/take-back").await;
        quinn.submit(&begin, "form[action='/gather']", &[]).await.done();
        for typed in ["1", codes[0].as_str(), "p-1"] {
            quinn.post("/gather/add", &[("add", typed)]).await.done();
        }
        assert_eq!(quinn.get("/gather").await.texts(".gathered .n"), ["P-001"]);
        let sheet = [("numbers", "P-001"), ("sheet", "a4-21"), ("base", "http://127.0.0.1:8080")];
        assert!(quinn.get(quinn.post("/labels", &sheet).await.done()).await.one("h1").contains("1 label is ready"));
    }

    async fn a_list_of_sixty_things_goes_on_to_take_back_in_three_statements(club: TestClub) {
        club.fit_packs(60).await;
        let quinn = club.quartermaster().await;
        let numbers: Vec<String> = (1..=60).map(|key| format!("P-{key:03}")).collect();
        let address = format!("/take-back/items?numbers={}", numbers.join("%20"));
        let (page, queries) = club.queries_of(quinn.get(&address)).await;
        assert!(queries <= 3, "{queries}");
        assert_eq!(page.select("main a[href^='/packs/P-']").len(), 60);
    }

    async fn a_list_that_is_open_is_gone_on_with_and_never_thrown_away_by_another(club: TestClub) {
        labelled(&club, 3).await;
        let (quinn, ada, bea) = (club.quartermaster().await, club.borrower("Ada").await, club.borrower("Bea").await);
        let (ada, bea) = (ada.id().to_string(), bea.id().to_string());
        let numbers = async || quinn.get("/gather").await.texts(".gathered .n");
        quinn.post("/gather", &[("person", &ada), ("items", "1 2")]).await.done();
        quinn.post("/gather", &[("person", &ada), ("items", "2 3")]).await.done();
        assert_eq!(numbers().await, ["P-001", "P-002", "P-003"]);
        let refused = quinn.post("/gather", &[("person", &bea), ("items", "1")]).await;
        assert_eq!(refused.problems(), ["This list is open on this device. Go on with it or forget it, then begin another one."]);
        assert_eq!(refused.one("h1"), "Ada's hand-out");
        assert_eq!(numbers().await, ["P-001", "P-002", "P-003"]);
    }

    async fn who_may_not_lend_gathers_nothing(club: TestClub) {
        labelled(&club, 1).await;
        let (ada, bea) = (club.borrower("Ada").await, club.borrower("Bea").await);
        let bea_id = bea.id().to_string();
        assert_eq!(ada.post("/gather", &[("items", "1")]).await.status, 409, "members don't borrow for themselves here");
        assert_eq!(ada.post("/gather", &[("kind", "take_back")]).await.status, 409);
        borrowing(&club).await;
        ada.post("/gather", &[("items", "1"), ("person", &bea_id)]).await.done();
        assert_eq!(ada.get("/gather").await.one("h1"), "Ada's hand-out", "for nobody else");
        let quinn = club.quartermaster().await;
        let asked = quinn.post("/gather", &[("items", "1"), ("purpose", "a fight")]).await;
        assert_eq!(asked.problems(), ["Choose who borrows."]);
        assert!(asked.form("main form[action='/hand-out']").1.contains(&("purpose".to_owned(), "a fight".to_owned())));
        assert_eq!(quinn.get("/gather").await.select(".gathered").len(), 0);
    }

    async fn enter_in_a_hand_out_goes_on_gathering_after_a_scanned_label_and_hands_out_what_was_typed(club: TestClub) {
        let codes = labelled(&club, 3).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        let person = ada.id().to_string();
        let page = quinn.get("/hand-out").await;
        assert_eq!(
            page.select("form[action='/hand-out'] button")[0].attribute("name"),
            "enter",
            "Enter takes the first button"
        );
        let both = format!("http://pi:8080/t/{}http://pi:8080/t/{}", codes[0], codes[1]);
        let scanned = [
            ("person", &*person),
            ("items", &*both),
            ("enter", "yes"),
            ("key", "scanned"),
        ];
        assert_eq!(quinn.post("/hand-out", &scanned).await.done(), "/gather");
        assert_eq!(
            quinn.get("/gather").await.texts(".gathered .n"),
            ["P-001", "P-002"],
            "none of two scans without a gap is lost"
        );
        let typed = [
            ("person", &*person),
            ("items", "3"),
            ("enter", "yes"),
            ("key", "typed"),
        ];
        assert!(
            quinn
                .post("/hand-out", &typed)
                .await
                .done()
                .starts_with("/loans/")
        );
    }

    async fn a_dangerous_pack_is_brought_back_cold_and_not_as_the_first_thing_to_do(club: TestClub) {
        let code = labelled(&club, 1).await.remove(0);
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1").await;
        ada.post("/packs/P-001/condition", &[("seen", "too_hot_to_hold")])
            .await
            .done();
        club.later_by_minutes(60);
        for at in [format!("/t/{code}"), "/packs/P-001".to_owned()] {
            let page = ada.get(&at).await;
            assert!(
                page.one("ul.do")
                    .contains("Bring it back, once it is cold and quiet"),
                "{at}: {}",
                page.one("ul.do")
            );
            assert!(page.select("ul.do a.first").is_empty(), "{at}");
        }
    }

    async fn whoever_only_asks_for_the_head_of_a_page_is_sent_to_sign_in_alike(club: TestClub) {
        club.one_pack().await;
        let nobody = club.visitor();
        let asked = nobody
            .send(axum::http::Method::HEAD, "/packs", &[], None)
            .await;
        assert_eq!(
            (asked.status.as_u16(), asked.header("location")),
            (303, "/sign-in?next=/packs")
        );
    }
}

/// A million guesses where the club has labels find nothing: asked of the store, past the limit.
#[test]
fn a_million_guessed_labels_find_nothing() {
    let guesses = share(20_000, 1_000_000);
    let letters = sandbucket::club::label::LETTERS;
    let seen: std::collections::BTreeSet<String> = (0..guesses)
        .map(|_| sandbucket::ids::new_label_code())
        .collect();
    assert_eq!(seen.len(), guesses, "no two codes are alike");
    let mut counts = [0_usize; 32];
    for letter in seen.iter().flat_map(|code| code.bytes()) {
        counts[letters
            .iter()
            .position(|known| *known == letter)
            .expect("a letter of ours")] += 1;
    }
    // Each letter as often as the others: within six standard deviations of a fair die of 32 sides.
    let mean = (guesses * 26) as f64 / 32.0;
    assert!(
        counts
            .iter()
            .all(|count| (*count as f64 - mean).abs() < 6.0 * mean.sqrt()),
        "{counts:?}"
    );
    run(Backend::Sqlite, async |club: TestClub| {
        labelled(&club, 20).await;
        let mut conn = club.app.db.read().await.expect("a connection");
        for code in &seen {
            let found = sandbucket::store::labels::pack_with(&mut conn, code)
                .await
                .expect("an answer");
            assert!(found.is_none(), "{code} was guessed");
        }
        tell_rounds(&format!("guessed labels: {guesses}, none found"));
    });
}
