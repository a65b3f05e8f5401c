//! How many requests are taken from one address, how many wrong keys and invitations of those, and which address a
//! request counts for.

use std::net::{IpAddr, Ipv6Addr};

use axum::http::HeaderMap;

use crate::rate_limiter::RateLimiter;
use crate::settings::{Network, Settings};

/// What is counted, and which proxies are believed about addresses.
pub struct RateLimits {
    pub(crate) addresses: RateLimiter<IpAddr>,
    pub(crate) guesses: RateLimiter<IpAddr>,
    trusted: Vec<Network>,
}

impl RateLimits {
    /// Counts as the settings say.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self {
            addresses: RateLimiter::new(settings.address_requests),
            guesses: RateLimiter::new(settings.guesses),
            trusted: settings.trusted_proxies.clone(),
        }
    }

    /// Whether a peer is a proxy that is believed.
    pub(crate) fn trusts(&self, peer: IpAddr) -> bool {
        self.trusted.iter().any(|network| network.holds(peer))
    }

    /// The address that a request is counted for: the peer's or, behind trusted proxies, the rightmost in
    /// `X-Forwarded-For` that is not such a proxy. What stands left of it anybody may have written.
    pub(crate) fn address(&self, peer: IpAddr, headers: &HeaderMap) -> IpAddr {
        let mut address = peer.to_canonical();
        let forwarded: Vec<&str> = headers
            .get_all("x-forwarded-for")
            .iter()
            .flat_map(|value| value.to_str().unwrap_or("?").split(','))
            .collect();
        for named in forwarded.into_iter().rev() {
            if !self.trusts(address) {
                break;
            }
            let Ok(named) = named.trim().parse::<IpAddr>() else {
                break;
            };
            address = named.to_canonical();
        }
        counted(address)
    }
}

/// One household of IPv6 has 2^64 addresses and counts once.
pub(crate) fn counted(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(address) => {
            let [a, b, c, d, ..] = address.segments();
            IpAddr::V6(Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
        address => address,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rate_limits(trusted: &[&str]) -> RateLimits {
        let settings = Settings {
            trusted_proxies: trusted.iter().map(|t| t.parse().expect("one")).collect(),
            ..Settings::default()
        };
        RateLimits::new(&settings)
    }

    fn address(trusted: &[&str], peer: &str, forwarded: &[&str]) -> String {
        let mut headers = HeaderMap::new();
        for value in forwarded {
            headers.append("x-forwarded-for", value.parse().expect("a value"));
        }
        rate_limits(trusted)
            .address(peer.parse().expect("an address"), &headers)
            .to_string()
    }

    #[test]
    fn only_trusted_proxies_are_believed_and_only_to_the_first_stranger() {
        let loopback = &["127.0.0.1", "10.0.0.0/8"][..];
        let cases: [(&[&str], &str, &[&str], &str); 8] = [
            (&[], "127.0.0.1", &["203.0.113.9"], "127.0.0.1"),
            (loopback, "127.0.0.1", &["203.0.113.9"], "203.0.113.9"),
            (
                loopback,
                "::ffff:127.0.0.1",
                &["203.0.113.9"],
                "203.0.113.9",
            ),
            (
                loopback,
                "127.0.0.1",
                &["6.6.6.6, 203.0.113.9, 10.1.1.1"],
                "203.0.113.9",
            ),
            (
                loopback,
                "127.0.0.1",
                &["6.6.6.6", "203.0.113.9"],
                "203.0.113.9",
            ),
            (loopback, "198.51.100.1", &["203.0.113.9"], "198.51.100.1"),
            (
                loopback,
                "127.0.0.1",
                &["203.0.113.9, nonsense"],
                "127.0.0.1",
            ),
            (loopback, "127.0.0.1", &[], "127.0.0.1"),
        ];
        for (trusted, peer, forwarded, expected) in cases {
            assert_eq!(address(trusted, peer, forwarded), expected, "{forwarded:?}");
        }
        assert_eq!(address(&[], "2001:db8:1:2:3:4:5:6", &[]), "2001:db8:1:2::");
    }
}
