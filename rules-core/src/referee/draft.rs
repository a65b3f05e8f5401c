//! One order of a draft: what is asked while a base is dragged. Of remedies only the furthest is looked for.

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, distance_mm, smaller};
use crate::interruption::{Interrupted, Interruption};
use crate::orders::{TurnSheet, UnitId};
use crate::verdict::{MoveVerdict, OrderVerdict, Reason, Ruling};

use super::remedies::Sought;
use super::turn::{Judging, phase_reasons};
use super::zones::{TOUCH_MM, is_in_halt_zone, strike_zone_mm};

/// Judges one order of a sheet, counted from 0, after those before it, as [`judge_sheet`](super::judge_sheet) would; of
/// remedies only the furthest on the path is looked for. What comes after it is not looked at, nor are battles.
///
/// # Errors
/// When it was interrupted.
pub fn judge_order_unless(
    game: &Game,
    sheet: &TurnSheet,
    order: usize,
    interruption: &Interruption,
) -> Result<OrderVerdict, Interrupted> {
    let reasons = phase_reasons(game, sheet);
    if !reasons.is_empty() {
        return Ok(told(game, Vec::new(), reasons));
    }
    let mut judging = drafted(game, sheet, order.saturating_add(1), interruption)?;
    let moves = judging.verdict.moves.drain(..);
    let moves = moves.filter(|moved| moved.order == order).collect();
    Ok(told(&judging.table, moves, Vec::new()))
}

/// The table as the moves of a draft would leave it, a refused one made as far as it is legal. It is the table as it
/// stands when the sheet cannot be played now.
///
/// # Errors
/// When it was interrupted.
pub fn table_after_draft_unless(
    game: &Game,
    sheet: &TurnSheet,
    interruption: &Interruption,
) -> Result<Game, Interrupted> {
    if !phase_reasons(game, sheet).is_empty() {
        return Ok(game.clone());
    }
    Ok(drafted(game, sheet, sheet.orders.len(), interruption)?.table)
}

/// The first orders of a sheet, judged.
fn drafted(
    game: &Game,
    sheet: &TurnSheet,
    orders: usize,
    interruption: &Interruption,
) -> Result<Judging, Interrupted> {
    let mut judging = Judging::begin_unless(game, interruption);
    judging.remedies = Sought::Furthest;
    for (index, order) in sheet.orders.iter().take(orders).enumerate() {
        if interruption.is_due() {
            return Err(Interrupted);
        }
        judging.order(index, order);
    }
    // What was judged after the end was told is not what it would have been.
    if interruption.is_due() {
        return Err(Interrupted);
    }
    Ok(judging)
}

/// What is told of moves on the table that they leave.
fn told(table: &Game, moves: Vec<MoveVerdict>, reasons: Vec<Reason>) -> OrderVerdict {
    let all = || {
        reasons
            .iter()
            .chain(moves.iter().flat_map(|moved| &moved.reasons))
    };
    let verdict = Ruling::worst(all().map(Reason::ruling));
    let left = moves
        .iter()
        .map(|moved| moved.allowance_mm - moved.charge_mm);
    let left_mm = left.reduce(smaller);
    let first = all()
        .filter(|reason| reason.ruling() == Ruling::Refused)
        .reduce(|first, other| {
            if comes_before(other, first) {
                other
            } else {
                first
            }
        })
        .cloned();
    let (halted_by, strikes) = near(table, &moves);
    OrderVerdict {
        verdict,
        left_mm,
        first,
        halted_by,
        strikes,
        moves,
        reasons,
    }
}

/// Whether a limit is met before another on the path; one without a place on it is met at once.
fn comes_before(reason: &Reason, other: &Reason) -> bool {
    match (reason.place_on_path(), other.place_on_path()) {
        (Some(one), Some(other)) => one.is_before(other),
        (None, Some(_)) => true,
        (_, None) => false,
    }
}

/// The enemies in whose halt zones units stand, and those that are in strike zones of theirs.
fn near(table: &Game, moves: &[MoveVerdict]) -> (Vec<UnitId>, Vec<UnitId>) {
    let ruleset = table.ruleset();
    let standing = moves.iter().filter_map(|moved| table.unit(&moved.unit));
    let standing: Vec<(&Unit, Footprint)> = standing
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect();
    let Some((first, _)) = standing.first() else {
        return (Vec::new(), Vec::new());
    };
    let halts = |enemy: &Footprint| {
        let mut own = standing.iter();
        own.any(|(_, ground)| is_in_halt_zone(ruleset, enemy, ground))
    };
    let reach_mm = strike_zone_mm(ruleset) + TOUCH_MM;
    let is_struck = |enemy: &Footprint| {
        let mut own = standing.iter().filter(|(unit, _)| unit.has_strength());
        own.any(|(_, ground)| distance_mm(ground, enemy) <= reach_mm)
    };
    let named = |holds: &dyn Fn(&Footprint) -> bool, armed: bool| {
        let enemies = table.on_table().filter(|unit| unit.side != first.side);
        let enemies = enemies.filter(|unit| !armed || unit.has_strength());
        let enemies = enemies.filter(|unit| unit.footprint().is_some_and(|ground| holds(&ground)));
        enemies.map(|unit| unit.id.clone()).collect()
    };
    (named(&halts, true), named(&is_struck, false))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orders::{Extent, Leg, Order};
    use crate::referee::testing::{game, pair, rules, sheet};
    use crate::referee::wild::{Draws, wild_game, wild_orders};
    use crate::referee::{judge_sheet, table_after_moves};
    use crate::verdict::{Change, Code, Remedy};

    fn forward(unit: &str, mm: f64) -> Order {
        Order::Move {
            unit: UnitId::from(unit),
            legs: vec![Leg::Forward {
                distance_mm: Extent::Exactly(mm),
            }],
        }
    }

    fn judged(game: &Game, sheet: &TurnSheet, order: usize) -> OrderVerdict {
        judge_order_unless(game, sheet, order, &Interruption::never()).expect("not interrupted")
    }

    /// An order of a draft is told what the whole sheet is told of it, to the bit, whatever comes after it.
    #[test]
    fn an_order_is_told_what_the_sheet_is_told_of_it() {
        let (mut moved, mut refused) = (0, 0);
        for seed in 0..60 {
            let mut draws = Draws::new(seed);
            let game = wild_game(&mut draws);
            let sheet = sheet(wild_orders(&mut draws, &game));
            let whole = judge_sheet(&game, &sheet);
            for order in 0..sheet.orders.len() {
                let told = judged(&game, &sheet, order);
                let of_sheet = whole.moves.iter().filter(|moved| moved.order == order);
                let mut of_sheet: Vec<MoveVerdict> = of_sheet.cloned().collect();
                for moved in &mut of_sheet {
                    let is_furthest = |remedy: &Remedy| remedy.change == Change::CutShort;
                    moved.remedies.retain(is_furthest);
                    // the one note that looks at later orders
                    let moves_later = moved.reasons.iter().any(|reason| {
                        let remark = reason.remark();
                        remark.is_some_and(|remark| remark.contains("later in this sheet"))
                    });
                    if moves_later {
                        let own = told.moves.iter().find(|own| own.unit == moved.unit);
                        moved.reasons = own.expect("judged").reasons.clone();
                    }
                }
                assert_eq!(told.moves, of_sheet, "seed {seed}");
                moved += told.moves.len();
                refused += usize::from(told.first.is_some());
                assert_eq!(told.first.is_some(), told.verdict == Ruling::Refused);
            }
            let table = table_after_draft_unless(&game, &sheet, &Interruption::never());
            let after = table_after_moves(&game, &sheet, &whole);
            assert_eq!(table.expect("not interrupted"), after, "seed {seed}");
        }
        assert!(moved > 100 && refused > 20, "{moved} {refused}");
    }

    #[test]
    fn it_tells_what_is_left_and_what_is_met_first() {
        let units = vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 600.0, 180.0)),
        ];
        let game = game(rules(), units);
        let sheet = sheet(vec![forward("r1", 50.0), forward("r1", 1.0)]);
        // foot has 120 mm
        let told = judged(&game, &sheet, 0);
        assert_eq!((told.verdict, told.left_mm), (Ruling::Legal, Some(70.0)));
        assert!(told.first.is_none() && told.halted_by.is_empty());
        let again = judged(&game, &sheet, 1);
        assert_eq!(again.first.expect("refused").code(), Code::MovedAlready);
        let into = super::super::testing::sheet(vec![forward("r1", 130.0)]);
        let told = judged(&game, &into, 0);
        assert_eq!(told.verdict, Ruling::Refused);
        let first = told.first.expect("refused");
        let met = first.place_on_path().expect("on the path").along_mm;
        let others = told.moves[0]
            .reasons
            .iter()
            .filter_map(Reason::place_on_path);
        assert!(
            others
                .map(|at| at.along_mm)
                .all(|along| met <= along + 1e-9)
        );
        // it would stop at the edge of the halt zone, where the enemy may be struck
        assert_eq!(told.halted_by, [UnitId::from("b1")]);
        assert_eq!(told.strikes, [UnitId::from("b1")]);
        assert_eq!(told.left_mm, Some(120.0 - told.moves[0].charge_mm));
    }

    #[test]
    fn a_sheet_that_cannot_be_played_now_is_told_why() {
        let game = game(rules(), vec![pair("r1", "foot", (500.0, 500.0, 0.0))]);
        let mut late = sheet(vec![forward("r1", 10.0)]);
        late.game_turn = 3;
        let told = judged(&game, &late, 0);
        assert!(told.moves.is_empty() && told.left_mm.is_none());
        assert_eq!(told.first.expect("why").code(), Code::NotInPhase);
        let table = table_after_draft_unless(&game, &late, &Interruption::never());
        assert_eq!(table.expect("not interrupted"), game);
        assert!(judged(&game, &sheet(Vec::new()), 0).moves.is_empty());
    }

    #[test]
    fn it_can_be_interrupted() {
        let game = game(rules(), vec![pair("r1", "foot", (500.0, 500.0, 0.0))]);
        let at_once = Interruption::when(|| true);
        let sheet = sheet(vec![forward("r1", 10.0)]);
        assert!(judge_order_unless(&game, &sheet, 0, &at_once).is_err());
        assert!(table_after_draft_unless(&game, &sheet, &at_once).is_err());
    }
}
