//! Events on their way into a record: what the game is after them, and when its clock wakes.

use fieldpost_rules::dice::{self, Bytes32};
use fieldpost_rules::game::{Event, OpenedInstructions};
use fieldpost_rules::referee::{self, Closing};
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Append, Change, GameId, Head, StoreError};
use fieldpost_wire as wire;

use super::opening::sealed;
use super::posting::opened;
use super::reading::news_item;
use super::{Failure, Folded, Office, Outcome, TRIES, moment, notices};

/// Entries ready to be appended, the game after them, and what they tell.
pub(super) struct Appending {
    pub(super) append: Append,
    pub(super) after: Folded,
    pub(super) news: Vec<wire::NewsItem>,
}

/// Events that follow what is folded, appended at that moment, and what changes with them.
pub(super) fn appending(
    game: GameId,
    folded: &Folded,
    at: Timestamp,
    events: Vec<Event>,
    mut changes: Vec<Change>,
) -> Outcome<Appending> {
    let mut after = folded.clone();
    let when = at.to_string();
    let mut news = Vec::with_capacity(events.len());
    for (number, event) in (folded.head.number + 1..).zip(&events) {
        let item = news_item(&after.game, number, &when, event);
        after.remember(item.clone());
        news.push(item);
        after.hear(event, at);
    }
    changes.extend(notices::due(folded, &events, &after, at));
    let entries = sealed((folded.head.number, folded.head.hash), &when, events)?;
    let last = entries
        .last()
        .ok_or_else(|| Failure::damaged("nothing to append"))?;
    after.head = Head {
        number: last.number,
        hash: last.hash,
    };
    if after.clock.rules().is_some() {
        let wakes_at = after.clock.wake_at(at).map(Timestamp::as_second);
        changes.push(Change::WakeAt(wakes_at));
    }
    Ok(Appending {
        append: Append {
            game,
            after: folded.head,
            entries,
            moment: moment(&after.game)?,
            changes,
        },
        after,
        news,
    })
}

/// A game as it stands now, with all that an act beside the sheets may need.
pub(super) struct Standing<'a> {
    pub(super) game: GameId,
    pub(super) folded: &'a Folded,
    pub(super) at: Timestamp,
    secret: Option<Bytes32>,
    pub(super) sealed: &'a [OpenedInstructions],
}

/// What an act makes of a game: events, and what changes with them. No events: nothing is to be done.
pub(super) type Acts = (Vec<Event>, Vec<Change>);

impl Standing<'_> {
    /// The player turn passes.
    pub(super) fn pass(&self, why: &str) -> Outcome<Acts> {
        let used = self.folded.game.player_turn();
        let secret = self.secret.ok_or(StoreError::Overtaken)?;
        let next = random_bytes();
        let closing = Closing {
            secret,
            number: [0; 32],
            next_commitment: dice::commitment(&self.game.0, used + 1, &next),
            sealed: self.sealed,
        };
        let events = referee::pass(&self.folded.game, why, &closing);
        Ok((events, vec![Change::NextSecret { used, next }]))
    }

    /// Nothing, while the game goes on.
    pub(super) fn must_go_on(&self) -> Outcome<()> {
        match self.folded.game.ending() {
            Some(_) => Err(Failure::GameOver),
            None => Ok(()),
        }
    }
}

impl Office {
    /// Appends what `decide` makes of a game as it stands, anew whenever somebody else was first. The game
    /// before and after.
    pub(super) async fn act(
        &self,
        game: GameId,
        decide: impl Fn(&Standing<'_>) -> Outcome<Acts>,
    ) -> Outcome<(Folded, Folded)> {
        for _ in 0..TRIES {
            let folded = self.desk.folded(game).await?;
            let turn = folded.game.player_turn();
            let secret = self.store.secret(game, turn).await?;
            let sealed = opened(&self.store.sealed(game).await?)?;
            let at = self.now();
            let decided = decide(&Standing {
                game,
                folded: &folded,
                at,
                secret,
                sealed: &sealed,
            });
            let (events, changes) = match decided {
                Err(Failure::Store(StoreError::Overtaken)) => continue,
                decided => decided?,
            };
            if events.is_empty() {
                return Ok((folded.clone(), folded));
            }
            let appending = appending(game, &folded, at, events, changes)?;
            match self.store.append(&appending.append).await {
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => {
                    self.desk.keep(game, appending.after.clone());
                    return Ok((folded, appending.after));
                }
            }
        }
        Err(Failure::Busy)
    }
}
