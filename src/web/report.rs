//! Telling of what somebody sees: first whether it is danger now, then what to do, then the form. It begins at a label, on a
//! pack's page, at a poster, or on a page of one's own; a stranger sees nothing of the pack. What it does is `actions::report`.

use crate::actions::By;
use crate::actions::condition::{ConditionRefusal, Looked};
use crate::actions::once::Repeat;
use crate::actions::report::{self, Telling, token_in};
use crate::actions::report_photo;
use crate::app::App;
use crate::club::calendar::Instant;
use crate::club::hall::Hall;
use crate::club::reports::{About, IsNow, Thing};
use crate::club::seen::Seen;
use crate::paper::photo::MOST_BYTES;
use crate::store::book::reports::Phone;
use crate::store::packs::PackView;
use crate::web::fields::{Fields, Problems};
use crate::web::first_minute::{self, Advice, FirstMinute};
use crate::web::pack_forms::looked;
use crate::web::page::{self, Page, PageError};
use crate::web::photos;
use crate::web::upload::{File, Upload, brings_a_file};
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::Request;
use serde::Deserialize;
use uuid::Uuid;

mod begins;
mod beside;
pub mod late;
pub use begins::*;

/// Where a report begins, and what it is about.
pub(super) struct Source {
    title: String,
    what: String,
    /// Address of this page, which takes the form too.
    here: String,
    of: Of,
}

enum Of {
    /// None: whoever looks may not know which pack it is. Its id goes along all the same.
    Pack(Uuid, Option<Box<PackView>>),
    Poster(Uuid),
    /// What a person of the club tells without a label.
    Own,
    Contact,
    /// Whatever is told on the page that a phone keeps, and what came by a way that leads nowhere any more: its pack is told to
    /// those who run the pool, and nothing is done to it before they looked.
    Anything(Option<Uuid>),
}

/// What a phone tells of a report that may have waited on it.
pub(super) struct Late {
    key: String,
    /// Of all that was told.
    hash: String,
    made: Option<Instant>,
    /// Nobody is there any more to be asked what kind of thing it was.
    asks_nothing: bool,
}

impl Late {
    fn of_phone(&self) -> Phone<'_> {
        Phone {
            key: &self.key,
            hash: &self.hash,
            made_ms: self.made,
        }
    }
}

#[derive(Default, Deserialize)]
pub struct Asked {
    /// Is there smoke, heat, hissing or fire now? `yes`, `no`; `away`: everybody is away from it.
    #[serde(default)]
    now: String,
    /// What was chosen on the way.
    #[serde(default)]
    seen: String,
}

#[derive(Template)]
#[template(path = "report/danger.html")]
struct DangerPage {
    shell: Shell,
    here: String,
    what: String,
}

#[derive(Template)]
#[template(path = "report/now.html")]
struct NowPage {
    shell: Shell,
    here: String,
    hall: Hall,
    advice: Vec<Advice>,
}

page::puts_right!(FormPage);

#[derive(Template)]
#[template(path = "report/form.html")]
struct FormPage {
    shell: Shell,
    problems: Problems,
    here: String,
    what: String,
    /// On the page that stands in for all others: what to do now comes first.
    first: Option<FirstMinute>,
    /// Who is signed in as it is filled in.
    who: String,
    looked: Looked,
    suffix: String,
    typed: Fields,
    abouts: Vec<(&'static str, &'static str)>,
    things: Vec<(&'static str, &'static str)>,
    has_list: bool,
    has_reach: bool,
    has_volts: bool,
    may_be_nameless: bool,
    had_photo: bool,
}

impl FormPage {
    fn is_typed(&self, field: &str, code: &str) -> bool {
        self.typed.text(field) == code
    }
}

fn form_page(shell: Shell, source: Source, visit: &Visit, typed: Fields) -> FormPage {
    let is_own = matches!(source.of, Of::Own);
    let is_of_thing = is_own || matches!(source.of, Of::Poster(_) | Of::Anything(_));
    let things = Thing::ALL.map(|thing| (thing.code(), thing.label()));
    let may_log = |visit: &Visit| {
        let me = visit.me.as_ref();
        me.is_some_and(|me| me.roles().may_log_volts())
    };
    FormPage {
        shell,
        problems: Problems::default(),
        here: source.here,
        what: source.what,
        first: None,
        who: visit
            .me
            .as_ref()
            .map_or_else(String::new, |me| me.person_id.to_string()),
        looked: looked(&typed, ""),
        suffix: String::new(),
        abouts: if is_own {
            let offered = [About::NearMiss, About::WrongSetting, About::Hall];
            offered.map(|about| (about.code(), about.label())).into()
        } else {
            Vec::new()
        },
        things: if is_of_thing {
            things.into()
        } else {
            Vec::new()
        },
        has_list: !matches!(source.of, Of::Contact),
        has_reach: visit.me.is_none(),
        has_volts: matches!(source.of, Of::Pack(_, Some(_))) && may_log(visit),
        may_be_nameless: is_own,
        had_photo: false,
        typed,
    }
}

/// The step that was asked for.
fn step(visit: &Visit, source: Source, asked: &Asked) -> Page {
    let hall = visit.club.as_ref().map(|club| club.hall.clone());
    let is_contact = matches!(source.of, Of::Contact);
    match asked.now.as_str() {
        "yes" => page::show(&NowPage {
            shell: visit.shell(format!("What to do now: {}", source.title)),
            here: source.here,
            hall: hall.unwrap_or_default(),
            advice: first_minute::burning(),
        }),
        "no" | "away" => page::show(&form_of(visit, source, asked)),
        _ if is_contact => page::show(&form_of(visit, source, asked)),
        _ => page::show(&DangerPage {
            shell: visit.shell(source.title),
            here: source.here,
            what: source.what,
        }),
    }
}

/// With what was answered on the way.
fn form_of(visit: &Visit, source: Source, asked: &Asked) -> FormPage {
    let mut typed = Fields::default();
    if asked.now == "away" {
        typed.put("is_now", IsNow::Yes.code());
    }
    if let Some(seen) = Seen::from_code(&asked.seen) {
        typed.put("seen", seen.code());
    }
    form_page(visit.shell(source.title.clone()), source, visit, typed)
}

/// What a form sent that may bring a photo. A stranger's is counted before it is read; `label`: None where it came before. Of what
/// people of a hall share takes only one whose form brought a photo.
async fn sent(
    app: &App,
    visit: &Visit,
    request: Request,
    label: Option<&str>,
) -> Result<Upload<MOST_BYTES>, PageError> {
    match &visit.me {
        None => match label {
            Some(label) => app.limits.report(visit.network, label),
            None => app.limits.report_again(visit.network),
        }
        .map_err(too_many)?,
        Some(me) if brings_a_file(&request) => {
            app.limits.upload_of(me.person_id).map_err(too_many)?
        }
        Some(_) => {}
    }
    let sent = Upload::of_small_form(request).await?;
    if visit.me.is_some() && sent.file.is_some() {
        app.limits.upload_from(visit.network).map_err(too_many)?;
    }
    Ok(sent)
}

/// That a person must be told stands before it (`not_sent`).
fn too_many(error: PageError) -> PageError {
    let PageError::TooOften { retry_after_s, .. } = error else {
        return error;
    };
    PageError::TooOften {
        words: format!(
            "Too many reports came at once from here, or by this label or page. Wait {retry_after_s} seconds, go back, and send it again."
        ),
        retry_after_s,
    }
}

/// Carries the form out, and then makes its photo.
async fn tell(
    app: &App,
    visit: Visit,
    source: Source,
    sent: Upload<MOST_BYTES>,
    late: Option<Late>,
) -> Page {
    let fields = late::without_who(sent.fields);
    // Danger at a poster waits for no answer.
    let looked = looked(&fields, "");
    let is_danger = looked.is_danger() && matches!(source.of, Of::Poster(_));
    let asks_nothing = is_danger || late.as_ref().is_some_and(|late| late.asks_nothing);
    let about = about_of(&source, &fields).or(asks_nothing.then_some(About::Hall));
    let Some(about) = about else {
        let problems = Problems::one("about", "Choose what you tell of.");
        return refused(&visit, source, fields, (problems, sent.file));
    };
    let who = visit.clone().signed_in();
    let is_nameless = about.may_be_nameless() && fields.is_ticked("nameless") && who.is_some();
    let by = match &who {
        Some(who) if !is_nameless => Some(who.by(&fields)),
        _ => visit.by_nobody(&fields),
    };
    let by = by.ok_or(PageError::NotFound)?;
    let has_waited = late.as_ref().is_some_and(|late| late.made.is_some());
    let (measured, left_out) = match beside::volts(&source, who.as_ref(), &fields) {
        Ok(Some(measured)) if has_waited => (Some(measured), beside::WAITED.to_owned()),
        Ok(None) if has_waited && beside::are_nobodys(who.as_ref(), &fields) => {
            (None, beside::nobodys(&fields))
        }
        Ok(measured) => (measured, String::new()),
        // Danger is stored whatever stands beside it.
        Err(_) if has_waited || looked.is_danger() => (None, beside::unreadable(&fields)),
        Err(problems) => return refused(&visit, source, fields, (problems, sent.file)),
    };
    let network = who.is_none().then(|| visit.network.to_string());
    let (place, reach) = (fields.text("place"), fields.text("reach"));
    let phone = late.as_ref().map(Late::of_phone);
    let thing = Thing::from_code(&fields.text("thing"));
    let thing = thing.or(asks_nothing.then_some(Thing::Other));
    let telling = Telling {
        about,
        thing: thing.filter(|_| about == About::Hall),
        pack_id: source.pack_id(),
        poster_id: source.poster_id(),
        looked: &looked,
        is_now: IsNow::from_code(&fields.text("is_now")),
        place_words: &place,
        reach: if who.is_none() { &reach } else { "" },
        is_nameless,
        network: network.as_deref(),
        measured: measured.as_ref(),
        left_out: &left_out,
        phone: phone.as_ref(),
    };
    let address = match report::tell(&app.db, &by, &telling).await {
        Ok(address) | Err(ConditionRefusal::Repeat(Repeat::Done(address))) => address,
        Err(ConditionRefusal::Repeat(repeat)) if late.is_none() => {
            return Err(PageError::Refused(repeat.to_string()));
        }
        Err(ConditionRefusal::Store(error)) => return Err(error.into()),
        Err(ConditionRefusal::NoPack) => return Err(PageError::NotFound),
        Err(refusal) => {
            let problems = Problems::refused(refusal.field(), &refusal);
            return refused(&visit, source, fields, (problems, sent.file));
        }
    };
    keep_photo(app, &by, (sent.file, &address)).await?;
    page::go_to(&address)
}

async fn keep_photo(
    app: &App,
    by: &By,
    (file, address): (Option<File>, &str),
) -> Result<(), PageError> {
    let (Some(file), Some(token)) = (file, token_in(address)) else {
        return Ok(());
    };
    let made = photos::made(app, Some(file)).await?;
    let picture = made.as_ref().map_err(String::as_str);
    report_photo::add(&app.db, by, token, picture).await?;
    Ok(())
}

fn about_of(source: &Source, fields: &Fields) -> Option<About> {
    const OWN: [About; 3] = [About::NearMiss, About::WrongSetting, About::Hall];
    match source.of {
        Of::Pack(..) => Some(About::Pack),
        Of::Poster(_) => Some(About::Hall),
        Of::Contact => Some(About::Message),
        Of::Own => About::from_code(&fields.text("about")).filter(|about| OWN.contains(about)),
        Of::Anything(_) => {
            let told = About::from_code(&fields.text("about"));
            told.filter(|about| OWN.contains(about))
                .or(Some(About::Hall))
        }
    }
}

fn refused(
    visit: &Visit,
    source: Source,
    typed: Fields,
    (problems, file): (Problems, Option<File>),
) -> Page {
    let shell = visit.shell_refused(source.title.clone());
    let page = form_page(shell, source, visit, typed);
    page::put_right(&FormPage {
        problems,
        had_photo: file.is_some(),
        ..page
    })
}

impl Source {
    const fn pack_id(&self) -> Option<Uuid> {
        match &self.of {
            Of::Pack(id, _) => Some(*id),
            Of::Anything(named) => *named,
            _ => None,
        }
    }

    const fn poster_id(&self) -> Option<Uuid> {
        match &self.of {
            Of::Poster(id) => Some(*id),
            _ => None,
        }
    }
}
