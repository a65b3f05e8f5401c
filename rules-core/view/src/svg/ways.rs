//! What changed: where units stood, and the ways by which they came to where they stand.

use std::collections::BTreeMap;

use fieldpost_rules::game::{Event, Game, Unit};
use fieldpost_rules::geometry::{Footprint, Placement};
use fieldpost_rules::orders::{TurnSheet, UnitId};
use fieldpost_rules::referee::table_after_moves;
use fieldpost_rules::verdict::SheetVerdict;

use super::tape::{LegTrack, tracks};

/// Where a unit stood before, and how it came away.
#[derive(Debug, Clone, PartialEq)]
pub struct Ghost {
    /// Who.
    pub unit: UnitId,
    /// Index of its side.
    pub side: usize,
    /// The ground it covered; absent for a unit that came onto the table.
    pub was: Option<Footprint>,
    /// Its ways since, in order.
    pub(super) ways: Vec<Way>,
}

/// One stretch of a unit's way.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Way {
    /// An ordered move: every leg with its tape.
    Ordered(Vec<LegTrack>),
    /// Pushed back, following up, or set there by the umpire: nothing was charged along it.
    Shifted {
        /// Where it began.
        from: Footprint,
        /// Where it ended.
        to: Footprint,
    },
}

impl Ghost {
    /// Every tape of its ordered moves.
    pub(super) fn tapes(&self) -> impl Iterator<Item = &LegTrack> {
        self.ways.iter().flat_map(|way| match way {
            Way::Ordered(legs) => legs.as_slice(),
            Way::Shifted { .. } => &[],
        })
    }

    /// Where it stood one after another, from where it began, each with the millimetres of tape it came by: between
    /// two of them it goes as a rigid body goes, straight or about one point.
    pub(super) fn stations(&self) -> Vec<(Placement, f64)> {
        let mut found = Vec::new();
        for way in &self.ways {
            match way {
                Way::Ordered(legs) => {
                    if let Some(first) = legs.first() {
                        found.push((first.from, 0.0));
                    }
                    found.extend(legs.iter().map(|leg| (leg.to, leg.tape_mm)));
                }
                Way::Shifted { from, to } => {
                    let placed = |ground: &Footprint| Placement {
                        anchor: ground.anchor(),
                        ahead: ground.ahead,
                    };
                    let mm = from.anchor().distance_to(to.anchor());
                    found.extend([(placed(from), 0.0), (placed(to), mm)]);
                }
            }
        }
        found
    }
}

/// What some events changed on a table: a ghost for every unit that stood elsewhere before them, came or went.
#[must_use]
pub fn changes<'a>(before: &Game, events: impl IntoIterator<Item = &'a Event>) -> Vec<Ghost> {
    let mut game = before.clone();
    let mut changes = Changes::default();
    for event in events {
        let stood = standing(&game);
        if let Event::SheetAccepted { verdict, .. } = event {
            changes.ordered(&game, verdict);
        }
        game.apply(event);
        let is_move = matches!(event, Event::SheetAccepted { .. } | Event::Arrived { .. });
        if !is_move {
            changes.shifted(&stood, &game);
        }
    }
    changes.ghosts(before, &game)
}

/// What a judged sheet's moves change, as far as each is legal.
#[must_use]
pub fn moves(before: &Game, sheet: &TurnSheet, verdict: &SheetVerdict) -> Vec<Ghost> {
    let mut changes = Changes::default();
    changes.ordered(before, verdict);
    changes.ghosts(before, &table_after_moves(before, sheet, verdict))
}

fn standing(game: &Game) -> BTreeMap<UnitId, Footprint> {
    game.on_table()
        .filter_map(|unit| Some((unit.id.clone(), unit.footprint()?)))
        .collect()
}

#[derive(Default)]
struct Changes {
    ways: BTreeMap<UnitId, Vec<Way>>,
}

impl Changes {
    fn ordered(&mut self, game: &Game, verdict: &SheetVerdict) {
        for moved in &verdict.moves {
            let (Some(unit), Some(start)) = (game.unit(&moved.unit), &moved.start) else {
                continue;
            };
            let legs = tracks(unit, start, moved);
            if !legs.is_empty() {
                let ways = self.ways.entry(unit.id.clone()).or_default();
                ways.push(Way::Ordered(legs));
            }
        }
    }

    fn shifted(&mut self, stood: &BTreeMap<UnitId, Footprint>, game: &Game) {
        for (id, from) in stood {
            let stands = game.unit(id).and_then(Unit::footprint);
            // who loses a rank covers less ground, and goes nowhere
            let Some(to) = stands.filter(|to| to.anchor() != from.anchor()) else {
                continue;
            };
            let ways = self.ways.entry(id.clone()).or_default();
            ways.push(Way::Shifted { from: *from, to });
        }
    }

    fn ghosts(mut self, before: &Game, after: &Game) -> Vec<Ghost> {
        let stands = |unit: &Unit| after.unit(&unit.id).and_then(Unit::footprint);
        let mut found = Vec::new();
        for unit in before.units() {
            let (was, is) = (unit.footprint(), stands(unit));
            let ways = self.ways.remove(&unit.id).unwrap_or_default();
            // a move that came back to where it began was a move
            if was != is || !ways.is_empty() {
                found.push(Ghost {
                    unit: unit.id.clone(),
                    side: unit.side,
                    was,
                    ways,
                });
            }
        }
        found
    }
}
