//! Hand out: who, what, until when. A refused form names every reason, asks for the volts that could mend it, and keeps
//! what was typed. Members reach it too where the club lets them borrow for themselves.

use crate::actions::hand_out::{self, HandOut, HandOutFailed, borrower_from};
use crate::actions::reading::Measured;
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::lending::{HandOutRefusal, borrower_refusal, read_numbers};
use crate::club::reading::Rested;
use crate::store::at_hand::{self, ToTick, Tonight};
use crate::store::packs::{self, PackView};
use crate::store::people;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "hand_out.html")]
struct HandOutPage {
    shell: Shell,
    problems: Problems,
    refusals: Vec<Told>,
    is_overridable: bool,
    log_now: Vec<LogNow>,
    form: HandOutForm,
    people: Vec<(String, String)>,
    night: Option<Tonight>,
    to_tick: Vec<ToTick>,
    is_quartermaster: bool,
    has_decimal_comma: bool,
}

/// A refusal in words, with the page on which a quartermaster does what it asks for.
struct Told {
    words: String,
    link: Option<(String, &'static str)>,
}

impl Told {
    fn of(refusal: &HandOutRefusal, who: &SignedIn, form: &HandOutForm) -> Self {
        let link = match refusal {
            HandOutRefusal::NoInduction { .. } | HandOutRefusal::InductionRanOut { .. } => {
                let address = format!("/people/{}/induction", form.person);
                Some((address, "Note an induction"))
            }
            HandOutRefusal::KitUnchecked { number } => {
                Some((format!("/kit?text={number}"), "Look it over"))
            }
            HandOutRefusal::NotEnough { number, but, .. } if !but.is_empty() => {
                Some((format!("/kit?text={number}"), "See to it"))
            }
            _ => None,
        };
        Self {
            words: who.numbers().sentence(&refusal.to_string()),
            link: link.filter(|_| who.me.is_quartermaster),
        }
    }
}

#[derive(Clone, Default)]
struct HandOutForm {
    person: String,
    items: String,
    due: String,
    purpose: String,
    reason: String,
    rested: String,
}

struct LogNow {
    number: String,
    line: String,
    problem: String,
    /// None: it shows no cells, its volts are those of the whole pack.
    cells: Option<i64>,
    /// It counts as out: it is booked in with its volts, so somebody has to have looked at it.
    is_out: bool,
    is_looked_at: bool,
}

/// Volts of one pack as they were typed at the table, and whether it was looked over.
struct TypedVolts {
    pack: PackView,
    line: String,
    is_looked_at: bool,
}

impl TypedVolts {
    const fn none(pack: PackView) -> Self {
        Self {
            pack,
            line: String::new(),
            is_looked_at: false,
        }
    }
}

impl LogNow {
    fn of(typed: TypedVolts, problems: &Problems) -> Self {
        let pack = typed.pack;
        Self {
            problem: problems
                .of(&format!("volts_line-{}", pack.number))
                .to_owned(),
            cells: pack.balance_connector.as_ref().map(|_| pack.cells_series),
            is_out: pack.is_lent(),
            is_looked_at: typed.is_looked_at,
            line: typed.line,
            number: pack.number,
        }
    }
}

impl HandOutForm {
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

#[derive(Deserialize)]
pub struct Prefilled {
    #[serde(default)]
    items: String,
    #[serde(default)]
    person: String,
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
    let people = all
        .into_iter()
        .map(|person| {
            let borrower = borrower_from(person);
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
        form,
        people,
        night: at_hand.night,
        to_tick: at_hand.items,
        is_quartermaster,
        has_decimal_comma: who.club.uses_decimal_comma,
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
        ..HandOutForm::default()
    };
    page::show(&page_for(&app, &who, who.shell("Hand out"), form).await?)
}

/// POST /hand-out
pub async fn hand_out(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = HandOutForm::of(&fields);
    let mut problems = Problems::default();
    let borrower_id = problems.keep(
        "person",
        form.person.parse().map_err(|_| "Choose who borrows."),
    );
    let items = problems.keep("items", read_numbers(&form.items).map_err(|word| format!("“{word}” is no number. Type packs as 14 15 17-20, kit as C-01, three adapters as A-01x3.")));
    let due = if form.due.is_empty() {
        None
    } else {
        problems.keep(
            "due",
            Day::parse(&form.due).ok_or("Write the day as 2026-11-27."),
        )
    };
    let mut typed = volts_typed(&app, &fields).await?;
    let volts_now = volts_now(&who, &form, &mut typed, &mut problems);
    let (Some(borrower_id), Some(items), true) = (borrower_id, items, problems.is_empty()) else {
        return refuse(
            &app,
            &who,
            form,
            Refused {
                problems,
                volts: typed,
                ..Refused::default()
            },
        )
        .await;
    };
    let wanted = HandOut {
        borrower_id,
        items,
        due,
        purpose: form.purpose.clone(),
        override_reason: form.reason.clone(),
        volts_now,
        looked_at: fields.all("looked_at"),
    };
    let refused = match hand_out::hand_out(&app.db, &who.by(&fields), &wanted).await {
        Ok(loan) => return page::go_to(&format!("/loans/{loan}?new=1")),
        Err(HandOutFailed::Repeat(repeat)) => return again(&repeat),
        Err(HandOutFailed::Store(error)) => return Err(error.into()),
        Err(HandOutFailed::Refused {
            refusals,
            may_log_now,
            is_overridable,
        }) => Refused {
            refusals: refusals
                .iter()
                .map(|refusal| Told::of(refusal, &who, &form))
                .collect(),
            volts: may_log_now.into_iter().map(TypedVolts::none).collect(),
            is_overridable,
            ..Refused::default()
        },
        Err(HandOutFailed::NoPerson) => Refused::at("person", "Choose who borrows."),
        Err(HandOutFailed::Due(refusal)) => Refused::at("due", &refusal.to_string()),
        Err(refusal) => Refused::at("items", &refusal.to_string()),
    };
    refuse(&app, &who, form, refused).await
}

#[derive(Default)]
struct Refused {
    problems: Problems,
    refusals: Vec<Told>,
    volts: Vec<TypedVolts>,
    is_overridable: bool,
}

impl Refused {
    fn at(field: &str, words: &str) -> Self {
        Self {
            problems: Problems::one(field, words),
            ..Self::default()
        }
    }
}

async fn refuse(app: &App, who: &SignedIn, form: HandOutForm, refused: Refused) -> Page {
    let page = page_for(app, who, who.shell_refused("Hand out"), form).await?;
    let log_now = refused
        .volts
        .into_iter()
        .map(|typed| LogNow::of(typed, &refused.problems))
        .collect();
    page::refused(&HandOutPage {
        problems: refused.problems,
        refusals: refused.refusals,
        log_now,
        is_overridable: refused.is_overridable,
        ..page
    })
}

/// The packs whose volts were typed at the table; more than fifty are nobody's evening.
async fn volts_typed(app: &App, fields: &Fields) -> Result<Vec<TypedVolts>, PageError> {
    let looked_at = fields.all("looked_at");
    let numbers = fields
        .names()
        .filter_map(|name| name.strip_prefix("volts_line-"));
    let mut typed = Vec::new();
    for number in numbers.take(50) {
        let pack = packs::by_number(&mut app.db.read().await?, number).await?;
        typed.extend(pack.map(|pack| TypedVolts {
            line: fields.text(&format!("volts_line-{number}")),
            is_looked_at: looked_at.contains(&pack.number),
            pack,
        }));
    }
    Ok(typed)
}

fn volts_now(
    who: &SignedIn,
    form: &HandOutForm,
    typed: &mut [TypedVolts],
    problems: &mut Problems,
) -> Vec<(String, Measured)> {
    let rested = Rested::from_code(&form.rested);
    let mut read = Vec::new();
    for one in typed.iter_mut().filter(|one| !one.line.is_empty()) {
        let number = &one.pack.number;
        if one.pack.is_lent() && !one.is_looked_at {
            let words =
                format!("{number} counts as out: look it over and say so, or take it back.");
            problems.add(&format!("volts_line-{number}"), words);
            continue;
        }
        let mut volts = VoltsForm {
            line: one.line.clone(),
            ..VoltsForm::default()
        };
        match volts.measured(&one.pack, rested, who.numbers()) {
            Ok(measured) => read.push((number.clone(), measured)),
            Err(wrong) => wrong.note(problems, &format!("-{number}")),
        }
        one.line = volts.line;
    }
    read
}
