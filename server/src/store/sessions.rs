//! Sessions of browsers: which keys each holds; only hashes of their cookies are kept.

use async_trait::async_trait;

use super::{Authority, Member, Seat, StoreResult, StoredKey};

/// A session, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredSession {
    /// The public part of its cookie.
    pub id: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// What its holder calls the device.
    pub device: String,
    /// When it was started: milliseconds since 1970.
    pub started_at: i64,
    /// When it was last used, to the day: the same.
    pub used_at: i64,
}

/// A key that a session holds, with whom it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldKey {
    /// The key, which is not revoked.
    pub key: StoredKey,
    /// The member whose key it is.
    pub member: Option<Member>,
    /// The seat whose key it is.
    pub seat: Option<Seat>,
}

/// A session and the keys in it that still open something.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionRows {
    /// The session.
    pub session: StoredSession,
    /// Its keys, by their ids.
    pub keys: Vec<HeldKey>,
}

/// A link for another device, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceLink {
    /// Its public part.
    pub id: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// The session whose keys it gives.
    pub session: String,
    /// Until when it works: milliseconds since 1970.
    pub expires_at: i64,
}

/// A session that starts, with all that changes by that.
#[derive(Debug, Clone)]
pub struct StartSession {
    /// On whose word: that of the key it holds, or the server's when a link speaks for itself.
    pub by: Authority,
    /// The session.
    pub session: StoredSession,
    /// A key that it holds.
    pub key: Option<String>,
    /// A session whose keys go over into it, and which ends.
    pub in_place_of: Option<String>,
    /// A link that is spent: the keys of its session are in this one too.
    pub link: Option<String>,
    /// Sessions that were last used before then have ended: milliseconds since 1970.
    pub idle_since: i64,
}

/// Sessions of browsers.
#[async_trait]
pub trait Sessions {
    /// A session by its id.
    async fn session(&self, id: &str) -> StoreResult<Option<SessionRows>>;

    /// Every session that holds one of some keys, the one used last first.
    async fn sessions_with(&self, keys: &[String]) -> StoreResult<Vec<SessionRows>>;

    /// Starts a session. [`super::StoreError::Overtaken`] when its link has been spent, or it would hold no key.
    async fn start_session(&self, start: &StartSession) -> StoreResult<()>;

    /// Notes that a session is used.
    async fn use_session(&self, id: &str, at: i64) -> StoreResult<()>;

    /// Takes some keys out of a session, or of every session that holds them; one that is left without ends.
    async fn take_from_sessions(&self, keys: &[String], session: Option<&str>) -> StoreResult<()>;

    /// Ends a session.
    async fn end_session(&self, id: &str) -> StoreResult<()>;

    /// Gives a link to a session's keys; earlier ones to the same are void. Overtaken when the session has ended.
    async fn add_device_link(&self, link: &DeviceLink) -> StoreResult<()>;

    /// A link by its id.
    async fn device_link(&self, id: &str) -> StoreResult<Option<DeviceLink>>;
}
