//! Conversions against values worked by hand, each with its source, and files that open.

use proptest::prelude::*;

use super::*;
use fieldpost_rules::authored::open_battle;
use fieldpost_rules::ruleset::Arm;

fn board() -> Board {
    read_board("board.toml", starter_board()).unwrap_or_else(|faults| panic!("{faults}"))
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-6 * (1.0 + b.abs()), "{a} and {b}");
}

/// Infantry Drill Regulations, United States Army, 1911: 120 steps of 30 inches a minute, which
/// are 100 yards; a yard is 36 inches and 0.9144 m (1959 agreement, NIST SP 811).
#[test]
fn quick_time_is_a_hundred_yards_a_minute() {
    near(Gait::QuickTime.yards_per_minute(), 120.0 * 30.0 / 36.0);
    near(Gait::QuickTime.metres_per_minute(), 91.44);
    near(Gait::QuickTime.metres_per_minute(), 120.0 * 30.0 * 0.0254);
}

/// Field Service Regulations, Part I, 1909 (reprint 1914): 98, 117, 235 and 440 yards a minute;
/// it also counts 18 minutes to the mile of 1760 yards for foot, 15 at a walk, and 7 to 8 at a
/// trot.
#[test]
fn field_service_rates() {
    let yards = Gait::ALL.map(Gait::yards_per_minute);
    assert_eq!(yards, [98.0, 100.0, 117.0, 235.0, 440.0]);
    let minutes_to_the_mile = |gait: Gait| 1760.0 / gait.yards_per_minute();
    assert_eq!(minutes_to_the_mile(Gait::Infantry).round(), 18.0);
    assert_eq!(minutes_to_the_mile(Gait::MountedWalk).round(), 15.0);
    assert!((7.0..8.0).contains(&minutes_to_the_mile(Gait::Trot)));
    near(Gait::Gallop.metres_per_minute(), 402.336);
}

/// A hex of 40 mm: 10 in a straight row measure 10.5 hexes, 420 mm; 8 staggered rows measure
/// 7 × √3/2 + 2/√3 = 6.062178 + 1.154701 = 7.216878 hexes, 288.675 mm (plane geometry).
#[test]
fn a_map_measured_by_hand() {
    let mut map = board().map;
    (map.across, map.deep) = (10, 8);
    let table = table_needed(&map, 1, 40.0).unwrap();
    near(table.width_mm, 420.0);
    assert!((table.depth_mm - 288.675).abs() < 1e-3);
    map.straight_rows = StraightRows::Up;
    let turned = table_needed(&map, 2, 20.0).unwrap();
    near(turned.depth_mm, 8.5 * 40.0);
    // 9 × √3/2 + 2/√3 = 7.794229 + 1.154701
    assert!((turned.width_mm - 8.948929 * 40.0).abs() < 1e-3);
    (map.across, map.deep) = (1, 1);
    let one = table_needed(&map, 1, 100.0).unwrap();
    near(one.depth_mm, 100.0);
    assert!((one.width_mm - 115.4701).abs() < 1e-3, "corner to corner");
}

/// 30 by 20 hexes on 1200 by 900 mm: 30.5 hexes across allow 39.34 mm, 17.609183 deep would
/// allow 51.1; at 39 mm 1189.5 are taken across and 686.76 in depth.
#[test]
fn the_largest_base_worked_by_hand() {
    let fit = fit(&board().map, 1, (1200.0, 900.0), 1.0).unwrap();
    near(fit.exact_mm, 1200.0 / 30.5);
    assert!(fit.width_limits);
    near(fit.base_width_mm, 39.0);
    assert_eq!(fit.common_mm, Some(30.0));
    near(fit.spare_width_mm, 10.5);
    assert!((fit.spare_depth_mm - (900.0 - 686.758)).abs() < 1e-2);
}

/// 9 strength points at 2 to the base are 4.5 bases; 0.3 at 0.1 are 3, whatever floats make of it.
#[test]
fn rounding_by_hand() {
    let bases = |strength, per_base| Rounding::ALL.map(|r| r.bases(strength, per_base));
    assert_eq!(bases(9.0, 2.0), [5, 5, 4]);
    assert_eq!(bases(7.0, 3.0), [2, 3, 2]);
    assert_eq!(bases(0.3, 0.1), [3, 3, 3]);
    assert_eq!(bases(0.5, 3.0), [1, 1, 1], "no unit is rounded away");
}

/// The starter at 2 to the base. Red: 5 of 4 (2 bases each), 2 of 3, 1 of 2: 28 points. Nearest
/// and up make 3 into 2 bases: +1 point twice, 30 of 28. Down makes it 1: 26. Blue: 4 of 5, 2 of 2,
/// 2 of 2: 28 points. Nearest and up make 5 into 3 bases: 32 of 28; down into 2: 24.
#[test]
fn what_rounding_loses_worked_by_hand() {
    let mut board = board();
    board.laying.strength_per_base = Some(2.0);
    let plan = convert(&board, 30.0).unwrap();
    let [nearest, up, down] = &plan.losses;
    near(nearest.sides[0], 2.0 / 28.0);
    near(nearest.sides[1], 4.0 / 28.0);
    near(up.sides[1], 4.0 / 28.0);
    near(down.sides[0], -2.0 / 28.0);
    near(down.sides[1], -4.0 / 28.0);
    near(down.worst_unit, 1.0 / 3.0);
    near(nearest.balance, (30.0 / 28.0) / (32.0 / 28.0) - 1.0);
    assert_eq!(plan.rounding, Rounding::Nearest);
}

/// The star is where the manual says. At 3 to the base Red has 5 of 4, and Blue 10 of 2 and 1 of 4: 20 and 24
/// points. Nearest gives 5 × 3 and 11 × 3: −25 % and +37.5 %. Up gives 5 × 6 and 10 × 3 + 6: +50 % and +50 %, so the balance
/// is kept and both are half as strong again. Down is as nearest. The sides are changed least by nearest.
#[test]
fn the_way_taken_changes_the_sides_least() {
    let mut board = board();
    board.laying.strength_per_base = Some(3.0);
    board.laying.rounding = None;
    let counter = |side: &str, count: u32, strength: f64| {
        let troops = |unit: &&super::board::Counter| unit.side == side && unit.strength > 0.0;
        let mut unit = board
            .unit
            .iter()
            .find(troops)
            .expect("one that fights")
            .clone();
        (unit.count, unit.strength) = (count, strength);
        unit.name = format!("{side} {count} of {strength}");
        unit
    };
    let [red, blue] = [0, 1].map(|index| board.side[index].key.clone());
    board.unit = vec![
        counter(&red, 5, 4.0),
        counter(&blue, 10, 2.0),
        counter(&blue, 1, 4.0),
    ];
    let plan = convert(&board, 25.0).expect("it fits");
    let [nearest, up, _] = &plan.losses;
    near(nearest.sides[0], -0.25);
    near(nearest.sides[1], 0.375);
    near(up.sides[0], 0.5);
    near(up.sides[1], 0.5);
    near(up.balance, 0.0);
    assert_eq!(plan.rounding, Rounding::Nearest);
}

proptest! {
    /// Whatever the counters, no way of rounding that was not taken leaves both sides nearer to what they were.
    #[test]
    fn no_other_way_changes_the_sides_less(
        strengths in prop::collection::vec(1u32..12, 2..8), halves in 1u32..9,
    ) {
        let mut board = board();
        let per_base = f64::from(halves) / 2.0;
        (board.laying.strength_per_base, board.laying.rounding) = (Some(per_base), None);
        let fighting: Vec<_> = board.unit.iter().filter(|unit| unit.strength > 0.0).cloned().collect();
        board.unit = strengths.iter().enumerate().map(|(index, strength)| {
            let mut unit = fighting[index % fighting.len()].clone();
            unit.strength = f64::from(*strength);
            unit
        }).collect();
        let losses = super::bases::losses(&board, per_base);
        let taken = super::bases::least(&losses);
        let most = |loss: &super::bases::RoundingLoss| {
            fieldpost_rules::geometry::larger(loss.sides[0].abs(), loss.sides[1].abs())
        };
        let of_taken = losses.iter().find(|loss| loss.rounding == taken).map_or(f64::NAN, most);
        for loss in &losses {
            prop_assert!(of_taken <= most(loss) + 1e-8, "{taken:?}: {losses:#?}");
        }
    }
}

/// Two units of up to 5 points in a hex two bases wide, three deep: 10 points on 6 bases need
/// 1.67 to the base, 2 in halves.
#[test]
fn the_strength_of_a_base_when_a_full_hex_must_stand_on_its_front() {
    let mut board = board();
    board.laying.stacking = 2;
    board.laying.strength_per_base = None;
    near(convert(&board, 30.0).unwrap().strength_per_base, 2.0);
    board.laying.strength_per_base = Some(1.0);
    let codes: Vec<_> = convert(&board, 30.0)
        .unwrap()
        .warnings
        .iter()
        .map(|w| w.code)
        .collect();
    assert!(codes.contains(&"full-hex"), "{codes:?}");
}

/// Bases of 30 mm, two to the hex: a hex and a movement point are 60 mm, foot with 4 move 240,
/// halting at 30 and striking at 60; guns with a range of 4 hexes reach 240, a commander of 6
/// hexes 360.
#[test]
fn distances_worked_by_hand() {
    let plan = convert(&board(), 30.0).unwrap();
    near(plan.movement_point_mm, 60.0);
    near(plan.halt_zone_bw * 30.0, 30.0);
    near(plan.strike_zone_bw * 30.0, 60.0);
    let troops = |name: &str| plan.troops.iter().find(|t| t.name == name).unwrap();
    near(troops("foot").move_mm, 240.0);
    near(troops("horse").move_mm, 480.0);
    near(troops("guns").range_bw.unwrap() * 30.0, 240.0);
    near(troops("general").command_bw.unwrap() * 30.0, 360.0);
}

/// Hexes of 200 yards, turns of 20 minutes. Foot with 4 MP cover 800 yards, 731.52 m; at 98 yards
/// a minute that takes 8.163 minutes, 40.8 % of the turn; a whole turn of marching would be
/// 20 × 98 / 200 = 9.8 MP. A hex of 60 mm makes a millimetre 182.88 / 60 = 3.048 m, 1:3048.
#[test]
fn ground_and_time_worked_by_hand() {
    let ground = convert(&board(), 30.0).unwrap().ground;
    near(ground.metres_per_mm.unwrap(), 3.048);
    let foot = ground.marches.iter().find(|m| m.troops == "foot").unwrap();
    near(foot.turn_m, 731.52);
    near(foot.minutes, 800.0 / 98.0);
    near(foot.share.unwrap(), 800.0 / 98.0 / 20.0);
    near(foot.movement_points_of_a_full_turn.unwrap(), 9.8);
    // the horse trots: 1600 yards at 235
    let horse = ground.marches.iter().find(|m| m.troops == "horse").unwrap();
    near(horse.minutes, 1600.0 / 235.0);
}

/// Without turns' length it is the foot's march: 800 yards at 98 a minute. Without hexes' size it
/// follows from a front: 5 points of 150 men in two ranks are 375 files, at 0.75 m each (Balck,
/// Tactics, 1915, p. 48) 281.25 m; on 2 bases of 30 mm that is 281.25 m to the 60 mm of a hex.
#[test]
fn scales_found_from_handbooks_worked_by_hand() {
    let mut board = board();
    board.turns.minutes = None;
    near(
        convert(&board, 30.0).unwrap().ground.minutes.unwrap(),
        800.0 / 98.0,
    );
    board.map.hex_yards = None;
    let ground = convert(&board, 30.0).unwrap().ground;
    near(ground.hex_m.unwrap(), 281.25);
    near(ground.minutes.unwrap(), 4.0 * 281.25 / (98.0 * 0.9144));
    for troops in board.troops.values_mut() {
        troops.men_per_strength = None;
    }
    let unknown = convert(&board, 30.0).unwrap().ground;
    assert_eq!((unknown.hex_m, unknown.minutes), (None, None));
    assert!(unknown.ground_from.contains("hex_yards"));
}

/// Balck's table runs from 0.70 m (France) to 0.85 m (Japan).
#[test]
fn fronts_of_men_are_within_the_published_table() {
    let widths = FILE_WIDTHS.map(|width| width.metres);
    assert!(widths.is_sorted());
    assert_eq!((widths[0], widths[8]), (0.70, 0.85));
    let usual = Laying::default().file_m;
    assert!(widths[0] <= usual && usual <= widths[8]);
}

/// Red's line at 30 mm: 5 foot of 4 bases, 2 horse of 3, a battery of 2; two abreast each: 8
/// units of 60 mm, 480 mm. The table is 30.5 hexes of 60 mm, 1830 mm: 26.2 %.
#[test]
fn the_share_of_the_line_worked_by_hand() {
    let plan = convert(&board(), 30.0).unwrap();
    assert_eq!((plan.lines[0].units, plan.lines[0].bases), (8, 28));
    near(plan.lines[0].front_mm, 480.0);
    near(plan.lines[0].share, 480.0 / 1830.0);
}

/// Deployed in a quarter each, half of the 1056.55 mm of depth lie between, 528.28 mm; less the
/// halt zone's 30 mm, both walking 240 a turn: 498.28 / 480 = 1.04 turns.
#[test]
fn turns_to_contact_worked_by_hand() {
    let plan = convert(&board(), 30.0).unwrap();
    assert!((plan.table.depth_mm - 1056.551).abs() < 1e-2);
    assert!((plan.turns_to_contact.unwrap() - 1.038).abs() < 1e-3);
    assert_eq!(plan.warnings, []);
}

#[test]
fn warnings_of_crowding_walking_and_haste() {
    let codes = |board: &Board, base_width_mm| -> Vec<&'static str> {
        let plan = convert(board, base_width_mm).unwrap();
        plan.warnings.iter().map(|warning| warning.code).collect()
    };
    let mut crowded = board();
    crowded.map.across = 9;
    assert!(codes(&crowded, 30.0).contains(&"too-crowded"));
    let mut thin = board();
    thin.map.across = 60;
    assert!(codes(&thin, 30.0).contains(&"too-thin"));
    let mut slow = board();
    slow.map.deep = 100;
    assert!(codes(&slow, 15.0).contains(&"too-long-a-walk"));
    let mut hasty = board();
    hasty.turns.minutes = Some(5.0);
    assert!(codes(&hasty, 30.0).contains(&"faster-than-a-march"));
    assert!(codes(&board(), 8.0).contains(&"small-bases"));
}

#[test]
fn a_side_that_does_not_fit_is_told_so_with_figures() {
    let mut full = board();
    (full.map.across, full.map.deep) = (6, 4);
    let error = convert(&full, 30.0).unwrap_err();
    assert!(matches!(error, ConvertError::NoRoom { .. }), "{error}");
    // 40 bases, 3 deep, are 14 abreast: 420 mm; 6 hexes of 60 mm and a half are 390 mm, less a base
    let mut wide = board();
    wide.map.across = 6;
    wide.unit[0].strength = 40.0;
    let error = convert(&wide, 30.0).unwrap_err();
    assert!(error.to_string().contains("420.0 mm"), "{error}");
    assert!(error.to_string().contains("360 mm"), "{error}");
    assert!(convert(&board(), f64::NAN).is_err());
    assert!(convert(&board(), 1e9).is_err());
    assert!(fit(&board().map, 2, (10.0, f64::INFINITY), 1.0).is_err());
    assert!(fit(&board().map, 20, (60.0, 60.0), 1.0).is_err());
}

#[test]
fn the_files_open_and_hold_what_was_planned() {
    let board = board();
    let plan = convert(&board, 30.0).unwrap();
    let files = skeleton(&board, &plan).unwrap();
    let field = open_battle(("r", &files.ruleset), ("s", &files.scenario)).unwrap();
    near(field.ruleset.scale.movement_point_mm(), 60.0);
    near(
        field.ruleset.zones.strike_zone.mm(&field.ruleset.scale),
        60.0,
    );
    near(field.ruleset.terrain["wood"].rate, 2.0);
    assert!(field.ruleset.lines["slope"].slope);
    assert_eq!(field.ruleset.troops["guns"].arm, Arm::Guns);
    assert_eq!(field.scenario.unit.len(), 18);
    // falling back by one hex is two base widths
    let back = field.ruleset.results.outcome["defender gives way"]
        .defender
        .falls_back;
    near(back.unwrap().mm(&field.ruleset.scale), 60.0);
    insta::assert_snapshot!(plan_in_words(&plan));
}

/// A name that no file may hold is told when the files are opened, not written out.
#[test]
fn what_no_file_may_hold_is_told() {
    let mut board = board();
    board.unit[0].name = "Foot\u{1f}".to_owned();
    let plan = convert(&board, 30.0).unwrap();
    let error = skeleton(&board, &plan).unwrap_err();
    assert!(error.to_string().contains("U+001F"), "{error}");
}

#[test]
fn words_keep_to_80_columns() {
    let board = board();
    let fit = fit(&board.map, 2, (1800.0, 1200.0), 5.0).unwrap();
    let plan = convert(&board, 8.0).unwrap();
    for text in [plan_in_words(&plan), fit_in_words(&board, &fit)] {
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line:?}");
        }
    }
}

#[test]
fn faults_of_a_board_file_are_told_with_their_place() {
    let text = starter_board()
        .replace("hex_yards = 200", "hex_yards = 200\nhex_m = 180")
        .replacen("troops = \"foot\"", "troops = \"foots\"", 1)
        .replacen("strength = 3", "strength = 0", 1);
    let faults = read_board("board.toml", &text).unwrap_err().to_string();
    for part in ["measured twice", "foots", "no strength"] {
        assert!(faults.contains(part), "{part} in {faults}");
    }
    assert!(read_board("board.toml", "across = NaN").is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Whatever is laid out, opens: no overlap, nothing off the table or its deployment.
    #[test]
    fn whatever_is_laid_out_opens(
        across in 4u32..60, deep in 4u32..60, per_hex in 1u32..5, stacking in 1u32..4,
        base in 5.0f64..60.0, strength in 0.5f64..4.0,
        armies in prop::collection::vec((0usize..2, 0usize..3, 1u32..20, 1u32..4), 1..12),
        up in any::<bool>(),
    ) {
        let mut board = board();
        (board.map.across, board.map.deep) = (across, deep);
        board.map.straight_rows = if up { StraightRows::Up } else { StraightRows::Across };
        board.laying.bases_per_hex = per_hex;
        board.laying.stacking = stacking;
        board.laying.strength_per_base = Some(strength);
        for (side, troops, strength, count) in armies {
            board.unit.push(Counter {
                name: "\"Odd\" name \\".to_owned(),
                side: ["red", "blue"][side].to_owned(),
                troops: ["foot", "horse", "guns"][troops].to_owned(),
                strength: f64::from(strength) / 2.0,
                count,
            });
        }
        if let Ok(plan) = convert(&board, (base * 10.0).round() / 10.0) {
            let files = skeleton(&board, &plan);
            prop_assert!(files.is_ok(), "{}", files.unwrap_err());
        }
    }

    #[test]
    fn the_largest_base_fits_and_a_step_more_does_not(
        across in 1u32..100, deep in 1u32..100, per_hex in 1u32..4,
        width in 300.0f64..5000.0, depth in 300.0f64..5000.0,
    ) {
        let mut map = board().map;
        (map.across, map.deep) = (across, deep);
        if let Ok(fit) = fit(&map, per_hex, (width, depth), 1.0) {
            prop_assert!(fit.spare_width_mm >= -1e-6 && fit.spare_depth_mm >= -1e-6);
            let more = table_needed(&map, per_hex, fit.base_width_mm + 1.0).unwrap();
            prop_assert!(more.width_mm > width || more.depth_mm > depth);
        }
    }
}
