//! GET /season: storage care over a season: the share of packs in their band week by week, and how long it took after each event
//! until its packs were put to storage. The sheet and programs are told the same.

use crate::app::App;
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::care::season::{
    After, Counts, MOST_WEEKS, OfPack, Stay, Week, after_event, stood, weeks,
};
use crate::club::care::story::Lying;
use crate::club::care::walked::Step;
use crate::store::StoreError;
use crate::store::care::season::{self as stored, Happened};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page};
use crate::web::picture::chart::{Across, Chart, Line, Panel};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// Half a year, where nobody said from when on.
const SEASON_DAYS: i64 = 26 * 7;

pub struct Season {
    pub weeks: Vec<(Week, Counts)>,
    /// Those that ended in it, the earliest first.
    pub events: Vec<Event>,
}

pub struct Event {
    pub id: Uuid,
    pub name: String,
    pub ended: Instant,
    pub after: After,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    from: String,
}

impl Asked {
    pub const fn of(from: String) -> Self {
        Self { from }
    }

    pub fn from_day(&self, who: &SignedIn) -> Result<Day, String> {
        let today = who.zone.day_of(who.now);
        if self.from.is_empty() {
            return Ok(today.plus_days(-SEASON_DAYS));
        }
        let day = Day::parse(&self.from);
        let is_within = |day: &Day| (1..=MOST_WEEKS * 7).contains(&day.days_until(today));
        day.filter(is_within)
            .ok_or_else(|| format!("Choose a day before today, {MOST_WEEKS} weeks back at most."))
    }
}

pub async fn looked_back(app: &App, who: &SignedIn, from: Day) -> Result<Season, StoreError> {
    let weeks = weeks(from, who.now, &who.zone);
    let starts = weeks
        .first()
        .map_or(who.now, |week| who.zone.start_of(week.first));
    let mut conn = app.db.read().await?;
    let packs = stored::packs(&mut conn, starts).await?;
    let happened = stored::happened(&mut conn, starts).await?;
    drop(conn);
    let limits = who.club.limits();
    let mut steps: HashMap<Uuid, Vec<(Instant, Step)>> = HashMap::new();
    for (pack_id, one) in &happened {
        let of_pack = steps.entry(*pack_id).or_default();
        of_pack.extend(one.steps(who.now));
    }
    let mut of_pack = |pack: &stored::Pack| {
        let lying = Lying::of(pack.build(), &limits, None);
        let of_pool = (pack.created_ms, pack.left_ms);
        let steps = steps.remove(&pack.id).unwrap_or_default();
        OfPack::new(lying, of_pool, steps, &limits)
    };
    let ids: Vec<Uuid> = packs.iter().map(|pack| pack.id).collect();
    let packs: Vec<OfPack> = packs.iter().map(&mut of_pack).collect();
    let counts = stood(&packs, &weeks);
    let by_id: HashMap<Uuid, &OfPack> = ids.into_iter().zip(&packs).collect();
    Ok(Season {
        events: events(&happened, &by_id, (starts, who.now)),
        weeks: weeks.into_iter().zip(counts).collect(),
    })
}

fn events(
    happened: &[(Uuid, Happened)],
    packs: &HashMap<Uuid, &OfPack>,
    (starts, now): (Instant, Instant),
) -> Vec<Event> {
    let mut all = BTreeMap::new();
    for (pack_id, one) in happened {
        let Happened::Event {
            id,
            name,
            starts: began,
            ends,
            back,
        } = one
        else {
            continue;
        };
        if (starts..=now).contains(ends) {
            let event = all
                .entry((*ends, *id))
                .or_insert_with(|| (name.as_str(), Vec::new()));
            let stay = Stay {
                starts: *began,
                ends: *ends,
                back: back.unwrap_or(*ends),
            };
            event.1.extend(packs.get(pack_id).map(|pack| (*pack, stay)));
        }
    }
    let told = all.into_iter().filter_map(|((ended, id), (name, packs))| {
        Some(Event {
            id,
            name: name.to_owned(),
            ended,
            after: after_event(packs)?,
        })
    });
    told.collect()
}

#[derive(Template)]
#[template(path = "season.html")]
struct SeasonPage {
    shell: Shell,
    problems: Problems,
    from: String,
    /// Empty where there is nothing to draw. So with the other.
    bands: String,
    days: String,
    events: Vec<Row>,
}

struct Row {
    id: Uuid,
    name: String,
    ended: String,
    packs: usize,
    stored: usize,
    median: Option<String>,
}

/// GET /season
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let from = match asked.from_day(&who) {
        Ok(from) => from,
        Err(words) => {
            return page::refused(&SeasonPage {
                shell: who.shell_refused("The season"),
                problems: Problems::one("from", words),
                from: asked.from,
                bands: String::new(),
                days: String::new(),
                events: Vec::new(),
            });
        }
    };
    let season = looked_back(&app, &who, from).await?;
    page::show(&SeasonPage {
        shell: who.shell("The season"),
        problems: Problems::default(),
        from: from.to_string(),
        bands: bands(&season, &who),
        days: days(&season, &who),
        events: season.events.iter().map(|event| row(event, &who)).collect(),
    })
}

fn row(event: &Event, who: &SignedIn) -> Row {
    let median = |days: f64| who.numbers().sentence(&format!("{days:.1} days"));
    Row {
        id: event.id,
        name: event.name.clone(),
        ended: day_words(last_day(event, who)),
        packs: event.after.packs,
        stored: event.after.stored,
        median: event.after.median_days.map(median),
    }
}

/// Of an event that ended with its day: that day.
pub fn last_day(event: &Event, who: &SignedIn) -> Day {
    who.zone.day_of(Instant(event.ended.ms() - 1))
}

fn bands(season: &Season, who: &SignedIn) -> String {
    let line = |letter: &str, name: &str, of: fn(&Counts) -> usize| Line {
        letter: letter.to_owned(),
        name: name.to_owned(),
        points: season
            .weeks
            .iter()
            .filter_map(|(week, counts)| {
                let percent = counts.percent(of(counts))?;
                // The last moment of its Sunday: that is the day which the table names.
                Some(((week.ends.ms() - 1) as f64, percent))
            })
            .collect(),
    };
    let panel = Panel {
        name: "Packs as each week ended".to_owned(),
        unit: "%",
        decimals: 0,
        lines: vec![
            line("In", "In their band", |counts| counts.inside),
            line("Ab", "Above it", |counts| counts.above),
            line("Un", "Under it", |counts| counts.under),
            line("?", "Not known", |counts| counts.unknown),
        ],
        rules: Vec::new(),
        has_zero: true,
    };
    chart("bands", "Packs in their storage band", panel, who).html()
}

fn days(season: &Season, who: &SignedIn) -> String {
    let median = |event: &Event| Some((event.ended.ms() as f64, event.after.median_days?));
    let points: Vec<(f64, f64)> = season.events.iter().filter_map(median).collect();
    if points.is_empty() {
        return String::new();
    }
    let panel = Panel {
        name: "Days to storage after an event, median".to_owned(),
        unit: "days",
        decimals: 1,
        lines: vec![Line {
            letter: "M".to_owned(),
            name: "Median".to_owned(),
            points,
        }],
        rules: Vec::new(),
        has_zero: true,
    };
    chart("days", "Days to storage after events", panel, who).svg()
}

fn chart<'z>(id: &'z str, title: &str, panel: Panel, who: &'z SignedIn) -> Chart<'z> {
    Chart {
        id,
        title: title.to_owned(),
        across: Across::Days(&who.zone),
        panels: vec![panel],
        stretches: Vec::new(),
        numbers: who.numbers(),
    }
}
