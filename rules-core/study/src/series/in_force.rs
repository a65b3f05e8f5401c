//! Which laws a ruleset and a scenario have at all: only of those is it news that they never came to bear.

use fieldpost_rules::game::Battlefield;
use fieldpost_rules::ruleset::{Arm, Fate, LineKind, TerrainKind, TroopType};

use super::laws::Law;

impl Law {
    /// Whether the rules have the law and the scenario has what it is about. A law that is in may still be one that nobody has
    /// a use for; one that is not can never come to bear.
    #[must_use]
    pub fn is_in(self, field: &Battlefield) -> bool {
        let (rules, scenario) = (&field.ruleset, &field.scenario);
        let scale = &rules.scale;
        match self {
            Self::Moves | Self::Battles | Self::Lapsed => true,
            Self::BegunInZone | Self::HaltZoneMet => rules.zones.halt_zone.mm(scale) > 0.0,
            Self::SlowGround => patches(field).any(|kind| kind.rate > 1.0),
            Self::Roads => !scenario.road.is_empty(),
            Self::LinesCharged => lines(field).any(|kind| kind.charge.mm(scale) > 0.0),
            Self::LinesFree => !scenario.line.is_empty(),
            Self::Marginal => scale.tolerance_mm > 0.0,
            Self::MovedOutOfCommand => rules.command.required,
            Self::Arrivals => scenario.unit.iter().any(|unit| unit.arrives.is_some()),
            Self::Withdrawals => rules.withdrawal.is_some(),
            Self::Exits => !scenario.exit.is_empty(),
            Self::Bombardments => troops(field).any(|troops| {
                let range = troops.bombard_range.as_ref();
                let range = range.unwrap_or(&rules.attacks.bombard_range);
                troops.arm == Arm::Guns && range.mm(scale) > 0.0
            }),
            Self::GunFire => rules.sight.is_some() && has_guns(field),
            // a bombardment may need a string clear of friends without that law
            Self::OutOfSight => {
                (rules.sight.is_some() || !rules.attacks.bombard_over_friends) && has_guns(field)
            }
            Self::Multiplied => {
                patches(field).any(|kind| kind.defence != 1.0)
                    || lines(field).any(|kind| kind.defence != 1.0)
            }
            Self::Shifted => is_shifting(field),
            Self::FallsBack
            | Self::FanUsed
            | Self::Pushes
            | Self::Surrounded
            | Self::NoWayOpen
            | Self::OffTable => {
                let falls = fates(field).any(|fate| fate.falls_back.is_some());
                falls && (self != Self::FanUsed || rules.falling_back.fan > 0.0)
            }
            Self::FollowsUp => rules.falling_back.follow_up.mm(scale) > 0.0,
            Self::Disordered | Self::Recovered => rules.disorder.is_some(),
            Self::LastBase => {
                let takes = rules.results.outcome.values().any(|one| one.exchange);
                takes || fates(field).any(|fate| fate.loses > 0)
            }
            Self::Eliminated => fates(field).any(|fate| fate.eliminated),
            Self::CommandersLost => troops(field).any(|troops| troops.arm == Arm::Commander),
            Self::ArmiesBroken => rules.breaking.is_some(),
        }
    }
}

fn has_guns(field: &Battlefield) -> bool {
    troops(field).any(|troops| troops.arm == Arm::Guns)
}

/// Whether anything may shift a column: ground or lines of the scenario, flanks, disorder, a range band.
fn is_shifting(field: &Battlefield) -> bool {
    let rules = &field.ruleset;
    let flanks = rules.flanks.as_ref();
    let disorder = rules.disorder.as_ref();
    let mut bands = rules.sight.iter().flat_map(|sight| &sight.bands);
    patches(field).any(|kind| kind.shift != 0)
        || lines(field).any(|kind| kind.shift != 0)
        || flanks.is_some_and(|law| law.flank_shift != 0 || law.rear_shift != 0)
        || disorder.is_some_and(|law| law.shift != 0)
        || bands.any(|band| band.shift != 0)
}

/// The kinds of the scenario's patches.
fn patches(field: &Battlefield) -> impl Iterator<Item = &TerrainKind> {
    let patches = field.scenario.terrain.iter();
    patches.filter_map(|patch| field.ruleset.terrain.get(&patch.kind))
}

/// The kinds of the scenario's lines.
fn lines(field: &Battlefield) -> impl Iterator<Item = &LineKind> {
    let lines = field.scenario.line.iter();
    lines.filter_map(|line| field.ruleset.lines.get(&line.kind))
}

/// The troops of the scenario's units.
fn troops(field: &Battlefield) -> impl Iterator<Item = &TroopType> {
    let units = field.scenario.unit.iter();
    units.filter_map(|unit| field.ruleset.troops.get(&unit.troops))
}

/// What may befall a side by the results table.
fn fates(field: &Battlefield) -> impl Iterator<Item = &Fate> {
    let outcomes = field.ruleset.results.outcome.values();
    outcomes.flat_map(|outcome| [&outcome.attacker, &outcome.defender])
}
