//! The laws: one file each. A law takes the game and an order and gives a verdict or events.

mod arrivals;
mod astride;
pub mod attacks;
#[cfg(test)]
mod battle_trials;
pub mod battles;
pub mod breaking;
pub mod command;
mod completion;
mod correcting;
mod defences;
pub mod disorder;
mod draft;
mod drafting;
mod exits;
mod falling_back;
mod flanks;
mod following_up;
mod judged;
#[cfg(test)]
mod manual;
mod measure;
mod movement;
pub mod odds;
mod open_ground;
mod outcomes;
mod parties;
mod playing;
mod pushing;
mod reach;
mod remedies;
mod sight;
pub mod snap;
pub mod stakes;
pub mod strength;
mod support;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
mod ties;
mod turn;
#[cfg(test)]
mod turn_trials;
pub mod victory;
#[cfg(any(test, feature = "testing"))]
pub mod wild;
mod withdrawal;
pub mod zones;

pub use astride::lines_paid;
pub(crate) use correcting::may_stand;
pub use correcting::{CorrectionFault, correct};
pub use draft::{judge_order_unless, table_after_draft_unless};
pub use drafting::Drafting;
pub use judged::{table_after_moves, table_before};
pub use measure::{MeasureFault, measure};
pub(crate) use playing::play_in_first_form;
pub use playing::{Closing, pass, play, play_unless, stop};
pub use reach::reach;
pub use turn::{judge_sheet, judge_sheet_unless};
pub(crate) use withdrawal::label as withdrawal_label;

pub use parties::bombard_range_mm;
pub use sight::farthest_mm as farthest_fire_mm;

use crate::dice::Bytes32;
use crate::game::OpenedInstructions;
use crate::orders::{Instructions, TurnSheet};

/// A turn sheet as it is posted, with all that its dice depend on.
#[derive(Debug, Clone)]
pub struct Posting<'a> {
    /// The sheet.
    pub sheet: &'a TurnSheet,
    /// Standing instructions of the waiting side.
    pub standing: &'a Instructions,
    /// The game's id.
    pub game_id: [u8; 16],
    /// Attempt at this player turn, from [`FIRST_ATTEMPT`](crate::dice::FIRST_ATTEMPT).
    pub attempt: u32,
    /// The server's secret for this player turn.
    pub secret: Bytes32,
    /// The poster's own number.
    pub number: Bytes32,
    /// Commitment to the secret of the next player turn.
    pub next_commitment: Bytes32,
    /// Everything sealed so far, shown if the game ends.
    pub sealed: &'a [OpenedInstructions],
}
