//! Notices: where seats want to hear of their games, what they are told, what could not be.

mod addresses;
mod due;
mod letter;
mod stop;

use jiff::Timestamp;

use crate::key::{fresh_id, random_bytes};
use crate::outside::Outside;
use crate::store::{
    Channel, GameId, Kind, Notice, NoticeAddress, NoticeId, Recipients, Seat, SetAddresses,
    StoreError, Topic,
};
use fieldpost_wire as wire;

use super::{Caller, Failure, Office, Outcome, TRIES};

pub(super) use due::due;
pub use letter::Letter;
pub use stop::stop_token;

/// New addresses of one way that a seat may set in a day: each new e-mail address is sent a mail, and
/// somebody else's must not be flooded so.
const NEW_A_DAY: u32 = 5;
const DAY_MS: i64 = 24 * 60 * 60 * 1000;
/// Notices revived by name at once.
const REVIVED: usize = 1000;

/// Which notices a post office sends.
#[derive(Debug, Clone, Copy)]
pub struct NoticeRules {
    /// Whether it sends e-mail.
    pub mail: bool,
    /// Where webhooks may go.
    pub webhooks: Outside,
}

impl Default for NoticeRules {
    fn default() -> Self {
        Self {
            mail: false,
            webhooks: Outside::Off,
        }
    }
}

impl NoticeRules {
    /// The ways there are.
    fn ways(self) -> Vec<Channel> {
        let webhook = self.webhooks != Outside::Off;
        let has = |way: &Channel| match way {
            Channel::Mail => self.mail,
            Channel::Webhook => webhook,
        };
        [Channel::Mail, Channel::Webhook]
            .into_iter()
            .filter(has)
            .collect()
    }
}

impl Office {
    /// Where the caller's seat hears of the game.
    ///
    /// # Errors
    /// When the caller neither plays in the game nor is its umpire.
    pub async fn notices(&self, caller: &Caller, game: GameId) -> Outcome<wire::OwnNotices> {
        let seat = caller.told_seat_in(game)?;
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
        asked: &wire::SetNotices,
    ) -> Outcome<wire::OwnNotices> {
        let seat = caller.told_seat_in(game)?;
        for _ in 0..TRIES {
            let card = self.card_for(caller, game).await?;
            let (set, fresh) = self.addresses(seat, asked, card.head.number).await?;
            match self.store.set_notice_addresses(&set).await {
                Err(StoreError::Overtaken) => continue,
                outcome => outcome?,
            }
            self.queued.notify_one();
            let mut own = self.own_notices(seat).await?;
            if let (Some(webhook), Some(secret)) = (&mut own.webhook, fresh) {
                webhook.secret = Some(secret);
            }
            return Ok(own);
        }
        Err(Failure::Busy)
    }

    /// Takes back the e-mail address that a stop link belongs to; whether it was in use.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn stop_mail(&self, token: &str) -> Outcome<bool> {
        let Some(address) = self.stopped_by(token).await? else {
            return Ok(false);
        };
        self.store
            .remove_notice_address(&address.id, self.now().as_millisecond())
            .await?;
        Ok(true)
    }

    /// Whether a stop link belongs to an address in use.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn would_stop(&self, token: &str) -> Outcome<bool> {
        Ok(self.stopped_by(token).await?.is_some())
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
    ) -> Outcome<()> {
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
    ) -> Outcome<wire::DeadNotices> {
        caller.must_organise()?;
        let mut dead = self.store.dead_notices(after, limit + 1).await?;
        let more = dead.len() > limit as usize;
        dead.truncate(limit as usize);
        let notices = dead.into_iter().map(|dead| wire::DeadNotice {
            id: dead.id.to_string(),
            game: dead.game.to_string(),
            side: dead.side,
            player: dead.player,
            way: dead.way.into(),
            kind: dead.id.kind.to_string(),
            number: dead.id.number,
            tries: dead.tries,
            queued_at: told_time(dead.queued_at),
            dead_at: told_time(dead.dead_at),
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
        asked: &wire::TryAgain,
    ) -> Outcome<wire::TriedAgain> {
        caller.must_organise()?;
        let ids = match &asked.ids {
            None => None,
            Some(ids) if ids.len() > REVIVED => return Err(Failure::NoSuchNotice(REVIVED)),
            Some(ids) => Some(
                (0..)
                    .zip(ids)
                    .map(|(place, id)| id.parse().map_err(|()| Failure::NoSuchNotice(place)))
                    .collect::<Outcome<Vec<NoticeId>>>()?,
            ),
        };
        let at = self.now().as_millisecond();
        let again = self.store.revive_notices(ids.as_deref(), at).await?;
        self.queued.notify_one();
        Ok(wire::TriedAgain { again })
    }

    async fn own_notices(&self, seat: &Seat) -> Outcome<wire::OwnNotices> {
        let addresses = self.store.notice_addresses(&seat.id).await?;
        let topics = addresses
            .first()
            .map_or_else(|| Topic::ALL.to_vec(), |address| address.topics.clone());
        let mut own = wire::OwnNotices {
            mail: None,
            webhook: None,
            topics: topics.into_iter().map(Into::into).collect(),
            ways: self
                .notice_rules
                .ways()
                .into_iter()
                .map(Into::into)
                .collect(),
        };
        for address in addresses {
            let shown = wire::OwnAddress {
                since: told_time(address.set_at),
                trouble: self.store.notice_trouble(&address.id).await?,
                address: address.address,
                secret: None,
            };
            *own.address_mut(address.way) = Some(shown);
        }
        Ok(own)
    }

    /// The addresses that a seat asks for, and the secret of a webhook that is new.
    async fn addresses(
        &self,
        seat: &Seat,
        asked: &wire::SetNotices,
        number: u64,
    ) -> Outcome<(SetAddresses, Option<String>)> {
        let at = self.now().as_millisecond();
        let topics: Vec<Topic> = match &asked.topics {
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
        let mut fresh_secret = None;
        for way in Channel::ALL {
            let Some(text) = asked.address(way) else {
                continue;
            };
            let kept = there.iter().find(|kept| kept.way == way);
            let is_kept = |kept: &&NoticeAddress| {
                kept.address == text.trim()
                    || self.fit(way, text).is_ok_and(|usual| usual == kept.address)
            };
            let address = match kept.filter(is_kept) {
                Some(kept) => NoticeAddress {
                    topics: topics.clone(),
                    ..kept.clone()
                },
                None => {
                    let fresh = NoticeAddress {
                        id: fresh_id(),
                        seat: seat.id.clone(),
                        way,
                        address: self.fit(way, text)?,
                        topics: topics.clone(),
                        secret: random_bytes::<32>().to_vec(),
                        set_at: at,
                    };
                    self.must_not_be_too_many(seat, way, at).await?;
                    if way == Channel::Webhook {
                        fresh_secret = Some(crate::notices::signature::shown(&fresh.secret));
                    }
                    fresh
                }
            };
            set.addresses.push(address);
        }
        Ok((set, fresh_secret))
    }

    /// An address in its usual form, if notices may go there.
    fn fit(&self, way: Channel, text: &str) -> Outcome<String> {
        if !self.notice_rules.ways().contains(&way) {
            return Err(Failure::NotSentHere(way));
        }
        let fit = match way {
            Channel::Mail => addresses::mail(text),
            Channel::Webhook => self.notice_rules.webhooks.target(text).map(String::from),
        };
        fit.map_err(|why| Failure::BadAddress { way, why })
    }

    async fn must_not_be_too_many(&self, seat: &Seat, way: Channel, at: i64) -> Outcome<()> {
        let set = self.store.notice_addresses_set(&seat.id, way, at - DAY_MS);
        if set.await? >= NEW_A_DAY {
            return Err(Failure::TooManyAddresses(NEW_A_DAY));
        }
        Ok(())
    }
}

/// A time as it is told: RFC 3339, UTC.
fn told_time(ms: i64) -> String {
    Timestamp::from_millisecond(ms).map_or_else(|_| String::new(), |at| at.to_string())
}
