//! Members of the club, and keys.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Channel, Open};

/// What a member may do beside playing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MemberRole {
    /// All that an organiser may.
    Organiser,
    /// Nothing more.
    #[default]
    Member,
}

impl MemberRole {
    /// The word on the wire and in the store.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Organiser => "organiser",
            Self::Member => "member",
        }
    }
}

impl fmt::Display for MemberRole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Adds a member.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddMember {
    /// The name they go by: at most 60 characters.
    pub name: String,
    /// What they may do.
    #[serde(default)]
    pub role: MemberRole,
}

/// Changes a member.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangeMember {
    /// The name they go by from now on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// What they may do from now on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<MemberRole>,
}

/// A member of the club.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct MemberSummary {
    /// The member's id: 16 hexadecimal digits.
    pub id: String,
    /// The name they go by.
    pub name: String,
    /// What they may do.
    pub role: Open<MemberRole>,
    /// Since when: RFC 3339, UTC.
    pub joined_at: String,
}

/// The members of the club.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Members {
    /// By name.
    pub members: Vec<MemberSummary>,
}

/// A member with a fresh key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct AddedMember {
    /// The member as they are now.
    pub member: MemberSummary,
    /// Their key: `id.secret`, given this once.
    pub key: String,
}

/// A fresh key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FreshKey {
    /// The key: `id.secret`, given this once.
    pub key: String,
    /// Where notices go that the key before it had set, or one before that: they go on. Whoever else had that key may have
    /// set one.
    #[serde(default)]
    pub addresses_set: Vec<AddressSet>,
}

/// A key that was revoked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct RevokedKey {
    /// Where notices go that the key, or one before it, had set: they go on until the seat is freed.
    #[serde(default)]
    pub addresses_set: Vec<AddressSet>,
}

/// An address that a key set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct AddressSet {
    /// The game whose notices go there.
    pub game: String,
    /// How they travel.
    pub way: Open<Channel>,
    /// An e-mail address or a URL.
    pub address: String,
    /// Since when: RFC 3339, UTC.
    pub since: String,
}
