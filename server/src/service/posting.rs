//! Posting a turn sheet.

use std::time::{Duration, Instant};

use fieldpost_rules::dice::{self, Bytes32};
use fieldpost_rules::game::Event;
use fieldpost_rules::interruption::{Interrupted, Interruption};
use fieldpost_rules::orders::{Instructions, TurnSheet};
use fieldpost_rules::record::PostingKind;
use fieldpost_rules::referee::{self, Posting};
use fieldpost_rules::verdict::SheetVerdict;
use fieldpost_view::words;
use fieldpost_wire as wire;
use sha2::{Digest, Sha256};

use crate::key::random_bytes;
use crate::measuring::Asker;
use crate::store::{
    BeforePosting, Change, GameId, Head, SealedInstructions, StoreError, StoredAnswer,
};

use super::act::{Act, Sent};
use super::append::{PostedEvents, prepare};
use super::cache::FoldedGame;
use super::caller::Player;
use super::checking::{must_be_short, must_fit};
use super::entries::open_instructions;
use super::{ATTEMPTS_MAX, Credentials, IdempotencyKey, Service, ServiceError, ServiceResult};

/// A turn sheet as it is handed in.
#[derive(Debug, Clone)]
pub struct Submission {
    /// The game.
    pub game: GameId,
    /// The sheet.
    pub sheet: TurnSheet,
    /// The poster's own number.
    pub number: Bytes32,
    /// As it was sent; it names the entry that it was written for.
    pub sent: Sent,
    /// Names it.
    pub idempotency_key: IdempotencyKey,
}

/// The answer to a submission.
#[derive(Debug, Clone)]
pub enum Posted {
    /// Accepted: the answer as it is stored.
    Accepted {
        /// The answer's text.
        body: String,
        /// Whether it was given before.
        again: bool,
    },
    /// Refused; nothing happened.
    Refused(Box<wire::Refused>),
}

impl Service {
    /// Posts a sheet: all or nothing, once.
    ///
    /// # Errors
    /// As [`Self::authenticate`]; when the caller's seat may not post it, its idempotency key has posted something
    /// else, or somebody was first. A refused order is no error but an answer.
    pub async fn post(
        &self,
        credentials: &Credentials,
        submission: &Submission,
    ) -> ServiceResult<Posted> {
        let (context, before) = self
            .posting_context(credentials, submission.game, &submission.idempotency_key)
            .await?;
        let player = context.caller.player_in(submission.game)?;
        let mut found = context.game().map(|game| (game.head, before));
        // Whoever was overtaken finds out by reading again why; twice only if instructions were sealed between.
        for _ in 0..ATTEMPTS_MAX {
            let (head, before) = match found.take() {
                Some(found) => found,
                None => self.before_posting(credentials, submission).await?,
            };
            if let Some(stored) = before.answer {
                return answered(stored, submission);
            }
            let folded = self.cache.folded_since(submission.game, head).await?;
            // Of another moment than the answer that was not there: it may have been this very posting.
            if folded.head != head {
                continue;
            }
            if folded.record_state.attempt().is_none() && folded.game.ending().is_none() {
                // whoever posts then sees that, and how, throws are derived from here on
                self.come_under_second_form(submission.game).await?;
                continue;
            }
            if !folded.record_state.is_fresh(&submission.written_for()) {
                return Err(self.stale(player.key, submission, &folded).await?);
            }
            if submission.sheet.side != player.side {
                return Err(ServiceError::NotYourSide {
                    yours: player.side.0,
                    requested: submission.sheet.side.0.clone(),
                });
            }
            must_fit(&folded, &submission.sheet)?;
            let no_secret = || ServiceError::damaged("no secret for the player turn");
            let drawn = Drawn {
                secret: before.secret.ok_or_else(no_secret)?,
                next: random_bytes(),
            };
            match self
                .play(&player, submission, folded, drawn, before.sealed)
                .await
            {
                Err(ServiceError::Store(StoreError::Overtaken)) => {}
                answer => return answer,
            }
        }
        Err(ServiceError::Busy)
    }

    /// What must be known before a posting is played, as of one moment, and the game's head then.
    async fn before_posting(
        &self,
        credentials: &Credentials,
        submission: &Submission,
    ) -> ServiceResult<(Head, BeforePosting)> {
        let (name, named) = (submission.idempotency_key.as_str(), credentials.named());
        let found = self
            .store
            .posting_context_rows(named, submission.game, name)
            .await?;
        // Whoever was overtaken is told nothing more once their key has ended, or their session.
        let key = found.rows.key.filter(|key| key.revoked_at.is_none());
        if key.is_none() || (named.session.is_some() && found.rows.session.is_none()) {
            return Err(ServiceError::KeyEnded);
        }
        let stored_game = found.rows.game.ok_or(ServiceError::NoSuchGame)?;
        Ok((stored_game.head, found.before))
    }

    async fn stale(
        &self,
        key: &str,
        submission: &Submission,
        folded: &FoldedGame,
    ) -> ServiceResult<ServiceError> {
        let named = self
            .store
            .number_of(submission.game, &submission.written_for())
            .await?;
        let news = match named {
            Some(number) => {
                let asker = Asker::Key(key.to_owned());
                let last = folded.head.number;
                self.news_between(&asker, submission.game, number, last)
                    .await?
            }
            None => Vec::new(),
        };
        Ok(ServiceError::Stale {
            head: folded.head.into(),
            news,
        })
    }

    async fn play(
        &self,
        player: &Player<'_>,
        submission: &Submission,
        folded: FoldedGame,
        drawn: Drawn,
        sealed_before: Vec<SealedInstructions>,
    ) -> ServiceResult<Posted> {
        // What nobody signed is not even measured.
        let posted = submission.act(player).posted(&folded, self.now())?;
        let (used, next) = (folded.game.player_turn(), drawn.next);
        let game = submission.game;
        let playing = Playing {
            folded: folded.clone(),
            submission: submission.clone(),
            drawn,
            sealed: sealed_before,
        };
        let played = match playing.quickly() {
            Ok(played) => played?,
            Err(Interrupted) => {
                let asker = Asker::Key(player.key.to_owned());
                self.measure(asker, move |interruption| playing.play(interruption))
                    .await??
            }
        };
        let (events, verdict) = match played {
            Ok(played) => played,
            Err(verdict) => return Ok(Posted::Refused(Box::new(refused(&folded, *verdict)))),
        };
        let at = self.now();
        let changes = vec![Change::NextSecret { used, next }];
        let mut prepared = prepare(
            (game, player.by.clone()),
            &folded,
            at,
            PostedEvents { events, posted },
            changes,
        )?;
        let accepted = wire::Accepted {
            accepted: true,
            head: prepared.after.head.into(),
            first: folded.head.number + 1,
            verdict,
            news: prepared.news,
        };
        let body = serde_json::to_string(&accepted)?;
        must_be_short(body.len())?;
        let answer = StoredAnswer {
            key: player.key.to_owned(),
            idempotency_key: submission.idempotency_key.as_str().to_owned(),
            request_hash: submission.hash()?,
            status: 201,
            body: body.clone(),
            at: at.to_string(),
        };
        prepared.append.changes.push(Change::StoreAnswer(answer));
        self.append(&prepared.append).await?;
        self.cache.put(game, prepared.after);
        Ok(Posted::Accepted { body, again: false })
    }
}

impl Submission {
    /// Hash of the entry that it was written for.
    fn written_for(&self) -> Bytes32 {
        self.sent.written_for.unwrap_or_default()
    }

    /// What its poster does by it.
    fn act<'a>(&'a self, player: &'a Player<'_>) -> Act<'a> {
        let mut act = player.act(PostingKind::Sheet, &self.sent);
        if let Some(posting) = &mut act.posting {
            posting.number = Some(self.number);
        }
        act
    }

    /// What makes two submissions the same.
    fn hash(&self) -> ServiceResult<Bytes32> {
        let sheet = serde_json::to_vec(&self.sheet)?;
        let mut hash = Sha256::new();
        hash.update(self.game.0);
        hash.update(self.number);
        hash.update(self.written_for());
        hash.update(sheet);
        Ok(hash.finalize().into())
    }
}

/// A sheet of few orders is measured where it came in, to save handing it to another thread; but no longer than this.
const QUICK: Duration = Duration::from_micros(500);
/// The most orders of a sheet that may be a matter of that long.
const QUICK_ORDERS: usize = 2;

/// The server's own numbers for one player turn and the next.
struct Drawn {
    secret: Bytes32,
    next: Bytes32,
}

type Played = Result<(Vec<Event>, SheetVerdict), Box<SheetVerdict>>;

/// All that it takes to play a posted sheet.
struct Playing {
    folded: FoldedGame,
    submission: Submission,
    drawn: Drawn,
    sealed: Vec<SealedInstructions>,
}

impl Playing {
    /// Asks the referee here and now, if that is a matter of an instant.
    fn quickly(&self) -> Result<ServiceResult<Played>, Interrupted> {
        if self.submission.sheet.orders.len() > QUICK_ORDERS {
            return Err(Interrupted);
        }
        let began = Instant::now();
        self.play(&Interruption::when(move || began.elapsed() > QUICK))
    }

    /// Asks the referee.
    fn play(&self, interruption: &Interruption) -> Result<ServiceResult<Played>, Interrupted> {
        let opened = match open_instructions(&self.sealed) {
            Ok(opened) => opened,
            Err(error) => return Ok(Err(error)),
        };
        let (folded, submission) = (&self.folded, &self.submission);
        let game = &folded.game;
        let waiting = game.side_id(1 - game.player());
        let none = Instructions::default();
        let in_force = folded.record_state.seal_in_force(&waiting, true);
        let given = in_force.and_then(|index| opened.get(index));
        let id = &submission.game.0;
        let posting = Posting {
            sheet: &submission.sheet,
            standing: given.map_or(&none, |given| &given.instructions),
            game_id: *id,
            attempt: folded.record_state.attempt().unwrap_or(dice::FIRST_ATTEMPT),
            secret: self.drawn.secret,
            number: submission.number,
            next_commitment: dice::commitment(
                id,
                game.player_turn() + 1,
                dice::FIRST_ATTEMPT,
                &self.drawn.next,
            ),
            sealed: &opened,
        };
        let events = match referee::play_unless(game, &posting, interruption)? {
            Ok(events) => events,
            Err(verdict) => return Ok(Ok(Err(verdict))),
        };
        let verdict = events.iter().find_map(|event| match event {
            Event::SheetAccepted { verdict, .. } => Some(verdict.clone()),
            _ => None,
        });
        Ok(match verdict {
            Some(verdict) => Ok(Ok((events, verdict))),
            None => Err(ServiceError::damaged("a turn whose sheet was not accepted")),
        })
    }
}

/// The answer to a posting whose idempotency key was used before, if it is the same posting.
fn answered(stored: StoredAnswer, submission: &Submission) -> ServiceResult<Posted> {
    if stored.request_hash != submission.hash()? {
        return Err(ServiceError::KeyReused);
    }
    Ok(Posted::Accepted {
        body: stored.body,
        again: true,
    })
}

fn refused(folded: &FoldedGame, verdict: SheetVerdict) -> wire::Refused {
    wire::Refused {
        accepted: false,
        head: folded.head.into(),
        words: words::sheet_verdict(&verdict, &folded.game),
        verdict,
    }
}
