//! Reading: the table, the news, the record.

use axum::body::Bytes;
use fieldpost_rules::game::{Event, Game, State, Unit};
use fieldpost_rules::verdict::Place;
use fieldpost_view::words;

use crate::rules;
use crate::store::{GameCard, GameId, Head, seating_of};
use crate::wire;

use super::card::sides;
use super::desk::{View, event_of};
use super::{Caller, Failure, Folded, Office, Outcome, Visitor, measure};

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

impl Office {
    /// The table, as data, written as JSON.
    ///
    /// # Errors
    /// [`Failure::NoSuchGame`], also when the caller may not read it.
    pub async fn table(&self, visitor: &Visitor) -> Outcome<WrittenTable> {
        let card = self.card_of(visitor).await?;
        let folded = self.folded_for(&visitor.caller, &card).await?;
        let view = View {
            seating: visitor.seating.clone(),
            side: visitor.caller.side_in(card.id).map(str::to_owned),
        };
        let json = match folded.shown.get(&view) {
            Some(json) => json,
            None => self.write_table(&card, &folded, view.side).await?,
        };
        Ok(WrittenTable {
            head: folded.head,
            json,
        })
    }

    async fn write_table(
        &self,
        card: &GameCard,
        folded: &Folded,
        side: Option<String>,
    ) -> Outcome<Bytes> {
        let seats = self.store.seats(card.id).await?;
        // Of the seats that were read, which may be newer than those whose table was not there.
        let seating = seating_of(&seats);
        let own = side.clone().map(|side| wire::Own {
            your_turn: to_move(&folded.game).as_ref() == Some(&side),
            side,
        });
        let table = table_of(card, folded, sides(seats), own);
        let json = Bytes::from(serde_json::to_vec(&table).map_err(Failure::unwritable)?);
        folded.shown.keep(View { seating, side }, json.clone());
        Ok(json)
    }

    /// The game at its head, for drawing.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn folded(&self, caller: &Caller, game: GameId) -> Outcome<Folded> {
        let card = self.card_for(caller, game).await?;
        self.folded_for(caller, &card).await
    }

    /// The table as a drawing.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn table_svg(&self, folded: Folded) -> Outcome<String> {
        measure(move || rules::table_svg(&folded.game)).await
    }

    /// The table as text, so many characters wide.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn table_text(&self, folded: Folded, width: usize) -> Outcome<String> {
        measure(move || rules::table_text(&folded.game, width)).await
    }

    /// What happened after an event.
    ///
    /// # Errors
    /// As [`Self::table`].
    pub async fn news(
        &self,
        caller: &Caller,
        game: GameId,
        after: u64,
        limit: u32,
    ) -> Outcome<wire::NewsPage> {
        let card = self.card_for(caller, game).await?;
        let last = card.head.number.min(after.saturating_add(u64::from(limit)));
        let news = self.news_between(game, after, last).await?;
        Ok(wire::NewsPage {
            head: card.head.into(),
            news,
            more: last < card.head.number,
        })
    }

    /// One event with its ledgers in words.
    ///
    /// # Errors
    /// As [`Self::table`], and when the record is not that long.
    pub async fn event(
        &self,
        caller: &Caller,
        game: GameId,
        number: u64,
    ) -> Outcome<wire::EventPage> {
        let card = self.card_for(caller, game).await?;
        let before = number.checked_sub(1).filter(|_| number <= card.head.number);
        let Some(before) = before else {
            return Err(Failure::NoSuchEvent {
                asked: number,
                last: card.head.number,
            });
        };
        let table = self.game_before(game, number).await?;
        let entry = self.store.entries(game, before, 1).await?.pop();
        let entry = entry.ok_or_else(|| Failure::damaged(format!("entry {number} is missing")))?;
        let event = event_of(&entry)?;
        Ok(wire::EventPage {
            number,
            previous: hex::encode(entry.previous),
            hash: hex::encode(entry.hash),
            words: rules::event_words(&table, &event),
            at: entry.at,
            event,
        })
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
    ) -> Outcome<Vec<wire::RecordLine>> {
        let last = self.card_for(caller, game).await?.head.number;
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
        game: GameId,
        after: u64,
        last: u64,
    ) -> Outcome<Vec<wire::NewsItem>> {
        if after >= last {
            return Ok(Vec::new());
        }
        if let Some(recent) = self.desk.folded(game).await?.recent_between(after, last) {
            return Ok(recent);
        }
        let mut table = self.game_before(game, after + 1).await?;
        let mut news = Vec::new();
        let mut read = after;
        while read < last {
            let entries = self.store.entries(game, read, PAGE).await?;
            if entries.is_empty() {
                break;
            }
            for entry in entries.iter().take_while(|entry| entry.number <= last) {
                let event = event_of(entry)?;
                news.push(news_item(&table, entry.number, &entry.at, &event));
                table.apply(&event);
            }
            read = entries.last().map_or(last, |entry| entry.number);
        }
        Ok(news)
    }

    /// Number of the event that began the player turn being played, or last gave it more time: what is told of
    /// its time is told anew after each.
    pub(super) async fn turn_began(&self, game: GameId) -> Outcome<u64> {
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

    /// The table as it stood before an entry: words tell what changed from it.
    pub(super) async fn game_before(&self, game: GameId, number: u64) -> Outcome<Game> {
        let now = self.desk.folded(game).await?;
        let mut table = Game::new(now.game.shared_field());
        let mut read = 0;
        while read + 1 < number {
            let entries = self.store.entries(game, read, PAGE).await?;
            if entries.is_empty() {
                break;
            }
            for entry in entries.iter().take_while(|entry| entry.number < number) {
                table.apply(&event_of(entry)?);
            }
            read = entries.last().map_or(number, |entry| entry.number);
        }
        Ok(table)
    }
}

/// One event in words.
pub(super) fn news_item(before: &Game, number: u64, at: &str, event: &Event) -> wire::NewsItem {
    wire::NewsItem {
        number,
        at: at.to_owned(),
        event: kind_of(event),
        words: words::event(event, before),
    }
}

/// The kind of an event as it stands first in its JSON, of which no more is written.
fn kind_of(event: &Event) -> String {
    let mut beginning = Beginning::default();
    // Ends in an error as soon as there is enough.
    let _ = serde_json::to_writer(&mut beginning, event);
    let text = String::from_utf8_lossy(&beginning.0);
    let kind = text.strip_prefix("{\"event\":\"").unwrap_or_default();
    kind.split('"').next().unwrap_or_default().to_owned()
}

/// The first bytes of what is written.
#[derive(Default)]
struct Beginning(Vec<u8>);

impl std::io::Write for Beginning {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        // The longest kind of event is far shorter.
        if self.0.len() > 64 {
            return Err(std::io::ErrorKind::StorageFull.into());
        }
        self.0.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

pub(super) fn to_move(game: &Game) -> Option<String> {
    game.ending().is_none().then(|| game.player_side().0)
}

fn table_of(
    card: &GameCard,
    folded: &Folded,
    sides: Vec<wire::SideCard>,
    own: Option<wire::Own>,
) -> wire::Table {
    let game = &folded.game;
    let side_key = |side: usize| game.side_id(side).0;
    wire::Table {
        id: card.id.to_string(),
        name: card.name.clone(),
        head: folded.head.into(),
        sides,
        game_turn: game.told_turn(),
        game_turns: card.game_turns,
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
