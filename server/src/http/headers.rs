//! Headers: which are ours, and that none is given twice.

use axum::http::{HeaderMap, HeaderName, HeaderValue};

use super::error::{ApiError, ApiResult};

/// Names a key of a session by its id.
pub(super) const FIELDPOST_KEY: HeaderName = HeaderName::from_static("fieldpost-key");

/// By what answers may differ.
pub(super) const VARY: &str = "Authorization, Cookie, Fieldpost-Key";

/// A header that may be given once. Of two, this server and a proxy before it might each believe another.
pub(super) fn single<'h>(
    headers: &'h HeaderMap,
    name: &HeaderName,
) -> ApiResult<Option<&'h HeaderValue>> {
    let mut values = headers.get_all(name).iter();
    let value = values.next();
    match values.next() {
        None => Ok(value),
        Some(_) => Err(ApiError::BadRequest(format!(
            "The header {name} is given more than once."
        ))),
    }
}
