//! What a series of battles comes to.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::{Mean, Share};
use fieldpost_rules::game::Battlefield;
use fieldpost_rules::referee::victory::Manner;
use fieldpost_rules::verdict::Code;

use super::laws::Law;
use super::{Fought, Stuck};

/// A series of battles, summed up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// The scenario's name.
    pub scenario: String,
    /// The ruleset's name.
    pub ruleset: String,
    /// The seed of the series.
    pub seed: u64,
    /// Battles fought to their end.
    pub battles: u64,
    /// Battles that stuck because a commander found no sheet; they count nowhere else.
    pub stuck: Vec<Stuck>,
    /// Game turns that the scenario allows.
    pub game_turns_most: u32,
    /// The two sides in the scenario's order.
    pub sides: [SideReport; 2],
    /// Draws.
    pub draws: Share,
    /// Of the battles that somebody won, those that the first side did.
    pub first_of_decided: Share,
    /// Of the battles that somebody won, those that the side which moved first did.
    pub first_mover: Share,
    /// Battles in which the first side moved first.
    pub first_side_began: u64,
    /// Length of a battle in game turns, a begun one counted whole.
    pub game_turns: Mean,
    /// How battles ended.
    pub endings: Vec<Ended>,
    /// How often each law came to bear, of those that the rules and the scenario have.
    pub laws: Vec<LawUse>,
    /// Battles by the column of the results table, from the defender's best on.
    pub columns: Vec<Tallied>,
    /// Battles by their outcome, the most frequent first.
    pub outcomes: Vec<Tallied>,
    /// Orders that the commanders thought of and the referee would have refused, by their headlines.
    pub refused: BTreeMap<Code, u64>,
}

/// One side over a series.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideReport {
    /// Its key.
    pub side: String,
    /// Its name.
    pub name: String,
    /// Battles it won.
    pub wins: Share,
    /// Its points at the end.
    pub points: Mean,
    /// Share of its strength that it lost.
    pub strength_lost: Mean,
    /// Bases it lost.
    pub bases_lost: Mean,
    /// Units it lost.
    pub units_lost: Mean,
    /// Unit-turns begun out of command. They hang together within a battle, so that the interval of a share of
    /// independent trials would be too narrow: this is the mean over battles.
    pub out_of_command: Mean,
}

/// One way of ending.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ended {
    /// What ended the battle.
    pub manner: Manner,
    /// How often.
    pub share: Share,
}

/// How often one law came to bear.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LawUse {
    /// The law.
    #[serde(serialize_with = "key")]
    pub law: Law,
    /// Times in all battles together.
    pub times: u64,
    /// Times a battle.
    pub a_battle: Mean,
    /// Battles in which it came to bear at all.
    pub in_battles: Share,
}

fn key<S: serde::Serializer>(law: &Law, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(law.key())
}

/// How many battles of the results table fell under a head.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tallied {
    /// The column's head, or the outcome's name.
    pub name: String,
    /// How many.
    pub times: u64,
    /// Share of all.
    pub share: f64,
}

/// Sums up a series. Battles may come in any order; they count in the order of their numbers.
#[must_use]
pub fn report(field: &Battlefield, seed: u64, fought: &[Result<Fought, Stuck>]) -> Report {
    let mut battles: Vec<&Fought> = fought.iter().filter_map(|one| one.as_ref().ok()).collect();
    battles.sort_by_key(|battle| battle.number);
    let mut stuck: Vec<Stuck> = fought
        .iter()
        .filter_map(|one| one.as_ref().err().cloned())
        .collect();
    stuck.sort_by_key(|one| one.number);
    let battles = &battles[..];
    let won = |side| count(battles.iter().filter(|battle| battle.winner == Some(side)));
    Report {
        scenario: field.scenario.name.clone(),
        ruleset: field.ruleset.name.clone(),
        seed,
        battles: count(battles.iter()),
        stuck,
        game_turns_most: field.scenario.game_turns,
        sides: [0, 1].map(|index| side(field, battles, index)),
        draws: share(battles, |battle| battle.winner.is_none()),
        first_of_decided: Share::of(won(0), won(0) + won(1)),
        first_mover: Share::of(
            count(
                battles
                    .iter()
                    .filter(|battle| battle.winner == Some(battle.first)),
            ),
            won(0) + won(1),
        ),
        first_side_began: count(battles.iter().filter(|battle| battle.first == 0)),
        game_turns: mean(battles, game_turns),
        endings: endings(battles),
        laws: laws(field, battles),
        columns: columns(field, battles),
        outcomes: outcomes(battles),
        refused: refused(battles),
    }
}

fn count<T>(of: impl Iterator<Item = T>) -> u64 {
    u64::try_from(of.count()).unwrap_or(u64::MAX)
}

fn share(battles: &[&Fought], holds: impl Fn(&Fought) -> bool) -> Share {
    let hits = count(battles.iter().filter(|battle| holds(battle)));
    Share::of(hits, count(battles.iter()))
}

fn mean(battles: &[&Fought], of: impl Fn(&Fought) -> f64) -> Mean {
    let values: Vec<f64> = battles.iter().map(|battle| of(battle)).collect();
    Mean::of(&values)
}

/// Game turns of a battle, a begun one counted whole.
pub(super) fn game_turns(battle: &Fought) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "at most 1000 game turns")]
    let turns = battle.player_turns.div_ceil(2) as f64;
    turns
}

fn side(field: &Battlefield, battles: &[&Fought], index: usize) -> SideReport {
    let entry = &field.scenario.side[index];
    let of = |value: fn(&super::SideFought) -> f64| mean(battles, |one| value(&one.sides[index]));
    SideReport {
        side: entry.key.clone(),
        name: entry.name.clone(),
        wins: share(battles, |battle| battle.winner == Some(index)),
        points: of(|side| side.points),
        strength_lost: of(|side| side.strength_lost),
        bases_lost: of(|side| f64::from(side.bases_lost)),
        units_lost: of(|side| f64::from(side.units_lost)),
        out_of_command: of(|side| match side.unit_turns {
            0 => 0.0,
            turns => f64::from(side.out_of_command) / f64::from(turns),
        }),
    }
}

fn endings(battles: &[&Fought]) -> Vec<Ended> {
    [
        Manner::Broken,
        Manner::NobodyLeft,
        Manner::PointsReached,
        Manner::LastTurn,
    ]
    .map(|manner| Ended {
        manner,
        share: share(battles, |battle| battle.manner == manner),
    })
    .to_vec()
}

fn laws(field: &Battlefield, battles: &[&Fought]) -> Vec<LawUse> {
    let of = |law: Law| LawUse {
        law,
        times: battles.iter().map(|one| u64::from(one.laws.of(law))).sum(),
        a_battle: mean(battles, |one| f64::from(one.laws.of(law))),
        in_battles: share(battles, |one| one.laws.of(law) > 0),
    };
    let in_force = Law::ALL.into_iter().filter(|law| law.is_in(field));
    in_force.map(of).collect()
}

fn columns(field: &Battlefield, battles: &[&Fought]) -> Vec<Tallied> {
    let heads = field.ruleset.results.columns.iter().enumerate();
    let times = heads.map(|(index, head)| {
        let of = |battle: &&Fought| u64::from(battle.columns.get(index).copied().unwrap_or(0));
        (head.to_string(), battles.iter().map(of).sum())
    });
    tallied(times.collect())
}

fn outcomes(battles: &[&Fought]) -> Vec<Tallied> {
    let mut times: BTreeMap<&str, u64> = BTreeMap::new();
    for (name, count) in battles.iter().flat_map(|battle| &battle.outcomes) {
        *times.entry(name).or_default() += u64::from(*count);
    }
    let times = times
        .into_iter()
        .map(|(name, count)| (name.to_owned(), count));
    let mut tallied = tallied(times.collect());
    tallied.sort_by_key(|one| core::cmp::Reverse(one.times));
    tallied
}

fn tallied(times: Vec<(String, u64)>) -> Vec<Tallied> {
    let all: u64 = times.iter().map(|(_, times)| times).sum();
    let of = |(name, times)| Tallied {
        name,
        times,
        share: Share::of(times, all).share,
    };
    times.into_iter().map(of).collect()
}

fn refused(battles: &[&Fought]) -> BTreeMap<Code, u64> {
    let mut all = BTreeMap::new();
    for (code, times) in battles.iter().flat_map(|battle| &battle.refused) {
        *all.entry(*code).or_default() += u64::from(*times);
    }
    all
}
