//! Changing the club's settings. The rule says how far; the log keeps every value before and after.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log, reading, watching};
use crate::bench::FieldProblem;
use crate::club::care::rule_form::{self, RuleRefusal};
use crate::club::care::rules::CareRules;
use crate::club::hall::Hall;
use crate::club::in_danger::InDanger;
use crate::club::limits::ClubLimits;
use crate::club::settings::{self, SettingRefusal, Settings};
use crate::store::club::{self, Club};
use crate::store::{Db, StoreError};
use serde::Serialize;
use serde_json::{Value, json};
use uuid::Uuid;

/// What the form sent: the checked part and the plain choices.
pub struct Wanted {
    pub settings: Settings,
    pub uses_fahrenheit: bool,
    pub uses_decimal_comma: bool,
    pub may_members_borrow: bool,
    pub hall: Hall,
    pub in_danger: InDanger,
}

#[derive(Debug, thiserror::Error)]
pub enum SettingsRefusal {
    #[error("{} settings can't be kept.", .0.len() + .1.len())]
    Rules(Vec<SettingRefusal>, Vec<FieldProblem>),
    #[error(transparent)]
    Repeat(Repeat),
    #[error("There is no club.")]
    NoClub,
    #[error(transparent)]
    Store(#[from] StoreError),
}

#[derive(Serialize)]
struct Kept<'a> {
    time_zone: &'a str,
    uses_fahrenheit: bool,
    uses_decimal_comma: bool,
    pack_prefix: &'a str,
    loan_days: i64,
    #[serde(flatten)]
    limits: ClubLimits,
    may_members_borrow: bool,
    #[serde(flatten)]
    hall: &'a Hall,
    in_danger: InDanger,
}

impl<'a> From<&'a Club> for Kept<'a> {
    fn from(club: &'a Club) -> Self {
        Self {
            time_zone: &club.time_zone,
            uses_fahrenheit: club.uses_fahrenheit,
            uses_decimal_comma: club.uses_decimal_comma,
            pack_prefix: &club.pack_prefix,
            loan_days: club.loan_days,
            limits: club.limits(),
            may_members_borrow: club.may_members_borrow,
            hall: &club.hall,
            in_danger: club.in_danger,
        }
    }
}

/// The limits among the settings that the log kept; a club starts with the usual ones.
pub fn limits_kept(settings: Option<&str>) -> ClubLimits {
    settings
        .and_then(|text| serde_json::from_str(text).ok())
        .unwrap_or_default()
}

pub async fn change_settings(db: &Db, by: &By, wanted: Wanted) -> Result<(), SettingsRefusal> {
    let broken = settings::check(&wanted.settings);
    let mut of_hall = wanted.hall.problems();
    of_hall.extend(wanted.in_danger.problems());
    if !broken.is_empty() || !of_hall.is_empty() {
        return Err(SettingsRefusal::Rules(broken, of_hall));
    }
    let mut tx = db.write().await?;
    match once::check(&mut tx, by).await? {
        None => {}
        Some(Repeat::Done(_)) => return Ok(()),
        Some(other) => return Err(SettingsRefusal::Repeat(other)),
    }
    let before = club::read(&mut tx).await?.ok_or(SettingsRefusal::NoClub)?;
    let after = with(&before, wanted);
    club::save(&mut tx, &after).await?;
    if before.limits() != after.limits() {
        let by = By {
            club: after.clone(),
            ..by.clone()
        };
        reading::weigh_anew(&mut tx, &by, &before.limits()).await?;
    }
    if before.in_danger.watch != after.in_danger.watch {
        watching::weigh_anew(&mut tx, by.at, after.in_danger.watch).await?;
    }
    let kept = (&Kept::from(&before), &Kept::from(&after));
    log(
        &mut tx,
        by,
        "changed the settings",
        ("club", Uuid::nil()),
        kept,
    )
    .await?;
    once::finish(tx, by, "kept").await?;
    Ok(())
}

#[derive(Debug, thiserror::Error)]
pub enum CareRefusal {
    #[error("{} rules can't be kept.", .0.len())]
    Rules(Vec<RuleRefusal>),
    #[error(transparent)]
    Repeat(Repeat),
    #[error("There is no club.")]
    NoClub,
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl CareRefusal {
    /// Nobody said what happens to who is overdue; with all else that is wrong.
    pub fn no_choice(rules: &CareRules, stood: &CareRules) -> Self {
        let mut all = rule_form::check(rules, stood);
        all.push(RuleRefusal::OwnCare);
        Self::Rules(all)
    }
}

/// The rules of storage care. They count at once: what is due is told by the rules of now.
pub async fn change_care(db: &Db, by: &By, rules: CareRules) -> Result<(), CareRefusal> {
    let broken = rule_form::check(&rules, &by.club.care());
    if !broken.is_empty() {
        return Err(CareRefusal::Rules(broken));
    }
    let mut tx = db.write().await?;
    match once::check(&mut tx, by).await? {
        None => {}
        Some(Repeat::Done(_)) => return Ok(()),
        Some(other) => return Err(CareRefusal::Repeat(other)),
    }
    let before = club::read(&mut tx).await?.ok_or(CareRefusal::NoClub)?;
    let after = Club {
        care: rules,
        ..before.clone()
    };
    club::save(&mut tx, &after).await?;
    let told = (&told(before.care()), &told(after.care()));
    let subject = ("club", Uuid::nil());
    log(
        &mut tx,
        by,
        "changed the rules of storage care",
        subject,
        told,
    )
    .await?;
    once::finish(tx, by, "kept").await?;
    Ok(())
}

/// As the log keeps them.
fn told(rules: CareRules) -> Value {
    let mut rules = rules;
    let waits = rules.storage.rows.iter().flatten();
    let waits = waits.map(|wait| format!("{}/{}", wait.remind_days, wait.limit_days));
    let mut told = json!({
        "storage_days": waits.collect::<Vec<_>>().join(" "),
        "own_care": rules.own_care.code(),
    });
    for count in &rule_form::COUNTS {
        told[count.code] = json!(*(count.of)(&mut rules));
    }
    told
}

fn with(club: &Club, wanted: Wanted) -> Club {
    let Settings {
        name,
        time_zone,
        pack_prefix,
        loan_days,
        limits,
    } = wanted.settings;
    Club {
        name,
        time_zone,
        uses_fahrenheit: wanted.uses_fahrenheit,
        uses_decimal_comma: wanted.uses_decimal_comma,
        pack_prefix,
        loan_days,
        limits,
        care: club.care,
        may_members_borrow: wanted.may_members_borrow,
        hall: wanted.hall,
        in_danger: wanted.in_danger,
        is_demo: club.is_demo,
        started_ms: club.started_ms,
    }
}
