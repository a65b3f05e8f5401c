//! The reference of every setting, from the types that hold them.

use serde::Serialize;
use serde_json::Value;

use super::schema::{Allowed, Written, allowed, in_words, schema_ruleset, schema_scenario};
use super::walk::LONGEST_NAME;

/// One setting of an authored file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SettingHelp {
    /// Where it stands, such as `zones.halt_zone`, `troops.NAME.arm` or `unit[].at`: NAME is a
    /// name that the author chooses, [] an entry of a list.
    pub path: String,
    /// What it takes, in words.
    pub kind: String,
    /// What its numbers count; empty when it takes none.
    pub unit: String,
    /// What stands in when it is left out, as it would be written; `None` when it must be given.
    pub default: Option<String>,
    /// What it does.
    pub help: String,
}

/// Every setting of a ruleset and of a scenario, in the order of the files' schemas.
#[must_use]
pub fn settings_reference() -> [Vec<SettingHelp>; 2] {
    [schema_ruleset(), schema_scenario()].map(|schema| {
        let mut settings = Vec::new();
        list(schema, schema, "", &mut settings);
        settings
    })
}

/// Lists the settings of a table whose path ends in `above`.
fn list(whole: &Value, table: &Value, above: &str, settings: &mut Vec<SettingHelp>) {
    let required: Vec<&str> = table["required"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    for (key, node) in table["properties"].as_object().into_iter().flatten() {
        let path = format!("{above}{key}");
        let allows = allowed(whole, node);
        settings.push(SettingHelp {
            path: path.clone(),
            kind: kind(whole, allows),
            unit: unit(key, node, allows),
            default: (!required.contains(&key.as_str())).then(|| default(&node["default"])),
            help: node["description"]
                .as_str()
                .unwrap_or_default()
                .replace('\n', " "),
        });
        match allows {
            Allowed::Table(shape) => match shape["additionalProperties"].is_object() {
                true => below(
                    whole,
                    &shape["additionalProperties"],
                    &format!("{path}.NAME."),
                    settings,
                ),
                false => list(whole, shape, &format!("{path}."), settings),
            },
            Allowed::List(shape) => {
                below(whole, &shape["items"], &format!("{path}[]."), settings);
            }
            _ => {}
        }
    }
}

fn below(whole: &Value, node: &Value, above: &str, settings: &mut Vec<SettingHelp>) {
    if let Allowed::Table(shape) = allowed(whole, node) {
        list(whole, shape, above, settings);
    }
}

fn kind(whole: &Value, allows: Allowed<'_>) -> String {
    match allows {
        Allowed::Table(shape) if shape["additionalProperties"].is_object() => {
            format!("tables, each with a name of your own of up to {LONGEST_NAME} characters")
        }
        Allowed::Text(node) => {
            let bounds = (node["minLength"].as_u64(), node["maxLength"].as_u64());
            let text = in_words(allows);
            match bounds {
                (Some(least), Some(most)) => format!("{text}, {least} to {most} characters"),
                (None, Some(most)) => format!("{text}, up to {most} characters"),
                _ => text,
            }
        }
        Allowed::List(shape) if matches!(allowed(whole, &shape["items"]), Allowed::Table(_)) => {
            tables_in_words(&in_words(allows))
        }
        _ => in_words(allows),
    }
}

/// A list as one of tables: "a list of tables", "a list of 2 tables".
fn tables_in_words(list: &str) -> String {
    match list {
        "a list" => "a list of tables".to_owned(),
        counted => format!("{counted} tables"),
    }
}

fn unit(key: &str, node: &Value, allows: Allowed<'_>) -> String {
    match (&node["x-unit"], allows) {
        (Value::String(unit), _) => unit.clone(),
        (_, Allowed::Written(Written::Distance, _)) => "base widths".to_owned(),
        (_, Allowed::Written(Written::Charge, _)) => "movement points".to_owned(),
        _ if key.ends_with("_mm") => "mm".to_owned(),
        _ => String::new(),
    }
}

/// A default as it would be written; absence in words.
fn default(value: &Value) -> String {
    match value {
        Value::Null => "absent".to_owned(),
        Value::Object(_) => "its defaults".to_owned(),
        Value::Array(list) if list.is_empty() => "none".to_owned(),
        Value::Number(number) => match number.as_f64() {
            Some(number) => number.to_string(),
            None => number.to_string(),
        },
        other => other.to_string(),
    }
}
