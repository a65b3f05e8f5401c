//! The description of the routes as it is served.

use std::sync::Arc;

/// The description in both of its forms, made once.
#[derive(Debug, Clone)]
pub(super) struct Description {
    /// OpenAPI 3.1, JSON.
    pub(super) json: Arc<str>,
    /// A page of HTML.
    pub(super) page: Arc<str>,
}
