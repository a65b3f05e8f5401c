//! Problem documents (RFC 9457) as the server sends them.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// A problem document.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Problem {
    /// `/problems/NAME`.
    #[serde(rename = "type", default)]
    pub kind: String,
    /// In short.
    #[serde(default)]
    pub title: String,
    /// HTTP status.
    #[serde(default)]
    pub status: u16,
    /// At length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// Everything else: pointer, line, column, faults, news.
    #[serde(flatten)]
    pub more: Map<String, Value>,
}

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

impl Problem {
    /// The problem's name, without its folder.
    #[must_use]
    pub fn name(&self) -> &str {
        self.kind.rsplit('/').next().unwrap_or_default()
    }

    /// Reads a member beside the standard ones.
    pub fn member<T: serde::de::DeserializeOwned>(&self, name: &str) -> Option<T> {
        serde_json::from_value(self.more.get(name)?.clone()).ok()
    }

    /// A problem for an answer that is no problem document.
    #[must_use]
    pub fn of_status(status: u16) -> Self {
        Self {
            kind: "about:blank".to_owned(),
            title: format!("the server answered with status {status}"),
            status,
            detail: Some("is this address a Fieldpost server?".to_owned()),
            more: Map::new(),
        }
    }

    /// What to tell a person: title, detail, faults, what to do about the commonest.
    #[must_use]
    pub fn text(&self) -> String {
        let title = if self.title.is_empty() {
            self.name()
        } else {
            &self.title
        };
        let mut text = format!("the server refused: {title}");
        if let Some(detail) = self
            .detail
            .as_deref()
            .filter(|detail| *detail != self.title)
        {
            let _ = write!(text, "\n{detail}");
        }
        let place = (self.member::<u64>("line"), self.member::<u64>("column"));
        if let (Some(line), Some(column)) = place {
            let _ = write!(text, "\nat line {line}, column {column}");
        }
        if let Some(pointer) = self.member::<String>("pointer") {
            let _ = write!(text, "\nat {pointer}");
        }
        for fault in self.member::<Vec<Fault>>("faults").unwrap_or_default() {
            let _ = write!(text, "\n{}", fault.text());
        }
        if let Some(remedy) = self.remedy() {
            let _ = write!(text, "\n{remedy}");
        }
        text
    }

    fn remedy(&self) -> Option<&'static str> {
        Some(match self.name() {
            "no-key" => "take a seat with \"fieldpost join\", or choose one with --seat",
            "wrong-key" => {
                "the key may have been revoked, or belong to another server: see \"fieldpost seats\""
            }
            "no-such-game" => {
                "a game that is not open to all is hidden from those without a key to it"
            }
            "invitation-used" | "invitation-expired" | "wrong-invitation" => {
                "ask the organiser for a new invitation"
            }
            "busy" | "not-ready" => "try again in a minute",
            _ => return None,
        })
    }
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
