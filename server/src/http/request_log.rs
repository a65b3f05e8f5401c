//! One log line and one count a request, with an id that the answer carries too; never a key, never a query.

use std::time::Instant;

use axum::extract::{MatchedPath, Request};
use axum::http::{HeaderValue, Method};
use axum::response::Response;
use tracing::{error, info};

use crate::key::fresh_id;

use super::app::App;
use super::problem::ErrorNotes;

/// A request that is being answered.
pub(super) struct RequestLog {
    id: String,
    method: &'static str,
    route: Option<MatchedPath>,
    began: Instant,
}

impl RequestLog {
    pub(super) fn begin(request: &Request) -> Self {
        Self {
            id: fresh_id(),
            method: word(request.method()),
            route: request.extensions().get::<MatchedPath>().cloned(),
            began: Instant::now(),
        }
    }

    /// Logs and counts it when it is answered.
    pub(super) fn end(self, app: &App, response: &mut Response) {
        let Self { id, method, .. } = self;
        let route = self.route.as_ref().map_or("(none)", MatchedPath::as_str);
        let status = response.status().as_u16();
        let took = self.began.elapsed();
        let took_us = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
        app.metrics.answered(method, route, status, took);
        let notes = response.extensions().get::<ErrorNotes>();
        match notes.and_then(|notes| notes.log.as_deref()) {
            Some(why) => error!(%id, method, route, status, took_us, why, "request failed"),
            None => info!(%id, method, route, status, took_us, "request"),
        }
        if let Ok(id) = HeaderValue::try_from(id) {
            response.headers_mut().insert("x-request-id", id);
        }
    }
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
