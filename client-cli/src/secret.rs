//! Keys and invitations.

use std::fmt;

use crate::error::{CliError, CliResult};

/// A key or invitation. It is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// A secret out of text that a person or a file gave; blanks round it are dropped.
    ///
    /// # Errors
    /// When it is empty or could not travel in a header.
    pub fn new(text: &str) -> CliResult<Self> {
        let text = text.trim();
        let fits = (1..=400).contains(&text.len()) && text.chars().all(|c| c.is_ascii_graphic());
        if fits && text.contains('.') {
            return Ok(Self(text.to_owned()));
        }
        Err(CliError::Usage(
            "that is no key or invitation: one looks like abcd.efgh, letters and digits with a point between"
                .to_owned(),
        ))
    }

    /// The secret itself, to be sent or stored.
    #[must_use]
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_never_shown() {
        let secret = Secret::new(" ab.cd\n").unwrap();
        assert_eq!(secret.reveal(), "ab.cd");
        assert!(!format!("{secret:?}").contains("cd"));
        assert!(Secret::new("no point").is_err());
    }
}
