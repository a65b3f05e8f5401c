//! A large database, made of one game copied over and over. Only the copies' cards and numbers are true:
//! nobody plays in them.

use std::path::Path;

use fieldpost_server::store::{
    Append, Change, GameCard, GameId, Head, Invitation, KeyCard, Moment, Opening, Opens, Origin,
    Seat, SeatRole, Store, StoredAnswer, StoredEntry, TakenSeat, open,
};
use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

const AT: &str = "2026-01-02T03:04:05.678Z";
/// Bytes of an entry and of an answer, near what a turn of a small battle takes.
const ENTRY: usize = 500;
const ANSWER: usize = 1500;

/// Fills a new file with so many games of so many events each.
pub async fn fill(folder: &Path, games: u64, events: u64) {
    let url = super::file(folder);
    let store = open(&url, 1).await.expect("opens");
    let pattern = pattern(store.as_ref(), events).await;
    store.close().await;
    drop(store);
    let mut connection = SqliteConnection::connect(&url).await.expect("connects");
    let numbers = format!(
        "WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < {})",
        games - 1
    );
    let id = "unhex(printf('%032x', k))";
    let of = pattern.to_string();
    let copies = [
        "PRAGMA foreign_keys = OFF".to_owned(),
        "PRAGMA synchronous = OFF".to_owned(),
        "BEGIN".to_owned(),
        format!(
            "{numbers} INSERT INTO games SELECT * FROM (SELECT {id} FROM n) AS n, (SELECT {} FROM games WHERE id = x'{of}')",
            rest(&mut connection, "games", "id").await
        ),
        format!(
            "INSERT INTO events SELECT games.id, e.* FROM games, (SELECT {} FROM events WHERE game = x'{of}') AS e WHERE games.id <> x'{of}'",
            rest(&mut connection, "events", "game").await
        ),
        format!(
            "INSERT INTO answers SELECT hex(games.id), e.* FROM games, (SELECT {} FROM answers) AS e WHERE games.id <> x'{of}'",
            rest(&mut connection, "answers", "key").await
        ),
        "COMMIT".to_owned(),
        "PRAGMA wal_checkpoint(TRUNCATE)".to_owned(),
    ];
    for sql in copies {
        sqlx::raw_sql(AssertSqlSafe(sql.clone()))
            .execute(&mut connection)
            .await
            .unwrap_or_else(|error| panic!("{sql}: {error}"));
    }
    connection.close().await.expect("closed");
}

/// The columns of a table but its first.
async fn rest(connection: &mut SqliteConnection, table: &str, first: &str) -> String {
    let names: Vec<String> =
        sqlx::query_scalar("SELECT name FROM pragma_table_info($1) ORDER BY cid")
            .bind(table)
            .fetch_all(connection)
            .await
            .expect("read");
    assert_eq!(names[0], first);
    names[1..].join(", ")
}

/// The game that is copied, with one answer for every four events.
async fn pattern(store: &dyn Store, events: u64) -> GameId {
    let id = GameId([0xff; 16]);
    let entry = |number: u64| StoredEntry {
        number,
        previous: [1; 32],
        hash: [2; 32],
        body: "x".repeat(ENTRY),
        at: AT.to_owned(),
    };
    let head = |number: u64| Head {
        number,
        hash: [2; 32],
    };
    let moment = Moment {
        player_turn: 1,
        to_move: None,
        ending: None,
    };
    let seat = Seat {
        id: "seat".to_owned(),
        game: id,
        place: 0,
        role: SeatRole::Player {
            side: "red".to_owned(),
            side_name: "Red".to_owned(),
        },
        player: None,
        member: None,
    };
    let invitation = Invitation {
        id: "invitation".to_owned(),
        seat: seat.id.clone(),
        secret_hash: vec![0; 32],
        issued_at: AT.to_owned(),
        expires_at: AT.to_owned(),
        used_at: None,
        voided_at: None,
    };
    let key = KeyCard {
        id: "key".to_owned(),
        secret_hash: vec![0; 32],
        opens: Opens::Seat {
            seat: seat.id.clone(),
        },
        origin: Origin::Invitation {
            invitation: invitation.id.clone(),
            salt: vec![0; 32],
        },
        made_at: AT.to_owned(),
        revoked_at: None,
    };
    let take = Change::TakeSeat(TakenSeat {
        seat: seat.id.clone(),
        player: "Ash".to_owned(),
        member: None,
        key,
    });
    let answers = (0..events / 4).map(|number| {
        Change::Remember(StoredAnswer {
            key: "key".to_owned(),
            idempotency_key: format!("posting-{number}"),
            request_hash: [0; 32],
            status: 201,
            body: "x".repeat(ANSWER),
            at: AT.to_owned(),
        })
    });
    let opening = Opening {
        card: GameCard {
            id,
            name: "Copied".to_owned(),
            opened_at: AT.to_owned(),
            open_to_all: false,
            spectator_delay_minutes: 0,
            head: head(1),
            game_turns: 100,
            moment: moment.clone(),
        },
        entries: vec![entry(1)],
        secret: [0; 32],
        seats: vec![seat],
        invitations: vec![invitation],
    };
    store.open_game(&opening).await.expect("opened");
    let append = Append {
        game: id,
        after: head(1),
        entries: (2..=events).map(entry).collect(),
        moment,
        changes: std::iter::once(take).chain(answers).collect(),
    };
    store.append(&append).await.expect("appended");
    id
}
