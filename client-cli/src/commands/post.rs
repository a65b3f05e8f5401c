//! `post`: sending a sheet so that it counts exactly once.

use fieldpost_rules::dice::FIRST_ATTEMPT;
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::record::PostingKind;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::Ruling;

use super::news::{paragraphs, tell, whose_turn};
use super::session::{GameSession, Refresh};
use super::try_sheet;
use crate::api::{self, ApiResponse};
use crate::arguments::{CommonArgs, PostArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::random::random;
use crate::render;
use crate::sheet;
use crate::signing::PostingBasis;
use crate::storage::dice_number::DiceNumber;
use crate::storage::pending_posting::PendingPosting;
use crate::storage::read_mark::ReadMark;
use crate::storage::record::hash_bytes;
use crate::wire::{PostSheet, Posted};

/// How often a posting is sent before its answer counts as lost.
const TRIES: u32 = 3;

/// Posts a sheet, or sends one again whose answer was lost.
///
/// # Errors
/// [`CliError::Invalid`] when the sheet is refused, [`CliError::Network`] when no answer came.
pub fn post(args: &PostArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut session = GameSession::open(common, Refresh::Always, output)?;
    let path = PendingPosting::path(&session.own_folder);
    let pending = PendingPosting::read(&path)?;
    let Some(sheet_file) = &args.sheet else {
        let pending = pending.ok_or_else(|| {
            CliError::Other("every posting of this game has been answered".to_owned())
        })?;
        return send(&mut session, pending, output);
    };
    let game = session.record.game_after(None)?;
    let sheet = sheet::read(sheet_file, &game, output)?;
    refuse_others_turn(&session, &sheet)?;
    if let Some(pending) = pending {
        return send_pending(&mut session, pending, &sheet, output);
    }
    sheet::confirm_orders(&sheet, sheet_file, args.all_stand, output)?;
    if args.untried {
        output.info("posting a sheet that was not tried here");
    } else {
        let verdict = judge_sheet(&game, &sheet);
        if verdict.verdict == Ruling::Refused {
            return try_sheet::answer(&game, &session.record.head(), &sheet, &verdict, output);
        }
    }
    let body = body(sheet, own_number(&session)?)?;
    let (head, signature) = written_now(&session, &body)?;
    let posting = PendingPosting {
        idempotency_key: hex::encode(random::<16>()?),
        head,
        body,
        signature,
    };
    posting.save(&path)?;
    send(&mut session, posting, output)
}

/// A sheet of the other side is not worth sending.
fn refuse_others_turn(session: &GameSession, sheet: &TurnSheet) -> CliResult {
    match session.own_side() {
        Some(own) if own != sheet.side.0 => Err(CliError::Invalid(format!(
            "error: this sheet is for {}, and your seat plays {own}; unless its first line says otherwise, a sheet is \
             for the side whose turn it is",
            sheet.side
        ))),
        _ => Ok(()),
    }
}

/// A posting without an answer stands in the way of every other sheet than its own.
fn send_pending(
    session: &mut GameSession,
    pending: PendingPosting,
    sheet: &TurnSheet,
    output: Output,
) -> CliResult {
    let sent: Result<PostSheet, _> = serde_json::from_str(&pending.body);
    if sent.is_ok_and(|sent| sent.sheet == *sheet) {
        output.info("sending the posting again whose answer was lost");
        return send(session, pending, output);
    }
    Err(CliError::Other(
        "an earlier posting of another sheet has no answer yet, and may have been accepted; \
         learn what became of it first: fieldpost post --again"
            .to_owned(),
    ))
}

/// The number for the dice of the turn that the record has come to.
fn own_number(session: &GameSession) -> CliResult<DiceNumber> {
    let fold = session.record.fold()?;
    let attempt = fold.record_state.attempt().unwrap_or(FIRST_ATTEMPT);
    DiceNumber::of(&session.own_folder, fold.game.player_turn(), attempt)
}

/// What a sheet is written for as the record is now, and its signature where the seat signs.
fn written_now(session: &GameSession, body: &str) -> CliResult<(String, Option<String>)> {
    let fold = session.record.fold()?;
    let basis = PostingBasis::of(&fold);
    let Some(signer) = session.signer(&fold)? else {
        return Ok((basis.precondition, None));
    };
    let sent: PostSheet = serde_json::from_str(body)
        .map_err(|error| CliError::Other(format!("the posting that is kept is spoilt: {error}")))?;
    let (game, number) = (fold.record_state.game_id(), hash_bytes(&sent.number));
    let (kind, bytes) = (PostingKind::Sheet, body.as_bytes());
    let header = signer.header(game, &basis, kind, bytes, number.as_ref())?;
    Ok((basis.precondition, Some(header)))
}

fn body(sheet: TurnSheet, own: DiceNumber) -> CliResult<String> {
    let number = own.number;
    serde_json::to_string(&PostSheet { sheet, number })
        .map_err(|error| CliError::Other(format!("the sheet cannot be sent: {error}")))
}

/// Sends a kept posting until it is answered, and forgets it then.
fn send(session: &mut GameSession, mut posting: PendingPosting, output: Output) -> CliResult {
    let path = PendingPosting::path(&session.own_folder);
    let mut own = own_number(session)?;
    if let Some(notice) = own.shown_before() {
        output.info(&notice);
    }
    let mut answer = deliver(session, &posting, output)?;
    if answer.status == 412 && nothing_moved_since(session, &posting)? {
        // nothing on the table moved: the sheet means the same on the new head
        own.note_turned_away(&session.own_folder)?;
        (posting.head, posting.signature) = written_now(session, &posting.body)?;
        posting.save(&path)?;
        answer = deliver(session, &posting, output)?;
    }
    // every answer below is final, except that of a server which is too busy to give one
    if !matches!(answer.status, 408 | 429 | 500..=599) {
        PendingPosting::remove(&path);
    }
    if matches!(answer.status, 400..=499) {
        own.note_turned_away(&session.own_folder)?;
    }
    match answer.status {
        200..=299 => accepted(session, &answer, &posting, output),
        422 if answer.problem().status == 0 || !is_problem(&answer) => {
            refused(session, &answer, output)
        }
        412 => {
            let mut problem = answer.problem();
            problem.detail = Some(
                "the game has moved on since this sheet was written; read the news, mend the sheet, post it again"
                    .to_owned(),
            );
            Err(CliError::Refused(Box::new(problem)))
        }
        _ => Err(CliError::Refused(Box::new(answer.problem()))),
    }
}

/// Whether an answer is a problem document and not a refused sheet.
fn is_problem(answer: &ApiResponse) -> bool {
    serde_json::from_slice::<serde_json::Value>(&answer.body)
        .is_ok_and(|value| value.get("accepted").is_none())
}

/// Sends the same bytes under the same key until some answer comes.
fn deliver(
    session: &GameSession,
    posting: &PendingPosting,
    output: Output,
) -> CliResult<ApiResponse> {
    let path = format!("/v1/games/{}/sheets", session.context.game()?);
    let request = api::ApiRequest::send(ureq::http::Method::POST, path, posting.body.as_bytes())
        .header("idempotency-key", posting.idempotency_key.clone())
        .header("if-match", format!("\"{}\"", posting.head));
    let request = match &posting.signature {
        Some(signature) => request.header("posting-signature", signature.clone()),
        None => request,
    };
    let mut tried = 1;
    loop {
        match session.client.send(&request) {
            Err(CliError::Network(why)) if tried < TRIES => {
                output.info(&format!("{why}; sending the same posting again"));
                std::thread::sleep(std::time::Duration::from_secs(u64::from(tried)));
                tried += 1;
            }
            Err(CliError::Network(why)) => {
                return Err(CliError::Network(format!(
                    "{why}\nWhether the posting arrived is not known. It is kept: post the same sheet again, or\n\
                     \"fieldpost post --again\", and it counts once."
                )));
            }
            other => return other,
        }
    }
}

/// Whether everything since the posting's head left the table alone. Brings the record up to date.
fn nothing_moved_since(session: &mut GameSession, posting: &PendingPosting) -> CliResult<bool> {
    session.refresh()?;
    let entries = session.record.entries();
    let written_for = (1..=session.record.head().number).find(|number| {
        session
            .record
            .entry(*number)
            .is_some_and(|(_, hash)| hash == posting.head)
    });
    let Some(written_for) = written_for else {
        return Ok(false);
    };
    Ok(entries
        .iter()
        .filter(|entry| entry.number > written_for)
        // another secret asks for another number
        .all(|entry| {
            entry.event.leaves_table_alone() && !matches!(entry.event, Event::SecretsRenewed { .. })
        }))
}

/// Checks that the record holds the posting as it was sent: a host who swaps sheet or number is found out at once.
fn check_recorded(session: &GameSession, first: u64, posting: &PendingPosting) -> CliResult {
    let recorded = [first, first + 1].into_iter().find_map(|number| {
        let (entry, _) = session.record.entry(number)?;
        entry.posted.as_ref()
    });
    match recorded {
        Some(recorded) if recorded.body == posting.body => Ok(()),
        Some(_) => Err(CliError::Mismatch(format!(
            "the record does not hold at entry {first} what was posted from here: the server has written another sheet \
             or another number. Keep {} and ask the host",
            session.folder.display()
        ))),
        None => Err(CliError::Mismatch(format!(
            "the server says that it has accepted the sheet, and its record holds no posting at entry {first}"
        ))),
    }
}

fn accepted(
    session: &mut GameSession,
    answer: &ApiResponse,
    posting: &PendingPosting,
    output: Output,
) -> CliResult {
    let posted: Posted = answer.json()?;
    let before = posted.first.map_or(posted.head.number, |first| first - 1);
    // the answer stands whether or not the record can be read right now
    let happened = session.refresh().and_then(|()| {
        check_recorded(session, before + 1, posting)?;
        let game = session.record.game_after(Some(before))?;
        Ok(tell(&session.record, game, before))
    });
    let own = session.own_side().map(str::to_owned);
    output.result(&posted, || match &happened {
        Ok((news, game)) => posted_words(news, game, own.as_deref()),
        Err(_) => paragraphs(&posted.news),
    })?;
    let read = ReadMark::load(&session.own_folder)?;
    if happened.is_ok() && read.entry >= before {
        read.advance(session.record.head().number)
            .save(&session.own_folder)?;
    }
    match happened {
        Err(failure @ CliError::Mismatch(_)) => Err(failure),
        _ => Ok(()),
    }
}

fn posted_words(news: &[crate::wire::NewsItem], game: &Game, own: Option<&str>) -> String {
    format!("Posted.\n\n{}\n{}", paragraphs(news), whose_turn(game, own))
}

/// The server refused what the trial here let pass: its words count.
fn refused(session: &GameSession, answer: &ApiResponse, output: Output) -> CliResult {
    let posted: Posted = answer.json()?;
    let game = session.record.game_after(None)?;
    output.result(&posted, || {
        posted
            .words
            .clone()
            .unwrap_or_else(|| render::verdict_words(&game, &posted.verdict))
    })?;
    Err(CliError::Invalid(
        "The server refused the sheet; nothing happened. Mend it and post it again.".to_owned(),
    ))
}
