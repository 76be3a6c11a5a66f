//! Who is in the club, its places, and what is reported.

use super::*;
use sandbucket::club::people::Roles;
use sandbucket::ids;

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

impl Life<'_> {
    pub(super) async fn enrol(&mut self) {
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

    pub(super) async fn checks(&mut self) {
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

    /// A loft, a cellar and a shed, where somebody wrote down how warm they are.
    pub(super) async fn measured_places(&self) -> Vec<(Uuid, i64)> {
        let mut all = Vec::new();
        for (name, celsius) in [("Loft", 28), ("Cellar", 8), ("Shed", 38)] {
            let id = ids::new_id();
            self.sql(&format!(
                "INSERT INTO place (id, name, kind, room, notes, created_ms, warmth_celsius) \
                 VALUES ({}, '{name}', 'table', '{name}', '', 1, {celsius})",
                self.club.literal(id)
            ))
            .await;
            all.push((id, celsius));
        }
        all
    }

    pub(super) async fn report(&mut self) {
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

    pub(super) async fn read_reports(&mut self) {
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
}
