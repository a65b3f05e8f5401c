//! Following up (laws of measurement, §8): a winner takes the loser's former ground.

use crate::game::Game;
use crate::geometry::{
    ARITHMETIC_MM, Footprint, Motion, Pose, TOUCH_MM, larger, signed_distance_mm, smaller,
};
use crate::orders::UnitId;

use super::open_ground::{Bars, touching_share};
use super::snap::settle;

/// Where a winner ends that goes straight toward a loser's former anchor, bearing kept: at the
/// anchor, at most `follow_up` away, stopped by whatever it touches (units of either side,
/// impassable ground, the table's edge). Halt zones do not stop it. `None` when it is not on
/// the table, or the way open to it is no longer than the tolerance.
pub(crate) fn follow_up(game: &Game, unit: &UnitId, former: Pose) -> Option<(Pose, Pose)> {
    let winner = game.unit(unit)?;
    let from = winner.pose()?;
    let start = winner.footprint()?;
    let placement = from.placement();
    let ruleset = game.ruleset();
    let most_mm = ruleset.falling_back.follow_up.mm(&ruleset.scale);
    let way = former.placement().anchor - placement.anchor;
    let by = way.unit()? * smaller(way.length(), most_mm);
    let friends: Vec<Footprint> = game
        .on_table()
        .filter(|other| other.side == winner.side && other.id != *unit)
        .filter_map(crate::game::Unit::footprint)
        .collect();
    let bars = Bars::of(game, winner.side);
    let table = game.ground().table;
    let beyond_mm = larger(-table.margin_mm(&start), 0.0);
    let mut share = bars.open_share(&start, by);
    for friend in &friends {
        share = smaller(share, touching_share(&start, by, friend));
    }
    let motion = Motion::Straight { by };
    if let Some(off) = table.spans_off(&start, &motion, beyond_mm).first() {
        share = smaller(share, off.from);
    }
    let deepest = |other: &Footprint| smaller(signed_distance_mm(&start, other), 0.0);
    let limits = bars.touching_limits(&start);
    let to = settle(&motion.placement_at(&placement, share), |pose| {
        let end = Footprint::new(&pose.placement(), winner.block());
        bars.keeps(&limits, &end, ARITHMETIC_MM)
            && table.margin_mm(&end) >= -beyond_mm - ARITHMETIC_MM
            && friends
                .iter()
                .all(|friend| signed_distance_mm(&end, friend) >= deepest(friend) - ARITHMETIC_MM)
    })?;
    let went_mm = by.length() * share;
    let least_mm = larger(ruleset.scale.tolerance_mm, TOUCH_MM);
    (went_mm > least_mm).then_some((from, to))
}
