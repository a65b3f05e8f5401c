//! The organiser's work: opening games, inviting, letting spectators in; and the list of games.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use ureq::http::Method;

use super::battle_files::{BattleFiles, Named};
use super::columns;
use crate::answers::GamesAnswer;
use crate::api::{ApiClient, ApiRequest};
use crate::arguments::{CommonArgs, InviteArgs, OpenArgs, SpectatorsArgs, Switch};
use crate::context::Context;
use crate::error::CliResult;
use crate::games;
use crate::output::Output;
use crate::storage::files;
use crate::storage::seats::slug;
use crate::wire::{GameSummary, GivenInvitation, OpenedGame};

/// Lists games.
///
/// # Errors
/// When the server cannot be asked.
pub fn list_games(common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let games = games::all(&client)?;
    let answer = GamesAnswer { games };
    output.result(&answer, || {
        let games = &answer.games;
        if games.is_empty() {
            return "There is no game here that you may read.".to_owned();
        }
        let rows = games.iter().map(|game| {
            let players: Vec<String> = game
                .sides
                .iter()
                .map(|side| {
                    let players = match &side.player {
                        Some(player) if side.players.is_empty() => player.clone(),
                        Some(_) => side.players.join(" and "),
                        None => "nobody yet".to_owned(),
                    };
                    format!("{}: {players}", side.name)
                })
                .collect();
            let turn = match (&game.ended, &game.to_move) {
                (Some(_), _) | (None, None) => "over".to_owned(),
                (None, Some(side)) => {
                    format!("{} of {}, {side} to move", game.game_turn, game.game_turns)
                }
            };
            [game.id.clone(), game.name.clone(), players.join(", "), turn]
        });
        columns(["id", "game", "players", "turn"], rows.collect())
    })
}

/// Opens a game.
///
/// # Errors
/// [`CliError::Invalid`] when own files have faults.
pub fn open(args: &OpenArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut context = Context::load(common)?;
    let client = context.connect(output)?;
    let mut asked = json!({ "open_to_all": !args.closed, "signed": !args.without_signatures });
    if let Some(rules) = args.clock.rules() {
        asked["clock"] = json!(rules);
    }
    if args.spectator_delay > 0 {
        asked["spectator_delay_minutes"] = args.spectator_delay.into();
    }
    match args.battle.as_slice() {
        // the server may have battles that this program does not know
        [key] if !key.exists() => asked["shipped"] = key.to_string_lossy().into(),
        names => asked["files"] = own_files(names)?,
    }
    let body = asked.to_string();
    let request = ApiRequest::send(Method::POST, "/v1/games", body.as_bytes());
    let opened: OpenedGame = client.send(&request)?.success()?.json()?;
    // the organiser's next commands are most likely about this game
    let seat = context.seat.as_ref().map(|(name, _)| name.clone());
    if let Some(seat) = seat.and_then(|name| context.seats.by_name.get_mut(&name))
        && seat.side.is_none()
    {
        seat.game = Some(opened.game.id.clone());
        seat.game_name = Some(opened.game.name.clone());
        context.seats.write(&context.folders.seats_file())?;
    }
    if let Some(folder) = &args.invitations_folder {
        return write_invitations(folder, &opened, output);
    }
    output.result(&opened, || {
        let mut text = format!("{} is open.\ngame {}\n", opened.game.name, opened.game.id);
        for invitation in &opened.invitations {
            text.push_str(&invitation_in_words(invitation, &client));
        }
        text
    })
}

/// Own files, checked here first so that faults are drawn with their lines.
fn own_files(names: &[PathBuf]) -> CliResult<Value> {
    let files = BattleFiles::of(names, None)?;
    files.open()?;
    let file = |(name, text): &Named| json!({ "name": name, "text": text });
    Ok(json!({ "ruleset": file(&files.ruleset), "scenario": file(&files.scenario) }))
}

fn invitation_in_words(invitation: &GivenInvitation, client: &ApiClient) -> String {
    format!(
        "\nInvitation to the seat of {}, good once until {}:\n  {}\nIts player runs: fieldpost join --server {} --player NAME\n",
        invitation.for_whom(),
        invitation.expires_at,
        invitation.invitation,
        client.base()
    )
}

fn write_invitations(folder: &Path, opened: &OpenedGame, output: Output) -> CliResult {
    let mut written = Vec::new();
    for invitation in &opened.invitations {
        let path = folder.join(format!("{}.txt", slug(&invitation.for_whom())));
        files::write_private(&path, format!("{}\n", invitation.invitation).as_bytes())?;
        written.push(
            json!({ "side": invitation.side, "file": path, "expires_at": invitation.expires_at }),
        );
    }
    output.result(
        &json!({ "game": opened.game, "invitations": written }),
        || {
            format!(
                "{} is open.\ngame {}\nThe invitations are in {}: one file a side, each good once.",
                opened.game.name,
                opened.game.id,
                folder.display()
            )
        },
    )
}

/// Issues a new invitation.
///
/// # Errors
/// When the server refuses.
pub fn invite(args: &InviteArgs, common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let body = match (&args.side, &args.seat_id) {
        (_, Some(seat)) => json!({ "seat": seat }),
        (side, None) => json!({ "side": side }),
    }
    .to_string();
    let path = format!("/v1/games/{}/invitations", context.game()?);
    let request = ApiRequest::send(Method::POST, path, body.as_bytes());
    let invitation: GivenInvitation = client.send(&request)?.success()?.json()?;
    hand_over(&invitation, args.out.as_deref(), &client, output)
}

/// Writes an invitation to its file, or shows it.
pub(super) fn hand_over(
    invitation: &GivenInvitation,
    file: Option<&Path>,
    client: &ApiClient,
    output: Output,
) -> CliResult {
    if let Some(path) = file {
        files::write_private(path, format!("{}\n", invitation.invitation).as_bytes())?;
        output.info(&format!("written to {}", path.display()));
        return Ok(());
    }
    output.result(invitation, || {
        invitation_in_words(invitation, client)
            .trim_start()
            .to_owned()
    })
}

/// Lets spectators in or shuts them out.
///
/// # Errors
/// When the server refuses.
pub fn spectators(args: &SpectatorsArgs, common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let mut asked = json!({ "open_to_all": args.switch == Switch::On });
    if let Some(minutes) = args.delay {
        asked["spectator_delay_minutes"] = minutes.into();
    }
    let body = asked.to_string();
    let path = format!("/v1/games/{}", context.game()?);
    let request = ApiRequest::send(Method::PATCH, path, body.as_bytes());
    let card: GameSummary = client.send(&request)?.success()?.json()?;
    output.result(&card, || {
        let who = if card.open_to_all {
            "Everybody"
        } else {
            "Only its players"
        };
        match card.spectator_delay_minutes {
            0 => format!("{who} may read {} now.", card.name),
            minutes => format!(
                "{who} may read {} now; spectators see what happened after {minutes} minutes.",
                card.name
            ),
        }
    })
}
