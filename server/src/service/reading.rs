//! Reading: the table, the news, the record.

use bytes::Bytes;
use fieldpost_rules::game::{Event, Game, State, Unit};
use fieldpost_rules::interruption::Interruption;
use fieldpost_rules::verdict::Place;
use fieldpost_wire as wire;

use crate::measuring::Asker;
use crate::rendering;
use crate::store::{GameId, Head, StoredGame, seating_of};

use super::cache::TableView;
use super::entries::event_of;
use super::news::{news_item, to_move};
use super::summaries::sides;
use super::{Caller, Credentials, FoldedGame, Service, ServiceError, ServiceResult};

/// Entries read at a time.
const PAGE: u32 = 200;

/// A table written as JSON.
#[derive(Debug, Clone)]
pub struct WrittenTable {
    /// The entry of the record after which the table stands so.
    pub head: Head,
    /// A [`wire::Table`].
    pub json: Bytes,
}

impl Service {
    /// The table, as data, written as JSON.
    ///
    /// # Errors
    /// As [`Self::authenticate`]; [`ServiceError::NoSuchGame`], also when the caller may not read it.
    pub async fn table(
        &self,
        credentials: &Credentials,
        game: GameId,
    ) -> ServiceResult<WrittenTable> {
        let context = self.context(credentials, game).await?;
        let caller = &context.caller;
        let stored_game = context.readable_game()?.clone();
        let stored_game = self.as_seen_by(caller, stored_game).await?;
        let folded = self.folded_for(caller, &stored_game).await?;
        let view = TableView {
            side: caller.side_in(game).map(str::to_owned),
            seating: context.seating,
        };
        let json = match folded.rendered.get(&view) {
            Some(json) => json,
            None => self.write_table(&stored_game, &folded, view.side).await?,
        };
        Ok(WrittenTable {
            head: folded.head,
            json,
        })
    }

    /// The same, as it was after one of its events.
    ///
    /// # Errors
    /// As [`Self::table`]; [`ServiceError::NoSuchEvent`].
    pub async fn table_as_of(
        &self,
        credentials: &Credentials,
        game: GameId,
        at: u64,
    ) -> ServiceResult<WrittenTable> {
        let context = self.context(credentials, game).await?;
        let stored_game = context.readable_game()?.clone();
        let caller = &context.caller;
        let folded = self.folded_as_of(caller, game, Some(at)).await?;
        let side = caller.side_in(game).map(str::to_owned);
        Ok(WrittenTable {
            head: folded.head,
            json: self.write_table(&stored_game, &folded, side).await?,
        })
    }

    async fn write_table(
        &self,
        stored_game: &StoredGame,
        folded: &FoldedGame,
        side: Option<String>,
    ) -> ServiceResult<Bytes> {
        let seats = self.store.seats(stored_game.id).await?;
        // Of the seats that were read, which may be newer than those whose table was not there.
        let seating = seating_of(&seats);
        let own = side.clone().map(|side| wire::Own {
            your_turn: to_move(&folded.game).as_ref() == Some(&side),
            side,
        });
        let table = table_of(stored_game, folded, sides(seats), own);
        let json = Bytes::from(serde_json::to_vec(&table)?);
        folded
            .rendered
            .put(TableView { seating, side }, json.clone());
        Ok(json)
    }

    /// The game at its head, for drawing.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn folded(&self, caller: &Caller, game: GameId) -> ServiceResult<FoldedGame> {
        let stored_game = self.game_for(caller, game).await?;
        self.folded_for(caller, &stored_game).await
    }

    /// The table as text, so many characters wide.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn table_text(
        &self,
        asker: Asker,
        folded: FoldedGame,
        width: usize,
    ) -> ServiceResult<String> {
        self.measure(asker, move |_| {
            Ok(rendering::table_text(&folded.game, width))
        })
        .await
    }

    /// What happened after an event.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn news(
        &self,
        caller: &Caller,
        asker: &Asker,
        game: GameId,
        after: u64,
        limit: u32,
    ) -> ServiceResult<wire::NewsPage> {
        let stored_game = self.game_for(caller, game).await?;
        let last = stored_game
            .head
            .number
            .min(after.saturating_add(u64::from(limit)));
        let news = self.news_between(asker, game, after, last).await?;
        Ok(wire::NewsPage {
            head: stored_game.head.into(),
            news,
            more: last < stored_game.head.number,
        })
    }

    /// One event with its ledgers in words: a [`wire::EventPage`] as JSON.
    ///
    /// # Errors
    /// As [`Self::table`], and when the record is not that long.
    pub async fn event(
        &self,
        caller: &Caller,
        asker: Asker,
        game: GameId,
        number: u64,
    ) -> ServiceResult<Vec<u8>> {
        let stored_game = self.game_for(caller, game).await?;
        let before = number
            .checked_sub(1)
            .filter(|_| number <= stored_game.head.number);
        let Some(before) = before else {
            return Err(ServiceError::NoSuchEvent {
                requested: number,
                last: stored_game.head.number,
            });
        };
        let table = self.game_before(&asker, game, number).await?;
        let entry = self.store.entries(game, before, 1).await?.pop();
        let entry =
            entry.ok_or_else(|| ServiceError::damaged(format!("entry {number} is missing")))?;
        let page = move |_: &Interruption| {
            let written = event_of(&entry).and_then(|event| {
                let page = wire::EventPage {
                    number,
                    previous: hex::encode(entry.previous),
                    hash: hex::encode(entry.hash),
                    words: rendering::event_words(&table, &event),
                    at: entry.at,
                    event,
                };
                Ok(serde_json::to_vec(&page)?)
            });
            Ok(written)
        };
        self.measure(asker, page).await?
    }

    /// Entries after a number as they are stored, some at a time.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn record(
        &self,
        caller: &Caller,
        game: GameId,
        after: u64,
    ) -> ServiceResult<Vec<wire::RecordLine>> {
        let last = self.game_for(caller, game).await?.head.number;
        let is_late = self.is_late(caller, game).await?;
        let entries = self.store.entries(game, after, PAGE).await?;
        let seen = entries
            .into_iter()
            .take_while(|entry| !is_late || entry.number <= last);
        let lines = seen.map(|entry| wire::RecordLine {
            number: entry.number,
            hash: hex::encode(entry.hash),
            body: entry.body,
        });
        Ok(lines.collect())
    }

    /// Events after one number up to another, in words.
    pub(super) async fn news_between(
        &self,
        asker: &Asker,
        game: GameId,
        after: u64,
        last: u64,
    ) -> ServiceResult<Vec<wire::NewsItem>> {
        if after >= last {
            return Ok(Vec::new());
        }
        if let Some(recent) = self.cache.folded(game).await?.recent_news(after, last) {
            return Ok(recent);
        }
        let mut table = self.game_before(asker, game, after + 1).await?;
        let mut news = Vec::new();
        let mut read = after;
        while read < last {
            let entries = self.store.entries(game, read, PAGE).await?;
            if entries.is_empty() {
                break;
            }
            read = entries.last().map_or(last, |entry| entry.number);
            let told = move |_: &Interruption| {
                let mut told = Vec::new();
                for entry in entries.iter().take_while(|entry| entry.number <= last) {
                    let event = match event_of(entry) {
                        Ok(event) => event,
                        Err(error) => return Ok(Err(error)),
                    };
                    told.push(news_item(&table, entry.number, &entry.at, &event));
                    table.apply(&event);
                }
                Ok(Ok((told, table)))
            };
            let (told, after) = self.measure(asker.clone(), told).await??;
            news.extend(told);
            table = after;
        }
        Ok(news)
    }

    /// Number of the event that began the player turn being played, or last gave it more time: notices of its
    /// time are sent anew after each.
    pub(super) async fn turn_began(&self, game: GameId) -> ServiceResult<u64> {
        let (mut began, mut read) = (1, 0);
        loop {
            let entries = self.store.entries(game, read, PAGE).await?;
            for entry in &entries {
                if let Event::TurnClosed { .. } | Event::DeadlineMoved { .. } = event_of(entry)? {
                    began = entry.number;
                }
            }
            match entries.last() {
                Some(last) => read = last.number,
                None => return Ok(began),
            }
        }
    }

    /// The table as it stood before an entry: words say what changed from it.
    pub(super) async fn game_before(
        &self,
        asker: &Asker,
        game: GameId,
        number: u64,
    ) -> ServiceResult<Game> {
        let now = self.cache.folded(game).await?;
        let mut table = Game::new(now.game.shared_field());
        let mut read = 0;
        while read + 1 < number {
            let entries = self.store.entries(game, read, PAGE).await?;
            if entries.is_empty() {
                break;
            }
            read = entries.last().map_or(number, |entry| entry.number);
            let applied = move |_: &Interruption| {
                for entry in entries.iter().take_while(|entry| entry.number < number) {
                    match event_of(entry) {
                        Ok(event) => table.apply(&event),
                        Err(error) => return Ok(Err(error)),
                    }
                }
                Ok(Ok(table))
            };
            table = self.measure(asker.clone(), applied).await??;
        }
        Ok(table)
    }
}

fn table_of(
    stored_game: &StoredGame,
    folded: &FoldedGame,
    sides: Vec<wire::SideSummary>,
    own: Option<wire::Own>,
) -> wire::Table {
    let game = &folded.game;
    let side_key = |side: usize| game.side_id(side).0;
    wire::Table {
        id: stored_game.id.to_string(),
        name: stored_game.name.clone(),
        head: folded.head.into(),
        sides,
        game_turn: game.told_turn(),
        game_turns: stored_game.game_turns,
        player_turn: game.player_turn(),
        to_move: to_move(game),
        ended: game.ending().cloned(),
        exit_points: game.exit_points(),
        holders: game
            .holders()
            .iter()
            .map(|side| side.map(side_key))
            .collect(),
        units: game.units().map(|unit| table_unit(game, unit)).collect(),
        own,
    }
}

fn table_unit(game: &Game, unit: &Unit) -> wire::TableUnit {
    wire::TableUnit {
        id: unit.id.0.clone(),
        name: unit.name.clone(),
        side: game.side_id(unit.side).0,
        troops: unit.troops.clone(),
        arm: unit.arm,
        files: unit.files,
        ranks: unit.ranks(),
        bases: unit.bases,
        bases_at_start: unit.bases_at_start,
        strength: unit.strength(),
        disorder: unit.disorder,
        lines_paid: fieldpost_rules::referee::lines_paid(game, unit)
            .into_iter()
            .map(str::to_owned)
            .collect(),
        whereabouts: match &unit.state {
            State::Waiting(arrives) => wire::Whereabouts::Waiting {
                arrives: arrives.clone(),
            },
            State::Standing(pose) => wire::Whereabouts::Standing {
                place: Place::from(*pose),
                pose: *pose,
            },
            State::Gone(cause) => wire::Whereabouts::Gone { cause: *cause },
        },
    }
}
