//! A game's record at hand: brought up to date from the server, or as it was last seen.

use std::path::PathBuf;

use jiff::Timestamp;

use crate::failure::{Failure, Outcome};
use crate::keep::record::{self, Record};
use crate::keep::signing::SigningKey;
use crate::meant::Meant;
use crate::office::Office;
use crate::out::Out;
use crate::typed::Common;

/// A record, and where it is kept.
#[derive(Debug)]
pub struct Story {
    /// The record.
    pub record: Record,
    /// The folder that the game is kept in.
    pub folder: PathBuf,
    /// The folder of what the seat keeps of it for itself.
    pub own_folder: PathBuf,
    /// For whom and where.
    pub meant: Meant,
    /// The server.
    pub office: Office,
}

/// Whether the server is asked first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    /// Always.
    Server,
    /// Never.
    Nobody,
    /// Only when nothing is kept here yet.
    IfNothingKept,
}

impl Ask {
    /// For a command that asks, but for `--offline`.
    #[must_use]
    pub fn unless(offline: bool) -> Self {
        if offline { Self::Nobody } else { Self::Server }
    }

    /// For a command that does with what is kept, but for `--fresh`.
    #[must_use]
    pub fn only_if(fresh: bool) -> Self {
        if fresh {
            Self::Server
        } else {
            Self::IfNothingKept
        }
    }
}

impl Story {
    /// The record of the game that is meant.
    ///
    /// # Errors
    /// When it can neither be asked for nor is kept here.
    pub fn at_hand(common: &Common, ask: Ask, out: Out) -> Outcome<Self> {
        let meant = Meant::by(common)?;
        let office = meant.office(out)?;
        let folder = meant.game_folder(&office)?;
        let kept = match ask {
            Ask::Server => None,
            Ask::Nobody | Ask::IfNothingKept => Record::kept(&folder)?,
        };
        let record = match (kept, ask) {
            (Some(record), _) => record,
            (None, Ask::Nobody) => {
                return Err(Failure::Plain(
                    "nothing of this game is kept here yet; ask the server once: fieldpost news"
                        .to_owned(),
                ));
            }
            (None, _) => record::refresh(&office, meant.game()?, &folder)?,
        };
        let mut story = Self {
            record,
            own_folder: meant.seat_folder(&folder),
            folder,
            meant,
            office,
        };
        story.note_own_key()?;
        story.check_own_key()?;
        Ok(story)
    }

    /// Notes that the record has come to have this machine's key: from then on it must.
    fn note_own_key(&mut self) -> Outcome {
        let Some((name, seat)) = self.meant.seat.clone() else {
            return Ok(());
        };
        let (Some(key), true) = (&seat.signing_key, seat.key_awaited) else {
            return Ok(());
        };
        let key = SigningKey::from_hex(key)?.public();
        let (record_state, now) = (self.record.fold()?.record_state, Timestamp::now());
        let is_known = |seat: &str| record_state.keys(seat, now).contains(&key.as_str());
        if !record_state.seats().any(is_known) {
            return Ok(());
        }
        let acted_for = self.meant.seat.iter_mut().map(|(_, seat)| seat);
        let kept = self.meant.book.seat.get_mut(&name);
        for seat in acted_for.chain(kept) {
            seat.key_awaited = false;
        }
        self.meant.book.write(&self.meant.places.seats_file())
    }

    /// Brings it up to date.
    ///
    /// # Errors
    /// As [`record::refresh`].
    pub fn refresh(&mut self) -> Outcome {
        self.record = record::refresh(&self.office, self.meant.game()?, &self.folder)?;
        self.note_own_key()?;
        self.check_own_key()
    }

    /// The side that the seat plays, if it is a player's.
    #[must_use]
    pub fn own_side(&self) -> Option<&str> {
        self.meant.seat.as_ref()?.1.side.as_deref()
    }
}
