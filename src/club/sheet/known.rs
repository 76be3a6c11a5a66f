//! What the club has on record already, as far as a sheet can meet it.

use crate::bench::connector::Family;
use crate::bench::kit::KitKind;
use crate::club::kit::KitSheet;
use crate::club::pack_form::Details;
use crate::club::register::DesignSheet;
use std::collections::HashMap;
use uuid::Uuid;

#[derive(Clone, Debug, Default)]
pub struct Known {
    pub designs: Vec<(Uuid, DesignSheet)>,
    /// All connector families.
    pub families: Vec<Family>,
    /// Places of today.
    pub places: Vec<(Uuid, String)>,
    /// By running number; only for a sheet of packs.
    pub packs: HashMap<i64, KnownPack>,
    /// By kind and running number; only for a sheet of kit.
    pub kit: HashMap<(KitKind, i64), KnownKit>,
}

#[derive(Clone, Debug)]
pub struct KnownPack {
    pub id: Uuid,
    pub number: String,
    pub design_id: Uuid,
    pub details: Details,
}

#[derive(Clone, Debug)]
pub struct KnownKit {
    pub id: Uuid,
    pub number: String,
    pub sheet: KitSheet,
}
