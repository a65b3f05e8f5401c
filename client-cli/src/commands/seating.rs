//! `seating`: a game's seats, for the organiser.

use serde_json::json;
use ureq::http::Method;

use super::columns;
use super::organiser::hand_over;
use crate::api::{ApiClient, ApiRequest};
use crate::arguments::{CommonArgs, SeatingArgs, SeatingCommand};
use crate::context::{Context, require_id};
use crate::error::CliResult;
use crate::output::Output;
use crate::wire::{GivenInvitation, SeatSummary, Seating};

/// Lists, adds or frees seats of a game.
///
/// # Errors
/// When the server refuses.
pub fn seating(args: &SeatingArgs, common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
    let client = context.connect(output)?;
    let path = format!("/v1/games/{}/seats", context.game()?);
    match &args.command {
        None | Some(SeatingCommand::List) => list(&client, &path, output),
        Some(SeatingCommand::Add {
            side,
            umpire,
            spectator: _,
            out: file,
        }) => {
            let asked = match (side, umpire) {
                (Some(side), _) => json!({ "role": "player", "side": side }),
                (None, true) => json!({ "role": "umpire" }),
                (None, false) => json!({ "role": "spectator" }),
            };
            let body = asked.to_string();
            let request = ApiRequest::send(Method::POST, path, body.as_bytes());
            let invitation: GivenInvitation = client.send(&request)?.success()?.json()?;
            hand_over(&invitation, file.as_deref(), &client, output)
        }
        Some(SeatingCommand::Free { id }) => free(&client, &path, id, output),
    }
}

fn list(client: &ApiClient, path: &str, output: Output) -> CliResult {
    let seating: Seating = client.get(path)?;
    output.result(&seating, || {
        let rows = seating.seats.iter().map(|seat| {
            [
                seat.seat.clone(),
                as_what(seat),
                seat.player.clone().unwrap_or_else(|| "free".to_owned()),
            ]
        });
        columns(["seat", "for", "held by"], rows.collect())
    })
}

fn free(client: &ApiClient, path: &str, id: &str, output: Output) -> CliResult {
    require_id(id, "seat", "fieldpost seating")?;
    let request = ApiRequest::send(Method::DELETE, format!("{path}/{id}/player"), b"");
    let seat: SeatSummary = client.send(&request)?.success()?.json()?;
    output.result(&seat, || {
        format!(
            "The seat of {} is free; invite another to it: fieldpost invite --seat-id {}",
            as_what(&seat),
            seat.seat
        )
    })
}

fn as_what(seat: &SeatSummary) -> String {
    seat.side.clone().unwrap_or_else(|| seat.role.to_string())
}
