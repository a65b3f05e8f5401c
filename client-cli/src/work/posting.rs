//! `post`: sending a sheet so that it counts exactly once.

use fieldpost_rules::dice::FIRST_ATTEMPT;
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::record::PostingKind;
use fieldpost_rules::referee::judge_sheet;
use fieldpost_rules::verdict::Ruling;

use super::news::{paragraphs, tell, whose_turn};
use super::story::{Ask, Story};
use super::trying;
use crate::failure::{Failure, Outcome};
use crate::keep::number::OwnNumber;
use crate::keep::posting::{self, Posting};
use crate::keep::random;
use crate::keep::record::{Read, hash_bytes};
use crate::keep::signing::Occasion;
use crate::office::{self, Answer};
use crate::out::Out;
use crate::sheet;
use crate::shown;
use crate::typed::{Common, PostArgs};
use crate::wire::{PostSheet, Posted};

/// How often a posting is sent before its answer counts as lost.
const TRIES: u32 = 3;

/// Posts a sheet, or sends one again whose answer was lost.
///
/// # Errors
/// [`Failure::NotValid`] when the sheet is refused, [`Failure::Network`] when no answer came.
pub fn post(args: &PostArgs, common: &Common, out: Out) -> Outcome {
    let mut story = Story::at_hand(common, Ask::Server, out)?;
    let path = posting::path(&story.own_folder);
    let pending = Posting::read(&path)?;
    let Some(sheet_file) = &args.sheet else {
        let pending = pending.ok_or_else(|| {
            Failure::Plain("every posting of this game has been answered".to_owned())
        })?;
        return send(&mut story, pending, out);
    };
    let game = story.record.game_after(None)?;
    let sheet = sheet::read(sheet_file, &game, out)?;
    refuse_others_turn(&story, &sheet)?;
    if let Some(pending) = pending {
        return send_pending(&mut story, pending, &sheet, out);
    }
    sheet::must_order(&sheet, sheet_file, args.all_stand, out)?;
    if args.untried {
        out.remark("posting a sheet that was not tried here");
    } else {
        let verdict = judge_sheet(&game, &sheet);
        if verdict.verdict == Ruling::Refused {
            return trying::answer(&game, &story.record.head(), &sheet, &verdict, out);
        }
    }
    let body = body(sheet, own_number(&story)?)?;
    let (head, signature) = written_now(&story, &body)?;
    let posting = Posting {
        idempotency_key: hex::encode(random::<16>()?),
        head,
        body,
        signature,
    };
    posting.keep(&path)?;
    send(&mut story, posting, out)
}

/// A sheet of the other side is not worth sending.
fn refuse_others_turn(story: &Story, sheet: &TurnSheet) -> Outcome {
    match story.own_side() {
        Some(own) if own != sheet.side.0 => Err(Failure::NotValid(format!(
            "error: this sheet is for {}, and your seat plays {own}; unless its first line says otherwise, a sheet is \
             for the side whose turn it is",
            sheet.side
        ))),
        _ => Ok(()),
    }
}

/// A posting without an answer stands in the way of every other sheet than its own.
fn send_pending(story: &mut Story, pending: Posting, sheet: &TurnSheet, out: Out) -> Outcome {
    let sent: Result<PostSheet, _> = serde_json::from_str(&pending.body);
    if sent.is_ok_and(|sent| sent.sheet == *sheet) {
        out.remark("sending the posting again whose answer was lost");
        return send(story, pending, out);
    }
    Err(Failure::Plain(
        "an earlier posting of another sheet has no answer yet, and may have been accepted; \
         learn what became of it first: fieldpost post --again"
            .to_owned(),
    ))
}

/// The number for the dice of the turn that the record has come to.
fn own_number(story: &Story) -> Outcome<OwnNumber> {
    let fold = story.record.fold()?;
    let attempt = fold.record_state.attempt().unwrap_or(FIRST_ATTEMPT);
    OwnNumber::of(&story.own_folder, fold.game.player_turn(), attempt)
}

/// What a sheet is written for as the record is now, and its signature where the seat signs.
fn written_now(story: &Story, body: &str) -> Outcome<(String, Option<String>)> {
    let fold = story.record.fold()?;
    let occasion = Occasion::of(&fold);
    let Some(signer) = story.signer(&fold)? else {
        return Ok((occasion.precondition, None));
    };
    let sent: PostSheet = serde_json::from_str(body)
        .map_err(|error| Failure::Plain(format!("the posting that is kept is spoilt: {error}")))?;
    let (game, number) = (fold.record_state.game_id(), hash_bytes(&sent.number));
    let (kind, bytes) = (PostingKind::Sheet, body.as_bytes());
    let header = signer.header(game, &occasion, kind, bytes, number.as_ref())?;
    Ok((occasion.precondition, Some(header)))
}

fn body(sheet: TurnSheet, own: OwnNumber) -> Outcome<String> {
    let number = own.number;
    serde_json::to_string(&PostSheet { sheet, number })
        .map_err(|error| Failure::Plain(format!("the sheet cannot be sent: {error}")))
}

/// Sends a kept posting until it is answered, and forgets it then.
fn send(story: &mut Story, mut posting: Posting, out: Out) -> Outcome {
    let path = posting::path(&story.own_folder);
    let mut own = own_number(story)?;
    if let Some(told) = own.shown_before() {
        out.remark(&told);
    }
    let mut answer = deliver(story, &posting, out)?;
    if answer.status == 412 && nothing_moved_since(story, &posting)? {
        // nothing on the table moved: the sheet means the same on the new head
        own.note_turned_away(&story.own_folder)?;
        (posting.head, posting.signature) = written_now(story, &posting.body)?;
        posting.keep(&path)?;
        answer = deliver(story, &posting, out)?;
    }
    // every answer below is final, except that of a server which is too busy to give one
    if !matches!(answer.status, 408 | 429 | 500..=599) {
        Posting::forget(&path);
    }
    if matches!(answer.status, 400..=499) {
        own.note_turned_away(&story.own_folder)?;
    }
    match answer.status {
        200..=299 => accepted(story, &answer, &posting, out),
        422 if answer.problem().status == 0 || !is_problem(&answer) => refused(story, &answer, out),
        412 => {
            let mut problem = answer.problem();
            problem.detail = Some(
                "the game has moved on since this sheet was written; read the news, mend the sheet, post it again"
                    .to_owned(),
            );
            Err(Failure::Refused(Box::new(problem)))
        }
        _ => Err(Failure::Refused(Box::new(answer.problem()))),
    }
}

/// Whether an answer is a problem document and not a refused sheet.
fn is_problem(answer: &Answer) -> bool {
    serde_json::from_slice::<serde_json::Value>(&answer.body)
        .is_ok_and(|value| value.get("accepted").is_none())
}

/// Sends the same bytes under the same key until some answer comes.
fn deliver(story: &Story, posting: &Posting, out: Out) -> Outcome<Answer> {
    let path = format!("/v1/games/{}/sheets", story.meant.game()?);
    let ask = office::Ask::send(ureq::http::Method::POST, path, posting.body.as_bytes())
        .header("idempotency-key", posting.idempotency_key.clone())
        .header("if-match", format!("\"{}\"", posting.head));
    let ask = match &posting.signature {
        Some(signature) => ask.header("posting-signature", signature.clone()),
        None => ask,
    };
    let mut tried = 1;
    loop {
        match story.office.ask(&ask) {
            Err(Failure::Network(why)) if tried < TRIES => {
                out.remark(&format!("{why}; sending the same posting again"));
                std::thread::sleep(std::time::Duration::from_secs(u64::from(tried)));
                tried += 1;
            }
            Err(Failure::Network(why)) => {
                return Err(Failure::Network(format!(
                    "{why}\nWhether the posting arrived is not known. It is kept: post the same sheet again, or\n\
                     \"fieldpost post --again\", and it counts once."
                )));
            }
            other => return other,
        }
    }
}

/// Whether everything since the posting's head left the table alone. Brings the record up to date.
fn nothing_moved_since(story: &mut Story, posting: &Posting) -> Outcome<bool> {
    story.refresh()?;
    let entries = story.record.entries();
    let written_for = (1..=story.record.head().number).find(|number| {
        story
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
fn must_be_recorded(story: &Story, first: u64, posting: &Posting) -> Outcome {
    let recorded = [first, first + 1].into_iter().find_map(|number| {
        let (entry, _) = story.record.entry(number)?;
        entry.posted.as_ref()
    });
    match recorded {
        Some(recorded) if recorded.body == posting.body => Ok(()),
        Some(_) => Err(Failure::Mismatch(format!(
            "the record does not hold at entry {first} what was posted from here: the server has written another sheet \
             or another number. Keep {} and ask the host",
            story.folder.display()
        ))),
        None => Err(Failure::Mismatch(format!(
            "the server says that it has accepted the sheet, and its record holds no posting at entry {first}"
        ))),
    }
}

fn accepted(story: &mut Story, answer: &Answer, posting: &Posting, out: Out) -> Outcome {
    let posted: Posted = answer.json()?;
    let before = posted.first.map_or(posted.head.number, |first| first - 1);
    // the answer stands whether or not the record can be read right now
    let told = story.refresh().and_then(|()| {
        must_be_recorded(story, before + 1, posting)?;
        let game = story.record.game_after(Some(before))?;
        Ok(tell(&story.record, game, before))
    });
    let own = story.own_side().map(str::to_owned);
    out.result(&posted, || match &told {
        Ok((news, game)) => posted_words(news, game, own.as_deref()),
        Err(_) => paragraphs(&posted.news),
    })?;
    let read = Read::of(&story.own_folder)?;
    if told.is_ok() && read.entry >= before {
        read.on_to(story.record.head().number)
            .keep(&story.own_folder)?;
    }
    match told {
        Err(failure @ Failure::Mismatch(_)) => Err(failure),
        _ => Ok(()),
    }
}

fn posted_words(news: &[crate::wire::NewsItem], game: &Game, own: Option<&str>) -> String {
    format!("Posted.\n\n{}\n{}", paragraphs(news), whose_turn(game, own))
}

/// The server refused what the trial here let pass: its words count.
fn refused(story: &Story, answer: &Answer, out: Out) -> Outcome {
    let posted: Posted = answer.json()?;
    let game = story.record.game_after(None)?;
    out.result(&posted, || {
        posted
            .words
            .clone()
            .unwrap_or_else(|| shown::verdict_words(&game, &posted.verdict))
    })?;
    Err(Failure::NotValid(
        "The server refused the sheet; nothing happened. Mend it and post it again.".to_owned(),
    ))
}
