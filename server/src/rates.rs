//! How many requests are taken, from one address and with one key; guessing is held shorter.
//!
//! The count is that of a bucket that leaks (the generic cell rate algorithm of ITU-T I.371, kept as one
//! moment a caller): so many a minute, all at once or spread out.

use std::collections::HashMap;
use std::hash::Hash;
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::http::HeaderMap;

use crate::settings::{Network, Settings};

/// The span that limits are given for.
const SPAN: Duration = Duration::from_secs(60);
/// Callers remembered: about 10 MB.
const ROOM: usize = 100_000;

/// What is counted, and which proxies are believed about addresses.
pub struct Rates {
    pub(crate) addresses: Buckets<IpAddr>,
    pub(crate) keys: Buckets<String>,
    pub(crate) guesses: Buckets<IpAddr>,
    trusted: Vec<Network>,
}

impl Rates {
    /// Counts as the settings say.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self {
            addresses: Buckets::new(settings.address_requests),
            keys: Buckets::new(settings.key_requests),
            guesses: Buckets::new(settings.guesses),
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

/// A leaking bucket for each of many callers.
pub(crate) struct Buckets<K> {
    /// What one request takes of the span; absent: no limit.
    takes: Option<Duration>,
    /// When each bucket will have leaked out.
    empty_at: Mutex<HashMap<K, Instant>>,
}

impl<K: Hash + Eq> Buckets<K> {
    /// So many a minute; 0: without limit.
    pub(crate) fn new(a_minute: u32) -> Self {
        Self {
            takes: (a_minute > 0).then(|| SPAN / a_minute),
            empty_at: Mutex::default(),
        }
    }

    /// Counts one more.
    ///
    /// # Errors
    /// How long to wait, when it is one too many; it is not counted then.
    pub(crate) fn take(&self, caller: K, now: Instant) -> Result<(), Duration> {
        let Some(takes) = self.takes else {
            return Ok(());
        };
        let mut empty_at = self.lock();
        if empty_at.len() >= ROOM {
            forget_some(&mut empty_at, now);
        }
        let kept = empty_at.entry(caller).or_insert(now);
        let filled = (*kept).max(now) + takes;
        let over = filled.duration_since(now).saturating_sub(SPAN);
        if !over.is_zero() {
            return Err(over);
        }
        *kept = filled;
        Ok(())
    }

    /// Whether one more would be taken, without counting it.
    ///
    /// # Errors
    /// How long to wait.
    pub(crate) fn look(&self, caller: &K, now: Instant) -> Result<(), Duration> {
        let Some(takes) = self.takes else {
            return Ok(());
        };
        let filled = self.lock().get(caller).map_or(now, |kept| *kept) + takes;
        match filled.duration_since(now).saturating_sub(SPAN) {
            Duration::ZERO => Ok(()),
            over => Err(over),
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, HashMap<K, Instant>> {
        self.empty_at.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Forgets whose bucket is empty; were that too few, all: to fill the room again takes more requests
/// than any limit that is forgotten with it.
fn forget_some<K: Hash + Eq>(empty_at: &mut HashMap<K, Instant>, now: Instant) {
    empty_at.retain(|_, empty_at| *empty_at > now);
    if empty_at.len() > ROOM / 2 {
        empty_at.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Duration = Duration::from_secs(1);

    #[test]
    fn so_many_a_minute_at_once_or_spread_and_then_a_wait() {
        let buckets = Buckets::new(3);
        let start = Instant::now();
        for _ in 0..3 {
            buckets.take("a", start).expect("within the limit");
        }
        assert_eq!(buckets.look(&"a", start), Err(20 * SECOND));
        assert_eq!(buckets.take("a", start), Err(20 * SECOND));
        assert_eq!(
            buckets.take("b", start),
            Ok(()),
            "each caller has their own"
        );
        assert_eq!(buckets.take("a", start + 19 * SECOND), Err(SECOND));
        assert_eq!(buckets.take("a", start + 20 * SECOND), Ok(()));
        assert_eq!(buckets.take("a", start + 20 * SECOND), Err(20 * SECOND));
        for second in 0..600 {
            let at = start + 200 * SECOND + second * 20 * SECOND;
            assert_eq!(buckets.take("a", at), Ok(()));
        }
    }

    #[test]
    fn nought_is_no_limit() {
        let buckets = Buckets::new(0);
        let now = Instant::now();
        for _ in 0..10_000 {
            buckets.take("a", now).expect("no limit");
        }
        assert!(buckets.lock().is_empty());
    }

    #[test]
    fn what_is_remembered_is_bounded_and_the_busy_are_remembered() {
        let buckets = Buckets::new(1);
        let start = Instant::now();
        for caller in 0..ROOM {
            buckets.take(caller, start).expect("the first");
        }
        let later = start + SPAN + SECOND;
        buckets.take(ROOM + 1, later).expect("there is room again");
        assert!(buckets.lock().len() < ROOM);
        assert!(buckets.take(ROOM + 1, later).is_err());
    }

    fn rates(trusted: &[&str]) -> Rates {
        let settings = Settings {
            trusted_proxies: trusted.iter().map(|t| t.parse().expect("one")).collect(),
            ..Settings::default()
        };
        Rates::new(&settings)
    }

    fn address(trusted: &[&str], peer: &str, forwarded: &[&str]) -> String {
        let mut headers = HeaderMap::new();
        for value in forwarded {
            headers.append("x-forwarded-for", value.parse().expect("a value"));
        }
        rates(trusted)
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
