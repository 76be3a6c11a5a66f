//! The first minute as a card for the wall: to look at, to print, as a PDF; and the form of the club's own plan on it.

use crate::actions::prepared::{self as act, PreparedFailed};
use crate::app::App;
use crate::club::book::wall_card::{self, WallPlan};
use crate::club::hall::Hall;
use crate::paper::sheet::Paper;
use crate::paper::wall_card::{WallCard, pdf as set_card};
use crate::store::book::drills as store;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::press;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

page::puts_right!(PlanPage);

#[derive(Template)]
#[template(path = "book/wall_card.html")]
struct CardPage {
    shell: Shell,
    hall: Hall,
    plan: WallPlan,
    lines: Vec<CardLine>,
    sources: Vec<String>,
    may_change: bool,
}

struct CardLine {
    words: &'static str,
    /// `1, 3`
    numbers: String,
}

#[derive(Template)]
#[template(path = "book/wall_plan.html")]
struct PlanPage {
    shell: Shell,
    problems: Problems,
    plan: WallPlan,
}

fn lines() -> (Vec<CardLine>, Vec<String>) {
    let (lines, sources) = wall_card::lines();
    let told = |line: &wall_card::Numbered| {
        let numbers: Vec<String> = line.sources.iter().map(usize::to_string).collect();
        CardLine {
            words: line.words,
            numbers: numbers.join(", "),
        }
    };
    (lines.iter().map(told).collect(), sources)
}

/// GET /wall-card
pub async fn show(State(app): State<App>, who: SignedIn) -> Page {
    let plan = store::wall_plan(&mut app.db.read().await?).await?;
    let (lines, sources) = lines();
    page::show(&CardPage {
        shell: who.shell("Card for the wall"),
        hall: who.club.hall.clone(),
        plan,
        lines,
        sources,
        may_change: who.me.roles().may_see_holders(),
    })
}

#[derive(Default, Deserialize)]
pub struct OnPaper {
    #[serde(default)]
    pub paper: String,
}

/// What is big on a card: the number as it is dialled, or what to do without it.
pub(super) fn call_words(hall: &Hall) -> String {
    match hall.emergency_number.as_str() {
        "" => "Call the fire service".to_owned(),
        number => format!("Fire service {number}"),
    }
}

/// GET /wall-card.pdf
pub async fn pdf(State(app): State<App>, who: SignedIn, Query(asked): Query<OnPaper>) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let plan = store::wall_plan(&mut app.db.read().await?).await?;
    let card = in_print(&who, &plan);
    let paper = Paper::from_code(&asked.paper).unwrap_or(Paper::A4);
    let set = press::set(&app, move || set_card(&card, paper)).await?;
    let bytes = set.map_err(|error| PageError::Internal(error.to_string()))?;
    press::as_pdf("first-minute", bytes)
}

fn in_print(who: &SignedIn, plan: &WallPlan) -> WallCard {
    let hall = &who.club.hall;
    let (lines, sources) = lines();
    let written = |told: &[wall_card::Told<'_>]| {
        let written = told.iter().filter(|one| !one.words.is_empty());
        written
            .map(|one| (one.label, one.words.to_owned()))
            .collect()
    };
    let day = who.zone.date_words(who.now);
    WallCard {
        title: format!("{}: the first minute", who.club.name),
        call: call_words(hall),
        hall: hall.address.clone(),
        meet: hall.meeting_point.clone(),
        lines: lines
            .into_iter()
            .map(|line| (line.words.to_owned(), line.numbers))
            .collect(),
        who: written(&plan.who_does_what()),
        where_it_is: written(&plan.where_it_is()),
        plan: match hall.plan.as_str() {
            "" => "none is written. Use neither: get away and leave it to the fire service."
                .to_owned(),
            plan => plan.to_owned(),
        },
        sources,
        foot: format!(
            "{}: printed {day}. Local rules and the fire service come first. Print it anew when the plan changes.",
            who.club.name
        ),
    }
}

/// GET /wall-card/plan
pub async fn ask(State(app): State<App>, who: SignedIn) -> Page {
    let plan = store::wall_plan(&mut app.db.read().await?).await?;
    page::show(&PlanPage {
        shell: who.shell("Plan for the first minute"),
        problems: Problems::default(),
        plan,
    })
}

/// POST /wall-card/plan
pub async fn keep(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let plan = WallPlan {
        calls: fields.text("calls"),
        leads_out: fields.text("leads_out"),
        meets_them: fields.text("meets_them"),
        counts: fields.text("counts"),
        power: fields.text("power"),
        sand: fields.text("sand"),
        tongs: fields.text("tongs"),
        extinguishers: fields.text("extinguishers"),
    };
    match act::keep_wall_plan(&app.db, &who.by(&fields), &plan).await {
        Ok(()) => page::go_to("/wall-card"),
        Err(PreparedFailed::Repeat(repeat)) => again(&repeat),
        Err(PreparedFailed::Told(found)) => page::put_right(&PlanPage {
            shell: who.shell_refused("Plan for the first minute"),
            problems: found.into(),
            plan,
        }),
        Err(error) => Err(unread(error)),
    }
}

pub(super) fn unread(error: PreparedFailed) -> PageError {
    match error {
        PreparedFailed::Store(error) => error.into(),
        other => PageError::NotYours(other.to_string()),
    }
}

impl PlanPage {
    fn optional(&self, label: &str) -> String {
        format!("{label} (optional)")
    }
}
