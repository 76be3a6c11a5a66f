//! Operations that answer with a picture, or are sent one: as a form with a file, as a page sends it, or alone as the body.

use super::done::Done;
use super::form::Form;
use super::in_flight::{Begun, begin, key_of};
use super::operation::{
    Call, Content, Nothing, Operation, Shape, Shown, asked_for, enter, in_json, json, kind_of,
    refuse_packed, whole_path,
};
use super::trouble::{Kind, Trouble};
use crate::app::App;
use crate::bench::form::Problems;
use crate::ids;
use crate::paper::photo::MOST_BYTES;
use crate::web::gate::Who;
use crate::web::page::Page;
use crate::web::upload::Upload;
use axum::extract::{Request, State};
use axum::http::Method;
use axum::response::Response;
use axum::routing::{get, post};
use utoipa::{PartialSchema, ToSchema};

pub type Picture = Upload<MOST_BYTES>;

/// The picture's field in a form.
pub const FIELD: &str = "photo";

/// Shows a picture.
pub fn picture<H, F>(path: &'static str, who: Who, summary: &'static str, handler: H) -> Operation
where
    H: Fn(Call<Nothing>) -> F + Clone + Send + Sync + 'static,
    F: Future<Output = Page> + Send,
{
    let answer = get(move |State(app): State<App>, request: Request| {
        let handler = handler.clone();
        async move {
            let call = asked_for(app, request, who).await?;
            Ok::<Response, Trouble>(handler(call).await?)
        }
    });
    let shape = || Shape {
        query: Some((Nothing::name().into_owned(), Nothing::schema())),
        body: None,
        answer: Content::Picture,
        schemas: Vec::new(),
    };
    Operation::of(Method::GET, (path, who, summary), shape, answer)
}

/// Is sent a picture: `handler` is handed the form with a file that the page's own handler reads.
pub fn send_picture<H, F>(
    path: &'static str,
    who: Who,
    summary: &'static str,
    handler: H,
) -> Operation
where
    H: Fn(Call<Nothing>, Picture) -> F + Clone + Send + Sync + 'static,
    F: Future<Output = Page> + Send,
{
    let shape = || {
        let mut schemas = Vec::new();
        Shape {
            query: None,
            body: Some(Content::Picture),
            answer: json(&mut schemas, &Done::example()),
            schemas,
        }
    };
    let answer = post(move |State(app): State<App>, request: Request| {
        let handler = handler.clone();
        async move { carried_out((app, request), who, handler).await }
    });
    Operation::of(Method::POST, (path, who, summary), shape, answer)
}

async fn carried_out<H, F>(
    (app, request): (App, Request),
    who: Who,
    handler: H,
) -> Result<Response, Trouble>
where
    H: Fn(Call<Nothing>, Picture) -> F,
    F: Future<Output = Page>,
{
    let (mut parts, body) = request.into_parts();
    let entered = enter(&mut parts, who).await?;
    let asked = format!("POST {}", whole_path(&mut parts).await);
    let key = key_of(&parts.headers, &entered.who)?;
    app.limits
        .upload(entered.who.network, entered.who.me.person_id)?;
    let mut sent = read(Request::from_parts(parts, body)).await?;
    if let Some(key) = &key {
        sent.fields.put("key", key);
        sent.fields.put("request", &ids::digest(&asked));
    }
    let (_flight, given) = match begin(&app, key.as_deref(), &sent.fields).await? {
        Begun::Goes(flight, given) => (flight, given),
        Begun::Answered(done) => return in_json(&done),
    };
    let call = Call {
        app,
        who: entered.who,
        name: entered.name,
        id: entered.id,
        sent: Nothing {},
        key,
        request: asked,
        given,
    };
    let mut form = Form::default();
    form.name(FIELD, FIELD);
    in_json(&form.outcome(handler(call, sent).await)?)
}

async fn read(request: Request) -> Result<Picture, Trouble> {
    refuse_packed(request.headers())?;
    let sent = match kind_of(request.headers()).as_str() {
        "multipart/form-data" => Picture::of_form(request).await?,
        kind if kind.starts_with("image/") => Picture::whole_body(request, FIELD).await?,
        _ => {
            let words = "Send a picture: alone, with its own Content-Type, or as multipart/form-data in the field photo.";
            return Err(Trouble::new(Kind::NotJson, words));
        }
    };
    let mut problems = Problems::default();
    for name in sent.fields.names().filter(|name| *name != FIELD) {
        problems.add(
            name,
            "There is no such field: a form holds the photo alone.",
        );
    }
    if problems.is_empty() {
        Ok(sent)
    } else {
        Err((&problems).into())
    }
}
