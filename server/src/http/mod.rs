//! The post office over HTTP. Each file of a resource owns its routes and handlers; what travels
//! is in [`crate::wire`], errors become answers in [`problem`], and the whole is in `API.md`.

mod asked;
mod body;
mod by_post;
mod games;
mod health;
mod instructions;
mod keys;
mod members;
mod news;
mod notices;
mod observe;
mod openapi;
mod problem;
mod record;
mod routes;
mod seats;
mod sheets;
mod strict_json;
mod table;
mod turning_away;
mod watching;

use std::collections::BTreeSet;
use std::future::Future;
use std::ops::Deref;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use tokio::sync::{Semaphore, watch};
use tower::ServiceBuilder;
use tower_http::catch_panic::CatchPanicLayer;

use crate::meters::Meters;
use crate::office::{Failure, Office};
use crate::rates::Rates;

pub use openapi::{document, page};

use observe::Observed;
use problem::{Answer, Rejection};
use routes::Routes;
use turning_away::turn_away;

/// How long things may take.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// For a whole body to arrive.
    pub body_deadline: Duration,
    /// For an answer that changes nothing.
    pub answer_deadline: Duration,
}

/// What handlers work with.
#[derive(Clone)]
pub(crate) struct App(Arc<Shared>);

impl App {
    pub(crate) fn new(shared: Shared) -> Self {
        Self(Arc::new(shared))
    }
}

impl Deref for App {
    type Target = Shared;

    fn deref(&self) -> &Shared {
        &self.0
    }
}

/// What all handlers share.
pub(crate) struct Shared {
    pub(crate) office: Arc<Office>,
    pub(crate) limits: Limits,
    pub(crate) rates: Arc<Rates>,
    pub(crate) meters: Arc<Meters>,
    /// A place for each that watches a game.
    pub(crate) watchers: Arc<Semaphore>,
    /// Becomes true when the server is told to stop.
    pub(crate) closing: watch::Receiver<bool>,
}

/// Every route, with what is told of it.
fn routes() -> Routes {
    Routes::default()
        .and(health::routes())
        .and(openapi::routes())
        .and(games::routes())
        .and(seats::routes())
        .and(keys::routes())
        .and(members::routes())
        .and(table::routes())
        .and(sheets::routes())
        .and(instructions::routes())
        .and(news::routes())
        .and(notices::routes())
        .and(watching::routes())
        .and(record::routes())
        .and(by_post::routes())
}

/// The post office, ready to be served.
pub(crate) fn router(app: App) -> Router {
    let Routes { router, operations } = routes();
    let readings = operations
        .iter()
        .filter(|operation| operation.is_reading)
        .map(|operation| (operation.method.word(), operation.path));
    let front = Front {
        app: app.clone(),
        readings: readings.collect(),
    };
    router
        .fallback(async || Rejection::NoSuchPlace)
        .method_not_allowed_fallback(async || Rejection::MethodNotAllowed)
        .layer(
            ServiceBuilder::new()
                .layer(middleware::from_fn_with_state(Arc::new(front), pass))
                .layer(CatchPanicLayer::custom(panicked)),
        )
        .with_state(app)
}

/// What every request passes first.
struct Front {
    app: App,
    /// The routes that change nothing.
    readings: BTreeSet<(&'static str, &'static str)>,
}

/// Everything done to every request, in one layer: each of its own would box what lies beneath it once more, at
/// every request.
async fn pass(State(front): State<Arc<Front>>, mut request: Request, next: Next) -> Response {
    let observed = Observed::begin(&request);
    let mut response = match turn_away(&front.app, &mut request) {
        Some(refusal) => refusal,
        None => front.run(request, next).await,
    };
    for (name, value) in FIXED {
        let headers = response.headers_mut();
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
    observed.end(&front.app, &mut response);
    response
}

/// What every answer says unless it says otherwise.
const FIXED: [(header::HeaderName, &str); 5] = [
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
    ),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "private, no-cache"),
    (header::VARY, "Authorization"),
];

impl Front {
    /// Readings are cut off when they take too long; whatever changes something never is.
    async fn run(&self, request: Request, next: Next) -> Response {
        let path = request.extensions().get::<MatchedPath>();
        let path = path.map_or("", MatchedPath::as_str);
        let method = request.method();
        let is_reading = method.is_safe() || self.readings.contains(&(method.as_str(), path));
        if !is_reading {
            return next.run(request).await;
        }
        let deadline = self.app.limits.answer_deadline;
        match tokio::time::timeout(deadline, next.run(request)).await {
            Ok(response) => response,
            Err(_) => Rejection::TooLong.into_response(),
        }
    }
}

/// Runs a change to its end even if the caller hangs up half way.
async fn finish<T: Send + 'static>(
    change: impl Future<Output = Result<T, Failure>> + Send + 'static,
) -> Answer<T> {
    match tokio::spawn(change).await {
        Ok(outcome) => Ok(outcome?),
        Err(error) => Err(Rejection::Panicked(error.to_string())),
    }
}

fn panicked(panic: Box<dyn std::any::Any + Send>) -> Response {
    let why = panic
        .downcast_ref::<String>()
        .cloned()
        .or_else(|| panic.downcast_ref::<&str>().map(|&text| text.to_owned()));
    Rejection::Panicked(why.unwrap_or_else(|| "a panic without words".to_owned())).into_response()
}

/// A game's `ETag`.
fn etag(hash: &str) -> [(header::HeaderName, String); 1] {
    [(header::ETAG, format!("\"{hash}\""))]
}
