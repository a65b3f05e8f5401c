//! Strength: what both sides of a battle come to, multipliers, column and shifts.

use crate::game::{Game, Shift};
use crate::geometry::{Separation, separation};
use crate::orders::Order;
use crate::verdict::OddsPreview;

use super::parties::Parties;
use super::support::{self, Body, counted_bases};
use super::zones::strike_zone_mm;
use super::{defences, disorder, flanks, odds, sight};

/// A battle's strengths and columns.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Weighed {
    /// Attacking strength, guns included.
    pub attack: f64,
    /// Defending strength after terrain.
    pub defence: f64,
    /// Everything that multiplied or shifted.
    pub shifts: Vec<Shift>,
    /// Column by strength alone.
    pub before: usize,
    /// Column used.
    pub column: usize,
}

/// How the odds of a declared battle stand, supports of the attacked included; `None` for an
/// order that is no battle or whose parties are not on the table.
#[must_use]
pub fn preview(game: &Game, order: &Order) -> Option<OddsPreview> {
    let parties = Parties::named(order)?.with_supports(game, &Default::default());
    preview_of(game, &parties)
}

/// As [`preview`], for parties already known.
pub(crate) fn preview_of(game: &Game, parties: &Parties) -> Option<OddsPreview> {
    let fights = parties.can_fight() && !support::bodies(game, &parties.declared).is_empty();
    fights.then(|| {
        let results = &game.ruleset().results;
        let weighed = weigh(game, parties);
        OddsPreview {
            attack: weighed.attack,
            defence: weighed.defence,
            column_before_shifts: odds::head(results, weighed.before),
            shifts: weighed.shifts.iter().map(in_words).collect(),
            column: odds::head(results, weighed.column),
        }
    })
}

fn in_words(shift: &Shift) -> String {
    match shift.columns {
        0 if shift.factor == 1.0 => shift.why.clone(),
        0 => format!("{}: strength × {}", shift.why, shift.factor),
        columns => format!("{}: {columns:+} column(s)", shift.why),
    }
}

/// Weighs a battle: strengths first, multiplied by terrain; the column they come to; then all
/// shifts together.
pub(crate) fn weigh(game: &Game, parties: &Parties) -> Weighed {
    let sides = Sides::of(game, parties);
    let mut shifts = Vec::new();
    let attack = sides.attack(game, &mut shifts);
    let defence = sides.defence(game, &mut shifts);
    let results = &game.ruleset().results;
    let before = odds::column_for(results, attack, defence);
    sides.list_shifts(game, &mut shifts);
    let sum = shifts
        .iter()
        .fold(0i32, |sum, shift| sum.saturating_add(shift.columns));
    Weighed {
        attack,
        defence,
        shifts,
        before,
        column: odds::shifted(results, before, sum),
    }
}

/// The units of a battle with the ground they cover.
struct Sides<'a> {
    attackers: Vec<Body<'a>>,
    guns: Vec<Body<'a>>,
    /// Those attacked by name first, then those behind them.
    defenders: Vec<Body<'a>>,
    /// How many of the defenders were attacked by name.
    declared: usize,
    fire: bool,
}

impl<'a> Sides<'a> {
    fn of(game: &'a Game, parties: &Parties) -> Self {
        let mut defenders = support::bodies(game, &parties.declared);
        let declared = defenders.len();
        defenders.extend(support::bodies(game, &parties.supports));
        Self {
            attackers: support::bodies(game, &parties.attackers),
            guns: support::bodies(game, &parties.guns),
            defenders,
            declared,
            fire: parties.fire,
        }
    }

    fn attack(&self, game: &Game, shifts: &mut Vec<Shift>) -> f64 {
        let attacks = &game.ruleset().attacks;
        let tolerance_mm = game.ruleset().scale.tolerance_mm;
        let counted = counted_bases(&self.attackers, attacks.depth, tolerance_mm);
        let mut sum = 0.0;
        for ((unit, _), bases) in self.attackers.iter().zip(counted) {
            sum += f64::from(bases) * unit.strength_per_base;
        }
        for gun in &self.guns {
            let mut strength = gun.0.strength();
            let band = self.band_of(game, gun).filter(|band| band.strength != 1.0);
            if let Some(band) = band {
                strength *= band.strength;
                shifts.push(Shift {
                    why: format!("{} fires at strength × {}", gun.0.id, band.strength),
                    columns: 0,
                    factor: 1.0,
                });
            }
            sum += strength;
        }
        sum
    }

    /// The range band of a gun that fires on its own.
    fn band_of(&self, game: &'a Game, gun: &Body<'_>) -> Option<&'a crate::ruleset::RangeBand> {
        let target = self.defenders.first().filter(|_| self.fire)?;
        sight::band(game.ruleset(), gun, target)
    }

    fn defence(&self, game: &Game, shifts: &mut Vec<Shift>) -> f64 {
        let attacks = &game.ruleset().attacks;
        let tolerance_mm = game.ruleset().scale.tolerance_mm;
        let counted = counted_bases(&self.defenders, attacks.depth, tolerance_mm);
        let mut sum = 0.0;
        for (defender, bases) in self.defenders.iter().zip(counted) {
            let (unit, footprint) = defender;
            let mut strength = f64::from(bases) * unit.strength_per_base;
            let ground = defences::of_patches(game, footprint);
            let line = defences::of_lines(game, &self.attacks_on(game, defender));
            for (factor, why) in [
                (
                    ground.factor,
                    format!("{} on {}", unit.id, ground.factor_from),
                ),
                (
                    line.factor,
                    format!("{} behind {}", unit.id, line.factor_from),
                ),
            ] {
                if factor != 1.0 && strength > 0.0 {
                    strength *= factor;
                    shifts.push(Shift {
                        why,
                        columns: 0,
                        factor,
                    });
                }
            }
            sum += strength;
        }
        sum
    }

    /// The nearest places of a defender and of those that attack it directly; of all attackers
    /// when it is reached only through the unit before it. Guns count only when they fight
    /// alone, and then only the last base width of their tape.
    fn attacks_on(&self, game: &Game, defender: &Body<'_>) -> Vec<Separation> {
        let scale = &game.ruleset().scale;
        if self.attackers.is_empty() {
            let near = |gun: &Body<'_>| {
                let nearest = separation(&gun.1, &defender.1);
                defences::last_part(nearest, scale.base_width_mm)
            };
            return self.guns.iter().map(near).collect();
        }
        let all: Vec<Separation> = self
            .attackers
            .iter()
            .map(|(_, attacker)| separation(attacker, &defender.1))
            .collect();
        let limit = strike_zone_mm(game.ruleset()) + scale.tolerance_mm;
        let direct: Vec<Separation> = all
            .iter()
            .filter(|nearest| nearest.distance_mm <= limit)
            .copied()
            .collect();
        if direct.is_empty() { all } else { direct }
    }

    fn list_shifts(&self, game: &Game, shifts: &mut Vec<Shift>) {
        let mut shift = |why: String, columns: i32| {
            if columns != 0 {
                shifts.push(Shift {
                    why,
                    columns,
                    factor: 1.0,
                });
            }
        };
        let (why, columns) = self.weakest(|(_, footprint)| {
            let help = defences::of_patches(game, footprint);
            (help.shift, help.shift_from)
        });
        shift(format!("defended on {why}"), columns);
        let (why, columns) = self.weakest(|defender| {
            let help = defences::of_lines(game, &self.attacks_on(game, defender));
            (help.shift, help.shift_from)
        });
        shift(format!("attacked across {why}"), columns);
        let front = &self.defenders[..self.declared];
        let charging = if self.attackers.is_empty() {
            &self.guns
        } else {
            &self.attackers
        };
        if let Some((why, columns)) = flanks::shift(game, charging, front, self.fire) {
            shift(why, columns);
        }
        let band = self
            .guns
            .iter()
            .filter_map(|gun| self.band_of(game, gun))
            .map(|band| band.shift)
            .min();
        shift("range".to_owned(), band.unwrap_or(0));
        for (why, columns) in disorder::shifts(
            game.ruleset(),
            self.attackers.iter().chain(&self.guns),
            &self.defenders,
        ) {
            shift(why, columns);
        }
    }

    /// The shift that every unit attacked by name enjoys: the one least to their favour, since
    /// a line is as strong as its weakest place. Commanders do not count beside troops.
    fn weakest(&self, of: impl Fn(&Body<'a>) -> (i32, String)) -> (String, i32) {
        let mut weakest: Option<(i32, String)> = None;
        for defender in self.defenders[..self.declared]
            .iter()
            .filter(|(unit, _)| unit.has_strength())
        {
            let help = of(defender);
            if weakest.as_ref().is_none_or(|(shift, _)| help.0 > *shift) {
                weakest = Some(help);
            }
        }
        weakest.map_or((String::new(), 0), |(shift, why)| (why, shift))
    }
}
