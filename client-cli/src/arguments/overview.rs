//! The whole program on one screen.

/// Commands that belong together: a heading, and each command with what it does in a few words.
pub struct Group {
    /// What they are for.
    pub heading: &'static str,
    /// Name and a few words of each.
    pub commands: &'static [(&'static str, &'static str)],
}

/// All commands, each once.
pub const GROUPS: [Group; 10] = [
    Group {
        heading: "Your seat",
        commands: &[
            ("join", "take one"),
            ("seats", "those stored here"),
            ("keys", "keys that sign"),
            ("notices", "mail and webhooks"),
        ],
    },
    Group {
        heading: "A turn",
        commands: &[
            ("news", "what happened"),
            ("table", "the table"),
            ("event", "one event measured"),
            ("words", "how to write orders"),
            ("try", "measure a sheet"),
            ("post", "post a sheet"),
            ("standing", "for their turn"),
        ],
    },
    Group {
        heading: "Measuring",
        commands: &[
            ("measure", "between two units"),
            ("reach", "where one can go"),
        ],
    },
    Group {
        heading: "A real table",
        commands: &[
            ("placing", "lay units out"),
            ("placed", "read them back"),
            ("print", "at true scale"),
        ],
    },
    Group {
        heading: "Beside it",
        commands: &[
            ("clock", "days, leave, pause"),
            ("concede", "give up"),
            ("dispute", "ask the umpire"),
            ("rule", "umpire's ruling"),
            ("consent", "to who rules"),
        ],
    },
    Group {
        heading: "The record",
        commands: &[
            ("record", "save it"),
            ("audit", "check it"),
            ("compare", "read it aloud"),
            ("replay", "watch it"),
        ],
    },
    Group {
        heading: "No server",
        commands: &[
            ("local", "battle in a file"),
            ("battles", "shipped battles"),
        ],
    },
    Group {
        heading: "Organising",
        commands: &[
            ("games", "all games"),
            ("open", "a new one"),
            ("invite", "to a seat"),
            ("seating", "who holds what"),
            ("spectators", "who may read"),
            ("members", "of the club"),
        ],
    },
    Group {
        heading: "Your rules",
        commands: &[
            ("starter", "file to begin with"),
            ("schema", "for your editor"),
            ("settings", "each explained"),
            ("draw", "the opening table"),
            ("check", "faults of files"),
            ("study", "a results table"),
            ("trials", "many battles"),
            ("convert", "a board game"),
        ],
    },
    Group {
        heading: "The program",
        commands: &[
            ("help", "this; of a command"),
            ("config", "what is in force"),
            ("completions", "for a shell"),
            ("manual-page", "for man"),
        ],
    },
];

/// Columns of a heading, of a name and of a cell.
const HEADING: usize = 14;
const NAME: usize = 13;
const CELL: usize = 33;

/// The table of all commands, in two columns; in one on a narrow terminal.
#[must_use]
pub fn overview(columns: usize) -> String {
    let across = if columns < HEADING + 2 * CELL - 1 {
        1
    } else {
        2
    };
    let is_narrow = columns < HEADING + CELL;
    let mut text = String::new();
    for group in &GROUPS {
        if is_narrow {
            text.push_str(&format!("{}\n", group.heading));
        }
        for (index, row) in group.commands.chunks(across).enumerate() {
            let heading = if index == 0 { group.heading } else { "" };
            let mut line = if is_narrow {
                "  ".to_owned()
            } else {
                format!("{heading:<HEADING$}")
            };
            for (name, about) in row {
                line.push_str(&format!("{:<CELL$}", format!("{name:<NAME$}{about}")));
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
    }
    text.push_str(if is_narrow {
        "\nfieldpost help COMMAND explains one.\n"
    } else {
        "\nfieldpost help COMMAND explains one, with examples. --seat, --game, --server,\n--json and --quiet count everywhere.\n"
    });
    text
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_command_is_there_once() {
        let definition = super::super::definition();
        let known: BTreeSet<&str> = definition
            .get_subcommands()
            .map(clap::Command::get_name)
            .collect();
        let all: Vec<&str> = GROUPS
            .iter()
            .flat_map(|group| group.commands)
            .map(|(name, _)| *name)
            .collect();
        let listed: BTreeSet<&str> = all.iter().copied().collect();
        assert_eq!(listed, known);
        assert_eq!(all.len(), listed.len());
    }

    #[test]
    fn it_fits_one_screen_and_a_narrow_one() {
        let wide = overview(80);
        assert!(wide.lines().count() <= 32, "{}", wide.lines().count());
        for (columns, text) in [(80, wide), (40, overview(40))] {
            let longest = text.lines().map(|line| line.chars().count()).max();
            assert!(longest <= Some(columns), "{text}");
        }
    }
}
