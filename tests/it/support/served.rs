//! The program without its port: put together once for all who ask it in a test, as the served one is, and not for each request.

use axum::Router;
use axum::body::Body;
use axum::http::{Request, Response};
use sandbucket::app::App;
use std::cell::RefCell;
use std::sync::OnceLock;
use tower::ServiceExt;

#[derive(Clone)]
pub struct Served {
    app: App,
    router: OnceLock<Router>,
}

thread_local! {
    /// The latest that was put together here. A test has a thread of its own.
    static LATEST: RefCell<Option<(App, Router)>> = const { RefCell::new(None) };
}

impl Served {
    pub fn of(app: &App) -> Self {
        Self {
            app: app.clone(),
            router: OnceLock::new(),
        }
    }

    pub async fn ask(&self, request: Request<Body>) -> Response<Body> {
        let router = self.router.get_or_init(|| put_together(&self.app)).clone();
        router.oneshot(request).await.expect("an answer")
    }
}

fn put_together(app: &App) -> Router {
    LATEST.with_borrow_mut(|latest| match latest {
        Some((of, router)) if std::ptr::eq::<sandbucket::app::Parts>(&**of, &**app) => {
            router.clone()
        }
        _ => latest.insert((app.clone(), app.router())).1.clone(),
    })
}
