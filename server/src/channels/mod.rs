//! Notice channels: the ways in which notices leave the server. Each is one file with a [`NoticeChannel`]; the registry
//! of those that are set up is made when the server starts.

mod mail;
mod mail_address;
mod message;
mod signature;
mod template;
mod unsubscribe;
mod webhook;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use async_trait::async_trait;

use crate::store::{Channel, NoticeAddress};

pub use mail::MailChannel;
pub use message::NoticeMessage;
pub use unsubscribe::UnsubscribeToken;
pub use webhook::WebhookChannel;

/// What came of an attempt to deliver. The words here name no address: others read them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Delivery {
    /// It arrived.
    Arrived,
    /// It did not, and may yet.
    Failed {
        /// Why not, in a sentence.
        trouble: String,
        /// What the other side asked to wait.
        wait: Option<Duration>,
    },
    /// It never will.
    Hopeless {
        /// Why not, in a sentence.
        trouble: String,
    },
    /// Nothing is wanted there any more.
    Gone,
}

/// A way for notices to leave the server.
#[async_trait]
pub trait NoticeChannel: Send + Sync {
    /// Which it is: its name on the wire and in the store.
    fn channel(&self) -> Channel;

    /// An address in its usual form, if notices can go there.
    ///
    /// # Errors
    /// Why they cannot, in a sentence.
    fn accept(&self, address: &str) -> Result<String, String>;

    /// The secret of an address as its holder is given it, once; none for a channel whose messages are not signed.
    fn holder_secret(&self, _secret: &[u8]) -> Option<String> {
        None
    }

    /// How many addresses it delivers to at the same time.
    fn lanes(&self) -> usize {
        8
    }

    /// Who receives what goes to an address, where that is not one and the same for all: the host that would keep others
    /// waiting if it were slow.
    fn receiver(&self, _address: &str) -> String {
        String::new()
    }

    /// Delivers a message to an address, at a time in milliseconds since 1970.
    async fn deliver(&self, message: &NoticeMessage, to: &NoticeAddress, now: i64) -> Delivery;
}

/// The channels that are set up.
#[derive(Default)]
pub struct Channels(BTreeMap<Channel, Arc<dyn NoticeChannel>>);

impl Channels {
    /// Of each kind at most one: the last given.
    #[must_use]
    pub fn new(channels: impl IntoIterator<Item = Arc<dyn NoticeChannel>>) -> Self {
        let named = channels.into_iter().map(|one| (one.channel(), one));
        Self(named.collect())
    }

    /// The channel of that name, if it is set up.
    #[must_use]
    pub fn get(&self, channel: Channel) -> Option<&dyn NoticeChannel> {
        self.0.get(&channel).map(AsRef::as_ref)
    }

    /// The names of all, in order.
    #[must_use]
    pub fn names(&self) -> Vec<Channel> {
        self.0.keys().copied().collect()
    }

    /// Whether none is set up.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
