//! What a game is shown by: how it opened, then for each player turn its moves and its fighting.

use crate::places::side_name;
use crate::svg::{Fight, Ghost, changes};
use crate::words;
use fieldpost_rules::game::{Event, Game};

/// One moment worth a picture.
#[derive(Debug, Clone)]
pub struct Moment {
    /// Number of its last event, from 1; 0 before the first.
    pub number: u64,
    /// What it shows, in a few words.
    pub title: String,
    /// What happened since the moment before, an event a paragraph.
    pub words: Vec<String>,
    /// The table before.
    pub before: Game,
    /// The table after.
    pub after: Game,
    /// Where units stood before, and the ways by which they left.
    pub ghosts: Vec<Ghost>,
    /// The battles fought, with the paragraph of its words that tells of each.
    pub fights: Vec<(Fight, usize)>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Opening,
    Moves,
    Fighting,
    Passed,
    Ruled,
}

/// The part of a player turn that an event belongs to; `None` for one that belongs to whatever is going on.
fn part_of(event: &Event) -> Option<Part> {
    match event {
        Event::Opened { .. } => Some(Part::Opening),
        Event::SheetAccepted { .. } => Some(Part::Moves),
        Event::TurnPassed { .. } => Some(Part::Passed),
        Event::BattleFought { .. }
        | Event::BattleLapsed { .. }
        | Event::GunsSilent { .. }
        | Event::CommandersAttacked { .. } => Some(Part::Fighting),
        Event::PositionCorrected { .. } | Event::RulingGiven { .. } => Some(Part::Ruled),
        _ => None,
    }
}

/// The moments of a game from its opening table on. Events that come between turns, such as a correction by
/// the umpire, make a moment of their own.
#[must_use]
pub fn moments<'a>(opening: &Game, events: impl IntoIterator<Item = &'a Event>) -> Vec<Moment> {
    let mut all = vec![Moment {
        number: 0,
        title: "The opening".to_owned(),
        words: Vec::new(),
        before: opening.clone(),
        after: opening.clone(),
        ghosts: Vec::new(),
        fights: Vec::new(),
    }];
    let mut events_of: Vec<Vec<&Event>> = vec![Vec::new()];
    let mut part = Part::Opening;
    let mut number = 0;
    for event in events {
        number += 1;
        let next = part_of(event).unwrap_or(part);
        let begins = matches!(
            event,
            Event::SheetAccepted { .. } | Event::TurnPassed { .. }
        );
        if (next != part || begins)
            && let Some(last) = all.last()
        {
            let before = last.after.clone();
            all.push(Moment {
                number,
                title: title(&before, next),
                words: Vec::new(),
                after: before.clone(),
                before,
                ghosts: Vec::new(),
                fights: Vec::new(),
            });
            events_of.push(Vec::new());
            part = next;
        }
        let Some(moment) = all.last_mut() else {
            continue;
        };
        moment.number = number;
        if let Event::BattleFought { report } = event {
            let number = moment.fights.len() + 1;
            let fight = Fight::of(&moment.after, report, number);
            moment.fights.push((fight, moment.words.len()));
        }
        let told = words::event(event, &moment.after);
        if !told.is_empty() {
            moment.words.push(told);
        }
        moment.after.apply(event);
        if let Some(events) = events_of.last_mut() {
            events.push(event);
        }
    }
    for (moment, events) in all.iter_mut().zip(events_of) {
        moment.ghosts = changes(&moment.before, events);
    }
    all
}

fn title(game: &Game, part: Part) -> String {
    let turn = format!(
        "Turn {} of {}, {}",
        game.told_turn(),
        game.scenario().game_turns,
        side_name(game, game.player())
    );
    match part {
        Part::Opening => "The opening".to_owned(),
        Part::Moves => format!("{turn}: moves"),
        Part::Fighting => format!("{turn}: fighting"),
        Part::Passed => format!("{turn}: passed"),
        Part::Ruled => format!("{turn}: a ruling"),
    }
}
