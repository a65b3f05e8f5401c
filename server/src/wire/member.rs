//! Members of the club, and keys.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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

/// Adds a member.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddMember {
    /// The name they go by.
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
pub struct MemberCard {
    /// Their id.
    pub id: String,
    /// The name they go by.
    pub name: String,
    /// What they may do.
    pub role: MemberRole,
    /// Since when: RFC 3339, UTC.
    pub joined_at: String,
}

/// The members of the club.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Members {
    /// By name.
    pub members: Vec<MemberCard>,
}

/// A member with a fresh key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct AddedMember {
    /// The member.
    pub member: MemberCard,
    /// Their key: `id.secret`, given this once.
    pub key: String,
}

/// A fresh key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FreshKey {
    /// The key: `id.secret`, given this once.
    pub key: String,
}
