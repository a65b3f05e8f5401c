//! What can happen in a game. Events are appended and never changed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Pose;
use crate::orders::{Instruction, Instructions, SideId, TurnSheet, UnitId};
use crate::verdict::SheetVerdict;

use super::ClockRules;

/// Version of the laws of measurement that this program judges by. It counts up whenever a sheet may be
/// judged otherwise than before; records tell what they were judged by.
pub const LAWS: u32 = 2;

/// The laws of a record that does not say.
fn first_laws() -> u32 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_first_laws(laws: &u32) -> bool {
    *laws == first_laws()
}

/// One event of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "event", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Event {
    /// The game was opened. Both files are kept as their authors wrote them.
    Opened {
        /// Version of the record's format: 1.
        format: u32,
        /// Version of the laws that the game was opened under; absent: 1.
        #[serde(default = "first_laws", skip_serializing_if = "is_first_laws")]
        laws: u32,
        /// The game's id: 16 bytes in hex.
        game: String,
        /// The ruleset file's text.
        ruleset: String,
        /// The scenario file's text.
        scenario: String,
        /// Commitment to the secret of the first player turn, in hex.
        commitment: String,
    },
    /// A player took the seat of a side.
    SeatTaken {
        /// The side.
        side: SideId,
        /// The name the player goes by.
        player: String,
    },
    /// A side changed its standing instructions; they stay sealed until the game ends.
    InstructionsChanged {
        /// The side.
        side: SideId,
        /// SHA-256 over the nonce and the canonical instructions, in hex.
        seal: String,
    },
    /// A turn sheet was accepted; moves are as its verdicts say.
    SheetAccepted {
        /// The sheet.
        sheet: TurnSheet,
        /// What was measured.
        verdict: SheetVerdict,
    },
    /// A unit came onto the table; its moves are already in its pose.
    Arrived {
        /// Who.
        unit: UnitId,
        /// Where it ended.
        pose: Pose,
    },
    /// A unit left the table over an exit.
    Left {
        /// Who.
        unit: UnitId,
        /// Points its side gets.
        points: f64,
    },
    /// A locked unit broke contact and paid for it.
    Withdrew {
        /// Who.
        unit: UnitId,
        /// The throw.
        throw: u32,
        /// Bases it lost.
        lost: u16,
    },
    /// A battle or gun fire was fought.
    BattleFought {
        /// Odds, dice and outcome.
        report: BattleReport,
    },
    /// Commanders were attacked with no troops beside them and are taken without a throw.
    CommandersAttacked {
        /// The battle's place among the sheet's orders, from 0.
        order: usize,
        /// Units that attacked.
        attackers: Vec<UnitId>,
        /// Guns that joined.
        guns: Vec<UnitId>,
        /// The commanders; their removal follows.
        commanders: Vec<UnitId>,
    },
    /// Guns that were to fire in a battle do not, though it is fought.
    GunsSilent {
        /// The battle's place among the sheet's orders, from 0.
        order: usize,
        /// Which guns.
        guns: Vec<UnitId>,
        /// Why, in words.
        why: String,
    },
    /// A declared battle came to nothing, because an earlier one moved or removed a party to it.
    BattleLapsed {
        /// Its place among the sheet's orders, from 0.
        order: usize,
        /// Why, in words.
        why: String,
    },
    /// Bases were lost.
    Lost {
        /// Who.
        unit: UnitId,
        /// How many bases.
        bases: u16,
    },
    /// A unit gave ground.
    FellBack {
        /// Who.
        unit: UnitId,
        /// Where it stood.
        from: Pose,
        /// Where it stands.
        to: Pose,
        /// How far off straight away it had to go, in degrees: clockwise, negative when counter-clockwise.
        turned_deg: f64,
        /// Friends it pushed, in the order they were pushed.
        pushed: Vec<Push>,
    },
    /// A unit was removed.
    Removed {
        /// Who.
        unit: UnitId,
        /// Why.
        cause: Cause,
    },
    /// A winner took the loser's former ground.
    FollowedUp {
        /// Who.
        unit: UnitId,
        /// Where it stood.
        from: Pose,
        /// Where it stands.
        to: Pose,
    },
    /// A unit was thrown into disorder or shed it.
    Disordered {
        /// Who.
        unit: UnitId,
        /// Own player turns it has to stand to shed it; 0: it is in order again.
        turns: u32,
    },
    /// The player turn is over: the secret is shown, the next one committed to.
    TurnClosed {
        /// What the waiting side's units were told, for those that were asked.
        asked: Vec<Standing>,
        /// How to check the throws.
        dice: DiceProof,
        /// Commitment to the secret of the next player turn, in hex.
        commitment: String,
        /// Who holds each objective now, by its place in the scenario.
        holders: Vec<Option<SideId>>,
    },
    /// The game is over.
    GameEnded {
        /// How.
        ending: Ending,
        /// The standing instructions of both sides in the order they were sealed, with their nonces, opened.
        opened: Vec<OpenedInstructions>,
    },
    /// An umpire moved a unit to where it should stand.
    PositionCorrected {
        /// Who.
        unit: UnitId,
        /// Where it stands now.
        to: Pose,
        /// Why.
        reason: String,
    },
    /// The game is played by the clock from here on.
    ClockSet {
        /// How it runs.
        clock: ClockRules,
    },
    /// Days of a side count by the calendar of this time zone from here on.
    ZoneSet {
        /// The side.
        side: SideId,
        /// The zone's name in the IANA database.
        zone: String,
    },
    /// A side takes leave: its clock stands on those days.
    LeaveTaken {
        /// The side.
        side: SideId,
        /// The first day, `YYYY-MM-DD`, in the zone that the side has then; it stays that day wherever they go.
        from: String,
        /// How many days.
        days: u16,
    },
    /// A side asks for a pause; when both have, the clock stands.
    PauseAsked {
        /// The side.
        side: SideId,
    },
    /// Every clock stands from here on.
    Paused {
        /// Who wanted it so, in words.
        why: String,
    },
    /// The clocks run again.
    Resumed {
        /// Who wanted it so, in words.
        why: String,
    },
    /// The umpire gave a side more time for the player turn it is in.
    DeadlineMoved {
        /// The side.
        side: SideId,
        /// Days more.
        days: u16,
        /// Why.
        reason: String,
    },
    /// The game goes on under other laws than before: the player turn that follows is the first under them.
    LawsChanged {
        /// Their version.
        laws: u32,
    },
    /// The player turn passes with units standing; what follows closes it as a sheet would.
    TurnPassed {
        /// Whose.
        side: SideId,
        /// Why.
        why: String,
    },
    /// A side claims the game because the other's time is out; the game's end follows.
    TimeClaimed {
        /// Who claims.
        side: SideId,
    },
    /// A side gives the battle up; the game's end follows.
    Conceded {
        /// Who gives up.
        side: SideId,
    },
    /// A player asks the umpire to look at something.
    DisputeRaised {
        /// Who asks.
        side: SideId,
        /// The event it is about, if it is about one.
        about: Option<u64>,
        /// What is disputed.
        text: String,
    },
    /// The umpire rules; a correction, more time, a pass or the game's end may follow.
    RulingGiven {
        /// The event it is about, if it is about one.
        about: Option<u64>,
        /// The ruling.
        text: String,
    },
}

impl Event {
    /// Whether nothing on the table and nobody's turn changes by it: a sheet written before it means the
    /// same after it.
    #[must_use]
    pub fn leaves_table_alone(&self) -> bool {
        matches!(
            self,
            Self::SeatTaken { .. }
                | Self::InstructionsChanged { .. }
                | Self::ClockSet { .. }
                | Self::ZoneSet { .. }
                | Self::LeaveTaken { .. }
                | Self::PauseAsked { .. }
                | Self::Paused { .. }
                | Self::Resumed { .. }
                | Self::DeadlineMoved { .. }
                | Self::DisputeRaised { .. }
                | Self::RulingGiven { .. }
        )
    }
}

/// What a waiting unit had been told when it was asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Standing {
    /// Who was asked.
    pub unit: UnitId,
    /// What it had been told.
    pub instruction: Instruction,
}

/// Sealed instructions, opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenedInstructions {
    /// Whose.
    pub side: SideId,
    /// The nonce of the seal, in hex.
    pub nonce: String,
    /// What was sealed.
    pub instructions: Instructions,
}

/// What the throws of one player turn were derived from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DiceProof {
    /// Number of the player turn in the game, from 1.
    pub player_turn: u64,
    /// The server's secret, in hex.
    pub secret: String,
    /// The player's own number, in hex.
    pub number: String,
    /// How many throws were made.
    pub throws: u32,
}

/// One friend pushed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Push {
    /// Who.
    pub unit: UnitId,
    /// Where it stood.
    pub from: Pose,
    /// Where it stands; absent: pushed off the table.
    pub to: Option<Pose>,
}

/// A battle as it was fought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BattleReport {
    /// Its place among the sheet's orders, from 0.
    pub order: usize,
    /// Units that attacked, supports included.
    pub attackers: Vec<UnitId>,
    /// Units attacked, supports included.
    pub defenders: Vec<UnitId>,
    /// Guns that bombarded.
    pub guns: Vec<UnitId>,
    /// Attacking strength, guns included.
    pub attack: f64,
    /// Defending strength after terrain.
    pub defence: f64,
    /// What multiplied or shifted, in words, each with its columns (0 for a multiplier).
    pub shifts: Vec<Shift>,
    /// The column by strength alone, as written in the ruleset.
    pub column_before_shifts: String,
    /// The column used.
    pub column: String,
    /// Number of the throw in this player turn, from 0.
    pub throw: u32,
    /// The dice as they fell.
    pub dice: Vec<u32>,
    /// Their total.
    pub total: u32,
    /// Name of the outcome in the ruleset.
    pub outcome: String,
}

/// One reason why strength or column changed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shift {
    /// Why, in words.
    pub why: String,
    /// Columns; positive favours the attacker.
    pub columns: i32,
    /// Factor on the defending strength; 1 when none.
    pub factor: f64,
}

/// Why a unit was removed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// It has no bases left.
    NoBasesLeft,
    /// A result eliminated it.
    Eliminated,
    /// Enemies on all sides: away points nowhere.
    Surrounded,
    /// Every direction of the fan was blocked.
    NoWayOpen,
    /// It fell back or was pushed off the table.
    OffTable,
    /// A commander had to fall back, or was attacked alone.
    CommanderTaken,
    /// It left over an exit.
    Exited,
}

/// The points of one side at the end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Score {
    /// The side.
    pub side: SideId,
    /// Points from enemy losses.
    pub losses: f64,
    /// Points from units that left over exits.
    pub exits: f64,
    /// Points from ground held.
    pub ground: f64,
    /// All together.
    pub total: f64,
}

/// How a game ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ending {
    /// The winner; absent: a draw.
    pub winner: Option<SideId>,
    /// Why it ended, in words.
    pub why: String,
    /// Points of both sides.
    pub scores: Vec<Score>,
}
