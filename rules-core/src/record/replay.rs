//! From a record to the table: opening the battle its first event names, then applying the rest.

use std::fmt;
use std::sync::Arc;

use crate::authored;
use crate::game::{Event, Game, LAWS};

/// Why a record cannot be replayed.
#[derive(Debug, Clone, PartialEq)]
pub enum ReplayFault {
    /// The first event does not open a game, or there is none.
    NotOpened,
    /// The game was opened under laws that this program does not know.
    NewerLaws(u32),
    /// The files in the opening event have faults.
    BadFiles(String),
}

impl fmt::Display for ReplayFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotOpened => f.write_str("a record must begin with the opening of its game"),
            Self::NewerLaws(laws) => write!(
                f,
                "the game was opened under laws {laws}, and this program knows laws 1 to {LAWS}"
            ),
            Self::BadFiles(faults) => {
                write!(
                    f,
                    "the files that the game was opened with have faults:\n{faults}"
                )
            }
        }
    }
}

impl std::error::Error for ReplayFault {}

/// The game as its opening event lays it out, that event applied.
///
/// # Errors
/// When the event is not an opening, its laws are newer than this program's, or its files have faults.
pub fn open(event: &Event) -> Result<Game, ReplayFault> {
    let Event::Opened {
        laws,
        ruleset,
        scenario,
        ..
    } = event
    else {
        return Err(ReplayFault::NotOpened);
    };
    if *laws > LAWS {
        return Err(ReplayFault::NewerLaws(*laws));
    }
    let field = authored::open_battle(("ruleset", ruleset), ("scenario", scenario))
        .map_err(|faults| ReplayFault::BadFiles(faults.to_string()))?;
    let mut game = Game::new(Arc::new(field));
    game.apply(event);
    Ok(game)
}

/// The game after all of these events, the first of which opens it.
///
/// # Errors
/// As [`open`].
pub fn replay<'a>(events: impl IntoIterator<Item = &'a Event>) -> Result<Game, ReplayFault> {
    let mut events = events.into_iter();
    let mut game = open(events.next().ok_or(ReplayFault::NotOpened)?)?;
    for event in events {
        game.apply(event);
    }
    Ok(game)
}
