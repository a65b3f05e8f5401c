//! The manual tells of every setting, and its examples are files that open.

use crate::authored::{
    SettingHelp, open_battle, read_ruleset, settings_reference, starter_ruleset, starter_scenario,
};

const MANUAL: &str = include_str!("../../../manual/rules-writer.md");

/// The manual's line on a setting.
fn line(setting: &SettingHelp) -> String {
    format!(
        "| `{}` | {} | {} | {} | {} |",
        setting.path,
        setting.kind,
        setting.unit,
        setting.default.as_deref().unwrap_or("must be given"),
        setting.help.replace('|', "\\|")
    )
}

#[test]
fn the_manual_tells_of_every_setting() {
    let [rules, scenario] = settings_reference();
    let told: Vec<&str> = MANUAL
        .lines()
        .filter(|line| line.starts_with("| `"))
        .collect();
    let due: Vec<String> = rules.iter().chain(&scenario).map(line).collect();
    let missing: Vec<&String> = due
        .iter()
        .filter(|line| !told.contains(&line.as_str()))
        .collect();
    let idle: Vec<&&str> = told
        .iter()
        .filter(|line| !due.iter().any(|due| due == **line))
        .collect();
    assert!(
        missing.is_empty() && idle.is_empty(),
        "manual/rules-writer.md lacks:\n{}\n\nand tells of what is not so:\n{}",
        missing
            .iter()
            .map(|line| line.as_str())
            .collect::<Vec<_>>()
            .join("\n"),
        idle.iter()
            .map(|line| **line)
            .collect::<Vec<_>>()
            .join("\n")
    );
}

/// The fenced blocks of the manual in one language.
fn examples(language: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut lines = MANUAL.lines();
    while let Some(line) = lines.next() {
        if line == format!("```{language}") {
            found.push(
                lines
                    .by_ref()
                    .take_while(|line| *line != "```")
                    .map(|line| format!("{line}\n"))
                    .collect(),
            );
        }
    }
    found
}

/// A file with the headings and top keys of an example put in place of its own.
fn with_example(file: &str, example: &str) -> String {
    let mut whole: toml::Table = file.parse().expect("the starters parse");
    let example: toml::Table = match example.parse() {
        Ok(example) => example,
        Err(fault) => panic!("{fault}\n{example}"),
    };
    for (key, value) in example {
        whole.insert(key, value);
    }
    toml::to_string(&whole).expect("tables print")
}

#[test]
fn examples_of_rules_open() {
    let examples = examples("toml rules");
    assert!(examples.len() >= 12, "{} examples", examples.len());
    for example in examples {
        let text = with_example(starter_ruleset(), &example);
        if let Err(faults) = read_ruleset("example.toml", &text) {
            panic!("{faults}\n\nin the example\n{example}");
        }
    }
}

#[test]
fn examples_of_battles_open() {
    let examples = examples("toml battle");
    assert!(examples.len() >= 5, "{} examples", examples.len());
    for example in examples {
        let text = with_example(starter_scenario(), &example);
        let opened = open_battle(("rules.toml", starter_ruleset()), ("example.toml", &text));
        if let Err(faults) = opened {
            panic!("{faults}\n\nin the example\n{example}");
        }
    }
}

#[test]
fn the_schemas_refuse_what_they_do_not_know() {
    for schema in [
        crate::authored::schema_ruleset(),
        crate::authored::schema_scenario(),
    ] {
        let definitions = schema["$defs"].as_object().expect("definitions");
        for (name, definition) in definitions {
            if definition["type"] == "object" {
                assert_eq!(definition["additionalProperties"], false, "{name}");
            }
        }
        assert_eq!(schema["additionalProperties"], false);
    }
}
