//! Rows of seats, which seats, notices and contexts read.

use sqlx::Row;

use super::{DbRow, bytes, count, member_id};
use crate::store::{GameId, MemberId, Seat, SeatRole, StoreError, StoreResult};

/// A seat's columns, in the order in which [`seat`] reads them.
macro_rules! seat_columns {
    ($of:literal) => {
        concat!(
            $of,
            "id, ",
            $of,
            "game, ",
            $of,
            "place, ",
            $of,
            "role, ",
            $of,
            "side, ",
            $of,
            "side_name, ",
            $of,
            "player, ",
            $of,
            "member, ",
            $of,
            "reads_after, ",
            $of,
            "by_organiser"
        )
    };
}
pub(super) use seat_columns;

/// A seat, from the columns that begin there.
pub(super) fn seat(row: &DbRow, at: usize) -> StoreResult<Seat> {
    Ok(Seat {
        id: row.try_get(at)?,
        game: GameId(bytes(row, at + 1)?),
        place: count(row, at + 2)?,
        role: role(row, at + 3)?,
        player: row.try_get(at + 6)?,
        member: member(row.try_get(at + 7)?)?,
        reads_after: count(row, at + 8)?,
        by_organiser: row.try_get(at + 9)?,
    })
}

/// The role of a seat and the side it plays, from the three columns that begin there.
fn role(row: &DbRow, at: usize) -> StoreResult<SeatRole> {
    let role: &str = row.try_get(at)?;
    match role {
        "player" => Ok(SeatRole::Player {
            side: row.try_get(at + 1)?,
            side_name: row.try_get(at + 2)?,
        }),
        "umpire" => Ok(SeatRole::Umpire),
        "spectator" => Ok(SeatRole::Spectator),
        _ => Err(StoreError::Damaged(format!("a seat of role {role}"))),
    }
}

fn member(id: Option<&str>) -> StoreResult<Option<MemberId>> {
    id.map(member_id).transpose()
}
