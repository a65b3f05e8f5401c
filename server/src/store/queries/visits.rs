//! Visits: who calls and the game they ask of, in one statement.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::games::{self, card_columns};
use super::keys::{self, key_columns};
use super::members::{self, member_columns};
use super::seats::{self, seat_columns};
use super::together::{Asked, push_asked};
use super::{Backend, Db, DbConnection, DbRow};
use crate::store::{GameId, Stored, Visit, Visits};

/// A visit to be made known.
pub(in crate::store) struct Visiting {
    key: Option<String>,
    game: Option<GameId>,
}

#[async_trait]
impl Visits for Backend {
    async fn visit(&self, key: Option<&str>, game: Option<GameId>) -> Stored<Visit> {
        let key = key.map(str::to_owned);
        self.visitings().read(Visiting { key, game }).await
    }
}

/// Where the columns of each begin in a row.
const KEY: usize = 1;
const MEMBER: usize = KEY + 10;
const SEAT: usize = MEMBER + 5;
const CARD: usize = SEAT + 8;
const SEATING: usize = CARD + 11;

#[async_trait]
impl Asked for Visiting {
    type Answer = Visit;

    async fn read(asked: &[Self], connection: &mut DbConnection) -> Stored<Vec<Visit>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            "SELECT asked.column1, ",
            key_columns!("keys."),
            ", ",
            member_columns!("members."),
            ", ",
            seat_columns!("seats."),
            ", ",
            card_columns!("games."),
            // As `seating_of` writes it.
            ", (SELECT string_agg(s.place || ' ' || coalesce(length(s.player), -1) || ' ' || coalesce(s.player, ''), ' ' \
                ORDER BY s.place) FROM seats s WHERE s.game = games.id) FROM "
        ));
        push_asked(&mut query, asked, |row, asked| {
            row.push_bind(asked.and_then(|asked| asked.key.clone()))
                .push_bind(asked.and_then(|asked| Some(asked.game?.0.to_vec())));
        });
        query.push(
            " AS asked LEFT JOIN keys ON keys.id = asked.column2 LEFT JOIN members ON members.id = keys.member \
             LEFT JOIN seats ON seats.id = keys.seat LEFT JOIN games ON games.id = asked.column3 \
             ORDER BY asked.column1",
        );
        let rows = query.build().fetch_all(connection).await?;
        rows.iter().take(asked.len()).map(visit).collect()
    }
}

fn visit(row: &DbRow) -> Stored<Visit> {
    Ok(Visit {
        key: known(row, KEY, keys::key_card)?,
        member: known(row, MEMBER, members::member)?,
        seat: known(row, SEAT, seats::seat)?,
        card: match row.try_get::<Option<&[u8]>, _>(CARD)? {
            Some(_) => Some(games::card(row, CARD)?),
            None => None,
        },
        seating: row
            .try_get::<Option<String>, _>(SEATING)?
            .unwrap_or_default(),
    })
}

/// What begins with that column, a text that everything of its kind has.
fn known<T>(row: &DbRow, at: usize, read: fn(&DbRow, usize) -> Stored<T>) -> Stored<Option<T>> {
    match row.try_get::<Option<&str>, _>(at)? {
        Some(_) => read(row, at).map(Some),
        None => Ok(None),
    }
}
