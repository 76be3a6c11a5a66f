//! A form that brings a file along: the text fields as any other form's, and the one file, cut off while it is read once it
//! is larger than the route takes. A form without a file may come as plain fields too. What the file holds is not looked at.

use crate::app::App;
use crate::ids;
use crate::web::LARGEST_FORM;
use crate::web::fields::{Fields, unreadable, without_nul};
use crate::web::page::PageError;
use crate::web::visit::SignedIn;
use axum::body::Bytes;
use axum::extract::multipart::{Field, MultipartError};
use axum::extract::{DefaultBodyLimit, FromRequest, FromRequestParts, Multipart, Request};
use axum::http::{StatusCode, header};

/// What a form sent whose file may have `MOST_BYTES`.
pub struct Upload<const MOST_BYTES: usize> {
    /// The file is among them under its field's name, by its name and digest: the form's one-time key guards it too.
    pub fields: Fields,
    /// None: none was chosen.
    pub file: Option<File>,
}

pub struct File {
    /// As the sender's machine calls it, without folders.
    pub name: String,
    /// Nothing of a file that is too large.
    pub bytes: Vec<u8>,
    pub is_too_large: bool,
}

/// A file that is too large is read to its end and dropped, so that the form comes back with a sentence instead of a broken
/// connection; this many times over what the route takes, the connection breaks.
const READ_AT_MOST: usize = 8;
/// Of what is pasted, in bytes.
const LONGEST_TEXT: usize = 4 * 1024 * 1024;
const LONGEST_NAME: usize = 120;

/// Did this request come as a form with a file?
pub fn brings_a_file(request: &Request) -> bool {
    let kind = request.headers().get(header::CONTENT_TYPE);
    kind.and_then(|kind| kind.to_str().ok())
        .is_some_and(|kind| kind.to_ascii_lowercase().starts_with("multipart/"))
}

/// Whether somebody sends too often is asked before anything of it is read.
impl<const MOST_BYTES: usize> FromRequest<App> for Upload<MOST_BYTES> {
    type Rejection = PageError;

    async fn from_request(request: Request, app: &App) -> Result<Self, PageError> {
        let (mut parts, body) = request.into_parts();
        let who = SignedIn::from_request_parts(&mut parts, app).await?;
        app.limits.upload(who.network, who.me.person_id)?;
        Self::of_form(Request::from_parts(parts, body)).await
    }
}

impl<const MOST_BYTES: usize> Upload<MOST_BYTES> {
    pub async fn of_form(mut request: Request) -> Result<Self, PageError> {
        if !brings_a_file(&request) {
            // A text pasted in place of the file may be as long as the file, or as the longest text.
            let most = MOST_BYTES.min(LONGEST_TEXT);
            DefaultBodyLimit::max(LARGEST_FORM + 3 * most).apply(&mut request);
            let fields = Fields::from_request(request, &()).await?;
            return Ok(Self { fields, file: None });
        }
        DefaultBodyLimit::max(LARGEST_FORM + READ_AT_MOST * MOST_BYTES).apply(&mut request);
        let parts = Multipart::from_request(request, &()).await;
        read(parts.map_err(|_| unreadable())?, MOST_BYTES).await
    }

    /// As a form of text alone no larger than any other: nobody pastes a photo.
    pub async fn of_small_form(request: Request) -> Result<Self, PageError> {
        if brings_a_file(&request) {
            return Self::of_form(request).await;
        }
        let fields = Fields::from_request(request, &()).await?;
        Ok(Self { fields, file: None })
    }

    /// The body is the file itself, in that field, as a program may send it.
    pub async fn whole_body(mut request: Request, field: &str) -> Result<Self, PageError> {
        DefaultBodyLimit::max(MOST_BYTES).apply(&mut request);
        let bytes = Bytes::from_request(request, &()).await;
        let bytes = bytes.map_err(|rejection| match rejection.status() {
            StatusCode::PAYLOAD_TOO_LARGE => PageError::TooLarge,
            _ => unreadable(),
        })?;
        let guarded = (field.to_owned(), ids::digest_of(&bytes));
        Ok(Self {
            fields: Fields::new(vec![guarded]),
            file: Some(File {
                name: String::new(),
                bytes: bytes.into(),
                is_too_large: false,
            }),
        })
    }
}

async fn read<const MOST_BYTES: usize>(
    mut parts: Multipart,
    most_bytes: usize,
) -> Result<Upload<MOST_BYTES>, PageError> {
    let (mut pairs, mut file) = (Vec::new(), None);
    let mut text_left = LARGEST_FORM + most_bytes;
    while let Some(part) = parts.next_field().await.map_err(unread)? {
        let name = part.name().unwrap_or_default().to_owned();
        let Some(file_name) = part.file_name().map(plain_name) else {
            let (bytes, is_whole) = read_part(part, text_left).await?;
            text_left -= bytes.len();
            if !is_whole {
                return Err(PageError::TooLarge);
            }
            let text = String::from_utf8(bytes).map_err(|_| unreadable())?;
            pairs.push(without_nul((name, text)));
            continue;
        };
        let (bytes, is_whole) = read_part(part, most_bytes).await?;
        // A browser sends an empty part where no file was chosen.
        if file_name.is_empty() && bytes.is_empty() {
            continue;
        }
        if file.is_some() {
            return Err(unreadable());
        }
        pairs.push((name, format!("{file_name} {}", ids::digest_of(&bytes))));
        file = Some(File {
            name: file_name,
            bytes: if is_whole { bytes } else { Vec::new() },
            is_too_large: !is_whole,
        });
    }
    let fields = Fields::new(pairs);
    Ok(Upload { fields, file })
}

/// As much of it as may be kept, and whether that is all of it.
async fn read_part(mut part: Field<'_>, most_bytes: usize) -> Result<(Vec<u8>, bool), PageError> {
    let (mut kept, mut is_whole) = (Vec::new(), true);
    while let Some(chunk) = part.chunk().await.map_err(unread)? {
        if is_whole && kept.len() + chunk.len() <= most_bytes {
            kept.extend_from_slice(&chunk);
        } else {
            is_whole = false;
        }
    }
    Ok((kept, is_whole))
}

/// Without folders and without what no keyboard types.
pub(super) fn plain_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain = last.chars().filter(|letter| !letter.is_control());
    plain.take(LONGEST_NAME).collect()
}

fn unread(error: MultipartError) -> PageError {
    match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => PageError::TooLarge,
        _ => unreadable(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;

    const PAGE: &str = "--b\r\nContent-Disposition: form-data; name=\"key\"\r\n\r\nk1\r\n\
        --b\r\nContent-Disposition: form-data; name=\"note\"\r\n\r\nhello\r\n\
        --b\r\nContent-Disposition: form-data; name=\"sheet\"; filename=\"C:\\\\tmp\\\\a.csv\"\r\n\r\n{}\r\n--b--\r\n";

    async fn sent(body: String) -> Result<Upload<8>, PageError> {
        let request = Request::builder()
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=b")
            .body(Body::from(body))
            .expect("a request");
        Upload::of_form(request).await
    }

    #[tokio::test]
    async fn text_and_file_are_told_apart_and_the_key_guards_both() {
        let one = sent(PAGE.replace("{}", "a,b\n1")).await.expect("read");
        let other = sent(PAGE.replace("{}", "a,b\n2")).await.expect("read");
        assert_eq!(one.fields.text("note"), "hello");
        let file = one.file.expect("a file");
        assert_eq!(
            (file.name.as_str(), file.bytes.as_slice()),
            ("a.csv", b"a,b\n1".as_slice())
        );
        assert_ne!(one.fields.body_hash(), other.fields.body_hash());
    }

    #[tokio::test]
    async fn a_file_over_the_cap_is_dropped_and_told_and_one_far_over_it_is_refused() {
        let read = sent(PAGE.replace("{}", "123456789")).await.expect("read");
        let file = read.file.expect("a file");
        assert!(file.is_too_large && file.bytes.is_empty());
        let endless = "x".repeat(LARGEST_FORM + READ_AT_MOST * 8);
        let refused = sent(PAGE.replace("{}", &endless)).await.err();
        assert!(matches!(refused, Some(PageError::TooLarge)), "{refused:?}");
    }

    #[tokio::test]
    async fn what_is_no_form_is_refused_and_an_empty_choice_is_no_file() {
        for broken in ["", "--b", "nothing", "--b\r\n\r\n"] {
            let answer = sent(broken.to_owned()).await;
            assert!(answer.is_err(), "{broken:?}");
        }
        let none = PAGE.replace("C:\\\\tmp\\\\a.csv", "").replace("{}", "");
        assert!(sent(none).await.expect("read").file.is_none());
    }
}
