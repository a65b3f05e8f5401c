//! The cache of games folded from their records; each can be made again from the store. The cache does not say what a
//! game's head is: that is read from the store at every request, and a cached game counts only if it has come as far.

use std::collections::VecDeque;
use std::num::NonZeroUsize;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use bytes::Bytes;
use fieldpost_rules::clock::Clock;
use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::Game;
use fieldpost_rules::record::{self, Entry, RecordState};
use fieldpost_wire as wire;
use jiff::Timestamp;
use lru::LruCache;
use tokio::task::spawn_blocking;

use crate::rendering::{Drawing, DrawingView};
use crate::store::{GameId, Head, Store, StoredEntry};

use super::changes::Changes;
use super::entries::entry_of;
use super::news::news_item;
use super::{ServiceError, ServiceResult};

/// Entries read at a time: no reader is held long (a long one lets the write-ahead log grow).
const PAGE: u32 = 500;
/// News cached with each game.
const RECENT: usize = 32;
/// Games in each of the two caches.
const CAPACITY: NonZeroUsize = NonZeroUsize::new(256).expect("not nought");

/// A game as its record leaves it.
#[derive(Debug, Clone)]
pub struct FoldedGame {
    /// The last entry folded.
    pub head: Head,
    /// The game after it.
    pub game: Arc<Game>,
    /// Its clock.
    pub clock: Arc<Clock>,
    /// What was changed besides sheets since the player turn began.
    pub(super) changes: Changes,
    /// Who may post with which keys, what is stale, what is committed to.
    pub record_state: Arc<RecordState>,
    /// News of the last entries, without gaps: many who watch need not each fold the record again.
    pub(super) recent: Arc<VecDeque<Arc<wire::NewsItem>>>,
    /// Its table as JSON, as far as it was asked for: applying another event empties this.
    pub(super) rendered: Arc<RenderedTables>,
}

impl FoldedGame {
    /// Applies the next entry, which was appended at that moment.
    pub(super) fn apply(&mut self, entry: &Entry, hash: Bytes32, at: Timestamp) {
        self.changes.apply(&entry.event);
        let game = Arc::make_mut(&mut self.game);
        game.apply(&entry.event);
        let to_move = game.ending().is_none().then(|| game.player_side().0);
        let clock = Arc::make_mut(&mut self.clock);
        clock.apply(&entry.event, at, to_move.as_deref());
        Arc::make_mut(&mut self.record_state).apply((game, clock), entry, hash);
        self.head = Head {
            number: entry.number,
            hash,
        };
        self.rendered = Arc::default();
    }

    /// Adds the news of the next entry.
    pub(super) fn push_news(&mut self, news: wire::NewsItem) {
        let recent = Arc::make_mut(&mut self.recent);
        recent.push_back(Arc::new(news));
        if recent.len() > RECENT {
            recent.pop_front();
        }
    }

    /// News after one number up to another, if they are cached.
    pub(super) fn recent_news(&self, after: u64, last: u64) -> Option<Vec<wire::NewsItem>> {
        let first = self.recent.front()?.number;
        if first > after + 1 || last > self.head.number {
            return None;
        }
        let wanted = self.recent.iter();
        let wanted = wanted.filter(|item| item.number > after && item.number <= last);
        Some(wanted.map(|item| wire::NewsItem::clone(item)).collect())
    }
}

/// Tables written as JSON and drawn for those who asked, of a game that has not changed since.
#[derive(Debug, Default)]
pub(super) struct RenderedTables {
    written: Mutex<Vec<(TableView, Bytes)>>,
    drawn: Mutex<Vec<(DrawingView, Drawing)>>,
}

/// All that a written table depends on besides the game itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct TableView {
    /// Who holds which seat.
    pub(super) seating: String,
    /// The side of whoever looks.
    pub(super) side: Option<String>,
}

/// Tables cached of one game: both sides' and a spectator's, before and after somebody left.
const VIEWS_MAX: usize = 6;
/// Drawings cached of one game, of some twenty kilobytes compressed and a hundred not: the table, the map, and what changed for both sides.
const DRAWINGS_MAX: usize = 4;

impl RenderedTables {
    pub(super) fn get(&self, view: &TableView) -> Option<Bytes> {
        let tables = self.written.lock().unwrap_or_else(PoisonError::into_inner);
        let found = tables.iter().find(|(known, _)| known == view);
        found.map(|(_, table)| table.clone())
    }

    pub(super) fn put(&self, view: TableView, table: Bytes) {
        let mut tables = self.written.lock().unwrap_or_else(PoisonError::into_inner);
        if tables.len() >= VIEWS_MAX {
            tables.remove(0);
        }
        tables.push((view, table));
    }

    pub(super) fn drawing(&self, view: DrawingView) -> Option<Drawing> {
        let drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        let found = drawn.iter().find(|(known, _)| *known == view);
        found.map(|(_, drawing)| drawing.clone())
    }

    pub(super) fn keep_drawing(&self, view: DrawingView, drawing: Drawing) {
        let mut drawn = self.drawn.lock().unwrap_or_else(PoisonError::into_inner);
        if drawn.len() >= DRAWINGS_MAX {
            drawn.remove(0);
        }
        drawn.push((view, drawing));
    }
}

pub(super) struct GameCache {
    store: Arc<dyn Store>,
    current: Games,
    /// Games as spectators see them who are shown everything some minutes later.
    delayed: Games,
}

impl GameCache {
    pub(super) fn new(store: Arc<dyn Store>) -> Self {
        Self {
            store,
            current: Games::default(),
            delayed: Games::default(),
        }
    }

    /// The game at its head.
    pub(super) async fn folded(&self, game: GameId) -> ServiceResult<FoldedGame> {
        let cached = self.current.get(game);
        let folded = self.read_on(game, cached, u64::MAX).await?;
        self.current.put(game, folded.clone());
        Ok(folded)
    }

    /// The game at this head or a later one: read only if it is not cached.
    pub(super) async fn folded_since(&self, game: GameId, head: Head) -> ServiceResult<FoldedGame> {
        match self.current.get(game) {
            Some(folded) if folded.head == head || folded.head.number > head.number => Ok(folded),
            _ => self.folded(game).await,
        }
    }

    /// Caches a game after what has just been appended to its record.
    pub(super) fn put(&self, game: GameId, folded: FoldedGame) {
        self.current.put(game, folded);
    }

    /// The game as it was after an entry.
    pub(super) async fn folded_at(&self, game: GameId, head: Head) -> ServiceResult<FoldedGame> {
        let is_there = |folded: &FoldedGame| folded.head == head;
        if let Some(folded) = self.current.get(game).filter(is_there) {
            return Ok(folded);
        }
        let before = |folded: &FoldedGame| folded.head.number <= head.number;
        let cached = self.delayed.get(game).filter(before);
        if let Some(folded) = cached.clone().filter(is_there) {
            return Ok(folded);
        }
        let folded = self.read_on(game, cached, head.number).await?;
        self.delayed.put(game, folded.clone());
        Ok(folded)
    }

    /// Folds what follows in the record, up to a number.
    async fn read_on(
        &self,
        game: GameId,
        cached: Option<FoldedGame>,
        last: u64,
    ) -> ServiceResult<FoldedGame> {
        let mut folded = cached;
        loop {
            let after = folded.as_ref().map_or(0, |folded| folded.head.number);
            let mut entries = self.store.entries(game, after, PAGE).await?;
            entries.retain(|entry| entry.number <= last);
            if entries.is_empty() {
                return folded.ok_or(ServiceError::NoSuchGame);
            }
            folded = Some(spawn_blocking(move || fold(folded, &entries)).await??);
        }
    }
}

/// Folded games; the one unused for longest makes room.
struct Games(Mutex<LruCache<GameId, FoldedGame>>);

impl Default for Games {
    fn default() -> Self {
        Self(Mutex::new(LruCache::new(CAPACITY)))
    }
}

impl Games {
    fn get(&self, game: GameId) -> Option<FoldedGame> {
        self.lock().get(&game).cloned()
    }

    /// Caches a game, unless one that has come further is cached already.
    fn put(&self, game: GameId, folded: FoldedGame) {
        let mut games = self.lock();
        let is_older = |cached: &FoldedGame| cached.head.number <= folded.head.number;
        if games.get(&game).is_none_or(is_older) {
            games.put(game, folded);
        }
    }

    fn lock(&self) -> MutexGuard<'_, LruCache<GameId, FoldedGame>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Applies entries that follow what is folded already.
fn fold(folded: Option<FoldedGame>, entries: &[StoredEntry]) -> ServiceResult<FoldedGame> {
    let mut rest = entries.iter();
    let mut folded = match folded {
        Some(folded) => folded,
        None => begin(rest.next())?,
    };
    while let Some(entry) = rest.next() {
        if entry.previous != folded.head.hash
            || record::hash_of(entry.body.as_bytes()) != entry.hash
        {
            return Err(ServiceError::damaged(format!(
                "entry {} does not follow",
                entry.number
            )));
        }
        let sealed = entry_of(entry)?;
        if rest.len() < RECENT {
            let news = news_item(&folded.game, entry.number, &entry.at, &sealed.event);
            folded.push_news(news);
        } else {
            folded.recent = Arc::default();
        }
        folded.apply(&sealed, entry.hash, moment_of(entry)?);
    }
    Ok(folded)
}

/// When an entry was appended.
fn moment_of(entry: &StoredEntry) -> ServiceResult<Timestamp> {
    let at = entry.at.parse();
    at.map_err(|_| {
        ServiceError::damaged(format!("entry {}: its moment {:?}", entry.number, entry.at))
    })
}

fn begin(first: Option<&StoredEntry>) -> ServiceResult<FoldedGame> {
    let first = first.ok_or(ServiceError::NoSuchGame)?;
    let entry = entry_of(first)?;
    let game = record::open(&entry.event)
        .map_err(|fault| ServiceError::damaged(format!("a record that was good once: {fault}")))?;
    let record_state = RecordState::open(&entry, first.hash)
        .ok_or_else(|| ServiceError::damaged("a record whose opening names no game"))?;
    let news = news_item(&game, first.number, &first.at, &entry.event);
    Ok(FoldedGame {
        head: Head {
            number: first.number,
            hash: first.hash,
        },
        clock: Arc::new(record::clock_of(&game)),
        changes: Changes::default(),
        game: Arc::new(game),
        record_state: Arc::new(record_state),
        recent: Arc::new(VecDeque::from([Arc::new(news)])),
        rendered: Arc::default(),
    })
}
