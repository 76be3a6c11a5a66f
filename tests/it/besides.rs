//! What is to see to besides packs and loans: kit to mend, a place over its limit, a charge past its time; and a pack at
//! somebody's home once its day is over.

use crate::support::*;

/// What, when and why of each line, in the order of the page.
async fn lines(who: &Browser) -> Vec<String> {
    let page = who.get("/to-see-to").await;
    assert_eq!(page.status, 200, "{}", page.text);
    let heads = page.texts("tbody th").into_iter();
    let whens = page.texts("td[data-label=When]").into_iter();
    let whys = page.texts("td[data-label=Why]").into_iter();
    let each = heads.zip(whens).zip(whys);
    each.map(|((head, when), why)| format!("{head} | {when} | {why}"))
        .collect()
}

fn has(lines: &[String], head: &str, when: &str, words: &str) -> bool {
    let starts = format!("{head} | {when} | ");
    lines
        .iter()
        .any(|line| line.starts_with(&starts) && line.contains(words))
}

on_both! {
    async fn kit_that_is_set_aside_is_told_until_it_is_mended(club: TestClub) {
        club.chargers(1).await;
        let quinn = club.quartermaster().await;
        let id = club.ids("kit").await[0];
        let aside = [("set_aside", "plug melted"), ("key", "aside")];
        quinn.post(&format!("/kit/{id}/set-aside"), &aside).await.done();
        let told = lines(&quinn).await;
        assert!(has(&told, "C-01", "This week", "Kit to mend, since") && told[0].contains("1 to mend: plug melted."), "{told:?}");
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.select("tbody th a")[0].attribute("href"), format!("/kit/{id}"));
        quinn.post(&format!("/kit/{id}/mend"), &[("mended", "new plug"), ("key", "mend")]).await.done();
        assert_eq!(lines(&quinn).await, Vec::<String>::new());
    }

    async fn danger_told_of_what_is_no_pack_stands_first_until_somebody_looked(club: TestClub) {
        let (quinn, visitor) = (club.quartermaster().await, club.visitor());
        // As from a label that leads nowhere any more: what was tapped on the way is not lost in a message.
        let now = visitor.get("/contact?now=yes").await;
        let smoke = now.select("ul.do a")[0].attribute("href").to_owned();
        let form = visitor.get(&smoke).await;
        assert_eq!(form.select("input[name=is_now][value=yes][checked]").len(), 1);
        let untold = visitor.submit(&form, "main form", &[("own_words", "in the store room")]).await;
        assert!(untold.is_refused() && untold.text.contains("in the store room"), "what it is of is asked");
        let sent = visitor.submit(&form, "main form", &[("thing", "charger"), ("own_words", "in the store room")]).await;
        let told = visitor.get(sent.done()).await;
        assert!(told.text.contains("Smoke, hissing, sparks or fire"), "{}", told.text);
        assert_eq!(club.find("SELECT about || ' ' || is_now FROM report").await, ["hall yes"]);
        let told = lines(&quinn).await;
        assert!(told.len() == 1 && told[0].starts_with("Report ") && told[0].contains("| At once |"), "{told:?}");
        assert!(told[0].contains("A charger or power supply: going on as it was told, and nobody looked."), "{told:?}");
        let id = club.ids("report").await[0];
        let page = quinn.get(&format!("/reports/{id}")).await;
        assert_eq!(lines(&quinn).await, told, "read is not looked at");
        let saw = [("was_so", "yes"), ("looked", "It had melted, and is out of the hall.")];
        quinn.submit(&page, "form:has(input[value=look])", &saw).await.done();
        assert_eq!(lines(&quinn).await, Vec::<String>::new());
        let page = visitor.get("/contact").await;
        visitor.submit(&page, "main form", &[("own_words", "When do you meet?")]).await.done();
        assert_eq!(club.find("SELECT about FROM report ORDER BY came_ms DESC, id DESC LIMIT 1").await, ["message"]);
        let page = quinn.get("/to-see-to").await;
        assert!(page.text.contains("Read the reports first: nothing else needs anybody now"), "{}", page.text);
    }

    async fn a_place_over_its_limit_is_told_until_a_pack_leaves_it(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        let fields = [("name", "Steel box"), ("kind", "box"), ("energy_limit", "30")];
        quinn.post("/places/new", &fields).await.done();
        let place = club.find("SELECT name FROM place WHERE name = 'Steel box'").await;
        assert_eq!(place, ["Steel box"]);
        let all_there = "UPDATE pack SET place_id = (SELECT id FROM place WHERE name = 'Steel box')";
        club.behind_the_back(all_there).await.expect("moved");
        // 3S 2200 mAh at 3.7 V a cell (49 CFR 171.8: rated capacity by nominal voltage): 24.42 Wh each.
        let told = lines(&quinn).await;
        assert!(has(&told, "Steel box", "Today", "Over its energy limit"), "{told:?}");
        assert!(told[0].contains("48.8 Wh lie at Steel box, 18.8 Wh more than its limit."), "{told:?}");
        let page = quinn.get("/to-see-to").await.text;
        assert!(page.contains("quartermasters"), "{page}");
        let program = club.program(quinn.id()).await;
        let to_see_to = program.get("/api/v1/to-see-to").await.json();
        assert_eq!(to_see_to["to_see_to"][0]["matter"], "over_full");
        let ada = club.borrower("Ada").await.id().to_string();
        let form = [("person", ada.as_str()), ("items", "P-001"), ("due", "2026-12-01"), ("key", "out")];
        quinn.post("/hand-out", &form).await.done();
        assert_eq!(lines(&quinn).await, Vec::<String>::new(), "what is out does not lie there");
    }

    async fn a_charge_past_its_time_is_told_and_past_its_cut_off_at_once(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let by = club.by(&quinn).await;
        club.chargers(1).await;
        let charge = format!(
            "INSERT INTO charge (id, pack_id, charger_id, output, mode, is_balanced, purpose, current_ma, target_mv, least_minutes, \
             most_minutes, least_mah, most_mah, cutoff_mah, cutoff_minutes, drawn_mw, started_ms, started_by, watched_by) \
             SELECT {}, k.id, i.id, 0, 'balance', TRUE, 'storage', 400, 11460, 30, 45, 100, 200, 240, 55, 6000, {}, {by}, {by} \
             FROM pack k, kit i",
            club.literal(sandbucket::ids::new_id()),
            club.now().ms(),
            by = club.literal(by.actor.id)
        );
        club.behind_the_back(&charge).await.expect("charges");
        club.later_by_minutes(45);
        assert_eq!(lines(&quinn).await, Vec::<String>::new());
        club.later_by_minutes(2);
        let told = lines(&quinn).await;
        assert!(has(&told, "P-001", "Today", "Charge past its time") && told[0].contains("on C-01"), "{told:?}");
        club.later_by_minutes(10);
        let told = lines(&quinn).await;
        assert!(has(&told, "P-001", "At once", "Its charger was to cut off before now."), "{told:?}");
        let id = club.ids("charge").await[0];
        let page = quinn.get("/to-see-to").await;
        assert_eq!(page.select("tbody th a")[0].attribute("href"), format!("/charges/{id}"));
        quinn.post(&format!("/charges/{id}/end"), &[("outcome", "finished"), ("key", "done")]).await.done();
        assert_eq!(lines(&quinn).await, Vec::<String>::new());
    }

    async fn what_somebody_took_home_presses_once_its_day_is_over(club: TestClub) {
        club.fit_packs(1).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        club.later_by_minutes(5);
        let begun = quinn.post("/storage-rounds/new", &[("packs", "1")]).await;
        let round = begun.done().split('?').next().expect("an address").to_owned();
        club.later_by_minutes(1);
        let read = [("pack", "1"), ("volts_line", "4.18 4.18 4.18"), ("rested", "rested_an_hour")];
        let after = quinn.post(&format!("{round}/read"), &read).await;
        // The next one often rested as long: the answer is kept.
        let next = quinn.get(after.done()).await;
        let (_, held) = next.form("form[action$='/read']");
        assert!(held.contains(&("rested".to_owned(), "rested_an_hour".to_owned())), "{held:?}");
        let evening = next.form("form[action='/charges/evening']").1;
        let names: Vec<&str> = evening.iter().map(|(name, _)| name.as_str()).collect();
        assert!(names.contains(&"room") && names.contains(&"pack"), "{names:?}");
        let person = ada.id().to_string();
        let home = [("home_pack", "P-001"), ("person", person.as_str()), ("by", "2026-11-28")];
        quinn.post(&format!("{round}/home"), &home).await.done();
        club.later_by_days(3);
        let told = lines(&quinn).await;
        assert!(has(&told, "P-001", "This week", "Ada has it at home, to be done by Sat 28 Nov 2026."), "{told:?}");
        club.later_by_days(1);
        let told = lines(&quinn).await;
        assert!(has(&told, "P-001", "Today", "Ada has it at home, was to be done by Sat 28 Nov 2026."), "{told:?}");
    }
}
