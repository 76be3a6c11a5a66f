//! The evening through the pages: hand out, take back, what is seen, what the meter says, and the same form sent twice.

use crate::support::*;

/// Three fit packs on a loan of Ada's; the loan's address.
async fn three_out(club: &TestClub) -> (Browser, Vec<String>) {
    club.fit_packs(3).await;
    let quinn = club.quartermaster().await;
    let ada = club.member("Ada").await;
    club.induct(&ada).await;
    let page = quinn.get("/hand-out").await;
    let to = ada.id().to_string();
    let answer = quinn
        .submit(&page, "main form", &[("person", &to), ("items", "1-3")])
        .await;
    let loan = answer.done().replace("/loans/", "").replace("?new=1", "");
    let items = quinn.get(&format!("/take-back/items?loan={loan}")).await;
    let shown = items.select("input[name=shown]");
    let ids = shown
        .iter()
        .map(|one| one.attribute("value").to_owned())
        .collect();
    (quinn, ids)
}

/// The first step's form: all came back, with what was seen on each.
fn looked<'a>(
    ids: &'a [String],
    names: &'a [String],
    seen: [&'a str; 3],
) -> Vec<(&'a str, &'a str)> {
    let mut fields = vec![("key", "look-1")];
    for ((id, name), what) in ids.iter().zip(names).zip(seen) {
        fields.extend([("shown", id.as_str()), (name, what)]);
    }
    fields
}

async fn state_of(quinn: &Browser, number: &str) -> String {
    let page = quinn.get(&format!("/packs/{number}")).await;
    page.one(".verdict strong")
}

on_both! {
    async fn what_can_go_out_is_there_to_tick_and_nothing_else(club: TestClub) {
        let packs = club.fit_packs(4).await;
        club.more_packs(1).await;
        club.adapters("A-01", 3).await;
        let quinn = club.quartermaster().await;
        let (ada, bea) = (club.borrower("Ada").await, club.borrower("Bea").await);
        let fields = [("seen", "balance_plug_damaged"), ("key", "k-1")];
        quinn.post("/packs/P-004/condition", &fields).await.done();
        let ticked = |page: &Answer| -> Vec<String> {
            let boxes = page.select("input[name=item]");
            boxes.iter().map(|one| one.attribute("value").to_owned()).collect()
        };
        let page = quinn.get("/hand-out").await;
        assert_eq!(ticked(&page), ["P-001", "P-002", "P-003", "A-01"], "not set aside, not never read");
        let to = ada.id().to_string();
        let form = [("person", to.as_str()), ("items", "2"), ("item", "P-001"), ("item", "A-01")];
        quinn.submit(&page, "main form", &form).await.done();
        assert_eq!(club.ids("lent").await.len(), 3);
        let page = quinn.get("/hand-out").await;
        assert_eq!(ticked(&page), ["P-003", "A-01"]);
        assert!(page.one(".to-tick").contains("2 here"));

        let to = bea.id().to_string();
        let form = [("person", to.as_str()), ("item", "P-001"), ("item", "P-003")];
        let refused = quinn.submit(&page, "main form", &form).await;
        assert!(refused.is_refused());
        let (_, kept) = refused.form("main form");
        assert!(kept.contains(&("items".to_owned(), "P-001 P-003".to_owned())), "{kept:?}");
        assert_eq!(packs.len(), 4);
    }

    async fn three_go_out_and_come_back_each_with_its_own_verdict(club: TestClub) {
        let (quinn, ids) = three_out(&club).await;
        let names: Vec<String> = ids.iter().map(|id| format!("seen-{id}")).collect();
        let form = looked(&ids, &names, ["swollen", "nothing", "nothing"]);
        let first = quinn.post("/take-back/items", &form).await;
        assert_eq!(state_of(&quinn, "P-001").await, "Quarantine", "dealt with before any volts");
        let again = quinn.post("/take-back/items", &form).await;
        assert_eq!(again.done(), first.done());

        let page = quinn.get(first.done()).await;
        let asked = page.select("input[name=volts]");
        let asked: Vec<&str> = asked.iter().map(|one| one.attribute("value")).collect();
        assert_eq!(asked, [ids[1].as_str(), ids[2].as_str()], "a swollen pack is never asked for volts");
        let (near, low) = (format!("volts_line-{}", ids[1]), format!("volts_line-{}", ids[2]));
        let mut volts = vec![("key", "volts-1"), ("rested", "rested_an_hour"), (near.as_str(), "3.91 3.87 3.90"), (low.as_str(), "3.91 2.80 3.90")];
        volts.extend(asked.iter().map(|id| ("volts", *id)));
        volts.extend(ids.iter().map(|id| ("lent", id.as_str())));
        let done = quinn.post("/take-back/volts", &volts).await;
        let readings = club.ids("reading").await.len();
        assert_eq!(quinn.post("/take-back/volts", &volts).await.done(), done.done());
        assert_eq!(club.ids("reading").await.len(), readings, "sent twice, read once");

        let told = quinn.get(done.done()).await;
        assert!(told.one("main [role=status]").starts_with("3 of 3 in."));
        assert_eq!(state_of(&quinn, "P-002").await, "Caution");
        assert_eq!(state_of(&quinn, "P-003").await, "Quarantine");
    }

    async fn danger_is_stored_even_when_the_rest_of_the_form_is_refused(club: TestClub) {
        let (quinn, ids) = three_out(&club).await;
        let seen = format!("seen-{}", ids[0]);
        let mut form = vec![(seen.as_str(), "smoke_or_fire")];
        for id in &ids {
            form.push(("shown", id.as_str()));
        }
        let answer = quinn.post("/take-back/items", &form).await;
        assert!(answer.is_refused());
        assert_eq!(state_of(&quinn, "P-001").await, "Quarantine");
        assert_eq!(state_of(&quinn, "P-002").await, "Fit");
    }

    async fn a_refused_hand_out_keeps_the_volts_once_however_often_it_is_sent(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let ada = club.member("Ada").await.id().to_string();
        let form = [("key", "out-1"), ("person", &ada), ("items", "1"), ("rested", "rested_an_hour"), ("volts_line-P-001", "3.91 2.80 3.90")];
        assert!(quinn.post("/hand-out", &form).await.is_refused(), "Ada was never shown safe handling");
        assert_eq!(state_of(&quinn, "P-001").await, "Quarantine", "the danger counts all the same");
        assert!(quinn.post("/hand-out", &form).await.is_refused());
        assert_eq!(club.ids("reading").await.len(), 1);
        assert!(club.ids("loan").await.is_empty());
    }

    async fn a_place_that_is_none_of_the_clubs_is_named_beside_its_field(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        let nowhere = uuid::Uuid::from_u128(7).to_string();
        let answer = quinn.post("/packs/P-001/details", &[("place", &nowhere)]).await;
        assert!(answer.is_refused());
        assert_eq!(answer.select("#problems a[href='#f-place']").len(), 1);
        let design = club.ids("design").await[0].to_string();
        let fields = [("design", design.as_str()), ("count", "1"), ("place", &nowhere)];
        assert!(quinn.post("/packs", &fields).await.is_refused());
        assert_eq!(club.ids("pack").await.len(), 1);
    }

    async fn a_nul_in_a_field_or_an_address_breaks_nothing(club: TestClub) {
        club.one_pack().await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-001/details", &[("maker", "Mill\0race")]).await.done();
        assert!(quinn.get("/packs/P-001").await.text.contains("Millrace"));
        for path in ["/packs/P%00", "/packs?text=%00", "/take-back/items?numbers=%00"] {
            assert_eq!(quinn.get(path).await.status, 404, "{path}");
        }
    }

    async fn a_pack_with_final_danger_is_offered_neither_volts_nor_a_release(club: TestClub) {
        club.fit_packs(2).await;
        let quinn = club.quartermaster().await;
        for (number, seen) in [("P-001", "swollen"), ("P-002", "wet")] {
            let path = format!("/packs/{number}/condition");
            quinn.post(&path, &[("seen", seen)]).await.done();
        }
        let offers = |page: &Answer| {
            let volts = page.select("main .do a[href$='/volts']").len();
            let release = page.select("main form[action$='/release']").len();
            (volts, release)
        };
        let (swollen, asked) = club.queries_of(quinn.get("/packs/P-001")).await;
        assert_eq!(offers(&swollen), (0, 0));
        assert_eq!(offers(&quinn.get("/packs/P-002").await), (1, 1), "wet can be released");
        assert!(asked <= 3, "{asked} statements for a pack that something stands against");
    }

    async fn a_loan_is_not_extended_while_kit_on_it_is_set_aside(club: TestClub) {
        club.adapters("A-01", 4).await;
        let quinn = club.quartermaster().await;
        let ada = club.member("Ada").await;
        club.induct(&ada).await;
        let to = ada.id().to_string();
        let out = quinn.post("/hand-out", &[("person", &to), ("items", "A-01x2")]).await;
        let loan = out.done().replace("?new=1", "");
        let due = [("due", "2026-12-10")];
        quinn.post(&format!("{loan}/extend"), &due).await.done();
        let kit = format!("/kit/{}", club.ids("kit").await[0]);
        quinn.post(&format!("{kit}/set-aside"), &[("set_aside", "bent pin"), ("aside_count", "1")]).await.done();
        quinn.post(&format!("{loan}/extend"), &due).await.done();
        // One of the two comes back bent, and that is undone: it is out, and to mend.
        let line = club.ids("lent").await[0].to_string();
        let names = ["look", "kit_words", "to_mend"].map(|name| format!("{name}-{line}"));
        let look = [("shown", line.as_str()), (names[0].as_str(), "wrong"), (names[1].as_str(), "bent pin"), (names[2].as_str(), "1")];
        quinn.post("/take-back/items", &look).await.done();
        quinn.post(&format!("/lent/{line}/reopen"), &[("key", "undo")]).await.done();
        let stock = club.find("SELECT CAST(aside_count AS TEXT) FROM kit").await;
        assert_eq!(stock, ["1"], "the other one lies here still");
        let refused = quinn.post(&format!("{loan}/extend"), &[("due", "2026-12-11")]).await;
        assert!(refused.is_refused());
        assert!(refused.problems()[0].contains("on this loan were to be mended"), "{:?}", refused.problems());
    }

    async fn an_induction_whose_last_day_cannot_be_read_never_counts_as_without_an_end(club: TestClub) {
        club.fit_packs(1).await;
        let quinn = club.quartermaster().await;
        let ada = club.member("Ada").await;
        club.induct(&ada).await;
        club.behind_the_back("UPDATE induction SET ends_on = 'soon'").await.expect("damaged");
        let to = ada.id().to_string();
        let answer = quinn.post("/hand-out", &[("person", &to), ("items", "1")]).await;
        assert!(answer.is_refused() && answer.text.contains("induction ran out"));
    }
}
