//! The context of a request: who calls by which credentials, and the game they ask of as it was then.

use std::time::Instant;

use crate::key::Key;
use crate::store::{
    BeforePosting, ContextRows, GameId, MemberRole, Named, Opens, PostingContextRows, StoredGame,
    StoredKey,
};

use super::{Caller, Holder, IdempotencyKey, Service, ServiceError, ServiceResult};

/// What a request says about its caller; nothing of it is checked yet.
#[derive(Debug, Clone, Default)]
pub enum Credentials {
    /// Nothing.
    #[default]
    None,
    /// A key.
    Key(Key),
    /// A key that is named in a session.
    Session {
        /// What the session's cookie holds.
        cookie: Key,
        /// Id of the key.
        key: String,
    },
}

impl From<Key> for Credentials {
    fn from(key: Key) -> Self {
        Self::Key(key)
    }
}

impl Credentials {
    /// Whether they say nothing.
    #[must_use]
    pub fn is_none(&self) -> bool {
        matches!(self, Self::None)
    }

    /// The key itself, which no session shows.
    pub(super) fn required_key(&self) -> ServiceResult<&Key> {
        match self {
            Self::None => Err(ServiceError::NoKey),
            Self::Key(key) => Ok(key),
            Self::Session { .. } => Err(ServiceError::NotAllowed(
                "This needs the key itself, which a session does not hold.",
            )),
        }
    }

    /// The ids that are looked up.
    pub(super) fn named(&self) -> Named<'_> {
        match self {
            Self::None => Named::default(),
            Self::Key(key) => Named::key(key.id()),
            Self::Session { cookie, key } => Named {
                key: Some(key),
                session: Some(cookie.id()),
            },
        }
    }

    /// That they are not good.
    pub(super) fn wrong(&self) -> ServiceError {
        match self {
            Self::Session { .. } => ServiceError::WrongSession,
            Self::None | Self::Key(_) => ServiceError::WrongKey,
        }
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
        if credentials.is_none() {
            return Ok(Caller::Nobody);
        }
        let rows = self.store.context_rows(credentials.named(), game).await?;
        Ok(self.context_of(credentials, game, rows).await?.caller)
    }

    /// Who calls and the game they ask of, read together.
    pub(super) async fn context(
        &self,
        credentials: &Credentials,
        game: GameId,
    ) -> ServiceResult<RequestContext> {
        let rows = self
            .store
            .context_rows(credentials.named(), Some(game))
            .await?;
        let context = self.context_of(credentials, Some(game), rows).await?;
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
        if credentials.is_none() {
            return Err(ServiceError::NoKey);
        }
        let rows = self
            .store
            .posting_context_rows(credentials.named(), game, name.as_str());
        let PostingContextRows { rows, before } = rows.await?;
        let context = self.context_of(credentials, Some(game), rows).await?;
        self.count_request(&context.caller)?;
        Ok((context, before))
    }

    /// Counts a request for its key. Only once the key is known to be good: whoever has but its id must not use up its
    /// holder's requests.
    fn count_request(&self, caller: &Caller) -> ServiceResult<()> {
        let Caller::Holder(holder) = caller else {
            return Ok(());
        };
        self.count_for(&holder.key)
    }

    /// Counts a request for a key, or for a session that names none.
    pub(super) fn count_for(&self, id: &str) -> ServiceResult<()> {
        let counted = self.key_limiter.take(id.to_owned(), Instant::now());
        counted.map_err(|wait| ServiceError::TooManyRequests { wait })
    }

    async fn context_of(
        &self,
        credentials: &Credentials,
        game: Option<GameId>,
        mut rows: ContextRows,
    ) -> ServiceResult<RequestContext> {
        let stored_game = rows.game.take();
        let seating = std::mem::take(&mut rows.seating);
        let caller = match self.good_key(credentials, &mut rows).await? {
            None => Caller::Nobody,
            Some(stored_key) => {
                let mut holder = self.holder(stored_key, rows, game).await?;
                holder.session = credentials.named().session.map(str::to_owned);
                Caller::Holder(Box::new(holder))
            }
        };
        Ok(RequestContext {
            caller,
            stored_game,
            seating,
        })
    }

    /// The key that credentials open something by, of what was read with them.
    async fn good_key(
        &self,
        credentials: &Credentials,
        rows: &mut ContextRows,
    ) -> ServiceResult<Option<StoredKey>> {
        let stored_key = rows.key.take().filter(|key| key.revoked_at.is_none());
        let good = match credentials {
            Credentials::None => return Ok(None),
            Credentials::Key(key) => stored_key.filter(|stored| key.matches(&stored.secret_hash)),
            Credentials::Session { cookie, .. } => {
                let session = rows.session.take();
                let session = session.filter(|session| self.opens(session, cookie));
                let session = session.ok_or(ServiceError::WrongSession)?;
                self.note_use(&session).await?;
                stored_key
            }
        };
        good.map(Some).ok_or(credentials.wrong())
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
            session: None,
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
