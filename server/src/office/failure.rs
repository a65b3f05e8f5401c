//! Why the post office did not do what it was asked.

use fieldpost_rules::authored::Faults;
use fieldpost_rules::orders::text::TextFault;

use crate::store::{Channel, StoreError};
use fieldpost_wire as wire;

/// Why the post office did not do what it was asked.
#[derive(Debug)]
pub enum Failure {
    /// This needs a key.
    NoKey,
    /// No such key, or not its secret, or revoked.
    WrongKey,
    /// The key does not open this; says what would.
    NotAllowed(&'static str),
    /// The sheet is another side's.
    NotYourSide {
        /// The seat's side.
        yours: String,
        /// The sheet's side.
        asked: String,
    },
    /// No such game for this caller.
    NoSuchGame,
    /// The record is not that long.
    NoSuchEvent {
        /// The number asked for.
        asked: u64,
        /// The last there is.
        last: u64,
    },
    /// The sheet has no such order.
    NoSuchOrder(usize),
    /// No such scenario is shipped.
    NoSuchScenario {
        /// The key asked for.
        asked: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// The game has no such side.
    NoSuchSide {
        /// The key asked for.
        asked: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// A ruleset or scenario has faults.
    FaultyFiles(Faults),
    /// A typed sheet cannot be read.
    UnreadableSheet(Vec<TextFault>),
    /// A name that cannot be shown safely.
    BadName {
        /// Why not.
        why: String,
        /// Where in the body it stands.
        pointer: &'static str,
    },
    /// Instructions for a unit that is not the side's.
    BadInstructions {
        /// The unit.
        unit: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// No such invitation, or not its secret, or void.
    WrongInvitation,
    /// The invitation has been used.
    InvitationUsed,
    /// The invitation has expired.
    InvitationExpired {
        /// When: RFC 3339, UTC.
        at: String,
    },
    /// The seat is taken.
    SeatTaken {
        /// By whom.
        player: String,
    },
    /// Spectators would be kept waiting for too long.
    TooLate {
        /// Minutes asked for.
        asked: u32,
        /// The most that can be.
        most: u32,
    },
    /// A request that asks for two things at once, or for none.
    Unclear(&'static str),
    /// There is no such member.
    NoSuchMember,
    /// The game has no such seat.
    NoSuchSeat,
    /// Nobody would be left to organise.
    LastOrganiser,
    /// The game is over.
    GameOver,
    /// The game is played without a clock.
    NoClock,
    /// It cannot be done as the game stands; says why and what could be.
    NotNow(String),
    /// What was asked cannot be meant; says what could be.
    Unfit(String),
    /// An address that notices cannot go to.
    BadAddress {
        /// What it is for.
        way: Channel,
        /// Why, in a sentence.
        why: String,
    },
    /// This server sends no notices that way.
    NotSentHere(Channel),
    /// The seat has set too many new addresses within a day; so many are taken.
    TooManyAddresses(u32),
    /// No notice has that id: its place among those named.
    NoSuchNotice(usize),
    /// The idempotency key has posted something else.
    KeyReused,
    /// The head has moved.
    Stale {
        /// Where it is now.
        head: wire::Head,
        /// What happened since the head that was named, if that is in the record.
        news: Vec<wire::NewsItem>,
    },
    /// The game is too busy: others were first every time.
    Busy,
    /// The store failed.
    Store(StoreError),
    /// Something that must be writable as JSON was not.
    Unwritable(String),
    /// A measurement panicked.
    Panicked(String),
}

/// What the post office answers.
pub type Outcome<T> = Result<T, Failure>;

impl Failure {
    #[expect(clippy::needless_pass_by_value, reason = "for map_err")]
    pub(super) fn unwritable(error: serde_json::Error) -> Self {
        Self::Unwritable(error.to_string())
    }

    /// A record that cannot be folded.
    pub(super) fn damaged(what: impl Into<String>) -> Self {
        Self::Store(StoreError::Damaged(what.into()))
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::LastOrganiser => Self::LastOrganiser,
            error => Self::Store(error),
        }
    }
}
