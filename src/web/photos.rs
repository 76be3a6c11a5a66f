//! Photos of a pack: looked at by every role, added by whoever handles packs. Pictures are served as the JPEGs we made of
//! what was sent.

use crate::actions::photos::{self, MOST_PHOTOS, PhotoFailed, may_remove};
use crate::app::App;
use crate::bench::form::Against;
use crate::ids;
use crate::paper::photo::{MOST_BYTES, PhotoRefusal, developed};
use crate::store::photos::{self as store, Picture};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::page::{self, Page, PageError};
use crate::web::upload::{File, Upload};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use serde::Deserialize;
use uuid::Uuid;

impl page::PutsRight for PhotosPage {
    fn told(&self) -> page::ToPutRight {
        page::ToPutRight {
            against: if self.is_enough {
                Against::Rule
            } else {
                Against::Typed
            },
            ..(&self.problems).into()
        }
    }
}

#[derive(Template)]
#[template(path = "photos.html")]
struct PhotosPage {
    shell: Shell,
    problems: Problems,
    number: String,
    photos: Vec<Shown>,
    may_add: bool,
    is_enough: bool,
}

struct Shown {
    id: Uuid,
    when: When,
    /// `, by Quinn`, for those who may know.
    by: String,
    width: i64,
    height: i64,
    may_remove: bool,
    /// It was tapped to be removed: that is for good, and read back first.
    is_to_go: bool,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    remove: String,
}

impl Shown {
    /// As large as the small picture is drawn.
    fn small_size(&self) -> (i64, i64) {
        let longer = self.width.max(self.height).max(1);
        let side = longer.min(320);
        (self.width * side / longer, self.height * side / longer)
    }
}

async fn photos_page(
    app: &App,
    who: &SignedIn,
    number: &str,
    shell: Shell,
) -> Result<PhotosPage, PageError> {
    let pack = named(app, number).await?;
    let found = store::of_pack(&mut app.db.read().await?, pack.id).await?;
    let photos: Vec<Shown> = found
        .into_iter()
        .map(|photo| Shown {
            id: photo.id,
            may_remove: may_remove(&who.actor(), &photo),
            is_to_go: false,
            when: past(photo.added_ms, who.now, &who.zone),
            by: match photo.added_by_name {
                Some(name) if who.me.roles().may_see_holders() => format!(", by {name}"),
                _ => String::new(),
            },
            width: photo.width,
            height: photo.height,
        })
        .collect();
    Ok(PhotosPage {
        shell,
        problems: Problems::default(),
        number: pack.number,
        may_add: who.me.roles().may_log_volts(),
        is_enough: photos.len() >= MOST_PHOTOS,
        photos,
    })
}

fn title(number: &str) -> String {
    format!("Photos of {}", number.to_uppercase())
}

/// GET /packs/{number}/photos, and with ?remove={photo} what that comes to.
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let shell = who.shell(title(&number));
    let mut page = photos_page(&app, &who, &number, shell).await?;
    for photo in &mut page.photos {
        photo.is_to_go = photo.may_remove && photo.id.to_string() == asked.remove;
    }
    page::show(&page)
}

/// POST /packs/{number}/photos
pub async fn add(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    upload: Upload<MOST_BYTES>,
) -> Page {
    let number = named(&app, &number).await?.number;
    let by = who.by(&upload.fields);
    let words = match made(&app, upload.file).await? {
        Err(words) => words,
        Ok(made) => match photos::add(&app.db, &by, &number, &made).await {
            Err(PhotoFailed::Enough) => PhotoFailed::Enough.to_string(),
            outcome => return answered(&number, outcome),
        },
    };
    let page = photos_page(&app, &who, &number, who.shell_refused(title(&number))).await?;
    page::put_right(&PhotosPage {
        problems: Problems::one("photo", words),
        ..page
    })
}

/// The picture made of what was sent; one after the other, since making one takes memory.
pub(super) async fn made(
    app: &App,
    file: Option<File>,
) -> Result<Result<Picture, String>, PageError> {
    let Some(file) = file else {
        return Ok(Err("Choose a photo, or take one.".to_owned()));
    };
    if file.is_too_large {
        return Ok(Err(PhotoRefusal::TooLarge.to_string()));
    }
    let turn = app.press.clone().lock_owned().await;
    let work = tokio::task::spawn_blocking(move || {
        // Held until it is done, though nobody may wait for it any more.
        let _turn = turn;
        (ids::digest_of(&file.bytes), developed(&file.bytes))
    });
    let (original_sha256, developed) = work
        .await
        .map_err(|error| PageError::Internal(error.to_string()))?;
    Ok(developed
        .map(|picture| Picture {
            original_sha256,
            width: picture.width.into(),
            height: picture.height.into(),
            large: picture.large,
            small: picture.small,
        })
        .map_err(|refusal| refusal.to_string()))
}

fn answered(number: &str, outcome: Result<(), PhotoFailed>) -> Page {
    match outcome {
        Ok(()) => page::go_to(&format!("/packs/{number}/photos")),
        Err(PhotoFailed::Repeat(repeat)) => again(&repeat),
        Err(PhotoFailed::Store(error)) => Err(error.into()),
        Err(PhotoFailed::NoPack | PhotoFailed::NoPhoto) => Err(PageError::NotFound),
        Err(refusal @ (PhotoFailed::NotYours | PhotoFailed::NotYoursToRemove)) => {
            Err(PageError::NotYours(refusal.to_string()))
        }
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}

/// POST /packs/{number}/photos/{photo}/remove
pub async fn remove(
    State(app): State<App>,
    who: SignedIn,
    Path((number, id)): Path<(String, Uuid)>,
    fields: Fields,
) -> Page {
    let number = named(&app, &number).await?.number;
    answered(
        &number,
        photos::remove(&app.db, &who.by(&fields), &number, id).await,
    )
}

/// GET /packs/{number}/photos/{photo}
pub async fn large(
    State(app): State<App>,
    _: SignedIn,
    Path((number, id)): Path<(String, Uuid)>,
) -> Page {
    served(store::large(&mut app.db.read().await?, id, &number.to_uppercase()).await?)
}

/// GET /packs/{number}/photos/{photo}/small
pub async fn small(
    State(app): State<App>,
    _: SignedIn,
    Path((number, id)): Path<(String, Uuid)>,
) -> Page {
    served(store::small(&mut app.db.read().await?, id, &number.to_uppercase()).await?)
}

pub(super) fn served(picture: Option<Vec<u8>>) -> Page {
    let picture = picture.ok_or(PageError::NotFound)?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], picture).into_response())
}
