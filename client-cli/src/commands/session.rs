//! A game's record at hand: brought up to date from the server, or as it was last seen.

use std::path::PathBuf;

use jiff::Timestamp;

use crate::api::ApiClient;
use crate::arguments::CommonArgs;
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::signing::SigningKey;
use crate::storage::record::{self, Record};

/// A record, and where it is kept.
#[derive(Debug)]
pub struct GameSession {
    /// The record.
    pub record: Record,
    /// The folder that the game is kept in.
    pub folder: PathBuf,
    /// The folder of what the seat keeps of it for itself.
    pub own_folder: PathBuf,
    /// For whom and where.
    pub context: Context,
    /// The server.
    pub client: ApiClient,
}

/// Whether the server is asked first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refresh {
    /// Always.
    Always,
    /// Never.
    Never,
    /// Only when nothing is kept here yet.
    IfMissing,
}

impl Refresh {
    /// For a command that asks, but for `--offline`.
    #[must_use]
    pub fn unless_offline(offline: bool) -> Self {
        if offline { Self::Never } else { Self::Always }
    }

    /// For a command that does with what is kept, but for `--fresh`.
    #[must_use]
    pub fn if_fresh(fresh: bool) -> Self {
        if fresh { Self::Always } else { Self::IfMissing }
    }
}

impl GameSession {
    /// The record of the game that is meant.
    ///
    /// # Errors
    /// When it can neither be asked for nor is kept here.
    pub fn open(common: &CommonArgs, refresh: Refresh, output: Output) -> CliResult<Self> {
        let context = Context::load(common)?;
        let client = context.connect(output)?;
        let folder = context.game_folder(&client)?;
        let kept = match refresh {
            Refresh::Always => None,
            Refresh::Never | Refresh::IfMissing => Record::stored(&folder)?,
        };
        let record = match (kept, refresh) {
            (Some(record), _) => record,
            (None, Refresh::Never) => {
                return Err(CliError::Other(
                    "nothing of this game is kept here yet; ask the server once: fieldpost news"
                        .to_owned(),
                ));
            }
            (None, _) => record::refresh(&client, context.game()?, &folder)?,
        };
        let mut session = Self {
            record,
            own_folder: context.seat_folder(&folder),
            folder,
            context,
            client,
        };
        session.note_own_key()?;
        session.check_own_key()?;
        Ok(session)
    }

    /// Notes that the record has come to have this machine's key: from then on it must.
    fn note_own_key(&mut self) -> CliResult {
        let Some((name, seat)) = self.context.seat.clone() else {
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
        let acted_for = self.context.seat.iter_mut().map(|(_, seat)| seat);
        let kept = self.context.seats.by_name.get_mut(&name);
        for seat in acted_for.chain(kept) {
            seat.key_awaited = false;
        }
        self.context.seats.write(&self.context.folders.seats_file())
    }

    /// Brings it up to date.
    ///
    /// # Errors
    /// As [`record::refresh`].
    pub fn refresh(&mut self) -> CliResult {
        self.record = record::refresh(&self.client, self.context.game()?, &self.folder)?;
        self.note_own_key()?;
        self.check_own_key()
    }

    /// The side that the seat plays, if it is a player's.
    #[must_use]
    pub fn own_side(&self) -> Option<&str> {
        self.context.seat.as_ref()?.1.side.as_deref()
    }
}
