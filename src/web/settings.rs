//! The club's settings: for quartermasters and organisers, signed in with a password.

use crate::actions::settings::{self, SettingsRefusal, Wanted};
use crate::app::App;
use crate::bench::typed::Words;
use crate::club::book::severity::InjuriesKept;
use crate::club::book::watch::Period;
use crate::club::hall::Hall;
use crate::club::in_danger::InDanger;
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

    /// What is asked of each part of the watch, with its hint.
    fn asked(&self, code: &str) -> (&'static str, &'static str) {
        let all = PERIOD.iter().find(|(each, ..)| *each == code);
        all.map_or(("", ""), |(_, label, hint)| (*label, *hint))
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
    /// In the order of [`PERIOD`], as typed.
    watch: Vec<(&'static str, String)>,
    injuries: String,
}

/// How long a pack in quarantine is watched: code, and what is asked.
const PERIOD: [(&str, &str, &str); 4] = [
    (
        "watched_minutes",
        "Minutes that somebody stays with it",
        "60 to 480. No published advice that was found asks for more than 30.",
    ),
    (
        "look_every_minutes",
        "Minutes between two looks while somebody stays",
        "5 to 15. Common practice, no source.",
    ),
    ("kept_hours", "Hours that it then lies alone", "24 to 336."),
    (
        "look_every_hours",
        "Hours between two looks while it lies alone",
        "1 to 8. Common practice, no source.",
    ),
];

fn period(period: &Period) -> [i64; 4] {
    [
        period.watched_minutes,
        period.look_every_minutes,
        period.kept_hours,
        period.look_every_hours,
    ]
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
            watch: PERIOD
                .iter()
                .zip(period(&club.in_danger.watch))
                .map(|((code, ..), value)| (*code, value.to_string()))
                .collect(),
            injuries: club.in_danger.injuries.code().to_owned(),
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
            watch: PERIOD
                .iter()
                .map(|(code, ..)| (*code, fields.text(code)))
                .collect(),
            injuries: fields.text("injuries_kept"),
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
            in_danger: InDanger {
                watch: Period {
                    watched_minutes: self.watched(0),
                    look_every_minutes: self.watched(1),
                    kept_hours: self.watched(2),
                    look_every_hours: self.watched(3),
                },
                injuries: InjuriesKept::from_code(&self.injuries)
                    .unwrap_or(InDanger::default().injuries),
            },
        }
    }

    /// As typed at that place of [`PERIOD`].
    fn watched(&self, at: usize) -> i64 {
        let typed = self.watch.get(at).map_or("", |(_, typed)| typed);
        typed.parse().unwrap_or(-1)
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
