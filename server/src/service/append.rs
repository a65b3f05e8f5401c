//! Events on their way into a record: what the game is after them, when its clock wakes, and the loop that decides anew
//! whenever somebody else was first.

use fieldpost_rules::dice::{self, Bytes32};
use fieldpost_rules::game::{Event, OpenedInstructions};
use fieldpost_rules::record::{self, Posted, Sealed};
use fieldpost_rules::referee::{self, Closing};
use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Append, Authority, Change, GameId, StoreError};

use super::act::Act;
use super::cache::FoldedGame;
use super::entries::{open_instructions, stored_entries};
use super::news::news_item;
use super::{ATTEMPTS_MAX, Service, ServiceError, ServiceResult, moment, notices};

/// Entries ready to be appended, the game after them, and their news.
pub(super) struct PreparedAppend {
    pub(super) append: Append,
    pub(super) after: FoldedGame,
    pub(super) news: Vec<wire::NewsItem>,
}

/// Events and the posting that brought them, if one did.
#[derive(Debug, Default)]
pub(super) struct PostedEvents {
    pub(super) events: Vec<Event>,
    pub(super) posted: Option<Posted>,
}

impl From<Vec<Event>> for PostedEvents {
    fn from(events: Vec<Event>) -> Self {
        let posted = None;
        Self { events, posted }
    }
}

/// Events that follow what is folded, appended on somebody's word at that moment or at that of the last entry if this machine's clock
/// is behind it, and what changes with them. Each must have the cause that whoever audits the record will look for.
pub(super) fn prepare(
    (game, by): (GameId, Authority),
    folded: &FoldedGame,
    at: Timestamp,
    posted_events: impl Into<PostedEvents>,
    mut changes: Vec<Change>,
) -> ServiceResult<PreparedAppend> {
    let PostedEvents { events, posted } = posted_events.into();
    folded.changes.must_stay_few(&events)?;
    let mut after = folded.clone();
    let at = folded
        .record_state
        .last_at()
        .map_or(at, |last| at.max(last));
    let when = at.to_string();
    let head = (folded.head.number, folded.head.hash);
    let sealed = record::seal_posted(head, &when, events, posted)?;
    let mut news = Vec::with_capacity(sealed.len());
    for Sealed { entry, hash, .. } in &sealed {
        let caused = after
            .record_state
            .may_follow(&after.game, &after.clock, entry);
        caused.map_err(
            |why| match entry.posted.as_ref().map(|posted| posted.verify(&game.0)) {
                Some(Err(fault)) => ServiceError::BadSignature {
                    why: fault.to_string(),
                },
                _ => ServiceError::NotNow(format!("This cannot be recorded: {why}.")),
            },
        )?;
        let item = news_item(&after.game, entry.number, &when, &entry.event);
        after.push_news(item.clone());
        news.push(item);
        after.apply(entry, *hash, at);
    }
    let events: Vec<&Event> = sealed.iter().map(|sealed| &sealed.entry.event).collect();
    changes.extend(notices::due(folded, &events, &after, at));
    let entries = stored_entries(folded.head.hash, sealed);
    if entries.is_empty() {
        return Err(ServiceError::damaged("nothing to append"));
    }
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
            attempt: self.folded.record_state.attempt(),
            secret,
            number: [0; 32],
            next_commitment: dice::commitment(&self.game.0, used + 1, dice::FIRST_ATTEMPT, &next),
            sealed: self.sealed,
        };
        let events = referee::pass(&self.folded.game, why, &closing);
        Ok((events, vec![Change::NextSecret { used, next }]))
    }

    /// Shows the secret of the player turn to come unused, and commits to another.
    pub(super) fn renew_secrets(&self, why: &str) -> ServiceResult<Decision> {
        let player_turn = self.folded.game.player_turn();
        let shown = self.secret.ok_or(StoreError::Overtaken)?;
        let attempt = self
            .folded
            .record_state
            .attempt()
            .unwrap_or(dice::FIRST_ATTEMPT)
            + 1;
        let secret = random_bytes();
        let commitment = dice::commitment(&self.game.0, player_turn, attempt, &secret);
        let event = Event::SecretsRenewed {
            player_turn,
            attempt,
            secret: hex::encode(shown),
            commitment: hex::encode(commitment),
            why: why.to_owned(),
        };
        let change = Change::RenewSecret {
            player_turn,
            secret,
        };
        Ok((vec![event], vec![change]))
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
    /// Appends for an act what `decide` makes of a game at its head, deciding anew whenever somebody else was first; the
    /// game before and after. A game whose throws are of the first form comes under the second before.
    pub(super) async fn append_decided(
        &self,
        game: GameId,
        act: &Act<'_>,
        decide: impl Fn(&Situation<'_>) -> ServiceResult<Decision>,
    ) -> ServiceResult<(FoldedGame, FoldedGame)> {
        let now = self.now();
        self.append_decided_at(game, act, now, decide).await
    }

    /// The same, decided at a moment and appended no earlier.
    pub(super) async fn append_decided_at(
        &self,
        game: GameId,
        act: &Act<'_>,
        at: Timestamp,
        decide: impl Fn(&Situation<'_>) -> ServiceResult<Decision>,
    ) -> ServiceResult<(FoldedGame, FoldedGame)> {
        self.come_under_second_form(game).await?;
        self.append_at_head(game, act, at, decide).await
    }

    /// Renews the secret of a game that was begun when throws were derived in another way.
    pub(super) async fn come_under_second_form(&self, game: GameId) -> ServiceResult<()> {
        let is_of_first_form = |folded: &FoldedGame| {
            folded.record_state.attempt().is_none() && folded.game.ending().is_none()
        };
        if !is_of_first_form(&self.cache.folded(game).await?) {
            return Ok(());
        }
        self.append_at_head(game, &Act::of_office(), self.now(), |situation| {
            if is_of_first_form(situation.folded) {
                situation.renew_secrets("throws are derived in another way from here on")
            } else {
                Ok((Vec::new(), Vec::new()))
            }
        })
        .await?;
        Ok(())
    }

    async fn append_at_head(
        &self,
        game: GameId,
        act: &Act<'_>,
        earliest: Timestamp,
        decide: impl Fn(&Situation<'_>) -> ServiceResult<Decision>,
    ) -> ServiceResult<(FoldedGame, FoldedGame)> {
        for _ in 0..ATTEMPTS_MAX {
            let folded = self.cache.folded(game).await?;
            let turn = folded.game.player_turn();
            let secret = self.store.secret(game, turn).await?;
            let sealed = open_instructions(&self.store.sealed(game).await?)?;
            let at = self.now().max(earliest);
            let posted = act.posted(&folded, at)?;
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
            let whose = (game, act.by.clone());
            let posted_events = PostedEvents { events, posted };
            let prepared = prepare(whose, &folded, at, posted_events, changes)?;
            match self.append(&prepared.append).await {
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
