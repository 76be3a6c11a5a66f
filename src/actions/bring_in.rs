//! Bring in a spreadsheet: keep it between the steps, note what was chosen, and carry it out as a whole or not at all. What
//! comes of it is planned by `club::sheet`; `carried` writes it. A sheet neither sets nor lifts a state.

mod carried;

use crate::actions::By;
use crate::actions::keep_kit::KitRefusal;
use crate::actions::once::{self, Repeat};
use crate::actions::register::RegisterRefusal;
use crate::club::sheet::known::Known;
use crate::club::sheet::plan::{self, Doubts, Plan, Setting};
use crate::club::sheet::text::{self, Grid};
use crate::club::sheet::{Choices, Holds};
use crate::ids;
use crate::store::sheets::{self, Sheet};
use crate::store::{Db, StoreError, Tx, known};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum BringInRefusal {
    #[error("Only a quartermaster brings in spreadsheets.")]
    NotAQuartermaster,
    #[error("There is no such sheet.")]
    Gone,
    #[error("Something about the sheet is still to be said.")]
    NotReady,
    #[error("Some cells are to be put right; nothing was brought in.")]
    Wrong,
    #[error("All of it is on record already, so there is nothing to bring in.")]
    Nothing,
    #[error("{number}, on line {line}: {words} Nothing was brought in.")]
    Pack {
        number: String,
        line: usize,
        words: String,
    },
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<KitRefusal> for BringInRefusal {
    fn from(refusal: KitRefusal) -> Self {
        match refusal {
            KitRefusal::Store(error) => Self::Store(error),
            _ => Self::Gone,
        }
    }
}

impl BringInRefusal {
    fn of_pack(number: &str, line: usize, refusal: RegisterRefusal) -> Self {
        match refusal {
            RegisterRefusal::Store(error) => Self::Store(error),
            other => Self::Pack {
                number: number.to_owned(),
                line,
                words: other.to_string(),
            },
        }
    }
}

async fn begin(db: &Db, by: &By) -> Result<Tx, BringInRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(BringInRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

async fn own(tx: &mut Tx, by: &By, id: Uuid) -> Result<Sheet, BringInRefusal> {
    let found = sheets::own(tx, id, by.actor.id).await?;
    let on_its_way = found.filter(|sheet| sheet.done().is_ok_and(|done| done.is_none()));
    on_its_way.ok_or(BringInRefusal::Gone)
}

async fn finish(tx: Tx, by: &By, address: String) -> Result<String, BringInRefusal> {
    once::finish(tx, by, &address).await?;
    Ok(address)
}

/// Gives back where its columns are chosen.
pub async fn keep(
    db: &Db,
    by: &By,
    (holds, choices): (Holds, &Choices),
    (name, text): (&str, &str),
) -> Result<String, BringInRefusal> {
    let mut tx = begin(db, by).await?;
    let mut sheet = Sheet::new(ids::new_id(), by.actor.id, holds, by.at);
    name.clone_into(&mut sheet.name);
    text.clone_into(&mut sheet.text);
    sheets::add(&mut tx, &sheet, choices).await?;
    finish(tx, by, format!("/bring-in/{}/columns", sheet.id)).await
}

/// Gives back where the next step is.
pub async fn choose(
    db: &Db,
    by: &By,
    id: Uuid,
    change: impl FnOnce(&mut Choices),
) -> Result<String, BringInRefusal> {
    let mut tx = begin(db, by).await?;
    let sheet = own(&mut tx, by, id).await?;
    let mut choices = sheet.choices()?;
    change(&mut choices);
    sheets::choose(&mut tx, id, &choices).await?;
    finish(tx, by, format!("/bring-in/{id}")).await
}

pub async fn remove(db: &Db, by: &By, id: Uuid) -> Result<String, BringInRefusal> {
    let mut tx = begin(db, by).await?;
    own(&mut tx, by, id).await?;
    sheets::remove(&mut tx, id).await?;
    finish(tx, by, "/bring-in?removed=yes".to_owned()).await
}

/// A sheet with all that is known about it.
pub struct Opened {
    pub holds: Holds,
    pub choices: Choices,
    pub grid: Grid,
    pub plan: Plan,
    pub doubts: Doubts,
    pub known: Known,
}

impl Opened {
    /// What has to be said before its plan means anything.
    pub fn is_ready(&self) -> bool {
        let is_said = |is_doubtful: bool, is_said: bool| is_said || !is_doubtful;
        let (choices, doubts) = (&self.choices, &self.doubts);
        choices.are_columns_chosen
            && is_said(doubts.days.is_some(), choices.days.is_some())
            && is_said(doubts.comma.is_some(), choices.comma.is_some())
            && is_said(doubts.point.is_some(), choices.point.is_some())
            && is_said(!self.plan.existing.is_empty(), choices.existing.is_some())
    }
}

/// Splits and plans it off the threads that answer: twenty thousand rows take a while.
pub async fn open(sheet: &Sheet, known: Known, by: &By) -> Result<Opened, StoreError> {
    let holds = sheet.holds().unwrap_or(Holds::Packs);
    let (choices, text) = (sheet.choices()?, sheet.text.clone());
    let (club, today) = (by.club.clone(), by.zone.day_of(by.at));
    let work = move || {
        let setting = Setting {
            numbers: club.numbers(),
            pack_prefix: &club.pack_prefix,
            today,
        };
        let grid = grid_of(&text);
        Opened {
            plan: plan::plan(&grid, holds, &choices, (&known, setting)),
            doubts: plan::doubts(&grid, holds, &choices),
            holds,
            choices,
            grid,
            known,
        }
    };
    off_the_threads(work).await
}

/// Its rows and cells alone.
pub async fn split(sheet: &Sheet) -> Result<Grid, StoreError> {
    let text = sheet.text.clone();
    off_the_threads(move || grid_of(&text)).await
}

/// What can't be split was not kept.
fn grid_of(text: &str) -> Grid {
    text::grid(text).unwrap_or_default()
}

/// Done beside the threads that answer everybody.
pub async fn off_the_threads<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, StoreError> {
    let done = tokio::task::spawn_blocking(work).await;
    done.map_err(|error| StoreError::Internal(error.to_string()))
}

/// All of it, or nothing. Gives back where the page is that tells of it.
pub async fn bring_in(db: &Db, by: &By, id: Uuid) -> Result<String, BringInRefusal> {
    let mut tx = begin(db, by).await?;
    let sheet = own(&mut tx, by, id).await?;
    let holds = sheet.holds().unwrap_or(Holds::Packs);
    let known = known::all(&mut tx, holds).await?;
    let opened = open(&sheet, known, by).await?;
    if !opened.is_ready() {
        return Err(BringInRefusal::NotReady);
    }
    if !opened.plan.troubles.is_empty() {
        return Err(BringInRefusal::Wrong);
    }
    if opened.plan.is_empty() {
        return Err(BringInRefusal::Nothing);
    }
    let done = carried::out(&mut tx, by, &opened).await?;
    sheets::finish(&mut tx, id, &done).await?;
    finish(tx, by, format!("/bring-in/{id}/done")).await
}
