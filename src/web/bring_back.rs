//! A member brings something back alone: what is seen on it first, then its loan is closed. Taking back at the table,
//! with volts, is `take_back`.

use crate::actions::bring_back::{self, BringBackRefusal, Brought};
use crate::actions::watching;
use crate::app::App;
use crate::bench::form::Against;
use crate::club::glance::GlanceRefusal;
use crate::store::loans::{self, Out};
use crate::store::packs;
use crate::web::asked::{Path, Query};
use crate::web::charging_now::{ChargingNow, of_out};
use crate::web::fields::{Fields, Problems};
use crate::web::glance::Answer;
use crate::web::pack::again;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page, PageError};
use crate::web::stop::Stop;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(BringBackPage);

#[derive(Template)]
#[template(path = "bring_back.html")]
struct BringBackPage {
    shell: Shell,
    problems: Problems,
    lent_id: Uuid,
    number: String,
    is_pack: bool,
    /// Of adapters: how many are with the member.
    out: Option<i64>,
    charging: Option<ChargingNow>,
    answer: Answer,
    kit_words: String,
    counted: String,
    /// It stays where it lies: what to do, and until when.
    watched: Option<(Stop, When)>,
}

impl BringBackPage {
    fn of(out: Out, who: &SignedIn, shell: Shell, answer: Answer) -> Self {
        Self {
            charging: of_out(&out, who),
            shell,
            problems: Problems::default(),
            lent_id: out.lent_id,
            number: out.number,
            is_pack: out.pack_id.is_some(),
            out: out.counted.filter(|count| *count > 1),
            answer,
            kit_words: String::new(),
            counted: String::new(),
            watched: None,
        }
    }

    /// With what its watch says of it; a quartermaster may say that it came all the same.
    async fn of_watched(
        app: &App,
        (out, who): (Out, &SignedIn),
        shell: Shell,
        answer: Answer,
    ) -> Result<Self, PageError> {
        let pack_id = out.pack_id.filter(|_| !who.me.is_quartermaster);
        let page = Self::of(out, who, shell, answer);
        let Some(pack_id) = pack_id else {
            return Ok(page);
        };
        let period = (who.now, who.club.in_danger.watch);
        let stands = watching::stands(&mut app.db.read().await?, pack_id, period).await?;
        let until = stands.map(|(_, standing)| standing.watched_until);
        let until = until.filter(|until| who.now < *until);
        let watched = until.map(|until| (Stop::out(), clock(until, who.now, &who.zone)));
        Ok(Self { watched, ..page })
    }
}

/// What is out with whoever looks, or with those they answer for.
pub(super) async fn mine_out(app: &App, who: &SignedIn, lent_id: Uuid) -> Result<Out, PageError> {
    let found = loans::out_with(&mut app.db.read().await?, who.me.person_id).await?;
    found
        .into_iter()
        .find(|out| out.lent_id == lent_id)
        .ok_or(PageError::NotFound)
}

/// GET /mine/{lent}/bring-back
pub async fn ask_bring_back(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let out = mine_out(&app, &who, id).await?;
    let shell = who.shell(format!("Bring back {}", out.number));
    let answer = Answer::default();
    page::show(&BringBackPage::of_watched(&app, (out, &who), shell, answer).await?)
}

/// POST /mine/{lent}/bring-back
pub async fn bring_back(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let answer = Answer::of(&fields, "", false);
    let (kit_words, counted) = (fields.text("kit_words"), fields.text("counted"));
    let brought = Brought {
        looked: answer.looked.clone(),
        kit_words: &kit_words,
        counted: fields.count("counted"),
    };
    match bring_back::bring_back(&app.db, &who.by(&fields), id, &brought).await {
        Ok(line) => page::go_to(&format!("/mine/{line}/brought-back")),
        Err(BringBackRefusal::Repeat(repeat)) => again(&repeat),
        Err(BringBackRefusal::Store(error)) => Err(error.into()),
        Err(BringBackRefusal::NotYours) => Err(PageError::NotFound),
        Err(BringBackRefusal::WasBack) => page::go_to(&bring_back::late_at(id)),
        Err(refusal @ BringBackRefusal::NotSoMany { .. }) => {
            let out = mine_out(&app, &who, id).await?;
            let shell = who.shell_refused(format!("Bring back {}", out.number));
            page::put_right(&BringBackPage {
                problems: Problems::one("counted", refusal.to_string()),
                kit_words,
                counted,
                ..BringBackPage::of(out, &who, shell, answer)
            })
        }
        Err(refusal @ BringBackRefusal::Watched { .. }) => {
            let out = mine_out(&app, &who, id).await?;
            let shell = who.shell_refused(format!("Bring back {}", out.number));
            let problems = Problems::one("look", refusal.to_string()).by(Against::Rule);
            page::put_right(&BringBackPage {
                problems,
                ..BringBackPage::of_watched(&app, (out, &who), shell, answer).await?
            })
        }
        Err(BringBackRefusal::NothingTicked) => {
            let out = mine_out(&app, &who, id).await?;
            let shell = who.shell_refused(format!("Bring back {}", out.number));
            let refusal = answer.refusal.unwrap_or(GlanceRefusal::Unsaid);
            let problems = Problems::one("look", format!("{}: {refusal}", out.number));
            page::put_right(&BringBackPage {
                problems,
                ..BringBackPage::of(out, &who, shell, answer)
            })
        }
    }
}

#[derive(Template)]
#[template(path = "brought_back.html")]
struct BroughtBackPage {
    shell: Shell,
    number: String,
    /// None: it is a piece of kit.
    row: Option<PackRow>,
    /// Danger stands against it.
    stop: Option<Stop>,
    /// Somebody had it off the loan before; what was seen on it is stored.
    is_late: bool,
}

#[derive(Default, Deserialize)]
#[serde(default)]
pub struct BroughtBack {
    late: String,
}

/// GET /mine/{lent}/brought-back: what came of it, and what is next.
pub async fn brought_back(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(asked): Query<BroughtBack>,
) -> Page {
    let mut conn = app.db.read().await?;
    let line = loans::line(&mut conn, id)
        .await?
        .filter(|line| line.out.is_with(who.me.person_id) && !line.is_out())
        .ok_or(PageError::NotFound)?;
    let packs = packs::of_lines(&mut conn, &[id]).await?;
    drop(conn);
    let row = packs.first().map(|one| PackRow::of(&one.pack, &who));
    page::show(&BroughtBackPage {
        shell: who.shell(format!("{} is back", line.out.number)),
        stop: row.as_ref().and_then(Stop::after_return),
        row,
        number: line.out.number,
        is_late: !asked.late.is_empty(),
    })
}
