//! `seats move`: a server that has another address now.

use std::fs;

use serde_json::json;

use crate::api::{ApiClient, is_readable_by_others, server_address};
use crate::arguments::CommonArgs;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::storage::folders::Folders;
use crate::storage::seats::{Seat, SeatStore};
use crate::tls;
use crate::wire::MySeat;

/// Has every seat of one address speak to another, with the records read so far. Every key must open the same seat there:
/// else nothing is changed.
///
/// # Errors
/// When no seat is of the old address, or the new one is another server.
pub fn move_server(from: &str, to: &str, common: &CommonArgs, output: Output) -> CliResult {
    let (from, to) = (server_address(from)?, server_address(to)?);
    let folders = Folders::find()?;
    let mut seats = SeatStore::read(&folders.seats_file())?;
    let of_old = seats
        .by_name
        .iter_mut()
        .filter(|(_, seat)| seat.server == from);
    let mut moved = Vec::new();
    for (name, seat) in of_old {
        check(name, seat, &to, common)?;
        to.clone_into(&mut seat.server);
        if let Some(path) = &common.ca_file {
            let path = std::path::absolute(path);
            seat.ca_file = path.ok();
        }
        moved.push(name.clone());
    }
    if moved.is_empty() {
        return Err(CliError::Usage(format!(
            "no seat stored here is of {from}; \"fieldpost seats\" lists them with their servers"
        )));
    }
    if is_readable_by_others(&to) {
        output.warn("fieldpost: the new address is spoken to in the clear (http): others on the way can read your keys.");
    }
    // the records first: seats of a server whose records are elsewhere would take a rewritten record for a new one
    move_records(&folders, &from, &to)?;
    seats.write(&folders.seats_file())?;
    output.result(&json!({ "from": from, "to": to, "seats": moved }), || {
        format!(
            "{} now of {to}: {}.",
            counted(moved.len()),
            moved.join(", ")
        )
    })
}

fn counted(count: usize) -> String {
    match count {
        1 => "One seat is".to_owned(),
        count => format!("{count} seats are"),
    }
}

/// Asks the new address whose key a seat's is.
fn check(name: &str, seat: &Seat, to: &str, common: &CommonArgs) -> CliResult {
    let ca_file = tls::ca_file(common.ca_file.as_deref(), seat.ca_file.as_deref());
    let client = ApiClient::new(to, Some(seat.secret()?), ca_file.as_deref())?;
    let whose: MySeat = client.get("/v1/seat")?;
    let is_same = seat.side == whose.side && (seat.side.is_none() || seat.game == whose.game);
    if is_same {
        return Ok(());
    }
    Err(CliError::Mismatch(format!(
        "the key of {name} opens another seat at {to}: that is another server. Nothing was changed"
    )))
}

/// Puts the records of an address where those of the other are looked for. What is there already stays.
fn move_records(folders: &Folders, from: &str, to: &str) -> CliResult {
    let (old, new) = (folders.server_folder(from), folders.server_folder(to));
    let games = match fs::read_dir(&old) {
        Ok(games) => games,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(CliError::of_file("read", &old, &error)),
    };
    fs::create_dir_all(&new).map_err(|error| CliError::of_file("make folder", &new, &error))?;
    for game in games.flatten() {
        let target = new.join(game.file_name());
        if !target.exists() {
            fs::rename(game.path(), &target)
                .map_err(|error| CliError::of_file("move a record to", &target, &error))?;
        }
    }
    Ok(())
}
