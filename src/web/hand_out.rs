//! Hand out: who, what, until when. A refused form names every reason, asks for the volts that could mend it, and keeps
//! what was typed. Members reach it too where the club lets them borrow for themselves.

use crate::actions::hand_out::{self, HandOut, HandOutFailed, borrower_from};
use crate::actions::volts_now::keep_danger;
use crate::app::App;
use crate::battery::volts::volts_words;
use crate::bench::form::Against;
use crate::club::calendar::Day;
use crate::club::kit::{self, OVERRIDE_SAYS_NOTHING};
use crate::club::label::codes_in;
use crate::club::lending::{Borrower, HandOutRefusal, Typed, borrower_refusal, read_numbers};
use crate::store::at_hand::{self, ToTick, Tonight};
use crate::store::{nights, people};
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::gather;
use crate::web::hand_out_told::{Told, barred};
use crate::web::hand_out_volts::{self, LogNow, TypedVolts};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

/// Of what a loan is for.
const MOST_LETTERS: usize = 200;

#[derive(Template)]
#[template(path = "hand_out.html")]
struct HandOutPage {
    shell: Shell,
    problems: Problems,
    refusals: Vec<Told>,
    is_overridable: bool,
    log_now: Vec<LogNow>,
    /// Numbers of packs whose dangerous volts are stored, though nothing was handed out.
    stored: Vec<String>,
    form: HandOutForm,
    people: Vec<(String, String)>,
    night: Option<Tonight>,
    /// Of a night that ended and that nobody has closed; empty while it goes on.
    night_ended: String,
    to_tick: Vec<ToTick>,
    is_quartermaster: bool,
    /// Why a member who asks borrows nothing now; empty: nothing stands against it.
    barred: String,
    has_decimal_comma: bool,
    /// The widest spread that may go out with a reason, V.
    widest: String,
}

impl HandOutPage {
    /// What is wrong with a field: what was typed, or else what stands against handing it out.
    fn beside(&self, field: &str) -> String {
        let wrong = self.problems.of(field);
        if !wrong.is_empty() {
            return wrong.to_owned();
        }
        let refused = self.refusals.iter().filter(|told| told.field == field);
        let words: Vec<&str> = refused.map(|told| told.words.as_str()).collect();
        words.join(" ")
    }

    /// With the fields in order it is the rules of lending.
    fn against(&self) -> Against {
        let lacks_right = self
            .refusals
            .iter()
            .any(|told| told.against == Against::Right);
        match self.problems.is_empty() {
            false => self.problems.against(),
            true if lacks_right => Against::Right,
            true => Against::Rule,
        }
    }

    /// Where nothing that is chosen would change it, why stands alone; what was sent is kept all the same.
    fn has_form(&self) -> bool {
        self.barred.is_empty() || self.shell.is_error
    }
}

impl page::PutsRight for HandOutPage {
    fn told(&self) -> page::ToPutRight {
        let beside = |told: &Told| (told.field.to_owned(), told.words.clone());
        let refusals = self.refusals.iter().map(beside);
        page::ToPutRight {
            problems: self
                .problems
                .list()
                .iter()
                .cloned()
                .chain(refusals)
                .collect(),
            stored: self.stored.clone(),
            against: self.against(),
            ..page::ToPutRight::default()
        }
    }
}

#[derive(Clone, Default)]
pub(super) struct HandOutForm {
    pub person: String,
    pub items: String,
    pub due: String,
    pub purpose: String,
    reason: String,
    rested: String,
}

impl HandOutForm {
    /// A reason that says nothing overrides nothing.
    fn reason_problems(&self, is_overridable: bool) -> Problems {
        let is_said = kit::reason(&self.reason).is_some();
        if !is_overridable || is_said || self.reason.trim().is_empty() {
            return Problems::default();
        }
        Problems::one("reason", OVERRIDE_SAYS_NOTHING)
    }

    fn of(fields: &Fields) -> Self {
        let mut typed = vec![fields.text("items")];
        typed.extend(fields.all("item"));
        typed.retain(|text| !text.is_empty());
        Self {
            person: fields.text("person"),
            items: typed.join(" "),
            due: fields.text("due"),
            purpose: fields.text("purpose"),
            reason: fields.text("reason"),
            rested: fields.text("rested"),
        }
    }
}

/// Who borrows, what, and until when; None where that must be put right, or was left open.
type Asked = (Option<Uuid>, Option<Vec<Typed>>, Option<Day>);

impl HandOutForm {
    pub(super) fn read(&self, problems: &mut Problems) -> Asked {
        let borrower_id = problems.keep(
            "person",
            self.person.parse().map_err(|_| "Choose who borrows."),
        );
        let items = problems.keep("items", read_numbers(&self.items).map_err(|word| format!("“{word}” is no number. Type packs as 14 15 17-20, kit as C-01, three adapters as A-01x3.")));
        let day = Day::parse(&self.due).ok_or("Write the day as 2026-11-27.");
        let due = if self.due.is_empty() {
            None
        } else {
            problems.keep("due", day)
        };
        if self.purpose.chars().count() > MOST_LETTERS {
            let words = format!("Say it in at most {MOST_LETTERS} letters.");
            problems.add("purpose", words);
        }
        (borrower_id, items, due)
    }
}

#[derive(Deserialize)]
pub struct Prefilled {
    #[serde(default)]
    items: String,
    #[serde(default)]
    person: String,
    #[serde(default)]
    due: String,
    #[serde(default)]
    purpose: String,
}

async fn page_for(
    app: &App,
    who: &SignedIn,
    shell: Shell,
    form: HandOutForm,
) -> Result<HandOutPage, PageError> {
    let mut conn = app.db.read().await?;
    let is_quartermaster = who.me.is_quartermaster;
    let today = who.zone.day_of(who.now);
    let all = if is_quartermaster {
        people::who_may_borrow(&mut conn, today).await?
    } else {
        let me = people::borrower(&mut conn, who.me.person_id, today).await?;
        me.into_iter().collect()
    };
    let old_before = who.now.plus_days(-who.club.limits().reading_days);
    let at_hand = at_hand::now(&mut conn, old_before).await?;
    drop(conn);
    let mut to_tick = at_hand.items;
    for one in &mut to_tick {
        one.why = who.numbers().sentence(&one.why);
    }
    let night_ended = at_hand.night.as_ref().map(|night| ended(night, who));
    let all: Vec<Borrower> = all.into_iter().map(borrower_from).collect();
    let barred = barred(&all, who);
    let people = all
        .into_iter()
        .map(|borrower| {
            let note = match borrower_refusal(&borrower) {
                Some(HandOutRefusal::InductionRanOut { .. }) => " (induction ran out)",
                Some(_) => " (no induction)",
                None => "",
            };
            (borrower.id.to_string(), format!("{}{note}", borrower.name))
        })
        .collect();
    Ok(HandOutPage {
        shell,
        problems: Problems::default(),
        refusals: Vec::new(),
        is_overridable: false,
        log_now: Vec::new(),
        stored: Vec::new(),
        form,
        people,
        night: at_hand.night,
        night_ended: night_ended.unwrap_or_default(),
        to_tick,
        is_quartermaster,
        barred,
        has_decimal_comma: who.club.uses_decimal_comma,
        widest: who
            .numbers()
            .sentence(&volts_words(who.club.limits().spread_override_mv)),
    })
}

/// A quartermaster hands out; a member borrows.
const fn title(who: &SignedIn) -> &'static str {
    if who.me.is_quartermaster {
        "Hand out"
    } else {
        "Borrow"
    }
}

fn ended(night: &Tonight, who: &SignedIn) -> String {
    let end = nights::end_of(&night.ends_on, &night.ends_at, &who.zone);
    end.filter(|end| *end <= who.now)
        .map_or_else(String::new, |end| {
            let (day, time) = (who.zone.date_words(end), who.zone.time_words(end));
            format!("The night at {} ended on {day}, {time}.", night.place_name)
        })
}

/// GET /hand-out
pub async fn ask(State(app): State<App>, who: SignedIn, Query(query): Query<Prefilled>) -> Page {
    let person = if who.me.is_quartermaster {
        query.person
    } else {
        who.me.person_id.to_string()
    };
    let form = HandOutForm {
        items: query.items,
        person,
        due: query.due,
        purpose: query.purpose,
        ..HandOutForm::default()
    };
    page::show(&page_for(&app, &who, who.shell(title(&who)), form).await?)
}

/// What was sent, labels that were scanned as the numbers of their packs.
pub(super) async fn form_of(app: &App, fields: &Fields) -> Result<HandOutForm, PageError> {
    let mut form = HandOutForm::of(fields);
    form.items = scanned::as_numbers(app, &form.items).await?;
    Ok(form)
}

/// It was to be gathered by scanning, and something has to be put right first.
pub(super) async fn not_gathered(
    app: &App,
    who: &SignedIn,
    form: HandOutForm,
    problems: Problems,
) -> Page {
    let refused = Refused {
        problems,
        ..Refused::default()
    };
    refuse(app, who, form, refused).await
}

/// POST /hand-out
pub async fn hand_out(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    // A scanner that types ends with Enter: what it typed is a label, and more of them are to come.
    if fields.is_ticked("enter") && !codes_in(&fields.text("items")).is_empty() {
        return gather::begin(State(app), who, fields).await;
    }
    let form = form_of(&app, &fields).await?;
    let mut problems = Problems::default();
    let (borrower_id, items, due) = form.read(&mut problems);
    let mut typed = hand_out_volts::typed(&app, &fields, &mut problems).await?;
    let volts_now = hand_out_volts::measured(&who, &form.rested, &mut typed, &mut problems);
    let is_complete = borrower_id.is_some() && items.is_some() && problems.is_empty();
    let wanted = HandOut {
        borrower_id: borrower_id.unwrap_or_default(),
        items: items.unwrap_or_default(),
        due,
        purpose: form.purpose.clone(),
        override_reason: form.reason.clone(),
        volts_now,
        looked_at: hand_out_volts::looked_at(&typed),
    };
    let by = who.by(&fields);
    let problems = if is_complete {
        match hand_out::hand_out(&app.db, &by, &wanted).await {
            Ok(loan) => return page::go_to(&format!("/loans/{loan}?new=1")),
            Err(HandOutFailed::Repeat(repeat)) => return again(&repeat),
            Err(HandOutFailed::Store(error)) => return Err(error.into()),
            // Every reason; and the packs whose volts, logged now, could mend it.
            Err(HandOutFailed::Refused {
                refusals,
                may_log_now,
                is_overridable,
            }) => {
                let told = |refusal| Told::of(refusal, &who, &form.person);
                let refused = Refused {
                    problems: form.reason_problems(is_overridable),
                    refusals: refusals.iter().map(told).collect(),
                    stored: hand_out_volts::dangerous(&by, &typed, &wanted.volts_now),
                    volts: hand_out_volts::to_type(&app, may_log_now, typed).await?,
                    is_overridable,
                };
                return refuse(&app, &who, form, refused).await;
            }
            Err(failed) => Problems::one(field_of(&failed), failed.to_string()),
        }
    } else {
        problems
    };
    // Nothing was stored so far: danger is, and leaves the list; the rest of what was typed is kept.
    let stored = match keep_danger(&app.db, &by, &wanted).await {
        Ok(stored) => stored,
        Err(HandOutFailed::Store(error)) => return Err(error.into()),
        Err(refusal) => return Err(PageError::Refused(refusal.to_string())),
    };
    typed.retain(|one| !stored.iter().any(|number| number == one.number()));
    let refused = Refused {
        problems,
        volts: typed,
        stored,
        ..Refused::default()
    };
    refuse(&app, &who, form, refused).await
}

const fn field_of(failed: &HandOutFailed) -> &'static str {
    match failed {
        HandOutFailed::NoPerson => "person",
        HandOutFailed::Due(_) => "due",
        _ => "items",
    }
}

#[derive(Default)]
struct Refused {
    problems: Problems,
    refusals: Vec<Told>,
    volts: Vec<TypedVolts>,
    stored: Vec<String>,
    is_overridable: bool,
}

async fn refuse(app: &App, who: &SignedIn, form: HandOutForm, refused: Refused) -> Page {
    let page = page_for(app, who, who.shell_refused(title(who)), form).await?;
    let log_now = refused
        .volts
        .into_iter()
        .map(|typed| LogNow::of(typed, &refused.problems))
        .collect();
    page::put_right(&HandOutPage {
        problems: refused.problems,
        refusals: refused.refusals,
        log_now,
        stored: refused.stored,
        is_overridable: refused.is_overridable,
        ..page
    })
}
