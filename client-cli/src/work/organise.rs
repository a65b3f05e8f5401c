//! The organiser's work: opening games, inviting, letting spectators in; and the list of games.

use std::path::Path;

use serde_json::{Value, json};
use ureq::http::Method;

use super::columns;
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::keep::seats::slug;
use crate::meant::Meant;
use crate::office::{Ask, Office};
use crate::out::Out;
use crate::typed::{Common, InviteArgs, OpenArgs, SpectatorsArgs, Switch};
use crate::wire::{GameSummary, GamesPage, GivenInvitation, OpenedGame};

/// Games of one page of the list.
const PAGE: usize = 100;

/// Lists games.
///
/// # Errors
/// When the server cannot be asked.
pub fn games(common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let mut games: Vec<GameSummary> = Vec::new();
    loop {
        let after = games.last().map(|game| format!("&after={}", game.id));
        let path = format!("/v1/games?limit={PAGE}{}", after.unwrap_or_default());
        let page: GamesPage = office.get(path)?;
        let is_empty = page.games.is_empty();
        games.extend(page.games);
        if !page.more || is_empty {
            break;
        }
    }
    out.result(&json!({ "games": games }), || {
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
/// [`Failure::NotValid`] when own files have faults.
pub fn open(args: &OpenArgs, common: &Common, out: Out) -> Outcome {
    let mut meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let mut asked = json!({ "open_to_all": !args.closed, "signed": !args.without_signatures });
    if let Some(rules) = args.clock.rules() {
        asked["clock"] = json!(rules);
    }
    if args.spectator_delay > 0 {
        asked["spectator_delay_minutes"] = args.spectator_delay.into();
    }
    match (&args.battle, &args.ruleset, &args.scenario) {
        (Some(battle), ..) => asked["shipped"] = battle.as_str().into(),
        (None, Some(ruleset), Some(scenario)) => asked["files"] = own_files(ruleset, scenario)?,
        _ => {
            return Err(Failure::Usage(
                "name a battle, or a ruleset and a scenario".to_owned(),
            ));
        }
    }
    let body = asked.to_string();
    let ask = Ask::send(Method::POST, "/v1/games", body.as_bytes());
    let opened: OpenedGame = office.ask(&ask)?.accepted()?.json()?;
    // the organiser's next commands are most likely about this game
    let seat = meant.seat.as_ref().map(|(name, _)| name.clone());
    if let Some(seat) = seat.and_then(|name| meant.book.seat.get_mut(&name))
        && seat.side.is_none()
    {
        seat.game = Some(opened.game.id.clone());
        seat.game_name = Some(opened.game.name.clone());
        meant.book.write(&meant.places.seats_file())?;
    }
    if let Some(folder) = &args.invitations_folder {
        return write_invitations(folder, &opened, out);
    }
    out.result(&opened, || {
        let mut text = format!("{} is open.\ngame {}\n", opened.game.name, opened.game.id);
        for invitation in &opened.invitations {
            text.push_str(&shown(invitation, &office));
        }
        text
    })
}

/// Own files, checked here first so that faults are drawn with their lines.
fn own_files(ruleset: &Path, scenario: &Path) -> Outcome<Value> {
    let (ruleset_name, ruleset) = files::read_named(ruleset)?;
    let (scenario_name, scenario) = files::read_named(scenario)?;
    super::write::field((&ruleset_name, &ruleset), (&scenario_name, &scenario))?;
    let file = |name: &str, text: &str| json!({ "name": name, "text": text });
    Ok(json!({
        "ruleset": file(&ruleset_name, &ruleset), "scenario": file(&scenario_name, &scenario),
    }))
}

fn shown(invitation: &GivenInvitation, office: &Office) -> String {
    format!(
        "\nInvitation to the seat of {}, good once until {}:\n  {}\nIts player runs: fieldpost join --server {} --player NAME\n",
        invitation.for_whom(),
        invitation.expires_at,
        invitation.invitation,
        office.base()
    )
}

fn write_invitations(folder: &Path, opened: &OpenedGame, out: Out) -> Outcome {
    let mut written = Vec::new();
    for invitation in &opened.invitations {
        let path = folder.join(format!("{}.txt", slug(&invitation.for_whom())));
        files::write_private(&path, format!("{}\n", invitation.invitation).as_bytes())?;
        written.push(
            json!({ "side": invitation.side, "file": path, "expires_at": invitation.expires_at }),
        );
    }
    out.result(
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
pub fn invite(args: &InviteArgs, common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let body = match (&args.side, &args.seat_id) {
        (_, Some(seat)) => json!({ "seat": seat }),
        (side, None) => json!({ "side": side }),
    }
    .to_string();
    let path = format!("/v1/games/{}/invitations", meant.game()?);
    let ask = Ask::send(Method::POST, path, body.as_bytes());
    let invitation: GivenInvitation = office.ask(&ask)?.accepted()?.json()?;
    hand_over(&invitation, args.out.as_deref(), &office, out)
}

/// Writes an invitation to its file, or shows it.
pub(super) fn hand_over(
    invitation: &GivenInvitation,
    file: Option<&Path>,
    office: &Office,
    out: Out,
) -> Outcome {
    if let Some(path) = file {
        files::write_private(path, format!("{}\n", invitation.invitation).as_bytes())?;
        out.remark(&format!("written to {}", path.display()));
        return Ok(());
    }
    out.result(invitation, || {
        shown(invitation, office).trim_start().to_owned()
    })
}

/// Lets spectators in or shuts them out.
///
/// # Errors
/// When the server refuses.
pub fn spectators(args: &SpectatorsArgs, common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let mut asked = json!({ "open_to_all": args.switch == Switch::On });
    if let Some(minutes) = args.delay {
        asked["spectator_delay_minutes"] = minutes.into();
    }
    let body = asked.to_string();
    let path = format!("/v1/games/{}", meant.game()?);
    let ask = Ask::send(Method::PATCH, path, body.as_bytes());
    let card: GameSummary = office.ask(&ask)?.accepted()?.json()?;
    out.result(&card, || {
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
