//! How many changes each side has made besides its sheet since the player turn began, so that nobody fills a record with them.

use std::collections::BTreeMap;

use fieldpost_rules::game::Event;

use super::{ServiceError, ServiceResult};

/// Changes of one side in one player turn: instructions, time zone, leave, asking for a pause, disputes.
const SIDE_MAX: u32 = 40;
/// Rulings and clocks in one player turn.
const RULINGS_MAX: u32 = 100;

/// Changes since the player turn began, by side; the umpire's under no name.
#[derive(Debug, Clone, Default)]
pub(super) struct Changes(BTreeMap<String, u32>);

impl Changes {
    /// Counts an event, or begins anew with the next player turn.
    pub(super) fn apply(&mut self, event: &Event) {
        if let Event::TurnClosed { .. } = event {
            self.0.clear();
        }
        if let Some(side) = changed_by(event) {
            *self.0.entry(side.to_owned()).or_default() += 1;
        }
    }

    /// Refuses events that would be too many.
    pub(super) fn must_stay_few(&self, events: &[Event]) -> ServiceResult<()> {
        let mut after = self.clone();
        for event in events {
            after.apply(event);
            let Some(side) = changed_by(event) else {
                continue;
            };
            let most = if side.is_empty() {
                RULINGS_MAX
            } else {
                SIDE_MAX
            };
            if after.0.get(side).is_some_and(|count| *count > most) {
                return Err(ServiceError::TooManyChanges(most));
            }
        }
        Ok(())
    }
}

/// The side that makes a change which it could make again and again; no name for the umpire.
fn changed_by(event: &Event) -> Option<&str> {
    match event {
        Event::InstructionsChanged { side, .. }
        | Event::ZoneSet { side, .. }
        | Event::LeaveTaken { side, .. }
        | Event::PauseAsked { side }
        | Event::DisputeRaised { side, .. } => Some(&side.0),
        Event::RulingGiven { .. } | Event::ClockSet { .. } => Some(""),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fieldpost_rules::orders::SideId;

    #[test]
    fn each_side_has_so_many_and_the_next_player_turn_begins_anew() {
        let asked = |side: &str| Event::PauseAsked {
            side: SideId::from(side),
        };
        let mut changes = Changes::default();
        for _ in 0..SIDE_MAX {
            let red = [asked("red")];
            changes.must_stay_few(&red).expect("few");
            changes.apply(&red[0]);
        }
        let refused = changes.must_stay_few(&[asked("red")]);
        assert!(matches!(
            refused,
            Err(ServiceError::TooManyChanges(SIDE_MAX))
        ));
        changes
            .must_stay_few(&[asked("blue")])
            .expect("the other side's are its own");
        let many: Vec<Event> = (0..=SIDE_MAX).map(|_| asked("blue")).collect();
        assert!(changes.must_stay_few(&many).is_err(), "not at once either");
        changes.apply(&Event::TurnClosed {
            asked: Vec::new(),
            dice: fieldpost_rules::game::DiceProof {
                player_turn: 1,
                attempt: Some(1),
                secret: String::new(),
                number: String::new(),
                throws: None,
            },
            commitment: String::new(),
            holders: Vec::new(),
        });
        changes
            .must_stay_few(&[asked("red")])
            .expect("it is another turn");
    }
}
