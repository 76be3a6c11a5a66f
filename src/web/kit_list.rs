//! The list of kit, by kind, as it is asked for and a page at a time. How one thing reads is `kit`.

use crate::app::App;
use crate::bench::kit::KitKind;
use crate::club::people::Role;
use crate::store::kit::{self as store, Part};
use crate::web::asked::Query;
use crate::web::kit::{Row, capital, row};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "kit/list.html")]
struct ListPage {
    shell: Shell,
    may_change: bool,
    filter: Filter,
    kinds: Vec<(String, String)>,
    groups: Vec<Group>,
    is_filtered: bool,
    newer: Option<String>,
    older: Option<String>,
}

struct Group {
    kind: &'static str,
    rows: Vec<Row>,
}

#[derive(Default, Deserialize)]
#[serde(default)]
pub struct Filter {
    pub(super) kind: String,
    pub(super) text: String,
    pub(super) place: String,
    pub(super) gone: String,
    pub(super) see_to: String,
    pub(super) page: String,
}

const PER_PAGE: usize = 50;

/// GET /kit
pub async fn list(State(app): State<App>, who: SignedIn, Query(filter): Query<Filter>) -> Page {
    let (rows, has_more) = one_page_of(&app, &who, &filter).await?;
    let (part, page) = (filter.whole(), filter.page());
    page::show(&ListPage {
        shell: who.shell(filter.title()),
        may_change: who.has(Role::Quartermaster),
        kinds: KitKind::ALL
            .map(|kind| (kind.code().to_owned(), capital(kind.plural())))
            .to_vec(),
        groups: grouped(rows),
        is_filtered: part.is_to_see_to
            || part.kind.is_some()
            || part.place_id.is_some()
            || filter.has_text(),
        newer: (page > 0).then(|| filter.address(page - 1)),
        older: has_more.then(|| filter.address(page + 1)),
        filter,
    })
}

/// A page of what suits, and whether there is more.
pub(super) async fn one_page_of(
    app: &App,
    who: &SignedIn,
    filter: &Filter,
) -> Result<(Vec<Row>, bool), PageError> {
    let found = store::list(&mut app.db.read().await?, filter.part()).await?;
    let rows: Vec<Row> = found
        .into_iter()
        .map(|listed| row(listed, who))
        .collect::<Result<_, _>>()?;
    let skip = if filter.has_text() { filter.skip() } else { 0 };
    let mut rows: Vec<Row> = rows
        .into_iter()
        .filter(|row| row.suits(&filter.text))
        .skip(skip)
        .take(PER_PAGE + 1)
        .collect();
    let has_more = rows.len() > PER_PAGE;
    rows.truncate(PER_PAGE);
    Ok((rows, has_more))
}

impl Filter {
    fn has_text(&self) -> bool {
        !self.text.trim().is_empty()
    }

    pub(super) fn page(&self) -> usize {
        self.page.parse().unwrap_or(0).min(10_000)
    }

    fn skip(&self) -> usize {
        self.page() * PER_PAGE
    }

    /// A text is looked for in the words a data sheet makes, which the database does not know: then all of it is read.
    fn part(&self) -> Part {
        let count = |rows: usize| i64::try_from(rows).unwrap_or(i64::MAX);
        let whole = self.whole();
        if self.has_text() {
            return whole;
        }
        Part {
            at_most: count(PER_PAGE + 1),
            after: count(self.skip()),
            ..whole
        }
    }

    /// All that is asked for but a text, whatever page.
    pub(super) fn whole(&self) -> Part {
        Part {
            kind: KitKind::from_code(&self.kind),
            place_id: self.place.parse().ok(),
            is_gone: !self.gone.is_empty(),
            is_to_see_to: !self.see_to.is_empty(),
            ..Part::ALL_IN_USE
        }
    }

    /// Pages of the list are told apart by what is asked for.
    fn title(&self) -> String {
        let kind = KitKind::from_code(&self.kind).map(|kind| capital(kind.plural()));
        let what = match (self.gone.is_empty(), self.see_to.is_empty()) {
            (false, _) => "Kit that has left the pool",
            (true, false) => "Kit to see to",
            (true, true) => "Kit",
        };
        kind.map_or_else(|| what.to_owned(), |kind| format!("{what}: {kind}"))
    }

    fn address(&self, page: usize) -> String {
        format!("/kit?{}", self.in_words(&page.to_string()))
    }

    /// All that is asked for, as a spreadsheet.
    fn as_sheet(&self) -> String {
        format!("/kit.csv?{}", self.in_words(""))
    }

    fn in_words(&self, page: &str) -> String {
        let fields = [
            ("kind", &self.kind),
            ("text", &self.text),
            ("place", &self.place),
            ("gone", &self.gone),
            ("see_to", &self.see_to),
        ];
        let fields = fields.map(|(name, value)| (name, value.as_str()));
        let all = fields.into_iter().chain([("page", page)]);
        let pairs: Vec<(&str, &str)> = all.filter(|(_, value)| !value.is_empty()).collect();
        words::in_address(&pairs)
    }
}

impl Row {
    /// Every word of the text stands somewhere in its row.
    pub(super) fn suits(&self, text: &str) -> bool {
        let kit = &self.listed.kit;
        let all = format!(
            "{} {} {} {} {} {}",
            kit.number, self.kind, kit.name, kit.maker, self.what, self.notes
        )
        .to_lowercase();
        text.to_lowercase()
            .split_whitespace()
            .all(|word| all.contains(word))
    }
}

/// In the order of kinds; rows of a kind follow their numbers.
fn grouped(rows: Vec<Row>) -> Vec<Group> {
    let mut groups: Vec<Group> = KitKind::ALL
        .map(|kind| Group {
            kind: kind.plural(),
            rows: Vec::new(),
        })
        .into();
    for row in rows {
        let at = KitKind::ALL
            .iter()
            .position(|kind| Some(*kind) == row.listed.kit.kind());
        if let Some(group) = at.and_then(|at| groups.get_mut(at)) {
            group.rows.push(row);
        }
    }
    groups.retain(|group| !group.rows.is_empty());
    groups
}
