//! Opening a game.

use std::sync::Arc;

use fieldpost_rules::dice;
use fieldpost_rules::game::{ClockRules, Event, FORMAT, Game, LAWS};
use fieldpost_rules::{authored, record, shipped};
use fieldpost_wire as wire;

use crate::key::{Key, fresh_id, random_bytes};
use crate::measuring::Asker;
use crate::store::{GameId, Head, Invitation, Opening, Seat, SeatRole, StoredGame};

use super::entries::stored_entries;
use super::summaries::{given_invitation, no_such_side};
use super::validate::{check_clock_rules, check_delay};
use super::{Caller, Service, ServiceError, ServiceResult, moment};

/// What a game is opened from.
#[derive(Debug, Clone)]
pub enum Files {
    /// A scenario shipped with the server, by key.
    Shipped(String),
    /// The organiser's own.
    Own(wire::TextFiles),
}

/// How a game is to be played.
#[derive(Debug, Clone, Copy)]
pub struct Terms {
    /// Whether spectators may read it without a key.
    pub open_to_all: bool,
    /// Minutes after which they see what happened.
    pub delay_minutes: u32,
    /// Whether whatever a seat does must be signed.
    pub signed: bool,
}

impl Service {
    /// Opens a game.
    ///
    /// # Errors
    /// When the caller is not the organiser, the scenario is unknown or its files have faults.
    pub async fn open_game(
        &self,
        caller: &Caller,
        files: Files,
        how: Terms,
        clock: Option<ClockRules>,
    ) -> ServiceResult<wire::OpenedGame> {
        let by = caller.must_organise()?;
        clock.as_ref().map(check_clock_rules).transpose()?;
        let spectator_delay_minutes = check_delay(how.delay_minutes)?;
        let texts = texts_of(files)?;
        let asker = Asker::Key(caller.holder()?.key.clone());
        let opening = self.measure(asker, move |_| {
            let field = authored::open_battle(
                (&texts.ruleset.name, &texts.ruleset.text),
                (&texts.scenario.name, &texts.scenario.text),
            );
            Ok((texts, field))
        });
        let (texts, field) = opening.await?;
        let game = Game::new(Arc::new(field.map_err(ServiceError::FaultyFiles)?));
        let id = GameId::fresh();
        let secret = random_bytes();
        let event = Event::Opened {
            format: FORMAT,
            laws: LAWS,
            signed: how.signed,
            game: id.to_string(),
            ruleset: texts.ruleset.text,
            scenario: texts.scenario.text,
            commitment: hex::encode(dice::commitment(&id.0, 1, dice::FIRST_ATTEMPT, &secret)),
        };
        let mut events = vec![event];
        events.extend(clock.map(|clock| Event::ClockSet { clock }));
        let at = self.now().to_string();
        let sealed = record::seal((0, record::BEFORE_THE_FIRST), &at, events)?;
        let entries = stored_entries(record::BEFORE_THE_FIRST, sealed);
        let last = entries
            .last()
            .ok_or_else(|| ServiceError::damaged("an opening of nothing"))?;
        let seats = seats_of(id, &game);
        let (keys, invitations) = seats
            .iter()
            .map(|seat| self.invitation_to(seat))
            .unzip::<_, _, Vec<_>, Vec<_>>();
        let opening = Opening {
            game: StoredGame {
                id,
                name: game.scenario().name.clone(),
                opened_at: at,
                open_to_all: how.open_to_all,
                spectator_delay_minutes,
                head: Head {
                    number: last.number,
                    hash: last.hash,
                },
                game_turns: game.scenario().game_turns,
                moment: moment(&game)?,
            },
            entries,
            secret,
            seats,
            invitations,
        };
        self.store.open_game(&by, &opening).await?;
        let given = opening.seats.iter().zip(&keys).zip(&opening.invitations);
        Ok(wire::OpenedGame {
            invitations: given
                .map(|((seat, key), invitation)| given_invitation(seat, key, invitation))
                .collect(),
            game: self.game_summary(&opening.game).await?,
        })
    }

    /// Issues a new invitation to a seat; an earlier unused one is void.
    ///
    /// # Errors
    /// When the caller is not the organiser, there is no such side or seat, or it is taken.
    pub async fn invite(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::Invite,
    ) -> ServiceResult<wire::GivenInvitation> {
        let by = caller.must_organise()?;
        let stored_game = self.game_for(caller, game).await?;
        if stored_game.moment.ending.is_some() {
            return Err(ServiceError::GameOver);
        }
        let seats = self.store.seats(game).await?;
        let seat = seat_asked(&seats, requested)?;
        if let Some(player) = &seat.player {
            return Err(ServiceError::SeatTaken {
                player: player.clone(),
            });
        }
        let (key, invitation) = self.invitation_to(seat);
        self.store.invite(&by, &invitation).await?;
        Ok(given_invitation(seat, &key, &invitation))
    }

    pub(super) fn invitation_to(&self, seat: &Seat) -> (Key, Invitation) {
        let key = Key::fresh();
        let issued = self.now();
        let expires = issued
            .saturating_add(self.invitation_lifetime)
            .unwrap_or(issued);
        let invitation = Invitation {
            id: key.id().to_owned(),
            seat: seat.id.clone(),
            secret_hash: key.hash().to_vec(),
            issued_at: issued.to_string(),
            expires_at: expires.to_string(),
            used_at: None,
            voided_at: None,
        };
        (key, invitation)
    }
}

/// The scenarios shipped with the server.
#[must_use]
pub fn shipped_scenarios() -> wire::Scenarios {
    let scenarios = shipped::SCENARIOS
        .iter()
        .map(|scenario| wire::ShippedScenario {
            key: scenario.key.to_owned(),
            name: scenario.title.to_owned(),
            about: about(scenario.key).unwrap_or_default(),
        });
    wire::Scenarios {
        scenarios: scenarios.collect(),
    }
}

/// The situation, as the scenario tells it.
fn about(key: &str) -> Option<String> {
    let field = shipped::find(key)?.open().ok()?;
    Some(field.scenario.about.trim().to_owned())
}

fn texts_of(files: Files) -> ServiceResult<wire::TextFiles> {
    let key = match files {
        Files::Own(texts) => return Ok(texts),
        Files::Shipped(key) => key,
    };
    let file = |shipped: shipped::Shipped| wire::TextFile {
        name: shipped.file_name(),
        text: shipped.text.to_owned(),
    };
    match shipped::find(&key) {
        Some(battle) => Ok(wire::TextFiles {
            ruleset: file(battle.ruleset),
            scenario: file(battle.scenario),
        }),
        None => Err(ServiceError::NoSuchScenario {
            requested: key,
            known: shipped::SCENARIOS
                .iter()
                .map(|scenario| scenario.key.to_owned())
                .collect(),
        }),
    }
}

fn seats_of(id: GameId, game: &Game) -> Vec<Seat> {
    (0..)
        .zip(&game.scenario().side)
        .map(|(place, side)| Seat {
            id: fresh_id(),
            game: id,
            place,
            role: SeatRole::Player {
                side: side.key.clone(),
                side_name: side.name.clone(),
            },
            player: None,
            member: None,
            reads_after: 0,
            by_organiser: false,
        })
        .collect()
}

/// The seat that an invitation is asked for: of a side's the first that is free, else its first.
fn seat_asked<'s>(seats: &'s [Seat], requested: &wire::Invite) -> ServiceResult<&'s Seat> {
    match (&requested.side, &requested.seat) {
        (None, Some(id)) => {
            let seat = seats.iter().find(|seat| seat.id == *id);
            seat.ok_or(ServiceError::NoSuchSeat)
        }
        (Some(side), None) => {
            let of_side = || seats.iter().filter(|seat| seat.side() == Some(side));
            let free = of_side().find(|seat| seat.player.is_none());
            free.or_else(|| of_side().next())
                .ok_or_else(|| no_such_side(seats, side))
        }
        _ => Err(ServiceError::Unclear("Give either \"side\" or \"seat\".")),
    }
}
