//! Cutting a typed line into words and marks.

use std::ops::Range;

use winnow::LocatingSlice;
use winnow::Parser;
use winnow::ascii::multispace0;
use winnow::combinator::{alt, delimited, repeat, terminated};
use winnow::error::ContextError;
use winnow::token::{any, take_while};

/// A word or mark of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token<'a> {
    pub kind: Kind,
    /// The word itself, brackets left out.
    pub text: &'a str,
    /// Its bytes in the line, brackets included.
    pub span: Range<usize>,
}

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A run of letters, digits and whatever joins them.
    Word,
    /// An id in square brackets, taken exactly.
    Exact,
    /// One of `, : ; ° " & [ ]`, or a dash or plus that stands alone.
    Mark,
}

impl Token<'_> {
    /// Whether this is the mark.
    pub fn is_mark(&self, mark: &str) -> bool {
        self.kind == Kind::Mark && self.text == mark
    }

    /// Whether this is one of the words that a text lists, whatever its case.
    pub fn is_one_of(&self, words: &str) -> bool {
        let mut words = words.split_whitespace();
        self.kind == Kind::Word && words.any(|word| self.text.eq_ignore_ascii_case(word))
    }

    /// Whether this is a mark of that set.
    pub fn is_mark_of(&self, set: &str) -> bool {
        self.kind == Kind::Mark && self.text.chars().all(|c| set.contains(c))
    }

    /// Whether this is a dash that stands alone.
    pub fn is_dash(&self) -> bool {
        self.kind == Kind::Mark && ALONE.contains(&self.text) && self.text != "+"
    }

    /// Whether this is one of the words, whatever its case.
    pub fn is_word(&self, words: &[&str]) -> bool {
        self.kind == Kind::Word
            && words
                .iter()
                .any(|word| self.text.eq_ignore_ascii_case(word))
    }
}

/// The bytes of a bullet or a number that counts the lines, as in `- R2: …` or `3. R2: …`, with what follows it.
pub(super) fn bullet(line: &str) -> usize {
    let said = line.trim_start();
    let digits = said.len() - said.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let after = &said[digits..];
    let sign = match after.chars().next() {
        Some(c @ ('.' | ')')) if digits > 0 => c.len_utf8(),
        Some(c @ ('-' | '–' | '—' | '*' | '•' | '·')) if digits == 0 => c.len_utf8(),
        _ => return 0,
    };
    let rest = &after[sign..];
    let text = rest.trim_start();
    if rest.len() == text.len() || text.is_empty() {
        return 0;
    }
    line.len() - text.len()
}

/// The line's part before a comment. `#` begins one at the line's start or after a blank.
pub(super) fn without_comment(line: &str) -> &str {
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        if c == '#' && before.is_whitespace() {
            return &line[..at];
        }
        before = c;
    }
    line
}

/// Marks that end a word wherever they stand. Phones write many signs for an inch and for a degree.
fn is_mark(c: char) -> bool {
    ",:;&[]".contains(c) || DEGREES.contains(c) || DOUBLE_QUOTES.contains(c)
}

/// Signs that are written for a degree.
pub(super) const DEGREES: &str = "°º˚";
/// Signs that are written for an inch.
pub(super) const DOUBLE_QUOTES: &str = "\"″”“„‟ʺ˝〃＂‶";
/// What a sentence ends with.
const ENDS: [char; 4] = ['.', '!', '?', '…'];
/// Words that are marks where they stand alone.
const ALONE: [&str; 11] = ["-", "–", "—", "−", "+", "--", "->", "-->", "→", "=>", "="];

type Input<'a> = LocatingSlice<&'a str>;

/// The tokens of a line without its comment.
pub(super) fn tokens(line: &str) -> Vec<Token<'_>> {
    let mut all = terminated(
        repeat(0.., delimited(multispace0, token, blank)),
        multispace0,
    );
    let mut input = LocatingSlice::new(line);
    // every character is part of some token or blank, so this cannot stop short
    let mut tokens: Vec<Token<'_>> = all.parse_next(&mut input).unwrap_or_default();
    // the end of a sentence after a sign: "by a wheel of 20°."
    tokens
        .retain(|token| token.kind != Kind::Word || !token.text.trim_end_matches(ENDS).is_empty());
    tokens
}

fn blank<'a>(input: &mut Input<'a>) -> Result<(), ContextError> {
    take_while(0.., char::is_whitespace)
        .void()
        .parse_next(input)
}

fn token<'a>(input: &mut Input<'a>) -> Result<Token<'a>, ContextError> {
    alt((exact, word, mark)).parse_next(input)
}

fn exact<'a>(input: &mut Input<'a>) -> Result<Token<'a>, ContextError> {
    let inside = take_while(1.., |c: char| c != ']' && c != '[');
    let (text, span) = delimited('[', inside, ']').with_span().parse_next(input)?;
    Ok(Token {
        kind: Kind::Exact,
        text,
        span,
    })
}

fn word<'a>(input: &mut Input<'a>) -> Result<Token<'a>, ContextError> {
    let letters = take_while(1.., |c: char| !c.is_whitespace() && !is_mark(c));
    let (text, span) = letters.with_span().parse_next(input)?;
    // a sentence may end with a full stop
    let text: &str = text;
    let trimmed = text.trim_end_matches(ENDS);
    let text = if trimmed.is_empty() { text } else { trimmed };
    let kind = if ALONE.contains(&text) {
        Kind::Mark
    } else {
        Kind::Word
    };
    Ok(Token {
        kind,
        text,
        span: span.start..span.start + text.len(),
    })
}

fn mark<'a>(input: &mut Input<'a>) -> Result<Token<'a>, ContextError> {
    let (text, span) = any.take().with_span().parse_next(input)?;
    Ok(Token {
        kind: Kind::Mark,
        text,
        span,
    })
}
