//! JSON Schemas of the authored files, made from the types that hold them.

use std::sync::LazyLock;

use schemars::{JsonSchema, SchemaGenerator};
use serde_json::Value;

use crate::ruleset::{Charge, Column, Distance, Ruleset};
use crate::scenario::Scenario;

static RULESET: LazyLock<Value> = LazyLock::new(schema::<Ruleset>);
static SCENARIO: LazyLock<Value> = LazyLock::new(schema::<Scenario>);

/// The JSON Schema (draft 2020-12) of a ruleset file, for editors.
#[must_use]
pub fn schema_ruleset() -> &'static Value {
    &RULESET
}

/// The JSON Schema (draft 2020-12) of a scenario file, for editors.
#[must_use]
pub fn schema_scenario() -> &'static Value {
    &SCENARIO
}

/// The schema of any type of file.
pub fn schema<T: JsonSchema>() -> Value {
    SchemaGenerator::default()
        .into_root_schema_for::<T>()
        .to_value()
}

/// A value that is a number or a text of its own form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Written {
    /// A distance, in base widths when bare.
    Distance,
    /// A charge, in movement points when bare.
    Charge,
    /// The head of a results column.
    Column,
}

impl Written {
    fn named(definition: &str) -> Option<Self> {
        match definition {
            "Distance" => Some(Self::Distance),
            "Charge" => Some(Self::Charge),
            "Column" => Some(Self::Column),
            _ => None,
        }
    }

    /// What is wrong with a text of this form.
    pub(super) fn fault_of(self, text: &str) -> Option<String> {
        match self {
            Self::Distance => Distance::parse(text).err(),
            Self::Charge => Charge::parse(text).err(),
            Self::Column => Column::parse(text).err(),
        }
    }

    /// What to write, in words.
    pub(super) fn in_words(self) -> &'static str {
        match self {
            Self::Distance => "a number of base widths, or a length such as \"40 mm\"",
            Self::Charge => "a number of movement points, or a length such as \"40 mm\"",
            Self::Column => "odds such as \"3:2\", or a difference such as -2",
        }
    }
}

/// What a schema allows at one place, with references followed and absence left out.
#[derive(Debug, Clone, Copy)]
pub(super) enum Allowed<'s> {
    /// A table.
    Table(&'s Value),
    /// A list.
    List(&'s Value),
    /// Text.
    Text(&'s Value),
    /// A number.
    Number(&'s Value),
    /// A whole number.
    Whole(&'s Value),
    /// True or false.
    Truth,
    /// One of some words, as a list of `{ "const", "description" }`.
    Choice(&'s [Value]),
    /// A number or a text of its own form.
    Written(Written, &'s Value),
    /// Any of several.
    Any(&'s [Value]),
    /// Anything: the schema says nothing this reader knows.
    Anything,
}

/// What a schema node of a whole schema allows.
pub(super) fn allowed<'s>(whole: &'s Value, node: &'s Value) -> Allowed<'s> {
    if let Some(reference) = node["$ref"].as_str() {
        let name = reference.trim_start_matches("#/$defs/");
        let definition = &whole["$defs"][name];
        return match Written::named(name) {
            Some(written) => Allowed::Written(written, definition),
            None => allowed(whole, definition),
        };
    }
    if let Some(choices) = node["oneOf"].as_array() {
        return Allowed::Choice(choices);
    }
    if let Some(branches) = node["anyOf"].as_array() {
        return match branches.as_slice() {
            [only, absent] if absent["type"] == "null" => allowed(whole, only),
            several => Allowed::Any(several),
        };
    }
    match type_name(node) {
        Some("object") => Allowed::Table(node),
        Some("array") => Allowed::List(node),
        Some("string") => Allowed::Text(node),
        Some("number") => Allowed::Number(node),
        Some("integer") => Allowed::Whole(node),
        Some("boolean") => Allowed::Truth,
        _ => Allowed::Anything,
    }
}

/// The type a schema names, other than null.
fn type_name(node: &Value) -> Option<&str> {
    match &node["type"] {
        Value::String(name) => Some(name),
        Value::Array(names) => names
            .iter()
            .filter_map(Value::as_str)
            .find(|name| *name != "null"),
        _ => None,
    }
}

/// What a place takes, in words.
pub(super) fn in_words(allowed: Allowed<'_>) -> String {
    match allowed {
        Allowed::Table(_) => "a table".to_owned(),
        Allowed::List(node) => list_in_words(node),
        Allowed::Text(_) => "text in quotes".to_owned(),
        Allowed::Number(node) => format!("a number{}", bounds_in_words(node)),
        Allowed::Whole(node) if node["minimum"].is_u64() && node["minimum"] == node["maximum"] => {
            format!("only {}", node["minimum"])
        }
        Allowed::Whole(node) => format!("a whole number{}", bounds_in_words(node)),
        Allowed::Truth => "true or false".to_owned(),
        Allowed::Choice(choices) => {
            let words = choices.iter().filter_map(|choice| choice["const"].as_str());
            format!("one of {}", super::near::listed(words))
        }
        Allowed::Written(written, _) => written.in_words().to_owned(),
        Allowed::Any(_) => "a number, or two in a list such as [2, 4]".to_owned(),
        Allowed::Anything => "a value".to_owned(),
    }
}

fn list_in_words(node: &Value) -> String {
    match (node["minItems"].as_u64(), node["maxItems"].as_u64()) {
        (Some(least), Some(most)) if least == most => format!("a list of {least}"),
        (Some(least), Some(most)) => format!("a list of {least} to {most}"),
        (Some(least), None) => format!("a list of at least {least}"),
        _ => "a list".to_owned(),
    }
}

/// ` from 1 to 6`, ` of at least 0`, or nothing.
fn bounds_in_words(node: &Value) -> String {
    match (node["minimum"].as_f64(), node["maximum"].as_f64()) {
        (Some(least), Some(most)) => format!(" from {least} to {most}"),
        (Some(least), None) => format!(" of at least {least}"),
        (None, Some(most)) => format!(" of at most {most}"),
        (None, None) => String::new(),
    }
}
