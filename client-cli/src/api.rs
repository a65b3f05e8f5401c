//! Talking to a server: requests, answers, problems.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::time::Duration;

use serde::de::DeserializeOwned;
use ureq::http::{Method, Request};

use crate::error::{CliError, CliResult};
use crate::problem::{self, Problem};
use crate::secret::Secret;
use crate::tls;

/// Longest answer that is read, in bytes: a record of thousands of turns.
const ANSWER_BYTES_MAX: u64 = 256 * 1024 * 1024;

/// A server, and the key to speak to it with.
#[derive(Debug)]
pub struct ApiClient {
    agent: ureq::Agent,
    base: String,
    key: Option<Secret>,
    has_ca_file: bool,
}

/// What a server answered.
#[derive(Debug)]
pub struct ApiResponse {
    /// HTTP status.
    pub status: u16,
    /// The answer's `ETag` without quotes.
    pub etag: Option<String>,
    /// The body.
    pub body: Vec<u8>,
}

/// A request.
#[derive(Debug)]
pub struct ApiRequest<'a> {
    method: Method,
    path: String,
    headers: Vec<(&'static str, String)>,
    body: Option<(&'static str, &'a [u8])>,
}

impl<'a> ApiRequest<'a> {
    /// Reads something.
    #[must_use]
    pub fn get(path: impl Into<String>) -> Self {
        Self::of(Method::GET, path, None)
    }

    /// Sends JSON.
    #[must_use]
    pub fn send(method: Method, path: impl Into<String>, json: &'a [u8]) -> Self {
        Self::of(method, path, Some(("application/json", json)))
    }

    /// Sends nothing but the request itself.
    #[must_use]
    pub fn nothing(method: Method, path: impl Into<String>) -> Self {
        Self::of(method, path, None)
    }

    fn of(method: Method, path: impl Into<String>, body: Option<(&'static str, &'a [u8])>) -> Self {
        Self {
            method,
            path: path.into(),
            headers: Vec::new(),
            body,
        }
    }

    /// With a header.
    #[must_use]
    pub fn header(mut self, name: &'static str, value: String) -> Self {
        self.headers.push((name, value));
        self
    }
}

impl ApiClient {
    /// A server by its address; its certificate, for https, must be signed by an authority of the file given, else by a
    /// public one.
    ///
    /// # Errors
    /// When that is no http or https address, or the file cannot be read.
    pub fn new(server: &str, key: Option<Secret>, ca_file: Option<&Path>) -> CliResult<Self> {
        let base = server_address(server)?;
        let config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .user_agent(concat!("fieldpost/", env!("CARGO_PKG_VERSION")))
            .tls_config(tls::config(ca_file)?)
            .timeout_connect(Some(Duration::from_secs(10)))
            .timeout_recv_response(Some(Duration::from_secs(60)))
            .timeout_global(Some(Duration::from_secs(180)))
            .build();
        Ok(Self {
            agent: config.new_agent(),
            base,
            key,
            has_ca_file: ca_file.is_some(),
        })
    }

    /// Its address.
    #[must_use]
    pub fn base(&self) -> &str {
        &self.base
    }

    /// Sends a request, and gives whatever is answered.
    ///
    /// # Errors
    /// [`CliError::Network`] when no whole answer came back; what was asked may have been done.
    pub fn send(&self, request: &ApiRequest<'_>) -> CliResult<ApiResponse> {
        let mut response = self.start(&self.agent, request)?;
        let etag = response.headers().get("etag");
        let etag = etag.and_then(|etag| etag.to_str().ok());
        let etag = etag.map(|etag| etag.trim_start_matches("W/").trim_matches('"').to_owned());
        let status = response.status().as_u16();
        let body = response.body_mut().with_config().limit(ANSWER_BYTES_MAX);
        let body = body.read_to_vec().map_err(|error| self.no_answer(&error))?;
        Ok(ApiResponse { status, etag, body })
    }

    /// Waits for the first event of a stream of Server-Sent Events; whether one came before the server ended
    /// the stream, the line broke, or five minutes went by: a line that is dead without a word is not waited on.
    ///
    /// # Errors
    /// [`CliError::Network`] when no stream begins, [`CliError::Refused`] when the server says no.
    pub fn wait_for_event(&self, path: &str) -> CliResult<bool> {
        let config = self.agent.config().clone();
        let patient: ureq::Agent = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .user_agent(config.user_agent().clone())
            .tls_config(config.tls_config().clone())
            .timeout_connect(Some(Duration::from_secs(10)))
            .timeout_recv_response(Some(Duration::from_secs(60)))
            .timeout_recv_body(Some(Duration::from_secs(300)))
            .build()
            .into();
        let mut response = self.start(&patient, &ApiRequest::get(path))?;
        let status = response.status().as_u16();
        if !response.status().is_success() {
            let body = response.body_mut().read_to_vec();
            let body = body.map_err(|error| self.no_answer(&error))?;
            let answer = ApiResponse {
                status,
                etag: None,
                body,
            };
            return answer.success().map(|_| false);
        }
        let lines = BufReader::new(response.body_mut().as_reader()).lines();
        for line in lines.map_while(Result::ok) {
            if line.starts_with("id:") {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Sends a request; the head of its answer.
    fn start(
        &self,
        agent: &ureq::Agent,
        sent: &ApiRequest<'_>,
    ) -> CliResult<ureq::http::Response<ureq::Body>> {
        let mut request = Request::builder()
            .method(sent.method.clone())
            .uri(format!("{}{}", self.base, sent.path))
            .header(
                "accept",
                "application/json, application/problem+json, */*;q=0.5",
            );
        if let Some(key) = &self.key {
            request = request.header("authorization", format!("Bearer {}", key.reveal()));
        }
        for (name, value) in &sent.headers {
            request = request.header(*name, value);
        }
        let answer = match sent.body {
            Some((media_type, body)) => {
                let request = request.header("content-type", media_type).body(body);
                agent.run(request.map_err(|error| self.unsendable(&error))?)
            }
            None => {
                let request = request.body(());
                agent.run(request.map_err(|error| self.unsendable(&error))?)
            }
        };
        answer.map_err(|error| self.no_answer(&error))
    }

    /// Reads JSON.
    ///
    /// # Errors
    /// As [`Self::send`]; [`CliError::Refused`] when the server says no.
    pub fn get<T: DeserializeOwned>(&self, path: impl Into<String>) -> CliResult<T> {
        self.send(&ApiRequest::get(path))?.success()?.json()
    }

    fn unsendable(&self, error: &ureq::http::Error) -> CliError {
        CliError::Usage(format!("this cannot be asked of {}: {error}", self.base))
    }

    fn no_answer(&self, error: &ureq::Error) -> CliError {
        let why = tls::network_words(error, self.has_ca_file);
        let is_refused = matches!(error, ureq::Error::Io(error) if error.kind() == std::io::ErrorKind::ConnectionRefused);
        let moved = is_refused || tls::is_unknown_host(error);
        let advice = if moved {
            format!(
                ". If the server has another address now: fieldpost seats move {} NEW-URL",
                self.base
            )
        } else {
            String::new()
        };
        CliError::Network(format!("{} does not answer: {why}{advice}", self.base))
    }
}

impl ApiResponse {
    /// This answer if the server agreed.
    ///
    /// # Errors
    /// [`CliError::Refused`] with the server's problem document.
    pub fn success(self) -> CliResult<Self> {
        if (200..300).contains(&self.status) {
            Ok(self)
        } else {
            Err(CliError::Refused(Box::new(self.problem())))
        }
    }

    /// The problem that this answer is.
    #[must_use]
    pub fn problem(&self) -> Problem {
        serde_json::from_slice(&self.body)
            .ok()
            .filter(|problem: &Problem| !problem.kind.is_empty())
            .unwrap_or_else(|| problem::of_status(self.status))
    }

    /// Its body as JSON.
    ///
    /// # Errors
    /// When it is not what this client expects.
    pub fn json<T: DeserializeOwned>(&self) -> CliResult<T> {
        serde_json::from_slice(&self.body).map_err(|error| {
            CliError::Other(format!(
                "the server's answer is not what this client expects ({error}); are client and server of the same version?"
            ))
        })
    }
}

/// A server's address without the last slash.
///
/// # Errors
/// [`CliError::Usage`] when it is no http or https address.
pub fn server_address(server: &str) -> CliResult<String> {
    let address = server.trim().trim_end_matches('/');
    let rest = address
        .strip_prefix("http://")
        .or_else(|| address.strip_prefix("https://"));
    let is_address = rest.is_some_and(|rest| {
        !rest.is_empty()
            && !rest.contains(['@', '?', '#', ' '])
            && rest.chars().all(|c| c.is_ascii_graphic())
    });
    if is_address {
        return Ok(address.to_owned());
    }
    Err(CliError::Usage(format!(
        "{address:?} is not a server's address; it looks like https://games.example or http://127.0.0.1:7878"
    )))
}

/// Whether keys sent to this address could be read on their way: plain http to another machine.
#[must_use]
pub fn is_readable_by_others(base: &str) -> bool {
    let Some(rest) = base.strip_prefix("http://") else {
        return false;
    };
    let host = rest.split('/').next().unwrap_or_default();
    let host = match host.strip_prefix('[') {
        Some(v6) => v6.split(']').next().unwrap_or_default(),
        None => host.split(':').next().unwrap_or_default(),
    };
    let is_loopback = host
        .parse::<std::net::IpAddr>()
        .is_ok_and(|ip| ip.is_loopback());
    !(is_loopback || host.eq_ignore_ascii_case("localhost"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_of_servers() {
        assert_eq!(
            server_address("https://a.example/").unwrap(),
            "https://a.example"
        );
        assert_eq!(
            server_address(" http://[::1]:80/x ").unwrap(),
            "http://[::1]:80/x"
        );
        for bad in [
            "",
            "a.example",
            "ftp://a",
            "http://",
            "http://u:p@a",
            "http://a b",
        ] {
            assert!(server_address(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn keys_travel_in_the_clear_only_to_this_machine() {
        for (base, readable) in [
            ("https://a.example", false),
            ("http://127.0.0.1:7878", false),
            ("http://[::1]:7878", false),
            ("http://localhost", false),
            ("http://a.example", true),
            ("http://192.0.2.1:80", true),
        ] {
            assert_eq!(is_readable_by_others(base), readable, "{base}");
        }
    }
}
