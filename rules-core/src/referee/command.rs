//! Who is in command (laws of measurement, §6), judged on the table as its side's turn begins.

use crate::game::{Game, Unit};
use crate::geometry::distance_mm;
use crate::scenario::Command;

/// What was found about a unit's command.
#[derive(Debug, Clone, PartialEq)]
pub struct CommandLink {
    /// Whether it is in command.
    pub in_command: bool,
    /// The commander measured to: the one that commands it, or the nearest that might.
    pub commander: Option<crate::orders::UnitId>,
    /// Distance to that commander, base to base, in millimetres.
    pub distance_mm: f64,
    /// That commander's radius in millimetres.
    pub radius_mm: f64,
}

impl CommandLink {
    fn needs_none() -> Self {
        Self {
            in_command: true,
            commander: None,
            distance_mm: 0.0,
            radius_mm: 0.0,
        }
    }
}

/// The commanders of a side, looked up once for all its units.
#[derive(Debug, Clone)]
pub struct Chain<'a> {
    game: &'a Game,
    /// Whether the side's order of battle has any commander, on the table or not.
    has_commanders: bool,
    /// Those on the table.
    commanders: Vec<&'a Unit>,
}

/// Whether a unit is in command on this table.
#[must_use]
pub fn link(game: &Game, unit: &Unit) -> CommandLink {
    Chain::of(game, unit.side).link(unit)
}

impl<'a> Chain<'a> {
    /// The chain of command of a side, on this table.
    #[must_use]
    pub fn of(game: &'a Game, side: usize) -> Self {
        let all = || {
            game.units()
                .filter(move |unit| unit.side == side && unit.is_commander())
        };
        Self {
            game,
            has_commanders: all().next().is_some(),
            commanders: game
                .on_table()
                .filter(|unit| unit.side == side && unit.command.is_some())
                .collect(),
        }
    }

    /// Whether a unit of the side is in command. Units not on the table yet are; a side whose
    /// order of battle has no commander needs none. A radius is kept like every limit: missing it
    /// by no more than the tolerance is enough.
    #[must_use]
    pub fn link(&self, unit: &Unit) -> CommandLink {
        let law = &self.game.ruleset().command;
        let is_chief = unit.command == Some(Command::Chief);
        if !law.required || !self.has_commanders || is_chief || !unit.is_on_table() {
            return CommandLink::needs_none();
        }
        let chief = self
            .with_place(Command::Chief)
            .filter_map(|chief| measured(self.game, unit, chief));
        let subordinates = self
            .with_place(Command::Subordinate)
            .filter(|_| !unit.is_commander())
            .filter(|commander| unit.under.as_ref().is_none_or(|id| *id == commander.id))
            .filter_map(|commander| {
                let mut found = measured(self.game, unit, commander)?;
                found.in_command &= law.independent_subordinates || self.link(commander).in_command;
                Some(found)
            });
        chief
            .chain(subordinates)
            .reduce(|best, other| {
                if rank(&other) < rank(&best) {
                    other
                } else {
                    best
                }
            })
            .unwrap_or(CommandLink {
                in_command: false,
                ..CommandLink::needs_none()
            })
    }

    fn with_place(&self, place: Command) -> impl Iterator<Item = &'a Unit> + '_ {
        self.commanders
            .iter()
            .copied()
            .filter(move |unit| unit.command == Some(place))
    }
}

/// Links in command first, then by how much of the radius is used.
fn rank(link: &CommandLink) -> (bool, i64) {
    #[expect(clippy::cast_possible_truncation, reason = "ordering only; saturates")]
    let spare_um = ((link.distance_mm - link.radius_mm) * 1000.0) as i64;
    (!link.in_command, spare_um)
}

fn measured(game: &Game, unit: &Unit, commander: &Unit) -> Option<CommandLink> {
    let ruleset = game.ruleset();
    let radius = commander.troop_type(ruleset)?.command_radius?;
    let radius_mm = radius.mm(&ruleset.scale);
    let distance_mm = distance_mm(&unit.footprint()?, &commander.footprint()?);
    Some(CommandLink {
        in_command: distance_mm <= radius_mm + ruleset.scale.tolerance_mm,
        commander: Some(commander.id.clone()),
        distance_mm,
        radius_mm,
    })
}
