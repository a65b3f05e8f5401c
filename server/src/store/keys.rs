//! Keys of callers; only hashes are kept.

use async_trait::async_trait;

use super::{MemberId, StoreResult};

/// What a key opens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opens {
    /// Everything an organiser may do.
    Organiser,
    /// A seat.
    Seat {
        /// The seat's id.
        seat: String,
    },
    /// What a member may do, and the seats they took.
    Member {
        /// The member's id.
        member: MemberId,
    },
}

/// What a key was made from. The salt is the server's part in making it again, so that an answer that
/// was lost can be repeated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// Nothing: it is random.
    Afresh,
    /// An invitation.
    Invitation {
        /// The invitation's id.
        invitation: String,
        /// The server's part.
        salt: Vec<u8>,
    },
    /// The key whose place it took.
    Renewal {
        /// That key's id.
        renews: String,
        /// The server's part.
        salt: Vec<u8>,
    },
}

/// A key, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredKey {
    /// Its public part.
    pub id: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// What it opens.
    pub opens: Opens,
    /// What it was made from.
    pub origin: Origin,
    /// When it was made: RFC 3339, UTC.
    pub made_at: String,
    /// From when on it opens nothing.
    pub revoked_at: Option<String>,
}

/// Keys of callers.
#[async_trait]
pub trait Keys {
    /// Adds an organiser's key if there is none yet; whether it did.
    async fn add_first_organiser(&self, key: &StoredKey) -> StoreResult<bool>;

    /// A key by its id.
    async fn key(&self, id: &str) -> StoreResult<Option<StoredKey>>;

    /// The key that was given for an invitation.
    async fn key_for_invitation(&self, invitation: &str) -> StoreResult<Option<StoredKey>>;

    /// The key that took the place of another.
    async fn key_renewing(&self, renewed: &str) -> StoreResult<Option<StoredKey>>;

    /// Puts a key in the place of the one that it renews, which opens nothing from then on.
    async fn renew_key(&self, key: &StoredKey) -> StoreResult<()>;

    /// Revokes a key. [`super::StoreError::LastOrganiser`] when nobody would be left to organise.
    async fn revoke_key(&self, id: &str, at: &str) -> StoreResult<()>;
}
