//! Words of answers that a later version may add to.

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Serialize};

/// One of the words that this version knows, or another: a client that meets a word of a newer server shows it as it
/// came, and does not fail over it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Open<T> {
    /// A word of this version.
    Known(T),
    /// A word of another version.
    Unknown(String),
}

impl<T> Open<T> {
    /// The word, if this version knows it.
    #[must_use]
    pub fn known(&self) -> Option<&T> {
        match self {
            Self::Known(word) => Some(word),
            Self::Unknown(_) => None,
        }
    }
}

impl<T> From<T> for Open<T> {
    fn from(word: T) -> Self {
        Self::Known(word)
    }
}

impl<T: PartialEq> PartialEq<T> for Open<T> {
    fn eq(&self, other: &T) -> bool {
        self.known() == Some(other)
    }
}

impl<T: fmt::Display> fmt::Display for Open<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Known(word) => word.fmt(f),
            Self::Unknown(word) => word.fmt(f),
        }
    }
}

/// The schema is that of the words known: it says what this version sends.
impl<T: JsonSchema> JsonSchema for Open<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{MemberRole, Role, SeatSummary};

    #[test]
    fn a_word_of_a_newer_server_is_read_and_shown_as_it_came() {
        let seat: SeatSummary =
            serde_json::from_str(r#"{"seat":"s","role":"herald","player":null,"new":1}"#)
                .expect("an answer");
        assert_eq!(seat.role.to_string(), "herald");
        assert_eq!(seat.role.known(), None);
        let written = serde_json::to_string(&seat).expect("JSON");
        assert_eq!(written, r#"{"seat":"s","role":"herald","player":null}"#);
    }

    #[test]
    fn a_known_word_is_itself() {
        let role: Open<Role> = serde_json::from_str("\"umpire\"").expect("a role");
        assert_eq!(role, Role::Umpire);
        assert_eq!(role.to_string(), "umpire");
        assert!(serde_json::from_str::<MemberRole>("\"herald\"").is_err());
    }
}
