//! Declared battles drawn on the table they were measured on: a string for every distance measured, strike zones,
//! what stops a line of sight, and who is left out.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point, distance_mm, larger, separation, smaller};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::referee::zones::strike_zone_mm;
use fieldpost_rules::ruleset::ZoneFront;
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::{apart, tenths};
use fieldpost_rules::verdict::{Amounts, BattleVerdict, Code, Measured, Reason, Ruling};

use super::frame::Part;
use super::labels::{Board, round_a_unit};
use super::pen::{Pen, Trace};
use super::tape_drawing::{dot, figures_style};
use super::{Picture, naming, palette, zones};

/// Battles and what a sheet leaves undone, on the table after its moves.
pub(super) struct Declaration<'a> {
    pub(super) table: &'a Game,
    /// Battles and gun fire, in the sheet's order.
    pub(super) battles: Vec<&'a BattleVerdict>,
    /// Units left out that must attack or be attacked.
    pub(super) duties: Vec<&'a Reason>,
}

/// Figures read off the wire are those measured within this.
const SAME_MM: f64 = 0.011;

impl Declaration<'_> {
    /// Every unit that it is about.
    pub(super) fn units(&self) -> Vec<UnitId> {
        let mut units: Vec<UnitId> = Vec::new();
        for battle in &self.battles {
            let parties = [&battle.attackers, &battle.defenders, &battle.guns];
            units.extend(parties.into_iter().flatten().cloned());
            units.extend(battle.measured.iter().map(|measured| measured.from.clone()));
        }
        for (unit, other, _) in self.left_out() {
            units.push(unit.id.clone());
            units.extend(other.map(|other| other.id.clone()));
        }
        units.sort();
        units.dedup();
        units
    }

    /// The part of the table round everybody it is about.
    pub(super) fn part(&self) -> Option<Part> {
        let units = self.units();
        let grounds = units.iter().filter_map(|unit| self.ground(unit));
        let points: Vec<Point> = grounds.flat_map(|ground| ground.corners()).collect();
        if points.is_empty() {
            return None;
        }
        let bw = self.table.ruleset().scale.base_width_mm;
        let size = &self.table.scenario().table;
        let margin = larger(strike_zone_mm(self.table.ruleset()), bw) + bw;
        Some(Part::around(&points, margin, bw * 9.0, size).widened(1.25, size))
    }

    fn ground(&self, unit: &UnitId) -> Option<Footprint> {
        self.table.unit(unit)?.footprint()
    }

    /// Whether it shows strike zones.
    pub(super) fn has_strike_zones(&self) -> bool {
        let strikes = |battle: &BattleVerdict| !battle.attackers.is_empty();
        self.battles.iter().any(|battle| strikes(battle)) || !self.duties.is_empty()
    }

    /// Strike zones of those who attack and of those who should, and an outline round who is left out.
    pub(super) fn draw_under(&self, pen: &mut Pen, picture: &Picture) {
        let reach = strike_zone_mm(self.table.ruleset());
        let attackers = self.battles.iter().flat_map(|battle| &battle.attackers);
        let mut zoned: Vec<UnitId> = attackers.cloned().collect();
        for (unit, other, code) in self.left_out() {
            let strikes = if code == Code::MustAttack {
                Some(unit)
            } else {
                other
            };
            zoned.extend(strikes.map(|unit| unit.id.clone()));
        }
        zoned.sort();
        zoned.dedup();
        for unit in &zoned {
            let (Some(ground), Some(unit)) = (self.ground(unit), self.table.unit(unit)) else {
                continue;
            };
            strike_zone(pen, picture, &ground, reach, &picture.side(unit).dark);
        }
    }

    /// Strings, blocks and outlines over the units, with their lettering.
    pub(super) fn draw_over(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        for battle in &self.battles {
            self.strings(pen, picture, board, battle);
            self.blocked(pen, picture, board, battle);
        }
        self.draw_left_out(pen, picture, board);
        if self.battles.len() > 1 {
            for battle in &self.battles {
                self.number(picture, board, battle);
            }
        }
    }

    fn strings(&self, pen: &mut Pen, picture: &Picture, board: &mut Board, battle: &BattleVerdict) {
        for measured in &battle.measured {
            let (Some(from), Some(to)) = (self.ground(&measured.from), self.ground(&measured.to))
            else {
                continue;
            };
            let between = separation(&from, &to);
            let ends = (
                picture.frame.at(between.on_first),
                picture.frame.at(between.on_second),
            );
            let is_refused = is_refused(battle, measured);
            let ink = if is_refused {
                palette::REFUSED
            } else {
                palette::ALLOWED
            };
            string(pen, ends, ink, measured.through.is_some() || is_refused);
            block_string(board, ends);
            let shown = apart(measured.distance_mm, measured.limit_mm);
            let through = measured
                .through
                .as_ref()
                .and_then(|unit| self.table.unit(unit));
            let through = through.map_or_else(String::new, |unit| {
                format!(", through {}", picture.mark(unit))
            });
            let text = format!("{} of {} mm{through}", shown.first, shown.second);
            beside(board, ends, &text, ink);
        }
    }

    /// The string of a gun that does not see its target: clear as far as it is, then broken, with what stops it.
    fn blocked(&self, pen: &mut Pen, picture: &Picture, board: &mut Board, battle: &BattleVerdict) {
        let unseen = |reason: &&Reason| reason.code() == Code::NotInSight;
        for reason in battle.reasons.iter().filter(unseen) {
            let Amounts::Millimetres {
                limit: string_mm,
                measured: clear_mm,
            } = reason.amounts()
            else {
                continue;
            };
            let target = reason.other().and_then(|id| self.ground(&UnitId::from(id)));
            let Some((eye, aim)) = target.and_then(|to| self.sighted(battle, &to, string_mm))
            else {
                continue;
            };
            let at = |mm: f64| {
                picture
                    .frame
                    .at(eye.towards(aim, mm / larger(string_mm, 1e-9)))
            };
            let stop = at(smaller(clear_mm, string_mm));
            string(pen, (at(0.0), stop), palette::ALLOWED, false);
            string(pen, (stop, at(string_mm)), palette::REFUSED, true);
            let across = (at(string_mm) - at(0.0))
                .unit()
                .map(|way| way.quarter_right() * 9.0);
            if let Some(across) = across {
                pen.line(stop - across, stop + across)
                    .attr("class", "block")
                    .stroke(palette::REFUSED, 3.4)
                    .attr("stroke-linecap", "round")
                    .done();
            }
            block_string(board, (at(0.0), at(string_mm)));
            let why = reason.remark().map_or_else(String::new, plain);
            let text = format!("{why} after {} mm", tenths(clear_mm));
            let style = figures_style(palette::REFUSED);
            board.place(&text, &style, round_a_unit(&text, &style, &dot(stop, 10.0)));
        }
    }

    /// From which gun, and to which place of the target, the string of a length runs: from the middle of a front to
    /// the nearest place.
    fn sighted(
        &self,
        battle: &BattleVerdict,
        target: &Footprint,
        string_mm: f64,
    ) -> Option<(Point, Point)> {
        let strings = battle.guns.iter().filter_map(|gun| {
            let eye = self.ground(gun)?.anchor();
            let (right, ahead) = target.local(eye);
            let kept = |value: f64, half: f64| larger(smaller(value, half), -half);
            let aim = target.at(
                kept(right, target.half_frontage),
                kept(ahead, target.half_depth),
            );
            Some((eye, aim))
        });
        let mut fitting =
            strings.filter(|(eye, aim)| (eye.distance_to(*aim) - string_mm).abs() < SAME_MM);
        fitting.next()
    }

    /// Who must attack or be attacked and is left out, with the unit that the distance was measured to.
    fn left_out(&self) -> Vec<(&Unit, Option<&Unit>, Code)> {
        let duties = self.duties.iter();
        let found = duties.filter_map(|reason| {
            let unit = self.table.unit(&UnitId::from(reason.other()?))?;
            let ground = unit.footprint()?;
            let Amounts::Millimetres { measured, .. } = reason.amounts() else {
                return None;
            };
            let other = self.table.on_table().find(|other| {
                let apart_mm = other.footprint().map(|other| distance_mm(&ground, &other));
                other.side != unit.side
                    && apart_mm.is_some_and(|apart| (apart - measured).abs() < SAME_MM)
            });
            Some((unit, other, reason.code()))
        });
        found.collect()
    }

    fn draw_left_out(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        let mut measured: Vec<[&UnitId; 2]> = Vec::new();
        for (unit, other, code) in self.left_out() {
            let Some(ground) = unit.footprint() else {
                continue;
            };
            let corners = picture.frame.all(&ground.corners());
            pen.path(&Trace::new().ring(&corners))
                .attr("class", "left-out")
                .hollow(palette::REFUSED, 3.0)
                .dashed("7 4")
                .done();
            // two who should fight each other are both left out, and measured once
            let is_new = other.is_some_and(|other| !measured.contains(&[&other.id, &unit.id]));
            measured.extend(other.map(|other| [&unit.id, &other.id]));
            if let Some(other) = other.filter(|_| is_new).and_then(Unit::footprint) {
                let between = separation(&ground, &other);
                let ends = (
                    picture.frame.at(between.on_first),
                    picture.frame.at(between.on_second),
                );
                string(pen, ends, palette::REFUSED, true);
                block_string(board, ends);
                let text = format!("{} mm", tenths(larger(between.distance_mm, 0.0)));
                beside(board, ends, &text, palette::REFUSED);
            }
            let duty = if code == Code::MustAttack {
                "must attack"
            } else {
                "must be attacked"
            };
            let text = format!("{} {duty}", picture.mark(unit));
            let style = figures_style(palette::REFUSED);
            let around = naming::on_picture(picture, &ground);
            board.place(&text, &style, round_a_unit(&text, &style, &around));
        }
    }

    /// Which battle a defender is in, where there are several.
    fn number(&self, picture: &Picture, board: &mut Board, battle: &BattleVerdict) {
        let Some(ground) = battle.defenders.first().and_then(|unit| self.ground(unit)) else {
            return;
        };
        let column = battle
            .odds
            .as_ref()
            .map_or_else(String::new, |odds| format!(": {}", plain(&odds.column)));
        let text = format!("order {}{column}", battle.order + 1);
        let style = figures_style(palette::INK);
        let around = naming::on_picture(picture, &ground);
        board.place(&text, &style, round_a_unit(&text, &style, &around));
    }
}

/// Whether a distance is one for which a battle is refused.
fn is_refused(battle: &BattleVerdict, measured: &Measured) -> bool {
    battle.reasons.iter().any(|reason| {
        let Amounts::Millimetres { measured: mm, .. } = reason.amounts() else {
            return false;
        };
        let who = match reason.code() {
            Code::GunInZone => &measured.from,
            Code::NotInStrikeZone | Code::OutOfRange => &measured.to,
            _ => return false,
        };
        let is_meant = reason.other() == Some(who.0.as_str());
        let is_measure = (mm - measured.distance_mm).abs() < SAME_MM || measured.through.is_some();
        reason.ruling() == Ruling::Refused && is_meant && is_measure
    })
}

/// The outline of a strike zone.
fn strike_zone(pen: &mut Pen, picture: &Picture, ground: &Footprint, reach: f64, ink: &str) {
    let trace = zones::outline(&picture.frame, ground, reach, ZoneFront::AllRound);
    pen.path(&trace).fill(ink).opacity(0.06).done();
    pen.path(&trace)
        .attr("class", "strike-zone")
        .hollow(ink, 1.2)
        .dashed("2 3")
        .done();
}

/// A string between two places of the picture, with a knot at the first and a head at the second.
pub(super) fn string(pen: &mut Pen, (from, to): (Point, Point), ink: &str, is_broken: bool) {
    pen.line(from, to).stroke("#fffdf4", 5.0).done();
    let line = pen.line(from, to).attr("class", "string").stroke(ink, 2.2);
    if is_broken {
        line.dashed("6 4").done();
    } else {
        line.done();
    }
    pen.circle(from, 3.2).fill(ink).done();
    let Some(way) = (to - from).unit() else {
        return;
    };
    let long = smaller(9.0, from.distance_to(to) * 0.8);
    let across = way.quarter_right() * (long * 0.5);
    pen.path(&Trace::new().ring(&[to, to - way * long + across, to - way * long - across]))
        .fill(ink)
        .done();
}

fn block_string(board: &mut Board, (from, to): (Point, Point)) {
    if let Some(ahead) = (to - from).unit() {
        board.block_labels(Footprint {
            centre: from.towards(to, 0.5),
            ahead,
            half_frontage: 4.0,
            half_depth: from.distance_to(to) / 2.0 + 2.0,
        });
    }
}

/// Letters a figure beside the middle of a string.
fn beside(board: &mut Board, (from, to): (Point, Point), text: &str, ink: &str) {
    let style = figures_style(ink);
    let mut spots = Vec::new();
    for share in [0.5, 0.3, 0.7] {
        for mut spot in round_a_unit(text, &style, &dot(from.towards(to, share), 6.0)) {
            spot.cost += (share - 0.5_f64).abs() * 20.0;
            spots.push(spot);
        }
    }
    board.place(text, &style, spots);
}
