//! A large database, made of one game copied over and over. Only the copies' cards and numbers are true:
//! nobody plays in them.

use std::collections::BTreeMap;

use fieldpost_server::store::{
    Append, Authority, Change, GameId, Head, Invitation, Moment, Opening, Opens, Origin, Seat,
    SeatRole, Store, StoredAnswer, StoredEntry, StoredGame, StoredKey, TakenSeat, open,
};
use sqlx::{AssertSqlSafe, Connection, PgConnection, SqliteConnection};

const AT: &str = "2026-01-02T03:04:05.678Z";
/// Bytes of an entry and of an answer, near what a turn of a small battle takes.
const ENTRY: usize = 500;
const ANSWER: usize = 1500;

/// The columns of each table but its first. (A macro: the connections of two databases share no type.)
macro_rules! rest_of_tables {
    ($connection:ident, $columns_of:expr) => {{
        let mut rest = BTreeMap::new();
        for (table, first) in TABLES {
            let names = sqlx::query_scalar($columns_of).bind(table);
            let names = names.fetch_all(&mut $connection).await.expect("read");
            rest.insert(table, all_but(first, &names));
        }
        rest
    }};
}

macro_rules! run_all {
    ($connection:ident, $statements:ident) => {
        for sql in $statements {
            let done = sqlx::raw_sql(AssertSqlSafe(sql.clone())).execute(&mut $connection);
            done.await.unwrap_or_else(|error| panic!("{sql}: {error}"));
        }
    };
}

/// Fills a new file with so many games of so many events each.
pub async fn fill_file(url: &str, games: u64, events: u64) {
    let of = pattern(url, events).await.to_string();
    let mut connection = SqliteConnection::connect(url).await.expect("connects");
    let rest = rest_of_tables!(
        connection,
        "SELECT name FROM pragma_table_info($1) ORDER BY cid"
    );
    let numbers = format!(
        "(WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n WHERE k < {}) \
         SELECT unhex(printf('%032x', k)) AS id FROM n)",
        games - 1
    );
    let mut sql = vec![
        "PRAGMA foreign_keys = OFF".to_owned(),
        "PRAGMA synchronous = OFF".to_owned(),
        "BEGIN".to_owned(),
    ];
    sql.extend(copies(
        &rest,
        &numbers,
        &format!("x'{of}'"),
        "hex(games.id)",
    ));
    sql.push("COMMIT".to_owned());
    sql.push("PRAGMA wal_checkpoint(TRUNCATE)".to_owned());
    run_all!(connection, sql);
    connection.close().await.expect("closed");
}

/// Fills a new database on PostgreSQL in the same way; as a superuser, who may leave out the references.
pub async fn fill_postgres(url: &str, games: u64, events: u64) {
    let of = pattern(url, events).await.to_string();
    let mut connection = PgConnection::connect(url).await.expect("connects");
    let rest = rest_of_tables!(
        connection,
        "SELECT column_name::text FROM information_schema.columns \
         WHERE table_schema = 'public' AND table_name = $1 ORDER BY ordinal_position"
    );
    let numbers = format!(
        "(SELECT decode(lpad(to_hex(k), 32, '0'), 'hex') AS id FROM generate_series(1, {}) k)",
        games - 1
    );
    let mut sql = vec!["SET session_replication_role = replica".to_owned()];
    let of = format!("decode('{of}', 'hex')");
    sql.extend(copies(&rest, &numbers, &of, "encode(games.id, 'hex')"));
    sql.push("VACUUM ANALYZE".to_owned());
    sql.push("CHECKPOINT".to_owned());
    run_all!(connection, sql);
    connection.close().await.expect("closed");
}

/// The tables that are copied, with the first column of each.
const TABLES: [(&str, &str); 3] = [("games", "id"), ("events", "game"), ("answers", "key")];

/// The columns of a table but its first, which is that.
fn all_but(first: &str, columns: &[String]) -> String {
    assert_eq!(columns[0], first);
    columns[1..].join(", ")
}

/// Statements that copy one game: `rest` has the columns of each table but its first, `numbers` the ids to come, `of`
/// is the id copied and `key` what stands for a key.
fn copies(rest: &BTreeMap<&str, String>, numbers: &str, of: &str, key: &str) -> [String; 3] {
    let [games, events, answers] = TABLES.map(|(table, _)| &rest[table]);
    [
        format!(
            "INSERT INTO games SELECT * FROM {numbers} AS n, (SELECT {games} FROM games WHERE id = {of}) AS g"
        ),
        format!(
            "INSERT INTO events SELECT games.id, e.* FROM games, \
             (SELECT {events} FROM events WHERE game = {of}) AS e WHERE games.id <> {of}"
        ),
        format!(
            "INSERT INTO answers SELECT {key}, e.* FROM games, \
             (SELECT {answers} FROM answers) AS e WHERE games.id <> {of}"
        ),
    ]
}

/// Opens a new database and puts the game to be copied into it.
async fn pattern(url: &str, events: u64) -> GameId {
    let store = open(url, 1).await.expect("opens");
    let id = put(store.as_ref(), events).await;
    store.close().await;
    id
}

/// The game that is copied, with one answer for every four events.
async fn put(store: &dyn Store, events: u64) -> GameId {
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
        reads_after: 0,
        by_organiser: false,
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
    let key = StoredKey {
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
        number: 0,
        by_organiser: false,
        seat: seat.id.clone(),
        player: "Ash".to_owned(),
        member: None,
        key,
    });
    let answers = (0..events / 4).map(|number| {
        Change::StoreAnswer(StoredAnswer {
            key: "key".to_owned(),
            idempotency_key: format!("posting-{number}"),
            request_hash: [0; 32],
            status: 201,
            body: "x".repeat(ANSWER),
            at: AT.to_owned(),
        })
    });
    let opening = Opening {
        game: StoredGame {
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
    store
        .open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    let append = Append {
        by: Authority::Server,
        game: id,
        after: head(1),
        entries: (2..=events).map(entry).collect(),
        moment,
        changes: std::iter::once(take).chain(answers).collect(),
    };
    store.append(&append).await.expect("appended");
    id
}
