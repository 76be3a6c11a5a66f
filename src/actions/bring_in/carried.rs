//! What a sheet comes to, written: designs first, then packs of them and kit, then changes of what was there; each with its
//! entry in the log.

use super::{BringInRefusal, Opened};
use crate::actions::arrange_places::over_limit;
use crate::actions::register::{design_of, put_details};
use crate::actions::standing::Standing;
use crate::actions::{By, keep_kit, log};
use crate::club::register;
use crate::club::sheet::plan::{DesignOf, Plan};
use crate::club::verdict::Finding;
use crate::ids;
use crate::store::sheets::Done;
use crate::store::{Tx, designs, kit, packs};
use std::collections::HashMap;
use uuid::Uuid;

pub async fn out(tx: &mut Tx, by: &By, opened: &Opened) -> Result<Done, BringInRefusal> {
    let plan = &opened.plan;
    let new_designs = add_designs(tx, by, plan).await?;
    add_packs(tx, by, opened, &new_designs).await?;
    add_kit(tx, by, plan).await?;
    change_packs(tx, by, plan).await?;
    change_designs(tx, by, plan).await?;
    change_kit(tx, by, plan).await?;
    let new = plan.packs.iter().filter_map(|pack| pack.details.place_id);
    let moved = plan.pack_changes.iter().filter(|change| change.is_moved);
    let moved = moved.filter_map(|change| change.details.place_id);
    Ok(Done {
        packs: plan.packs.len(),
        designs: plan.designs.len(),
        kit: plan.kit.len(),
        changed: plan.changes(),
        left: plan.left(),
        first_and_last: plan.first_and_last(&by.club.pack_prefix),
        over: over_limit(tx, new.chain(moved)).await?,
    })
}

async fn add_designs(tx: &mut Tx, by: &By, plan: &Plan) -> Result<Vec<Uuid>, BringInRefusal> {
    let mut added = Vec::new();
    for sheet in &plan.designs {
        let design = design_of(sheet, ids::new_id(), by);
        designs::add(tx, &design).await?;
        let told = (&None::<()>, &design);
        log(tx, by, "registered a design", ("design", design.id), told).await?;
        added.push(design.id);
    }
    Ok(added)
}

/// Thousands of them: nothing is read back for each.
async fn add_packs(
    tx: &mut Tx,
    by: &By,
    opened: &Opened,
    new_designs: &[Uuid],
) -> Result<(), BringInRefusal> {
    let places: HashMap<Uuid, &str> = opened
        .known
        .places
        .iter()
        .map(|(id, name)| (*id, name.as_str()))
        .collect();
    let unread = Finding::never_read();
    for pack in &opened.plan.packs {
        let design_id = match pack.design {
            DesignOf::Known(id) => id,
            DesignOf::New(at) => new_designs.get(at).copied().unwrap_or_default(),
        };
        let new = packs::NewPack {
            id: ids::new_id(),
            number: register::number(&by.club.pack_prefix, pack.number_key),
            number_key: pack.number_key,
            design_id,
            details: &pack.details,
            state_words: &unread.words,
            state_next: &unread.next,
            at: by.at,
            by: by.actor.id,
        };
        packs::add(tx, &new).await?;
        let place_name = new.details.place_id.and_then(|id| places.get(&id).copied());
        let standing = Standing::registered(&new, place_name);
        let told = (&None::<()>, &standing);
        log(tx, by, "registered", ("pack", new.id), told).await?;
    }
    Ok(())
}

async fn add_kit(tx: &mut Tx, by: &By, plan: &Plan) -> Result<(), BringInRefusal> {
    for new in &plan.kit {
        let number = (new.sheet.spec.kind(), new.number_key);
        let thing = kit::numbered(ids::new_id(), number, by.at).with(new.sheet.clone())?;
        kit::add(tx, &thing).await?;
        let after = keep_kit::told(tx, &thing).await?;
        log(tx, by, "added it", ("kit", thing.id), (&None::<()>, &after)).await?;
    }
    Ok(())
}

async fn change_packs(tx: &mut Tx, by: &By, plan: &Plan) -> Result<(), BringInRefusal> {
    for change in &plan.pack_changes {
        let pack = packs::by_id(tx, change.id)
            .await?
            .ok_or(BringInRefusal::Gone)?;
        let put = put_details(tx, by, &pack, &change.details).await;
        put.map_err(|refusal| BringInRefusal::of_pack(&pack.number, change.line, refusal))?;
    }
    Ok(())
}

/// Never its nature: the plan saw to that.
async fn change_designs(tx: &mut Tx, by: &By, plan: &Plan) -> Result<(), BringInRefusal> {
    for (id, sheet) in &plan.design_changes {
        let before = designs::by_id(tx, *id).await?.ok_or(BringInRefusal::Gone)?;
        let after = designs::Design {
            created_ms: before.created_ms,
            ..design_of(sheet, *id, by)
        };
        designs::save_details(tx, &after).await?;
        let told = (&Some(before), &after);
        log(tx, by, "changed the design", ("design", *id), told).await?;
    }
    Ok(())
}

async fn change_kit(tx: &mut Tx, by: &By, plan: &Plan) -> Result<(), BringInRefusal> {
    for change in &plan.kit_changes {
        let before = keep_kit::load(tx, change.id).await?;
        let after = before.clone().with(change.sheet.clone())?;
        kit::save(tx, &after).await?;
        let told = (
            keep_kit::told(tx, &before).await?,
            keep_kit::told(tx, &after).await?,
        );
        log(tx, by, "changed it", ("kit", change.id), (&told.0, &told.1)).await?;
    }
    Ok(())
}
