//! The player's own number for the dice: one for each attempt at a player turn, saved through every answer and every
//! lost one. Whoever sent another number for the same dice would let a host choose between two throws.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::files;
use crate::error::{CliError, CliResult};
use crate::random::random;

/// A number and what it is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DiceNumber {
    /// Number of the player turn, from 1.
    pub player_turn: u64,
    /// Attempt at it, from 1.
    pub attempt: u32,
    /// 32 bytes in hex.
    pub number: String,
    /// How many postings that showed it were turned away.
    pub turned_away: u32,
}

fn path(seat_folder: &Path) -> PathBuf {
    seat_folder.join("number.json")
}

impl DiceNumber {
    /// The number for an attempt at a player turn: the one kept, or a new one, which is kept before it is used.
    ///
    /// # Errors
    /// When its file is spoilt or cannot be written.
    pub fn of(seat_folder: &Path, player_turn: u64, attempt: u32) -> CliResult<Self> {
        let path = path(seat_folder);
        if let Some(text) = files::read_if_there(&path)? {
            let kept: Self = serde_json::from_str(&text).map_err(|error| {
                CliError::Other(format!(
                    "{} is spoilt ({error}); remove it, and a new number is drawn for the dice",
                    path.display()
                ))
            })?;
            if (kept.player_turn, kept.attempt) == (player_turn, attempt) {
                return Ok(kept);
            }
        }
        let new = Self {
            player_turn,
            attempt,
            number: hex::encode(random::<32>()?),
            turned_away: 0,
        };
        new.save(seat_folder)?;
        Ok(new)
    }

    /// Notes that a posting which showed it was turned away.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn note_turned_away(&mut self, seat_folder: &Path) -> CliResult {
        self.turned_away += 1;
        self.save(seat_folder)
    }

    /// That it was shown before, for whoever posts; nothing when it was not.
    #[must_use]
    pub fn shown_before(&self) -> Option<String> {
        let times = match self.turned_away {
            0 => return None,
            1 => "once".to_owned(),
            times => format!("{times} times"),
        };
        Some(format!(
            "your number for these dice was shown to the server {times} before, and the posting turned away; the dice \
             depend on nothing else that could have been chosen since, but a host who turns postings away often may be \
             asked why"
        ))
    }

    fn save(&self, seat_folder: &Path) -> CliResult {
        let text = serde_json::to_string(self)
            .map_err(|error| CliError::Other(format!("cannot save the number: {error}")))?;
        files::write_private(&path(seat_folder), text.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stays_until_another_turn_or_attempt() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let of = |turn, attempt| DiceNumber::of(home.path(), turn, attempt).expect("kept");
        let mut first = of(3, 1);
        assert_eq!(first.shown_before(), None);
        first.note_turned_away(home.path()).expect("kept");
        assert_eq!(of(3, 1), first);
        assert!(first.shown_before().expect("shown").contains("once"));
        let renewed = of(3, 2);
        assert_ne!(renewed.number, first.number);
        assert_eq!(renewed.turned_away, 0);
        assert_ne!(of(4, 1).number, renewed.number);
    }
}
