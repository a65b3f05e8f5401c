//! Sessions: what a browser has in place of keys.

use fieldpost_wire as wire;

use crate::key::Key;
use crate::store::{
    Authority, DeviceLink, HeldKey, MemberRole, Opens, Right, Seat, SessionRows, StartSession,
    StoreError, StoredSession,
};

use super::names::fit_device;
use super::notices::format_ms;
use super::seats::my_seat;
use super::summaries::role_of;
use super::{Caller, Holder, Service, ServiceError, ServiceResult, Taking};

const DAY_MS: i64 = 24 * 60 * 60 * 1000;
/// A session that nobody uses for so long ends.
const IDLE_MS: i64 = 90 * DAY_MS;
/// How long a link for another device works.
const LINK_MS: i64 = 10 * 60 * 1000;
/// The most games listed for a key.
const MOST_GAMES: u32 = 200;

/// A session that a cookie opens, and the keys in it.
#[derive(Debug, Clone)]
pub struct OpenSession {
    rows: SessionRows,
}

impl OpenSession {
    /// The keys in it, and that it is the one that asks.
    #[must_use]
    pub fn held(&self) -> KeysHeld {
        KeysHeld {
            keys: self
                .rows
                .keys
                .iter()
                .map(|held| held.key.id.clone())
                .collect(),
            own: Some(self.rows.session.id.clone()),
        }
    }
}

/// Ids of the keys that somebody has, and of their session if they ask from one.
#[derive(Debug, Clone)]
pub struct KeysHeld {
    keys: Vec<String>,
    own: Option<String>,
}

/// By what somebody comes in.
#[derive(Debug, Clone)]
pub enum Entrance {
    /// The key that they sent.
    Key,
    /// A link that another device gave.
    Link(Key),
    /// An invitation.
    Invitation(Box<Taking>),
}

/// A session that was started.
#[derive(Debug, Clone)]
pub struct StartedSession {
    /// What its cookie holds, given this once.
    pub cookie: Key,
    /// The session.
    pub page: wire::Session,
}

impl Service {
    /// Starts a session. The keys of the one that its holder had go over into it, and that ends: whatever cookie was there
    /// before opens nothing any more.
    ///
    /// # Errors
    /// When the key, the link or the invitation opens nothing.
    pub async fn start_session(
        &self,
        caller: &Caller,
        old: Option<&OpenSession>,
        entrance: &Entrance,
        device: Option<&str>,
    ) -> ServiceResult<StartedSession> {
        let device = fit_device(device.unwrap_or_default())?;
        let (by, key, link) = match entrance {
            Entrance::Key => {
                let key = caller.holder()?.key.clone();
                (caller.any_word(), Some(key), None)
            }
            Entrance::Link(link) => {
                self.device_link(link).await?;
                (Authority::Server, None, Some(link.id().to_owned()))
            }
            Entrance::Invitation(taking) => {
                let key = self.take_seat(caller, taking).await?.key;
                let by = Authority::Key {
                    key: key.clone(),
                    right: Right::Any,
                    session: None,
                };
                (by, Some(key), None)
            }
        };
        let (cookie, now) = (Key::fresh(), self.now().as_millisecond());
        let start = StartSession {
            by,
            session: StoredSession {
                id: cookie.id().to_owned(),
                secret_hash: cookie.hash().to_vec(),
                device,
                started_at: now,
                used_at: now,
            },
            key: key.clone(),
            in_place_of: old.map(|old| old.rows.session.id.clone()),
            link,
            idle_since: now - IDLE_MS,
        };
        match self.store.start_session(&start).await {
            Ok(()) => {}
            // Somebody else was first to use it.
            Err(StoreError::Overtaken) => return Err(ServiceError::LinkExpired),
            Err(error) => return Err(error.into()),
        }
        let open = self.open_session(&cookie).await?;
        let page = wire::Session {
            entered: key,
            ..session_page(&open.rows, &open.held())
        };
        Ok(StartedSession { cookie, page })
    }

    /// The session that a cookie opens; the request counts for it.
    ///
    /// # Errors
    /// [`ServiceError::WrongSession`]; [`ServiceError::TooManyRequests`] of this session.
    pub async fn open_session(&self, cookie: &Key) -> ServiceResult<OpenSession> {
        let rows = self.store.session(cookie.id()).await?;
        let rows = rows.filter(|rows| self.opens(&rows.session, cookie));
        let rows = rows.ok_or(ServiceError::WrongSession)?;
        self.note_use(&rows.session).await?;
        self.count_for(&rows.session.id)?;
        Ok(OpenSession { rows })
    }

    /// Whether a cookie opens a session now.
    pub(super) fn opens(&self, session: &StoredSession, cookie: &Key) -> bool {
        let idle_ms = self.now().as_millisecond().saturating_sub(session.used_at);
        cookie.matches(&session.secret_hash) && idle_ms < IDLE_MS
    }

    /// Notes that a session is used, once a day.
    pub(super) async fn note_use(&self, session: &StoredSession) -> ServiceResult<()> {
        let now = self.now().as_millisecond();
        if now.saturating_sub(session.used_at) >= DAY_MS {
            self.store.use_session(&session.id, now).await?;
        }
        Ok(())
    }

    /// The session that asks.
    #[must_use]
    pub fn own_session(&self, open: &OpenSession) -> wire::Session {
        session_page(&open.rows, &open.held())
    }

    /// Ends the session that asks.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn end_own_session(&self, open: &OpenSession) -> ServiceResult<()> {
        Ok(self.store.end_session(&open.rows.session.id).await?)
    }

    /// The key that somebody sent, as those that they have.
    ///
    /// # Errors
    /// [`ServiceError::NoKey`].
    pub fn held_by(&self, caller: &Caller) -> ServiceResult<KeysHeld> {
        Ok(KeysHeld {
            keys: vec![caller.holder()?.key.clone()],
            own: None,
        })
    }

    /// Every session that holds one of somebody's keys; of its keys those that they have.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn sessions(&self, held: &KeysHeld) -> ServiceResult<wire::Sessions> {
        let found = self.store.sessions_with(&held.keys).await?;
        let sessions = found.iter().map(|rows| session_page(rows, held));
        Ok(wire::Sessions {
            sessions: sessions.collect(),
        })
    }

    /// Takes somebody's keys out of a session, or of all; one that is left without ends.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn end_sessions(&self, held: &KeysHeld, session: Option<&str>) -> ServiceResult<()> {
        Ok(self.store.take_from_sessions(&held.keys, session).await?)
    }

    /// Takes a key out of the session that asks; what is left of it.
    ///
    /// # Errors
    /// [`ServiceError::WrongSession`] when it was the last.
    pub async fn drop_session_key(
        &self,
        cookie: &Key,
        open: &OpenSession,
        key: &str,
    ) -> ServiceResult<wire::Session> {
        let session = Some(open.rows.session.id.as_str());
        self.store
            .take_from_sessions(&[key.to_owned()], session)
            .await?;
        let left = self.open_session(cookie).await?;
        Ok(self.own_session(&left))
    }

    /// Gives a link by which another device gets a session with the same keys: its secret, and until when it works.
    ///
    /// # Errors
    /// [`ServiceError::WrongSession`] when the session ended meanwhile.
    pub async fn give_device_link(&self, open: &OpenSession) -> ServiceResult<(Key, String)> {
        let key = Key::fresh();
        let expires_at = self.now().as_millisecond() + LINK_MS;
        let link = DeviceLink {
            id: key.id().to_owned(),
            secret_hash: key.hash().to_vec(),
            session: open.rows.session.id.clone(),
            expires_at,
        };
        match self.store.add_device_link(&link).await {
            Ok(()) => Ok((key, format_ms(expires_at))),
            Err(StoreError::Overtaken) => Err(ServiceError::WrongSession),
            Err(error) => Err(error.into()),
        }
    }

    async fn device_link(&self, link: &Key) -> ServiceResult<DeviceLink> {
        let now = self.now().as_millisecond();
        let stored = self.store.device_link(link.id()).await?;
        stored
            .filter(|stored| link.matches(&stored.secret_hash) && now < stored.expires_at)
            .ok_or(ServiceError::LinkExpired)
    }

    /// Every seat that the keys of a session open, with its game and clock.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn session_games(&self, open: &OpenSession) -> ServiceResult<wire::SessionGames> {
        let mut games = Vec::new();
        for held in &open.rows.keys {
            for seat in self.seats_opened_by(held).await? {
                if games.len() < MOST_GAMES as usize {
                    games.push(self.session_game(held, seat).await?);
                }
            }
        }
        games.sort_by(|a: &wire::SessionGame, b| {
            let ended = |of: &wire::SessionGame| of.game.ended.is_some();
            ended(a).cmp(&ended(b)).then(b.game.id.cmp(&a.game.id))
        });
        Ok(wire::SessionGames { games })
    }

    async fn seats_opened_by(&self, held: &HeldKey) -> ServiceResult<Vec<Seat>> {
        if let Some(seat) = &held.seat {
            return Ok(vec![seat.clone()]);
        }
        match held.key.opens {
            Opens::Member { member } => Ok(self.store.seats_of(member, MOST_GAMES).await?),
            Opens::Organiser | Opens::Seat { .. } => Ok(Vec::new()),
        }
    }

    async fn session_game(&self, held: &HeldKey, seat: Seat) -> ServiceResult<wire::SessionGame> {
        let game = seat.game;
        let holder = Holder {
            seat: Some(seat.clone()),
            ..holder_of(held)
        };
        let caller = Caller::Holder(Box::new(holder));
        let clock = self.clock(&caller, game).await?;
        Ok(wire::SessionGame {
            key: held.key.id.clone(),
            seat: seat.id.clone(),
            role: role_of(&seat).into(),
            side: seat.side().map(str::to_owned),
            player: seat.player,
            game: self.game(&caller, game).await?,
            clock: clock.rules.is_some().then_some(clock),
            scores: self.score(&caller, game).await?.scores,
        })
    }
}

/// Whoever holds a key of a session.
fn holder_of(held: &HeldKey) -> Holder {
    let member = held.member.as_ref();
    let organises = member.is_some_and(|member| member.role == MemberRole::Organiser);
    Holder {
        key: held.key.id.clone(),
        session: None,
        is_organiser: organises || held.key.opens == Opens::Organiser,
        member: held.member.clone(),
        seat: held.seat.clone(),
    }
}

/// A session as whoever has some of its keys sees it.
fn session_page(rows: &SessionRows, asker: &KeysHeld) -> wire::Session {
    let SessionRows { session, keys } = rows;
    let shared = keys.iter().filter(|held| asker.keys.contains(&held.key.id));
    let shared = shared.map(|held| wire::SessionKey {
        id: held.key.id.clone(),
        holder: my_seat(&holder_of(held)),
    });
    wire::Session {
        session: session.id.clone(),
        device: session.device.clone(),
        started_at: format_ms(session.started_at),
        used_at: format_ms(session.used_at),
        own: asker.own.as_ref() == Some(&session.id),
        entered: None,
        keys: shared.collect(),
    }
}
