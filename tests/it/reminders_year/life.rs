//! A club's year, thrown by dice and lived through the program's own actions, and a diary of what happened: all that the oracle is told.
//! Its people are in `people`, what is lent and taken to events in `loans`, what is read and charged in `packs`, storage rounds in `rounds`.

mod kinds;
mod loans;
mod packs;
mod people;
mod rounds;

pub use kinds::{Kind, Read};

use crate::support::*;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use sandbucket::actions::By;
use sandbucket::club::calendar::Instant;
use sandbucket::store::designs::Design;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Read(Read),
    /// The volts that were read then are put right. None: nobody read any.
    Righted {
        at: i64,
        read: Option<Read>,
    },
    /// It ended, and nobody read the pack.
    Charged(Charge),
    /// Lent, or taken to an event.
    Out,
    Back,
    /// The event that it was taken to is over.
    Over,
    /// On a storage round.
    PutOn,
    /// Retired, or lost.
    Gone,
    Found,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    Full,
    Storage,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Charge {
    pub toward: Toward,
    /// Into the pack; else out of it.
    pub is_in: bool,
    /// The charger said so; else somebody stopped it before.
    pub is_finished: bool,
    /// As far as somebody noted it.
    pub mah: Option<i64>,
}

pub struct Pack {
    pub kind: Kind,
    /// Where somebody measured how warm it is.
    pub celsius: Option<i64>,
    place: Option<Uuid>,
    pub number: String,
    pub id: Uuid,
    pub added: i64,
    pub happened: Vec<(i64, What)>,
}

impl Pack {
    /// What happened until then, as it was known then: volts that were put right by then are the right ones.
    pub fn until(&self, then: i64) -> Vec<(i64, What)> {
        let known = self.happened.iter().filter(|(at, _)| *at <= then);
        let mut all: Vec<(i64, What)> = known.copied().collect();
        for (_, what) in all.clone() {
            let What::Righted { at, read } = what else {
                continue;
            };
            let is_wrong = |one: &&mut (i64, What)| one.0 == at && matches!(one.1, What::Read(_));
            let wrong = all.iter_mut().position(|one| is_wrong(&one));
            match (wrong, read) {
                (Some(wrong), Some(read)) => all[wrong].1 = What::Read(read),
                (Some(wrong), None) => drop(all.remove(wrong)),
                (None, _) => {}
            }
        }
        all.retain(|(_, what)| !matches!(what, What::Righted { .. }));
        all
    }
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

/// A pack that somebody took home from a storage round.
pub struct Home {
    pub pack: usize,
    pub by: usize,
    pub from: i64,
    pub back: Option<i64>,
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
    pub homes: Vec<Home>,
    /// Place, of what, day.
    pub checks: Vec<(Uuid, String, Date)>,
    pub reports: Vec<Report>,
    /// When the program decided a day.
    pub decided: Vec<i64>,
}

impl Diary {
    /// How often something like this happened to any pack.
    pub fn count(&self, is_like: impl Fn(&What) -> bool) -> usize {
        let all = self.packs.iter().flat_map(|pack| &pack.happened);
        all.filter(|(_, what)| is_like(what)).count()
    }
}

const HOUR_MS: i64 = 3_600_000;
const DAY_MS: i64 = 24 * HOUR_MS;

pub struct Life<'a> {
    club: &'a TestClub,
    dice: &'a mut Dice,
    by: By,
    hall: TimeZone,
    charger: Uuid,
    /// And how warm they are.
    places: Vec<(Uuid, i64)>,
    /// The storage round that goes on, its packs, and when it began.
    round: Option<(Uuid, Vec<usize>, i64)>,
    pub diary: Diary,
    /// Refused by a rule of lending, which is not ours to judge.
    pub refused: usize,
}

impl<'a> Life<'a> {
    /// 60 packs of six designs, of which half lie where it is warm, hot or cold, 15 people, two checks at a place; all on the first of
    /// March 2027, a Monday, at noon.
    pub async fn begin(club: &'a TestClub, dice: &'a mut Dice) -> Self {
        let hall = TimeZone::get("Europe/London").expect("the hall's zone");
        club.clock.set(Instant(1_803_902_400_000));
        let charger = club.chargers(1).await[0];
        let quinn = club.quartermaster().await;
        let by = club.by(&quinn).await;
        let mut life = Self {
            club,
            dice,
            by,
            hall,
            charger,
            places: Vec::new(),
            round: None,
            diary: Diary::default(),
            refused: 0,
        };
        life.checks().await;
        life.stock().await;
        life.enrol().await;
        life.forget().await;
        life
    }

    /// Of every six packs one lies in each place that was measured, three where nobody did.
    async fn stock(&mut self) {
        let places = self.measured_places().await;
        for (kind, count) in Kind::ALL {
            self.buy((kind, count), &places).await;
        }
        self.places = places;
    }

    async fn buy(&mut self, (kind, count): (Kind, usize), places: &[(Uuid, i64)]) {
        let bought = self.diary.packs.len();
        let design = |design: &mut Design| kind.design(bought, design);
        for id in self.club.new_packs_of(count, design).await {
            let at = self.diary.packs.len();
            let place = places.get(at % 6).copied();
            if let Some((place, _)) = place {
                let (place, id) = (self.club.literal(place), self.club.literal(id));
                self.sql(&format!(
                    "UPDATE pack SET place_id = {place} WHERE id = {id}"
                ))
                .await;
            }
            self.diary.packs.push(Pack {
                kind,
                celsius: place.map(|(_, celsius)| celsius),
                place: place.map(|(place, _)| place),
                number: format!("P-{:03}", at + 1),
                id,
                added: self.now(),
                happened: Vec::new(),
            });
        }
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

    /// Volts that one person logs again within a quarter of an hour are the same measurement.
    fn a_while_later(&self) {
        self.club.later_by_minutes(20);
    }

    async fn sql(&self, sql: &str) {
        self.club.behind_the_back(sql).await.expect("written");
    }

    /// What happens between this morning's tick and the next.
    pub async fn a_day(&mut self) {
        let today = self.today();
        self.club.clock.set(Instant(self.at(today, 18, 0)));
        self.bring_back().await;
        self.a_while_later();
        self.storage_round().await;
        self.at_home().await;
        self.a_while_later();
        self.look_after().await;
        if self.dice.throw(3) == 0 {
            self.put_right().await;
        }
        self.come_and_go().await;
        let tomorrow = self.at(self.plus(today, 1), 0, 0);
        let eve: Vec<Vec<usize>> = self
            .diary
            .events
            .iter()
            .filter(|event| event.starts == tomorrow)
            .map(|event| event.packs.clone())
            .collect();
        self.a_while_later();
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
