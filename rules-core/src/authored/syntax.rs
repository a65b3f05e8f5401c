//! Faults of a text's syntax, in words for people, each with a remedy, without their consequences.

use toml::de::{DeTable, DeValue, Error};

use super::document::Document;
use super::faults::{ENOUGH, Fault};
use super::place::is_bare;

/// What is wrong with the syntax of a text.
pub(super) struct Syntax {
    /// The faults, at most one a line.
    pub(super) faults: Vec<Fault>,
    /// How many more there were.
    pub(super) counted: usize,
    /// Line from which on the text was read as part of something else: what is said of it there
    /// means nothing.
    pub(super) astray_from: usize,
}

impl Syntax {
    /// Puts the parser's complaints into words.
    pub(super) fn of(document: &Document<'_>, errors: &[Error]) -> Self {
        let mut syntax = Self {
            faults: Vec::new(),
            counted: errors.len().saturating_sub(ENOUGH),
            astray_from: usize::MAX,
        };
        if let Some(unclosed) = unclosed_list(document, errors) {
            syntax.astray_from = unclosed.line;
            syntax.faults.push(unclosed);
        }
        let mut shown: Vec<&Error> = errors.iter().take(ENOUGH).collect();
        shown.sort_by_key(|error| error.span().map_or(0, |span| span.start));
        for error in shown {
            syntax.add(document, error);
        }
        syntax
    }

    fn add(&mut self, document: &Document<'_>, error: &Error) {
        let start = error.span().map_or(0, |span| span.start);
        let (line, text) = document.line_at(start);
        let is_heading = text.trim_start().starts_with(['[', '{']);
        let quotes = document.text.get(start..).is_some_and(has_curly_quotes);
        let unquoted = unquoted_name(text).filter(|_| !is_duplicate(error));
        let (problem, remedy) = match unquoted {
            _ if quotes => (CURLY.0, CURLY.1.to_owned()),
            Some(heading) => (UNQUOTED, format!("write {heading}")),
            None if is_duplicate(error) && text.trim_start().starts_with("[[") => {
                (ONCE.0, ONCE.1.to_owned())
            }
            None => {
                let (problem, remedy) = explained(error.message(), is_heading);
                (problem, remedy.to_owned())
            }
        };
        let is_consequence =
            line >= self.astray_from || self.faults.iter().any(|fault| fault.line == line);
        if !is_consequence {
            let span = error.span().unwrap_or(0..0);
            self.faults
                .push(document.fault_in_text(span, problem.to_owned(), remedy));
        }
        if is_heading && line < self.astray_from {
            self.astray_from = line + 1;
        }
    }
}

fn is_duplicate(error: &Error) -> bool {
    error.message().contains("duplicate key")
}

/// Whether a text begins with quotes that a word processor made.
fn has_curly_quotes(text: &str) -> bool {
    text.starts_with(['“', '”', '„', '‟', '‘', '’', '‚', '«', '»'])
}

/// A heading whose names lack quotes, as it would be written; `None` for any other line.
fn unquoted_name(line: &str) -> Option<String> {
    let line = line.split('#').next().unwrap_or(line).trim();
    let brackets = if line.starts_with("[[") { 2 } else { 1 };
    let (open, close) = ("[".repeat(brackets), "]".repeat(brackets));
    let inside = line.strip_prefix(&open)?.strip_suffix(&close)?;
    let names: Vec<&str> = inside.split('.').map(str::trim).collect();
    // a list that stands on a line of its own is no heading
    let is_word = |name: &&str| {
        name.starts_with(char::is_alphabetic) && !name.contains(|c| "\"'[]{}\\,=".contains(c))
    };
    if !names.iter().all(is_word) || names.iter().all(|name| is_bare(name)) {
        return None;
    }
    let quoted = names.iter().map(|name| match is_bare(name) {
        true => (*name).to_owned(),
        false => format!("\"{name}\""),
    });
    let quoted: Vec<String> = quoted.collect();
    Some(format!("{open}{}{close}", quoted.join(".")))
}

/// A list that runs on into the following settings, which the parser then takes for its entries.
fn unclosed_list(document: &Document<'_>, errors: &[Error]) -> Option<Fault> {
    let at = errors
        .iter()
        .find(|error| error.message().contains("`=` in array"))?
        .span()?
        .start;
    let start = list_holding(document.root.get_ref(), at)?;
    let (problem, remedy) = explained("unclosed array", false);
    Some(document.fault_in_text(start..start + 1, problem.to_owned(), remedy.to_owned()))
}

/// Where the innermost list begins that holds a place of the text.
fn list_holding(table: &DeTable<'_>, at: usize) -> Option<usize> {
    fn within(value: &toml::Spanned<DeValue<'_>>, at: usize) -> Option<usize> {
        match value.get_ref() {
            DeValue::Table(table) => list_holding(table, at),
            DeValue::Array(list) => {
                let inner = list.iter().find_map(|item| within(item, at));
                let itself = value.span().contains(&at).then_some(value.span().start);
                inner.or(itself)
            }
            _ => None,
        }
    }
    table.iter().find_map(|(_, value)| within(value, at))
}

const NO_VALUE: (&str, &str) = (
    "here belongs a number, true, false, a list, or text in quotes",
    "words stand in double quotes, and commas between the entries of a list",
);
const TWICE: (&str, &str) = (
    "this is set twice",
    "keep one of the two; a further unit, patch or row begins with its own [[...]] line",
);
const ONCE: (&str, &str) = (
    "this is set already, and not as one of several",
    "double the brackets of the first one too",
);
const CURLY: (&str, &str) = (
    "these are not the quotes that a file is written with",
    "text stands in straight double quotes, such as \"2 in\"",
);
const UNQUOTED: &str = "a name with blanks or accents stands in double quotes";
const HEADING: (&str, &str) = (
    "this heading is not whole",
    "write [name], or [[name]] for one of several; nothing else may stand on the line",
);

/// Marks of the parser's complaints, what they mean, and what would do; the first that fits holds.
const KNOWN: [(&str, (&str, &str)); 18] = [
    (
        "recurs",
        (
            "the file is nested too deep",
            "no setting needs more than a few tables in one another",
        ),
    ),
    ("duplicate key", TWICE),
    ("must be quoted", NO_VALUE),
    ("invalid boolean", NO_VALUE),
    ("expected `inf`", NO_VALUE),
    ("expected `nan`", NO_VALUE),
    (
        "leading zero",
        ("a number may not begin with 0", "write 3 rather than 03"),
    ),
    (
        "invalid fraction",
        (
            "digits must follow the decimal point",
            "write 1 or 1.0 rather than 1.",
        ),
    ),
    (
        "key with no value",
        (
            "this is a key without a value",
            "write key = value; text that only explains begins with #",
        ),
    ),
    (
        "keys cannot be empty",
        (
            "there is no key before the equals sign",
            "write key = value",
        ),
    ),
    (
        "unquoted key",
        (
            "a key is made of letters, digits, - and _",
            "write key = value; a name with blanks stands in double quotes",
        ),
    ),
    (
        "expected newline",
        (
            "nothing may follow a value on its line",
            "write one setting a line; text that only explains begins with #",
        ),
    ),
    (
        "missing comma",
        (
            "a comma is missing between two entries of a list",
            "write [1, 2, 3]",
        ),
    ),
    (
        "unclosed array",
        ("the list that begins here is not closed", "end it with ]"),
    ),
    ("unclosed table", HEADING),
    (
        "unclosed inline table",
        (
            "the table that begins with { is not closed",
            "end it with }",
        ),
    ),
    (
        "invalid basic string",
        (
            "the text in double quotes is not closed or has an unknown \\ sequence",
            "end it with \" on the same line; write \\\\ for a single \\",
        ),
    ),
    (
        "invalid literal string",
        (
            "the text in single quotes is not closed",
            "end it with ' on the same line",
        ),
    ),
];

/// What a complaint of the TOML parser means and what would do.
fn explained(message: &str, is_heading: bool) -> (&'static str, &'static str) {
    let known = KNOWN.iter().find(|(mark, _)| message.contains(mark));
    match known {
        Some((mark, words)) if !is_heading || matches!(*mark, "recurs" | "duplicate key") => *words,
        _ if is_heading => HEADING,
        _ => (
            "this is not TOML",
            "a line is key = value, a [heading], or a comment after #",
        ),
    }
}
