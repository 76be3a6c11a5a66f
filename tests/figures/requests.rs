//! What one request costs, through the whole router without a port, and what its statements cost alone: the same
//! functions of the store, in the same order, on the same database, in the same run.

use crate::cpu::{middle, us_each};
use crate::seed;
use crate::support::{Browser, HOST, TestClub, urlencoded};
use axum::body::{Body, to_bytes};
use axum::http::{Method, Request, StatusCode, header};
use sandbucket::club::calendar::Instant;
use sandbucket::ids;
use sandbucket::store::pack_list::{self, Asked};
use sandbucket::store::{
    care, charges, choices, findings, gatherings, keys, labels, lent, loans, log, nights, packs,
    people, sessions, sightings,
};
use tower::ServiceExt;
use uuid::Uuid;

/// Long enough for the kernel's hundredths of a second.
const ROUNDS: usize = 5;
const PAGES: u32 = 2000;
const HAND_OUTS: u32 = 300;

pub struct Measured {
    pub what: &'static str,
    pub statements: u64,
    pub whole_us: f64,
    pub alone_us: f64,
}

/// A signed-in quartermaster, and a router that is put together once, as in the served program.
struct Asker {
    router: axum::Router,
    token: String,
}

impl Asker {
    async fn new(club: &TestClub) -> Self {
        let quinn: Browser = club.quartermaster().await;
        Self {
            router: club.app.router(),
            token: quinn.cookie("sandbucket").expect("a session"),
        }
    }

    async fn ask(&self, method: Method, path: &str, form: String) -> StatusCode {
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::COOKIE, format!("sandbucket={}", self.token))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(form))
            .expect("a request");
        let answer = self
            .router
            .clone()
            .oneshot(request)
            .await
            .expect("an answer");
        let status = answer.status();
        to_bytes(answer.into_body(), 16 << 20)
            .await
            .expect("a body");
        status
    }

    async fn get(&self, path: &str) {
        let status = self.ask(Method::GET, path, String::new()).await;
        assert_eq!(status, StatusCode::OK, "{path}");
    }
}

/// Whole and alone by turns, so that both see the same machine.
async fn beside<A: Future<Output = ()>, B: Future<Output = ()>>(
    club: &TestClub,
    what: &'static str,
    count: u32,
    work: (impl Fn(u32) -> A, impl Fn(u32) -> B),
) -> Measured {
    let (whole, alone) = work;
    let ((), statements) = club.queries_of(whole(0)).await;
    let ((), statements_alone) = club.queries_of(alone(1)).await;
    assert_eq!(
        statements, statements_alone,
        "{what}: not the same statements"
    );
    let (mut wholes, mut alones) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS as u32 {
        let first = 2 + round * 2 * count;
        wholes.push(us_each(count, |turn| whole(first + turn)).await);
        alones.push(us_each(count, |turn| alone(first + count + turn)).await);
    }
    Measured {
        what,
        statements,
        whole_us: middle(wholes),
        alone_us: middle(alones),
    }
}

/// Who asks, as the gate finds out.
async fn meet(conn: &mut sandbucket::store::Conn, token: &str, now: Instant) {
    let found = sessions::meet(conn, &ids::digest(token), now).await;
    assert!(found.expect("sessions").is_some());
}

pub async fn pack_page(club: &TestClub) -> Measured {
    let asker = Asker::new(club).await;
    let alone = async |_| {
        let mut conn = club.app.db.read().await.expect("a connection");
        meet(&mut conn, &asker.token, club.now()).await;
        let found = findings::with_pack(&mut conn, "P-050")
            .await
            .expect("packs");
        let pack = found.expect("the pack").care.pack;
        let told = log::of_subject(&mut conn, pack.id, i64::MAX, 51).await;
        assert!(!told.expect("the log").is_empty());
    };
    let whole = async |_| asker.get("/packs/P-050").await;
    let what = "pack page, CPU a request";
    beside(club, what, PAGES, (whole, alone)).await
}

/// Where a phone lands that scans the label of P-050.
pub const SCANNED: &str = "00000000000000000000000050";
pub const SCANNED_PATH: &str = "/t/00000000000000000000000050";

pub async fn scan_page(club: &TestClub) -> Measured {
    let asker = Asker::new(club).await;
    let alone = async |_| {
        let mut conn = club.app.db.read().await.expect("a connection");
        let (session, _) = sessions::meet(&mut conn, &ids::digest(&asker.token), club.now())
            .await
            .expect("sessions")
            .expect("somebody");
        let found = labels::pack_with(&mut conn, SCANNED).await;
        assert!(found.expect("labels").is_some());
        let open = gatherings::of_session(&mut conn, session.session_id, club.now()).await;
        assert!(open.expect("gatherings").is_none());
    };
    let whole = async |_| asker.get(SCANNED_PATH).await;
    let what = "scan page, CPU a request";
    beside(club, what, PAGES, (whole, alone)).await
}

pub async fn pack_list(club: &TestClub) -> Measured {
    let asker = Asker::new(club).await;
    let asked = Asked {
        old_before: club.now().plus_days(-90),
        ..Asked::default()
    };
    let alone = async |_| {
        let mut conn = club.app.db.read().await.expect("a connection");
        meet(&mut conn, &asker.token, club.now()).await;
        let found = pack_list::find(&mut conn, &asked).await.expect("packs");
        assert_eq!(found.len(), 51);
        choices::of_packs_page(&mut conn, true)
            .await
            .expect("choices");
    };
    let whole = async |_| asker.get("/packs").await;
    let what = "packs list of 500 packs, shown 50 at a time, CPU a request";
    beside(club, what, PAGES, (whole, alone)).await
}

/// Each pack goes out once; both ways take packs nobody took before.
pub async fn hand_outs(club: &TestClub) -> Measured {
    let asker = Asker::new(club).await;
    let borrower = club.borrower("Ada").await.id();
    let first = seed::more(club, 2 * HAND_OUTS * (ROUNDS as u32 + 1)).await;
    let whole = async |turn: u32| {
        let number = format!("{}", first + i64::from(turn));
        let form = urlencoded(&[
            ("key", &ids::new_id().to_string()),
            ("person", &borrower.to_string()),
            ("items", &number),
            ("purpose", "practice"),
        ]);
        let status = asker.ask(Method::POST, "/hand-out", form).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "pack {number}");
    };
    let alone = async |turn: u32| {
        let mut conn = club.app.db.read().await.expect("a connection");
        meet(&mut conn, &asker.token, club.now()).await;
        drop(conn);
        statements_of_a_hand_out(club, borrower, first + i64::from(turn)).await;
    };
    let what = "durable hand-out of one pack, CPU a request";
    beside(club, what, HAND_OUTS, (whole, alone)).await
}

/// What `actions::hand_out` asks of the store for one fit pack, one after the other, with nothing decided in between.
async fn statements_of_a_hand_out(club: &TestClub, borrower_id: Uuid, number: i64) {
    let (at, key) = (club.now(), ids::new_id().to_string());
    let mut tx = club.app.db.write().await.expect("the turn");
    assert!(keys::answered(&mut tx, &key).await.expect("keys").is_none());
    let today = sandbucket::club::calendar::Zone::utc().day_of(at);
    people::borrower(&mut tx, borrower_id, today)
        .await
        .expect("people");
    nights::open_now(&mut tx).await.expect("nights");
    let found = packs::in_range(&mut tx, (number, number), 200).await;
    let pack = found.expect("packs").remove(0);
    care::held_by(&mut tx, borrower_id).await.expect("care");
    care::among(&mut tx, &[pack.id]).await.expect("care");
    charges::held(&mut tx).await.expect("charges");
    findings::open(&mut tx, pack.id).await.expect("findings");
    nights::open_now(&mut tx).await.expect("nights");
    let loan = loans::Loan {
        id: ids::new_id(),
        borrower_id,
        borrower_name: None,
        handed_by: borrower_id,
        night_id: None,
        due_on: "2026-12-02".to_owned(),
        purpose: "practice".to_owned(),
        night_place: None,
        on_duty_name: None,
        opened_ms: at,
    };
    loans::open(&mut tx, &loan).await.expect("a loan");
    let line = lent::Lent {
        id: ids::new_id(),
        loan_id: loan.id,
        pack_id: Some(pack.id),
        kit_id: None,
        counted: None,
        opened_ms: at,
        override_words: None,
        closed_ms: None,
        closed_by: None,
        outcome: None,
        aside_count: 0,
        unchecked_count: 0,
    };
    let back = care::rounds::is_back_from_home(&mut tx, pack.id, at).await;
    back.expect("care");
    lent::open(&mut tx, &line).await.expect("lent");
    packs::by_id(&mut tx, pack.id).await.expect("packs");
    packs::by_id(&mut tx, pack.id).await.expect("packs");
    findings::open(&mut tx, pack.id).await.expect("findings");
    sightings::note(&mut tx, pack.id, at).await.expect("seen");
    packs::by_id(&mut tx, pack.id).await.expect("packs");
    let entry = log::Entry {
        at,
        by: Some(borrower_id),
        by_token: None,
        verb: "handed out",
        subject: "pack",
        subject_id: pack.id,
        before: seed::STANDING.to_owned(),
        after: seed::STANDING.to_owned(),
    };
    log::add(&mut tx, &entry).await.expect("the log");
    let given = keys::Answered {
        person_id: borrower_id,
        body_hash: ids::digest("a form"),
        answer: format!("/loans/{}", loan.id),
    };
    keys::keep(&mut tx, &key, &given, at)
        .await
        .expect("the key");
    tx.save().await.expect("saved");
}

/// CPU of the same page in two clubs, by turns.
pub async fn both(small: &TestClub, big: &TestClub, path: &str) -> (f64, f64) {
    let askers = [Asker::new(small).await, Asker::new(big).await];
    let mut costs = [Vec::new(), Vec::new()];
    for _ in 0..ROUNDS {
        for (asker, costs) in askers.iter().zip(&mut costs) {
            costs.push(us_each(PAGES, |_| asker.get(path)).await);
        }
    }
    let [small_us, big_us] = costs.map(middle);
    (small_us, big_us)
}

pub async fn once_each(small: &TestClub, big: &TestClub, path: &str) -> (f64, f64) {
    let (a, b) = (Asker::new(small).await, Asker::new(big).await);
    let small_us = us_each(400, |_| a.get(path)).await;
    (small_us, us_each(20, |_| b.get(path)).await)
}
