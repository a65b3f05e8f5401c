//! Two people, one at a desk and one with a phone, play by dragging.

use super::driver::{Device, Driver};
use super::host::Host;
use super::person::Person;

/// Whoever comes in has no secret left in the address of the page.
async fn has_no_secret(person: &Person, secret: &str) {
    let address = person.client.current_url().await.expect("an address");
    assert!(!address.as_str().contains(secret), "{address}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_people_play_four_player_turns_by_dragging() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    let bo = Person::invited(&driver, Device::Phone, &host, &opened, 1).await;
    has_no_secret(&ash, &opened.invitations[0]).await;

    // The first move asks too much: it is refused with its figures, and then brought to what is allowed.
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 190.0).await;
    ash.is_judged(0, "refused").await;
    ash.reads(".orders .reason", "of an allowance of 120.0 mm")
        .await;
    ash.press("Undo").await;
    ash.drag("front", 0.0, 121.0).await;
    ash.is_judged(0, "legal").await;
    assert!(
        ash.sheet().await.contains("red-1: forward 120 mm"),
        "{}",
        ash.sheet().await
    );
    ash.pick("red-2").await;
    ash.drag("right-corner", -4.0, 30.0).await;
    ash.is_judged(1, "legal").await;
    assert!(
        ash.sheet().await.contains("red-2: wheel left"),
        "{}",
        ash.sheet().await
    );
    ash.post().await;

    // The second is drawn past the edge of a halt zone, and the ghost stays at the edge; then the two fight.
    bo.awaits_turn().await;
    bo.pick("blue-2").await;
    bo.drag("front", 0.0, -172.0).await;
    bo.is_judged(0, "legal").await;
    bo.open_leaf("Sheet").await;
    let stopped = bo.sheet().await;
    assert!(stopped.contains("blue-2: forward 162.7 mm"), "{stopped}");
    bo.pick("blue-1").await;
    bo.drag("front", 0.0, -119.0).await;
    bo.is_judged(1, "legal").await;
    declare(&bo).await;
    bo.post().await;

    // The third and the fourth: whoever stands in a strike zone fights on; the commanders come up.
    ash.awaits_turn().await;
    ash.pick("red-chief").await;
    ash.drag("front", 0.0, 30.0).await;
    ash.is_judged(0, "legal").await;
    declare(&ash).await;
    ash.post().await;

    bo.awaits_turn().await;
    bo.pick("blue-chief").await;
    bo.drag("front", 0.0, -40.0).await;
    bo.is_judged(0, "legal").await;
    declare(&bo).await;
    bo.post().await;

    let kinds = host.kinds(&opened.game);
    let count = |kind: &str| kinds.iter().filter(|one| *one == kind).count();
    assert_eq!(count("sheet-accepted"), 4, "{kinds:?}");
    assert!(count("battle-fought") >= 1, "{kinds:?}");
}

/// Declares the battles that the referee asks for, if it asks for any.
async fn declare(person: &Person) {
    person.open_leaf("Sheet").await;
    let asked = "[...document.querySelectorAll('.battle > button')].find((one) => one.textContent.startsWith('Declare'))";
    let is_ready = "[...document.querySelectorAll('.post .main')].some((one) => !one.disabled)";
    person
        .until(&format!("{asked} || {is_ready}"), "the sheet is judged")
        .await;
    person.script(&format!("({asked})?.click();"), vec![]).await;
    person.until(is_ready, "the sheet can be posted").await;
}
