//! What the points of a unit that count do at a line during one leg: contacts, how long they stay near, when the unit is
//! clear of it.

use crate::game::GroundLine;
use crate::geometry::{
    Contact, Footprint, Motion, Path, Span, crossings, gaps, least, spans_closer, spans_near_line,
};

use super::slack::{ARITHMETIC_MM, STORED_MM};

/// A point of a unit whose way over the ground counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tracked {
    /// The midpoint of its front edge: its tape in a straight leg, carried along by the others.
    Anchor,
    /// The outer front corner: its tape in a wheel.
    Corner,
}

impl Tracked {
    /// Both, in the order in which they are numbered.
    pub(super) const BOTH: [Self; 2] = [Self::Anchor, Self::Corner];
}

/// One leg that sweeps, as lines see it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Swept<'a> {
    /// Number of the leg.
    pub(super) number: usize,
    /// Length of its tape in millimetres.
    pub(super) length_mm: f64,
    pub(super) moving: &'a Footprint,
    pub(super) motion: &'a Motion,
    /// The outer corner's way, in a wheel.
    pub(super) corner: Option<Path>,
}

impl Swept<'_> {
    /// The ways of the points that count.
    pub(super) fn tracks(&self) -> impl Iterator<Item = (Tracked, Path)> {
        let anchor = self.motion.track_of(self.moving.anchor());
        let corner = self.corner.map(|corner| (Tracked::Corner, corner));
        [(Tracked::Anchor, anchor)].into_iter().chain(corner)
    }

    /// The way of one of them.
    pub(super) fn track(&self, tracked: Tracked) -> Option<Path> {
        self.tracks()
            .find(|(which, _)| *which == tracked)
            .map(|(_, track)| track)
    }
}

/// A leg beside one line.
#[derive(Debug, Clone, Default)]
pub(super) struct Beside {
    /// Contacts of both points, in the order of the leg.
    pub(super) contacts: Vec<(Tracked, Contact)>,
    /// Parts of the leg in which the unit is wholly clear of the line.
    clear: Vec<Span>,
}

impl Beside {
    /// The contacts of a leg with a line.
    pub(super) fn of(leg: &Swept<'_>, line: &GroundLine) -> Self {
        let mut contacts: Vec<(Tracked, Contact)> = leg
            .tracks()
            .flat_map(|(tracked, track)| {
                let met = crossings(&track, &line.course);
                met.into_iter().map(move |contact| (tracked, contact))
            })
            .collect();
        contacts.sort_by(|a, b| a.1.share.total_cmp(&b.1.share));
        Self {
            contacts,
            clear: Vec::new(),
        }
    }

    /// Works out when the unit is clear of the line.
    pub(super) fn find_clear(&mut self, leg: &Swept<'_>, line: &GroundLine) {
        let near = spans_near_line(leg.moving, leg.motion, &line.course, STORED_MM);
        self.clear = gaps(&near);
    }

    /// Whether the unit is clear of the line at some instant between two shares.
    pub(super) fn is_clear_between(&self, from: f64, to: f64) -> bool {
        self.clear
            .iter()
            .any(|span| span.from < to && span.to > from)
    }
}

/// The share up to which a track that is near a line at `share` stays within `tolerance_mm` of it.
pub(super) fn stays_near_to(track: &Path, line: &GroundLine, share: f64, tolerance_mm: f64) -> f64 {
    spans_closer(track, &line.course, tolerance_mm + ARITHMETIC_MM)
        .into_iter()
        .find(|span| span.holds(share))
        .map_or(share, |span| span.to)
}

/// The farthest that a track is from a line between two shares, in millimetres.
pub(super) fn farthest_mm(track: &Path, line: &GroundLine, from: f64, to: f64) -> f64 {
    let nearer = |share: f64| -line.course.distance_mm(track.at(share));
    -least(nearer, from, to).1
}
