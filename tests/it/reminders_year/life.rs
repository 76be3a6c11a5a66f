//! A club's year, thrown by dice and lived through the program's own actions, and a diary of what happened: all that the oracle is told.

use crate::support::*;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use sandbucket::actions::By;
use sandbucket::actions::change_loan::extend;
use sandbucket::actions::errand::Errand;
use sandbucket::actions::events::{self, Wanted};
use sandbucket::actions::hand_out::{HandOut, hand_out};
use sandbucket::actions::reading::{Logged, Measured, log_volts};
use sandbucket::actions::take_back::{VoltsOf, take_back};
use sandbucket::battery::volts::Volts;
use sandbucket::club::calendar::{Day, Instant};
use sandbucket::club::events::EventSheet;
use sandbucket::club::lending::Typed;
use sandbucket::club::people::Roles;
use sandbucket::club::reading::Rested;
use sandbucket::ids;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Read(i64),
    /// Lent, or taken to an event.
    Out,
    Back,
    /// The event that it was taken to is over.
    Over,
}

pub struct Pack {
    pub number: String,
    pub id: Uuid,
    pub added: i64,
    pub happened: Vec<(i64, What)>,
}

pub struct Somebody {
    pub name: String,
    pub id: Uuid,
    pub is_member: bool,
    pub is_quartermaster: bool,
    pub is_organiser: bool,
    pub answers: Option<usize>,
    pub induction_ends: Option<Date>,
    /// Brings back late, and puts nothing to storage by themselves.
    pub is_forgetful: bool,
    /// Wants no mail that may be silenced.
    pub is_silent: bool,
}

impl Somebody {
    pub const fn is_told(&self) -> bool {
        self.is_member || self.is_quartermaster || self.is_organiser
    }
}

pub struct Event {
    pub starts: i64,
    pub ends: i64,
    pub packs: Vec<usize>,
}

pub struct Line {
    pub pack: usize,
    pub lent_id: Uuid,
    pub opened: i64,
    pub closed: Option<i64>,
}

pub struct Loan {
    pub id: Uuid,
    pub by: usize,
    /// Since when it is due on which day.
    pub due: Vec<(i64, Date)>,
    pub lines: Vec<Line>,
    /// When it is brought back, as the dice have it.
    comes: i64,
}

pub struct Report {
    pub id: Uuid,
    pub came: i64,
    pub read: Option<i64>,
}

#[derive(Default)]
pub struct Diary {
    pub people: Vec<Somebody>,
    pub packs: Vec<Pack>,
    pub events: Vec<Event>,
    pub loans: Vec<Loan>,
    /// Place, of what, day.
    pub checks: Vec<(Uuid, String, Date)>,
    pub reports: Vec<Report>,
    /// When the program decided a day.
    pub decided: Vec<i64>,
}

const FULL: i64 = 4_180;
const STORED: i64 = 3_820;
const LOW: i64 = 3_350;
const HOUR_MS: i64 = 3_600_000;
const DAY_MS: i64 = 24 * HOUR_MS;

pub struct Life<'a> {
    club: &'a TestClub,
    dice: &'a mut Dice,
    by: By,
    hall: TimeZone,
    pub diary: Diary,
    /// Refused by a rule of lending, which is not ours to judge.
    pub refused: usize,
}

/// Name, roles (member, quartermaster, organiser), who answers, forgetful, silent.
type Cast = (&'static str, [bool; 3], Option<usize>, bool, bool);

const PEOPLE: [Cast; 15] = [
    ("Quinn", [false, true, false], None, false, false),
    ("Rosa", [true, true, false], None, false, true),
    ("Olive", [false, false, true], None, false, false),
    ("Ada", [true, false, false], None, true, false),
    ("Ben", [true, false, false], None, false, false),
    ("Cleo", [true, false, false], None, true, true),
    ("Dan", [true, false, false], None, false, false),
    ("Edda", [true, false, false], None, false, true),
    ("Finn", [true, false, false], None, true, false),
    ("Gus", [true, false, false], None, false, false),
    ("Hana", [true, false, false], None, false, false),
    ("Ivo", [true, false, false], None, true, false),
    ("Jun", [false, false, false], Some(3), true, false),
    ("Kai", [false, false, false], Some(4), false, false),
    ("Lea", [false, false, false], Some(0), false, false),
];

impl<'a> Life<'a> {
    /// 60 packs, 15 people, two checks at a place; all on the first of March 2027, a Monday, at noon.
    pub async fn begin(club: &'a TestClub, dice: &'a mut Dice) -> Self {
        let hall = TimeZone::get("Europe/London").expect("the hall's zone");
        club.clock.set(Instant(1_803_902_400_000));
        let packs = club.new_packs(60).await;
        let quinn = club.quartermaster().await;
        let by = club.by(&quinn).await;
        let mut life = Self {
            club,
            dice,
            by,
            hall,
            diary: Diary::default(),
            refused: 0,
        };
        life.enrol().await;
        for (number, id) in (1..).zip(packs) {
            life.diary.packs.push(Pack {
                number: format!("P-{number:03}"),
                id,
                added: life.now(),
                happened: Vec::new(),
            });
        }
        life.checks().await;
        life
    }

    fn now(&self) -> i64 {
        self.club.now().ms()
    }

    fn today(&self) -> Date {
        self.date(self.now())
    }

    fn date(&self, ms: i64) -> Date {
        let at = jiff::Timestamp::from_millisecond(ms).expect("an instant");
        at.to_zoned_datetime(self.hall.clone()).date()
    }

    fn at(&self, day: Date, hour: i8, minute: i8) -> i64 {
        let zoned = day
            .at(hour, minute, 0, 0)
            .to_zoned_datetime(self.hall.clone());
        zoned.expect("a time").timestamp().as_millisecond()
    }

    fn plus(&self, day: Date, days: usize) -> Date {
        let span = jiff::Span::new().days(i64::try_from(days).expect("days"));
        day.checked_add(span).expect("a day")
    }

    fn by_now(&self) -> By {
        By {
            at: self.club.now(),
            ..self.by.clone()
        }
    }

    /// A minute of its own for each thing that happens.
    fn next_minute(&self) {
        self.club.later_by_minutes(1);
    }

    async fn enrol(&mut self) {
        for (name, [is_member, is_quartermaster, is_organiser], answers, is_forgetful, is_silent) in
            PEOPLE
        {
            let roles = Roles {
                is_member,
                is_quartermaster,
                is_organiser,
            };
            let browser = self.club.person(name, roles).await;
            self.club.induct(&browser).await;
            let (is_running_out, after) = (self.dice.throw(3) == 0, 20 + self.dice.throw(300));
            let induction_ends = is_running_out.then(|| self.plus(self.today(), after));
            let id = self.club.literal(browser.id());
            if let Some(ends) = induction_ends {
                self.sql(&format!(
                    "UPDATE induction SET ends_on = '{ends}' WHERE person_id = {id}"
                ))
                .await;
            }
            if let Some(answers) = answers {
                let answers = self.club.literal(self.diary.people[answers].id);
                self.sql(&format!(
                    "UPDATE person SET responsible_id = {answers} WHERE id = {id}"
                ))
                .await;
            }
            if is_silent {
                self.silence(&id).await;
            }
            self.diary.people.push(Somebody {
                name: name.to_owned(),
                id: browser.id(),
                is_member,
                is_quartermaster,
                is_organiser,
                answers,
                induction_ends,
                is_forgetful,
                is_silent,
            });
        }
    }

    async fn silence(&self, id: &str) {
        for kind in [
            "storage_overdue",
            "low",
            "loan_overdue",
            "recheck",
            "loan_due_soon",
            "induction",
            "check",
            "report",
            "summary",
        ] {
            self.sql(&format!(
                "INSERT INTO reminder_choice (person_id, kind, by_mail, by_push, in_calendar) VALUES ({id}, '{kind}', FALSE, FALSE, FALSE)"
            ))
            .await;
        }
    }

    async fn sql(&self, sql: &str) {
        self.club.behind_the_back(sql).await.expect("written");
    }

    async fn checks(&mut self) {
        let place = ids::new_id();
        let days = [self.plus(self.today(), 30), self.plus(self.today(), 200)];
        self.sql(&format!(
            "INSERT INTO place (id, name, kind, room, notes, created_ms, extinguisher_check_due, detector_check_due) \
             VALUES ({}, 'Hall', 'table', 'Hall', '', 1, '{}', '{}')",
            self.club.literal(place),
            days[0],
            days[1]
        ))
        .await;
        for (of, day) in ["extinguisher", "detector"].into_iter().zip(days) {
            self.diary.checks.push((place, of.to_owned(), day));
        }
    }

    async fn read(&mut self, pack: usize, mv: i64) {
        self.next_minute();
        let measured = Measured::Read {
            volts: Volts::Cells(vec![mv, mv, mv]),
            rested: Rested::Minutes(60),
            is_confirmed: true,
        };
        let id = self.diary.packs[pack].id;
        let logged = log_volts(
            &self.club.app.db,
            &self.by_now(),
            id,
            Logged::volts(&measured, true),
        )
        .await;
        logged.expect("volts");
        let now = self.now();
        self.diary.packs[pack].happened.push((now, What::Read(mv)));
    }

    fn is_out(&self, pack: usize) -> bool {
        let lines = self.diary.loans.iter().flat_map(|loan| &loan.lines);
        lines
            .into_iter()
            .any(|line| line.pack == pack && line.closed.is_none())
    }

    fn last_read(&self, pack: usize) -> Option<(i64, i64)> {
        let happened = self.diary.packs[pack].happened.iter().rev();
        happened.into_iter().find_map(|(at, what)| match what {
            What::Read(mv) => Some((*at, *mv)),
            _ => None,
        })
    }

    async fn lend(&mut self, to: usize, packs: &[usize], days: usize) {
        self.next_minute();
        let (now, due) = (self.now(), self.plus(self.today(), days));
        let numbers = packs
            .iter()
            .map(|pack| self.diary.packs[*pack].number.clone());
        let wanted = HandOut {
            borrower_id: self.diary.people[to].id,
            items: numbers.map(|number| Typed::Number(number, 1)).collect(),
            due: Day::parse(&due.to_string()),
            purpose: "bouts".to_owned(),
            override_reason: String::new(),
            volts_now: Vec::new(),
            looked_at: Vec::new(),
        };
        let Ok(id) = hand_out(&self.club.app.db, &self.by_now(), &wanted).await else {
            self.refused += 1;
            return;
        };
        let mut lines = Vec::new();
        for pack in packs {
            let out = format!(
                "lent WHERE closed_ms IS NULL AND pack_id = {}",
                self.club.literal(self.diary.packs[*pack].id)
            );
            let lent_id = self.club.ids(&out).await[0];
            self.diary.packs[*pack].happened.push((now, What::Out));
            lines.push(Line {
                pack: *pack,
                lent_id,
                opened: now,
                closed: None,
            });
        }
        let late = if self.diary.people[to].is_forgetful {
            1 + self.dice.throw(12)
        } else {
            0
        };
        let comes = now + (days + late) as i64 * DAY_MS - self.dice.throw(12) as i64 * HOUR_MS;
        self.diary.loans.push(Loan {
            id,
            by: to,
            due: vec![(now, due)],
            lines,
            comes,
        });
    }

    /// With the volts that are read as it comes back: used, or brought back as full as it went.
    async fn take_back(&mut self, loan: usize) {
        for line in 0..self.diary.loans[loan].lines.len() {
            self.next_minute();
            let (pack, lent_id) = (
                self.diary.loans[loan].lines[line].pack,
                self.diary.loans[loan].lines[line].lent_id,
            );
            let mv = if self.dice.throw(3) == 0 {
                FULL - 20
            } else {
                STORED
            };
            let of = VoltsOf {
                lent_id,
                measured: Measured::Read {
                    volts: Volts::Cells(vec![mv, mv, mv]),
                    rested: Rested::Minutes(60),
                    is_confirmed: true,
                },
                place_id: None,
            };
            take_back(&self.club.app.db, &self.by_now(), &[of], &Errand::default())
                .await
                .expect("taken back");
            let now = self.now();
            self.diary.packs[pack]
                .happened
                .extend([(now, What::Back), (now, What::Read(mv))]);
            self.diary.loans[loan].lines[line].closed = Some(now);
        }
    }

    /// From so many days ahead; 12 packs, of which half are charged on its eve.
    pub async fn plan_event(&mut self, days: usize) {
        self.next_minute();
        let (first, length) = (self.plus(self.today(), days), self.dice.throw(2));
        let last = self.plus(first, length);
        let from = self.dice.throw(self.diary.packs.len());
        let packs: Vec<usize> = (0..12)
            .map(|step| (from + step * 5) % self.diary.packs.len())
            .collect();
        let numbers = packs
            .iter()
            .map(|pack| Typed::Number(self.diary.packs[*pack].number.clone(), 1));
        let wanted = Wanted {
            sheet: EventSheet {
                name: format!("Bouts of {first}"),
                place: String::new(),
                first_on: Day::parse(&first.to_string()),
                last_on: Day::parse(&last.to_string()),
            },
            packs: numbers.collect(),
        };
        events::make(&self.club.app.db, &self.by_now(), &wanted)
            .await
            .expect("an event");
        self.diary.events.push(Event {
            starts: self.at(first, 0, 0),
            ends: self.at(self.plus(last, 1), 0, 0),
            packs,
        });
    }

    /// What happens between this morning's tick and the next.
    pub async fn a_day(&mut self) {
        let today = self.today();
        self.club.clock.set(Instant(self.at(today, 18, 0)));
        self.bring_back().await;
        self.look_after().await;
        let tomorrow = self.at(self.plus(today, 1), 0, 0);
        let eve: Vec<Vec<usize>> = self
            .diary
            .events
            .iter()
            .filter(|event| event.starts == tomorrow)
            .map(|event| event.packs.clone())
            .collect();
        for packs in eve {
            self.eve_of(&packs).await;
        }
        if self.dice.throw(40) == 0 {
            self.report().await;
        }
        if self.dice.throw(6) == 0 {
            self.read_reports().await;
        }
    }

    async fn bring_back(&mut self) {
        let now = self.now();
        for loan in 0..self.diary.loans.len() {
            let one = &self.diary.loans[loan];
            if one.lines.iter().all(|line| line.closed.is_some()) {
                continue;
            }
            if one.comes <= now {
                self.take_back(loan).await;
            } else if self.dice.throw(25) == 0 {
                self.next_minute();
                let later = 2 + self.dice.throw(5);
                let due = self.plus(self.today(), later);
                let until = (Day::parse(&due.to_string()).expect("a day"), "it rained");
                if extend(
                    &self.club.app.db,
                    &self.by_now(),
                    self.diary.loans[loan].id,
                    until,
                )
                .await
                .is_ok()
                {
                    let now = self.now();
                    self.diary.loans[loan].due.push((now, due));
                }
            }
        }
    }

    /// On some evenings somebody reads packs, puts full ones to storage, and charges what is low.
    async fn look_after(&mut self) {
        for pack in 0..self.diary.packs.len() {
            if self.is_out(pack) {
                continue;
            }
            let age = self
                .last_read(pack)
                .map(|(at, mv)| ((self.now() - at) / DAY_MS, mv));
            match age {
                None if self.dice.throw(12) == 0 => self.read(pack, STORED).await,
                Some((_, mv)) if mv != STORED && self.dice.throw(7) == 0 => {
                    self.read(pack, STORED).await
                }
                Some((days, _)) if days > 85 && self.dice.throw(9) == 0 => {
                    let mv = if self.dice.throw(6) == 0 { LOW } else { STORED };
                    self.read(pack, mv).await;
                }
                _ => {}
            }
        }
    }

    async fn eve_of(&mut self, packs: &[usize]) {
        let fit: Vec<usize> = packs
            .iter()
            .copied()
            .filter(|pack| {
                !self.is_out(*pack) && self.last_read(*pack).is_some_and(|(_, mv)| mv != LOW)
            })
            .collect();
        for pack in fit.iter().take(8) {
            self.read(*pack, FULL).await;
        }
        for some in fit.chunks(2).take(3) {
            let to = 3 + self.dice.throw(12);
            let days = 2 + self.dice.throw(4);
            self.lend(to, some, days).await;
        }
    }

    async fn report(&mut self) {
        self.next_minute();
        let id = ids::new_id();
        self.sql(&format!(
            "INSERT INTO report (id, token, reference, about, thing, seen, words, is_now, place_words, reach, gravity, rank, effect, \
             is_verified, left_out, came_ms) VALUES ({}, '{}', '{}', 'hall', 'socket', '', 'it is loose', 'no', '', '', 'to_mend', 3, \
             'none', FALSE, '', {})",
            self.club.literal(id),
            id.simple(),
            &id.simple().to_string()[20..],
            self.now()
        ))
        .await;
        let came = self.now();
        self.diary.reports.push(Report {
            id,
            came,
            read: None,
        });
    }

    async fn read_reports(&mut self) {
        self.next_minute();
        let now = self.now();
        self.sql(&format!(
            "UPDATE report SET read_ms = {now} WHERE read_ms IS NULL"
        ))
        .await;
        for report in &mut self.diary.reports {
            report.read = report.read.or(Some(now));
        }
    }

    /// On to the next morning: at its hour, late in a day on which the program was down, or not at all.
    pub async fn morning(&mut self) {
        let day = self.plus(self.today(), 1);
        let hour = match self.dice.throw(30) {
            0 => return self.club.clock.set(Instant(self.at(day, 8, 0))),
            1 => 15,
            _ => 8,
        };
        self.club.clock.set(Instant(self.at(day, hour, 0)));
        sandbucket::tasks::remind::run(&self.club.app)
            .await
            .expect("run");
        self.diary.decided.push(self.now());
    }
}
