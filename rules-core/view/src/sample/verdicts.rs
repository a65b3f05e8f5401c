//! Verdicts and events for the tests of this crate, reckoned here and not by the referee.

use fieldpost_rules::game::{BattleReport, Cause, Event, Game, Shift};
use fieldpost_rules::geometry::{Footprint, Motion, Placement, Pose};
use fieldpost_rules::orders::{Hand, UnitId};
use fieldpost_rules::verdict::{
    Change, Code, LegLedger, LineCharge, MoveVerdict, PathPoint, Piece, Place, Reason, Remedy,
    Ruling,
};

fn start(game: &Game, id: &str) -> (Placement, Footprint) {
    let unit = game.unit(&UnitId::from(id)).expect("in the sample");
    let pose = unit.pose().expect("on the table");
    (pose.placement(), unit.footprint().expect("on the table"))
}

fn piece(from_mm: f64, to_mm: f64, ground: &str, rate: f64) -> Piece {
    Piece {
        from_mm,
        to_mm,
        ground: ground.to_owned(),
        rate,
        charge_mm: (to_mm - from_mm) * rate,
    }
}

fn leg(name: &str, tape_mm: f64, pieces: Vec<Piece>, end: Placement) -> LegLedger {
    let charge_mm = pieces.iter().fold(0.0, |sum, piece| sum + piece.charge_mm);
    LegLedger {
        leg: name.to_owned(),
        side: None,
        angle_deg: None,
        tape_mm,
        tape_of: None,
        pieces,
        lines: Vec::new(),
        fixed_mm: 0.0,
        charge_mm,
        stopped_by: None,
        end: Place::from(&end),
    }
}

/// Border Horse wheels left by 30° and rides 200 mm into the fen and over the brook: too dear.
pub(crate) fn over_allowance(game: &Game) -> MoveVerdict {
    let (at, footprint) = start(game, "red-6");
    let wheel = Motion::Turn {
        pivot: footprint.front_left(),
        clockwise_rad: (-30.0_f64).to_radians(),
    };
    let wheeled = wheel.placement_at(&at, 1.0);
    let arc = 120.0 * 30.0_f64.to_radians();
    let mut first = leg("wheel", arc, vec![piece(0.0, arc, "open", 1.0)], wheeled);
    (first.side, first.angle_deg) = (Some(Hand::Left), Some(30.0));
    let ends = wheeled.shifted(wheeled.ahead * 200.0);
    let pieces = vec![
        piece(0.0, 48.2, "open", 1.0),
        piece(48.2, 200.0, "fen", 3.0),
    ];
    let mut second = leg("forward", 200.0, pieces, ends);
    second.lines.push(LineCharge {
        line: "Alder Brook".to_owned(),
        at_mm: 99.5,
        charge_mm: 80.0,
        free: None,
    });
    second.charge_mm += 80.0;
    let charge_mm = first.charge_mm + second.charge_mm;
    // 62.8 for the wheel, 48.2 to the fen, 153.9 in it up to the brook, which 15.1 left cannot pay
    let stop = wheeled.shifted(wheeled.ahead * 99.5);
    let place = Place::from(&stop);
    MoveVerdict {
        unit: UnitId::from("red-6"),
        order: 2,
        verdict: Ruling::Refused,
        legs: vec![first, second],
        charge_mm,
        allowance_mm: 280.0,
        in_command: true,
        start: Some(Place::from(&at)),
        end: Some(Place::from(&ends)),
        end_pose: ends.rounded(),
        files: 3,
        still_held_by: Vec::new(),
        lines_paid: None,
        reasons: vec![
            Reason::length_over(Code::OverAllowance, 280.0, charge_mm, 0.5)
                .at(PathPoint::new(1, 99.5, place)),
        ],
        furthest: Some(place),
        remedies: vec![Remedy {
            change: Change::Shorter,
            leg: 1,
            off_mm: 100.5,
            legs: Vec::new(),
            end: place,
            words: "forward 99.5 mm instead of 200.0 mm".to_owned(),
        }],
    }
}

/// Heavy Battery goes forward 190 mm over Mill Bridge, past the edge of Mill Guard's halt zone.
pub(crate) fn past_a_zone(game: &Game) -> MoveVerdict {
    let (at, _) = start(game, "red-7");
    let ends = at.shifted(at.ahead * 190.0);
    let mut only = leg("forward", 190.0, vec![piece(0.0, 190.0, "road", 1.0)], ends);
    only.lines.push(LineCharge {
        line: "Alder Brook".to_owned(),
        at_mm: 105.6,
        charge_mm: 0.0,
        free: Some("Mill Bridge".to_owned()),
    });
    let stop = at.shifted(at.ahead * 160.0);
    let place = Place::from(&stop);
    MoveVerdict {
        unit: UnitId::from("red-7"),
        order: 0,
        verdict: Ruling::Refused,
        charge_mm: 190.0,
        legs: vec![only],
        allowance_mm: 120.0,
        in_command: true,
        start: Some(Place::from(&at)),
        end: Some(Place::from(&ends)),
        end_pose: ends.rounded(),
        files: 3,
        still_held_by: Vec::new(),
        lines_paid: None,
        reasons: vec![
            Reason::length_under(Code::EnemyZone, 20.0, -10.0, 0.5)
                .with("blue-1")
                .at(PathPoint::new(0, 160.0, place)),
            Reason::length_over(Code::OverAllowance, 120.0, 190.0, 0.5).at(PathPoint::new(
                0,
                120.0,
                Place::from(&at.shifted(at.ahead * 120.0)),
            )),
        ],
        furthest: Some(Place::from(&at.shifted(at.ahead * 120.0))),
        remedies: Vec::new(),
    }
}

/// A legal move: Third Foot obliques 80 mm to the left.
pub(crate) fn legal(game: &Game) -> MoveVerdict {
    let (at, _) = start(game, "red-3");
    let way = at.ahead.turned((-20.0_f64).to_radians());
    let ends = at.shifted(way * 80.0);
    let mut only = leg("oblique", 80.0, vec![piece(0.0, 80.0, "open", 1.0)], ends);
    (only.side, only.angle_deg) = (Some(Hand::Left), Some(20.0));
    MoveVerdict {
        unit: UnitId::from("red-3"),
        order: 1,
        verdict: Ruling::Legal,
        legs: vec![only],
        charge_mm: 80.0,
        allowance_mm: 160.0,
        in_command: true,
        start: Some(Place::from(&at)),
        end: Some(Place::from(&ends)),
        end_pose: ends.rounded(),
        files: 4,
        still_held_by: Vec::new(),
        lines_paid: None,
        reasons: Vec::new(),
        furthest: Some(Place::from(&ends)),
        remedies: Vec::new(),
    }
}

/// A battle at the mill and what follows from it.
pub(crate) fn a_battle(game: &Game) -> Vec<Event> {
    let id = UnitId::from;
    let guard = game.unit(&id("blue-1")).and_then(|unit| unit.pose());
    let from = guard.expect("on the table");
    let to = Pose {
        y_um: from.y_um + 80_000,
        ..from
    };
    vec![
        Event::BattleFought {
            report: BattleReport {
                order: 3,
                attackers: vec![id("red-2"), id("red-3")],
                defenders: vec![id("blue-1")],
                guns: vec![id("red-7")],
                attack: 55.0,
                defence: 32.0,
                shifts: vec![
                    Shift {
                        why: "Alder Mill".to_owned(),
                        columns: 0,
                        factor: 2.0,
                    },
                    Shift {
                        why: "the wall".to_owned(),
                        columns: -1,
                        factor: 1.0,
                    },
                ],
                column_before_shifts: "3:2".to_owned(),
                column: "1:1".to_owned(),
                throw: None,
                dice: vec![4],
                total: 4,
                outcome: "push".to_owned(),
            },
        },
        Event::Lost {
            unit: id("blue-1"),
            bases: 1,
        },
        Event::FellBack {
            unit: id("blue-1"),
            from,
            to,
            turned_deg: -7.5,
            pushed: Vec::new(),
        },
        Event::Disordered {
            unit: id("blue-1"),
            turns: 1,
        },
        Event::FollowedUp {
            unit: id("red-3"),
            from: Pose {
                x_um: 760_000,
                y_um: 480_000,
                bearing_udeg: 0,
            },
            to: Pose {
                x_um: 745_000,
                y_um: 515_000,
                bearing_udeg: 0,
            },
        },
        Event::Removed {
            unit: id("blue-7"),
            cause: Cause::NoWayOpen,
        },
    ]
}
