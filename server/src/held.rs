//! How many bytes are held for whom: bodies that are arriving, answers that are not read yet.
//!
//! One address has half of all there may be, one key a quarter: whoever reads nothing runs into their own bound, and others go on.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Bytes held for everybody.
pub(crate) struct HeldBytes {
    most: u64,
    counts: Mutex<Counts>,
}

#[derive(Default)]
struct Counts {
    all: u64,
    by_address: HashMap<IpAddr, u64>,
    by_key: HashMap<String, u64>,
}

/// Bytes counted for somebody while this lives.
pub(crate) struct Held {
    of: Arc<HeldBytes>,
    whose: Whose,
    bytes: u64,
}

/// For whom bytes are held.
#[derive(Debug, Clone)]
pub(crate) struct Whose {
    /// Where they called from.
    pub(crate) address: IpAddr,
    /// Id of the key they sent, good or not.
    pub(crate) key: Option<String>,
}

impl HeldBytes {
    /// At most so many bytes.
    pub(crate) fn new(most: u64) -> Arc<Self> {
        Arc::new(Self {
            most,
            counts: Mutex::default(),
        })
    }

    /// Counts some bytes, unless they are too many; none is given then.
    pub(crate) fn hold(self: &Arc<Self>, whose: &Whose, bytes: u64) -> Option<Held> {
        self.add(whose, bytes).then(|| Held {
            of: Arc::clone(self),
            whose: whose.clone(),
            bytes,
        })
    }

    fn add(&self, whose: &Whose, bytes: u64) -> bool {
        let mut counts = self.lock();
        let of_address = counts.by_address.get(&whose.address).copied();
        let of_address = of_address.unwrap_or(0).saturating_add(bytes);
        let key = whose.key.as_ref();
        let of_key = key.and_then(|key| counts.by_key.get(key)).copied();
        let of_key = of_key.unwrap_or(0).saturating_add(bytes);
        let all = counts.all.saturating_add(bytes);
        if all > self.most
            || of_address > self.most / 2
            || (key.is_some() && of_key > self.most / 4)
        {
            return false;
        }
        counts.all = all;
        counts.by_address.insert(whose.address, of_address);
        if let Some(key) = key {
            counts.by_key.insert(key.clone(), of_key);
        }
        true
    }

    fn lock(&self) -> MutexGuard<'_, Counts> {
        self.counts.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Held {
    /// Counts some more for the same; whether they are not too many.
    #[must_use]
    pub(crate) fn grow(&mut self, bytes: u64) -> bool {
        let grown = self.of.add(&self.whose, bytes);
        self.bytes += if grown { bytes } else { 0 };
        grown
    }

    /// How many bytes are counted.
    pub(crate) fn bytes(&self) -> u64 {
        self.bytes
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        let mut counts = self.of.lock();
        counts.all = counts.all.saturating_sub(self.bytes);
        let (address, bytes) = (self.whose.address, self.bytes);
        if let Some(count) = counts.by_address.get_mut(&address) {
            *count = count.saturating_sub(bytes);
            if *count == 0 {
                counts.by_address.remove(&address);
            }
        }
        if let Some(key) = &self.whose.key
            && let Some(count) = counts.by_key.get_mut(key)
        {
            *count = count.saturating_sub(bytes);
            if *count == 0 {
                counts.by_key.remove(key);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whose(address: u8, key: Option<&str>) -> Whose {
        Whose {
            address: IpAddr::from([203, 0, 113, address]),
            key: key.map(str::to_owned),
        }
    }

    #[test]
    fn one_key_has_a_quarter_one_address_half_and_what_is_let_go_is_there_again() {
        let all = HeldBytes::new(80);
        let mut of_key = all.hold(&whose(1, Some("a")), 15).expect("a quarter");
        assert!(!of_key.grow(6), "more than a quarter");
        assert!(of_key.grow(5) && of_key.bytes() == 20);
        assert!(all.hold(&whose(2, Some("a")), 1).is_none(), "from anywhere");
        let of_address = all.hold(&whose(1, None), 20).expect("the other quarter");
        assert!(all.hold(&whose(1, Some("b")), 1).is_none(), "half is held");
        let other = all.hold(&whose(2, None), 40).expect("as much for another");
        assert!(all.hold(&whose(3, None), 1).is_none(), "there is no more");
        drop(of_key);
        assert!(all.hold(&whose(3, None), 20).is_some());
        drop((of_address, other));
        let counts = all.lock();
        assert_eq!(
            (counts.all, counts.by_address.len(), counts.by_key.len()),
            (0, 0, 0)
        );
    }
}
