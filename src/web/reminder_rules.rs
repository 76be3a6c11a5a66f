//! The club's rules of reminders: hour, quiet hours, days ahead, sender, tries. For quartermasters and organisers, signed in with a
//! password. After how many days others are told stands among the rules of storage care.

use crate::actions::choose_reminders::{self, RulesRefusal};
use crate::app::App;
use crate::club::care::rules::CareRules;
use crate::club::reminders::rules::{COUNTS, Count, ReminderRules, WEEKDAYS};
use crate::store::reminders;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "mail/settings.html")]
struct RulesPage {
    shell: Shell,
    problems: Problems,
    form: Form,
    weekdays: Vec<(String, &'static str)>,
    care: CareRules,
    has_server: bool,
    usual_sender: String,
    is_kept: bool,
}

/// As typed.
struct Form {
    hour: String,
    quiet_from: String,
    quiet_to: String,
    summary_day: String,
    sender: String,
    counts: Vec<(&'static Count, String)>,
}

impl Form {
    fn of(rules: &ReminderRules) -> Self {
        let mut rules = rules.clone();
        let counts = COUNTS
            .iter()
            .map(|count| (count, (count.of)(&mut rules).to_string()));
        Self {
            counts: counts.collect(),
            hour: rules.hour.clone(),
            quiet_from: rules.quiet_from.clone(),
            quiet_to: rules.quiet_to.clone(),
            summary_day: rules.summary_day.to_string(),
            sender: rules.sender.clone(),
        }
    }

    fn read(fields: &Fields) -> Self {
        let counts = COUNTS.iter().map(|count| (count, fields.text(count.code)));
        Self {
            counts: counts.collect(),
            hour: fields.text("hour"),
            quiet_from: fields.text("quiet_from"),
            quiet_to: fields.text("quiet_to"),
            summary_day: fields.text("summary_day"),
            sender: fields.text("sender"),
        }
    }

    /// What is no number counts as none, which no rule allows.
    fn rules(&self) -> ReminderRules {
        let number = |text: &str| text.parse().unwrap_or(-1);
        let mut rules = ReminderRules {
            hour: self.hour.clone(),
            quiet_from: self.quiet_from.clone(),
            quiet_to: self.quiet_to.clone(),
            summary_day: number(&self.summary_day),
            sender: self.sender.clone(),
            ..ReminderRules::default()
        };
        for (count, typed) in &self.counts {
            *(count.of)(&mut rules) = number(typed);
        }
        rules
    }
}

#[derive(Deserialize)]
pub struct Said {
    #[serde(default)]
    kept: String,
}

const TITLE: &str = "Rules of reminders";

fn page_of(app: &App, who: &SignedIn, form: Form, problems: Problems) -> RulesPage {
    let days = (1..).zip(WEEKDAYS);
    RulesPage {
        shell: if problems.is_empty() {
            who.shell(TITLE)
        } else {
            who.shell_refused(TITLE)
        },
        problems,
        form,
        weekdays: days
            .map(|(at, day): (i64, _)| (at.to_string(), day))
            .collect(),
        care: who.club.care(),
        has_server: app.settings.smtp_url.is_some(),
        usual_sender: app.settings.usual_sender(),
        is_kept: false,
    }
}

/// GET /settings/reminders
pub async fn show(State(app): State<App>, who: SignedIn, Query(said): Query<Said>) -> Page {
    let rules = reminders::rules(&mut app.db.read().await?).await?;
    page::show(&RulesPage {
        is_kept: !said.kept.is_empty(),
        ..page_of(&app, &who, Form::of(&rules), Problems::default())
    })
}

/// POST /settings/reminders
pub async fn change(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = Form::read(&fields);
    let outcome = choose_reminders::change_rules(&app.db, &who.by(&fields), &form.rules()).await;
    let mut problems = Problems::default();
    match outcome {
        Ok(address) => return page::go_to(address),
        Err(RulesRefusal::Store(error)) => return Err(error.into()),
        Err(RulesRefusal::Repeat(repeat)) => return again(&repeat),
        Err(RulesRefusal::Rules(broken)) => {
            for one in broken {
                problems.add(one.field(), one.to_string());
            }
        }
    }
    page::refused(&page_of(&app, &who, form, problems))
}
