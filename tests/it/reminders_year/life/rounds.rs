//! Storage rounds, what is taken home from them, and packs that come and go.

use super::kinds::Level;
use super::*;
use sandbucket::actions::rounds::{self, Began};
use sandbucket::actions::rounds_home::{is_back, take_home};
use sandbucket::actions::way_out::{Way, take_way};
use sandbucket::club::calendar::Day;
use sandbucket::club::lending::Typed;

/// A pack of each kind of lithium, all in the hot shed.
const FORGOTTEN: [usize; 4] = [2, 20, 32, 38];

impl Life<'_> {
    /// On the last evening of an event or on the next one somebody may begin a round; it goes on for some days.
    pub(super) async fn storage_round(&mut self) {
        let midnights = [self.today(), self.plus(self.today(), 1)].map(|day| self.at(day, 0, 0));
        let just_over = self.diary.events.iter();
        let just_over = just_over.filter(|event| midnights.contains(&event.ends));
        let packs: Vec<usize> = just_over.flat_map(|event| event.packs.clone()).collect();
        if self.round.is_none() && !packs.is_empty() && self.dice.throw(2) == 0 {
            self.begin_round(packs).await;
        }
        let Some((id, packs, began)) = self.round.clone() else {
            return;
        };
        for pack in packs {
            let is_looked_at = self.is_here(pack) && !self.is_out(pack) && !self.is_at_home(pack);
            if !is_looked_at || self.dice.throw(2) == 0 {
                continue;
            }
            let levels = [Level::Full, Level::Part, Level::Stored, Level::Low];
            let level = levels[self.dice.throw(4)];
            self.read(pack, level).await;
            if self.level(pack) != Some(Level::Stored) && self.dice.throw(2) == 0 {
                self.take_home(id, pack).await;
            }
        }
        if began + 3 * DAY_MS < self.now() {
            self.next_minute();
            let closed = rounds::close(&self.club.app.db, &self.by_now(), id).await;
            closed.expect("closed");
            self.round = None;
        }
    }

    async fn begin_round(&mut self, mut packs: Vec<usize>) {
        packs.retain(|pack| self.is_here(*pack) && !self.is_out(*pack) && !self.is_at_home(*pack));
        if packs.is_empty() {
            return;
        }
        self.next_minute();
        let numbers = packs.iter().map(|pack| &self.diary.packs[*pack].number);
        let began = Began {
            name: String::new(),
            packs: numbers
                .map(|number| Typed::Number(number.clone(), 1))
                .collect(),
            event_id: None,
            place_id: None,
        };
        let page = rounds::open(&self.club.app.db, &self.by_now(), &began).await;
        let page = page.expect("a round");
        let id = page.trim_start_matches("/storage-rounds/");
        let id = id.split('?').next().and_then(|id| id.parse().ok());
        let now = self.now();
        for pack in &packs {
            self.diary.packs[*pack].happened.push((now, What::PutOn));
        }
        self.round = Some((id.expect("its id"), packs, now));
    }

    /// Unless a rule of lending is against it.
    async fn take_home(&mut self, round: Uuid, pack: usize) {
        self.next_minute();
        let (by, days) = (3 + self.dice.throw(12), 1 + self.dice.throw(6));
        let until = Day::parse(&self.plus(self.today(), days).to_string());
        let (number, person) = (&self.diary.packs[pack].number, self.diary.people[by].id);
        let (what, who) = ((round, number.as_str()), (Some(person), until));
        let taken = take_home(&self.club.app.db, &self.by_now(), what, who).await;
        if taken.is_err() {
            self.refused += 1;
            return;
        }
        self.diary.homes.push(Home {
            pack,
            by,
            from: self.now(),
            back: None,
        });
    }

    pub(super) fn is_at_home(&self, pack: usize) -> bool {
        let mut homes = self.diary.homes.iter();
        homes.any(|home| home.pack == pack && home.back.is_none())
    }

    /// Whoever has a pack reads it some evening, and brings it back to where it lay.
    pub(super) async fn at_home(&mut self) {
        for home in 0..self.diary.homes.len() {
            let Home { pack, by, back, .. } = self.diary.homes[home];
            let of_some = if self.diary.people[by].is_forgetful {
                12
            } else {
                4
            };
            if back.is_some() || self.dice.throw(of_some) > 0 {
                continue;
            }
            if self.level(pack) != Some(Level::Stored) {
                self.read(pack, Level::Stored).await;
                continue;
            }
            self.next_minute();
            let (number, place) = (&self.diary.packs[pack].number, self.diary.packs[pack].place);
            let place = place.unwrap_or(self.diary.checks[0].0);
            let brought = is_back(&self.club.app.db, &self.by_now(), number, Some(place)).await;
            brought.expect("brought");
            self.diary.homes[home].back = Some(self.now());
        }
    }

    /// In use, neither retired nor lost; and not one of those that nobody thinks of.
    pub(super) fn is_here(&self, pack: usize) -> bool {
        if FORGOTTEN.contains(&pack) {
            return false;
        }
        let all = self.diary.packs[pack].happened.iter().rev();
        let mut ways = all.filter(|(_, what)| matches!(what, What::Gone | What::Found));
        ways.next().is_none_or(|(_, what)| *what == What::Found)
    }

    /// Read full on the first evening, and never again.
    pub(super) async fn forget(&mut self) {
        for pack in FORGOTTEN {
            self.read(pack, Level::Full).await;
        }
    }

    /// Now and then a pack is bought, retired, lost or found again.
    pub(super) async fn come_and_go(&mut self) {
        self.next_minute();
        if self.dice.throw(40) == 0 {
            let places = self.places.clone();
            let kind = Kind::ALL[self.dice.throw(Kind::ALL.len())].0;
            self.buy((kind, 1), &places).await;
        }
        let pack = self.dice.throw(self.diary.packs.len());
        let is_in_hand = !self.is_out(pack) && !self.is_at_home(pack);
        let (way, what) = match (self.is_here(pack), self.dice.throw(40)) {
            (true, 0) if is_in_hand => (Way::Retire, What::Gone),
            (true, 1 | 2) if is_in_hand => (Way::Lose, What::Gone),
            (false, _) => (Way::Find, What::Found),
            _ => return,
        };
        let id = self.diary.packs[pack].id;
        let gone = take_way(&self.club.app.db, &self.by_now(), id, way, "it was time").await;
        // What was retired is not found again.
        if gone.is_ok() {
            let now = self.now();
            self.diary.packs[pack].happened.push((now, what));
        }
    }
}
