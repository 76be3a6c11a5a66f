//! What the Millrace club owns: packs of an invented design, inductions. Put into the register by its own store and
//! actions, so that nothing stands there that the program would not have written.

use super::{Backend, Browser, TestClub};
use sandbucket::actions::By;
use sandbucket::actions::condition::{Looked, report_condition};
use sandbucket::actions::hand_out::{HandOut, hand_out};
use sandbucket::actions::reading::{Logged, Measured, log_volts};
use sandbucket::battery::volts::Volts;
use sandbucket::bench::chain::Adapter;
use sandbucket::bench::kit::Spec;
use sandbucket::club::calendar::Zone;
use sandbucket::club::lending::Typed;
use sandbucket::club::people::Actor;
use sandbucket::club::reading::Rested;
use sandbucket::club::seen::Seen;
use sandbucket::club::sheet::cells::DayOrder;
use sandbucket::club::sheet::{Choices, Holds};
use sandbucket::ids;
use sandbucket::store::designs::{self, Design};
use sandbucket::store::packs::{self, Details, NewPack};
use sandbucket::store::sheets::{self, Sheet};
use sandbucket::store::{club, log, people};
use uuid::Uuid;

impl TestClub {
    /// Who acts when `browser` sends a form now.
    pub async fn by(&self, browser: &Browser) -> By {
        let mut conn = self.app.db.read().await.expect("a connection");
        let person = people::by_id(&mut conn, browser.id())
            .await
            .expect("people");
        let club = club::read(&mut conn)
            .await
            .expect("the club")
            .expect("a club");
        By {
            token_id: None,
            actor: Actor {
                id: browser.id(),
                roles: person.expect("somebody").roles(),
            },
            at: self.now(),
            zone: Zone::named(&club.time_zone).expect("a zone"),
            club,
            key: None,
        }
    }

    /// So many new packs of one 3S design, nobody's volts logged yet.
    pub async fn new_packs(&self, count: usize) -> Vec<Uuid> {
        self.new_packs_of(count, |_| {}).await
    }

    /// The same of another design.
    pub async fn new_packs_of(&self, count: usize, differs: impl FnOnce(&mut Design)) -> Vec<Uuid> {
        let by = self.quartermaster().await.id();
        let mut design = Design {
            id: ids::new_id(),
            name: "Mill 3S 2200".to_owned(),
            chemistry: "lipo".to_owned(),
            cells_series: 3,
            groups_parallel: 1,
            capacity_mah: 2200,
            label_discharge_c_tenths: Some(300),
            label_charge_c_tenths: Some(10),
            label_full_mv: None,
            label_lowest_mv: None,
            connector: "xt60".to_owned(),
            balance_connector: Some("jst-xh".to_owned()),
            mass_g: Some(180),
            size_mm: "105 x 34 x 24".to_owned(),
            created_ms: self.now(),
        };
        differs(&mut design);
        let mut tx = self.app.db.write().await.expect("the turn to write");
        designs::add(&mut tx, &design).await.expect("a design");
        tx.save().await.expect("saved");
        self.packs_of(design.id, by, count).await
    }

    /// So many more of the same design as those that are there.
    pub async fn more_packs(&self, count: usize) -> Vec<Uuid> {
        let by = self.quartermaster().await.id();
        let design = self.ids("design").await[0];
        self.packs_of(design, by, count).await
    }

    async fn packs_of(&self, design_id: Uuid, by: Uuid, count: usize) -> Vec<Uuid> {
        let mut tx = self.app.db.write().await.expect("the turn to write");
        let last = packs::last_number_key(&mut tx).await.expect("a number");
        let mut added = Vec::new();
        for key in (last + 1..).take(count) {
            let pack = NewPack {
                id: ids::new_id(),
                number: format!("P-{key:03}"),
                number_key: key,
                design_id,
                details: &plain_details(),
                state_words: "Its volts were never logged.",
                state_next: "Log its volts.",
                at: self.now(),
                by,
            };
            packs::add(&mut tx, &pack).await.expect("a pack");
            added.push(pack.id);
        }
        tx.save().await.expect("saved");
        added
    }

    pub async fn one_pack(&self) -> Uuid {
        self.new_packs(1).await[0]
    }

    /// So many packs whose cells were read an hour after use, well inside every limit.
    pub async fn fit_packs(&self, count: usize) -> Vec<Uuid> {
        let packs = self.new_packs(count).await;
        let by = self.by(&self.quartermaster().await).await;
        for pack in &packs {
            let measured = Measured::Read {
                volts: Volts::Cells(vec![3820, 3810, 3820]),
                rested: Rested::Minutes(60),
                is_confirmed: false,
            };
            let logged = log_volts(&self.app.db, &by, *pack, Logged::volts(&measured, true)).await;
            assert!(logged.expect("volts").starts_with("/packs/"));
        }
        packs
    }

    /// Somebody was shown safe charging and handling last week, for good.
    pub async fn induct(&self, browser: &Browser) {
        let by = self.quartermaster().await.id();
        let sql = format!(
            "INSERT INTO induction (id, person_id, shown_by, shown_on, ends_on, noted_ms) VALUES ({}, {}, {}, '2026-11-18', NULL, {})",
            self.literal(ids::new_id()),
            self.literal(browser.id()),
            self.literal(by),
            self.now().ms()
        );
        self.behind_the_back(&sql).await.expect("an induction");
    }

    /// Every pack in quarantine has lain there long enough, and somebody looked just now and saw nothing.
    pub async fn watches_are_over(&self) {
        let (now, hour) = (self.now().ms(), 3_600_000);
        for watch in self.ids("watch WHERE ended_ms IS NULL").await {
            let (look, watch) = (self.literal(ids::new_id()), self.literal(watch));
            for sql in [
                format!(
                    "UPDATE watch SET began_ms = {now} - 26 * {hour}, next_ms = NULL WHERE id = {watch}"
                ),
                format!(
                    "INSERT INTO watch_look (id, watch_id, at_ms, by_id, signs) \
                     SELECT {look}, {watch}, {now}, id, '' FROM person ORDER BY id LIMIT 1"
                ),
            ] {
                self.behind_the_back(&sql).await.expect("a quiet watch");
            }
        }
    }

    /// So many adapters of one kind, under one number.
    pub async fn adapters(&self, number: &str, owned: i64) {
        self.found().await;
        let sheet = Spec::Adapter(Adapter {
            from: "xt60".to_owned(),
            to: "xt30".to_owned(),
            rated_ma: 15_000,
        });
        let sql = format!(
            "INSERT INTO kit (id, number, number_key, kind, name, maker, spec, owned_count, notes, life, created_ms) \
             VALUES ({}, '{number}', 1, 'adapter', 'XT60 to XT30', '', '{}', {owned}, '', 'in_use', 1)",
            self.literal(ids::new_id()),
            serde_json::to_string(&sheet).expect("a data sheet")
        );
        self.behind_the_back(&sql).await.expect("adapters");
    }

    /// So many entries more in the log, in one write.
    pub async fn log_entries(&self, count: u32) {
        let mut tx = self.app.db.write().await.expect("the turn to write");
        for number in 0..count {
            let entry = log::Entry {
                at: self.now(),
                by: None,
                by_token: None,
                verb: "counted",
                subject: "pack",
                subject_id: Uuid::nil(),
                before: "null".to_owned(),
                after: number.to_string(),
            };
            log::add(&mut tx, &entry).await.expect("an entry");
        }
        tx.save().await.expect("saved");
    }

    /// Where the log's chain breaks; None when it holds.
    pub async fn first_break(&self) -> Option<i64> {
        let mut conn = self.app.db.read().await.expect("a connection");
        log::first_break(&mut conn).await.expect("the log")
    }

    pub async fn lift_the_guards(&self) {
        let lift = match self.backend {
            Backend::Sqlite => include_str!("../../../migrations/guards/sqlite_lift.sql"),
            Backend::Postgres => include_str!("../../../migrations/guards/postgres_lift.sql"),
        };
        for sql in lift.lines().filter(|line| line.starts_with("DROP")) {
            self.behind_the_back(sql).await.expect("lifted");
        }
    }

    /// Tampers as the owner of the database could: with the guards taken off.
    pub async fn tamper(&self, sql: &str) {
        self.lift_the_guards().await;
        let changed = self.behind_the_back(sql).await.expect("tampered with");
        assert!(changed > 0, "{sql} changed nothing");
    }

    /// A member who may borrow.
    pub async fn borrower(&self, name: &str) -> Browser {
        let browser = self.member(name).await;
        self.induct(&browser).await;
        browser
    }
}

fn plain_details() -> Details {
    Details {
        maker: "Millrace".to_owned(),
        batch: String::new(),
        supplier: String::new(),
        price: String::new(),
        acquired_on: Some("2026-03-01".to_owned()),
        first_used_on: None,
        place_id: None,
        notes: String::new(),
    }
}

impl TestClub {
    async fn lend(&self, by: &By, borrower_id: Uuid, out: &[Uuid]) {
        let mut items = Vec::new();
        for pack in out {
            let mut conn = self.app.db.read().await.expect("a connection");
            let view = packs::by_id(&mut conn, *pack).await.expect("packs");
            items.push(Typed::Number(view.expect("the pack").number, 1));
        }
        let wanted = HandOut {
            borrower_id,
            items,
            due: None,
            purpose: "practice".to_owned(),
            override_reason: String::new(),
            volts_now: Vec::new(),
            looked_at: Vec::new(),
        };
        let lent = hand_out(&self.app.db, by, &wanted).await;
        assert!(out.is_empty() || lent.is_ok(), "{lent:?}");
    }

    /// A club in the middle of its evening: `size` fit packs, a third of them out, places, people, inductions.
    pub async fn in_full_swing(&self, size: usize) {
        let packs = self.fit_packs(size).await;
        let quinn = self.quartermaster().await;
        for name in ["Charging table", "Sand box", "Van"] {
            let fields = [
                ("name", name),
                ("kind", "table"),
                ("room", "Hall"),
                ("limit", ""),
                ("notes", ""),
            ];
            quinn.post("/places/new", &fields).await.done();
        }
        let by = self.by(&quinn).await;
        for (number, out) in packs.chunks(6).enumerate() {
            let ada = self.borrower(&format!("Ada {number}")).await.id();
            self.lend(&by, ada, &out[..out.len() / 3]).await;
        }
        let torn = Looked {
            seen: vec![Seen::WrapTorn],
            ..Looked::default()
        };
        let last = packs.last().expect("a pack");
        report_condition(&self.app.db, &by, *last, &torn)
            .await
            .expect("reported");
        self.sheets_on_their_way().await;
        let avery = self.all_roles().await;
        self.charge_log_of(&avery, "P-001").await;
        self.charge_log_on_its_way(&avery, "P-002").await;
        self.incident_of(&avery, "P-001").await;
    }

    /// One that could have been grave, with an action, a correction and a document: where it is.
    pub async fn incident_of(&self, browser: &Browser, number: &str) -> String {
        let opened = [
            ("kind", "smoke"),
            ("harm", "nobody"),
            ("harm_could", "hospital"),
            ("damage_was", "itself_only"),
            ("damage_could", "building"),
            ("day", "2026-11-25"),
            ("time", "18:05"),
            ("place", "Hall"),
            ("items", number),
            ("doing", "in_use"),
            ("words", "It smoked."),
        ];
        let address = browser.post("/book/new", &opened).await.done().to_owned();
        let action = [
            ("what", "action_set"),
            ("action_what", "Tiles on the table"),
            ("owner", "Mo"),
            ("due", "2026-11-25"),
            ("works_if", "no wood is left"),
            ("look_on", "2026-12-10"),
        ];
        browser.post(&address, &action).await.done();
        let right = [
            ("what", "correct"),
            ("corrects", "1"),
            ("field", "place"),
            ("instead", "Hall, table 2"),
            ("why", "the photo shows it"),
        ];
        browser.post(&address, &right).await.done();
        let letter = ("file", "a.txt", &b"what the landlord wrote"[..]);
        let fields = [("what", "file"), ("words", "a letter")];
        browser
            .send_file(&format!("{address}/files"), &fields, letter)
            .await
            .done();
        address
    }

    /// A 3S pack's discharge at 2.2 A between two rests.
    fn charge_log() -> String {
        let rest = |from: u32, volts: f64| {
            let at = move |minute: u32| format!("{},{volts},0\n", (from + minute) * 60);
            (0..10).map(at).collect::<String>()
        };
        let load = |minute: u32| {
            let volts = 12.4 - f64::from(minute) * 0.055;
            format!("{},{volts:.3},-2.2\n", (10 + minute) * 60)
        };
        let load: String = (0..60).map(load).collect();
        let head = "Test Time / s,Voltage / V,Current / A\n";
        format!("{head}{}{load}{}", rest(0, 12.58), rest(70, 9.9))
    }

    /// Of another file each time. Where it is read back.
    pub async fn charge_log_on_its_way(&self, browser: &Browser, number: &str) -> String {
        let log = format!("# {number}, {}\n{}", ids::new_id(), Self::charge_log());
        let address = format!("/packs/{number}/charge-logs/new");
        let file = ("log", "bench.csv", log.as_bytes());
        browser
            .send_file(&address, &[], file)
            .await
            .done()
            .to_owned()
    }

    /// One that is stored: where it is.
    pub async fn charge_log_of(&self, browser: &Browser, number: &str) -> String {
        let address = self.charge_log_on_its_way(browser, number).await;
        browser.post(&address, &[]).await.done().to_owned()
    }

    /// A sheet of packs that `browser`'s person sent.
    pub async fn sheet_on_its_way(&self, browser: &Browser, text: &str, is_ready: bool) -> String {
        let columns = [
            "number",
            "design",
            "chemistry",
            "cells",
            "capacity",
            "connector",
            "balance",
            "acquired",
        ];
        let columns = columns.into_iter().map(str::to_owned).zip(0..);
        let choices = Choices {
            columns: columns.collect(),
            are_columns_chosen: true,
            days: is_ready.then_some(DayOrder::DayFirst),
            ..Choices::default()
        };
        let mut sheet = Sheet::new(ids::new_id(), browser.id(), Holds::Packs, self.now());
        "packs.csv".clone_into(&mut sheet.name);
        text.clone_into(&mut sheet.text);
        let mut tx = self.app.db.write().await.expect("the turn to write");
        sheets::add(&mut tx, &sheet, &choices)
            .await
            .expect("a sheet");
        tx.save().await.expect("saved");
        sheet.id.to_string()
    }
}
