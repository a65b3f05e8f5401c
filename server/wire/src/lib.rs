//! What travels between a server and its callers: plain types of requests, answers and problems. Nothing here knows
//! of HTTP, of a store or of a runtime, so that the server and any client share one definition.
//!
//! Requests refuse members that they do not know: a misspelt member must not be dropped in silence. Answers take
//! members, and words in [`Open`], that they do not know: a client can read the answers of a newer server.

mod actions;
mod drafts;
mod games;
mod head;
mod members;
mod news;
mod notices;
mod open;
mod problem;
mod roles;
mod seats;
mod sessions;
mod sheets;
mod table;

pub use actions::{ClockPage, ClockSide, Done, Leave};
pub use drafts::{AskReach, InReach, MeasureUnits, Measured, Scores, TriedOrder, TryOrder};
// what is signed and stored as it was sent has one definition, beside whoever checks it
pub use fieldpost_rules::record::bodies::{
    AcceptUmpire, Action, NameKey, NameSeatKey, PostSheet, PutUnit, RaiseDispute, Rule, SetZone,
    TakeLeave,
};
pub use games::{
    ForSpectators, GameSummary, GamesPage, GivenInvitation, OpenGame, OpenedGame, Scenarios,
    ShippedScenario, SideSummary, TextFile, TextFiles,
};
pub use head::Head;
pub use members::{
    AddMember, AddedMember, AddressSet, ChangeMember, FreshKey, MemberRole, MemberSummary, Members,
    RevokedKey,
};
pub use news::{EventPage, NewsItem, NewsPage, RecordLine};
pub use notices::{
    Channel, DeadNotice, DeadNotices, Hook, HookData, OwnAddress, OwnNotices, SetNotices, Topic,
    TriedAgain, TryAgain, UnknownWord,
};
pub use open::Open;
pub use problem::{Problem, ProblemCode};
pub use roles::{Role, SeatRole};
pub use seats::{
    AddSeat, Invite, MySeat, OwnInstructions, SeatOrganiser, SeatSummary, Seating, TakeSeat,
    TakenSeat,
};
pub use sessions::{
    GivenLink, Session, SessionGame, SessionGames, SessionKey, Sessions, StartSession,
};
pub use sheets::{Accepted, CheckSheet, Checked, Refused};
pub use table::{Own, Table, TableUnit, Whereabouts};
