//! Standing instructions: sealed in the record, shown to their own side alone.

use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{Instructions, SideId};
use fieldpost_rules::record;
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Change, GameId, Head, SealedInstructions, StoreError};
use fieldpost_wire as wire;

use super::appending::{Appending, appending};
use super::{Caller, Failure, Folded, Office, Outcome, TRIES};

/// Instructions a seat gives.
#[derive(Debug, Clone)]
pub struct GivenInstructions {
    /// The game.
    pub game: GameId,
    /// What the side lays down.
    pub instructions: Instructions,
}

impl Office {
    /// The caller's own side's standing instructions.
    ///
    /// # Errors
    /// When the caller has no seat in the game.
    pub async fn instructions(
        &self,
        caller: &Caller,
        game: GameId,
    ) -> Outcome<wire::OwnInstructions> {
        let (_, _, side) = caller.player_in(game)?;
        let card = self.card_for(caller, game).await?;
        let kept = self.latest(game, side).await?;
        own(kept, card.head)
    }

    /// Lays down standing instructions for the caller's own side. Giving the same again changes nothing.
    ///
    /// # Errors
    /// When the caller has no seat in the game, a unit is not its side's, or the game is over.
    pub async fn instruct(
        &self,
        caller: &Caller,
        given: &GivenInstructions,
    ) -> Outcome<wire::OwnInstructions> {
        let (_, _, side) = caller.player_in(given.game)?;
        let body = record::canonical(&given.instructions).map_err(Failure::unwritable)?;
        for _ in 0..TRIES {
            let folded = self.desk.folded(given.game).await?;
            if folded.game.ending().is_some() {
                return Err(Failure::GameOver);
            }
            must_be_own(&folded.game, side, &given.instructions)?;
            let kept = self.latest(given.game, side).await?;
            if kept.as_ref().is_some_and(|kept| kept.body == body) {
                return own(kept, folded.head);
            }
            let appending = seal(side, given, &body, &folded, self.now())?;
            match self.store.append(&appending.append).await {
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => return self.instructions(caller, given.game).await,
            }
        }
        Err(Failure::Busy)
    }

    async fn latest(&self, game: GameId, side: &str) -> Outcome<Option<SealedInstructions>> {
        let all = self.store.sealed(game).await?;
        Ok(all.into_iter().rev().find(|sealed| sealed.side == side))
    }
}

fn seal(
    side: &str,
    given: &GivenInstructions,
    body: &str,
    folded: &Folded,
    at: Timestamp,
) -> Outcome<Appending> {
    let nonce = random_bytes();
    let seal =
        record::seal_of_instructions(&nonce, &given.instructions).map_err(Failure::unwritable)?;
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
    appending(given.game, folded, at, vec![event], vec![sealed])
}

fn must_be_own(game: &Game, side: &str, instructions: &Instructions) -> Outcome<()> {
    let side = game.side_index(&SideId(side.to_owned()));
    for id in instructions.units.keys() {
        let why = match game.unit(id) {
            None => "there is no such unit",
            Some(unit) if Some(unit.side) != side => "it belongs to the other side",
            Some(_) => continue,
        };
        return Err(Failure::BadInstructions {
            unit: id.0.clone(),
            why,
        });
    }
    Ok(())
}

fn own(kept: Option<SealedInstructions>, head: Head) -> Outcome<wire::OwnInstructions> {
    let (instructions, seal) = match kept {
        None => (Instructions::default(), None),
        Some(kept) => {
            let instructions = serde_json::from_str(&kept.body).map_err(|error| {
                Failure::damaged(format!("instructions {}: {error}", kept.number))
            })?;
            let seal = record::seal_of_instructions(&kept.nonce, &instructions)
                .map_err(Failure::unwritable)?;
            (instructions, Some(hex::encode(seal)))
        }
    };
    Ok(wire::OwnInstructions {
        instructions,
        seal,
        head: head.into(),
    })
}
