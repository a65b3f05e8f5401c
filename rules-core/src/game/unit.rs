//! A unit in play.

use crate::geometry::{Block, Footprint, Pose};
use crate::orders::UnitId;
use crate::ruleset::{Arm, Ruleset, TroopType};
use crate::scenario::{Arrival, Command, UnitEntry};

use super::Cause;

/// A unit in play.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// Its short key.
    pub id: UnitId,
    /// Its name.
    pub name: String,
    /// Index of its side.
    pub side: usize,
    /// Name of its troop type.
    pub troops: String,
    /// Its arm.
    pub arm: Arm,
    /// Strength of each base.
    pub strength_per_base: f64,
    /// Size of one base in millimetres: width and depth.
    pub base_mm: (f64, f64),
    /// Bases abreast.
    pub files: u16,
    /// Bases left.
    pub bases: u16,
    /// Bases at the start.
    pub bases_at_start: u16,
    /// Its place in the chain of command, for a commander.
    pub command: Option<Command>,
    /// The subordinate commander it may look to.
    pub under: Option<UnitId>,
    /// Where it is.
    pub state: State,
    /// Own player turns it still has to stand before disorder is shed; 0 when in order.
    pub disorder: u32,
    /// Whether it has moved or fought since its side's last turn began: it was ordered to move, was pushed,
    /// fell back, or took part in a battle.
    pub moved_or_fought: bool,
    /// Which of the lines under it it has paid for.
    pub lines_paid: LinesPaid,
    /// Enemies whose halt zones its last move left by no more than the tolerance: they hold it still.
    pub still_held_by: Vec<UnitId>,
    /// The ground it covers, worked out once for every question asked of it.
    kept: Kept,
}

/// The ground a unit covered when it was last put somewhere, with all that it follows from: it
/// answers only while that still holds, and is no part of what makes two units the same.
#[derive(Debug, Clone, Copy, Default)]
struct Kept(Option<(Cover, Footprint)>);

/// All that the ground which a unit covers follows from.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cover {
    pose: Pose,
    files: u16,
    bases: u16,
    base_mm: (f64, f64),
}

impl PartialEq for Kept {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// Where a unit is.
#[derive(Debug, Clone, PartialEq)]
pub enum State {
    /// Not yet on the table.
    Waiting(Arrival),
    /// On the table.
    Standing(Pose),
    /// Gone.
    Gone(Cause),
}

/// Which of the lines under a unit's footprint it has paid for. A line that is no longer under it is not meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LinesPaid {
    /// All: it was set down where it stands, fell back there, was pushed there or followed up there.
    All,
    /// These, by their places in the scenario: so it ended its last move.
    Only(Vec<usize>),
}

/// The number of full or part-filled ranks that so many bases make.
#[must_use]
pub(crate) fn ranks_of(bases: u16, files: u16) -> u16 {
    bases.div_ceil(files.max(1))
}

impl Unit {
    /// A unit at the start; `None` when its troop type is unknown or its place out of reach,
    /// which a checked scenario never has.
    pub(crate) fn new(entry: &UnitEntry, ruleset: &Ruleset, side: usize) -> Option<Self> {
        let troops = ruleset.troops.get(&entry.troops)?;
        let state = match (&entry.at, &entry.arrives) {
            (Some([x_mm, y_mm, bearing_deg]), _) => {
                State::Standing(Pose::from_mm_deg(*x_mm, *y_mm, *bearing_deg)?)
            }
            (None, Some(arrival)) => State::Waiting(arrival.clone()),
            (None, None) => return None,
        };
        let bases = entry
            .bases
            .unwrap_or(entry.files.saturating_mul(entry.ranks));
        let mut unit = Self {
            id: UnitId(entry.id.clone()),
            name: entry.name.clone(),
            side,
            troops: entry.troops.clone(),
            arm: troops.arm,
            strength_per_base: troops.strength_per_base,
            base_mm: (
                troops.base_width.mm(&ruleset.scale),
                troops.base_depth.mm(&ruleset.scale),
            ),
            files: entry.files,
            bases,
            bases_at_start: bases,
            command: entry.command,
            under: entry.under.as_deref().map(UnitId::from),
            state,
            disorder: 0,
            moved_or_fought: false,
            lines_paid: LinesPaid::All,
            still_held_by: Vec::new(),
            kept: Kept::default(),
        };
        unit.keep_ground();
        Some(unit)
    }

    /// Works out its ground anew, if it was put somewhere else or changed its block.
    pub(super) fn keep_ground(&mut self) {
        let cover = self.pose().map(|pose| self.cover(pose));
        if self.kept.0.map(|kept| kept.0) != cover {
            let ground = |cover: &Cover| Footprint::new(&cover.pose.placement(), self.block());
            self.kept = Kept(cover.map(|cover| (cover, ground(&cover))));
        }
    }

    /// The ground as it was last kept: that of a game's units, which keep it whenever they change.
    pub(super) fn kept_ground(&self) -> Option<&Footprint> {
        debug_assert_eq!(
            self.pose().map(|pose| self.cover(pose)),
            self.kept.0.map(|kept| kept.0)
        );
        self.kept.0.as_ref().map(|(_, ground)| ground)
    }

    fn cover(&self, pose: Pose) -> Cover {
        Cover {
            pose,
            files: self.files,
            bases: self.bases,
            base_mm: self.base_mm,
        }
    }

    /// Its stored pose, while on the table.
    #[must_use]
    pub fn pose(&self) -> Option<Pose> {
        match self.state {
            State::Standing(pose) => Some(pose),
            State::Waiting(_) | State::Gone(_) => None,
        }
    }

    /// Whether it stands on the table.
    #[must_use]
    pub fn is_on_table(&self) -> bool {
        self.pose().is_some()
    }

    /// Ranks, counting a part-filled last one.
    #[must_use]
    pub fn ranks(&self) -> u16 {
        ranks_of(self.bases, self.files)
    }

    /// Its size on the table.
    #[must_use]
    pub fn block(&self) -> Block {
        Block {
            frontage_mm: f64::from(self.files) * self.base_mm.0,
            depth_mm: f64::from(self.ranks().max(1)) * self.base_mm.1,
        }
    }

    /// The ground it covers, while on the table.
    #[must_use]
    pub fn footprint(&self) -> Option<Footprint> {
        let pose = self.pose()?;
        match &self.kept.0 {
            Some((of, ground)) if *of == self.cover(pose) => Some(*ground),
            _ => Some(Footprint::new(&pose.placement(), self.block())),
        }
    }

    /// Its whole strength.
    #[must_use]
    pub fn strength(&self) -> f64 {
        f64::from(self.bases) * self.strength_per_base
    }

    /// Whether it has strength and so radiates zones.
    #[must_use]
    pub fn has_strength(&self) -> bool {
        self.strength() > 0.0
    }

    /// Whether it is a commander.
    #[must_use]
    pub fn is_commander(&self) -> bool {
        self.arm == Arm::Commander
    }

    /// Whether it is a gun unit.
    #[must_use]
    pub fn is_guns(&self) -> bool {
        self.arm == Arm::Guns
    }

    /// Its troop type in a ruleset.
    #[must_use]
    pub fn troop_type<'a>(&self, ruleset: &'a Ruleset) -> Option<&'a TroopType> {
        ruleset.troops.get(&self.troops)
    }
}
