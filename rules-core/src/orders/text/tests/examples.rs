//! What sentences mean, form by form.

use super::{game, order, read};
use crate::orders::text::{parse, parse_instructions};
use crate::orders::{Extent, Hand, Instruction, Leg, Order, SideId, UnitId};

/// The legs that a line gives to red-1.
#[track_caller]
fn legs(text: &str) -> Vec<Leg> {
    match order(&format!("red-1: {text}")) {
        Order::Move { unit, legs } => {
            assert_eq!(unit, UnitId::from("red-1"));
            legs
        }
        other => panic!("{other:?}"),
    }
}

fn forward(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::Exactly(distance_mm),
    }
}

fn wheel(side: Hand, angle_deg: f64) -> Leg {
    Leg::Wheel {
        side,
        angle_deg: Extent::Exactly(angle_deg),
    }
}

#[test]
fn distances_in_every_unit() {
    // bases are 40 mm wide and one movement point is one base width
    for (text, mm) in [
        ("forward 120 mm", 120.0),
        ("forward 120", 120.0),
        ("FORWARD 120MM", 120.0),
        ("forward 12 cm", 120.0),
        ("forward by 12.5cm", 125.0),
        ("forward .5 cm", 5.0),
        ("ahead 4 in", 101.6),
        ("forward 4\"", 101.6),
        ("forward 4½\"", 114.3),
        ("forward 4 1/2 inches", 114.3),
        ("forward 4 ½ in.", 114.3),
        ("forward ½ in", 12.7),
        ("forward 2 bw", 80.0),
        ("forward 2 base widths", 80.0),
        ("forward 3 MP", 120.0),
        ("forward 3 movement points", 120.0),
        ("forward 0", 0.0),
    ] {
        assert_eq!(legs(text), [forward(mm)], "{text}");
    }
}

#[test]
fn every_leg() {
    let left = Hand::Left;
    for (text, leg) in [
        (
            "back 40",
            Leg::Back {
                distance_mm: Extent::Exactly(40.0),
            },
        ),
        (
            "sidestep left 20",
            Leg::Sidestep {
                side: left,
                distance_mm: Extent::Exactly(20.0),
            },
        ),
        (
            "side step 20 mm to the left",
            Leg::Sidestep {
                side: left,
                distance_mm: Extent::Exactly(20.0),
            },
        ),
        (
            "oblique right 30° 80 mm",
            Leg::Oblique {
                side: Hand::Right,
                angle_deg: 30.0,
                distance_mm: Extent::Exactly(80.0),
            },
        ),
        (
            "oblique right 2 bw at 30 degrees",
            Leg::Oblique {
                side: Hand::Right,
                angle_deg: 30.0,
                distance_mm: Extent::Exactly(80.0),
            },
        ),
        (
            "oblique right 30 80",
            Leg::Oblique {
                side: Hand::Right,
                angle_deg: 30.0,
                distance_mm: Extent::Exactly(80.0),
            },
        ),
        ("wheel left 20°", wheel(left, 20.0)),
        ("wheel 20 deg left", wheel(left, 20.0)),
        ("left wheel 20", wheel(left, 20.0)),
        ("turn left", Leg::Turn { side: left }),
        ("turn left 90°", Leg::Turn { side: left }),
        ("turn to the left", Leg::Turn { side: left }),
        ("about", Leg::About),
        ("turn about", Leg::About),
        ("about turn", Leg::About),
        (
            "align left 10",
            Leg::Align {
                side: left,
                angle_deg: 10.0,
            },
        ),
        ("reform 2x4", Leg::Reform { files: 2, ranks: 4 }),
        ("reform to 2 by 4", Leg::Reform { files: 2, ranks: 4 }),
        ("reform 2 × 4", Leg::Reform { files: 2, ranks: 4 }),
        ("reform 2 wide, 4 deep", Leg::Reform { files: 2, ranks: 4 }),
    ] {
        assert_eq!(legs(text), [leg], "{text}");
    }
}

#[test]
fn legs_follow_one_another() {
    let three = [forward(120.0), wheel(Hand::Left, 20.0), forward(40.0)];
    for text in [
        "forward 120, wheel left 20, forward 40",
        "forward 120 then wheel left 20 then forward 40",
        "forward 120 mm, then wheel left 20°, and then forward 40 mm.",
        "forward 120 and wheel left 20; forward 40  # round the mill",
    ] {
        assert_eq!(legs(text), three, "{text}");
    }
    assert_eq!(legs("stand"), []);
}

#[test]
fn up_to_a_limit() {
    let up_to = |distance_mm| Leg::Forward {
        distance_mm: Extent::UpTo(distance_mm),
    };
    assert_eq!(legs("forward up to 2 bw"), [up_to(80.0)]);
    let distance_mm = Extent::AsFarAsAllowed;
    for text in [
        "forward as far as allowed",
        "forward as far as it can",
        "forward up to the limit",
    ] {
        assert_eq!(legs(text), [Leg::Forward { distance_mm }], "{text}");
    }
    let oblique = Leg::Oblique {
        side: Hand::Left,
        angle_deg: 30.0,
        distance_mm,
    };
    assert_eq!(legs("oblique left 30 as far as allowed"), [oblique]);
    let wheel = |angle_deg| Leg::Wheel {
        side: Hand::Right,
        angle_deg: Extent::UpTo(angle_deg),
    };
    assert_eq!(legs("wheel right up to 30"), [wheel(30.0)]);
    assert_eq!(
        legs("wheel right as far as allowed"),
        [Leg::Wheel {
            side: Hand::Right,
            angle_deg: Extent::AsFarAsAllowed
        }]
    );
}

#[test]
fn a_wheel_by_the_arc_of_its_outer_corner() {
    // frontage 4 × 40 mm: 160 mm × π/6 = 83.776 mm (arc of a wheel: frontage × angle in radians)
    let angle_deg = |legs: &[Leg]| legs.last()?.extent()?.amount();
    let whole = angle_deg(&legs("wheel left 83.776 mm")).expect("a wheel");
    assert!((whole - 30.0).abs() < 1e-3, "{whole}");
    // after reforming to two files the frontage is 80 mm
    let half = angle_deg(&legs("reform 2x4, wheel left 41.888 mm")).expect("a wheel");
    assert!((half - 30.0).abs() < 1e-3, "{half}");
}

#[test]
fn units_by_id_name_and_mark() {
    for (who, id) in [
        ("red-1", "red-1"),
        ("Red 1", "red-1"),
        ("RED1", "red-1"),
        ("r1", "red-1"),
        ("1", "red-1"),
        ("1st line", "red-1"),
        ("first-line", "red-1"),
        ("2nd Lines", "red-2"),
        ("Duchess's Grenadiers", "red-3"),
        ("the grenadiers", "red-3"),
        ("grenadiers", "red-3"),
        ("gren", "red-3"),
        ("Grey Lancer", "red-4"),
        ("lancers", "red-4"),
        ("battery", "red-7"),
        ("Fire and Sword", "red-31"),
        ("31", "red-31"),
        ("R7", "red-7"),
        ("[attack]", "attack"),
        ("[r-fire]", "r-fire"),
        ("rocket", "r-fire"),
    ] {
        let found = match read(&format!("{who}: about")) {
            Ok(sheet) => sheet.orders[0].units()[0].0.clone(),
            Err(_) => String::new(),
        };
        assert_eq!(found, id, "{who}");
    }
}

#[test]
fn every_mark_on_the_table_names_its_unit() {
    for (unit, mark) in crate::game::marks(&game()) {
        let sheet = read(&format!("{mark}: about")).unwrap();
        assert_eq!(sheet.orders[0].units(), [&unit], "{mark}");
    }
}

#[test]
fn one_unit_named_alone() {
    let meant = |text| crate::orders::text::unit_meant(text, &game());
    assert_eq!(meant("grenadiers"), Ok("red-3".into()));
    assert_eq!(meant("Mill Hill"), Ok("blue-2".into()));
    assert_eq!(meant("battery"), Ok("red-7".into()));
    assert!(meant("red-1 forward").is_err());
    assert!(meant("").is_err());
    let of_either = |text| crate::orders::text::unit_of_either(text, &game());
    assert_eq!(of_either("Mill Hill"), Ok("blue-2".into()));
    let fault = of_either("1st line").unwrap_err();
    assert!(
        fault.remedy.contains("red-1 (1st Line), blue-1 (1st Line)")
            || fault.remedy.contains("blue-1 (1st Line), red-1 (1st Line)"),
        "{fault}"
    );
}

#[test]
fn one_side_named_alone() {
    let meant = |text| crate::orders::text::side_meant(text, &game());
    assert_eq!(meant("Blue"), Ok("blue".into()));
    assert_eq!(meant("re"), Ok("red".into()));
    assert!(meant("green").is_err());
    assert!(meant("").is_err());
}

#[test]
fn every_order() {
    let ids = |ids: &[&str]| ids.iter().map(|&id| UnitId::from(id)).collect::<Vec<_>>();
    let battle = |guns: &[&str], follow_up: Option<&str>| Order::Battle {
        attackers: ids(&["red-1", "red-2"]),
        defenders: ids(&["blue-1"]),
        guns: ids(guns),
        follow_up: follow_up.map(UnitId::from),
    };
    for (line, expected) in [
        ("red-1 and red-2 attack blue-1", battle(&[], None)),
        ("1st line, 2nd line attack 1st line", battle(&[], None)),
        (
            "red-1, red-2 attack blue-1 with guns red-7; red-2 follows up",
            battle(&["red-7"], Some("red-2")),
        ),
        (
            "red-1, red-2 attack blue-1; red-2 follows up, with red-7 and r-fire",
            battle(&["red-7", "r-fire"], Some("red-2")),
        ),
        (
            "red-1 & red-2 attack blue-1, red-2 follows up",
            battle(&[], Some("red-2")),
        ),
        (
            "together red-1, red-2 and red-3: wheel left 15",
            Order::MoveTogether {
                units: ids(&["red-1", "red-2", "red-3"]),
                legs: vec![wheel(Hand::Left, 15.0)],
            },
        ),
        (
            "red-9 arrives at 400 mm, forward 100",
            Order::Arrive {
                unit: "red-9".into(),
                along_mm: 400.0,
                legs: vec![forward(100.0)],
            },
        ),
        (
            "Reserve arrives at 40 cm",
            Order::Arrive {
                unit: "red-9".into(),
                along_mm: 400.0,
                legs: vec![],
            },
        ),
        (
            "red-3 withdraws: forward 40",
            Order::Withdraw {
                unit: "red-3".into(),
                legs: vec![forward(40.0)],
            },
        ),
        (
            "red-3 leaves the table",
            Order::Leave {
                unit: "red-3".into(),
            },
        ),
        (
            "battery and rockets fire at battery",
            Order::Fire {
                guns: ids(&["red-7", "r-fire"]),
                target: "blue-7".into(),
            },
        ),
        (
            "red-4 gives way to the left",
            Order::GiveWay {
                unit: "red-4".into(),
                side: Hand::Left,
            },
        ),
        (
            "red-4, forward 20",
            Order::Move {
                unit: "red-4".into(),
                legs: vec![forward(20.0)],
            },
        ),
        (
            "red-4 forward 20",
            Order::Move {
                unit: "red-4".into(),
                legs: vec![forward(20.0)],
            },
        ),
    ] {
        assert_eq!(order(line), expected, "{line}");
    }
}

#[test]
fn words_of_the_language_come_before_units_of_their_name() {
    let ids = ["gun", "blue-1", "guns", "all", "nobody", "s-gun", "park"];
    let game = super::game_of(&ids.map(UnitId::from));
    for (line, guns) in [
        ("park attacks blue-1 with guns gun", &["gun"][..]),
        ("park attacks blue-1 with guns guns", &["guns"]),
        ("park attacks blue-1 with guns [guns]", &["guns"]),
        ("park attacks blue-1 with guns", &["guns"]),
        ("park attacks blue-1 with guns and gun", &["guns", "gun"]),
        ("park attacks blue-1 with gun s-gun", &["s-gun"]),
        ("park attacks blue-1 with guns s-g", &["s-gun"]),
        ("park attacks blue-1 with guns of park", &["park"]),
        ("park attacks blue-1 with guns; gun follows up", &["guns"]),
    ] {
        let sheet = parse("orders.txt", line, &game).unwrap_or_else(|f| panic!("{}", f[0]));
        let Order::Battle { guns: read, .. } = &sheet.orders[0] else {
            panic!("{line}");
        };
        assert_eq!(
            *read,
            guns.iter().map(|&id| id.into()).collect::<Vec<UnitId>>(),
            "{line}"
        );
    }
    let sheet = parse(
        "orders.txt",
        "nobody attacks blue-1\n[nobody]: about",
        &game,
    )
    .unwrap();
    assert_eq!(sheet.orders[0].units()[0].0, "blue-1");
    assert_eq!(sheet.orders[1].units()[0].0, "nobody");
    let red = SideId::from("red");
    let told = parse_instructions("standing.txt", "all: follow up\n[all] holds", &game, &red);
    let told = told.unwrap();
    assert!(told.all.follow_up && !told.of(&"all".into()).follow_up);
}

#[test]
fn the_turn_line() {
    let sheet = read("").unwrap();
    assert_eq!((sheet.game_turn, sheet.side.0.as_str()), (1, "red"));
    for text in [
        "turn 3 blue",
        "game turn 3, blue\n",
        "\u{feff}# mine\r\n\r\nTurn 3: for Blue\r\n1st line: about",
    ] {
        let sheet = read(text).unwrap();
        assert_eq!(
            (sheet.game_turn, sheet.side.0.as_str()),
            (3, "blue"),
            "{text}"
        );
        // names are looked for on the side that orders first
        if let Some(order) = sheet.orders.first() {
            assert_eq!(order.units()[0].0, "blue-1");
        }
    }
}

#[test]
fn standing_instructions() {
    let game = game();
    let red = SideId::from("red");
    let read = |text| parse_instructions("standing.txt", text, &game, &red).unwrap();
    let instruction = |follow_up, give_way| Instruction {
        follow_up,
        give_way,
    };
    assert_eq!(read("# nothing").all, Instruction::default());
    let told = read(
        "red-4 follows up\nall hold, give way left\nlancers: hold"
            .split("\nl")
            .next()
            .unwrap(),
    );
    assert_eq!(told.all, instruction(false, Some(Hand::Left)));
    assert_eq!(
        told.of(&"red-4".into()),
        instruction(true, Some(Hand::Left))
    );
    let told = read(
        "everyone follows up\nred-1 holds ground and gives way right\nred-2 gives ground either side",
    );
    assert_eq!(
        told.of(&"red-1".into()),
        instruction(false, Some(Hand::Right))
    );
    assert_eq!(told.of(&"red-2".into()), instruction(true, None));
}
