//! Trying a turn sheet without posting it.

use std::time::Instant;

use fieldpost_rules::interruption::{Interrupted, Interruption};
use fieldpost_rules::orders::{TurnSheet, print, text};
use fieldpost_rules::referee;
use fieldpost_view::words;
use fieldpost_wire as wire;

use crate::measuring::Asker;
use crate::rendering;
use crate::store::{GameId, Head};

use super::{Caller, Credentials, FoldedGame, Service, ServiceError, ServiceResult};

/// The longest answer to a check, and the longest verdict that is stored, in bytes.
pub(super) const ANSWER_BYTES_MAX: usize = 8 * 1024 * 1024;

/// A sheet to be tried.
#[derive(Debug, Clone)]
pub enum Tried {
    /// As data.
    Data(TurnSheet),
    /// As it was typed.
    Text(String),
}

/// How the answer is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A [`wire::Checked`] as JSON.
    Data,
    /// The verdicts with their ledgers in words.
    Words,
    /// The table with the verdict on one order drawn on it.
    Drawing {
        /// Which, counted from 0.
        order: usize,
    },
}

/// What a check is answered with.
#[derive(Debug, Clone)]
pub struct Tested {
    /// The entry of the record after which it was measured.
    pub head: Head,
    /// As it was wanted, in UTF-8.
    pub body: Vec<u8>,
}

impl Service {
    /// Who calls to have a sheet measured. It counts for the checks of their key, and not for its requests.
    ///
    /// # Errors
    /// [`ServiceError::WrongKey`]; [`ServiceError::TooManyChecks`] of this key.
    pub async fn authenticate_check(
        &self,
        credentials: &Credentials,
        game: GameId,
    ) -> ServiceResult<Caller> {
        let caller = self.identify(credentials, Some(game)).await?;
        if let Caller::Holder(holder) = &caller {
            let counted = self.check_limiter.take(holder.key.clone(), Instant::now());
            counted.map_err(|wait| ServiceError::TooManyChecks { wait })?;
        }
        Ok(caller)
    }

    /// Tries a sheet without posting it.
    ///
    /// # Errors
    /// When the caller has no part in the game, the sheet cannot be read or holds too much, or there is no time for it.
    pub async fn check(
        &self,
        caller: &Caller,
        game: GameId,
        tried: Tried,
        wanted: Wanted,
    ) -> ServiceResult<Tested> {
        self.game_for(caller, game).await?;
        caller.may_check(game)?;
        let asker = Asker::Key(caller.holder()?.key.clone());
        let folded = self.cache.folded(game).await?;
        if let Tried::Data(sheet) = &tried {
            must_fit(&folded, sheet)?;
        }
        let head = folded.head;
        let answer = self.measure(asker, move |interruption| {
            let sheet = match tried {
                Tried::Data(sheet) => sheet,
                Tried::Text(text) => {
                    match text::parse_unless("sheet", &text, &folded.game, interruption)? {
                        Ok(sheet) => sheet,
                        Err(faults) => return Ok(Err(ServiceError::UnreadableSheet(faults))),
                    }
                }
            };
            answer(&folded, sheet, wanted, interruption)
        });
        let body = answer.await??;
        must_be_short(body.len())?;
        Ok(Tested { head, body })
    }
}

/// Refuses a sheet that holds more than its side's units can do.
pub(super) fn must_fit(folded: &FoldedGame, sheet: &TurnSheet) -> ServiceResult<()> {
    let bounds = folded.game.sheet_bounds(&sheet.side);
    bounds.check(sheet).map_err(ServiceError::SheetTooLong)
}

/// Refuses a sheet whose verdict is too long to be sent or stored.
pub(super) fn must_be_short(bytes: usize) -> ServiceResult<()> {
    match bytes <= ANSWER_BYTES_MAX {
        true => Ok(()),
        false => Err(ServiceError::VerdictTooLong {
            bytes,
            most: ANSWER_BYTES_MAX,
        }),
    }
}

fn answer(
    folded: &FoldedGame,
    sheet: TurnSheet,
    wanted: Wanted,
    interruption: &Interruption,
) -> Result<ServiceResult<Vec<u8>>, Interrupted> {
    let game = &folded.game;
    let verdict = referee::judge_sheet_unless(game, &sheet, interruption)?;
    Ok(match wanted {
        Wanted::Words => Ok(words::sheet_verdict(&verdict, game).into_bytes()),
        Wanted::Drawing { order } => rendering::verdict_svg(game, &sheet, &verdict, order)
            .map(String::into_bytes)
            .ok_or(ServiceError::NoSuchOrder(order)),
        Wanted::Data => {
            let words = words::sheet_verdict(&verdict, game);
            if interruption.is_due() {
                return Err(Interrupted);
            }
            let checked = wire::Checked {
                head: folded.head.into(),
                words,
                typed: print::sheet(&sheet),
                sheet,
                verdict,
            };
            serde_json::to_vec(&checked).map_err(ServiceError::from)
        }
    })
}
