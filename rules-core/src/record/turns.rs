//! Player turns checked: played again where they were judged by the laws of this program, taken as they are recorded
//! where by older ones.

use std::collections::BTreeMap;

use crate::dice::{Bytes32, Seeds, Throws, first_form};
use crate::game::{BattleReport, DiceProof, Event, LAWS, OpenedInstructions, Standing};
use crate::orders::{Instructions, TurnSheet};
use crate::referee::{self, Posting};

use super::audit::{Asked, Auditor};
use super::links::{AuditFault, Link, fault};
use super::{Entry, canonical};

/// A player turn as it is recorded.
struct Turn<'e> {
    /// The entry before it.
    previous_hash: Bytes32,
    /// Its entries up to the one that closes it.
    entries: &'e [Link<'e>],
    /// Its sheet, or that it passes.
    begins: &'e Entry,
    closing: &'e Entry,
    asked: &'e [Standing],
    dice: &'e DiceProof,
    commitment: &'e str,
}

impl Auditor {
    /// Checks the player turn that begins at `at`. How many entries it has.
    pub(super) fn turn(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        self.may_follow(&entries[at])?;
        let laws = match entries[at].entry.event {
            Event::LawsChanged { laws } => laws,
            _ => self.fold.game.laws(),
        };
        let turn = Turn::at(entries, at)?;
        self.note_asked(&turn);
        if laws == LAWS {
            self.measured(&entries[at..], &turn)
        } else {
            self.as_recorded(&turn)
        }
    }

    fn note_asked(&mut self, turn: &Turn<'_>) {
        let is_posted = turn.begins.posted.is_some();
        for told in turn.asked {
            let unit = self.fold.game.unit(&told.unit);
            let side = unit.map(|unit| self.fold.game.side_id(unit.side));
            self.asked.push(Asked {
                entry: turn.begins.number,
                told: told.clone(),
                seal: side.and_then(|side| self.fold.record_state.seal_in_force(&side, is_posted)),
            });
        }
    }

    /// Plays a player turn again and compares every event of it.
    fn measured(&mut self, rest: &[Link<'_>], turn: &Turn<'_>) -> Result<usize, AuditFault> {
        let number = rest[0].entry.number;
        let sealed = opened_after(rest);
        let closing = referee::Closing {
            sealed: &sealed,
            ..self.shown(turn)?
        };
        let played = match &turn.begins.event {
            Event::TurnPassed { why, .. } => referee::pass(&self.fold.game, why, &closing),
            Event::SheetAccepted { sheet, .. } => self.played(sheet, turn, &closing)?,
            _ => return Err(fault(number, "not a sheet")),
        };
        compare(rest, &played)?;
        for (link, event) in rest.iter().zip(&played) {
            match event {
                Event::SheetAccepted { verdict, .. } => {
                    self.audited.moves += u64::try_from(verdict.moves.len()).unwrap_or(0);
                }
                Event::BattleFought { .. } | Event::Withdrew { .. } => self.audited.throws += 1,
                Event::GameEnded { opened, .. } => self.opened(number, opened)?,
                _ => {}
            }
            self.take(link)?;
        }
        self.audited.player_turns += 1;
        Ok(played.len())
    }

    /// Takes a player turn as it is recorded: its secret was committed to, its throws follow from it, and
    /// nothing else is measured.
    fn as_recorded(&mut self, turn: &Turn<'_>) -> Result<usize, AuditFault> {
        let shown = self.shown(turn)?;
        let mut throws = self.throws(turn, &shown);
        let mut thrown = 0;
        for link in turn.entries {
            link.check_form()?;
            thrown += u64::from(self.check_throw(&link.entry, &mut throws)?);
            if let Event::SheetAccepted { verdict, .. } = &link.entry.event {
                self.audited.moves_as_recorded += u64::try_from(verdict.moves.len()).unwrap_or(0);
            }
            self.take(link)?;
        }
        if throws.counted() != turn.dice.throws {
            let told = format!(
                "{thrown} throws are recorded and {} are said to have been made",
                turn.dice.throws.unwrap_or_default(),
            );
            return Err(fault(turn.closing.number, told));
        }
        self.audited.throws += thrown;
        self.audited.turns_as_recorded += 1;
        Ok(turn.entries.len())
    }

    fn throws(&self, turn: &Turn<'_>, shown: &referee::Closing<'_>) -> Throws {
        let (game, player_turn) = (
            self.fold.record_state.game_id(),
            self.fold.game.player_turn(),
        );
        let (secret, number) = (&shown.secret, &shown.number);
        if let Some(attempt) = shown.attempt {
            return Throws::new(&Seeds {
                game,
                player_turn,
                attempt,
                secret,
                number,
            });
        }
        let sheet = match &turn.begins.event {
            Event::SheetAccepted { sheet, .. } => canonical(sheet).unwrap_or_default(),
            _ => String::new(),
        };
        first_form::throws(&first_form::Seeds {
            game,
            player_turn,
            previous_hash: &turn.previous_hash,
            canonical_sheet: sheet.as_bytes(),
            secret,
            number,
        })
    }

    /// Whether an event has dice, which must then be those that it was thrown for.
    fn check_throw(&self, entry: &Entry, throws: &mut Throws) -> Result<bool, AuditFault> {
        let holds = match &entry.event {
            Event::BattleFought { report } => {
                let BattleReport { dice, total, .. } = report;
                let thrown = self.fold.game.ruleset().results.dice;
                let label = BattleReport::label(report.order);
                report.throw == throws.counted()
                    && *dice == throws.throw(&label, thrown.count, thrown.faces)
                    && u64::from(*total) == dice.iter().map(|die| u64::from(*die)).sum::<u64>()
            }
            Event::Withdrew { unit, throw, .. } => {
                let law = self.fold.game.ruleset().withdrawal.as_ref();
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
    fn shown(&self, turn: &Turn<'_>) -> Result<referee::Closing<'static>, AuditFault> {
        let number = turn.closing.number;
        let bytes = |text: &str, what: &str| {
            bytes_of(text)
                .ok_or_else(|| fault(number, format!("the {what} is not 32 bytes in hex")))
        };
        let is_committed = self
            .fold
            .record_state
            .was_committed(&self.fold.game, &turn.dice.secret);
        is_committed.map_err(|why| fault(number, why.to_string()))?;
        Ok(referee::Closing {
            attempt: self.fold.record_state.attempt(),
            secret: bytes(&turn.dice.secret, "secret")?,
            number: bytes(&turn.dice.number, "player's number")?,
            next_commitment: bytes(turn.commitment, "next commitment")?,
            sealed: &[],
        })
    }

    /// A sheet played again.
    fn played(
        &self,
        sheet: &TurnSheet,
        turn: &Turn<'_>,
        closing: &referee::Closing<'_>,
    ) -> Result<Vec<Event>, AuditFault> {
        let posting = Posting {
            sheet,
            standing: &standing_of(turn.asked),
            game_id: *self.fold.record_state.game_id(),
            attempt: closing.attempt.unwrap_or_default(),
            secret: closing.secret,
            number: closing.number,
            next_commitment: closing.next_commitment,
            sealed: closing.sealed,
        };
        let played = match closing.attempt {
            Some(_) => referee::play(&self.fold.game, &posting),
            None => referee::play_in_first_form(&self.fold.game, &posting, &turn.previous_hash),
        };
        played.map_err(|verdict| {
            let first = verdict
                .all_reasons()
                .next()
                .map(crate::verdict::Reason::text);
            fault(
                turn.begins.number,
                format!(
                    "measured again, the sheet is refused: {}",
                    first.unwrap_or_default()
                ),
            )
        })
    }
}

impl<'e> Turn<'e> {
    /// The player turn that begins at `at`, with the news of other laws if they come first.
    fn at(entries: &'e [Link<'e>], at: usize) -> Result<Self, AuditFault> {
        let number = entries[at].entry.number;
        let never = || fault(number, "its player turn is never closed");
        let count = entries[at..]
            .iter()
            .position(|link| matches!(link.entry.event, Event::TurnClosed { .. }))
            .ok_or_else(never)?
            + 1;
        let turn = &entries[at..at + count];
        let is_told_first = matches!(turn[0].entry.event, Event::LawsChanged { .. });
        let begins = &turn[usize::from(is_told_first)].entry;
        if !matches!(
            begins.event,
            Event::SheetAccepted { .. } | Event::TurnPassed { .. }
        ) {
            return Err(fault(
                number,
                "the laws change here and no player turn follows",
            ));
        }
        let closing = &turn[count - 1].entry;
        let Event::TurnClosed {
            asked,
            dice,
            commitment,
            ..
        } = &closing.event
        else {
            return Err(never());
        };
        Ok(Self {
            previous_hash: entries[at - 1].hash,
            entries: turn,
            begins,
            closing,
            asked,
            dice,
            commitment,
        })
    }
}

/// Whether these events are what the entries tell, each written as it must be.
fn compare(recorded: &[Link<'_>], played: &[Event]) -> Result<(), AuditFault> {
    for (index, event) in played.iter().enumerate() {
        let Some(link) = recorded.get(index) else {
            let last = recorded.last().map_or(0, |link| link.entry.number);
            return Err(fault(
                last,
                format!(
                    "the record ends before the {} that must follow",
                    event.kind()
                ),
            ));
        };
        if !link.tells(event) {
            link.check_form()?;
            return Err(fault(
                link.entry.number,
                format!(
                    "played again this is not what happens: the record has \"{}\", playing gives \"{}\" or other figures in it",
                    link.entry.event.kind(),
                    event.kind()
                ),
            ));
        }
    }
    Ok(())
}

/// The instructions that a game's end opens, if it follows.
fn opened_after(entries: &[Link<'_>]) -> Vec<OpenedInstructions> {
    let opened = entries.iter().find_map(|link| match &link.entry.event {
        Event::GameEnded { opened, .. } => Some(opened.clone()),
        _ => None,
    });
    opened.unwrap_or_default()
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
