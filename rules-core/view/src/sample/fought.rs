//! Shipped battles fought by automatic commanders, to look at their moments.

use std::sync::Arc;

use fieldpost_commander::{self, Chance};
use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Event, FORMAT, Game, LAWS};
use fieldpost_rules::orders::Instructions;
use fieldpost_rules::referee::{Posting, play};
use fieldpost_rules::shipped::Battle;

/// The opening and the events of a shipped battle, to its end or for so many player turns; the same for the
/// same seed.
pub(crate) fn fought(battle: &Battle, seed: u64, player_turns: usize) -> (Game, Vec<Event>) {
    const GAME: [u8; 16] = [9; 16];
    let opening = Game::new(Arc::new(battle.open().expect("sound files")));
    let mut game = opening.clone();
    let mut chance = Chance::new(seed);
    let mut secret = chance.bytes();
    let mut events = vec![Event::Opened {
        format: FORMAT,
        laws: LAWS,
        signed: false,
        game: hex::encode(GAME),
        ruleset: battle.ruleset.text.to_owned(),
        scenario: battle.scenario.text.to_owned(),
        commitment: hex::encode(commitment(&GAME, 1, FIRST_ATTEMPT, &secret)),
    }];
    game.apply(&events[0]);
    for _ in 0..player_turns {
        if game.ending().is_some() {
            break;
        }
        let sheet =
            fieldpost_commander::sheet(&game, &mut chance).expect("some sheet can be written");
        let next = chance.bytes();
        let new = play(
            &game,
            &Posting {
                sheet: &sheet,
                standing: &Instructions::default(),
                game_id: GAME,
                attempt: FIRST_ATTEMPT,
                secret,
                number: chance.bytes(),
                next_commitment: commitment(&GAME, game.player_turn() + 1, FIRST_ATTEMPT, &next),
                sealed: &[],
            },
        )
        .expect("a commander's sheet is legal");
        for event in &new {
            game.apply(event);
        }
        events.extend(new);
        secret = next;
    }
    (opening, events)
}
