//! One leg beside one line: what its tape comes upon, goes on from, comes back over.

use crate::game::GroundLine;
use crate::geometry::{Contact, Point, Side, larger, smaller};
use crate::verdict::rounding::amount;

use super::Surroundings;
use super::contacts::{Beside, Swept, Tracked, farthest_mm, stays_near_to};
use super::marks::{Arrival, Mark, Passed, Settling, Upon};
use super::purse::Spot;
use super::slack::{OFF_LINE_MM, SHORT_OF_LINE_MM};

/// A leg being followed beside a line.
pub(super) struct Following<'a, 'r> {
    pub(super) around: &'r Surroundings<'a>,
    pub(super) line: &'a GroundLine,
    pub(super) leg: &'r Swept<'r>,
    pub(super) beside: &'r Beside,
    pub(super) settling: Settling<'a, 'r>,
    pub(super) tolerance_mm: f64,
    /// Where the points were as the leg before ended, if their tape goes on.
    pub(super) ends: [Option<Point>; 2],
}

/// Since when and until when what a point has passed is still near, in shares of the leg.
#[derive(Debug, Clone, Copy, Default)]
struct Near {
    from: f64,
    to: f64,
}

impl Following<'_, '_> {
    /// Follows the whole leg.
    pub(super) fn all(&mut self, mark: &mut Mark) {
        let mut near = [Near::default(); 2];
        for point in Tracked::BOTH {
            self.begin(mark, point, &mut near[point as usize]);
        }
        let mut at = 0.0;
        for (point, contact) in &self.beside.contacts {
            self.pass_time(mark, at, contact.share);
            at = contact.share;
            for other in Tracked::BOTH {
                if near[other as usize].to < at {
                    self.settling.passed(mark, other);
                }
            }
            self.meet(mark, *point, contact, &mut near[*point as usize]);
        }
        self.pass_time(mark, at, 1.0);
        for point in Tracked::BOTH {
            if near[point as usize].to < 1.0 {
                self.settling.passed(mark, point);
            } else {
                self.note_farthest(mark, point, near[point as usize].from, 1.0);
            }
        }
    }

    /// The tolerance is for tapes: an anchor that is carried along has none.
    fn tolerance_of(&self, point: Tracked) -> f64 {
        match (point, self.leg.corner) {
            (Tracked::Anchor, Some(_)) => 0.0,
            _ => self.tolerance_mm,
        }
    }

    /// Takes up what is open from the leg before. A stored pose is not quite where that leg ended, so what was upon the
    /// line may be just off it.
    fn begin(&mut self, mark: &mut Mark, point: Tracked, near: &mut Near) {
        let Some(track) = self.leg.track(point) else {
            return;
        };
        if mark.at(point).passed.is_some() {
            near.to = stays_near_to(&track, self.line, 0.0, self.tolerance_of(point));
        }
        let starts_on = self
            .beside
            .contacts
            .iter()
            .any(|(which, contact)| *which == point && contact.near.from <= 0.0);
        if starts_on {
            return;
        }
        if let Some(Upon::Came(arrival)) = mark.at(point).upon.take() {
            let to = self.line.course.side_of(track.start());
            self.go_on(mark, point, arrival, to, (0.0, near));
        }
    }

    /// The unit has been clear of the line at some instant between two shares, or not.
    fn pass_time(&self, mark: &mut Mark, from: f64, to: f64) {
        if self.beside.is_clear_between(from, to) {
            mark.clear();
        }
    }

    fn meet(&mut self, mark: &mut Mark, point: Tracked, contact: &Contact, near: &mut Near) {
        let upon = self.upon(mark, point, contact);
        if contact.near.to >= 1.0 {
            mark.at(point).upon = Some(upon);
        } else if let Upon::Came(arrival) = upon {
            let goes_on = (contact.leaves_share, near);
            self.go_on(mark, point, arrival, contact.to_side, goes_on);
        }
    }

    /// How the point came upon the line.
    fn upon(&self, mark: &mut Mark, point: Tracked, contact: &Contact) -> Upon {
        let starts_on = contact.near.from <= 0.0;
        let known = mark.at(point).upon.take().filter(|_| starts_on);
        known.unwrap_or_else(|| {
            let ended = self.ends[point as usize].filter(|_| starts_on);
            let from = match ended {
                Some(end) => self.line.course.side_of(end),
                None => contact.from_side,
            };
            from.map_or(Upon::Began, |from| {
                Upon::Came(self.arrival(mark, point, contact, from))
            })
        })
    }

    fn arrival(&self, mark: &Mark, point: Tracked, contact: &Contact, from: Side) -> Arrival {
        let length_mm = self.leg.length_mm;
        let track = self.leg.track(point);
        let own_mm = track.map_or(length_mm, |track| track.length_mm());
        let short = smaller(
            contact.share - SHORT_OF_LINE_MM / length_mm,
            contact.near.from - OFF_LINE_MM / own_mm,
        );
        let spot = Spot {
            leg: self.leg.number,
            along_mm: smaller(contact.share, 1.0) * length_mm,
        };
        let short_mm = larger(short, 0.0) * length_mm;
        let reached = (spot, short_mm);
        mark.arrival(
            self.around,
            self.line,
            (contact, from),
            reached,
            self.tolerance_mm,
        )
    }

    /// The point goes on from the line, at a share of the leg.
    fn go_on(
        &mut self,
        mark: &mut Mark,
        point: Tracked,
        arrival: Arrival,
        to: Option<Side>,
        (share, near): (f64, &mut Near),
    ) {
        let Some(to) = to.filter(|to| *to != arrival.from) else {
            return;
        };
        let passed = mark.at(point).passed.as_ref().map(|passed| passed.to);
        if passed == Some(arrival.from) {
            self.come_back(mark, point, near.from, share);
            return;
        }
        self.settling.passed(mark, point);
        if self.tolerance_of(point) <= 0.0 {
            self.settling.pay(mark, point, arrival);
            return;
        }
        if let Some(track) = self.leg.track(point) {
            near.from = share;
            near.to = stays_near_to(&track, self.line, share, self.tolerance_of(point));
        }
        mark.at(point).passed = Some(Passed {
            arrival,
            to,
            farthest_mm: 0.0,
        });
    }

    /// What was passed by no more than the tolerance is come back over.
    fn come_back(&mut self, mark: &mut Mark, point: Tracked, from: f64, to: f64) {
        self.note_farthest(mark, point, from, to);
        if let Some(passed) = mark.at(point).passed.take() {
            let figure = amount(passed.farthest_mm);
            let why = format!("passed by {figure} mm and come back over");
            self.settling.excuse(&passed, why);
        }
    }

    fn note_farthest(&self, mark: &mut Mark, point: Tracked, from: f64, to: f64) {
        let passed = mark.at(point).passed.as_mut();
        if let Some((passed, track)) = passed.zip(self.leg.track(point)) {
            let far_mm = farthest_mm(&track, self.line, from, to);
            passed.farthest_mm = larger(passed.farthest_mm, far_mm);
        }
    }
}
