//! `join` and `seats`: getting keys and keeping them.

use std::env;
use std::io::{IsTerminal as _, stdin};
use std::path::Path;

use serde_json::json;
use sha2::{Digest, Sha256};

use super::by_post::own_zone;
use super::columns;
use crate::failure::{Failure, Outcome};
use crate::keep::places::Places;
use crate::keep::seats::Seat;
use crate::keep::signing::SigningKey;
use crate::keep::{files, random};
use crate::meant::Meant;
use crate::office::{Ask, Office, Secret, is_readable_by_others};
use crate::out::Out;
use crate::typed::{Common, JoinArgs, KeepArgs, SeatsArgs, SeatsCommand};
use crate::wire::{AddressSet, FreshKey, MySeat, RevokedKey, TakeSeat, TakenSeat};

/// The environment's variable that an invitation is read from.
const INVITATION: &str = "FIELDPOST_INVITATION";

/// Takes a seat and keeps its key.
///
/// # Errors
/// When the invitation is refused or the key cannot be kept.
pub fn join(args: &JoinArgs, common: &Common, out: Out) -> Outcome {
    let mut meant = Meant::by(common)?;
    let server = meant.server.clone().ok_or_else(|| {
        Failure::Usage(
            "which server? Name it with --server URL, as the organiser told you".to_owned(),
        )
    })?;
    let office = Office::new(&server, organisers_key(&meant, &server)?)?;
    if is_readable_by_others(office.base()) {
        out.warn("fieldpost: this server is spoken to in the clear (http): others on the way can read your key.");
    }
    if let Some(name) = &args.name {
        refuse_taken_name(&meant, name)?;
    }
    let invitation = invitation(args.invitation_file.as_deref(), out)?;
    let joining = Joining::of(&meant, &invitation)?;
    let body = serde_json::to_vec(&TakeSeat {
        invitation: invitation.reveal(),
        player: &args.player,
        zone: args.zone.clone().or_else(own_zone),
        key: joining.signing_key.public(),
    })
    .map_err(|error| Failure::Plain(format!("cannot be sent: {error}")))?;
    let ask = Ask::send(ureq::http::Method::POST, "/v1/seats", &body)
        .header("idempotency-key", joining.idempotency_key.clone());
    let taken: TakenSeat = office.ask(&ask)?.accepted()?.json()?;
    let role = taken.role.to_string();
    let as_whom = taken.side.as_deref().unwrap_or(&role);
    let wish = format!("{} {as_whom}", taken.game.name);
    let name = args
        .name
        .clone()
        .unwrap_or_else(|| meant.book.free_name(&wish));
    let seat = Seat {
        server: office.base().to_owned(),
        key: taken.key,
        game: Some(taken.game.id.clone()),
        game_name: Some(taken.game.name.clone()),
        side: taken.side.clone(),
        player: Some(taken.player.clone()),
        role: other_role(&role),
        seat_id: Some(taken.seat.clone()).filter(|id| !id.is_empty()),
        signing_key: (role != "spectator").then(|| joining.signing_key.reveal()),
        key_awaited: false,
    };
    let is_current = meant.book.take(name.clone(), seat);
    let path = meant.places.seats_file();
    meant.book.write(&path)?;
    joining.forget();
    out.result(
        &json!({ "seat": name, "server": office.base(), "game": taken.game.id, "game_name": taken.game.name,
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
fn organisers_key(meant: &Meant, server: &str) -> Outcome<Option<Secret>> {
    let base = Office::new(server, None)?.base().to_owned();
    let mut kept = meant.book.seat.values();
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
struct Joining {
    idempotency_key: String,
    /// The key that the seat's first device signs with: the same however often the answer is lost.
    signing_key: SigningKey,
    path: std::path::PathBuf,
}

impl Joining {
    fn of(meant: &Meant, invitation: &Secret) -> Outcome<Self> {
        Self::by(&meant.places, "joining", invitation)
    }

    fn by(places: &Places, what: &str, secret: &Secret) -> Outcome<Self> {
        let digest = Sha256::digest(secret.reveal().as_bytes());
        let name = hex::encode(&digest[..8]);
        let path = places.data.join(what).join(name);
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

fn refuse_taken_name(meant: &Meant, name: &str) -> Outcome {
    if meant.book.seat.contains_key(name) {
        return Err(Failure::Usage(format!(
            "a seat called {name:?} is kept here already; forget it first, or choose another name"
        )));
    }
    Ok(())
}

/// The invitation from its file, the environment, or standard input.
fn invitation(file: Option<&Path>, out: Out) -> Outcome<Secret> {
    if let Some(path) = file {
        return Secret::new(&files::read_named(path)?.1);
    }
    if let Ok(text) = env::var(INVITATION)
        && !text.trim().is_empty()
    {
        return Secret::new(&text);
    }
    if stdin().is_terminal() {
        out.warn("Paste the invitation and press Enter:");
    }
    first_line()
}

/// The first line of standard input.
fn first_line() -> Outcome<Secret> {
    let mut line = String::new();
    stdin()
        .read_line(&mut line)
        .map_err(|error| Failure::Plain(format!("cannot read standard input: {error}")))?;
    Secret::new(&line)
}

/// Lists, chooses, forgets or adds seats.
///
/// # Errors
/// When a name is not known or the file cannot be written.
pub fn seats(args: &SeatsArgs, common: &Common, out: Out) -> Outcome {
    match &args.command {
        None | Some(SeatsCommand::List) => list(out),
        Some(SeatsCommand::Use { name }) => choose(name, out),
        Some(SeatsCommand::Forget { name }) => forget(name, out),
        Some(SeatsCommand::Keep(args)) => keep(args, common, out),
        Some(SeatsCommand::Renew { name }) => renew(name, out),
        Some(SeatsCommand::Revoke { name }) => revoke(name, out),
    }
}

fn book() -> Outcome<(crate::keep::seats::SeatBook, std::path::PathBuf)> {
    let path = crate::keep::places::Places::find()?.seats_file();
    Ok((crate::keep::seats::SeatBook::read(&path)?, path))
}

fn list(out: Out) -> Outcome {
    let (book, path) = book()?;
    if files::others_may_read(&path) {
        out.warn(&format!(
            "fieldpost: others on this machine may read your keys in {}; make it yours alone: chmod 600",
            path.display()
        ));
    }
    let is_current = |name: &str| book.current.as_deref() == Some(name);
    let data: Vec<_> = book
        .seat
        .iter()
        .map(|(name, seat)| {
            json!({ "name": name, "current": is_current(name), "role": seat.role(), "server": seat.server,
                "game": seat.game, "game_name": seat.game_name, "side": seat.side, "player": seat.player })
        })
        .collect();
    out.result(&json!({ "seats": data }), || {
        if book.seat.is_empty() {
            return "No seat is kept here yet. Take one: fieldpost join".to_owned();
        }
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let rows = book.seat.iter().map(|(name, seat)| {
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

fn choose(name: &str, out: Out) -> Outcome {
    let (mut book, path) = book()?;
    book.choose(Some(name))?;
    book.current = Some(name.to_owned());
    book.write(&path)?;
    out.remark(&format!("acting for {name} from now on"));
    Ok(())
}

fn forget(name: &str, out: Out) -> Outcome {
    let (mut book, path) = book()?;
    book.choose(Some(name))?;
    book.seat.remove(name);
    if book.current.as_deref() == Some(name) {
        book.current = None;
    }
    book.write(&path)?;
    out.remark(&format!(
        "{name} and its key are forgotten here; the server still knows the seat"
    ));
    Ok(())
}

/// Has the server put a fresh key in the place of a kept one, and keeps that.
fn renew(name: &str, out: Out) -> Outcome {
    let (mut book, path) = book()?;
    let places = Places::find()?;
    let Some((_, seat)) = book.choose(Some(name))? else {
        return Ok(());
    };
    let secret = seat.secret()?;
    let renewing = Joining::by(&places, "renewing", &secret)?;
    let office = Office::new(&seat.server, Some(secret))?;
    let ask = Ask::send(ureq::http::Method::POST, "/v1/key", b"")
        .header("idempotency-key", renewing.idempotency_key.clone());
    let fresh: FreshKey = office.ask(&ask)?.accepted()?.json()?;
    if let Some(seat) = book.seat.get_mut(name) {
        seat.key = fresh.key;
    }
    book.write(&path)?;
    renewing.forget();
    out.remark(&format!(
        "{name} has a fresh key, kept here; the old one opens nothing any more"
    ));
    tell_addresses(&fresh.addresses_set, out);
    Ok(())
}

/// Has the server revoke a kept key, and forgets it.
fn revoke(name: &str, out: Out) -> Outcome {
    let (book, _) = book()?;
    let Some((_, seat)) = book.choose(Some(name))? else {
        return Ok(());
    };
    let office = Office::new(&seat.server, Some(seat.secret()?))?;
    let ask = Ask::send(ureq::http::Method::DELETE, "/v1/key", b"");
    let revoked: RevokedKey = office.ask(&ask)?.accepted()?.json()?;
    forget(name, out)?;
    out.remark("the key opens nothing any more; the organiser can invite to the seat again");
    tell_addresses(&revoked.addresses_set, out);
    Ok(())
}

/// Tells where notices go on going that were set with the key that ended.
fn tell_addresses(set: &[AddressSet], out: Out) {
    for AddressSet {
        way,
        address,
        since,
        ..
    } in set
    {
        out.warn(&format!(
            "the old key had notices sent by {way} to {address} since {since}, and they still are. If that was not \
             you: fieldpost notices set, or ask the organiser to free the seat"
        ));
    }
}

/// Keeps a key that was given, after asking the server whose it is.
fn keep(args: &KeepArgs, common: &Common, out: Out) -> Outcome {
    let mut meant = Meant::by(common)?;
    refuse_taken_name(&meant, &args.name)?;
    let server = common.server.as_deref().ok_or_else(|| {
        Failure::Usage("which server is the key for? Name it with --server URL".to_owned())
    })?;
    let given = common.key_file.is_some() || meant.key_from == "the environment";
    let key = match meant.key.clone().filter(|_| given) {
        Some(key) => key,
        None => {
            if stdin().is_terminal() {
                out.warn("Paste the key and press Enter:");
            }
            first_line()?
        }
    };
    let office = Office::new(server, Some(key.clone()))?;
    let whose: MySeat = office.get("/v1/seat")?;
    let seat = Seat {
        server: office.base().to_owned(),
        key: key.reveal().to_owned(),
        game: whose.game.clone(),
        game_name: None,
        side: whose.side.clone(),
        player: whose.player.clone(),
        role: other_role(&whose.role.to_string()),
        seat_id: whose.seat.clone(),
        signing_key: None,
        key_awaited: false,
    };
    meant.book.seat.insert(args.name.clone(), seat);
    if meant.book.current.is_none() {
        meant.book.current = Some(args.name.clone());
    }
    meant.book.write(&meant.places.seats_file())?;
    out.result(
        &json!({ "seat": args.name, "role": whose.role, "server": office.base(), "game": whose.game, "side": whose.side }),
        || format!("The key of the {} is kept as {}.", whose.role, args.name),
    )
}
