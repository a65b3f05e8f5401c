//! Sessions: what a browser has in place of keys.

use fieldpost_rules::game::Score;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::actions::ClockPage;
use super::games::GameSummary;
use super::open::Open;
use super::roles::Role;
use super::seats::MySeat;

/// Starts a session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "by", rename_all = "kebab-case", deny_unknown_fields)]
pub enum StartSession {
    /// By an invitation: the seat is taken.
    Invitation {
        /// The invitation: `id.secret`.
        invitation: String,
        /// The name the player goes by: at most 60 characters.
        player: String,
        /// The time zone that the side's days count in: a name of the IANA database.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        zone: Option<String>,
        /// Public key of the player's device, with which they sign: Ed25519, 32 bytes in lower-case hex.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<String>,
        /// What its holder calls the device: at most 60 characters.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        device: Option<String>,
    },
    /// By a link that another device gave.
    Link {
        /// The link's secret: `id.secret`.
        link: String,
        /// As above.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        device: Option<String>,
    },
    /// By the key that is sent as `Authorization`.
    Key {
        /// As above.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        device: Option<String>,
    },
}

/// A session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Session {
    /// Its id: 16 hexadecimal digits, which open nothing.
    pub session: String,
    /// What its holder calls the device; may be empty.
    pub device: String,
    /// When it was started: RFC 3339, UTC.
    pub started_at: String,
    /// When it was last used, to the day: the same.
    pub used_at: String,
    /// Whether it is the one that asks.
    pub own: bool,
    /// After coming in: id of the key that it came in by; absent when a link brought several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entered: Option<String>,
    /// Those of its keys that the asker has too.
    pub keys: Vec<SessionKey>,
}

/// A key in a session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SessionKey {
    /// Its id, which requests name as `Fieldpost-Key`.
    pub id: String,
    /// Whose it is.
    #[serde(flatten)]
    pub holder: MySeat,
}

/// Sessions that hold a key of the asker's.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Sessions {
    /// The one used last first.
    pub sessions: Vec<Session>,
}

/// A seat that a key of a session opens, and its game.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SessionGame {
    /// Id of the key.
    pub key: String,
    /// The seat's id.
    pub seat: String,
    /// What its holder is.
    pub role: Open<Role>,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The holder's name.
    pub player: Option<String>,
    /// The game as the seat sees it.
    pub game: GameSummary,
    /// Its clock; null where it is played without one.
    pub clock: Option<ClockPage>,
    /// The points as they would be counted now, in the order of the sides.
    pub scores: Vec<Score>,
}

/// Every seat that the keys of a session open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SessionGames {
    /// Games that go on first, then those opened last.
    pub games: Vec<SessionGame>,
}

/// A link for another device.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct GivenLink {
    /// Its secret, shown this once: `id.secret`.
    pub link: String,
    /// Until when it works: RFC 3339, UTC.
    pub expires_at: String,
    /// The whole link.
    pub address: String,
    /// The same as a QR code: an SVG picture.
    pub qr: String,
}
