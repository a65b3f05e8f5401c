//! What must not be lost, and what must not count twice.

use serde_json::json;

use super::driver::{Device, Driver};
use super::host::Host;
use super::person::Person;

/// The next posting arrives, and its answer does not.
const LOSE_THE_ANSWER: &str = "const real = window.fetch;
    window.fetch = async (address, options) => {
        if (!String(address).endsWith('/sheets')) return real(address, options);
        window.fetch = real;
        window.sent = [options.body, options.headers.get('Idempotency-Key')].join();
        await real(address, options);
        throw new TypeError('the line broke');
    };";

/// Leaves the game with a page that will hear no news of it.
const DEAF: &str = "const real = window.fetch;
    window.fetch = (address, options) => String(address).includes('/events?')
        ? Promise.resolve(new Response(new ReadableStream({})))
        : real(address, options);
    location.hash = '#games';";

/// Posts the same again, and says whether it was the same to the byte.
const SEND_AGAIN: &str = "const real = window.fetch;
    window.fetch = (address, options) => {
        if (String(address).endsWith('/sheets')) window.again = [options.body, options.headers.get('Idempotency-Key')].join();
        return real(address, options);
    };";

#[tokio::test(flavor = "multi_thread")]
async fn a_posting_whose_answer_is_lost_is_sent_again_and_counts_once() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    let bo = Person::invited(&driver, Device::Phone, &host, &opened, 1).await;
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 60.0).await;
    ash.is_judged(0, "legal").await;
    ash.script(LOSE_THE_ANSWER, vec![]).await;
    ash.press_post().await;
    // The news may come before the same is sent again; then the turn is over, and there is nothing to send.
    bo.awaits_turn().await;
    ash.reads(".headline .turn", "to move").await;
    let kinds = host.kinds(&opened.game);
    let accepted = kinds.iter().filter(|kind| *kind == "sheet-accepted");
    assert_eq!(accepted.count(), 1, "{kinds:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn without_news_the_same_bytes_are_sent_again_by_a_button_and_count_once() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 60.0).await;
    ash.is_judged(0, "legal").await;
    // The news are cut off as well: the page cannot know what came of the posting.
    ash.script(DEAF, vec![]).await;
    ash.until("document.querySelector('.cards')", "the games")
        .await;
    ash.script("history.back();", vec![]).await;
    ash.sees_table().await;
    ash.is_judged(0, "legal").await;
    ash.script(LOSE_THE_ANSWER, vec![]).await;
    ash.press_post().await;
    ash.reads(".post", "no answer has come").await;
    ash.script(SEND_AGAIN, vec![]).await;
    ash.press("Send the same again").await;
    ash.until(
        "!document.querySelector('.telling').hidden",
        "the answer is told",
    )
    .await;
    let same = ash
        .script("return window.sent === window.again;", vec![])
        .await;
    assert_eq!(same, true, "the same bytes under the same key");
    let kinds = host.kinds(&opened.game);
    let accepted = kinds.iter().filter(|kind| *kind == "sheet-accepted");
    assert_eq!(accepted.count(), 1, "{kinds:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_draft_outlives_a_reload_and_is_one_sheet_dragged_and_typed() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 60.0).await;
    ash.is_judged(0, "legal").await;
    let dragged = ash.sheet().await;
    assert!(dragged.contains("red-1: forward"), "{dragged}");
    ash.client.refresh().await.expect("loaded anew");
    ash.sees_table().await;
    ash.is_judged(0, "legal").await;
    assert_eq!(ash.sheet().await, dragged);
    // What is typed moves the ghosts; what cannot be read says where and what would do.
    ash.fill("#sheet-text", "red-2: weel left 20").await;
    ash.reads(".fault", "did you mean").await;
    ash.fill("#sheet-text", "red-2: wheel left 20").await;
    ash.is_judged(0, "legal").await;
    ash.until(
        "document.querySelectorAll('.ghosts .outline.legal').length === 1",
        "one ghost",
    )
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn signing_out_closes_the_stream_and_forgets_who_one_was() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open("withy-bridge");
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    ash.script("fetch('/v1/session', { method: 'DELETE' });", vec![])
        .await;
    ash.reads(".headline .link", "No connection").await;
    ash.visit("").await;
    ash.reads("nav", "Come in with a key").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_game_with_signatures_is_played_by_a_key_that_the_browser_made() {
    let Some(driver) = Driver::start() else {
        return;
    };
    let host = Host::start();
    let opened = host.open_with(&json!({ "shipped": "withy-bridge", "signed": true }));
    let ash = Person::invited(&driver, Device::Desk, &host, &opened, 0).await;
    ash.open_leaf("Post office").await;
    ash.script(
        "for (const part of document.querySelectorAll('.office-leaf details')) part.open = true;",
        vec![],
    )
    .await;
    ash.press("Seal these").await;
    ash.reads(".office-leaf .told", "Sealed").await;
    ash.pick("red-1").await;
    ash.drag("front", 0.0, 60.0).await;
    ash.is_judged(0, "legal").await;
    ash.post().await;
    // The server takes nothing unsigned in such a game.
    let kinds = host.kinds(&opened.game);
    for kind in ["instructions-changed", "sheet-accepted"] {
        assert!(kinds.iter().any(|one| one == kind), "{kind}: {kinds:?}");
    }
}
