//! What the model's acts are in the program: the action behind each, and what came of it in a word.

mod kit;

use crate::pool::{Act, Seen, Volts, Way};
use crate::support::*;
use sandbucket::actions::By;
use sandbucket::actions::bring_back::Brought;
use sandbucket::actions::bring_back::{self, BringBackRefusal};
use sandbucket::actions::change_loan::{self, ChangeRefusal};
use sandbucket::actions::condition::{self, ConditionRefusal, Looked};
use sandbucket::actions::errand::Errand;
use sandbucket::actions::hand_out::{self, HandOut, HandOutFailed};
use sandbucket::actions::reading::Logged;
use sandbucket::actions::reading::{self, LogVoltsRefusal, Measured};
use sandbucket::actions::release::{self, ReleaseFailed};
use sandbucket::actions::take_back::{self, LookedAt, TakeBackRefusal, VoltsOf};
use sandbucket::actions::{membership, night, way_out};
use sandbucket::battery::volts;
use sandbucket::club::calendar::Day;
use sandbucket::club::lending::{self, Typed};
use sandbucket::club::reading::Rested;
use sandbucket::club::seen;
use sandbucket::store::loans::{self, Out};
use sandbucket::store::packs::{self, PackView};
use sandbucket::store::{findings, lent, nights};
use std::fmt::Debug;
use std::sync::Mutex;
use uuid::Uuid;

/// The club a run plays in: who acts, and the packs and kit of this one evening.
pub struct Evening<'a> {
    club: &'a TestClub,
    people: &'a [By],
    packs: Vec<Uuid>,
    /// The charger, the adapters.
    kit: [Uuid; 2],
    nights: Mutex<Vec<Uuid>>,
    pub began: i64,
}

/// The people of the model, in its order, in a club whose days end at midnight UTC.
pub async fn people_of(club: &TestClub) -> Vec<By> {
    let quinn = club.quartermaster().await;
    // What becomes of somebody who leaves packs uncared for has tests of its own.
    club.behind_the_back(r#"UPDATE club SET time_zone = 'UTC', care = '{"own_care":"off"}'"#)
        .await
        .expect("its zone");
    club.new_packs(1).await;
    let place = [("name", "Hall table"), ("kind", "table")];
    quinn.post("/places/new", &place).await.done();
    club.induct(&quinn).await;
    let mut people = Vec::new();
    for browser in [
        quinn,
        club.second_quartermaster().await,
        club.borrower("Ada").await,
        club.borrower("Ben").await,
        club.member("Cleo").await,
    ] {
        people.push(club.by(&browser).await);
    }
    people
}

/// What came of an act, in a word: "done", or the refusals' names.
fn named<T, E: Debug>(outcome: Result<T, E>) -> String {
    match outcome {
        Ok(_) => "done".to_owned(),
        Err(refusal) => name_of(&refusal),
    }
}

/// The same for a loan that is changed; of several refusals all names, in the order of their letters.
fn named_change<T>(outcome: Result<T, ChangeRefusal>) -> String {
    match outcome {
        Err(ChangeRefusal::Lending { refusals, .. }) => {
            let mut names: Vec<String> = refusals.iter().map(name_of).collect();
            names.sort_unstable();
            names.join(" ")
        }
        other => named(other),
    }
}

/// The innermost variant's name: `Refused(LastHolder)` is `LastHolder`.
fn name_of(refusal: &impl Debug) -> String {
    let text = format!("{refusal:?}");
    assert!(!text.contains("Store("), "the store failed: {text}");
    let is_name = |part: &&str| part.starts_with(char::is_alphabetic);
    let inner = text.split('(').rfind(is_name);
    let end = |c: char| !c.is_alphanumeric();
    inner
        .and_then(|name| name.split(end).next())
        .unwrap_or_default()
        .to_owned()
}

/// All cells of a pack move from one of these to another: a cell that falls alone while it lies has tests of its own.
fn measured(volts: Volts) -> Measured {
    let cells = match volts {
        Volts::Good => vec![3840, 3830, 3840],
        Volts::Watch => vec![3810, 3760, 3810],
        Volts::Wide => vec![3870, 3720, 3870],
        Volts::Dangerous => vec![2800, 2800, 2800],
        Volts::Unread => {
            return Measured::Unread {
                why: "no meter".to_owned(),
            };
        }
    };
    Measured::Read {
        volts: volts::Volts::Cells(cells),
        rested: Rested::Minutes(60),
        is_confirmed: false,
    }
}

fn looked(what: Seen) -> Looked {
    let seen = match what {
        Seen::Nothing => seen::Seen::Nothing,
        Seen::WrapTorn => seen::Seen::WrapTorn,
        Seen::Wet => seen::Seen::Wet,
        Seen::Swollen => seen::Seen::Swollen,
    };
    Looked {
        seen: vec![seen],
        ..Looked::default()
    }
}

impl<'a> Evening<'a> {
    /// New packs and kit; what earlier evenings left open is closed. After a hundred years of evenings the calendar starts
    /// again: a day is taken for a slip from 2200 on.
    pub async fn begin(club: &'a TestClub, people: &'a [By]) -> Self {
        if club.now() > NIGHT.plus_days(36_500) {
            club.clock.set(NIGHT);
        }
        for sql in [
            "UPDATE lent SET closed_ms = 1, outcome = 'back' WHERE closed_ms IS NULL",
            "UPDATE night SET closed_ms = 1 WHERE closed_ms IS NULL",
            "UPDATE person SET deactivated_ms = NULL",
        ] {
            club.behind_the_back(sql).await.expect("tidied up");
        }
        let by = By {
            at: club.now(),
            ..people[0].clone()
        };
        Self {
            club,
            people,
            packs: club.more_packs(3).await,
            kit: kit::bought(club, &by).await,
            nights: Mutex::default(),
            began: (club.now().ms() - NIGHT.ms()) / 3_600_000,
        }
    }
}

fn brought(seen: Seen) -> Brought<'static> {
    Brought {
        looked: looked(seen),
        kit_words: "",
        counted: None,
    }
}

impl Evening<'_> {
    fn by(&self, person: usize) -> By {
        By {
            at: self.club.now(),
            ..self.people[person].clone()
        }
    }

    async fn view(&self, pack: usize) -> PackView {
        let mut conn = self.club.app.db.read().await.expect("a connection");
        let view = packs::by_id(&mut conn, self.packs[pack]).await;
        view.expect("packs").expect("the pack")
    }

    /// The line that was made last for a thing (`back` 0) or the one before; if there is none, one of nothing.
    async fn line_of(&self, column: &str, thing: Uuid, back: usize) -> Uuid {
        let those = format!("lent WHERE {column} = {}", self.club.literal(thing));
        let made = self.club.ids(&those).await;
        made.into_iter().rev().nth(back).unwrap_or_default()
    }

    /// The line it is out on, else the last it was.
    async fn line(&self, pack: usize) -> Uuid {
        self.line_of("pack_id", self.packs[pack], 0).await
    }

    pub async fn act(&self, act: &Act) -> String {
        let db = &self.club.app.db;
        match *act {
            Act::HandOut { .. } => self.hand_out(act).await,
            Act::TakeBack {
                by,
                pack,
                seen,
                volts,
            } => self.take_back(by, pack, (seen, volts)).await,
            Act::BringBack { by, pack, seen } => {
                // How long it is watched is not the model's.
                self.club.watches_are_over().await;
                let line = self.line(pack).await;
                named::<_, BringBackRefusal>(
                    bring_back::bring_back(db, &self.by(by), line, &brought(seen)).await,
                )
            }
            Act::Extend { by, pack, days } => {
                let by = self.by(by);
                let id = self.line(pack).await;
                let mut conn = db.read().await.expect("a connection");
                let line = lent::by_id(&mut conn, id).await.expect("lines");
                drop(conn);
                let loan = line.map_or_else(Uuid::nil, |line| line.loan_id);
                let due = by.zone.day_of(by.at).plus_days(days);
                named_change(change_loan::extend(db, &by, loan, (due, "")).await)
            }
            Act::PassOn { by, pack, to } => {
                let to = self.people[to].actor.id;
                named_change(
                    change_loan::pass_on(db, &self.by(by), self.line(pack).await, (to, "")).await,
                )
            }
            Act::Lose { by, pack } => named(
                change_loan::lose(db, &self.by(by), self.line(pack).await, "in the river").await,
            ),
            Act::Leave { by, pack, way } => self.leave(by, pack, way).await,
            Act::Report { by, pack, seen } => {
                let outcome =
                    condition::report_condition(db, &self.by(by), self.packs[pack], &looked(seen))
                        .await;
                named::<_, ConditionRefusal>(outcome)
            }
            Act::LogVolts { by, pack, volts } => {
                let measured = measured(volts);
                let volts = Logged::volts(&measured, true);
                let outcome = reading::log_volts(db, &self.by(by), self.packs[pack], volts).await;
                named::<_, LogVoltsRefusal>(outcome)
            }
            Act::Mend { by, pack } => self.mend(by, pack).await,
            Act::Release { by, pack } => {
                // How long it is watched is not the model's.
                self.club.watches_are_over().await;
                let reason = "looked it over";
                let done = release::release(db, &self.by(by), self.packs[pack], reason).await;
                named::<_, ReleaseFailed>(done)
            }
            Act::Reopen { by, pack } => named::<_, TakeBackRefusal>(
                take_back::reopen(db, &self.by(by), self.line(pack).await).await,
            ),
            Act::Later { hours } => {
                self.club.later_by_minutes(hours * 60);
                "done".to_owned()
            }
            Act::OpenNight { by, days } => self.open_night(by, days).await,
            Act::CloseNight { by } => named(night::close(db, &self.by(by)).await),
            Act::Deactivate { by, who } => {
                named(membership::deactivate(db, &self.by(by), self.people[who].actor.id).await)
            }
            Act::Reactivate { by, who } => {
                named(membership::reactivate(db, &self.by(by), self.people[who].actor.id).await)
            }
            _ => self.act_with_kit(act).await,
        }
    }

    async fn hand_out(&self, act: &Act) -> String {
        let Act::HandOut {
            by,
            to,
            ref packs,
            charger,
            adapters,
            with_reason,
        } = *act
        else {
            return String::new();
        };
        let mut items = Vec::new();
        for pack in packs {
            items.push(Typed::Number(self.view(*pack).await.number, 1));
        }
        items.extend(self.kit_typed(charger, adapters).await);
        let reason = if with_reason {
            "it will be balanced tonight"
        } else {
            ""
        };
        let wanted = HandOut {
            borrower_id: self.people[to].actor.id,
            items,
            due: None,
            purpose: String::new(),
            override_reason: reason.to_owned(),
            volts_now: Vec::new(),
            looked_at: Vec::new(),
        };
        match hand_out::hand_out(&self.club.app.db, &self.by(by), &wanted).await {
            Err(HandOutFailed::Refused { refusals, .. }) => {
                let is_sentence =
                    |refusal: &lending::HandOutRefusal| refusal.to_string().len() > 20;
                assert!(refusals.iter().all(is_sentence), "each is a sentence");
                let mut names: Vec<String> = refusals.iter().map(name_of).collect();
                names.sort();
                names.join(" ")
            }
            other => named(other),
        }
    }

    async fn open_night(&self, by: usize, days: i64) -> String {
        let by = self.by(by);
        let new = night::NewNight {
            place_id: self.club.ids("place").await[0],
            on_duty_id: by.actor.id,
            ends_on: by.zone.day_of(by.at).plus_days(days),
            ends_at: "21:30".to_owned(),
        };
        let opened = night::open(&self.club.app.db, &by, &new).await;
        if opened.is_ok() {
            let mut conn = self.club.app.db.read().await.expect("a connection");
            let night = nights::open_now(&mut conn).await.expect("nights");
            let mut known = self.nights.lock().expect("nights");
            known.push(night.expect("the open one").id);
        }
        named(opened)
    }

    async fn take_back(&self, by: usize, pack: usize, said: (Seen, Volts)) -> String {
        let (by, db) = (self.by(by), &self.club.app.db);
        let lent_id = self.line(pack).await;
        let seen = LookedAt {
            is_here: true,
            lent_id,
            looked: looked(said.0),
            kit_words: String::new(),
            to_mend: None,
            counted: None,
        };
        match take_back::look(db, &by, &[seen], &Errand::default()).await {
            Ok(errand) if errand.was_back(lent_id) => "NotOut".to_owned(),
            Ok(errand) if errand.volts.is_empty() => "done".to_owned(),
            Ok(_) => {
                let volts = VoltsOf {
                    lent_id,
                    measured: measured(said.1),
                    place_id: None,
                };
                named(take_back::take_back(db, &by, &[volts], &Errand::default()).await)
            }
            Err(refusal) => name_of(&refusal),
        }
    }

    /// The gravest thing that is open.
    async fn mend(&self, by: usize, pack: usize) -> String {
        let db = &self.club.app.db;
        let mut conn = db.read().await.expect("a connection");
        let open = findings::open(&mut conn, self.packs[pack])
            .await
            .expect("findings");
        drop(conn);
        let gravest = open
            .iter()
            .max_by_key(|found| (found.gravity(), found.rule.clone()));
        let id = gravest.map_or_else(Uuid::nil, |found| found.id);
        named(condition::mend(db, &self.by(by), id, self.packs[pack], "taped").await)
    }

    async fn leave(&self, by: usize, pack: usize, way: Way) -> String {
        let way = match way {
            Way::Retire => way_out::Way::Retire,
            Way::GiveAway => way_out::Way::GiveAway,
            Way::Withdraw => way_out::Way::Withdraw,
            Way::Lose => way_out::Way::Lose,
            Way::Find => way_out::Way::Find,
        };
        let (db, id) = (&self.club.app.db, self.packs[pack]);
        named(way_out::take_way(db, &self.by(by), id, way, "so it is").await)
    }

    /// State and holders of each pack and piece of kit, as the model tells them.
    pub async fn standings(&self) -> Vec<String> {
        let mut conn = self.club.app.db.read().await.expect("a connection");
        let all = loans::all_out(&mut conn).await.expect("what is out");
        let mut out = Vec::new();
        for one in all {
            let loan = loans::by_id(&mut conn, one.loan_id).await.expect("loans");
            let night = loan.expect("the loan").night_id;
            out.push((self.terms(&one, night), one));
        }
        drop(conn);
        let mut told = Vec::new();
        for (pack, id) in self.packs.iter().enumerate() {
            let view = self.view(pack).await;
            let state = view.state_at(self.club.now(), 90).code();
            let line = out.iter().find(|(_, one)| one.pack_id == Some(*id));
            told.push(format!("{state} {}", line.map_or("", |(terms, _)| terms)));
        }
        for id in self.kit {
            told.push(self.kit_told(id, &out).await);
        }
        told
    }

    fn terms(&self, out: &Out, night: Option<Uuid>) -> String {
        let is_holder = |by: &By| by.actor.id == out.borrower_id;
        let holder = self
            .people
            .iter()
            .position(is_holder)
            .expect("somebody of the club");
        let first = self.people[0].zone.day_of(NIGHT);
        let due = first.days_until(Day::parse(&out.due_on).expect("a day"));
        let nights = self.nights.lock().expect("nights");
        let night = night.map_or(0, |id| {
            1 + nights
                .iter()
                .position(|known| *known == id)
                .expect("a night of this evening")
        });
        format!("with {holder} until {due}, night {night}")
    }
}
