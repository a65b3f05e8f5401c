//! The router: every route, and the middleware that each request passes.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Router;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{Extensions, HeaderMap, HeaderValue, StatusCode, Version, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use tower::ServiceBuilder;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, Predicate};

use crate::caller_waits::CallerWaits;
use crate::service::ServiceError;

use super::app::{App, Shared};
use super::description::Description;
use super::error::{ApiError, ApiResult};
use super::headers::{FIELDPOST_KEY, VARY};
use super::problem::ErrorNotes;
use super::rate_limit::count_request;
use super::request_log::RequestLog;
use super::routes::{KeyPolicy, Routes};
use super::{
    actions, answer_body, assets, drafts, event_stream, games, health, instructions, keys, members,
    news, notices, openapi, record, seats, sessions, sheets, signing_keys, table,
};

/// Every route, with its description.
pub(super) fn routes() -> Routes {
    Routes::default()
        .and(health::routes())
        .and(openapi::routes())
        .and(games::routes())
        .and(seats::routes())
        .and(keys::routes())
        .and(sessions::routes())
        .and(members::routes())
        .and(table::routes())
        .and(sheets::routes())
        .and(drafts::routes())
        .and(instructions::routes())
        .and(news::routes())
        .and(notices::routes())
        .and(event_stream::routes())
        .and(record::routes())
        .and(actions::routes())
        .and(signing_keys::routes())
        .and(assets::routes())
}

/// The description of every route, as OpenAPI 3.1.
#[must_use]
pub fn document() -> serde_json::Value {
    openapi::document(&routes().operations)
}

/// The same as one page of HTML that needs nothing else.
#[must_use]
pub fn page() -> String {
    Description::of(&routes().operations).page.to_string()
}

/// The server's routes behind the middleware.
pub(crate) fn router(shared: Shared) -> Router {
    let Routes { router, operations } = routes();
    let app = App::new(shared, Description::of(&operations));
    let rules = operations.iter().map(|operation| {
        let rules = RouteRules {
            is_reading: operation.is_reading,
            needs_key: operation.key_policy == KeyPolicy::Key,
        };
        ((operation.method.word(), operation.path), rules)
    });
    let middleware = Middleware {
        app: app.clone(),
        rules: rules.collect(),
    };
    let compression = CompressionLayer::new()
        .gzip(true)
        .compress_when(DefaultPredicate::new().and(holds_no_fresh_secret));
    router
        .fallback(async || ApiError::NoSuchPlace)
        .method_not_allowed_fallback(async || ApiError::MethodNotAllowed)
        .layer(
            ServiceBuilder::new()
                .layer(compression)
                .layer(middleware::from_fn_with_state(Arc::new(middleware), pass))
                .layer(CatchPanicLayer::custom(panicked)),
        )
        .with_state(app)
}

/// What was just made, keys and invitations among it, is not compressed: how long a compressed answer is says something
/// about what is in it.
fn holds_no_fresh_secret(status: StatusCode, _: Version, _: &HeaderMap, _: &Extensions) -> bool {
    status != StatusCode::CREATED
}

/// What every request passes.
struct Middleware {
    app: App,
    rules: BTreeMap<(&'static str, &'static str), RouteRules>,
}

/// What the middleware must know of a route.
#[derive(Clone, Copy)]
struct RouteRules {
    /// Changes nothing, and may be cut off when it takes too long.
    is_reading: bool,
    /// Is refused without a key, before its body is read.
    needs_key: bool,
}

/// Everything done to every request, in one layer: each of its own would box what lies beneath it once more, at
/// every request.
async fn pass(
    State(middleware): State<Arc<Middleware>>,
    mut request: Request,
    next: Next,
) -> Response {
    let log = RequestLog::begin(&request);
    let app = &middleware.app;
    let counted = count_request(app, &mut request);
    let mut response = match counted.and_then(|from| must_be_plain(&request).map(|()| from)) {
        Err(error) => error.into_response(),
        Ok(from) => {
            let whose = from.whose(app, request.headers());
            let response = middleware.run(request, next).await;
            let response = answer_body::hold(&app.held, whose, response);
            if notes(&response).is_some_and(|notes| notes.is_guess) {
                app.count_guess(from);
            }
            response
        }
    };
    if let Some(of) = notes(&response).and_then(|notes| notes.over_limit) {
        app.metrics.count_refused(of);
    }
    for (name, value) in FIXED {
        let headers = response.headers_mut();
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
    log.end(app, &mut response);
    response
}

fn notes(response: &Response) -> Option<&ErrorNotes> {
    response.extensions().get()
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
    (header::VARY, VARY),
];

impl Middleware {
    /// A reading is cut off when it takes too long or its caller hangs up; whatever may change something goes on to its end.
    async fn run(&self, request: Request, next: Next) -> Response {
        let path = request.extensions().get::<MatchedPath>();
        let path = path.map_or("", MatchedPath::as_str);
        let method = request.method();
        let rules = self.rules.get(&(method.as_str(), path)).copied();
        let needs_key = rules.is_some_and(|rules| rules.needs_key);
        let names_key = [header::AUTHORIZATION, FIELDPOST_KEY];
        let names_key = names_key
            .iter()
            .any(|name| request.headers().contains_key(name));
        if needs_key && !names_key {
            return ApiError::from(ServiceError::NoKey).into_response();
        }
        let is_reading = method.is_safe() || rules.is_some_and(|rules| rules.is_reading);
        if is_reading {
            let caller = request.extensions().get::<CallerWaits>().cloned();
            let deadline = self.app.limits.answer_deadline;
            let answered = tokio::time::timeout(deadline, next.run(request));
            return tokio::select! {
                answered = answered => answered.unwrap_or_else(|_| ApiError::TooLong.into_response()),
                // Nobody reads this.
                () = hung_up(caller) => ApiError::TooLong.into_response(),
            };
        }
        next.run(request).await
    }
}

/// Waits until the caller has hung up. Where nobody says so, what waits here is dropped when they do.
async fn hung_up(caller: Option<CallerWaits>) {
    match caller {
        Some(caller) => caller.hung_up().await,
        None => std::future::pending().await,
    }
}

/// Refuses what a proxy before this server and the server itself might read differently, and what no name holds.
fn must_be_plain(request: &Request) -> ApiResult<()> {
    let refuse = |why: &str| Err(ApiError::BadRequest(why.to_owned()));
    let hosts = request.headers().get_all(header::HOST).iter().count();
    if hosts != 1 && request.version() == Version::HTTP_11 {
        return refuse("Send one Host header, and no more (RFC 9112, section 3.2).");
    }
    let uri = request.uri();
    // A path of no route is answered so.
    let path = request
        .extensions()
        .get::<MatchedPath>()
        .map(|_| uri.path());
    let parts = [path, uri.query()];
    if parts.iter().flatten().any(|part| part.contains("%00")) {
        return refuse("No name here holds the character U+0000.");
    }
    Ok(())
}

fn panicked(panic: Box<dyn std::any::Any + Send>) -> Response {
    let why = panic
        .downcast_ref::<String>()
        .cloned()
        .or_else(|| panic.downcast_ref::<&str>().map(|&text| text.to_owned()));
    ApiError::Panicked(why.unwrap_or_else(|| "no message".to_owned())).into_response()
}
