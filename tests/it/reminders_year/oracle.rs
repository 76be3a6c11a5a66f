//! Who must be reminded of what on which day, worked out anew from what happened, by these rules in words and no code of the program;
//! what is due for packs is said in `packs`, when they run low in `lies`:
//!
//! Each day that is decided looks at what is due at that moment. A reminder has a person, a reason, a thing and a due day, and comes
//! once; who must put it right later than they were told must do so from then on, and is told again if they had silenced it.
//! Of a pack somebody has they are told, and who answers for them, and must put it right; from 3 days due on, or when it is dangerous,
//! quartermasters too, from 7 days organisers too. Of others quartermasters are told at once. Who has left or holds no role is told nothing.
//! A loan is told the day before its last day and on it; overdue from the day after, then to quartermasters after 3 days and
//! organisers after 7. An induction is told from 14 days before its last day to 14 days after, a check of a place from 14 days before
//! to those who run the club; from its day on, while nobody noted the next, to quartermasters again, and from 7 days after its beginning
//! to organisers. A report that nobody read is told to quartermasters. Each Monday those who run the club get the week; if no Monday was
//! decided, on the next day that is.

mod curves;
mod lies;
mod packs;

use super::life::{Diary, Somebody};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use std::collections::BTreeMap;

const DAY_MS: i64 = 24 * 3_600_000;

pub fn hall() -> TimeZone {
    TimeZone::get("Europe/London").expect("the hall's zone")
}

/// Told on, to whom, why, about what, due on; and whether they must put it right.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Told {
    pub on: String,
    pub who: String,
    pub reason: String,
    pub thing: String,
    pub due_on: String,
    pub is_must: bool,
}

pub fn date(ms: i64, hall: &TimeZone) -> Date {
    let at = Timestamp::from_millisecond(ms).expect("an instant");
    at.to_zoned_datetime(hall.clone()).date()
}

/// The end of a day in the hall.
fn end_of(day: Date, hall: &TimeZone) -> i64 {
    let next = day.tomorrow().expect("a day after");
    let zoned = next.to_zoned_datetime(hall.clone()).expect("a midnight");
    zoned.timestamp().as_millisecond()
}

fn days(from: Date, to: Date) -> i64 {
    i64::from(from.until(to).expect("days").get_days())
}

pub fn told(diary: &Diary) -> Vec<Told> {
    let hall = hall();
    let (mut seen, mut all) = (BTreeMap::new(), Vec::<Told>::new());
    let mut last: Option<Date> = None;
    for at in &diary.decided {
        let today = date(*at, &hall);
        let moment = Moment {
            diary,
            at: *at,
            today,
            hall: &hall,
        };
        let mut due = moment.packs();
        due.extend(moment.loans());
        due.extend(moment.of_people_and_places());
        due.extend(moment.week(last));
        last = Some(today);
        // Of the same told twice, the one that must be put right.
        let mut once: BTreeMap<(String, String, String, String), Told> = BTreeMap::new();
        for one in due {
            let key = (
                one.who.clone(),
                one.reason.clone(),
                one.thing.clone(),
                one.due_on.clone(),
            );
            let kept = once.entry(key).or_insert_with(|| one.clone());
            kept.is_must |= one.is_must;
        }
        for (key, one) in once {
            let at = *seen.entry(key).or_insert(all.len());
            match all.get_mut(at) {
                None => all.push(one),
                Some(kept) if one.is_must && !kept.is_must => {
                    kept.is_must = true;
                    if diary
                        .people
                        .iter()
                        .any(|who| who.name == one.who && who.is_silent)
                    {
                        kept.on = one.on;
                    }
                }
                Some(_) => {}
            }
        }
    }
    all.sort();
    all
}

struct Moment<'a> {
    diary: &'a Diary,
    at: i64,
    today: Date,
    hall: &'a TimeZone,
}

impl Moment<'_> {
    fn one(
        &self,
        who: &Somebody,
        (reason, thing, due_on): (&str, &str, Date),
        is_must: bool,
    ) -> Told {
        Told {
            on: self.today.to_string(),
            who: who.name.clone(),
            reason: reason.to_owned(),
            thing: thing.to_owned(),
            due_on: due_on.to_string(),
            is_must,
        }
    }

    fn holding(&self, holds: impl Fn(&Somebody) -> bool) -> Vec<&Somebody> {
        let people = self.diary.people.iter();
        people.filter(|one| one.is_told() && holds(one)).collect()
    }

    /// Whoever has it and who answers for them, as far as they are told anything.
    fn having(&self, person: usize) -> Vec<&Somebody> {
        let who = &self.diary.people[person];
        let answers = who.answers.map(|at| &self.diary.people[at]);
        let both = std::iter::once(who).chain(answers);
        both.filter(|one| one.is_told()).collect()
    }

    /// Those who have it, then the others by how long it is due.
    fn chased(
        &self,
        holder: Option<usize>,
        (since, is_dangerous): (i64, bool),
        what: (&str, &str, Date),
    ) -> Vec<Told> {
        let having = holder.map_or_else(Vec::new, |holder| self.having(holder));
        let is_with_nobody = having.is_empty();
        let mut all: Vec<Told> = having
            .into_iter()
            .map(|one| self.one(one, what, true))
            .collect();
        if is_with_nobody || is_dangerous || self.at >= since + 3 * DAY_MS {
            let told = self.holding(|one| one.is_quartermaster).into_iter();
            all.extend(told.map(|one| self.one(one, what, false)));
        }
        if self.at >= since + 7 * DAY_MS {
            let told = self.holding(|one| one.is_organiser).into_iter();
            all.extend(told.map(|one| self.one(one, what, false)));
        }
        all
    }

    fn packs(&self) -> Vec<Told> {
        let mut all = Vec::new();
        for (number, pack) in self.diary.packs.iter().enumerate() {
            if pack.added > self.at {
                continue;
            }
            let holder = self.holder(number);
            for due in self.due(number) {
                let thing = format!("pack:{}", pack.number);
                let what = (due.reason, thing.as_str(), date(due.since, self.hall));
                all.extend(self.chased(holder, (due.since, due.is_dangerous), what));
            }
        }
        all
    }

    fn loans(&self) -> Vec<Told> {
        let mut all = Vec::new();
        for loan in &self.diary.loans {
            let is_out = loan.lines.iter().any(|line| {
                line.opened <= self.at && line.closed.is_none_or(|closed| closed > self.at)
            });
            let Some((_, due)) = loan
                .due
                .iter()
                .rev()
                .find(|(from, _)| *from <= self.at)
                .filter(|_| is_out)
            else {
                continue;
            };
            let (left, thing) = (days(self.today, *due), format!("loan:{}", loan.id));
            if left >= 0 {
                if left <= 1 {
                    let what = ("loan_due_soon", thing.as_str(), *due);
                    all.extend(
                        self.having(loan.by)
                            .into_iter()
                            .map(|one| self.one(one, what, false)),
                    );
                }
            } else {
                let what = ("loan_overdue", thing.as_str(), *due);
                let since = end_of(*due, self.hall);
                all.extend(self.chased(Some(loan.by), (since, false), what));
            }
        }
        all
    }

    fn of_people_and_places(&self) -> Vec<Told> {
        let mut all = Vec::new();
        for (at, person) in self.diary.people.iter().enumerate() {
            let Some(ends) = person.induction_ends else {
                continue;
            };
            if (-14..=14).contains(&days(self.today, ends)) {
                let thing = format!("person:{}", person.id);
                let what = ("induction_ends", thing.as_str(), ends);
                all.extend(
                    self.having(at)
                        .into_iter()
                        .map(|one| self.one(one, what, false)),
                );
            }
        }
        for (place, of, due) in &self.diary.checks {
            let thing = format!("place:{place}");
            let mut tell = |reason: &str, holds: fn(&Somebody) -> bool| {
                let what = (reason, thing.as_str(), *due);
                let told = self.holding(holds).into_iter();
                all.extend(told.map(|one| self.one(one, what, false)));
            };
            match days(self.today, *due) {
                15.. => {}
                1.. => tell(&format!("{of}_check"), |one| {
                    one.is_quartermaster || one.is_organiser
                }),
                left => {
                    let late = format!("{of}_overdue");
                    tell(&late, |one| one.is_quartermaster);
                    if left <= -7 {
                        tell(&late, |one| one.is_organiser);
                    }
                }
            }
        }
        for report in &self.diary.reports {
            if report.came <= self.at && report.read.is_none_or(|read| read > self.at) {
                let thing = format!("report:{}", report.id);
                let what = ("report_came", thing.as_str(), date(report.came, self.hall));
                let told = self.holding(|one| one.is_quartermaster);
                all.extend(told.into_iter().map(|one| self.one(one, what, false)));
            }
        }
        all
    }

    fn week(&self, last: Option<Date>) -> Vec<Told> {
        let since_monday = i64::from(self.today.weekday().to_monday_zero_offset());
        let monday = self
            .today
            .checked_sub(since_monday.days())
            .expect("a Monday");
        let is_new = last.map_or(since_monday == 0, |last| last < monday);
        if !is_new {
            return Vec::new();
        }
        let told = self.holding(|one| one.is_quartermaster || one.is_organiser);
        let what = ("weekly_summary", "club:week", monday);
        told.into_iter()
            .map(|one| self.one(one, what, false))
            .collect()
    }
}
