//! Rulings: the umpire decides, in words that stand in the record, and does what follows from them.

use fieldpost_rules::game::Event;
use fieldpost_rules::geometry::Pose;
use fieldpost_rules::orders::{SideId, UnitId};
use fieldpost_rules::record::{ORGANISER, PostingKind};
use fieldpost_rules::referee;
use fieldpost_wire as wire;

use crate::store::{GameId, Seat, SeatRole};

use super::act::Sent;
use super::append::{Decision, Situation};
use super::caller::Ruler;
use super::validate::check_event_number;
use super::{Caller, Service, ServiceError, ServiceResult, names};

impl Service {
    /// Agrees for the caller's side that somebody who plays on the other rules as well. Agreeing again changes nothing.
    ///
    /// # Errors
    /// When the caller plays no side of the game, or nobody rules from that seat.
    pub async fn accept_umpire(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::AcceptUmpire,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let seats = self.store.seats(game).await?;
        let is_umpires = |seat: &Seat| seat.id == requested.seat && seat.role == SeatRole::Umpire;
        if requested.seat != ORGANISER && !seats.iter().any(is_umpires) {
            return Err(ServiceError::NoSuchSeat);
        }
        self.carry_out(
            game,
            &player.act(PostingKind::UmpireAccepted, sent),
            |situation| {
                situation.must_go_on()?;
                let record_state = &situation.folded.record_state;
                if record_state.is_accepted_by(&player.side, &requested.seat) {
                    return Ok((Vec::new(), Vec::new()));
                }
                let event = Event::UmpireAccepted {
                    side: player.side.clone(),
                    seat: requested.seat.clone(),
                };
                Ok((vec![event], Vec::new()))
            },
        )
        .await
    }

    /// Gives a ruling and does what it says, all or nothing.
    ///
    /// # Errors
    /// When the caller may not rule, the event named is not in the record, or what is to be done cannot be.
    pub async fn rule(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::Rule,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        self.game_for(caller, game).await?;
        let ruler = caller.ruler_of(game)?;
        let own_sides = ruler.own_sides(&self.store.seats(game).await?);
        let text = names::fit_text(&requested.text)?;
        self.carry_out(game, &ruler.act(PostingKind::Ruling, sent), |situation| {
            must_be_accepted(&ruler, &own_sides, situation)?;
            check_event_number(requested.about, situation.folded.head.number)?;
            let mut decision = match &requested.then {
                Some(action) => decide(situation, action, &text)?,
                None => (Vec::new(), Vec::new()),
            };
            let ruling = Event::RulingGiven {
                about: requested.about,
                text: text.clone(),
            };
            decision.0.insert(0, ruling);
            Ok(decision)
        })
        .await
    }
}

/// Refuses somebody who plays in the game they would rule in, unless every other side has agreed to that.
pub(super) fn must_be_accepted(
    ruler: &Ruler,
    own_sides: &[SideId],
    situation: &Situation<'_>,
) -> ServiceResult<()> {
    if own_sides.is_empty() {
        return Ok(());
    }
    let record_state = &situation.folded.record_state;
    let sides = situation.folded.game.scenario().side.iter();
    let mut others = sides
        .map(|side| SideId(side.key.clone()))
        .filter(|side| !own_sides.contains(side));
    if others.all(|side| record_state.is_accepted_by(&side, &ruler.seat)) {
        return Ok(());
    }
    Err(ServiceError::NotAllowed(
        "You play in this game: you rule in it only once the other side has agreed to that. Ask them, or invite an umpire.",
    ))
}

/// What an action makes of the game.
fn decide(situation: &Situation<'_>, action: &wire::Action, text: &str) -> ServiceResult<Decision> {
    situation.must_go_on()?;
    let game = &situation.folded.game;
    let clock = &situation.folded.clock;
    let one = |event| Ok((vec![event], Vec::new()));
    match action {
        wire::Action::MoreTime { days } => {
            let Some(side) = clock.to_move().filter(|_| clock.rules().is_some()) else {
                return Err(ServiceError::NoClock);
            };
            if !(1..=365).contains(days) {
                return Err(ServiceError::Unfit("days must be 1 to 365.".to_owned()));
            }
            one(Event::DeadlineMoved {
                side: SideId(side.to_owned()),
                days: *days,
                reason: text.to_owned(),
            })
        }
        wire::Action::Pass => situation.pass("the umpire rules so"),
        wire::Action::End { winner } => {
            let winner = winner.as_deref().map(SideId::from);
            if let Some(side) = &winner
                && game.side_index(side).is_none()
            {
                let sides = &game.scenario().side;
                return Err(ServiceError::NoSuchSide {
                    requested: side.0.clone(),
                    known: sides.iter().map(|side| side.key.clone()).collect(),
                });
            }
            let why = "The umpire ends the battle";
            one(referee::stop(game, winner, why, situation.sealed))
        }
        wire::Action::Correct { units } => {
            let mut places = Vec::with_capacity(units.len());
            for wire::PutUnit { unit, place } in units {
                let to = Pose::from_mm_deg(place.x_mm, place.y_mm, place.bearing_deg).ok_or_else(
                    || {
                        ServiceError::Unfit(format!(
                            "There is no such place for {unit} on any table."
                        ))
                    },
                )?;
                places.push((UnitId::from(unit.as_str()), to));
            }
            let corrected = referee::correct(game, &places, text);
            let corrected = corrected
                .map_err(|why| ServiceError::Unfit(format!("It cannot be put so: {why}.")))?;
            Ok((corrected, Vec::new()))
        }
        wire::Action::Pause if clock.is_paused() => {
            Err(ServiceError::NotNow("The clocks stand already.".to_owned()))
        }
        wire::Action::Pause => one(Event::Paused {
            why: "the umpire rules so".to_owned(),
        }),
        wire::Action::Resume if !clock.is_paused() => {
            Err(ServiceError::NotNow("The clocks are running.".to_owned()))
        }
        wire::Action::Resume => one(Event::Resumed {
            why: "the umpire rules so".to_owned(),
        }),
    }
}
