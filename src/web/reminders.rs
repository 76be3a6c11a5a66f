//! What a person is reminded of and how: their own page, and the rules in words.

use crate::actions::choose_reminders::{self, ChoiceRefusal, Wish};
use crate::actions::confirm_address::ask_by_mail;
use crate::actions::remind::Posting;
use crate::app::App;
use crate::club::reminders::choice::{Choices, Ways};
use crate::club::reminders::{Kind, RULES};
use crate::store::outbox;
use crate::store::reach::{self, Reach};
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::mails::{self, MailRow};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::phones::{Phones, has_live};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "mail/mine.html")]
pub(super) struct RemindersPage {
    shell: Shell,
    problems: Problems,
    form: Form,
    said: &'static str,
    phones: Phones,
    /// What the mail server answered, and when, where the address is dead.
    dead: Option<(String, When)>,
    /// Since when the address is asked about.
    unconfirmed: Option<When>,
    /// It was kept while no mail server was set, and nobody confirmed it.
    is_unasked: bool,
    /// As it is kept, whatever is typed.
    kept_address: String,
    has_server: bool,
    mails: Vec<MailRow>,
}

/// As typed.
pub(super) struct Form {
    address: String,
    quiet_from: String,
    quiet_to: String,
    rows: Vec<(Kind, Ways)>,
    /// Whether phones are asked about: somebody with none chooses nothing of them.
    has_push: bool,
}

impl Form {
    fn of(reach: &Reach, choices: &Choices, has_push: bool) -> Self {
        Self {
            has_push,
            address: reach.address.clone(),
            quiet_from: reach.quiet_from.clone().unwrap_or_default(),
            quiet_to: reach.quiet_to.clone().unwrap_or_default(),
            rows: Kind::ALL.map(|kind| (kind, choices.of(kind))).to_vec(),
        }
    }

    fn read(fields: &Fields) -> Self {
        let ways = |kind: Kind| Ways {
            by_mail: fields.is_ticked(&format!("mail_{}", kind.code())),
            by_push: fields.is_ticked(&format!("push_{}", kind.code())),
            in_calendar: fields.is_ticked(&format!("calendar_{}", kind.code())),
        };
        Self {
            has_push: fields.is_ticked("has_push"),
            address: fields.text("address"),
            quiet_from: fields.text("quiet_from"),
            quiet_to: fields.text("quiet_to"),
            rows: Kind::ALL.map(|kind| (kind, ways(kind))).to_vec(),
        }
    }

    fn wish(&self) -> Wish {
        Wish {
            address: self.address.clone(),
            quiet_from: self.quiet_from.clone(),
            quiet_to: self.quiet_to.clone(),
            choices: Choices(self.rows.iter().copied().collect()),
            has_push: self.has_push,
        }
    }
}

#[derive(Deserialize)]
pub struct Said {
    #[serde(default)]
    kept: String,
}

impl Said {
    fn words(&self) -> &'static str {
        match self.kept.as_str() {
            "" => "",
            "asked" => "A mail with a link goes to your address now.",
            "phone" => "This phone is reminded from now on.",
            "ended" => "That phone is not reminded any more.",
            _ => "Kept.",
        }
    }
}

const TITLE: &str = "Your reminders";
const LATEST: i64 = 20;

pub(super) async fn read(
    app: &App,
    who: &SignedIn,
    typed: Option<Form>,
    problems: Problems,
) -> Result<RemindersPage, PageError> {
    let mut conn = app.db.read().await?;
    let whole = reach::whole(&mut conn, who.me.person_id).await?;
    let reach = &whole.reach;
    let mails = outbox::of_person(&mut conn, who.me.person_id, LATEST).await?;
    let shell = if problems.is_empty() {
        who.shell(TITLE)
    } else {
        who.shell_refused(TITLE)
    };
    let dead = reach
        .dead_ms
        .map(|at| (reach.dead_words.clone(), past(at, who.now, &who.zone)));
    Ok(RemindersPage {
        shell,
        problems,
        form: typed.unwrap_or_else(|| Form::of(reach, &whole.choices, has_live(&whole.phones))),
        said: "",
        phones: Phones::of(&whole, app, who),
        dead,
        is_unasked: reach.unasked_ms.is_some(),
        kept_address: reach.address.clone(),
        unconfirmed: reach.unconfirmed_ms.map(|at| past(at, who.now, &who.zone)),
        has_server: app.settings.smtp_url.is_some(),
        mails: mails::rows(mails, who),
    })
}

/// GET /me/reminders
pub async fn show(State(app): State<App>, who: SignedIn, Query(said): Query<Said>) -> Page {
    let page = read(&app, &who, None, Problems::default()).await?;
    page::show(&RemindersPage {
        said: said.words(),
        ..page
    })
}

/// POST /me/reminders
pub async fn choose(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = Form::read(&fields);
    let (host, by) = (app.settings.mail_host(), who.by(&fields));
    let wish = form.wish();
    let outcome = choose_reminders::choose(&app.db, &by, &wish, posting(&app, &host)).await;
    answer(&app, &who, outcome, Some(form)).await
}

/// POST /me/reminders/ask
pub async fn ask(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let (host, by) = (app.settings.mail_host(), who.by(&fields));
    let outcome = ask_by_mail(&app.db, &by, posting(&app, &host)).await;
    answer(&app, &who, outcome, None).await
}

fn posting<'a>(app: &App, host: &'a str) -> Posting<'a> {
    Posting {
        has_server: app.settings.smtp_url.is_some(),
        host,
    }
}

async fn answer(
    app: &App,
    who: &SignedIn,
    outcome: Result<&'static str, ChoiceRefusal>,
    typed: Option<Form>,
) -> Page {
    let wrong = match outcome {
        Ok(address) => return page::go_to(address),
        Err(ChoiceRefusal::Store(error)) => return Err(error.into()),
        Err(ChoiceRefusal::Repeat(repeat)) => return again(&repeat),
        Err(ChoiceRefusal::Wrong(wrong)) => wrong,
    };
    let mut problems = Problems::default();
    for one in wrong {
        problems.add(one.field(), one.to_string());
    }
    page::refused(&read(app, who, typed, problems).await?)
}

#[derive(Template)]
#[template(path = "mail/rules.html")]
struct WordsPage {
    shell: Shell,
    rules: &'static [&'static str],
    oversees: bool,
    is_own_device: bool,
}

/// GET /reminders: who is reminded of what and when, in words.
pub async fn in_words(who: SignedIn) -> Page {
    page::show(&WordsPage {
        shell: who.shell("Who is reminded of what"),
        rules: &RULES,
        oversees: who.oversees(),
        is_own_device: who.tablet.is_none(),
    })
}
