//! Lists as spreadsheets: what the list shows to whoever asks, all of it, written so that no program takes a cell for a
//! formula. Who may ask for which is in `every_route`; how a sheet is written, in `club::sheet::written`.

use crate::support::*;
use sandbucket::club::sheet::text::{Grid, grid};

/// The sheet that an address gives.
async fn sheet(browser: &Browser, path: &str) -> Grid {
    let answer = browser.get(path).await;
    assert_eq!(answer.status, 200, "{path}: {}", answer.text);
    let text = answer
        .text
        .strip_prefix('\u{feff}')
        .expect("a byte order mark");
    match grid(text) {
        Ok(grid) => grid,
        Err(troubles) => {
            assert!(
                troubles.shown[0].words.starts_with("Below the headings"),
                "{path}: {troubles:?}"
            );
            Grid::default()
        }
    }
}

fn column(grid: &Grid, heading: &str) -> Vec<String> {
    let at = grid.headings.iter().position(|other| other == heading);
    let at = at.unwrap_or_else(|| panic!("{heading} among {:?}", grid.headings));
    grid.rows
        .iter()
        .map(|row| row.cell(at).to_owned())
        .collect()
}

const LISTS: [&str; 9] = [
    "/packs.csv",
    "/packs/P-001/readings.csv",
    "/designs.csv",
    "/connectors.csv",
    "/kit.csv",
    "/places.csv",
    "/people.csv",
    "/loans.csv",
    "/log.csv",
];

on_both! {
    async fn every_list_comes_as_a_file_named_after_it_and_the_day_and_is_kept_nowhere(club: TestClub) {
        club.in_full_swing(6).await;
        club.adapters("A-01", 8).await;
        let avery = club.all_roles().await;
        for path in LISTS {
            let answer = avery.get(path).await;
            assert_eq!(answer.header("content-type"), "text/csv; charset=utf-8", "{path}");
            assert_eq!(answer.header("cache-control"), "no-store", "{path}");
            let name = answer.header("content-disposition");
            assert!(name.starts_with("attachment; filename=\"") && name.ends_with("2026-11-25.csv\""), "{path}: {name}");
            assert!(!sheet(&avery, path).await.rows.is_empty(), "{path}");
        }
        assert!(avery.get("/packs/P-001/readings.csv").await.header("content-disposition").contains("readings-P-001-"));
        assert_eq!(avery.get("/packs/P-999/readings.csv").await.status, 404);
    }

    async fn each_list_leads_to_its_sheet_with_what_is_asked_for(club: TestClub) {
        club.in_full_swing(6).await;
        let avery = club.all_roles().await;
        for (page, to) in [
            ("/packs?state=set_aside&order=seen", "/packs.csv?state=set_aside&order=seen"),
            ("/packs/P-001/readings", "/packs/P-001/readings.csv"),
            ("/kit?kind=charger", "/kit.csv?kind=charger"),
            ("/places?closed=yes", "/places.csv?closed=yes"),
            ("/people?text=ada", "/people.csv?text=ada"),
            ("/designs", "/designs.csv"),
            ("/connectors", "/connectors.csv"),
            ("/loans", "/loans.csv"),
            ("/log", "/log.csv"),
        ] {
            let links = avery.get(page).await.select("main a");
            let link = links.iter().find(|link| link.text == "As a spreadsheet");
            assert_eq!(link.map(|link| link.attribute("href")), Some(to), "{page}");
        }
    }

    async fn the_sheet_of_packs_has_all_that_suit_in_the_order_asked_for(club: TestClub) {
        club.in_full_swing(60).await;
        let quinn = club.quartermaster().await;
        let whole = sheet(&quinn, "/packs.csv").await;
        assert_eq!(whole.rows.len(), 60);
        let page = quinn.get("/packs?order=state").await;
        let first: Vec<String> = page.texts("tbody th");
        let asked = column(&sheet(&quinn, "/packs.csv?order=state").await, "Number");
        assert_eq!(asked[..50], first[..50]);
        let torn = sheet(&quinn, "/packs.csv?state=set_aside").await;
        assert_eq!(column(&torn, "Number"), ["P-060"]);
        assert_eq!(column(&torn, "State"), ["Set aside"]);
        assert_eq!(quinn.get("/packs.csv?cells=many").await.status, 400);
    }

    async fn a_member_gets_no_holder_no_price_and_no_notes_in_any_sheet(club: TestClub) {
        club.in_full_swing(12).await;
        club.behind_the_back("UPDATE pack SET notes = 'from the widow', price = '17.50', supplier = 'Corner shop'").await.expect("said");
        let (ada, ben) = (club.member("Ada 0").await, club.member("Ben").await);
        let out = column(&sheet(&ben, "/packs.csv").await, "Where now");
        assert!(out.iter().any(|words| words == "out"), "{out:?}");
        assert!(column(&sheet(&ada, "/packs.csv").await, "Where now").contains(&"out: you".to_owned()));
        for path in ["/packs.csv", "/packs/P-001/readings.csv", "/designs.csv", "/connectors.csv", "/kit.csv"] {
            let text = ben.get(path).await.text;
            for secret in ["Ada", "widow", "17.50", "Corner shop"] {
                assert!(!text.contains(secret), "{path} tells a member {secret}");
            }
        }
        let held = ben.get(&format!("/packs.csv?holder={}", ada.id())).await.text;
        assert_eq!(held.lines().count(), 1, "what somebody else has is not a member's to find");
        let quinn = club.quartermaster().await;
        assert!(quinn.get("/packs.csv").await.text.contains("out: Ada 0"));
    }

    async fn a_club_that_writes_decimal_commas_gets_semicolons(club: TestClub) {
        club.in_full_swing(3).await;
        club.behind_the_back("UPDATE club SET uses_decimal_comma = (1 = 1)").await.expect("commas");
        let quinn = club.quartermaster().await;
        let text = quinn.get("/packs/P-003/readings.csv").await.text;
        assert!(text.starts_with("\u{feff}Read;Pack (V);Cell 1 (V)"), "{text}");
        assert_eq!(column(&sheet(&quinn, "/packs/P-003/readings.csv").await, "Cell 1 (V)"), ["3,82"]);
    }

    async fn a_cell_that_looks_like_a_formula_comes_out_as_a_text(club: TestClub) {
        club.new_packs(1).await;
        let formula = "=HYPERLINK(\"https://example.org\",\"click\")";
        let quinn = club.quartermaster().await;
        let page = quinn.get("/packs/P-001/details").await;
        quinn.submit(&page, "main form", &[("notes", formula), ("maker", "@maker"), ("price", "-3,50")]).await.done();
        let sheet = sheet(&quinn, "/packs.csv").await;
        assert_eq!(column(&sheet, "Notes"), [format!("'{formula}")]);
        assert_eq!(column(&sheet, "Maker"), ["'@maker"]);
        assert_eq!(column(&sheet, "Price"), ["-3,50"], "a number stays one");
    }

    async fn what_is_out_and_what_is_overdue_come_apart(club: TestClub) {
        club.in_full_swing(6).await;
        let olive = club.organiser().await;
        let out = sheet(&olive, "/loans.csv").await;
        assert_eq!(column(&out, "With whom"), ["Ada 0", "Ada 0"]);
        assert!(sheet(&olive, "/loans.csv?overdue=yes").await.rows.is_empty());
        club.later_by_days(40);
        let olive = club.organiser().await;
        assert_eq!(column(&sheet(&olive, "/loans.csv?overdue=yes").await, "Overdue"), ["yes", "yes"]);
    }

    async fn the_log_comes_whole_and_a_part_of_it_before_an_entry(club: TestClub) {
        club.in_full_swing(6).await;
        let olive = club.organiser().await;
        let entries = club.find("SELECT CAST(seq AS TEXT) FROM activity a ORDER BY a.seq DESC").await;
        assert_eq!(column(&sheet(&olive, "/log.csv").await, "Entry"), entries);
        assert_eq!(column(&sheet(&olive, "/log.csv?before=3").await, "Entry"), ["2", "1"]);
    }

    async fn sheets_are_not_asked_for_without_end(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let mut asked = 0;
        let refused = loop {
            let answer = quinn.get("/designs.csv").await;
            asked += 1;
            if answer.status != 200 || asked > 400 {
                break answer;
            }
        };
        assert_eq!(refused.status, 429, "after {asked}");
        assert!(asked > 80 && refused.header("retry-after").parse::<u64>().is_ok());
        let rosa = club.second_quartermaster().await;
        assert_eq!(rosa.get("/designs.csv").await.status, 200, "one person's haste stops nobody else");
    }
}
