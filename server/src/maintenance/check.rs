//! Whether what is kept hangs together: the database's own files, and the chain of every record.

use fieldpost_rules::record;

use crate::store::{GameId, Head, Readers, Store, StoreError, StoreResult, StoredGame};

/// Games and entries read at a time.
const PAGE: u32 = 500;

/// What was looked at and found good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Checked {
    /// How many games.
    pub games: u64,
    /// How many entries their records have.
    pub entries: u64,
}

/// Checks the database's files and that every game's entries are numbered from 1, each hashed over its own
/// bytes and tied to the one before, and that the last is the game's head.
/// (Dice and verdicts are checked by the client's `audit`.)
///
/// # Errors
/// [`StoreError::Damaged`] with the first thing that is wrong.
pub async fn check(store: &dyn Store) -> StoreResult<Checked> {
    store.verify().await?;
    let mut checked = Checked::default();
    let mut after: Option<GameId> = None;
    loop {
        let games = store.games(Readers::All, after, PAGE).await?;
        let Some(last) = games.last() else {
            return Ok(checked);
        };
        after = Some(last.id);
        for stored_game in &games {
            checked.entries += chain(store, stored_game).await?;
            checked.games += 1;
        }
    }
}

/// Checks one record; how many entries it has.
async fn chain(store: &dyn Store, stored_game: &StoredGame) -> StoreResult<u64> {
    let mut head = Head {
        number: 0,
        hash: record::BEFORE_THE_FIRST,
    };
    loop {
        let entries = store.entries(stored_game.id, head.number, PAGE).await?;
        if entries.is_empty() {
            break;
        }
        for entry in &entries {
            let follows = entry.number == head.number + 1
                && entry.previous == head.hash
                && entry.hash == record::hash_of(entry.body.as_bytes());
            if !follows {
                return Err(broken(stored_game, entry.number));
            }
            head = Head {
                number: entry.number,
                hash: entry.hash,
            };
        }
    }
    // A game that is being played may have grown since it was read.
    if head != stored_game.head {
        let now = store.game(stored_game.id).await?;
        if now.is_none_or(|now| now.head != head && now.head == stored_game.head) {
            return Err(broken(stored_game, head.number));
        }
    }
    Ok(head.number)
}

fn broken(stored_game: &StoredGame, number: u64) -> StoreError {
    StoreError::Damaged(format!(
        "game {}: the chain is broken at entry {number}",
        stored_game.id
    ))
}
