//! Battles fought: who went for whom, from where they stood, with the number that the news tell each by.

use fieldpost_rules::game::{BattleReport, Game};
use fieldpost_rules::geometry::{Footprint, Point, separation};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::verdict::rounding::hundredths_text;

use super::declaration::string;
use super::labels::Board;
use super::pen::Pen;
use super::tape_drawing::dot;
use super::{Picture, palette};

/// A battle as it is drawn: the ground that its units covered when it was fought.
#[derive(Debug, Clone, PartialEq)]
pub struct Fight {
    /// Its number in the picture, from 1.
    pub number: usize,
    /// Those who attacked.
    pub attackers: Vec<(UnitId, Footprint)>,
    /// Those who were attacked.
    pub defenders: Vec<(UnitId, Footprint)>,
    /// Guns that bombarded, or fired.
    pub guns: Vec<(UnitId, Footprint)>,
}

impl Fight {
    /// A battle about to be fought on a table.
    #[must_use]
    pub fn of(game: &Game, report: &BattleReport, number: usize) -> Self {
        let standing = |units: &[UnitId]| {
            let grounds = units
                .iter()
                .filter_map(|unit| Some((unit.clone(), game.unit(unit)?.footprint()?)));
            grounds.collect()
        };
        Self {
            number,
            attackers: standing(&report.attackers),
            defenders: standing(&report.defenders),
            guns: standing(&report.guns),
        }
    }

    /// Everybody in it.
    pub fn units(&self) -> impl Iterator<Item = &UnitId> {
        let all = self.attackers.iter().chain(&self.defenders);
        all.chain(&self.guns).map(|(unit, _)| unit)
    }

    /// From each who attacks to the nearest of those attacked, and to each of those that nobody is nearest to: its
    /// two ends on the table, and whether it is gun fire.
    pub(super) fn links(&self) -> Vec<(Point, Point, bool)> {
        let strikers = self.attackers.iter().map(|(_, ground)| (ground, false));
        let guns = self.guns.iter().map(|(_, ground)| (ground, true));
        let strikers: Vec<(&Footprint, bool)> = strikers.chain(guns).collect();
        let mut links: Vec<(usize, usize)> = Vec::new();
        let nearest = |from: &Footprint, all: &mut dyn Iterator<Item = (usize, &Footprint)>| {
            let far =
                |(at, ground): (usize, &Footprint)| (at, separation(from, ground).distance_mm);
            all.map(far)
                .reduce(|best, next| if next.1 < best.1 { next } else { best })
                .map(|(at, _)| at)
        };
        for (striker, (ground, _)) in strikers.iter().enumerate() {
            let mut targets = self.defenders.iter().map(|(_, ground)| ground).enumerate();
            if let Some(target) = nearest(ground, &mut targets) {
                links.push((striker, target));
            }
        }
        for (target, (_, ground)) in self.defenders.iter().enumerate() {
            if links.iter().all(|(_, linked)| *linked != target) {
                let mut all = strikers.iter().map(|(ground, _)| *ground).enumerate();
                links.extend(nearest(ground, &mut all).map(|striker| (striker, target)));
            }
        }
        let drawn = links.into_iter().filter_map(|(striker, target)| {
            let (from, is_fire) = strikers.get(striker)?;
            let (_, to) = self.defenders.get(target)?;
            // from middle to middle: units that touch have no string between their edges
            Some((from.centre, to.centre, *is_fire))
        });
        drawn.collect()
    }
}

/// Half the size of a number's disc, in pixels.
const DISC: f64 = 9.0;

/// Draws the battles over the units, each in a group of its own with its number.
pub(super) fn draw(pen: &mut Pen, picture: &Picture, fights: &[Fight]) {
    for fight in fights {
        pen.group()
            .attr("class", "fight")
            .attr("data-fight", &fight.number.to_string())
            .open();
        for (from, to, is_fire) in fight.links() {
            let ends = (picture.frame.at(from), picture.frame.at(to));
            string(pen, ends, palette::REFUSED, is_fire);
        }
        if let Some(at) = middle(picture, fight) {
            let place = [at.x, at.y].map(hundredths_text).join(" ");
            pen.group()
                .attr("class", "disc")
                .attr("data-at", &place)
                .open();
            pen.circle(at, DISC)
                .fill(palette::REFUSED)
                .stroke("#fffdf4", 1.6)
                .done();
            pen.text(Point::new(at.x, at.y + 4.2), 12.0)
                .fill("#fffdf4")
                .attr("font-weight", "bold")
                .attr("text-anchor", "middle")
                .say(&fight.number.to_string());
            pen.close("g");
        }
        pen.close("g");
    }
}

/// Where a battle's number stands: on the middle of its first link.
fn middle(picture: &Picture, fight: &Fight) -> Option<Point> {
    let links = fight.links();
    let (from, to, _) = links.first()?;
    Some(picture.frame.at(from.towards(*to, 0.5)))
}

/// Keeps letters off the numbers.
pub(super) fn block(board: &mut Board, picture: &Picture, fights: &[Fight]) {
    for fight in fights {
        if let Some(at) = middle(picture, fight) {
            board.block_labels(dot(at, DISC + 1.0));
        }
    }
}
