//! Rulings: the umpire decides, in words that stand in the record, and does what follows from them.

use fieldpost_rules::game::Event;
use fieldpost_rules::geometry::Pose;
use fieldpost_rules::orders::{SideId, UnitId};
use fieldpost_rules::referee;

use crate::store::GameId;
use crate::wire;

use super::appending::{Acts, Standing};
use super::by_post::must_have_happened;
use super::{Caller, Failure, Office, Outcome, names};

impl Office {
    /// Gives a ruling and does what it says, all or nothing.
    ///
    /// # Errors
    /// When the caller may not rule, the event named is not in the record, or what is to be done cannot be.
    pub async fn rule(
        &self,
        caller: &Caller,
        game: GameId,
        asked: &wire::Rule,
    ) -> Outcome<wire::Done> {
        self.card_for(caller, game).await?;
        caller.must_rule(game)?;
        let text = names::fit_text(&asked.text)?;
        self.done(game, |standing| {
            must_have_happened(standing, asked.about)?;
            let mut acts = match &asked.then {
                Some(action) => done(standing, action, &text)?,
                None => (Vec::new(), Vec::new()),
            };
            let ruling = Event::RulingGiven {
                about: asked.about,
                text: text.clone(),
            };
            acts.0.insert(0, ruling);
            Ok(acts)
        })
        .await
    }
}

/// What an action makes of the game.
fn done(standing: &Standing<'_>, action: &wire::Action, text: &str) -> Outcome<Acts> {
    standing.must_go_on()?;
    let game = &standing.folded.game;
    let clock = &standing.folded.clock;
    let one = |event| Ok((vec![event], Vec::new()));
    match action {
        wire::Action::MoreTime { days } => {
            let Some(side) = clock.to_move().filter(|_| clock.rules().is_some()) else {
                return Err(Failure::NoClock);
            };
            if !(1..=365).contains(days) {
                return Err(Failure::Unfit("days must be 1 to 365.".to_owned()));
            }
            one(Event::DeadlineMoved {
                side: SideId(side.to_owned()),
                days: *days,
                reason: text.to_owned(),
            })
        }
        wire::Action::Pass => standing.pass("the umpire rules so"),
        wire::Action::End { winner } => {
            let winner = winner.as_deref().map(SideId::from);
            if let Some(side) = &winner
                && game.side_index(side).is_none()
            {
                let sides = &game.scenario().side;
                return Err(Failure::NoSuchSide {
                    asked: side.0.clone(),
                    known: sides.iter().map(|side| side.key.clone()).collect(),
                });
            }
            let why = "The umpire ends the battle";
            one(referee::stop(game, winner, why, standing.sealed))
        }
        wire::Action::Correct { units } => {
            let mut places = Vec::with_capacity(units.len());
            for wire::PutUnit { unit, place } in units {
                let to = Pose::from_mm_deg(place.x_mm, place.y_mm, place.bearing_deg).ok_or_else(
                    || Failure::Unfit(format!("There is no such place for {unit} on any table.")),
                )?;
                places.push((UnitId::from(unit.as_str()), to));
            }
            let corrected = referee::correct(game, &places, text);
            let corrected =
                corrected.map_err(|why| Failure::Unfit(format!("It cannot be put so: {why}.")))?;
            Ok((corrected, Vec::new()))
        }
        wire::Action::Pause if clock.is_paused() => {
            Err(Failure::NotNow("The clocks stand already.".to_owned()))
        }
        wire::Action::Pause => one(Event::Paused {
            why: "the umpire rules so".to_owned(),
        }),
        wire::Action::Resume if !clock.is_paused() => {
            Err(Failure::NotNow("The clocks are running.".to_owned()))
        }
        wire::Action::Resume => one(Event::Resumed {
            why: "the umpire rules so".to_owned(),
        }),
    }
}
