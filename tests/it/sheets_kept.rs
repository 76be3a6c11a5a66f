//! Spreadsheets while they are kept: nothing sent is lost to a refused first step, a sheet that was carried out leads to
//! what came of it, and many hands at once bring in each number once.

use crate::sheets_in::{carried_out, follow, sent};
use crate::support::*;
use axum::body::{Body, Bytes};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

const DESIGNS: &[u8] =
    b"Name,Chemistry,Cells,Capacity,Connector,Balance\nQuick,LiPo,3,450,XT30,JST-XH\n";

/// The steps of the sheet to which this page belongs.
fn id_of(page: &Answer) -> String {
    page.path.split('/').nth(2).expect("an id").to_owned()
}

async fn numbers(club: &TestClub) -> Vec<String> {
    club.find("SELECT number FROM pack ORDER BY number_key")
        .await
}

on_both! {
    async fn a_file_sent_with_a_refused_first_step_is_sent_again_with_the_form(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let refused = quinn.upload(&start, "main form", &[], ("sheet", "our.csv", DESIGNS)).await;
        assert!(refused.is_refused());
        assert_eq!(refused.problems(), ["Choose what the sheet holds."]);
        assert_eq!(refused.one("#h-text"), "The text of our.csv, kept: it is sent again with this form, unless another file is chosen.");
        let again = quinn.submit(&refused, "main form", &[("holds", "designs")]).await;
        let columns = quinn.get(again.done()).await;
        assert!(columns.one(".what").starts_with("our.csv: 1 row "), "{}", columns.text);
        let check = follow(&quinn, quinn.submit(&columns, "main form", &[]).await).await;
        assert_eq!(check.one("main button.main"), "Bring in 1 new design");
    }

    async fn a_small_sheet_that_cannot_be_split_comes_back_to_be_mended_by_hand(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let refused = quinn.upload(&start, "main form", &[("holds", "designs")], ("sheet", "our.csv", b"Name\n\"Qu\"ick\n")).await;
        assert!(refused.problems()[0].starts_with("Line 2, column 1: More stands behind"), "{:?}", refused.problems());
        assert_eq!(refused.form("main form").1.iter().find(|(name, _)| name == "text").map(|(_, text)| text.trim_end()), Some("Name\n\"Qu\"ick"));
        let mended = quinn.submit(&refused, "main form", &[("text", "Name\nQuick")]).await;
        assert!(quinn.get(mended.done()).await.text.contains("Name: Quick"));
        let afresh = quinn.upload(&refused, "main form", &[("key", "another")], ("sheet", "mended.csv", b"Name\nSlow\n")).await;
        assert!(quinn.get(afresh.done()).await.text.contains("Name: Slow"), "a file chosen anew goes first");
    }

    async fn nearly_four_megabytes_come_back_whole_though_browsers_lengthen_their_line_ends(club: TestClub) {
        let quinn = club.quartermaster().await;
        let start = quinn.get("/bring-in").await;
        let row = format!("Quick,{}\n", "x".repeat(898));
        let text = "Name,Size\n".to_owned() + &row.repeat((4 * 1024 * 1024 - 10) / row.len());
        let refused = quinn.upload(&start, "main form", &[], ("sheet", "our.csv", text.as_bytes())).await;
        let as_browsers_do = text.replace('\n', "\r\n");
        let fields = [("holds", "designs"), ("name", "our.csv"), ("text", as_browsers_do.as_str())];
        assert!(refused.is_refused());
        let again = quinn.upload(&refused, "main form", &fields, ("sheet", "", b"")).await;
        assert!(again.done().ends_with("/columns"));
        let kept = club.find("SELECT text FROM sheet").await;
        assert!(kept == [text], "the sheet as it was");
    }

    async fn a_sheet_that_was_carried_out_leads_to_what_came_of_it(club: TestClub) {
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "designs", DESIGNS).await;
        let id = id_of(&check);
        let done = carried_out(&quinn, &check).await;
        assert_eq!(done.path, format!("/bring-in/{id}/done"));
        for step in ["", "/columns", "/questions"] {
            let answer = quinn.get(&format!("/bring-in/{id}{step}")).await;
            assert_eq!((answer.status.as_u16(), answer.location.as_deref()), (303, Some(done.path.as_str())), "{step}");
        }
        let rosa = club.second_quartermaster().await;
        assert_eq!(rosa.get(&format!("/bring-in/{id}")).await.status, 404);
    }

    async fn sheets_carried_out_push_out_none_on_their_way_nor_they_them(club: TestClub) {
        let quinn = club.quartermaster().await;
        let first = sent(&quinn, "designs", DESIGNS).await;
        for name in 0..7 {
            club.later_by_minutes(1);
            let text = String::from_utf8_lossy(DESIGNS).replace("Quick", &format!("Quick {name}"));
            let check = sent(&quinn, "designs", text.as_bytes()).await;
            carried_out(&quinn, &check).await;
        }
        assert_eq!(quinn.get(&first.path).await.status, 200, "the first one is still on its way");
        assert_eq!(club.find("SELECT name FROM sheet WHERE done IS NULL").await.len(), 1);
        club.later_by_minutes(1);
        let last = sent(&quinn, "designs", DESIGNS).await;
        assert_eq!(club.find("SELECT name FROM sheet WHERE done IS NOT NULL").await.len(), 5);
        assert_eq!(quinn.get(&last.path).await.status, 200);
    }

    async fn who_sends_too_often_is_told_before_anything_of_the_file_is_read(club: TestClub) {
        let quinn = club.quartermaster().await;
        let is_read = Arc::new(AtomicBool::new(false));
        let body = || {
            let is_read = is_read.clone();
            let part = futures_util::stream::once(async move {
                is_read.store(true, Ordering::Relaxed);
                Ok::<_, std::io::Error>(Bytes::from_static(b"--part--\r\n"))
            });
            Body::from_stream(part)
        };
        let mut sent = 0;
        let refused = loop {
            is_read.store(false, Ordering::Relaxed);
            let answer = quinn.send_body("/bring-in", body()).await;
            sent += 1;
            if answer.status == 429 || sent > 200 {
                break answer;
            }
            assert!(is_read.load(Ordering::Relaxed), "{}: what may be sent is read", answer.status);
        };
        assert_eq!(refused.status, 429, "after {sent}");
        assert!(!is_read.load(Ordering::Relaxed), "nothing of it was read");
        let photo = quinn.send_body("/packs/P-001/photos", body()).await;
        assert_eq!(photo.status, 429);
        assert!(!is_read.load(Ordering::Relaxed), "nor of a photo");
        let nobody = club.visitor().send_body("/bring-in", body()).await;
        assert_eq!(nobody.status, 401);
        assert!(!is_read.load(Ordering::Relaxed), "nor from somebody who is not signed in");
    }

    async fn two_people_at_once_bring_in_the_same_numbers_once(club: TestClub) {
        club.new_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let text = b"Number,Design\n50,Mill 3S 2200\n51,Mill 3S 2200\n";
        let (hers, theirs) = (sent(&quinn, "packs", text).await, sent(&rosa, "packs", text).await);
        let (one, other) = tokio::join!(quinn.submit(&hers, "#f-sheet form", &[]), rosa.submit(&theirs, "#f-sheet form", &[]));
        let led = [one, other].map(|answer| answer.done().ends_with("/done"));
        assert_eq!(led.iter().filter(|is_done| **is_done).count(), 1, "one brings them in");
        assert_eq!(numbers(&club).await, ["P-001", "P-050", "P-051"]);
        let (late, check) = if led[0] { (&rosa, &theirs) } else { (&quinn, &hers) };
        let asked = follow(late, late.get(&check.path).await).await;
        assert_eq!(asked.texts("legend"), ["2 of the sheet's rows are on record already. What becomes of them?"]);
        assert_eq!(club.first_break().await, None);
    }

    async fn two_people_at_once_get_numbers_of_their_own_for_packs_without(club: TestClub) {
        club.new_packs(1).await;
        let (quinn, rosa) = (club.quartermaster().await, club.second_quartermaster().await);
        let text = b"Design,Maker\nMill 3S 2200,a\nMill 3S 2200,b\n";
        let (hers, theirs) = (sent(&quinn, "packs", text).await, sent(&rosa, "packs", text).await);
        let (one, other) = tokio::join!(quinn.submit(&hers, "#f-sheet form", &[]), rosa.submit(&theirs, "#f-sheet form", &[]));
        let mut told = Vec::new();
        for (person, answer) in [(&quinn, one), (&rosa, other)] {
            told.push(follow(person, answer).await.texts("[role=status] li").remove(0));
        }
        told.sort();
        assert_eq!(told, ["2 new packs: P-002 to P-003.", "2 new packs: P-004 to P-005."]);
        assert_eq!(numbers(&club).await, ["P-001", "P-002", "P-003", "P-004", "P-005"]);
        assert_eq!(club.first_break().await, None);
    }

    async fn five_thousand_packs_are_changed_within_a_minute(club: TestClub) {
        let count = share(5_000, 20_000);
        club.new_packs(count).await;
        let quinn = club.quartermaster().await;
        let mut text = "Number,Design,Notes,Bought\n".to_owned();
        for at in 1..=count {
            text += &format!("P-{at},,note of {at},2026-01-0{}\n", at % 9 + 1);
        }
        let began = std::time::Instant::now();
        let questions = sent(&quinn, "packs", text.as_bytes()).await;
        let check = follow(&quinn, quinn.submit(&questions, "main form", &[("existing", "change")]).await).await;
        assert_eq!(check.one("main button.main"), format!("Bring in {count} changes"));
        let done = carried_out(&quinn, &check).await;
        let took = began.elapsed();
        assert_eq!(done.texts("[role=status] li"), [format!("{count} rows changed details of what was on record.")]);
        assert_eq!(club.find("SELECT number FROM pack WHERE notes = '' OR acquired_on IS NULL").await.len(), 0);
        assert_eq!(club.find(&format!("SELECT notes FROM pack WHERE number_key = {count}")).await, [format!("note of {count}")]);
        assert_eq!(club.first_break().await, None);
        tell_rounds(&format!("{count} packs changed by a spreadsheet (full count 20,000) on {:?}: {} ms from file to done", club.backend, took.as_millis()));
        let most = std::time::Duration::from_secs(60) * u32::try_from(count / 5_000).expect("a few") * slowness();
        assert!(took < most, "{took:?} of {most:?}");
    }
}
