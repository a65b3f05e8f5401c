//! `settings`: every setting of ruleset and scenario files, as the manual lists them.

use fieldpost_rules::authored::{SettingHelp, settings_reference};
use serde::Serialize;
use serde_json::{Value, json};

use crate::arguments::SettingsArgs;
use crate::error::{CliError, CliResult};
use crate::output::Output;

/// One setting.
#[derive(Debug, Serialize)]
struct Setting {
    file: &'static str,
    name: String,
    kind: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    unit: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    default: Option<Value>,
    required: bool,
    about: String,
}

/// Explains the settings.
///
/// # Errors
/// When none fits the word.
pub fn settings(args: &SettingsArgs, output: Output) -> CliResult {
    let [ruleset, scenario] = settings_reference();
    let of = |file| move |help| Setting::new(file, help);
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
    output.result(&json!({ "settings": all }), || {
        let mut text = String::new();
        let mut file = "";
        for setting in &all {
            if setting.file != file {
                file = setting.file;
                text.push_str(&format!("A {file} file\n\n"));
            }
            text.push_str(&setting.in_words());
        }
        text
    })
}

impl Setting {
    fn new(file: &'static str, help: SettingHelp) -> Self {
        Self {
            file,
            name: help.path,
            kind: help.kind,
            unit: help.unit,
            required: help.default.is_none(),
            // what is no value but words, such as "absent", has none
            default: help
                .default
                .and_then(|text| serde_json::from_str(&text).ok()),
            about: help.help,
        }
    }

    fn in_words(&self) -> String {
        // most kinds say themselves what they count
        let unit = match self.unit.as_str() {
            "" => String::new(),
            unit if self.kind.contains(unit) => String::new(),
            unit => format!(" ({unit})"),
        };
        let default = match &self.default {
            None if self.required => " (required)".to_owned(),
            None => String::new(),
            Some(value) => format!(" [{value}]"),
        };
        format!(
            "{}  {}{unit}{default}\n    {}\n",
            self.name, self.kind, self.about
        )
    }
}
