//! A battle kept in a file as a server would keep its record. What must not be seen yet stands in a second
//! file beside it: the secret of the next dice, and the standing instructions that were sealed.

use std::path::{Path, PathBuf};

use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT, commitment, first_form};
use fieldpost_rules::game::{Event, FORMAT, Game, LAWS, OpenedInstructions};
use fieldpost_rules::orders::{Instructions, SideId, TurnSheet};
use fieldpost_rules::record::{seal, seal_of_instructions};
use fieldpost_rules::referee::{Closing, Posting, pass, play};
use fieldpost_rules::sanitize::normal;
use fieldpost_rules::verdict::SheetVerdict;

use super::files;
use super::record::{Record, hash_bytes};
use crate::error::{CliError, CliResult};
use crate::random::random;

/// The name that an automatic commander goes by in the seat it takes.
pub const AUTOMATIC: &str = "an automatic commander";

/// A battle kept in a file.
#[derive(Debug)]
pub struct LocalBattle {
    path: PathBuf,
    /// Its record.
    pub record: Record,
    /// The game after the whole record.
    pub game: Game,
}

/// What is not to be seen yet.
#[derive(Debug)]
struct Secrets {
    /// The secret of the next dice.
    secret: Bytes32,
    /// Standing instructions in the order they were sealed.
    sealed: Vec<OpenedInstructions>,
}

impl LocalBattle {
    /// Begins a battle from a ruleset's and a scenario's text, which have been checked; an automatic
    /// commander takes the seat of the side named, with these standing instructions.
    ///
    /// # Errors
    /// When the file is there already or cannot be written.
    pub fn begin(
        path: &Path,
        ruleset: String,
        scenario: String,
        automatic: Option<(SideId, Instructions)>,
    ) -> CliResult<Self> {
        files::require_new(path, "name")?;
        let (game_id, secret) = (random::<16>()?, random::<32>()?);
        let mut secrets = Secrets {
            secret,
            sealed: Vec::new(),
        };
        let mut events = vec![Event::Opened {
            format: FORMAT,
            laws: LAWS,
            signed: false,
            game: hex::encode(game_id),
            ruleset,
            scenario,
            commitment: hex::encode(commitment(&game_id, 1, FIRST_ATTEMPT, &secret)),
        }];
        if let Some((side, standing)) = automatic {
            events.push(Event::SeatTaken {
                side: side.clone(),
                player: AUTOMATIC.to_owned(),
                seat: None,
                key: None,
            });
            events.push(secrets.seal(side, &standing)?);
        }
        let mut record = Record::of(&[]);
        append(&mut record, events)?;
        let game = record.game_after(None)?;
        secrets.write(&secrets_path(path))?;
        files::write_private(path, record.exported().as_bytes())?;
        Ok(Self {
            path: path.to_owned(),
            record,
            game,
        })
    }

    /// Reads the battle kept in a file.
    ///
    /// # Errors
    /// When it cannot be read, is spoilt or holds no battle.
    pub fn read(path: &Path) -> CliResult<Self> {
        let (name, text) = files::read_named(path)?;
        let record = Record::parse(&name, &text)?;
        if record.game_id().is_none() {
            return Err(CliError::Invalid(format!(
                "error: {name} holds no battle; begin one: fieldpost local new BATTLE FILE"
            )));
        }
        let game = record.game_after(None)?;
        Ok(Self {
            path: path.to_owned(),
            record,
            game,
        })
    }

    /// Index of the side that an automatic commander plays.
    #[must_use]
    pub fn automatic(&self) -> Option<usize> {
        let seats = self.record.entries().iter();
        let mut taken = seats.filter_map(|entry| match &entry.event {
            Event::SeatTaken { side, player, .. } if player == AUTOMATIC => Some(side),
            _ => None,
        });
        self.game.side_index(taken.next()?)
    }

    /// Plays a sheet and writes the battle; what the referee says if it refuses. Standing instructions of
    /// the waiting side are sealed first if they are new; without any it is told what it was last last.
    ///
    /// # Errors
    /// When what is hidden is gone or a file cannot be written.
    pub fn play(
        &mut self,
        sheet: &TurnSheet,
        standing: Option<&Instructions>,
    ) -> CliResult<Result<(), Box<SheetVerdict>>> {
        let mut turn = self.turn()?;
        let (mut game, mut record) = (self.game.clone(), self.record.clone());
        turn.move_to_second_form(&mut game, &mut record)?;
        let standing = turn.seal_instructions(standing, &mut game, &mut record)?;
        let posting = Posting {
            sheet,
            standing: &standing,
            game_id: turn.game_id,
            attempt: turn.attempt.unwrap_or(FIRST_ATTEMPT),
            secret: turn.secrets.secret,
            number: turn.number,
            next_commitment: turn.next_commitment(&game),
            sealed: &turn.secrets.sealed,
        };
        match play(&game, &posting) {
            Ok(events) => self.commit(record, game, events, turn).map(Ok),
            Err(verdict) => Ok(Err(verdict)),
        }
    }

    /// Passes the player turn with units standing, and writes the battle. Standing instructions as in
    /// [`Self::play`].
    ///
    /// # Errors
    /// As [`Self::play`].
    pub fn pass(&mut self, why: &str, standing: Option<&Instructions>) -> CliResult {
        let mut turn = self.turn()?;
        let (mut game, mut record) = (self.game.clone(), self.record.clone());
        turn.move_to_second_form(&mut game, &mut record)?;
        turn.seal_instructions(standing, &mut game, &mut record)?;
        // whoever keeps the battle is its umpire, without whose word no turn passes
        let ruling = Event::RulingGiven {
            about: None,
            text: normal(why),
        };
        game.apply(&ruling);
        append(&mut record, vec![ruling])?;
        let closing = Closing {
            attempt: turn.attempt,
            secret: turn.secrets.secret,
            number: [0; 32],
            next_commitment: turn.next_commitment(&game),
            sealed: &turn.secrets.sealed,
        };
        let events = pass(&game, why, &closing);
        self.commit(record, game, events, turn)
    }

    /// What the player turn being played hangs on, and the secret of the next.
    fn turn(&self) -> CliResult<TurnInputs> {
        let mut game_id = [0; 16];
        let id = self.record.game_id().unwrap_or_default();
        hex::decode_to_slice(id, &mut game_id)
            .map_err(|_| CliError::Mismatch(format!("{} is spoilt", self.path.display())))?;
        let attempt = self.record.fold()?.record_state.attempt();
        Ok(TurnInputs {
            game_id,
            attempt,
            secrets: self.secrets(&game_id, attempt)?,
            number: random::<32>()?,
            next_secret: random::<32>()?,
        })
    }

    /// Adds a turn's events to the battle and writes it.
    fn commit(
        &mut self,
        mut record: Record,
        mut game: Game,
        events: Vec<Event>,
        turn: TurnInputs,
    ) -> CliResult {
        events.iter().for_each(|event| game.apply(event));
        append(&mut record, events)?;
        let secrets = Secrets {
            secret: turn.next_secret,
            sealed: turn.secrets.sealed,
        };
        // a crash between any two of these leaves the secret of whichever turn is to be played
        let next = next_secrets_path(&self.path);
        secrets.write(&next)?;
        files::write_private(&self.path, record.exported().as_bytes())?;
        let kept = secrets_path(&self.path);
        std::fs::rename(&next, &kept).map_err(|error| CliError::of_file("write", &kept, &error))?;
        self.game = game;
        self.record = record;
        Ok(())
    }

    /// What is hidden, with the secret that the record has committed itself to.
    fn secrets(&self, game_id: &[u8; 16], attempt: Option<u32>) -> CliResult<Secrets> {
        let committed = hash_bytes(self.record.fold()?.record_state.commitment());
        let turn = self.game.player_turn();
        let commitment = |secret: &Bytes32| match attempt {
            Some(attempt) => commitment(game_id, turn, attempt, secret),
            None => first_form::commitment(game_id, turn, secret),
        };
        for path in [secrets_path(&self.path), next_secrets_path(&self.path)] {
            let text = files::read_if_there(&path)?;
            if let Some(secrets) = text.as_deref().and_then(Secrets::parse)
                && Some(commitment(&secrets.secret)) == committed
            {
                return Ok(secrets);
            }
        }
        Err(CliError::Other(format!(
            "{}, which holds the secret of the next dice, is gone or is not the one that the battle was committed to: \
             the battle can be looked at, not gone on with",
            secrets_path(&self.path).display()
        )))
    }
}

impl Secrets {
    /// Seals a side's standing instructions.
    fn seal(&mut self, side: SideId, standing: &Instructions) -> CliResult<Event> {
        let nonce = random::<32>()?;
        let seal = seal_of_instructions(&nonce, standing).map_err(|error| {
            CliError::Other(format!(
                "the standing instructions cannot be sealed: {error}"
            ))
        })?;
        self.sealed.push(OpenedInstructions {
            side: side.clone(),
            nonce: hex::encode(nonce),
            instructions: standing.clone(),
        });
        Ok(Event::InstructionsChanged {
            side,
            seal: hex::encode(seal),
        })
    }

    /// What a side's units have been last.
    fn last_instructions(&self, side: &SideId) -> Instructions {
        let mut sealed = self.sealed.iter().rev();
        let last = sealed.find(|sealed| sealed.side == *side);
        last.map_or_else(Instructions::default, |sealed| sealed.instructions.clone())
    }

    /// The secret on the first line, what was sealed on the others.
    fn parse(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        let secret = hash_bytes(lines.next()?.trim())?;
        let sealed = lines.map(serde_json::from_str).collect::<Result<_, _>>();
        Some(Self {
            secret,
            sealed: sealed.ok()?,
        })
    }

    fn write(&self, path: &Path) -> CliResult {
        let mut text = hex::encode(self.secret) + "\n";
        for sealed in &self.sealed {
            let line = serde_json::to_string(sealed)
                .map_err(|error| CliError::Other(format!("cannot save instructions: {error}")))?;
            text.push_str(&line);
            text.push('\n');
        }
        files::write_private(path, text.as_bytes())
    }
}

/// What a player turn hangs on.
struct TurnInputs {
    game_id: [u8; 16],
    /// Attempt at the player turn; absent while throws are of the first form.
    attempt: Option<u32>,
    secrets: Secrets,
    number: Bytes32,
    next_secret: Bytes32,
}

impl TurnInputs {
    /// A battle that was begun when throws were derived in another way shows the secret for the next turn unused, and
    /// commits to another.
    fn move_to_second_form(&mut self, game: &mut Game, record: &mut Record) -> CliResult {
        if self.attempt.is_some() || game.ending().is_some() {
            return Ok(());
        }
        let (player_turn, attempt) = (game.player_turn(), FIRST_ATTEMPT + 1);
        let secret = random::<32>()?;
        let shown = std::mem::replace(&mut self.secrets.secret, secret);
        let renewed = Event::SecretsRenewed {
            player_turn,
            attempt,
            secret: hex::encode(shown),
            commitment: hex::encode(commitment(&self.game_id, player_turn, attempt, &secret)),
            why: "throws are derived in another way from here on".to_owned(),
        };
        game.apply(&renewed);
        append(record, vec![renewed])?;
        self.attempt = Some(attempt);
        Ok(())
    }

    /// The standing instructions of the waiting side, sealed first if they are new.
    fn seal_instructions(
        &mut self,
        given: Option<&Instructions>,
        game: &mut Game,
        record: &mut Record,
    ) -> CliResult<Instructions> {
        let waiting = game.side_id(1 - game.player());
        let last = self.secrets.last_instructions(&waiting);
        let standing = given.cloned().unwrap_or_else(|| last.clone());
        if standing != last {
            let event = self.secrets.seal(waiting, &standing)?;
            game.apply(&event);
            append(record, vec![event])?;
        }
        Ok(standing)
    }

    fn next_commitment(&self, game: &Game) -> Bytes32 {
        commitment(
            &self.game_id,
            game.player_turn() + 1,
            FIRST_ATTEMPT,
            &self.next_secret,
        )
    }
}

/// The file of what is hidden, beside a battle's file.
fn secrets_path(battle: &Path) -> PathBuf {
    beside(battle, ".secret")
}

/// The file of what is hidden after that, while a turn is being written.
fn next_secrets_path(battle: &Path) -> PathBuf {
    beside(battle, ".secret-next")
}

fn beside(battle: &Path, ending: &str) -> PathBuf {
    let mut name = battle.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn head_hash(record: &Record) -> CliResult<Bytes32> {
    let spoilt = || CliError::Mismatch("the battle's record is spoilt".to_owned());
    hash_bytes(&record.head().hash).ok_or_else(spoilt)
}

/// Seals events upon a record's head.
fn append(record: &mut Record, events: Vec<Event>) -> CliResult {
    let now = jiff::Timestamp::now();
    let at = now.strftime("%Y-%m-%dT%H:%M:%SZ").to_string();
    // a machine whose clock was set back writes no earlier moment than it wrote before
    let last = record.entries().last().map(|entry| entry.at.clone());
    let at = last.filter(|last| *last > at).unwrap_or(at);
    let head = (record.head().number, head_hash(record)?);
    let sealed = seal(head, &at, events)
        .map_err(|error| CliError::Other(format!("the events cannot be sealed: {error}")))?;
    record.push(&sealed);
    Ok(())
}

#[cfg(test)]
mod tests {
    use fieldpost_rules::orders::Instruction;
    use fieldpost_rules::record::audit::audit;
    use fieldpost_rules::shipped;

    use super::*;

    fn begun(path: &Path, automatic: Option<(SideId, Instructions)>) -> LocalBattle {
        let files = shipped::find("withy-bridge").expect("shipped");
        let (ruleset, scenario) = (files.ruleset.text, files.scenario.text);
        LocalBattle::begin(path, ruleset.to_owned(), scenario.to_owned(), automatic).expect("begun")
    }

    fn follow_up() -> Instructions {
        Instructions {
            all: Instruction {
                follow_up: true,
                give_way: None,
            },
            ..Instructions::default()
        }
    }

    #[test]
    fn a_turn_that_passes_is_kept_and_audits() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("b.ndjson");
        let blue = SideId::from("blue");
        let battle = begun(&path, Some((blue, follow_up())));
        assert_eq!(battle.automatic(), Some(1));
        let mut battle = LocalBattle::read(&path).expect("kept");
        let why = "nobody found any orders";
        battle.pass(why, None).expect("passed");
        assert_eq!(battle.game.player(), 1);
        // what the waiting side is last meanwhile is not lost
        battle.pass(why, Some(&follow_up())).expect("passed");
        assert_eq!(battle.game.player(), 0);
        let secrets = battle.turn().expect("secrets").secrets;
        assert_eq!(secrets.last_instructions(&SideId::from("red")), follow_up());
        let again = LocalBattle::read(&path).expect("kept");
        assert_eq!(again.game, battle.game);
        let audited = audit(again.record.lines()).unwrap_or_else(|fault| panic!("{fault}"));
        assert_eq!(audited.game, battle.game);
    }

    /// A battle that was begun when throws were of the first form goes on: its secret is renewed before the next turn.
    #[test]
    fn a_battle_of_the_first_form_goes_on_under_the_second() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("b.ndjson");
        let shipped = shipped::find("withy-bridge").expect("shipped");
        let (id, secret) = ([7; 16], [5; 32]);
        let opened = Event::Opened {
            format: 1,
            laws: LAWS,
            game: hex::encode(id),
            ruleset: shipped.ruleset.text.to_owned(),
            scenario: shipped.scenario.text.to_owned(),
            commitment: hex::encode(first_form::commitment(&id, 1, &secret)),
            signed: false,
        };
        let mut record = Record::of(&[]);
        append(&mut record, vec![opened]).expect("sealed");
        files::write_private(&path, record.exported().as_bytes()).expect("written");
        let secrets = Secrets {
            secret,
            sealed: Vec::new(),
        };
        secrets.write(&secrets_path(&path)).expect("written");
        for _ in 0..2 {
            let mut battle = LocalBattle::read(&path).expect("kept");
            let sheet = TurnSheet {
                game_turn: battle.game.game_turn(),
                side: battle.game.player_side(),
                orders: Vec::new(),
            };
            assert!(battle.play(&sheet, None).expect("written").is_ok());
        }
        let battle = LocalBattle::read(&path).expect("kept");
        let audited = audit(battle.record.lines()).unwrap_or_else(|fault| panic!("{fault}"));
        assert_eq!(audited.renewals, [2]);
        assert_eq!(
            battle.record.fold().expect("folded").record_state.attempt(),
            Some(1)
        );
    }

    /// New instructions are sealed once, and stand until others do.
    #[test]
    fn standing_instructions_are_sealed_when_they_change() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("b.ndjson");
        let mut battle = begun(&path, None);
        let seals = |battle: &LocalBattle| {
            let sealed = |entry: &&fieldpost_rules::record::Entry| {
                matches!(entry.event, Event::InstructionsChanged { .. })
            };
            battle.record.entries().iter().filter(sealed).count()
        };
        let given = follow_up();
        for (standing, sealed) in [
            (None, 0),
            (Some(&given), 1),
            (None, 1),
            (Some(&given), 1),
            (Some(&given), 2),
        ] {
            let sheet = TurnSheet {
                game_turn: battle.game.game_turn(),
                side: battle.game.player_side(),
                orders: Vec::new(),
            };
            let played = battle.play(&sheet, standing).expect("written");
            assert!(played.is_ok(), "nobody is near enough to have to attack");
            assert_eq!(seals(&battle), sealed);
            battle = LocalBattle::read(&path).expect("kept");
        }
        audit(battle.record.lines()).unwrap_or_else(|fault| panic!("{fault}"));
    }
}
