//! `settings`: every setting of ruleset and scenario files, out of the schemas that check them.

use fieldpost_rules::authored;
use serde::Serialize;
use serde_json::{Value, json};

use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::typed::SettingsArgs;

/// Deepest nesting that is followed.
const DEPTH_MAX: usize = 8;

/// One setting.
#[derive(Debug, Serialize)]
struct Setting {
    file: &'static str,
    name: String,
    kind: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    default: Option<Value>,
    required: bool,
    about: String,
}

/// Explains the settings.
///
/// # Errors
/// When none fits the word.
pub fn settings(args: &SettingsArgs, out: Out) -> Outcome {
    let mut all = Vec::new();
    for (file, schema) in [
        ("ruleset", authored::schema_ruleset()),
        ("scenario", authored::schema_scenario()),
    ] {
        let mut walk = Walk {
            file,
            schema,
            all: &mut all,
        };
        walk.object(schema, "", 0);
    }
    if let Some(word) = &args.word {
        let word = word.to_lowercase();
        all.retain(|setting| {
            setting.name.to_lowercase().contains(&word)
                || setting.about.to_lowercase().contains(&word)
        });
        if all.is_empty() {
            return Err(Failure::Usage(format!(
                "no setting has {word:?} in its name or explanation; \"fieldpost settings\" shows all"
            )));
        }
    }
    out.result(&json!({ "settings": all }), || {
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
    fn in_words(&self) -> String {
        let default = match &self.default {
            Some(Value::Null) | None if self.required => " (required)".to_owned(),
            Some(Value::Null) | None => String::new(),
            Some(Value::Object(_) | Value::Array(_)) => String::new(),
            Some(value) => format!(" [{value}]"),
        };
        format!(
            "{}  {}{default}\n    {}\n",
            self.name,
            self.kind,
            self.about.replace('\n', " ")
        )
    }
}

struct Walk<'a> {
    file: &'static str,
    schema: &'a Value,
    all: &'a mut Vec<Setting>,
}

impl<'a> Walk<'a> {
    /// Every member of an object, and what is inside it.
    fn object(&mut self, object: &'a Value, path: &str, depth: usize) {
        let object = self.resolved(object);
        let required: Vec<&str> = object
            .get("required")
            .and_then(Value::as_array)
            .map(|names| names.iter().filter_map(Value::as_str).collect())
            .unwrap_or_default();
        let members = object.get("properties").and_then(Value::as_object);
        for (name, member) in members.into_iter().flatten() {
            let path = if path.is_empty() {
                name.clone()
            } else {
                format!("{path}.{name}")
            };
            let resolved = self.resolved(member);
            let about = text(member, "description").or_else(|| text(resolved, "description"));
            self.all.push(Setting {
                file: self.file,
                name: path.clone(),
                kind: self.kind(member),
                default: member.get("default").cloned(),
                required: required.contains(&name.as_str()),
                about: about.unwrap_or_default(),
            });
            if depth < DEPTH_MAX {
                self.inside(resolved, &path, depth + 1);
            }
        }
    }

    /// What is inside a member: an object's members, a list's items, a map's values.
    fn inside(&mut self, member: &'a Value, path: &str, depth: usize) {
        if member.get("properties").is_some() {
            self.object(member, path, depth);
        } else if let Some(items) = member.get("items").filter(|items| items.is_object()) {
            self.object(items, &format!("{path}[]"), depth);
        } else if let Some(values) = member.get("additionalProperties").filter(|v| v.is_object()) {
            self.object(values, &format!("{path}.NAME"), depth);
        }
    }

    /// A schema behind its reference, or the one thing that an optional member may be.
    fn resolved(&self, schema: &'a Value) -> &'a Value {
        if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
            let found = self.schema.pointer(reference.trim_start_matches('#'));
            return found.map_or(schema, |found| self.resolved(found));
        }
        let choices = schema.get("anyOf").and_then(Value::as_array);
        let is_null = |choice: &&Value| choice.get("type").and_then(Value::as_str) == Some("null");
        if let Some([one, other]) = choices.map(Vec::as_slice) {
            if is_null(&other) {
                return self.resolved(one);
            }
            if is_null(&one) {
                return self.resolved(other);
            }
        }
        schema
    }

    fn kind(&self, member: &'a Value) -> String {
        let schema = self.resolved(member);
        if let Some(words) = schema.get("enum").and_then(Value::as_array) {
            let words: Vec<&str> = words.iter().filter_map(Value::as_str).collect();
            return words.join(" | ");
        }
        if let Some(choices) = schema.get("oneOf").and_then(Value::as_array) {
            let words: Vec<&str> = choices
                .iter()
                .filter_map(|choice| choice.get("const").and_then(Value::as_str))
                .collect();
            if !words.is_empty() {
                return words.join(" | ");
            }
        }
        let bounds = match (number(schema, "minimum"), number(schema, "maximum")) {
            (Some(least), Some(most)) => format!(" {least} to {most}"),
            _ => String::new(),
        };
        let kind = match schema.get("type") {
            Some(Value::String(kind)) => kind.as_str(),
            Some(Value::Array(kinds)) => kinds.first().and_then(Value::as_str).unwrap_or("value"),
            _ if schema.get("anyOf").is_some() => "length",
            _ => "value",
        };
        let kind = match kind {
            "object" => "table",
            "array" => "list",
            "string" => "text",
            "boolean" => "true or false",
            other => other,
        };
        format!("{kind}{bounds}")
    }
}

fn text(schema: &Value, name: &str) -> Option<String> {
    schema.get(name)?.as_str().map(str::to_owned)
}

fn number(schema: &Value, name: &str) -> Option<String> {
    schema.get(name)?.as_f64().map(|number| number.to_string())
}
