//! What moves: one unit, or several that move together as one body.

use crate::game::Unit;
use crate::geometry::{Block, Footprint, Motion, Placement, Pose, Vector};

use super::{Movement, Purpose};

/// One unit of a body, where it stands between two legs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Member {
    pub(super) block: Block,
    pub(super) files: u16,
    pose: Pose,
    /// What follows from the pose and the block: asked for many times between two legs.
    placement: Placement,
    footprint: Footprint,
}

/// The units of one order, in the order named.
#[derive(Debug, Clone)]
pub(super) struct Body {
    pub(super) members: Vec<Member>,
}

impl Member {
    pub(super) fn new(unit: &Unit, pose: Pose) -> Self {
        let (placement, block) = (pose.placement(), unit.block());
        Self {
            block,
            files: unit.files,
            pose,
            placement,
            footprint: Footprint::new(&placement, block),
        }
    }

    pub(super) fn pose(&self) -> Pose {
        self.pose
    }

    pub(super) fn placement(&self) -> Placement {
        self.placement
    }

    pub(super) fn footprint(&self) -> Footprint {
        self.footprint
    }

    /// Puts it somewhere else.
    pub(super) fn put(&mut self, pose: Pose) {
        self.pose = pose;
        self.placement = pose.placement();
        self.footprint = Footprint::new(&self.placement, self.block);
    }

    /// Sets it up anew about the same anchor.
    pub(super) fn reform(&mut self, files: u16, block: Block) {
        self.files = files;
        self.block = block;
        self.footprint = Footprint::new(&self.placement, block);
    }

    /// Footprint of a placement of this member.
    pub(super) fn footprint_at(&self, placement: &Placement) -> Footprint {
        Footprint::new(placement, self.block)
    }

    /// Its placement when a share of a motion is done.
    pub(super) fn placement_after(&self, motion: &Motion, share: f64) -> Placement {
        motion.placement_at(&self.placement(), share)
    }
}

impl Body {
    /// The body of a move as it stands before its first leg; `None` when somebody in it stands nowhere.
    pub(super) fn of(movement: &Movement<'_>) -> Option<Self> {
        let members: Vec<Member> = movement
            .units
            .iter()
            .map(|unit| {
                let pose = match movement.purpose {
                    Purpose::Arrival(pose) => pose,
                    Purpose::March | Purpose::Withdrawal => unit.pose()?,
                };
                Some(Member::new(unit, pose))
            })
            .collect::<Option<_>>()?;
        (!members.is_empty()).then_some(Self { members })
    }

    /// The body's own rectangle: the least one along the first member's bearing that holds all
    /// members. For one unit it is its footprint.
    pub(super) fn footprint(&self) -> Footprint {
        let first = self.members[0].footprint();
        if self.members.len() == 1 {
            return first;
        }
        let (mut left, mut right) = (-first.half_frontage, first.half_frontage);
        let (mut rear, mut front) = (-first.half_depth, first.half_depth);
        for corner in self.members.iter().flat_map(|m| m.footprint().corners()) {
            let (across, ahead) = first.local(corner);
            left = crate::geometry::smaller(left, across);
            right = crate::geometry::larger(right, across);
            rear = crate::geometry::smaller(rear, ahead);
            front = crate::geometry::larger(front, ahead);
        }
        Footprint {
            centre: first.at((left + right) / 2.0, (rear + front) / 2.0),
            ahead: first.ahead,
            half_frontage: (right - left) / 2.0,
            half_depth: (front - rear) / 2.0,
        }
    }

    /// The widest angle in degrees between the first member's bearing and another's.
    pub(super) fn widest_angle_deg(&self) -> f64 {
        let first = self.members[0].placement().ahead;
        self.members
            .iter()
            .map(|member| angle_between_deg(first, member.placement().ahead))
            .fold(0.0, crate::geometry::larger)
    }
}

fn angle_between_deg(a: Vector, b: Vector) -> f64 {
    libm::atan2(a.cross(b), a.dot(b)).abs().to_degrees()
}
