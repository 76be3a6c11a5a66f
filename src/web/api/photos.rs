//! Photos of a pack: which there are, their pictures, adding and removing one.

use super::operation::{Call, Nothing, Shown};
use super::picture::Picture;
use super::trouble::Trouble;
use super::words::instant;
use super::{BASE, document};
use crate::actions::photos::may_remove;
use crate::bench::form::Fields;
use crate::store::photos as store;
use crate::web::asked::Path;
use crate::web::pack::named;
use crate::web::page::Page;
use crate::web::photos as page;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Photo {
    pub id: Uuid,
    pub added_at: String,
    /// For those who run the pool.
    pub added_by: Option<String>,
    /// In dots, of the large picture.
    pub width: i64,
    pub height: i64,
    /// The address of this API where the picture is, as a JPEG.
    pub large: String,
    pub small: String,
    /// You may.
    pub may_remove: bool,
}

#[derive(Serialize, ToSchema)]
pub struct Photos {
    /// At most 12, the latest first.
    pub photos: Vec<Photo>,
}

impl Shown for Photos {
    fn example() -> Self {
        let large = format!("{BASE}/packs/P-001/photos/{}", document::PHOTO);
        Self {
            photos: vec![Photo {
                id: document::PHOTO,
                added_at: "2026-11-25T18:30:00Z".to_owned(),
                width: 1_600,
                height: 1_200,
                small: format!("{large}/small"),
                large,
                ..Photo::default()
            }],
        }
    }
}

pub async fn list(call: Call<Nothing>) -> Result<Photos, Trouble> {
    let (app, who) = (&call.app, &call.who);
    let pack = named(app, &call.name).await?;
    let found = store::of_pack(&mut app.db.read().await?, pack.id).await?;
    let may_name = who.me.roles().may_see_holders();
    let photos = found.into_iter().map(|photo| {
        let large = format!("{BASE}/packs/{}/photos/{}", pack.number, photo.id);
        Photo {
            id: photo.id,
            added_at: instant(photo.added_ms),
            may_remove: may_remove(&who.actor(), &photo),
            added_by: photo.added_by_name.filter(|_| may_name),
            width: photo.width,
            height: photo.height,
            small: format!("{large}/small"),
            large,
        }
    });
    Ok(Photos {
        photos: photos.collect(),
    })
}

pub async fn large(call: Call<Nothing>) -> Page {
    page::large(State(call.app), call.who, Path((call.name, call.id))).await
}

pub async fn small(call: Call<Nothing>) -> Page {
    page::small(State(call.app), call.who, Path((call.name, call.id))).await
}

pub async fn add(call: Call<Nothing>, sent: Picture) -> Page {
    page::add(State(call.app), call.who, Path(call.name), sent).await
}

pub async fn remove(call: Call<Nothing>, form: Fields) -> Page {
    let which = Path((call.name, call.id));
    page::remove(State(call.app), call.who, which, form).await
}
