//! Whoever asks for something to be written is asked again when it is: a key that has ended since changes nothing.

use std::sync::Arc;

use fieldpost_server::store::{
    Append, Authority, Channel, FreedSeat, Member, MemberId, MemberRole, NoticeAddress, Opening,
    Opens, Origin, Right, SetAddresses, Store, StoreError, StoreResult, StoredKey, TakenSeat,
    Topic,
};
use tokio::task::JoinSet;

use crate::fixtures::{
    AT, Kept, On, append, bytes, head_after, invitation, on_both, opening, organiser, seat_key,
};

fn word(key: &str, right: Right) -> Authority {
    Authority::Key {
        key: key.to_owned(),
        right,
        session: None,
    }
}

fn by(append: Append, by: &Authority) -> Append {
    Append {
        by: by.clone(),
        ..append
    }
}

fn member(seed: u64, role: MemberRole) -> (Member, StoredKey) {
    let id = MemberId(bytes(seed));
    let member = Member {
        id,
        name: format!("Member {seed}"),
        role,
        joined_at: AT.to_owned(),
        left_at: None,
    };
    let key = StoredKey {
        id: format!("member-{seed}"),
        opens: Opens::Member { member: id },
        ..organiser(seed)
    };
    (member, key)
}

fn taken(opening: &Opening, place: usize, member: Option<MemberId>, seed: u64) -> TakenSeat {
    let seat = opening.seats[place].id.clone();
    TakenSeat {
        key: seat_key(&seat, &opening.invitations[place].id, seed),
        seat,
        player: "Ash".to_owned(),
        member,
        number: 1,
        by_organiser: false,
    }
}

fn addresses(seat: &str, seed: u64) -> SetAddresses {
    let address = NoticeAddress {
        id: format!("{seed:016x}"),
        seat: seat.to_owned(),
        channel: Channel::Mail,
        address: format!("somebody-{seed}@example.org"),
        topics: Topic::ALL.to_vec(),
        secret: bytes::<32>(seed).to_vec(),
        set_at: 1000,
        set_by: None,
    };
    SetAddresses {
        seat: seat.to_owned(),
        addresses: vec![address],
        number: 1,
        at: 1000,
    }
}

fn freed(seat: &str) -> FreedSeat {
    FreedSeat {
        seat: seat.to_owned(),
        at: AT.to_owned(),
        at_ms: 5,
    }
}

fn refused<T: std::fmt::Debug>(what: &str, outcome: StoreResult<T>) {
    assert!(
        matches!(outcome, Err(StoreError::KeyEnded)),
        "{what}: {outcome:?}"
    );
}

/// Everything that an organiser may have written, asked for on a word that holds no more: refused, each.
async fn nothing_is_written(store: &dyn Store, opened: &Opening, by: &Authority) {
    let game = opened.game.id;
    let seat = &opened.seats[1];
    let (another, its_key) = member(77, MemberRole::Organiser);
    refused("opening", store.open_game(by, &opening(99, true)).await);
    refused("closing", store.set_open_to_all(by, game, false).await);
    refused("delaying", store.set_spectator_delay(by, game, 5).await);
    refused("inviting", store.invite(by, &invitation(seat, 500)).await);
    let added = fieldpost_server::store::Seat {
        id: "seat-more".to_owned(),
        place: 9,
        ..seat.clone()
    };
    refused(
        "adding a seat",
        store.add_seat(by, &added, &invitation(&added, 501)).await,
    );
    refused("freeing", store.free_seat(by, &freed(&seat.id)).await);
    refused(
        "adding a member",
        store.add_member(by, &another, &its_key).await,
    );
    let known = MemberId(bytes(1));
    refused(
        "changing a member",
        store
            .change_member(by, known, "Elm", MemberRole::Organiser)
            .await,
    );
    let (_, mut rekeyed) = member(1, MemberRole::Member);
    rekeyed.id = "member-1-again".to_owned();
    refused("rekeying", store.rekey_member(by, &rekeyed).await);
    refused("removing", store.remove_member(by, known, AT, 5).await);
    refused("reviving", store.revive_notices(by, None, 5).await);
    let next = append(game, opened.game.head, 1, 700);
    refused("appending", store.append(&self::by(next, by)).await);

    let kept = store.game(game).await.expect("read").expect("there");
    assert_eq!(kept, opened.game, "nothing of the game has changed");
    assert!(
        store
            .game(opening(99, true).game.id)
            .await
            .expect("read")
            .is_none()
    );
    assert_eq!(store.seats(game).await.expect("read").len(), 2);
    assert!(
        store
            .invitation("invitation-500")
            .await
            .expect("read")
            .is_none()
    );
    let members = store.members().await.expect("read");
    assert_eq!(members.len(), 1);
    assert_eq!(members[0].name, "Member 1");
    let key = store.key("member-1").await.expect("read").expect("there");
    assert_eq!(key.revoked_at, None);
}

on_both! {
    /// An organiser who was revoked while a request was on its way: nothing of what was asked is written.
    async fn a_revoked_organiser_writes_nothing(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let (first, key) = member(1, MemberRole::Member);
        let good = word("organiser-7", Right::Organise);
        store.add_member(&good, &first, &key).await.expect("added while the key is good");
        let opened = opening(1, true);
        store.open_game(&good, &opened).await.expect("opened while the key is good");
        // Somebody must be left to organise.
        let (other, others) = member(2, MemberRole::Organiser);
        store.add_member(&good, &other, &others).await.expect("added");
        store.revoke_key("organiser-7", AT).await.expect("revoked");
        store.remove_member(&word("member-2", Right::Organise), MemberId(bytes(9)), AT, 5).await.expect_err("nobody of that id");
        // The count of members below is of those besides the one who revoked.
        store.change_member(&word("member-2", Right::Organise), first.id, "Member 1", MemberRole::Organiser).await.expect("an organiser may");
        store.remove_member(&word("member-1", Right::Organise), other.id, AT, 5).await.expect("removed");
        nothing_is_written(&*store, &opened, &good).await;
        // Nor do an organiser's who left, one who is none any more, and a key that there never was.
        nothing_is_written(&*store, &opened, &word("member-2", Right::Organise)).await;
        nothing_is_written(&*store, &opened, &word("nobody's", Right::Organise)).await;
        nothing_is_written(&*store, &opened, &word("nobody's", Right::Any)).await;
    }

    /// A member who was made a plain one organises no more, and plays on.
    async fn a_member_may_what_their_role_is_now(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let office = word("organiser-7", Right::Organise);
        let (ash, key) = member(1, MemberRole::Organiser);
        store.add_member(&office, &ash, &key).await.expect("added");
        let opened = opening(1, true);
        store.open_game(&word("member-1", Right::Organise), &opened).await.expect("an organiser opens");
        let (game, seat) = (opened.game.id, opened.seats[0].id.clone());
        store.take_seat(&word("member-1", Right::Any), &taken(&opened, 0, Some(ash.id), 5)).await.expect("taken");
        store.change_member(&office, ash.id, "Member 1", MemberRole::Member).await.expect("changed");
        refused("closing", store.set_open_to_all(&word("member-1", Right::Organise), game, false).await);
        // By the member's own key, and by the seat's.
        let mut head = opened.game.head;
        for (key, seed) in [("member-1", 10), ("key-5", 20)] {
            let next = by(append(game, head, 1, seed), &word(key, Right::Seat(seat.clone())));
            store.append(&next).await.expect("they hold the seat");
            head = head_after(&next);
        }
        let other = word("member-1", Right::Seat(opened.seats[1].id.clone()));
        refused("another's seat", store.append(&by(append(game, head, 1, 30), &other)).await);
        // Freed, it is neither key's.
        store.free_seat(&office, &freed(&seat)).await.expect("freed");
        for key in ["member-1", "key-5"] {
            let word = word(key, Right::Seat(seat.clone()));
            refused(key, store.append(&by(append(game, head, 1, 40), &word)).await);
            refused(key, store.set_notice_addresses(&word, &addresses(&seat, 3)).await);
        }
        assert!(store.notice_addresses(&seat).await.expect("read").is_empty());
    }

    /// Of appends written together, those of ended keys are refused and the others hold.
    async fn an_ended_key_among_others_hinders_nobody(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        let games: Vec<_> = (1..=40).map(|seed| opening(seed, true)).collect();
        for (seed, game) in (1..).zip(&games) {
            store.open_game(&Authority::Server, game).await.expect("opened");
            store.take_seat(&Authority::Server, &taken(game, 0, None, seed)).await.expect("taken");
            if seed % 4 == 0 {
                store.revoke_key(&format!("key-{seed}"), AT).await.expect("revoked");
            }
        }
        let mut tasks = JoinSet::new();
        for (seed, game) in (1_u64..).zip(&games) {
            let word = word(&format!("key-{seed}"), Right::Seat(game.seats[0].id.clone()));
            let next = by(append(game.game.id, game.game.head, 2, 500), &word);
            let store = Arc::clone(&store);
            tasks.spawn(async move { (seed, store.append(&next).await) });
        }
        while let Some(done) = tasks.join_next().await {
            let (seed, outcome) = done.expect("no panic");
            if seed % 4 == 0 {
                refused("appending", outcome);
            } else {
                outcome.expect("appended");
            }
        }
        for (seed, game) in (1_u64..).zip(&games) {
            let entries = store.entries(game.game.id, 0, 10).await.expect("read");
            assert_eq!(entries.len(), if seed % 4 == 0 { 1 } else { 3 });
        }
    }

    /// Once it is answered that a key was revoked, nothing more is written on its word, however many were on their way.
    async fn nothing_is_appended_after_a_revocation_was_answered(kept: Kept) {
        let store = kept.store();
        store.add_first_organiser(&organiser(7)).await.expect("added");
        for seed in 1..=10 {
            let games: Vec<_> = (0..8).map(|place| opening(seed * 10 + place, true)).collect();
            for game in &games {
                store.open_game(&Authority::Server, game).await.expect("opened");
            }
            let (member, key) = member(seed + 100, MemberRole::Organiser);
            store.add_member(&Authority::Server, &member, &key).await.expect("added");
            let organiser = word(&key.id, Right::Organise);
            let mut tasks = JoinSet::new();
            for game in &games {
                let (store, organiser) = (Arc::clone(&store), organiser.clone());
                let (game, mut head) = (game.game.id, game.game.head);
                tasks.spawn(async move {
                    for round in 0.. {
                        let next = by(append(game, head, 1, round * 10), &organiser);
                        match store.append(&next).await {
                            Ok(()) => head = head_after(&next),
                            Err(StoreError::KeyEnded) => return,
                            Err(error) => panic!("{error}"),
                        }
                    }
                });
            }
            tokio::task::yield_now().await;
            store.revoke_key(&key.id, AT).await.expect("revoked");
            let mut then = Vec::new();
            for game in &games {
                then.push(store.game(game.game.id).await.expect("read").expect("there").head);
            }
            while let Some(done) = tasks.join_next().await {
                done.expect("no panic");
            }
            for (game, then) in games.iter().zip(then) {
                let now = store.game(game.game.id).await.expect("read").expect("there").head;
                assert_eq!(now, then, "the revocation was the last word");
            }
        }
    }

    /// Addresses are known by the key that set them, also once that was renewed, and go with the seat's holder.
    async fn addresses_are_known_by_the_key_that_set_them(kept: Kept) {
        let store = kept.store();
        let opened = opening(1, true);
        store.open_game(&Authority::Server, &opened).await.expect("opened");
        store.take_seat(&Authority::Server, &taken(&opened, 0, None, 5)).await.expect("taken");
        let seat = opened.seats[0].id.clone();
        let holder = word("key-5", Right::Seat(seat.clone()));
        store.set_notice_addresses(&holder, &addresses(&seat, 3)).await.expect("set");
        let of = |key: &'static str| {
            let store = Arc::clone(&store);
            async move { store.notice_addresses_set_by(key).await.expect("read").len() }
        };
        assert_eq!(of("key-5").await, 1);
        let fresh = StoredKey {
            id: "key-6".to_owned(),
            origin: Origin::Renewal { renews: "key-5".to_owned(), salt: bytes::<16>(1).to_vec() },
            ..seat_key(&seat, "", 6)
        };
        store.renew_key(&fresh).await.expect("renewed");
        assert_eq!((of("key-5").await, of("key-6").await), (0, 1));
        refused("the old key", store.set_notice_addresses(&holder, &addresses(&seat, 4)).await);
        store.free_seat(&Authority::Server, &freed(&seat)).await.expect("freed");
        assert_eq!(of("key-6").await, 0);
    }
}
