//! A store for one test, and values to keep in it.

use std::sync::Arc;

use fieldpost_server::store::{
    self, Append, Authority, GameId, Head, Invitation, Moment, Opening, Opens, Origin, Seat,
    SeatRole, Store, StoredEntry, StoredGame, StoredKey,
};
use fieldpost_tests::postgres;
use tempfile::TempDir;

/// Which database.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    Sqlite,
    Postgres,
}

/// A fresh store that goes with this.
pub struct Kept {
    kept: Option<Arc<dyn Store>>,
    pub url: String,
    _folder: Option<TempDir>,
    _database: Option<postgres::Database>,
}

impl Kept {
    /// None where there is no such database; that has been told then.
    pub async fn fresh(on: On) -> Option<Self> {
        let (url, folder, database) = match on {
            On::Sqlite => {
                let folder = tempfile::tempdir().expect("a folder");
                let url = format!("sqlite:{}", folder.path().join("games.db").display());
                (url, Some(folder), None)
            }
            On::Postgres => {
                let database = postgres::Database::fresh()?;
                (database.url(), None, Some(database))
            }
        };
        Some(Self {
            kept: Some(open(&url).await),
            url,
            _folder: folder,
            _database: database,
        })
    }

    /// Closes it and opens it again.
    pub async fn reopen(&mut self) {
        self.store().close().await;
        // The file's lock goes with the store.
        self.kept = None;
        self.kept = Some(open(&self.url).await);
    }

    pub fn store(&self) -> Arc<dyn Store> {
        Arc::clone(self.kept.as_ref().expect("open"))
    }
}

pub async fn open(url: &str) -> Arc<dyn Store> {
    store::open(url, 8).await.expect("opens")
}

/// A test on each database.
macro_rules! on_both {
    ($($(#[$about:meta])* async fn $name:ident($kept:ident: Kept) $body:block)*) => {$(
        $(#[$about])*
        mod $name {
            use super::*;

            async fn body($kept: Kept) $body

            #[tokio::test(flavor = "multi_thread")]
            async fn sqlite() {
                body(Kept::fresh(On::Sqlite).await.expect("always there")).await;
            }

            #[tokio::test(flavor = "multi_thread")]
            async fn postgres() {
                if let Some(kept) = Kept::fresh(On::Postgres).await {
                    body(kept).await;
                }
            }
        }
    )*};
}
pub(crate) use on_both;

pub fn bytes<const N: usize>(seed: u64) -> [u8; N] {
    // Different for each seed is all that is asked.
    let seed = seed.to_be_bytes();
    std::array::from_fn(|place| seed[place % 8] ^ (place / 8) as u8)
}

pub const AT: &str = "2026-01-02T03:04:05.678Z";

pub fn moment(player_turn: u64) -> Moment {
    Moment {
        player_turn,
        to_move: Some("red".to_owned()),
        ending: None,
    }
}

pub fn entry(number: u64, seed: u64) -> StoredEntry {
    StoredEntry {
        number,
        previous: bytes(seed),
        hash: bytes(seed + 1),
        body: format!("{{\"entry\":{seed},\"words\":\"Grünbach — 猫\"}}"),
        at: AT.to_owned(),
    }
}

pub fn invitation(seat: &Seat, seed: u64) -> Invitation {
    Invitation {
        id: format!("invitation-{seed}"),
        seat: seat.id.clone(),
        secret_hash: bytes::<32>(seed).to_vec(),
        issued_at: AT.to_owned(),
        expires_at: AT.to_owned(),
        used_at: None,
        voided_at: None,
    }
}

pub fn organiser(seed: u64) -> StoredKey {
    StoredKey {
        id: format!("organiser-{seed}"),
        secret_hash: bytes::<32>(seed).to_vec(),
        opens: Opens::Organiser,
        origin: Origin::Afresh,
        made_at: AT.to_owned(),
        revoked_at: None,
    }
}

pub fn seat_key(seat: &str, invitation: &str, seed: u64) -> StoredKey {
    StoredKey {
        id: format!("key-{seed}"),
        secret_hash: bytes::<32>(seed).to_vec(),
        opens: Opens::Seat {
            seat: seat.to_owned(),
        },
        origin: Origin::Invitation {
            invitation: invitation.to_owned(),
            salt: bytes::<16>(seed).to_vec(),
        },
        made_at: AT.to_owned(),
        revoked_at: None,
    }
}

/// A game with two seats, each with an invitation; greater seeds give greater ids.
pub fn opening(seed: u64, open_to_all: bool) -> Opening {
    let mut id = [0; 16];
    id[..8].copy_from_slice(&seed.to_be_bytes());
    let id = GameId(id);
    let first = entry(1, seed * 1_000_000);
    let seats: Vec<Seat> = [("red", "Red"), ("blue", "Blue")]
        .into_iter()
        .zip(0..)
        .map(|((side, side_name), place)| Seat {
            id: format!("seat-{seed}-{place}"),
            game: id,
            place,
            role: SeatRole::Player {
                side: side.to_owned(),
                side_name: side_name.to_owned(),
            },
            player: None,
            member: None,
            reads_after: 0,
            by_organiser: false,
        })
        .collect();
    Opening {
        game: StoredGame {
            id,
            name: format!("Battle {seed}"),
            opened_at: AT.to_owned(),
            open_to_all,
            spectator_delay_minutes: 0,
            head: Head {
                number: 1,
                hash: first.hash,
            },
            game_turns: 6,
            moment: moment(1),
        },
        entries: vec![first],
        secret: bytes(seed),
        invitations: seats
            .iter()
            .map(|seat| invitation(seat, seed * 10 + u64::from(seat.place)))
            .collect(),
        seats,
    }
}

/// Entries after a head and nothing else.
pub fn append(game: GameId, after: Head, entries: u64, seed: u64) -> Append {
    Append {
        game,
        by: Authority::Server,
        after,
        entries: (1..=entries)
            .map(|step| entry(after.number + step, seed + step))
            .collect(),
        moment: moment(1),
        changes: Vec::new(),
    }
}

/// The head that an append leaves.
pub fn head_after(append: &Append) -> Head {
    let last = append.entries.last().expect("entries");
    Head {
        number: last.number,
        hash: last.hash,
    }
}
