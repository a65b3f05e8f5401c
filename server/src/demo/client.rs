//! A caller of the demonstration: speaks to the server over HTTP as any program would.

use std::net::SocketAddr;
use std::time::Duration;

use fieldpost_rules::orders::TurnSheet;
use serde::Serialize;
use serde::de::DeserializeOwned;
use ureq::http::{Request, Response};
use ureq::{Agent, Body};

use crate::key::random_bytes;
use fieldpost_wire::{Accepted, Checked, Head, PostSheet, Refused};

/// Somebody with or without a key.
#[derive(Clone)]
pub(super) struct DemoClient {
    agent: Agent,
    base: String,
    key: Option<String>,
}

/// The answer to a posting.
pub(super) enum Answer {
    Accepted(Box<Accepted>),
    Refused(Box<Refused>),
}

type DemoResult<T> = Result<T, String>;

impl DemoClient {
    pub(super) fn of(address: &SocketAddr) -> Self {
        let agent = Agent::config_builder()
            .http_status_as_error(false)
            .timeout_global(Some(Duration::from_secs(30)))
            .build()
            .new_agent();
        Self {
            agent,
            base: format!("http://{address}"),
            key: None,
        }
    }

    pub(super) fn with_key(&self, key: &str) -> Self {
        Self {
            key: Some(key.to_owned()),
            ..self.clone()
        }
    }

    pub(super) fn base(&self) -> &str {
        &self.base
    }

    /// Reads text: a table, a drawing.
    pub(super) fn text(&self, path: &str) -> DemoResult<String> {
        let answer = self.request("GET", path, &[], None)?;
        good(answer)
    }

    pub(super) fn read<T: DeserializeOwned>(&self, path: &str) -> DemoResult<T> {
        parsed(&self.text(path)?)
    }

    pub(super) fn send<T: DeserializeOwned>(
        &self,
        method: &str,
        path: &str,
        body: &impl Serialize,
    ) -> DemoResult<T> {
        let body = serde_json::to_string(body).map_err(|error| error.to_string())?;
        let answer = self.request(
            method,
            path,
            &[("content-type", "application/json")],
            Some(body),
        )?;
        parsed(&good(answer)?)
    }

    /// Has a sheet measured as it was typed.
    pub(super) fn check(&self, game: &str, typed: &str) -> DemoResult<Checked> {
        let typed = Some(typed.to_owned());
        let path = format!("/v1/games/{game}/check");
        let answer = self.request("POST", &path, &[("content-type", "text/plain")], typed)?;
        parsed(&good(answer)?)
    }

    /// The verdict on one order of a sheet as typed, drawn on the table.
    pub(super) fn drawn(&self, game: &str, typed: &str, order: usize) -> DemoResult<String> {
        let typed = Some(typed.to_owned());
        let path = format!("/v1/games/{game}/check.svg?order={order}");
        good(self.request("POST", &path, &[("content-type", "text/plain")], typed)?)
    }

    pub(super) fn post(&self, game: &str, head: &Head, sheet: TurnSheet) -> DemoResult<Answer> {
        let number = hex::encode(random_bytes::<32>());
        let body = serde_json::to_string(&PostSheet { sheet, number })
            .map_err(|error| error.to_string())?;
        let head = format!("\"{}\"", head.hash);
        let once = hex::encode(random_bytes::<16>());
        let headers = [
            ("content-type", "application/json"),
            ("if-match", head.as_str()),
            ("idempotency-key", once.as_str()),
        ];
        let path = format!("/v1/games/{game}/sheets");
        let mut answer = self.request("POST", &path, &headers, Some(body))?;
        let is_verdict = answer
            .headers()
            .get("content-type")
            .is_some_and(|kind| kind == "application/json");
        if answer.status() == 422 && is_verdict {
            let text = answer
                .body_mut()
                .read_to_string()
                .map_err(|error| error.to_string())?;
            return parsed(&text).map(|refused| Answer::Refused(Box::new(refused)));
        }
        parsed(&good(answer)?).map(|accepted| Answer::Accepted(Box::new(accepted)))
    }

    fn request(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: Option<String>,
    ) -> DemoResult<Response<Body>> {
        let mut request = Request::builder()
            .method(method)
            .uri(format!("{}{path}", self.base));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if let Some(key) = &self.key {
            request = request.header("authorization", format!("Bearer {key}"));
        }
        let answered = match body {
            Some(body) => self
                .agent
                .run(request.body(body).map_err(|error| error.to_string())?),
            None => self
                .agent
                .run(request.body(()).map_err(|error| error.to_string())?),
        };
        answered.map_err(|error| format!("{method} {path}: {error}"))
    }
}

/// The text of an answer that is no problem.
fn good(mut answer: Response<Body>) -> DemoResult<String> {
    let text = answer
        .body_mut()
        .read_to_string()
        .map_err(|error| error.to_string())?;
    if answer.status().is_success() {
        Ok(text)
    } else {
        Err(format!("the server answered {}: {text}", answer.status()))
    }
}

fn parsed<T: DeserializeOwned>(text: &str) -> DemoResult<T> {
    serde_json::from_str(text)
        .map_err(|error| format!("an answer that cannot be read: {error}: {text}"))
}
