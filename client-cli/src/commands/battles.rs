//! `battles`: those that come with this program.

use std::path::Path;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::shipped::{self, Battle, SCENARIOS};
use serde_json::json;

use super::columns;
use super::table_data::table_data;
use crate::answers::{BattlesAnswer, ShippedBattle};
use crate::arguments::{BattlesArgs, BattlesCommand, Pictures};
use crate::error::{CliError, CliResult};
use crate::output::{Output, text_columns, uses_colour};
use crate::render;
use crate::storage::files;

/// Lists, shows or copies shipped battles.
///
/// # Errors
/// When a key is not known or a file cannot be written.
pub fn battles(args: &BattlesArgs, output: Output) -> CliResult {
    match &args.command {
        None | Some(BattlesCommand::List) => list(output),
        Some(BattlesCommand::Show { battle, pictures }) => show(battle, pictures, output),
        Some(BattlesCommand::Copy { battle, folder }) => copy(battle, folder, output),
    }
}

/// A shipped battle by its key.
///
/// # Errors
/// [`CliError::Usage`] when there is none, naming those there are.
pub fn find(key: &str) -> CliResult<Battle> {
    shipped::find(key).ok_or_else(|| {
        let keys: Vec<&str> = SCENARIOS.iter().map(|scenario| scenario.key).collect();
        CliError::Usage(format!(
            "no battle {key:?} comes with this program; there are {}",
            keys.join(", ")
        ))
    })
}

/// A shipped battle at its opening.
///
/// # Errors
/// When its files have faults.
pub fn opening(battle: &Battle) -> CliResult<Game> {
    let field = battle
        .open()
        .map_err(|faults| CliError::Invalid(faults.rendered(uses_colour())))?;
    Ok(Game::new(Arc::new(field)))
}

fn list(output: Output) -> CliResult {
    let mut data = Vec::new();
    let mut rows = Vec::new();
    for battle in SCENARIOS
        .iter()
        .filter_map(|scenario| shipped::find(scenario.key))
    {
        let game = opening(&battle)?;
        let scenario = game.scenario();
        let units = game.units().count();
        data.push(ShippedBattle {
            key: battle.scenario.key.to_owned(),
            name: scenario.name.clone(),
            about: scenario.about.clone(),
            ruleset: game.ruleset().name.clone(),
            units,
            game_turns: scenario.game_turns,
        });
        rows.push([
            battle.scenario.key.to_owned(),
            scenario.name.clone(),
            game.ruleset().name.clone(),
            units.to_string(),
            scenario.game_turns.to_string(),
        ]);
    }
    output.result(&BattlesAnswer { battles: data }, || {
        columns(["key", "battle", "ruleset", "units", "turns"], rows)
    })
}

fn show(key: &str, pictures: &Pictures, output: Output) -> CliResult {
    let battle = find(key)?;
    let game = opening(&battle)?;
    if pictures.any() {
        pictures.draw(&render::opening_svg(&game, false), output)?;
    }
    let scenario = game.scenario();
    output.result(
        &json!({ "key": battle.scenario.key, "name": scenario.name, "about": scenario.about,
            "ruleset": game.ruleset().name, "rules_about": game.ruleset().about, "table": table_data(&game, 0) }),
        || {
            format!(
                "{}\n\n{}\n\n{}: {}\n\n{}",
                scenario.name,
                scenario.about.trim(),
                game.ruleset().name,
                game.ruleset().about.trim(),
                render::table_text(&game, text_columns(None), None, output.ascii)
            )
        },
    )
}

fn copy(key: &str, folder: &Path, output: Output) -> CliResult {
    let battle = find(key)?;
    let names = [battle.ruleset, battle.scenario].map(|file| (file.file_name(), file.text));
    let files = names.each_ref().map(|(name, text)| (name.as_str(), *text));
    for path in files::write_new(folder, &files)? {
        output.info(&format!("written: {}", path.display()));
    }
    Ok(())
}
