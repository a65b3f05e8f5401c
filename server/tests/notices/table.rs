//! A battle in a store with both seats taken, and callers to play it, all in this process.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

use async_trait::async_trait;
use fieldpost_server::notices::{Carried, Carry, Courier, TRIES};
use fieldpost_server::office::{
    Caller, Files, Holder, IdempotencyKey, Letter, NoticeRules, Office, Posted, Spectators,
    Submission, Taking,
};
use fieldpost_server::outside::Outside;
use fieldpost_server::store::{self, GameId, NoticeAddress, Store};
use fieldpost_tests::postgres;
use fieldpost_wire::{AddSeat, SeatRole, SetNotices};
use serde_json::json;
use tempfile::TempDir;

/// Who may do all that an organiser may.
pub fn organiser() -> Caller {
    Caller::Holder(Box::new(Holder {
        key: "the organiser's".to_owned(),
        is_organiser: true,
        member: None,
        seat: None,
    }))
}

/// A battle in a store of its own.
pub struct Table {
    pub store: Arc<dyn Store>,
    pub office: Arc<Office>,
    pub game: GameId,
    pub red: Caller,
    pub blue: Caller,
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
        let office = Arc::new(office(&store));
        let battle = Files::Shipped("withy-bridge".to_owned());
        let spectators = Spectators {
            open_to_all: true,
            delay_minutes: 0,
        };
        let opened = office
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
        });
        Self {
            game: opened.game.id.parse().expect("an id"),
            red: seated(&office, &red).await,
            blue: seated(&office, &blue).await,
            store,
            office,
            url,
            _kept: kept,
        }
    }

    /// Somebody new in a seat that is added.
    pub async fn joined_by(&self, player: &str, role: SeatRole) -> Caller {
        let asked = AddSeat { role, side: None };
        let given = self.office.add_seat(&organiser(), self.game, &asked).await;
        let taking = Taking {
            invitation: given.expect("added").invitation.parse().expect("one"),
            player: player.to_owned(),
            idempotency_key: None,
            zone: None,
        };
        seated(&self.office, &taking).await
    }

    /// Tells everything that is queued.
    pub async fn tell_all(&self, courier: &Arc<Courier>) {
        while courier.round(i64::MAX / 4).await.expect("told") > 0 {}
    }

    /// Sets where a seat hears.
    pub async fn hears(
        &self,
        caller: &Caller,
        mail: Option<&str>,
        webhook: Option<&str>,
    ) -> Option<String> {
        let asked = SetNotices {
            mail: mail.map(str::to_owned),
            webhook: webhook.map(str::to_owned),
            topics: None,
        };
        let own = self
            .office
            .set_notices(caller, self.game, &asked)
            .await
            .expect("set");
        own.webhook.and_then(|webhook| webhook.secret)
    }

    /// Posts a sheet without orders.
    pub async fn post(&self, caller: &Caller, game_turn: u32, side: &str) {
        let folded = self.office.folded(caller, self.game).await.expect("folded");
        let sheet = json!({"game_turn": game_turn, "side": side, "orders": []});
        let submission = Submission {
            game: self.game,
            sheet: serde_json::from_value(sheet).expect("a sheet"),
            number: [7; 32],
            written_for: folded.head.hash,
            idempotency_key: IdempotencyKey::fresh(),
        };
        let posted = self
            .office
            .post(caller.clone().into(), &submission)
            .await
            .expect("posted");
        assert!(matches!(posted, Posted::Accepted { .. }), "{posted:?}");
    }

    /// When the next notice is due.
    pub async fn due(&self) -> Option<i64> {
        self.store.next_notice(true, true).await.expect("read")
    }

    pub fn courier(
        &self,
        mail: &Arc<impl Carry + 'static>,
        webhooks: &Arc<impl Carry + 'static>,
    ) -> Arc<Courier> {
        courier(&self.store, &self.office, mail, webhooks)
    }
}

/// An office that sends by mail and anywhere by webhook.
pub fn office(store: &Arc<dyn Store>) -> Office {
    let rules = NoticeRules {
        mail: true,
        webhooks: Outside::Anywhere,
    };
    Office::new(Arc::clone(store), 30).with_notices(rules)
}

pub fn courier(
    store: &Arc<dyn Store>,
    office: &Arc<Office>,
    mail: &Arc<impl Carry + 'static>,
    webhooks: &Arc<impl Carry + 'static>,
) -> Arc<Courier> {
    let (mail, webhooks) = (Arc::clone(mail), Arc::clone(webhooks));
    Arc::new(Courier::new(
        Arc::clone(store),
        Arc::clone(office),
        Some(mail as Arc<dyn Carry>),
        Some(webhooks as Arc<dyn Carry>),
        TRIES,
    ))
}

async fn seated(office: &Office, taking: &Taking) -> Caller {
    let taken = office
        .take_seat(&Caller::Nobody, taking)
        .await
        .expect("taken");
    let key = taken.seat.key.parse().expect("a key");
    office.identify(Some(&key), None).await.expect("known")
}

/// Tells nobody anything, and remembers what it was to tell.
#[derive(Default)]
pub struct Scripted {
    /// What comes of it, one after the other; then everything arrives.
    pub outcomes: Mutex<VecDeque<Carried>>,
    /// What was told, to which side, when.
    pub told: Mutex<Vec<(String, String, i64)>>,
}

impl Scripted {
    pub fn with(outcomes: impl IntoIterator<Item = Carried>) -> Arc<Self> {
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
impl Carry for Scripted {
    async fn carry(&self, letter: &Letter, _: &NoticeAddress, now: i64) -> Carried {
        let told = (
            letter.id.kind.to_string(),
            letter.role.side().unwrap_or("umpire").to_owned(),
            now,
        );
        self.told.lock().expect("no panic while held").push(told);
        let mut outcomes = self.outcomes.lock().expect("no panic while held");
        outcomes.pop_front().unwrap_or(Carried::Arrived)
    }
}

pub fn failed(trouble: &str) -> Carried {
    Carried::Failed {
        trouble: trouble.to_owned(),
        wait: None,
    }
}
