//! What a command tells: results on standard output, the rest on standard error.

use std::io::{self, IsTerminal as _, Write as _};
use std::path::Path;

use anstream::ColorChoice;
use fieldpost_command_line::in_plain_words;
use serde::Serialize;

use crate::ascii::to_ascii;
use crate::error::{CliError, CliResult};
use crate::storage::files;

/// How a command tells what it has to tell.
#[derive(Debug, Clone, Copy)]
pub struct Output {
    /// Whether reads answer as JSON.
    pub json: bool,
    /// Whether remarks are left out.
    pub quiet: bool,
    /// Whether letters and signs are those of ASCII alone.
    pub ascii: bool,
}

impl Output {
    /// Prints a result, ended by a line's end.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn print(&self, text: &str) -> CliResult {
        let mut text = self.fitted(&sanitize(text));
        if !text.ends_with('\n') {
            text.push('\n');
        }
        write(text.as_bytes())
    }

    /// Prints a result as JSON, or as words.
    ///
    /// # Errors
    /// As [`Self::print`].
    pub fn result(&self, value: &impl Serialize, words: impl FnOnce() -> String) -> CliResult {
        if self.json {
            self.print_json(value)
        } else {
            self.print(&words())
        }
    }

    /// Prints a result as JSON.
    ///
    /// # Errors
    /// As [`Self::print`].
    pub fn print_json(&self, value: &impl Serialize) -> CliResult {
        let text = serde_json::to_string_pretty(value)
            .map_err(|error| CliError::Other(format!("cannot be put as JSON: {error}")))?;
        let mut text = escaped(&text, self.ascii);
        text.push('\n');
        write(text.as_bytes())
    }

    /// Text in the letters asked for, with lines that fit a narrow terminal.
    fn fitted(self, text: &str) -> String {
        let text = if self.ascii {
            to_ascii(text)
        } else {
            text.to_owned()
        };
        match text_columns(None) {
            columns if columns < NARROW => wrapped(&text, columns),
            // a wide terminal wraps well enough by itself, and a line stays one to be copied
            _ => text,
        }
    }

    /// Prints bytes that are a file's content.
    ///
    /// # Errors
    /// As [`Self::print`].
    pub fn print_bytes(&self, bytes: &[u8]) -> CliResult {
        write(bytes)
    }

    /// Writes bytes to the file that was named, and tells where: "drawn to table.svg"; "-" is standard
    /// output.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write_file(&self, path: &Path, bytes: &[u8], done: &str) -> CliResult {
        if path.as_os_str() == "-" {
            return if self.json {
                Err(CliError::Usage(
                    "standard output takes one answer: leave --json out, or name a file".to_owned(),
                ))
            } else {
                self.print_bytes(bytes)
            };
        }
        files::write_plain(path, bytes)?;
        self.info(&format!("{done} to {}", path.display()));
        Ok(())
    }

    /// Tells what was done, unless remarks are unwanted.
    pub fn info(&self, text: &str) {
        if !self.quiet {
            self.warn(text);
        }
    }

    /// Tells remarks on files, which are drawn in colours of their own.
    pub fn info_styled(&self, text: &str) {
        if !self.quiet {
            self.print_styled(text);
        }
    }

    /// Tells people what carries colours of its own.
    fn print_styled(self, text: &str) {
        let text = sanitize_styled(text);
        let text = if self.ascii { to_ascii(&text) } else { text };
        let _ = writeln!(anstream::stderr().lock(), "{text}");
    }

    /// Tells what must not be missed.
    pub fn warn(&self, text: &str) {
        // nothing can be done if nobody hears it
        let _ = writeln!(io::stderr().lock(), "{}", self.fitted(&sanitize(text)));
    }

    /// Tells an error.
    pub fn error(&self, error: &CliError) {
        let text = error.to_string();
        if text.is_empty() {
            return;
        }
        // faults of files carry their own "error:" and colours
        if matches!(error, CliError::Invalid(_)) {
            self.print_styled(&text);
        } else {
            self.warn(&format!("fieldpost: {text}"));
        }
    }
}

/// Width of a text when no terminal tells its own, in characters.
const COLUMNS: usize = 80;

/// Terminals of fewer columns get lines broken between words, and a row of a table as a few lines.
pub const NARROW: usize = 60;

/// Columns to fit into: as asked, else the environment's `COLUMNS`, else the terminal's, else 80.
#[must_use]
pub fn text_columns(asked: Option<u16>) -> usize {
    let named = || std::env::var("COLUMNS").ok()?.parse().ok();
    let terminal = || comfy_table::Table::new().width();
    let columns = asked.or_else(named).or_else(terminal);
    columns.map_or(COLUMNS, usize::from).clamp(40, 400)
}

/// Text whose lines are broken between words; what follows a break stands under the beginning of its line's words.
fn wrapped(text: &str, columns: usize) -> String {
    let mut lines = Vec::new();
    for line in text.split('\n') {
        if line.chars().count() <= columns {
            lines.push(line.to_owned());
            continue;
        }
        let indent = line.chars().take_while(|c| *c == ' ').count();
        let indent = if indent > columns / 2 { 2 } else { indent };
        let mut current = " ".repeat(indent);
        for word in line.split_whitespace() {
            let is_begun = current.len() > indent;
            let longer = current.chars().count() + usize::from(is_begun) + word.chars().count();
            if is_begun && longer > columns {
                lines.push(std::mem::replace(&mut current, " ".repeat(indent)));
            } else if is_begun {
                current.push(' ');
            }
            current.push_str(word);
        }
        lines.push(current);
    }
    lines.join("\n")
}

/// Whether drawings for standard error may be coloured.
#[must_use]
pub fn uses_colour() -> bool {
    let stderr = io::stderr();
    stderr.is_terminal() && anstream::AutoStream::choice(&stderr) != ColorChoice::Never
}

fn write(bytes: &[u8]) -> CliResult {
    let mut stdout = io::stdout().lock();
    let written = stdout.write_all(bytes).and_then(|()| stdout.flush());
    written.map_err(|error| match error.kind() {
        io::ErrorKind::BrokenPipe => CliError::BrokenPipe,
        _ => CliError::Other(format!(
            "cannot write to standard output: {}",
            in_plain_words(&error)
        )),
    })
}

/// Text that cannot steer a terminal or turn itself around; lines and tabs stay.
#[must_use]
pub fn sanitize(text: &str) -> String {
    text.chars()
        .map(|c| if is_harmful(c) { '\u{fffd}' } else { c })
        .collect()
}

/// Faults are drawn by our own code, which takes control characters out of what it quotes; the
/// escapes left are its colours.
fn sanitize_styled(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c != '\u{1b}' && is_harmful(c) {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}

/// JSON in which such characters are escaped; all but those of ASCII where only they are wanted.
fn escaped(json: &str, ascii: bool) -> String {
    let mut text = String::with_capacity(json.len());
    for c in json.chars() {
        if is_harmful(c) || (ascii && !c.is_ascii()) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                text.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            text.push(c);
        }
    }
    text
}

/// Whether a terminal must not be given a character: the rule for names, but for lines and tabs.
fn is_harmful(c: char) -> bool {
    !matches!(c, '\n' | '\t') && fieldpost_rules::sanitize::is_harmful(c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_steer_a_terminal() {
        assert_eq!(
            sanitize("\u{1b}[2Jred\r\n\u{9b}31m"),
            "\u{fffd}[2Jred\u{fffd}\n\u{fffd}31m"
        );
        assert_eq!(sanitize("a\u{202e}b\tÉ"), "a\u{fffd}b\tÉ");
    }

    #[test]
    fn json_stays_the_same_data() {
        let name = "\u{202e}a\u{7f}\u{85}\n\"";
        let text = escaped(&serde_json::to_string(name).unwrap(), false);
        assert!(text.is_ascii());
        assert_eq!(serde_json::from_str::<String>(&text).unwrap(), name);
    }

    #[test]
    fn narrow_lines_break_between_words() {
        let text = "  12  Second Vale Foot advances 120 mm along the High Road.\nshort\n";
        assert_eq!(
            wrapped(text, 40),
            "  12 Second Vale Foot advances 120 mm\n  along the High Road.\nshort\n"
        );
        assert_eq!(wrapped(&"x".repeat(50), 40), "x".repeat(50));
    }
}
