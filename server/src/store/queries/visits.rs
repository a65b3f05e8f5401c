//! Visits: who calls and the game they ask of, in one statement; before a posting, what it needs besides.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::games::{self, card_columns};
use super::keys::{self, key_columns};
use super::members::{self, member_columns};
use super::records;
use super::seats::{self, seat_columns};
use super::together::{Asked, push_asked};
use super::{Backend, Db, DbConnection, DbRow, bytes};
use crate::store::{BeforePosting, GameId, PostingVisit, Stored, Visit, Visits};

/// A visit to be made known.
pub(in crate::store) struct Visiting {
    key: Option<String>,
    game: Option<GameId>,
}

/// The same of somebody who posts.
pub(in crate::store) struct PostingVisiting {
    key: String,
    game: GameId,
    idempotency_key: String,
}

#[async_trait]
impl Visits for Backend {
    async fn visit(&self, key: Option<&str>, game: Option<GameId>) -> Stored<Visit> {
        let key = key.map(str::to_owned);
        self.visitings().read(Visiting { key, game }).await
    }

    async fn posting_visit(
        &self,
        key: &str,
        game: GameId,
        idempotency_key: &str,
    ) -> Stored<PostingVisit> {
        let asked = PostingVisiting {
            key: key.to_owned(),
            game,
            idempotency_key: idempotency_key.to_owned(),
        };
        self.posting_visitings().read(asked).await
    }
}

/// Where the columns of each begin in a row.
const KEY: usize = 1;
const MEMBER: usize = KEY + 10;
const SEAT: usize = MEMBER + 5;
const CARD: usize = SEAT + 8;
const SEATING: usize = CARD + 11;
const SECRET: usize = CARD + 11;
const IS_SEALED: usize = SECRET + 1;
const ANSWER: usize = IS_SEALED + 1;

/// Who calls and the card of their game.
macro_rules! visit_columns {
    () => {
        concat!(
            "SELECT asked.column1, ",
            key_columns!("keys."),
            ", ",
            member_columns!("members."),
            ", ",
            seat_columns!("seats."),
            ", ",
            card_columns!("games.")
        )
    };
}

/// Where these are found.
macro_rules! visit_tables {
    () => {
        " AS asked LEFT JOIN keys ON keys.id = asked.column2 LEFT JOIN members ON members.id = keys.member \
         LEFT JOIN seats ON seats.id = keys.seat LEFT JOIN games ON games.id = asked.column3"
    };
}

#[async_trait]
impl Asked for Visiting {
    type Answer = Visit;

    async fn read(asked: &[Self], connection: &mut DbConnection) -> Stored<Vec<Visit>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            visit_columns!(),
            // As `seating_of` writes it.
            ", (SELECT string_agg(s.place || ' ' || coalesce(length(s.player), -1) || ' ' || coalesce(s.player, ''), ' ' \
                ORDER BY s.place) FROM seats s WHERE s.game = games.id) FROM "
        ));
        push_asked(&mut query, asked, |row, asked| {
            row.push_bind(asked.and_then(|asked| asked.key.clone()))
                .push_bind(asked.and_then(|asked| Some(asked.game?.0.to_vec())));
        });
        query.push(concat!(visit_tables!(), " ORDER BY asked.column1"));
        let rows = query.build().fetch_all(connection).await?;
        let with_seating = |row| {
            let seating: Option<String> = DbRow::try_get(row, SEATING)?;
            Ok(Visit {
                seating: seating.unwrap_or_default(),
                ..visit(row)?
            })
        };
        rows.iter().take(asked.len()).map(with_seating).collect()
    }
}

#[async_trait]
impl Asked for PostingVisiting {
    type Answer = PostingVisit;

    async fn read(asked: &[Self], connection: &mut DbConnection) -> Stored<Vec<PostingVisit>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            visit_columns!(),
            ", dice_secrets.secret, \
             EXISTS (SELECT 1 FROM sealed_instructions s WHERE s.game = asked.column3), \
             answers.key, answers.idempotency_key, answers.request_hash, answers.status, answers.body, answers.at FROM "
        ));
        push_asked(&mut query, asked, |row, asked| {
            row.push_bind(asked.map(|asked| asked.key.clone()))
                .push_bind(asked.map(|asked| asked.game.0.to_vec()))
                .push_bind(asked.map(|asked| asked.idempotency_key.clone()));
        });
        query.push(concat!(
            visit_tables!(),
            " LEFT JOIN dice_secrets ON dice_secrets.game = games.id AND dice_secrets.player_turn = games.player_turn \
             LEFT JOIN answers ON answers.key = asked.column2 AND answers.idempotency_key = asked.column4 \
             ORDER BY asked.column1"
        ));
        let rows = query.build().fetch_all(&mut *connection).await?;
        let mut visits = Vec::with_capacity(asked.len());
        for (row, asked) in rows.iter().zip(asked) {
            let before = before(row, connection, asked.game).await?;
            let visit = visit(row)?;
            visits.push(PostingVisit { visit, before });
        }
        Ok(visits)
    }
}

async fn before(row: &DbRow, connection: &mut DbConnection, game: GameId) -> Stored<BeforePosting> {
    Ok(BeforePosting {
        secret: match row.try_get::<Option<&[u8]>, _>(SECRET)? {
            Some(_) => Some(bytes(row, SECRET)?),
            None => None,
        },
        // Seals are only ever added, and each with an event: if one came since, so has the head moved.
        sealed: match row.try_get(IS_SEALED)? {
            true => records::sealed_in(connection, game).await?,
            false => Vec::new(),
        },
        answer: known(row, ANSWER, records::answer)?,
    })
}

/// All but who sits where.
fn visit(row: &DbRow) -> Stored<Visit> {
    Ok(Visit {
        key: known(row, KEY, keys::key_card)?,
        member: known(row, MEMBER, members::member)?,
        seat: known(row, SEAT, seats::seat)?,
        card: match row.try_get::<Option<&[u8]>, _>(CARD)? {
            Some(_) => Some(games::card(row, CARD)?),
            None => None,
        },
        seating: String::new(),
    })
}

/// What begins with that column, a text that everything of its kind has.
fn known<T>(row: &DbRow, at: usize, read: fn(&DbRow, usize) -> Stored<T>) -> Stored<Option<T>> {
    match row.try_get::<Option<&str>, _>(at)? {
        Some(_) => read(row, at).map(Some),
        None => Ok(None),
    }
}
