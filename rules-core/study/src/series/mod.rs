//! Trials of rules and scenarios: automatic commanders of both sides fight a battle again and again.
//!
//! Battle `n` of a seed is the same wherever and in whatever order it is fought: all its chances follow
//! from the seed, its number and the turn. How it goes on many threads is therefore no matter here.

mod compare;
mod in_force;
mod laws;
mod report;
#[cfg(test)]
mod tests;
mod words;

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use fieldpost_commander::Chance;
use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Battlefield, Game, State};
use fieldpost_rules::referee::victory::{Manner, manner, scores};
use fieldpost_rules::referee::{Posting, breaking, play};
use fieldpost_rules::verdict::Code;

pub use compare::{Compared, Difference, compared};
pub use laws::{Law, Uses};
pub use report::{Ended, LawUse, Report, SideReport, Tallied, report};
pub use words::{compared_in_words, report_in_words};

/// One battle of a series, fought to its end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fought {
    /// Its number in the series, from 1.
    pub number: u64,
    /// The side that moved first, by its place among the scenario's sides.
    pub first: usize,
    /// The winner by its place among the scenario's sides; absent: a draw.
    pub winner: Option<usize>,
    /// What ended it.
    pub manner: Manner,
    /// Player turns that were played.
    pub player_turns: u64,
    /// The two sides.
    pub sides: [SideFought; 2],
    /// How often each law came to bear.
    pub laws: Uses,
    /// Battles fought in each column of the results table, after shifts.
    pub columns: Vec<u32>,
    /// How often each outcome of the results table came up.
    pub outcomes: BTreeMap<String, u32>,
    /// Orders that the commanders thought of and the referee would have refused, by their headlines.
    pub refused: BTreeMap<Code, u32>,
}

/// How one side came out of a battle.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct SideFought {
    /// Its points.
    pub points: f64,
    /// Share of its strength at the start that it lost.
    pub strength_lost: f64,
    /// Bases it lost, those of lost units included.
    pub bases_lost: u32,
    /// Units it lost, commanders included, those that left over an exit not.
    pub units_lost: u32,
    /// Units with strength on the table, summed over its player turns as they began.
    pub unit_turns: u32,
    /// Of those, how many were out of command.
    pub out_of_command: u32,
}

/// A battle that could not be fought to its end: no sheet was found for the side to move.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stuck {
    /// Its number in the series, from 1.
    pub number: u64,
    /// The player turn in which it stuck, from 1.
    pub player_turn: u64,
}

/// Fights battle `number` of a seed's series to its end.
///
/// # Errors
/// When an automatic commander finds no sheet that the referee would accept.
pub fn fight(field: &Arc<Battlefield>, seed: u64, number: u64) -> Result<Fought, Stuck> {
    let mut game = Game::new(Arc::clone(field));
    let mut before = Chance::of(&[seed, number, 0]);
    let standing = [(); 2].map(|()| fieldpost_commander::instructions(&mut before));
    let mut tally = laws::Tally::of(&game);
    while game.ending().is_none() {
        let player_turn = game.player_turn();
        let stuck = || Stuck {
            number,
            player_turn,
        };
        let mut chance = Chance::of(&[seed, number, player_turn]);
        let (secret, own_number) = (chance.bytes(), chance.bytes());
        let drafted = fieldpost_commander::draft(&game, &mut chance).ok_or_else(stuck)?;
        tally.turn_begins(&game, &drafted.refused);
        let game_id = [0; 16];
        let posting = Posting {
            sheet: &drafted.sheet,
            standing: &standing[1 - game.player()],
            game_id,
            attempt: FIRST_ATTEMPT,
            secret,
            number: own_number,
            next_commitment: commitment(&game_id, player_turn + 1, FIRST_ATTEMPT, &secret),
            sealed: &[],
        };
        let events = play(&game, &posting).map_err(|_| stuck())?;
        for event in events {
            game.apply(&event);
            tally.happened(&game, &event);
        }
    }
    Ok(tally.fought(&game, number))
}

/// A battle in which the scenario's second side moves first.
#[derive(Debug, Clone)]
pub struct OtherWayRound(Arc<Battlefield>);

impl OtherWayRound {
    /// The same battle with its sides the other way round.
    #[must_use]
    pub fn of(field: &Battlefield) -> Self {
        let mut field = field.clone();
        // The first of a scenario's sides is the one that moves first; everything else goes by keys.
        field.scenario.side.reverse();
        Self(Arc::new(field))
    }

    /// As [`fight`], told by the places that the sides have in the scenario.
    ///
    /// # Errors
    /// As [`fight`].
    pub fn fight(&self, seed: u64, number: u64) -> Result<Fought, Stuck> {
        let mut fought = fight(&self.0, seed, number)?;
        fought.first = 1 - fought.first;
        fought.winner = fought.winner.map(|side| 1 - side);
        fought.sides.reverse();
        Ok(fought)
    }
}

/// How a side stands when all is over.
fn side_fought(game: &Game, side: usize, in_command: laws::CommandKept) -> SideFought {
    let (mut bases_lost, mut units_lost) = (0, 0);
    for unit in game.units().filter(|unit| unit.side == side) {
        let exited = unit.state == State::Gone(fieldpost_rules::game::Cause::Exited);
        let gone = matches!(unit.state, State::Gone(_)) && !exited;
        units_lost += u32::from(gone);
        let left = if gone { 0 } else { unit.bases };
        bases_lost += u32::from(unit.bases_at_start.saturating_sub(left));
    }
    SideFought {
        points: scores(game)[side].total,
        strength_lost: breaking::share_lost(game, side),
        bases_lost,
        units_lost,
        unit_turns: in_command.unit_turns,
        out_of_command: in_command.out_of_command,
    }
}

/// What ended a battle that is over.
fn manner_of(game: &Game) -> Manner {
    manner(game).unwrap_or(Manner::LastTurn)
}
