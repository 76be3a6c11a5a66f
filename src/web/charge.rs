//! GET and POST /packs/{number}/charge: what for and by when, then the card to charge by, and its start. Looking at a card
//! changes nothing but that it was shown is kept; what is started is planned anew and must be what was read.

use crate::actions::charging::{self, ChargeRefusal, Chosen, asked, may_plan};
use crate::app::App;
use crate::bench::plan::{
    Answer, Asked, AtHand, MILD_CELSIUS, Purpose, Refused, Warmth, plan, rests_for,
};
use crate::club::charging::NoSettings;
use crate::store::Conn;
use crate::store::charges::{self, ToCharge};
use crate::store::charging_kit::{self, ChargingKit};
use crate::web::asked::{Path, Query};
use crate::web::charge_asked::{Form, Understood};
use crate::web::charge_card::{
    Card, Instead, Other, at_home, by_volts, card, instead, other, reckoned,
};
use crate::web::charge_shown;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, clock, degrees};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(ChargePage);

#[derive(Template)]
#[template(path = "charge.html")]
struct ChargePage {
    shell: Shell,
    number: String,
    what: String,
    problems: Problems,
    form: Form,
    unit: &'static str,
    /// Somebody has it at home: what differs there.
    at_home: &'static str,
    /// `Left empty: 19 °C, as Workshop usually is.`
    usual: String,
    /// Beside the pack's own warmth.
    pack_hint: String,
    /// It came from use, and lies until then unless its own temperature is measured; empty: it has lain.
    lies_until: String,
    /// Which resistance its time is reckoned with.
    reckoned: String,
    /// Why there are no settings, and whether volts would help.
    none: Option<(String, bool)>,
    running: String,
    answer: Shown,
    /// Where the time that was typed is over for today.
    tomorrow: Option<When>,
    may_start: bool,
    people: Vec<(String, String)>,
    me: String,
    now: When,
    /// What the card reckons from, behind `now`.
    by_volts: String,
}

impl ChargePage {
    /// Then it says among its reasons until when the pack lies.
    const fn is_stopped(&self) -> bool {
        matches!(self.answer, Shown::Stop { .. })
    }

    /// There is something to ask: what stopped it is not the pack alone.
    fn is_open(&self) -> bool {
        !matches!(self.answer, Shown::Stop { is_for_warmth, .. } if !is_for_warmth)
    }
}

/// What the question came to.
pub(super) enum Shown {
    /// Nothing was asked yet.
    Question,
    /// `is_for_warmth`: asked again once it is warmer or cooler, nothing else stops it.
    Stop {
        words: Vec<String>,
        is_for_warmth: bool,
    },
    Nothing(String),
    /// `None`: no kit at hand does it.
    Plans {
        card: Option<Box<Card>>,
        others: Vec<Other>,
        refused: Vec<Refused>,
        instead: Instead,
    },
}

impl Shown {
    /// What is kept of its card.
    pub(super) fn kept(&self, pack_id: Uuid) -> Vec<(Uuid, String)> {
        let card = match self {
            Self::Plans { card, .. } => card.as_deref().filter(|card| !card.kept.is_empty()),
            _ => None,
        };
        let kept = card.map(|card| (pack_id, card.kept.clone()));
        kept.into_iter().collect()
    }
}

async fn pack_of(conn: &mut Conn, number: &str) -> Result<ToCharge, PageError> {
    let one = charges::to_charge(conn, &number.to_uppercase()).await?;
    one.ok_or(PageError::NotFound)
}

pub(super) async fn found(
    app: &App,
    who: &SignedIn,
    number: &str,
) -> Result<(ToCharge, ChargingKit), PageError> {
    let mut conn = app.db.read().await?;
    let one = pack_of(&mut conn, number).await?;
    let watchers_on = who.me.is_quartermaster.then(|| who.zone.day_of(who.now));
    let kit = charging_kit::at_hand(&mut conn, watchers_on, Some(one.pack.design_id)).await?;
    Ok((one, kit))
}

/// GET /packs/{number}/charge
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(form): Query<Form>,
) -> Page {
    let (one, kit) = found(&app, &who, &number).await?;
    let understood = form.understood(&who, one.usual(who.now));
    let shell = |who: &SignedIn, is_wrong: bool| {
        let title = format!("Charge {}", one.pack.number);
        if is_wrong {
            who.shell_refused(title)
        } else {
            who.shell(title)
        }
    };
    match understood {
        Understood::NotAsked => page::show(&page_of(
            &who,
            (&one, &kit),
            shell(&who, false),
            form,
            Shown::Question,
        )),
        Understood::Wrong(problems) => page::put_right(&ChargePage {
            problems,
            ..page_of(&who, (&one, &kit), shell(&who, true), form, Shown::Question)
        }),
        Understood::Asked(conditions) => {
            let question = asked(&one, conditions, (who.now, &who.club.limits()));
            let answer = question.map(|asked| (plan(&asked, &kit.hand), asked));
            match answer {
                Some((Answer::Ask(lacking), _)) => page::put_right(&ChargePage {
                    problems: form.lacking(&lacking),
                    ..page_of(&who, (&one, &kit), shell(&who, true), form, Shown::Question)
                }),
                Some((answer, asked)) => {
                    let shown = shown(&who, (&one, &kit), (answer, &asked), &form);
                    charge_shown::keep(&app, &who, &shown.kept(one.pack.id)).await;
                    page::show(&page_of(
                        &who,
                        (&one, &kit),
                        shell(&who, false),
                        form,
                        shown,
                    ))
                }
                None => page::show(&page_of(
                    &who,
                    (&one, &kit),
                    shell(&who, false),
                    form,
                    Shown::Question,
                )),
            }
        }
    }
}

/// What an empty field for the room's warmth means; empty: nothing is known.
fn usual_words(usual: Option<i64>, who: &SignedIn, one: &ToCharge) -> String {
    let (Some(celsius), Some(place)) = (usual, &one.pack.place_name) else {
        return String::new();
    };
    let degrees = degrees(celsius, who.club.uses_fahrenheit);
    format!("Left empty: {degrees}, as {place} usually is.")
}

/// `14:40`
fn lies_until(who: &SignedIn, one: &ToCharge) -> String {
    let until = one.lies_until(who.now);
    until.map_or_else(String::new, |at| clock(at, who.now, &who.zone).words)
}

fn page_of(
    who: &SignedIn,
    (one, kit): (&ToCharge, &ChargingKit),
    shell: Shell,
    form: Form,
    answer: Shown,
) -> ChargePage {
    let refusal = may_plan(one, who.now, &who.club.limits()).err();
    let usual = one.usual(who.now);
    let people = kit
        .watchers
        .iter()
        .map(|one| (one.id.to_string(), one.name.clone()));
    ChargePage {
        shell,
        number: one.pack.number.clone(),
        what: who.numbers().sentence(&one.pack.build().words()),
        problems: Problems::default(),
        unit: if who.club.uses_fahrenheit {
            "°F"
        } else {
            "°C"
        },
        usual: usual_words(usual.room, who, one),
        pack_hint: format!(
            "As warm as the room once it lay there for an hour; never straight out of the robot. {}",
            usual_words(usual.pack, who, one)
        ),
        lies_until: lies_until(who, one),
        reckoned: reckoned(who, one),
        at_home: at_home(&one.pack),
        none: refusal.map(|why| (why.to_string(), why.wants_volts())),
        running: match (refusal, one.running_id) {
            (Some(NoSettings::Charging), Some(id)) => format!("/charges/{id}"),
            _ => String::new(),
        },
        answer,
        tomorrow: form.tomorrow(who),
        form,
        may_start: who.me.roles().may_log_volts(),
        people: people.collect(),
        me: String::new(),
        now: clock(who.now, who.now, &who.zone),
        by_volts: by_volts(who, &one.pack),
    }
}

pub(super) fn shown(
    who: &SignedIn,
    (one, kit): (&ToCharge, &ChargingKit),
    (answer, asked): (Answer, &Asked),
    form: &Form,
) -> Shown {
    let (plans, refused) = match answer {
        Answer::Stop(words) => {
            let told = words.iter().map(|each| who.numbers().sentence(each));
            let until = lies_until(who, one);
            let is_waiting = rests_for(asked).is_some() && !until.is_empty();
            let until = is_waiting.then(|| format!("It has lain enough at {until}."));
            return Shown::Stop {
                words: told.chain(until).collect(),
                is_for_warmth: is_for_warmth(asked),
            };
        }
        Answer::Nothing(words) => return Shown::Nothing(who.numbers().sentence(&words)),
        Answer::Ask(_) => return Shown::Question,
        Answer::Plans { plans, refused } => (plans, refused),
    };
    let chosen = plans
        .iter()
        .position(|plan| plan.charger.number == form.charger);
    let at = chosen.unwrap_or(0);
    let others = plans.iter().enumerate().filter(|(index, _)| *index != at);
    let is_late = plans.first().is_none_or(|best| !best.is_in_time);
    Shown::Plans {
        card: plans
            .get(at)
            .map(|best| Box::new(card(who, best, (asked, kit), (form, one)))),
        others: others
            .map(|(_, plan)| other(who, plan, form, &one.pack.number))
            .collect(),
        refused: refused
            .into_iter()
            .map(|each| Refused {
                why: who.numbers().sentence(&each.why),
                ..each
            })
            .collect(),
        instead: if is_late && matches!(asked.purpose, Purpose::ReadyBy { .. }) {
            instead(who, kit, asked, &one.pack.number)
        } else {
            Instead::default()
        },
    }
}

/// In a mild room nothing would stop it.
fn is_for_warmth(asked: &Asked) -> bool {
    const MILD: Option<i64> = Some(MILD_CELSIUS);
    let mild = Asked {
        warmth: Warmth {
            pack_celsius: MILD,
            room_celsius: MILD,
            pack_is_measured: true,
        },
        ..asked.clone()
    };
    !matches!(plan(&mild, &AtHand::default()), Answer::Stop(_))
}

/// POST /packs/{number}/charge
pub async fn start(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let one = pack_of(&mut app.db.read().await?, &number).await?;
    let form = Form::sent(&fields);
    let about = (&who, number.as_str());
    let conditions = match form.as_shown(&fields, (&who, one.usual(who.now))) {
        Ok(Some(conditions)) => conditions,
        Ok(None) => {
            let problems = Problems::refused("charger", &ChargeRefusal::Changed);
            return refused(&app, about, problems, form).await;
        }
        Err(problems) => return refused(&app, about, problems, form).await,
    };
    let (mode, read) = (fields.text("mode"), fields.text("plan"));
    let chosen = Chosen {
        conditions,
        charger: &form.charger,
        current_ma: fields.count("current_ma").unwrap_or(0),
        mode: &mode,
        plan: &read,
        watched_by: fields.id("watched_by"),
    };
    match charging::start(&app.db, &who.by(&fields), one.pack.id, &chosen).await {
        Ok(address) => page::go_to(&address),
        Err(ChargeRefusal::Repeat(repeat)) => again(&repeat),
        Err(ChargeRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::refused(refusal.field(), &refusal);
            refused(&app, about, problems, form).await
        }
    }
}

/// The page again with what is wrong, and the card as it is by now: what was taken meanwhile is in it.
async fn refused(
    app: &App,
    (who, number): (&SignedIn, &str),
    problems: Problems,
    form: Form,
) -> Page {
    let (one, kit) = &found(app, who, number).await?;
    let shell = who.shell_refused(format!("Charge {}", one.pack.number));
    let shown = match form.understood(who, one.usual(who.now)) {
        Understood::Asked(conditions) => asked(one, conditions, (who.now, &who.club.limits()))
            .map_or(Shown::Question, |asked| {
                let answer = plan(&asked, &kit.hand);
                shown(who, (one, kit), (answer, &asked), &form)
            }),
        _ => Shown::Question,
    };
    charge_shown::keep(app, who, &shown.kept(one.pack.id)).await;
    page::put_right(&ChargePage {
        problems,
        ..page_of(who, (one, kit), shell, form, shown)
    })
}
