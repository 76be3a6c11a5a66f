//! Operations that compute from what is sent and change nothing: any token may ask, also one that only looks, and a key has
//! nothing to guard. What is read and answered is that of `sandbucket calc`.

use super::operation::{Operation, Shape, in_json, json, json_body, json_of, look_in};
use super::trouble::{Kind, Trouble};
use crate::bench::form::Problems;
use crate::bench::unfit;
use crate::calc::{Compute, Wrong, read};
use crate::web::gate::Who;
use axum::extract::Request;
use axum::http::Method;
use axum::response::Response;
use axum::routing::post;
use serde::Serialize;
use serde::de::IgnoredAny;
use utoipa::ToSchema;

pub fn compute<C>(path: &'static str, who: Who, summary: &'static str) -> Operation
where
    C: Compute + Serialize + ToSchema + 'static,
    C::Told: ToSchema,
{
    let shape = || {
        let mut schemas = Vec::new();
        let told = C::example().compute().ok();
        let told = told.and_then(|told| serde_json::to_value(told).ok());
        Shape {
            query: None,
            body: Some(json(&mut schemas, &C::example())),
            answer: json_of::<C::Told>(&mut schemas, told.unwrap_or_default()),
            schemas,
        }
    };
    let answer = post(move |request: Request| computed::<C>(request, who));
    Operation::of(Method::POST, (path, who, summary), shape, answer)
}

async fn computed<C: Compute>(request: Request, who: Who) -> Result<Response, Trouble> {
    let (mut parts, body) = request.into_parts();
    look_in(&mut parts, who).await?;
    let bytes = json_body(Request::from_parts(parts, body)).await?;
    serde_json::from_slice::<IgnoredAny>(&bytes).map_err(|error| {
        Trouble::new(
            Kind::Unreadable,
            format!("The body {}.", unfit::no_json(&error)),
        )
    })?;
    let told = read::<C>(&bytes).and_then(|given| given.compute());
    in_json(&told.map_err(|wrong| put_right(&wrong))?)
}

fn put_right(wrong: &Wrong) -> Trouble {
    (&Problems::one(&wrong.field, &wrong.error)).into()
}
