//! `join` and `seats`: getting keys and keeping them.

use std::env;
use std::io::{IsTerminal as _, stdin};
use std::path::{Path, PathBuf};

use fieldpost_command_line::in_plain_words;
use serde_json::json;
use sha2::{Digest, Sha256};

use super::clock::own_zone;
use super::columns;
use crate::answers::{SeatsAnswer, StoredSeat};
use crate::api::{ApiClient, ApiRequest, is_readable_by_others, server_address};
use crate::arguments::{CommonArgs, JoinArgs, SeatsArgs, SeatsCommand, SeatsKeepArgs};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::random::random;
use crate::secret::Secret;
use crate::signing::SigningKey;
use crate::storage::files;
use crate::storage::folders::Folders;
use crate::storage::seats::Seat;
use crate::tls;
use crate::wire::{AddressSet, FreshKey, MySeat, RevokedKey, TakeSeat, TakenSeat};

/// The environment's variable that an invitation is read from.
const INVITATION: &str = "FIELDPOST_INVITATION";

/// Takes a seat and keeps its key.
///
/// # Errors
/// When the invitation is refused or the key cannot be kept.
pub fn join(args: &JoinArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut context = Context::load(common)?;
    let server = context.server.clone().ok_or_else(|| {
        CliError::Usage(
            "which server? Name it with --server URL, as the organiser told you".to_owned(),
        )
    })?;
    let client = ApiClient::new(
        &server,
        organisers_key(&context, &server)?,
        context.ca_file.as_deref(),
    )?;
    if is_readable_by_others(client.base()) {
        output.warn("fieldpost: this server is spoken to in the clear (http): others on the way can read your key.");
    }
    if let Some(name) = &args.name {
        refuse_taken_name(&context, name)?;
    }
    let invitation = invitation(args.invitation_file.as_deref(), output)?;
    let joining = PendingJoin::of(&context, &invitation)?;
    let body = serde_json::to_vec(&TakeSeat {
        invitation: invitation.reveal(),
        player: &args.player,
        zone: args.zone.clone().or_else(own_zone),
        key: joining.signing_key.public(),
    })
    .map_err(|error| CliError::Other(format!("cannot be sent: {error}")))?;
    let request = ApiRequest::send(ureq::http::Method::POST, "/v1/seats", &body)
        .header("idempotency-key", joining.idempotency_key.clone());
    let taken: TakenSeat = client.send(&request)?.success()?.json()?;
    let role = taken.role.to_string();
    let as_whom = taken.side.as_deref().unwrap_or(&role);
    let wish = format!("{} {as_whom}", taken.game.name);
    let name = args
        .name
        .clone()
        .unwrap_or_else(|| context.seats.free_name(&wish));
    let seat = Seat {
        server: client.base().to_owned(),
        key: taken.key,
        game: Some(taken.game.id.clone()),
        game_name: Some(taken.game.name.clone()),
        side: taken.side.clone(),
        player: Some(taken.player.clone()),
        role: other_role(&role),
        seat_id: Some(taken.seat.clone()).filter(|id| !id.is_empty()),
        signing_key: (role != "spectator").then(|| joining.signing_key.reveal()),
        ca_file: kept_ca_file(common)?,
        key_awaited: false,
    };
    let is_current = context.seats.take(name.clone(), seat);
    let path = context.folders.seats_file();
    context.seats.write(&path)?;
    joining.forget();
    output.result(
        &json!({ "seat": name, "server": client.base(), "game": taken.game.id, "game_name": taken.game.name,
            "side": taken.side, "player": taken.player, "current": is_current, "kept_in": path }),
        || {
            let acting = if is_current {
                ", and is the one acted for from now on.\nNext: fieldpost news".to_owned()
            } else {
                format!(
                    ".\nAnother side of this game is kept here too: say for which you act, as in --seat {name}, or choose \
                     one with fieldpost seats use.\nNext: fieldpost news --seat {name}"
                )
            };
            format!(
                "{} {} {} in {}.\nThe seat is kept as {name} in {}, for your eyes only{acting}",
                taken.player,
                if taken.side.is_some() { "plays" } else { "is" },
                as_whom,
                taken.game.name,
                path.display()
            )
        },
    )
}

/// The key of an organiser of that server who keeps it here: whoever organises and plays says so when they take a seat.
fn organisers_key(context: &Context, server: &str) -> CliResult<Option<Secret>> {
    let base = server_address(server)?;
    let mut kept = context.seats.by_name.values();
    let organiser = kept.find(|seat| seat.server == base && seat.role() == "organiser");
    organiser.map(Seat::secret).transpose()
}

/// What is kept as a seat's role: nothing where its side, or having none, tells it.
fn other_role(role: &str) -> Option<String> {
    let is_told = matches!(role, "player" | "organiser");
    (!is_told).then(|| role.to_owned())
}

/// A seat being taken, or a key renewed. Its random key is kept until the seat is, so that a lost answer can be had
/// again here, and by nobody else who comes to see the invitation.
struct PendingJoin {
    idempotency_key: String,
    /// The key that the seat's first device signs with: the same however often the answer is lost.
    signing_key: SigningKey,
    path: std::path::PathBuf,
}

impl PendingJoin {
    fn of(context: &Context, invitation: &Secret) -> CliResult<Self> {
        Self::by(&context.folders, "joining", invitation)
    }

    fn by(folders: &Folders, what: &str, secret: &Secret) -> CliResult<Self> {
        let digest = Sha256::digest(secret.reveal().as_bytes());
        let name = hex::encode(&digest[..8]);
        let path = folders.data.join(what).join(name);
        let kept = files::read_if_there(&path)?;
        let kept = kept.as_deref().and_then(|kept| kept.split_once('\n'));
        let (idempotency_key, signing_key) = match kept {
            Some((key, signing_key)) => (key.to_owned(), SigningKey::from_hex(signing_key)?),
            None => {
                let (key, signing_key) = (hex::encode(random::<16>()?), SigningKey::fresh()?);
                let text = format!("{key}\n{}", signing_key.reveal());
                files::write_private(&path, text.as_bytes())?;
                (key, signing_key)
            }
        };
        Ok(Self {
            idempotency_key,
            signing_key,
            path,
        })
    }

    fn forget(self) {
        // left behind, it does no more than keep one invitation's answer within this user's reach
        let _ = std::fs::remove_file(&self.path);
    }
}

fn refuse_taken_name(context: &Context, name: &str) -> CliResult {
    if context.seats.by_name.contains_key(name) {
        return Err(CliError::Usage(format!(
            "a seat called {name:?} is kept here already; forget it first, or choose another name"
        )));
    }
    Ok(())
}

/// The invitation from its file, the environment, or standard input.
fn invitation(file: Option<&Path>, output: Output) -> CliResult<Secret> {
    if let Some(path) = file {
        return Secret::new(&files::read_named(path)?.1);
    }
    if let Ok(text) = env::var(INVITATION)
        && !text.trim().is_empty()
    {
        return Secret::new(&text);
    }
    if stdin().is_terminal() {
        output.warn("Paste the invitation and press Enter:");
    }
    first_line()
}

/// The first line of standard input.
fn first_line() -> CliResult<Secret> {
    let mut line = String::new();
    stdin().read_line(&mut line).map_err(|error| {
        CliError::Other(format!(
            "cannot read standard input: {}",
            in_plain_words(&error)
        ))
    })?;
    Secret::new(&line)
}

/// Lists, chooses, forgets or adds seats.
///
/// # Errors
/// When a name is not known or the file cannot be written.
pub fn seats(args: &SeatsArgs, common: &CommonArgs, output: Output) -> CliResult {
    match &args.command {
        None | Some(SeatsCommand::List) => list(output),
        Some(SeatsCommand::Use { name }) => choose(name, output),
        Some(SeatsCommand::Forget { name }) => forget(name, output),
        Some(SeatsCommand::Keep(args)) => keep(args, common, output),
        Some(SeatsCommand::Move { from, to }) => {
            super::moved_server::move_server(from, to, common, output)
        }
        Some(SeatsCommand::Renew { name }) => renew(name, output),
        Some(SeatsCommand::Revoke { name }) => revoke(name, output),
    }
}

fn read_seats() -> CliResult<(crate::storage::seats::SeatStore, std::path::PathBuf)> {
    let path = crate::storage::folders::Folders::find()?.seats_file();
    Ok((crate::storage::seats::SeatStore::read(&path)?, path))
}

fn list(output: Output) -> CliResult {
    let (seats, path) = read_seats()?;
    if files::others_may_read(&path) {
        output.warn(&format!(
            "fieldpost: others on this machine may read your keys in {}; make it yours alone: chmod 600",
            path.display()
        ));
    }
    let is_current = |name: &str| seats.current.as_deref() == Some(name);
    let stored = seats.by_name.iter().map(|(name, seat)| StoredSeat {
        name,
        current: is_current(name),
        role: seat.role(),
        server: &seat.server,
        game: seat.game.as_deref(),
        game_name: seat.game_name.as_deref(),
        side: seat.side.as_deref(),
        player: seat.player.as_deref(),
    });
    let answer = SeatsAnswer {
        seats: stored.collect(),
    };
    output.result(&answer, || {
        if seats.by_name.is_empty() {
            return "No seat is kept here yet. Take one: fieldpost join".to_owned();
        }
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let rows = seats.by_name.iter().map(|(name, seat)| {
            let mark = if is_current(name) { "*" } else { "" };
            [
                format!("{mark}{name}"),
                text(&seat.game_name),
                seat.side.clone().unwrap_or_else(|| seat.role().to_owned()),
                text(&seat.player),
                seat.server.clone(),
            ]
        });
        columns(["seat", "game", "side", "player", "server"], rows.collect())
    })
}

fn choose(name: &str, output: Output) -> CliResult {
    let (mut seats, path) = read_seats()?;
    seats.choose(Some(name))?;
    seats.current = Some(name.to_owned());
    seats.write(&path)?;
    output.info(&format!("acting for {name} from now on"));
    Ok(())
}

fn forget(name: &str, output: Output) -> CliResult {
    let (mut seats, path) = read_seats()?;
    seats.choose(Some(name))?;
    seats.by_name.remove(name);
    if seats.current.as_deref() == Some(name) {
        seats.current = None;
    }
    seats.write(&path)?;
    output.info(&format!(
        "{name} and its key are forgotten here; the server still knows the seat"
    ));
    Ok(())
}

/// The server of a stored seat.
fn client_of(seat: &Seat, key: Option<Secret>) -> CliResult<ApiClient> {
    let ca_file = tls::ca_file(None, seat.ca_file.as_deref());
    ApiClient::new(&seat.server, key, ca_file.as_deref())
}

/// The file of certificate authorities that was given, as a seat keeps it: found from any folder.
fn kept_ca_file(common: &CommonArgs) -> CliResult<Option<PathBuf>> {
    let given = common.ca_file.as_deref();
    given
        .map(|path| {
            std::path::absolute(path).map_err(|error| CliError::of_file("find", path, &error))
        })
        .transpose()
}

/// Has the server put a fresh key in the place of a kept one, and keeps that.
fn renew(name: &str, output: Output) -> CliResult {
    let (mut seats, path) = read_seats()?;
    let folders = Folders::find()?;
    let Some((_, seat)) = seats.choose(Some(name))? else {
        return Ok(());
    };
    let secret = seat.secret()?;
    let renewing = PendingJoin::by(&folders, "renewing", &secret)?;
    let client = client_of(seat, Some(secret))?;
    let request = ApiRequest::send(ureq::http::Method::POST, "/v1/key", b"")
        .header("idempotency-key", renewing.idempotency_key.clone());
    let fresh: FreshKey = client.send(&request)?.success()?.json()?;
    if let Some(seat) = seats.by_name.get_mut(name) {
        seat.key = fresh.key;
    }
    seats.write(&path)?;
    renewing.forget();
    output.info(&format!(
        "{name} has a fresh key, kept here; the old one opens nothing any more"
    ));
    tell_addresses(&fresh.addresses_set, output);
    Ok(())
}

/// Has the server revoke a kept key, and forgets it.
fn revoke(name: &str, output: Output) -> CliResult {
    let (seats, _) = read_seats()?;
    let Some((_, seat)) = seats.choose(Some(name))? else {
        return Ok(());
    };
    let client = client_of(seat, Some(seat.secret()?))?;
    let request = ApiRequest::send(ureq::http::Method::DELETE, "/v1/key", b"");
    let revoked: RevokedKey = client.send(&request)?.success()?.json()?;
    forget(name, output)?;
    output.info("the key opens nothing any more; the organiser can invite to the seat again");
    tell_addresses(&revoked.addresses_set, output);
    Ok(())
}

/// Tells where notices go on going that were set with the key that ended.
fn tell_addresses(set: &[AddressSet], output: Output) {
    for AddressSet {
        way,
        address,
        since,
        ..
    } in set
    {
        output.warn(&format!(
            "the old key had notices sent by {way} to {address} since {since}, and they still are. If that was not \
             you: fieldpost notices set, or ask the organiser to free the seat"
        ));
    }
}

/// Keeps a key that was given, after asking the server whose it is.
fn keep(args: &SeatsKeepArgs, common: &CommonArgs, output: Output) -> CliResult {
    let mut context = Context::load(common)?;
    refuse_taken_name(&context, &args.name)?;
    let server = common.server.as_deref().ok_or_else(|| {
        CliError::Usage("which server is the key for? Name it with --server URL".to_owned())
    })?;
    let given = common.key_file.is_some() || context.key_source == "the environment";
    let key = match context.key.clone().filter(|_| given) {
        Some(key) => key,
        None => {
            if stdin().is_terminal() {
                output.warn("Paste the key and press Enter:");
            }
            first_line()?
        }
    };
    let client = ApiClient::new(server, Some(key.clone()), context.ca_file.as_deref())?;
    let whose: MySeat = client.get("/v1/seat")?;
    let seat = Seat {
        server: client.base().to_owned(),
        key: key.reveal().to_owned(),
        game: whose.game.clone(),
        game_name: None,
        side: whose.side.clone(),
        player: whose.player.clone(),
        role: other_role(&whose.role.to_string()),
        seat_id: whose.seat.clone(),
        signing_key: None,
        ca_file: kept_ca_file(common)?,
        key_awaited: false,
    };
    context.seats.by_name.insert(args.name.clone(), seat);
    if context.seats.current.is_none() {
        context.seats.current = Some(args.name.clone());
    }
    context.seats.write(&context.folders.seats_file())?;
    output.result(
        &json!({ "seat": args.name, "role": whose.role, "server": client.base(), "game": whose.game, "side": whose.side }),
        || format!("The key of the {} is kept as {}.", whose.role, args.name),
    )
}
