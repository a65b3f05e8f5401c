//! Time out, reminders and leave, with a clock that the test turns.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use fieldpost_rules::dice::first_form;
use fieldpost_rules::game::{ClockRules, Event, LAWS, WhenOut};
use fieldpost_rules::record::audit::{Line, audit};
use fieldpost_rules::{record, shipped};
use fieldpost_wire as wire;
use jiff::Timestamp;
use tempfile::TempDir;

use crate::key::Key;
use crate::measuring::Asker;
use crate::store::{self, Authority, GameId, Head, Opening, Opens, Origin, StoredGame, StoredKey};

use super::entries::stored_entries;
use super::{
    Caller, Files, Holder, Sent, Service, ServiceError, ServiceResult, Taking, Terms, Time,
};

/// What nobody signed.
static UNSIGNED: Sent = Sent {
    body: String::new(),
    written_for: None,
    signature: None,
};

/// What nobody signed, with a body of JSON.
fn sent<T: serde::Serialize>(body: &T) -> &'static Sent {
    Box::leak(Box::new(Sent {
        body: serde_json::to_string(body).expect("JSON"),
        ..UNSIGNED.clone()
    }))
}

const DAY: i64 = 86_400;
/// Noon of 1 June 2026, UTC.
const START: i64 = 1_780_315_200;

mod ended_keys;
mod sessions;

/// A game of two players, and the time.
struct Played {
    service: Service,
    seconds: Arc<AtomicI64>,
    game: GameId,
    organiser: Caller,
    red: Caller,
    blue: Caller,
    _folder: TempDir,
}

fn rules(when_out: WhenOut) -> ClockRules {
    ClockRules {
        days_per_turn: 3,
        days_at_start: 1,
        most_saved: None,
        double_after: None,
        leave_days: 5,
        remind_days: vec![1],
        when_out,
    }
}

/// The organiser's key, as it is stored.
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

fn time_of(seconds: &Arc<AtomicI64>) -> Time {
    let seconds = Arc::clone(seconds);
    Arc::new(move || Timestamp::from_second(seconds.load(Ordering::SeqCst)).expect("a moment"))
}

impl Played {
    async fn begin(clock: Option<ClockRules>) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite:{}", folder.path().join("games.db").display());
        let store = store::open(&url, 1).await.expect("opens");
        let added = store.add_first_organiser(&organiser_key()).await;
        assert!(added.expect("added"));
        let seconds = Arc::new(AtomicI64::new(START));
        let service = Service::new(store, 30).with_time(time_of(&seconds));
        let files = Files::Shipped("withy-bridge".to_owned());
        let organiser = Caller::Holder(Box::new(Holder {
            key: "the organiser's".to_owned(),
            is_organiser: true,
            session: None,
            member: None,
            seat: None,
        }));
        let spectators = Terms {
            open_to_all: true,
            delay_minutes: 0,
            signed: false,
        };
        let opened = service
            .open_game(&organiser, files, spectators, clock)
            .await
            .expect("opens");
        let mut seats = Vec::new();
        for (given, zone) in opened
            .invitations
            .iter()
            .zip(["Europe/Lisbon", "Asia/Tokyo"])
        {
            let taking = Taking {
                invitation: given.invitation.parse().expect("an invitation"),
                player: format!("Player of {}", given.side.as_deref().expect("a side")),
                zone: Some(zone.to_owned()),
                device_key: None,
                idempotency_key: None,
            };
            let taken = service
                .take_seat(&Caller::Nobody, &taking)
                .await
                .expect("taken");
            let key: Key = taken.seat.key.parse().expect("a key");
            seats.push(service.identify(&key.into(), None).await.expect("known"));
        }
        let [red, blue] = seats.try_into().expect("two seats");
        Self {
            game: opened.game.id.parse().expect("an id"),
            organiser,
            service,
            seconds,
            red,
            blue,
            _folder: folder,
        }
    }

    fn days_go_by(&self, days: i64) {
        self.seconds.fetch_add(days * DAY, Ordering::SeqCst);
    }

    fn now(&self) -> Timestamp {
        Timestamp::from_second(self.seconds.load(Ordering::SeqCst)).expect("a moment")
    }

    async fn sweep(&self) -> usize {
        self.service.sweep(self.now()).await.expect("swept")
    }

    async fn clock(&self) -> wire::ClockPage {
        self.service
            .clock(&self.red, self.game)
            .await
            .expect("read")
    }

    async fn rule(&self, then: Option<wire::Action>) -> ServiceResult<wire::Done> {
        let requested = wire::Rule {
            about: None,
            text: "So be it".to_owned(),
            then,
        };
        self.service
            .rule(&self.organiser, self.game, &requested, sent(&requested))
            .await
    }

    /// The record audits, and tells these things in this order.
    async fn must_say(&self, expected: &[&str]) {
        let lines = self
            .service
            .record(&self.red, self.game, 0)
            .await
            .expect("read");
        let lines: Vec<Line> = lines
            .into_iter()
            .map(|line| Line {
                number: line.number,
                hash: line.hash,
                body: line.body,
            })
            .collect();
        audit(&lines).unwrap_or_else(|fault| panic!("{fault}"));
        let news = self
            .service
            .news(&self.red, &Asker::Server, self.game, 0, 500)
            .await
            .expect("read");
        let mut words = news.news.iter().map(|item| item.words.as_str());
        for expected in expected {
            assert!(
                words.any(|words| words.contains(expected)),
                "{expected:?} in {:#?}",
                news.news
            );
        }
    }
}

fn refused(outcome: ServiceResult<wire::Done>) -> String {
    match outcome.expect_err("refused") {
        ServiceError::NotNow(why) | ServiceError::Unfit(why) => why,
        other => format!("{other:?}"),
    }
}

#[tokio::test]
async fn the_other_side_may_claim_when_time_is_out_and_not_before() {
    let played = Played::begin(Some(rules(WhenOut::Claim))).await;
    let clock = played.clock().await;
    assert_eq!(clock.to_move.as_deref(), Some("red"));
    assert_eq!(clock.due.as_deref(), Some("2026-06-05T12:00:00Z"));
    assert_eq!(clock.days_left, Some(4));
    let early = refused(
        played
            .service
            .claim(&played.blue, played.game, &UNSIGNED)
            .await,
    );
    assert!(early.contains("2026-06-05T12:00:00Z"), "{early}");
    played.days_go_by(3);
    assert_eq!(played.sweep().await, 1, "a reminder");
    assert_eq!(played.sweep().await, 0, "once");
    played.days_go_by(2);
    assert_eq!(played.sweep().await, 1, "time is out");
    let leave = wire::TakeLeave {
        from: "2026-06-06".to_owned(),
        days: 1,
    };
    let late = played
        .service
        .take_leave(&played.red, played.game, &leave, sent(&leave));
    assert!(refused(late.await).contains("out already"));
    assert!(played.clock().await.is_out);
    let own = refused(
        played
            .service
            .claim(&played.red, played.game, &UNSIGNED)
            .await,
    );
    assert!(own.contains("your own turn"), "{own}");
    let done = played
        .service
        .claim(&played.blue, played.game, &UNSIGNED)
        .await
        .expect("claimed");
    assert_eq!(done.clock.to_move, None);
    let again = played
        .service
        .claim(&played.blue, played.game, &UNSIGNED)
        .await;
    assert!(matches!(again, Err(ServiceError::GameOver)));
    played
        .must_say(&[
            "played by the clock",
            "claim the battle",
            "The battle is over: Outposts of the Marches win",
        ])
        .await;
}

#[tokio::test]
async fn a_turn_passes_once_whoever_looks() {
    let played = Played::begin(Some(rules(WhenOut::Pass))).await;
    played.days_go_by(4);
    // a second service on the same games, as another server process would be
    let other =
        Service::new(Arc::clone(&played.service.store), 30).with_time(time_of(&played.seconds));
    let now = played.now();
    let (one, two) = tokio::join!(played.service.sweep(now), other.sweep(now));
    assert!(one.expect("swept") + two.expect("swept") >= 1);
    let clock = played.clock().await;
    assert_eq!(clock.to_move.as_deref(), Some("blue"));
    assert_eq!(clock.sides[0].saved, 0);
    let folded = played.service.folded(&played.red, played.game);
    let folded = folded.await.expect("read");
    assert_eq!(folded.game.player_turn(), 2, "passed once");
    played
        .must_say(&[
            "the turn of Outposts of the Vale passes with their units standing: time is out",
        ])
        .await;
}

#[tokio::test]
async fn a_battle_that_nobody_plays_ends_by_itself() {
    let played = Played::begin(Some(rules(WhenOut::Pass))).await;
    for _ in 0..200 {
        played.days_go_by(5);
        if played.sweep().await == 0 {
            break;
        }
    }
    let stored_game = played
        .service
        .game(&played.red, played.game)
        .await
        .expect("read");
    assert!(stored_game.ended.is_some());
    played.must_say(&["The battle is over"]).await;
}

#[tokio::test]
async fn the_umpire_decides_where_the_rules_say_so() {
    let played = Played::begin(Some(rules(WhenOut::Umpire))).await;
    played.days_go_by(9);
    assert_eq!(played.sweep().await, 1);
    let claim = refused(
        played
            .service
            .claim(&played.blue, played.game, &UNSIGNED)
            .await,
    );
    assert!(claim.contains("umpire decides"), "{claim}");
    // more than the delay, so that the turn is in time again
    let more = wire::Action::MoreTime { days: 10 };
    let done = played.rule(Some(more)).await.expect("ruled");
    assert!(!done.clock.is_out);
    let put = |unit: &str, x_mm: f64| wire::PutUnit {
        unit: unit.to_owned(),
        place: fieldpost_rules::verdict::Place {
            x_mm,
            y_mm: 200.0,
            bearing_deg: 0.0,
        },
    };
    // the first alone could be put there: none is
    let before = played
        .service
        .cache
        .folded(played.game)
        .await
        .expect("it is");
    let corrected = wire::Action::Correct {
        units: vec![put("red-1", 310.0), put("red-chief", -500.0)],
    };
    let off = refused(played.rule(Some(corrected)).await);
    assert!(off.contains("red-chief would stand"), "{off}");
    let after = played
        .service
        .cache
        .folded(played.game)
        .await
        .expect("it is");
    assert_eq!(before.head.number, after.head.number);
    played.rule(Some(wire::Action::Pass)).await.expect("ruled");
    assert_eq!(played.clock().await.to_move.as_deref(), Some("blue"));
    let end = wire::Action::End { winner: None };
    played.rule(Some(end)).await.expect("ruled");
    let after = played.rule(Some(wire::Action::Pass)).await;
    assert!(matches!(after, Err(ServiceError::GameOver)));
    let after = played
        .service
        .resume(&played.red, played.game, &UNSIGNED)
        .await;
    assert!(matches!(after, Err(ServiceError::GameOver)));
    played.rule(None).await.expect("words are always free");
    let own = wire::Rule {
        about: None,
        text: "I win".to_owned(),
        then: None,
    };
    let seat = played
        .service
        .rule(&played.red, played.game, &own, sent(&own));
    assert!(matches!(seat.await, Err(ServiceError::NotAllowed(_))));
    played
        .must_say(&[
            "The umpire gives Outposts of the Vale 10 days more",
            "passes with their units standing",
            "a draw",
        ])
        .await;
}

#[tokio::test]
async fn a_pause_needs_both_and_leave_stops_a_clock() {
    let played = Played::begin(Some(rules(WhenOut::Claim))).await;
    played
        .service
        .ask_pause(&played.red, played.game, &UNSIGNED)
        .await
        .expect("asked");
    assert!(!played.clock().await.is_paused);
    played
        .service
        .ask_pause(&played.blue, played.game, &UNSIGNED)
        .await
        .expect("asked");
    assert!(played.clock().await.is_paused);
    played.days_go_by(60);
    assert_eq!(played.sweep().await, 0);
    played
        .service
        .resume(&played.blue, played.game, &UNSIGNED)
        .await
        .expect("resumed");
    let due = played.clock().await.due.expect("it runs");
    assert_eq!(due, "2026-08-04T12:00:00Z");
    let leave = wire::TakeLeave {
        from: "2026-08-02".to_owned(),
        days: 5,
    };
    played
        .service
        .take_leave(&played.red, played.game, &leave, sent(&leave))
        .await
        .expect("taken");
    assert_eq!(
        played.clock().await.due.as_deref(),
        Some("2026-08-09T12:00:00Z")
    );
    let leave = wire::TakeLeave {
        from: "2026-09-02".to_owned(),
        days: 1,
    };
    let more = played
        .service
        .take_leave(&played.red, played.game, &leave, sent(&leave));
    assert!(refused(more.await).contains("0 days of leave left"));
    played
        .must_say(&[
            "ask for a pause",
            "The clocks stand",
            "play on",
            "take 5 days of leave",
        ])
        .await;
}

#[tokio::test]
async fn without_a_clock_nobody_is_late_and_both_may_give_up_or_ask() {
    let played = Played::begin(None).await;
    played.days_go_by(1000);
    assert_eq!(played.sweep().await, 0);
    let claim = played
        .service
        .claim(&played.blue, played.game, &UNSIGNED)
        .await;
    assert!(matches!(claim, Err(ServiceError::NoClock)));
    let requested = wire::RaiseDispute {
        about: Some(3),
        text: "Was that in range?".to_owned(),
    };
    played
        .service
        .dispute(&played.blue, played.game, &requested, sent(&requested))
        .await
        .expect("asked");
    let beyond = wire::RaiseDispute {
        about: Some(99),
        ..requested
    };
    let beyond = played
        .service
        .dispute(&played.blue, played.game, &beyond, sent(&beyond))
        .await;
    assert!(matches!(
        beyond,
        Err(ServiceError::NoSuchEvent { requested: 99, .. })
    ));
    played
        .service
        .concede(&played.red, played.game, &UNSIGNED)
        .await
        .expect("given up");
    played
        .must_say(&[
            "ask the umpire about event 3",
            "give the battle up",
            "Outposts of the Marches win",
        ])
        .await;
}

#[tokio::test]
async fn a_posting_meets_a_clock_event_between_only_as_a_moved_head() {
    let played = Played::begin(Some(rules(WhenOut::Claim))).await;
    let mut heads = Vec::new();
    for zone in ["Europe/Lisbon", "Atlantic/Azores"] {
        let done = played
            .service
            .set_zone(
                &played.red,
                played.game,
                zone,
                sent(&wire::SetZone {
                    zone: zone.to_owned(),
                }),
            )
            .await
            .expect("set");
        heads.push(done.head.number);
    }
    assert_eq!(
        heads[1],
        heads[0] + 1,
        "the zone it had already changed nothing"
    );
    let nowhere = played
        .service
        .set_zone(
            &played.red,
            played.game,
            "Atlantis/Harbour",
            sent(&wire::SetZone {
                zone: "Atlantis/Harbour".to_owned(),
            }),
        )
        .await;
    assert!(refused(nowhere).contains("no such time zone"));
}

/// What is cached after an append is what the record makes of it from its beginning.
#[tokio::test]
async fn what_is_kept_after_an_append_is_what_the_record_says() {
    let played = Played::begin(Some(rules(WhenOut::Pass))).await;
    let unit = "red-1".to_owned();
    let acts = [
        Some(wire::Action::MoreTime { days: 2 }),
        Some(wire::Action::Pause),
        None,
        Some(wire::Action::Resume),
        Some(wire::Action::Pass),
        Some(wire::Action::Correct {
            units: vec![wire::PutUnit {
                unit,
                place: serde_json::from_value(serde_json::json!({
                    "x_mm": 301.25, "y_mm": 190.0, "bearing_deg": 12.5
                }))
                .expect("a place"),
            }],
        }),
        Some(wire::Action::End { winner: None }),
    ];
    for act in acts {
        played.rule(act.clone()).await.expect("ruled");
        let stored = played.service.cache.folded(played.game).await;
        let other = Service::new(Arc::clone(&played.service.store), 30);
        let read = other.cache.folded(played.game).await;
        assert_eq!(
            format!("{:?}", stored.expect("kept")),
            format!("{:?}", read.expect("read")),
            "after {act:?}"
        );
    }
}

/// A machine whose clock was set back writes no moment before the last one.
#[tokio::test]
async fn times_in_a_record_never_run_backwards() {
    let played = Played::begin(Some(rules(WhenOut::Claim))).await;
    for days in [1, -2, 1, -5] {
        played.days_go_by(days);
        played.rule(None).await.expect("ruled");
    }
    played.must_say(&["rules", "rules"]).await;
}

/// A game that was opened when throws were of the first form has its secret renewed before its next turn.
#[tokio::test]
async fn a_game_of_the_first_form_goes_on_under_the_second() {
    let mut played = Played::begin(None).await;
    let (id, secret) = (GameId::fresh(), [5; 32]);
    let battle = shipped::find("withy-bridge").expect("shipped");
    let opened = Event::Opened {
        format: 1,
        laws: LAWS,
        game: id.to_string(),
        ruleset: battle.ruleset.text.to_owned(),
        scenario: battle.scenario.text.to_owned(),
        commitment: hex::encode(first_form::commitment(&id.0, 1, &secret)),
        signed: false,
    };
    let sealed = record::seal(
        (0, record::BEFORE_THE_FIRST),
        "2026-01-01T00:00:00Z",
        vec![opened],
    );
    let entries = stored_entries(record::BEFORE_THE_FIRST, sealed.expect("canonical"));
    let store = &played.service.store;
    let other = store.game(played.game).await.expect("read").expect("there");
    let opening = Opening {
        game: StoredGame {
            id,
            head: Head {
                number: 1,
                hash: entries[0].hash,
            },
            ..other
        },
        entries,
        secret,
        seats: Vec::new(),
        invitations: Vec::new(),
    };
    store
        .open_game(&Authority::Server, &opening)
        .await
        .expect("opened");
    played.game = id;
    for _ in 0..2 {
        played.rule(Some(wire::Action::Pass)).await.expect("passed");
    }
    let renewed = "The dice to come are committed to anew";
    played
        .must_say(&[renewed, "rules", "passes", "rules", "passes"])
        .await;
}
