//! What people write is text, whatever it looks like.

use serde_json::json;

use super::driver::{Device, Driver};
use super::host::Host;
use super::person::Person;

/// A name that would be an element, and would run.
const NAME: &str = "<b id=bad>Ash</b><img src=x onerror=bad()>";

#[tokio::test(flavor = "multi_thread")]
async fn a_name_that_looks_like_a_page_is_shown_as_it_is_written() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::new(&driver, Device::Desk, &host).await;
    ash.takes_seat(&opened.invitations[0], NAME).await;
    ash.open_leaf("Story").await;
    ash.reads(".news", NAME).await;
    // Somebody else, who only looks on, sees it among the games.
    let other = Person::new(&driver, Device::Phone, &host).await;
    other.reads(".cards", NAME).await;
    for person in [&ash, &other] {
        let found = "return document.querySelector('#bad, img[src=x]') !== null;";
        assert_eq!(person.script(found, vec![]).await, json!(false));
    }
}
