//! Sessions as time goes by.

use super::super::{Credentials, Entrance, OpenSession, StartedSession};
use super::*;

const DAY_S: i64 = 24 * 60 * 60;

fn later(played: &Played, seconds: i64) {
    played.seconds.fetch_add(seconds, Ordering::SeqCst);
}

/// A session of red's key.
async fn started(played: &Played) -> StartedSession {
    let service = &played.service;
    let started = service.start_session(&played.red, None, &Entrance::Key, Some("A desk"));
    started.await.expect("started")
}

async fn open(played: &Played, key: &Key) -> ServiceResult<OpenSession> {
    played.service.open_session(key).await
}

#[tokio::test]
async fn a_session_ends_when_nobody_uses_it_for_ninety_days() {
    let played = Played::begin(None).await;
    let session = started(&played).await;
    let key = session.page.entered.clone().expect("red's");
    let credentials = Credentials::Session {
        cookie: session.cookie.clone(),
        key,
    };
    // Used now and then, by whatever is asked under it, it goes on.
    for _ in 0..4 {
        later(&played, 80 * DAY_S);
        let caller = played
            .service
            .identify(&credentials, Some(played.game))
            .await;
        assert_eq!(caller.expect("known").side_in(played.game), Some("red"));
    }
    let page = open(&played, &session.cookie).await.expect("goes on");
    let page = played.service.own_session(&page);
    assert_ne!(page.used_at, page.started_at);
    later(&played, 90 * DAY_S);
    let ended = open(&played, &session.cookie).await;
    assert!(
        matches!(ended, Err(ServiceError::WrongSession)),
        "{ended:?}"
    );
    let ended = played
        .service
        .identify(&credentials, Some(played.game))
        .await;
    assert!(
        matches!(ended, Err(ServiceError::WrongSession)),
        "{ended:?}"
    );
}

#[tokio::test]
async fn a_link_for_another_device_works_for_ten_minutes() {
    let played = Played::begin(None).await;
    let session = started(&played).await;
    let own = open(&played, &session.cookie).await.expect("open");
    let come = async |link: &Key| {
        let entrance = Entrance::Link(link.clone());
        let nobody = Caller::Nobody;
        let service = &played.service;
        service.start_session(&nobody, None, &entrance, None).await
    };
    let (late, _) = played.service.give_device_link(&own).await.expect("given");
    later(&played, 10 * 60);
    let refused = come(&late).await;
    assert!(
        matches!(refused, Err(ServiceError::LinkExpired)),
        "{refused:?}"
    );
    let (good, _) = played.service.give_device_link(&own).await.expect("given");
    later(&played, 10 * 60 - 1);
    let other = come(&good).await.expect("in time");
    assert_eq!(other.page.keys, session.page.keys);
    assert_eq!((other.page.device.as_str(), other.page.entered), ("", None));
    let again = come(&good).await;
    assert!(matches!(again, Err(ServiceError::LinkExpired)), "{again:?}");
}

#[tokio::test]
async fn a_device_is_called_what_can_be_shown() {
    let played = Played::begin(None).await;
    for bad in ["a\u{202e}b", "a\nb", &"x".repeat(61)] {
        let started = played
            .service
            .start_session(&played.red, None, &Entrance::Key, Some(bad));
        let refused = started.await;
        let is_bad = |error: &ServiceError| {
            matches!(
                error,
                ServiceError::BadName {
                    pointer: "/device",
                    ..
                }
            )
        };
        assert!(refused.as_ref().is_err_and(is_bad), "{refused:?}");
    }
}
