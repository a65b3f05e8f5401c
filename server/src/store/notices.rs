//! Where seats want their notices, and the queue of notices.

use std::fmt;
use std::str::FromStr;

use async_trait::async_trait;

use super::{Authority, GameId, Seat, StoreResult};

pub use fieldpost_wire::{Channel, Topic};

/// What a notice tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// This address was set, and how it is taken back. Always sent.
    Welcome,
    /// Every seat is taken.
    Opened,
    /// The other side has posted.
    YourTurn,
    /// The game is over.
    Ended,
    /// A player asks the umpire to look at something.
    Dispute,
    /// The umpire has ruled.
    Ruling,
    /// So many days are left for the player turn.
    Reminder(u16),
    /// A side's time is out.
    TimeOut,
    /// The organiser has named a key in the place of a seat's. Always sent: whose seat it is has three days to object.
    KeyReplaced,
}

impl Kind {
    /// What it is about; absent: it is sent whatever topics were chosen.
    #[must_use]
    pub fn topic(self) -> Option<Topic> {
        match self {
            Self::Welcome | Self::KeyReplaced => None,
            Self::YourTurn => Some(Topic::Turns),
            Self::Opened | Self::Ended => Some(Topic::Game),
            Self::Dispute | Self::Ruling => Some(Topic::Rulings),
            Self::Reminder(_) | Self::TimeOut => Some(Topic::Clock),
        }
    }

    /// Without the days of a reminder.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Welcome => "welcome",
            Self::Opened => "opened",
            Self::YourTurn => "your-turn",
            Self::Ended => "ended",
            Self::Dispute => "dispute",
            Self::Ruling => "ruling",
            Self::Reminder(_) => "reminder",
            Self::TimeOut => "time-out",
            Self::KeyReplaced => "key-replaced",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reminder(days) => write!(f, "reminder-{days}"),
            kind => f.write_str(kind.word()),
        }
    }
}

impl FromStr for Kind {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        if let Some(days) = text.strip_prefix("reminder-") {
            return days.parse().map(Self::Reminder).map_err(|_| ());
        }
        [
            Self::Welcome,
            Self::Opened,
            Self::YourTurn,
            Self::Ended,
            Self::Dispute,
            Self::Ruling,
            Self::TimeOut,
            Self::KeyReplaced,
        ]
        .into_iter()
        .find(|kind| kind.word() == text)
        .ok_or(())
    }
}

/// An address of a seat. `Debug` shows neither the address nor its secret.
#[derive(Clone, PartialEq, Eq)]
pub struct NoticeAddress {
    /// Its id, new whenever an address is set.
    pub id: String,
    /// The seat.
    pub seat: String,
    /// How notices travel there.
    pub channel: Channel,
    /// An e-mail address or a URL.
    pub address: String,
    /// The topics that go there.
    pub topics: Vec<Topic>,
    /// 32 random bytes: signs webhooks, or makes the links that stop mails.
    pub secret: Vec<u8>,
    /// When it was set: milliseconds since 1970.
    pub set_at: i64,
    /// Id of the key that set it; absent for those set before this was kept.
    pub set_by: Option<String>,
}

impl fmt::Debug for NoticeAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("NoticeAddress")
            .field("id", &self.id)
            .field("seat", &self.seat)
            .field("channel", &self.channel)
            .field("topics", &self.topics)
            .field("set_at", &self.set_at)
            .finish_non_exhaustive()
    }
}

/// Every address that a seat is to have from now on.
#[derive(Debug, Clone)]
pub struct SetAddresses {
    /// The seat.
    pub seat: String,
    /// At most one for each channel. One that is there already by its id gets these topics; others of the seat
    /// are taken back, and what was queued for them is deleted.
    pub addresses: Vec<NoticeAddress>,
    /// The last event of the game: new addresses are welcomed as of this.
    pub number: u64,
    /// Now: milliseconds since 1970.
    pub at: i64,
}

/// Whom a notice is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Recipients {
    /// The seats of all sides and of umpires.
    All,
    /// The seats of all sides.
    Players,
    /// The seats of a side.
    Side(String),
    /// The seats of all other sides and of umpires.
    AllBut(String),
}

impl Recipients {
    /// Whether a seat of that side is among them, or the umpire's if it is none.
    #[must_use]
    pub fn include(&self, side: Option<&str>) -> bool {
        match self {
            Self::All => true,
            Self::Players => side.is_some(),
            Self::Side(one) => side == Some(one),
            Self::AllBut(one) => side != Some(one),
        }
    }
}

/// A notice to be queued. For each address, event and kind it is queued once, whoever queues it and how often.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// To whom.
    pub to: Recipients,
    /// What it tells.
    pub kind: Kind,
    /// The event it tells of.
    pub number: u64,
    /// The news in it begin after this event.
    pub since: u64,
    /// Said besides; may be empty.
    pub words: String,
    /// Now: milliseconds since 1970.
    pub at: i64,
}

/// A notice to one address: `ADDRESS.NUMBER.KIND`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NoticeId {
    /// Id of the address.
    pub address: String,
    /// The event it tells of.
    pub number: u64,
    /// What it tells.
    pub kind: Kind,
}

impl fmt::Display for NoticeId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}.{}", self.address, self.number, self.kind)
    }
}

impl FromStr for NoticeId {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        let mut parts = text.splitn(3, '.');
        let mut next = || parts.next().ok_or(());
        let address = next()?.to_owned();
        let number = next()?.parse().map_err(|_| ())?;
        let kind = next()?.parse()?;
        let is_id = address.len() == 16 && address.bytes().all(|b| b.is_ascii_hexdigit());
        is_id
            .then_some(Self {
                address,
                number,
                kind,
            })
            .ok_or(())
    }
}

/// Which notices are taken, and for how long.
#[derive(Debug, Clone)]
pub struct TakeNotices {
    /// Now: milliseconds since 1970.
    pub now: i64,
    /// Until when nobody else takes them; whoever took them has delivered them by then, or is dead.
    pub until: i64,
    /// The channels that this server has.
    pub channels: Vec<Channel>,
    /// Ids of addresses that are being delivered to: what is for them waits.
    pub busy: Vec<String>,
    /// At most so many.
    pub limit: u32,
}

/// A notice that was taken to be delivered.
#[derive(Debug, Clone)]
pub struct TakenNotice {
    /// Which.
    pub id: NoticeId,
    /// The news in it begin after this event.
    pub since: u64,
    /// Said besides; may be empty.
    pub words: String,
    /// When it was queued: milliseconds since 1970.
    pub queued_at: i64,
    /// How often it was taken, this time included.
    pub tries: u32,
    /// Where it goes.
    pub to: NoticeAddress,
    /// Whose that is.
    pub seat: Seat,
}

/// What became of a notice that was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoticeOutcome {
    /// It was delivered, or need not be any more.
    Done {
        /// When: milliseconds since 1970.
        at: i64,
    },
    /// It is to be tried again.
    Later {
        /// When: milliseconds since 1970.
        due_at: i64,
        /// Why it failed; names no address.
        trouble: String,
    },
    /// It was not tried, and does not count as tried.
    Untried {
        /// When it may be: milliseconds since 1970.
        due_at: i64,
    },
    /// It is given up.
    Dead {
        /// When: milliseconds since 1970.
        at: i64,
        /// Why it failed; names no address.
        trouble: String,
    },
}

/// A notice that was given up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeadNotice {
    /// Which.
    pub id: NoticeId,
    /// The game.
    pub game: GameId,
    /// The side of the seat it was for; none: it was the umpire's.
    pub side: Option<String>,
    /// The name of its holder.
    pub player: Option<String>,
    /// How it was to travel.
    pub channel: Channel,
    /// How often it was tried.
    pub tries: u32,
    /// When it was queued: milliseconds since 1970.
    pub queued_at: i64,
    /// When it was given up: milliseconds since 1970.
    pub dead_at: i64,
    /// Why the last try failed.
    pub trouble: String,
}

/// Addresses and notices.
#[async_trait]
pub trait Notices {
    /// The addresses that a seat has, mail before webhook.
    async fn notice_addresses(&self, seat: &str) -> StoreResult<Vec<NoticeAddress>>;

    /// The addresses in use that were set with a key.
    async fn notice_addresses_set_by(&self, key: &str) -> StoreResult<Vec<NoticeAddress>>;

    /// An address by its id, unless it was taken back.
    async fn notice_address(&self, id: &str) -> StoreResult<Option<NoticeAddress>>;

    /// How many addresses of that channel a seat was given since a moment, those taken back included.
    async fn notice_addresses_set(
        &self,
        seat: &str,
        channel: Channel,
        since: i64,
    ) -> StoreResult<u32>;

    /// Sets the addresses of a seat and queues a welcome to each new one.
    async fn set_notice_addresses(&self, by: &Authority, set: &SetAddresses) -> StoreResult<()>;

    /// Takes an address back: it and its notices are deleted.
    async fn remove_notice_address(&self, id: &str, at: i64) -> StoreResult<()>;

    /// Queues a notice that tells of nothing that is appended at the same time.
    async fn queue_notice(&self, game: GameId, notice: &Notice) -> StoreResult<()>;

    /// Takes notices that are due. Nobody else takes them until then.
    async fn take_notices(&self, take: &TakeNotices) -> StoreResult<Vec<TakenNotice>>;

    /// Says what became of one; nothing if it was taken anew meanwhile or its address was taken back.
    async fn settle_notice(&self, taken: &TakenNotice, outcome: &NoticeOutcome) -> StoreResult<()>;

    /// When the next that goes by one of these channels is due: milliseconds since 1970.
    async fn next_notice(&self, channels: &[Channel]) -> StoreResult<Option<i64>>;

    /// Why the newest notice to an address that did not arrive did not.
    async fn notice_trouble(&self, address: &str) -> StoreResult<Option<String>>;

    /// Up to `limit` notices that were given up, in the order of their ids.
    async fn dead_notices(
        &self,
        after: Option<&NoticeId>,
        limit: u32,
    ) -> StoreResult<Vec<DeadNotice>>;

    /// Tries notices again that were given up: these, or all; how many.
    async fn revive_notices(
        &self,
        by: &Authority,
        these: Option<&[NoticeId]>,
        now: i64,
    ) -> StoreResult<u64>;

    /// Deletes what was delivered, given up or taken back before a moment.
    async fn forget_notices(&self, before: i64) -> StoreResult<()>;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_go_there_and_back() {
        for kind in [
            Kind::Welcome,
            Kind::Opened,
            Kind::YourTurn,
            Kind::Ended,
            Kind::Dispute,
            Kind::Ruling,
            Kind::Reminder(3),
            Kind::TimeOut,
            Kind::KeyReplaced,
        ] {
            let id = NoticeId {
                address: "0123456789abcdef".to_owned(),
                number: 17,
                kind,
            };
            assert_eq!(id.to_string().parse(), Ok(id));
        }
        for text in [
            "",
            "0123456789abcdef.17",
            "x.17.ended",
            "0123456789abcdef.-1.ended",
            "0123456789abcdef.1.reminder",
        ] {
            assert!(text.parse::<NoticeId>().is_err(), "{text}");
        }
    }

    #[test]
    fn an_address_is_not_shown_by_accident() {
        let address = NoticeAddress {
            id: "0123456789abcdef".to_owned(),
            seat: String::new(),
            channel: Channel::Mail,
            address: "ash@example.org".to_owned(),
            topics: Vec::new(),
            secret: b"open sesame".to_vec(),
            set_at: 0,
            set_by: None,
        };
        let shown = format!("{address:?}");
        assert!(!shown.contains("ash") && !shown.contains("111"), "{shown}");
    }
}
