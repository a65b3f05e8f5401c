//! What players do besides posting sheets: leave, pauses, claims, giving up, asking the umpire.

use fieldpost_rules::clock::Clock;
use fieldpost_rules::game::{ClockRules, Event, Game};
use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::PostingKind;
use fieldpost_rules::referee;
use fieldpost_view::words::agreed;
use fieldpost_wire as wire;
use jiff::civil::Date;

use crate::measuring::Asker;
use crate::store::GameId;

use super::act::{Act, Sent};
use super::append::{Decision, Situation};
use super::cache::FoldedGame;
use super::rulings::must_be_accepted;
use super::summaries::clock_page;
use super::validate::{check_clock_rules, check_event_number, time_zone_name};
use super::{Caller, Service, ServiceError, ServiceResult, names};

impl Service {
    /// The clock of a game.
    ///
    /// # Errors
    /// When the caller may not read the game.
    pub async fn clock(&self, caller: &Caller, game: GameId) -> ServiceResult<wire::ClockPage> {
        let folded = self.folded(caller, game).await?;
        Ok(clock_page(&folded, self.now()))
    }

    /// Sets a game's clock, or another way for it to run.
    ///
    /// # Errors
    /// When the caller may not rule, or the rules are out of reach.
    pub async fn set_clock(
        &self,
        caller: &Caller,
        game: GameId,
        rules: ClockRules,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        self.game_for(caller, game).await?;
        let ruler = caller.ruler_of(game)?;
        let own_sides = ruler.own_sides(&self.store.seats(game).await?);
        check_clock_rules(&rules)?;
        self.carry_out(game, &ruler.act(PostingKind::Clock, sent), |situation| {
            must_be_accepted(&ruler, &own_sides, situation)?;
            situation.must_go_on()?;
            let clock = rules.clone();
            Ok((vec![Event::ClockSet { clock }], Vec::new()))
        })
        .await
    }

    /// Lets the days of the caller's side count in a time zone.
    ///
    /// # Errors
    /// When the caller has no seat in the game, or there is no such zone.
    pub async fn set_zone(
        &self,
        caller: &Caller,
        game: GameId,
        zone: &str,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        let zone = time_zone_name(zone)?;
        self.carry_out(game, &player.act(PostingKind::Zone, sent), |situation| {
            situation.must_go_on()?;
            if situation.folded.clock.zone(&side.0) == Some(zone.as_str()) {
                return Ok((Vec::new(), Vec::new()));
            }
            let (side, zone) = (side.clone(), zone.clone());
            Ok((vec![Event::ZoneSet { side, zone }], Vec::new()))
        })
        .await
    }

    /// Takes leave.
    ///
    /// # Errors
    /// When the caller has no seat in the game, there is no clock, or not so much leave.
    pub async fn take_leave(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::TakeLeave,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        let from: Date = requested
            .from
            .parse()
            .map_err(|_| ServiceError::Unfit("from must be a day, as in 2026-07-31.".to_owned()))?;
        self.carry_out(game, &player.act(PostingKind::Leave, sent), |situation| {
            situation.must_go_on()?;
            let clock = running(situation.folded)?;
            if clock.to_move() == Some(side.0.as_str()) && clock.is_out(situation.at) {
                let why = "Your time is out already: leave cannot bring it back.";
                return Err(ServiceError::NotNow(why.to_owned()));
            }
            clock
                .may_take(&side.0, from, requested.days, situation.at)
                .map_err(|error| ServiceError::Unfit(error.to_string()))?;
            let event = Event::LeaveTaken {
                side: side.clone(),
                from: from.to_string(),
                days: requested.days,
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Asks for a pause; when the other side has asked too, the clocks stand.
    ///
    /// # Errors
    /// When the caller has no seat in the game, there is no clock, or it stands already.
    pub async fn ask_pause(
        &self,
        caller: &Caller,
        game: GameId,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        self.carry_out(game, &player.act(PostingKind::Pause, sent), |situation| {
            situation.must_go_on()?;
            let clock = running(situation.folded)?;
            if clock.is_paused() {
                return Err(ServiceError::NotNow("The clocks stand already.".to_owned()));
            }
            if clock.asks_pause(&side.0) {
                return Ok((Vec::new(), Vec::new()));
            }
            let mut events = vec![Event::PauseAsked { side: side.clone() }];
            let sides = &situation.folded.game.scenario().side;
            let mut others = sides.iter().filter(|other| other.key != side.0);
            if others.all(|other| clock.asks_pause(&other.key)) {
                let why = "both sides asked for a pause".to_owned();
                events.push(Event::Paused { why });
            }
            Ok((events, Vec::new()))
        })
        .await
    }

    /// Lets the clocks run again.
    ///
    /// # Errors
    /// When the caller has no seat in the game, or the clocks run.
    pub async fn resume(
        &self,
        caller: &Caller,
        game: GameId,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        self.carry_out(game, &player.act(PostingKind::Resume, sent), |situation| {
            situation.must_go_on()?;
            let clock = running(situation.folded)?;
            if !clock.is_paused() {
                return Err(ServiceError::NotNow("The clocks are running.".to_owned()));
            }
            let name = side_name(&situation.folded.game, side);
            let why = format!("{name} {} on", agreed(&name, "plays", "play"));
            Ok((vec![Event::Resumed { why }], Vec::new()))
        })
        .await
    }

    /// Claims the game because the other side's time is out.
    ///
    /// # Errors
    /// When the caller has no seat in the game, the rules give no claim, or there is time left.
    pub async fn claim(
        &self,
        caller: &Caller,
        game: GameId,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        self.carry_out(game, &player.act(PostingKind::Claim, sent), |situation| {
            situation.must_go_on()?;
            may_claim(situation, side)?;
            let why = "Time is out, and the other side claims the battle";
            let end = referee::stop(
                &situation.folded.game,
                Some(side.clone()),
                why,
                situation.sealed,
            );
            let side = side.clone();
            Ok((vec![Event::TimeClaimed { side }, end], Vec::new()))
        })
        .await
    }

    /// Gives the battle up.
    ///
    /// # Errors
    /// When the caller has no seat in the game, or it is over.
    pub async fn concede(
        &self,
        caller: &Caller,
        game: GameId,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        self.carry_out(
            game,
            &player.act(PostingKind::Concession, sent),
            |situation| {
                situation.must_go_on()?;
                let table = &situation.folded.game;
                let name = side_name(table, side);
                let why = format!("{name} {} the battle up", agreed(&name, "gives", "give"));
                let winner = table.side_index(side).map(|index| table.side_id(1 - index));
                let end = referee::stop(table, winner, &why, situation.sealed);
                let side = side.clone();
                Ok((vec![Event::Conceded { side }, end], Vec::new()))
            },
        )
        .await
    }

    /// Asks the umpire.
    ///
    /// # Errors
    /// When the caller has no seat in the game, or the event named is not in the record.
    pub async fn dispute(
        &self,
        caller: &Caller,
        game: GameId,
        requested: &wire::RaiseDispute,
        sent: &Sent,
    ) -> ServiceResult<wire::Done> {
        let player = caller.player_in(game)?;
        let side = &player.side;
        let text = names::fit_text(&requested.text)?;
        self.carry_out(game, &player.act(PostingKind::Dispute, sent), |situation| {
            check_event_number(requested.about, situation.folded.head.number)?;
            let event = Event::DisputeRaised {
                side: side.clone(),
                about: requested.about,
                text: text.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Appends for an act what `decide` makes of a game; the answer says what came of it.
    pub(super) async fn carry_out(
        &self,
        game: GameId,
        act: &Act<'_>,
        decide: impl Fn(&Situation<'_>) -> ServiceResult<Decision>,
    ) -> ServiceResult<wire::Done> {
        let (before, after) = self.append_decided(game, act, decide).await?;
        let news = self
            .news_between(&Asker::Server, game, before.head.number, after.head.number)
            .await?;
        Ok(wire::Done {
            head: after.head.into(),
            news,
            clock: clock_page(&after, self.now()),
        })
    }
}

fn may_claim(situation: &Situation<'_>, side: &SideId) -> ServiceResult<()> {
    use fieldpost_rules::game::WhenOut;
    let clock = running(situation.folded)?;
    let rules = clock.rules().ok_or(ServiceError::NoClock)?;
    if clock.to_move() == Some(side.0.as_str()) {
        let why = "It is your own turn: post a sheet.".to_owned();
        return Err(ServiceError::NotNow(why));
    }
    if !clock.is_out(situation.at) {
        let why = match clock.due() {
            Some(due) => format!("The other side has time until {due}."),
            None => "The other side's clock does not run.".to_owned(),
        };
        return Err(ServiceError::NotNow(why));
    }
    match rules.when_out {
        WhenOut::Claim => Ok(()),
        WhenOut::Pass => Err(ServiceError::NotNow(
            "In this game the turn passes when time is out; wait a moment.".to_owned(),
        )),
        WhenOut::Umpire => Err(ServiceError::NotNow(
            "In this game the umpire decides when time is out.".to_owned(),
        )),
    }
}

fn running(folded: &FoldedGame) -> ServiceResult<&Clock> {
    match folded.clock.rules() {
        Some(_) => Ok(&folded.clock),
        None => Err(ServiceError::NoClock),
    }
}

fn side_name(game: &Game, side: &SideId) -> String {
    let sides = &game.scenario().side;
    let named = sides.iter().find(|named| named.key == side.0);
    named.map_or_else(|| side.0.clone(), |named| named.name.clone())
}
