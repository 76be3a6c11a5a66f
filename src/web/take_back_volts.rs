//! The second step of taking back: volts of the packs without danger, and what came of it all.

use crate::actions::errand::Errand;
use crate::actions::take_back::{self, VoltsOf};
use crate::actions::volts_now::is_danger;
use crate::app::App;
use crate::club::reading::Rested;
use crate::club::states::Life;
use crate::store::lent::{self, ErrandLine};
use crate::store::packs::{self, OfLine, PackView};
use crate::store::places;
use crate::web::back_already::{self, BackAlready, Thing, errand_of, ids};
use crate::web::charging_now::ChargingNow;
use crate::web::fields::{Fields, Problems};
use crate::web::pack_row::{PackRow, what_it_is};
use crate::web::page::{self, Page, PageError};
use crate::web::take_back::{asked, go_on};
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use askama::Template;
use axum::extract::{OriginalUri, State};
use std::collections::BTreeMap;
use uuid::Uuid;

page::puts_right!(stored VoltsPage);

struct VoltsItem {
    lent_id: Uuid,
    pack: PackView,
    what: String,
    suffix: String,
    form: VoltsForm,
    /// Its own answer, where it rested otherwise than the others.
    rested: String,
    place: String,
    problem: String,
    /// Somebody closed its line since the page was shown.
    is_back: bool,
}

impl VoltsItem {
    fn of(one: OfLine, who: &SignedIn, fields: &Fields) -> Self {
        let (lent_id, pack) = (one.line_id, one.pack);
        let suffix = format!("-{lent_id}");
        let typed_place = fields.text(&format!("place{suffix}"));
        let own_place = pack.place_id.map_or_else(String::new, |id| id.to_string());
        Self {
            form: VoltsForm::of(fields, &suffix),
            rested: fields.text(&format!("rested{suffix}")),
            what: who.numbers().sentence(&what_it_is(&pack)),
            is_back: pack.lent_id != Some(lent_id),
            place: if typed_place.is_empty() {
                own_place
            } else {
                typed_place
            },
            problem: String::new(),
            lent_id,
            pack,
            suffix,
        }
    }

    fn is_untouched(&self) -> bool {
        !self.form.has_volts() && self.form.unread.is_empty()
    }

    fn cells(&self) -> Vec<usize> {
        let count = if self.pack.balance_connector.is_some() {
            usize::try_from(self.pack.cells_series).unwrap_or(1)
        } else {
            1
        };
        (1..=count).collect()
    }

    fn value(&self, cell: &usize) -> &str {
        self.form.boxes.get(cell - 1).map_or("", String::as_str)
    }
}

#[derive(Template)]
#[template(path = "take_back_volts.html")]
struct VoltsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<VoltsItem>,
    has_decimal_comma: bool,
    places: Vec<(String, String)>,
    /// What of this errand is done.
    errand: Errand,
    back_already: Vec<BackAlready>,
    in_quarantine: Vec<InQuarantine>,
    /// Numbers whose volts were dangerous and are stored, though the form was refused.
    stored: Vec<String>,
}

/// A pack of this errand that is taken back and dangerous: who has it in hand is told at once.
struct InQuarantine {
    number: String,
    /// Where it goes.
    place: String,
}

impl InQuarantine {
    /// Those among the lines that the errand dealt with itself.
    fn among(lines: &[OfLine], errand: &Errand) -> Vec<Self> {
        let is_dealt_with = |one: &&OfLine| {
            errand.lent.contains(&one.line_id)
                && !errand.was_back(one.line_id)
                && one.pack.is_quarantined()
                && !one.pack.is_lent()
        };
        let dealt_with = lines.iter().filter(is_dealt_with);
        let told = dealt_with.map(|one| Self {
            number: one.pack.number.clone(),
            place: one.pack.place_name.clone().unwrap_or_default(),
        });
        told.collect()
    }
}

/// What a form or an address is about.
struct Asked {
    /// The packs whose volts are asked for.
    items: Vec<VoltsItem>,
    /// All packs of the errand.
    things: Vec<Thing>,
    in_quarantine: Vec<InQuarantine>,
}

async fn asked_of(app: &App, who: &SignedIn, fields: &Fields) -> Result<Asked, PageError> {
    let (asked, errand) = (ids(fields, "volts"), errand_of(fields));
    let done = errand.lent.iter().copied().chain(errand.late());
    let all: Vec<Uuid> = asked.iter().copied().chain(done).collect();
    let lines = packs::of_lines(&mut app.db.read().await?, &all).await?;
    let is_asked = |one: &OfLine| asked.contains(&one.line_id);
    let item = |one| VoltsItem::of(one, who, fields);
    Ok(Asked {
        things: lines.iter().map(Thing::from).collect(),
        in_quarantine: InQuarantine::among(&lines, &errand),
        items: lines.into_iter().filter(is_asked).map(item).collect(),
    })
}

async fn volts_page(
    app: &App,
    shell: Shell,
    who: &SignedIn,
    what: (Vec<VoltsItem>, Vec<BackAlready>, Errand),
) -> Result<VoltsPage, PageError> {
    let (items, back_already, errand) = what;
    let places = places::all_open(&mut app.db.read().await?).await?;
    Ok(VoltsPage {
        shell,
        problems: Problems::default(),
        items,
        has_decimal_comma: who.club.uses_decimal_comma,
        places: places
            .into_iter()
            .map(|place| (place.id.to_string(), place.name))
            .collect(),
        errand,
        back_already,
        in_quarantine: Vec::new(),
        stored: Vec::new(),
    })
}

/// GET /take-back/volts?volts=…&lent=…
pub async fn ask_volts(
    State(app): State<App>,
    who: SignedIn,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let asked = asked(&uri);
    let Asked {
        mut items,
        things,
        in_quarantine,
    } = asked_of(&app, &who, &asked).await?;
    let mut errand = errand_of(&asked);
    for back in items.extract_if(.., |item| item.is_back) {
        errand.was_back_already(back.lent_id);
    }
    if items.is_empty() && !in_quarantine.is_empty() {
        return page::go_to(&errand.address());
    }
    if items.is_empty() {
        return Err(PageError::Refused(
            "These are not out any more; somebody took them back already.".to_owned(),
        ));
    }
    // Kit that was back already is told of at the end.
    let late = back_already::told(&errand, &things);
    let page = volts_page(&app, who.shell("Volts"), &who, (items, late, errand)).await?;
    page::show(&VoltsPage {
        in_quarantine,
        ..page
    })
}

/// POST /take-back/volts
pub async fn take_back(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut items = asked_of(&app, &who, &fields).await?.items;
    let mut errand = errand_of(&fields);
    // Nobody has to say anything of what was booked in already.
    for back in items.extract_if(.., |item| item.is_back && item.is_untouched()) {
        errand.was_back_already(back.lent_id);
    }
    let (read, problems) = read_all(&mut items, &who, &fields);
    if problems.is_empty() {
        if read.is_empty() && !errand.already.is_empty() {
            return page::go_to(&errand.address());
        }
        let taken = take_back::take_back(&app.db, &who.by(&fields), &read, &errand).await;
        return go_on(taken.map(|errand| errand.address()));
    }
    let by = who.by(&fields);
    let cannot_wait = |item: &mut VoltsItem| {
        let read = read.iter().find(|read| read.lent_id == item.lent_id);
        read.is_some_and(|read| item.is_back || is_danger(&by, &item.pack, &read.measured))
    };
    let settled: Vec<VoltsItem> = items.extract_if(.., cannot_wait).collect();
    if !settled.is_empty() {
        let is_of_it = |read: &VoltsOf| settled.iter().any(|item| item.lent_id == read.lent_id);
        let now: Vec<VoltsOf> = read.into_iter().filter(is_of_it).collect();
        errand.volts = items.iter().map(|item| item.lent_id).collect();
        let keyless = who.by(&Fields::default());
        errand = match take_back::take_back(&app.db, &keyless, &now, &errand).await {
            Ok(errand) => errand,
            Err(refusal) => return go_on(Err(refusal)),
        };
    }
    let mut conn = app.db.read().await?;
    let late = back_already::asked_for(&mut conn, &errand).await?;
    let lines = packs::of_lines(&mut conn, &errand.lent).await?;
    drop(conn);
    let mut in_quarantine = InQuarantine::among(&lines, &errand);
    let page = volts_page(
        &app,
        who.shell_refused("Volts"),
        &who,
        (items, late, errand),
    )
    .await?;
    let stored = settled.into_iter().filter(|item| !item.is_back);
    let stored: Vec<String> = stored.map(|item| item.pack.number).collect();
    in_quarantine.retain(|one| !stored.contains(&one.number));
    page::put_right(&VoltsPage {
        problems,
        stored,
        in_quarantine,
        ..page
    })
}

/// What was read, and beside each pack what must be put right.
fn read_all(items: &mut [VoltsItem], who: &SignedIn, fields: &Fields) -> (Vec<VoltsOf>, Problems) {
    let rested = Rested::from_code(&fields.text("rested"));
    let by = who.by(fields);
    let mut problems = Problems::default();
    let mut read = Vec::new();
    for item in items {
        let rested = Rested::from_code(&item.rested).or(rested);
        match item
            .form
            .read_or_ask(&by, &item.pack, rested, who.numbers())
        {
            Ok(measured) => read.push(VoltsOf {
                lent_id: item.lent_id,
                measured,
                place_id: item.place.parse().ok(),
            }),
            Err(wrong) => {
                wrong.note(&mut problems, &item.suffix);
                let field = format!("volts_line{}", item.suffix);
                problems.of(&field).clone_into(&mut item.problem);
            }
        }
    }
    (read, problems)
}

#[derive(Template)]
#[template(path = "take_back_done.html")]
struct DonePage {
    shell: Shell,
    rows: Vec<DoneRow>,
    kit: Vec<KitBack>,
    counts: Counts,
    back_already: Vec<BackAlready>,
    /// A place that holds more energy than it may.
    over: Option<Uuid>,
}

/// Kit that is back: its line, `A-01 × 2`, and how much of it is to mend.
struct KitBack {
    lent_id: Uuid,
    words: String,
    state: String,
}

/// Things of all loans of the errand, each loan once.
#[derive(Default)]
struct Counts {
    in_all: i64,
    still_out: i64,
    lost: i64,
}

impl Counts {
    fn of(lines: &[ErrandLine]) -> Self {
        let loans: BTreeMap<Uuid, &ErrandLine> =
            lines.iter().map(|line| (line.loan_id, line)).collect();
        loans.values().fold(Self::default(), |sum, line| Self {
            in_all: sum.in_all + line.in_all,
            still_out: sum.still_out + line.still_out,
            lost: sum.lost + line.lost,
        })
    }

    const fn back(&self) -> i64 {
        self.in_all - self.still_out - self.lost
    }
}

struct DoneRow {
    row: PackRow,
    lent_id: Uuid,
    stop: Option<crate::web::stop::Stop>,
    is_asked: bool,
    may_undo: bool,
    charging: Option<ChargingNow>,
}

/// GET /take-back/done?lent=…
pub async fn done(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let errand = errand_of(&asked(&uri));
    let mut conn = app.db.read().await?;
    let lines = lent::errand(&mut conn, &errand.lent).await?;
    let packs = packs::of_lines(&mut conn, &errand.lent).await?;
    drop(conn);
    let kit_things = lines.iter().filter_map(kit_thing);
    let things: Vec<Thing> = packs.iter().map(Thing::from).chain(kit_things).collect();
    let back_already = back_already::told(&errand, &things);
    let is_ours = |line: &&ErrandLine| !errand.was_back(line.id);
    page::show(&DonePage {
        shell: who.shell("Taken back"),
        kit: lines.iter().filter(is_ours).filter_map(kit_back).collect(),
        counts: Counts::of(&lines),
        rows: packs
            .into_iter()
            .map(|one| done_row(one, &errand, &who))
            .collect(),
        back_already,
        over: errand.over,
    })
}

fn done_row(one: OfLine, errand: &Errand, who: &SignedIn) -> DoneRow {
    let row = PackRow::of(&one.pack, who);
    DoneRow {
        stop: crate::web::stop::Stop::after_return(&row),
        is_asked: one.is_for_volts,
        may_undo: !row.is_lent && one.pack.life() == Life::InUse && !errand.was_back(one.line_id),
        lent_id: one.line_id,
        charging: ChargingNow::of(&one.now, row.state, who),
        row,
    }
}

fn kit_thing(line: &ErrandLine) -> Option<Thing> {
    Some(Thing {
        line_id: line.id,
        number: line.kit_number.clone()?,
        kit_id: line.kit_id,
        state: None,
    })
}

fn kit_back(line: &ErrandLine) -> Option<KitBack> {
    let number = line.kit_number.as_ref().filter(|_| line.is_closed)?;
    Some(KitBack {
        lent_id: line.id,
        state: kit_state(line.counted.unwrap_or(1), line.aside_count),
        words: line
            .counted
            .map_or_else(|| number.clone(), |count| format!("{number} × {count}")),
    })
}

fn kit_state(back: i64, aside: i64) -> String {
    match aside {
        0 => "Back.".to_owned(),
        aside if aside < back => format!("Back; {aside} of them set aside to mend."),
        1 => "Back. Set aside to mend.".to_owned(),
        _ => "Back. All of them set aside to mend.".to_owned(),
    }
}
