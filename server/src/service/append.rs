//! Events on their way into a record: what the game is after them, when its clock wakes, and the loop that decides anew
//! whenever somebody else was first.

use fieldpost_rules::dice::{self, Bytes32};
use fieldpost_rules::game::{Event, OpenedInstructions};
use fieldpost_rules::record::{self, Posted};
use fieldpost_rules::referee::{self, Closing};
use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Append, Authority, Change, GameId, Head, StoreError};

use super::act::Act;
use super::cache::FoldedGame;
use super::entries::{open_instructions, to_be_stored};
use super::news::news_item;
use super::{ATTEMPTS_MAX, Service, ServiceError, ServiceResult, moment, notices};

/// Entries ready to be appended, the game after them, and their news.
pub(super) struct PreparedAppend {
    pub(super) append: Append,
    pub(super) after: FoldedGame,
    pub(super) news: Vec<wire::NewsItem>,
}

/// Events that follow what is folded, appended on somebody's word at that moment, with the posting that asks for them, and
/// what changes with them.
pub(super) fn prepare(
    (game, by): (GameId, Authority),
    posted: Option<Posted>,
    folded: &FoldedGame,
    at: Timestamp,
    events: Vec<Event>,
    mut changes: Vec<Change>,
) -> ServiceResult<PreparedAppend> {
    if events.is_empty() {
        return Err(ServiceError::damaged("nothing to append"));
    }
    let mut after = folded.clone();
    let at = at.max(folded.at);
    let when = at.to_string();
    let head = (folded.head.number, folded.head.hash);
    let mut news = Vec::with_capacity(events.len());
    let mut entries = Vec::with_capacity(events.len());
    let mut happened = Vec::with_capacity(events.len());
    for sealed in record::seal_posted(head, &when, events, posted)? {
        let (stored, entry) = to_be_stored(sealed, after.head.hash);
        let item = news_item(&after.game, stored.number, &when, &entry.event);
        after.push_news(item.clone());
        news.push(item);
        let head = Head {
            number: stored.number,
            hash: stored.hash,
        };
        after.apply(&entry, head, at);
        entries.push(stored);
        happened.push(entry.event);
    }
    changes.extend(notices::due(folded, &happened, &after, at));
    if after.clock.rules().is_some() {
        let wakes_at = after.clock.wake_at(at).map(Timestamp::as_second);
        changes.push(Change::WakeAt(wakes_at));
    }
    Ok(PreparedAppend {
        append: Append {
            game,
            by,
            after: folded.head,
            entries,
            moment: moment(&after.game)?,
            changes,
        },
        after,
        news,
    })
}

/// What an action besides a sheet is decided on: the game at its head, and all that the decision may need.
pub(super) struct Situation<'a> {
    pub(super) game: GameId,
    pub(super) folded: &'a FoldedGame,
    pub(super) at: Timestamp,
    pub(super) secret: Option<Bytes32>,
    pub(super) sealed: &'a [OpenedInstructions],
}

/// Events to append, and what changes with them. No events: nothing is to be done.
pub(super) type Decision = (Vec<Event>, Vec<Change>);

impl Situation<'_> {
    /// The player turn passes.
    pub(super) fn pass(&self, why: &str) -> ServiceResult<Decision> {
        let used = self.folded.game.player_turn();
        let secret = self.secret.ok_or(StoreError::Overtaken)?;
        let next = random_bytes();
        let closing = Closing {
            attempt: Some(self.folded.posting_state.attempt()),
            secret,
            number: [0; 32],
            next_commitment: dice::commitment(&self.game.0, used + 1, dice::FIRST_ATTEMPT, &next),
            sealed: self.sealed,
        };
        let events = referee::pass(&self.folded.game, why, &closing);
        Ok((events, vec![Change::NextSecret { used, next }]))
    }

    /// Refuses an action once the game is over.
    pub(super) fn must_go_on(&self) -> ServiceResult<()> {
        match self.folded.game.ending() {
            Some(_) => Err(ServiceError::GameOver),
            None => Ok(()),
        }
    }
}

impl Service {
    /// Appends for an act what `decide` makes of a game at its head, deciding anew whenever somebody else was
    /// first; the game before and after.
    pub(super) async fn append_decided(
        &self,
        game: GameId,
        act: &Act<'_>,
        decide: impl Fn(&Situation<'_>) -> ServiceResult<Decision>,
    ) -> ServiceResult<(FoldedGame, FoldedGame)> {
        for _ in 0..ATTEMPTS_MAX {
            let folded = self.cache.folded(game).await?;
            let turn = folded.game.player_turn();
            let secret = self.store.secret(game, turn).await?;
            let sealed = open_instructions(&self.store.sealed(game).await?)?;
            let at = self.now();
            let posted = act.posted(game, &folded, at)?;
            let decided = decide(&Situation {
                game,
                folded: &folded,
                at,
                secret,
                sealed: &sealed,
            });
            let (events, changes) = match decided {
                Err(ServiceError::Store(StoreError::Overtaken)) => continue,
                decided => decided?,
            };
            if events.is_empty() {
                return Ok((folded.clone(), folded));
            }
            let prepared = prepare((game, act.by.clone()), posted, &folded, at, events, changes)?;
            match self.store.append(&prepared.append).await {
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => {
                    self.cache.put(game, prepared.after.clone());
                    return Ok((folded, prepared.after));
                }
            }
        }
        Err(ServiceError::Busy)
    }
}
