//! Questions about a draft and about the table, asked while somebody writes a turn by hand.

use fieldpost_rules::game::Game;
use fieldpost_rules::interruption::{Interrupted, Interruption};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::{self, stakes, victory};
use fieldpost_view::measure_words;
use fieldpost_wire as wire;
use serde::Serialize;

use crate::measuring::Asker;
use crate::store::GameId;

use super::checking::{Tested, must_be_short, must_fit};
use super::{Caller, FoldedGame, Service, ServiceError, ServiceResult};

impl Service {
    /// One order of a draft, measured after those before it: a [`wire::TriedOrder`] as JSON.
    ///
    /// # Errors
    /// When the caller has no part in the game, the sheet holds too much, its order moves nobody, or there is no time.
    pub async fn try_order(
        &self,
        caller: &Caller,
        game: GameId,
        requested: wire::TryOrder,
    ) -> ServiceResult<Tested> {
        self.game_for(caller, game).await?;
        caller.may_check(game)?;
        let asker = Asker::Key(caller.holder()?.key.clone());
        let folded = self.cache.folded(game).await?;
        must_fit(&folded, &requested.sheet)?;
        self.answer(asker, folded, move |folded, interruption| {
            let wire::TryOrder { sheet, order } = &requested;
            let verdict =
                referee::judge_order_unless(&folded.game, sheet, *order, interruption)?;
            if verdict.moves.is_empty() && verdict.reasons.is_empty() {
                return Ok(Err(ServiceError::Unfit(format!(
                    "Order {order} of this sheet, counted from 0, moves nobody. Battles are measured together, with the whole sheet."
                ))));
            }
            Ok(Ok(wire::TriedOrder {
                head: folded.head.into(),
                verdict,
            }))
        })
        .await
    }

    /// What a tape would say between two units: a [`wire::Measured`] as JSON.
    ///
    /// # Errors
    /// When the caller may not read the game or draft in it, a unit is not on the table, or there is no time.
    pub async fn measure_units(
        &self,
        caller: &Caller,
        asker: Asker,
        game: GameId,
        requested: wire::MeasureUnits,
    ) -> ServiceResult<Tested> {
        let folded = self
            .folded_for_draft(caller, game, requested.sheet.as_ref())
            .await?;
        self.answer(asker, folded, move |folded, interruption| {
            let table = drafted(folded, requested.sheet.as_ref(), interruption)?;
            let measured = referee::measure(&table, &requested.first, &requested.second);
            Ok(measured
                .map(|measurement| wire::Measured {
                    head: folded.head.into(),
                    words: measure_words::measurement(&measurement).join("\n"),
                    measurement,
                })
                .map_err(|fault| ServiceError::Unfit(format!("{fault}."))))
        })
        .await
    }

    /// The ground that a unit can reach in one turn: a [`wire::InReach`] as JSON.
    ///
    /// # Errors
    /// As [`Self::measure_units`].
    pub async fn reach_of(
        &self,
        caller: &Caller,
        asker: Asker,
        game: GameId,
        requested: wire::AskReach,
    ) -> ServiceResult<Tested> {
        let folded = self
            .folded_for_draft(caller, game, requested.sheet.as_ref())
            .await?;
        self.answer(asker, folded, move |folded, interruption| {
            let table = drafted(folded, requested.sheet.as_ref(), interruption)?;
            Ok(referee::reach(&table, &requested.unit)
                .map(|reach| wire::InReach {
                    head: folded.head.into(),
                    reach,
                })
                .map_err(|fault| ServiceError::Unfit(format!("{fault}."))))
        })
        .await
    }

    /// The points of both sides as they would be counted now.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn score(&self, caller: &Caller, game: GameId) -> ServiceResult<wire::Scores> {
        let folded = self.folded(caller, game).await?;
        let last = folded.game.scenario().game_turns;
        Ok(wire::Scores {
            head: folded.head.into(),
            scores: victory::scores(&folded.game).into(),
            stakes: stakes::stakes(&folded.game),
            must_attack: stakes::must_attack(&folded.game),
            turns_left: last.saturating_sub(folded.game.game_turn()),
        })
    }

    /// The game as the caller sees it; with a draft only for those who may have sheets measured.
    async fn folded_for_draft(
        &self,
        caller: &Caller,
        game: GameId,
        sheet: Option<&TurnSheet>,
    ) -> ServiceResult<FoldedGame> {
        let folded = self.folded(caller, game).await?;
        if let Some(sheet) = sheet {
            caller.may_check(game)?;
            must_fit(&folded, sheet)?;
        }
        Ok(folded)
    }

    /// Measures in the asker's turn, and writes the answer as JSON there.
    async fn answer<T: Serialize>(
        &self,
        asker: Asker,
        folded: FoldedGame,
        work: impl FnOnce(&FoldedGame, &Interruption) -> Result<ServiceResult<T>, Interrupted>
        + Send
        + 'static,
    ) -> ServiceResult<Tested> {
        let head = folded.head;
        let written = self.measure(asker, move |interruption| {
            let answer = work(&folded, interruption)?;
            Ok(answer.and_then(|answer| Ok(serde_json::to_vec(&answer)?)))
        });
        let body = written.await??;
        must_be_short(body.len())?;
        Ok(Tested { head, body })
    }
}

/// The table after a draft's moves; as it stands without one.
fn drafted(
    folded: &FoldedGame,
    sheet: Option<&TurnSheet>,
    interruption: &Interruption,
) -> Result<Game, Interrupted> {
    match sheet {
        Some(sheet) => referee::table_after_draft_unless(&folded.game, sheet, interruption),
        None => Ok(Game::clone(&folded.game)),
    }
}
