//! What a leg costs: its tape cut by ground, lines reached (laws of measurement, §4).

use crate::game::GroundLine;
use crate::geometry::{
    Contact, ContactKind, EPS_MM, Footprint, Motion, Path, Side, Span, crossings, smaller,
    spans_inside, spans_near, spans_over,
};
use crate::ruleset::{ChargeLines, Movement, TerrainBy};
use crate::verdict::{LineCharge, Piece};

use super::Surroundings;

/// A tape that would have to pay for a line stops this far short of it, in millimetres.
pub(super) const SHORT_OF_LINE_MM: f64 = 0.01;

/// The charges of one leg's tape. Names are those of the ground: a ledger has its own.
#[derive(Debug, Clone, Default)]
pub(super) struct Charges<'a> {
    pieces: Vec<Charge<'a>>,
    lines: Vec<Reached<'a>>,
}

/// Tape over one kind of ground.
#[derive(Debug, Clone)]
struct Charge<'a> {
    from_mm: f64,
    to_mm: f64,
    ground: &'a str,
    rate: f64,
    charge_mm: f64,
}

/// A line that a tape reaches.
#[derive(Debug, Clone)]
struct Reached<'a> {
    line: &'a str,
    at_mm: f64,
    charge_mm: f64,
    free: Option<&'a str>,
}

/// One leg as it is charged.
#[derive(Debug, Clone, Copy)]
pub(super) struct Charged<'a> {
    pub(super) tape: &'a Path,
    pub(super) motion: &'a Motion,
    /// The moving rectangle at the leg's start.
    pub(super) moving: &'a Footprint,
    /// Charge per millimetre of this kind of leg on open ground.
    pub(super) rate: f64,
}

impl<'a> Charges<'a> {
    /// Pieces and lines of a leg. `astride` holds the places in the ground's list of the lines that the
    /// unit began its move astride.
    pub(super) fn of(
        laws: &Movement,
        around: &Surroundings<'a>,
        leg: &Charged<'_>,
        astride: &[usize],
    ) -> Self {
        let length_mm = leg.tape.length_mm();
        if length_mm <= 0.0 {
            return Self::default();
        }
        let first_base = laws.charge_lines == ChargeLines::FirstBase;
        let astride = if first_base { astride } else { &[] };
        Self {
            pieces: pieces(laws.terrain_by, around, leg, length_mm),
            lines: lines(around, leg.tape, length_mm, astride),
        }
    }

    /// The pieces of the tape, for a ledger.
    pub(super) fn pieces(&self) -> Vec<Piece> {
        let piece = |charge: &Charge<'_>| Piece {
            from_mm: charge.from_mm,
            to_mm: charge.to_mm,
            ground: charge.ground.to_owned(),
            rate: charge.rate,
            charge_mm: charge.charge_mm,
        };
        self.pieces.iter().map(piece).collect()
    }

    /// The lines it reaches, for a ledger.
    pub(super) fn lines(&self) -> Vec<LineCharge> {
        let line = |reached: &Reached<'_>| LineCharge {
            line: reached.line.to_owned(),
            at_mm: reached.at_mm,
            charge_mm: reached.charge_mm,
            free: reached.free.map(str::to_owned),
        };
        self.lines.iter().map(line).collect()
    }

    /// Everything it charges, in millimetres.
    pub(super) fn total_mm(&self) -> f64 {
        let pieces: f64 = self
            .pieces
            .iter()
            .fold(0.0, |sum, piece| sum + piece.charge_mm);
        self.lines
            .iter()
            .fold(pieces, |sum, line| sum + line.charge_mm)
    }

    /// Everything it charges up to a place on the tape, in millimetres.
    pub(super) fn total_to_mm(&self, to_mm: f64) -> f64 {
        let before = self.pieces.iter().take_while(|piece| piece.from_mm < to_mm);
        let pieces: f64 = before.fold(0.0, |sum, piece| {
            let rate = piece.charge_mm / (piece.to_mm - piece.from_mm);
            sum + (smaller(piece.to_mm, to_mm) - piece.from_mm) * rate
        });
        self.lines
            .iter()
            .filter(|line| line.at_mm <= to_mm)
            .fold(pieces, |sum, line| sum + line.charge_mm)
    }

    /// How far along the tape `purse_mm` lasts; `None` when it pays for everything.
    pub(super) fn lasts_to_mm(&self, purse_mm: f64) -> Option<f64> {
        let mut left_mm = purse_mm;
        let mut lines = self
            .lines
            .iter()
            .filter(|line| line.charge_mm > 0.0)
            .peekable();
        for piece in &self.pieces {
            let mut from_mm = piece.from_mm;
            let rate = piece.charge_mm / (piece.to_mm - piece.from_mm);
            while let Some(line) = lines.next_if(|line| line.at_mm <= piece.to_mm + EPS_MM) {
                if let Some(end_mm) = spend(&mut left_mm, rate, from_mm, line.at_mm) {
                    return Some(end_mm);
                }
                from_mm = line.at_mm;
                if line.charge_mm > left_mm + 1e-9 {
                    return Some(crate::geometry::larger(line.at_mm - SHORT_OF_LINE_MM, 0.0));
                }
                left_mm -= line.charge_mm;
            }
            if let Some(end_mm) = spend(&mut left_mm, rate, from_mm, piece.to_mm) {
                return Some(end_mm);
            }
        }
        None
    }
}

/// Pays for tape from one place to another; where the purse runs dry, if it does.
fn spend(left_mm: &mut f64, rate: f64, from_mm: f64, to_mm: f64) -> Option<f64> {
    let charge_mm = (to_mm - from_mm) * rate;
    if charge_mm > *left_mm + 1e-9 {
        return Some(from_mm + crate::geometry::larger(*left_mm, 0.0) / rate);
    }
    *left_mm -= charge_mm;
    None
}

/// Ground that has a say on part of a tape.
struct Cover<'a> {
    spans: Vec<Span>,
    name: &'a str,
    rate: f64,
}

fn pieces<'a>(
    by: TerrainBy,
    around: &Surroundings<'a>,
    leg: &Charged<'_>,
    length_mm: f64,
) -> Vec<Charge<'a>> {
    let covers = covers(by, around, leg);
    let roads = roads(around, leg.tape);
    let mut cuts = vec![0.0, 1.0];
    for span in covers.iter().flat_map(|cover| &cover.spans).chain(&roads) {
        cuts.extend([span.from, span.to]);
    }
    cuts.sort_by(f64::total_cmp);
    let shortest = 1e-9 / length_mm;
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
        .unwrap_or(("open", 1.0))
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

/// Charges of the lines a tape reaches; those in `astride` have been paid for.
fn lines<'a>(
    around: &Surroundings<'a>,
    tape: &Path,
    length_mm: f64,
    astride: &[usize],
) -> Vec<Reached<'a>> {
    let mut charges = Vec::new();
    for &(index, line) in &around.lines {
        if line.charge_mm <= 0.0 {
            continue;
        }
        for contact in crossings(tape, &line.course) {
            if !matches!(contact.kind, ContactKind::Crosses | ContactKind::EndsOn) {
                continue;
            }
            let free = free_because(around, line, &contact).or_else(|| {
                let is_astride = astride.contains(&index);
                is_astride.then_some("begun astride it")
            });
            charges.push(Reached {
                line: &line.name,
                at_mm: smaller(contact.share * length_mm, length_mm),
                charge_mm: if free.is_some() { 0.0 } else { line.charge_mm },
                free,
            });
        }
    }
    charges.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    charges
}

/// Why a contact charges nothing: a bridge, ford, gap or road there, or a slope not climbed.
fn free_because<'a>(
    around: &Surroundings<'a>,
    line: &'a GroundLine,
    contact: &Contact,
) -> Option<&'a str> {
    if line.kind.slope && contact.from_side == Some(Side::Left) {
        return Some("downhill");
    }
    let spans = line.spans.iter();
    let mut here = spans.filter(|span| {
        span.from_mm - EPS_MM <= contact.along_mm && contact.along_mm <= span.to_mm + EPS_MM
    });
    if let Some(span) = here.next() {
        return Some(&span.name);
    }
    around
        .roads
        .iter()
        .find(|road| road.course.distance_mm(contact.at) <= road.half_width_mm + EPS_MM)
        .map(|road| road.name.as_str())
}
