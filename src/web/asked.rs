//! What stands in an address: parameters of its path, and the query behind it. What can't be read is answered by a page
//! of ours: a path that names nothing is not here, a query that makes no sense is told so.

use crate::web::page::PageError;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

/// Parameters of the path. One that is not even an id names nothing: 404.
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = PageError;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, PageError> {
        axum::extract::Path::from_request_parts(parts, state)
            .await
            .map(|axum::extract::Path(named)| Self(named))
            .map_err(|_| PageError::NotFound)
    }
}

/// The query. A field that stands there twice or is of another kind can't be read: 400.
pub struct Query<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = PageError;
    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, PageError> {
        axum::extract::Query::try_from_uri(&parts.uri)
            .map(|axum::extract::Query(asked)| Self(asked))
            .map_err(|_| PageError::Unreadable(
                "What stands behind the question mark of this address can't be read. Open the page again and ask from there.".to_owned(),
            ))
    }
}
