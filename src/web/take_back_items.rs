//! The first step of taking back: what is seen on each thing that came back. What is dangerous is dealt with whatever else
//! must be put right, and so is what somebody else booked in meanwhile.

use crate::actions::errand::Errand;
use crate::actions::take_back::{self, LookedAt, TakeBackRefusal};
use crate::app::App;
use crate::club::glance::{Glance, GlanceRefusal};
use crate::club::states::State as PackState;
use crate::store::loans::{self, Out};
use crate::web::back_already::{self, BackAlready, errand_of, ids};
use crate::web::fields::{Fields, Problems};
use crate::web::glance::Answer;
use crate::web::loans::OutRow;
use crate::web::not_out::NotOut;
use crate::web::page::{self, Page, PageError};
use crate::web::stop::Stop;
use crate::web::take_back::{go_on, refused};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

page::puts_right!(stored ItemsPage);

struct Item {
    row: OutRow,
    suffix: String,
    answer: Answer,
    kit_words: String,
    to_mend: String,
    counted: String,
    problem: String,
    /// Somebody closed its line since the page was shown.
    is_back: bool,
}

impl Item {
    fn of(out: Out, who: &SignedIn) -> Self {
        let suffix = format!("-{}", out.lent_id);
        Self {
            row: OutRow::of(out, who),
            suffix,
            answer: Answer::default(),
            kit_words: String::new(),
            to_mend: String::new(),
            counted: String::new(),
            problem: String::new(),
            is_back: false,
        }
    }

    /// Reported while it was out: its holder may not know what the table has to know.
    fn is_in_quarantine(&self) -> bool {
        self.row.state == Some(PackState::Quarantine)
    }

    /// It is here, was back already, or something is seen on it where it is.
    fn is_told(&self) -> bool {
        self.answer.is_here || self.is_back || !self.answer.looked.seen.is_empty()
    }

    /// Stored whatever else must be put right.
    fn cannot_wait(&self) -> bool {
        self.problem.is_empty() && (self.is_back || self.answer.looked.is_danger())
    }
}

#[derive(Template)]
#[template(path = "take_back_items.html")]
struct ItemsPage {
    shell: Shell,
    problems: Problems,
    items: Vec<Item>,
    /// 'Nothing to see' was chosen for all that say nothing themselves.
    is_covered: bool,
    /// Numbers of what was found dangerous and is dealt with.
    stored: Vec<String>,
    /// What of this errand is done.
    errand: Errand,
    back_already: Vec<BackAlready>,
    not_out: NotOut,
    /// What to do with one that came though danger stands against it.
    brought: Stop,
}

/// The page for what is out of those that were named, with how many of counted kit were.
pub(super) fn show(chosen: Vec<(Out, Option<i64>)>, not_out: NotOut, who: &SignedIn) -> Page {
    let items = chosen.into_iter().map(|(out, count)| Item {
        counted: count.map_or_else(String::new, |count| count.to_string()),
        ..Item::of(out, who)
    });
    page::show(&ItemsPage {
        brought: Stop::brought(),
        shell: who.shell("What do you see?"),
        problems: Problems::default(),
        items: items.collect(),
        is_covered: false,
        stored: Vec::new(),
        errand: Errand::default(),
        back_already: Vec::new(),
        not_out,
    })
}

/// POST /take-back/items
pub async fn look(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut items = typed_items(&app, &who, &fields).await?;
    let mut problems = problems_of(&items);
    if problems.is_empty() {
        let outcome = look_at(&app, &who, &fields, &items).await;
        let is_miscounted = matches!(
            outcome,
            Err(TakeBackRefusal::NotSoMany { .. } | TakeBackRefusal::NotSoManyToMend { .. })
        );
        if is_miscounted {
            // A part came back since the page was read: what is out now says which count is wrong.
            items = typed_items(&app, &who, &fields).await?;
            problems = problems_of(&items);
        }
        if problems.is_empty() {
            return go_on(outcome.map(|errand| errand.address()));
        }
    }
    let settled: Vec<Item> = items.extract_if(.., |item| item.cannot_wait()).collect();
    let errand = if settled.is_empty() {
        errand_of(&fields)
    } else {
        let keyless = who.by(&Fields::default());
        let seen = seen_on(&settled);
        take_back::look(&app.db, &keyless, &seen, &errand_of(&fields))
            .await
            .map_err(refused)?
    };
    let back_already = back_already::asked_for(&mut app.db.read().await?, &errand).await?;
    let stored = settled
        .into_iter()
        .filter(|item| !item.is_back && item.answer.is_here);
    page::put_right(&ItemsPage {
        brought: Stop::brought(),
        shell: who.shell_refused("What do you see?"),
        problems,
        items,
        is_covered: is_covered(&fields),
        errand,
        back_already,
        not_out: NotOut::default(),
        stored: stored.map(|item| item.row.out.number).collect(),
    })
}

fn is_covered(fields: &Fields) -> bool {
    fields.text("all") == Glance::Nothing.code()
}

/// Everything the form showed, also what is out no more.
async fn typed_items(app: &App, who: &SignedIn, fields: &Fields) -> Result<Vec<Item>, PageError> {
    let mut conn = app.db.read().await?;
    let all_out = loans::all_out(&mut conn).await?;
    let mut items = Vec::new();
    for id in ids(fields, "shown") {
        if let Some(out) = all_out.iter().find(|one| one.lent_id == id) {
            items.push(typed_item(out.clone(), who, fields));
        } else if let Some(line) = loans::line(&mut conn, id).await? {
            items.push(typed_late(typed_item(line.out, who, fields)));
        }
    }
    Ok(items)
}

/// Nobody has to say anything of what was booked in already; who says that something is wrong is asked what it is.
fn typed_late(item: Item) -> Item {
    let is_asked = item.answer.refusal == Some(GlanceRefusal::WrongUnsaid);
    Item {
        problem: if is_asked {
            item.problem
        } else {
            String::new()
        },
        is_back: true,
        ..item
    }
}

fn problems_of(items: &[Item]) -> Problems {
    let mut problems = Problems::default();
    for item in items.iter().filter(|item| !item.problem.is_empty()) {
        problems.add(&format!("look{}", item.suffix), item.problem.clone());
    }
    let is_nothing_here = items.iter().all(|item| !item.is_told());
    if let (true, true, Some(first)) = (problems.is_empty(), is_nothing_here, items.first()) {
        let words = "Everything is said to be still out. Choose what came back.";
        problems.add(&format!("look{}", first.suffix), words);
    }
    problems
}

fn typed_item(out: Out, who: &SignedIn, fields: &Fields) -> Item {
    let base = Item::of(out, who);
    let suffix = &base.suffix;
    let number = &base.row.out.number;
    let kit_words = fields.text(&format!("kit_words{suffix}"));
    let to_mend = fields.text(&format!("to_mend{suffix}"));
    let counted = fields.text(&format!("counted{suffix}"));
    let mut answer = Answer::of(fields, suffix, is_covered(fields));
    let is_of_kit = base.row.out.pack_id.is_none() && !kit_words.is_empty();
    let is_contradiction = is_of_kit && answer.glance == Glance::StillOut;
    if is_of_kit {
        answer = Answer {
            glance: Glance::Wrong,
            is_here: true,
            refusal: None,
            ..answer
        };
    }
    let problem = match (base.row.out.counted, answer.is_here) {
        (Some(count), true) if !is_part_of(&counted, count) => {
            format!("{number}: type how many came back, from 1 to {count}.")
        }
        _ if is_contradiction => {
            format!("{number}: is it here with something to mend, or still out? Say one of them.")
        }
        (Some(_), true) if !to_mend.is_empty() && kit_words.is_empty() => {
            format!("{number}: say what is to mend with {to_mend} of them.")
        }
        (Some(count), true) if !is_part_of(&to_mend, counted.parse().unwrap_or(count)) => {
            let back = counted.parse().unwrap_or(count);
            format!("{number}: type how many are to mend, from 1 to {back}.")
        }
        _ => answer.problem_after(number),
    };
    Item {
        answer,
        kit_words,
        to_mend,
        counted,
        problem,
        ..base
    }
}

/// Empty means all.
fn is_part_of(counted: &str, count: i64) -> bool {
    let typed = counted.parse();
    counted.is_empty() || typed.is_ok_and(|typed: i64| (1..=count).contains(&typed))
}

async fn look_at(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
    items: &[Item],
) -> Result<Errand, TakeBackRefusal> {
    let seen = seen_on(items);
    take_back::look(&app.db, &who.by(fields), &seen, &errand_of(fields)).await
}

fn seen_on(items: &[Item]) -> Vec<LookedAt> {
    items
        .iter()
        .filter(|item| item.is_told())
        .map(|item| LookedAt {
            lent_id: item.row.out.lent_id,
            is_here: item.answer.is_here,
            looked: item.answer.looked.clone(),
            kit_words: item.kit_words.clone(),
            counted: item.counted.parse().ok(),
            to_mend: item.to_mend.parse().ok(),
        })
        .collect()
}
