//! Measuring beside the requests, for whoever asks.

use std::net::IpAddr;

use fieldpost_rules::interruption::{Interrupted, Interruption};

use crate::measuring::Asker;

use super::{Caller, Service, ServiceResult};

impl Service {
    /// Measures when it is the asker's turn, for as long as somebody waits for it.
    pub(super) async fn measure<T: Send + 'static>(
        &self,
        asker: Asker,
        work: impl FnOnce(&Interruption) -> Result<T, Interrupted> + Send + 'static,
    ) -> ServiceResult<T> {
        Ok(self.measuring.run(asker, work).await?)
    }

    /// Ends everything that is being measured, and measures nothing any more: the server stops.
    pub fn stop_measuring(&self) {
        self.measuring.close();
    }
}

impl Caller {
    /// In whose turn their questions are measured, when they call from an address.
    #[must_use]
    pub fn asker(&self, address: IpAddr) -> Asker {
        match self {
            Self::Nobody => Asker::Address(address),
            Self::Holder(holder) => Asker::Key(holder.key.clone()),
        }
    }
}
