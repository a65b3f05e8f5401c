//! Which notices may be delivered at the same time: one lane an address, some a receiver, some a channel. A receiver that keeps
//! the server waiting fills its own lanes and no others.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use tokio::task::Id;

use crate::store::Channel;

/// Lanes to one receiver: the host of a webhook, or the mail server.
const RECEIVER_LANES: usize = 8;
/// Lanes of a channel to receivers that were slow the last time, all of them together.
const SLOW_LANES: usize = 32;
/// A receiver that takes longer is slow.
const SLOW_AFTER: Duration = Duration::from_secs(1);
/// Receivers remembered as slow.
const SLOW_MAX: usize = 10_000;

/// The lanes that are in use.
#[derive(Default)]
pub(crate) struct Lanes {
    open: BTreeMap<Id, Lane>,
    slow: BTreeSet<Receiver>,
}

/// Who receives by a channel.
pub(crate) type Receiver = (Channel, String);

/// Notices to one address, one after the other.
#[derive(Debug, Clone)]
pub(crate) struct Lane {
    /// The address's id.
    pub(crate) address: String,
    /// Who receives them.
    pub(crate) receiver: Receiver,
}

impl Lanes {
    /// Ids of the addresses that are delivered to.
    pub(crate) fn addresses(&self) -> Vec<String> {
        self.open
            .values()
            .map(|lane| lane.address.clone())
            .collect()
    }

    /// How many lanes of a channel are in use.
    pub(crate) fn of(&self, channel: Channel) -> usize {
        let of_channel = |lane: &&Lane| lane.receiver.0 == channel;
        self.open.values().filter(of_channel).count()
    }

    /// Whether there is a lane to a receiver.
    pub(crate) fn has_room(&self, receiver: &Receiver) -> bool {
        let open = || self.open.values().map(|lane| &lane.receiver);
        let same = open().filter(|other| *other == receiver).count();
        let is_slow = |other: &&Receiver| other.0 == receiver.0 && self.slow.contains(*other);
        same < RECEIVER_LANES
            && (!self.slow.contains(receiver) || open().filter(is_slow).count() < SLOW_LANES)
    }

    /// Opens a lane that a task delivers in.
    pub(crate) fn open(&mut self, task: Id, lane: Lane) {
        self.open.insert(task, lane);
    }

    /// Closes the lane of a task; `longest`, if that is known, is the longest time that one notice took.
    pub(crate) fn close(&mut self, task: Id, longest: Option<Duration>) {
        let Some(lane) = self.open.remove(&task) else {
            return;
        };
        match longest {
            Some(took) if took > SLOW_AFTER => {
                if self.slow.len() >= SLOW_MAX {
                    self.slow.pop_first();
                }
                self.slow.insert(lane.receiver);
            }
            Some(_) => {
                self.slow.remove(&lane.receiver);
            }
            None => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use tokio::task::JoinSet;

    /// Ids of tasks that have nothing to do.
    fn ids(count: usize) -> Vec<Id> {
        let mut tasks = JoinSet::new();
        (0..count).map(|_| tasks.spawn(async {}).id()).collect()
    }

    fn lane(number: usize, host: &str) -> Lane {
        Lane {
            address: number.to_string(),
            receiver: (Channel::Webhook, host.to_owned()),
        }
    }

    #[tokio::test]
    async fn a_receiver_has_so_many_lanes_and_slow_ones_share_some() {
        let mut lanes = Lanes::default();
        let ids = ids(200);
        let id = |number: usize| ids[number];
        let has_room = |lanes: &Lanes, host: &str| lanes.has_room(&lane(0, host).receiver);
        for number in 0..RECEIVER_LANES {
            assert!(has_room(&lanes, "silent.example"));
            lanes.open(id(number), lane(number, "silent.example"));
        }
        assert!(!has_room(&lanes, "silent.example") && has_room(&lanes, "other.example"));
        assert_eq!(lanes.of(Channel::Webhook), RECEIVER_LANES);
        lanes.close(id(0), Some(5 * SLOW_AFTER));
        assert!(has_room(&lanes, "silent.example"), "it has a lane again");
        // Many that are known to be slow do not fill what others use.
        for number in 100..100 + SLOW_LANES {
            let slow = lane(number, &format!("{number}.example"));
            lanes.open(id(number), slow.clone());
            lanes.close(id(number), Some(5 * SLOW_AFTER));
            assert_eq!(
                lanes.has_room(&slow.receiver),
                number < 100 + SLOW_LANES - 7,
                "{number}"
            );
            lanes.open(id(number), slow);
        }
        assert!(!has_room(&lanes, "100.example") && has_room(&lanes, "other.example"));
        lanes.close(id(100), Some(SLOW_AFTER / 2));
        lanes.close(id(101), None);
        assert!(has_room(&lanes, "100.example"), "it is quick again");
        assert!(!lanes.addresses().contains(&"100".to_owned()));
    }
}
