//! Notices: where seats want to hear of their games, what is queued for them, what could not be delivered.

mod compose;
mod due;

use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::channels::UnsubscribeToken;
use crate::key::{fresh_id, random_bytes};
use crate::store::{
    Channel, GameId, Kind, Notice, NoticeAddress, NoticeId, Recipients, Seat, SetAddresses,
    StoreError, Topic,
};

use super::{ATTEMPTS_MAX, Caller, Service, ServiceError, ServiceResult};

pub(super) use due::due;

/// New addresses of one channel that a seat may set in a day: each new e-mail address is sent a mail, and
/// somebody else's must not be flooded so.
const NEW_A_DAY: u32 = 5;
const DAY_MS: i64 = 24 * 60 * 60 * 1000;
/// Notices revived by name at once.
const REVIVED: usize = 1000;

impl Service {
    /// Where the caller's seat hears of the game.
    ///
    /// # Errors
    /// When the caller neither plays in the game nor is its umpire.
    pub async fn notices(&self, caller: &Caller, game: GameId) -> ServiceResult<wire::OwnNotices> {
        let (seat, _) = caller.notified_seat_in(game)?;
        self.own_notices(seat).await
    }

    /// Sets where the caller's seat hears of the game. An address that stays the same keeps its secret.
    ///
    /// # Errors
    /// When the caller neither plays in the game nor is its umpire, an address is unfit, this server does not send that way, or
    /// the seat has set too many.
    pub async fn set_notices(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::SetNotices,
    ) -> ServiceResult<wire::OwnNotices> {
        let (seat, by) = caller.notified_seat_in(game)?;
        for _ in 0..ATTEMPTS_MAX {
            let stored_game = self.game_for(caller, game).await?;
            let (set, secrets) = self
                .addresses(seat, requested, stored_game.head.number)
                .await?;
            match self.store.set_notice_addresses(&by, &set).await {
                Err(StoreError::Overtaken) => continue,
                outcome => outcome?,
            }
            self.queued.notify_one();
            let mut own = self.own_notices(seat).await?;
            for (channel, secret) in secrets {
                if let Some(address) = own.address_mut(channel) {
                    address.secret = Some(secret);
                }
            }
            return Ok(own);
        }
        Err(ServiceError::Busy)
    }

    /// Takes back the e-mail address that an unsubscribe link belongs to; whether it was in use.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsubscribe(&self, token: &str) -> ServiceResult<bool> {
        let Some(address) = self.address_of_link(token).await? else {
            return Ok(false);
        };
        self.store
            .remove_notice_address(&address.id, self.now().as_millisecond())
            .await?;
        Ok(true)
    }

    /// Whether an unsubscribe link belongs to an address in use.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn would_unsubscribe(&self, token: &str) -> ServiceResult<bool> {
        Ok(self.address_of_link(token).await?.is_some())
    }

    async fn address_of_link(&self, token: &str) -> ServiceResult<Option<NoticeAddress>> {
        let Some(token) = UnsubscribeToken::parse(token) else {
            return Ok(None);
        };
        let address = self.store.notice_address(token.address_id()).await?;
        let is_its =
            |address: &NoticeAddress| address.channel == Channel::Mail && token.belongs_to(address);
        Ok(address.filter(is_its))
    }

    /// Queues a notice that tells of nothing that is appended at the same time: a reminder, a time that is
    /// out. `number` is an event that stays the same for as long as it should be one notice; for a
    /// reminder, the one that began the player turn. Queueing it again changes nothing.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn queue_notice(
        &self,
        game: GameId,
        to: Recipients,
        kind: Kind,
        (number, words): (u64, &str),
    ) -> ServiceResult<()> {
        let notice = Notice {
            to,
            kind,
            number,
            since: number,
            words: words.to_owned(),
            at: self.now().as_millisecond(),
        };
        self.store.queue_notice(game, &notice).await?;
        self.queued.notify_one();
        Ok(())
    }

    /// Waits until something is queued that is appended nowhere.
    pub async fn queued(&self) {
        self.queued.notified().await;
    }

    /// Notices that were given up.
    ///
    /// # Errors
    /// When the caller is not the organiser.
    pub async fn dead_notices(
        &self,
        caller: &Caller,
        after: Option<&NoticeId>,
        limit: u32,
    ) -> ServiceResult<wire::DeadNotices> {
        caller.must_organise()?;
        let mut dead = self.store.dead_notices(after, limit + 1).await?;
        let more = dead.len() > limit as usize;
        dead.truncate(limit as usize);
        let notices = dead.into_iter().map(|dead| wire::DeadNotice {
            id: dead.id.to_string(),
            game: dead.game.to_string(),
            side: dead.side,
            player: dead.player,
            way: dead.channel.into(),
            kind: dead.id.kind.to_string(),
            number: dead.id.number,
            tries: dead.tries,
            queued_at: format_ms(dead.queued_at),
            dead_at: format_ms(dead.dead_at),
            trouble: dead.trouble,
        });
        Ok(wire::DeadNotices {
            notices: notices.collect(),
            more,
        })
    }

    /// Tries notices again that were given up.
    ///
    /// # Errors
    /// When the caller is not the organiser, or an id is none.
    pub async fn try_notices_again(
        &self,
        caller: &Caller,
        requested: &wire::TryAgain,
    ) -> ServiceResult<wire::TriedAgain> {
        let by = caller.must_organise()?;
        let ids = match &requested.ids {
            None => None,
            Some(ids) if ids.len() > REVIVED => return Err(ServiceError::NoSuchNotice(REVIVED)),
            Some(ids) => Some(
                (0..)
                    .zip(ids)
                    .map(|(place, id)| id.parse().map_err(|()| ServiceError::NoSuchNotice(place)))
                    .collect::<ServiceResult<Vec<NoticeId>>>()?,
            ),
        };
        let at = self.now().as_millisecond();
        let again = self.store.revive_notices(&by, ids.as_deref(), at).await?;
        self.queued.notify_one();
        Ok(wire::TriedAgain { again })
    }

    async fn own_notices(&self, seat: &Seat) -> ServiceResult<wire::OwnNotices> {
        let addresses = self.store.notice_addresses(&seat.id).await?;
        let topics = addresses
            .first()
            .map_or_else(|| Topic::ALL.to_vec(), |address| address.topics.clone());
        let mut own = wire::OwnNotices {
            mail: None,
            webhook: None,
            topics: topics.into_iter().map(Into::into).collect(),
            ways: self.channels.names().into_iter().map(Into::into).collect(),
        };
        for address in addresses {
            let shown = wire::OwnAddress {
                since: format_ms(address.set_at),
                trouble: self.store.notice_trouble(&address.id).await?,
                address: address.address,
                secret: None,
            };
            *own.address_mut(address.channel) = Some(shown);
        }
        Ok(own)
    }

    /// The addresses that a seat asks for, and the secrets of those that are new, for their holder.
    async fn addresses(
        &self,
        seat: &Seat,
        requested: &wire::SetNotices,
        number: u64,
    ) -> ServiceResult<(SetAddresses, Vec<(Channel, String)>)> {
        let at = self.now().as_millisecond();
        let topics: Vec<Topic> = match &requested.topics {
            Some(topics) => topics.clone(),
            None => Topic::ALL.to_vec(),
        };
        let there = self.store.notice_addresses(&seat.id).await?;
        let mut set = SetAddresses {
            seat: seat.id.clone(),
            addresses: Vec::new(),
            number,
            at,
        };
        let mut secrets = Vec::new();
        for channel in Channel::ALL {
            let Some(text) = requested.address(channel) else {
                continue;
            };
            let is_same = |known: &&NoticeAddress| {
                known.channel == channel
                    && (known.address == text.trim()
                        || self
                            .accept(channel, text)
                            .is_ok_and(|usual| usual == known.address))
            };
            let address = match there.iter().find(is_same) {
                Some(known) => NoticeAddress {
                    topics: topics.clone(),
                    ..known.clone()
                },
                None => {
                    let fresh = NoticeAddress {
                        id: fresh_id(),
                        seat: seat.id.clone(),
                        channel,
                        address: self.accept(channel, text)?,
                        topics: topics.clone(),
                        secret: random_bytes::<32>().to_vec(),
                        set_at: at,
                        set_by: None,
                    };
                    self.check_address_count(seat, channel, at).await?;
                    let shown = self.channels.get(channel);
                    let shown = shown.and_then(|channel| channel.holder_secret(&fresh.secret));
                    secrets.extend(shown.map(|secret| (channel, secret)));
                    fresh
                }
            };
            set.addresses.push(address);
        }
        Ok((set, secrets))
    }

    /// An address in its usual form, if notices can go there.
    fn accept(&self, channel: Channel, text: &str) -> ServiceResult<String> {
        let Some(sender) = self.channels.get(channel) else {
            return Err(ServiceError::NotSentHere {
                channel,
                available: self.channels.names(),
            });
        };
        sender
            .accept(text)
            .map_err(|why| ServiceError::BadAddress { channel, why })
    }

    /// Refuses a new address to a seat that has set too many within a day.
    async fn check_address_count(
        &self,
        seat: &Seat,
        channel: Channel,
        at: i64,
    ) -> ServiceResult<()> {
        let set = self
            .store
            .notice_addresses_set(&seat.id, channel, at - DAY_MS);
        if set.await? >= NEW_A_DAY {
            return Err(ServiceError::TooManyAddresses(NEW_A_DAY));
        }
        Ok(())
    }
}

/// A time in milliseconds since 1970 as RFC 3339, UTC.
pub(super) fn format_ms(ms: i64) -> String {
    Timestamp::from_millisecond(ms).map_or_else(|_| String::new(), |at| at.to_string())
}
