//! What is typed into the forms of packs, designs, kit and settings: nothing of it is cut or thrown away in silence, each field
//! says when it is needed, and what is told to put right names the field and writes numbers as the club does.

use crate::support::*;

async fn place(quinn: &Browser, name: &str, kind: &str, limit: &str) -> String {
    let fields = [("name", name), ("kind", kind), ("energy_limit", limit)];
    let answer = quinn.post("/places/new", &fields).await;
    let address = answer.done().replace("?done=added", "");
    address.rsplit('/').next().expect("an id").to_owned()
}

/// Where the packs lie, by number.
async fn lie(club: &TestClub) -> Vec<String> {
    let names = "SELECT COALESCE(pl.name, '-') FROM pack k LEFT JOIN place pl ON pl.id = k.place_id ORDER BY k.number_key";
    club.find(names).await
}

async fn change(quinn: &Browser, number: &str, typed: &[(&str, &str)]) -> Answer {
    let page = quinn.get(&format!("/packs/{number}/details")).await;
    quinn
        .submit(&page, "main form[action$='/details']", typed)
        .await
}

/// `3.91` stands somewhere in it.
fn has_a_point(text: &str) -> bool {
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit);
    (1..letters.len()).any(|at| letters[at] == '.' && digit(at - 1) && digit(at + 1))
}

/// Every field that is marked as wrong: what it is called.
fn labels_of_wrong(page: &Answer) -> Vec<String> {
    page.texts(".has-wrong > label, .has-wrong > legend")
}

const CHARGER: [(&str, &str); 6] = [
    ("kind", "charger"),
    ("modes", "balance"),
    ("modes", "discharge"),
    ("current_memory", "factory"),
    ("input", "dc"),
    ("chemistries", "lipo"),
];

on_both! {
    async fn a_pack_in_quarantine_is_moved_to_quarantine_places_only(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(1).await;
        let van = place(&quinn, "Van", "vehicle", "1").await;
        place(&quinn, "Yard", "quarantine", "").await;
        let drum = place(&quinn, "Drum", "quarantine", "").await;
        quinn.post("/packs/P-001/condition", &[("seen", "swollen")]).await.done();
        assert_eq!(lie(&club).await, ["-"], "nobody carried it");
        let yard = club.ids("place WHERE name = 'Yard'").await[0].to_string();
        change(&quinn, "P-001", &[("place", yard.as_str())]).await.done();
        assert_eq!(lie(&club).await, ["Yard"]);
        let before = club.contents().await;
        for elsewhere in [van.as_str(), ""] {
            let refused = change(&quinn, "P-001", &[("place", elsewhere), ("notes", "kept")]).await;
            assert_eq!(refused.problems(), ["It is in quarantine: it goes to a quarantine place and nowhere else."]);
            assert!(!refused.one("#w-place").is_empty());
            assert!(refused.form("main form[action$='/details']").1.contains(&("notes".to_owned(), "kept".to_owned())));
        }
        assert_eq!(club.contents().await, before);
        let done = change(&quinn, "P-001", &[("place", drum.as_str())]).await;
        assert_eq!(done.done(), "/packs/P-001");
        assert_eq!(lie(&club).await, ["Drum"]);
    }

    async fn a_place_is_told_as_too_full_when_the_pack_was_really_put_there(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(1).await;
        let yard = place(&quinn, "Yard", "quarantine", "1").await;
        // Whoever only reports a pack leaves it where it lies.
        club.member("Ben").await.post("/packs/P-001/condition", &[("seen", "swollen")]).await.done();
        assert_eq!(lie(&club).await, ["-"]);
        change(&quinn, "P-001", &[("notes", "found on the bench")]).await.done();
        assert_eq!(lie(&club).await, ["-"], "nor does who writes of it carry it");
        let page = quinn.get("/packs/P-001").await;
        let done = quinn.submit(&page, "form:has(input[name=lies])", &[("carried", "yes")]).await;
        assert_eq!(done.done(), format!("/packs/P-001?over={yard}"));
        assert_eq!(lie(&club).await, ["Yard"]);
    }

    async fn what_is_said_of_a_pack_is_kept_whole_or_refused_at_its_field(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.fit_packs(1).await;
        let design = club.ids("design").await[0].to_string();
        let (fits, long) = ("ä".repeat(500), "ä".repeat(501));
        let (notes_fit, notes_long) = ("n".repeat(2000), "n".repeat(2001));
        for field in ["maker", "batch", "supplier", "price", "notes"] {
            let (typed, words) = if field == "notes" {
                (notes_long.as_str(), "Keep it under 2000 letters.")
            } else {
                (long.as_str(), "Keep it under 500 letters.")
            };
            let new = [("design", design.as_str()), ("count", "1"), (field, typed)];
            for refused in [quinn.post("/packs", &new).await, change(&quinn, "P-001", &[(field, typed)]).await] {
                assert_eq!(refused.one(&format!("#w-{field}")), words, "{field}");
                let held = refused.form("main form[action^='/packs']").1;
                assert!(held.contains(&(field.to_owned(), typed.to_owned())), "{field} is kept as it was typed");
            }
        }
        assert_eq!(club.ids("pack").await.len(), 1);
        change(&quinn, "P-001", &[("maker", &fits), ("notes", &notes_fit)]).await.done();
        assert_eq!(club.find("SELECT maker || notes FROM pack").await, [format!("{fits}{notes_fit}")]);
    }

    async fn no_field_that_is_refused_when_empty_calls_itself_optional(club: TestClub) {
        let quinn = club.quartermaster().await;
        let more = [("current_min_ma", "0.1"), ("current_max_ma", "6"), ("current_step_ma", "0.1"), ("charge_mw", "60"), ("cells_from", "1"), ("cells_to", "6"), ("outputs", "1"), ("output_connector", "xt60")];
        let usb = [("kind", "charger"), ("input", "usb_pd"), ("modes", "charge"), ("current_memory", "remembers"), ("chemistries", "lipo")];
        let mut asked = Vec::new();
        for fields in [
            CHARGER.to_vec(),
            [CHARGER.as_slice(), &more].concat(),
            usb.to_vec(),
            [CHARGER.as_slice(), &more, &[("discharge_mw", "5"), ("factory_ma", "1"), ("input_mv_min", "11"), ("input_mv_max", "18"), ("input_connector", "xt60")]].concat(),
            vec![("kind", "supply"), ("gives", "dc")],
            vec![("kind", "supply"), ("gives", "usb_pd")],
            vec![("kind", "cable")],
            vec![("kind", "adapter")],
            vec![("kind", "board")],
            vec![("kind", "supply")],
        ] {
            let refused = quinn.post("/kit/new", &fields).await;
            assert!(refused.is_refused(), "{fields:?}");
            let labels = labels_of_wrong(&refused);
            assert!(!labels.is_empty(), "{fields:?}: {:?}", refused.problems());
            asked.extend(labels);
        }
        for label in &asked {
            assert!(!label.contains("(optional)"), "{label}");
        }
        for label in ["Volts, V (needed for DC)", "Watts, W (needed for DC)", "Connector (needed for DC)", "Ports, one a line (needed for USB PD)", "Balance connector (needed to balance)"] {
            assert!(asked.iter().any(|each| each == label), "{label} in {asked:?}");
        }
    }

    async fn the_list_of_what_to_put_right_names_each_field(club: TestClub) {
        let quinn = club.quartermaster().await;
        let refused = quinn.post("/kit/new", &CHARGER).await.problems();
        for words in ["Most current: type a number.", "Least current: type a number.", "Cells, to: type a whole number.", "Output: choose a connector."] {
            assert!(refused.iter().any(|each| each == words), "{words} in {refused:?}");
        }
        for (at, words) in refused.iter().enumerate() {
            assert!(!refused[at + 1..].contains(words), "{words} twice: of which field?");
        }
        let cable = quinn.post("/kit/new", &[("kind", "cable"), ("limit_mw", "60")]).await.problems();
        assert_eq!(cable, ["From: choose a connector.", "To: choose a connector."]);
    }

    async fn a_club_with_a_decimal_comma_reads_no_number_with_a_point_on_its_forms(club: TestClub) {
        let quinn = club.quartermaster().await;
        club.new_packs(1).await;
        for (path, words) in [("/designs", "24.4 Wh"), ("/packs/new", "24.4 Wh"), ("/designs/new", "2.2 Ah"), ("/settings", "3.0 V for LiPo"), ("/kit/new?kind=supply", "9 V 2.2 A")] {
            assert!(quinn.get(path).await.one("main").contains(words), "{path}");
        }
        club.behind_the_back("UPDATE club SET uses_decimal_comma = TRUE").await.expect("a comma");
        for (path, words) in [("/designs", "24,4 Wh"), ("/packs/new", "24,4 Wh"), ("/designs/new", "2,2 Ah"), ("/designs/new", "4,10 V"), ("/settings", "3,0 V for LiPo"), ("/kit/new?kind=supply", "9 V 2,2 A"), ("/kit/new?kind=charger", "Charges")] {
            let told = quinn.get(path).await.one("main").replace("with a point: 3.91", "").replace("barrel 5.5 × 2.1 mm", "").replace("barrel 5.5 × 2.5 mm", "");
            assert!(told.contains(words), "{path}: {told}");
            assert!(!has_a_point(&told), "{path}: {told}");
        }
        let design = [("name", "x"), ("chemistry", "lipo"), ("cells", "2S"), ("capacity", "lots"), ("balance", "none"), ("full_v", "9"), ("lowest_v", "9")];
        let told = quinn.post("/designs", &[&design[..], &[("mass", "99999999"), ("discharge_c", "9999"), ("connector", "")]].concat()).await.problems();
        assert_eq!(told.len(), 6, "what can't be read and what can't be are told in one round: {told:?}");
        let design_but = [&design[..3], &[("capacity", "450")], &design[4..]].concat();
        let wild = [CHARGER.as_slice(), &[("charge_mw", "9999999"), ("current_min_ma", "lots"), ("current_max_ma", "999")]].concat();
        for (path, fields) in [("/designs", design.to_vec()), ("/designs", design_but), ("/kit/new", wild), ("/kit/new", CHARGER.to_vec())] {
            let refused = quinn.post(path, &fields).await;
            assert!(refused.is_refused());
            let told = refused.problems().join(" ");
            assert!(!has_a_point(&told), "{told}");
        }
        let ports = quinn.post("/kit/new", &[("kind", "supply"), ("gives", "usb_pd"), ("ports", "9.5 V")]).await;
        let told = ports.problems().join(" ");
        assert!(told.contains("“9.5 V”") && told.contains("9 V 2,2 A"), "what was typed is repeated as it was: {told}");
    }

    async fn the_settings_tell_a_temperature_in_fahrenheit_too_where_the_club_reads_it(club: TestClub) {
        let quinn = club.quartermaster().await;
        let hints = async || {
            let page = quinn.get("/settings").await;
            [page.one("#h-charge_from_celsius"), page.one("#h-charge_to_celsius")]
        };
        assert_eq!(hints().await, ["0 to 15.", "25 to 45."]);
        club.behind_the_back("UPDATE club SET uses_fahrenheit = TRUE").await.expect("degrees");
        assert_eq!(hints().await, ["0 to 15 °C (32 to 59 °F).", "25 to 45 °C (77 to 113 °F)."]);
    }
}
