//! Names of events as they stand in a record.

use super::Event;

impl Event {
    /// Its name in the record.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Opened { .. } => "opened",
            Self::SeatTaken { .. } => "seat-taken",
            Self::UmpireSeated { .. } => "umpire-seated",
            Self::UmpireAccepted { .. } => "umpire-accepted",
            Self::SeatFreed { .. } => "seat-freed",
            Self::KeyAdded { .. } => "key-added",
            Self::KeyRemoved { .. } => "key-removed",
            Self::KeyReplaced { .. } => "key-replaced",
            Self::KeyCountersigned { .. } => "key-countersigned",
            Self::SecretsRenewed { .. } => "secrets-renewed",
            Self::InstructionsCleared { .. } => "instructions-cleared",
            Self::InstructionsChanged { .. } => "instructions-changed",
            Self::SheetAccepted { .. } => "sheet-accepted",
            Self::Arrived { .. } => "arrived",
            Self::Left { .. } => "left",
            Self::Withdrew { .. } => "withdrew",
            Self::BattleFought { .. } => "battle-fought",
            Self::CommandersAttacked { .. } => "commanders-attacked",
            Self::GunsSilent { .. } => "guns-silent",
            Self::BattleLapsed { .. } => "battle-lapsed",
            Self::Lost { .. } => "lost",
            Self::FellBack { .. } => "fell-back",
            Self::Removed { .. } => "removed",
            Self::FollowedUp { .. } => "followed-up",
            Self::Disordered { .. } => "disordered",
            Self::TurnClosed { .. } => "turn-closed",
            Self::GameEnded { .. } => "game-ended",
            Self::PositionCorrected { .. } => "position-corrected",
            Self::ClockSet { .. } => "clock-set",
            Self::ZoneSet { .. } => "zone-set",
            Self::LeaveTaken { .. } => "leave-taken",
            Self::PauseAsked { .. } => "pause-asked",
            Self::Paused { .. } => "paused",
            Self::Resumed { .. } => "resumed",
            Self::DeadlineMoved { .. } => "deadline-moved",
            Self::LawsChanged { .. } => "laws-changed",
            Self::TurnPassed { .. } => "turn-passed",
            Self::TimeClaimed { .. } => "time-claimed",
            Self::Conceded { .. } => "conceded",
            Self::DisputeRaised { .. } => "dispute-raised",
            Self::RulingGiven { .. } => "ruling-given",
        }
    }
}
