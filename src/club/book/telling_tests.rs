//! An incident told from its opening to its closing: what is asked at each step, what stands in the book and what beside it.

use super::asked::problems;
use super::chain::{Head, Sealed, write};
use super::digest::Digest;
use super::doing::Doing;
use super::entry::Entry;
use super::frozen::{KnownPack, Read};
use super::incident::{Damage, Harm, Kind};
use super::involved::{Involved, Item};
use super::part::KeptPart;
use super::severity::{Class, InjuriesKept, Severity};
use super::story::{ActionStands, Story};
use super::telling::{ActionSet, Opened, Telling, Words};
use crate::club::calendar::{Day, Instant};
use serde_json::json;

const AT: Instant = Instant(1_795_600_000_000);

pub(super) fn words(text: &str) -> Words {
    Words {
        text: text.to_owned(),
        names_somebody: false,
    }
}

pub(super) fn opened() -> Opened {
    Opened {
        kind: Kind::Fire,
        severity: Severity {
            harm: Some(Harm::FirstAid),
            damage: Damage::OtherThings,
            harm_could: Harm::Hospital,
            damage_could: Damage::Building,
        },
        happened: AT,
        told: AT.plus_minutes(5),
        place: "Charging table".to_owned(),
        involved: Involved {
            items: vec![Item {
                what: "pack".to_owned(),
                called: "P-007".to_owned(),
                id: None,
            }],
            packs: vec![KnownPack {
                number: "P-007".to_owned(),
                readings: vec![Read {
                    volts: Some("c:3800,3810,3805".to_owned()),
                    ..Read::default()
                }],
                ..KnownPack::default()
            }],
            ..Involved::default()
        },
        doing: Doing::Charging,
        charging_with: "C-002, 1.5 A, 3S".to_owned(),
        damage: "A table top".to_owned(),
        emergency_services: "Fire service, came 20:14".to_owned(),
        words: words("It smoked and caught fire."),
        who_was_there: "Ada, Mo".to_owned(),
        lent_to: String::new(),
        injuries: "Ada burnt a finger".to_owned(),
        reported: None,
    }
}

pub(super) fn action() -> ActionSet {
    ActionSet {
        what: words("Tiles on the charging table"),
        owner: "Mo".to_owned(),
        due: Day::parse("2026-12-01").expect("a day"),
        works_if: "The audit of January finds no wood".to_owned(),
        look_on: Day::parse("2027-01-10").expect("a day"),
    }
}

/// The book of one incident as it grows.
pub(super) struct Told {
    head: Head,
    pub(super) entries: Vec<Sealed>,
    parts: Vec<KeptPart>,
}

impl Told {
    fn new() -> Self {
        Self {
            head: Head::EMPTY,
            entries: vec![],
            parts: vec![],
        }
    }

    pub(super) fn of(tellings: &[Telling]) -> Self {
        let mut told_so_far = Self::new();
        for telling in tellings {
            told_so_far.tell(telling);
        }
        told_so_far
    }

    pub(super) fn story(&self) -> Story {
        Story::of(&self.entries)
    }

    pub(super) fn refused(&self, telling: &Telling) -> Vec<&'static str> {
        let found = problems(telling, &self.story(), InjuriesKept::InWords);
        found.iter().map(|each| each.field).collect()
    }

    pub(super) fn tell(&mut self, telling: &Telling) {
        assert_eq!(self.refused(telling), [""; 0], "{telling:?}");
        let mut salt = [self.head.count as u8; 16];
        let draft = telling.draft("I-001", AT, vec![], || {
            salt[0] += 1;
            salt
        });
        let written = write(&self.head, draft).expect("written");
        let entry = Entry::read(&written.kept.text).expect("an entry");
        let hash = written.head.hash;
        self.entries.push(Sealed { entry, hash });
        self.parts.extend(written.parts);
        self.head = written.head;
    }
}

pub(super) fn open() -> Telling {
    Telling::Opened(Box::new(opened()))
}

pub(super) fn close() -> Telling {
    Telling::Closed {
        causes: vec!["Wrong cell count set".to_owned()],
        lessons: "Read it back aloud.".to_owned(),
    }
}

fn fields_of(change: impl FnOnce(&mut Opened), kept: InjuriesKept) -> Vec<&'static str> {
    let mut opened = opened();
    change(&mut opened);
    let found = problems(&Telling::Opened(Box::new(opened)), &Story::default(), kept);
    found.iter().map(|each| each.field).collect()
}

#[test]
fn names_and_injuries_stand_beside_the_book_and_the_rest_in_it() {
    let told_so_far = Told::of(&[open()]);
    let text = told_so_far.entries[0].entry.text().expect("a text");
    for personal in ["Ada", "Mo\"", "finger"] {
        assert!(!text.contains(personal), "{personal}");
    }
    for said in [
        "I-001",
        "P-007",
        "3810",
        "caught fire",
        "C-002",
        "\"fire\"",
        "20:14",
    ] {
        assert!(text.contains(said), "{said}");
    }
    let names: Vec<&str> = told_so_far
        .parts
        .iter()
        .map(|kept| kept.part.name.as_str())
        .collect();
    assert_eq!(names, ["who_was_there", "injuries"]);
    assert_ne!(
        told_so_far.parts[0].part.salt,
        told_so_far.parts[1].part.salt
    );
}

#[test]
fn words_in_which_somebody_is_named_can_be_erased_too() {
    let words = Words {
        text: "Ada pulled the plug.".to_owned(),
        names_somebody: true,
    };
    let happened = AT;
    let told_so_far = Told::of(&[open(), Telling::Timeline { happened, words }]);
    let entry = &told_so_far.entries[1].entry;
    assert_eq!(entry.body["words"], json!(null));
    assert_eq!(entry.committed[0].part, "words");
    assert_eq!(told_so_far.parts[2].part.words, "Ada pulled the plug.");
}

#[test]
fn an_incident_is_opened_without_a_name_and_with_what_matters() {
    let all = InjuriesKept::InWords;
    assert_eq!(fields_of(|_| {}, all), [""; 0]);
    let nameless = |opened: &mut Opened| {
        opened.who_was_there.clear();
        opened.injuries.clear();
    };
    assert_eq!(fields_of(nameless, all), [""; 0]);
    assert_eq!(fields_of(|o| o.place = " ".to_owned(), all), ["place"]);
    assert_eq!(fields_of(|o| o.words = words(""), all), ["words"]);
    assert_eq!(
        fields_of(|o| o.charging_with.clear(), all),
        ["charging_with"]
    );
    let stored = |o: &mut Opened| {
        o.charging_with.clear();
        o.doing = Doing::Stored;
    };
    assert_eq!(fields_of(stored, all), [""; 0]);
    assert_eq!(
        fields_of(|o| o.happened = AT.plus_minutes(6), all),
        ["happened"]
    );
    assert_eq!(fields_of(|o| o.damage = "d".repeat(4_001), all), ["damage"]);
    let many = |o: &mut Opened| o.involved.items = vec![o.involved.items[0].clone(); 51];
    assert_eq!(fields_of(many, all), ["items"]);
    assert_eq!(
        fields_of(|o| o.kind = Kind::NearMiss, all),
        ["kind", "harm"]
    );
}

#[test]
fn injuries_stand_in_the_book_as_far_as_the_club_keeps_them() {
    assert_eq!(fields_of(|_| {}, InjuriesKept::HowGrave), ["injuries"]);
    assert_eq!(
        fields_of(|_| {}, InjuriesKept::Nothing),
        ["injuries", "harm"]
    );
    let left_out = |opened: &mut Opened| {
        opened.injuries.clear();
        opened.severity.harm = None;
    };
    assert_eq!(fields_of(left_out, InjuriesKept::Nothing), [""; 0]);
}

#[test]
fn nothing_is_told_of_an_incident_that_is_not_open() {
    let told_so_far = Told::new();
    assert_eq!(told_so_far.refused(&close()), ["incident"]);
    let told_so_far = Told::of(&[open()]);
    assert_eq!(told_so_far.refused(&open()), ["incident"]);
    let why = "New photos".to_owned();
    assert_eq!(
        told_so_far.refused(&Telling::Reopened { why }),
        ["incident"]
    );
}

#[test]
fn a_correction_names_an_entry_of_this_incident_by_number_and_digest() {
    let mut told_so_far = Told::of(&[open()]);
    let milder = Severity {
        harm_could: Harm::FirstAid,
        damage_could: Damage::OtherThings,
        ..opened().severity
    };
    let correct = |seq, hash, severity| Telling::Corrected {
        seq,
        hash,
        field: "severity".to_owned(),
        instead: words("It was far from the wall."),
        held: Some((Kind::Smoke, severity)),
        why: "Measured it".to_owned(),
    };
    let hash = told_so_far.entries[0].hash;
    assert_eq!(told_so_far.refused(&correct(2, hash, milder)), ["corrects"]);
    let other = Digest::of(b"other");
    assert_eq!(
        told_so_far.refused(&correct(1, other, milder)),
        ["corrects"]
    );
    let impossible = Severity {
        harm_could: Harm::Nobody,
        ..milder
    };
    assert_eq!(
        told_so_far.refused(&correct(1, hash, impossible)),
        ["harm_could"]
    );
    told_so_far.tell(&correct(1, hash, milder));
    assert_eq!(told_so_far.story().held, Some((Kind::Smoke, milder)));
    assert_eq!(told_so_far.story().class(), Some(Class::Incident));
    assert_eq!(
        told_so_far.entries[1].entry.body["corrects"],
        json!({ "seq": 1, "hash": hash, "field": "severity" })
    );
}

#[test]
fn an_action_has_an_owner_and_a_day_to_see_whether_it_worked() {
    let told_so_far = Told::of(&[open()]);
    let with = |change: fn(&mut ActionSet)| {
        let mut action = action();
        change(&mut action);
        told_so_far.refused(&Telling::ActionSet(action))
    };
    assert_eq!(with(|_| {}), [""; 0]);
    assert_eq!(with(|a| a.owner.clear()), ["owner"]);
    assert_eq!(with(|a| a.works_if.clear()), ["works_if"]);
    assert_eq!(with(|a| a.what = words(" ")), ["what"]);
    assert_eq!(with(|a| a.look_on = a.due.plus_days(-1)), ["look_on"]);
    assert_eq!(with(|a| a.look_on = a.due), [""; 0]);
}

#[test]
fn what_could_have_been_grave_is_closed_when_its_actions_were_done_and_worked() {
    let done = |seq| Telling::ActionDone {
        seq,
        words: words("Tiles laid"),
    };
    let looked = |seq, worked| Telling::ActionLookedAt {
        seq,
        worked,
        words: words("Looked at the table"),
    };
    let mut told_so_far = Told::of(&[open()]);
    assert_eq!(told_so_far.refused(&close()), ["actions"]);
    told_so_far.tell(&Telling::ActionSet(action()));
    assert_eq!(told_so_far.refused(&looked(2, true)), ["action"]);
    assert_eq!(told_so_far.refused(&done(1)), ["action"]);
    told_so_far.tell(&done(2));
    assert_eq!(told_so_far.refused(&done(2)), ["action"]);
    assert_eq!(told_so_far.story().stands(2), Some(ActionStands::ToLookAt));
    assert_eq!(told_so_far.refused(&close()), ["actions"]);
    told_so_far.tell(&looked(2, false));
    assert_eq!(
        told_so_far.story().waiting(),
        [(2, ActionStands::DidNotWork)]
    );
    assert_eq!(told_so_far.refused(&close()), ["actions"]);
    told_so_far.tell(&Telling::ActionSet(action()));
    assert_eq!(told_so_far.story().waiting(), [(5, ActionStands::ToDo)]);
    told_so_far.tell(&done(5));
    told_so_far.tell(&looked(5, true));
    let causeless = Telling::Closed {
        causes: vec![" ".to_owned()],
        lessons: String::new(),
    };
    assert_eq!(told_so_far.refused(&causeless), ["causes", "lessons"]);
    told_so_far.tell(&close());
    assert!(told_so_far.story().is_closed);
}

#[test]
fn a_closed_incident_takes_who_was_told_and_is_opened_again_for_more() {
    let mut mild = opened();
    mild.severity.harm_could = Harm::FirstAid;
    mild.severity.damage = Damage::ItselfOnly;
    mild.severity.damage_could = Damage::ItselfOnly;
    let mut told_so_far = Told::of(&[Telling::Opened(Box::new(mild)), close()]);
    let later = Telling::Timeline {
        happened: AT,
        words: words("It smoked again."),
    };
    assert_eq!(told_so_far.refused(&later), ["incident"]);
    let told = |whom: &str| Telling::ToldTo {
        whom: whom.to_owned(),
        at: AT,
        reference: "2026-44".to_owned(),
        told_by: "Mo".to_owned(),
    };
    assert_eq!(told_so_far.refused(&told(" ")), ["whom"]);
    told_so_far.tell(&told("The insurer"));
    let why = "It smoked again".to_owned();
    told_so_far.tell(&Telling::Reopened { why });
    told_so_far.tell(&later);
    assert!(!told_so_far.story().is_closed);
}

#[test]
fn each_thing_it_was_doing_is_found_again_by_its_code() {
    for each in Doing::ALL {
        assert_eq!(Doing::from_code(each.code()), Some(each));
    }
}
