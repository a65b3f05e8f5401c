//! Names that callers give their requests.

use crate::key::random_bytes;

/// What a caller names a request by, so that it can be sent again: 1 to 200 visible ASCII characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdempotencyKey(String);

impl IdempotencyKey {
    /// The key, if it is fit.
    #[must_use]
    pub fn new(text: &str) -> Option<Self> {
        let fits = (1..=200).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_graphic());
        fits.then(|| Self(text.to_owned()))
    }

    /// One that nobody knows.
    #[must_use]
    pub fn fresh() -> Self {
        Self(hex::encode(random_bytes::<32>()))
    }

    /// As the caller sent it.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}
