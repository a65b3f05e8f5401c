//! The text of an authored file as a tree whose every node knows its place in the text.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue, Error};

use super::faults::{Fault, Faults};
use super::place::{Place, Step};

/// Longest file that is read, in bytes.
pub const MOST_BYTES: usize = 1024 * 1024;

/// What a fault at a place points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Caret {
    /// The key, as written.
    Key,
    /// The value, as written.
    Value,
}

/// A file's text with the tree that was read from it.
pub(super) struct Document<'t> {
    file: &'t str,
    pub(super) text: &'t str,
    line_starts: Vec<usize>,
    pub(super) root: Spanned<DeTable<'t>>,
}

impl<'t> Document<'t> {
    /// Parses the text as far as it can be parsed, with what is wrong with its syntax.
    ///
    /// # Errors
    /// When the text is too long to be read at all.
    pub(super) fn parse(file: &'t str, text: &'t str) -> Result<(Self, Vec<Error>), Faults> {
        if text.len() > MOST_BYTES {
            return Err(too_long(file, text.len()));
        }
        let (root, errors) = DeTable::parse_recoverable(text);
        let line_starts = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect();
        let document = Self {
            file,
            text,
            line_starts,
            root,
        };
        Ok((document, errors))
    }

    /// Number and text of the line that holds a byte of the text.
    pub(super) fn line_at(&self, at: usize) -> (usize, &str) {
        let line = self
            .line_starts
            .partition_point(|start| *start <= at)
            .max(1);
        let rest = &self.text[self.line_starts[line - 1]..];
        let text = rest.split('\n').next().unwrap_or(rest);
        (line, text.strip_suffix('\r').unwrap_or(text))
    }

    /// A fault at a place of the tree; at the nearest thing above it that was written, when it
    /// was not.
    pub(super) fn fault(
        &self,
        place: &Place,
        caret: Caret,
        problem: String,
        remedy: String,
    ) -> Fault {
        self.fault_at(self.span(place, caret), place.to_string(), problem, remedy)
    }

    /// A fault at a range of the text.
    pub(super) fn fault_in_text(
        &self,
        span: Range<usize>,
        problem: String,
        remedy: String,
    ) -> Fault {
        self.fault_at(span, String::new(), problem, remedy)
    }

    fn fault_at(&self, span: Range<usize>, path: String, problem: String, remedy: String) -> Fault {
        let span = self.within(span);
        let (line, text) = self.line_at(span.start);
        let start = self.line_starts[line - 1];
        let from = (span.start - start).min(text.len());
        let to = (span.end - start).clamp(from, text.len());
        Fault::new(self.file, path, problem, remedy).seen(line, text, from..to)
    }

    /// A range that ends at character boundaries inside the text, whatever a parser said.
    fn within(&self, span: Range<usize>) -> Range<usize> {
        let boundary = |mut at: usize| {
            at = at.min(self.text.len());
            while !self.text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let from = boundary(span.start);
        from..boundary(span.end).max(from)
    }

    /// Whether a key of the file, in tables only, was written.
    pub(super) fn is_written(&self, place: &Place) -> bool {
        let mut table = Some(self.root.get_ref());
        place.steps().iter().all(|step| {
            let value = match step {
                Step::Key(key) => table.and_then(|table| table.get(key.as_str())),
                Step::Item(_) => None,
            };
            table = value.and_then(|value| value.get_ref().as_table());
            value.is_some()
        })
    }

    fn span(&self, place: &Place, caret: Caret) -> Range<usize> {
        let mut span = self.root.span();
        let mut table = Some(self.root.get_ref());
        let mut value: Option<&Spanned<DeValue<'_>>> = None;
        let steps = place.steps();
        for (depth, step) in steps.iter().enumerate() {
            let (key_span, next) = match step {
                Step::Key(key) => match table.and_then(|table| table.get_key_value(key.as_str())) {
                    Some((key, next)) => (Some(key.span()), next),
                    None => return span,
                },
                Step::Item(index) => {
                    let list = value.and_then(|value| value.get_ref().as_array());
                    match list.and_then(|list| list.get(*index)) {
                        Some(next) => (None, next),
                        None => return span,
                    }
                }
            };
            span = match key_span {
                Some(key) if caret == Caret::Key && depth + 1 == steps.len() => key,
                _ => next.span(),
            };
            table = next.get_ref().as_table();
            value = Some(next);
        }
        span
    }

    /// The tree without the values at some places, so that their defaults stand in.
    pub(super) fn mended(&self, without: &[Place]) -> Spanned<DeTable<'t>> {
        let mut root = self.root.clone();
        for place in without {
            let Some((above, key)) = place.last_key() else {
                continue;
            };
            if let Some(table) = table_at(root.get_mut(), above.steps()) {
                table.remove(key);
            }
        }
        root
    }
}

fn table_at<'r, 't>(root: &'r mut DeTable<'t>, steps: &[Step]) -> Option<&'r mut DeTable<'t>> {
    let Some((Step::Key(first), rest)) = steps.split_first() else {
        return steps.is_empty().then_some(root);
    };
    let mut value = root.get_mut(first.as_str())?.get_mut();
    for step in rest {
        value = match (step, value) {
            (Step::Key(key), DeValue::Table(table)) => table.get_mut(key.as_str())?.get_mut(),
            (Step::Item(index), DeValue::Array(list)) => list.get_mut(*index)?.get_mut(),
            _ => return None,
        };
    }
    match value {
        DeValue::Table(table) => Some(table),
        _ => None,
    }
}

#[expect(clippy::cast_precision_loss, reason = "shown to one decimal")]
fn too_long(file: &str, bytes: usize) -> Faults {
    let problem = format!(
        "the file is {:.1} MiB long, and at most {} MiB are read",
        bytes as f64 / 1_048_576.0,
        MOST_BYTES / 1_048_576
    );
    let remedy = "rulesets and scenarios take a few dozen KiB; is this the right file?";
    Faults::of(vec![Fault::new(
        file,
        String::new(),
        problem,
        remedy.to_owned(),
    )])
}
