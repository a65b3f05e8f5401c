//! From the link to a posted sheet without a pointer.

use fantoccini::actions::{Actions, InputSource, KeyAction, KeyActions};
use fantoccini::key::Key;
use serde_json::json;

use super::driver::{Device, Driver};
use super::host::Host;
use super::person::Person;

/// The most presses of Tab that it may take to come to anything.
const MOST_TABS: usize = 120;

async fn key(person: &Person, key: Key) {
    let value = char::from(key);
    let keys = KeyActions::new("keys".to_owned())
        .then(KeyAction::Down { value })
        .then(KeyAction::Up { value });
    let done = person.client.perform_actions(Actions::from(keys)).await;
    done.expect("pressed");
}

/// Goes on by Tab until the part that has the focus is the one wanted.
async fn tab_to(person: &Person, css: &str) {
    for _ in 0..MOST_TABS {
        let script = "return document.activeElement?.matches(arguments[0]) ?? false;";
        if person.script(script, vec![json!(css)]).await == json!(true) {
            return;
        }
        key(person, Key::Tab).await;
    }
    panic!("{css} is not reached by {MOST_TABS} presses of Tab");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sheet_is_written_and_posted_by_keys_alone() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::new(&driver, Device::Desk, &host).await;
    ash.visit(&format!("#invitation={}", opened.invitations[0]))
        .await;
    ash.until(
        "document.activeElement?.id === 'player'",
        "the name has the focus",
    )
    .await;
    let name = ash.client.active_element().await.expect("the field");
    name.send_keys("Ash").await.expect("typed");
    key(&ash, Key::Enter).await;
    ash.sees_table().await;
    tab_to(&ash, "[data-place='red-1']").await;
    key(&ash, Key::Enter).await;
    ash.until("document.querySelector('[data-handle]')", "handles")
        .await;
    tab_to(&ash, "[data-handle='front']").await;
    for _ in 0..3 {
        key(&ash, Key::Up).await;
    }
    ash.until(
        "document.querySelector('#sheet-text').value.includes('red-1: forward 30 mm')",
        "three presses are on the sheet",
    )
    .await;
    ash.is_judged(0, "legal").await;
    // The verdict is read aloud once it has settled.
    ash.reads("[aria-live]", "legal").await;
    tab_to(&ash, ".post .main").await;
    key(&ash, Key::Enter).await;
    ash.until(
        "!document.querySelector('.telling').hidden",
        "the answer is told",
    )
    .await;
    assert_eq!(
        host.kinds(&opened.game)
            .iter()
            .filter(|kind| *kind == "sheet-accepted")
            .count(),
        1
    );
}
