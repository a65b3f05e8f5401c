//! Problem documents (RFC 9457) as people read them.

use std::fmt::Write as _;

use serde::Deserialize;
use serde_json::Map;

pub use fieldpost_wire::{Problem, ProblemCode};

/// One fault of a file or sheet, as a problem lists it.
#[derive(Debug, Clone, Deserialize)]
struct Fault {
    #[serde(default)]
    file: String,
    #[serde(default)]
    path: String,
    #[serde(default)]
    line: u64,
    #[serde(default)]
    column: u64,
    #[serde(default)]
    problem: String,
    #[serde(default)]
    remedy: String,
}

/// A problem for an answer that is no problem document.
#[must_use]
pub fn of_status(status: u16) -> Problem {
    Problem {
        kind: "about:blank".to_owned(),
        title: format!("the server answered with status {status}"),
        status,
        detail: Some("is this address a Fieldpost server?".to_owned()),
        more: Map::new(),
    }
}

/// What to tell a person: title, detail, faults, what to do about the commonest.
#[must_use]
pub fn text(problem: &Problem) -> String {
    let title = if problem.title.is_empty() {
        problem.word()
    } else {
        &problem.title
    };
    let mut text = format!("the server refused: {title}");
    if let Some(detail) = problem
        .detail
        .as_deref()
        .filter(|detail| *detail != problem.title)
    {
        let _ = write!(text, "\n{detail}");
    }
    let place = (
        problem.member::<u64>("line"),
        problem.member::<u64>("column"),
    );
    if let (Some(line), Some(column)) = place {
        let _ = write!(text, "\nat line {line}, column {column}");
    }
    if let Some(pointer) = problem.member::<String>("pointer") {
        let _ = write!(text, "\nat {pointer}");
    }
    for fault in problem.member::<Vec<Fault>>("faults").unwrap_or_default() {
        let _ = write!(text, "\n{}", fault.text());
    }
    if let Some(remedy) = problem.code().and_then(remedy) {
        let _ = write!(text, "\n{remedy}");
    }
    text
}

fn remedy(code: ProblemCode) -> Option<&'static str> {
    Some(match code {
        ProblemCode::NoKey => "take a seat with \"fieldpost join\", or choose one with --seat",
        ProblemCode::WrongKey => {
            "the key may have been revoked, or belong to another server: see \"fieldpost seats\""
        }
        ProblemCode::NoSuchGame => {
            "a game that is not open to all is hidden from those without a key to it"
        }
        ProblemCode::InvitationUsed
        | ProblemCode::InvitationExpired
        | ProblemCode::WrongInvitation => "ask the organiser for a new invitation",
        ProblemCode::Busy | ProblemCode::NotReady => "try again in a minute",
        _ => return None,
    })
}

impl Fault {
    fn text(&self) -> String {
        let mut place = self.file.clone();
        if self.line > 0 {
            let _ = write!(place, ":{}:{}", self.line, self.column);
        }
        let path = Some(self.path.as_str()).filter(|path| !path.is_empty());
        let parts = [
            Some(place.trim_start_matches(':')),
            path,
            Some(&self.problem),
        ];
        let head: Vec<&str> = parts
            .into_iter()
            .flatten()
            .filter(|part| !part.is_empty())
            .collect();
        if self.remedy.is_empty() {
            head.join(": ")
        } else {
            format!("{}; {}", head.join(": "), self.remedy)
        }
    }
}
