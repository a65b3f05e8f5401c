//! Any sheet printed reads back the same; no text makes the reader stumble.

use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use proptest::test_runner::Config;

use super::{game, game_of};
use crate::orders::print;
use crate::orders::text::{parse, parse_instructions};
use crate::orders::{
    Extent, Hand, Instruction, Instructions, Leg, Order, SideId, TurnSheet, UnitId,
};

fn ids() -> Vec<UnitId> {
    game().units().map(|unit| unit.id.clone()).collect()
}

/// Ids that a scenario may hold: every word of the language, and what looks like part of it.
fn odd_ids() -> Vec<UnitId> {
    use crate::orders::text::words;
    let words = words::all().chain(words::others());
    let others = "each every rest both one two half a an three-2 in support supported bombarded by of my unit \
                  else column north face facing until full no not does please let is will foot horse guns2 \
                  max at2 R1-R2 as for the on ground way either side turn mm 4 4x2 2.5 1st guns-1 the.guns _. é Ä_1 a. a-b ab";
    let ids = words.chain(others.split_whitespace());
    let may_be = |id: &&str| id.starts_with(char::is_alphanumeric);
    let mut ids: Vec<&str> = ids.filter(may_be).collect();
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter().map(UnitId::from).collect()
}

fn unit(ids: &[UnitId]) -> impl Strategy<Value = UnitId> + use<> {
    select(ids.to_vec())
}

fn units(ids: &[UnitId], most: usize) -> impl Strategy<Value = Vec<UnitId>> + use<> {
    subsequence(ids.to_vec(), 0..=most).prop_shuffle()
}

fn hand() -> impl Strategy<Value = Hand> {
    select(vec![Hand::Left, Hand::Right])
}

/// Everything a sheet may hold, whole figures and others.
fn distance() -> impl Strategy<Value = f64> {
    prop_oneof![
        0.0..100_000.0,
        (0u32..5_000).prop_map(f64::from),
        Just(1e-300)
    ]
}

fn extent(amount: impl Strategy<Value = f64>) -> impl Strategy<Value = Extent> {
    prop_oneof![
        4 => (amount, any::<bool>()).prop_map(|(amount, up_to)| Extent::new(amount, up_to)),
        1 => Just(Extent::AsFarAsAllowed),
    ]
}

fn angle() -> impl Strategy<Value = f64> {
    prop_oneof![0.0..=360.0, (0u32..=360).prop_map(f64::from)]
}

fn leg() -> impl Strategy<Value = Leg> {
    let any_leg = (hand(), extent(distance()), angle(), extent(angle()));
    prop_oneof![
        any_leg.prop_flat_map(|(side, distance_mm, angle_deg, round)| {
            select(vec![
                Leg::Forward { distance_mm },
                Leg::Back { distance_mm },
                Leg::Sidestep { side, distance_mm },
                Leg::Oblique {
                    side,
                    angle_deg,
                    distance_mm,
                },
                Leg::Wheel {
                    side,
                    angle_deg: round,
                },
                Leg::Turn { side },
                Leg::About,
                Leg::Align { side, angle_deg },
            ])
        }),
        (1u16.., 1u16..).prop_map(|(files, ranks)| Leg::Reform { files, ranks }),
    ]
}

fn order(ids: &[UnitId]) -> impl Strategy<Value = Order> + use<> {
    let legs = || prop::collection::vec(leg(), 0..5);
    prop_oneof![
        (unit(ids), legs()).prop_map(|(unit, legs)| Order::Move { unit, legs }),
        (units(ids, 4), legs()).prop_map(|(units, legs)| Order::MoveTogether { units, legs }),
        (unit(ids), distance(), legs()).prop_map(|(unit, along_mm, legs)| Order::Arrive {
            unit,
            along_mm,
            legs
        }),
        (unit(ids), legs()).prop_map(|(unit, legs)| Order::Withdraw { unit, legs }),
        unit(ids).prop_map(|unit| Order::Leave { unit }),
        (
            units(ids, 4),
            units(ids, 4),
            units(ids, 3),
            prop::option::of(unit(ids))
        )
            .prop_map(|(attackers, defenders, guns, follow_up)| Order::Battle {
                attackers,
                defenders,
                guns,
                follow_up
            }),
        (units(ids, 3), unit(ids)).prop_map(|(guns, target)| Order::Fire { guns, target }),
        (unit(ids), hand()).prop_map(|(unit, side)| Order::GiveWay { unit, side }),
    ]
}

fn sheet(ids: &[UnitId]) -> impl Strategy<Value = TurnSheet> + use<> {
    let orders = prop::collection::vec(order(ids), 0..12);
    (1u32..=1_000_000, select(vec!["red", "blue"]), orders).prop_map(|(game_turn, side, orders)| {
        TurnSheet {
            game_turn,
            side: side.into(),
            orders,
        }
    })
}

fn instruction() -> impl Strategy<Value = Instruction> {
    (any::<bool>(), prop::option::of(hand())).prop_map(|(follow_up, give_way)| Instruction {
        follow_up,
        give_way,
    })
}

/// Words of the language in no order.
fn babble() -> impl Strategy<Value = String> {
    let words = vec![
        "red-1",
        "blue",
        "2nd",
        "line",
        ":",
        ",",
        ";",
        "then",
        "and",
        "forward",
        "wheel",
        "left",
        "right",
        "20",
        "°",
        "mm",
        "up",
        "to",
        "as",
        "far",
        "allowed",
        "together",
        "attack",
        "with",
        "guns",
        "fires",
        "at",
        "follows",
        "gives",
        "way",
        "turn",
        "3",
        "reform",
        "4x2",
        "[",
        "]",
        "[red-1]",
        "1/2",
        "½",
        "\"",
        "#",
        "\n",
        "all",
        "hold",
        "either",
        "-5",
        "NaN",
        "1e9",
        "nobody",
        "stand",
        "arrives",
        "withdraws",
        "leaves",
        "advance",
        "moves",
        "retire",
        "half",
        "face",
        "blue-1",
        "to face",
        "until it meets",
        "red-1-3",
        "all foot",
        "both",
        "the rest",
        "shift",
        "charges",
        "three",
        "a base width and a half",
        "in column",
        "3 wide",
        "flat out",
        "supported by",
        "bombards",
        "-",
        ".",
        "99999999999999999999",
    ];
    prop::collection::vec(select(words), 0..60).prop_map(|words| words.join(" "))
}

/// At least so many cases; `PROPTEST_CASES` asks for more.
fn many(cases: u32) -> Config {
    Config::with_cases(Config::default().cases.max(cases))
}

proptest! {
    #![proptest_config(many(1_500))]

    /// Typed to JSON and JSON to typed: neither form can say what the other cannot.
    #[test]
    fn a_sheet_is_the_same_typed_and_as_json(sheet in sheet(&ids())) {
        let game = game();
        let json = serde_json::to_string(&sheet).unwrap();
        let from_json: TurnSheet = serde_json::from_str(&json).unwrap();
        prop_assert_eq!(&from_json, &sheet);
        let text = print::sheet(&from_json);
        let read = parse("orders.txt", &text, &game);
        prop_assert_eq!(read.as_ref().map_err(|faults| format!("{text}\n{}", faults[0])), Ok(&sheet));
        prop_assert_eq!(serde_json::to_string(&read.unwrap()).unwrap(), json);
    }
}

proptest! {

    /// Whatever the units of either side are called, a printed sheet orders them and no others.
    #[test]
    fn any_id_that_a_scenario_may_hold_can_be_ordered(
        sheet in sheet(&odd_ids()),
        own in prop::collection::btree_map(unit(&odd_ids()), instruction(), 0..6),
        all in instruction(),
    ) {
        let game = game_of(&odd_ids());
        let text = print::sheet(&sheet);
        let read = parse("orders.txt", &text, &game);
        prop_assert_eq!(read.map_err(|faults| format!("{text}\n{}", faults[0])), Ok(sheet));
        let instructions = Instructions { all, units: own };
        let text = print::instructions(&instructions);
        let read = parse_instructions("standing.txt", &text, &game, &SideId::from("red"));
        prop_assert_eq!(read.map_err(|faults| format!("{text}\n{}", faults[0])), Ok(instructions));
    }

    #[test]
    fn printed_instructions_read_back_exactly(
        all in instruction(),
        own in prop::collection::btree_map(unit(&ids()), instruction(), 0..6),
    ) {
        let instructions = Instructions { all, units: own };
        let json = serde_json::to_string(&instructions).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Instructions>(&json).unwrap(), &instructions);
        let text = print::instructions(&instructions);
        let read = parse_instructions("standing.txt", &text, &game(), &SideId::from("red"));
        prop_assert_eq!(read, Ok(instructions));
    }

    #[test]
    fn no_text_makes_the_reader_stumble(text in prop_oneof![any::<String>(), ".{0,300}", babble()]) {
        let game = game();
        for faults in [
            parse("orders.txt", &text, &game).err(),
            parse_instructions("standing.txt", &text, &game, &SideId::from("red")).err(),
        ] {
            for fault in faults.unwrap_or_default() {
                let line = text.trim_start_matches('\u{feff}').lines().nth(fault.line - 1);
                let columns = line.unwrap_or("").chars().count();
                prop_assert!(fault.column <= columns + 1, "{fault}");
                prop_assert!(!fault.drawn(false).is_empty());
                let orders = fault.file == "orders.txt";
                for reading in fault.readings.iter().filter(|_| orders) {
                    prop_assert!(parse("orders.txt", reading, &game).is_ok(), "{reading:?} of {fault}");
                }
            }
        }
    }

    #[test]
    fn what_can_be_read_can_be_printed(text in babble()) {
        let game = game();
        if let Ok(sheet) = parse("orders.txt", &text, &game) {
            let again = parse("orders.txt", &print::sheet(&sheet), &game);
            prop_assert_eq!(again, Ok(sheet));
        }
    }
}
