//! The laws of movement over random tables: what must hold whatever stands where.

use proptest::prelude::*;

use crate::game::{Game, Ground, GroundLine, GroundPatch};
use crate::geometry::{
    Block, Footprint, Motion, Placement, Point, Polygon, Polyline, Pose, Vector, distance_mm,
    signed_distance_mm,
};
use crate::orders::{Extent, Hand, Leg, Order, UnitId};
use crate::referee::judge_sheet;
use crate::referee::testing::{TABLE_MM, bare_ground, game_on, pair, rules, scenario, sheet};
use crate::referee::wild::{Draws, wild_game, wild_ground, wild_orders, wild_rules};
use crate::ruleset::{LineKind, TerrainKind, ZoneExit};
use crate::verdict::{Code, MoveVerdict, Ruling};

use super::{Movement, Purpose, Surroundings, TurnStart, judge, judge_among};

const TOLERANCE_MM: f64 = 0.5;
const ZONE_MM: f64 = 20.0;

/// A table that can be shifted, turned and mirrored before it is built.
#[derive(Debug, Clone)]
struct Draft {
    /// Ids with place and bearing; ids that begin with `b` are enemies.
    units: Vec<(&'static str, f64, f64, f64)>,
    /// Triangles with their rate; a rate of zero stands for impassable.
    patches: Vec<([Point; 3], f64)>,
    /// Lines from one point to another, slopes or not.
    lines: Vec<(Point, Point, bool)>,
}

#[derive(Debug, Clone, Copy)]
enum Change {
    Shift(f64, f64),
    QuarterTurn,
    Mirror,
}

impl Change {
    fn point(self, p: Point) -> Point {
        match self {
            Self::Shift(x, y) => Point::new(p.x + x, p.y + y),
            Self::QuarterTurn => Point::new(p.y, TABLE_MM - p.x),
            Self::Mirror => Point::new(TABLE_MM - p.x, p.y),
        }
    }

    fn bearing(self, bearing_deg: f64) -> f64 {
        match self {
            Self::Shift(..) => bearing_deg,
            Self::QuarterTurn => bearing_deg + 90.0,
            Self::Mirror => -bearing_deg,
        }
    }

    fn draft(self, draft: &Draft) -> Draft {
        Draft {
            units: draft
                .units
                .iter()
                .map(|&(id, x, y, bearing)| {
                    let to = self.point(Point::new(x, y));
                    (id, to.x, to.y, self.bearing(bearing))
                })
                .collect(),
            patches: draft
                .patches
                .iter()
                .map(|&(corners, rate)| (corners.map(|p| self.point(p)), rate))
                .collect(),
            lines: draft
                .lines
                .iter()
                .map(|&(from, to, slope)| {
                    let (from, to) = (self.point(from), self.point(to));
                    // a mirror swaps left and right, so the high side needs the other direction
                    if matches!(self, Self::Mirror) {
                        (to, from, slope)
                    } else {
                        (from, to, slope)
                    }
                })
                .collect(),
        }
    }

    fn leg(self, leg: Leg) -> Leg {
        if !matches!(self, Self::Mirror) {
            return leg;
        }
        let mut leg = leg;
        match &mut leg {
            Leg::Sidestep { side, .. }
            | Leg::Oblique { side, .. }
            | Leg::Wheel { side, .. }
            | Leg::Turn { side }
            | Leg::Align { side, .. } => *side = side.other(),
            _ => {}
        }
        leg
    }

    fn place(self, verdict: &MoveVerdict) -> Point {
        let end = verdict.end.expect("stands");
        self.point(Point::new(end.x_mm, end.y_mm))
    }
}

fn build(draft: &Draft) -> Game {
    let patches = draft
        .patches
        .iter()
        .zip(["north patch", "south patch"])
        .filter_map(|((corners, rate), name)| {
            Some(GroundPatch {
                name: name.to_owned(),
                kind_name: name.to_owned(),
                kind: TerrainKind {
                    rate: if *rate == 0.0 { 1.0 } else { *rate },
                    impassable: *rate == 0.0,
                    ..TerrainKind::default()
                },
                outline: Polygon::new(corners.to_vec(), Vec::new()).ok()?,
            })
        });
    let lines =
        draft
            .lines
            .iter()
            .zip(["brook", "bank"])
            .filter_map(|(&(from, to, slope), name)| {
                Some(GroundLine {
                    name: name.to_owned(),
                    kind_name: name.to_owned(),
                    kind: LineKind {
                        slope,
                        ..LineKind::default()
                    },
                    charge_mm: 30.0,
                    course: Polyline::new(vec![from, to]).ok()?,
                    spans: Vec::new(),
                })
            });
    let ground = Ground {
        patches: patches.collect(),
        lines: lines.collect(),
        ..bare_ground()
    };
    let units = draft
        .units
        .iter()
        .map(|&(id, x, y, bearing)| pair(id, "horse", (x, y, bearing)))
        .collect();
    game_on(rules(), scenario(units), ground)
}

fn point() -> impl Strategy<Value = Point> {
    (350.0..850.0f64, 350.0..850.0f64).prop_map(|(x, y)| Point::new(x.round(), y.round()))
}

/// The mover in the middle, up to three enemies and a friend about it, patches and lines.
fn draft() -> impl Strategy<Value = Draft> {
    let others = prop::collection::vec((point(), 0.0..360.0f64), 1..5);
    let patches = prop::collection::vec(((point(), point(), point()), 0usize..4), 0..3);
    let lines = prop::collection::vec((point(), point(), any::<bool>()), 0..3);
    (0.0..360.0f64, others, patches, lines).prop_map(|(bearing, others, patches, lines)| {
        let mut units = vec![("r1", 600.0, 600.0, bearing.round())];
        let ids = ["b1", "b2", "r2", "b3"];
        for (id, (place, bearing)) in ids.into_iter().zip(others) {
            units.push((id, place.x, place.y, bearing.round()));
        }
        Draft {
            units,
            patches: patches
                .into_iter()
                .map(|((a, b, c), rate)| ([a, b, c], [0.0, 2.0, 3.0, 1.5][rate]))
                .collect(),
            lines,
        }
    })
}

fn hand() -> impl Strategy<Value = Hand> {
    prop_oneof![Just(Hand::Left), Just(Hand::Right)]
}

fn sweeping_leg(up_to: bool) -> impl Strategy<Value = Leg> {
    let d = || (0.0..220.0f64).prop_map(|d| (d * 100.0).round() / 100.0);
    prop_oneof![
        d().prop_map(move |distance_mm| Leg::Forward {
            distance_mm: Extent::new(distance_mm, up_to)
        }),
        d().prop_map(move |distance_mm| Leg::Back {
            distance_mm: Extent::new(distance_mm / 2.0, up_to)
        }),
        (hand(), d()).prop_map(move |(side, d)| Leg::Sidestep {
            side,
            distance_mm: Extent::new(d / 2.0, up_to)
        }),
        (hand(), 0.0..45.0f64, d()).prop_map(move |(side, angle_deg, distance_mm)| Leg::Oblique {
            side,
            angle_deg: angle_deg.round(),
            distance_mm: Extent::new(distance_mm, up_to)
        }),
        (hand(), 0.0..150.0f64).prop_map(move |(side, a)| Leg::Wheel {
            side,
            angle_deg: Extent::new(a.round(), up_to)
        }),
    ]
}

fn legs() -> impl Strategy<Value = Vec<Leg>> {
    let leg = prop_oneof![
        6 => sweeping_leg(false),
        1 => sweeping_leg(true),
        1 => hand().prop_map(|side| Leg::Turn { side }),
        1 => Just(Leg::About),
        1 => (hand(), 0.0..22.0f64).prop_map(|(side, angle_deg)| Leg::Align { side, angle_deg }),
    ];
    prop::collection::vec(leg, 1..4)
}

fn judged(game: &Game, legs: &[Leg]) -> MoveVerdict {
    let order = Order::Move {
        unit: UnitId::from("r1"),
        legs: legs.to_vec(),
    };
    let mut verdict = judge_sheet(game, &sheet(vec![order]));
    verdict.moves.remove(0)
}

/// Units that already overlap as the table is drawn are another matter.
fn is_clear(game: &Game) -> bool {
    let footprints: Vec<Footprint> = game
        .on_table()
        .filter_map(|unit| unit.footprint())
        .collect();
    let mover = game
        .unit(&UnitId::from("r1"))
        .and_then(|unit| unit.footprint());
    let on_rock = mover.is_some_and(|mover| {
        game.ground().patches.iter().any(|patch| {
            patch.kind.impassable && crate::geometry::overlap_depth_mm(&mover, &patch.outline) > 0.0
        })
    });
    let apart = footprints.iter().enumerate().all(|(i, one)| {
        footprints[i + 1..]
            .iter()
            .all(|other| signed_distance_mm(one, other) > 0.01)
    });
    apart && !on_rock
}

/// Whether a ruling hangs on less than the quanta of stored poses.
fn is_on_the_edge(verdict: &MoveVerdict) -> bool {
    verdict
        .reasons
        .iter()
        .filter(|reason| !reason.is_without_figures())
        .any(|reason| reason.excess() < 0.02 || (reason.excess() - TOLERANCE_MM).abs() < 0.02)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    #[test]
    fn a_turned_shifted_or_mirrored_table_gives_the_same_verdict(
        draft in draft(), legs in legs(),
        change in prop_oneof![
            (-90i32..90, -90i32..90).prop_map(|(x, y)| Change::Shift(f64::from(x), f64::from(y))),
            Just(Change::QuarterTurn),
            Just(Change::Mirror),
        ],
    ) {
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let here = judged(&table, &legs);
        let changed_legs: Vec<Leg> = legs.iter().map(|leg| change.leg(*leg)).collect();
        let there = judged(&build(&change.draft(&draft)), &changed_legs);
        prop_assume!(!is_on_the_edge(&here) && !is_on_the_edge(&there));
        let codes = |verdict: &MoveVerdict| -> Vec<Code> { verdict.reasons.iter().map(|r| r.code()).collect() };
        prop_assert_eq!(codes(&here), codes(&there));
        prop_assert_eq!(here.verdict, there.verdict);
        prop_assert!((here.charge_mm - there.charge_mm).abs() < 0.05, "{} and {}", here.charge_mm, there.charge_mm);
        let apart = change.place(&here).distance_to(Change::Shift(0.0, 0.0).place(&there));
        prop_assert!(apart < 0.05, "ends {} mm apart", apart);
    }

    #[test]
    fn pieces_make_up_the_tape_and_charges_the_sum(draft in draft(), legs in legs()) {
        let table = build(&draft);
        let verdict = judged(&table, &legs);
        let mut sum = 0.0;
        for leg in &verdict.legs {
            let mut at = 0.0;
            let mut charge = leg.fixed_mm;
            for piece in &leg.pieces {
                prop_assert!((piece.from_mm - at).abs() < 1e-6, "a gap in {:?}", leg.pieces);
                prop_assert!(piece.to_mm > piece.from_mm);
                at = piece.to_mm;
                charge += piece.charge_mm;
            }
            charge += leg.lines.iter().map(|line| line.charge_mm).sum::<f64>();
            prop_assert!((at - leg.tape_mm).abs() < 1e-6, "pieces end at {} of {}", at, leg.tape_mm);
            prop_assert!((charge - leg.charge_mm).abs() < 1e-6);
            sum += leg.charge_mm;
        }
        prop_assert!((sum - verdict.charge_mm).abs() < 1e-6);
    }

    #[test]
    fn a_mover_that_stops_where_told_is_legal(draft in draft(), legs in legs()) {
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let verdict = judged(&table, &legs);
        prop_assume!(verdict.verdict == Ruling::Refused);
        prop_assume!(verdict.reasons.iter().all(|reason| reason.code() != Code::EndsOnFriend));
        let first = verdict
            .reasons
            .iter()
            .filter(|reason| reason.ruling() == Ruling::Refused)
            .filter_map(|reason| reason.place_on_path())
            .min_by(|a, b| (a.leg, a.along_mm).partial_cmp(&(b.leg, b.along_mm)).expect("finite"))
            .expect("a refusal has a place");
        let mut told = legs[..first.leg].to_vec();
        if first.along_mm > 0.0 {
            told.push(cut(&legs[first.leg], first.along_mm));
        }
        let again = judged(&table, &told);
        let friends = again.reasons.iter().any(|reason| reason.code() == Code::EndsOnFriend);
        prop_assert!(friends || again.verdict != Ruling::Refused, "{:?} then {:#?}", told, again);
    }

    #[test]
    fn up_to_is_always_legal(draft in draft(), leg in sweeping_leg(true)) {
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let verdict = judged(&table, &[leg]);
        let other = verdict
            .reasons
            .iter()
            .all(|reason| reason.is_without_figures() || reason.code() == Code::EndsOnFriend);
        prop_assert!(other, "{:#?}", verdict);
    }

    #[test]
    fn a_leg_cut_in_two_costs_the_same(draft in draft(), d in 1.0..200.0f64, share in 0.0..1.0f64) {
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let forward = |distance_mm| Leg::Forward { distance_mm: Extent::Exactly(distance_mm) };
        let whole = judged(&table, &[forward(d)]);
        let cut = judged(&table, &[forward(d * share), forward(d - d * share)]);
        prop_assert!((whole.charge_mm - cut.charge_mm).abs() < 0.05, "{} and {}", whole.charge_mm, cut.charge_mm);
        if !is_on_the_edge(&whole) && !is_on_the_edge(&cut) {
            prop_assert_eq!(whole.verdict, cut.verdict);
        }
    }

    #[test]
    fn no_accepted_move_ends_overlapping(draft in draft(), legs in legs()) {
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let verdict = judged(&table, &legs);
        prop_assume!(verdict.verdict != Ruling::Refused);
        let end = Footprint::new(
            &verdict.end_pose.expect("stands").placement(),
            Block { frontage_mm: 80.0, depth_mm: 20.0 },
        );
        for other in table.on_table().filter(|unit| unit.id.0 != "r1") {
            let gap = signed_distance_mm(&end, &other.footprint().expect("stands"));
            prop_assert!(gap >= -TOLERANCE_MM - 1e-6, "{} mm into {}", -gap, other.id);
        }
        prop_assert!(table.ground().table.margin_mm(&end) >= -TOLERANCE_MM - 1e-6);
        // and from its rounded end it is still legal to stand there
        let mut stays = table.clone();
        stays.suppose(&UnitId::from("r1"), crate::game::State::Standing(verdict.end_pose.expect("stands")), 2);
        let nothing = judged(&stays, &[Leg::Forward { distance_mm: Extent::Exactly(0.0) }]);
        prop_assert_ne!(nothing.verdict, Ruling::Refused);
    }

    #[test]
    fn sweeps_agree_with_dense_sampling(draft in draft(), leg in sweeping_leg(false)) {
        const SAMPLES: u32 = 400;
        let table = build(&draft);
        prop_assume!(is_clear(&table));
        let mover = table.unit(&UnitId::from("r1")).expect("there");
        let start = mover.footprint().expect("stands");
        let began_clear = |enemy: &Footprint| distance_mm(&start, enemy) > ZONE_MM + 0.01;
        let verdict = judged(&table, &[leg]);
        let motion = motion_of(&start, &leg);
        for enemy in table.on_table().filter(|unit| unit.side == 1) {
            let ground = enemy.footprint().expect("stands");
            prop_assume!(began_clear(&ground));
            let least = (0..=SAMPLES)
                .map(|step| motion.footprint_at(&start, f64::from(step) / f64::from(SAMPLES)))
                .map(|footprint| distance_mm(&footprint, &ground))
                .fold(f64::INFINITY, crate::geometry::smaller);
            let reason = verdict
                .reasons
                .iter()
                .find(|r| r.code() == Code::EnemyZone && r.other() == Some(enemy.id.0.as_str()));
            if least < ZONE_MM - 0.01 {
                let measured = reason.map(|r| ZONE_MM - r.excess());
                prop_assert!(measured.is_some_and(|m| m <= least + 1e-6), "missed at {}: {:#?}", least, verdict);
            }
            if least > ZONE_MM + 1.0 {
                prop_assert!(reason.is_none(), "false at {}: {:#?}", least, verdict);
            }
        }
    }

    /// What is left out as too far off would have changed nothing.
    #[test]
    fn surroundings_hold_all_that_matters(seed: u64) {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let turn = TurnStart::of(&game);
        for order in wild_orders(&mut draws, &game) {
            let (Order::Move { legs, .. } | Order::MoveTogether { legs, .. }) = &order else {
                continue;
            };
            let units: Vec<_> = order.units().into_iter().filter_map(|id| game.unit(id)).collect();
            let movement = Movement { order: 0, units: &units, legs, purpose: Purpose::March };
            let near = judge(&game, &turn, &movement);
            let all = judge_among(&game, &turn, &movement, Surroundings::everything(&game, &movement));
            prop_assert_eq!(format!("{near:?}"), format!("{all:?}"));
        }
    }

    #[test]
    fn a_body_of_one_moves_as_a_unit(draft in draft(), legs in legs()) {
        let legs: Vec<Leg> = legs.into_iter().filter(|leg| !matches!(leg, Leg::Align { .. })).collect();
        let table = build(&draft);
        let alone = judged(&table, &legs);
        let order = Order::MoveTogether { units: vec![UnitId::from("r1")], legs };
        let together = judge_sheet(&table, &sheet(vec![order])).moves.remove(0);
        prop_assert_eq!(alone, together);
    }

    /// Straight legs cost several units what they would cost the one that pays most alone.
    #[test]
    fn a_body_pays_what_its_dearest_unit_would(seed: u64) {
        let mut draws = Draws::new(seed);
        let mut ruleset = wild_rules(&mut draws);
        ruleset.zones.zone_exit = ZoneExit::Free;
        let ground = wild_ground(&mut draws);
        let bearing = draws.one_of(&[0.0, 90.0, draws.clone().between(0.0, 360.0)]);
        let mut at = || (draws.between(400.0, 800.0), draws.between(400.0, 800.0), bearing);
        let units = vec![pair("r1", "foot", at()), pair("r2", "foot", at()), pair("r3", "foot", at())];
        let table = game_on(ruleset, scenario(units), ground);
        let distance_mm = draws.between(1.0, 200.0);
        let side = draws.one_of(&[Hand::Left, Hand::Right]);
        let leg = draws.one_of(&[
            Leg::Forward { distance_mm: Extent::Exactly(distance_mm) },
            Leg::Back { distance_mm: Extent::Exactly(distance_mm) },
            Leg::Sidestep { side, distance_mm: Extent::Exactly(distance_mm) },
            Leg::Oblique { side, angle_deg: 20.0, distance_mm: Extent::Exactly(distance_mm) },
        ]);
        let units: Vec<UnitId> = ["r1", "r2", "r3"].map(UnitId::from).to_vec();
        let alone = units.iter().map(|unit| {
            let order = Order::Move { unit: unit.clone(), legs: vec![leg] };
            judge_sheet(&table, &sheet(vec![order])).moves.remove(0).charge_mm
        });
        let dearest = alone.fold(0.0, crate::geometry::larger);
        let order = Order::MoveTogether { units: units.clone(), legs: vec![leg] };
        let together = judge_sheet(&table, &sheet(vec![order])).moves.remove(0);
        prop_assert!((together.charge_mm - dearest).abs() < 1e-6, "{} and {:#?}", dearest, together);
    }

    #[test]
    fn command_does_not_depend_on_where_the_table_lies(
        x in 300.0..900.0f64, y in 300.0..900.0f64, dx in -100i32..100, dy in -100i32..100,
    ) {
        let at = |dx: f64, dy: f64| {
            let units = vec![
                pair("r1", "foot", (600.0 + dx, 600.0 + dy, 0.0)),
                crate::referee::testing::block("r9", "general", (1, 1), (x.round() + dx, y.round() + dy, 0.0)),
            ];
            let table = game_on(rules(), scenario(units), bare_ground());
            let unit = table.unit(&UnitId::from("r1")).expect("there").clone();
            crate::referee::command::link(&table, &unit)
        };
        let (here, there) = (at(0.0, 0.0), at(f64::from(dx), f64::from(dy)));
        prop_assert!((here.distance_mm - there.distance_mm).abs() < 1e-6);
        prop_assert_eq!(here.in_command, there.in_command);
    }
}

/// The same leg over just so much tape.
fn cut(leg: &Leg, along_mm: f64) -> Leg {
    let mut leg = *leg;
    match &mut leg {
        Leg::Forward { distance_mm, .. }
        | Leg::Back { distance_mm, .. }
        | Leg::Sidestep { distance_mm, .. }
        | Leg::Oblique { distance_mm, .. } => *distance_mm = Extent::Exactly(along_mm),
        Leg::Wheel { angle_deg, .. } => {
            *angle_deg = Extent::Exactly((along_mm / 80.0).to_degrees())
        }
        Leg::Turn { .. } | Leg::About | Leg::Align { .. } | Leg::Reform { .. } => {}
    }
    leg
}

/// A leg's motion, worked out here once more for the sampling.
fn motion_of(start: &Footprint, leg: &Leg) -> Motion {
    let placement = Placement {
        anchor: start.anchor(),
        ahead: start.ahead,
    };
    let straight = |direction: Vector, distance_mm: f64| Motion::Straight {
        by: direction * distance_mm,
    };
    let amount = leg.extent().and_then(Extent::amount).unwrap_or(0.0);
    match *leg {
        Leg::Back { .. } => straight(-placement.ahead, amount),
        Leg::Sidestep { side, .. } => straight(placement.right() * side.sign(), amount),
        Leg::Oblique {
            side, angle_deg, ..
        } => straight(
            placement
                .ahead
                .turned((side.sign() * angle_deg).to_radians()),
            amount,
        ),
        Leg::Wheel { side, .. } => Motion::Turn {
            pivot: if side == Hand::Left {
                start.front_left()
            } else {
                start.front_right()
            },
            clockwise_rad: (side.sign() * amount).to_radians(),
        },
        _ => straight(placement.ahead, amount),
    }
}

#[test]
fn stored_poses_make_a_round_trip_of_whole_turns() {
    let pose = Pose::from_mm_deg(600.0, 600.0, 45.0).expect("in reach");
    assert_eq!(pose.with_bearing_turned(360_000_000), pose);
}
