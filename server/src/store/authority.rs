//! On whose word something is written.

/// On whose word something is written. It is asked for again in the transaction that writes, for an append in the
/// very statement that moves the head: a key that ended since its request began changes nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Authority {
    /// The server's own word: time is out, a notice is due, an invitation or a link in a mail speaks for itself.
    Server,
    /// The word of a key's holder.
    Key {
        /// Id of the key, which must not be revoked, nor its member have left.
        key: String,
        /// What it must open besides.
        right: Right,
        /// Id of the session in which it was named, which must still hold it.
        session: Option<String>,
    },
}

/// What a key must open for something to be written on its holder's word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Right {
    /// Nothing in particular.
    Any,
    /// What an organiser may do.
    Organise,
    /// The seat with that id: as its own key, or as the key of the member who took it.
    Seat(String),
}

impl Authority {
    /// Id of the key, if it is a key's.
    #[must_use]
    pub fn key(&self) -> Option<&str> {
        match self {
            Self::Server => None,
            Self::Key { key, .. } => Some(key),
        }
    }

    /// Id of the session that must still hold the key, if it was named in one.
    #[must_use]
    pub fn session(&self) -> Option<&str> {
        match self {
            Self::Server => None,
            Self::Key { session, .. } => session.as_deref(),
        }
    }

    /// Whether the key must open what an organiser may do.
    #[must_use]
    pub fn organises(&self) -> bool {
        matches!(
            self,
            Self::Key {
                right: Right::Organise,
                ..
            }
        )
    }

    /// Id of the seat that the key must open.
    #[must_use]
    pub fn seat(&self) -> Option<&str> {
        match self {
            Self::Key {
                right: Right::Seat(seat),
                ..
            } => Some(seat),
            _ => None,
        }
    }
}
