//! The page of a report for whoever sent it, at an address that nobody guesses: whether it was read, the answers, and what to do
//! meanwhile. It tells nothing of the pack but what they told themselves. Its photo can be added here afterwards.

use crate::actions::report_photo;
use crate::actions::see_to_reports::looked_of;
use crate::app::App;
use crate::club::book::stop::{Lies, Watch, of_pack};
use crate::club::hall::Hall;
use crate::club::label::is_code;
use crate::club::reports::{About, IsNow, gravest};
use crate::club::verdict::Gravity;
use crate::paper::photo::{MOST_BYTES, PhotoRefusal};
use crate::store::book::answers;
use crate::store::book::reports::{self, Report};
use crate::web::asked::{Path, Query};
use crate::web::fields::Problems;
use crate::web::first_minute::{self, Advice};
use crate::web::page::{self, Page, PageError};
use crate::web::photos;
use crate::web::reports::{Answered, answered, what_is_told};
use crate::web::stop::with_local_first;
use crate::web::upload::Upload;
use crate::web::visit::{Shell, Visit};
use crate::web::words::{When, past_at};
use askama::Template;
use axum::extract::{Request, State};
use serde::Deserialize;

page::puts_right!(ReportedPage);

#[derive(Template)]
#[template(path = "report/reported.html")]
struct ReportedPage {
    shell: Shell,
    problems: Problems,
    report: Report,
    told: String,
    /// Where it waited on a phone.
    made: Option<When>,
    came: When,
    read: Option<When>,
    answers: Vec<Answered>,
    hall: Hall,
    advice: Vec<Advice>,
    is_danger: bool,
    /// Nothing that was seen tells of danger, so its volts do.
    is_danger_of_volts: bool,
    /// The address to keep.
    address: String,
    may_add_photo: bool,
    is_photo_kept: bool,
    /// For whoever is signed in.
    pack: Option<String>,
}

/// So ends the key under which `waiting.js` sends a report's photo after its words; one over the limit it names and does not send,
/// and so one that was `refused` before it came here.
const SCRIPTS_PHOTO: &str = "-photo";

impl ReportedPage {
    /// As it was told; a message tells of nothing that happens.
    fn happening(&self) -> Option<&'static str> {
        match self.report.is_now() {
            _ if self.report.about() == About::Message => None,
            IsNow::Yes => Some("Yes, when it was told"),
            IsNow::No => Some("No"),
            IsNow::NotSaid => Some("Not said"),
        }
    }
}

#[derive(Default, Deserialize)]
pub struct Done {
    #[serde(default)]
    photo: String,
}

async fn found(app: &App, visit: &Visit, token: &str) -> Result<Report, PageError> {
    let mut report = None;
    if is_code(token) {
        report = reports::by_token(&mut app.db.read().await?, token).await?;
    }
    if report.is_none() {
        app.limits.label(visit.network)?;
    }
    report.ok_or(PageError::NotFound)
}

/// For what was seen; and what nobody has a word for and goes on, or its volts alone, may be danger too.
fn advice(report: &Report, is_danger_of_volts: bool) -> Vec<Advice> {
    let of_seen = first_minute::of_seen(&report.seen());
    if !of_seen.is_empty() || report.gravity() < Gravity::Danger {
        of_seen
    } else if is_danger_of_volts {
        with_local_first(&of_pack(Lies::Here, Watch::Watched))
    } else {
        first_minute::burning_meanwhile()
    }
}

async fn reported_page(
    app: &App,
    report: Report,
    (visit, shell): (&Visit, Shell),
) -> Result<ReportedPage, PageError> {
    let at = |at| past_at(at, visit.now, &visit.zone);
    let answers = answers::to(&mut app.db.read().await?, &report).await?;
    let is_danger_of_volts = report.gravity() >= Gravity::Danger
        && gravest(&looked_of(&report).findings()) < Gravity::Danger;
    Ok(ReportedPage {
        shell,
        problems: Problems::default(),
        told: what_is_told(&report),
        made: report.made_ms.map(at),
        came: at(report.came_ms),
        read: report.read_ms.map(at),
        answers: answered(answers, at),
        hall: visit
            .club
            .as_ref()
            .map(|club| club.hall.clone())
            .unwrap_or_default(),
        is_danger: report.gravity() >= Gravity::Danger || report.is_now() == IsNow::Yes,
        advice: advice(&report, is_danger_of_volts),
        is_danger_of_volts,
        address: format!("{}/reported/{}", visit.base, report.token),
        may_add_photo: report_photo::takes_one(&report, visit.now),
        is_photo_kept: false,
        pack: report.pack_number.clone().filter(|_| visit.me.is_some()),
        report,
    })
}

/// GET /reported/{token}
pub async fn show(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    Query(done): Query<Done>,
) -> Page {
    let report = found(&app, &visit, &token).await?;
    let shell = visit.shell(format!("Report {}", report.reference));
    let page = reported_page(&app, report, (&visit, shell)).await?;
    page::show(&ReportedPage {
        is_photo_kept: done.photo == "kept" && page.report.has_photo,
        ..page
    })
}

/// POST /reported/{token}: its photo.
pub async fn add_photo(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    request: Request,
) -> Page {
    let report = found(&app, &visit, &token).await?;
    match &visit.me {
        Some(me) => app.limits.upload(visit.network, me.person_id)?,
        None => app.limits.report(visit.network, &token)?,
    }
    let sent = Upload::<MOST_BYTES>::of_small_form(request).await?;
    let by = match visit.clone().signed_in() {
        Some(who) => Some(who.by(&sent.fields)),
        None => visit.by_nobody(&sent.fields),
    };
    let by = by.ok_or(PageError::NotFound)?;
    let is_of_script = sent.fields.text("key").ends_with(SCRIPTS_PHOTO);
    let made = match sent.file {
        None if is_of_script && sent.fields.is_ticked("refused") => {
            Err(PhotoRefusal::RefusedOnItsWay.to_string())
        }
        None if is_of_script => Err(PhotoRefusal::TooLarge.to_string()),
        file => photos::made(&app, file).await?,
    };
    match made {
        Ok(picture) => {
            report_photo::add(&app.db, &by, &token, Ok(&picture)).await?;
            page::go_to(&format!("/reported/{token}?photo=kept"))
        }
        // Nobody sees the answer to the second request of a script: it stands on the report, as it does without one.
        Err(words) if is_of_script => {
            report_photo::add(&app.db, &by, &token, Err(&words)).await?;
            page::go_to(&format!("/reported/{token}"))
        }
        Err(words) => {
            let shell = visit.shell_refused(format!("Report {}", report.reference));
            let page = reported_page(&app, report, (&visit, shell)).await?;
            page::put_right(&ReportedPage {
                problems: Problems::one("photo", words),
                ..page
            })
        }
    }
}
