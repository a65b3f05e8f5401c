//! Random tables for the properties: two crowds in each other's reach, many of them touching,
//! nobody overlapping.

use proptest::prelude::*;

use crate::game::{Game, Ground, GroundPatch};
use crate::geometry::{Footprint, Point, overlap_depth_mm, signed_distance_mm};
use crate::orders::{Hand, Instruction, Instructions, Order, TurnSheet, UnitId};
use crate::referee::attacks;
use crate::referee::testing::{
    TABLE_MM, always, block, game, game_on, ground, line, patch, rules, scenario, sheet,
};
use crate::ruleset::{
    Disorder, Distance, Fate, Flanks, LineKind, Outcome, RangeBand, Ruleset, Sight, TerrainKind,
    ZoneFront,
};
use crate::scenario::UnitEntry;

/// One unit that may be placed.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    troops: &'static str,
    files: u16,
    ranks: u16,
    place: (f64, f64),
    bearing_deg: f64,
    /// Stands right behind the unit placed before it, this far off its middle; `None`: anywhere.
    behind_mm: Option<f64>,
    red: bool,
}

/// A rectangle of ground or a line across it: kind, and two opposite corners or ends.
type Drawn = (u8, (f64, f64), (f64, f64));

/// A crowd, the rules it fights by and what its units have been told.
#[derive(Debug, Clone)]
pub(super) struct Crowd {
    candidates: Vec<Candidate>,
    patches: Vec<Drawn>,
    lines: Vec<Drawn>,
    pub(super) rules: Ruleset,
    hands: Vec<Option<Hand>>,
    follow_up: bool,
    seed: u8,
}

fn candidate() -> impl Strategy<Value = Candidate> {
    let troops =
        prop_oneof![4 => Just("foot"), 2 => Just("horse"), 1 => Just("guns"), 1 => Just("general")];
    let bearing = prop_oneof![
        2 => (0..4u8).prop_map(|quarter| f64::from(quarter) * 90.0),
        3 => (0.0..360.0f64).prop_map(|deg| (deg * 1e6).round() / 1e6),
    ];
    let behind =
        prop_oneof![2 => Just(None), 1 => (-40.0..40.0f64).prop_map(Some), 1 => Just(Some(0.0))];
    (
        troops,
        1..4u16,
        1..4u16,
        100.0..600.0f64,
        100.0..600.0f64,
        bearing,
        behind,
        any::<bool>(),
    )
        .prop_map(
            |(troops, files, ranks, x, y, bearing_deg, behind_mm, red)| {
                let commander = troops == "general";
                Candidate {
                    troops,
                    files: if commander { 1 } else { files },
                    ranks: if commander { 1 } else { ranks },
                    place: ((x * 1e3).round() / 1e3, (y * 1e3).round() / 1e3),
                    bearing_deg,
                    behind_mm,
                    red,
                }
            },
        )
}

fn fate() -> impl Strategy<Value = Fate> {
    let back =
        prop_oneof![1 => Just(None), 3 => (0.1..3.0f64).prop_map(|bw| Some(Distance::new(bw)))];
    (back, 0..3u32, prop::bool::weighted(0.1)).prop_map(|(falls_back, loses, eliminated)| Fate {
        falls_back,
        loses,
        eliminated,
    })
}

fn drawn() -> impl Strategy<Value = Vec<Drawn>> {
    let place = || (100.0..600.0f64, 100.0..600.0f64);
    prop::collection::vec((any::<u8>(), place(), place()), 0..3)
}

/// Crowds of up to `most` units under random outcomes and settings.
pub(super) fn crowds(most: usize) -> impl Strategy<Value = Crowd> {
    let settings = (
        any::<bool>(),
        any::<bool>(),
        0.0..90.0f64,
        prop::bool::weighted(0.3),
        any::<bool>(),
    );
    let hand = prop_oneof![Just(None), Just(Some(Hand::Left)), Just(Some(Hand::Right))];
    (
        prop::collection::vec(candidate(), 2..most),
        (fate(), fate(), prop::bool::weighted(0.2)),
        settings,
        (drawn(), drawn()),
        prop::collection::vec(hand, 8),
        any::<bool>(),
        any::<u8>(),
    )
        .prop_map(
            |(
                candidates,
                (attacker, defender, exchange),
                settings,
                (patches, lines),
                hands,
                follow_up,
                seed,
            )| {
                let (pass_friends, ahead, fan, guns_bound, disorder) = settings;
                let mut rules = Ruleset {
                    results: always(Outcome {
                        words: String::new(),
                        attacker,
                        defender,
                        exchange,
                    }),
                    ..rules()
                };
                rules.movement.pass_friends = pass_friends;
                if ahead {
                    rules.zones.zone_front = ZoneFront::Ahead;
                }
                rules.falling_back.fan = fan;
                rules.attacks.guns_excepted = !guns_bound;
                rules.disorder = disorder.then(Disorder::default);
                rules.flanks = disorder.then(Flanks::default);
                rules.sight = Some(Sight {
                    units_block: true,
                    bands: vec![band(3.0, 2.0, 1), band(8.0, 0.5, -1)],
                });
                Crowd {
                    candidates,
                    patches,
                    lines,
                    rules,
                    hands,
                    follow_up,
                    seed,
                }
            },
        )
}

/// Crowds on whole centimetres that face the four quarters, under outcomes of whole quarters of a base
/// width: tables of exact coincidences.
pub(super) fn lattice_crowds(most: usize) -> impl Strategy<Value = Crowd> {
    let fan = prop::sample::select(vec![0.0, 22.5, 45.0, 90.0]);
    (crowds(most), fan).prop_map(|(mut crowd, fan)| {
        let whole = |mm: f64| (mm / 10.0).round() * 10.0;
        let place = |(x, y): (f64, f64)| (whole(x), whole(y));
        for candidate in &mut crowd.candidates {
            candidate.place = place(candidate.place);
            candidate.bearing_deg = (candidate.bearing_deg / 90.0).round() * 90.0 % 360.0;
            candidate.behind_mm = candidate.behind_mm.map(whole);
        }
        for (_, from, to) in crowd.patches.iter_mut().chain(&mut crowd.lines) {
            (*from, *to) = (place(*from), place(*to));
            // a line has a length
            to.0 += if from == to { 10.0 } else { 0.0 };
        }
        let outcomes = crowd.rules.results.outcome.values_mut();
        let fates = outcomes.flat_map(|outcome| [&mut outcome.attacker, &mut outcome.defender]);
        for fate in fates {
            let quarters = |back: Distance| Distance::new((back.amount * 4.0).ceil() / 4.0);
            fate.falls_back = fate.falls_back.map(quarters);
        }
        crowd.rules.falling_back.fan = fan;
        crowd
    })
}

fn band(within: f64, strength: f64, shift: i32) -> RangeBand {
    RangeBand {
        within: Distance::new(within),
        strength,
        shift,
    }
}

/// A table as seen after a movement of the plane.
#[derive(Debug, Clone, Copy)]
pub(super) enum Seen {
    AsIs,
    Shifted(f64, f64),
    QuarterTurned,
    Mirrored,
}

impl Seen {
    pub(super) fn place(self, (x, y): (f64, f64), bearing: f64) -> (f64, f64, f64) {
        match self {
            Self::AsIs => (x, y, bearing),
            Self::Shifted(east, north) => (x + east, y + north, bearing),
            Self::QuarterTurned => (y, TABLE_MM - x, (bearing + 90.0) % 360.0),
            Self::Mirrored => (TABLE_MM - x, y, (360.0 - bearing) % 360.0),
        }
    }

    pub(super) fn hand(self, hand: Hand) -> Hand {
        match self {
            Self::Mirrored => hand.other(),
            Self::AsIs | Self::Shifted(..) | Self::QuarterTurned => hand,
        }
    }
}

/// A patch of one of four kinds between two opposite corners.
fn rectangle(kind: u8, one: (f64, f64), other: (f64, f64)) -> GroundPatch {
    let kind = TerrainKind {
        impassable: kind.is_multiple_of(4),
        high: kind % 4 == 1,
        blocks_sight: kind % 4 == 2,
        defence: 1.0 + f64::from(kind % 4) / 2.0,
        shift: -i32::from(kind % 3),
        ..TerrainKind::default()
    };
    let (west, east) = sorted(one.0, other.0);
    let (south, north) = sorted(one.1, other.1);
    patch(
        "Patch",
        kind,
        (west - 1.0, south - 1.0),
        (east + 1.0, north + 1.0),
    )
}

/// A wall, a hedge that blocks sight, or a slope edge.
fn line_kind(kind: u8) -> LineKind {
    LineKind {
        slope: kind.is_multiple_of(3),
        blocks_sight: kind % 3 == 1,
        shift: -i32::from(kind % 2) - 1,
        defence: 1.0 + f64::from(kind % 3) / 2.0,
        ..LineKind::default()
    }
}

fn sorted(a: f64, b: f64) -> (f64, f64) {
    if a < b { (a, b) } else { (b, a) }
}

impl Crowd {
    /// The units that find room, in order.
    pub(super) fn units(&self) -> Vec<UnitEntry> {
        let mut placed: Vec<(UnitEntry, Footprint)> = Vec::new();
        for (index, candidate) in self.candidates.iter().enumerate() {
            let front = placed
                .last()
                .map(|(entry, footprint)| (entry.clone(), *footprint));
            let (at, red) = match (candidate.behind_mm, front) {
                (Some(off_mm), Some((entry, footprint))) => {
                    let rear = footprint.at(off_mm, -footprint.half_depth);
                    let bearing = entry.at.map_or(0.0, |at| at[2]);
                    ((rear.x, rear.y, bearing), entry.side == "red")
                }
                _ => (
                    (candidate.place.0, candidate.place.1, candidate.bearing_deg),
                    candidate.red,
                ),
            };
            let id = format!("{}{index}", if red { 'r' } else { 'b' });
            let entry = block(
                &id,
                candidate.troops,
                (candidate.files, candidate.ranks),
                at,
            );
            let trial = game(rules(), vec![entry.clone()]);
            let Some(footprint) = trial
                .on_table()
                .next()
                .and_then(crate::game::Unit::footprint)
            else {
                continue;
            };
            let room = placed
                .iter()
                .all(|(_, other)| signed_distance_mm(&footprint, other) >= -0.002);
            let inside = trial.ground().table.margin_mm(&footprint) >= 0.0;
            if room && inside {
                placed.push((entry, footprint));
            }
        }
        placed.into_iter().map(|(entry, _)| entry).collect()
    }

    /// The table at the start.
    pub(super) fn game(&self, seen: Seen) -> Game {
        let units = self
            .units()
            .into_iter()
            .map(|mut entry| {
                entry.at = entry.at.map(|[x, y, bearing]| {
                    // the stored pose is what is moved, so that it moves exactly
                    let pose = crate::geometry::Pose::from_mm_deg(x, y, bearing).expect("a pose");
                    let (x, y, bearing) =
                        seen.place((pose.x_mm(), pose.y_mm()), pose.bearing_deg());
                    [x, y, bearing]
                });
                entry
            })
            .collect();
        game_on(self.rules.clone(), scenario(units), self.ground(seen))
    }

    /// The patches and lines, as seen; impassable ones only where nobody starts on them.
    fn ground(&self, seen: Seen) -> Ground {
        let moved = |place| {
            let (x, y, _) = seen.place(place, 0.0);
            (x, y)
        };
        let bare = game(self.rules.clone(), self.units());
        let is_free = |(kind, one, other): &Drawn| {
            let patch = rectangle(*kind, *one, *other);
            !patch.kind.impassable
                || bare
                    .on_table()
                    .filter_map(crate::game::Unit::footprint)
                    .all(|footprint| overlap_depth_mm(&footprint, &patch.outline) <= 0.0)
        };
        let patches = self.patches.iter().filter(|drawn| is_free(drawn));
        let is_mirrored = matches!(seen, Seen::Mirrored);
        let lines = self.lines.iter().map(|(kind, from, to)| {
            let (from, to) = (moved(*from), moved(*to));
            let length = (from.0 - to.0).abs() + (from.1 - to.1).abs();
            // in a mirror a line drawn the other way has its left where it was
            let (gap, points) = if is_mirrored {
                let whole = Point::new(from.0, from.1).distance_to(Point::new(to.0, to.1));
                ((whole - length / 3.0, whole - length / 4.0), [to, from])
            } else {
                ((length / 4.0, length / 3.0), [from, to])
            };
            line("Line", line_kind(*kind), &points, &[gap])
        });
        ground(
            patches
                .map(|(kind, one, other)| rectangle(*kind, moved(*one), moved(*other)))
                .collect(),
            lines.collect(),
        )
    }

    fn hand(&self, unit: usize, seen: Seen) -> Option<Hand> {
        let hand = self.hands.get(unit % self.hands.len()).copied().flatten();
        // without a wish the right comes first; as seen in a mirror that is the left
        Some(seen.hand(hand.unwrap_or(Hand::Right)))
    }

    /// A legal declaration, with every unit's wishes.
    pub(super) fn sheet(&self, seen: Seen) -> Option<TurnSheet> {
        let game = self.game(Seen::AsIs);
        let mut orders = attacks::completion(&game, &sheet(vec![]))?;
        for order in &mut orders {
            if let Order::Battle {
                attackers,
                follow_up,
                ..
            } = order
            {
                *follow_up = attackers.first().filter(|_| self.follow_up).cloned();
            }
        }
        for (index, unit) in game.on_table().enumerate() {
            if let (0, Some(side)) = (unit.side, self.hand(index, seen)) {
                orders.push(Order::GiveWay {
                    unit: unit.id.clone(),
                    side,
                });
            }
        }
        Some(sheet(orders))
    }

    /// What blue's units have been told.
    pub(super) fn standing(&self, seen: Seen) -> Instructions {
        let game = self.game(Seen::AsIs);
        let told = |(index, id): (usize, UnitId)| {
            let instruction = Instruction {
                follow_up: self.follow_up,
                give_way: self.hand(index, seen),
            };
            (id, instruction)
        };
        let ids = game.on_table().map(|unit| unit.id.clone());
        Instructions {
            units: ids.enumerate().map(told).collect(),
            ..Instructions::default()
        }
    }

    /// The same crowd on ground with woods only, or on none.
    pub(super) fn on_plain_ground(&self, with_woods: bool) -> Self {
        let wood = |&(_, one, other): &Drawn| (2, one, other);
        let woods = self.patches.iter().filter(|_| with_woods).map(wood);
        Self {
            patches: woods.collect(),
            lines: Vec::new(),
            ..self.clone()
        }
    }

    pub(super) fn seed(&self) -> u8 {
        self.seed
    }
}

/// Shortest distance of two footprints by points along their outlines, about 0.5 mm too large
/// at most: a judge independent of the geometry's closed forms. Meaningless when they overlap.
pub(super) fn sampled_distance_mm(one: &Footprint, other: &Footprint) -> f64 {
    let outline = |footprint: &Footprint| -> Vec<Point> {
        let corners = footprint.corners();
        (0..4)
            .flat_map(|side| {
                let (from, to) = (corners[side], corners[(side + 1) % 4]);
                let steps = (from.distance_to(to) / 1.0).ceil();
                let count = 0..=(steps as u32);
                count.map(move |step| from.towards(to, f64::from(step) / steps))
            })
            .collect()
    };
    let theirs = outline(other);
    outline(one)
        .iter()
        .flat_map(|a| theirs.iter().map(move |b| (*b - *a).length()))
        .fold(f64::INFINITY, |least, distance| {
            if distance < least { distance } else { least }
        })
}
