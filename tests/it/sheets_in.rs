//! Spreadsheets brought in, step by step as a person at a browser does it: what they hold, their columns, what could mean two
//! things, what is wrong, what is on record already, and then all of it or nothing. Broken ones are `sheets_broken`.

use crate::support::*;

/// What a person goes through who says yes to the guessed columns; gives back the page they end at.
pub async fn sent(quinn: &Browser, holds: &str, bytes: &[u8]) -> Answer {
    let start = quinn.get("/bring-in").await;
    let answer = quinn
        .upload(
            &start,
            "main form",
            &[("holds", holds)],
            ("sheet", "our.csv", bytes),
        )
        .await;
    if answer.status != 303 {
        return answer;
    }
    let columns = quinn.get(answer.done()).await;
    let chosen = quinn.submit(&columns, "main form", &[]).await;
    if chosen.status != 303 {
        return chosen;
    }
    follow(quinn, chosen).await
}

pub async fn follow(quinn: &Browser, answer: Answer) -> Answer {
    let mut answer = answer;
    while let Some(to) = answer.location.clone() {
        answer = quinn.get(&to).await;
    }
    answer
}

/// The check page's form, sent.
pub async fn carried_out(quinn: &Browser, check: &Answer) -> Answer {
    assert_eq!(check.one("h1"), "Check the sheet", "{}", check.text);
    follow(quinn, quinn.submit(check, "#f-sheet form", &[]).await).await
}

async fn packs(club: &TestClub) -> Vec<String> {
    club.find(
        "SELECT k.number || ' ' || d.name || ' ' || k.maker || ' ' || COALESCE(k.acquired_on, '') || ' ' || k.state || ' ' || k.life \
         FROM pack k JOIN design d ON d.id = k.design_id ORDER BY k.number_key",
    )
    .await
}

const SHEET: &str = "\u{feff}Pack;Model;Chem;S;Capacity (Ah);Plug;Balance plug;Brand;Bought;State\r\n\
    ;Quick 3S;LiPo;3S;0,45;XT30;JST-XH;Mühle;26.10.2026;Fit\r\n\
    P-7;Quick 3S;LiPo;3;450 mAh;xt 30;jst xh;Mühle;05/10/2026;Quarantine\r\n\
    ;;LiPo;4S;1,5;XT60;JST-XH;;46310;\r\n";

/// Designs, packs and kit written out, taken away and brought in: the sheets say the same again.
async fn comes_in_again(club: &TestClub) {
    club.behind_the_back("UPDATE pack SET notes = '=1+1 \"so\", he said; ünd', maker = 'Mill, Sons', acquired_on = '2026-02-03' WHERE number = 'P-002'").await.expect("said");
    let quinn = club.quartermaster().await;
    for fields in [
        &[
            ("kind", "adapter"),
            ("from", "xt60"),
            ("to", "xt30"),
            ("rated_ma", "12.5"),
            ("owned_count", "8"),
        ][..],
        &[
            ("kind", "supply"),
            ("gives", "usb_pd"),
            ("ports", "65 W\n5 V 3 A / 9 V 2.2 A"),
            ("name", "brick"),
        ],
        &[
            ("kind", "charger"),
            ("chemistries", "lipo"),
            ("chemistries", "lihv"),
            ("cells_from", "1"),
            ("cells_to", "6"),
            ("current_min_ma", "0.1"),
            ("current_max_ma", "10"),
            ("current_step_ma", "0.1"),
            ("charge_mw", "120"),
            ("modes", "balance"),
            ("modes", "storage"),
            ("has_mah_cutoff", "yes"),
            ("outputs", "1"),
            ("output_connector", "xt60"),
            ("balance_connector", "jst-xh"),
            ("current_memory", "factory"),
            ("factory_ma", "1.5"),
            ("input", "dc"),
            ("input_mv_min", "11"),
            ("input_mv_max", "18"),
            ("input_connector", "xt60"),
        ],
        &[
            ("kind", "charger"),
            ("chemistries", "lipo"),
            ("cells_from", "2"),
            ("cells_to", "3"),
            ("fixed_through_balance", "0.3"),
            ("charge_mw", "4"),
            ("modes", "balance"),
            ("outputs", "1"),
            ("balance_connector", "jst-xh"),
            ("current_memory", "not_known"),
            ("input", "usb_pd"),
            ("input_mw", "10"),
            ("input_levels", "9 V, 12 V"),
        ],
    ] {
        quinn.post("/kit/new", fields).await.done();
    }
    let out = [
        quinn.get("/designs.csv").await.text,
        quinn.get("/packs.csv").await.text,
        quinn.get("/kit.csv").await.text,
    ];
    for sql in [
        "DELETE FROM report_photo",
        "DELETE FROM report_answer",
        "DELETE FROM report",
        "DELETE FROM watch_look",
        "DELETE FROM watch",
        "DELETE FROM event_pack",
        "DELETE FROM finding",
        "DELETE FROM charge_log_waiting",
        "DELETE FROM charge_log",
        "DELETE FROM care",
        "DELETE FROM reading",
        "DELETE FROM lent",
        "DELETE FROM pack",
        "DELETE FROM kit",
        "DELETE FROM design",
    ] {
        club.lift_the_guards().await;
        club.behind_the_back(sql).await.expect("gone");
    }
    for (holds, text) in ["designs", "packs", "kit"].into_iter().zip(&out) {
        let check = sent(&quinn, holds, text.as_bytes()).await;
        carried_out(&quinn, &check).await;
    }
    assert_eq!(quinn.get("/designs.csv").await.text, out[0]);
    assert_eq!(quinn.get("/kit.csv").await.text, out[2]);
    let own = |text: &str| {
        let grid = sandbucket::club::sheet::text::grid(text).expect("a sheet");
        let own = grid
            .headings
            .iter()
            .position(|heading| heading == "State")
            .expect("the first that is not brought in");
        grid.rows
            .into_iter()
            .map(|row| row.cells().take(own).map(str::to_owned).collect::<Vec<_>>())
            .collect::<Vec<_>>()
    };
    assert_eq!(own(&quinn.get("/packs.csv").await.text), own(&out[1]));
}

on_both! {
    async fn a_sheet_of_packs_is_read_asked_about_checked_and_brought_in_as_a_whole(club: TestClub) {
        let quinn = club.quartermaster().await;
        let questions = sent(&quinn, "packs", SHEET.as_bytes()).await;
        assert_eq!(questions.one("h1"), "Questions about the sheet");
        assert_eq!(questions.texts("legend"), ["Which day is 05/10/2026?"]);
        assert!(questions.select("input[checked]").is_empty(), "nothing is chosen beforehand");
        let unsaid = quinn.submit(&questions, "main form", &[]).await;
        assert_eq!(unsaid.problems(), ["Choose one: Which day is 05/10/2026?"]);
        let check = follow(&quinn, quinn.submit(&questions, "main form", &[("days", "day_first")]).await).await;
        assert_eq!(check.one("main button.main"), "Bring in 3 packs, 2 new designs");
        assert_eq!(check.texts("main h2"), ["New designs", "New packs"]);
        let read_back: Vec<String> = check.texts(".read-back tbody tr > *").into_iter().filter(|cell| !cell.is_empty()).collect();
        assert_eq!(read_back, [
            "Quick 3S", "3S 450 mAh LiPo, XT30, 5.0 Wh",
            "LiPo 4S 1500 mAh XT60", "4S 1500 mAh LiPo, XT60, 22.2 Wh",
            "P-008", "Quick 3S: 3S 450 mAh LiPo, XT30, 5.0 Wh", "Mon 26 Oct 2026", "maker: Mühle",
            "P-007", "Quick 3S: 3S 450 mAh LiPo, XT30, 5.0 Wh", "Mon 5 Oct 2026", "maker: Mühle",
            "P-009", "LiPo 4S 1500 mAh XT60: 4S 1500 mAh LiPo, XT60, 22.2 Wh", "Thu 15 Oct 2026",
        ]);
        assert!(packs(&club).await.is_empty(), "nothing yet");
        let done = carried_out(&quinn, &check).await;
        assert_eq!(done.texts("[role=status] li"), ["3 new packs: P-007 to P-009.", "2 new designs."]);
        assert_eq!(packs(&club).await, [
            "P-007 Quick 3S Mühle 2026-10-05 not_known in_use",
            "P-008 Quick 3S Mühle 2026-10-26 not_known in_use",
            "P-009 LiPo 4S 1500 mAh XT60  2026-10-15 not_known in_use",
        ]);
        let verbs = club.find("SELECT verb FROM activity ORDER BY seq").await;
        assert_eq!(verbs, ["registered a design", "registered a design", "registered", "registered", "registered"]);
        assert_eq!(club.first_break().await, None);
        assert!(quinn.get("/packs/P-008").await.text.contains("Its volts were never logged"));
    }

    async fn sending_it_twice_brings_it_in_once_and_reload_repeats_nothing(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "packs", b"Design\nMill 3S 2200\n").await;
        let (first, second) = (quinn.again(), quinn.again());
        let (one, two) = tokio::join!(first.submit(&check, "#f-sheet form", &[]), second.submit(&check, "#f-sheet form", &[]));
        assert_eq!(one.done(), two.done());
        assert_eq!(club.ids("pack").await.len(), 2);
        for _ in 0..2 {
            assert_eq!(quinn.get(one.done()).await.one("h1"), "Brought in");
        }
        let afresh = quinn.submit(&check, "#f-sheet form", &[("key", "another key of theirs")]).await;
        assert_eq!(afresh.status, 404, "it was carried out already");
        assert_eq!(club.ids("pack").await.len(), 2);
    }

    async fn the_key_of_the_first_form_guards_the_file_too(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let send = async |text: &'static str| quinn.upload(&start, "main form", &[("holds", "designs")], ("sheet", "a.csv", text.as_bytes())).await;
        let one = send("Name\nA").await;
        assert_eq!(send("Name\nA").await.done(), one.done());
        assert_eq!(send("Name\nB").await.status, 409);
        assert_eq!(club.ids("sheet").await.len(), 1);
    }

    async fn a_sheet_with_one_bad_cell_brings_in_nothing_and_says_where_it_is(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let before = packs(&club).await;
        let check = sent(&quinn, "packs", b"Design,Place,Bought\nMill 3S 2200,,\nMill 3S 2200,Moon,2026-11-01\nMill 3S 2200,,2027-01-01\n").await;
        assert_eq!(check.texts("tbody tr > *"), [
            "Line 3",
            "column \u{201c}Place\u{201d}",
            "There is no place called \u{201c}Moon\u{201d}. Add it under Places first, or leave the cell empty.",
            "Line 4",
            "column \u{201c}Bought\u{201d}",
            "That day has not come yet.",
        ]);
        assert!(check.select("#f-sheet form").is_empty(), "there is no way to bring it in");
        let forced = quinn.post(&check.path, &[("key", "k")]).await;
        assert!(forced.is_refused() && forced.one("title").starts_with("Error: "), "{}", forced.status);
        assert_eq!(packs(&club).await, before);
    }

    async fn of_a_thousand_bad_rows_the_first_two_hundred_are_shown_and_all_counted(club: TestClub) {
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "packs", ("Design\n".to_owned() + &"Nobody's\n".repeat(1_000)).as_bytes()).await;
        assert_eq!(check.select("tbody tr").len(), 200);
        assert!(check.one(".first-do").starts_with("1000 things to put right in our.csv. Nothing was brought in; the first 200 are shown."));
    }

    async fn numbers_on_record_are_asked_about_and_left_or_changed_but_never_their_state(club: TestClub) {
        club.in_full_swing(6).await;
        let quinn = club.quartermaster().await;
        let states = "SELECT number || state || life || state_words FROM pack WHERE number_key <= 6 ORDER BY number_key";
        let before = club.find(states).await;
        let text = "Number,Design,Notes,State,Life\nP-003,,new wrap,Fit,retired\nP-006,,,Fit,\n,Mill 3S 2200,,,\n";
        let questions = sent(&quinn, "packs", text.as_bytes()).await;
        assert_eq!(questions.texts("legend"), ["2 of the sheet's rows are on record already. What becomes of them?"]);
        assert!(questions.select("input[checked]").is_empty());
        let left = follow(&quinn, quinn.submit(&questions, "main form", &[("existing", "leave")]).await).await;
        assert_eq!(left.one("main button.main"), "Bring in 1 pack");
        let again = quinn.get(&format!("{}/questions", left.path)).await;
        let changed = follow(&quinn, quinn.submit(&again, "main form", &[("existing", "change")]).await).await;
        assert_eq!(changed.one("main button.main"), "Bring in 1 pack, 1 change", "the row of P-006 says what is on record");
        assert!(changed.text.contains("2 rows: 1 changed, 1 left as they are"), "{}", changed.text);
        let done = carried_out(&quinn, &changed).await;
        assert_eq!(done.texts("[role=status] li"), [
            "1 new pack: P-007.",
            "1 row changed details of what was on record.",
            "1 row was on record already and left as it was.",
        ]);
        assert_eq!(club.find(states).await, before, "their states are what they were");
        assert_eq!(club.find("SELECT notes FROM pack WHERE number = 'P-003'").await, ["new wrap"]);
        assert_eq!(club.first_break().await, None);
    }

    async fn a_pack_in_quarantine_is_not_moved_out_of_it_by_a_sheet(club: TestClub) {
        club.in_full_swing(6).await;
        let quinn = club.quartermaster().await;
        quinn.post("/packs/P-005/condition", &[("seen", "swollen")]).await.done();
        let before = club.contents().await["pack"].clone();
        let questions = sent(&quinn, "packs", b"Number,Place,Design\n5,Van,\n,Van,Mill 3S 2200\n").await;
        let check = follow(&quinn, quinn.submit(&questions, "main form", &[("existing", "change")]).await).await;
        let refused = quinn.submit(&check, "#f-sheet form", &[]).await;
        assert_eq!(refused.problems(), ["P-005, on line 2: It is in quarantine: it goes to a quarantine place and nowhere else. Nothing was brought in."]);
        assert_eq!(club.contents().await["pack"], before, "the new pack did not come either");
    }

    async fn designs_and_kit_are_brought_in_and_changed_by_the_rules_of_their_forms(club: TestClub) {
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "designs", b"Name,Chemistry,Cells,Capacity,Connector,Balance,Weight\nQuick,LiPo,3,450,XT30,JST-XH,41\nLong,Li-ion,4,\"5,000\",XT60,none,\n").await;
        assert_eq!(check.texts("legend"), ["What does the comma in 5,000 mean?"]);
        let check = follow(&quinn, quinn.submit(&check, "main form", &[("comma", "thousands")]).await).await;
        carried_out(&quinn, &check).await;
        let found = club.find("SELECT name || ' ' || CAST(capacity_mah AS TEXT) || ' ' || COALESCE(balance_connector, 'none') FROM design ORDER BY name").await;
        assert_eq!(found, ["Long 5000 none", "Quick 450 jst-xh"]);
        let kit = "Kind,Number,Name,From,To,Rated (A),Carries (W),Owned\nadapter,,,XT60,XT30,15,,8\ncable,K-09,long one,USB-C,USB-C,,60,\n";
        let check = sent(&quinn, "kit", kit.as_bytes()).await;
        assert_eq!(check.one("main button.main"), "Bring in 2 pieces of kit", "{}", check.text);
        carried_out(&quinn, &check).await;
        let found = club.find("SELECT number || ' ' || CAST(owned_count AS TEXT) || ' ' || name FROM kit ORDER BY number").await;
        assert_eq!(found, ["A-01 8 ", "K-09 1 long one"]);
        let again = sent(&quinn, "kit", kit.replace("long one", "longer").replace(",8", ",80").replace("adapter,,", "adapter,A-1,").as_bytes()).await;
        let check = follow(&quinn, quinn.submit(&again, "main form", &[("existing", "change")]).await).await;
        carried_out(&quinn, &check).await;
        let found = club.find("SELECT number || ' ' || CAST(owned_count AS TEXT) || ' ' || name FROM kit ORDER BY number").await;
        assert_eq!(found, ["A-01 8 ", "K-09 1 longer"], "a count is counted, not brought in");
    }

    async fn what_stands_on_record_as_the_sheet_says_is_no_change_and_leaves_no_trace(club: TestClub) {
        let quinn = club.quartermaster().await;
        let designs = "Name,Chemistry,Cells,Capacity,Connector,Balance,Weight\nQuick,LiPo,3,450,XT30,JST-XH,41\n";
        let kit = "Kind,Number,Name,From,To,Rated (A),Carries (W),Owned\nadapter,A-01,,XT60,XT30,15,,8\ncable,K-09,long one,USB-C,USB-C,,60,\n";
        for (holds, text) in [("designs", designs), ("kit", kit)] {
            let check = sent(&quinn, holds, text.as_bytes()).await;
            carried_out(&quinn, &check).await;
            let entries = club.find("SELECT CAST(seq AS TEXT) FROM activity ORDER BY seq").await;
            let again = sent(&quinn, holds, text.as_bytes()).await;
            let check = follow(&quinn, quinn.submit(&again, "main form", &[("existing", "change")]).await).await;
            assert!(check.text.contains("There is nothing to bring in."), "{holds}: {}", check.text);
            assert!(check.select("#f-sheet form").is_empty(), "{holds}");
            let forced = quinn.post(&check.path, &[("key", holds)]).await;
            assert!(forced.is_refused(), "{holds}: {}", forced.status);
            assert_eq!(club.find("SELECT CAST(seq AS TEXT) FROM activity ORDER BY seq").await, entries, "{holds}");
        }
    }

    async fn a_changed_design_and_piece_of_kit_are_read_back_as_they_would_be(club: TestClub) {
        let quinn = club.quartermaster().await;
        for (holds, text, other, told) in [
            ("designs", "Name,Chemistry,Cells,Capacity,Connector,Balance,Weight\nQuick,LiPo,3,450,XT30,JST-XH,41\n", ("41", "43"), ["Quick", "3S 450 mAh LiPo, XT30, 5.0 Wh", "mass: 43 g", "mass: 41 g"]),
            ("kit", "Kind,Number,Name,From,To,Carries (W)\ncable,K-09,long one,USB-C,USB-C,60\n", ("long", "short"), ["K-09", "cable: USB-C to USB-C, up to 60 W", "name: short one", "name: long one"]),
        ] {
            let check = sent(&quinn, holds, text.as_bytes()).await;
            carried_out(&quinn, &check).await;
            let again = sent(&quinn, holds, text.replace(other.0, other.1).as_bytes()).await;
            let check = follow(&quinn, quinn.submit(&again, "main form", &[("existing", "change")]).await).await;
            assert_eq!(check.texts(".read-back tbody tr > *"), told);
            let done = carried_out(&quinn, &check).await;
            assert_eq!(done.texts("[role=status] li"), ["1 row changed details of what was on record."]);
        }
    }

    async fn a_sheet_of_one_kind_needs_no_column_that_says_it_and_a_charger_comes_whole(club: TestClub) {
        let quinn = club.quartermaster().await;
        let head = "Chemistries,Cells from,Cells to,Least current (A),Most current (A),In steps of (A),Charges with (W),Modes,Stops at a charge,Outputs,Output connector,Balance connector,Current when switched on,Fed by,Input USB PD (W)";
        let text = format!("{head}\n\"LiPo, LiHV\",1,6,0.1,10,0.1,120,balance / storage,yes,1,XT60,JST-XH,remembers,USB PD,65\nLiPo,1,0,,10,0.1,120,dance,perhaps,1,XT60,JST-XH,never,sun,\n");
        let start = quinn.get("/bring-in").await;
        let typed = [("holds", "kit"), ("kind", "charger")];
        let answer = quinn.upload(&start, "main form", &typed, ("sheet", "chargers.csv", text.as_bytes())).await;
        let columns = quinn.get(answer.done()).await;
        let selects = columns.select("main select");
        assert!(selects.iter().all(|select| !["column_kind", "column_limit_mw"].contains(&select.attribute("name"))));
        let check = follow(&quinn, quinn.submit(&columns, "main form", &[]).await).await;
        let lines = check.texts("tbody th");
        assert!(lines.len() >= 5 && lines.iter().all(|line| line == "Line 3"), "{lines:?}");
        let good: Vec<&str> = text.lines().take(2).collect();
        let typed = [("holds", "kit"), ("kind", "charger"), ("key", "another")];
        let answer = quinn.upload(&start, "main form", &typed, ("sheet", "chargers.csv", good.join("\n").as_bytes())).await;
        let columns = quinn.get(answer.done()).await;
        let check = follow(&quinn, quinn.submit(&columns, "main form", &[]).await).await;
        carried_out(&quinn, &check).await;
        assert!(quinn.get("/kit").await.text.contains("LiPo LiHV 1–6S"));
    }

    async fn what_goes_out_comes_in_again_as_it_was(club: TestClub) {
        club.in_full_swing(6).await;
        comes_in_again(&club).await;
    }

    async fn what_goes_out_with_decimal_commas_comes_in_again_as_it_was(club: TestClub) {
        club.in_full_swing(6).await;
        club.behind_the_back("UPDATE club SET uses_decimal_comma = (1 = 1)").await.expect("commas");
        comes_in_again(&club).await;
    }

    async fn the_columns_are_chosen_by_hand_and_nothing_can_be_chosen_that_is_a_state(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let answer = quinn.upload(&start, "main form", &[("holds", "packs")], ("sheet", "a.csv", b"Foo,Bar,State\nMill 3S 2200,Mason,retired\n")).await;
        let columns = quinn.get(answer.done()).await;
        let refused = quinn.submit(&columns, "main form", &[]).await;
        assert!(refused.problems()[0].starts_with("Choose the column that names the design"), "{:?}", refused.problems());
        let twice = quinn.submit(&columns, "main form", &[("column_design", "0"), ("column_maker", "0")]).await;
        assert_eq!(twice.problems(), ["Column \u{201c}Foo\u{201d} is chosen for two fields. Choose one."]);
        let names: Vec<String> = columns.select("main select").iter().map(|select| select.attribute("name").to_owned()).collect();
        assert!(names.len() > 15 && !names.iter().any(|name| name.contains("state") || name.contains("life") || name.contains("volts_now")));
        let typed = [("column_design", "0"), ("column_maker", "1"), ("column_state", "2"), ("column_life", "2")];
        let check = follow(&quinn, quinn.submit(&columns, "main form", &typed).await).await;
        carried_out(&quinn, &check).await;
        assert_eq!(packs(&club).await[1], "P-002 Mill 3S 2200 Mason  not_known in_use");
    }

    async fn what_is_no_sheet_is_told_at_once_and_kept_nowhere(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let large = vec![b'a'; 4 * 1024 * 1024 + 1];
        let long = "Design\n".to_owned() + &"x\n".repeat(20_001);
        let wide = "a,".repeat(100) + "a\nb";
        for (bytes, words) in [
            (&b"PK\x03\x04"[..], "That is a workbook."),
            (b"a\0b", "That file is no text."),
            (b"a;\"b\nc", "Line 1, column 2: The quotation mark that opens this cell is never closed."),
            (b"", "Line 1, column 1: There is nothing in this sheet."),
            (long.as_bytes(), "Line 20002, column 1: A sheet has at most 20000 rows"),
            (wide.as_bytes(), "Line 1, column 101: A sheet has at most 100 columns"),
            (&large, "A sheet may have 4 MB."),
        ] {
            let refused = quinn.upload(&start, "main form", &[("holds", "packs")], ("sheet", "a.csv", bytes)).await;
            assert!(refused.is_refused(), "{words}: {}", refused.status);
            assert!(refused.problems()[0].starts_with(words), "{:?}", refused.problems());
            assert!(refused.one("title").starts_with("Error: "));
        }
        let both = quinn.upload(&start, "main form", &[("holds", "packs"), ("text", "Design\nx")], ("sheet", "a.csv", b"Design\nx")).await;
        assert_eq!(both.problems(), ["Send a file or paste text, not both."]);
        let neither = quinn.submit(&start, "main form", &[]).await;
        assert_eq!(neither.problems(), ["Choose what the sheet holds.", "Choose the file, or paste the sheet's text."]);
        assert!(club.ids("sheet").await.is_empty());
    }

    async fn a_pasted_text_and_an_old_programs_letters_are_read_too(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let pasted = quinn.submit(&start, "main form", &[("holds", "designs"), ("text", "Name\tChemistry\nQuick\tLiPo")]).await;
        assert!(quinn.get(pasted.done()).await.text.contains("Name: Quick"));
        let old = quinn.upload(&start, "main form", &[("holds", "designs"), ("key", "k2")], ("sheet", "a.csv", b"Name;Chemistry\nM\xfchle;LiPo")).await;
        assert!(quinn.get(old.done()).await.text.contains("Name: Mühle"));
    }

    async fn a_sheet_is_seen_by_nobody_else_and_goes_after_a_day(club: TestClub) {
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "designs", b"Name\nA").await;
        let id = check.path.split('/').nth(2).expect("an id").to_owned();
        let rosa = club.second_quartermaster().await;
        for step in ["", "/columns", "/questions", "/done"] {
            assert_eq!(rosa.get(&format!("/bring-in/{id}{step}")).await.status, 404, "{step}");
        }
        assert_eq!(rosa.post(&format!("/bring-in/{id}/remove"), &[]).await.status, 404);
        assert!(!rosa.get("/bring-in").await.text.contains(&id));
        assert!(quinn.get("/bring-in").await.text.contains(&id));
        club.later_by_days(1);
        sandbucket::tasks::sweep::sweep(&club.app).await.expect("swept");
        assert_eq!(club.ids("sheet").await.len(), 1, "a day is a day");
        club.later_by_minutes(1);
        sandbucket::tasks::sweep::sweep(&club.app).await.expect("swept");
        assert!(club.ids("sheet").await.is_empty());
    }

    async fn a_file_that_comes_after_its_session_ended_is_not_kept_and_asks_for_a_sign_in(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        quinn.post("/sign-out", &[]).await.done();
        let answer = quinn.upload(&start, "main form", &[("holds", "designs")], ("sheet", "a.csv", b"Name\nA")).await;
        assert_eq!(answer.status, 401);
        assert!(answer.select("input[name=kept]").is_empty() && club.ids("sheet").await.is_empty());
    }

    async fn another_site_brings_in_nothing(club: TestClub) {
        let quinn = club.quartermaster().await;
        let kind = ("content-type", "multipart/form-data; boundary=part");
        let body = "--part\r\nContent-Disposition: form-data; name=\"holds\"\r\n\r\ndesigns\r\n--part\r\nContent-Disposition: form-data; name=\"text\"\r\n\r\nName\nA\r\n--part--\r\n";
        for (origin, status) in [("http://evil.example", 403), ("http://hall.example:8080", 303)] {
            let headers = [("origin", origin), kind];
            let answer = quinn.send(axum::http::Method::POST, "/bring-in", &headers, Some(body.to_owned())).await;
            assert_eq!(answer.status, status, "{origin}");
        }
        assert_eq!(club.ids("sheet").await.len(), 1);
    }

    async fn sheets_are_not_sent_without_end(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let mut sent = 0;
        let refused = loop {
            let answer = quinn.submit(&start, "main form", &[]).await;
            sent += 1;
            if answer.status != 422 || sent > 200 {
                break answer;
            }
        };
        assert_eq!(refused.status, 429, "after {sent}");
        assert!(sent > 30 && refused.header("retry-after").parse::<u64>().is_ok());
    }

    async fn only_a_few_are_kept_and_one_can_be_removed(club: TestClub) {
        let quinn = club.quartermaster().await;
        for _ in 0..7 {
            sent(&quinn, "designs", b"Name\nA").await;
            club.later_by_minutes(1);
        }
        assert_eq!(club.ids("sheet").await.len(), 5);
        let start = quinn.get("/bring-in").await;
        let first = start.select("ul.do a")[0].attribute("href").to_owned();
        let page = quinn.get(&format!("{first}/columns")).await;
        let removed = follow(&quinn, quinn.submit(&page, "form[action$='/remove']", &[]).await).await;
        assert_eq!(removed.one("[role=status]"), "The sheet is removed. Nothing of it was brought in.");
        assert_eq!(removed.select("ul.do a").len(), 4);
    }

    async fn five_thousand_packs_come_in_within_seconds(club: TestClub) {
        club.new_packs(1).await;
        let quinn = club.quartermaster().await;
        let mut text = "Number,Design,Chemistry,Cells,Capacity,Connector,Balance,Maker,Batch,Bought,Notes\n".to_owned();
        let count = share(5_000, 20_000);
        for at in 0..count {
            let (number, design) = (10 + at, at % 7);
            text += &format!("P-{number},Bulk {design},LiPo,{},{},XT60,JST-XH,Maker {design},B{at},2026-01-0{},note of {at}\n", design + 1, 1_000 + design, design + 1);
        }
        let began = std::time::Instant::now();
        let check = sent(&quinn, "packs", text.as_bytes()).await;
        let done = carried_out(&quinn, &check).await;
        let took = began.elapsed();
        assert_eq!(done.texts("[role=status] li")[0], format!("{count} new packs: P-010 to P-{}.", count + 9));
        assert_eq!((club.ids("pack").await.len(), club.ids("design").await.len()), (count + 1, 8));
        assert_eq!(club.first_break().await, None);
        tell_rounds(&format!("{count} packs from a spreadsheet (full count 20,000) on {:?}: {} ms from file to done", club.backend, took.as_millis()));
        let most = std::time::Duration::from_secs(30) * u32::try_from(count / 5_000).expect("a few") * slowness();
        assert!(took < most, "{took:?} of {most:?}");
    }
}
