//! What of a leg can be taken down: its length, its angle, in the tenths that people read.

use crate::game::Unit;
use crate::orders::Leg;

/// What of a leg can be taken down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Amount {
    Length,
    Angle,
}

/// Amounts larger than this many tenths are taken to be this many: longer than any leg may be.
const MOST_TENTHS: f64 = 1_000_000.0;

impl Amount {
    pub(super) fn all_of(leg: &Leg) -> &'static [Self] {
        match leg {
            Leg::Forward { .. } | Leg::Back { .. } | Leg::Sidestep { .. } => &[Self::Length],
            Leg::Oblique { .. } => &[Self::Length, Self::Angle],
            Leg::Wheel { .. } | Leg::Align { .. } => &[Self::Angle],
            Leg::Turn { .. } | Leg::About | Leg::Reform { .. } => &[],
        }
    }

    /// The amount that says how far along its tape a leg goes.
    pub(super) fn of_tape(leg: &Leg) -> Option<Self> {
        match leg {
            Leg::Align { .. } => None,
            _ => Self::all_of(leg).first().copied(),
        }
    }

    fn get(self, leg: &Leg) -> f64 {
        match (self, *leg) {
            (
                Self::Length,
                Leg::Forward { distance_mm, .. }
                | Leg::Back { distance_mm, .. }
                | Leg::Sidestep { distance_mm, .. }
                | Leg::Oblique { distance_mm, .. },
            ) => distance_mm,
            (
                Self::Angle,
                Leg::Oblique { angle_deg, .. }
                | Leg::Wheel { angle_deg, .. }
                | Leg::Align { angle_deg, .. },
            ) => angle_deg,
            _ => 0.0,
        }
    }

    /// Whole tenths of what was ordered, downward.
    pub(super) fn most_tenths(self, leg: &Leg) -> u32 {
        tenths_down(self.get(leg))
    }

    /// Whether the length of its tape says how much of a leg was made.
    pub(super) fn is_told_by_tape(self, leg: &Leg, units: &[&Unit]) -> bool {
        match self {
            Self::Length => true,
            Self::Angle => matches!(leg, Leg::Wheel { .. }) && units.len() == 1,
        }
    }

    /// Tenths at which the leg's tape would be so long; of an oblique's angle and an aligning,
    /// which its tape does not tell, all that was ordered.
    pub(super) fn tenths_of_tape(self, leg: &Leg, along_mm: f64, units: &[&Unit]) -> u32 {
        match (self, leg) {
            (Self::Length, _) => tenths_down(along_mm),
            (Self::Angle, Leg::Wheel { .. }) => {
                let frontage_mm = units
                    .first()
                    .filter(|_| units.len() == 1)
                    .map_or(f64::INFINITY, |unit| unit.block().frontage_mm);
                tenths_down((along_mm / frontage_mm).to_degrees())
            }
            (Self::Angle, _) => self.most_tenths(leg),
        }
    }

    /// The leg with so many tenths instead.
    pub(super) fn set(self, leg: &Leg, tenths: u32) -> Leg {
        let amount = f64::from(tenths) / 10.0;
        let mut changed = *leg;
        match (self, &mut changed) {
            (
                Self::Length,
                Leg::Forward { distance_mm, .. }
                | Leg::Back { distance_mm, .. }
                | Leg::Sidestep { distance_mm, .. }
                | Leg::Oblique { distance_mm, .. },
            ) => *distance_mm = amount,
            (
                Self::Angle,
                Leg::Oblique { angle_deg, .. }
                | Leg::Wheel { angle_deg, .. }
                | Leg::Align { angle_deg, .. },
            ) => *angle_deg = amount,
            _ => {}
        }
        changed
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
    let mut said = *leg;
    match &mut said {
        Leg::Forward { up_to, .. }
        | Leg::Back { up_to, .. }
        | Leg::Sidestep { up_to, .. }
        | Leg::Oblique { up_to, .. }
        | Leg::Wheel { up_to, .. }
            if !*up_to =>
        {
            *up_to = true;
        }
        _ => return None,
    }
    Some(said)
}
