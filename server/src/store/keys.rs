//! Keys of callers; only hashes are kept.

use async_trait::async_trait;

use super::Stored;

/// What a key opens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opens {
    /// Everything an organiser may do.
    Organiser,
    /// A seat, given for an invitation.
    Seat {
        /// The seat's id.
        seat: String,
        /// The invitation's id.
        invitation: String,
        /// The server's part in making the key again.
        salt: Vec<u8>,
    },
}

/// A key, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyCard {
    /// Its public part.
    pub id: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// What it opens.
    pub opens: Opens,
    /// When it was made: RFC 3339, UTC.
    pub made_at: String,
    /// From when on it opens nothing.
    pub revoked_at: Option<String>,
}

/// Keys of callers.
#[async_trait]
pub trait Keys {
    /// Adds an organiser's key if there is none yet; whether it did.
    async fn add_first_organiser(&self, key: &KeyCard) -> Stored<bool>;

    /// A key by its id.
    async fn key(&self, id: &str) -> Stored<Option<KeyCard>>;

    /// The key that was given for an invitation.
    async fn key_for_invitation(&self, invitation: &str) -> Stored<Option<KeyCard>>;
}
