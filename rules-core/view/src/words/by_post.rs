//! News of what players and umpire do beside the table: the clock, disputes, rulings.

use fieldpost_rules::game::{ClockRules, Event, Game, WhenOut};
use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::fingerprint;
use fieldpost_rules::sanitize::{listed, plain};

use super::agreement::agreed;
use super::news::named;
use super::sentence::sentence;

/// Such an event in words; empty for any other.
pub(super) fn event(event: &Event, game: &Game) -> String {
    match event {
        Event::ClockSet { clock: rules } => clock(rules),
        Event::ZoneSet { side, zone } => format!(
            "The days of {} count by the clock of {}.",
            named(side, game),
            plain(zone)
        ),
        Event::LeaveTaken { side, from, days } => format!(
            "{} {} of leave from {}; {} clock stands.",
            doing(side, ("takes", "take"), game),
            count(*days, "day"),
            plain(from),
            agreed(&named(side, game), "its", "their")
        ),
        Event::PauseAsked { side } => {
            format!("{} for a pause.", doing(side, ("asks", "ask"), game))
        }
        Event::Paused { why } => format!("The clocks stand: {}", sentence(why)),
        Event::Resumed { why } => format!("The clocks run again: {}", sentence(why)),
        Event::DeadlineMoved { side, days, reason } => format!(
            "The umpire gives {} {} more: {}",
            named(side, game),
            count(*days, "day"),
            sentence(reason)
        ),
        Event::TurnPassed { side, why } => format!(
            "Game turn {}: the turn of {} passes with {} units standing: {}",
            game.game_turn(),
            named(side, game),
            agreed(&named(side, game), "its", "their"),
            sentence(why)
        ),
        Event::TimeClaimed { side } => format!(
            "{} the battle, for the other side's time is out.",
            doing(side, ("claims", "claim"), game)
        ),
        Event::Conceded { side } => {
            format!("{} the battle up.", doing(side, ("gives", "give"), game))
        }
        Event::DisputeRaised { side, about, text } => format!(
            "{} the umpire{}: {}",
            doing(side, ("asks", "ask"), game),
            of_event(*about),
            plain(text)
        ),
        Event::RulingGiven { about, text } => {
            format!("The umpire rules{}: {}", of_event(*about), plain(text))
        }
        Event::LawsChanged { laws } => format!(
            "From here on the battle is judged by laws {laws}; what came before was judged by laws {}.",
            game.laws()
        ),
        Event::UmpireSeated { player, .. } => {
            format!("{} takes the umpire's seat.", plain(player))
        }
        Event::UmpireAccepted { side, .. } => format!(
            "{} that somebody who plays rules as well.",
            doing(side, ("agrees", "agree"), game)
        ),
        Event::SeatFreed { .. } => "A seat is free again; its keys sign nothing more.".to_owned(),
        Event::KeyAdded { key, .. } => format!("A seat has another key, {}.", key_words(key)),
        Event::KeyRemoved { key, .. } => {
            format!("A key of a seat, {}, signs nothing more.", key_words(key))
        }
        Event::KeyReplaced { key, reason, .. } => format!(
            "On the organiser's word a seat is to have the key {} in the place of its lost ones, in three days or as soon as \
             the other side countersigns: {}",
            key_words(key),
            sentence(reason)
        ),
        Event::KeyCountersigned { side, key, .. } => format!(
            "{} the key {}.",
            doing(side, ("countersigns", "countersign"), game),
            key_words(key)
        ),
        Event::SecretsRenewed { why, .. } => format!(
            "The dice to come are committed to anew, and the secret that goes unused is shown: {}",
            sentence(why)
        ),
        Event::InstructionsCleared { side, why } => format!(
            "The standing instructions of {} count no more: {}",
            named(side, game),
            sentence(why)
        ),
        // what happens on the table is told by `news`
        Event::Opened { .. }
        | Event::SeatTaken { .. }
        | Event::InstructionsChanged { .. }
        | Event::SheetAccepted { .. }
        | Event::Arrived { .. }
        | Event::Left { .. }
        | Event::Withdrew { .. }
        | Event::BattleFought { .. }
        | Event::CommandersAttacked { .. }
        | Event::GunsSilent { .. }
        | Event::BattleLapsed { .. }
        | Event::Lost { .. }
        | Event::FellBack { .. }
        | Event::Removed { .. }
        | Event::FollowedUp { .. }
        | Event::Disordered { .. }
        | Event::TurnClosed { .. }
        | Event::GameEnded { .. }
        | Event::PositionCorrected { .. } => String::new(),
    }
}

/// A public key as two people read it to each other.
fn key_words(key: &str) -> String {
    let bytes: Option<[u8; 32]> = hex::decode(key).ok().and_then(|key| key.try_into().ok());
    bytes.map_or_else(|| plain(key), |bytes| fingerprint(&bytes))
}

/// A side and its verb: "Outposts of the Vale ask".
fn doing(side: &SideId, (one, many): (&str, &str), game: &Game) -> String {
    let name = named(side, game);
    let verb = agreed(&name, one, many);
    format!("{name} {verb}")
}

fn clock(rules: &ClockRules) -> String {
    let mut parts = vec![format!(
        "{} for each player turn",
        count(rules.days_per_turn, "day")
    )];
    if rules.days_at_start > 0 {
        parts.push(format!("{} saved at the start", rules.days_at_start));
    }
    if let Some(most) = rules.most_saved {
        parts.push(format!("at most {most} saved"));
    }
    if let Some(after) = rules.double_after {
        parts.push(format!("days beyond {after} over one turn count double"));
    }
    if rules.leave_days > 0 {
        parts.push(format!(
            "{} of leave a year",
            count(rules.leave_days, "day")
        ));
    }
    let out = match rules.when_out {
        WhenOut::Claim => "the other side may claim the battle",
        WhenOut::Pass => "the turn passes with units standing",
        WhenOut::Umpire => "the umpire decides",
    };
    format!(
        "The battle is played by the clock: {}. When time is out, {out}.",
        listed(&parts)
    )
}

fn count(number: u16, of: &str) -> String {
    match number {
        1 => format!("one {of}"),
        number => format!("{number} {of}s"),
    }
}

fn of_event(about: Option<u64>) -> String {
    about.map_or_else(String::new, |number| format!(" about event {number}"))
}
