//! GET /charges/evening: many packs, few chargers, and somebody who stays: which pack goes where when. Looking changes
//! nothing but that it was shown is kept; each pack is then started by its own card.

use crate::actions::charging::{asked, may_plan};
use crate::app::App;
use crate::bench::plan::evening::{Evening, Turn, Waiting, evening};
use crate::bench::plan::{Numbered, Purpose, Told};
use crate::club::calendar::Instant;
use crate::club::events::MOST_PACKS;
use crate::store::charges::lately::Usual;
use crate::store::charges::{self, ToCharge};
use crate::store::charging_kit::{self, ChargingKit};
use crate::web::asked::Query;
use crate::web::charge_asked::{Form, Understood};
use crate::web::charge_card::{long, of_pack};
use crate::web::charge_shown::{self, kept_words};
use crate::web::fields::Problems;
use crate::web::label_sheet_typed::keys_of;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

/// What takes the time it takes is planned until then.
const STORAGE_MINUTES: i64 = 12 * 60;
/// Nobody stays longer than that.
const LONGEST_MINUTES: i64 = 24 * 60;

page::puts_right!(EveningPage);

#[derive(Template)]
#[template(path = "charge_many.html")]
struct EveningPage {
    shell: Shell,
    problems: Problems,
    asked: Many,
    unit: &'static str,
    people: Vec<(String, String)>,
    shown: Option<Shown>,
    /// The storage round that is planned for, to go back to.
    round: Option<Uuid>,
    is_quartermaster: bool,
}

struct Shown {
    turns: Vec<Row>,
    left_over: Vec<(String, String)>,
    watched: String,
    until: When,
    takes: String,
    /// When the hall locks or somebody leaves, where that time is over for today: then tomorrow is meant.
    tomorrow: Option<When>,
    longer: Option<Longer>,
    /// Of each turn, what is kept for the incident book.
    kept: Vec<(Uuid, String)>,
}

/// What would be done if somebody stayed longer.
struct Longer {
    until: When,
    turns: usize,
    of: usize,
}

struct Row {
    from: When,
    to: When,
    number: String,
    charger: String,
    first: String,
    setting: String,
    steps: String,
    /// What is said against the pack, and of the way it is charged.
    cautions: Vec<String>,
    /// `450 to 520 mAh out, 35 to 50 min`
    moves: String,
    address: String,
}

#[derive(Clone, Default, Deserialize)]
#[serde(default)]
pub struct Many {
    numbers: String,
    purpose: String,
    at: String,
    room: String,
    pack: String,
    watched_by: String,
    /// The storage round that is planned for.
    round: String,
    /// The form was sent, though nothing may be filled in.
    sent: String,
}

impl Many {
    fn form(&self) -> Form {
        Form {
            purpose: self.purpose.clone(),
            at: self.at.clone(),
            room: self.room.clone(),
            pack: self.pack.clone(),
            ..Form::default()
        }
    }
}

/// GET /charges/evening
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Many>) -> Page {
    let mut problems = Problems::default();
    let form = asked.form();
    let nothing = Usual::default();
    let is_asked = !asked.numbers.is_empty()
        || !asked.sent.is_empty()
        || !matches!(form.understood(&who, nothing), Understood::NotAsked);
    let keys = if is_asked {
        numbers(&asked.numbers, &mut problems)
    } else {
        Vec::new()
    };
    let mut conn = app.db.read().await?;
    let packs = charges::to_charge_by_keys(&mut conn, &keys).await?;
    let kit = charging_kit::at_hand(&mut conn, Some(who.zone.day_of(who.now)), None).await?;
    drop(conn);
    let understood = form.understood(&who, usual_of_all(&packs, &who));
    if is_asked && problems.is_empty() && packs.is_empty() {
        problems.add("numbers", "None of these is a pack in use.");
    }
    let shown = shown(
        &who,
        (&packs, &kit),
        (understood, is_asked),
        (&asked, &mut problems),
    );
    let kept = shown
        .as_ref()
        .map_or(<&[_]>::default(), |shown| &shown.kept);
    charge_shown::keep(&app, &who, kept).await;
    let people = kit
        .watchers
        .iter()
        .map(|one| (one.id.to_string(), one.name.clone()));
    let title = "Plan many packs";
    let is_wrong = !problems.is_empty();
    let page = EveningPage {
        shell: if is_wrong {
            who.shell_refused(title)
        } else {
            who.shell(title)
        },
        problems,
        round: asked.round.parse().ok(),
        is_quartermaster: who.me.is_quartermaster,
        asked,
        unit: if who.club.uses_fahrenheit {
            "°F"
        } else {
            "°C"
        },
        people: people.collect(),
        shown,
    };
    if is_wrong {
        page::put_right(&page)
    } else {
        page::show(&page)
    }
}

/// As warm as the places of all of them usually are, where that is the same.
fn usual_of_all(packs: &[ToCharge], who: &SignedIn) -> Usual {
    let mut all = packs.iter().map(|one| one.usual(who.now));
    let Some(first) = all.next() else {
        return Usual::default();
    };
    all.fold(first, |same, other| Usual {
        room: same.room.filter(|_| same.room == other.room),
        pack: same.pack.filter(|_| same.pack == other.pack),
    })
}

/// The evening as asked; None where something is to be put right first, or nothing was asked.
fn shown(
    who: &SignedIn,
    (packs, kit): (&[ToCharge], &ChargingKit),
    (understood, is_asked): (Understood, bool),
    (asked, problems): (&Many, &mut Problems),
) -> Option<Shown> {
    let form = asked.form();
    let conditions = match understood {
        Understood::Asked(conditions) => conditions,
        Understood::Wrong(wrong) => {
            problems.extend(wrong);
            return None;
        }
        Understood::NotAsked if is_asked && problems.is_empty() => {
            problems.add("purpose", "Choose what they are charged for.");
            return None;
        }
        Understood::NotAsked => return None,
    };
    let warmth = [
        (conditions.warmth.room_celsius, "room_celsius"),
        (conditions.warmth.pack_celsius, "pack_celsius"),
    ];
    let lacking: Vec<&str> = warmth
        .into_iter()
        .filter(|(celsius, _)| celsius.is_none())
        .map(|(_, name)| name)
        .collect();
    problems.extend(form.lacking(&lacking));
    let within = match conditions.purpose.within_minutes() {
        Some(minutes) => minutes,
        None if asked.at.is_empty() => STORAGE_MINUTES,
        // The hall locks then.
        None => form.minutes(who).unwrap_or_else(|| {
            problems.add("at", "Type a time like 14:40.");
            0
        }),
    };
    let waiting = waiting(who, packs, conditions);
    let is_clear = problems.is_empty();
    is_clear.then(|| {
        planned(
            who,
            (packs, waiting, within),
            (kit, &form),
            &asked.watched_by,
        )
    })
}

fn numbers(line: &str, problems: &mut Problems) -> Vec<i64> {
    let keys = keys_of(line, problems);
    if problems.is_empty() && !(1..=MOST_PACKS).contains(&keys.len()) {
        problems.add(
            "numbers",
            format!("Name 1 to {MOST_PACKS} packs, like 1-9."),
        );
        return Vec::new();
    }
    keys
}

/// Those that may be charged, and those that get no settings with why.
type Split = (Vec<Waiting>, Vec<(String, String)>);

fn waiting(
    who: &SignedIn,
    packs: &[ToCharge],
    conditions: crate::actions::charging::Conditions,
) -> Split {
    let (mut waiting, mut none) = (Vec::new(), Vec::new());
    let limits = who.club.limits();
    for one in packs {
        let number = one.pack.number.clone();
        match (
            may_plan(one, who.now, &limits),
            asked(one, conditions, (who.now, &limits)),
        ) {
            (Ok(()), Some(asked)) => waiting.push(Waiting {
                pack: Numbered {
                    key: one.pack.number_key,
                    number,
                },
                asked,
            }),
            (Err(why), _) => none.push((number, why.to_string())),
            (Ok(()), None) => none.push((
                number,
                "Its volts were never logged: log them first.".to_owned(),
            )),
        }
    }
    (waiting, none)
}

fn planned(
    who: &SignedIn,
    (packs, (waiting, mut left_over), within): (&[ToCharge], Split, i64),
    (kit, form): (&ChargingKit, &Form),
    watched_by: &str,
) -> Shown {
    let told = evening(waiting.clone(), &kit.hand, within);
    let longer = longer(waiting, kit, &told);
    let numbers = who.numbers();
    let of = |turn: &Turn| packs.iter().find(|one| one.pack.number == turn.pack.number);
    let kept = told.turns.iter().filter_map(|turn| {
        let pack = &of(turn)?.pack;
        let words = kept_words(&form.purpose, &turn.plan, (&pack.build(), &kit.hand));
        Some((pack.id, words))
    });
    let kept = kept.collect();
    let row = |turn: &Turn| {
        let one = of(turn)?;
        let mut told = Told::of(&turn.plan, &one.pack.build(), &kit.hand, numbers);
        told.cautions.splice(0..0, of_pack(who, one));
        Some(Row::of(turn, told, (who, form)))
    };
    left_over.extend(
        told.left_over
            .iter()
            .map(|left| (left.pack.number.clone(), numbers.sentence(&left.why))),
    );
    let watching = kit
        .watchers
        .iter()
        .find(|one| one.id.to_string() == watched_by);
    Shown {
        turns: told.turns.iter().filter_map(row).collect(),
        left_over,
        watched: watching.map_or_else(|| "Somebody".to_owned(), |one| one.name.clone()),
        until: clock(after(who, told.minutes()), who.now, &who.zone),
        takes: long(told.minutes()),
        tomorrow: form.tomorrow(who),
        kept,
        longer: longer.map(|longer| Longer {
            until: clock(after(who, longer.minutes()), who.now, &who.zone),
            turns: longer.turns.len(),
            of: packs.len(),
        }),
    }
}

/// With all the time there may be, where more packs get their turn then. What must be ready by a time is charged harder the less of it
/// there is, so that more time tells nothing of it.
fn longer(waiting: Vec<Waiting>, kit: &ChargingKit, told: &Evening) -> Option<Evening> {
    let is_timed = |one: &Waiting| matches!(one.asked.purpose, Purpose::ReadyBy { .. });
    if told.left_over.is_empty() || waiting.iter().any(is_timed) {
        return None;
    }
    let longer = evening(waiting, &kit.hand, LONGEST_MINUTES);
    (longer.turns.len() > told.turns.len()).then_some(longer)
}

fn after(who: &SignedIn, minutes: i64) -> Instant {
    who.now.plus_minutes(minutes)
}

impl Row {
    fn of(turn: &Turn, told: Told, (who, form): (&SignedIn, &Form)) -> Self {
        let plan = &turn.plan;
        let output = if plan.has_outputs > 1 {
            format!(", output {}", plan.output + 1)
        } else {
            String::new()
        };
        let at = |minute: i64| clock(after(who, minute), who.now, &who.zone);
        Self {
            from: at(turn.from_minute),
            to: at(turn.to_minute),
            number: turn.pack.number.clone(),
            charger: format!("{}{output}", plan.charger.number),
            first: told.first.unwrap_or_default(),
            setting: format!("{}; cut off at {}", told.read_back, told.cut_off),
            cautions: told.cautions,
            steps: told.steps.join("; "),
            moves: format!("{}, {}", told.moves, told.takes),
            address: form.address(&turn.pack.number, &plan.charger.number),
        }
    }
}
