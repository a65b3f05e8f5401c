//! Checking a record from nothing: the chain, who posted what, the cause of every event, the dice, every verdict
//! measured again. What was judged by other laws than this program's is not measured again: all else is checked.

use crate::dice::Bytes32;
use crate::game::{Ending, Event, FORMAT, Game, LAWS, Standing};
use crate::referee;

use super::links::{Link, fault, read_chain};
use super::state::After;
use super::{BEFORE_THE_FIRST, Fold};

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
    /// Whether the game was opened so that whatever a seat does must be signed.
    pub must_be_signed: bool,
    /// Postings whose signatures were checked.
    pub signed: u64,
    /// Postings without a signature.
    pub unsigned: u64,
    /// Numbers of entries that renewed secrets.
    pub renewals: Vec<u64>,
    /// Numbers of entries signed with a key that is in force on nothing but the organiser's word.
    pub on_organisers_word: Vec<u64>,
}

/// Checks a whole record: each entry's text against its hash, its canonical form, the chain, every event against what
/// it needs to follow, postings and their signatures, every secret against its commitment, and every player turn by
/// playing its sheet again and comparing all its events. Player turns under older laws are not played again: their
/// throws are derived again, and their events applied as they are recorded.
/// Standing instructions are checked against their seals once the game's end has opened them.
///
/// A record that was cut short is sound as far as it goes; a remembered head finds that out, see [`holds`].
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
    auditor.finish(&entries)
}

/// Number of the entry with this hash: whoever remembers a head, and finds it in no entry, has been shown another
/// record or one that was cut short.
#[must_use]
pub fn holds(lines: &[Line], head: &Bytes32) -> Option<u64> {
    let head = hex::encode(head);
    let found = lines.iter().find(|line| line.hash == head);
    found.map(|line| line.number)
}

pub(super) struct Auditor {
    pub(super) fold: Fold,
    /// What units were told when they were asked.
    pub(super) asked: Vec<Asked>,
    pub(super) audited: Counts,
}

/// What a unit of the waiting side was told.
pub(super) struct Asked {
    /// Number of the entry that its player turn begins with.
    pub(super) entry: u64,
    pub(super) told: Standing,
    /// Which of the seals was in force then.
    pub(super) seal: Option<usize>,
}

#[derive(Default)]
pub(super) struct Counts {
    opened_under: u32,
    pub(super) player_turns: u64,
    pub(super) moves: u64,
    pub(super) throws: u64,
    pub(super) turns_as_recorded: u64,
    pub(super) moves_as_recorded: u64,
    signed: u64,
    unsigned: u64,
    renewals: Vec<u64>,
    on_organisers_word: Vec<u64>,
}

impl Auditor {
    fn open(entries: &[Link<'_>]) -> Result<Self, AuditFault> {
        let Some(link) = entries.first() else {
            return Err(fault(0, "the record is empty"));
        };
        link.check_form()?;
        let first = &link.entry;
        let Event::Opened { format, laws, .. } = &first.event else {
            return Err(fault(1, "a record must begin with the opening of its game"));
        };
        if !(1..=FORMAT).contains(format) {
            return Err(fault(
                1,
                format!("it is of format {format}, and this program reads formats 1 to {FORMAT}"),
            ));
        }
        let fold = Fold::open(first, link.hash).map_err(|error| fault(1, error.to_string()))?;
        if first.posted.is_some() {
            return Err(fault(1, "a posting stands with the game's opening"));
        }
        Ok(Self {
            fold,
            asked: Vec::new(),
            audited: Counts {
                opened_under: *laws,
                ..Counts::default()
            },
        })
    }

    /// Checks the entry at `at` and those that belong to it; how many they are.
    fn next(&mut self, entries: &[Link<'_>], at: usize) -> Result<usize, AuditFault> {
        let link = &entries[at];
        match &link.entry.event {
            Event::LawsChanged { .. } | Event::SheetAccepted { .. } | Event::TurnPassed { .. } => {
                return self.turn(entries, at);
            }
            Event::PositionCorrected { reason, .. } => {
                self.may_follow(link)?;
                self.corrected(&entries[at..], reason)?;
            }
            Event::GameEnded { ending, opened } => {
                self.may_follow(link)?;
                self.stopped(link.entry.number, ending)?;
                self.opened(link.entry.number, opened)?;
            }
            _ => {}
        }
        link.check_form()?;
        self.take(link)?;
        Ok(1)
    }

    pub(super) fn may_follow(&self, link: &Link<'_>) -> Result<(), AuditFault> {
        let caused = self.fold.may_follow(&link.entry);
        caused.map_err(|why| fault(link.entry.number, why.to_string()))
    }

    /// Applies an entry, if it may follow.
    pub(super) fn take(&mut self, link: &Link<'_>) -> Result<(), AuditFault> {
        self.may_follow(link)?;
        let entry = &link.entry;
        if let Some(posted) = &entry.posted {
            match posted.signed {
                Some(_) => self.audited.signed += 1,
                None => self.audited.unsigned += 1,
            }
            let at = entry.at.parse().unwrap_or_default();
            if self
                .fold
                .record_state
                .is_on_organisers_word(&posted.seat, at)
            {
                self.audited.on_organisers_word.push(entry.number);
            }
        }
        if matches!(entry.event, Event::SecretsRenewed { .. }) {
            self.audited.renewals.push(entry.number);
        }
        self.fold.apply(entry, link.hash);
        Ok(())
    }

    /// Checks corrections that follow each other together: where all then stand, nobody overlaps.
    fn corrected(&self, entries: &[Link<'_>], reason: &str) -> Result<(), AuditFault> {
        let places: Vec<_> = entries
            .iter()
            .map_while(|link| match &link.entry.event {
                Event::PositionCorrected { unit, to, .. } => Some((unit.clone(), *to)),
                _ => None,
            })
            .collect();
        // the second and later of them were measured with the first
        if self.fold.record_state.is_among_corrections() {
            return Ok(());
        }
        let number = entries.first().map_or(0, |link| link.entry.number);
        referee::correct(&self.fold.game, &places, reason)
            .map(|_| ())
            .map_err(|why| fault(number, format!("a unit is set elsewhere: {why}")))
    }

    /// Checks the points of a game that something beside its table ended.
    fn stopped(&self, number: u64, ending: &Ending) -> Result<(), AuditFault> {
        let is_measured = self.fold.game.laws() == LAWS;
        if is_measured && self.fold.record_state.after == After::Closed {
            let told = "the game ends here though nothing before it ends it so";
            return Err(fault(number, told));
        }
        if is_measured && ending.scores != referee::victory::scores(&self.fold.game) {
            return Err(fault(number, "the points are not those of the table"));
        }
        Ok(())
    }

    fn finish(self, entries: &[Link<'_>]) -> Result<Audited, AuditFault> {
        let last = entries.last();
        let number = last.map_or(0, |link| link.entry.number);
        if self.fold.record_state.is_unfinished() {
            return Err(fault(number, "the record ends before what must follow"));
        }
        let counts = self.audited;
        Ok(Audited {
            entries: number,
            head: last.map_or(BEFORE_THE_FIRST, |link| link.hash),
            opened_under: counts.opened_under,
            game: self.fold.game,
            player_turns: counts.player_turns,
            moves: counts.moves,
            throws: counts.throws,
            turns_as_recorded: counts.turns_as_recorded,
            moves_as_recorded: counts.moves_as_recorded,
            must_be_signed: self.fold.record_state.is_signed(),
            signed: counts.signed,
            unsigned: counts.unsigned,
            renewals: counts.renewals,
            on_organisers_word: counts.on_organisers_word,
        })
    }
}
