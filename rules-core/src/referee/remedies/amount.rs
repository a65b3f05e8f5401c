//! What of a leg can be taken down: how far it goes, its angle, in the tenths that people read.

use crate::game::Unit;
use crate::orders::{Extent, Leg};
use crate::verdict::LegLedger;

/// What of a leg can be taken down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Amount {
    /// How far it goes.
    Extent,
    /// An angle that is not how far it goes.
    Angle,
}

/// Amounts larger than this many tenths are taken to be this many: longer than any leg may be.
const MOST_TENTHS: f64 = 1_000_000.0;

impl Amount {
    pub(super) fn all_of(leg: &Leg) -> &'static [Self] {
        match leg {
            Leg::Forward { .. } | Leg::Back { .. } | Leg::Sidestep { .. } | Leg::Wheel { .. } => {
                &[Self::Extent]
            }
            Leg::Oblique { .. } => &[Self::Extent, Self::Angle],
            Leg::Align { .. } => &[Self::Angle],
            Leg::Turn { .. } | Leg::About | Leg::Reform { .. } => &[],
        }
    }

    /// The amount that says how far along its tape a leg goes.
    pub(super) fn of_tape(leg: &Leg) -> Option<Self> {
        leg.extent().map(|_| Self::Extent)
    }

    /// The most tenths that there is something to try below: what was ordered, downward. A leg that a
    /// limit may cut short goes no farther than it was made.
    pub(super) fn most_tenths(self, leg: &Leg, made: Option<&LegLedger>) -> u32 {
        match (self, leg.extent()) {
            (Self::Extent, Some(Extent::Exactly(amount))) => tenths_down(amount),
            (Self::Extent, Some(extent)) => {
                let made = made.and_then(|made| match leg {
                    Leg::Wheel { .. } => made.angle_deg,
                    _ => Some(made.tape_mm),
                });
                let ordered = tenths_down(extent.amount().unwrap_or(f64::INFINITY));
                made.map_or(ordered, |made| ordered.min(tenths_down(made) + 1))
            }
            (Self::Extent, None) => 0,
            (Self::Angle, _) => match *leg {
                Leg::Oblique { angle_deg, .. } | Leg::Align { angle_deg, .. } => {
                    tenths_down(angle_deg)
                }
                _ => 0,
            },
        }
    }

    /// Whether the length of its tape says how much of a leg was made; of a wheel by a body that is more than one
    /// unit it does not, for each lays a tape of its own.
    pub(super) fn is_told_by_tape(self, leg: &Leg, units: &[&Unit]) -> bool {
        let is_wheel = matches!(leg, Leg::Wheel { .. });
        self == Self::Extent && (!is_wheel || units.len() == 1)
    }

    /// Tenths at which the leg's tape would be so long; of an angle, which its tape does not tell,
    /// nothing.
    pub(super) fn tenths_of_tape(self, leg: &Leg, along_mm: f64, units: &[&Unit]) -> Option<u32> {
        match (self, leg) {
            (Self::Extent, Leg::Wheel { .. }) => {
                let frontage_mm = units
                    .first()
                    .filter(|_| units.len() == 1)
                    .map_or(f64::INFINITY, |unit| unit.block().frontage_mm);
                Some(tenths_down((along_mm / frontage_mm).to_degrees()))
            }
            (Self::Extent, _) => Some(tenths_down(along_mm)),
            (Self::Angle, _) => None,
        }
    }

    /// The leg with so many tenths instead of the most there are; what a limit may cut short still
    /// may be, and with the most it is as ordered.
    pub(super) fn set(self, leg: &Leg, tenths: u32, most: u32) -> Leg {
        let amount = f64::from(tenths) / 10.0;
        if leg.is_up_to() && self == Self::Extent && tenths == most {
            return *leg;
        }
        match self {
            Self::Extent => leg.with_extent(Extent::new(amount, leg.is_up_to())),
            Self::Angle => {
                let mut changed = *leg;
                if let Leg::Oblique { angle_deg, .. } | Leg::Align { angle_deg, .. } = &mut changed
                {
                    *angle_deg = amount;
                }
                changed
            }
        }
    }
}

/// What lacks a tenth by no more than this, in tenths, has it: a ten-thousandth of a quantum of a pose.
const WHOLE: f64 = 1e-6;

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "bounded on both sides; a number that is none becomes 0"
)]
fn tenths_down(amount: f64) -> u32 {
    let tenths = (amount * 10.0 + WHOLE).floor();
    if tenths > MOST_TENTHS {
        MOST_TENTHS as u32
    } else {
        tenths as u32
    }
}

/// The leg with *up to*, unless it says so or cannot.
pub(super) fn said_up_to(leg: &Leg) -> Option<Leg> {
    let extent = leg.extent().filter(|extent| !extent.is_up_to())?;
    Some(leg.with_extent(extent.said_up_to()))
}
