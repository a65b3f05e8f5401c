//! Everything that is shown: results on standard output, the rest on standard error.

use std::io::{self, IsTerminal as _, Write as _};
use std::path::Path;

use anstream::ColorChoice;
use serde::Serialize;

use crate::failure::{Failure, Outcome};
use crate::keep::files;

/// Where a command says what it has to say.
#[derive(Debug, Clone, Copy)]
pub struct Out {
    /// Whether reads answer as JSON.
    pub json: bool,
    /// Whether remarks are left out.
    pub quiet: bool,
}

impl Out {
    /// Says a result, ended by a line's end.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn say(&self, text: &str) -> Outcome {
        let mut text = harmless(text);
        if !text.ends_with('\n') {
            text.push('\n');
        }
        write(text.as_bytes())
    }

    /// Says a result as JSON, or as words.
    ///
    /// # Errors
    /// As [`Self::say`].
    pub fn result(&self, value: &impl Serialize, words: impl FnOnce() -> String) -> Outcome {
        if self.json {
            self.json(value)
        } else {
            self.say(&words())
        }
    }

    /// Says a result as JSON.
    ///
    /// # Errors
    /// As [`Self::say`].
    pub fn json(&self, value: &impl Serialize) -> Outcome {
        let text = serde_json::to_string_pretty(value)
            .map_err(|error| Failure::Plain(format!("cannot be put as JSON: {error}")))?;
        let mut text = escaped(&text);
        text.push('\n');
        write(text.as_bytes())
    }

    /// Puts out bytes that are a file's content.
    ///
    /// # Errors
    /// As [`Self::say`].
    pub fn raw(&self, bytes: &[u8]) -> Outcome {
        write(bytes)
    }

    /// Puts bytes into the file that was named, and remarks where: "drawn to table.svg"; "-" is standard
    /// output.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn put(&self, path: &Path, bytes: &[u8], done: &str) -> Outcome {
        if path.as_os_str() == "-" {
            return if self.json {
                Err(Failure::Usage(
                    "standard output takes one answer: leave --json out, or name a file".to_owned(),
                ))
            } else {
                self.raw(bytes)
            };
        }
        files::write_plain(path, bytes)?;
        self.remark(&format!("{done} to {}", path.display()));
        Ok(())
    }

    /// Remarks on what was done, unless they are unwanted.
    pub fn remark(&self, text: &str) {
        if !self.quiet {
            self.warn(text);
        }
    }

    /// Remarks on files, which are drawn in colours of their own.
    pub fn remark_drawn(&self, text: &str) {
        if !self.quiet {
            say_drawn(text);
        }
    }

    /// Says what must not be missed.
    pub fn warn(&self, text: &str) {
        // nothing can be done if nobody hears it
        let _ = writeln!(io::stderr().lock(), "{}", harmless(text));
    }

    /// Tells of a failure.
    pub fn fail(&self, failure: &Failure) {
        let text = failure.text();
        if text.is_empty() {
            return;
        }
        // faults of files carry their own "error:" and colours
        if matches!(failure, Failure::NotValid(_)) {
            say_drawn(&text);
        } else {
            self.warn(&format!("fieldpost: {text}"));
        }
    }
}

/// Says to people what carries colours of its own.
fn say_drawn(text: &str) {
    let mut stderr = anstream::stderr().lock();
    let _ = writeln!(stderr, "{}", harmless_but_colours(text));
}

/// Width of a text when no terminal tells its own, in characters.
const COLUMNS: usize = 80;

/// Columns to fit into: as asked, else the terminal's, else 80.
#[must_use]
pub fn text_columns(asked: Option<u16>) -> usize {
    let terminal = || comfy_table::Table::new().width();
    let columns = asked.or_else(terminal).map_or(COLUMNS, usize::from);
    columns.clamp(40, 400)
}

/// Whether drawings for standard error may be coloured.
#[must_use]
pub fn in_colour() -> bool {
    let stderr = io::stderr();
    stderr.is_terminal() && anstream::AutoStream::choice(&stderr) != ColorChoice::Never
}

fn write(bytes: &[u8]) -> Outcome {
    let mut stdout = io::stdout().lock();
    let written = stdout.write_all(bytes).and_then(|()| stdout.flush());
    written.map_err(|error| match error.kind() {
        io::ErrorKind::BrokenPipe => Failure::NobodyReads,
        _ => Failure::Plain(format!("cannot write to standard output: {error}")),
    })
}

/// Text that cannot steer a terminal or turn itself around; lines and tabs stay.
#[must_use]
pub fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| if steers(c) { '\u{fffd}' } else { c })
        .collect()
}

/// Faults are drawn by our own code, which takes control characters out of what it quotes; the
/// escapes left are its colours.
fn harmless_but_colours(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c != '\u{1b}' && steers(c) {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}

/// JSON in which such characters are escaped.
fn escaped(json: &str) -> String {
    let mut text = String::with_capacity(json.len());
    for c in json.chars() {
        if steers(c) {
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

fn steers(c: char) -> bool {
    (c.is_control() && c != '\n' && c != '\t')
        || matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_steer_a_terminal() {
        assert_eq!(
            harmless("\u{1b}[2Jred\r\n\u{9b}31m"),
            "\u{fffd}[2Jred\u{fffd}\n\u{fffd}31m"
        );
        assert_eq!(harmless("a\u{202e}b\tÉ"), "a\u{fffd}b\tÉ");
    }

    #[test]
    fn json_stays_the_same_data() {
        let name = "\u{202e}a\u{7f}\u{85}\n\"";
        let text = escaped(&serde_json::to_string(name).unwrap());
        assert!(text.is_ascii());
        assert_eq!(serde_json::from_str::<String>(&text).unwrap(), name);
    }
}
