//! `/v1/seats`, `/v1/seat`, invitations.

use serde_json::{Value, json};

use crate::host::{Host, text};

fn opened(host: &Host) -> Value {
    let ask = host.ask("POST", "/v1/games").key(&host.organiser());
    ask.json(&json!({"shipped": "withy-bridge"}))
        .send()
        .expect(201)
}

fn red_invitation(opened: &Value) -> String {
    text(&opened["invitations"][0]["invitation"])
}

#[test]
fn an_invitation_gives_a_seat_once() {
    let host = Host::start();
    let invitation = red_invitation(&opened(&host));
    let take = host
        .ask("POST", "/v1/seats")
        .json(&json!({"invitation": invitation, "player": " Zoe\u{308} "}));
    let taken = take.clone().send().expect(201);
    assert_eq!(taken["side"], "red");
    assert_eq!(taken["player"], "Zoë");
    assert_eq!(taken["game"]["sides"][0]["player"], "Zoë");
    take.send().problem(409, "invitation-used");
    let mine = host
        .ask("GET", "/v1/seat")
        .key(&text(&taken["key"]))
        .send()
        .expect(200);
    assert_eq!(
        mine,
        json!({"role": "player", "seat": taken["seat"], "game": taken["game"]["id"], "side": "red", "player": "Zoë"})
    );
    let organiser = host
        .ask("GET", "/v1/seat")
        .key(&host.organiser())
        .send()
        .expect(200);
    assert_eq!(organiser, json!({"role": "organiser"}));
    host.get("/v1/seat").problem(401, "no-key");
}

#[test]
fn a_lost_answer_is_given_again_to_the_same_taker_alone() {
    let host = Host::start();
    let invitation = red_invitation(&opened(&host));
    let take = host
        .ask("POST", "/v1/seats")
        .json(&json!({"invitation": invitation, "player": "Ash"}));
    let first = take.clone().header("idempotency-key", "one").send();
    let again = take.clone().header("idempotency-key", "one").send();
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert_eq!(first.expect(201), again.expect(201));
    take.clone()
        .header("idempotency-key", "two")
        .send()
        .problem(409, "invitation-used");
    take.send().problem(409, "invitation-used");
}

#[test]
fn a_seat_raced_for_goes_to_one() {
    let host = Host::start();
    let invitation = red_invitation(&opened(&host));
    let statuses: Vec<u16> = std::thread::scope(|scope| {
        let takers: Vec<_> = (0..8)
            .map(|i| {
                let player = format!("Player {i}");
                let take = host
                    .ask("POST", "/v1/seats")
                    .json(&json!({"invitation": invitation, "player": player}));
                scope.spawn(move || take.send().status)
            })
            .collect();
        takers
            .into_iter()
            .map(|taker| taker.join().expect("no panic"))
            .collect()
    });
    assert_eq!(
        statuses.iter().filter(|&&status| status == 201).count(),
        1,
        "{statuses:?}"
    );
    assert_eq!(
        statuses.iter().filter(|&&status| status == 409).count(),
        7,
        "{statuses:?}"
    );
}

#[test]
fn a_newer_invitation_voids_the_older() {
    let host = Host::start();
    let opened = opened(&host);
    let game = text(&opened["game"]["id"]);
    let invite = host
        .ask("POST", &format!("/v1/games/{game}/invitations"))
        .json(&json!({"side": "red"}));
    invite.clone().send().problem(401, "no-key");
    let newer = invite.clone().key(&host.organiser()).send().expect(201);
    let take = |invitation: &str| {
        host.ask("POST", "/v1/seats")
            .json(&json!({"invitation": invitation, "player": "Ash"}))
            .send()
    };
    take(&red_invitation(&opened)).problem(422, "wrong-invitation");
    take(&text(&newer["invitation"])).expect(201);
    invite
        .key(&host.organiser())
        .send()
        .problem(409, "seat-taken");
    let nowhere = host
        .ask("POST", &format!("/v1/games/{game}/invitations"))
        .json(&json!({"side": "green"}));
    nowhere
        .key(&host.organiser())
        .send()
        .problem(422, "no-such-side");
}

#[test]
fn wrong_invitations_and_names_are_refused() {
    let host = Host::start();
    let invitation = red_invitation(&opened(&host));
    let take = |invitation: &str, player: &str| {
        host.ask("POST", "/v1/seats")
            .json(&json!({"invitation": invitation, "player": player}))
            .send()
    };
    take("nonsense", "Ash").problem(422, "wrong-invitation");
    let mut guessed = invitation.clone();
    guessed.replace_range(20..24, "0000");
    take(&guessed, "Ash").problem(422, "wrong-invitation");
    for name in ["", "  ", "a\u{1b}[31m", "a\u{202e}b", &"x".repeat(61)] {
        take(&invitation, name).problem(422, "bad-name");
    }
    take(&invitation, "<script>alert('&')</script>").expect(201);
}

/// Days cannot be waited for: an office whose invitations last none.
#[tokio::test]
async fn an_invitation_out_of_date_gives_no_seat() {
    use fieldpost_server::key::Key;
    use fieldpost_server::service::{Caller, Files, Service, ServiceError, Taking, Terms};
    use fieldpost_server::store::{self, Opens, Origin, StoredKey};

    let folder = tempfile::tempdir().expect("a folder");
    let url = format!("sqlite:{}", folder.path().join("games.db").display());
    let store = store::open(&url, 1).await.expect("opens");
    let key = Key::fresh();
    let card = StoredKey {
        id: key.id().to_owned(),
        secret_hash: key.hash().to_vec(),
        opens: Opens::Organiser,
        origin: Origin::Afresh,
        made_at: "2026-01-02T03:04:05Z".to_owned(),
        revoked_at: None,
    };
    assert!(store.add_first_organiser(&card).await.expect("added"));
    let service = Service::new(store, 0);
    let organiser = service.identify(&key.into(), None).await.expect("known");
    let spectators = Terms {
        open_to_all: true,
        delay_minutes: 0,
        signed: false,
    };
    let files = Files::Shipped("withy-bridge".to_owned());
    let opened = service.open_game(&organiser, files, spectators, None).await;
    let taking = Taking {
        invitation: opened.expect("opened").invitations[0]
            .invitation
            .parse()
            .expect("an invitation"),
        player: "Ash".to_owned(),
        zone: None,
        device_key: None,
        idempotency_key: None,
    };
    let taken = service.take_seat(&Caller::Nobody, &taking).await;
    assert!(
        matches!(taken, Err(ServiceError::InvitationExpired { .. })),
        "{taken:?}"
    );
}
