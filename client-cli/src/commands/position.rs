//! The game that a command is about: the seat's, one of a record file, or a battle at its opening.

use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_view::around;
use fieldpost_view::svg::Part;

use super::battle_files::BattleFiles;
use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, Moment, RecordSource, Source, TablePart};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::storage::files;
use crate::storage::read_mark::ReadMark;
use crate::storage::record::Record;
use crate::wire::Head;

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

impl Position {
    /// A battle that has not begun.
    fn opening(game: Game) -> Self {
        Self {
            record: None,
            game,
            number: 0,
            read: None,
        }
    }

    /// A record at the moment asked for.
    ///
    /// # Errors
    /// When it has no such event, or holds no game.
    pub fn of_record(record: Record, moment: Moment) -> CliResult<Self> {
        Ok(Self {
            number: event_number(&record, moment)?,
            game: record.game_after(moment.at)?,
            record: Some(record),
            read: None,
        })
    }

    /// The last entry that it shows; of a battle that has not begun, what stands before the first.
    #[must_use]
    pub fn head(&self) -> Head {
        let entry = self
            .record
            .as_ref()
            .and_then(|record| record.entry(self.number));
        entry.map_or_else(
            || Record::of(&[]).head(),
            |(entry, hash)| Head {
                number: entry.number,
                hash: hash.to_owned(),
            },
        )
    }
}

impl RecordSource {
    /// The record in the file named, if one is.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn named(&self) -> CliResult<Option<Record>> {
        let Some(path) = &self.record else {
            return Ok(None);
        };
        let (name, text) = files::read_named(path)?;
        Record::parse(&name, &text).map(Some)
    }

    /// The record in the file named, else that of the seat's game with what of its news was read.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn record(
        &self,
        refresh: Refresh,
        common: &CommonArgs,
        output: Output,
    ) -> CliResult<(Record, Option<ReadMark>)> {
        if let Some(record) = self.named()? {
            return Ok((record, None));
        }
        let session = GameSession::open(common, refresh, output)?;
        let read = ReadMark::load(&session.own_folder)?;
        Ok((session.record, Some(read)))
    }
}

impl Source {
    /// The game named on the command line at the moment asked for; nothing where the seat's game is meant.
    ///
    /// # Errors
    /// When it cannot be read, or has no such event.
    pub fn named(&self, moment: Moment) -> CliResult<Option<Position>> {
        if !self.battle.is_empty() {
            let field = BattleFiles::of(&self.battle, None)?.open()?;
            return match moment.at {
                None | Some(0) => Ok(Some(Position::opening(Game::new(Arc::new(field))))),
                Some(_) => Err(CliError::Usage(
                    "a battle at its opening has no events yet".to_owned(),
                )),
            };
        }
        let record = self.of.named()?;
        record
            .map(|record| Position::of_record(record, moment))
            .transpose()
    }

    /// The game asked for, at the moment asked for.
    ///
    /// # Errors
    /// When it cannot be read, or has no such event.
    pub fn position(
        &self,
        moment: Moment,
        refresh: Refresh,
        common: &CommonArgs,
        output: Output,
    ) -> CliResult<Position> {
        if let Some(position) = self.named(moment)? {
            return Ok(position);
        }
        let (record, read) = self.of.record(refresh, common, output)?;
        let position = Position::of_record(record, moment)?;
        Ok(Position { read, ..position })
    }
}

/// The event that is asked for, else the last.
///
/// # Errors
/// When the record has none of that number.
pub fn event_number(record: &Record, moment: Moment) -> CliResult<u64> {
    let head = record.head().number;
    match moment.at {
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
                .map_err(|fault| CliError::Invalid(fault.sentence())),
            (None, None) => Ok(None),
        }
    }
}
