//! The seats and keys kept on this machine, by names of the user's own.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::files;
use crate::error::{CliError, CliResult};
use crate::secret::Secret;

/// The file of seats.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeatStore {
    /// Version of this file's format: 1.
    pub format: u32,
    /// The seat that commands are for when none is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current: Option<String>,
    /// Seats by name.
    #[serde(default, rename = "seat")]
    pub by_name: BTreeMap<String, Seat>,
}

/// One seat, or an organiser's key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// The server's address.
    pub server: String,
    /// The key.
    pub key: String,
    /// The game, for a player's seat; for an organiser's key the game last opened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub game: Option<String>,
    /// The game's name, to know it by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub game_name: Option<String>,
    /// The side, for a player's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The holder's name, for a seat or a member's key.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
    /// What its holder is, where that is neither player nor organiser.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// The seat's id, which signatures cover.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seat_id: Option<String>,
    /// The key that this machine signs with: 64 hexadecimal digits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signing_key: Option<String>,
    /// The file of certificate authorities that the server is trusted by; absent: the public ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ca_file: Option<PathBuf>,
    /// Whether the record does not have that key yet: another device adds it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub key_awaited: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_false(flag: &bool) -> bool {
    !flag
}

impl Default for SeatStore {
    fn default() -> Self {
        Self {
            format: 1,
            current: None,
            by_name: BTreeMap::new(),
        }
    }
}

impl Seat {
    /// Its key.
    ///
    /// # Errors
    /// When the file holds something that is no key.
    pub fn secret(&self) -> CliResult<Secret> {
        Secret::new(&self.key)
    }

    /// What its holder is.
    #[must_use]
    pub fn role(&self) -> &str {
        match &self.role {
            Some(role) => role,
            None if self.side.is_some() => "player",
            None => "organiser",
        }
    }
}

impl SeatStore {
    /// Reads the file; an absent one holds no seats.
    ///
    /// # Errors
    /// When it cannot be read or is not what this client wrote.
    pub fn read(path: &Path) -> CliResult<Self> {
        let Some(text) = files::read_if_there(path)? else {
            return Ok(Self::default());
        };
        let seats: Self = toml::from_str(&text).map_err(|error| {
            // the message alone: a drawing of the line could show a key
            let message = error.message();
            let line = error
                .span()
                .map(|span| 1 + text[..span.start.min(text.len())].matches('\n').count());
            let line = line.map_or_else(String::new, |line| format!(", line {line}"));
            CliError::Invalid(format!(
                "error: {}{line}: {message}; mend it, or take the seats again",
                path.display()
            ))
        })?;
        if seats.format != 1 {
            return Err(CliError::Invalid(format!(
                "error: {} has format {}, and this version of fieldpost knows format 1",
                path.display(),
                seats.format
            )));
        }
        Ok(seats)
    }

    /// Writes the file, for this user's eyes only.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, path: &Path) -> CliResult {
        let text = toml::to_string_pretty(self)
            .map_err(|error| CliError::Other(format!("cannot put the seats as TOML: {error}")))?;
        let head = "# Seats and keys of fieldpost. Whoever has a key can play its seat: keep this file to yourself.\n";
        files::write_private(path, format!("{head}{text}").as_bytes())
    }

    /// A seat by the name given, else the current one, else the only one.
    ///
    /// # Errors
    /// When the name is not known.
    pub fn choose(&self, name: Option<&str>) -> CliResult<Option<(&str, &Seat)>> {
        let wanted = name.or(self.current.as_deref());
        if let Some(name) = wanted {
            if let Some((name, seat)) = self.by_name.get_key_value(name) {
                return Ok(Some((name, seat)));
            }
            let known: Vec<&str> = self.by_name.keys().map(String::as_str).collect();
            let known = if known.is_empty() {
                "none is kept here yet".to_owned()
            } else {
                format!("kept here: {}", known.join(", "))
            };
            return Err(CliError::Usage(format!(
                "no seat is called {name:?}; {known}"
            )));
        }
        let mut all = self.by_name.iter();
        let only = all.next().filter(|_| all.next().is_none());
        Ok(only.map(|(name, seat)| (name.as_str(), seat)))
    }

    /// The stored seats of a game given by id or name, of one server or of all.
    pub fn playing_in<'a>(
        &'a self,
        game: &'a str,
        server: Option<&'a str>,
    ) -> impl Iterator<Item = (&'a str, &'a Seat)> {
        let is_meant = move |seat: &Seat| {
            let is_there = server.is_none_or(|server| same_address(server, &seat.server));
            let by_name = seat
                .game_name
                .as_deref()
                .is_some_and(|name| is_called(game, name));
            is_there && (seat.game.as_deref() == Some(game) || by_name)
        };
        let all = self.by_name.iter().filter(move |(_, seat)| is_meant(seat));
        all.map(|(name, seat)| (name.as_str(), seat))
    }

    /// The seat to act for in a game: the current one if it is of that game, else the only one that is; else as for any
    /// other command.
    ///
    /// # Errors
    /// As [`Self::choose`].
    pub fn choose_for(&self, game: &str) -> CliResult<Option<(&str, &Seat)>> {
        let of_game: Vec<&str> = self.playing_in(game, None).map(|(name, _)| name).collect();
        let current = self.current.as_deref();
        match (of_game.as_slice(), current) {
            ([only], _) => self.choose(Some(only)),
            (several, Some(current)) if several.contains(&current) => self.choose(Some(current)),
            _ => self.choose(None),
        }
    }

    /// Adds a seat that was just taken, and acts for it from now on: unless another side of the same game is kept too.
    /// Then a command must say for which, or the user choose one, so that nobody acts for a side by the accident that
    /// its seat was taken last. Whether it is acted for.
    pub fn take(&mut self, name: String, seat: Seat) -> bool {
        let is_other_side = |kept: &Seat| {
            kept.server == seat.server
                && kept.game.is_some()
                && kept.game == seat.game
                && kept.side.is_some()
                && seat.side.is_some()
                && kept.side != seat.side
        };
        let is_alone = !self.by_name.values().any(is_other_side);
        self.current = is_alone.then(|| name.clone());
        self.by_name.insert(name, seat);
        is_alone
    }

    /// A name for a new seat that no other has: the wish, or the wish and a number.
    #[must_use]
    pub fn free_name(&self, wish: &str) -> String {
        let wish = slug(wish);
        if !self.by_name.contains_key(&wish) {
            return wish;
        }
        (2..)
            .map(|number| format!("{wish}-{number}"))
            .find(|name| !self.by_name.contains_key(name))
            .unwrap_or(wish)
    }
}

/// Whether an address that was typed is that of a server.
#[must_use]
pub fn same_address(typed: &str, server: &str) -> bool {
    typed.trim().trim_end_matches('/') == server
}

/// Whether somebody who types this means a game of that name: case, blanks and points make no difference.
#[must_use]
pub fn is_called(typed: &str, name: &str) -> bool {
    typed.trim().to_lowercase() == name.to_lowercase()
        || (slug(typed) == slug(name) && slug(name) != slug(""))
}

/// A name in small letters, figures and dashes.
#[must_use]
pub fn slug(name: &str) -> String {
    let mut slug = String::new();
    for c in name.chars().take(60) {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_matches('-');
    if slug.is_empty() {
        "seat".to_owned()
    } else {
        slug.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seat(side: Option<&str>) -> Seat {
        Seat {
            server: "http://127.0.0.1:7878".to_owned(),
            key: "abc.def".to_owned(),
            game: None,
            game_name: None,
            side: side.map(str::to_owned),
            player: None,
            role: None,
            seat_id: None,
            signing_key: None,
            ca_file: None,
            key_awaited: false,
        }
    }

    #[test]
    fn the_only_seat_needs_no_name() {
        let mut seats = SeatStore::default();
        assert!(seats.choose(None).unwrap().is_none());
        seats.by_name.insert("a".to_owned(), seat(None));
        assert_eq!(seats.choose(None).unwrap().unwrap().0, "a");
        seats.by_name.insert("b".to_owned(), seat(Some("red")));
        assert!(seats.choose(None).unwrap().is_none());
        seats.current = Some("b".to_owned());
        assert_eq!(seats.choose(None).unwrap().unwrap().0, "b");
        assert_eq!(seats.choose(Some("a")).unwrap().unwrap().0, "a");
        assert_eq!(seats.choose(Some("c")).unwrap_err().exit_code(), 2);
    }

    #[test]
    fn of_two_sides_of_a_game_none_is_acted_for_until_one_is_chosen() {
        let in_game = |game: &str, side| Seat {
            game: Some(game.to_owned()),
            ..seat(side)
        };
        let mut seats = SeatStore::default();
        assert!(seats.take("red".to_owned(), in_game("a", Some("red"))));
        assert_eq!(seats.choose(None).unwrap().unwrap().0, "red");
        // a seat of another game, another seat of the same side, a spectator's: no side is mistaken for its enemy
        assert!(seats.take("other".to_owned(), in_game("b", Some("blue"))));
        assert!(seats.take("ally".to_owned(), in_game("a", Some("red"))));
        assert!(seats.take("guest".to_owned(), in_game("a", None)));
        assert!(!seats.take("blue".to_owned(), in_game("a", Some("blue"))));
        assert!(seats.choose(None).unwrap().is_none());
        seats.current = Some("red".to_owned());
        assert_eq!(seats.choose(None).unwrap().unwrap().0, "red");
    }

    #[test]
    fn a_game_that_is_named_chooses_its_seat() {
        let in_game = |game: &str, name: &str, side| Seat {
            game: Some(game.to_owned()),
            game_name: Some(name.to_owned()),
            ..seat(Some(side))
        };
        let mut seats = SeatStore::default();
        seats.take("red".to_owned(), in_game("a1", "Quern Bridge", "red"));
        seats.take("blue".to_owned(), in_game("b2", "Withy Bridge", "blue"));
        let chosen = |seats: &SeatStore, game: &str| {
            let chosen = seats.choose_for(game).unwrap();
            chosen.map(|(name, _)| name.to_owned())
        };
        assert_eq!(chosen(&seats, "quern-bridge").as_deref(), Some("red"));
        assert_eq!(chosen(&seats, "a1").as_deref(), Some("red"));
        assert_eq!(chosen(&seats, "Withy Bridge").as_deref(), Some("blue"));
        // of no game that is known here: as ever
        assert_eq!(chosen(&seats, "elsewhere").as_deref(), Some("blue"));
    }

    #[test]
    fn a_game_is_called_by_its_name_however_it_is_typed() {
        for typed in [
            "Quern Bridge",
            "quern bridge",
            "quern-bridge",
            " QUERN-BRIDGE",
        ] {
            assert!(is_called(typed, "Quern Bridge"), "{typed}");
        }
        assert!(!is_called("Quern", "Quern Bridge"));
    }

    #[test]
    fn names_are_made_free() {
        let mut seats = SeatStore::default();
        assert_eq!(seats.free_name("Mill  Brook: Red"), "mill-brook-red");
        seats
            .by_name
            .insert("mill-brook-red".to_owned(), seat(None));
        assert_eq!(seats.free_name("Mill Brook Red"), "mill-brook-red-2");
        assert_eq!(seats.free_name("!"), "seat");
    }

    #[test]
    fn the_file_is_private_and_reads_back() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep").join("seats.toml");
        let mut seats = SeatStore::default();
        seats.by_name.insert("a".to_owned(), seat(Some("red")));
        seats.current = Some("a".to_owned());
        seats.write(&path).unwrap();
        assert!(!files::others_may_read(&path));
        assert_eq!(SeatStore::read(&path).unwrap(), seats);
        // a second write keeps both mode and content
        seats.write(&path).unwrap();
        assert!(!files::others_may_read(&path));
    }

    #[test]
    fn a_spoilt_file_is_told_of_without_its_keys() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("seats.toml");
        std::fs::write(
            &path,
            "format = 1\n[seat.a]\nserver = 1\nkey = \"abc.def\"\n",
        )
        .unwrap();
        let failure = SeatStore::read(&path).unwrap_err();
        assert_eq!(failure.exit_code(), 3);
        assert!(
            failure.to_string().contains("line 3"),
            "{}",
            failure.to_string()
        );
        assert!(
            !failure.to_string().contains("def"),
            "{}",
            failure.to_string()
        );
    }
}
