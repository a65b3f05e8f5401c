//! Where and for whom a command acts: the effective server, key, game and seat. A flag counts before the environment,
//! and that before the file of seats.

use std::cell::OnceCell;
use std::env;
use std::path::{Path, PathBuf};

use crate::api::{ApiClient, is_readable_by_others};
use crate::arguments::CommonArgs;
use crate::error::{CliError, CliResult};
use crate::games;
use crate::output::Output;
use crate::secret::Secret;
use crate::signing::SigningKey;
use crate::storage::files;
use crate::storage::folders::{self, Folders};
use crate::storage::seats::{Seat, SeatStore};
use crate::tls;

/// The environment's variable that a key is read from.
pub const KEY: &str = "FIELDPOST_KEY";

/// Where and for whom a command acts.
#[derive(Debug)]
pub struct Context {
    /// Where this machine keeps things.
    pub folders: Folders,
    /// The seats stored here.
    pub seats: SeatStore,
    /// The seat acted for, by its name, if there is one.
    pub seat: Option<(String, Seat)>,
    /// The server's address, as given or the seat's.
    pub server: Option<String>,
    /// The game, as given (its id or its name) or the seat's.
    pub game: Option<String>,
    /// The id of a game that was given by name, once the server has told it.
    found: OnceCell<String>,
    /// The file of certificate authorities to trust: as given, the seat's, or the environment's.
    pub ca_file: Option<PathBuf>,
    /// The key, as given or the seat's.
    pub key: Option<Secret>,
    /// Where the key came from.
    pub key_source: &'static str,
}

impl Context {
    /// Works it out from flags, environment and the file of seats.
    ///
    /// # Errors
    /// When a file cannot be read, or names a seat that is not kept.
    pub fn load(common: &CommonArgs) -> CliResult<Self> {
        let folders = Folders::find()?;
        let seats = SeatStore::read(&folders.seats_file())?;
        let seat = match (&common.seat, &common.game) {
            (None, Some(game)) => seats.choose_for(game)?,
            (name, _) => seats.choose(name.as_deref())?,
        };
        let seat = seat.map(|(name, seat)| (name.to_owned(), seat.clone()));
        // a seat's key is for its own server: another address gets no key unless one is given
        let chosen = seat.as_ref().map(|(_, seat)| seat);
        let same_server = |seat: &&Seat| {
            common
                .server
                .as_deref()
                .is_none_or(|server| server.trim().trim_end_matches('/') == seat.server)
        };
        let on_server = chosen.filter(same_server);
        let (key, key_source) = given_key(common)?.map_or_else(
            || match on_server {
                Some(seat) => Ok::<_, CliError>((Some(seat.secret()?), "the seat")),
                None => Ok((None, "nowhere")),
            },
            |(key, from)| Ok((Some(key), from)),
        )?;
        Ok(Self {
            server: common
                .server
                .clone()
                .or_else(|| chosen.map(|seat| seat.server.clone())),
            game: game_named(common, &seats)
                .or_else(|| on_server.and_then(|seat| seat.game.clone())),
            found: OnceCell::new(),
            ca_file: tls::ca_file(
                common.ca_file.as_deref(),
                on_server.and_then(|seat| seat.ca_file.as_deref()),
            ),
            key,
            key_source,
            folders,
            seat,
            seats,
        })
    }

    /// The server to speak to. A game that was given by a name that no stored seat knows is looked up there.
    ///
    /// # Errors
    /// When none is known.
    pub fn connect(&self, output: Output) -> CliResult<ApiClient> {
        let server = self.server.as_deref().ok_or_else(|| {
            CliError::Usage(format!(
                "which server? Name it with --server URL, or {}",
                self.which_seat()
            ))
        })?;
        let client = ApiClient::new(server, self.key.clone(), self.ca_file.as_deref())?;
        if let Some(name) = self.game.as_deref().filter(|game| !is_id(game, 32)) {
            let _ = self.found.set(games::id_of(&client, name)?);
        }
        if self.key.is_some() && is_readable_by_others(client.base()) {
            output.warn(
                "fieldpost: this server is spoken to in the clear (http): others on the way can read your key. \
                 Ask the host for an https address.",
            );
        }
        Ok(client)
    }

    /// The game's id.
    ///
    /// # Errors
    /// When none is known.
    pub fn game(&self) -> CliResult<&str> {
        if let Some(found) = self.found.get() {
            return Ok(found);
        }
        self.game.as_deref().ok_or_else(|| {
            CliError::Usage(format!(
                "which game? Name it with --game NAME (\"fieldpost games\" lists them), or {}",
                self.which_seat()
            ))
        })
    }

    /// Saves a signing key of this machine for a kept seat, whose record does not have it yet.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn save_signing_key(&mut self, name: &str, key: &SigningKey) -> CliResult {
        let acted_for = self.seat.as_mut().filter(|(known, _)| known == name);
        let stored = self.seats.by_name.get_mut(name);
        for seat in stored.into_iter().chain(acted_for.map(|(_, seat)| seat)) {
            seat.signing_key = Some(key.reveal());
            seat.key_awaited = true;
        }
        self.seats.write(&self.folders.seats_file())
    }

    fn which_seat(&self) -> &'static str {
        if self.seats.by_name.is_empty() {
            "take a seat first: fieldpost join"
        } else {
            "choose one of your seats: fieldpost seats, fieldpost seats use NAME"
        }
    }

    /// The folder of what the seat acted for keeps for itself, in that of a game.
    #[must_use]
    pub fn seat_folder(&self, game_folder: &Path) -> PathBuf {
        let name = self.seat.as_ref().map(|(name, _)| name.as_str());
        folders::seat_folder(game_folder, name)
    }

    /// The folder of the game.
    ///
    /// # Errors
    /// When server or game is not known.
    pub fn game_folder(&self, client: &ApiClient) -> CliResult<PathBuf> {
        Ok(self.folders.game_folder(client.base(), self.game()?))
    }
}

/// The game given: its id where a stored seat plays in one of that name.
fn game_named(common: &CommonArgs, seats: &SeatStore) -> Option<String> {
    let given = common.game.as_deref()?;
    let mut known = seats.playing_in(given, common.server.as_deref());
    let first = known.next().and_then(|(_, seat)| seat.game.clone());
    let is_one = known.all(|(_, seat)| seat.game == first);
    Some(first.filter(|_| is_one).unwrap_or_else(|| given.to_owned()))
}

/// Whether a text is an id of so many hexadecimal digits.
#[must_use]
pub fn is_id(text: &str, digits: usize) -> bool {
    text.len() == digits && text.chars().all(|c| c.is_ascii_hexdigit())
}

/// Refuses what is no member's or seat's id before it comes into a path.
///
/// # Errors
/// [`CliError::Usage`], with the command that lists them.
pub fn require_id(text: &str, of: &str, listed_by: &str) -> CliResult {
    if is_id(text, 16) {
        return Ok(());
    }
    Err(CliError::Usage(format!(
        "{text:?} is no {of}'s id: one has 16 hexadecimal digits (\"{listed_by}\" lists them)"
    )))
}

/// The key from the file that was named, else from the environment.
fn given_key(common: &CommonArgs) -> CliResult<Option<(Secret, &'static str)>> {
    if let Some(path) = &common.key_file {
        let (_, text) = files::read_named(path)?;
        return Ok(Some((Secret::new(&text)?, "the file named")));
    }
    match env::var(KEY) {
        Ok(text) if !text.trim().is_empty() => Ok(Some((Secret::new(&text)?, "the environment"))),
        _ => Ok(None),
    }
}
