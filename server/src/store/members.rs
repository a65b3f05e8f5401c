//! Members of the club: those who have a key of their own, whichever seats they take.

use async_trait::async_trait;

use super::{Authority, MemberId, StoreResult, StoredKey};

pub use fieldpost_wire::MemberRole;

/// A member of the club.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// Their id.
    pub id: MemberId,
    /// The name they go by.
    pub name: String,
    /// What they may do.
    pub role: MemberRole,
    /// RFC 3339, UTC.
    pub joined_at: String,
    /// When they were removed: RFC 3339, UTC.
    pub left_at: Option<String>,
}

/// Members and their keys.
#[async_trait]
pub trait Members {
    /// Every member who has not left, by name.
    async fn members(&self) -> StoreResult<Vec<Member>>;

    /// A member by their id, also one who has left.
    async fn member(&self, id: MemberId) -> StoreResult<Option<Member>>;

    /// Adds a member with their first key.
    async fn add_member(&self, by: &Authority, member: &Member, key: &StoredKey)
    -> StoreResult<()>;

    /// Gives a member another name and role.
    /// [`super::StoreError::LastOrganiser`] when nobody would be left to organise.
    async fn change_member(
        &self,
        by: &Authority,
        id: MemberId,
        name: &str,
        role: MemberRole,
    ) -> StoreResult<()>;

    /// Revokes every key of a member and gives them another. What is sealed for their seats by then is not open to
    /// its holder, who may be somebody else.
    async fn rekey_member(&self, by: &Authority, key: &StoredKey) -> StoreResult<()>;

    /// Removes a member: their own keys and those of their seats open nothing from then on, and no notices go
    /// to those seats' addresses. The moment is given twice: RFC 3339, UTC, and milliseconds since 1970.
    /// [`super::StoreError::LastOrganiser`] when nobody would be left to organise.
    async fn remove_member(
        &self,
        by: &Authority,
        id: MemberId,
        at: &str,
        at_ms: i64,
    ) -> StoreResult<()>;
}
