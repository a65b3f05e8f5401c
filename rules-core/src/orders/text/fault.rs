//! A faulty line of a typed file: where, what, and what would do.

use std::fmt;

use serde::Serialize;

use crate::sanitize::capital;

/// One fault of a typed sheet or of standing instructions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TextFault {
    /// The file's name, as the caller gave it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// How many characters are at fault; at least 1.
    pub length: usize,
    /// What is wrong.
    pub problem: String,
    /// What would do.
    pub remedy: String,
    /// What the line could mean, each written as a line that is read; empty where nothing is asked.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<String>,
    /// The line as it stands, without control characters.
    pub source: String,
}

/// What is wrong with a stretch of one line, before it is known which line that is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Problem {
    /// First byte of the line at fault.
    pub start: usize,
    /// First byte after it.
    pub end: usize,
    /// What is wrong.
    pub problem: String,
    /// What would do.
    pub remedy: String,
    /// What it could mean, each as a line that is read.
    pub readings: Vec<String>,
    /// What could stand in place of what is at fault, each of which makes the line a reading.
    instead: Vec<String>,
}

impl Problem {
    pub fn new(
        span: std::ops::Range<usize>,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            start: span.start,
            end: span.end,
            problem: problem.into(),
            remedy: remedy.into(),
            readings: Vec::new(),
            instead: Vec::new(),
        }
    }

    /// The same, where something else would do as well.
    pub fn or(self, what: &str) -> Self {
        let remedy = format!("{}; or {what}", self.remedy);
        Self { remedy, ..self }
    }

    /// The same, where each of these could stand in its place.
    pub fn with_instead(self, instead: Vec<String>) -> Self {
        Self { instead, ..self }
    }

    /// What could mean several things, or lacks something, is asked about: each reading is written out as it would be read.
    pub fn asked(
        span: std::ops::Range<usize>,
        problem: impl Into<String>,
        readings: Vec<String>,
    ) -> Self {
        let quoted: Vec<String> = readings.iter().map(|line| format!("{line:?}")).collect();
        let remedy = match quoted.split_last() {
            Some((last, [])) => format!("if that is meant, write {last}"),
            Some((last, others)) => format!("write {} or {last}", others.join(", ")),
            None => "say it in other words".to_owned(),
        };
        Self {
            readings,
            ..Self::new(span, problem, remedy)
        }
    }

    /// The fault that this is in line `line` (from 1), whose text is `source`.
    pub fn in_line(self, file: &str, line: usize, source: &str) -> TextFault {
        let mut readings = self.readings;
        if let (Some(head), Some(tail)) = (source.get(..self.start), source.get(self.end..)) {
            let lines = self
                .instead
                .iter()
                .map(|name| format!("{head}{name}{tail}"));
            readings.extend(lines.map(|line| plain(line.trim(), usize::MAX)));
        }
        let before = chars_of(source, 0, self.start);
        let within = chars_of(source, self.start, self.end);
        TextFault {
            file: plain(file, FILE_CHARS_MAX),
            line,
            column: before + 1,
            length: within.max(1),
            problem: self.problem,
            remedy: self.remedy,
            readings,
            source: plain(source, usize::MAX),
        }
    }
}

/// Longest file name that a fault shows.
const FILE_CHARS_MAX: usize = 200;

/// Characters that begin in the bytes `from..to`.
fn chars_of(source: &str, from: usize, to: usize) -> usize {
    source
        .char_indices()
        .filter(|(at, _)| (from..to).contains(at))
        .count()
}

/// Text fit for a terminal: no control characters, at most so many characters.
pub(super) fn plain(text: &str, chars_max: usize) -> String {
    text.chars()
        .map(|c| match c {
            '\t' => ' ',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .take(chars_max)
        .collect()
}

impl TextFault {
    /// What is wrong and what would do, for people: "expected a leg, not \"foward\". Legs are forward, back …".
    #[must_use]
    pub fn sentence(&self) -> String {
        format!("{}. {}.", self.problem, capital(&self.remedy)).replace("?.", "?")
    }

    /// Where the fault is, its sentence, and the line with a mark under the place; in colour where that is wanted.
    #[must_use]
    pub fn drawn(&self, colour: bool) -> String {
        let (strong, end) = if colour {
            ("\u{1b}[1;31m", "\u{1b}[0m")
        } else {
            ("", "")
        };
        let before = " ".repeat(self.column - 1);
        let within = "^".repeat(self.length);
        format!(
            "{strong}{}, line {}:{end} {}\n  {}\n  {before}{strong}{within}{end}",
            self.file,
            self.line,
            self.sentence(),
            self.source,
        )
    }
}

impl fmt::Display for TextFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: {}; {}",
            self.file, self.line, self.column, self.problem, self.remedy
        )
    }
}
