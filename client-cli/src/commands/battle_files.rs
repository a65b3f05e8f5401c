//! Own files of a battle and those that come with this program, named one way by every command.

use std::path::{Path, PathBuf};

use fieldpost_rules::authored;
use fieldpost_rules::game::Battlefield;
use fieldpost_rules::shipped::{self, RULESETS, SCENARIOS, Shipped};

use crate::error::{CliError, CliResult};
use crate::output::uses_colour;
use crate::storage::files;

/// A file's name and text.
pub type Named = (String, String);

/// Rules and a scenario, unread.
#[derive(Debug)]
pub struct BattleFiles {
    /// The ruleset.
    pub ruleset: Named,
    /// The scenario.
    pub scenario: Named,
}

/// What someone named on the command line.
enum Input {
    Ruleset(Named),
    Scenario(Named),
    /// A shipped battle: its scenario with its own rules.
    Battle(BattleFiles),
}

impl BattleFiles {
    /// The files that are named: a battle that comes with this program, or a ruleset and a scenario, each a file or the
    /// key of one that comes with it. What is left out is as in `other`.
    ///
    /// # Errors
    /// When they do not make a battle, or a file cannot be read.
    pub fn of(names: &[PathBuf], other: Option<&Self>) -> CliResult<Self> {
        let named: Vec<Input> = names
            .iter()
            .map(|name| input(name))
            .collect::<CliResult<_>>()?;
        let mut named = named.into_iter();
        match (named.next(), named.next(), other) {
            (Some(Input::Battle(files)), None, _) => Ok(files),
            (Some(Input::Ruleset(ruleset)), Some(scenario), _) => Ok(Self {
                ruleset,
                scenario: scenario.scenario()?,
            }),
            (Some(scenario), Some(Input::Ruleset(ruleset)), _) => Ok(Self {
                ruleset,
                scenario: scenario.scenario()?,
            }),
            (Some(Input::Ruleset(ruleset)), None, Some(other)) => Ok(Self {
                ruleset,
                scenario: other.scenario.clone(),
            }),
            (Some(Input::Scenario(scenario)), None, Some(other)) => Ok(Self {
                ruleset: other.ruleset.clone(),
                scenario,
            }),
            (Some(Input::Ruleset((name, _))), None, None) => Err(CliError::Usage(format!(
                "{name} is a ruleset: name a scenario for it too"
            ))),
            (Some(Input::Scenario((name, _))), None, None) => Err(CliError::Usage(format!(
                "{name} is a scenario: name the rules that it is for too"
            ))),
            _ => Err(CliError::Usage(
                "name a battle that comes with this program, or one ruleset and one scenario"
                    .to_owned(),
            )),
        }
    }

    /// Opens them.
    ///
    /// # Errors
    /// [`CliError::Invalid`] with every fault of both files.
    pub fn open(&self) -> CliResult<Battlefield> {
        let (ruleset, scenario) = (&self.ruleset, &self.scenario);
        battlefield((&ruleset.0, &ruleset.1), (&scenario.0, &scenario.1))
    }
}

impl Input {
    fn scenario(self) -> CliResult<Named> {
        match self {
            Self::Scenario(scenario) | Self::Battle(BattleFiles { scenario, .. }) => Ok(scenario),
            Self::Ruleset((name, _)) => Err(CliError::Usage(format!(
                "{name} is a ruleset like the one before it: name one ruleset and one scenario"
            ))),
        }
    }
}

/// What a name means: a file of that name comes first, then what comes with this program.
fn input(name: &Path) -> CliResult<Input> {
    let shipped = |file: Shipped| (file.file_name(), file.text.to_owned());
    let key = name.to_str().unwrap_or_default();
    if !name.exists() {
        if let Some(battle) = shipped::find(key) {
            return Ok(Input::Battle(BattleFiles {
                ruleset: shipped(battle.ruleset),
                scenario: shipped(battle.scenario),
            }));
        }
        if let Some(ruleset) = shipped::find_ruleset(key) {
            return Ok(Input::Ruleset(shipped(ruleset)));
        }
        if name.extension().is_none() {
            let keys = SCENARIOS.iter().chain(&RULESETS).map(|file| file.key);
            let keys: Vec<&str> = keys.collect();
            return Err(CliError::Usage(format!(
                "there is no file {key:?}, and nothing of that name comes with this program; there are {}",
                keys.join(", ")
            )));
        }
    }
    let file = files::read_named(name)?;
    Ok(if is_scenario(&file.1) {
        Input::Scenario(file)
    } else {
        Input::Ruleset(file)
    })
}

/// A ruleset and a scenario as a battlefield.
///
/// # Errors
/// [`CliError::Invalid`] with every fault of both files.
fn battlefield(ruleset: (&str, &str), scenario: (&str, &str)) -> CliResult<Battlefield> {
    authored::open_battle(ruleset, scenario)
        .map_err(|faults| CliError::Invalid(faults.rendered(uses_colour())))
}

/// Whether a file looks like a scenario: it has a table, sides or units of its own.
pub(crate) fn is_scenario(text: &str) -> bool {
    let scenario = [
        "table",
        "side",
        "unit",
        "deployment",
        "objective",
        "victory",
    ];
    let ruleset = ["scale", "movement", "zones", "results", "attacks"];
    headings(text, &scenario) > headings(text, &ruleset)
}

/// How many of a file's headings bear one of the names.
pub(crate) fn headings(text: &str, names: &[&str]) -> usize {
    let marks = |line: &str, name: &str| {
        let line = line.trim();
        line.starts_with(&format!("[{name}]")) || line.starts_with(&format!("[[{name}]]"))
    };
    text.lines()
        .filter(|line| names.iter().any(|name| marks(line, name)))
        .count()
}
