//! The game that a command is about: the seat's, one of a record file, or a battle at its opening.

use std::path::Path;

use fieldpost_rules::game::Game;
use fieldpost_view::around;
use fieldpost_view::svg::Part;

use super::battles;
use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::keep::record::{Read, Record};
use crate::out::{Out, in_colour};
use crate::typed::{Common, Enlarged, Source};

/// A game and, unless it is a battle at its opening, its record.
#[derive(Debug)]
pub struct Told {
    /// Its record.
    pub record: Option<Record>,
    /// The table at the moment asked for.
    pub game: Game,
    /// The last event it shows, 0 for an opening.
    pub number: u64,
    /// What of its news was read, for the seat's game.
    pub read: Option<Read>,
}

impl Source {
    /// The game asked for, as it stood after an event.
    ///
    /// # Errors
    /// When it cannot be read, or has no such event.
    pub fn told(&self, after: Option<u64>, ask: Ask, common: &Common, out: Out) -> Outcome<Told> {
        if let Some(key) = &self.battle {
            let game = battles::opening(&battles::find(key)?)?;
            return match after {
                None | Some(0) => Ok(Told {
                    record: None,
                    game,
                    number: 0,
                    read: None,
                }),
                Some(_) => Err(Failure::Usage(
                    "a battle at its opening has no events yet".to_owned(),
                )),
            };
        }
        let (record, read) = recorded(self.record.as_deref(), ask, common, out)?;
        Ok(Told {
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
    ask: Ask,
    common: &Common,
    out: Out,
) -> Outcome<(Record, Option<Read>)> {
    if let Some(path) = file {
        let (name, text) = files::read_named(path)?;
        return Ok((Record::parse(&name, &text)?, None));
    }
    let story = Story::at_hand(common, ask, out)?;
    let read = Read::of(&story.own_folder)?;
    Ok((story.record, Some(read)))
}

/// The event that is asked for, else the last.
///
/// # Errors
/// When the record has none of that number.
pub fn moment(record: &Record, asked: Option<u64>) -> Outcome<u64> {
    let head = record.head().number;
    match asked {
        Some(number) if number > head => Err(Failure::Usage(format!(
            "the record has {head} events, and none numbered {number}"
        ))),
        asked => Ok(asked.unwrap_or(head)),
    }
}

impl Enlarged {
    /// The part asked for; absent: the whole table.
    ///
    /// # Errors
    /// When nothing is called that.
    pub fn part_of(&self, game: &Game) -> Outcome<Option<Part>> {
        match (&self.part, &self.around) {
            (Some(part), _) => Ok(Some(*part)),
            (None, Some(name)) => around(name, self.within * 10.0, game)
                .map(Some)
                .map_err(|fault| Failure::NotValid(fault.drawn(in_colour()))),
            (None, None) => Ok(None),
        }
    }
}
