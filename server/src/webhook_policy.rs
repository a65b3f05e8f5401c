//! Addresses outside that the server may be sent to by somebody else: only such as anybody could reach.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::sync::LazyLock;

use clap::ValueEnum;
use ipnet::{Ipv4Net, Ipv6Net};
use serde::{Deserialize, Serialize};
use url::{Host, Url};

/// Bytes of the longest URL taken.
const URL_LIMIT: usize = 2000;

/// Where webhooks may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WebhookPolicy {
    /// None are sent.
    Off,
    /// To hosts with public addresses, by https.
    Public,
    /// Anywhere, by http too: to try it, or in a network of your own where every player may reach everything.
    Anywhere,
}

impl WebhookPolicy {
    /// A URL in its usual form, if a webhook may go there as far as is known without looking up its host.
    ///
    /// # Errors
    /// Why not, in a sentence.
    pub fn target(self, text: &str) -> Result<Url, String> {
        let url = Url::parse(text.trim()).map_err(|error| {
            format!("This is no URL such as https://hooks.example/fieldpost: {error}.")
        })?;
        let is_secure = url.scheme() == "https";
        if !(is_secure || self == Self::Anywhere && url.scheme() == "http") {
            return Err("A webhook needs a URL that begins with https://.".to_owned());
        }
        if !url.username().is_empty() || url.password().is_some() {
            return Err("A webhook's URL holds no user name and no password; the signature shows who sends it.".to_owned());
        }
        if url.fragment().is_some() {
            return Err("A webhook's URL has no part after #.".to_owned());
        }
        if url.as_str().len() > URL_LIMIT {
            return Err(format!("A webhook's URL has at most {URL_LIMIT} bytes."));
        }
        let address = match url.host() {
            Some(Host::Ipv4(address)) => Some(IpAddr::from(address)),
            Some(Host::Ipv6(address)) => Some(IpAddr::from(address)),
            Some(Host::Domain(_)) => None,
            None => return Err("A webhook's URL names a host.".to_owned()),
        };
        if address.is_some_and(|address| !self.allows(address)) {
            return Err("A webhook goes to a public address, and this one is private, this machine's own or reserved.".to_owned());
        }
        Ok(url)
    }

    /// Whether a webhook may go to an address.
    #[must_use]
    pub fn allows(self, address: IpAddr) -> bool {
        match self {
            Self::Off => false,
            Self::Public => is_public(address),
            Self::Anywhere => true,
        }
    }
}

/// Not for the whole internet: the IANA registry of special-purpose IPv4 addresses (RFC 6890 and its
/// updates), and multicast (RFC 5771).
const SPECIAL_V4: [&str; 17] = [
    "0.0.0.0/8",
    "10.0.0.0/8",
    "100.64.0.0/10",
    "127.0.0.0/8",
    "169.254.0.0/16",
    "172.16.0.0/12",
    "192.0.0.0/24",
    "192.0.2.0/24",
    "192.31.196.0/24",
    "192.52.193.0/24",
    "192.88.99.0/24",
    "192.168.0.0/16",
    "192.175.48.0/24",
    "198.18.0.0/15",
    "198.51.100.0/24",
    "203.0.113.0/24",
    "224.0.0.0/3",
];

/// The only IPv6 addresses given out as public so far (IANA, IPv6 global unicast address assignments).
const GLOBAL_V6: &str = "2000::/3";

/// Among them not for the whole internet, or with an IPv4 address inside: the IANA registry of special-purpose
/// IPv6 addresses (RFC 6890 and its updates).
const SPECIAL_V6: [&str; 5] = [
    "2001::/23",
    "2001:db8::/32",
    "2002::/16",
    "2620:4f:8000::/48",
    "3fff::/20",
];

struct Ranges {
    special_v4: Vec<Ipv4Net>,
    global_v6: Option<Ipv6Net>,
    special_v6: Vec<Ipv6Net>,
}

static RANGES: LazyLock<Ranges> = LazyLock::new(|| Ranges {
    special_v4: SPECIAL_V4
        .iter()
        .filter_map(|range| range.parse().ok())
        .collect(),
    global_v6: GLOBAL_V6.parse().ok(),
    special_v6: SPECIAL_V6
        .iter()
        .filter_map(|range| range.parse().ok())
        .collect(),
});

fn is_public(address: IpAddr) -> bool {
    match address.to_canonical() {
        IpAddr::V4(address) => is_public_v4(address),
        IpAddr::V6(address) => is_public_v6(address),
    }
}

fn is_public_v4(address: Ipv4Addr) -> bool {
    !RANGES
        .special_v4
        .iter()
        .any(|range| range.contains(&address))
}

fn is_public_v6(address: Ipv6Addr) -> bool {
    RANGES
        .global_v6
        .is_some_and(|range| range.contains(&address))
        && !RANGES
            .special_v6
            .iter()
            .any(|range| range.contains(&address))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_range_is_read() {
        assert_eq!(RANGES.special_v4.len(), SPECIAL_V4.len());
        assert_eq!(RANGES.special_v6.len(), SPECIAL_V6.len());
        assert!(RANGES.global_v6.is_some());
    }

    /// The first and last addresses of each block, and their neighbours outside where those are public.
    #[test]
    fn only_public_addresses_are_public() {
        let public = [
            "1.0.0.0",
            "8.0.0.0",
            "9.255.255.255",
            "11.0.0.0",
            "100.63.255.255",
            "100.128.0.0",
            "126.255.255.255",
            "128.0.0.0",
            "169.253.255.255",
            "169.255.0.0",
            "172.15.255.255",
            "172.32.0.0",
            "192.0.1.0",
            "192.167.255.255",
            "192.169.0.0",
            "198.17.255.255",
            "198.20.0.0",
            "223.255.255.255",
            "2000::",
            "2001:200::1",
            "2a01::1",
            "2a00::1",
            "::ffff:11.0.0.1",
            "3ffe::1",
        ];
        let private = [
            "0.0.0.0",
            "0.255.255.255",
            "10.0.0.0",
            "10.255.255.255",
            "100.64.0.0",
            "100.127.255.255",
            "127.0.0.1",
            "127.255.255.255",
            "169.254.0.0",
            "169.254.169.254",
            "172.16.0.0",
            "172.31.255.255",
            "192.0.0.8",
            "192.0.2.1",
            "192.88.99.1",
            "192.168.0.0",
            "192.168.255.255",
            "198.18.0.0",
            "198.19.255.255",
            "198.51.100.7",
            "203.0.113.7",
            "224.0.0.1",
            "239.255.255.255",
            "240.0.0.0",
            "255.255.255.255",
            "::",
            "::1",
            "::7f00:1",
            "::ffff:127.0.0.1",
            "::ffff:10.0.0.1",
            "::ffff:169.254.169.254",
            "64:ff9b::7f00:1",
            "64:ff9b:1::1",
            "100::1",
            "1fff::1",
            "2001::1",
            "2001:1ff:ffff::",
            "2001:db8::1",
            "2002:7f00:1::",
            "2002:a00:1::1",
            "3fff::1",
            "4000::",
            "5f00::1",
            "fc00::1",
            "fd00::1",
            "fe80::1",
            "fec0::1",
            "ff02::1",
        ];
        let address = |text: &str| text.parse::<IpAddr>().expect("an address");
        for text in public {
            assert!(
                WebhookPolicy::Public.allows(address(text)),
                "{text} is public"
            );
        }
        for text in private {
            assert!(
                !WebhookPolicy::Public.allows(address(text)),
                "{text} is not public"
            );
            assert!(
                WebhookPolicy::Anywhere.allows(address(text)),
                "{text} is somewhere"
            );
        }
        assert!(!WebhookPolicy::Off.allows(address("11.0.0.1")));
    }

    #[test]
    fn urls_that_webhooks_may_go_to() {
        for (text, usual) in [
            ("https://hooks.example", "https://hooks.example/"),
            (
                " https://Hooks.Example:8443/a?b=c ",
                "https://hooks.example:8443/a?b=c",
            ),
            ("https://11.0.0.1/x", "https://11.0.0.1/x"),
            ("https://[2a01::1]/x", "https://[2a01::1]/x"),
        ] {
            let url = WebhookPolicy::Public
                .target(text)
                .unwrap_or_else(|why| panic!("{text}: {why}"));
            assert_eq!(url.as_str(), usual);
        }
    }

    #[test]
    fn urls_that_webhooks_may_not_go_to() {
        for text in [
            "",
            "hooks.example",
            "//hooks.example",
            "http://hooks.example",
            "ftp://hooks.example",
            "file:///etc/passwd",
            "gopher://hooks.example",
            "javascript:alert(1)",
            "https://",
            "https://ash@hooks.example",
            "https://ash:pw@hooks.example",
            "https://hooks.example/#part",
            "https://127.0.0.1",
            "https://127.1",
            "https://0x7f000001",
            "https://2130706433",
            "https://0177.0.0.1",
            "https://10.0.0.1",
            "https://169.254.169.254/latest",
            "https://[::1]",
            "https://[::ffff:127.0.0.1]",
            "https://[::ffff:7f00:1]",
            "https://[fe80::1]",
            "https://[fd00::1]",
            "https://[64:ff9b::7f00:1]",
            "https://0.0.0.0",
            "https://①②⑦.0.0.1",
        ] {
            assert!(WebhookPolicy::Public.target(text).is_err(), "{text}");
        }
        assert!(
            WebhookPolicy::Public
                .target(&format!("https://hooks.example/{}", "a".repeat(2000)))
                .is_err()
        );
        assert!(
            WebhookPolicy::Anywhere
                .target("http://127.0.0.1:9/x")
                .is_ok()
        );
        assert!(WebhookPolicy::Anywhere.target("ftp://127.0.0.1").is_err());
    }
}
