//! What a notice says, as plain facts and words; how it looks is the channel's.

use fieldpost_rules::dice::Bytes32;
use fieldpost_wire as wire;

use crate::store::{NoticeId, SeatRole};

/// What a notice says.
#[derive(Debug, Clone)]
pub struct NoticeMessage {
    /// Id of the notice.
    pub id: NoticeId,
    /// The game's id.
    pub game: String,
    /// The scenario's name.
    pub battle: String,
    /// Role of the seat that it goes to.
    pub role: SeatRole,
    /// Name of the seat's holder.
    pub player: Option<String>,
    /// Hash of the event that it tells of.
    pub hash: Bytes32,
    /// The game turn, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The side to post next, its key and its name; absent once the game has ended.
    pub to_move: Option<(String, String)>,
    /// What happened.
    pub news: Vec<wire::NewsItem>,
    /// What is said besides the news; may be empty.
    pub words: String,
    /// When it was queued: RFC 3339, UTC.
    pub queued_at: String,
    /// The table after the news as text; empty for a channel that shows none.
    pub table_text: String,
    /// The table after the news with what they changed, as PNG; none for a channel that shows no picture, and where it
    /// could not be painted.
    pub picture: Option<Vec<u8>>,
}

impl NoticeMessage {
    /// Whether the side of the seat that it goes to is to post next.
    #[must_use]
    pub fn is_to_move(&self) -> bool {
        let to_move = self.to_move.as_ref().map(|(side, _)| side.as_str());
        to_move.is_some() && to_move == self.role.side()
    }
}
