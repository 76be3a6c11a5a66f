//! What is lent, brought back and taken to events.

use super::kinds::Level;
use super::*;
use sandbucket::actions::change_loan::extend;
use sandbucket::actions::errand::Errand;
use sandbucket::actions::events::{self, Wanted};
use sandbucket::actions::hand_out::{HandOut, hand_out};
use sandbucket::actions::take_back::{VoltsOf, take_back};
use sandbucket::club::calendar::Day;
use sandbucket::club::events::EventSheet;
use sandbucket::club::lending::Typed;

impl Life<'_> {
    pub(super) async fn lend(&mut self, to: usize, packs: &[usize], days: usize) {
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
            let level = match self.dice.throw(8) {
                0 | 1 => Level::Full,
                2 => Level::Part,
                3 => Level::Low,
                _ => Level::Stored,
            };
            let (read, measured) = self.measure((pack, self.now()), level);
            let of = VoltsOf {
                lent_id,
                measured,
                place_id: None,
            };
            take_back(&self.club.app.db, &self.by_now(), &[of], &Errand::default())
                .await
                .expect("taken back");
            let now = self.now();
            self.diary.packs[pack]
                .happened
                .extend([(now, What::Back), (now, What::Read(read))]);
            self.diary.loans[loan].lines[line].closed = Some(now);
        }
    }

    /// From so many days ahead; 12 packs, of which half are charged on its eve.
    pub async fn plan_event(&mut self, days: usize) {
        self.next_minute();
        let (first, length) = (self.plus(self.today(), days), self.dice.throw(2));
        let last = self.plus(first, length);
        let from = self.dice.throw(self.diary.packs.len());
        let packs = (0..12).map(|step| (from + step * 7) % self.diary.packs.len());
        let mut packs: Vec<usize> = packs.filter(|pack| self.is_here(*pack)).collect();
        packs.sort_unstable();
        packs.dedup();
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

    pub(super) async fn bring_back(&mut self) {
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
}
