//! Stored things as they travel: sides, seats, invitations, members, clocks.

use fieldpost_wire as wire;
use jiff::Timestamp;
use jiff::civil::Date;

use crate::key::Key;
use crate::store::{Invitation, Member, Seat, SeatRole};

use super::{FoldedGame, ServiceError};

/// The sides in the order of their first seats, and who plays them.
pub(super) fn sides(seats: Vec<Seat>) -> Vec<wire::SideSummary> {
    let mut sides: Vec<wire::SideSummary> = Vec::new();
    for seat in seats {
        let SeatRole::Player { side, side_name } = seat.role else {
            continue;
        };
        let known = sides.iter().position(|known| known.side == side);
        let place = known.unwrap_or_else(|| {
            sides.push(wire::SideSummary {
                side,
                name: side_name,
                player: None,
                players: Vec::new(),
            });
            sides.len() - 1
        });
        if let Some(player) = seat.player {
            sides[place].player.get_or_insert_with(|| player.clone());
            sides[place].players.push(player);
        }
    }
    sides
}

/// The role of a seat's holder.
pub(super) fn role_of(seat: &Seat) -> wire::Role {
    match seat.role {
        SeatRole::Player { .. } => wire::Role::Player,
        SeatRole::Umpire => wire::Role::Umpire,
        SeatRole::Spectator => wire::Role::Spectator,
    }
}

pub(super) fn seat_summary(seat: &Seat) -> wire::SeatSummary {
    wire::SeatSummary {
        seat: seat.id.clone(),
        role: match seat.role {
            SeatRole::Player { .. } => wire::SeatRole::Player,
            SeatRole::Umpire => wire::SeatRole::Umpire,
            SeatRole::Spectator => wire::SeatRole::Spectator,
        }
        .into(),
        side: seat.side().map(str::to_owned),
        player: seat.player.clone(),
    }
}

/// A side that no seat plays, with those there are.
pub(super) fn no_such_side(seats: &[Seat], side: &str) -> ServiceError {
    let mut known: Vec<String> = Vec::new();
    for seat in seats {
        if let Some(side) = seat.side().filter(|side| !known.iter().any(|k| k == side)) {
            known.push(side.to_owned());
        }
    }
    ServiceError::NoSuchSide {
        requested: side.to_owned(),
        known,
    }
}

/// An invitation as it is given to the organiser, with its secret.
pub(super) fn given_invitation(
    seat: &Seat,
    key: &Key,
    invitation: &Invitation,
) -> wire::GivenInvitation {
    wire::GivenInvitation {
        role: role_of(seat).into(),
        side: seat.side().map(str::to_owned),
        seat: seat.id.clone(),
        invitation: key.reveal(),
        expires_at: invitation.expires_at.clone(),
        address: None,
        qr: None,
    }
}

/// A member as organisers see them.
pub(super) fn member_summary(member: &Member) -> wire::MemberSummary {
    wire::MemberSummary {
        id: member.id.to_string(),
        name: member.name.clone(),
        role: member.role.into(),
        joined_at: member.joined_at.clone(),
    }
}

/// A game's clock at a moment.
pub(super) fn clock_page(folded: &FoldedGame, at: Timestamp) -> wire::ClockPage {
    let clock = &folded.clock;
    let is_set = clock.rules().is_some();
    let sides = folded.game.scenario().side.iter().map(|side| {
        let year = clock.today(&side.key, at).map_or(0, Date::year);
        wire::ClockSide {
            side: side.key.clone(),
            zone: clock.zone(&side.key).unwrap_or("UTC").to_owned(),
            saved: clock.saved(&side.key).unwrap_or(0),
            leave: clock
                .leave(&side.key)
                .map(|(from, days, zone)| wire::Leave {
                    from: from.to_string(),
                    days,
                    zone: zone.to_owned(),
                })
                .collect(),
            leave_left: clock.leave_left(&side.key, year),
            asks_pause: clock.asks_pause(&side.key),
        }
    });
    wire::ClockPage {
        rules: clock.rules().cloned(),
        to_move: clock.to_move().filter(|_| is_set).map(str::to_owned),
        due: clock.due().map(|due| due.to_string()),
        days_left: clock.days_left(at).filter(|_| is_set),
        is_out: clock.is_out(at),
        is_paused: clock.is_paused(),
        sides: sides.collect(),
    }
}
