//! What axe-core (`axe/`, a test-only file under its own licence) finds in every state of the page: nothing.

use serde_json::{Value, json};

use super::driver::{Device, Driver};
use super::host::Host;
use super::person::Person;

const AXE: &str = include_str!("axe/axe.min.js");

/// Lets axe-core look at the page as it is.
async fn finds_nothing(person: &Person, state: &str) {
    person.script(AXE, vec![]).await;
    let script = "const done = arguments[arguments.length - 1];
        axe.run(document, { resultTypes: ['violations'] }).then((found) => done(found.violations.map((one) => [one.id, one.help, one.nodes.map((node) => node.html.slice(0, 160))])));";
    let found = person.client.execute_async(script, vec![]).await;
    let found = found.expect("axe-core answers");
    assert_eq!(found, json!([]), "{state}: {found:#}");
}

/// The leaves of a game, one after another.
async fn leaves_are_clean(person: &Person) {
    for leaf in ["Sheet", "Units", "Story", "Post office"] {
        person.open_leaf(leaf).await;
        finds_nothing(person, leaf).await;
    }
}

async fn states(device: Device) {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::new(&driver, device, &host).await;
    ash.reads("h1", "Fieldpost").await;
    finds_nothing(&ash, "games, nobody in particular").await;
    ash.visit("#enter").await;
    ash.reads("h1", "Come in").await;
    finds_nothing(&ash, "coming in").await;
    let ash = Person::invited(&driver, device, &host, &opened, 0).await;
    leaves_are_clean(&ash).await;
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 190.0).await;
    ash.is_judged(0, "refused").await;
    leaves_are_clean(&ash).await;
    ash.open_leaf("Sheet").await;
    ash.press("Name attackers").await;
    finds_nothing(&ash, "naming attackers").await;
    ash.visit("#devices").await;
    ash.reads("h1", "Sessions").await;
    finds_nothing(&ash, "sessions").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn axe_finds_nothing_at_a_desk() {
    states(Device::Desk).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn axe_finds_nothing_on_a_phone() {
    states(Device::Phone).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn axe_finds_nothing_at_the_organisers_desk() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let organiser = Person::new(&driver, Device::Desk, &host).await;
    organiser.visit("#enter").await;
    organiser
        .until("document.querySelector('#key')", "a key is asked for")
        .await;
    organiser.fill("#key", &host.organiser_key()).await;
    organiser.press("Come in").await;
    organiser.reads("nav", "Organise").await;
    organiser
        .script(
            "document.querySelector('nav a[href^=\"#organise\"]').click();",
            vec![],
        )
        .await;
    organiser.press("Open it").await;
    organiser.reads(".told", "is open").await;
    let links = "return document.querySelectorAll('.invitation .address').length;";
    assert_eq!(organiser.script(links, vec![]).await, Value::from(2));
    finds_nothing(&organiser, "organising").await;
}
