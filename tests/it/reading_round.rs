//! Volts of many packs in one form: what is right is stored, what is wrong comes back as it was typed, danger waits for nothing.

use crate::support::*;
use crate::table_rules::{hand_out, state};

const GOOD: &str = "3.83 3.82 3.83";
const DANGEROUS: &str = "3.91 2.40 3.90";
const MANY: &str = "/readings/many";
const FORM: &str = "main form[method=post]";
const RESTED: (&str, &str) = ("rested", "rested_an_hour");

/// Numbers of the packs on the page, in its order.
fn shown(page: &Answer) -> Vec<String> {
    page.texts("fieldset.item > legend")
}

fn value(page: &Answer, field: &str) -> String {
    let found = page.select(&format!("[name='{field}']"));
    found
        .first()
        .map_or_else(String::new, |one| one.attribute("value").to_owned())
}

async fn readings(club: &TestClub) -> usize {
    club.ids("reading").await.len()
}

/// Number, volts, resistance, meter and temperature of every reading, by number and then in the order they were taken.
async fn on_record(club: &TestClub) -> Vec<String> {
    let sql = "SELECT k.number || ' ' || COALESCE(r.volts, '-') || ' ' || COALESCE(r.resistance, '-') || ' ' || COALESCE(r.meter, '-') \
               || ' ' || COALESCE(CAST(r.celsius AS TEXT), '-') FROM reading r JOIN pack k ON k.id = r.pack_id \
               ORDER BY k.number_key, r.taken_ms, r.id";
    club.find(sql).await
}

async fn place(quinn: &Browser, name: &str) -> String {
    let answer = quinn
        .post("/places/new", &[("name", name), ("kind", "box")])
        .await;
    let address = answer.done().replace("?done=added", "");
    address.rsplit('/').next().expect("an id").to_owned()
}

on_both! {
    async fn the_page_has_twenty_of_the_longest_unread_first_and_those_never_read_before_all(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_days(1);
        club.more_packs(2).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/volts", &[("volts_line", GOOD), RESTED, ("key", "one")]).await.done();
        let (page, count) = club.queries_of(quinn.get(MANY)).await;
        assert_eq!(shown(&page), ["P-003", "P-004", "P-002", "P-001"]);
        assert!(count <= 3, "{count} statements");
        club.more_packs(30).await;
        let page = quinn.get(MANY).await;
        assert_eq!(shown(&page).len(), 20);
        assert!(page.one("p.what").contains("come the next"), "{}", page.one("p.what"));
    }

    async fn what_is_out_in_quarantine_or_to_mend_is_not_shown_and_what_is_to_be_read_again_is(club: TestClub) {
        club.fit_packs(6).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        quinn.post("/packs/P-002/condition", &[("seen", "swollen")]).await.done();
        quinn.post("/packs/P-003/condition", &[("seen", "wrap_torn")]).await.done();
        let wide = [("volts_line", "3.90 3.75 3.90"), RESTED];
        quinn.post("/packs/P-004/volts", &wide).await.done();
        quinn.post("/packs/P-005/way-out", &[("way", "retire"), ("reason", "old"), ("sure", "yes")]).await;
        club.behind_the_back("UPDATE pack SET life = 'retired', state = 'retired' WHERE number = 'P-005'").await.expect("retired");
        let mut seen = shown(&quinn.get(MANY).await);
        seen.sort();
        assert_eq!(seen, ["P-004", "P-006"], "a wide spread is read again");
    }

    async fn one_place_is_chosen_and_led_to_from_its_page(club: TestClub) {
        club.fit_packs(3).await;
        let quinn = club.quartermaster().await;
        let shelf = place(&quinn, "Shelf").await;
        let page = quinn.get("/packs/P-002/details").await;
        quinn.submit(&page, "main form[action$='/details']", &[("place", &shelf)]).await.done();
        let address = format!("/readings/many?place={shelf}");
        let links = quinn.get(&format!("/places/{shelf}")).await.select("main a");
        assert!(links.iter().any(|link| link.attribute("href") == address));
        let page = quinn.get(&address).await;
        assert_eq!(shown(&page), ["P-002"]);
        let answer = quinn.submit(&page, FORM, &[RESTED, ("volts_line-P-002", GOOD)]).await;
        let done = quinn.get(answer.done()).await;
        assert_eq!(done.select("a.main")[0].attribute("href"), address, "the next ones lie there too");
        assert!(shown(&quinn.get("/readings/many?place=nowhere").await).is_empty());
        assert!(quinn.get("/packs").await.select("main a").iter().any(|link| link.attribute("href") == MANY));
    }

    async fn every_row_that_is_right_is_stored_and_the_others_come_back_as_they_were_typed(club: TestClub) {
        club.new_packs(4).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let fields = [
            RESTED,
            ("volts_line-P-001", GOOD),
            ("volts_line-P-002", "3.8x 3.8 3.8"),
            ("volts_line-P-003", GOOD),
            ("resistance-P-003", "5.1 4.9"),
            ("meter", "C-02"),
            ("celsius", "21"),
        ];
        let refused = quinn.submit(&page, FORM, &fields).await;
        assert!(refused.is_refused());
        assert_eq!(refused.problems().len(), 2, "{:?}", refused.problems());
        assert_eq!(shown(&refused), ["P-002", "P-003", "P-004"], "and what nobody typed yet");
        for (field, typed) in &fields[2..] {
            assert_eq!(value(&refused, field), *typed, "{field}");
        }
        assert!(refused.one("#w-volts_line-P-002").contains("P-002"), "{}", refused.one("#w-volts_line-P-002"));
        assert!(refused.one("#w-resistance-P-003").contains("3 in all, and 2 typed"));
        assert!(refused.one("[role=status].notice").contains("Logged: P-001"));
        assert_eq!(on_record(&club).await, ["P-001 c:3830,3820,3830 - C-02 21"]);
        let right = [("volts_line-P-002", GOOD), ("resistance-P-003", "5.1 4.9 5.0")];
        let answer = quinn.submit(&refused, FORM, &right).await;
        let (done, count) = club.queries_of(quinn.get(answer.done())).await;
        assert!(count <= 3, "{count} statements");
        assert!(done.one("[role=status]").starts_with("3 logged"), "{}", done.one("[role=status]"));
        assert_eq!(done.texts(".verdict strong"), ["Fit", "Fit", "Fit"]);
        assert_eq!(on_record(&club).await, [
            "P-001 c:3830,3820,3830 - C-02 21",
            "P-002 c:3830,3820,3830 - C-02 21",
            "P-003 c:3830,3820,3830 c:51,49,50 C-02 21",
        ]);
    }

    async fn danger_is_stored_at_once_though_another_row_is_wrong_and_nobody_said_whether_it_rested(club: TestClub) {
        club.fit_packs(3).await;
        club.later_by_minutes(10);
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let fields = [("volts_line-P-001", DANGEROUS), ("volts_line-P-002", "many"), ("volts_line-P-003", GOOD)];
        let refused = quinn.submit(&page, FORM, &fields).await;
        assert!(refused.is_refused());
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
        assert_eq!(shown(&refused), ["P-002", "P-003"]);
        assert!(refused.problems().iter().any(|words| words.contains("Say whether the packs rested")), "{:?}", refused.problems());
        assert_eq!(value(&refused, "volts_line-P-003"), GOOD);
        assert_eq!(readings(&club).await, 4, "what is no danger waits for its rest");
        let answer = quinn.submit(&refused, FORM, &[RESTED, ("volts_line-P-002", GOOD)]).await;
        let done = quinn.get(answer.done()).await;
        assert_eq!(done.texts(".verdict strong"), ["Quarantine", "Fit", "Fit"]);
        assert!(done.one(".stop").contains("call the fire service"));
    }

    async fn dangerous_volts_with_something_wrong_beside_them_are_stored_and_corrected_by_the_form_put_right(club: TestClub) {
        club.fit_packs(1).await;
        club.later_by_minutes(10);
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let fields = [RESTED, ("volts_line-P-001", DANGEROUS), ("resistance-P-001", "5 5"), ("celsius", "99")];
        let mut refused = quinn.submit(&page, FORM, &fields).await;
        assert!(refused.one(".stop").contains("P-001: dangerous volts, in quarantine already"), "{}", refused.text);
        assert_eq!(refused.problems().len(), 2, "{:?}", refused.problems());
        assert!(refused.one("fieldset.item .hint").contains("Quarantine"), "as it stands now");
        assert_eq!(readings(&club).await, 2);
        refused = quinn.submit(&page, FORM, &fields).await;
        assert_eq!(readings(&club).await, 2, "sent twice, stored once");
        let right = [("resistance-P-001", "5 5 5"), ("celsius", "19")];
        quinn.submit(&refused, FORM, &right).await.done();
        let told = on_record(&club).await;
        assert_eq!(told[1..], ["P-001 c:3910,2400,3900 - - -", "P-001 c:3910,2400,3900 c:50,50,50 - 19"]);
        let corrects = "SELECT COUNT(*) || '' FROM reading WHERE corrects_id IS NOT NULL";
        assert_eq!(club.find(corrects).await, ["1"]);
        assert_eq!(state(&quinn, "P-001").await, "Quarantine");
    }

    async fn what_is_wrong_once_for_all_holds_all_back_but_danger(club: TestClub) {
        club.fit_packs(2).await;
        club.later_by_minutes(10);
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let fields = [RESTED, ("volts_line-P-001", GOOD), ("volts_line-P-002", GOOD), ("celsius", "warm")];
        let refused = quinn.submit(&page, FORM, &fields).await;
        assert_eq!(refused.problems(), ["Write whole degrees Celsius, like 21."], "said once");
        assert_eq!(readings(&club).await, 2, "nothing was stored");
        assert_eq!(refused.select("details.to-tick[open]").len(), 1);
        quinn.submit(&refused, FORM, &[("celsius", "21")]).await.done();
        assert_eq!(readings(&club).await, 4);
    }

    async fn the_same_form_sent_twice_is_one_round_whole_or_in_part(club: TestClub) {
        club.new_packs(3).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let in_part = [RESTED, ("volts_line-P-001", GOOD), ("volts_line-P-002", "?")];
        for _ in 0..2 {
            let refused = quinn.submit(&page, FORM, &in_part).await;
            assert!(refused.one("[role=status].notice").contains("P-001"));
        }
        assert_eq!(readings(&club).await, 1);
        let page = quinn.get(MANY).await;
        let whole = [RESTED, ("volts_line-P-002", GOOD), ("volts_line-P-003", GOOD)];
        let first = quinn.submit(&page, FORM, &whole).await;
        let again = quinn.submit(&page, FORM, &whole).await;
        assert_eq!(first.done(), again.done());
        assert_eq!(first.done(), "/readings/done?read=P-002,P-003");
        let logged = "SELECT COUNT(*) || '' FROM activity WHERE verb = 'logged volts'";
        assert_eq!((readings(&club).await, club.find(logged).await), (3, vec!["3".to_owned()]));
    }

    async fn a_pack_that_left_meanwhile_comes_back_with_the_reason_and_the_others_are_stored(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        club.behind_the_back("UPDATE pack SET life = 'retired' WHERE number = 'P-001'").await.expect("retired");
        let fields = [RESTED, ("volts_line-P-001", GOOD), ("volts_line-P-002", GOOD)];
        let refused = quinn.submit(&page, FORM, &fields).await;
        assert_eq!(refused.problems(), ["P-001: It is retired or gone; nothing more is logged on it."]);
        assert_eq!(shown(&refused), ["P-001"]);
        assert_eq!(on_record(&club).await.len(), 1);
    }

    async fn a_row_without_volts_and_a_form_without_rows_are_asked_for_volts(club: TestClub) {
        club.new_packs(2).await;
        let quinn = club.quartermaster().await;
        let page = quinn.get(MANY).await;
        let empty = quinn.submit(&page, FORM, &[RESTED]).await;
        assert_eq!(empty.problems(), ["Type the volts of one pack at least."]);
        let only = quinn.submit(&page, FORM, &[RESTED, ("resistance-P-002", "5 5 5")]).await;
        assert_eq!(only.problems().len(), 1, "{:?}", only.problems());
        assert!(only.problems()[0].starts_with("Type the volts of P-002"), "{:?}", only.problems());
        assert_eq!(value(&only, "resistance-P-002"), "5 5 5");
        assert_eq!(readings(&club).await, 0);
    }

    async fn what_came_back_unchecked_is_looked_over_and_a_mistype_is_asked_about_here_too(club: TestClub) {
        club.fit_packs(2).await;
        let (quinn, ada) = (club.quartermaster().await, club.borrower("Ada").await);
        hand_out(&quinn, &ada, "1", &[]).await.done();
        let line = club.ids("lent").await[0];
        let page = ada.get(&format!("/mine/{line}/bring-back")).await;
        ada.submit(&page, "main form", &[("look", "nothing")]).await.done();
        club.later_by_minutes(20);
        let page = quinn.get(MANY).await;
        assert_eq!((page.select("[name='looked_over-P-001']").len(), page.select("[name='looked_over-P-002']").len()), (1, 0));
        // 39 V are 39 V nowhere.
        let fields = [RESTED, ("volts_line-P-001", GOOD), ("volts_line-P-002", "3.83 39.1 3.83")];
        let asked = quinn.submit(&page, FORM, &fields).await;
        assert!(asked.problems()[0].starts_with("P-002: Cell 2 with 39.10 V"), "{:?}", asked.problems());
        assert_eq!(asked.select("[name='confirmed-P-002']").len(), 1);
        assert_eq!(value(&asked, "volts_line-P-002"), "3.83 39.1 3.83");
        assert_eq!(state(&quinn, "P-001").await, "Not known", "nobody said that it was looked over");
        assert_eq!(state(&quinn, "P-002").await, "Fit", "nothing is stored before it is answered");
        club.later_by_minutes(20);
        let page = quinn.get(MANY).await;
        let fields = [RESTED, ("volts_line-P-001", GOOD), ("looked_over-P-001", "yes"), ("volts_line-P-002", GOOD)];
        quinn.submit(&page, FORM, &fields).await.done();
        assert_eq!((state(&quinn, "P-001").await, state(&quinn, "P-002").await), ("Fit".to_owned(), "Fit".to_owned()));
    }

    async fn a_form_that_names_more_packs_than_a_page_shows_changes_nothing(club: TestClub) {
        club.new_packs(21).await;
        let quinn = club.quartermaster().await;
        let numbers: Vec<String> = (1..=21).map(|key| format!("P-{key:03}")).collect();
        let mut fields = vec![RESTED, ("volts_line-P-001", DANGEROUS)];
        fields.extend(numbers.iter().map(|number| ("pack", number.as_str())));
        assert_eq!(quinn.post(MANY, &fields).await.status, 400);
        assert_eq!(readings(&club).await, 0);
        assert_eq!(quinn.post(MANY, &[("pack", "P-999"), RESTED]).await.problems().len(), 1);
    }
}
