//! Labels on a sheet: for which packs, on which paper, beginning with which address; then the sheet as a PDF. The form
//! gives packs without a label one; looking at the sheet changes nothing.

use crate::actions::labels::{self, LabelRefusal, MOST_AT_ONCE};
use crate::app::App;
use crate::club::label::{self, Reach, reach};
use crate::club::lending::in_ranges;
use crate::club::states::Life;
use crate::paper::labels::{Label, Order, SheetFailed, holds, pdf as set_sheet};
use crate::paper::presets::PRESETS;
use crate::paper::sheet::{Paper, Sheet};
use crate::store::labels::{self as store, Labelled};
use crate::web::fields::{Fields, Problems};
use crate::web::label_sheet_typed::{keys_of, sheet_of};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::press;
use crate::web::scanned;
use crate::web::take_back::asked;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::{OriginalUri, State};

/// The fields that say what the sheet is like; they go on in the address of the PDF.
const OF_SHEET: [&str; 13] = [
    "sheet", "paper", "columns", "rows", "width", "height", "left", "top", "gap_x", "gap_y",
    "fold", "skip", "cut",
];

#[derive(Template)]
#[template(path = "labels/sheet.html")]
struct SheetPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    /// How many packs in use have no label yet, as one form makes them; empty: none.
    lacking_words: String,
    presets: Vec<(&'static str, &'static str)>,
    papers: Vec<(String, String)>,
    bases: Vec<Base>,
    /// Labels that were printed with another address than the one people use now.
    elsewhere: store::Elsewhere,
    /// The first of them, as they are typed: `14 15 17-20`
    elsewhere_numbers: String,
    is_loopback_only: bool,
}

/// An address that labels can begin with, and what is to say of it.
pub(super) struct Base {
    address: String,
    pub(super) warning: &'static str,
}

impl Base {
    pub(super) fn of(address: String) -> Self {
        let warning = match reach(&address) {
            Reach::Name => "",
            Reach::Numbers => {
                "bare numbers: labels stop leading here when this machine gets other numbers"
            }
            Reach::Loopback => "this machine only: no phone can open it",
        };
        Self { address, warning }
    }
}

/// What is offered: the address people use, and where that is no name, or labels were printed with another, this machine's own.
fn bases(app: &App, who: &SignedIn, is_changed: bool) -> Vec<Base> {
    let mut offered = vec![who.base.clone()];
    if is_changed || reach(&who.base) != Reach::Name {
        offered.extend(app.settings.machine_bases());
    }
    let mut seen = Vec::new();
    offered.retain(|base| {
        let is_new = !seen.contains(base);
        seen.push(base.clone());
        is_new
    });
    offered.into_iter().map(Base::of).collect()
}

async fn sheet_page(
    app: &App,
    who: &SignedIn,
    shell: Shell,
    typed: Fields,
) -> Result<SheetPage, PageError> {
    let mut conn = app.db.read().await?;
    let most = i64::try_from(MOST_AT_ONCE).unwrap_or(i64::MAX);
    let lacking = store::lacking(&mut conn, most).await?.len();
    let elsewhere = store::printed_elsewhere(&mut conn, &who.base, most).await?;
    drop(conn);
    Ok(SheetPage {
        shell,
        problems: Problems::default(),
        typed,
        lacking_words: match lacking {
            0 => String::new(),
            MOST_AT_ONCE.. => format!("And the first {MOST_AT_ONCE} packs without a label"),
            _ => format!("And every pack without a label: {lacking}"),
        },
        presets: PRESETS
            .iter()
            .map(|preset| (preset.code, preset.label))
            .collect(),
        papers: Paper::ALL
            .iter()
            .map(|paper| (paper.code().to_owned(), paper.label().to_owned()))
            .collect(),
        bases: bases(app, who, elsewhere.count > 0),
        elsewhere_numbers: in_ranges(elsewhere.keys.iter().copied()),
        elsewhere,
        is_loopback_only: app.settings.is_reached_from_here_only()
            && app.settings.listen.ip().is_loopback(),
    })
}

/// GET /labels
pub async fn ask(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    page::show(&sheet_page(&app, &who, who.shell("Print labels"), asked(&uri)).await?)
}

/// POST /labels
pub async fn put_on_sheet(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut problems = Problems::default();
    let line = scanned::as_numbers(&app, &fields.text("numbers")).await?;
    let mut conn = app.db.read().await?;
    let mut keys = keys_of(&line, &mut problems);
    if fields.is_ticked("lacking") {
        keys.extend(
            store::lacking(&mut conn, i64::try_from(MOST_AT_ONCE).unwrap_or(i64::MAX)).await?,
        );
        keys.sort_unstable();
        keys.dedup();
    }
    let elsewhere = store::printed_elsewhere(&mut conn, &who.base, 1).await?;
    drop(conn);
    if keys.is_empty() && problems.is_empty() {
        problems.add("numbers", "Type the packs, or tick those without a label.");
    } else if keys.len() > MOST_AT_ONCE {
        problems.add("numbers", LabelRefusal::Count.to_string());
    }
    let sheet = sheet_of(&fields, &mut problems);
    let offered = bases(&app, &who, elsewhere.count > 0);
    let base = match (fields.text("base"), offered.as_slice()) {
        (text, [only]) if text.is_empty() => Some(only.address.clone()),
        (text, offered) => offered
            .iter()
            .find(|base| base.address == text)
            .map(|base| base.address.clone()),
    };
    let base = problems.keep(
        "base",
        base.ok_or("Choose the address that the labels begin with."),
    );
    if let (Some((sheet, ..)), Some(base)) = (&sheet, &base) {
        is_large_enough(sheet, base, &fields, &mut problems)?;
    }
    let Some(base) = base.filter(|_| problems.is_empty()) else {
        return refused(&app, &who, fields, problems).await;
    };
    let answer = format!(
        "/labels/sheet?{}",
        sheet_address(&fields, &in_ranges(keys.iter().copied()))
    );
    match labels::put_on_sheet(&app.db, &who.by(&fields), &keys, (&base, &answer)).await {
        Ok(()) => page::go_to(&answer),
        Err(LabelRefusal::Repeat(repeat)) => again(&repeat),
        Err(LabelRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => {
            refused(
                &app,
                &who,
                fields,
                Problems::one("numbers", refusal.to_string()),
            )
            .await
        }
    }
}

/// All labels of a sheet bear addresses of one length.
fn is_large_enough(
    sheet: &Sheet,
    base: &str,
    typed: &Fields,
    problems: &mut Problems,
) -> Result<(), PageError> {
    let longest = label::address(base, &"0".repeat(label::LENGTH));
    match holds(sheet, &longest) {
        Ok(()) => Ok(()),
        Err(SheetFailed::TooSmall(problem)) => {
            let is_own = typed.text("sheet") == "own";
            problems.add(if is_own { problem.field } else { "sheet" }, problem.words);
            Ok(())
        }
        Err(SheetFailed::Paper(error)) => Err(PageError::Internal(error.to_string())),
    }
}

async fn refused(app: &App, who: &SignedIn, typed: Fields, problems: Problems) -> Page {
    let page = sheet_page(app, who, who.shell_refused("Print labels"), typed).await?;
    page::refused(&SheetPage { problems, ..page })
}

fn sheet_address(typed: &Fields, numbers: &str) -> String {
    let mut pairs = vec![("numbers", numbers.to_owned())];
    pairs.extend(OF_SHEET.iter().map(|field| (*field, typed.text(field))));
    let pairs: Vec<(&str, &str)> = pairs
        .iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| (*name, value.as_str()))
        .collect();
    words::in_address(&pairs)
}

#[derive(Template)]
#[template(path = "labels/ready.html")]
struct ReadyPage {
    shell: Shell,
    count: usize,
    numbers: String,
    /// Named, and not in use or without a label since.
    left_out: String,
    unknown: String,
    pages: i64,
    pdf: String,
    change: String,
    base: String,
    warning: &'static str,
    is_flag: bool,
}

/// What an address names.
struct Chosen {
    /// In use, with a label.
    found: Vec<Labelled>,
    /// Numbers of the others.
    left_out: Vec<String>,
    /// Numbers that no pack has.
    unknown: String,
    /// How many of its labels are used already, and whether it is to be cut.
    sheet: (Sheet, i64, bool),
}

/// The packs an address names that have a label, and the sheet. 404 where nothing of it is there.
async fn named(app: &App, typed: &Fields) -> Result<Chosen, PageError> {
    let mut problems = Problems::default();
    let keys = keys_of(&typed.text("numbers"), &mut problems);
    let sheet = sheet_of(typed, &mut problems);
    let sheet = sheet
        .filter(|_| problems.is_empty() && keys.len() <= MOST_AT_ONCE)
        .ok_or(PageError::NotFound)?;
    let found = store::of_keys(&mut app.db.read().await?, &keys).await?;
    let (found, left_out): (Vec<Labelled>, Vec<Labelled>) = found
        .into_iter()
        .partition(|one| one.code.is_some() && one.pack.life() == Life::InUse);
    if found.is_empty() {
        return Err(PageError::NotFound);
    }
    let is_there = |key: &i64| {
        let mut all = found.iter().chain(&left_out);
        all.any(|one| one.pack.number_key == *key)
    };
    let unknown = keys.iter().copied().filter(|key| !is_there(key));
    let unknown = in_ranges(unknown);
    let left_out = left_out.into_iter().map(|one| one.pack.number).collect();
    Ok(Chosen {
        unknown,
        found,
        left_out,
        sheet,
    })
}

/// GET /labels/sheet
pub async fn ready(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    let typed = asked(&uri);
    let chosen = named(&app, &typed).await?;
    let (found, (sheet, skip, _)) = (chosen.found, chosen.sheet);
    let keys: Vec<i64> = found.iter().map(|one| one.pack.number_key).collect();
    let numbers = in_ranges(keys.iter().copied());
    let count = found.len();
    let places = i64::try_from(count)
        .unwrap_or(i64::MAX)
        .saturating_add(skip);
    let base = found
        .first()
        .and_then(|one| one.base.clone())
        .unwrap_or_default();
    let same = sheet_address(&typed, &numbers);
    page::show(&ReadyPage {
        shell: who.shell("Labels are ready"),
        count,
        left_out: chosen.left_out.join(", "),
        unknown: chosen.unknown,
        numbers,
        pages: (places + sheet.per_page() - 1) / sheet.per_page(),
        pdf: format!("/labels/sheet.pdf?{same}"),
        change: format!("/labels?{same}"),
        warning: Base::of(base.clone()).warning,
        base,
        is_flag: sheet.fold.is_some(),
    })
}

/// GET /labels/sheet.pdf
pub async fn pdf(State(app): State<App>, who: SignedIn, OriginalUri(uri): OriginalUri) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let chosen = named(&app, &asked(&uri)).await?;
    let (found, (sheet, skip, is_cut)) = (chosen.found, chosen.sheet);
    let labels: Vec<Label> = found.iter().filter_map(label_of).collect();
    let title = format!("{}: labels of {} packs", who.club.name, labels.len());
    let set = press::set(&app, move || {
        let order = Order {
            sheet: &sheet,
            skip,
            is_cut,
            title: &title,
        };
        set_sheet(&order, &labels)
    });
    match set.await? {
        Ok(bytes) => press::as_pdf("labels", bytes),
        Err(SheetFailed::TooSmall(problem)) => Err(PageError::Refused(problem.words)),
        Err(SheetFailed::Paper(error)) => Err(PageError::Internal(error.to_string())),
    }
}

/// What its label says; None without one.
pub(super) fn label_of(one: &Labelled) -> Option<Label> {
    let build = one.pack.build();
    let words = build.words();
    let chemistry = build.chemistry.label();
    Some(Label {
        address: label::address(one.base.as_deref()?, one.code.as_deref()?),
        number: one.pack.number.clone(),
        what: words.trim_end_matches(chemistry).trim().to_owned(),
        chemistry: chemistry.to_owned(),
    })
}
