//! The game that a command is about: the seat's, one of a record file, or a battle at its opening.

use std::path::Path;

use fieldpost_rules::game::Game;
use fieldpost_view::around;
use fieldpost_view::svg::Part;

use super::battles;
use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, Source, TablePart};
use crate::error::{CliError, CliResult};
use crate::output::{Output, uses_colour};
use crate::storage::files;
use crate::storage::read_mark::ReadMark;
use crate::storage::record::Record;

/// A game and, unless it is a battle at its opening, its record.
#[derive(Debug)]
pub struct Position {
    /// Its record.
    pub record: Option<Record>,
    /// The table at the moment asked for.
    pub game: Game,
    /// The last event it shows, 0 for an opening.
    pub number: u64,
    /// What of its news was read, for the seat's game.
    pub read: Option<ReadMark>,
}

impl Source {
    /// The game asked for, as it stood after an event.
    ///
    /// # Errors
    /// When it cannot be read, or has no such event.
    pub fn position(
        &self,
        after: Option<u64>,
        refresh: Refresh,
        common: &CommonArgs,
        output: Output,
    ) -> CliResult<Position> {
        if let Some(key) = &self.battle {
            let game = battles::opening(&battles::find(key)?)?;
            return match after {
                None | Some(0) => Ok(Position {
                    record: None,
                    game,
                    number: 0,
                    read: None,
                }),
                Some(_) => Err(CliError::Usage(
                    "a battle at its opening has no events yet".to_owned(),
                )),
            };
        }
        let (record, read) = recorded(self.record.as_deref(), refresh, common, output)?;
        Ok(Position {
            number: moment(&record, after)?,
            game: record.game_after(after)?,
            record: Some(record),
            read,
        })
    }
}

/// The record in a file, else that of the seat's game with what of its news was read.
///
/// # Errors
/// When it cannot be read.
pub fn recorded(
    file: Option<&Path>,
    refresh: Refresh,
    common: &CommonArgs,
    output: Output,
) -> CliResult<(Record, Option<ReadMark>)> {
    if let Some(path) = file {
        let (name, text) = files::read_named(path)?;
        return Ok((Record::parse(&name, &text)?, None));
    }
    let session = GameSession::open(common, refresh, output)?;
    let read = ReadMark::load(&session.own_folder)?;
    Ok((session.record, Some(read)))
}

/// The event that is asked for, else the last.
///
/// # Errors
/// When the record has none of that number.
pub fn moment(record: &Record, asked: Option<u64>) -> CliResult<u64> {
    let head = record.head().number;
    match asked {
        Some(number) if number > head => Err(CliError::Usage(format!(
            "the record has {head} events, and none numbered {number}"
        ))),
        asked => Ok(asked.unwrap_or(head)),
    }
}

impl TablePart {
    /// The part asked for; absent: the whole table.
    ///
    /// # Errors
    /// When nothing is called that.
    pub fn part_of(&self, game: &Game) -> CliResult<Option<Part>> {
        match (&self.part, &self.around) {
            (Some(part), _) => Ok(Some(*part)),
            (None, Some(name)) => around(name, self.within * 10.0, game)
                .map(Some)
                .map_err(|fault| CliError::Invalid(fault.drawn(uses_colour()))),
            (None, None) => Ok(None),
        }
    }
}
