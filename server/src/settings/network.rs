//! Networks of addresses, as people write them.

use std::net::IpAddr;
use std::str::FromStr;

use ipnet::IpNet;
use serde::{Deserialize, Serialize};

/// A network of addresses: `10.0.0.0/8`, `2001:db8::/32`, or one address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Network(IpNet);

impl Network {
    /// Whether an address is in it.
    #[must_use]
    pub fn holds(&self, address: IpAddr) -> bool {
        self.0.contains(&address.to_canonical())
    }
}

impl FromStr for Network {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let network = match text.parse::<IpAddr>() {
            Ok(address) => Ok(IpNet::from(address.to_canonical())),
            Err(_) => text.parse(),
        };
        network.map(Self).map_err(|_| {
            format!("{text:?} is no address and no network such as 10.0.0.0/8 or 2001:db8::/32")
        })
    }
}

impl<'de> Deserialize<'de> for Network {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

impl Serialize for Network {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn networks_hold_addresses_whichever_way_they_are_written() {
        let holds = |network: &str, address: &str| {
            let network: Network = network.parse().expect("a network");
            network.holds(address.parse().expect("an address"))
        };
        assert!(holds("127.0.0.1", "127.0.0.1"));
        assert!(holds("10.0.0.0/8", "::ffff:10.1.2.3"));
        assert!(holds("2001:db8::/32", "2001:db8:1::2"));
        assert!(!holds("10.0.0.0/8", "11.0.0.1"));
        assert!(!holds("127.0.0.1", "127.0.0.2"));
        assert!("10.0.0.0/33".parse::<Network>().is_err());
    }
}
