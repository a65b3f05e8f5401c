//! Keys that end while a request is on its way.

use fieldpost_rules::orders::Instructions;

use super::super::GivenInstructions;
use super::*;

/// Whoever was allowed when a request began, as this caller was, is asked again when it comes to writing.
#[tokio::test]
async fn a_key_that_ended_since_the_request_began_changes_nothing() {
    let played = Played::begin(Some(rules(WhenOut::Claim))).await;
    let (service, game) = (&played.service, played.game);
    let member = service.add_member(&played.organiser, &add("Rowan")).await;
    let id = member.expect("added").member.id.parse().expect("an id");
    // Another organises from here on, and ends the first one's key, the first player's and the member's.
    let second = service.add_member(&played.organiser, &add("Hazel")).await;
    let key: Key = second.expect("added").key.parse().expect("a key");
    let second = service.identify(&key.into(), None).await.expect("known");
    service
        .revoke_key(&played.organiser)
        .await
        .expect("revoked");
    service.revoke_key(&played.red).await.expect("revoked");
    let before = service.game(&second, game).await.expect("read");

    let first = &played.organiser;
    let files = || Files::Shipped("withy-bridge".to_owned());
    let spectators = Terms {
        open_to_all: true,
        delay_minutes: 0,
        signed: false,
    };
    ended(service.open_game(first, files(), spectators, None).await);
    ended(service.add_member(first, &add("Elm")).await);
    let promoted = wire::ChangeMember {
        name: None,
        role: Some(wire::MemberRole::Organiser),
    };
    ended(service.change_member(first, id, &promoted).await);
    ended(service.rekey_member(first, id).await);
    ended(service.remove_member(first, id).await);
    let seats = service.seating(&second, game).await.expect("read").seats;
    ended(service.free_seat(first, game, &seats[1].seat).await);
    let umpire = wire::AddSeat {
        role: wire::SeatRole::Umpire,
        side: None,
    };
    ended(service.add_seat(first, game, &umpire).await);
    let closed = wire::ForSpectators {
        open_to_all: Some(false),
        spectator_delay_minutes: None,
    };
    ended(service.set_for_spectators(first, game, &closed).await);
    ended(
        service
            .set_clock(
                first,
                game,
                rules(WhenOut::Pass),
                sent(&rules(WhenOut::Pass)),
            )
            .await,
    );
    ended(played.rule(None).await);
    let again = wire::TryAgain { ids: None };
    ended(service.try_notices_again(first, &again).await);

    let red = &played.red;
    let given = GivenInstructions {
        game,
        instructions: Instructions::default(),
        sent: Sent::default(),
    };
    ended(service.instruct(red, &given).await);
    ended(service.concede(red, game, &UNSIGNED).await);
    ended(
        service
            .set_zone(
                red,
                game,
                "UTC",
                sent(&wire::SetZone {
                    zone: "UTC".to_owned(),
                }),
            )
            .await,
    );
    let leave = wire::TakeLeave {
        from: "2026-06-02".to_owned(),
        days: 1,
    };
    ended(service.take_leave(red, game, &leave, sent(&leave)).await);
    ended(service.ask_pause(red, game, &UNSIGNED).await);
    let asked = wire::RaiseDispute {
        about: None,
        text: "Was that so?".to_owned(),
    };
    ended(service.dispute(red, game, &asked, sent(&asked)).await);
    let nowhere = wire::SetNotices {
        mail: None,
        webhook: None,
        topics: None,
    };
    ended(service.set_notices(red, game, &nowhere).await);

    let after = service.game(&second, game).await.expect("read");
    assert_eq!(after, before);
    let members = service.members(&second).await.expect("read").members;
    assert_eq!(members.len(), 2);
    assert!(
        members
            .iter()
            .all(|member| member.name == "Rowan" || member.name == "Hazel")
    );
}

fn add(name: &str) -> wire::AddMember {
    wire::AddMember {
        name: name.to_owned(),
        role: wire::MemberRole::Organiser,
    }
}

fn ended<T: std::fmt::Debug>(outcome: ServiceResult<T>) {
    assert!(
        matches!(outcome, Err(ServiceError::KeyEnded)),
        "{outcome:?}"
    );
}
