//! The ledger of a move: what was measured, piece by piece.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Pose;
use crate::orders::{Hand, Order, UnitId};

use super::rounding::{hundredths, hundredths_if_any};
use super::{BattleVerdict, Place, Reason, Remedy, Ruling};

/// The answer to a whole turn sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetVerdict {
    /// The worst of everything below.
    pub verdict: Ruling,
    /// Moves, arrivals and withdrawals, in the sheet's order.
    pub moves: Vec<MoveVerdict>,
    /// Battles and gun fire, in the sheet's order.
    pub battles: Vec<BattleVerdict>,
    /// What is wrong with the sheet as a whole: wrong turn, enemies left out, idle units.
    pub reasons: Vec<Reason>,
    /// When it is the declaration of battles that is refused: battles that would be accepted in
    /// its place, as orders; an empty list when none need be declared.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub completion: Option<Vec<Order>>,
}

impl SheetVerdict {
    /// Every reason of the sheet, its moves and its battles.
    pub fn all_reasons(&self) -> impl Iterator<Item = &Reason> {
        self.reasons
            .iter()
            .chain(self.moves.iter().flat_map(|m| &m.reasons))
            .chain(self.battles.iter().flat_map(|b| &b.reasons))
    }
}

/// The answer to one move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveVerdict {
    /// Who.
    pub unit: UnitId,
    /// Its place among the sheet's orders, from 0.
    pub order: usize,
    /// The worst of the reasons.
    pub verdict: Ruling,
    /// Legs as they were carried out, a refused one as ordered.
    pub legs: Vec<LegLedger>,
    /// Sum of all charges.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub charge_mm: f64,
    /// What it may spend.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub allowance_mm: f64,
    /// Whether it began in command.
    pub in_command: bool,
    /// Where it began; absent when it is not on the table.
    pub start: Option<Place>,
    /// Where the order ends, legal or not.
    pub end: Option<Place>,
    /// The stored pose of that end, exact.
    pub end_pose: Option<Pose>,
    /// Bases abreast at the end.
    pub files: u16,
    /// Enemies whose halt zones a locked unit ends outside by no more than the tolerance: they hold it still when its
    /// next move begins.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub still_held_by: Vec<UnitId>,
    /// Lines under the unit at the end that it has paid for, by their places in the scenario; absent where none is under
    /// it, and where every tape pays.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lines_paid: Option<Vec<usize>>,
    /// Limits broken, the headline first.
    pub reasons: Vec<Reason>,
    /// The furthest pose on the ordered path that breaks no limit.
    pub furthest: Option<Place>,
    /// Other orders near this refused one that would be legal in its place: the furthest on the
    /// path first, then those that change one leg, nearest to what was ordered first. Of units that
    /// move together the first refused one carries them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remedies: Vec<Remedy>,
}

/// The answer to one order of a draft.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OrderVerdict {
    /// The worst of everything below.
    pub verdict: Ruling,
    /// What is left of the allowance: of several units the least; below nothing when it does not suffice. Absent when nobody moves.
    #[serde(default, with = "hundredths_if_any")]
    #[schemars(with = "Option<f64>")]
    pub left_mm: Option<f64>,
    /// The limit that is met first on the path; absent when none is broken.
    pub first: Option<Reason>,
    /// Enemies in whose halt zones the units end, a refused one at its furthest legal place.
    pub halted_by: Vec<UnitId>,
    /// Enemies in strike zones of the units there.
    pub strikes: Vec<UnitId>,
    /// The verdict on each unit that the order moves; of remedies only the furthest on the path is there.
    pub moves: Vec<MoveVerdict>,
    /// Why the sheet cannot be played now, if it cannot: nothing else is judged then.
    pub reasons: Vec<Reason>,
}

/// One leg, measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegLedger {
    /// The leg's name.
    pub leg: String,
    /// To which side, for those that have one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Hand>,
    /// Degrees turned or obliqued, for those that have an angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_deg: Option<f64>,
    /// Length of its tape.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub tape_mm: f64,
    /// Of several units that move together, the one whose tape it is: the one whose whole tape is dearest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tape_of: Option<UnitId>,
    /// The tape cut by ground.
    pub pieces: Vec<Piece>,
    /// Lines that charged or were crossed free.
    pub lines: Vec<LineCharge>,
    /// Fixed charge of the leg.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub fixed_mm: f64,
    /// Pieces, lines and fixed charge together.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub charge_mm: f64,
    /// What stopped an *up to* leg short, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped_by: Option<String>,
    /// Where it ends.
    pub end: Place,
}

/// A piece of tape on one ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// Where it starts on the leg's tape.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub from_mm: f64,
    /// Where it ends.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub to_mm: f64,
    /// Name of the ground: a kind of terrain, `road` or `open`.
    pub ground: String,
    /// Terrain rate.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub rate: f64,
    /// Length × leg factor × terrain rate.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub charge_mm: f64,
}

/// A line that the tape reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineCharge {
    /// The line's name.
    pub line: String,
    /// Where on the leg's tape.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub at_mm: f64,
    /// What it charges.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub charge_mm: f64,
    /// Why it charges nothing: the bridge, ford, gap or road (and by how much it was missed), a slope going down, paid for
    /// already, passed by no more than the tolerance and come back over.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub free: Option<String>,
}
