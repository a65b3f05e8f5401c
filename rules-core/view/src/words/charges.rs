//! What of a move's cost was not its tape, by name: lines, and leaving a halt zone.

use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::Footprint;
use fieldpost_rules::sanitize::{listed, plain};
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{Code, LegLedger, MoveVerdict};

/// A charge below this is none, in millimetres: what hundredths show.
const LEAST_MM: f64 = 0.005;
/// How near a line's course is to where a unit stopped before it, in millimetres.
const AT_LINE_MM: f64 = 0.06;

/// "  Of that, 80.0 mm are for Withy Brook and 40.0 mm for leaving a halt zone." Where a move costs too much; empty where it was charged for
/// its tape and turns alone.
pub(super) fn what_was_dear(verdict: &MoveVerdict, game: &Game) -> String {
    let is_too_dear = |code| code == Code::OverAllowance;
    if !verdict
        .reasons
        .iter()
        .any(|reason| is_too_dear(reason.code()))
    {
        return String::new();
    }
    let mut parts: Vec<String> = Vec::new();
    for leg in &verdict.legs {
        for line in leg.lines.iter().filter(|line| line.charge_mm > LEAST_MM) {
            let name = plain(&line.line);
            parts.push(format!("{} mm for {name}", tenths(line.charge_mm)));
        }
        let leaving_mm = leg.fixed_mm - own_fixed_mm(leg, game);
        if leaving_mm > LEAST_MM {
            parts.push(format!("{} mm for leaving a halt zone", tenths(leaving_mm)));
        }
    }
    if parts.is_empty() {
        return String::new();
    }
    format!("  Of that, {}.\n", listed(&parts))
}

/// What a leg is charged once, wherever it is made.
fn own_fixed_mm(leg: &LegLedger, game: &Game) -> f64 {
    let (movement, scale) = (&game.ruleset().movement, &game.ruleset().scale);
    match leg.leg.as_str() {
        "turn" => movement.turn.mm(scale),
        "about" => movement.about.mm(scale),
        "reform" => movement.reform.mm(scale),
        _ => 0.0,
    }
}

/// ", for Withy Brook costs 80.0 mm and 39.6 mm are left": after the last leg, where it stopped for want of
/// allowance at a line that it could not pay for.
pub(super) fn not_paid(verdict: &MoveVerdict, leg: usize, game: &Game) -> String {
    let ledger = verdict.legs.get(leg);
    let is_last = leg + 1 == verdict.legs.len();
    let left_mm = verdict.allowance_mm - verdict.charge_mm;
    let stopped = ledger.is_some_and(|leg| leg.stopped_by.as_deref() == Some("allowance"));
    if !(is_last && stopped && left_mm > LEAST_MM) {
        return String::new();
    }
    let Some(ground) = ground(verdict, game) else {
        return String::new();
    };
    let places = [ground.anchor(), ground.front_left(), ground.front_right()];
    let mut lines = game.ground().lines.iter().filter(|line| {
        let is_there = |place| line.course.distance_mm(place) <= AT_LINE_MM;
        line.charge_mm > left_mm && places.into_iter().any(is_there)
    });
    lines.next().map_or_else(String::new, |line| {
        format!(
            ", for {} costs {} mm and {} mm are left",
            plain(&line.name),
            tenths(line.charge_mm),
            tenths(left_mm)
        )
    })
}

/// Where the unit ends.
fn ground(verdict: &MoveVerdict, game: &Game) -> Option<Footprint> {
    let mut unit = game.unit(&verdict.unit)?.clone();
    unit.files = verdict.files;
    Some(Footprint::new(&verdict.end_pose?.placement(), unit.block()))
}
