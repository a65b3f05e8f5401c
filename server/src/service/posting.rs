//! Trying a turn sheet and posting it.

use fieldpost_rules::dice::{self, Bytes32};
use fieldpost_rules::game::Event;
use fieldpost_rules::orders::{Instructions, TurnSheet, text};
use fieldpost_rules::record::PostingKind;
use fieldpost_rules::referee::{self, Posting};
use fieldpost_rules::verdict::SheetVerdict;
use fieldpost_view::words;
use fieldpost_wire as wire;
use sha2::{Digest, Sha256};

use crate::key::random_bytes;
use crate::rendering;
use crate::store::{
    BeforePosting, Change, GameId, Head, SealedInstructions, StoreError, StoredAnswer,
};

use super::act::{Act, Sent};
use super::append::{Brought, prepare};
use super::cache::FoldedGame;
use super::caller::Player;
use super::entries::open_instructions;
use super::{
    ATTEMPTS_MAX, Caller, Credentials, IdempotencyKey, Service, ServiceError, ServiceResult,
    measure,
};

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
    /// Tries a sheet without posting it.
    ///
    /// # Errors
    /// When the caller has no part in the game.
    pub async fn check(
        &self,
        caller: &Caller,
        game: GameId,
        sheet: TurnSheet,
    ) -> ServiceResult<wire::Checked> {
        let folded = self.folded_for_check(caller, game).await?;
        measure(move || checked(&folded, sheet)).await
    }

    /// Tries a sheet as it was typed.
    ///
    /// # Errors
    /// As [`Self::check`], and when it cannot be read.
    pub async fn check_typed(
        &self,
        caller: &Caller,
        game: GameId,
        text: String,
    ) -> ServiceResult<wire::Checked> {
        let folded = self.folded_for_check(caller, game).await?;
        measure(move || {
            let sheet =
                text::parse("sheet", &text, &folded.game).map_err(ServiceError::UnreadableSheet)?;
            Ok(checked(&folded, sheet))
        })
        .await?
    }

    /// The table with one order's verdict drawn on it.
    ///
    /// # Errors
    /// As [`Self::check`], and when the sheet has no such order.
    pub async fn drawn(
        &self,
        caller: &Caller,
        game: GameId,
        checked: wire::Checked,
        order: usize,
    ) -> ServiceResult<String> {
        let folded = self.folded_for_check(caller, game).await?;
        measure(move || {
            rendering::verdict_svg(&folded.game, &checked.sheet, &checked.verdict, order)
        })
        .await?
        .ok_or(ServiceError::NoSuchOrder(order))
    }

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
                None => self.before_posting(player.key, submission).await?,
            };
            if let Some(stored) = before.answer {
                return answered(stored, submission);
            }
            let folded = self.cache.folded_since(submission.game, head).await?;
            // Of another moment than the answer that was not there: it may have been this very posting.
            if folded.head != head {
                continue;
            }
            if folded.course.attempt().is_none() && folded.game.ending().is_none() {
                // whoever posts then sees that, and how, throws are derived from here on
                self.come_under_second_form(submission.game).await?;
                continue;
            }
            if !folded.course.is_fresh(&submission.written_for()) {
                return Err(self.stale(submission, &folded).await?);
            }
            if submission.sheet.side != player.side {
                return Err(ServiceError::NotYourSide {
                    yours: player.side.0,
                    requested: submission.sheet.side.0.clone(),
                });
            }
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
        key: &str,
        submission: &Submission,
    ) -> ServiceResult<(Head, BeforePosting)> {
        let name = submission.idempotency_key.as_str();
        let found = self
            .store
            .posting_context_rows(key, submission.game, name)
            .await?;
        // Whoever was overtaken is told nothing more once their key has ended.
        let key = found.rows.key.filter(|key| key.revoked_at.is_none());
        key.ok_or(ServiceError::KeyEnded)?;
        let stored_game = found.rows.game.ok_or(ServiceError::NoSuchGame)?;
        Ok((stored_game.head, found.before))
    }

    async fn folded_for_check(&self, caller: &Caller, game: GameId) -> ServiceResult<FoldedGame> {
        self.game_for(caller, game).await?;
        caller.may_check(game)?;
        self.cache.folded(game).await
    }

    async fn stale(
        &self,
        submission: &Submission,
        folded: &FoldedGame,
    ) -> ServiceResult<ServiceError> {
        let named = self
            .store
            .number_of(submission.game, &submission.written_for())
            .await?;
        let news = match named {
            Some(number) => {
                self.news_between(submission.game, number, folded.head.number)
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
        let (game, sheet, number) = (submission.game, submission.sheet.clone(), submission.number);
        let orders = sheet.orders.len();
        let played = {
            let folded = folded.clone();
            let play = move || played(game, &folded, &sheet, number, drawn, &sealed_before);
            if orders <= QUICK_ORDERS {
                play()?
            } else {
                measure(play).await??
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
            Brought { events, posted },
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
        let answer = StoredAnswer {
            key: player.key.to_owned(),
            idempotency_key: submission.idempotency_key.as_str().to_owned(),
            request_hash: submission.hash()?,
            status: 201,
            body: body.clone(),
            at: at.to_string(),
        };
        prepared.append.changes.push(Change::StoreAnswer(answer));
        self.store.append(&prepared.append).await?;
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

/// Sheets of at most so many orders are measured where they came in, to save handing them to another thread.
const QUICK_ORDERS: usize = 2;

/// The server's own numbers for one player turn and the next.
struct Drawn {
    secret: Bytes32,
    next: Bytes32,
}

type Played = Result<(Vec<Event>, SheetVerdict), Box<SheetVerdict>>;

/// Asks the referee.
fn played(
    id: GameId,
    folded: &FoldedGame,
    sheet: &TurnSheet,
    number: Bytes32,
    drawn: Drawn,
    sealed: &[SealedInstructions],
) -> ServiceResult<Played> {
    let game = &folded.game;
    let opened = open_instructions(sealed)?;
    let waiting = game.side_id(1 - game.player());
    let none = Instructions::default();
    let in_force = folded.course.seal_in_force(&waiting, true);
    let given = in_force.and_then(|index| opened.get(index));
    let posting = Posting {
        sheet,
        standing: given.map_or(&none, |given| &given.instructions),
        game_id: id.0,
        attempt: folded.course.attempt().unwrap_or(dice::FIRST_ATTEMPT),
        secret: drawn.secret,
        number,
        next_commitment: dice::commitment(
            &id.0,
            game.player_turn() + 1,
            dice::FIRST_ATTEMPT,
            &drawn.next,
        ),
        sealed: &opened,
    };
    let events = match referee::play(game, &posting) {
        Ok(events) => events,
        Err(verdict) => return Ok(Err(verdict)),
    };
    let verdict = events.iter().find_map(|event| match event {
        Event::SheetAccepted { verdict, .. } => Some(verdict.clone()),
        _ => None,
    });
    let verdict =
        verdict.ok_or_else(|| ServiceError::damaged("a turn whose sheet was not accepted"))?;
    Ok(Ok((events, verdict)))
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

fn checked(folded: &FoldedGame, sheet: TurnSheet) -> wire::Checked {
    let verdict = referee::judge_sheet(&folded.game, &sheet);
    wire::Checked {
        head: folded.head.into(),
        words: words::sheet_verdict(&verdict, &folded.game),
        sheet,
        verdict,
    }
}

fn refused(folded: &FoldedGame, verdict: SheetVerdict) -> wire::Refused {
    wire::Refused {
        accepted: false,
        head: folded.head.into(),
        words: words::sheet_verdict(&verdict, &folded.game),
        verdict,
    }
}
