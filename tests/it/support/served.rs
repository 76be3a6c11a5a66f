//! The program without its port: put together once for whoever asks, as in the served one, and not for each request.

use axum::Router;
use axum::body::Body;
use axum::http::{Request, Response};
use sandbucket::app::App;
use std::sync::OnceLock;
use tower::ServiceExt;

#[derive(Clone)]
pub struct Served {
    app: App,
    router: OnceLock<Router>,
}

impl Served {
    pub fn of(app: &App) -> Self {
        Self {
            app: app.clone(),
            router: OnceLock::new(),
        }
    }

    pub async fn ask(&self, request: Request<Body>) -> Response<Body> {
        let router = self.router.get_or_init(|| self.app.router()).clone();
        router.oneshot(request).await.expect("an answer")
    }
}
