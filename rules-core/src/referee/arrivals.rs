//! Coming onto the table (laws of measurement, §4 and the scenario's arrivals).

use crate::game::{Game, State};
use crate::geometry::{ARITHMETIC_MM, Pose};
use crate::orders::UnitId;
use crate::scenario::Edge;
use crate::verdict::{Code, Reason};

/// Where a unit would come in, and what forbids it.
#[derive(Debug, Clone, Default)]
pub(super) struct Placed {
    pub(super) pose: Option<Pose>,
    pub(super) reasons: Vec<Reason>,
}

/// The pose of a unit that arrives `along_mm` along its edge: its rear edge on the table's edge,
/// facing inward. Its whole frontage must lie within the stretch of its arrival.
pub(super) fn place(game: &Game, id: &UnitId, along_mm: f64) -> Placed {
    let Some(unit) = game.unit(id) else {
        return Placed::default();
    };
    let State::Waiting(arrival) = &unit.state else {
        return Placed::default();
    };
    let mut reasons = Vec::new();
    if game.game_turn() < arrival.game_turn {
        reasons.push(
            Reason::count(Code::NotInPhase, arrival.game_turn, game.game_turn())
                .with(id.0.clone())
                .note(format!(
                    "{id} arrives in game turn {} at the earliest, and it is game turn {}",
                    arrival.game_turn,
                    game.game_turn()
                )),
        );
    }
    let tolerance_mm = game.ruleset().scale.tolerance_mm;
    let block = unit.block();
    let half_mm = block.frontage_mm / 2.0;
    let (from_mm, to_mm) = (arrival.from_mm + half_mm, arrival.to_mm - half_mm);
    let stretch = format!(
        "the {} edge is open to {id} from {from_mm} to {to_mm} mm, measured to its middle",
        edge_name(arrival.edge)
    );
    if !along_mm.is_finite() {
        reasons.push(
            Reason::count(Code::NotPossible, 1, 0)
                .with(id.0.clone())
                .note(stretch),
        );
        return Placed {
            pose: None,
            reasons,
        };
    }
    if along_mm < from_mm - ARITHMETIC_MM {
        reasons.push(
            Reason::length_under(Code::NotPossible, from_mm, along_mm, tolerance_mm)
                .with(id.0.clone())
                .note(stretch),
        );
    } else if along_mm > to_mm + ARITHMETIC_MM {
        reasons.push(
            Reason::length_over(Code::NotPossible, to_mm, along_mm, tolerance_mm)
                .with(id.0.clone())
                .note(stretch),
        );
    }
    Placed {
        pose: game
            .ground()
            .arrival_pose(arrival.edge, block.depth_mm, along_mm),
        reasons,
    }
}

/// An edge in words.
pub(super) fn edge_name(edge: Edge) -> &'static str {
    match edge {
        Edge::North => "north",
        Edge::East => "east",
        Edge::South => "south",
        Edge::West => "west",
    }
}
