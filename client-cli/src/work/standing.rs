//! `standing`: what one's units do in the enemy's turn.

use fieldpost_rules::orders::{Instructions, SideId, print};
use fieldpost_rules::record::bodies::Seal;
use fieldpost_rules::record::{self, PostingKind};

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::keep::random;
use crate::keep::signing::{Occasion, ToSign, signature};
use crate::office;
use crate::out::Out;
use crate::sheet;
use crate::typed::{Common, StandingArgs, StandingCommand};
use crate::wire::OwnInstructions;

/// Shows or sets standing instructions.
///
/// # Errors
/// When no player's seat is meant, or the instructions are not valid.
pub fn standing(args: &StandingArgs, common: &Common, out: Out) -> Outcome {
    let ask = match args.command {
        Some(StandingCommand::Set { .. }) => Ask::Server,
        Some(StandingCommand::Show) | None => Ask::IfNothingKept,
    };
    let story = Story::at_hand(common, ask, out)?;
    let path = format!("/v1/games/{}/instructions", story.meant.game()?);
    let answered: OwnInstructions = match &args.command {
        Some(StandingCommand::Show) | None => story.office.get(path)?,
        Some(StandingCommand::Set { file }) => {
            let side = SideId(own_side(&story)?);
            let game = story.record.game_after(None)?;
            let instructions = sheet::read_instructions(file, &game, &side, out)?;
            let body = serde_json::to_vec(&instructions).map_err(|error| unsendable(&error))?;
            let ask = office::Ask::send(ureq::http::Method::PUT, path, &body);
            let ask = signed(&story, ask, &instructions)?;
            story.office.ask(&ask)?.accepted()?.json()?
        }
    };
    out.result(&answered, || {
        match (&answered.instructions, &answered.seal) {
            (Some(given), Some(seal)) => {
                format!("{}# sealed in the record as {seal}", print::instructions(given))
            }
            (Some(none), None) => {
                let given = print::instructions(none);
                format!("{given}# none were given; this is what your units do")
            }
            (None, seal) => {
                let seal = seal.as_deref().unwrap_or("unknown");
                format!(
                    "# sealed in the record as {seal}, before you had your seat: not yours to read. Whoever of your side \
                     laid them down opens them to you by setting them again; to lay down others: fieldpost standing set"
                )
            }
        }
    })
}

/// The same, with the signature of the seal where the seat signs: the server seals them with this machine's nonce.
fn signed<'a>(
    story: &Story,
    ask: office::Ask<'a>,
    instructions: &Instructions,
) -> Outcome<office::Ask<'a>> {
    let fold = story.record.fold()?;
    let Some(signer) = story.signer(&fold)? else {
        return Ok(ask);
    };
    let nonce = random::<32>()?;
    let seal = record::seal_of_instructions(&nonce, instructions).map_err(|e| unsendable(&e))?;
    let seal = Seal {
        seal: hex::encode(seal),
    };
    let body = serde_json::to_vec(&seal).map_err(|error| unsendable(&error))?;
    let occasion = Occasion::of(&fold);
    let to_sign = ToSign {
        seat: &signer.seat,
        kind: PostingKind::Instructions,
        body: &body,
        number: None,
        nonce: Some(&nonce),
    };
    let header = signature(
        &signer.key,
        fold.record_state.game_id(),
        &occasion,
        &to_sign,
    )?;
    Ok(ask
        .header("if-match", format!("\"{}\"", occasion.precondition))
        .header("posting-signature", header))
}

fn unsendable(error: &serde_json::Error) -> Failure {
    Failure::Plain(format!("they cannot be sent: {error}"))
}

/// The side of the key in use: the seat's, or what the server says of a key that was given.
fn own_side(story: &Story) -> Outcome<String> {
    if let Some(side) = story.own_side() {
        return Ok(side.to_owned());
    }
    let whose: crate::wire::MySeat = story.office.get("/v1/seat")?;
    whose.side.ok_or_else(|| {
        Failure::Usage(
            "only a player has standing instructions; choose a seat with --seat".to_owned(),
        )
    })
}
