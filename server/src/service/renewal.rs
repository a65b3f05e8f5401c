//! Renewing the secrets behind the dice, by an event that everybody sees: after going back to a copy, whoever saw the games
//! go on beyond it knows secrets that are still to be used.

use crate::store::{GameId, Readers};

use super::act::Act;
use super::{Service, ServiceResult};

/// Games read at a time.
const PAGE: u32 = 500;

impl Service {
    /// Renews the secrets of every game that goes on, if the database is a copy on which no server has run yet; how many.
    /// Broken off, it is begun anew: a secret that was renewed twice is as good.
    ///
    /// # Errors
    /// When a game cannot be read or the store fails.
    pub async fn renew_secrets_of_copy(&self) -> ServiceResult<u64> {
        let Some(why) = self.store.to_be_renewed().await? else {
            return Ok(0);
        };
        let (mut after, mut renewed) = (None, 0);
        loop {
            let games = self.store.games(Readers::All, after, PAGE).await?;
            let Some(last) = games.last() else {
                break;
            };
            after = Some(last.id);
            let going_on = games.iter().filter(|game| game.moment.ending.is_none());
            for game in going_on {
                self.renew_secret(game.id, &why).await?;
                renewed += 1;
            }
        }
        self.store.forget_copy().await?;
        Ok(renewed)
    }

    /// Shows the secret of the player turn to come unused and commits to another.
    async fn renew_secret(&self, game: GameId, why: &str) -> ServiceResult<()> {
        self.append_decided(game, &Act::of_office(), |situation| {
            if situation.folded.game.ending().is_some() {
                return Ok((Vec::new(), Vec::new()));
            }
            situation.renew_secrets(why)
        })
        .await?;
        Ok(())
    }
}
