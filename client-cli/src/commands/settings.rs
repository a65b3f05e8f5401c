//! `settings`: every setting of ruleset and scenario files, as the manual lists them.

use fieldpost_rules::authored::{SettingHelp, settings_reference};

use crate::answers::{Setting, SettingsAnswer};
use crate::arguments::SettingsArgs;
use crate::error::{CliError, CliResult};
use crate::output::Output;

/// Explains the settings.
///
/// # Errors
/// When none fits the word.
pub fn settings(args: &SettingsArgs, output: Output) -> CliResult {
    let [ruleset, scenario] = settings_reference();
    let of = |file| move |help| setting(file, help);
    let mut all: Vec<Setting> = ruleset.into_iter().map(of("ruleset")).collect();
    all.extend(scenario.into_iter().map(of("scenario")));
    if let Some(word) = &args.word {
        let word = word.to_lowercase();
        all.retain(|setting| {
            setting.name.to_lowercase().contains(&word)
                || setting.about.to_lowercase().contains(&word)
        });
        if all.is_empty() {
            return Err(CliError::Usage(format!(
                "no setting has {word:?} in its name or explanation; \"fieldpost settings\" shows all"
            )));
        }
    }
    let answer = SettingsAnswer { settings: all };
    output.result(&answer, || {
        let mut text = String::new();
        let mut file = "";
        for setting in &answer.settings {
            if setting.file != file {
                file = setting.file;
                text.push_str(&format!("A {file} file\n\n"));
            }
            text.push_str(&in_words(setting));
        }
        text
    })
}

fn setting(file: &'static str, help: SettingHelp) -> Setting {
    Setting {
        file,
        name: help.path,
        kind: help.kind,
        unit: Some(help.unit).filter(|unit| !unit.is_empty()),
        required: help.default.is_none(),
        // what is no value but words, such as "absent", has none
        default: help
            .default
            .and_then(|text| serde_json::from_str(&text).ok()),
        about: help.help,
    }
}

fn in_words(setting: &Setting) -> String {
    // most kinds say themselves what they count
    let unit = match setting.unit.as_deref() {
        Some(unit) if !setting.kind.contains(unit) => format!(" ({unit})"),
        _ => String::new(),
    };
    let default = match &setting.default {
        None if setting.required => " (required)".to_owned(),
        None => String::new(),
        Some(value) => format!(" [{value}]"),
    };
    format!(
        "{}  {}{unit}{default}\n    {}\n",
        setting.name, setting.kind, setting.about
    )
}
