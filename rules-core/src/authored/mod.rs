//! Reading rulesets and scenarios from TOML text, with every fault, its place and a remedy.
//!
//! One door leads from text to a battle that can be played: [`open_battle`]. The types of
//! [`crate::ruleset`] and [`crate::scenario`] say what a file may hold; their JSON Schema is
//! checked against the text first, so that a file hears of all its faults at once; then what
//! no schema can say (names that must exist, tables that must be complete, units that must not
//! overlap) is checked on the types.

mod armies;
mod battle;
mod document;
mod faults;
mod findings;
mod map;
mod near;
mod place;
mod placing;
mod remarks;
mod results;
mod rules;
mod schema;
mod settings;
mod starter;
mod syntax;
mod walk;

use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::game::{Battlefield, Ground};
use crate::ruleset::Ruleset;
use crate::scenario::Scenario;

use document::Document;
pub use document::MOST_BYTES;
use syntax::Syntax;

pub use findings::Findings;
pub use place::Place;
pub use schema::schema as schema_of;

pub use faults::{Fault, Faults};
pub use remarks::{Remarks, remarks_on_ruleset, remarks_on_scenario};
pub use schema::{schema_ruleset, schema_scenario};
pub use settings::{SettingHelp, settings_reference};
pub use starter::{starter_ruleset, starter_scenario};

/// Reads and checks a ruleset.
///
/// # Errors
/// Every fault of the file.
pub fn read_ruleset(file_name: &str, text: &str) -> Result<Ruleset, Faults> {
    read(file_name, text, schema_ruleset(), |ruleset, findings| {
        rules::check(ruleset, findings);
    })
}

/// Reads a scenario and checks it against the ruleset it is to be played with.
///
/// # Errors
/// Every fault of the file.
pub fn read_scenario(file_name: &str, text: &str, ruleset: &Ruleset) -> Result<Scenario, Faults> {
    read(file_name, text, schema_scenario(), |scenario, findings| {
        battle::check(scenario, ruleset, findings);
    })
}

/// The one door to a battle: reads a ruleset and a scenario, each as file name and text, checks
/// them and lays out the ground.
///
/// # Errors
/// Every fault of both files. When the ruleset has faults, the scenario is only checked for
/// what does not depend on rules.
pub fn open_battle(ruleset: (&str, &str), scenario: (&str, &str)) -> Result<Battlefield, Faults> {
    let ruleset = match read_ruleset(ruleset.0, ruleset.1) {
        Ok(ruleset) => ruleset,
        Err(faults) => {
            let alone = read::<Scenario>(scenario.0, scenario.1, schema_scenario(), |_, _| {});
            return Err(match alone {
                Ok(_) => faults,
                Err(more) => faults.and(more),
            });
        }
    };
    let file_name = scenario.0;
    let scenario = read_scenario(file_name, scenario.1, &ruleset)?;
    let ground = Ground::new(&scenario, &ruleset).map_err(|_| unready(file_name))?;
    Ok(Battlefield {
        ruleset,
        scenario,
        ground,
    })
}

/// A scenario that was checked and yet has no ground: the checks and the ground disagree.
fn unready(file_name: &str) -> Faults {
    Faults::of(vec![Fault::new(
        file_name,
        String::new(),
        "the ground of this scenario cannot be laid out".to_owned(),
        "simplify its outlines; please report this file, for its fault should have been named"
            .to_owned(),
    )])
}

/// Reads a file of one type: syntax, then shape, then what only `check` knows.
pub fn read<T: DeserializeOwned>(
    file_name: &str,
    text: &str,
    schema: &Value,
    check: impl FnOnce(&T, &mut Findings<'_>),
) -> Result<T, Faults> {
    let (document, errors) = Document::parse(file_name, text)?;
    let syntax = Syntax::of(&document, &errors);
    let walked = walk::walk(&document, schema);
    let mut counted = syntax.counted + walked.counted;
    let is_text = syntax.faults.is_empty();
    let mut faults = syntax.faults;
    // Where the text is broken, what follows on the same line or is missing is its consequence.
    let broken: Vec<usize> = faults.iter().map(|fault| fault.line).collect();
    faults.extend(
        walked
            .faults
            .into_iter()
            .filter(|fault| fault.line < syntax.astray_from && !broken.contains(&fault.line)),
    );
    if is_text {
        faults.extend(walked.lacking);
    }
    let mended = document.mended(&walked.spoilt);
    let read = T::deserialize(toml::de::Deserializer::from(mended));
    match read {
        Ok(value) if is_text => {
            let mut findings = Findings::new(&document, walked.spoilt);
            check(&value, &mut findings);
            let (found, more) = findings.into_faults();
            faults.extend(found);
            counted += more;
            if faults.is_empty() {
                return Ok(value);
            }
        }
        Err(error) if faults.is_empty() => faults.push(misfit(&document, &error)),
        Ok(_) | Err(_) => {}
    }
    Err(Faults::of(faults).besides(counted))
}

/// A value that fits the schema and yet not the type.
fn misfit(document: &Document<'_>, error: &toml::de::Error) -> Fault {
    document.fault_in_text(
        error.span().unwrap_or(0..0),
        error.message().to_owned(),
        "see the reference of settings".to_owned(),
    )
}

#[cfg(test)]
mod trials;
