//! What is wrong with an authored file: every fault with its place and a remedy.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};
use serde::Serialize;

use crate::sanitize::plain;

/// Most faults that are kept; a file with more has been cut or is of another kind.
const MOST_FAULTS: usize = 100;
/// Faults after which a reading only counts: a megabyte of nonsense holds half a million.
pub(super) const ENOUGH: usize = 1_000;
/// Lines longer than this are not shown, in bytes.
const LONGEST_SHOWN: usize = 2_000;

/// One fault of an authored file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Name of the file, as the caller gave it.
    pub file: String,
    /// The setting at fault, such as `unit[3].troops`; items of lists count from 0. Empty when
    /// the text could not be read that far.
    pub path: String,
    /// Line, from 1; 0 when the fault is of the file as a whole.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub problem: String,
    /// What would do.
    pub remedy: String,
    /// The line as it was written, and the bytes of it that the fault points at.
    #[serde(skip)]
    shown: Option<(String, Range<usize>)>,
}

impl Fault {
    /// What is said may quote the file: nothing of it steers a terminal.
    pub(super) fn new(file: &str, path: String, problem: String, remedy: String) -> Self {
        Self {
            file: file.to_owned(),
            path: plain(&path),
            line: 0,
            column: 0,
            problem: plain(&problem),
            remedy: plain(&remedy),
            shown: None,
        }
    }

    /// The fault with its place: the line's number, its text and the bytes at fault.
    pub(super) fn seen(mut self, line: usize, text: &str, at: Range<usize>) -> Self {
        self.line = line;
        self.column = text[..at.start].chars().count() + 1;
        self.shown = (text.len() <= LONGEST_SHOWN).then(|| (text.to_owned(), at));
        self
    }

    /// The fault in one line: `file:line:column: path: problem; remedy`.
    #[must_use]
    pub fn line_of_text(&self) -> String {
        let mut text = self.file.clone();
        if self.line > 0 {
            text += &format!(":{}:{}", self.line, self.column);
        }
        if !self.path.is_empty() {
            text += &format!(": {}", self.path);
        }
        format!("{text}: {}; {}", self.problem, self.remedy)
    }

    /// As it is drawn, called an error or something milder.
    fn group<'a>(&'a self, called: &'a str) -> Group<'a> {
        let place: Element<'_> = match &self.shown {
            Some((text, at)) => Snippet::source(text.as_str())
                .path(self.file.as_str())
                .line_start(self.line)
                .annotation(
                    AnnotationKind::Primary
                        .span(at.clone())
                        .label(self.path.as_str()),
                )
                .into(),
            None if self.line > 0 => Origin::path(self.file.as_str())
                .line(self.line)
                .char_column(self.column)
                .into(),
            None => Origin::path(self.file.as_str()).into(),
        };
        Level::ERROR
            .with_name(called)
            .primary_title(self.problem.as_str())
            .element(place)
            .element(Level::HELP.message(self.remedy.as_str()))
    }
}

/// Every fault of one or two files, in order of file and place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Faults {
    /// The faults, never none.
    pub faults: Vec<Fault>,
    /// How many more there were than are listed.
    pub left_out: usize,
}

impl Faults {
    /// Faults of one file, sorted by their place.
    pub(super) fn of(mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|fault| (fault.line, fault.column));
        faults.dedup();
        let left_out = faults.len().saturating_sub(MOST_FAULTS);
        faults.truncate(MOST_FAULTS);
        Self { faults, left_out }
    }

    /// These faults, and so many more that were only counted.
    pub(super) fn besides(mut self, counted: usize) -> Self {
        self.left_out += counted;
        self
    }

    /// These faults and those of another file.
    pub(super) fn and(mut self, other: Self) -> Self {
        self.faults.extend(other.faults);
        self.left_out += other.left_out;
        self
    }

    /// The faults with the lines they stand in and carets under them, in colour if wanted.
    #[must_use]
    pub fn rendered(&self, in_colour: bool) -> String {
        let mut text = String::new();
        for fault in drawn(&self.faults, "error", in_colour) {
            text += &fault;
            text += "\n\n";
        }
        text += &self.count();
        text
    }

    fn count(&self) -> String {
        match (self.faults.len() + self.left_out, self.left_out) {
            (1, _) => "1 fault".to_owned(),
            (all, 0) => format!("{all} faults"),
            (all, _) => format!("{all} faults, of which the first {MOST_FAULTS} are shown"),
        }
    }
}

/// Each of some faults with its line and a caret, in colour if wanted.
pub(super) fn drawn(faults: &[Fault], called: &str, in_colour: bool) -> Vec<String> {
    let renderer = if in_colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let each = faults.iter();
    each.map(|fault| renderer.render(&[fault.group(called)]))
        .collect()
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rendered(false))
    }
}

impl std::error::Error for Faults {}
