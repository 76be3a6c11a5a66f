//! Labels of packs: which packs lack one, the one of a pack, making, reissuing and revoking it.

use super::form::{Form, Sent};
use super::operation::{Call, Nothing, Shown};
use super::trouble::Trouble;
use super::words::instant;
use crate::actions::labels::MOST_AT_ONCE;
use crate::bench::form::{Fields, Problems};
use crate::store::labels as store;
use crate::web::asked::Path;
use crate::web::label;
use crate::web::label_sheet::label_of;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Serialize, ToSchema)]
pub struct Labels {
    /// Numbers of packs in use without a label, the lowest first; as many as one sheet makes at most.
    pub lacking: Vec<String>,
}

impl Shown for Labels {
    fn example() -> Self {
        Self {
            lacking: vec!["P-001".to_owned()],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Labels, Trouble> {
    let mut conn = call.app.db.read().await?;
    let most = i64::try_from(MOST_AT_ONCE).unwrap_or(i64::MAX);
    let keys = store::lacking(&mut conn, most).await?;
    let lacking = store::of_keys(&mut conn, &keys).await?;
    Ok(Labels {
        lacking: lacking.into_iter().map(|one| one.pack.number).collect(),
    })
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Label {
    pub number: String,
    /// Where its code leads; null: it has no label that works.
    pub address: Option<String>,
    pub made_at: Option<String>,
    pub printed_at: Option<String>,
}

impl Shown for Label {
    fn example() -> Self {
        Self {
            number: "P-001".to_owned(),
            address: None,
            ..Self::default()
        }
    }
}

pub async fn show(call: Call<Nothing>) -> Result<Label, Trouble> {
    let number = call.name.to_uppercase();
    let one = store::of_pack(&mut call.app.db.read().await?, &number)
        .await?
        .ok_or(PageError::NotFound)?;
    Ok(Label {
        address: label_of(&one).map(|label| label.address),
        made_at: one.made_ms.map(instant),
        printed_at: one.printed_ms.map(instant),
        number: one.pack.number,
    })
}

#[derive(Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangeLabel {
    /// make; reissue: another code, the old one leads nowhere from then on; revoke.
    pub what: String,
}

impl Sent for ChangeLabel {
    fn fill(&self, form: &mut Form, _: &SignedIn) -> Result<(), Problems> {
        form.text("what", &self.what);
        if matches!(self.what.as_str(), "make" | "reissue" | "revoke") {
            Ok(())
        } else {
            Err(Problems::one("what", "Say make, reissue or revoke."))
        }
    }

    fn example() -> Self {
        Self {
            what: "reissue".to_owned(),
        }
    }
}

pub async fn change(call: Call<ChangeLabel>, form: Fields) -> Page {
    label::change(State(call.app), call.who, Path(call.name), form).await
}
