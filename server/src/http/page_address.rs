//! Where browsers find the page: whose requests are its own, the cookie of its sessions, its links.

use std::net::SocketAddr;

use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};

use crate::key::Key;
use crate::qr;
use crate::service::Credentials;
use crate::settings::PublicAddress;
use fieldpost_wire as wire;

use super::error::{ApiError, ApiResult};
use super::headers::single;

/// How long a browser keeps the cookie: the longest that browsers do. The server ends a session that nobody uses before.
const COOKIE_SECONDS: u32 = 400 * 24 * 60 * 60;

/// Where browsers find the page, and by that, how its cookie is set.
#[derive(Debug, Clone)]
pub(crate) struct PageAddress {
    /// What links begin with; none: nobody can come in.
    base: Option<String>,
    /// Whose requests are its own.
    pub(super) origins: Vec<String>,
    is_secure: bool,
}

impl PageAddress {
    /// The address that is set or, where none is, the one that a server which listens on its own machine alone has there.
    pub(crate) fn new(
        public: Option<&PublicAddress>,
        listening: Option<SocketAddr>,
        speaks_tls: bool,
    ) -> Self {
        let scheme = if speaks_tls { "https" } else { "http" };
        let own = listening.filter(|address| address.ip().is_loopback());
        let (base, origins) = match (public, own) {
            (Some(public), _) => (
                Some(public.base().to_owned()),
                vec![public.origin().to_owned()],
            ),
            (None, Some(own)) => {
                let base = format!("{scheme}://{own}");
                let named = format!("{scheme}://localhost:{}", own.port());
                (Some(base.clone()), vec![base, named])
            }
            (None, None) => (None, Vec::new()),
        };
        Self {
            is_secure: base.as_ref().is_some_and(|base| base.starts_with("https:")),
            base,
            origins,
        }
    }

    /// A link to the page with a secret in its fragment, which no server sees.
    pub(super) fn link(&self, what: &str, secret: &str) -> Option<String> {
        let base = self.base.as_ref()?;
        Some(format!("{base}/#{what}={secret}"))
    }

    /// An invitation with its link, for whoever hands it over by the page.
    pub(super) fn with_link(
        &self,
        credentials: &Credentials,
        mut given: wire::GivenInvitation,
    ) -> wire::GivenInvitation {
        if matches!(credentials, Credentials::Session { .. }) {
            given.address = self.link("invitation", &given.invitation);
            given.qr = given.address.as_deref().map(qr::svg);
        }
        given
    }

    /// A browser takes a name that begins so from this host alone, over TLS alone, for all paths.
    fn cookie_name(&self) -> &'static str {
        if self.is_secure {
            "__Host-fieldpost"
        } else {
            "fieldpost"
        }
    }

    fn set_cookie(&self, value: &str, seconds: u32) -> [(HeaderName, String); 2] {
        let (name, secure) = (
            self.cookie_name(),
            if self.is_secure { "; Secure" } else { "" },
        );
        let cookie =
            format!("{name}={value}; HttpOnly; SameSite=Strict; Path=/; Max-Age={seconds}{secure}");
        [
            (header::SET_COOKIE, cookie),
            (header::CACHE_CONTROL, "no-store".to_owned()),
        ]
    }

    /// Headers that give a session's cookie.
    pub(super) fn give(&self, cookie: &Key) -> [(HeaderName, String); 2] {
        self.set_cookie(&cookie.reveal(), COOKIE_SECONDS)
    }

    /// Headers that take it back.
    pub(super) fn take_back(&self) -> [(HeaderName, String); 2] {
        self.set_cookie("", 0)
    }

    /// What the cookie of a request holds, good or not; none when there is none, or it is no such thing.
    pub(super) fn cookie(&self, headers: &HeaderMap) -> ApiResult<Option<Key>> {
        let name = self.cookie_name();
        // HTTP/2 may cut the header in several.
        let lines = headers.get_all(header::COOKIE).iter();
        let pairs = lines.filter_map(|line| line.to_str().ok());
        let pairs = pairs.flat_map(|line| line.split(';'));
        let mut values = pairs.filter_map(|pair| {
            let (given, value) = pair.trim().split_once('=')?;
            (given == name).then_some(value)
        });
        let value = values.next();
        if values.next().is_some() {
            let why = format!("There are several cookies of the name {name}.");
            return Err(ApiError::BadRequest(why));
        }
        Ok(value.and_then(|value| value.parse().ok()))
    }

    /// Refuses what does not come from this server's own page. Whatever may change something must say so.
    pub(super) fn must_be_own(&self, parts: &Parts) -> ApiResult<()> {
        let from = single(&parts.headers, &HeaderName::from_static("sec-fetch-site"))?;
        if from.is_some_and(|from| from != "same-origin" && from != "none") {
            return Err(ApiError::WrongOrigin("to come from this server's own page"));
        }
        if parts.method.is_safe() {
            return Ok(());
        }
        let origin = single(&parts.headers, &header::ORIGIN)?.map(HeaderValue::as_bytes);
        if self
            .origins
            .iter()
            .any(|own| Some(own.as_bytes()) == origin)
        {
            return Ok(());
        }
        Err(ApiError::WrongOrigin(
            "an Origin header with the address of this server's page",
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(public: Option<&str>, listening: &str, tls: bool) -> PageAddress {
        let public = public.map(|text| PublicAddress::parse(text).expect("an address"));
        let listening = listening.parse().expect("an address");
        PageAddress::new(public.as_ref(), Some(listening), tls)
    }

    #[test]
    fn under_tls_the_cookie_is_for_this_host_alone() {
        let key = Key::fresh();
        let secure = address(Some("https://games.example"), "127.0.0.1:7878", false);
        let [(_, cookie), (_, cache)] = secure.give(&key);
        let begins = format!(
            "__Host-fieldpost={}; HttpOnly; SameSite=Strict; Path=/; ",
            key.reveal()
        );
        assert!(
            cookie.starts_with(&begins) && cookie.ends_with("; Secure"),
            "{cookie}"
        );
        assert!(!cookie.contains("Domain") && cache == "no-store");
        let clear = address(None, "127.0.0.1:7878", false);
        assert!(clear.give(&key)[0].1.starts_with("fieldpost="));
        assert!(clear.take_back()[0].1.contains("Max-Age=0"));
        assert_eq!(
            clear.origins,
            ["http://127.0.0.1:7878", "http://localhost:7878"]
        );
        let own = address(None, "127.0.0.1:7878", true);
        assert!(own.is_secure);
    }

    #[test]
    fn a_server_for_others_that_does_not_know_its_address_has_no_page_to_come_in_by() {
        let open = address(None, "0.0.0.0:7878", false);
        assert!(open.origins.is_empty() && open.link("device", "x").is_none());
        let told = address(Some("https://games.example:8443/"), "0.0.0.0:7878", false);
        assert_eq!(told.origins, ["https://games.example:8443"]);
        let link = told.link("device", "a.b").expect("one");
        assert_eq!(link, "https://games.example:8443/#device=a.b");
    }

    #[test]
    fn one_cookie_of_the_name_is_read_and_two_are_none() {
        let page = address(None, "127.0.0.1:7878", false);
        let key = Key::fresh();
        let held = |lines: &[String]| {
            let mut headers = HeaderMap::new();
            for line in lines {
                headers.append(header::COOKIE, line.parse().expect("a header"));
            }
            page.cookie(&headers)
        };
        let own = format!("fieldpost={}", key.reveal());
        let read = held(&[format!("theme=dark; {own}"), "a=b".to_owned()]);
        assert_eq!(read.expect("one").expect("there").id(), key.id());
        assert!(held(&[format!("{own}; {own}")]).is_err());
        assert!(held(&[own.clone(), own]).is_err());
        assert!(
            held(&["fieldpost=rubbish".to_owned()])
                .expect("none")
                .is_none()
        );
        assert!(
            held(&[format!("other-fieldpost={}", key.reveal())])
                .expect("none")
                .is_none()
        );
    }
}
