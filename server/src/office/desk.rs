//! Games folded from their records and kept at hand; each can be made again from the store. Nothing here says
//! what a game's head is: that is read from the store at every request, and what is at hand counts only if it
//! has come as far.

use std::collections::{BTreeMap, HashMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};

use axum::body::Bytes;
use fieldpost_rules::game::{Battlefield, Event, Game};
use fieldpost_rules::{authored, record};
use jiff::Timestamp;

use crate::clock::Clock;
use crate::store::{GameId, Head, Store, StoredEntry};
use fieldpost_wire as wire;

use super::reading::news_item;
use super::{Failure, Outcome, measure};

/// Entries read at a time: no reader is held long (a long one lets the write-ahead log grow).
const PAGE: u32 = 500;
/// News kept at hand of each.
const RECENT: usize = 32;
/// Games kept at hand on each shelf.
const ROOM: usize = 256;

/// A game as its record leaves it.
#[derive(Debug, Clone)]
pub struct Folded {
    /// The last entry folded.
    pub head: Head,
    /// The game after it.
    pub game: Arc<Game>,
    /// Its clock.
    pub clock: Arc<Clock>,
    /// News of the last entries, without gaps: many who watch need not each fold the record again.
    pub(super) recent: Arc<VecDeque<Arc<wire::NewsItem>>>,
    /// What was shown of it since it is so: a game that another entry was applied to has shown nothing yet.
    pub(super) shown: Arc<Shown>,
}

impl Folded {
    /// What an event of the record that was appended then makes of it; the head stays where it was.
    pub(super) fn hear(&mut self, event: &Event, at: Timestamp) {
        let game = Arc::make_mut(&mut self.game);
        game.apply(event);
        let to_move = game.ending().is_none().then(|| game.player_side().0);
        Arc::make_mut(&mut self.clock).hear(event, at, to_move.as_deref());
        self.shown = Arc::default();
    }

    /// Keeps the news of the next entry at hand.
    pub(super) fn remember(&mut self, news: wire::NewsItem) {
        let recent = Arc::make_mut(&mut self.recent);
        recent.push_back(Arc::new(news));
        if recent.len() > RECENT {
            recent.pop_front();
        }
    }

    /// News after one number up to another, if they are at hand.
    pub(super) fn recent_between(&self, after: u64, last: u64) -> Option<Vec<wire::NewsItem>> {
        let first = self.recent.front()?.number;
        if first > after + 1 || last > self.head.number {
            return None;
        }
        let wanted = self.recent.iter();
        let wanted = wanted.filter(|item| item.number > after && item.number <= last);
        Some(wanted.map(|item| wire::NewsItem::clone(item)).collect())
    }
}

/// Tables as they were written for those who asked, of a game that has not changed since.
#[derive(Debug, Default)]
pub(super) struct Shown(Mutex<Vec<(View, Bytes)>>);

/// All that a written table depends on besides the game itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct View {
    /// Who holds which seat.
    pub(super) seating: String,
    /// The side of whoever looks.
    pub(super) side: Option<String>,
}

/// Tables kept of one game: both sides' and a spectator's, before and after somebody left.
const VIEWS: usize = 6;

impl Shown {
    pub(super) fn get(&self, view: &View) -> Option<Bytes> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = kept.iter().find(|(kept, _)| kept == view);
        kept.map(|(_, table)| table.clone())
    }

    pub(super) fn keep(&self, view: View, table: Bytes) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= VIEWS {
            kept.remove(0);
        }
        kept.push((view, table));
    }
}

pub(super) struct Desk {
    store: Arc<dyn Store>,
    now: Shelf,
    /// Games as those see them who hear of everything some time later.
    late: Shelf,
}

impl Desk {
    pub(super) fn new(store: Arc<dyn Store>) -> Self {
        Self {
            store,
            now: Shelf::default(),
            late: Shelf::default(),
        }
    }

    /// The game as it stands now.
    pub(super) async fn folded(&self, game: GameId) -> Outcome<Folded> {
        let folded = self.read_on(game, self.now.take(game), u64::MAX).await?;
        self.now.put(game, folded.clone());
        Ok(folded)
    }

    /// The game as it stands now or stood since this was its head: read only if it is not at hand.
    pub(super) async fn folded_since(&self, game: GameId, head: Head) -> Outcome<Folded> {
        match self.now.take(game) {
            Some(folded) if folded.head == head || folded.head.number > head.number => Ok(folded),
            _ => self.folded(game).await,
        }
    }

    /// Keeps a game at hand after what has just been appended to its record.
    pub(super) fn keep(&self, game: GameId, folded: Folded) {
        self.now.put(game, folded);
    }

    /// The game as it stood after an entry.
    pub(super) async fn folded_at(&self, game: GameId, head: Head) -> Outcome<Folded> {
        let is_there = |folded: &Folded| folded.head == head;
        if let Some(folded) = self.now.take(game).filter(is_there) {
            return Ok(folded);
        }
        let before = |folded: &Folded| folded.head.number <= head.number;
        let begun = self.late.take(game).filter(before);
        if let Some(folded) = begun.clone().filter(is_there) {
            return Ok(folded);
        }
        let folded = self.read_on(game, begun, head.number).await?;
        self.late.put(game, folded.clone());
        Ok(folded)
    }

    /// Folds what follows in the record, up to a number.
    async fn read_on(&self, game: GameId, begun: Option<Folded>, last: u64) -> Outcome<Folded> {
        let mut folded = begun;
        loop {
            let after = folded.as_ref().map_or(0, |folded| folded.head.number);
            let mut entries = self.store.entries(game, after, PAGE).await?;
            entries.retain(|entry| entry.number <= last);
            let goes_on = entries.len() == PAGE as usize;
            if !entries.is_empty() {
                folded = Some(measure(move || fold(folded, &entries)).await??);
            }
            if !goes_on {
                return folded.ok_or(Failure::NoSuchGame);
            }
        }
    }
}

/// Games kept at hand, with the order in which they were put there.
#[derive(Default)]
struct Shelf(Mutex<Kept>);

#[derive(Default)]
struct Kept {
    games: HashMap<GameId, (u64, Folded)>,
    by_turn: BTreeMap<u64, GameId>,
    turn: u64,
}

impl Shelf {
    fn take(&self, game: GameId) -> Option<Folded> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.use_now(game)
    }

    /// Keeps the newest; the one unused for longest makes room.
    fn put(&self, game: GameId, folded: Folded) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(there) = kept.use_now(game)
            && there.head.number > folded.head.number
        {
            return;
        }
        kept.put(game, folded);
    }
}

impl Kept {
    /// What is kept of a game, which is the last to make room from now on.
    fn use_now(&mut self, game: GameId) -> Option<Folded> {
        let (turn, folded) = self.games.get_mut(&game)?;
        self.by_turn.remove(turn);
        self.turn += 1;
        *turn = self.turn;
        self.by_turn.insert(self.turn, game);
        Some(folded.clone())
    }

    fn put(&mut self, game: GameId, folded: Folded) {
        self.turn += 1;
        if let Some((turn, _)) = self.games.insert(game, (self.turn, folded)) {
            self.by_turn.remove(&turn);
        }
        self.by_turn.insert(self.turn, game);
        if self.games.len() > ROOM
            && let Some((_, oldest)) = self.by_turn.pop_first()
        {
            self.games.remove(&oldest);
        }
    }
}

/// What an entry says happened.
pub(super) fn event_of(entry: &StoredEntry) -> Outcome<Event> {
    let parsed: record::Entry = serde_json::from_str(&entry.body)
        .map_err(|error| Failure::damaged(format!("entry {}: {error}", entry.number)))?;
    Ok(parsed.event)
}

/// Applies entries that follow what is folded already.
fn fold(folded: Option<Folded>, entries: &[StoredEntry]) -> Outcome<Folded> {
    let mut rest = entries.iter();
    let mut folded = match folded {
        Some(folded) => folded,
        None => begin(rest.next())?,
    };
    while let Some(entry) = rest.next() {
        if entry.previous != folded.head.hash
            || record::hash_of(entry.body.as_bytes()) != entry.hash
        {
            return Err(Failure::damaged(format!(
                "entry {} does not follow",
                entry.number
            )));
        }
        let event = event_of(entry)?;
        if rest.len() < RECENT {
            let news = news_item(&folded.game, entry.number, &entry.at, &event);
            folded.remember(news);
        } else {
            folded.recent = Arc::default();
        }
        folded.hear(&event, moment_of(entry)?);
        folded.head = Head {
            number: entry.number,
            hash: entry.hash,
        };
    }
    Ok(folded)
}

/// The clock of a battle that has just been opened.
pub(super) fn clock_of(field: &Battlefield) -> Clock {
    let sides = field.scenario.side.iter().map(|side| side.key.clone());
    let sides: Vec<String> = sides.collect();
    Clock::new(&sides, sides.first().map_or("", String::as_str))
}

/// When an entry was appended.
fn moment_of(entry: &StoredEntry) -> Outcome<Timestamp> {
    let at = entry.at.parse();
    at.map_err(|_| Failure::damaged(format!("entry {}: its moment {:?}", entry.number, entry.at)))
}

fn begin(first: Option<&StoredEntry>) -> Outcome<Folded> {
    let first = first.ok_or(Failure::NoSuchGame)?;
    let event = event_of(first)?;
    let Event::Opened {
        ruleset, scenario, ..
    } = &event
    else {
        return Err(Failure::damaged(
            "a record that does not begin with its opening",
        ));
    };
    let field = authored::open_battle(("ruleset", ruleset), ("scenario", scenario))
        .map_err(|faults| Failure::damaged(format!("files that were good once: {faults:?}")))?;
    let game = Game::new(Arc::new(field));
    let news = news_item(&game, first.number, &first.at, &event);
    let mut folded = Folded {
        head: Head {
            number: first.number,
            hash: first.hash,
        },
        clock: Arc::new(clock_of(game.field())),
        game: Arc::new(game),
        recent: Arc::new(VecDeque::from([Arc::new(news)])),
        shown: Arc::default(),
    };
    folded.hear(&event, moment_of(first)?);
    Ok(folded)
}
