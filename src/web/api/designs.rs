//! Designs of packs.

use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::{said, tenths, thousandths};
use crate::bench::form::{Fields, Problems};
use crate::store::designs::{self, Design as Stored};
use crate::web::asked::Path;
use crate::web::designs as page;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A design as it is registered or changed, the whole of it: null or empty where its label says nothing.
#[derive(Clone, Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DesignSheet {
    pub name: String,
    /// lipo, lihv, liion, lifepo4, nimh or pb.
    pub chemistry: String,
    pub cells_series: i64,
    pub groups_parallel: i64,
    pub capacity_mah: i64,
    /// Code of its connector.
    pub connector: String,
    /// null: it has none, only the whole pack can be read.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub balance_connector: Option<String>,
    /// Of the label, in tenths of C: 300 is 30C.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub label_discharge_c_tenths: Option<i64>,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub label_charge_c_tenths: Option<i64>,
    /// Of the label, of each cell.
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub label_full_mv: Option<i64>,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub label_lowest_mv: Option<i64>,
    #[serde(deserialize_with = "said")]
    #[schema(required)]
    pub mass_g: Option<i64>,
    /// 105 x 34 x 24
    pub size_mm: String,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Design {
    pub id: Uuid,
    pub sheet: DesignSheet,
}

impl Design {
    fn of(design: &Stored) -> Self {
        Self {
            id: design.id,
            sheet: DesignSheet {
                name: design.name.clone(),
                chemistry: design.chemistry.clone(),
                cells_series: design.cells_series,
                groups_parallel: design.groups_parallel,
                capacity_mah: design.capacity_mah,
                connector: design.connector.clone(),
                balance_connector: design.balance_connector.clone(),
                label_discharge_c_tenths: design.label_discharge_c_tenths,
                label_charge_c_tenths: design.label_charge_c_tenths,
                label_full_mv: design.label_full_mv,
                label_lowest_mv: design.label_lowest_mv,
                mass_g: design.mass_g,
                size_mm: design.size_mm.clone(),
            },
        }
    }
}

#[derive(Serialize, ToSchema)]
pub struct Designs {
    pub designs: Vec<Design>,
}

impl Shown for Designs {
    fn example() -> Self {
        Self {
            designs: vec![Design {
                id: super::document::DESIGN,
                sheet: DesignSheet::example(),
            }],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Designs, Trouble> {
    let found = designs::all(&mut call.app.db.read().await?).await?;
    Ok(Designs {
        designs: found.iter().map(Design::of).collect(),
    })
}

#[derive(Serialize, ToSchema)]
pub struct DesignInUse {
    pub design: Design,
    /// How many packs are of it, gone ones too.
    pub packs: i64,
}

impl Shown for DesignInUse {
    fn example() -> Self {
        Self {
            design: Design {
                id: super::document::DESIGN,
                sheet: DesignSheet::example(),
            },
            packs: 6,
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<DesignInUse, Trouble> {
    let found = designs::used(&mut call.app.db.read().await?, call.id)
        .await?
        .ok_or(PageError::NotFound)?;
    Ok(DesignInUse {
        design: Design::of(&found.design),
        packs: found.packs,
    })
}

impl Sent for DesignSheet {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("name", &self.name);
        form.text("chemistry", &self.chemistry);
        form.called("cells_series", "cells", self.cells_series);
        form.called("groups_parallel", "parallel", self.groups_parallel);
        form.called("capacity_mah", "capacity", self.capacity_mah);
        form.text("connector", &self.connector);
        let balance = self.balance_connector.as_deref().unwrap_or("none");
        form.called("balance_connector", "balance", balance);
        let rate = |rate: Option<i64>| rate.map(tenths);
        let discharge = rate(self.label_discharge_c_tenths);
        form.maybe("label_discharge_c_tenths", "discharge_c", discharge);
        let charge = rate(self.label_charge_c_tenths);
        form.maybe("label_charge_c_tenths", "charge_c", charge);
        let volts = |mv: Option<i64>| mv.map(thousandths);
        form.maybe("label_full_mv", "full_v", volts(self.label_full_mv));
        form.maybe("label_lowest_mv", "lowest_v", volts(self.label_lowest_mv));
        form.maybe("mass_g", "mass", self.mass_g);
        form.called("size_mm", "size", &self.size_mm);
        Ok(())
    }

    fn example() -> Self {
        Self {
            name: "Mill 4S 1500".to_owned(),
            chemistry: "lipo".to_owned(),
            cells_series: 4,
            groups_parallel: 1,
            capacity_mah: 1_500,
            connector: "xt60".to_owned(),
            balance_connector: Some("jst-xh".to_owned()),
            label_discharge_c_tenths: Some(300),
            label_charge_c_tenths: Some(10),
            mass_g: Some(180),
            size_mm: "80 x 34 x 34".to_owned(),
            ..Self::default()
        }
    }
}

pub async fn add(call: Call<DesignSheet>, form: Fields) -> Page {
    page::add_design(State(call.app), call.who, form).await
}

pub async fn change(call: Call<DesignSheet>, form: Fields) -> Page {
    page::change_design(State(call.app), call.who, Path(call.id), form).await
}
