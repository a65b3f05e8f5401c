//! One log line and one count a request, with an id that the answer carries too; never a key, never a query.

use std::time::Instant;

use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, Method};
use axum::middleware::Next;
use axum::response::Response;
use tracing::{error, info};

use crate::key::fresh_id;

use super::App;
use super::problem::ForTheLog;

/// Logs a request when it is answered.
pub(super) async fn observe(State(app): State<App>, request: Request, next: Next) -> Response {
    let id = fresh_id();
    let method = word(request.method());
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or("(none)".to_owned(), |path| path.as_str().to_owned());
    let began = Instant::now();
    let mut response = next.run(request).await;
    let status = response.status().as_u16();
    let took = began.elapsed();
    let took_us = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
    app.meters.answered(method, &route, status, took);
    match response.extensions().get::<ForTheLog>() {
        Some(ForTheLog(why)) => error!(%id, method, route, status, took_us, why, "request failed"),
        None => info!(%id, method, route, status, took_us, "request"),
    }
    if let Ok(id) = HeaderValue::from_str(&id) {
        response.headers_mut().insert("x-request-id", id);
    }
    response
}

/// A method's name; of names that callers make up there is no end.
fn word(method: &Method) -> &'static str {
    match *method {
        Method::GET => "GET",
        Method::HEAD => "HEAD",
        Method::POST => "POST",
        Method::PUT => "PUT",
        Method::PATCH => "PATCH",
        Method::DELETE => "DELETE",
        Method::OPTIONS => "OPTIONS",
        _ => "(other)",
    }
}
