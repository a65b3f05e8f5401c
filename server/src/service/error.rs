//! Why the service did not do what it was asked. `Display` is a sentence for whoever asked or, where the server is at
//! fault, for the log.

use std::time::Duration;

use fieldpost_rules::authored::Faults;
use fieldpost_rules::orders::Excess;
use fieldpost_rules::orders::text::TextFault;
use fieldpost_wire as wire;
use thiserror::Error;

use crate::measuring::MeasuringError;
use crate::store::{Channel, StoreError};

/// Why the service did not do what it was asked.
#[derive(Debug, Error)]
pub enum ServiceError {
    /// No key was sent.
    #[error("Send the key of a seat or the organiser's.")]
    NoKey,
    /// The key is unknown, its secret is wrong, or it is revoked.
    #[error("There is no such key, its secret does not match, or it was revoked.")]
    WrongKey,
    /// The key ended, or opens less, since the request began.
    #[error(
        "Your key was revoked, or opens less than it did, while this was being done; nothing was changed."
    )]
    KeyEnded,
    /// The session is unknown, its secret is wrong, it has ended, or it does not hold the key that is named.
    #[error("This session has ended, or it does not hold that key. Come in again.")]
    WrongSession,
    /// The link for another device is unknown, its secret is wrong, or it was used or is too late.
    #[error(
        "A link for another device works once, within ten minutes, and until another is made. Make another on the device that has the session."
    )]
    LinkExpired,
    /// Whatever a seat of this game does must be signed.
    #[error(
        "This game is played with signatures: whatever a seat does is signed by a key of that seat. The command line does so by itself."
    )]
    NotSigned,
    /// The signature does not count.
    #[error("The signature does not count: {why}.")]
    BadSignature {
        /// Why not.
        why: String,
    },
    /// The key has sent too many requests in a minute.
    #[error(
        "There were too many requests with this key. Wait as long as Retry-After says, then go on."
    )]
    TooManyRequests {
        /// Until one more would be taken.
        wait: Duration,
    },
    /// The key has had too many sheets tried in a minute.
    #[error(
        "There were too many checks with this key. Wait as long as Retry-After says, then go on."
    )]
    TooManyChecks {
        /// Until one more would be taken.
        wait: Duration,
    },
    /// Nothing was measured.
    #[error(transparent)]
    Measuring(#[from] MeasuringError),
    /// The sheet holds more than its side's units can do.
    #[error("{}", listed_excesses(.0))]
    SheetTooLong(Vec<Excess>),
    /// What is to be said of the sheet is too long to be sent or stored.
    #[error(
        "What is to be said of this sheet takes {bytes} bytes, and {most} is the most. Order less at a time."
    )]
    VerdictTooLong {
        /// How long it is.
        bytes: usize,
        /// The most that is sent.
        most: usize,
    },
    /// The key does not open this; says what would.
    #[error("{0}")]
    NotAllowed(&'static str),
    /// The sheet is another side's.
    #[error("Your seat plays {yours}, and the sheet is for {requested}.")]
    NotYourSide {
        /// The seat's side.
        yours: String,
        /// The sheet's side.
        requested: String,
    },
    /// No such game for this caller.
    #[error("There is no game of that id, or it is closed to those who do not play in it.")]
    NoSuchGame,
    /// The record is not that long.
    #[error("The record runs from 1 to {last}; {requested} is not in it.")]
    NoSuchEvent {
        /// The number asked for.
        requested: u64,
        /// The last there is.
        last: u64,
    },
    /// The sheet has no such order.
    #[error("The sheet has no order {0} (counted from 0) with a move or battle to draw.")]
    NoSuchOrder(usize),
    /// No such scenario is shipped.
    #[error("No scenario is shipped as \"{requested}\"; there are: {}.", known.join(", "))]
    NoSuchScenario {
        /// The key asked for.
        requested: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// The game has no such side.
    #[error("No side is called \"{requested}\"; there are: {}.", known.join(", "))]
    NoSuchSide {
        /// The key asked for.
        requested: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// A ruleset or scenario has faults.
    #[error("{0}")]
    FaultyFiles(Faults),
    /// A typed sheet cannot be read.
    #[error("{}", drawn(.0))]
    UnreadableSheet(Vec<TextFault>),
    /// A name that cannot be shown safely.
    #[error("{why}")]
    BadName {
        /// Why not, in a sentence.
        why: String,
        /// Where in the body it is, as a JSON pointer.
        pointer: &'static str,
    },
    /// Instructions for a unit that is not the side's.
    #[error("{unit}: {why}.")]
    BadInstructions {
        /// Key of the unit.
        unit: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The invitation is unknown, its secret is wrong, or it is void.
    #[error(
        "There is no such invitation, its secret does not match, or a newer one took its place. Ask the organiser for another."
    )]
    WrongInvitation,
    /// The invitation has been used.
    #[error("An invitation works once. If it was not you who used it, tell the organiser.")]
    InvitationUsed,
    /// The invitation has expired.
    #[error("It was good until {at}. Ask the organiser for another.")]
    InvitationExpired {
        /// When: RFC 3339, UTC.
        at: String,
    },
    /// The seat is taken.
    #[error("{player} has taken it.")]
    SeatTaken {
        /// Name of its holder.
        player: String,
    },
    /// Spectators would be kept waiting for too long.
    #[error("{requested} minutes is more than a week; {most} is the most.")]
    DelayTooLong {
        /// Minutes asked for.
        requested: u32,
        /// The most that can be.
        most: u32,
    },
    /// A request that asks for two things at once, or for none.
    #[error("{0}")]
    Unclear(&'static str),
    /// There is no such member.
    #[error("Nobody of that id is a member; they may have been removed.")]
    NoSuchMember,
    /// The game has no such seat.
    #[error("This game has no seat of that id.")]
    NoSuchSeat,
    /// Nobody would be left to organise.
    #[error("Make another member an organiser first.")]
    LastOrganiser,
    /// The game is over.
    #[error("Nothing can be changed in a game that has ended.")]
    GameOver,
    /// The game is played without a clock.
    #[error("This game is played without a clock, or no clock runs now.")]
    NoClock,
    /// It cannot be done as the game is now; says why and what could be.
    #[error("{0}")]
    NotNow(String),
    /// What was asked is out of range; says what would be taken.
    #[error("{0}")]
    Unfit(String),
    /// An address that notices cannot go to.
    #[error("{why}")]
    BadAddress {
        /// The channel it is for.
        channel: Channel,
        /// Why not, in a sentence.
        why: String,
    },
    /// This server sends no notices by that channel.
    #[error(
        "The host of this server has not set up {channel}. Ask them, or use another: {}.",
        listed(available)
    )]
    NotSentHere {
        /// The channel asked for.
        channel: Channel,
        /// Those that are set up.
        available: Vec<Channel>,
    },
    /// The seat has set too many new addresses within a day; so many are taken.
    #[error(
        "A seat may set {0} new addresses of a kind in a day. Keep the one that is set, or try again tomorrow."
    )]
    TooManyAddresses(u32),
    /// No notice has that id: its place among those named.
    #[error(
        "Give ids as the list of notices that were given up has them, at most a thousand; or none, for all."
    )]
    NoSuchNotice(usize),
    /// The side has made too many changes since the player turn began; so many are taken.
    #[error(
        "{0} changes besides the sheet were made in this player turn, and that is the most: instructions, leave, pauses and disputes of one side, or rulings. Wait for the next player turn."
    )]
    TooManyChanges(u32),
    /// The idempotency key has posted something else.
    #[error("It belongs to another sheet, which was accepted. Use a new one for a new sheet.")]
    KeyReused,
    /// The head has moved.
    #[error("{}", stale_words(news))]
    Stale {
        /// Where it is now.
        head: wire::Head,
        /// What happened since the head that was named, if that is in the record.
        news: Vec<wire::NewsItem>,
    },
    /// The game is too busy: others were first every time.
    #[error("overtaken every time")]
    Busy,
    /// The store failed.
    #[error(transparent)]
    Store(StoreError),
    /// Something that must be writable as JSON was not.
    #[error("cannot be written as JSON: {0}")]
    Unwritable(#[from] serde_json::Error),
    /// A measurement panicked.
    #[error("a measurement failed: {0}")]
    Panicked(#[from] tokio::task::JoinError),
}

/// What the service answers.
pub type ServiceResult<T> = Result<T, ServiceError>;

impl ServiceError {
    /// A record that cannot be folded.
    pub(super) fn damaged(what: impl Into<String>) -> Self {
        Self::Store(StoreError::Damaged(what.into()))
    }
}

impl From<StoreError> for ServiceError {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::LastOrganiser => Self::LastOrganiser,
            StoreError::KeyEnded => Self::KeyEnded,
            error => Self::Store(error),
        }
    }
}

fn drawn(faults: &[TextFault]) -> String {
    let faults: Vec<String> = faults.iter().map(|fault| fault.drawn(false)).collect();
    faults.join("\n")
}

fn listed_excesses(excesses: &[Excess]) -> String {
    let told: Vec<String> = excesses.iter().map(|excess| format!("{excess}.")).collect();
    told.join("\n")
}

fn listed(channels: &[Channel]) -> String {
    match channels {
        [] => "there is none".to_owned(),
        channels => {
            let words: Vec<&str> = channels.iter().map(|channel| channel.as_str()).collect();
            words.join(", ")
        }
    }
}

fn stale_words(news: &[wire::NewsItem]) -> String {
    if news.is_empty() {
        return "The head that If-Match names is not the game's. Read the table and write for that."
            .to_owned();
    }
    let what: Vec<&str> = news.iter().map(|item| item.words.as_str()).collect();
    format!(
        "Since the table this was written for: {} Read the table and write for that.",
        what.join(" ")
    )
}
