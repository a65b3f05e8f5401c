//! Moves at the very edge of a law, each worked by hand: where a lock's sum is above 0, a zone is just touched, a sum
//! comes to the allowance exactly, a wheel crosses a line and comes back.

use fieldpost_rules::authored;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text;
use fieldpost_rules::referee;
use fieldpost_rules::verdict::{Code, MoveVerdict, Ruling};

const RULES: &str = r#"
format = 1
name = "Edges"
attacks.compulsory = false
[scale]
base_width_mm = 40
[results]
kind = "odds"
columns = ["1:1"]
row = [{ throw = [1, 6], outcomes = ["stand"] }]
[results.outcome.stand]
words = "both stand"
[lines.stream]
charge = 2
[troops.foot]
arm = "foot"
movement_points = 8
strength_per_base = 1
[troops.general]
arm = "commander"
movement_points = 8
command_radius = 4
"#;

const TABLE: &str = r#"
format = 1
name = "A table"
game_turns = 10
table = { width_mm = 2000, depth_mm = 2000 }
side = [{ key = "red", name = "Red" }, { key = "blue", name = "Blue" }]
"#;

fn unit(id: &str, side: &str, files: u16, at: [f64; 3]) -> String {
    format!(
        "[[unit]]\nid = \"{id}\"\nname = \"{id}\"\nside = \"{side}\"\ntroops = \"foot\"\nfiles = {files}\nranks = 1\nat = {at:?}\n"
    )
}

/// The verdict on red-1's order on a table of these units and lines.
fn judged(rules: &str, table: &str, order: &str) -> MoveVerdict {
    let rules = RULES.replace(
        "attacks.compulsory = false",
        &format!("attacks.compulsory = false\n{rules}"),
    );
    let scenario = format!("{TABLE}{table}");
    let field = authored::open_battle(("rules", &rules), ("table", &scenario));
    let game = Game::new(field.unwrap_or_else(|faults| panic!("{faults:?}")).into());
    let sheet = text::parse("sheet", order, &game).unwrap_or_else(|faults| panic!("{faults:?}"));
    referee::judge_sheet(&game, &sheet).moves.remove(0)
}

fn tapes(verdict: &MoveVerdict) -> Vec<f64> {
    verdict.legs.iter().map(|leg| leg.tape_mm).collect()
}

fn near(measured: &[f64], worked: &[f64]) -> bool {
    let pairs = measured.iter().zip(worked);
    measured.len() == worked.len() && pairs.into_iter().all(|(a, b)| (a - b).abs() < 0.02)
}

/// 16 mm from the enemy that locks it. Back by 0.3 is marginal; from there *up to* goes on ahead, which takes the sum
/// down, until it touches the enemy 16.3 mm ahead.
#[test]
fn up_to_goes_on_while_a_locks_sum_sinks() {
    let table = unit("red-1", "red", 1, [500.0, 500.0, 0.0])
        + &unit("blue-1", "blue", 1, [500.0, 516.0, 180.0]);
    let verdict = judged("", &table, "red-1: back 0.3 mm, forward up to 100 mm");
    assert_eq!(verdict.verdict, Ruling::Marginal, "{verdict:#?}");
    assert!(near(&tapes(&verdict), &[0.3, 16.3]), "{verdict:#?}");
}

/// Sideways the distance stays as it is until the two no longer face each other, after 40 mm; then the sum would grow.
#[test]
fn up_to_stops_where_a_locks_sum_would_grow_again() {
    let table = unit("red-1", "red", 1, [500.0, 500.0, 0.0])
        + &unit("blue-1", "blue", 1, [500.0, 516.0, 180.0]);
    let verdict = judged("", &table, "red-1: back 0.3 mm, sidestep left up to 100 mm");
    assert_eq!(verdict.verdict, Ruling::Marginal, "{verdict:#?}");
    assert!(near(&tapes(&verdict), &[0.3, 40.0]), "{verdict:#?}");
}

/// It stands 20 mm south of the enemy's line of front and 0.4 mm east of the enemy: 20.004 mm away, and so in the zone of
/// 20, for storing can do 0.005. Going west along it brings it to 20 mm and no nearer. Out of command it may be as deep
/// as the limit there, and need not stay 0.01 mm outside.
#[test]
fn out_of_command_up_to_goes_to_the_limit_of_a_zone_that_it_began_in() {
    let general = "[[unit]]\nid = \"red-8\"\nname = \"red-8\"\nside = \"red\"\ntroops = \"general\"\nfiles = 1\nranks = 1\nat = [1500, 1500, 0]\ncommand = \"chief\"\n";
    let table = unit("red-1", "red", 1, [540.4, 500.0, 0.0])
        + &unit("blue-1", "blue", 1, [500.0, 520.0, 180.0])
        + general;
    let verdict = judged("", &table, "red-1: sidestep left up to 30 mm");
    assert!(!verdict.in_command);
    assert_eq!(verdict.verdict, Ruling::Legal, "{verdict:#?}");
    assert!(near(&tapes(&verdict), &[30.0]), "{verdict:#?}");
}

/// 5 mm to the contact, 60 back, 110 back, 145 sideways: 320 in all, which is what 8 points are. Where the first leg
/// stopped is known to arithmetic only; that is not held against the sum.
#[test]
fn a_sum_of_exactly_the_allowance_is_legal_after_an_up_to() {
    let table = unit("red-1", "red", 1, [1495.0, 1510.0, 180.0])
        + &unit("blue-1", "blue", 1, [1515.0, 1505.0, 0.0]);
    let order = "red-1: forward up to 120 mm, back 60 mm, back up to 110 mm, sidestep right 145 mm";
    let rules = "movement.back = 1\nmovement.sidestep = 1\nzones.zone_exit = \"free\"";
    let verdict = judged(rules, &table, order);
    assert!((verdict.charge_mm - 320.0).abs() < 0.001, "{verdict:#?}");
    assert_eq!(verdict.verdict, Ruling::Legal, "{verdict:#?}");
}

/// Two bases abreast wheel about (500, 500); the outer corner goes from (580, 500) to (500, 580) on a circle of 80 mm and
/// crosses x + y = 1100 twice, 9 mm apart from it at most. The anchor, 40 mm from the pivot, never comes there. The arc
/// is 80 × π/2 = 125.66 mm, a crossing 80.
#[test]
fn a_wheel_that_crosses_a_line_and_comes_back_pays_twice_where_every_tape_pays() {
    let table = unit("red-1", "red", 2, [540.0, 500.0, 0.0])
        + &unit("blue-1", "blue", 1, [1500.0, 1500.0, 180.0])
        + "[[line]]\nname = \"brook\"\nkind = \"stream\"\npoints = [[400, 700], [700, 400]]\n";
    let order = "red-1: wheel left 90°";
    let every = judged("movement.charge_lines = \"every-tape\"", &table, order);
    assert!((every.charge_mm - 285.66).abs() < 0.01, "{every:#?}");
    // its footprint is upon the brook all the while, so one payment holds
    let first = judged("", &table, order);
    assert!((first.charge_mm - 205.66).abs() < 0.01, "{first:#?}");
}

/// Half a millimetre to the left brings the tape 0.3 mm beside the bridge, which the tolerance grants: 80 mm that the
/// allowance of 120 could not have paid besides the way. So an *up to* that follows has nothing left to spend.
#[test]
fn up_to_spends_nothing_where_the_tolerance_granted_more_than_was_left() {
    let table = unit("red-1", "red", 1, [509.7, 500.0, 0.0])
        + &unit("blue-1", "blue", 1, [1500.0, 1500.0, 180.0])
        + "[[line]]\nname = \"brook\"\nkind = \"stream\"\npoints = [[400, 535], [900, 535]]\n[[line.span]]\nname = \"plank\"\nat = [520, 535]\nwidth_mm = 20\n";
    let order = "red-1: forward 245 mm, turn left, forward up to 10 mm";
    let verdict = judged("", &table, order);
    assert_eq!(verdict.verdict, Ruling::Marginal, "{verdict:#?}");
    assert_eq!(verdict.reasons[0].code(), Code::OverAllowance);
    // 245 + 40 + 80 = 365 of 320
    assert!(near(&tapes(&verdict), &[245.0, 0.0, 0.0]), "{verdict:#?}");
}
