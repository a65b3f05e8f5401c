//! What travels: plain types of requests and answers, without a word of HTTP or storage.

mod by_post;
mod game;
mod member;
mod news;
mod notices;
mod posting;
mod seat;
mod table;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use by_post::{
    Action, ClockPage, ClockSide, Done, PutUnit, RaiseDispute, Rule, SetZone, TakeLeave,
};
pub use game::{
    Card, ForSpectators, GamesPage, GivenInvitation, OpenGame, OpenedGame, Scenarios,
    ShippedScenario, SideCard, TextFile, TextFiles,
};
pub use member::{AddMember, AddedMember, ChangeMember, FreshKey, MemberCard, MemberRole, Members};
pub use news::{EventPage, NewsItem, NewsPage, RecordLine};
pub use notices::{
    DeadNotice, DeadNotices, Hook, HookData, OwnAddress, OwnNotices, SetNotices, Topic, TriedAgain,
    TryAgain, Way,
};
pub use posting::{Accepted, CheckSheet, Checked, PostSheet, Refused};
pub use seat::{
    AddSeat, Invite, MySeat, OwnInstructions, Role, SeatCard, SeatRole, Seating, TakeSeat,
    TakenSeat,
};
pub use table::{Own, Table, TableUnit, Whereabouts};

use crate::store;

/// The last entry of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Head {
    /// Its number.
    pub number: u64,
    /// Its hash in hex: the game's `ETag`.
    pub hash: String,
}

impl From<store::Head> for Head {
    fn from(head: store::Head) -> Self {
        Self {
            number: head.number,
            hash: hex::encode(head.hash),
        }
    }
}
