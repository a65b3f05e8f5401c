//! What the server counts of itself, for Prometheus to read at an address of its own.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::get;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::{Registry, Unit};

/// Upper bounds of the times of answers, in seconds.
const BOUNDS_S: [f64; 10] = [
    0.001, 0.002_5, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.0, 10.0,
];

/// What the server counts of itself.
pub(crate) struct Metrics {
    registry: Registry,
    requests: Family<Answered, Counter>,
    seconds: Family<Routed, Histogram>,
    /// Requests refused as too many, by what was too much.
    pub(crate) refused: Family<TooMuch, Counter>,
    watchers: Gauge,
    /// Connections open now.
    pub(crate) connections: Gauge,
    /// Connections closed at once because their address had too many.
    pub(crate) connections_refused: Counter,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Answered {
    method: &'static str,
    route: String,
    status: u16,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Routed {
    route: String,
}

/// What there was too much of.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub(crate) struct TooMuch {
    pub(crate) of: &'static str,
}

impl Metrics {
    pub(crate) fn new() -> Self {
        let mut registry = Registry::with_prefix("fieldpost");
        let requests = Family::default();
        registry.register("requests", "Requests answered", requests.clone());
        let seconds =
            Family::<Routed, Histogram>::new_with_constructor(|| Histogram::new(BOUNDS_S));
        registry.register_with_unit(
            "answer",
            "From a request's head to its answer's",
            Unit::Seconds,
            seconds.clone(),
        );
        let refused = Family::default();
        registry.register(
            "turned_away",
            "Requests that were too many",
            refused.clone(),
        );
        let watchers = Gauge::default();
        registry.register("watchers", "Streams of news open", watchers.clone());
        let connections = Gauge::default();
        registry.register("connections", "Connections open", connections.clone());
        let connections_refused = Counter::default();
        registry.register(
            "connections_refused",
            "Connections closed at once: their address had too many",
            connections_refused.clone(),
        );
        Self {
            registry,
            requests,
            seconds,
            refused,
            watchers,
            connections,
            connections_refused,
        }
    }

    /// Counts a request that was answered.
    pub(crate) fn answered(&self, method: &'static str, route: &str, status: u16, took: Duration) {
        let route = route.to_owned();
        self.seconds
            .get_or_create(&Routed {
                route: route.clone(),
            })
            .observe(took.as_secs_f64());
        self.requests
            .get_or_create(&Answered {
                method,
                route,
                status,
            })
            .inc();
    }

    /// Counts a request that was refused as too many.
    pub(crate) fn count_refused(&self, of: &'static str) {
        self.refused.get_or_create(&TooMuch { of }).inc();
    }

    /// Counts somebody who watches, for as long as what is given lives.
    pub(crate) fn count_watcher(metrics: &Arc<Self>) -> Watched {
        metrics.watchers.inc();
        Watched(Arc::clone(metrics))
    }

    /// Everything counted, in the OpenMetrics text form.
    pub(crate) fn text(&self) -> String {
        let mut text = String::new();
        // Writing into a string fails never.
        let _ = prometheus_client::encoding::text::encode(&mut text, &self.registry);
        text
    }
}

/// Somebody who watches, counted while this lives.
pub(crate) struct Watched(Arc<Metrics>);

impl Drop for Watched {
    fn drop(&mut self) {
        self.0.watchers.dec();
    }
}

/// `/metrics`, and nothing else.
pub(crate) fn router(metrics: Arc<Metrics>) -> Router {
    Router::new()
        .route("/metrics", get(show))
        .with_state(metrics)
}

async fn show(State(metrics): State<Arc<Metrics>>) -> impl IntoResponse {
    let media_type = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    ([(header::CONTENT_TYPE, media_type)], metrics.text())
}
