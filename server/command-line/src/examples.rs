//! Examples within help.

/// A definition in which each command within a command shows those of its parent's examples that are its own. `path` is how
/// the command is typed: `fieldpost seats`.
#[must_use]
pub fn with_own_examples(mut command: clap::Command, path: &str) -> clap::Command {
    let shown = command
        .get_after_help()
        .map(ToString::to_string)
        .unwrap_or_default();
    let names: Vec<String> = command
        .get_subcommands()
        .map(|sub| sub.get_name().to_owned())
        .collect();
    for name in names {
        let own = format!("{path} {name}");
        let examples: Vec<&str> = shown
            .lines()
            .filter(|line| {
                let after = line.find(&own).map(|at| &line[at + own.len()..]);
                after.is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
            })
            .collect();
        let examples = match examples.len() {
            0 => String::new(),
            1 => format!("Example:\n{}", examples[0]),
            _ => format!("Examples:\n{}", examples.join("\n")),
        };
        command = command.mut_subcommand(&name, |sub| {
            let sub = if sub.get_after_help().is_none() && !examples.is_empty() {
                sub.after_help(examples)
            } else {
                sub
            };
            with_own_examples(sub, &own)
        });
    }
    command
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_within_shows_its_own_examples_alone() {
        let keep = clap::Command::new("keep");
        let forget = clap::Command::new("forget").after_help("Example:\n  post seats forget 3");
        let seats = clap::Command::new("seats")
            .after_help("Examples:\n  post seats\n  post seats keep red\n  post seats keepers")
            .subcommands([keep, forget]);
        let shown = with_own_examples(seats, "post seats");
        let help = |name| {
            let command = shown.find_subcommand(name).expect("it is there");
            command.get_after_help().map(ToString::to_string)
        };
        assert_eq!(
            help("keep").as_deref(),
            Some("Example:\n  post seats keep red")
        );
        assert_eq!(
            help("forget").as_deref(),
            Some("Example:\n  post seats forget 3")
        );
    }
}
