//! What a tape costs by the ground it goes over (laws of measurement, §4).

use crate::geometry::{
    Footprint, Motion, Path, Span, smaller, spans_inside, spans_near, spans_over,
};
use crate::ruleset::TerrainBy;
use crate::verdict::Piece;

use super::Surroundings;

/// Pieces of tape shorter than this are arithmetic, in millimetres.
const SHORTEST_MM: f64 = 1e-9;

/// The name of ground that nothing covers.
const OPEN: &str = "open";

/// Tape over one kind of ground. Names are those of the ground: a ledger has its own.
#[derive(Debug, Clone)]
pub(super) struct Charge<'a> {
    pub(super) from_mm: f64,
    pub(super) to_mm: f64,
    ground: &'a str,
    rate: f64,
    pub(super) charge_mm: f64,
}

impl Charge<'_> {
    /// What a millimetre of it costs.
    pub(super) fn per_mm(&self) -> f64 {
        self.charge_mm / (self.to_mm - self.from_mm)
    }

    /// What it costs up to a place on the tape.
    pub(super) fn to_place_mm(&self, to_mm: f64) -> f64 {
        if to_mm <= self.from_mm {
            0.0
        } else {
            (smaller(self.to_mm, to_mm) - self.from_mm) * self.per_mm()
        }
    }

    /// For a ledger.
    pub(super) fn piece(&self) -> Piece {
        Piece {
            from_mm: self.from_mm,
            to_mm: self.to_mm,
            ground: self.ground.to_owned(),
            rate: self.rate,
            charge_mm: self.charge_mm,
        }
    }
}

/// One leg as it is charged.
#[derive(Debug, Clone, Copy)]
pub(super) struct Charged<'a> {
    pub(super) tape: &'a Path,
    pub(super) motion: &'a Motion,
    /// The unit at the leg's start.
    pub(super) moving: &'a Footprint,
    /// Charge per millimetre of this kind of leg on open ground.
    pub(super) rate: f64,
}

/// Ground that has a say on part of a tape.
struct Cover<'a> {
    spans: Vec<Span>,
    name: &'a str,
    rate: f64,
}

/// The tape of a leg cut by ground; nothing of a tape without length.
pub(super) fn pieces<'a>(
    by: TerrainBy,
    around: &Surroundings<'a>,
    leg: &Charged<'_>,
) -> Vec<Charge<'a>> {
    let length_mm = leg.tape.length_mm();
    if length_mm <= 0.0 {
        return Vec::new();
    }
    let covers = covers(by, around, leg);
    let roads = roads(around, leg.tape);
    if covers.is_empty() && roads.is_empty() {
        return vec![Charge {
            from_mm: 0.0,
            to_mm: length_mm,
            ground: OPEN,
            rate: 1.0,
            charge_mm: length_mm * leg.rate,
        }];
    }
    let mut cuts = vec![0.0, 1.0];
    for span in covers.iter().flat_map(|cover| &cover.spans).chain(&roads) {
        cuts.extend([span.from, span.to]);
    }
    cuts.sort_by(f64::total_cmp);
    let shortest = SHORTEST_MM / length_mm;
    let mut pieces: Vec<Charge<'a>> = Vec::new();
    let mut from = 0.0;
    for &to in cuts.iter().filter(|cut| **cut <= 1.0) {
        if to - from <= shortest {
            continue;
        }
        let (ground, rate) = ground_at(&covers, &roads, (from + to) / 2.0);
        let (from_mm, to_mm) = (from * length_mm, to * length_mm);
        let charge_mm = (to_mm - from_mm) * leg.rate * rate;
        match pieces.last_mut() {
            Some(last) if last.ground == ground && last.rate == rate => {
                last.to_mm = to_mm;
                last.charge_mm += charge_mm;
            }
            _ => pieces.push(Charge {
                from_mm,
                to_mm,
                ground,
                rate,
                charge_mm,
            }),
        }
        from = to;
    }
    pieces
}

/// The ground that decides at a share of the tape: a road, else the patch with the highest rate.
fn ground_at<'a>(covers: &[Cover<'a>], roads: &[Span], share: f64) -> (&'a str, f64) {
    let holds = |span: &Span| span.from <= share && share <= span.to;
    if roads.iter().any(holds) {
        return ("road", 1.0);
    }
    covers
        .iter()
        .filter(|cover| cover.spans.iter().any(holds))
        .map(|cover| (cover.name, cover.rate))
        .reduce(|worst, other| if other.1 > worst.1 { other } else { worst })
        .unwrap_or((OPEN, 1.0))
}

fn covers<'a>(by: TerrainBy, around: &Surroundings<'a>, leg: &Charged<'_>) -> Vec<Cover<'a>> {
    around
        .patches
        .iter()
        .map(|patch| Cover {
            spans: match by {
                TerrainBy::Base => spans_over(leg.moving, leg.motion, &patch.outline),
                TerrainBy::Tape => spans_inside(leg.tape, &patch.outline),
            },
            name: &patch.kind_name,
            rate: patch.kind.rate,
        })
        .filter(|cover| !cover.spans.is_empty())
        .collect()
}

fn roads(around: &Surroundings<'_>, tape: &Path) -> Vec<Span> {
    around
        .roads
        .iter()
        .flat_map(|road| spans_near(tape, &road.course, road.half_width_mm))
        .collect()
}
