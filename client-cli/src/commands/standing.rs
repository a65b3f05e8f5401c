//! `standing`: what one's units do in the enemy's turn.

use fieldpost_rules::orders::{Instructions, SideId, print};
use fieldpost_rules::record::bodies::Seal;
use fieldpost_rules::record::{self, PostingKind};

use super::session::{GameSession, Refresh};
use crate::api;
use crate::arguments::{CommonArgs, StandingArgs, StandingCommand};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::random::random;
use crate::sheet;
use crate::signing::{PostingBasis, ToSign, signature};
use crate::wire::OwnInstructions;

/// Shows or sets standing instructions.
///
/// # Errors
/// When no player's seat is meant, or the instructions are not valid.
pub fn standing(args: &StandingArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = match args.command {
        Some(StandingCommand::Set { .. }) => Refresh::Always,
        Some(StandingCommand::Show) | None => Refresh::IfMissing,
    };
    let session = GameSession::open(common, refresh, output)?;
    let path = format!("/v1/games/{}/instructions", session.context.game()?);
    let answered: OwnInstructions = match &args.command {
        Some(StandingCommand::Show) | None => session.client.get(path)?,
        Some(StandingCommand::Set { file }) => {
            let side = SideId(own_side(&session)?);
            let game = session.record.game_after(None)?;
            let instructions = sheet::read_instructions(file, &game, &side, output)?;
            let body = serde_json::to_vec(&instructions).map_err(|error| unsendable(&error))?;
            let request = api::ApiRequest::send(ureq::http::Method::PUT, path, &body);
            let request = signed(&session, request, &instructions)?;
            session.client.send(&request)?.success()?.json()?
        }
    };
    output.result(&answered, || {
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
    session: &GameSession,
    request: api::ApiRequest<'a>,
    instructions: &Instructions,
) -> CliResult<api::ApiRequest<'a>> {
    let fold = session.record.fold()?;
    let Some(signer) = session.signer(&fold)? else {
        return Ok(request);
    };
    let nonce = random::<32>()?;
    let seal = record::seal_of_instructions(&nonce, instructions).map_err(|e| unsendable(&e))?;
    let seal = Seal {
        seal: hex::encode(seal),
    };
    let body = serde_json::to_vec(&seal).map_err(|error| unsendable(&error))?;
    let basis = PostingBasis::of(&fold);
    let to_sign = ToSign {
        seat: &signer.seat,
        kind: PostingKind::Instructions,
        body: &body,
        number: None,
        nonce: Some(&nonce),
    };
    let header = signature(&signer.key, fold.record_state.game_id(), &basis, &to_sign)?;
    Ok(request
        .header("if-match", format!("\"{}\"", basis.precondition))
        .header("posting-signature", header))
}

fn unsendable(error: &serde_json::Error) -> CliError {
    CliError::Other(format!("they cannot be sent: {error}"))
}

/// The side of the key in use: the seat's, or what the server says of a key that was given.
fn own_side(session: &GameSession) -> CliResult<String> {
    if let Some(side) = session.own_side() {
        return Ok(side.to_owned());
    }
    let whose: crate::wire::MySeat = session.client.get("/v1/seat")?;
    whose.side.ok_or_else(|| {
        CliError::Usage(
            "only a player has standing instructions; choose a seat with --seat".to_owned(),
        )
    })
}
