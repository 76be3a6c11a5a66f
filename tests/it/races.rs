//! Many hands at once: whoever is first gets the pack, the others get a sentence, and nothing is ever lent twice.
//! A time share in every run, 10,000 rounds with `SANDBUCKET_LONG=1`.

use crate::support::*;
use futures_util::future::join_all;
use sandbucket::actions::errand::Errand;
use sandbucket::actions::hand_out::{HandOut, HandOutFailed, hand_out};
use sandbucket::actions::once::Repeat;
use sandbucket::actions::reading::Measured;
use sandbucket::actions::take_back::{VoltsOf, take_back};
use sandbucket::actions::{By, FormKey};
use sandbucket::battery::volts::Volts;
use sandbucket::club::lending::{HandOutRefusal, Typed};
use sandbucket::club::reading::Rested;
use sandbucket::store::{Db, packs};
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

const SHARE: Duration = Duration::from_secs(12);
const FULL_COUNT: usize = 10_000;

fn wants(borrower_id: Uuid, items: Vec<Typed>) -> HandOut {
    HandOut {
        borrower_id,
        items,
        due: None,
        purpose: "a race".to_owned(),
        override_reason: String::new(),
        volts_now: Vec::new(),
        looked_at: Vec::new(),
    }
}

/// All at once, each in a task of its own.
async fn all_ask(db: &Db, by: &By, wanted: Vec<HandOut>) -> Vec<Result<Uuid, HandOutFailed>> {
    let asked = wanted.into_iter().map(|wanted| {
        let (db, by) = (db.clone(), by.clone());
        tokio::spawn(async move { hand_out(&db, &by, &wanted).await })
    });
    let answers = join_all(asked).await;
    answers
        .into_iter()
        .map(|answer| answer.expect("no panic"))
        .collect()
}

/// All bring it back at once; one of them is believed, the others are told that it was back already.
async fn all_take_back(db: &Db, by: &By, lent_id: Uuid, times: usize) {
    let asked = (0..times).map(|_| {
        let (db, by) = (db.clone(), by.clone());
        tokio::spawn(async move {
            let volts = VoltsOf {
                lent_id,
                measured: Measured::Read {
                    volts: Volts::Cells(vec![3820, 3810, 3820]),
                    rested: Rested::Minutes(60),
                    is_confirmed: false,
                },
                place_id: None,
            };
            take_back(&db, &by, &[volts], &Errand::default()).await
        })
    });
    let answers = join_all(asked).await;
    let mut done = 0;
    for answer in answers {
        let taken = answer.expect("no panic").expect("a take-back");
        done += usize::from(!taken.was_back(lent_id));
    }
    assert_eq!(done, 1, "one take-back is believed");
}

fn is_told_it_is_out(answer: &HandOutFailed) -> bool {
    match answer {
        HandOutFailed::Refused { refusals, .. } => {
            matches!(refusals.as_slice(), [HandOutRefusal::OnLoan { .. }])
                && refusals[0].to_string().contains("is on loan")
        }
        _ => false,
    }
}

on_both! {
    async fn of_many_who_ask_for_one_pack_at_once_exactly_one_gets_it(club: TestClub) {
        let pack = club.fit_packs(1).await[0];
        let quinn = club.by(&club.quartermaster().await).await;
        let mut borrowers = Vec::new();
        for number in 0..64 {
            borrowers.push(club.borrower(&format!("Ada {number}")).await.id());
        }
        let mut dice = Dice::thrown();
        let mut rounds = Rounds::new("races for one pack", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let clients = 2 + dice.throw(63);
            let wanted = borrowers[..clients].iter().map(|id| wants(*id, vec![Typed::Packs(1, 1)])).collect();
            let answers = all_ask(&club.app.db, &quinn, wanted).await;
            let got: Vec<usize> = answers.iter().enumerate().filter(|(_, answer)| answer.is_ok()).map(|(at, _)| at).collect();
            assert_eq!(got.len(), 1, "{clients} asked, {got:?} got it");
            for answer in answers.iter().filter_map(|answer| answer.as_ref().err()) {
                assert!(is_told_it_is_out(answer), "{answer:?}");
            }
            let mut conn = club.app.db.read().await.expect("a connection");
            let view = packs::by_id(&mut conn, pack).await.expect("packs").expect("the pack");
            drop(conn);
            assert_eq!(view.holder_id, Some(borrowers[got[0]]));
            all_take_back(&club.app.db, &quinn, view.lent_id.expect("an open line"), 2 + dice.throw(6)).await;
        }
        let open = club.find("SELECT outcome FROM lent WHERE closed_ms IS NULL OR outcome <> 'back'").await;
        assert!(open.is_empty());
        assert_eq!(club.find("SELECT outcome FROM lent").await.len(), rounds.done());
        assert_eq!(club.first_break().await, None);
        rounds.tell();
    }

    async fn a_form_sent_many_times_at_once_has_one_effect(club: TestClub) {
        let pack = club.fit_packs(1).await[0];
        let quinn = club.by(&club.quartermaster().await).await;
        let ada = club.borrower("Ada").await.id();
        let mut dice = Dice::thrown();
        let mut rounds = Rounds::new("races of one form with itself", &club, SHARE / 3, FULL_COUNT);
        while rounds.go_on() {
            let key = format!("key {}", rounds.done());
            let by = By { key: Some(FormKey { key: key.clone(), body_hash: "this".to_owned() }), ..quinn.clone() };
            let wanted = (0..2 + dice.throw(63)).map(|_| wants(ada, vec![Typed::Packs(1, 1)])).collect();
            let answers = all_ask(&club.app.db, &by, wanted).await;
            let loans: Vec<Uuid> = answers.iter().filter_map(|answer| answer.as_ref().ok().copied()).collect();
            assert_eq!(loans.len(), 1);
            let same = format!("/loans/{}", loans[0]);
            for answer in answers.iter().filter_map(|answer| answer.as_ref().err()) {
                assert!(matches!(answer, HandOutFailed::Repeat(Repeat::Done(place)) if *place == same), "{answer:?}");
            }
            let other = By { key: Some(FormKey { key, body_hash: "that".to_owned() }), ..quinn.clone() };
            let refused = hand_out(&club.app.db, &other, &wants(ada, vec![Typed::Packs(1, 1)])).await;
            assert!(matches!(refused, Err(HandOutFailed::Repeat(Repeat::OtherBody))));
            let mut conn = club.app.db.read().await.expect("a connection");
            let view = packs::by_id(&mut conn, pack).await.expect("packs").expect("the pack");
            drop(conn);
            all_take_back(&club.app.db, &quinn, view.lent_id.expect("an open line"), 1).await;
        }
        assert_eq!(club.find("SELECT outcome FROM lent").await.len(), rounds.done());
        rounds.tell();
    }

    async fn never_are_more_adapters_out_than_the_club_owns(club: TestClub) {
        let owned = 9;
        club.adapters("A-001", owned).await;
        let quinn = club.by(&club.quartermaster().await).await;
        let ada = club.borrower("Ada").await.id();
        let mut dice = Dice::thrown();
        let mut rounds = Rounds::new("races for adapters", &club, SHARE / 3, FULL_COUNT);
        while rounds.go_on() {
            let counts: Vec<i64> = (0..2 + dice.throw(63)).map(|_| [1, 2, 3, 4, 10][dice.throw(5)]).collect();
            let wanted = counts.iter().map(|count| wants(ada, vec![Typed::Number("A-001".to_owned(), *count)])).collect();
            let answers = all_ask(&club.app.db, &quinn, wanted).await;
            let mut out = 0;
            for (answer, count) in answers.iter().zip(&counts) {
                match answer {
                    Ok(_) => out += count,
                    Err(HandOutFailed::Refused { refusals, .. }) => {
                        assert!(matches!(refusals.as_slice(), [HandOutRefusal::NotEnough { .. }]), "{refusals:?}");
                    }
                    Err(other) => panic!("{other:?}"),
                }
            }
            let smallest_refused = answers.iter().zip(&counts).filter(|(answer, _)| answer.is_err()).map(|(_, count)| *count).min();
            assert!(out <= owned, "{out} of {owned} are out");
            assert!(smallest_refused.is_none_or(|count| count > owned - out), "{counts:?}: {out} out, yet {smallest_refused:?} refused");
            let sum = club.find("SELECT CAST(COALESCE(SUM(counted), 0) AS TEXT) FROM lent WHERE closed_ms IS NULL").await;
            assert_eq!(sum, [out.to_string()]);
            club.behind_the_back("UPDATE lent SET closed_ms = 1, outcome = 'back' WHERE closed_ms IS NULL").await.expect("put back");
        }
        rounds.tell();
    }

    async fn of_many_browsers_that_ask_for_one_pack_at_once_one_gets_it_and_the_others_a_sentence(club: TestClub) {
        let pack = club.fit_packs(1).await[0];
        let quinn = club.by(&club.quartermaster().await).await;
        let ada = club.borrower("Ada").await.id().to_string();
        let mut browsers = Vec::new();
        for _ in 0..64 {
            browsers.push(Arc::new(club.quartermaster().await));
        }
        let mut dice = Dice::thrown();
        let mut rounds = Rounds::new("races of browsers for one pack", &club, SHARE / 3, FULL_COUNT / 10);
        while rounds.go_on() {
            let clients = 2 + dice.throw(63);
            let asked = browsers[..clients].iter().map(|browser| {
                let (browser, ada) = (browser.clone(), ada.clone());
                tokio::spawn(async move { browser.post("/hand-out", &[("person", &ada), ("items", "1")]).await })
            });
            let answers: Vec<Answer> = join_all(asked).await.into_iter().map(|answer| answer.expect("no panic")).collect();
            let got = answers.iter().filter(|answer| answer.status == 303).count();
            assert_eq!(got, 1, "{clients} asked");
            for answer in answers.iter().filter(|answer| answer.status != 303) {
                assert!(answer.is_refused(), "{}: {}", answer.status, answer.text);
                assert!(answer.one(".refused li").contains("P-001 is on loan to Ada"), "{}", answer.text);
                assert!(!answer.text.to_lowercase().contains("locked"), "{}", answer.text);
            }
            let mut conn = club.app.db.read().await.expect("a connection");
            let view = packs::by_id(&mut conn, pack).await.expect("packs").expect("the pack");
            drop(conn);
            all_take_back(&club.app.db, &quinn, view.lent_id.expect("an open line"), 1).await;
        }
        assert_eq!(club.find("SELECT outcome FROM lent").await.len(), rounds.done());
        rounds.tell();
    }
}
