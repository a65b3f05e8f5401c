//! What can happen in a game. Events are appended and never changed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Pose;
use crate::orders::{Instruction, Instructions, SideId, TurnSheet, UnitId};
use crate::verdict::SheetVerdict;

use super::ClockRules;

/// Version of the laws of measurement that this program judges by. It counts up whenever a sheet may be
/// judged otherwise than before; records tell what they were judged by.
pub const LAWS: u32 = 3;

/// Version of the format that this program writes records in. Those of format 1 have throws of the first form and
/// neither postings as they were sent nor keys.
pub const FORMAT: u32 = 2;

/// The laws of a record that does not say.
fn first_laws() -> u32 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_first_laws(laws: &u32) -> bool {
    *laws == first_laws()
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_false(flag: &bool) -> bool {
    !flag
}

/// One event of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "event", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Event {
    /// The game was opened. Both files are kept as their authors wrote them.
    Opened {
        /// Version of the record's format: [`FORMAT`], or 1 of those begun before.
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
        /// Whether whatever a seat does must be signed; absent: it need not be.
        #[serde(default, skip_serializing_if = "is_false")]
        signed: bool,
    },
    /// A player took a seat of a side.
    SeatTaken {
        /// The side.
        side: SideId,
        /// The name the player goes by.
        player: String,
        /// Id of the seat; absent in records of format 1 and in battles fought at home.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<String>,
        /// Public key of the player's first device, in hex; absent when they sign nothing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<String>,
    },
    /// Somebody took the umpire's seat.
    UmpireSeated {
        /// Id of the seat; the organiser, who may rule without one, is `organiser`.
        seat: String,
        /// The name they go by.
        player: String,
        /// Public key of their first device, in hex; absent when they sign nothing.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        key: Option<String>,
    },
    /// A side agrees that somebody who plays on the other rules as well.
    UmpireAccepted {
        /// The side that agrees.
        side: SideId,
        /// Id of the seat from which is ruled.
        seat: String,
    },
    /// A seat is free again; its keys sign nothing from here on.
    SeatFreed {
        /// Id of the seat.
        seat: String,
    },
    /// A seat has another key, on the word of one it had.
    KeyAdded {
        /// Id of the seat.
        seat: String,
        /// The new public key, in hex.
        key: String,
    },
    /// A key of a seat signs nothing from here on.
    KeyRemoved {
        /// Id of the seat.
        seat: String,
        /// The public key, in hex.
        key: String,
    },
    /// A seat that lost its keys is to have this one in their place, on the organiser's word alone: in force when
    /// the other side countersigns, or after three days.
    KeyReplaced {
        /// Id of the seat.
        seat: String,
        /// The new public key, in hex.
        key: String,
        /// Why, in words.
        reason: String,
    },
    /// The other side believes that a replaced key is its player's.
    KeyCountersigned {
        /// The side that countersigns.
        side: SideId,
        /// Id of the seat whose key was replaced.
        seat: String,
        /// The new public key, in hex.
        key: String,
    },
    /// The secret of the player turn to come is shown unused, and another takes its place: whoever had shown a number
    /// can work out what was thrown away.
    SecretsRenewed {
        /// Number of the player turn, from 1.
        player_turn: u64,
        /// Attempt at it that begins.
        attempt: u32,
        /// The secret that is shown, in hex.
        secret: String,
        /// Commitment to the secret of the attempt that begins, in hex.
        commitment: String,
        /// Why, in words.
        why: String,
    },
    /// Standing instructions of a side count no more, for nobody is left who gave them.
    InstructionsCleared {
        /// The side.
        side: SideId,
        /// Why, in words.
        why: String,
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
                | Self::UmpireSeated { .. }
                | Self::UmpireAccepted { .. }
                | Self::SeatFreed { .. }
                | Self::KeyAdded { .. }
                | Self::KeyRemoved { .. }
                | Self::KeyReplaced { .. }
                | Self::KeyCountersigned { .. }
                | Self::SecretsRenewed { .. }
                | Self::InstructionsCleared { .. }
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

impl Event {
    /// Whether a posting written before it is stale: it changes the table, whose turn it is, a clock, or the secret
    /// that throws come from. Seats, seals, disputes and rulings that do nothing leave every posting as good as it was.
    #[must_use]
    pub fn makes_stale(&self) -> bool {
        !matches!(
            self,
            Self::SeatTaken { .. }
                | Self::UmpireSeated { .. }
                | Self::UmpireAccepted { .. }
                | Self::SeatFreed { .. }
                | Self::KeyAdded { .. }
                | Self::KeyRemoved { .. }
                | Self::KeyReplaced { .. }
                | Self::KeyCountersigned { .. }
                | Self::InstructionsCleared { .. }
                | Self::InstructionsChanged { .. }
                | Self::PauseAsked { .. }
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
    /// Attempt at that player turn, from 1; absent for throws of the first form.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attempt: Option<u32>,
    /// The server's secret, in hex.
    pub secret: String,
    /// The player's own number, in hex.
    pub number: String,
    /// How many throws were made, in the first form; absent since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub throws: Option<u32>,
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
    /// Number of the throw in this player turn from 0, in the first form; absent since, for throws have labels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub throw: Option<u32>,
    /// The dice as they fell.
    pub dice: Vec<u32>,
    /// Their total.
    pub total: u32,
    /// Name of the outcome in the ruleset.
    pub outcome: String,
}

impl BattleReport {
    /// Label of its throw: what the dice of the second form are derived for.
    #[must_use]
    pub fn label(order: usize) -> String {
        format!("battle {}", order + 1)
    }
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
