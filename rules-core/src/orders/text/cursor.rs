//! Walking along the tokens of a line.

use std::ops::Range;

use super::fault::{Problem, plain};
use super::tokens::{Kind, Token};

/// Where a reader stands in a line.
pub(super) struct Cursor<'a> {
    tokens: &'a [Token<'a>],
    at: usize,
    /// Length of the line in bytes: where a fault "at the end" points.
    end: usize,
}

impl<'a> Cursor<'a> {
    pub fn new(tokens: &'a [Token<'a>]) -> Self {
        let ends = tokens.iter().map(|token| token.span.end);
        let end = ends.max().unwrap_or(0);
        Self { tokens, at: 0, end }
    }

    pub fn peek(&self) -> Option<&'a Token<'a>> {
        self.tokens.get(self.at)
    }

    /// The token taken last.
    pub fn before(&self) -> Option<&'a Token<'a>> {
        self.tokens.get(self.at.checked_sub(1)?)
    }

    /// The tokens from here on.
    pub fn rest(&self) -> &'a [Token<'a>] {
        &self.tokens[self.at.min(self.tokens.len())..]
    }

    pub fn advance(&mut self, tokens: usize) {
        self.at += tokens;
    }

    pub fn is_at_end(&self) -> bool {
        self.at >= self.tokens.len()
    }

    /// Takes one of the words, if it is next.
    pub fn word(&mut self, words: &[&str]) -> bool {
        self.take_if(|token| token.is_word(words))
    }

    /// Takes the mark, if it is next.
    pub fn mark(&mut self, mark: &str) -> bool {
        self.take_if(|token| token.is_mark(mark))
    }

    fn take_if(&mut self, test: impl Fn(&Token<'_>) -> bool) -> bool {
        let found = self.peek().is_some_and(test);
        self.at += usize::from(found);
        found
    }

    /// Takes what joins members of a list: a comma, `and`, `&`, or a comma and an `and`.
    pub fn joint(&mut self) -> bool {
        let comma = self.mark(",");
        let and = self.word(&["and", "plus"]) || self.mark("&") || self.mark("+");
        comma || and
    }

    /// Takes words that follow one another, if they are next.
    pub fn words(&mut self, run: &[&[&str]]) -> bool {
        let found = self.has(run);
        self.at += if found { run.len() } else { 0 };
        found
    }

    /// Whether words that follow one another are next.
    pub fn has(&self, run: &[&[&str]]) -> bool {
        let rest = self.rest();
        let mut places = run.iter().enumerate();
        places.all(|(at, words)| rest.get(at).is_some_and(|token| token.is_word(words)))
    }

    /// The bytes of the next token, or the place after the last.
    pub fn here(&self) -> Range<usize> {
        self.peek()
            .map_or(self.end..self.end + 1, |token| token.span.clone())
    }

    /// The bytes from a token to the last one taken.
    pub fn since(&self, from: usize) -> Range<usize> {
        let start = self.tokens.get(from).map_or(self.end, |t| t.span.start);
        let end = self.at.checked_sub(1).and_then(|at| self.tokens.get(at));
        start..end.map_or(start + 1, |t| t.span.end.max(start + 1))
    }

    /// A reader of the same tokens that stands so many further on.
    pub fn ahead(&self, tokens: usize) -> Self {
        Self {
            at: self.at + tokens,
            ..*self
        }
    }

    /// Stands where another reader of the same tokens stands.
    pub fn go_to(&mut self, other: &Self) {
        self.at = other.at;
    }

    /// Stands before the token of that number.
    pub fn stand_at(&mut self, at: usize) {
        self.at = at;
    }

    /// Number of the next token.
    pub fn at(&self) -> usize {
        self.at
    }

    /// A problem with the next word: it should have been something else.
    pub fn expected(&self, what: &str, remedy: impl Into<String>) -> Problem {
        let problem = match self.peek() {
            None => format!("the line ends where {what} is expected"),
            Some(token) if token.kind == Kind::Mark => {
                format!("expected {what}, not {:?}", token.text)
            }
            Some(token) => format!("expected {what}, not {:?}", plain(token.text, 40)),
        };
        Problem::new(self.here(), problem, remedy)
    }

    /// A problem if anything is left.
    pub fn done(&self, remedy: &str) -> Result<(), Problem> {
        if self.is_at_end() {
            return Ok(());
        }
        Err(self.expected("the end of the line", remedy))
    }
}
