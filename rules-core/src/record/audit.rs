//! Checking a record from nothing: the chain, the dice, every verdict measured again. What was judged by
//! other laws than this program's is not measured again: its chain, dice and seals are checked.

use std::collections::BTreeMap;

use crate::dice::{self, Bytes32, FIRST_ATTEMPT, Seeds, Throws, first_form};
use crate::game::{
    BattleReport, DiceProof, Ending, Event, FORMAT, Game, LAWS, OpenedInstructions, Standing,
};
use crate::orders::{Instructions, SideId, TurnSheet};
use crate::referee::{self, Posting};

use super::links::{Link, fault, read_chain};
use super::{BEFORE_THE_FIRST, Entry, canonical, replay, seal_of_instructions};

pub use super::links::{AuditFault, Line};

/// What a sound record holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Audited {
    /// The table at its end.
    pub game: Game,
    /// Number of its last entry.
    pub entries: u64,
    /// Hash of its last entry.
    pub head: Bytes32,
    /// Version of the laws that it was opened under.
    pub opened_under: u32,
    /// Player turns played again.
    pub player_turns: u64,
    /// Moves measured again.
    pub moves: u64,
    /// Throws derived again.
    pub throws: u64,
    /// Player turns that were judged by older laws and taken as they are recorded.
    pub turns_as_recorded: u64,
    /// Moves whose verdicts were given under older laws and not measured again.
    pub moves_as_recorded: u64,
}

/// Checks a whole record: each entry's text against its hash, the chain, every secret against its
/// commitment, and every player turn by playing its sheet again and comparing all its events. Player turns
/// under older laws are not played again: their throws are derived again, and their events applied as they
/// are recorded.
/// Standing instructions are checked against their seals once the game's end has opened them.
///
/// # Errors
/// The first fault, with the entry it stands in.
pub fn audit(lines: &[Line]) -> Result<Audited, AuditFault> {
    let entries = read_chain(lines)?;
    let mut auditor = Auditor::open(&entries)?;
    let mut at = 1;
    while at < entries.len() {
        at += auditor.next(&entries, at)?;
    }
    let last = entries.last().map_or(BEFORE_THE_FIRST, |link| link.hash);
    Ok(Audited {
        entries: u64::try_from(entries.len()).unwrap_or(u64::MAX),
        head: last,
        opened_under: auditor.opened_under,
        game: auditor.game,
        player_turns: auditor.player_turns,
        moves: auditor.moves,
        throws: auditor.throws,
        turns_as_recorded: auditor.turns_as_recorded,
        moves_as_recorded: auditor.moves_as_recorded,
    })
}

struct Auditor {
    game: Game,
    game_id: [u8; 16],
    /// Attempt at the player turn being played; absent while throws are of the first form.
    attempt: Option<u32>,
    /// Commitment to the secret of the player turn being played, in hex.
    commitment: String,
    /// Seals of standing instructions in the order they were given, each with its side.
    seals: Vec<(SideId, String)>,
    /// What units were told when asked, with how many of the seals stood then.
    asked: Vec<(u64, usize, Standing)>,
    opened_under: u32,
    player_turns: u64,
    moves: u64,
    throws: u64,
    turns_as_recorded: u64,
    moves_as_recorded: u64,
}

impl Auditor {
    fn open(entries: &[Link<'_>]) -> Result<Self, AuditFault> {
        let Some(link) = entries.first() else {
            return Err(fault(0, "the record is empty"));
        };
        link.check_form()?;
        let first = &link.entry;
        let game = replay::open(&first.event).map_err(|error| fault(1, error.to_string()))?;
        let Event::Opened {
            format,
            laws,
            game: id,
            commitment,
            ..
        } = &first.event
        else {
            return Err(fault(1, "a record must begin with the opening of its game"));
        };
        if !(1..=FORMAT).contains(format) {
            return Err(fault(
                1,
                format!("it is of format {format}, and this program reads formats 1 to {FORMAT}"),
            ));
        }
        let game_id =
            bytes_of(id).ok_or_else(|| fault(1, "the game's id is not 16 bytes in hex"))?;
        Ok(Self {
            game,
            game_id,
            attempt: (*format > 1).then_some(FIRST_ATTEMPT),
            commitment: commitment.clone(),
            seals: Vec::new(),
            asked: Vec::new(),
            opened_under: *laws,
            player_turns: 0,
            moves: 0,
            throws: 0,
            turns_as_recorded: 0,
            moves_as_recorded: 0,
        })
    }

    /// Checks the entry at `at` and those that belong to it; how many they are.
    fn next(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        let entry = &entries[at].entry;
        let begins_turn = matches!(
            entry.event,
            Event::LawsChanged { .. } | Event::SheetAccepted { .. } | Event::TurnPassed { .. }
        );
        if !begins_turn {
            entries[at].check_form()?;
        }
        if self.game.ending().is_some() && !entry.event.leaves_table_alone() {
            let name = name_of(&entry.event);
            return Err(fault(
                entry.number,
                format!("a {name} after the game is over"),
            ));
        }
        match &entry.event {
            Event::LawsChanged { .. } | Event::SheetAccepted { .. } | Event::TurnPassed { .. } => {
                return self.turn(entries, at);
            }
            Event::Opened { .. } => return Err(fault(entry.number, "the game was opened already")),
            Event::InstructionsChanged { side, seal } => {
                self.seals.push((side.clone(), seal.clone()));
            }
            Event::TimeClaimed { side } if *side == self.game.player_side() => {
                return Err(fault(
                    entry.number,
                    format!("{side} claims time in its own player turn"),
                ));
            }
            Event::SecretsRenewed {
                player_turn,
                attempt,
                secret,
                commitment,
                ..
            } => {
                let shown = (*player_turn, *attempt, secret.as_str());
                self.renewed(entry.number, shown, commitment)?;
            }
            Event::TimeClaimed { .. }
            | Event::Conceded { .. }
            | Event::PositionCorrected { .. } => {}
            event if event.leaves_table_alone() => {}
            Event::GameEnded { ending, opened } => {
                self.stopped(entry.number, ending, &entries[at - 1].entry.event)?;
                self.opened(entry.number, opened)?;
            }
            other => {
                let name = name_of(other);
                return Err(fault(
                    entry.number,
                    format!("a {name} outside any player turn"),
                ));
            }
        }
        self.game.apply(&entry.event);
        Ok(1)
    }

    /// Checks that an unused secret is shown as it was committed to, and that the attempt counts up.
    fn renewed(
        &mut self,
        number: u64,
        (player_turn, attempt, secret): (u64, u32, &str),
        commitment: &str,
    ) -> Result<(), AuditFault> {
        self.committed(number, secret)?;
        let next = self.attempt.unwrap_or(FIRST_ATTEMPT) + 1;
        if player_turn != self.game.player_turn() || attempt != next {
            return Err(fault(
                number,
                "secrets are renewed for another player turn or attempt than the one to come",
            ));
        }
        self.attempt = Some(attempt);
        commitment.clone_into(&mut self.commitment);
        Ok(())
    }

    /// The secret in hex, held against the commitment made before.
    fn committed(&self, number: u64, secret: &str) -> Result<Bytes32, AuditFault> {
        let secret =
            bytes_of(secret).ok_or_else(|| fault(number, "the secret is not 32 bytes in hex"))?;
        let player_turn = self.game.player_turn();
        let committed = match self.attempt {
            Some(attempt) => dice::commitment(&self.game_id, player_turn, attempt, &secret),
            None => first_form::commitment(&self.game_id, player_turn, &secret),
        };
        if hex::encode(committed) != self.commitment {
            return Err(fault(
                number,
                "the secret shown is not the one that was committed to before the turn",
            ));
        }
        Ok(secret)
    }

    /// Checks a game's end outside any player turn: a claim, a side that gave up or a ruling stands before
    /// it, and the points are those of the table.
    fn stopped(&self, number: u64, ending: &Ending, before: &Event) -> Result<(), AuditFault> {
        let winner = ending.winner.as_ref();
        let is_called_for = match before {
            Event::TimeClaimed { side } => winner == Some(side),
            Event::Conceded { side } => winner.is_some_and(|winner| winner != side),
            Event::RulingGiven { .. } => true,
            _ => false,
        };
        if !is_called_for {
            let told = "the game ends here though nothing before it ends it so";
            return Err(fault(number, told));
        }
        let is_measured = self.game.laws() == LAWS;
        if is_measured && ending.scores != referee::victory::scores(&self.game) {
            return Err(fault(number, "the points are not those of the table"));
        }
        Ok(())
    }

    /// Checks the player turn that begins at `at`: played again where it was judged by the laws of this
    /// program, as it is recorded where by older ones. How many entries it has.
    fn turn(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        let entry = &entries[at].entry;
        let laws = match entry.event {
            Event::LawsChanged { laws } if laws <= self.game.laws() || laws > LAWS => {
                return Err(fault(
                    entry.number,
                    format!(
                        "it goes on under laws {laws} after laws {}, and this program knows laws 1 to {LAWS}",
                        self.game.laws()
                    ),
                ));
            }
            Event::LawsChanged { laws } => laws,
            _ => self.game.laws(),
        };
        if laws == LAWS {
            self.measured(entries, at)
        } else {
            self.as_recorded(entries, at)
        }
    }

    /// Plays a player turn again and compares every event of it.
    fn measured(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        let number = entries[at].entry.number;
        let closing = entries[at..]
            .iter()
            .map(|link| &link.entry)
            .find(|entry| matches!(entry.event, Event::TurnClosed { .. }))
            .ok_or_else(|| fault(number, "its player turn is never closed"))?;
        let Event::TurnClosed {
            asked,
            dice,
            commitment,
            ..
        } = &closing.event
        else {
            return Err(fault(number, "its player turn is never closed"));
        };
        let sealed = opened_after(entries, at);
        let shown = self.shown(closing.number, dice, commitment)?;
        let closing = referee::Closing {
            sealed: &sealed,
            ..shown
        };
        let played = match &sheet_of(entries, at)?.event {
            Event::TurnPassed { why, .. } => referee::pass(&self.game, why, &closing),
            Event::SheetAccepted { sheet, .. } => {
                self.played(number, sheet, asked, entries[at - 1].hash, &closing)?
            }
            _ => return Err(fault(number, "not a sheet")),
        };
        self.compare(&entries[at..], &played)?;
        self.note_turn(number, &played, asked);
        self.commitment.clone_from(commitment);
        self.attempt = self.attempt.map(|_| FIRST_ATTEMPT);
        for event in &played {
            if let Event::GameEnded { opened, .. } = event {
                self.opened(number, opened)?;
            }
            self.game.apply(event);
        }
        Ok(played.len())
    }

    /// Takes a player turn as it is recorded: its secret was committed to, its throws follow from it, and
    /// nothing else is measured.
    fn as_recorded(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        let number = entries[at].entry.number;
        let count = entries[at..]
            .iter()
            .position(|link| matches!(link.entry.event, Event::TurnClosed { .. }))
            .ok_or_else(|| fault(number, "its player turn is never closed"))?
            + 1;
        let turn = &entries[at..at + count];
        let closing = &turn[count - 1].entry;
        let Event::TurnClosed {
            asked,
            dice,
            commitment,
            ..
        } = &closing.event
        else {
            return Err(fault(number, "its player turn is never closed"));
        };
        let shown = self.shown(closing.number, dice, commitment)?;
        let sheet = match &sheet_of(entries, at)?.event {
            Event::SheetAccepted { sheet, .. } => canonical(sheet).unwrap_or_default(),
            _ => String::new(),
        };
        let player_turn = self.game.player_turn();
        let mut throws = match shown.attempt {
            Some(attempt) => Throws::new(&Seeds {
                game: &self.game_id,
                player_turn,
                attempt,
                secret: &shown.secret,
                number: &shown.number,
            }),
            None => first_form::throws(&first_form::Seeds {
                game: &self.game_id,
                player_turn,
                previous_hash: &entries[at - 1].hash,
                canonical_sheet: sheet.as_bytes(),
                secret: &shown.secret,
                number: &shown.number,
            }),
        };
        let mut thrown = 0;
        for link in turn {
            link.check_form()?;
            thrown += u64::from(self.check_throw(&link.entry, &mut throws)?);
            if let Event::SheetAccepted { verdict, .. } = &link.entry.event {
                self.moves_as_recorded += u64::try_from(verdict.moves.len()).unwrap_or(0);
            }
            self.game.apply(&link.entry.event);
        }
        if throws.counted() != dice.throws || dice.attempt != shown.attempt {
            let told = format!(
                "{thrown} throws are recorded and {} are said to have been made",
                dice.throws.unwrap_or_default(),
            );
            return Err(fault(closing.number, told));
        }
        self.throws += thrown;
        self.turns_as_recorded += 1;
        let standing = self.seals.len();
        let asked = asked.iter().cloned();
        self.asked
            .extend(asked.map(|told| (number, standing, told)));
        self.commitment.clone_from(commitment);
        self.attempt = self.attempt.map(|_| FIRST_ATTEMPT);
        // the end that a turn's close may bring belongs to the turn
        let Some(link) = entries.get(at + count) else {
            return Ok(count);
        };
        let Event::GameEnded { opened, .. } = &link.entry.event else {
            return Ok(count);
        };
        link.check_form()?;
        self.opened(link.entry.number, opened)?;
        self.game.apply(&link.entry.event);
        Ok(count + 1)
    }

    /// Whether an event has dice, which must then be those that it was thrown for.
    fn check_throw(&self, entry: &Entry, throws: &mut Throws) -> Result<bool, AuditFault> {
        let holds = match &entry.event {
            Event::BattleFought { report } => {
                let BattleReport { dice, total, .. } = report;
                let thrown = self.game.ruleset().results.dice;
                let label = BattleReport::label(report.order);
                report.throw == throws.counted()
                    && *dice == throws.throw(&label, thrown.count, thrown.faces)
                    && u64::from(*total) == dice.iter().map(|die| u64::from(*die)).sum::<u64>()
            }
            Event::Withdrew { unit, throw, .. } => {
                let law = self.game.ruleset().withdrawal.as_ref();
                let label = referee::withdrawal_label(unit);
                law.is_some_and(|law| throws.throw(&label, 1, law.faces) == [*throw])
            }
            _ => return Ok(false),
        };
        if holds {
            return Ok(true);
        }
        let told =
            "its dice are not those that follow from the secret, the player's number and the sheet";
        Err(fault(entry.number, told))
    }

    /// What a turn's close shows, its secret held against the commitment made before.
    fn shown(
        &self,
        number: u64,
        dice: &DiceProof,
        commitment: &str,
    ) -> Result<referee::Closing<'static>, AuditFault> {
        let secret = self.committed(number, &dice.secret)?;
        let own = bytes_of(&dice.number)
            .ok_or_else(|| fault(number, "the player's number is not 32 bytes in hex"))?;
        let next_commitment = bytes_of(commitment)
            .ok_or_else(|| fault(number, "the next commitment is not 32 bytes in hex"))?;
        Ok(referee::Closing {
            attempt: self.attempt,
            secret,
            number: own,
            next_commitment,
            sealed: &[],
        })
    }

    /// A sheet played again.
    fn played(
        &self,
        number: u64,
        sheet: &TurnSheet,
        asked: &[Standing],
        previous_hash: Bytes32,
        closing: &referee::Closing<'_>,
    ) -> Result<Vec<Event>, AuditFault> {
        let posting = Posting {
            sheet,
            standing: &standing_of(asked),
            game_id: self.game_id,
            attempt: closing.attempt.unwrap_or_default(),
            secret: closing.secret,
            number: closing.number,
            next_commitment: closing.next_commitment,
            sealed: closing.sealed,
        };
        let played = match closing.attempt {
            Some(_) => referee::play(&self.game, &posting),
            None => referee::play_in_first_form(&self.game, &posting, &previous_hash),
        };
        played.map_err(|verdict| {
            let first = verdict
                .all_reasons()
                .next()
                .map(crate::verdict::Reason::text);
            fault(
                number,
                format!(
                    "measured again, the sheet is refused: {}",
                    first.unwrap_or_default()
                ),
            )
        })
    }

    fn compare(&self, recorded: &[Link<'_>], played: &[Event]) -> Result<(), AuditFault> {
        for (index, event) in played.iter().enumerate() {
            let Some(link) = recorded.get(index) else {
                let last = recorded.last().map_or(0, |link| link.entry.number);
                return Err(fault(
                    last,
                    format!(
                        "the record ends before the {} that must follow",
                        name_of(event)
                    ),
                ));
            };
            if !link.tells(event) {
                link.check_form()?;
                return Err(fault(
                    link.entry.number,
                    format!(
                        "played again this is not what happens: the record has \"{}\", playing gives \"{}\" or other figures in it",
                        name_of(&link.entry.event),
                        name_of(event)
                    ),
                ));
            }
        }
        Ok(())
    }

    fn note_turn(&mut self, number: u64, played: &[Event], asked: &[Standing]) {
        self.player_turns += 1;
        for event in played {
            match event {
                Event::SheetAccepted { verdict, .. } => {
                    self.moves += u64::try_from(verdict.moves.len()).unwrap_or(0);
                }
                Event::BattleFought { .. } | Event::Withdrew { .. } => self.throws += 1,
                _ => {}
            }
        }
        let standing = self.seals.len();
        self.asked
            .extend(asked.iter().map(|told| (number, standing, told.clone())));
    }

    /// Checks opened instructions against their seals, and what units were told against them.
    fn opened(&self, number: u64, opened: &[OpenedInstructions]) -> Result<(), AuditFault> {
        if opened.len() != self.seals.len() {
            return Err(fault(
                number,
                format!(
                    "{} standing instructions were sealed and {} are opened",
                    self.seals.len(),
                    opened.len()
                ),
            ));
        }
        for (one, (side, seal)) in opened.iter().zip(&self.seals) {
            let nonce = bytes_of(&one.nonce)
                .ok_or_else(|| fault(number, "a nonce is not 32 bytes in hex"))?;
            let sealed_now = seal_of_instructions(&nonce, &one.instructions).map(hex::encode);
            if one.side != *side || sealed_now.ok().as_ref() != Some(seal) {
                return Err(fault(
                    number,
                    format!("standing instructions of {side} are not those that were sealed"),
                ));
            }
        }
        for (turn, standing, told) in &self.asked {
            let side = self
                .game
                .unit(&told.unit)
                .map(|unit| self.game.side_id(unit.side));
            let in_force = opened[..*standing]
                .iter()
                .rev()
                .find(|one| Some(&one.side) == side.as_ref())
                .map_or(
                    told.instruction == crate::orders::Instruction::default(),
                    |one| one.instructions.of(&told.unit) == told.instruction,
                );
            if !in_force {
                return Err(fault(
                    *turn,
                    format!(
                        "{} was not told what its standing instructions said",
                        told.unit
                    ),
                ));
            }
        }
        Ok(())
    }
}

/// The entry that a player turn is about, where other laws may be told first: a sheet, or that it passes.
fn sheet_of<'e>(entries: &'e [Link<'_>], at: usize) -> Result<&'e Entry, AuditFault> {
    let is_told_first = matches!(entries[at].entry.event, Event::LawsChanged { .. });
    let entry = entries
        .get(at + usize::from(is_told_first))
        .map(|link| &link.entry);
    entry
        .filter(|entry| {
            matches!(
                entry.event,
                Event::SheetAccepted { .. } | Event::TurnPassed { .. }
            )
        })
        .ok_or_else(|| {
            let told = "the laws change here and no player turn follows";
            fault(entries[at].entry.number, told)
        })
}

/// The instructions that a game's end opens, if it follows the turn that begins at `at`.
fn opened_after(entries: &[Link<'_>], at: usize) -> Vec<OpenedInstructions> {
    entries[at..]
        .iter()
        .find_map(|link| match &link.entry.event {
            Event::GameEnded { opened, .. } => Some(opened.clone()),
            _ => None,
        })
        .unwrap_or_default()
}

/// Standing instructions that answer as the units were told.
fn standing_of(asked: &[Standing]) -> Instructions {
    let units: BTreeMap<_, _> = asked
        .iter()
        .map(|told| (told.unit.clone(), told.instruction))
        .collect();
    Instructions {
        units,
        ..Instructions::default()
    }
}

fn bytes_of<const N: usize>(text: &str) -> Option<[u8; N]> {
    hex::decode(text).ok()?.try_into().ok()
}

/// The event's name as it stands in the record.
fn name_of(event: &Event) -> String {
    serde_json::to_value(event)
        .ok()
        .and_then(|value| value.get("event")?.as_str().map(str::to_owned))
        .unwrap_or_default()
}
