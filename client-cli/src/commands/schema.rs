//! `schema`: JSON Schemas of files, and of what commands answer.

use fieldpost_rules::authored;

use crate::answers::{DESCRIBED, schema_of};
use crate::arguments::SchemaKind;
use crate::error::{CliError, CliResult};
use crate::output::Output;

/// Prints a JSON Schema.
///
/// # Errors
/// [`CliError::Usage`] when a command's answer is asked for that is not described, naming those that are.
pub fn schema(kind: SchemaKind, command: &[String], output: Output) -> CliResult {
    match kind {
        SchemaKind::Ruleset => output.print_json(authored::schema_ruleset()),
        SchemaKind::Scenario => output.print_json(authored::schema_scenario()),
        SchemaKind::Answer => {
            let command = command.join(" ");
            let schema = schema_of(&command).ok_or_else(|| {
                let described: Vec<&str> = DESCRIBED.iter().map(|(name, _)| *name).collect();
                CliError::Usage(format!(
                    "which command's answer? Described are: {}",
                    described.join(", ")
                ))
            })?;
            output.print_json(&schema)
        }
    }
}
