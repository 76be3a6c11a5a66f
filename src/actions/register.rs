//! Register designs, and packs of them: one, or twelve alike in one form. Change what may change of either.

use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Standing, settle};
use crate::actions::{By, log};
use crate::bench::form::{Against, Refusal};
use crate::club::pack_form::NO_PLACE;
use crate::club::places::PlaceKind;
use crate::club::register::{self, DesignSheet};
use crate::club::sighting::DETAILS_CHANGED;
use crate::club::states::Life;
use crate::club::verdict::{Finding, Gravity};
use crate::ids;
use crate::store::designs::{self, Design};
use crate::store::packs::{self, Details, NewPack, PackView};
use crate::store::{Db, StoreError, Tx, connectors, findings, places};
use uuid::Uuid;

/// The most packs one form registers.
pub const MOST_ALIKE: i64 = 50;

#[derive(Debug, thiserror::Error)]
pub enum RegisterRefusal {
    #[error("Only a quartermaster registers packs.")]
    NotAQuartermaster,
    #[error("There is no such design.")]
    NoDesign,
    #[error("There is no such pack.")]
    NoPack,
    #[error("{NO_PLACE}")]
    NoPlace,
    #[error("It is in quarantine: it goes to a quarantine place and nowhere else.")]
    StaysInQuarantine,
    #[error("Register 1 to {MOST_ALIKE} packs at once.")]
    Count,
    #[error("The same design is on record already, with this name. Register packs of that one.")]
    Alike,
    #[error("There is no such connector any more. Choose another one.")]
    NoConnector,
    #[error("put the design right")]
    Design(Vec<(&'static str, &'static str)>),
    #[error(
        "Packs of this design exist, so its chemistry, cells, capacity, rates, volts and plugs stay. Register another design instead."
    )]
    InUse,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for RegisterRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::StaysInQuarantine | Self::InUse | Self::Alike => Against::Rule,
            _ => Against::Typed,
        }
    }
}

impl RegisterRefusal {
    /// The field of the form for packs it belongs to.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::NoPlace | Self::StaysInQuarantine => "place",
            Self::NoDesign => "design",
            Self::Count => "count",
            _ => "maker",
        }
    }
}

async fn begin(db: &Db, by: &By) -> Result<Tx, RegisterRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(RegisterRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

pub(super) fn design_of(sheet: &DesignSheet, id: Uuid, by: &By) -> Design {
    Design {
        id,
        name: sheet.name.clone(),
        chemistry: sheet.chemistry.code().to_owned(),
        cells_series: sheet.cells_series,
        groups_parallel: sheet.groups_parallel,
        capacity_mah: sheet.capacity_mah,
        label_discharge_c_tenths: sheet.label_discharge_c_tenths,
        label_charge_c_tenths: sheet.label_charge_c_tenths,
        connector: sheet.connector.clone(),
        balance_connector: sheet.balance_connector.clone(),
        mass_g: sheet.mass_g,
        size_mm: sheet.size_mm.clone(),
        label_full_mv: sheet.label.full_mv,
        label_lowest_mv: sheet.label.lowest_mv,
        created_ms: by.at,
    }
}

pub fn sheet_of(design: &Design) -> DesignSheet {
    DesignSheet {
        name: design.name.clone(),
        chemistry: design.build().chemistry,
        cells_series: design.cells_series,
        groups_parallel: design.groups_parallel,
        capacity_mah: design.capacity_mah,
        label_discharge_c_tenths: design.label_discharge_c_tenths,
        label_charge_c_tenths: design.label_charge_c_tenths,
        connector: design.connector.clone(),
        balance_connector: design.balance_connector.clone(),
        mass_g: design.mass_g,
        size_mm: design.size_mm.clone(),
        label: design.label(),
    }
}

/// A new design, or with `id` the changed one.
pub async fn save_design(
    db: &Db,
    by: &By,
    id: Option<Uuid>,
    sheet: &DesignSheet,
) -> Result<Uuid, RegisterRefusal> {
    let problems = register::problems(sheet);
    if !problems.is_empty() {
        return Err(RegisterRefusal::Design(problems));
    }
    let mut tx = begin(db, by).await?;
    check_connectors(&mut tx, sheet).await?;
    let design = design_of(sheet, id.unwrap_or_else(ids::new_id), by);
    let mut before = None;
    match id {
        None => {
            let known = designs::all(&mut tx).await?;
            if known.iter().any(|old| is_alike(&sheet_of(old), sheet)) {
                return Err(RegisterRefusal::Alike);
            }
            designs::add(&mut tx, &design).await?;
        }
        Some(id) => {
            let old = designs::by_id(&mut tx, id)
                .await?
                .ok_or(RegisterRefusal::NoDesign)?;
            let is_used = designs::pack_count(&mut tx, id).await? > 0;
            if is_used && !register::keeps_its_nature(&sheet_of(&old), sheet) {
                return Err(RegisterRefusal::InUse);
            }
            if is_used {
                designs::save_details(&mut tx, &design).await?;
            } else {
                designs::replace(&mut tx, &design).await?;
            }
            before = Some(old);
        }
    }
    let verb = if id.is_some() {
        "changed the design"
    } else {
        "registered a design"
    };
    log(&mut tx, by, verb, ("design", design.id), (&before, &design)).await?;
    once::finish(tx, by, &format!("/designs/{}", design.id)).await?;
    Ok(design.id)
}

/// Nobody could tell the two apart.
fn is_alike(old: &DesignSheet, new: &DesignSheet) -> bool {
    let called_as_new = DesignSheet {
        name: new.name.clone(),
        ..old.clone()
    };
    old.name.to_lowercase() == new.name.to_lowercase() && called_as_new == *new
}

async fn check_connectors(tx: &mut Tx, sheet: &DesignSheet) -> Result<(), RegisterRefusal> {
    let known = connectors::all(tx).await?;
    let is_known = |code: &str| known.iter().any(|family| family.code == code);
    let balance = sheet.balance_connector.as_deref();
    if is_known(&sheet.connector) && balance.is_none_or(is_known) {
        Ok(())
    } else {
        Err(RegisterRefusal::NoConnector)
    }
}

/// Registers `count` packs alike; gives back where the page is that tells of them.
pub async fn register_packs(
    db: &Db,
    by: &By,
    design_id: Uuid,
    count: i64,
    details: &Details,
) -> Result<String, RegisterRefusal> {
    if !(1..=MOST_ALIKE).contains(&count) {
        return Err(RegisterRefusal::Count);
    }
    let mut tx = begin(db, by).await?;
    designs::by_id(&mut tx, design_id)
        .await?
        .ok_or(RegisterRefusal::NoDesign)?;
    if !places::may_be_named(&mut tx, details.place_id).await? {
        return Err(RegisterRefusal::NoPlace);
    }
    let last = packs::last_number_key(&mut tx).await?;
    let unread = Finding::never_read();
    for number_key in last + 1..=last + count {
        let new = NewPack {
            id: ids::new_id(),
            number: register::number(&by.club.pack_prefix, number_key),
            number_key,
            design_id,
            details,
            state_words: &unread.words,
            state_next: &unread.next,
            at: by.at,
            by: by.actor.id,
        };
        packs::add(&mut tx, &new).await?;
        let pack = standing::reload(&mut tx, new.id).await?;
        log(
            &mut tx,
            by,
            "registered",
            ("pack", pack.id),
            (&None::<()>, &Standing::of(&pack)),
        )
        .await?;
    }
    let answer = format!("/packs/registered?from={}&to={}", last + 1, last + count);
    let answer = telling_of(&answer, over_limit(&mut tx, details.place_id).await?);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// Gives back where the pack's page is.
pub async fn change_details(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    details: &Details,
) -> Result<String, RegisterRefusal> {
    let mut tx = begin(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(RegisterRefusal::NoPack)?;
    if !places::may_be_named(&mut tx, details.place_id).await? {
        return Err(RegisterRefusal::NoPlace);
    }
    let after = put_details(&mut tx, by, &pack, details).await?;
    let newly_there = after.place_id.filter(|_| after.place_id != pack.place_id);
    let over = over_limit(&mut tx, newly_there).await?;
    let answer = telling_of(&format!("/packs/{}", pack.number), over);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// What is on record of it from now on, its place among it.
pub(super) async fn put_details(
    tx: &mut Tx,
    by: &By,
    pack: &PackView,
    details: &Details,
) -> Result<PackView, RegisterRefusal> {
    let is_moved = details.place_id != pack.place_id;
    if is_moved && !may_lie_there(tx, pack, details.place_id).await? {
        return Err(RegisterRefusal::StaysInQuarantine);
    }
    packs::save_details(tx, pack.id, details).await?;
    // Where it lies is told with how it stands.
    let before = Details {
        place_id: details.place_id,
        ..Details::of(pack)
    };
    if before != *details {
        let told = (&before, details);
        log(
            tx,
            by,
            "changed what is on record",
            ("details", pack.id),
            told,
        )
        .await?;
    }
    Ok(settle(tx, by, pack, DETAILS_CHANGED).await?)
}

/// A dangerous pack, in use or retired, goes from place to place only where quarantine is. One that is out lies nowhere,
/// and is put there when it comes back.
async fn may_lie_there(
    tx: &mut Tx,
    pack: &PackView,
    place_id: Option<Uuid>,
) -> Result<bool, StoreError> {
    let open = findings::open(tx, pack.id).await?;
    let is_dangerous = open.iter().any(|found| found.gravity() >= Gravity::Danger);
    if !is_dangerous || pack.is_lent() || pack.life() == Life::Lost {
        return Ok(true);
    }
    let quarantine = places::by_kind(tx, PlaceKind::Quarantine).await?;
    Ok(quarantine.iter().any(|place| Some(place.id) == place_id))
}
