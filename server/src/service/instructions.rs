//! Standing instructions: sealed in the record, shown to their own side alone.

use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{Instructions, SideId};
use fieldpost_rules::record;
use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Change, GameId, Head, SealedInstructions, StoreError};

use super::append::{PreparedAppend, prepare};
use super::{ATTEMPTS_MAX, Caller, FoldedGame, Service, ServiceError, ServiceResult};

/// Instructions a seat gives.
#[derive(Debug, Clone)]
pub struct GivenInstructions {
    /// The game.
    pub game: GameId,
    /// What the side lays down.
    pub instructions: Instructions,
}

impl Service {
    /// The caller's own side's standing instructions.
    ///
    /// # Errors
    /// When the caller has no seat in the game.
    pub async fn instructions(
        &self,
        caller: &Caller,
        game: GameId,
    ) -> ServiceResult<wire::OwnInstructions> {
        let (_, _, side) = caller.player_in(game)?;
        let stored_game = self.game_for(caller, game).await?;
        let stored = self.latest(game, side).await?;
        own(stored, stored_game.head)
    }

    /// Lays down standing instructions for the caller's own side. Giving the same again changes nothing.
    ///
    /// # Errors
    /// When the caller has no seat in the game, a unit is not its side's, or the game is over.
    pub async fn instruct(
        &self,
        caller: &Caller,
        given: &GivenInstructions,
    ) -> ServiceResult<wire::OwnInstructions> {
        let (_, _, side) = caller.player_in(given.game)?;
        let body = record::canonical(&given.instructions)?;
        for _ in 0..ATTEMPTS_MAX {
            let folded = self.cache.folded(given.game).await?;
            if folded.game.ending().is_some() {
                return Err(ServiceError::GameOver);
            }
            must_be_own(&folded.game, side, &given.instructions)?;
            let stored = self.latest(given.game, side).await?;
            if stored.as_ref().is_some_and(|stored| stored.body == body) {
                return own(stored, folded.head);
            }
            let prepared = seal(side, given, &body, &folded, self.now())?;
            match self.append(&prepared.append).await {
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => return self.instructions(caller, given.game).await,
            }
        }
        Err(ServiceError::Busy)
    }

    async fn latest(&self, game: GameId, side: &str) -> ServiceResult<Option<SealedInstructions>> {
        let all = self.store.sealed(game).await?;
        Ok(all.into_iter().rev().find(|sealed| sealed.side == side))
    }
}

fn seal(
    side: &str,
    given: &GivenInstructions,
    body: &str,
    folded: &FoldedGame,
    at: Timestamp,
) -> ServiceResult<PreparedAppend> {
    let nonce = random_bytes();
    let seal = record::seal_of_instructions(&nonce, &given.instructions)?;
    let event = Event::InstructionsChanged {
        side: SideId(side.to_owned()),
        seal: hex::encode(seal),
    };
    let sealed = Change::Seal(SealedInstructions {
        number: folded.head.number + 1,
        side: side.to_owned(),
        nonce,
        body: body.to_owned(),
    });
    prepare(given.game, folded, at, vec![event], vec![sealed])
}

fn must_be_own(game: &Game, side: &str, instructions: &Instructions) -> ServiceResult<()> {
    let side = game.side_index(&SideId(side.to_owned()));
    for id in instructions.units.keys() {
        let why = match game.unit(id) {
            None => "there is no such unit",
            Some(unit) if Some(unit.side) != side => "it belongs to the other side",
            Some(_) => continue,
        };
        return Err(ServiceError::BadInstructions {
            unit: id.0.clone(),
            why,
        });
    }
    Ok(())
}

fn own(stored: Option<SealedInstructions>, head: Head) -> ServiceResult<wire::OwnInstructions> {
    let (instructions, seal) = match stored {
        None => (Instructions::default(), None),
        Some(stored) => {
            let instructions = serde_json::from_str(&stored.body).map_err(|error| {
                ServiceError::damaged(format!("instructions {}: {error}", stored.number))
            })?;
            let seal = record::seal_of_instructions(&stored.nonce, &instructions)?;
            (instructions, Some(hex::encode(seal)))
        }
    };
    Ok(wire::OwnInstructions {
        instructions,
        seal,
        head: head.into(),
    })
}
