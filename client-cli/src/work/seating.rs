//! `seating`: a game's seats, for the organiser.

use serde_json::json;
use ureq::http::Method;

use super::columns;
use super::organise::hand_over;
use crate::failure::Outcome;
use crate::meant::{Meant, must_be_id};
use crate::office::{Ask, Office};
use crate::out::Out;
use crate::typed::{Common, SeatingArgs, SeatingCommand};
use crate::wire::{GivenInvitation, SeatSummary, Seating};

/// Lists, adds or frees seats of a game.
///
/// # Errors
/// When the server refuses.
pub fn seating(args: &SeatingArgs, common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let office = meant.office(out)?;
    let path = format!("/v1/games/{}/seats", meant.game()?);
    match &args.command {
        None | Some(SeatingCommand::List) => list(&office, &path, out),
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
            let ask = Ask::send(Method::POST, path, body.as_bytes());
            let invitation: GivenInvitation = office.ask(&ask)?.accepted()?.json()?;
            hand_over(&invitation, file.as_deref(), &office, out)
        }
        Some(SeatingCommand::Free { id }) => free(&office, &path, id, out),
    }
}

fn list(office: &Office, path: &str, out: Out) -> Outcome {
    let seating: Seating = office.get(path)?;
    out.result(&seating, || {
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

fn free(office: &Office, path: &str, id: &str, out: Out) -> Outcome {
    must_be_id(id, "seat", "fieldpost seating")?;
    let ask = Ask::send(Method::DELETE, format!("{path}/{id}/player"), b"");
    let seat: SeatSummary = office.ask(&ask)?.accepted()?.json()?;
    out.result(&seat, || {
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
