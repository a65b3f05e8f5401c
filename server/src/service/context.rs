//! The context of a request: who calls by which credentials, and the game they ask of as it was then.

use std::time::Instant;

use crate::key::Key;
use crate::store::{
    BeforePosting, ContextRows, GameId, MemberRole, Opens, PostingContextRows, StoredGame,
    StoredKey,
};

use super::{Caller, Holder, IdempotencyKey, Service, ServiceError, ServiceResult};

/// What a request says about its caller; nothing of it is checked yet.
#[derive(Debug, Clone, Default)]
pub struct Credentials {
    /// The key that was sent, if one was.
    pub key: Option<Key>,
}

impl From<Key> for Credentials {
    fn from(key: Key) -> Self {
        Self { key: Some(key) }
    }
}

impl Credentials {
    /// The key that was sent.
    pub(super) fn required_key(&self) -> ServiceResult<&Key> {
        self.key.as_ref().ok_or(ServiceError::NoKey)
    }
}

/// Who calls, and what was read with them in one statement.
#[derive(Debug, Clone)]
pub(super) struct RequestContext {
    pub(super) caller: Caller,
    /// The game, whether or not they may read it.
    stored_game: Option<StoredGame>,
    /// Who held which of its seats; empty for a posting.
    pub(super) seating: String,
}

impl RequestContext {
    /// The game, if the caller may read it.
    pub(super) fn readable_game(&self) -> ServiceResult<&StoredGame> {
        let game = self.stored_game.as_ref();
        game.filter(|game| self.caller.may_read(game))
            .ok_or(ServiceError::NoSuchGame)
    }

    /// The game, whether or not they may read it.
    pub(super) fn game(&self) -> Option<&StoredGame> {
        self.stored_game.as_ref()
    }
}

impl Service {
    /// Who calls, in regard to a game if one is asked of; the request counts for its key. A key that opens nothing is
    /// an error, so that nobody reads on as a spectator when they think they are a player.
    ///
    /// # Errors
    /// [`ServiceError::WrongKey`]; [`ServiceError::TooManyRequests`] of this key.
    pub async fn authenticate(
        &self,
        credentials: &Credentials,
        game: Option<GameId>,
    ) -> ServiceResult<Caller> {
        let caller = self.identify(credentials, game).await?;
        self.count_request(&caller)?;
        Ok(caller)
    }

    /// The same for a request that goes on, which has been counted.
    ///
    /// # Errors
    /// [`ServiceError::WrongKey`].
    pub async fn identify(
        &self,
        credentials: &Credentials,
        game: Option<GameId>,
    ) -> ServiceResult<Caller> {
        let Some(key) = &credentials.key else {
            return Ok(Caller::Nobody);
        };
        let rows = self.store.context_rows(Some(key.id()), game).await?;
        Ok(self.context_of(Some(key), game, rows).await?.caller)
    }

    /// Who calls and the game they ask of, read together.
    pub(super) async fn context(
        &self,
        credentials: &Credentials,
        game: GameId,
    ) -> ServiceResult<RequestContext> {
        let key = credentials.key.as_ref();
        let rows = self
            .store
            .context_rows(key.map(Key::id), Some(game))
            .await?;
        let context = self.context_of(key, Some(game), rows).await?;
        self.count_request(&context.caller)?;
        Ok(context)
    }

    /// The same, and what must be known before a posting of that name is played.
    pub(super) async fn posting_context(
        &self,
        credentials: &Credentials,
        game: GameId,
        name: &IdempotencyKey,
    ) -> ServiceResult<(RequestContext, BeforePosting)> {
        let key = credentials.required_key()?;
        let rows = self
            .store
            .posting_context_rows(key.id(), game, name.as_str());
        let PostingContextRows { rows, before } = rows.await?;
        let context = self.context_of(Some(key), Some(game), rows).await?;
        self.count_request(&context.caller)?;
        Ok((context, before))
    }

    /// Counts a request for its key. Only once the key is known to be good: whoever has but its id must not use up its
    /// holder's requests.
    fn count_request(&self, caller: &Caller) -> ServiceResult<()> {
        let Caller::Holder(holder) = caller else {
            return Ok(());
        };
        let counted = self.key_limiter.take(holder.key.clone(), Instant::now());
        counted.map_err(|wait| ServiceError::TooManyRequests { wait })
    }

    async fn context_of(
        &self,
        key: Option<&Key>,
        game: Option<GameId>,
        mut rows: ContextRows,
    ) -> ServiceResult<RequestContext> {
        let stored_game = rows.game.take();
        let seating = std::mem::take(&mut rows.seating);
        let caller = match key {
            None => Caller::Nobody,
            Some(key) => {
                let stored_key = rows.key.take();
                let is_good = |stored: &StoredKey| {
                    key.matches(&stored.secret_hash) && stored.revoked_at.is_none()
                };
                let stored_key = stored_key.filter(is_good).ok_or(ServiceError::WrongKey)?;
                Caller::Holder(Box::new(self.holder(stored_key, rows, game).await?))
            }
        };
        Ok(RequestContext {
            caller,
            stored_game,
            seating,
        })
    }

    /// Whoever holds a key that is known to be good, of what was read with it.
    pub(super) async fn holder(
        &self,
        stored_key: StoredKey,
        rows: ContextRows,
        game: Option<GameId>,
    ) -> ServiceResult<Holder> {
        let mut holder = Holder {
            key: stored_key.id,
            is_organiser: false,
            member: None,
            seat: None,
        };
        match stored_key.opens {
            Opens::Organiser => holder.is_organiser = true,
            Opens::Seat { .. } => holder.seat = Some(rows.seat.ok_or(ServiceError::WrongKey)?),
            Opens::Member { member: id } => {
                let member = rows.member.filter(|member| member.left_at.is_none());
                let member = member.ok_or(ServiceError::WrongKey)?;
                holder.is_organiser = member.role == MemberRole::Organiser;
                if let Some(game) = game {
                    holder.seat = self.store.seat_of(id, game).await?;
                }
                holder.member = Some(member);
            }
        }
        Ok(holder)
    }
}
