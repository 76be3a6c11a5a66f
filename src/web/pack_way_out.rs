//! How a pack leaves the pool, or comes back when it was lost: asked, read back before it is done, then done. What may
//! become of it is the club's rule.

use crate::actions::way_out::{self, Way, WayOutFailed};
use crate::app::App;
use crate::club::release::{WayOutRefusal, is_said};
use crate::store::StoreError;
use crate::store::book::looks;
use crate::store::packs::PackView;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::pack_row::what_it_is;
use crate::web::page::{self, Page};
use crate::web::take_back::asked;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::{OriginalUri, State};

page::puts_right!(WayOutPage);

#[derive(Template)]
#[template(path = "way_out.html")]
struct WayOutPage {
    shell: Shell,
    number: String,
    what: String,
    problems: Problems,
    /// What may be chosen: code and words.
    ways: Vec<(&'static str, &'static str)>,
    /// Why it can be neither given away nor withdrawn; empty when it can.
    kept_here: String,
    way: String,
    reason: String,
}

impl WayOutPage {
    async fn of(
        app: &App,
        who: &SignedIn,
        pack: &PackView,
        (typed, problems): (&Fields, Problems),
    ) -> Result<Self, StoreError> {
        let bars = looks::bars(&mut app.db.read().await?, pack.id).await?;
        let suits = |way: &Way| way.suits(pack.life(), &bars);
        let ways: Vec<Way> = Way::ALL.into_iter().filter(suits).collect();
        let kept_here = Way::GiveAway.refused(pack.life(), &bars);
        let kept_here = kept_here.filter(WayOutRefusal::is_of_danger);
        let title = format!("{} out of use", pack.number);
        Ok(Self {
            shell: if problems.is_empty() {
                who.shell(title)
            } else {
                who.shell_refused(title)
            },
            number: pack.number.clone(),
            what: who.numbers().sentence(&what_it_is(pack)),
            problems,
            way: typed.text("way"),
            kept_here: kept_here.map_or_else(String::new, |why| why.to_string()),
            ways: ways.iter().map(|way| (way.code(), label(*way))).collect(),
            reason: typed.text("reason"),
        })
    }
}

const fn label(way: Way) -> &'static str {
    match way {
        Way::Retire => "Retired: used no more, waits to be handed in",
        Way::Lose => "Lost; can be found again",
        Way::GiveAway => "Given away",
        Way::Withdraw => "Withdrawn: entered by mistake",
        Way::Find => "It is found again",
    }
}

/// What was chosen, read back.
#[derive(Template)]
#[template(path = "way_out_read_back.html")]
struct ReadBackPage {
    shell: Shell,
    number: String,
    what: String,
    way: Way,
    reason: String,
    change: String,
}

/// GET /packs/{number}/way-out, and with ?way=…&reason=… what that comes to.
pub async fn ask(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let pack = named(&app, &number).await?;
    let typed = asked(&uri);
    if typed.names().next().is_none() || typed.is_ticked("again") {
        let page = WayOutPage::of(&app, &who, &pack, (&typed, Problems::default())).await?;
        return page::show(&page);
    }
    let (way, reason) = (way_of(&typed), typed.text("reason"));
    let mut problems = Problems::default();
    if way.is_none() {
        problems.add("way", "Choose what becomes of it.");
    }
    if !is_said(&reason) && way != Some(Way::Find) {
        problems.add("reason", WayOutRefusal::NoReason.to_string());
    }
    let Some(way) = way.filter(|_| problems.is_empty()) else {
        return page::put_right(&WayOutPage::of(&app, &who, &pack, (&typed, problems)).await?);
    };
    let again = [
        ("way", way.code()),
        ("reason", reason.as_str()),
        ("again", "yes"),
    ];
    page::show(&ReadBackPage {
        shell: who.shell(format!("Read it back: {}", pack.number)),
        what: who.numbers().sentence(&what_it_is(&pack)),
        way,
        change: format!(
            "/packs/{}/way-out?{}",
            pack.number,
            words::in_address(&again)
        ),
        reason,
        number: pack.number,
    })
}

fn way_of(typed: &Fields) -> Option<Way> {
    let code = typed.text("way");
    Way::ALL.into_iter().find(|way| way.code() == code)
}

/// POST /packs/{number}/way-out
pub async fn take(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let refuse = async |problems: Problems| {
        page::put_right(&WayOutPage::of(&app, &who, &pack, (&fields, problems)).await?)
    };
    let Some(way) = way_of(&fields) else {
        return refuse(Problems::one("way", "Choose what becomes of it.")).await;
    };
    let reason = fields.text("reason");
    match way_out::take_way(&app.db, &who.by(&fields), pack.id, way, &reason).await {
        Ok(_) => page::go_to(&format!("/packs/{}", pack.number)),
        Err(WayOutFailed::Repeat(repeat)) => again(&repeat),
        Err(WayOutFailed::Store(error)) => Err(error.into()),
        Err(refusal) => refuse(Problems::refused("reason", &refusal)).await,
    }
}

impl ReadBackPage {
    const fn follows(&self) -> &'static str {
        match self.way {
            Way::Retire => {
                "It is used no more and enters no loan, for good. Its number and history stay."
            }
            Way::GiveAway | Way::Withdraw => {
                "It leaves the pool for good. Its history stays; its number is never given again."
            }
            Way::Lose => {
                "It leaves the list and enters no loan; a loan it is on is closed. When it turns up it can be put back."
            }
            Way::Find => {
                "It stands in the list again, as it was before, with all that stands against it."
            }
        }
    }

    /// The button says what it does.
    fn button(&self) -> String {
        let number = &self.number;
        match self.way {
            Way::Retire => format!("Retire {number}"),
            Way::GiveAway => format!("Record {number} as given away"),
            Way::Withdraw => format!("Withdraw {number}"),
            Way::Lose => format!("Record {number} as lost"),
            Way::Find => format!("Put {number} back into the pool"),
        }
    }
}
