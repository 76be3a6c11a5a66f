//! Take back at the table: which came back and what is seen on each; then the volts of those without danger; then what
//! happened, each with its state, why, and the next step.

use crate::actions::condition::Looked;
use crate::actions::take_back::{self, LookedAt, TakeBackRefusal, VoltsOf};
use crate::app::App;
use crate::club::lending::{Typed, read_numbers};
use crate::club::reading::Rested;
use crate::store::loans::{self, Out};
use crate::store::packs::{self, PackView};
use crate::store::places;
use crate::web::fields::{Fields, Problems};
use crate::web::loans::OutRow;
use crate::web::pack::again;
use crate::web::pack_forms::{VoltsForm, looked};
use crate::web::pack_row::{PackRow, what_it_is};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::{OriginalUri, State};
use uuid::Uuid;

#[derive(Template)]
#[template(path = "take_back.html")]
struct TakeBackPage {
    shell: Shell,
    problems: Problems,
    numbers: String,
    loans: Vec<(OutRow, usize)>,
}

/// What an address asks for, names repeated: `lent=…&lent=…`.
fn asked(uri: &axum::http::Uri) -> Fields {
    let query = axum::extract::Query::<Vec<(String, String)>>::try_from_uri(uri);
    Fields::new(
        query
            .map(|axum::extract::Query(pairs)| pairs)
            .unwrap_or_default(),
    )
}

fn ids(fields: &Fields, name: &str) -> Vec<Uuid> {
    fields
        .all(name)
        .iter()
        .filter_map(|text| text.parse().ok())
        .take(200)
        .collect()
}

/// GET /take-back
pub async fn ask(State(app): State<App>, who: SignedIn) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    page::show(&TakeBackPage {
        shell: who.shell("Take back"),
        problems: Problems::default(),
        numbers: String::new(),
        loans: by_loan(out, &who),
    })
}

/// One row for each loan, with how many things are out on it.
fn by_loan(out: Vec<Out>, who: &SignedIn) -> Vec<(OutRow, usize)> {
    let mut rows: Vec<(OutRow, usize)> = Vec::new();
    for one in out {
        match rows
            .iter_mut()
            .find(|(row, _)| row.out.loan_id == one.loan_id)
        {
            Some((_, count)) => *count += 1,
            None => rows.push((OutRow::of(one, who), 1)),
        }
    }
    rows
}

struct Item {
    row: OutRow,
    suffix: String,
    is_ticked: bool,
    looked: Looked,
    kit_words: String,
    counted: String,
    problem: String,
}

#[derive(Template)]
#[template(path = "take_back_items.html")]
struct ItemsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<Item>,
    stored: Vec<String>,
}

/// GET /take-back/items?loan=… or ?numbers=14 15 or ?lent=…
pub async fn items(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let asked = asked(&uri);
    let out = loans::all_out(&mut app.db.read().await?).await?;
    let numbers = asked.text("numbers");
    let chosen = match choose(&out, &asked) {
        Ok(chosen) => chosen,
        Err(words) => {
            let page = TakeBackPage {
                shell: who.shell_refused("Take back"),
                problems: Problems::one("numbers", words),
                numbers,
                loans: by_loan(out, &who),
            };
            return page::refused(&page);
        }
    };
    let is_ticked = asked.id("loan").is_none();
    let items = chosen
        .into_iter()
        .map(|out| item(out, &who, is_ticked))
        .collect();
    page::show(&ItemsPage {
        shell: who.shell("What do you see?"),
        problems: Problems::default(),
        items,
        stored: Vec::new(),
    })
}

fn choose(out: &[Out], asked: &Fields) -> Result<Vec<Out>, String> {
    let lent = ids(asked, "lent");
    let loan = asked.id("loan");
    let typed = read_numbers(&asked.text("numbers"))
        .map_err(|word| format!("“{word}” is no number. Type them as 14 15 17-20."))?;
    let is_named = |one: &Out| {
        typed.iter().any(|typed| match typed {
            Typed::Packs(from, to) => {
                one.pack_id.is_some()
                    && key_of(&one.number).is_some_and(|key| (*from..=*to).contains(&key))
            }
            Typed::Number(number, _) => one.number == *number,
        })
    };
    let chosen: Vec<Out> = out
        .iter()
        .filter(|one| lent.contains(&one.lent_id) || Some(one.loan_id) == loan || is_named(one))
        .cloned()
        .collect();
    if chosen.is_empty() {
        Err("None of these is out. Somebody may have taken it back already.".to_owned())
    } else {
        Ok(chosen)
    }
}

fn key_of(number: &str) -> Option<i64> {
    number.rsplit('-').next()?.parse().ok()
}

fn item(out: Out, who: &SignedIn, is_ticked: bool) -> Item {
    let suffix = format!("-{}", out.lent_id);
    Item {
        row: OutRow::of(out, who),
        suffix,
        is_ticked,
        looked: Looked::default(),
        kit_words: String::new(),
        counted: String::new(),
        problem: String::new(),
    }
}

/// POST /take-back/items
pub async fn look(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let out = loans::all_out(&mut app.db.read().await?).await?;
    let shown: Vec<Out> = ids(&fields, "shown")
        .iter()
        .filter_map(|id| out.iter().find(|one| one.lent_id == *id))
        .cloned()
        .collect();
    let ticked = ids(&fields, "lent");
    let mut items: Vec<Item> = shown
        .into_iter()
        .map(|out| typed_item(out, &who, &fields, &ticked))
        .collect();
    let mut problems = Problems::default();
    if items.iter().all(|item| !item.is_ticked) {
        problems.add("lent", "Tick what came back.");
    }
    for item in items.iter().filter(|item| !item.problem.is_empty()) {
        problems.add(
            &format!("seen{}", item.suffix),
            format!("{}: {}", item.row.out.number, item.problem),
        );
    }
    if problems.is_empty() {
        return go_on(look_at(&app, &who, &fields, &items).await);
    }
    // What is dangerous is dealt with now, whatever else must be put right.
    let dangerous: Vec<Item> = items
        .extract_if(.., |item| item.is_ticked && item.looked.is_danger())
        .collect();
    let mut stored: Vec<String> = Vec::new();
    if !dangerous.is_empty() {
        let keyless = Fields::default();
        look_at(&app, &who, &keyless, &dangerous)
            .await
            .map_err(refused)?;
        stored = dangerous
            .iter()
            .map(|item| item.row.out.number.clone())
            .collect();
    }
    page::refused(&ItemsPage {
        shell: who.shell_refused("What do you see?"),
        problems,
        items,
        stored,
    })
}

fn typed_item(out: Out, who: &SignedIn, fields: &Fields, ticked: &[Uuid]) -> Item {
    let base = item(out, who, false);
    let looked = looked(fields, &base.suffix);
    // Seeing danger on a pack says that it is here, ticked or not.
    let is_ticked = ticked.contains(&base.row.out.lent_id) || looked.is_danger();
    let is_pack = base.row.out.pack_id.is_some();
    let problem = if is_ticked && is_pack && looked.seen.is_empty() {
        "tick what you see; 'nothing to see' is an answer."
    } else {
        ""
    };
    Item {
        is_ticked,
        looked,
        kit_words: fields.text(&format!("kit_words{}", base.suffix)),
        counted: fields.text(&format!("counted{}", base.suffix)),
        problem: problem.to_owned(),
        ..base
    }
}

async fn look_at(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
    items: &[Item],
) -> Result<String, TakeBackRefusal> {
    let all: Vec<LookedAt> = items
        .iter()
        .filter(|item| item.is_ticked)
        .map(|item| LookedAt {
            lent_id: item.row.out.lent_id,
            looked: item.looked.clone(),
            kit_words: item.kit_words.clone(),
            counted: item.counted.parse().ok(),
        })
        .collect();
    let wants_volts = take_back::look(&app.db, &who.by(fields), &all).await?;
    Ok(take_back::next_address(&all, &wants_volts))
}

fn refused(refusal: TakeBackRefusal) -> PageError {
    match refusal {
        TakeBackRefusal::Store(error) => error.into(),
        other => PageError::Refused(other.to_string()),
    }
}

fn go_on(outcome: Result<String, TakeBackRefusal>) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(TakeBackRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => Err(refused(refusal)),
    }
}

struct VoltsItem {
    lent_id: Uuid,
    pack: PackView,
    what: String,
    suffix: String,
    form: VoltsForm,
    place: String,
    problem: String,
}

impl VoltsItem {
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
    rested: String,
    places: Vec<(String, String)>,
    /// Every loan line of this errand, also those that are done.
    errand: Vec<Uuid>,
}

async fn volts_page(app: &App, who: &SignedIn, fields: &Fields) -> Result<VoltsPage, PageError> {
    let mut conn = app.db.read().await?;
    let packs = packs::lent(&mut conn).await?;
    let places = places::all_open(&mut conn).await?;
    drop(conn);
    let wanted = ids(fields, "volts");
    let items = packs
        .into_iter()
        .filter_map(|pack| Some((pack.lent_id.filter(|id| wanted.contains(id))?, pack)))
        .map(|(lent_id, pack)| {
            let suffix = format!("-{lent_id}");
            let place = fields.text(&format!("place{suffix}"));
            let place = if place.is_empty() {
                pack.place_id.map_or_else(String::new, |id| id.to_string())
            } else {
                place
            };
            VoltsItem {
                form: VoltsForm::of(fields, &suffix),
                what: what_it_is(&pack),
                lent_id,
                pack,
                suffix,
                place,
                problem: String::new(),
            }
        })
        .collect();
    Ok(VoltsPage {
        shell: who.shell("Volts"),
        problems: Problems::default(),
        items,
        rested: fields.text("rested"),
        places: places
            .into_iter()
            .map(|place| (place.id.to_string(), place.name))
            .collect(),
        errand: ids(fields, "lent"),
    })
}

/// GET /take-back/volts?volts=…&lent=…
pub async fn ask_volts(
    State(app): State<App>,
    who: SignedIn,
    OriginalUri(uri): OriginalUri,
) -> Page {
    let page = volts_page(&app, &who, &asked(&uri)).await?;
    if page.items.is_empty() {
        return Err(PageError::Refused(
            "These are not out any more; somebody took them back already.".to_owned(),
        ));
    }
    page::show(&page)
}

/// POST /take-back/volts
pub async fn take_back(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut page = volts_page(&app, &who, &fields).await?;
    let rested = Rested::from_code(&page.rested);
    let mut problems = Problems::default();
    if rested.is_none() && page.items.iter().any(|item| item.form.has_volts()) {
        problems.add("rested", "Say whether the packs rested.");
    }
    let mut all = Vec::new();
    for item in &mut page.items {
        match item
            .form
            .measured(&item.pack, rested.or(Some(Rested::JustUsed)))
        {
            Ok(measured) => all.push(VoltsOf {
                lent_id: item.lent_id,
                measured,
                place_id: item.place.parse().ok(),
            }),
            Err(words) => {
                problems.add(&format!("volts_line{}", item.suffix), words.clone());
                item.problem = words;
            }
        }
    }
    if !problems.is_empty() {
        return page::refused(&VoltsPage {
            shell: who.shell_refused("Volts"),
            problems,
            ..page
        });
    }
    let every: Vec<String> = page.errand.iter().map(|id| format!("lent={id}")).collect();
    let answer = format!("/take-back/done?{}", every.join("&"));
    go_on(
        take_back::take_back(&app.db, &who.by(&fields), &all, &answer)
            .await
            .map(|()| answer),
    )
}

#[derive(Template)]
#[template(path = "take_back_done.html")]
struct DonePage {
    shell: Shell,
    rows: Vec<DoneRow>,
    kit: Vec<String>,
    still_out: i64,
    in_all: i64,
}

struct DoneRow {
    row: PackRow,
    lent_id: Uuid,
    is_danger: bool,
    is_asked: bool,
}

/// GET /take-back/done?lent=…
pub async fn done(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let lines = ids(&asked(&uri), "lent");
    let mut conn = app.db.read().await?;
    let (mut rows, mut kit, mut still_out, mut in_all) = (Vec::new(), Vec::new(), 0, 0);
    let mut loans_seen = Vec::new();
    for lent_id in lines {
        let Some(line) = crate::store::lent::by_id(&mut conn, lent_id).await? else {
            continue;
        };
        if !loans_seen.contains(&line.loan_id) {
            let (all, out) = crate::store::lent::counts(&mut conn, line.loan_id).await?;
            in_all += all;
            still_out += out;
            loans_seen.push(line.loan_id);
        }
        match line.pack_id {
            Some(pack_id) => {
                let Some(pack) = packs::by_id(&mut conn, pack_id).await? else {
                    continue;
                };
                let row = PackRow::of(&pack, &who);
                let is_danger = row.code == "quarantine";
                let is_asked = row.code == "set_aside";
                rows.push(DoneRow {
                    row,
                    lent_id,
                    is_danger,
                    is_asked,
                });
            }
            None => kit.push(
                line.counted
                    .map_or_else(|| "kit".to_owned(), |count| format!("{count} adapters")),
            ),
        }
    }
    drop(conn);
    page::show(&DonePage {
        shell: who.shell("Taken back"),
        rows,
        kit,
        still_out,
        in_all,
    })
}
