//! Which notices are due when events are appended.

use fieldpost_rules::game::Event;
use jiff::Timestamp;

use crate::store::{Change, Kind, Notice, Recipients};

use super::super::FoldedGame;

/// The notices that are due when these events follow a game and leave it as `after`: changes to be made
/// together with the append.
pub(in super::super) fn due(
    before: &FoldedGame,
    events: &[&Event],
    after: &FoldedGame,
    at: Timestamp,
) -> Vec<Change> {
    let first = before.head.number + 1;
    let notice = |to, kind, number, since| {
        Change::QueueNotice(Notice {
            to,
            kind,
            number,
            since,
            words: String::new(),
            at: at.as_millisecond(),
        })
    };
    let mut due = Vec::new();
    let mut last = before.head.number;
    for (number, event) in (first..).zip(events) {
        last = number;
        match event {
            Event::DisputeRaised { side, .. } => due.push(notice(
                Recipients::AllBut(side.0.clone()),
                Kind::Dispute,
                number,
                number - 1,
            )),
            Event::KeyReplaced { .. } => due.push(notice(
                Recipients::All,
                Kind::KeyReplaced,
                number,
                number - 1,
            )),
            // What follows from a ruling goes with it, and not to the umpire, whose it is.
            Event::RulingGiven { .. } => due.push(notice(
                Recipients::Players,
                Kind::Ruling,
                first + events.len() as u64 - 1,
                number - 1,
            )),
            _ => {}
        }
    }
    // Beginning so, it was passed because its time was out; an umpire who passes it has ruled first.
    if let Some(Event::TurnPassed { side, .. }) = events.first() {
        let side = Recipients::Side(side.0.clone());
        due.push(notice(side, Kind::TimeOut, last, before.head.number));
    }
    // The clock tells when both sides have their players, whether or not the game is played by it.
    if before.clock.to_move().is_none() && after.clock.to_move().is_some() {
        due.push(notice(
            Recipients::All,
            Kind::Opened,
            last,
            before.head.number,
        ));
    }
    let was_over = before.game.ending().is_some();
    let after = &after.game;
    if after.ending().is_some() {
        if !was_over {
            due.push(notice(
                Recipients::All,
                Kind::Ended,
                last,
                before.head.number,
            ));
        }
    } else if after.player_turn() != before.game.player_turn() {
        let side = Recipients::Side(after.player_side().0);
        due.push(notice(side, Kind::YourTurn, last, before.head.number));
    }
    due
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    use fieldpost_rules::game::{Ending, FORMAT, LAWS};
    use fieldpost_rules::orders::SideId;
    use fieldpost_rules::record::{self, RecordState};
    use fieldpost_rules::shipped;

    use crate::store::Head;

    fn folded() -> FoldedGame {
        let field = shipped::find("withy-bridge").expect("shipped");
        let opened = Event::Opened {
            format: FORMAT,
            laws: LAWS,
            game: "07".repeat(16),
            ruleset: field.ruleset.text.to_owned(),
            scenario: field.scenario.text.to_owned(),
            commitment: "00".repeat(32),
            signed: false,
        };
        let sealed = record::seal((6, [0; 32]), EPOCH, vec![opened]).expect("canonical");
        let entry = &sealed[0].entry;
        let game = record::open(&entry.event).expect("sound");
        FoldedGame {
            head: Head {
                number: 7,
                hash: sealed[0].hash,
            },
            clock: Arc::new(record::clock_of(&game)),
            record_state: Arc::new(RecordState::open(entry, sealed[0].hash).expect("an opening")),
            changes: crate::service::changes::Changes::default(),
            game: Arc::new(game),
            recent: Arc::default(),
            rendered: Arc::default(),
        }
    }

    const EPOCH: &str = "1970-01-01T00:00:00Z";

    fn apply(game: &mut FoldedGame, event: &Event) {
        let head = (game.head.number, game.head.hash);
        for sealed in record::seal(head, EPOCH, vec![event.clone()]).expect("canonical") {
            game.apply(&sealed.entry, sealed.hash, Timestamp::UNIX_EPOCH);
        }
    }

    fn due_after(events: &[Event]) -> Vec<(Kind, Recipients, u64, u64)> {
        let before = folded();
        let mut after = before.clone();
        for event in events {
            apply(&mut after, event);
        }
        let events: Vec<&Event> = events.iter().collect();
        due(&before, &events, &after, Timestamp::UNIX_EPOCH)
            .into_iter()
            .map(|change| match change {
                Change::QueueNotice(notice) => {
                    (notice.kind, notice.to, notice.number, notice.since)
                }
                other => panic!("{other:?}"),
            })
            .collect()
    }

    #[test]
    fn disputes_are_told_to_the_others_and_rulings_with_what_follows_to_all() {
        let side = SideId("red".to_owned());
        let dispute = Event::DisputeRaised {
            side: side.clone(),
            about: None,
            text: "Too far.".to_owned(),
        };
        let ruling = Event::RulingGiven {
            about: None,
            text: "It stands.".to_owned(),
        };
        let more_time = Event::DeadlineMoved {
            side,
            days: 1,
            reason: "the dispute".to_owned(),
        };
        assert_eq!(
            due_after(&[dispute]),
            [(Kind::Dispute, Recipients::AllBut("red".to_owned()), 8, 7)]
        );
        assert_eq!(
            due_after(&[ruling, more_time]),
            [(Kind::Ruling, Recipients::Players, 9, 7)]
        );
    }

    #[test]
    fn an_end_is_told_to_all_and_nobody_is_told_to_move() {
        let ending = Ending {
            winner: None,
            why: "both agreed".to_owned(),
            scores: Vec::new(),
        };
        let ended = Event::GameEnded {
            ending,
            opened: Vec::new(),
        };
        assert_eq!(due_after(&[ended]), [(Kind::Ended, Recipients::All, 8, 7)]);
    }

    /// A second player of a side, or one in the place of another, begins nothing.
    #[test]
    fn a_key_on_the_organisers_word_is_told_to_all_whatever_they_chose() {
        let replaced = Event::KeyReplaced {
            seat: "0123456789abcdef".to_owned(),
            key: "00".repeat(32),
            reason: "A lost laptop.".to_owned(),
        };
        let due = due_after(&[replaced]);
        assert_eq!(due, [(Kind::KeyReplaced, Recipients::All, 8, 7)]);
        assert_eq!(Kind::KeyReplaced.topic(), None);
    }

    #[test]
    fn the_battle_begins_once_when_each_side_has_a_player() {
        let takes = |side: &str| Event::SeatTaken {
            seat: None,
            key: None,
            side: SideId(side.to_owned()),
            player: "Ash".to_owned(),
        };
        assert_eq!(due_after(&[takes("red")]), []);
        assert_eq!(due_after(&[takes("red"), takes("red")]), []);
        assert_eq!(
            due_after(&[takes("red"), takes("blue"), takes("blue")]),
            [(Kind::Opened, Recipients::All, 10, 7)]
        );
        let mut begun = folded();
        for side in ["red", "blue"] {
            apply(&mut begun, &takes(side));
        }
        let mut after = begun.clone();
        apply(&mut after, &takes("blue"));
        let due = due(&begun, &[&takes("blue")], &after, Timestamp::UNIX_EPOCH);
        assert!(due.is_empty(), "{due:?}");
    }

    #[test]
    fn sealed_instructions_are_told_to_nobody() {
        let sealed = Event::InstructionsChanged {
            side: SideId("red".to_owned()),
            seal: "00".repeat(32),
        };
        assert_eq!(due_after(&[sealed]), []);
    }
}
