//! A battle in a store with both seats taken, and callers to play it, all in this process.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

use async_trait::async_trait;
use fieldpost_server::backoff::ATTEMPTS_MAX;
use fieldpost_server::channels::{
    Channels, Delivery, MailChannel, NoticeChannel, NoticeMessage, WebhookChannel,
};
use fieldpost_server::dispatcher::Dispatcher;
use fieldpost_server::key::Key;
use fieldpost_server::service::{
    Caller, Credentials, Files, Holder, IdempotencyKey, Posted, Sent, Service, Submission, Taking,
    Terms,
};
use fieldpost_server::settings::{MailSettings, PublicAddress};
use fieldpost_server::store::{
    self, Channel, GameId, NoticeAddress, Opens, Origin, Store, StoredKey, TakeNotices, TakenNotice,
};
use fieldpost_server::webhook_policy::WebhookPolicy;
use fieldpost_tests::postgres;
use fieldpost_wire::{AddSeat, SeatRole, SetNotices};
use serde_json::json;
use tempfile::TempDir;

/// What nobody signed, with a body of JSON.
pub fn sent<T: serde::Serialize>(body: &T) -> &'static Sent {
    Box::leak(Box::new(Sent {
        body: serde_json::to_string(body).expect("JSON"),
        written_for: None,
        signature: None,
    }))
}

/// Who may do all that an organiser may.
pub fn organiser() -> Caller {
    Caller::Holder(Box::new(Holder {
        key: "the organiser's".to_owned(),
        is_organiser: true,
        session: None,
        member: None,
        seat: None,
    }))
}

/// Their key, as it is stored.
fn organiser_key() -> StoredKey {
    StoredKey {
        id: "the organiser's".to_owned(),
        secret_hash: vec![0; 32],
        opens: Opens::Organiser,
        origin: Origin::Afresh,
        made_at: "2026-01-02T03:04:05Z".to_owned(),
        revoked_at: None,
    }
}

/// A battle in a store of its own.
pub struct Table {
    pub store: Arc<dyn Store>,
    pub service: Arc<Service>,
    pub game: GameId,
    pub red: Caller,
    pub blue: Caller,
    /// Those of red and of blue.
    credentials: [Credentials; 2],
    pub url: String,
    _kept: (Option<TempDir>, Option<postgres::Database>),
}

impl Table {
    pub async fn on_sqlite() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite:{}", folder.path().join("games.db").display());
        Self::at(url, (Some(folder), None)).await
    }

    /// None where there is no PostgreSQL; that has been told then.
    pub async fn on_postgres() -> Option<Self> {
        let database = postgres::Database::fresh()?;
        Some(Self::at(database.url(), (None, Some(database))).await)
    }

    async fn at(url: String, kept: (Option<TempDir>, Option<postgres::Database>)) -> Self {
        let store = store::open(&url, 8).await.expect("opens");
        let added = store.add_first_organiser(&organiser_key()).await;
        assert!(added.expect("added"));
        let service = Arc::new(service(&store));
        let battle = Files::Shipped("withy-bridge".to_owned());
        let spectators = Terms {
            open_to_all: true,
            delay_minutes: 0,
            signed: false,
        };
        let opened = service
            .open_game(&organiser(), battle, spectators, None)
            .await
            .expect("opened");
        let [red, blue] = [(0, "Ash"), (1, "Birch")].map(|(side, player)| Taking {
            invitation: opened.invitations[side]
                .invitation
                .parse()
                .expect("an invitation"),
            player: player.to_owned(),
            idempotency_key: None,
            zone: None,
            device_key: None,
        });
        let (red, red_key) = seated(&service, &red).await;
        let (blue, blue_key) = seated(&service, &blue).await;
        Self {
            game: opened.game.id.parse().expect("an id"),
            red,
            blue,
            credentials: [red_key, blue_key],
            store,
            service,
            url,
            _kept: kept,
        }
    }

    /// Another game in the same store, which is the table's from then on.
    pub async fn open_another(&mut self) {
        let battle = Files::Shipped("withy-bridge".to_owned());
        let spectators = Terms {
            open_to_all: true,
            delay_minutes: 0,
            signed: false,
        };
        let opened = self
            .service
            .open_game(&organiser(), battle, spectators, None)
            .await;
        self.game = opened.expect("opened").game.id.parse().expect("an id");
    }

    /// Somebody new in a seat that is added.
    pub async fn joined_by(&self, player: &str, role: SeatRole) -> Caller {
        let requested = AddSeat { role, side: None };
        let given = self
            .service
            .add_seat(&organiser(), self.game, &requested)
            .await;
        let taking = Taking {
            invitation: given.expect("added").invitation.parse().expect("one"),
            player: player.to_owned(),
            idempotency_key: None,
            zone: None,
            device_key: None,
        };
        seated(&self.service, &taking).await.0
    }

    /// Tells everything that is queued.
    pub async fn tell_all(&self, dispatcher: &Arc<Dispatcher>) {
        while dispatcher.round(i64::MAX / 4).await.expect("told") > 0 {}
    }

    /// Sets where a seat hears.
    pub async fn hears(
        &self,
        caller: &Caller,
        mail: Option<&str>,
        webhook: Option<&str>,
    ) -> Option<String> {
        let requested = SetNotices {
            mail: mail.map(str::to_owned),
            webhook: webhook.map(str::to_owned),
            topics: None,
        };
        let own = self
            .service
            .set_notices(caller, self.game, &requested)
            .await
            .expect("set");
        own.webhook.and_then(|webhook| webhook.secret)
    }

    /// Posts a sheet without orders.
    pub async fn post(&self, caller: &Caller, game_turn: u32, side: &str) {
        let folded = self
            .service
            .folded(caller, self.game)
            .await
            .expect("folded");
        let sheet = json!({"game_turn": game_turn, "side": side, "orders": []});
        let number = "07".repeat(32);
        let submission = Submission {
            game: self.game,
            sent: Sent {
                body: json!({"sheet": &sheet, "number": number}).to_string(),
                written_for: Some(folded.head.hash),
                signature: None,
            },
            sheet: serde_json::from_value(sheet).expect("a sheet"),
            number: [7; 32],
            idempotency_key: IdempotencyKey::fresh(),
        };
        let posted = self
            .service
            .post(&self.credentials[usize::from(side == "blue")], &submission)
            .await
            .expect("posted");
        assert!(matches!(posted, Posted::Accepted { .. }), "{posted:?}");
    }

    /// When the next notice is due.
    pub async fn due(&self) -> Option<i64> {
        self.store.next_notice(&Channel::ALL).await.expect("read")
    }

    /// The first notice that is due, taken and written, with the time at which it was due.
    pub async fn welcome(&self) -> (TakenNotice, NoticeMessage, i64) {
        let now = self.due().await.expect("a welcome");
        let take = TakeNotices {
            now,
            until: now,
            channels: Channel::ALL.to_vec(),
            busy: Vec::new(),
            limit: 1,
        };
        let mut taken = self.store.take_notices(&take).await.expect("taken");
        let notice = taken.remove(0);
        let composed = self.service.compose(&notice).await.expect("written");
        (notice, composed.expect("wanted"), now)
    }

    pub fn dispatcher(
        &self,
        mail: &Arc<impl NoticeChannel + 'static>,
        webhooks: &Arc<impl NoticeChannel + 'static>,
    ) -> Arc<Dispatcher> {
        dispatcher(&self.store, &self.service, mail, webhooks)
    }
}

/// A service that takes addresses of mail, and URLs anywhere.
pub fn service(store: &Arc<dyn Store>) -> Service {
    let mail: Arc<dyn NoticeChannel> = Arc::new(mail_channel("smtp://localhost"));
    let webhook: Arc<dyn NoticeChannel> = Arc::new(WebhookChannel::new(WebhookPolicy::Anywhere));
    let channels = Arc::new(Channels::new([mail, webhook]));
    Service::new(Arc::clone(store), 30).with_channels(channels)
}

/// Mails by a server.
pub fn mail_channel(server: &str) -> MailChannel {
    let address = PublicAddress::parse("https://games.example").expect("an address");
    let settings = MailSettings::new(server, None, "post@games.example", address);
    MailChannel::new(settings.expect("good"))
}

/// Delivers as one channel what another is to deliver.
struct As<C>(Channel, Arc<C>);

#[async_trait]
impl<C: NoticeChannel> NoticeChannel for As<C> {
    fn channel(&self) -> Channel {
        self.0
    }

    fn accept(&self, address: &str) -> Result<String, String> {
        self.1.accept(address)
    }

    fn lanes(&self) -> usize {
        self.1.lanes()
    }

    fn receiver(&self, address: &str) -> String {
        self.1.receiver(address)
    }

    async fn deliver(&self, message: &NoticeMessage, to: &NoticeAddress, now: i64) -> Delivery {
        self.1.deliver(message, to, now).await
    }
}

pub fn dispatcher(
    store: &Arc<dyn Store>,
    service: &Arc<Service>,
    mail: &Arc<impl NoticeChannel + 'static>,
    webhooks: &Arc<impl NoticeChannel + 'static>,
) -> Arc<Dispatcher> {
    let mail: Arc<dyn NoticeChannel> = Arc::new(As(Channel::Mail, Arc::clone(mail)));
    let webhooks: Arc<dyn NoticeChannel> = Arc::new(As(Channel::Webhook, Arc::clone(webhooks)));
    Arc::new(Dispatcher::new(
        Arc::clone(store),
        Arc::clone(service),
        Arc::new(Channels::new([mail, webhooks])),
        ATTEMPTS_MAX,
    ))
}

async fn seated(service: &Service, taking: &Taking) -> (Caller, Credentials) {
    let taken = service
        .take_seat(&Caller::Nobody, taking)
        .await
        .expect("taken");
    let key: Key = taken.seat.key.parse().expect("a key");
    let credentials = Credentials::from(key);
    let caller = service.identify(&credentials, None).await;
    (caller.expect("known"), credentials)
}

/// Tells nobody anything, and remembers what it was to tell.
#[derive(Default)]
pub struct Scripted {
    /// What comes of it, one after the other; then everything arrives.
    pub outcomes: Mutex<VecDeque<Delivery>>,
    /// What was told, to which side, when.
    pub told: Mutex<Vec<(String, String, i64)>>,
}

impl Scripted {
    pub fn with(outcomes: impl IntoIterator<Item = Delivery>) -> Arc<Self> {
        Arc::new(Self {
            outcomes: Mutex::new(outcomes.into_iter().collect()),
            told: Mutex::default(),
        })
    }

    /// What was told so far, kind and side.
    pub fn told(&self) -> Vec<String> {
        let told = self.told.lock().expect("no panic while held");
        told.iter()
            .map(|(kind, side, _)| format!("{kind} {side}"))
            .collect()
    }
}

#[async_trait]
impl NoticeChannel for Scripted {
    fn channel(&self) -> Channel {
        Channel::Webhook
    }

    fn accept(&self, address: &str) -> Result<String, String> {
        Ok(address.to_owned())
    }

    async fn deliver(&self, message: &NoticeMessage, _: &NoticeAddress, now: i64) -> Delivery {
        let told = (
            message.id.kind.to_string(),
            message.role.side().unwrap_or("umpire").to_owned(),
            now,
        );
        self.told.lock().expect("no panic while held").push(told);
        let mut outcomes = self.outcomes.lock().expect("no panic while held");
        outcomes.pop_front().unwrap_or(Delivery::Arrived)
    }
}

pub fn failed(trouble: &str) -> Delivery {
    Delivery::Failed {
        trouble: trouble.to_owned(),
        wait: None,
    }
}
