//! What stands against each thing that is to go out: its state, or a charge that runs.

use super::Chosen;
use crate::actions::By;
use crate::actions::at_table::{at_table, kit_at_table};
use crate::club::lending::{self, HandOutRefusal};
use crate::store::{StoreError, Tx, charges};
use uuid::Uuid;

pub(super) fn item_refusals(by: &By, chosen: &Chosen) -> Vec<(HandOutRefusal, Option<i64>)> {
    let packs = chosen.packs.iter().filter_map(|(pack, spread)| {
        let refusal = lending::pack_refusal(&at_table(by, pack, *spread))?;
        Some((refusal, *spread))
    });
    let kit = chosen.kit.iter().filter_map(|(kit, count)| {
        Some((lending::kit_refusal(kit_at_table(by, kit), *count)?, None))
    });
    packs.chain(kit).collect()
}

/// What a running charge holds goes out to nobody.
pub(super) async fn charging_refusals(
    tx: &mut Tx,
    chosen: &Chosen,
) -> Result<Vec<(HandOutRefusal, Option<i64>)>, StoreError> {
    let held = charges::held(tx).await?;
    let packs = chosen.packs.iter().map(|(pack, _)| (pack.id, &pack.number));
    let kit = chosen.kit.iter().map(|(kit, _)| (kit.id, &kit.number));
    let refusal = |(id, number): (Uuid, &String)| {
        let by = held.iter().find(|held| held.thing_id == id)?;
        let refusal = HandOutRefusal::Charging {
            number: number.clone(),
            charger: by.charger_number.clone(),
            pack: by.pack_number.clone(),
        };
        Some((refusal, None))
    };
    Ok(packs.chain(kit).filter_map(refusal).collect())
}
