//! The record of a game as it is kept here: read, checked link by link, brought up to date, folded
//! into the table.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fieldpost_rules::authored;
use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::{Battlefield, Event, FORMAT, Game};
use fieldpost_rules::record::audit::Line;
use fieldpost_rules::record::{BEFORE_THE_FIRST, Entry, Fold, Sealed, hash_of};

use super::files;
use crate::api::{ApiClient, ApiRequest};
use crate::error::{CliError, CliResult};
use crate::wire::{GameSummary, Head};

/// A record whose links have been checked.
#[derive(Debug, Clone)]
pub struct Record {
    lines: Vec<Line>,
    entries: Vec<Entry>,
}

/// Where a game's record is kept.
#[must_use]
pub fn path(game_folder: &Path) -> PathBuf {
    game_folder.join("record.ndjson")
}

impl Record {
    /// Reads an exported record and checks that every link holds.
    ///
    /// # Errors
    /// [`CliError::Mismatch`] at the first line that does not follow the one before.
    pub fn parse(name: &str, text: &str) -> CliResult<Self> {
        let mut record = Self {
            lines: Vec::new(),
            entries: Vec::new(),
        };
        record.append(name, text)?;
        Ok(record)
    }

    /// A record, or the part of one, that was sealed here.
    #[must_use]
    pub fn of(sealed: &[Sealed]) -> Self {
        Self {
            entries: sealed.iter().map(|sealed| sealed.entry.clone()).collect(),
            lines: sealed
                .iter()
                .map(|sealed| Line {
                    number: sealed.entry.number,
                    hash: hex::encode(sealed.hash),
                    body: sealed.body.clone(),
                })
                .collect(),
        }
    }

    /// Adds entries that were sealed here, upon its own head.
    pub fn push(&mut self, sealed: &[Sealed]) {
        let new = Self::of(sealed);
        self.lines.extend(new.lines);
        self.entries.extend(new.entries);
    }

    /// The record kept in a game's folder.
    ///
    /// # Errors
    /// When its file cannot be read or its links do not hold.
    pub fn stored(game_folder: &Path) -> CliResult<Option<Self>> {
        let path = path(game_folder);
        let text = files::read_if_there(&path)?;
        text.map(|text| Self::parse(&path.display().to_string(), &text))
            .transpose()
    }

    /// Adds exported lines.
    fn append(&mut self, name: &str, text: &str) -> CliResult {
        for (index, line) in text
            .lines()
            .enumerate()
            .filter(|(_, line)| !line.trim().is_empty())
        {
            let wrong =
                |what: String| CliError::Mismatch(format!("{name}, line {}: {what}", index + 1));
            let line: Line = serde_json::from_str(line)
                .map_err(|error| wrong(format!("this is no line of a record: {error}")))?;
            let entry: Entry = serde_json::from_str(&line.body)
                .map_err(|error| wrong(format!("this entry cannot be read: {error}")))?;
            let head = self.head();
            if line.number != head.number + 1 || entry.number != line.number {
                return Err(wrong(format!(
                    "entry {} stands where entry {} belongs",
                    line.number,
                    head.number + 1
                )));
            }
            if entry.previous != head.hash {
                return Err(wrong(format!(
                    "entry {} does not follow the entry before it: it names {}, not {}",
                    line.number, entry.previous, head.hash
                )));
            }
            if hex::encode(hash_of(line.body.as_bytes())) != line.hash {
                return Err(wrong(format!(
                    "entry {} was changed after it was sealed: its hash is not {}",
                    line.number, line.hash
                )));
            }
            self.lines.push(line);
            self.entries.push(entry);
        }
        Ok(())
    }

    /// Its last entry.
    #[must_use]
    pub fn head(&self) -> Head {
        self.lines.last().map_or_else(
            || Head {
                number: 0,
                hash: hex::encode(BEFORE_THE_FIRST),
            },
            |line| Head {
                number: line.number,
                hash: line.hash.clone(),
            },
        )
    }

    /// Its entries, the first given first.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Its events after one entry, up to another.
    pub fn events(&self, after: u64, up_to: u64) -> impl Iterator<Item = &Event> {
        let meant = move |entry: &&Entry| (after + 1..=up_to).contains(&entry.number);
        self.entries.iter().filter(meant).map(|entry| &entry.event)
    }

    /// Its lines.
    #[must_use]
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// Its lines as exported.
    #[must_use]
    pub fn exported(&self) -> String {
        let mut text = String::new();
        for line in &self.lines {
            // three plain members always serialise
            let line = serde_json::to_string(line).unwrap_or_default();
            let _ = writeln!(text, "{line}");
        }
        text
    }

    /// One entry with its hash.
    #[must_use]
    pub fn entry(&self, number: u64) -> Option<(&Entry, &str)> {
        let index = usize::try_from(number.checked_sub(1)?).ok()?;
        let hash = &self.lines.get(index)?.hash;
        Some((self.entries.get(index)?, hash))
    }

    /// The record folded: the table, the clock, and what the next entry is held against.
    ///
    /// # Errors
    /// When its first entry opens no game.
    pub fn fold(&self) -> CliResult<Fold> {
        let hashes = self.lines.iter().map(|line| hash_bytes(&line.hash));
        let entries = self
            .entries
            .iter()
            .zip(hashes.map(Option::unwrap_or_default));
        Fold::of(entries).map_err(|fault| CliError::Mismatch(format!("the record: {fault}")))
    }

    /// The battlefield that its first entry lays out.
    ///
    /// # Errors
    /// When the first entry opens no game, or its files are not valid.
    pub fn battlefield(&self) -> CliResult<Arc<Battlefield>> {
        let opened = self.entries.first().map(|entry| &entry.event);
        let Some(Event::Opened {
            format,
            ruleset,
            scenario,
            ..
        }) = opened
        else {
            return Err(CliError::Mismatch(
                "the record's first entry opens no game".to_owned(),
            ));
        };
        if !(1..=FORMAT).contains(format) {
            return Err(CliError::Other(format!(
                "the record has format {format}, and this version of fieldpost knows formats 1 to {FORMAT}"
            )));
        }
        let field = authored::open_battle(
            ("the record's ruleset", ruleset),
            ("the record's scenario", scenario),
        );
        field.map(Arc::new).map_err(|faults| {
            CliError::Mismatch(format!(
                "the record's own files are not valid:\n{}",
                faults.rendered(false)
            ))
        })
    }

    /// The game after so many entries; all of them for `None`.
    ///
    /// # Errors
    /// As [`Self::battlefield`].
    pub fn game_after(&self, entries: Option<u64>) -> CliResult<Game> {
        let mut game = Game::new(self.battlefield()?);
        let all = self.entries.iter();
        for entry in all.take_while(|entry| entries.is_none_or(|last| entry.number <= last)) {
            game.apply(&entry.event);
        }
        Ok(game)
    }

    /// The game's id.
    #[must_use]
    pub fn game_id(&self) -> Option<&str> {
        match &self.entries.first()?.event {
            Event::Opened { game, .. } => Some(game),
            _ => None,
        }
    }
}

/// The hash of an entry in bytes.
#[must_use]
pub fn hash_bytes(hash: &str) -> Option<Bytes32> {
    let mut bytes = [0; 32];
    hex::decode_to_slice(hash, &mut bytes).ok()?;
    Some(bytes)
}

/// Brings the record kept here up to the server's. What was seen before must still be there.
///
/// # Errors
/// [`CliError::Mismatch`] when the server's record is not the one seen before; what is kept here is left alone.
pub fn refresh(client: &ApiClient, game: &str, game_folder: &Path) -> CliResult<Record> {
    let card: GameSummary = client.get(format!("/v1/games/{game}"))?;
    let kept = Record::stored(game_folder)?;
    let mut record = kept.unwrap_or(Record {
        lines: Vec::new(),
        entries: Vec::new(),
    });
    let seen = record.head();
    let rewritten = |why: String| {
        CliError::Mismatch(format!(
            "the server's record is not the one seen before: {why}\n\
             What was seen is kept in {}. Nothing was changed. Export the server's record with \
             \"fieldpost record --fresh --out FILE\", compare the two, and ask the host how that came to be.",
            path(game_folder).display()
        ))
    };
    if card.head.number < seen.number {
        return Err(rewritten(format!(
            "it ends with entry {}, and entry {} had been seen",
            card.head.number, seen.number
        )));
    }
    if card.head.number == seen.number {
        if card.head.hash != seen.hash {
            return Err(rewritten(format!(
                "entry {} was {}, and is {} now",
                seen.number, seen.hash, card.head.hash
            )));
        }
        return Ok(record);
    }
    let new = fetch(client, game, seen.number)?;
    let before = record.lines.len();
    match record.append("the server's record", &new) {
        Err(CliError::Mismatch(why)) if before > 0 => return Err(rewritten(why)),
        other => other?,
    }
    if record.game_id() != Some(game) {
        return Err(CliError::Mismatch(format!(
            "the server sent the record of another game than {game}"
        )));
    }
    files::write_private(&path(game_folder), record.exported().as_bytes())?;
    Ok(record)
}

/// The server's record after an entry, as exported.
///
/// # Errors
/// As [`ApiClient::send`].
pub fn fetch(client: &ApiClient, game: &str, after: u64) -> CliResult<String> {
    let request = ApiRequest::get(format!("/v1/games/{game}/record?after={after}"));
    let answer = client.send(&request)?.success()?;
    String::from_utf8(answer.body)
        .map_err(|_| CliError::Other("the server's record is no text".to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use fieldpost_rules::game::{FORMAT, LAWS};
    use fieldpost_rules::record::seal;

    fn opened() -> Event {
        Event::Opened {
            format: FORMAT,
            laws: LAWS,
            signed: false,
            game: "00".repeat(16),
            ruleset: String::new(),
            scenario: String::new(),
            commitment: String::new(),
        }
    }

    fn exported(events: Vec<Event>) -> String {
        let sealed = seal((0, BEFORE_THE_FIRST), "2026-01-01T00:00:00Z", events).unwrap();
        let record = Record::of(&sealed);
        record.exported()
    }

    fn taken(player: &str) -> Event {
        Event::SeatTaken {
            seat: None,
            key: None,
            side: "red".into(),
            player: player.to_owned(),
        }
    }

    #[test]
    fn a_record_that_holds_is_read_back_the_same() {
        let text = exported(vec![opened(), taken("Ann"), taken("Bo")]);
        let record = Record::parse("r", &text).unwrap();
        assert_eq!(record.head().number, 3);
        assert_eq!(record.exported(), text);
        assert_eq!(record.entry(2).unwrap().0.event, taken("Ann"));
        assert!(record.entry(0).is_none() && record.entry(4).is_none());
    }

    #[test]
    fn every_tampering_is_noticed() {
        let text = exported(vec![opened(), taken("Ann"), taken("Bo")]);
        let lines: Vec<&str> = text.lines().collect();
        for (what, tampered) in [
            ("changed", text.replace("Ann", "Eve")),
            ("dropped", [lines[0], lines[2]].join("\n")),
            ("reordered", [lines[0], lines[2], lines[1]].join("\n")),
            ("doubled", [lines[0], lines[1], lines[1]].join("\n")),
            ("cut", text[..text.len() - 20].to_owned()),
            ("headless", [lines[1], lines[2]].join("\n")),
        ] {
            let failure = Record::parse("r", &tampered).unwrap_err();
            assert_eq!(failure.exit_code(), 6, "{what}: {failure}");
        }
    }
}
