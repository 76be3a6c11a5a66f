//! One operation: method, address, who may, what is sent and answered, and what carries it out. Types of what is sent and
//! shown are those of the function that carries it out; the document is written from the same.

use super::done::Done;
use super::form::{Form, Sent};
use super::in_flight::{Begun, begin, key_of};
use super::trouble::{Kind, Trouble};
use crate::app::App;
use crate::bench::form::{Fields, Problems};
use crate::bench::{shape, unfit};
use crate::ids;
use crate::store::tokens::Token;
use crate::web::gate::{Instead, Who, admit, is_looking};
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts, OriginalUri, Path, Query, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get, post};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::collections::HashMap;
use utoipa::ToSchema;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::Schema;
use uuid::Uuid;

pub struct Operation {
    pub method: Method,
    pub path: &'static str,
    pub who: Who,
    pub summary: &'static str,
    /// Asked by the document alone: at a start nothing of it is made.
    pub shape: fn() -> Shape,
    pub(super) answer: MethodRouter<App>,
}

impl Operation {
    /// `line`: its address, who may, and what it does.
    pub(super) fn of(
        method: Method,
        line: (&'static str, Who, &'static str),
        shape: fn() -> Shape,
        answer: MethodRouter<App>,
    ) -> Self {
        let (path, who, summary) = line;
        Self {
            method,
            path,
            who,
            summary,
            shape,
            answer,
        }
    }
}

/// What of it the document tells.
pub struct Shape {
    /// Parameters behind the question mark: name and schema of all together.
    pub query: Option<(String, RefOr<Schema>)>,
    pub body: Option<Content>,
    pub answer: Content,
    pub schemas: Vec<(String, RefOr<Schema>)>,
}

/// What is sent or answered.
pub enum Content {
    /// The name of its schema, and an example.
    Json(String, Value),
    /// A picture: sent, any that a page takes; answered, a JPEG.
    Picture,
}

/// What is shown in answer.
pub trait Shown: Serialize + ToSchema + Send + 'static {
    fn example() -> Self;
}

/// What can stand behind the question mark.
pub trait Asked: DeserializeOwned + ToSchema + Send + 'static {}
impl<T: DeserializeOwned + ToSchema + Send + 'static> Asked for T {}

/// Nothing is asked or sent.
#[derive(Clone, Debug, Default, serde::Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

impl Sent for Nothing {
    const IS_NOTHING: bool = true;

    fn fill(&self, _: &mut Form, _: &SignedIn) -> Result<(), crate::bench::form::Problems> {
        Ok(())
    }

    fn example() -> Self {
        Self {}
    }
}

/// A request as whoever carries it out needs it.
pub struct Call<T> {
    pub app: App,
    pub who: SignedIn,
    /// The parameter of the path, and the same as an id where the address asks for one.
    pub name: String,
    pub id: Uuid,
    pub sent: T,
    /// Under which it may be sent again, and the whole of it.
    pub key: Option<String>,
    pub request: String,
    /// What its first form was answered when it came before.
    pub given: Option<String>,
}

pub(super) fn json<T: ToSchema + Serialize>(
    schemas: &mut Vec<(String, RefOr<Schema>)>,
    example: &T,
) -> Content {
    json_of::<T>(schemas, value(example))
}

/// The same where the example is JSON already.
pub(super) fn json_of<T: ToSchema>(
    schemas: &mut Vec<(String, RefOr<Schema>)>,
    example: Value,
) -> Content {
    let name = T::name().into_owned();
    schemas.push((name.clone(), T::schema()));
    T::schemas(schemas);
    Content::Json(name, example)
}

fn value(of: &impl Serialize) -> Value {
    serde_json::to_value(of).unwrap_or_default()
}

pub(super) fn in_json(shown: &impl Serialize) -> Result<Response, Trouble> {
    let text = serde_json::to_string(shown)
        .map_err(|error| Trouble::from(PageError::Internal(error.to_string())))?;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

/// Shows something; changes nothing.
pub fn look<Q, A, H, F>(
    path: &'static str,
    who: Who,
    summary: &'static str,
    handler: H,
) -> Operation
where
    Q: Asked,
    A: Shown,
    H: Fn(Call<Q>) -> F + Clone + Send + Sync + 'static,
    F: Future<Output = Result<A, Trouble>> + Send,
{
    let shape = || {
        let mut schemas = Vec::new();
        Shape {
            query: Some((Q::name().into_owned(), Q::schema())),
            body: None,
            answer: json(&mut schemas, &A::example()),
            schemas,
        }
    };
    let answer = get(move |State(app): State<App>, request: Request| {
        let handler = handler.clone();
        async move { in_json(&handler(asked_for(app, request, who).await?).await?) }
    });
    Operation::of(Method::GET, (path, who, summary), shape, answer)
}

/// Changes something: `handler` is handed the form that the page's own handler reads.
pub fn send<B, H, F>(path: &'static str, who: Who, summary: &'static str, handler: H) -> Operation
where
    B: Sent,
    H: Fn(Call<B>, Fields) -> F + Clone + Send + Sync + 'static,
    F: Future<Output = Page> + Send,
{
    let shape = || {
        let mut schemas = Vec::new();
        Shape {
            query: None,
            body: Some(json(&mut schemas, &B::example())),
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

/// A request that only looks, as it is carried out.
pub(super) async fn asked_for<Q: Asked>(
    app: App,
    request: Request,
    who: Who,
) -> Result<Call<Q>, Trouble> {
    let (mut parts, _) = request.into_parts();
    let entered = enter(&mut parts, who).await?;
    let Query(sent) = Query::<Q>::try_from_uri(&parts.uri)
        .map_err(|error| Trouble::new(Kind::Unreadable, told_of_query(&error)))?;
    Ok(Call {
        app,
        who: entered.who,
        name: entered.name,
        id: entered.id,
        sent,
        key: None,
        request: String::new(),
        given: None,
    })
}

pub(super) struct Entered {
    pub(super) who: SignedIn,
    pub(super) name: String,
    pub(super) id: Uuid,
}

/// The same rule of who may as on a page, and what the token may; an id that is none names nothing.
pub(super) async fn enter(parts: &mut Parts, who: Who) -> Result<Entered, Trouble> {
    let only_looks = parts
        .extensions
        .get()
        .is_none_or(|token: &Token| !token.may_change);
    if only_looks && !is_looking(&parts.method) {
        return Err(PageError::NotYours("This token only looks.".to_owned()).into());
    }
    look_in(parts, who).await
}

/// The same where nothing is changed, whatever the method.
pub(super) async fn look_in(parts: &mut Parts, who: Who) -> Result<Entered, Trouble> {
    let person = SignedIn::from_request_parts(parts, &()).await?;
    admit(&person.visit, who, &parts.method, &parts.uri).map_err(|instead| match instead {
        Instead::Trouble(error) => Trouble::from(error),
        Instead::Page(_) => Trouble::no_token(),
    })?;
    let Path(named) = Path::<HashMap<String, String>>::from_request_parts(parts, &())
        .await
        .map_err(|_| Trouble::from(PageError::NotFound))?;
    let one = |names: &[&str]| names.iter().find_map(|name| named.get(*name));
    let id = one(&["id", "lent", "photo"]).map(|id| id.parse());
    Ok(Entered {
        who: person,
        name: one(&["number", "code"]).cloned().unwrap_or_default(),
        id: id
            .transpose()
            .map_err(|_| PageError::NotFound)?
            .unwrap_or_default(),
    })
}

async fn carried_out<B, H, F>(
    (app, request): (App, Request),
    who: Who,
    handler: H,
) -> Result<Response, Trouble>
where
    B: Sent,
    H: Fn(Call<B>, Fields) -> F,
    F: Future<Output = Page>,
{
    let (mut parts, body) = request.into_parts();
    let entered = enter(&mut parts, who).await?;
    let asked = whole_path(&mut parts).await;
    let key = key_of(&parts.headers, &entered.who)?;
    refuse_packed(&parts.headers)?;
    let is_json = is_json(&parts.headers);
    let bytes = Bytes::from_request(Request::from_parts(parts, body), &())
        .await
        .map_err(unread)?;
    let sent: B = match (bytes.is_empty(), is_json) {
        (true, _) if B::IS_NOTHING => read(b"{}")?,
        (_, true) => read(&bytes)?,
        (_, false) => return Err(not_json()),
    };
    let mut form = Form::default();
    sent.fill(&mut form, &entered.who)
        .map_err(|problems| Trouble::from(&problems))?;
    let request = format!("POST {asked} {}", ids::digest_of(&bytes));
    let fields = form.fields(key.as_deref(), &request);
    let (_flight, given) = match begin(&app, key.as_deref(), &fields).await? {
        Begun::Goes(flight, given) => (flight, given),
        Begun::Answered(done) => return in_json(&done),
    };
    let call = Call {
        app,
        who: entered.who,
        name: entered.name,
        id: entered.id,
        sent,
        key,
        request,
        given,
    };
    in_json(&form.outcome(handler(call, fields).await)?)
}

/// What is asked for, below the base too.
pub(super) async fn whole_path(parts: &mut Parts) -> String {
    let asked = OriginalUri::from_request_parts(parts, &()).await;
    asked.map_or_else(
        |never| match never {},
        |OriginalUri(uri)| uri.path().to_owned(),
    )
}

/// The body whole, where it says that it is JSON.
pub(super) async fn json_body(request: Request) -> Result<Bytes, Trouble> {
    refuse_packed(request.headers())?;
    if !is_json(request.headers()) {
        return Err(not_json());
    }
    Bytes::from_request(request, &()).await.map_err(unread)
}

fn not_json() -> Trouble {
    let words = "Send JSON, with Content-Type: application/json.";
    Trouble::new(Kind::NotJson, words)
}

fn is_json(headers: &HeaderMap) -> bool {
    kind_of(headers) == "application/json"
}

/// `image/png`, in small letters, without what stands behind it.
pub(super) fn kind_of(headers: &HeaderMap) -> String {
    let kind = headers.get(header::CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default().trim();
    kind.to_ascii_lowercase()
}

/// A body comes as it is.
pub(super) fn refuse_packed(headers: &HeaderMap) -> Result<(), Trouble> {
    let packed = headers.get(header::CONTENT_ENCODING);
    if packed.is_none_or(|how| how.as_bytes().eq_ignore_ascii_case(b"identity")) {
        return Ok(());
    }
    let words = "Send the body as it is, without Content-Encoding.";
    Err(Trouble::new(Kind::NotJson, words))
}

fn unread(rejection: impl IntoResponse) -> Trouble {
    match rejection.into_response().status() {
        StatusCode::PAYLOAD_TOO_LARGE => PageError::TooLarge.into(),
        _ => Trouble::new(Kind::Unreadable, "The body did not come whole."),
    }
}

/// What is no JSON can't be read; what is JSON of another shape is to be put right.
fn read<B: Sent>(bytes: &[u8]) -> Result<B, Trouble> {
    let unreadable = |error: &serde_json::Error| {
        Trouble::new(
            Kind::Unreadable,
            format!("The body {}.", unfit::no_json(error)),
        )
    };
    let sent: Value = serde_json::from_slice(bytes).map_err(|error| unreadable(&error))?;
    // From the bytes: a field that stands twice is told.
    let mut given = serde_json::Deserializer::from_slice(bytes);
    let read: B = serde_path_to_error::deserialize(&mut given).map_err(|error| {
        let (field, words) = unfit::of_error("", &error);
        Trouble::from(&Problems::one(&field, format!("{words}.")))
    })?;
    let misread = shape::misread(&sent, &value(&read), "");
    misread.or_none().map_err(|found| Trouble::from(&found))?;
    Ok(read)
}

fn told_of_query(error: &impl std::fmt::Display) -> String {
    format!("What stands behind the question mark can't be read: {error}.")
}
