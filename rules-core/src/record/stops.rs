//! Turns that pass and games that are stopped: what the record of them must hold.

use std::sync::Arc;

use crate::authored::open_battle;
use crate::dice::{Bytes32, FIRST_ATTEMPT, commitment};
use crate::game::{ClockRules, Event, FORMAT, Game, LAWS, WhenOut};
use crate::orders::SideId;
use crate::referee::{Closing, pass, stop};
use crate::shipped;

use super::audit::{Audited, Line, audit};
use super::{BEFORE_THE_FIRST, seal};

const GAME_ID: [u8; 16] = [9; 16];

/// A record in which every player turn has passed so far.
struct Passing {
    game: Game,
    /// Each with its moment.
    events: Vec<(&'static str, Event)>,
}

/// When a game begins, and when a turn of a day is long out of time.
const BEGUN: &str = "2026-01-01T00:00:00Z";
const LATER: &str = "2026-01-05T00:00:00Z";

fn secret(player_turn: u64) -> Bytes32 {
    [u8::try_from(player_turn).expect("a short battle"); 32]
}

impl Passing {
    fn open() -> Self {
        let battle = shipped::find("withy-bridge").expect("shipped");
        let (ruleset, scenario) = (battle.ruleset.text, battle.scenario.text);
        let field = open_battle(("ruleset", ruleset), ("scenario", scenario)).expect("sound");
        let mut passing = Self {
            game: Game::new(Arc::new(field)),
            events: Vec::new(),
        };
        passing.add(vec![Event::Opened {
            format: FORMAT,
            laws: LAWS,
            signed: false,
            game: hex::encode(GAME_ID),
            ruleset: ruleset.to_owned(),
            scenario: scenario.to_owned(),
            commitment: hex::encode(commitment(&GAME_ID, 1, FIRST_ATTEMPT, &secret(1))),
        }]);
        passing
    }

    fn add(&mut self, events: Vec<Event>) {
        let at = self.events.last().map_or(BEGUN, |(at, _)| at);
        self.add_at(at, events);
    }

    fn add_at(&mut self, at: &'static str, events: Vec<Event>) {
        for event in events {
            self.game.apply(&event);
            self.events.push((at, event));
        }
    }

    /// Both sides have players, and a day for each turn.
    fn with_clock(when_out: WhenOut) -> Self {
        let mut passing = Self::open();
        let clock = ClockRules {
            days_per_turn: 1,
            days_at_start: 0,
            most_saved: None,
            double_after: None,
            leave_days: 0,
            remind_days: Vec::new(),
            when_out,
        };
        passing.add(vec![Event::ClockSet { clock }]);
        for index in [0, 1] {
            let side = passing.side(index);
            passing.add(vec![Event::SeatTaken {
                player: side.0.clone(),
                side,
                seat: None,
                key: None,
            }]);
        }
        passing
    }

    fn passed(&self) -> Vec<Event> {
        let turn = self.game.player_turn();
        let closing = Closing {
            attempt: Some(FIRST_ATTEMPT),
            secret: secret(turn),
            number: [0; 32],
            next_commitment: commitment(&GAME_ID, turn + 1, FIRST_ATTEMPT, &secret(turn + 1)),
            sealed: &[],
        };
        let mut events = pass(&self.game, "time is out", &closing);
        if !events.is_empty() {
            let text = "Nobody has time.".to_owned();
            events.insert(0, Event::RulingGiven { about: None, text });
        }
        events
    }

    fn audited(&self) -> Result<Audited, String> {
        let mut head = (0, BEFORE_THE_FIRST);
        let mut lines = Vec::new();
        for (at, event) in &self.events {
            for sealed in seal(head, at, vec![event.clone()]).expect("canonical") {
                head = (sealed.entry.number, sealed.hash);
                lines.push(Line {
                    number: sealed.entry.number,
                    hash: hex::encode(sealed.hash),
                    body: sealed.body,
                });
            }
        }
        audit(&lines).map_err(|fault| fault.to_string())
    }

    fn side(&self, index: usize) -> SideId {
        self.game.side_id(index)
    }
}

#[test]
fn a_turn_that_passes_leaves_everybody_standing_and_the_other_side_moves() {
    let mut record = Passing::open();
    let before = record.game.clone();
    record.add(record.passed());
    assert_eq!(record.game.player(), 1);
    assert_eq!(record.game.player_turn(), 2);
    for unit in record.game.units() {
        assert_eq!(Some(&unit.state), before.unit(&unit.id).map(|u| &u.state));
        assert_eq!(Some(unit.bases), before.unit(&unit.id).map(|u| u.bases));
    }
    let audited = record.audited().expect("sound");
    assert_eq!(
        (audited.player_turns, audited.throws, audited.game),
        (1, 0, record.game.clone())
    );
}

#[test]
fn a_battle_whose_every_turn_passes_ends_by_itself() {
    let mut record = Passing::open();
    while record.game.ending().is_none() {
        record.add(record.passed());
    }
    assert!(record.passed().is_empty(), "nothing passes after the end");
    let turns = record.game.scenario().game_turns;
    assert_eq!(
        record.game.told_turn(),
        turns,
        "no turn beyond the last is told"
    );
    assert_eq!(record.audited().expect("sound").game, record.game);
}

#[test]
fn a_game_is_stopped_only_by_what_stands_before_its_end() {
    let ended = |before: Vec<Event>, winner: Option<usize>| {
        let mut record = Passing::with_clock(WhenOut::Claim);
        record.add_at(LATER, before);
        let winner = winner.map(|index| record.side(index));
        record.add(vec![stop(&record.game, winner, "it was so", &[])]);
        record.audited().map(|_| ())
    };
    let side = |index| Passing::open().side(index);
    let claim = || vec![Event::TimeClaimed { side: side(1) }];
    let give_up = || vec![Event::Conceded { side: side(0) }];
    let ruling = || {
        vec![Event::RulingGiven {
            about: None,
            text: "the evening is over".to_owned(),
        }]
    };
    assert_eq!(ended(claim(), Some(1)), Ok(()));
    assert_eq!(ended(give_up(), Some(1)), Ok(()));
    assert_eq!(ended(ruling(), None), Ok(()));
    for (before, winner) in [
        (Vec::new(), Some(0)),
        (claim(), Some(0)),
        (claim(), None),
        (give_up(), Some(0)),
        (
            vec![Event::TurnPassed {
                side: side(0),
                why: "so".to_owned(),
            }],
            None,
        ),
    ] {
        let fault = ended(before, winner).expect_err("nothing ends it so");
        assert!(
            fault.contains("nothing before it ends it so") || fault.contains("passes, and"),
            "{fault}"
        );
    }
    // nobody claims in their own turn
    let own = ended(vec![Event::TimeClaimed { side: side(0) }], Some(0)).expect_err("its own");
    assert!(own.contains("in its own player turn"), "{own}");
}

#[test]
fn nothing_happens_to_the_table_after_the_end() {
    let over = || {
        let mut record = Passing::open();
        let (loser, winner) = (record.side(0), record.side(1));
        record.add(vec![Event::Conceded { side: loser }]);
        record.add(vec![stop(&record.game, Some(winner), "it gave up", &[])]);
        record
    };
    let turn = Passing::open().passed().split_off(1);
    let gives_up = |side| {
        vec![Event::Conceded {
            side: over().side(side),
        }]
    };
    for (later, name) in [
        (turn, "turn-passed"),
        (gives_up(0), "conceded"),
        (gives_up(1), "conceded"),
    ] {
        let mut record = over();
        let later = later.into_iter().map(|event| (BEGUN, event));
        record.events.extend(later);
        let fault = record.audited().expect_err("it is over");
        assert!(
            fault.contains(&format!("a {name} after the game is over")),
            "{fault}"
        );
    }
    // the winner of the first end is not undone by a second
    let mut record = over();
    let again = stop(
        &Passing::open().game,
        Some(record.side(0)),
        "it gave up",
        &[],
    );
    record
        .events
        .extend([(BEGUN, gives_up(1).remove(0)), (BEGUN, again)]);
    assert!(record.audited().is_err());
    // what only people do is no harm
    let mut record = over();
    let text = "well fought".to_owned();
    record
        .events
        .push((BEGUN, Event::RulingGiven { about: None, text }));
    assert!(record.audited().is_ok());
}

#[test]
fn points_of_a_stopped_game_are_those_of_the_table() {
    let mut record = Passing::open();
    let loser = record.side(0);
    record.add(vec![Event::Conceded { side: loser }]);
    let mut end = stop(&record.game, Some(record.side(1)), "it gave up", &[]);
    if let Event::GameEnded { ending, .. } = &mut end {
        ending.scores[1].ground += 10.0;
    }
    record.add(vec![end]);
    let fault = record.audited().expect_err("other points");
    assert!(fault.contains("not those of the table"), "{fault}");
}

#[test]
fn a_pass_whose_secret_was_not_committed_to_is_caught() {
    let mut record = Passing::open();
    let mut events = record.passed();
    for event in &mut events {
        if let Event::TurnClosed { dice, .. } = event {
            dice.secret = hex::encode([77; 32]);
        }
    }
    record.add(events);
    let fault = record.audited().expect_err("another secret");
    assert!(
        fault.contains("not the one that was committed to"),
        "{fault}"
    );
}
