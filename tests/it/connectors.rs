//! The club's own connector families: offered where one is chosen, told by name, changed, removed while nothing has them.

use crate::support::*;

const HALL: [(&str, &str); 4] = [
    ("code", "hall-plug"),
    ("name", "Hall plug"),
    ("purpose", "discharge"),
    ("rating_ma", "20"),
];
const HALL_BALANCE: [(&str, &str); 3] = [
    ("code", "hall-pins"),
    ("name", "Hall pins"),
    ("purpose", "balance"),
];
const DESIGN: [(&str, &str); 6] = [
    ("name", "3S 450"),
    ("chemistry", "lipo"),
    ("cells", "3"),
    ("capacity", "450 mAh"),
    ("connector", "hall-plug"),
    ("balance", "hall-pins"),
];
const ADAPTER: [(&str, &str); 5] = [
    ("kind", "adapter"),
    ("from", "xt60"),
    ("to", "hall-plug"),
    ("rated_ma", "10"),
    ("owned_count", "2"),
];

on_both! {
    async fn a_clubs_own_family_is_offered_for_packs_and_told_by_name_everywhere(club: TestClub) {
        let quinn = club.quartermaster().await;
        assert!(quinn.post("/designs", &DESIGN).await.is_refused());
        assert!(club.ids("design").await.is_empty(), "a connector nobody knows");
        quinn.post("/connectors/new", &HALL).await.done();
        quinn.post("/connectors/new", &HALL_BALANCE).await.done();
        let form = quinn.get("/designs/new").await;
        assert!(form.texts("select[name=connector] option").contains(&"Hall plug".to_owned()));
        assert!(form.texts("select[name=balance] option").contains(&"Hall pins".to_owned()));
        let packs = quinn.post("/designs", &DESIGN).await.done().to_owned();
        let design = packs.rsplit('=').next().expect("the design").to_owned();
        quinn.post("/packs", &[("design", design.as_str()), ("count", "1")]).await.done();
        let cable = quinn.post("/kit/new", &ADAPTER).await.done().replace("?done=added", "");
        for path in ["/packs", "/packs/P-001", "/designs", "/packs/new", "/kit", cable.as_str()] {
            let (page, count) = club.queries_of(quinn.get(path)).await;
            assert!(page.one("main").contains("Hall plug"), "{path}: {}", page.one("main"));
            assert!(!page.one("main").contains("hall-plug"), "{path}: {}", page.one("main"));
            assert!(count <= 3, "{path}: {count} statements");
        }
        assert!(quinn.get("/packs/P-001").await.text.contains("Hall pins"));
        assert!(quinn.get("/packs?connector=hall-plug").await.text.contains("P-001"));
        assert!(!quinn.get("/packs?connector=xt60").await.one("main").contains("P-001"));
    }

    async fn a_family_is_changed_in_all_but_its_code_and_use_and_every_page_tells_the_new_name(club: TestClub) {
        let quinn = club.quartermaster().await;
        quinn.post("/connectors/new", &HALL).await.done();
        let cable = quinn.post("/kit/new", &ADAPTER).await.done().replace("?done=added", "");
        let address = quinn.get("/connectors").await.select("th a")[0].attribute("href").to_owned();
        let page = quinn.get(&address).await;
        let form = "form[action='/connectors/hall-plug']";
        assert!(page.form(form).1.contains(&("rating_ma".to_owned(), "20".to_owned())));
        let wrong = quinn.submit(&page, form, &[("name", ""), ("peak_ma", "1")]).await;
        assert!(wrong.is_refused());
        assert_eq!(wrong.problems().len(), 2, "{:?}", wrong.problems());
        let typed = [("name", "Gate plug"), ("rating_ma", "15"), ("pins", "2"), ("purpose", "input"), ("code", "xt60")];
        for _ in 0..2 {
            assert_eq!(quinn.submit(&page, form, &typed).await.done(), "/connectors?done=changed");
        }
        let list = quinn.get("/connectors").await;
        assert!(list.text.contains("Gate plug") && list.text.contains("15 A") && !list.text.contains("Hall plug"));
        assert!(quinn.get(&cable).await.text.contains("XT60 to Gate plug"));
        assert_eq!(club.find("SELECT verb FROM activity WHERE subject = 'connector'").await, ["added the connector", "changed the connector"]);
        let spec = club.find("SELECT spec FROM connector").await.join("");
        assert!(spec.contains("\"discharge\"") && spec.contains("\"hall-plug\""), "{spec}");
    }

    async fn a_family_is_removed_only_while_nothing_has_it_and_the_refusal_says_what_does(club: TestClub) {
        let quinn = club.quartermaster().await;
        quinn.post("/connectors/new", &HALL).await.done();
        quinn.post("/connectors/new", &HALL_BALANCE).await.done();
        quinn.post("/designs", &DESIGN).await.done();
        quinn.post("/kit/new", &ADAPTER).await.done();
        let refused = quinn.post("/connectors/hall-plug/remove", &[]).await;
        assert_eq!(refused.problems(), ["3S 450, A-01 have it. Give them another connector first."]);
        let refused = quinn.post("/connectors/hall-pins/remove", &[]).await;
        assert_eq!(refused.problems(), ["3S 450 have it. Give them another connector first."]);
        let spare = [("code", "spare"), ("name", "Spare"), ("purpose", "input")];
        quinn.post("/connectors/new", &spare).await.done();
        let page = quinn.get("/connectors/spare").await;
        for _ in 0..2 {
            let answer = quinn.submit(&page, "form[action$='/remove']", &[]).await;
            assert_eq!(answer.done(), "/connectors?done=removed");
        }
        assert!(!quinn.get("/connectors").await.text.contains("Spare"));
        assert_eq!(quinn.get("/connectors/spare").await.status, 404);
        let cable = [("kind", "cable"), ("from", "usb-c"), ("to", "spare"), ("limit_mw", "60")];
        assert!(quinn.post("/kit/new", &cable).await.is_refused());
    }

    async fn the_usual_families_are_nobodys_to_change_and_a_member_changes_none(club: TestClub) {
        let quinn = club.quartermaster().await;
        quinn.post("/connectors/new", &HALL).await.done();
        assert_eq!(quinn.get("/connectors/xt60").await.status, 404);
        assert_eq!(quinn.post("/connectors/xt60", &[("name", "XT61")]).await.status, 404);
        assert_eq!(quinn.post("/connectors/xt60/remove", &[]).await.status, 404);
        let ben = club.member("Ben").await;
        assert_eq!(ben.post("/connectors/hall-plug", &[("name", "Mine")]).await.status, 403);
        assert_eq!(ben.post("/connectors/hall-plug/remove", &[]).await.status, 403);
        assert!(ben.get("/connectors").await.select("th a").is_empty());
    }
}
