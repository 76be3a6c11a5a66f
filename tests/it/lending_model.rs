//! Random evenings against a plain model of lending kept in `pool`: after every step the same packs are with the same
//! people, in the same states, and what is refused is refused for the same reason. When they part, the evening is cut
//! down to the fewest steps that still part them and told with its seed.

use crate::pool::{Act, Pool, Seen, Volts, evening};
use crate::support::*;
use sandbucket::actions::By;
use sandbucket::actions::bring_back::{self, BringBackRefusal};
use sandbucket::actions::change_loan::{self, ChangeRefusal};
use sandbucket::actions::condition::{self, ConditionRefusal, Looked};
use sandbucket::actions::hand_out::{self, HandOut, HandOutFailed};
use sandbucket::actions::reading::{self, LogVoltsRefusal, Measured};
use sandbucket::actions::release::{self, ReleaseFailed};
use sandbucket::actions::take_back::{self, LookedAt, TakeBackRefusal, VoltsOf};
use sandbucket::actions::way_out::{self, Way, WayOutFailed};
use sandbucket::battery::volts;
use sandbucket::club::lending::Typed;
use sandbucket::club::reading::Rested;
use sandbucket::club::seen;
use sandbucket::store::packs::{self, PackView};
use sandbucket::store::{findings, lent};
use std::collections::BTreeSet;
use std::fmt::Debug;
use std::time::Duration;
use uuid::Uuid;

const SHARE: Duration = Duration::from_secs(20);
const FULL_COUNT: usize = 10_000;
const STEPS: usize = 30;

/// What must have happened in a thousand evenings, or the dice prove little: each act done, each refusal met.
const EVERYTHING: [&str; 44] = [
    "HandOut done",
    "HandOut OnLoan",
    "HandOut SetAside",
    "HandOut Quarantined",
    "HandOut NotKnown",
    "HandOut Retired",
    "HandOut Gone",
    "HandOut NoInduction",
    "HandOut NotYourself",
    "TakeBack done",
    "TakeBack NotOut",
    "TakeBack NotAQuartermaster",
    "BringBack done",
    "BringBack NotYours",
    "Extend done",
    "Extend NotOut",
    "Extend Past",
    "Extend TooFar",
    "Extend NotKnown",
    "PassOn done",
    "PassOn NotOut",
    "PassOn NoInduction",
    "PassOn SetAside",
    "Lose done",
    "Lose NotOut",
    "Find done",
    "Find NotLost",
    "Retire done",
    "Retire OnLoan",
    "Report done",
    "LogVolts done",
    "LogVolts Gone",
    "Mend done",
    "Mend NeedsReading",
    "Mend Quarantine",
    "Release done",
    "Release FinalDanger",
    "Release Reporter",
    "Release NoReadingSince",
    "Release OutsideLimits",
    "Reopen done",
    "Reopen TooLate",
    "Reopen NotTakenBack",
    "Later done",
];

/// The club a run plays in: who acts, and the packs of this one evening.
struct Evening<'a> {
    club: &'a TestClub,
    /// Two quartermasters, then three members: shown, shown, never shown.
    people: &'a [By],
    packs: Vec<Uuid>,
}

/// What came of an act, in a word: "done", or the refusals' names.
fn named<T, E: Debug>(outcome: Result<T, E>) -> String {
    match outcome {
        Ok(_) => "done".to_owned(),
        Err(refusal) => name_of(&refusal),
    }
}

/// The innermost variant's name: `Refused(LastHolder)` is `LastHolder`.
fn name_of(refusal: &impl Debug) -> String {
    let text = format!("{refusal:?}");
    assert!(!text.contains("Store("), "the store failed: {text}");
    let inner = text.rsplit('(').next().unwrap_or_default();
    let end = |c: char| !c.is_alphanumeric();
    inner.split(end).next().unwrap_or_default().to_owned()
}

fn measured(volts: Volts) -> Measured {
    let cells = match volts {
        Volts::Good => vec![3820, 3810, 3820],
        Volts::Watch => vec![3820, 3770, 3820],
        Volts::Wide => vec![3900, 3750, 3900],
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

    /// The line it is out on, else the last it was, else one of nothing.
    async fn line(&self, pack: usize) -> Uuid {
        let mut conn = self.club.app.db.read().await.expect("a connection");
        let latest = lent::latest_of_pack(&mut conn, self.packs[pack]).await;
        latest
            .expect("lines")
            .map_or_else(Uuid::nil, |line| line.id)
    }

    async fn act(&self, act: &Act) -> String {
        let db = &self.club.app.db;
        match *act {
            Act::HandOut {
                by,
                to,
                ref packs,
                with_reason,
            } => self.hand_out(by, to, packs, with_reason).await,
            Act::TakeBack {
                by,
                pack,
                seen,
                volts,
            } => self.take_back(by, pack, (seen, volts)).await,
            Act::BringBack { by, pack, seen } => {
                let line = self.line(pack).await;
                named::<_, BringBackRefusal>(
                    bring_back::bring_back(db, &self.by(by), line, &looked(seen)).await,
                )
            }
            Act::Extend { by, pack, days } => {
                let by = self.by(by);
                let mut conn = db.read().await.expect("a connection");
                let line = lent::latest_of_pack(&mut conn, self.packs[pack])
                    .await
                    .expect("lines");
                drop(conn);
                let loan = line.map_or_else(Uuid::nil, |line| line.loan_id);
                let due = by.zone.day_of(by.at).plus_days(days);
                named::<_, ChangeRefusal>(change_loan::extend(db, &by, loan, due).await)
            }
            Act::PassOn { by, pack, to } => {
                let to = self.people[to].actor.id;
                named(change_loan::pass_on(db, &self.by(by), self.line(pack).await, to).await)
            }
            Act::Lose { by, pack } => named(
                change_loan::lose(db, &self.by(by), self.line(pack).await, "in the river").await,
            ),
            Act::Find { by, pack } => self.way(by, pack, Way::Find).await,
            Act::Retire { by, pack } => self.way(by, pack, Way::Retire).await,
            Act::Report { by, pack, seen } => {
                let outcome =
                    condition::report_condition(db, &self.by(by), self.packs[pack], &looked(seen))
                        .await;
                named::<_, ConditionRefusal>(outcome)
            }
            Act::LogVolts { by, pack, volts } => {
                let outcome =
                    reading::log_volts(db, &self.by(by), self.packs[pack], &measured(volts), None)
                        .await;
                named::<_, LogVoltsRefusal>(outcome)
            }
            Act::Mend { by, pack } => self.mend(by, pack).await,
            Act::Release { by, pack } => named::<_, ReleaseFailed>(
                release::release(db, &self.by(by), self.packs[pack], "looked it over").await,
            ),
            Act::Reopen { by, pack } => named::<_, TakeBackRefusal>(
                take_back::reopen(db, &self.by(by), self.line(pack).await).await,
            ),
            Act::Later { hours } => {
                self.club.later_by_minutes(hours * 60);
                "done".to_owned()
            }
        }
    }

    async fn hand_out(&self, by: usize, to: usize, packs: &[usize], with_reason: bool) -> String {
        let mut items = Vec::new();
        for pack in packs {
            items.push(Typed::Number(self.view(*pack).await.number, 1));
        }
        let wanted = HandOut {
            borrower_id: self.people[to].actor.id,
            items,
            due: None,
            purpose: String::new(),
            override_reason: if with_reason {
                "it will be balanced tonight"
            } else {
                ""
            }
            .to_owned(),
            volts_now: Vec::new(),
        };
        match hand_out::hand_out(&self.club.app.db, &self.by(by), &wanted).await {
            Err(HandOutFailed::Refused { refusals, .. }) => {
                assert!(
                    refusals
                        .iter()
                        .all(|refusal| refusal.to_string().len() > 20),
                    "each is a sentence"
                );
                let mut names: Vec<String> = refusals.iter().map(name_of).collect();
                names.sort();
                names.join(" ")
            }
            other => named(other),
        }
    }

    async fn take_back(&self, by: usize, pack: usize, said: (Seen, Volts)) -> String {
        let (by, db) = (self.by(by), &self.club.app.db);
        let lent_id = self.line(pack).await;
        let seen = LookedAt {
            lent_id,
            looked: looked(said.0),
            kit_words: String::new(),
            counted: None,
        };
        match take_back::look(db, &by, &[seen]).await {
            Ok(wants_volts) if wants_volts.is_empty() => "done".to_owned(),
            Ok(_) => {
                let volts = VoltsOf {
                    lent_id,
                    measured: measured(said.1),
                    place_id: None,
                };
                named(take_back::take_back(db, &by, &[volts], "/take-back/done").await)
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

    async fn way(&self, by: usize, pack: usize, way: Way) -> String {
        let outcome = way_out::take_way(
            &self.club.app.db,
            &self.by(by),
            self.packs[pack],
            way,
            "so it is",
        )
        .await;
        named::<_, WayOutFailed>(outcome)
    }

    /// State and holder of each pack, in the model's words.
    async fn standings(&self) -> Vec<(String, Option<usize>)> {
        let mut all = Vec::new();
        for pack in 0..self.packs.len() {
            let view = self.view(pack).await;
            let state = view.state_at(self.club.now(), 90).code().to_owned();
            let holder = view.holder_id.map(|id| {
                let who = self.people.iter().position(|by| by.actor.id == id);
                who.expect("somebody of the club")
            });
            all.push((state, holder));
        }
        all
    }
}

/// Plays the acts on new packs; says where program and model part.
async fn play(
    club: &TestClub,
    people: &[By],
    acts: &[Act],
    met: &mut BTreeSet<String>,
) -> Result<(), String> {
    let packs = club.more_packs(3).await;
    let evening = Evening {
        club,
        people,
        packs,
    };
    let mut pool = Pool::new(3);
    for (step, act) in acts.iter().enumerate() {
        let hours = pool.hour();
        let expected = pool.act(act);
        let got = evening.act(act).await;
        met.insert(format!("{} {got}", act.name()));
        if got != expected {
            return Err(format!(
                "step {step}, hour {hours}, {act:?}: the program said {got:?}, the model {expected:?}"
            ));
        }
        let (stand, should) = (evening.standings().await, pool.standings());
        if stand != should {
            return Err(format!(
                "after step {step}, hour {hours}, {act:?}: {stand:?}, and in the model {should:?}"
            ));
        }
    }
    Ok(())
}

/// Leaves out one act after the other as long as program and model still part.
async fn shrink(club: &TestClub, people: &[By], mut acts: Vec<Act>) -> (Vec<Act>, String) {
    let mut told = String::new();
    let mut at = 0;
    while at < acts.len() {
        let mut fewer = acts.clone();
        fewer.remove(at);
        match play(club, people, &fewer, &mut BTreeSet::new()).await {
            Err(words) => (acts, told) = (fewer, words),
            Ok(()) => at += 1,
        }
    }
    (acts, told)
}

on_both! {
    async fn random_evenings_end_as_a_plain_model_of_lending_says(club: TestClub) {
        let mut people = Vec::new();
        for browser in [club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await, club.borrower("Ben").await, club.member("Cleo").await] {
            people.push(club.by(&browser).await);
        }
        club.new_packs(1).await;
        club.induct(&club.quartermaster().await).await;
        let seed = seed();
        let mut met = BTreeSet::new();
        let mut rounds = Rounds::new("evenings of lending against the model", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let mut dice = Dice(seed.wrapping_add(rounds.done() as u64));
            let acts = evening(&mut dice, STEPS);
            if let Err(words) = play(&club, &people, &acts, &mut met).await {
                let (acts, shrunk) = shrink(&club, &people, acts).await;
                panic!("SANDBUCKET_TEST_SEED={seed}, evening {}: {words}\nfewest steps: {acts:#?}\n{shrunk}", rounds.done());
            }
        }
        assert_eq!(club.first_break().await, None);
        let missing: Vec<&&str> = EVERYTHING.iter().filter(|what| !met.contains(**what)).collect();
        assert!(rounds.done() < 1000 || missing.is_empty(), "seed {seed}: never happened: {missing:?}");
        let met = EVERYTHING.len() - missing.len();
        rounds.tell_with(&format!("{met} of {} kinds of outcome met", EVERYTHING.len()));
    }
}
