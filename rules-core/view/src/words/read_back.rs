//! What the words say of an order reads back as that order.

use std::sync::Arc;

use proptest::prelude::*;
use proptest::sample::{select, subsequence};

use super::{news, order_in_words, orders_in_words};
use fieldpost_rules::game::{Event, Game};
use fieldpost_rules::orders::text::parse;
use fieldpost_rules::orders::{Extent, Hand, Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::{referee, shipped};

fn game() -> Game {
    let battle = shipped::find("quern-bridge").expect("a shipped battle");
    Game::new(Arc::new(battle.open().expect("its files are sound")))
}

fn ids(side: usize) -> Vec<UnitId> {
    let game = game();
    let own = game.units().filter(|unit| unit.side == side);
    own.map(|unit| unit.id.clone()).collect()
}

fn some(side: usize, most: usize) -> impl Strategy<Value = Vec<UnitId>> {
    subsequence(ids(side), 1..=most)
}

fn one(side: usize) -> impl Strategy<Value = UnitId> {
    select(ids(side))
}

fn hand() -> impl Strategy<Value = Hand> {
    select(vec![Hand::Left, Hand::Right])
}

/// Amounts in thousandths, which is what the words show.
fn amount(most: u32) -> impl Strategy<Value = f64> {
    (0..most * 1_000).prop_map(|thousandths| f64::from(thousandths) / 1e3)
}

fn extent(most: u32) -> impl Strategy<Value = Extent> {
    prop_oneof![
        4 => (amount(most), any::<bool>()).prop_map(|(amount, up_to)| Extent::new(amount, up_to)),
        1 => Just(Extent::AsFarAsAllowed),
    ]
}

fn leg() -> impl Strategy<Value = Leg> {
    let parts = (
        hand(),
        extent(2_000),
        amount(360),
        extent(360),
        1u16..9,
        1u16..9,
    );
    parts.prop_flat_map(|(side, distance_mm, angle_deg, round, files, ranks)| {
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
            Leg::Reform { files, ranks },
        ])
    })
}

fn order() -> impl Strategy<Value = Order> {
    let legs = || prop::collection::vec(leg(), 0..5);
    prop_oneof![
        4 => (one(0), legs()).prop_map(|(unit, legs)| Order::Move { unit, legs }),
        2 => (subsequence(ids(0), 2..4), legs())
            .prop_map(|(units, legs)| Order::MoveTogether { units, legs }),
        1 => (one(0), amount(1_200), legs())
            .prop_map(|(unit, along_mm, legs)| Order::Arrive { unit, along_mm, legs }),
        1 => (one(0), legs()).prop_map(|(unit, legs)| Order::Withdraw { unit, legs }),
        1 => one(0).prop_map(|unit| Order::Leave { unit }),
        2 => (some(0, 3), some(1, 3), subsequence(ids(0), 0..3), prop::option::of(one(0))).prop_map(
            |(attackers, defenders, guns, follow_up)| Order::Battle { attackers, defenders, guns, follow_up }
        ),
        1 => (some(0, 3), one(1)).prop_map(|(guns, target)| Order::Fire { guns, target }),
        1 => (one(0), hand()).prop_map(|(unit, side)| Order::GiveWay { unit, side }),
    ]
}

proptest! {
    #[test]
    fn an_order_in_words_is_that_order(orders in prop::collection::vec(order(), 1..6)) {
        let game = game();
        for order in &orders {
            let words = order_in_words(order, &game);
            let read = parse("news", &words, &game).map(|sheet| sheet.orders);
            prop_assert_eq!(read.as_deref().map_err(|f| f[0].to_string()), Ok(std::slice::from_ref(order)), "{}", words);
        }
        // numbered as they are listed, the heading left out
        let sheet = TurnSheet { game_turn: 1, side: "red".into(), orders };
        let words = orders_in_words(&sheet, &game);
        let (_, listed) = words.split_once('\n').expect("a heading");
        let read = parse("news", listed, &game);
        prop_assert_eq!(read.map_err(|f| f[0].to_string()), Ok(sheet), "{}", words);
    }
}

/// What the news tells of a move is that move, without where the unit then stands.
#[test]
fn a_deed_in_the_news_is_that_order() {
    let game = game();
    for line in [
        "red-2: forward 40 mm",
        "red-2: back 12.5 mm",
        "red-2: sidestep left 20 mm",
        "red-2: oblique right 30° 40 mm",
        "red-2: wheel left 10°, forward 30 mm",
        "red-2: turn left",
        "red-5: about, forward 30 mm",
        "red-2: reform 2x3",
        "red-1: forward 40 mm\nred-2: forward 40 mm",
    ] {
        let sheet = parse("orders", line, &game).expect(line);
        let verdict = referee::judge_sheet(&game, &sheet);
        let event = Event::SheetAccepted {
            sheet: sheet.clone(),
            verdict,
        };
        let told = news(&game, &[event]);
        let deeds = told.lines().skip(1).map(|deed| {
            let places = [", facing", ", near", ", at "];
            let end = places.iter().filter_map(|place| deed.find(place)).min();
            deed[..end.unwrap_or(deed.len())].trim().to_owned()
        });
        let deeds: Vec<String> = deeds.collect();
        assert!(!deeds.is_empty(), "{told}");
        let again =
            parse("news", &deeds.join("\n"), &game).unwrap_or_else(|f| panic!("{told}{}", f[0]));
        assert_eq!(again, sheet, "{told}");
    }
}
