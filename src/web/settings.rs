//! The club's settings: for quartermasters and organisers, signed in with a password.

use crate::actions::settings::{self, SettingsRefusal, Wanted};
use crate::app::App;
use crate::bench::typed::Words;
use crate::club::hall::Hall;
use crate::club::limits::{ClubLimits, LIMITS, Limit, fahrenheit_within};
use crate::club::settings::Settings;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "settings.html")]
struct SettingsPage {
    shell: Shell,
    problems: Problems,
    form: Form,
    uses_fahrenheit: bool,
    numbers: Words,
    is_kept: bool,
}

impl SettingsPage {
    fn kind(&self, limit: &Limit) -> &'static str {
        if limit.is_rate() { "text" } else { "number" }
    }

    /// As this club reads it; a temperature is typed in Celsius, and its range told in Fahrenheit too.
    fn hint(&self, limit: &Limit) -> String {
        if limit.is_temperature() && self.uses_fahrenheit {
            let (from, to) = (limit.lowest, limit.highest);
            let (warm_from, warm_to) = fahrenheit_within(from, to);
            return format!("{from} to {to} °C ({warm_from} to {warm_to} °F).");
        }
        self.numbers.sentence(limit.hint)
    }
}

/// As typed.
struct Form {
    called: String,
    time_zone: String,
    pack_prefix: String,
    loan_days: String,
    /// In the order of [`LIMITS`], as typed.
    limits: Vec<(&'static Limit, String)>,
    temperature: String,
    decimal: String,
    may_members_borrow: bool,
    hall: Hall,
}

impl Form {
    fn of(who: &SignedIn) -> Self {
        let club = &who.club;
        Self {
            called: club.name.clone(),
            time_zone: club.time_zone.clone(),
            pack_prefix: club.pack_prefix.clone(),
            loan_days: club.loan_days.to_string(),
            limits: each_limit(|limit| limit.words(*(limit.of)(&mut club.limits()), who.numbers())),
            temperature: if club.uses_fahrenheit { "f" } else { "c" }.to_owned(),
            decimal: if club.uses_decimal_comma {
                "comma"
            } else {
                "point"
            }
            .to_owned(),
            may_members_borrow: club.may_members_borrow,
            hall: club.hall.clone(),
        }
    }

    fn read(fields: &Fields) -> Self {
        Self {
            called: fields.text("name"),
            time_zone: fields.text("time_zone"),
            pack_prefix: fields.text("pack_prefix"),
            loan_days: fields.text("loan_days"),
            limits: each_limit(|limit| fields.text(limit.code)),
            temperature: fields.text("temperature"),
            decimal: fields.text("decimal"),
            may_members_borrow: fields.is_ticked("may_members_borrow"),
            hall: Hall {
                emergency_number: fields.text("emergency_number"),
                address: fields.text("hall_address"),
                plan: fields.text("hall_plan"),
                meeting_point: fields.text("meeting_point"),
            },
        }
    }

    /// What is no number counts as none, which no limit allows.
    fn wanted(&self) -> Wanted {
        let number = |text: &str| text.parse().unwrap_or(-1);
        let mut limits = ClubLimits::default();
        for (limit, typed) in &self.limits {
            *(limit.of)(&mut limits) = limit.typed(typed).unwrap_or(-1);
        }
        Wanted {
            settings: Settings {
                name: self.called.split_whitespace().collect::<Vec<_>>().join(" "),
                time_zone: self.time_zone.clone(),
                pack_prefix: self.pack_prefix.to_ascii_uppercase(),
                loan_days: number(&self.loan_days),
                limits,
            },
            uses_fahrenheit: self.temperature == "f",
            uses_decimal_comma: self.decimal == "comma",
            may_members_borrow: self.may_members_borrow,
            hall: self.hall.clone(),
        }
    }
}

fn each_limit(value: impl Fn(&Limit) -> String) -> Vec<(&'static Limit, String)> {
    LIMITS.iter().map(|limit| (limit, value(limit))).collect()
}

#[derive(Deserialize)]
pub struct Said {
    #[serde(default)]
    kept: String,
}

/// GET /settings
pub async fn show(who: SignedIn, Query(said): Query<Said>) -> Page {
    page::show(&SettingsPage {
        shell: who.shell("Settings of the club"),
        problems: Problems::default(),
        form: Form::of(&who),
        uses_fahrenheit: who.club.uses_fahrenheit,
        numbers: who.numbers(),
        is_kept: !said.kept.is_empty(),
    })
}

/// POST /settings
pub async fn change(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = Form::read(&fields);
    let mut problems = Problems::default();
    match settings::change_settings(&app.db, &who.by(&fields), form.wanted()).await {
        Ok(()) => return page::go_to("/settings?kept=yes"),
        Err(SettingsRefusal::Store(error)) => return Err(error.into()),
        Err(SettingsRefusal::Rules(broken, of_hall)) => {
            for rule in broken {
                problems.add(rule.field(), who.numbers().sentence(&rule.to_string()));
            }
            problems.extend(of_hall.into());
        }
        Err(refusal) => problems.add("name", refusal.to_string()),
    }
    page::refused(&SettingsPage {
        shell: who.shell_refused("Settings of the club"),
        problems,
        form,
        uses_fahrenheit: who.club.uses_fahrenheit,
        numbers: who.numbers(),
        is_kept: false,
    })
}
