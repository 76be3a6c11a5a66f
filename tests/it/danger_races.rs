//! Many hands at once on a pack that is dangerous or is just found to be: whoever confirms, releases, retires, hands out or reports,
//! in whatever order they come, the pack never leaves with danger known. A time share in every run, 1,000 rounds with `SANDBUCKET_LONG=1`.

use crate::support::*;
use futures_util::future::join_all;
use std::time::Duration;

const SHARE: Duration = Duration::from_secs(5);
const FULL_COUNT: usize = 1_000;

/// What somebody does: the address, and what is sent.
struct Act<'a> {
    who: &'a Browser,
    to: String,
    fields: Vec<(&'static str, String)>,
}

impl<'a> Act<'a> {
    fn new(who: &'a Browser, to: String, fields: &[(&'static str, &str)]) -> Self {
        let mut fields: Vec<(&str, String)> = fields
            .iter()
            .map(|(name, value)| (*name, (*value).to_owned()))
            .collect();
        fields.push(("key", sandbucket::ids::new_token()));
        Self { who, to, fields }
    }

    async fn done(&self) -> Answer {
        let fields: Vec<(&str, &str)> = self
            .fields
            .iter()
            .map(|(name, value)| (*name, value.as_str()))
            .collect();
        self.who.post(&self.to, &fields).await
    }
}

/// All of them at once, in an order that the dice say.
async fn all_at_once(dice: &mut Dice, mut acts: Vec<Act<'_>>) -> Vec<Answer> {
    for at in (1..acts.len()).rev() {
        acts.swap(at, dice.throw(at + 1));
    }
    let answers = join_all(acts.iter().map(Act::done)).await;
    for (answer, act) in answers.iter().zip(&acts) {
        assert!(
            [303, 200, 422].contains(&answer.status.as_u16()),
            "{}: {} {}",
            act.to,
            answer.status,
            answer.text
        );
    }
    answers
}

/// A fit pack of its own for each round.
async fn fit_pack(club: &TestClub, who: &Browser) -> String {
    let id = club.more_packs(1).await[0];
    let number = club
        .find(&format!(
            "SELECT number FROM pack WHERE id = {}",
            club.literal(id)
        ))
        .await
        .remove(0);
    read_dry(who, &number).await;
    number
}

async fn read_dry(who: &Browser, number: &str) {
    let volts = [
        ("volts_line", "3.82 3.81 3.82"),
        ("rested", "rested_an_hour"),
    ];
    who.post(&format!("/packs/{number}/volts"), &volts)
        .await
        .done();
}

async fn one(club: &TestClub, what: &str, number: &str) -> String {
    club.find(&format!(
        "SELECT {what} FROM pack WHERE number = '{number}'"
    ))
    .await
    .remove(0)
}

/// No hand-out in the log began from a pack in quarantine, and none of it is out with danger that was known then.
async fn none_left_with_danger_known(club: &TestClub) {
    let log = club
        .find("SELECT before FROM activity WHERE subject = 'pack' AND verb = 'handed out'")
        .await;
    for before in log {
        assert!(
            !before.contains("\"state\":\"quarantine\"")
                && !before.contains("\"state\":\"retired\""),
            "{before}"
        );
    }
}

/// A network of its own for each round: a stranger's first danger of the day from there quarantines.
async fn stranger(club: &TestClub, round: &mut u32) -> Browser {
    *round += 1;
    let [_, a, b, c] = round.to_be_bytes();
    club.visitor().at([10, a, b, c])
}

/// The address at which a stranger reports it.
async fn label_of(club: &TestClub, who: &Browser, number: &str) -> String {
    let make = Act::new(who, format!("/packs/{number}/label"), &[("what", "make")]);
    make.done().await.done();
    let sql = format!(
        "SELECT la.code FROM label la JOIN pack k ON k.id = la.pack_id WHERE k.number = '{number}'"
    );
    format!("/t/{}/report", club.find(&sql).await.remove(0))
}

on_both! {
    async fn whoever_confirms_releases_and_retires_at_once_no_pack_with_danger_known_is_fit(club: TestClub) {
        club.fit_packs(1).await;
        let (mut dice, mut fit, mut retired, mut round) = (Dice::thrown(), 0, 0, 0);
        let mut rounds = Rounds::new("confirmed, released and retired at once", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await);
            let number = fit_pack(&club, &quinn).await;
            let is_of_stranger = dice.throw(2) == 0;
            if is_of_stranger {
                let at = label_of(&club, &quinn, &number).await;
                let visitor = stranger(&club, &mut round).await;
                Act::new(&visitor, at, &[("seen", "wet")]).done().await.done();
            } else {
                ada.post(&format!("/packs/{number}/condition"), &[("seen", "wet")]).await.done();
            }
            club.later_by_minutes(1);
            read_dry(&quinn, &number).await;
            club.watches_are_over().await;
            let (watch, release) = (format!("/packs/{number}/watch"), format!("/packs/{number}/release"));
            let mut acts = vec![
                Act::new(&quinn, release.clone(), &[("release_reason", "dry for a day")]),
                Act::new(&rosa, release, &[("release_reason", "dry for a day")]),
            ];
            let looks = club.find(&format!("SELECT CAST(r.token AS TEXT) FROM report r JOIN pack k ON k.id = r.pack_id WHERE k.number = '{number}' AND NOT r.is_verified")).await;
            for token in &looks {
                let id = club.ids(&format!("report WHERE token = '{token}'")).await[0];
                let says = |who, was_so| Act::new(who, format!("/reports/{id}"), &[("what", "look"), ("was_so", was_so), ("looked", "seen from the door")]);
                acts.push(says(&quinn, "no"));
                if dice.throw(2) == 0 {
                    acts.push(says(&rosa, "yes"));
                }
            }
            if dice.throw(2) == 0 {
                acts.push(Act::new(&rosa, watch.clone(), &[("sign", "smoke")]));
                acts.push(Act::new(&quinn, watch, &[("quiet", "yes")]));
            }
            if dice.throw(2) == 0 {
                acts.push(Act::new(&quinn, format!("/packs/{number}/way-out"), &[("way", "retire"), ("reason", "old")]));
            }
            let to = ada.id().to_string();
            let items = number.trim_start_matches("P-").to_owned();
            acts.push(Act::new(&quinn, "/hand-out".to_owned(), &[("person", &to), ("items", &items)]));
            all_at_once(&mut dice, acts).await;
            let danger = club.find(&format!("SELECT f.gravity FROM finding f JOIN pack k ON k.id = f.pack_id WHERE k.number = '{number}' \
                AND f.closed_ms IS NULL AND f.gravity IN ('danger', 'final_danger')")).await;
            let state = one(&club, "state", &number).await;
            assert!(danger.is_empty() || ["quarantine", "retired"].contains(&state.as_str()), "{number} is {state} with {danger:?} open");
            let released = club.find(&format!("SELECT a.verb FROM activity a JOIN pack k ON k.id = a.subject_id WHERE k.number = '{number}' \
                AND a.verb = 'released from quarantine'")).await;
            assert!(released.len() <= 1, "{number} was released {} times", released.len());
            for token in &looks {
                let said = club.find(&format!("SELECT CASE WHEN was_so THEN 'so' WHEN looked_ms IS NULL THEN 'nobody looked' ELSE 'not so' END FROM report WHERE token = '{token}'")).await;
                assert!(released.is_empty() || said == ["not so"], "{number} was released: {said:?}");
            }
            fit += usize::from(state == "fit");
            retired += usize::from(state == "retired");
            none_left_with_danger_known(&club).await;
        }
        rounds.tell_with(&format!("{fit} fit, {retired} retired, none with danger known"));
        assert_eq!(club.first_break().await, None);
    }

    async fn a_report_that_arrives_while_the_pack_is_handed_out_never_lets_it_leave_with_danger_known(club: TestClub) {
        club.fit_packs(1).await;
        let (mut dice, mut out, mut round) = (Dice::thrown(), 0, 0);
        let mut rounds = Rounds::new("reported while it is handed out", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let (quinn, rosa, ada) = (club.quartermaster().await, club.second_quartermaster().await, club.borrower("Ada").await);
            let number = fit_pack(&club, &quinn).await;
            let (to, items) = (ada.id().to_string(), number.trim_start_matches("P-").to_owned());
            let lend = |who| Act::new(who, "/hand-out".to_owned(), &[("person", to.as_str()), ("items", items.as_str())]);
            let seen = ["swollen", "smoke_or_fire", "wet"][dice.throw(3)];
            let tell = |who| Act::new(who, format!("/packs/{number}/condition"), &[("seen", seen)]);
            let mut acts = vec![lend(&quinn), lend(&rosa)];
            let visitor = stranger(&club, &mut round).await;
            match dice.throw(4) {
                0 => acts.extend([tell(&ada), tell(&rosa)]),
                1 => acts.push(tell(&ada)),
                way => {
                    let at = label_of(&club, &quinn, &number).await;
                    // At once, or after it waited on a phone.
                    let to = if way == 2 { at } else { format!("/offline?of={at}&waited_ms=60000&kept=yes") };
                    acts.push(Act::new(&visitor, to, &[("seen", seen)]));
                }
            }
            all_at_once(&mut dice, acts).await;
            assert_eq!(one(&club, "state", &number).await, "quarantine", "{number}");
            let loans = club.find(&format!("SELECT CAST(le.opened_ms AS TEXT) FROM lent le JOIN pack k ON k.id = le.pack_id WHERE k.number = '{number}'")).await;
            assert!(loans.len() <= 1);
            out += loans.len();
            if !loans.is_empty() {
                let told = ada.get("/mine").await.texts(".stop");
                assert!(told.len() == out && told.iter().all(|each| each.contains("get away")), "whoever has it is told: {told:?}");
            }
            let again = lend(&quinn).done().await;
            assert!(again.status != 303, "it goes out no more");
            none_left_with_danger_known(&club).await;
            club.later_by_minutes(1);
        }
        rounds.tell_with(&format!("{out} had left before the report came, none after"));
        assert_eq!(club.first_break().await, None);
    }
}
