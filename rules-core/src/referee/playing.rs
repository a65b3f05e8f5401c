//! A whole player turn played: every event from the sheet's acceptance to the turn's end.

use crate::dice::{Bytes32, Seeds, Throws, first_form};
use crate::game::{Cause, DiceProof, Ending, Event, Game, LAWS, OpenedInstructions, Standing};
use crate::interruption::{Interrupted, Interruption};
use crate::orders::{Order, SideId, TurnSheet};
use crate::record;
use crate::verdict::{MoveVerdict, Ruling, SheetVerdict};

use super::turn::{judge, judge_unless};
use super::{Posting, battles, disorder, exits, victory, withdrawal};

/// What [`play`] answers.
pub type Played = Result<Vec<Event>, Box<SheetVerdict>>;

/// Plays a posted sheet: every event from its acceptance to the end of the player turn. In a game that was
/// played under other laws so far, an event that says so comes first.
///
/// # Errors
/// The verdict, when anything in the sheet is refused; nothing has happened then.
pub fn play(game: &Game, posting: &Posting<'_>) -> Played {
    let (verdict, _) = judge(game, posting.sheet);
    play_judged(game, posting, verdict, throws(game, posting))
}

/// Plays a posted sheet unless its judging is interrupted; what follows then is short, and done to its end.
///
/// # Errors
/// When it was interrupted.
pub fn play_unless(
    game: &Game,
    posting: &Posting<'_>,
    interruption: &Interruption,
) -> Result<Played, Interrupted> {
    let (verdict, _) = judge_unless(game, posting.sheet, interruption)?;
    Ok(play_judged(game, posting, verdict, throws(game, posting)))
}

/// Plays a sheet of a record whose throws are of the first form: they depend on the hash of the entry before it.
///
/// # Errors
/// As [`play`].
pub(crate) fn play_in_first_form(
    game: &Game,
    posting: &Posting<'_>,
    previous_hash: &Bytes32,
) -> Played {
    // A sheet that was judged has only finite numbers, so it has a canonical form.
    let sheet = record::canonical(posting.sheet).unwrap_or_default();
    let throws = first_form::throws(&first_form::Seeds {
        game: &posting.game_id,
        player_turn: game.player_turn(),
        previous_hash,
        canonical_sheet: sheet.as_bytes(),
        secret: &posting.secret,
        number: &posting.number,
    });
    let (verdict, _) = judge(game, posting.sheet);
    play_judged(game, posting, verdict, throws)
}

fn throws(game: &Game, posting: &Posting<'_>) -> Throws {
    Throws::new(&Seeds {
        game: &posting.game_id,
        player_turn: game.player_turn(),
        attempt: posting.attempt,
        secret: &posting.secret,
        number: &posting.number,
    })
}

fn play_judged(
    game: &Game,
    posting: &Posting<'_>,
    verdict: SheetVerdict,
    mut throws: Throws,
) -> Played {
    if verdict.verdict == Ruling::Refused {
        return Err(Box::new(verdict));
    }
    let mut turn = Playing {
        game: game.clone(),
        events: Vec::new(),
    };
    let arrived = arrivals_of(posting.sheet, &verdict);
    turn.come_under_these_laws();
    turn.happen(Event::SheetAccepted {
        sheet: posting.sheet.clone(),
        verdict,
    });
    for event in arrived {
        turn.happen(event);
    }
    turn.withdraw(posting.sheet, &mut throws);
    turn.leave(posting.sheet);
    let fought = battles::fight(&mut turn.game, posting.sheet, posting.standing, &mut throws);
    turn.events.extend(fought.events);
    turn.close(
        fought.asked,
        &Closing {
            attempt: throws.counted().is_none().then_some(posting.attempt),
            secret: posting.secret,
            number: posting.number,
            next_commitment: posting.next_commitment,
            sealed: posting.sealed,
        },
        throws.counted(),
    );
    Ok(turn.events)
}

/// What closes a player turn, whoever played it.
#[derive(Debug, Clone)]
pub struct Closing<'a> {
    /// Attempt at this player turn, from [`FIRST_ATTEMPT`](crate::dice::FIRST_ATTEMPT); absent in records whose throws
    /// are of the first form.
    pub attempt: Option<u32>,
    /// The server's secret for this player turn.
    pub secret: Bytes32,
    /// The poster's own number; zeros when nobody posted.
    pub number: Bytes32,
    /// Commitment to the secret of the next player turn.
    pub next_commitment: Bytes32,
    /// Everything sealed so far, shown if the game ends.
    pub sealed: &'a [OpenedInstructions],
}

/// Passes a player turn with units standing: nobody moves, nobody is held to an attack, nothing is thrown.
/// Nothing happens when the game is over.
#[must_use]
pub fn pass(game: &Game, why: &str, closing: &Closing<'_>) -> Vec<Event> {
    let mut turn = Playing {
        game: game.clone(),
        events: Vec::new(),
    };
    if game.ending().is_none() {
        turn.come_under_these_laws();
        turn.happen(Event::TurnPassed {
            side: game.player_side(),
            why: why.to_owned(),
        });
        let counted = closing.attempt.is_none().then_some(0);
        turn.close(Vec::new(), closing, counted);
    }
    turn.events
}

/// The event that ends a game which neither points nor losses have ended: a claim, a side that gives
/// up, or an umpire's ruling, which must stand before it in the record.
#[must_use]
pub fn stop(
    game: &Game,
    winner: Option<SideId>,
    why: &str,
    sealed: &[OpenedInstructions],
) -> Event {
    Event::GameEnded {
        ending: Ending {
            winner,
            why: why.to_owned(),
            scores: victory::scores(game).to_vec(),
        },
        opened: sealed.to_vec(),
    }
}

/// A player turn being played: every event is applied as it is made.
struct Playing {
    game: Game,
    events: Vec<Event>,
}

impl Playing {
    fn happen(&mut self, event: Event) {
        self.game.apply(&event);
        self.events.push(event);
    }

    /// What is played from here on is judged by the laws of this program, and the record says so.
    fn come_under_these_laws(&mut self) {
        if self.game.laws() != LAWS {
            self.happen(Event::LawsChanged { laws: LAWS });
        }
    }

    fn close(&mut self, asked: Vec<Standing>, closing: &Closing<'_>, throws: Option<u32>) {
        for event in disorder::recovered(&self.game) {
            self.happen(event);
        }
        let dice = DiceProof {
            player_turn: self.game.player_turn(),
            attempt: closing.attempt,
            secret: hex::encode(closing.secret),
            number: hex::encode(closing.number),
            throws,
        };
        let holders = victory::holders(&self.game);
        self.happen(Event::TurnClosed {
            asked,
            dice,
            commitment: hex::encode(closing.next_commitment),
            holders,
        });
        if let Some(ending) = victory::ending(&self.game, true) {
            let opened = closing.sealed.to_vec();
            self.happen(Event::GameEnded { ending, opened });
        }
    }

    fn withdraw(&mut self, sheet: &TurnSheet, throws: &mut Throws) {
        for order in &sheet.orders {
            let Order::Withdraw { unit, .. } = order else {
                continue;
            };
            if let Some(event) = withdrawal::price(&self.game, unit, throws) {
                self.happen(event);
            }
            let spent = self.game.unit(unit).is_some_and(|unit| unit.bases == 0);
            if spent {
                self.happen(Event::Removed {
                    unit: unit.clone(),
                    cause: Cause::NoBasesLeft,
                });
            }
        }
    }

    fn leave(&mut self, sheet: &TurnSheet) {
        for order in &sheet.orders {
            let Order::Leave { unit } = order else {
                continue;
            };
            let points = exits::points(&self.game, unit);
            self.happen(Event::Left {
                unit: unit.clone(),
                points,
            });
        }
    }
}

fn arrivals_of(sheet: &TurnSheet, verdict: &SheetVerdict) -> Vec<Event> {
    let arrives =
        |moved: &&MoveVerdict| matches!(sheet.orders.get(moved.order), Some(Order::Arrive { .. }));
    verdict
        .moves
        .iter()
        .filter(arrives)
        .filter_map(|moved| {
            Some(Event::Arrived {
                unit: moved.unit.clone(),
                pose: moved.end_pose?,
            })
        })
        .collect()
}
