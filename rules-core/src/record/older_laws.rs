//! Records of older laws: they replay, and are audited in chain, dice and seals; they go on under the laws
//! of this program from an event that says so.

use super::audit::{Line, audit};
use super::{BEFORE_THE_FIRST, Entry, replay, seal, seal_of_instructions};
use crate::dice::{Bytes32, FIRST_ATTEMPT, commitment};
use crate::game::{Event, Game, LAWS, OpenedInstructions};
use crate::orders::{Extent, Instruction, Instructions, Leg, Order, TurnSheet};
use crate::referee::{Posting, judge_sheet, play, stop};

/// A battle fought to its end under laws 1, kept as it was written then.
fn stored() -> Vec<Line> {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("records/laws-1/three-cairns.ndjson");
    let text = std::fs::read_to_string(path).expect("a file of the project");
    text.lines()
        .map(|line| serde_json::from_str(line).expect("a line of a record"))
        .collect()
}

fn entries(lines: &[Line]) -> Vec<Entry> {
    lines
        .iter()
        .map(|line| serde_json::from_str(&line.body).expect("an entry"))
        .collect()
}

/// A record of these events, each at the moment of the entry in its place, or of the last.
fn record_of(events: Vec<Event>) -> Vec<Line> {
    let sealed = seal((0, BEFORE_THE_FIRST), "2026-01-01T00:00:00Z", events).expect("canonical");
    let line = |sealed: super::Sealed| Line {
        number: sealed.entry.number,
        hash: hex::encode(sealed.hash),
        body: sealed.body,
    };
    sealed.into_iter().map(line).collect()
}

fn events() -> Vec<Event> {
    let entries = entries(&stored());
    entries.into_iter().map(|entry| entry.event).collect()
}

/// What an audit says of the stored record with one of its events altered.
fn altered(alter: impl Fn(&mut Event) -> bool) -> Result<u64, String> {
    let mut events = events();
    assert!(events.iter_mut().rev().any(alter), "nothing to alter");
    let audited = audit(&record_of(events)).map_err(|fault| fault.fault)?;
    Ok(audited.entries)
}

#[test]
fn a_record_of_laws_1_is_audited_in_chain_dice_and_seals() {
    let audited = audit(&stored()).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!((audited.opened_under, audited.game.laws()), (1, 1));
    assert_eq!((audited.player_turns, audited.moves), (0, 0));
    assert!(audited.turns_as_recorded == 16 && audited.moves_as_recorded > 50);
    assert!(audited.throws > 3 && audited.game.ending().is_some());
    // written again it is the same text
    let hashes = |lines: &[Line]| {
        lines
            .iter()
            .map(|line| line.hash.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(hashes(&record_of(events())), hashes(&stored()));
}

#[test]
fn a_die_a_secret_and_a_link_of_an_older_record_are_checked() {
    let die = altered(|event| match event {
        Event::BattleFought { report } => {
            report.dice[0] = report.dice[0] % 6 + 1;
            report.total = report.dice.iter().sum();
            true
        }
        _ => false,
    });
    assert!(die.unwrap_err().contains("its dice are not those"));
    let count = altered(|event| match event {
        Event::TurnClosed { dice, .. } => {
            dice.throws = dice.throws.map(|throws| throws + 1);
            true
        }
        _ => false,
    });
    assert!(count.unwrap_err().contains("throws are recorded"));
    let secret = altered(|event| match event {
        Event::TurnClosed { dice, .. } => {
            dice.secret = "00".repeat(32);
            true
        }
        _ => false,
    });
    assert!(secret.unwrap_err().contains("committed to"));
    let mut lines = stored();
    lines.remove(7);
    assert!(audit(&lines).is_err());
}

/// The stored game, given up at once by a side that had sealed instructions, as its end opens them.
fn given_up(told: Instruction) -> Result<u64, String> {
    let opening = events().swap_remove(0);
    let game = replay([&opening]).expect("it opens");
    let (side, other) = (game.side_id(0), game.side_id(1));
    let sealed = Instructions::default();
    let opened = OpenedInstructions {
        side: side.clone(),
        nonce: "03".repeat(32),
        instructions: Instructions {
            all: told,
            ..Instructions::default()
        },
    };
    let seal = seal_of_instructions(&[3; 32], &sealed).expect("canonical");
    let record = record_of(vec![
        opening,
        Event::InstructionsChanged {
            side: side.clone(),
            seal: hex::encode(seal),
        },
        Event::Conceded { side },
        stop(&game, Some(other), "given up", &[opened]),
    ]);
    let audited = audit(&record).map_err(|fault| fault.fault)?;
    Ok(audited.entries)
}

#[test]
fn a_seal_of_an_older_record_is_checked() {
    let sealed = Instruction::default();
    assert_eq!(given_up(sealed), Ok(4));
    let other = Instruction {
        follow_up: !sealed.follow_up,
        ..sealed
    };
    let told = given_up(other).expect_err("not what was sealed");
    assert!(told.contains("not those that were sealed"), "{told}");
}

/// What a verdict of older laws measured is not looked at: no referee of those laws is kept.
#[test]
fn the_figures_of_older_verdicts_are_taken_as_they_are() {
    let charged = altered(|event| match event {
        Event::SheetAccepted { verdict, .. } if !verdict.moves.is_empty() => {
            verdict.moves[0].charge_mm += 1.0;
            true
        }
        _ => false,
    });
    assert!(charged.is_ok(), "{charged:?}");
}

/// The first player turns of the stored record, and the secret of the next.
fn begun(turns: usize) -> (Vec<Event>, Bytes32) {
    let all = events();
    let closings: Vec<usize> = (0..all.len())
        .filter(|index| matches!(all[*index], Event::TurnClosed { .. }))
        .collect();
    let Event::TurnClosed { dice, .. } = &all[closings[turns]] else {
        panic!("a closing");
    };
    let secret = hex::decode(&dice.secret).expect("hex");
    let before = all[..=closings[turns - 1]].to_vec();
    (before, secret.try_into().expect("32 bytes"))
}

/// A unit goes a millimetre, if it may, and who must attacks.
fn sheet_for(game: &Game) -> TurnSheet {
    let first = game.on_table().find(|unit| unit.side == game.player());
    let halt = Order::Move {
        unit: first.expect("somebody stands").id.clone(),
        legs: vec![Leg::Forward {
            distance_mm: Extent::new(1.0, true),
        }],
    };
    let mut sheet = TurnSheet {
        game_turn: game.game_turn(),
        side: game.player_side(),
        orders: vec![halt],
    };
    let battles = judge_sheet(game, &sheet).completion;
    sheet.orders.extend(battles.unwrap_or_default());
    sheet
}

/// The event that ends throws of the first form: it shows the secret that was to be used and commits to another.
fn renewed(events: &[Event], shown: Bytes32, new: Bytes32) -> Event {
    let player_turn = replay(events).expect("it replays").player_turn();
    Event::SecretsRenewed {
        player_turn,
        attempt: FIRST_ATTEMPT + 1,
        secret: hex::encode(shown),
        commitment: hex::encode(commitment(&[7; 16], player_turn, FIRST_ATTEMPT + 1, &new)),
        why: "throws are derived in another way from here on".to_owned(),
    }
}

/// Goes on with a begun game for some player turns, its throws in the second form.
fn gone_on(mut events: Vec<Event>, shown: Bytes32, turns: usize) -> Vec<Event> {
    let mut secret = [99; 32];
    events.push(renewed(&events, shown, secret));
    for turn in 0..turns {
        let game = replay(&events).expect("it replays");
        let id = [7; 16];
        let next = [u8::try_from(turn).expect("few"); 32];
        let played = play(
            &game,
            &Posting {
                sheet: &sheet_for(&game),
                standing: &Default::default(),
                game_id: id,
                attempt: if turn == 0 {
                    FIRST_ATTEMPT + 1
                } else {
                    FIRST_ATTEMPT
                },
                secret,
                number: [5; 32],
                next_commitment: commitment(&id, game.player_turn() + 1, FIRST_ATTEMPT, &next),
                sealed: &[],
            },
        );
        events.extend(played.expect("a legal sheet"));
        secret = next;
    }
    events
}

#[test]
fn an_older_game_goes_on_under_these_laws_from_an_event_that_says_so() {
    let (before, secret) = begun(3);
    let old = before.len() + 1;
    let events = gone_on(before, secret, 2);
    assert_eq!(events[old], Event::LawsChanged { laws: LAWS });
    let changes = |event: &&Event| matches!(event, Event::LawsChanged { .. });
    assert_eq!(events.iter().filter(changes).count(), 1);
    let audited = audit(&record_of(events)).unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!((audited.opened_under, audited.game.laws()), (1, LAWS));
    assert_eq!((audited.turns_as_recorded, audited.player_turns), (3, 2));
    assert!(audited.moves_as_recorded > 0 && audited.moves > 0);
}

#[test]
fn laws_change_only_forward_to_known_ones_and_before_a_turn() {
    let fault = |events: Vec<Event>| audit(&record_of(events)).expect_err("unsound").fault;
    let (before, secret) = begun(1);
    let old = before.len() + 1;
    let sound = gone_on(before.clone(), secret, 1);
    for laws in [1, LAWS + 1] {
        let mut events = sound.clone();
        events[old] = Event::LawsChanged { laws };
        assert!(fault(events).contains("it goes on under laws"));
    }
    let mut alone = before.clone();
    alone.push(Event::LawsChanged { laws: LAWS });
    assert!(fault(alone).contains("never closed"));
    let mut newer = before;
    if let Some(Event::Opened { laws, .. }) = newer.first_mut() {
        *laws = LAWS + 1;
    }
    assert!(fault(newer).contains("opened under laws 4"));
}

#[test]
fn a_new_game_is_one_of_these_laws_and_says_so() {
    let opened = |laws| match events().swap_remove(0) {
        Event::Opened {
            format,
            game,
            ruleset,
            scenario,
            commitment,
            signed,
            ..
        } => Event::Opened {
            format,
            laws,
            game,
            ruleset,
            scenario,
            commitment,
            signed,
        },
        other => panic!("{other:?}"),
    };
    let text = |laws| serde_json::to_string(&opened(laws)).expect("JSON");
    assert!(text(LAWS).contains("\"laws\":3") && !text(1).contains("laws\":"));
    let game = |laws| replay(&[opened(laws)]).expect("it opens");
    assert_eq!((game(1).laws(), game(LAWS).laws()), (1, LAWS));
    assert_eq!(Game::new(game(LAWS).shared_field()).laws(), LAWS);
}
