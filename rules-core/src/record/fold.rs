//! A record folded: the table, the clock and all else that the next entry is held against.

use crate::clock::Clock;
use crate::dice::Bytes32;
use crate::game::Game;

use super::{CauseFault, Entry, RecordState, ReplayFault, clock_of, open};

/// A record as far as it was read.
#[derive(Debug, Clone)]
pub struct Fold {
    /// The table.
    pub game: Game,
    /// How long each side may think.
    pub clock: Clock,
    /// Who may post with which keys, what is stale, what is committed to.
    pub record_state: RecordState,
}

impl Fold {
    /// A record's first entry, with its hash.
    ///
    /// # Errors
    /// When it opens no game that this program can play.
    pub fn open(entry: &Entry, hash: Bytes32) -> Result<Self, ReplayFault> {
        let game = open(&entry.event)?;
        Ok(Self {
            clock: clock_of(&game),
            game,
            record_state: RecordState::open(entry, hash).ok_or(ReplayFault::NotOpened)?,
        })
    }

    /// All entries of a record, each with its hash, as they stand.
    ///
    /// # Errors
    /// As [`Self::open`].
    pub fn of<'a>(
        entries: impl IntoIterator<Item = (&'a Entry, Bytes32)>,
    ) -> Result<Self, ReplayFault> {
        let mut entries = entries.into_iter();
        let (first, hash) = entries.next().ok_or(ReplayFault::NotOpened)?;
        let mut fold = Self::open(first, hash)?;
        entries.for_each(|(entry, hash)| fold.apply(entry, hash));
        Ok(fold)
    }

    /// Whether an entry may follow.
    ///
    /// # Errors
    /// What it lacks.
    pub fn may_follow(&self, entry: &Entry) -> Result<(), CauseFault> {
        self.record_state.may_follow(&self.game, &self.clock, entry)
    }

    /// Applies the next entry.
    pub fn apply(&mut self, entry: &Entry, hash: Bytes32) {
        self.game.apply(&entry.event);
        if let Ok(at) = entry.at.parse() {
            let to_move = self.game.ending().is_none();
            let to_move = to_move.then(|| self.game.player_side().0);
            self.clock.apply(&entry.event, at, to_move.as_deref());
        }
        self.record_state
            .apply((&self.game, &self.clock), entry, hash);
    }
}
