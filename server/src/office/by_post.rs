//! What players do beside their sheets: leave, pauses, claims, giving up, asking the umpire.

use fieldpost_rules::game::{ClockRules, Event, Game};
use fieldpost_rules::orders::SideId;
use fieldpost_rules::referee;
use fieldpost_view::words::agreed;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::clock::{Clock, LeaveFault};
use crate::store::GameId;
use fieldpost_wire as wire;

use super::appending::Standing;
use super::{Caller, Failure, Folded, Office, Outcome, names};

impl Office {
    /// The clock of a game.
    ///
    /// # Errors
    /// When the caller may not read the game.
    pub async fn clock(&self, caller: &Caller, game: GameId) -> Outcome<wire::ClockPage> {
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
    ) -> Outcome<wire::Done> {
        self.card_for(caller, game).await?;
        caller.must_rule(game)?;
        must_run(&rules)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            let clock = rules.clone();
            Ok((vec![Event::ClockSet { clock }], Vec::new()))
        })
        .await
    }

    /// Lets the days of the caller's side count in a time zone.
    ///
    /// # Errors
    /// When the caller has no seat in the game, or there is no such zone.
    pub async fn set_zone(&self, caller: &Caller, game: GameId, zone: &str) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        let zone = zone_named(zone)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            if standing.folded.clock.zone(&side.0) == Some(zone.as_str()) {
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
        asked: &wire::TakeLeave,
    ) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        let from: Date = asked
            .from
            .parse()
            .map_err(|_| Failure::Unfit("from must be a day, as in 2026-07-31.".to_owned()))?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            let clock = running(standing.folded)?;
            if clock.to_move() == Some(side.0.as_str()) && clock.is_out(standing.at) {
                let why = "Your time is out already: leave cannot bring it back.";
                return Err(Failure::NotNow(why.to_owned()));
            }
            clock
                .may_take(&side.0, from, asked.days, standing.at)
                .map_err(|fault| Failure::Unfit(leave_words(&fault)))?;
            let event = Event::LeaveTaken {
                side: side.clone(),
                from: from.to_string(),
                days: asked.days,
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Asks for a pause; when the other side has asked too, the clocks stand.
    ///
    /// # Errors
    /// When the caller has no seat in the game, there is no clock, or it stands already.
    pub async fn ask_pause(&self, caller: &Caller, game: GameId) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            let clock = running(standing.folded)?;
            if clock.is_paused() {
                return Err(Failure::NotNow("The clocks stand already.".to_owned()));
            }
            if clock.asks_pause(&side.0) {
                return Ok((Vec::new(), Vec::new()));
            }
            let mut events = vec![Event::PauseAsked { side: side.clone() }];
            let sides = &standing.folded.game.scenario().side;
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
    pub async fn resume(&self, caller: &Caller, game: GameId) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            let clock = running(standing.folded)?;
            if !clock.is_paused() {
                return Err(Failure::NotNow("The clocks are running.".to_owned()));
            }
            let name = side_name(&standing.folded.game, &side);
            let why = format!("{name} {} on", agreed(&name, "plays", "play"));
            Ok((vec![Event::Resumed { why }], Vec::new()))
        })
        .await
    }

    /// Claims the game because the other side's time is out.
    ///
    /// # Errors
    /// When the caller has no seat in the game, the rules give no claim, or there is time left.
    pub async fn claim(&self, caller: &Caller, game: GameId) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            may_claim(standing, &side)?;
            let why = "Time is out, and the other side claims the battle";
            let end = referee::stop(
                &standing.folded.game,
                Some(side.clone()),
                why,
                standing.sealed,
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
    pub async fn concede(&self, caller: &Caller, game: GameId) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        self.done(game, |standing| {
            standing.must_go_on()?;
            let table = &standing.folded.game;
            let name = side_name(table, &side);
            let why = format!("{name} {} the battle up", agreed(&name, "gives", "give"));
            let winner = table
                .side_index(&side)
                .map(|index| table.side_id(1 - index));
            let end = referee::stop(table, winner, &why, standing.sealed);
            let side = side.clone();
            Ok((vec![Event::Conceded { side }, end], Vec::new()))
        })
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
        asked: &wire::RaiseDispute,
    ) -> Outcome<wire::Done> {
        let side = side_of(caller, game)?;
        let text = names::fit_text(&asked.text)?;
        self.done(game, |standing| {
            must_have_happened(standing, asked.about)?;
            let event = Event::DisputeRaised {
                side: side.clone(),
                about: asked.about,
                text: text.clone(),
            };
            Ok((vec![event], Vec::new()))
        })
        .await
    }

    /// Acts, and tells what came of it.
    pub(super) async fn done(
        &self,
        game: GameId,
        decide: impl Fn(&Standing<'_>) -> Outcome<super::appending::Acts>,
    ) -> Outcome<wire::Done> {
        let (before, after) = self.act(game, decide).await?;
        let news = self
            .news_between(game, before.head.number, after.head.number)
            .await?;
        Ok(wire::Done {
            head: after.head.into(),
            news,
            clock: clock_page(&after, self.now()),
        })
    }
}

/// Nothing, if a clock can run so.
pub(super) fn must_run(rules: &ClockRules) -> Outcome<()> {
    rules
        .check()
        .map_err(|fault| Failure::Unfit(format!("The clock cannot run so: {fault}.")))
}

/// The zone's name as the database of zones has it.
pub(super) fn zone_named(zone: &str) -> Outcome<String> {
    let found = TimeZone::get(zone.trim()).ok();
    let name = found.as_ref().and_then(TimeZone::iana_name);
    name.map(str::to_owned).ok_or_else(|| {
        Failure::Unfit(
            "There is no such time zone; one is named as in Europe/Lisbon or UTC.".to_owned(),
        )
    })
}

/// Nothing, if an event that is spoken of is in the record.
pub(super) fn must_have_happened(standing: &Standing<'_>, about: Option<u64>) -> Outcome<()> {
    let last = standing.folded.head.number;
    match about {
        Some(asked) if asked == 0 || asked > last => Err(Failure::NoSuchEvent { asked, last }),
        _ => Ok(()),
    }
}

fn may_claim(standing: &Standing<'_>, side: &SideId) -> Outcome<()> {
    use fieldpost_rules::game::WhenOut;
    let clock = running(standing.folded)?;
    let rules = clock.rules().ok_or(Failure::NoClock)?;
    if clock.to_move() == Some(side.0.as_str()) {
        let why = "It is your own turn: post a sheet.".to_owned();
        return Err(Failure::NotNow(why));
    }
    if !clock.is_out(standing.at) {
        let why = match clock.due() {
            Some(due) => format!("The other side has time until {due}."),
            None => "The other side's clock does not run.".to_owned(),
        };
        return Err(Failure::NotNow(why));
    }
    match rules.when_out {
        WhenOut::Claim => Ok(()),
        WhenOut::Pass => Err(Failure::NotNow(
            "In this game the turn passes when time is out; wait a moment.".to_owned(),
        )),
        WhenOut::Umpire => Err(Failure::NotNow(
            "In this game the umpire decides when time is out.".to_owned(),
        )),
    }
}

fn running(folded: &Folded) -> Outcome<&Clock> {
    match folded.clock.rules() {
        Some(_) => Ok(&folded.clock),
        None => Err(Failure::NoClock),
    }
}

fn side_of(caller: &Caller, game: GameId) -> Outcome<SideId> {
    let (_, _, side) = caller.player_in(game)?;
    Ok(SideId(side.to_owned()))
}

fn side_name(game: &Game, side: &SideId) -> String {
    let sides = &game.scenario().side;
    let named = sides.iter().find(|named| named.key == side.0);
    named.map_or_else(|| side.0.clone(), |named| named.name.clone())
}

fn leave_words(fault: &LeaveFault) -> String {
    match fault {
        LeaveFault::NotDays => "Leave is 1 to 366 days.".to_owned(),
        LeaveFault::Past(today) => {
            format!("Leave is taken before it begins; today is {today} where you are.")
        }
        LeaveFault::TooFar => "Leave begins within a year from now.".to_owned(),
        LeaveFault::Overlaps(date) => format!("You have leave on {date} already."),
        LeaveFault::TooMany { year, left } => {
            format!("In {year} you have {left} days of leave left.")
        }
    }
}

/// The clock as it is shown.
pub(super) fn clock_page(folded: &Folded, at: Timestamp) -> wire::ClockPage {
    let clock = &folded.clock;
    let is_set = clock.rules().is_some();
    let sides = folded.game.scenario().side.iter().map(|side| {
        let year = clock.today(&side.key, at).map_or(0, Date::year);
        wire::ClockSide {
            side: side.key.clone(),
            zone: clock.zone(&side.key).unwrap_or("UTC").to_owned(),
            saved: clock.saved(&side.key).unwrap_or(0),
            leave: clock
                .leave(&side.key)
                .map(|(from, days)| wire::Leave {
                    from: from.to_string(),
                    days,
                })
                .collect(),
            leave_left: clock.leave_left(&side.key, year),
            asks_pause: clock.asks_pause(&side.key),
        }
    });
    wire::ClockPage {
        rules: clock.rules().cloned(),
        to_move: clock.to_move().filter(|_| is_set).map(str::to_owned),
        due: clock.due().map(|due| due.to_string()),
        days_left: clock.days_left(at).filter(|_| is_set),
        is_out: clock.is_out(at),
        is_paused: clock.is_paused(),
        sides: sides.collect(),
    }
}
