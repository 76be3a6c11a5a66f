//! Many hands at once on a pack that is dangerous or is just found to be: whoever confirms, releases, retires, disposes of it, writes
//! that it was lost in an incident, hands out or reports, in whatever order they come, the pack never leaves with danger known. A time share in every run, 1,000 rounds with `SANDBUCKET_LONG=1`.

use crate::book_actions::opened;
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

/// No hand-out in the log began from a pack in quarantine, set aside or gone, and none of it is out with danger that was known then.
async fn none_left_with_danger_known(club: &TestClub) {
    let log = club
        .find("SELECT before FROM activity WHERE subject = 'pack' AND verb = 'handed out'")
        .await;
    for before in log {
        for state in ["quarantine", "set_aside", "retired", "lost"] {
            assert!(
                !before.contains(&format!("\"state\":\"{state}\"")),
                "{before}"
            );
        }
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
    async fn whoever_confirms_releases_retires_disposes_or_writes_it_off_at_once_no_pack_with_danger_known_is_fit(club: TestClub) {
        club.fit_packs(1).await;
        let (mut dice, mut fit, mut retired, mut round) = (Dice::thrown(), 0, 0, 0);
        let (mut lost, mut disposed, mut so_after_release) = (0, 0, 0);
        let zone = sandbucket::club::calendar::Zone::named("Europe/London").expect("a zone");
        let mut rounds = Rounds::new("confirmed, released, retired, disposed of and lost at once", &club, SHARE, FULL_COUNT);
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
            let incident = match dice.throw(2) {
                0 => None,
                _ => {
                    let words = format!("{number} burnt on the table.");
                    let told = [("items", number.as_str()), ("packs_now", "stay"), ("words", words.as_str())];
                    Some(opened(&quinn, &told).await.done().to_owned())
                }
            };
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
            if let Some(incident) = &incident {
                let gone = [("what", "lost"), ("pack", number.as_str()), ("words", "nothing is left of it"), ("nothing_left", "yes")];
                acts.push(Act::new(&rosa, incident.clone(), &gone));
            }
            if dice.throw(2) == 0 {
                let day = zone.day_of(club.now()).to_string();
                let handed_in = [("harmless", "packed"), ("handed_in", "The town's collection point"), ("disposed_on", day.as_str()), ("for_good", "yes")];
                acts.push(Act::new(&rosa, format!("/packs/{number}/disposal"), &handed_in));
            }
            let to = ada.id().to_string();
            let items = number.trim_start_matches("P-").to_owned();
            acts.push(Act::new(&quinn, "/hand-out".to_owned(), &[("person", &to), ("items", &items)]));
            all_at_once(&mut dice, acts).await;
            let danger = club.find(&format!("SELECT f.gravity FROM finding f JOIN pack k ON k.id = f.pack_id WHERE k.number = '{number}' \
                AND f.closed_ms IS NULL AND f.gravity IN ('danger', 'final_danger')")).await;
            let state = one(&club, "state", &number).await;
            assert!(danger.is_empty() || ["quarantine", "retired", "lost"].contains(&state.as_str()), "{number} is {state} with {danger:?} open");
            let released = club.find(&format!("SELECT a.verb FROM activity a JOIN pack k ON k.id = a.subject_id WHERE k.number = '{number}' \
                AND a.verb = 'released from quarantine'")).await;
            assert!(released.len() <= 1, "{number} was released {} times", released.len());
            for token in &looks {
                let said = club.find(&format!("SELECT CASE WHEN was_so THEN 'so' WHEN looked_ms IS NULL THEN 'nobody looked' ELSE 'not so' END FROM report WHERE token = '{token}'")).await;
                if said == ["so"] {
                    let told = club.find(&format!("SELECT a.verb FROM activity a JOIN pack k ON k.id = a.subject_id WHERE k.number = '{number}' \
                        AND a.verb IN ('released from quarantine', 'looked at what was reported: it was so') ORDER BY a.seq")).await;
                    assert!(told.last().is_some_and(|verb| verb != "released from quarantine"), "{number} was released though it was so: {told:?}");
                    assert!(state != "fit", "{number} is fit and it was so");
                    so_after_release += usize::from(!released.is_empty());
                } else {
                    assert!(released.is_empty() || said == ["not so"], "{number} was released: {said:?}");
                }
            }
            let is_disposed = !club.find(&format!("SELECT d.handed_in FROM disposal d JOIN pack k ON k.id = d.pack_id WHERE k.number = '{number}'")).await.is_empty();
            assert!(!is_disposed || state == "retired", "{number} is {state} and was handed in");
            let out = club.find(&format!("SELECT 'out' FROM lent le JOIN pack k ON k.id = le.pack_id WHERE k.number = '{number}' AND le.closed_ms IS NULL")).await;
            // Out and in quarantine: it had left before smoke was seen on it.
            let may_be_out = ["fit", "quarantine"].contains(&state.as_str()) && !is_disposed;
            assert!(out.is_empty() || may_be_out, "{number} is out and {state}");
            lost += usize::from(state == "lost");
            disposed += usize::from(is_disposed);
            fit += usize::from(state == "fit");
            retired += usize::from(state == "retired");
            none_left_with_danger_known(&club).await;
        }
        // Had all been refused, nothing would have raced.
        assert!(fit + retired + lost > 0, "{fit} fit, {retired} retired, {lost} lost");
        rounds.tell_with(&format!("{fit} fit, {retired} retired, {disposed} of them disposed of, {lost} lost, none with danger known; {so_after_release} times it was so after a release"));
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

    async fn danger_that_only_sets_aside_and_arrives_during_a_hand_out_never_lets_the_pack_leave_set_aside(club: TestClub) {
        club.fit_packs(1).await;
        let (mut dice, mut out, mut round) = (Dice::thrown(), 0, 0);
        let quinn = club.quartermaster().await;
        let first = label_of(&club, &quinn, "P-001").await;
        let mut rounds = Rounds::new("a network's second danger while it is handed out", &club, SHARE, FULL_COUNT);
        while rounds.go_on() {
            let (rosa, ada) = (club.second_quartermaster().await, club.borrower("Ada").await);
            let number = fit_pack(&club, &quinn).await;
            let at = label_of(&club, &quinn, &number).await;
            let visitor = stranger(&club, &mut round).await;
            // What this network may quarantine today is spent.
            Act::new(&visitor, first.clone(), &[("seen", "wet")]).done().await.done();
            let (to, items) = (ada.id().to_string(), number.trim_start_matches("P-").to_owned());
            let lend = |who| Act::new(who, "/hand-out".to_owned(), &[("person", to.as_str()), ("items", items.as_str())]);
            let seen = ["swollen", "smoke_or_fire", "wet"][dice.throw(3)];
            let tell = Act::new(&visitor, at, &[("seen", seen)]);
            all_at_once(&mut dice, vec![lend(&quinn), lend(&rosa), tell]).await;
            assert_eq!(one(&club, "state", &number).await, "set_aside", "{number}");
            let loans = club.find(&format!("SELECT 'out' FROM lent le JOIN pack k ON k.id = le.pack_id WHERE k.number = '{number}'")).await;
            assert!(loans.len() <= 1);
            out += loans.len();
            assert!(lend(&quinn).done().await.status != 303, "it goes out no more");
            none_left_with_danger_known(&club).await;
            club.later_by_minutes(2);
        }
        rounds.tell_with(&format!("{out} had left before the report came, none after"));
        assert_eq!(club.first_break().await, None);
    }
}
