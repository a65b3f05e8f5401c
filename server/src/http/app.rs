//! What all handlers share.

use std::ops::Deref;
use std::sync::Arc;
use std::time::Duration;

use axum::http::header;
use tokio::sync::{Semaphore, watch};

use crate::held::HeldBytes;
use crate::metrics::Metrics;
use crate::rate_limits::RateLimits;
use crate::service::Service;

use super::description::Description;
use super::page_address::PageAddress;

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
pub(crate) struct App {
    shared: Arc<Shared>,
    /// The routes, described.
    pub(super) description: Description,
}

impl App {
    pub(super) fn new(shared: Shared, description: Description) -> Self {
        Self {
            shared: Arc::new(shared),
            description,
        }
    }
}

impl Deref for App {
    type Target = Shared;

    fn deref(&self) -> &Shared {
        &self.shared
    }
}

/// What all handlers share.
pub(crate) struct Shared {
    pub(crate) service: Arc<Service>,
    pub(crate) limits: Limits,
    pub(crate) rate_limits: Arc<RateLimits>,
    pub(crate) metrics: Arc<Metrics>,
    /// Bytes of bodies and answers.
    pub(crate) held: Arc<HeldBytes>,
    /// A place for each stream of events.
    pub(crate) watchers: Arc<Semaphore>,
    /// Where browsers find the page.
    pub(crate) page: PageAddress,
    /// Becomes true when the server is told to stop.
    pub(crate) closing: watch::Receiver<bool>,
}

/// A game's `ETag`.
pub(super) fn etag(hash: &str) -> [(header::HeaderName, String); 1] {
    [(header::ETAG, format!("\"{hash}\""))]
}
