//! The context of a request, who calls and the game they ask of, in one statement; for a posting, what it needs besides.

use async_trait::async_trait;
use sqlx::{QueryBuilder, Row};

use super::batch::{BatchQuery, push_queries};
use super::games::{self, game_columns};
use super::keys::{self, key_columns};
use super::members::{self, member_columns};
use super::records;
use super::seat_rows::{self, seat_columns};
use super::sessions::{self, session_columns};
use super::{Backend, Db, DbConnection, DbRow, bytes, known};
use crate::store::{
    BeforePosting, ContextRows, Contexts, GameId, Named, PostingContextRows, StoreResult,
};

/// Asks for the context of a request.
pub(crate) struct ContextQuery {
    key: Option<String>,
    session: Option<String>,
    game: Option<GameId>,
}

/// Asks for that of a posting.
pub(crate) struct PostingContextQuery {
    key: Option<String>,
    session: Option<String>,
    game: GameId,
    idempotency_key: String,
}

#[async_trait]
impl Contexts for Backend {
    async fn context_rows(
        &self,
        named: Named<'_>,
        game: Option<GameId>,
    ) -> StoreResult<ContextRows> {
        let query = ContextQuery {
            key: named.key.map(str::to_owned),
            session: named.session.map(str::to_owned),
            game,
        };
        self.context_batch().read(query).await
    }

    async fn posting_context_rows(
        &self,
        named: Named<'_>,
        game: GameId,
        idempotency_key: &str,
    ) -> StoreResult<PostingContextRows> {
        let query = PostingContextQuery {
            key: named.key.map(str::to_owned),
            session: named.session.map(str::to_owned),
            game,
            idempotency_key: idempotency_key.to_owned(),
        };
        self.posting_context_batch().read(query).await
    }
}

/// Where the columns of each begin in a row.
const KEY: usize = 1;
const MEMBER: usize = KEY + 10;
const SEAT: usize = MEMBER + 5;
const GAME: usize = SEAT + 10;
const SESSION: usize = GAME + 11;
const SEATING: usize = SESSION + 5;
const SECRET: usize = SESSION + 5;
const IS_SEALED: usize = SECRET + 1;
const ANSWER: usize = IS_SEALED + 1;

/// Who calls, and their game.
macro_rules! context_columns {
    () => {
        concat!(
            "SELECT asked.column1, ",
            key_columns!("keys."),
            ", ",
            member_columns!("members."),
            ", ",
            seat_columns!("seats."),
            ", ",
            game_columns!("games."),
            ", ",
            session_columns!()
        )
    };
}

/// Where these are found.
macro_rules! context_tables {
    () => {
        " AS asked LEFT JOIN keys ON keys.id = asked.column2 LEFT JOIN members ON members.id = keys.member \
         LEFT JOIN seats ON seats.id = keys.seat LEFT JOIN games ON games.id = asked.column3 \
         LEFT JOIN session_keys ON session_keys.session = asked.column4 AND session_keys.key = asked.column2 \
         LEFT JOIN sessions ON sessions.id = session_keys.session"
    };
}

#[async_trait]
impl BatchQuery for ContextQuery {
    type Answer = ContextRows;

    async fn read(
        queries: &[Self],
        connection: &mut DbConnection,
    ) -> StoreResult<Vec<ContextRows>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            context_columns!(),
            // As `seating_of` writes it.
            ", (SELECT string_agg(s.place || ' ' || coalesce(length(s.player), -1) || ' ' || coalesce(s.player, ''), ' ' \
                ORDER BY s.place) FROM seats s WHERE s.game = games.id) FROM "
        ));
        push_queries(&mut query, queries, |row, query| {
            row.push_bind(query.and_then(|query| query.key.clone()))
                .push_bind(query.and_then(|query| Some(query.game?.0.to_vec())))
                .push_bind(query.and_then(|query| query.session.clone()));
        });
        query.push(concat!(context_tables!(), " ORDER BY asked.column1"));
        let rows = query.build().fetch_all(connection).await?;
        let with_seating = |row| {
            let seating: Option<String> = DbRow::try_get(row, SEATING)?;
            Ok(ContextRows {
                seating: seating.unwrap_or_default(),
                ..context_rows(row)?
            })
        };
        rows.iter().take(queries.len()).map(with_seating).collect()
    }
}

#[async_trait]
impl BatchQuery for PostingContextQuery {
    type Answer = PostingContextRows;

    async fn read(
        queries: &[Self],
        connection: &mut DbConnection,
    ) -> StoreResult<Vec<PostingContextRows>> {
        let mut query = QueryBuilder::<Db>::new(concat!(
            context_columns!(),
            ", dice_secrets.secret, \
             EXISTS (SELECT 1 FROM sealed_instructions s WHERE s.game = asked.column3), \
             answers.key, answers.idempotency_key, answers.request_hash, answers.status, answers.body, answers.at FROM "
        ));
        push_queries(&mut query, queries, |row, query| {
            row.push_bind(query.and_then(|query| query.key.clone()))
                .push_bind(query.map(|query| query.game.0.to_vec()))
                .push_bind(query.and_then(|query| query.session.clone()))
                .push_bind(query.map(|query| query.idempotency_key.clone()));
        });
        query.push(concat!(
            context_tables!(),
            " LEFT JOIN dice_secrets ON dice_secrets.game = games.id AND dice_secrets.player_turn = games.player_turn \
             LEFT JOIN answers ON answers.key = asked.column2 AND answers.idempotency_key = asked.column5 \
             ORDER BY asked.column1"
        ));
        let rows = query.build().fetch_all(&mut *connection).await?;
        let mut contexts = Vec::with_capacity(queries.len());
        for (row, query) in rows.iter().zip(queries) {
            let before = before(row, connection, query.game).await?;
            let rows = context_rows(row)?;
            contexts.push(PostingContextRows { rows, before });
        }
        Ok(contexts)
    }
}

async fn before(
    row: &DbRow,
    connection: &mut DbConnection,
    game: GameId,
) -> StoreResult<BeforePosting> {
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
fn context_rows(row: &DbRow) -> StoreResult<ContextRows> {
    Ok(ContextRows {
        key: known(row, KEY, keys::stored_key)?,
        member: known(row, MEMBER, members::member)?,
        seat: known(row, SEAT, seat_rows::seat)?,
        game: match row.try_get::<Option<&[u8]>, _>(GAME)? {
            Some(_) => Some(games::stored_game(row, GAME)?),
            None => None,
        },
        session: known(row, SESSION, sessions::stored_session)?,
        seating: String::new(),
    })
}
