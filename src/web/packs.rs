//! GET /packs: the pool as a list, filtered, sorted, a page at a time.

use crate::app::App;
use crate::battery::chemistry::Chemistry;
use crate::bench::connector::{Family, Purpose};
use crate::bench::typed::{self, Unit};
use crate::club::states::State as PackState;
use crate::store::choices;
use crate::store::pack_list::{self, Asked, Order, PER_PAGE};
use crate::web::asked::Query;
use crate::web::care_seen::CareSeen;
use crate::web::charging_now::ChargingNow;
use crate::web::draw_seen::DrawSeen;
use crate::web::fields::Problems;
use crate::web::pack_row::PackRow;
use crate::web::page::{self, Page};
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

#[derive(Template)]
#[template(path = "packs.html")]
struct PacksPage {
    shell: Shell,
    /// None beside a pack that is not in use.
    rows: Vec<Row>,
    asked: Wanted,
    /// What of it can't be read; then no pack is shown, since none is known to suit.
    problems: Problems,
    states: Vec<(String, String)>,
    connectors: Vec<(String, String)>,
    places: Vec<(String, String)>,
    /// Empty for those who may not see who has what.
    holders: Vec<(String, String)>,
    is_quartermaster: bool,
    oversees: bool,
    is_filtered: bool,
    older: Option<String>,
    newer: Option<String>,
}

struct Row {
    row: PackRow,
    seen: Option<CareSeen>,
    charging: Option<ChargingNow>,
    /// None where no draw is asked for.
    draw: Option<DrawSeen>,
}

/// What stands in the address: every field a text, so that nothing typed makes the page fail.
#[derive(Clone, Default, Deserialize)]
#[serde(default)]
pub struct Wanted {
    pub state: String,
    pub cells: String,
    pub mah_from: String,
    pub mah_to: String,
    /// What it must give, as a robot needs it.
    pub amps_from: String,
    pub connector: String,
    pub place: String,
    pub holder: String,
    pub text: String,
    pub order: String,
    pub page: String,
}

impl Wanted {
    fn address(&self, page: i64) -> String {
        format!("/packs?{}&page={page}", self.in_words())
    }

    /// All that is asked for, as a spreadsheet.
    fn as_sheet(&self) -> String {
        format!("/packs.csv?{}", self.in_words())
    }

    fn in_words(&self) -> String {
        let fields = [
            ("state", &self.state),
            ("cells", &self.cells),
            ("mah_from", &self.mah_from),
            ("mah_to", &self.mah_to),
            ("amps_from", &self.amps_from),
            ("connector", &self.connector),
            ("place", &self.place),
            ("holder", &self.holder),
            ("text", &self.text),
            ("order", &self.order),
        ];
        let pairs: Vec<(&str, &str)> = fields
            .iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(name, value)| (*name, value.as_str()))
            .collect();
        super::words::in_address(&pairs)
    }

    /// Something is asked for that a phone keeps folded away.
    fn has_more(&self) -> bool {
        let is_simple = Self {
            state: self.state.clone(),
            text: self.text.clone(),
            ..Self::default()
        };
        self.is_filtered() && self.address(0) != is_simple.address(0) || !self.order.is_empty()
    }

    fn is_filtered(&self) -> bool {
        let fields = [
            &self.state,
            &self.cells,
            &self.mah_from,
            &self.mah_to,
            &self.amps_from,
            &self.connector,
            &self.place,
            &self.holder,
            &self.text,
        ];
        fields.iter().any(|field| !field.is_empty())
    }

    /// What the database is asked, and what of the address it can't be asked.
    /// `families`: all that there are.
    pub(super) fn read(&self, who: &SignedIn, families: &[Family]) -> (Asked, Problems) {
        let mut problems = Problems::default();
        let text = |field: &String| (!field.trim().is_empty()).then(|| field.trim().to_owned());
        let state = text(&self.state).map(|code| {
            let is_known = PackState::from_code(&code).is_some();
            is_known.then_some(code).ok_or(NOT_LISTED)
        });
        let state = problems.keep("state", state.transpose()).flatten();
        let cells = text(&self.cells).map(|typed| typed::cells(&typed).ok_or(CELLS));
        let cells = problems.keep("cells", cells.transpose()).flatten();
        let mut amount = |name: &str, field: &String, unit: Unit| {
            let milli = |typed: String| typed::amount_milli(&typed, unit);
            problems
                .keep(name, text(field).map(milli).transpose())
                .flatten()
        };
        let (capacity_mah_min, capacity_mah_max, gives_ma_min) = (
            amount("mah_from", &self.mah_from, Unit::MilliampHours),
            amount("mah_to", &self.mah_to, Unit::MilliampHours),
            amount("amps_from", &self.amps_from, Unit::Amps),
        );
        let mut listed = |name: &str, field: &String| {
            let id = text(field).map(|id| id.parse::<Uuid>().map_err(|_| NOT_LISTED));
            problems.keep(name, id.transpose()).flatten()
        };
        let (place_id, holder_id) = (listed("place", &self.place), listed("holder", &self.holder));
        let connector = text(&self.connector).map(|code| {
            let is_known = families.iter().any(|family| family.code == code);
            is_known.then_some(code).ok_or(NOT_LISTED)
        });
        let connector = problems.keep("connector", connector.transpose()).flatten();
        let order = text(&self.order).map(|code| Order::from_code(&code).ok_or(NOT_LISTED));
        let order = problems.keep("order", order.transpose()).flatten();
        // Members filter by holder to find their own; of anybody else they are told nothing.
        let may_find = |id: &Uuid| who.me.roles().may_see_holders() || *id == who.me.person_id;
        let asked = Asked {
            state,
            cells,
            capacity_mah_min,
            capacity_mah_max,
            gives_ma_min,
            connector,
            place_id,
            holder_id: holder_id.map(|id| if may_find(&id) { id } else { NOBODY }),
            text: text(&self.text),
            is_for_notes: who.me.roles().may_read_notes(),
            order: order.unwrap_or_default(),
            page: self.page.parse().unwrap_or(0),
            old_before: who.now.plus_days(-who.club.limits().reading_days),
        };
        (asked, problems)
    }

    /// Pages of the list are told apart by what is asked for.
    fn title(&self) -> String {
        PackState::from_code(&self.state).map_or_else(
            || "Packs".to_owned(),
            |state| format!("Packs: {}", state.label().to_lowercase()),
        )
    }
}

const CELLS: &str = "Write the cells as 3 or 3S.";
const NOT_LISTED: &str = "Choose one of the list.";
/// Has nothing.
const NOBODY: Uuid = Uuid::nil();

/// GET /packs
pub async fn list(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    let text = scanned::as_numbers(&app, &wanted.text).await?;
    if text != wanted.text {
        // A scanner typed a label: its pack is asked for by its number.
        return page::go_to(&Wanted { text, ..wanted }.address(0));
    }
    let mut conn = app.db.read().await?;
    let choices = choices::of_packs_page(&mut conn, who.me.roles().may_see_holders()).await?;
    let (asked, problems) = wanted.read(&who, &choices.families);
    let mut found = if problems.is_empty() {
        pack_list::find(&mut conn, &asked).await?
    } else {
        Vec::new()
    };
    drop(conn);
    let has_more = found.len() > usize::try_from(PER_PAGE).unwrap_or(usize::MAX);
    found.truncate(usize::try_from(PER_PAGE).unwrap_or(usize::MAX));
    page::show(&PacksPage {
        shell: if problems.is_empty() {
            who.shell(wanted.title())
        } else {
            who.shell_refused(wanted.title())
        },
        rows: found
            .iter()
            .map(|one| {
                let row = PackRow::of(&one.care.pack, &who);
                Row {
                    seen: CareSeen::of(&one.care, &who),
                    charging: ChargingNow::of(&one.care.now, row.state, &who),
                    draw: DrawSeen::of(one, (&asked, &choices.families), &who),
                    row,
                }
            })
            .collect(),
        states: PackState::ALL
            .into_iter()
            .map(|state| (state.code().to_owned(), state.label().to_owned()))
            .collect(),
        connectors: connector_choices(&choices.families, Purpose::Discharge),
        places: by_text(choices.places),
        holders: by_text(choices.holders),
        is_quartermaster: who.me.is_quartermaster,
        oversees: who.oversees(),
        is_filtered: wanted.is_filtered(),
        problems: problems.worded(who.numbers()),
        newer: (asked.page > 0).then(|| wanted.address(asked.page - 1)),
        older: has_more.then(|| wanted.address(asked.page + 1)),
        asked: wanted,
    })
}

fn by_text(choices: Vec<(Uuid, String)>) -> Vec<(String, String)> {
    let with_text = choices.into_iter().map(|(id, name)| (id.to_string(), name));
    with_text.collect()
}

/// Codes and names of the connectors of one purpose, the club's own among them.
pub fn connector_choices(families: &[Family], purpose: Purpose) -> Vec<(String, String)> {
    families
        .iter()
        .filter(|family| family.purpose == purpose)
        .map(|family| (family.code.clone(), family.name.clone()))
        .collect()
}

pub fn chemistry_choices() -> Vec<(String, String)> {
    Chemistry::ALL
        .into_iter()
        .map(|chemistry| (chemistry.code().to_owned(), chemistry.label().to_owned()))
        .collect()
}
