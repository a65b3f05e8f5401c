//! Standing instructions: sealed in the record, shown to their own side alone.

use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::{Instructions, SideId};
use fieldpost_rules::record::bodies::Seal;
use fieldpost_rules::record::{self, PostingKind};
use fieldpost_wire as wire;
use jiff::Timestamp;

use crate::key::random_bytes;
use crate::store::{Change, GameId, SealedInstructions, Seat, StoreError};

use super::act::Sent;
use super::append::{PostedEvents, PreparedAppend, prepare};
use super::caller::Player;
use super::{ATTEMPTS_MAX, Caller, FoldedGame, Service, ServiceError, ServiceResult};

/// Instructions a seat gives.
#[derive(Debug, Clone)]
pub struct GivenInstructions {
    /// The game.
    pub game: GameId,
    /// What the side lays down.
    pub instructions: Instructions,
    /// As it was sent.
    pub sent: Sent,
}

impl Service {
    /// The caller's own side's standing instructions, as far as they were sealed since the caller has the seat: whoever
    /// comes to a side reads none that others sealed before.
    ///
    /// # Errors
    /// When the caller has no seat in the game.
    pub async fn instructions(
        &self,
        caller: &Caller,
        game: GameId,
    ) -> ServiceResult<wire::OwnInstructions> {
        let player = caller.player_in(game)?;
        self.game_for(caller, game).await?;
        let folded = self.cache.folded(game).await?;
        let sealed = self.store.sealed(game).await?;
        own(&folded, &player, &sealed)
    }

    /// Lays down standing instructions for the caller's own side. Giving the same again changes nothing, unless
    /// somebody else has come to the side since they were sealed: then they are sealed anew, and open to that player too.
    ///
    /// # Errors
    /// When the caller has no seat in the game, a unit is not its side's, or the game is over.
    pub async fn instruct(
        &self,
        caller: &Caller,
        given: &GivenInstructions,
    ) -> ServiceResult<wire::OwnInstructions> {
        let player = caller.player_in(given.game)?;
        let body = record::canonical(&given.instructions)?;
        for _ in 0..ATTEMPTS_MAX {
            let folded = self.cache.folded(given.game).await?;
            if folded.game.ending().is_some() {
                return Err(ServiceError::GameOver);
            }
            must_be_own(&folded.game, &player.side, &given.instructions)?;
            let seats = self.store.seats(given.game).await?;
            let newest = newest_of_side(&seats, &player.side);
            let sealed = self.store.sealed(given.game).await?;
            let stored = latest(&folded, &player.side, &sealed);
            // Before that, to say that nothing changes would say that what a newcomer guesses is right.
            let open_to_all = stored.filter(|stored| stored.number > newest);
            if open_to_all.is_some_and(|stored| stored.body == body) {
                return own(&folded, &player, &sealed);
            }
            let prepared = seal(&player, given, &body, &folded, self.now())?;
            match self.append(&prepared.append).await {
                Err(StoreError::Overtaken) => {}
                Err(error) => return Err(error.into()),
                Ok(()) => return self.instructions(caller, given.game).await,
            }
        }
        Err(ServiceError::Busy)
    }
}

/// The event since which the newest of those who play a side has their seat.
fn newest_of_side(seats: &[Seat], side: &SideId) -> u64 {
    let held = seats.iter().filter(|seat| seat.player.is_some());
    let of_side = held.filter(|seat| seat.side() == Some(&side.0));
    of_side.map(|seat| seat.reads_after).max().unwrap_or(0)
}

fn seal(
    player: &Player<'_>,
    given: &GivenInstructions,
    body: &str,
    folded: &FoldedGame,
    at: Timestamp,
) -> ServiceResult<PreparedAppend> {
    let signed = given.sent.signature.as_ref();
    let nonce = match signed.map(|signed| signed.nonce) {
        None => random_bytes(),
        Some(Some(nonce)) => nonce,
        Some(None) => {
            let why = "it covers a seal, and no nonce was sent with it".to_owned();
            return Err(ServiceError::BadSignature { why });
        }
    };
    let seal = record::seal_of_instructions(&nonce, &given.instructions)?;
    let mut act = player.act(PostingKind::Instructions, &given.sent);
    if let Some(posting) = &mut act.posting {
        let seal = hex::encode(seal);
        posting.in_place_of_body = Some(serde_json::to_string(&Seal { seal })?);
    }
    let posted = act.posted(folded, at)?;
    let event = Event::InstructionsChanged {
        side: player.side.clone(),
        seal: hex::encode(seal),
    };
    let sealed = Change::Seal(SealedInstructions {
        number: folded.head.number + 1,
        side: player.side.0.clone(),
        nonce,
        body: body.to_owned(),
    });
    let whose = (given.game, player.by.clone());
    let events = vec![event];
    prepare(
        whose,
        folded,
        at,
        PostedEvents { events, posted },
        vec![sealed],
    )
}

fn must_be_own(game: &Game, side: &SideId, instructions: &Instructions) -> ServiceResult<()> {
    let side = game.side_index(side);
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

/// What a side has sealed last, unless it was cleared since.
fn latest<'s>(
    folded: &FoldedGame,
    side: &SideId,
    sealed: &'s [SealedInstructions],
) -> Option<&'s SealedInstructions> {
    let number = folded.record_state.last_seal(side)?;
    sealed.iter().find(|sealed| sealed.number == number)
}

/// What a seat may read of the instructions that its side has.
fn own(
    folded: &FoldedGame,
    player: &Player<'_>,
    sealed: &[SealedInstructions],
) -> ServiceResult<wire::OwnInstructions> {
    let head = folded.head.into();
    let Some(stored) = latest(folded, &player.side, sealed) else {
        return Ok(wire::OwnInstructions {
            instructions: Some(Instructions::default()),
            seal: None,
            head,
        });
    };
    let instructions: Instructions = serde_json::from_str(&stored.body).map_err(|error| {
        ServiceError::damaged(format!("instructions {}: {error}", stored.number))
    })?;
    let seal = record::seal_of_instructions(&stored.nonce, &instructions)?;
    Ok(wire::OwnInstructions {
        instructions: Some(instructions).filter(|_| stored.number > player.seat.reads_after),
        seal: Some(hex::encode(seal)),
        head,
    })
}
