//! Somebody before a browser: what they look for, tap and drag.

use std::time::{Duration, Instant};

use fantoccini::Client;
use fantoccini::actions::{
    Actions, InputSource, MOUSE_BUTTON_LEFT, MouseActions, PointerAction, TouchActions,
};
use serde_json::{Value, json};

use super::driver::{Device, Driver};
use super::host::{Host, Opened};

const PATIENCE: Duration = Duration::from_secs(30);
/// Between two looks at a page that is still at work.
const LOOK: Duration = Duration::from_millis(60);
/// Steps that a drag takes, and how long each of them.
const STEPS: u32 = 8;
const STEP: Duration = Duration::from_millis(30);

/// Somebody with a browser of their own.
pub struct Person {
    /// Their browser.
    pub client: Client,
    device: Device,
    address: String,
}

impl Person {
    /// Somebody who looks at the server's page.
    pub async fn new(driver: &Driver, device: Device, host: &Host) -> Self {
        let client = driver.browser(device).await;
        let address = host.address.clone();
        let person = Self {
            client,
            device,
            address,
        };
        person.visit("").await;
        person
    }

    /// Somebody who comes in by the link of an invitation, and sees the table.
    pub async fn invited(
        driver: &Driver,
        device: Device,
        host: &Host,
        of: &Opened,
        side: usize,
    ) -> Self {
        let person = Self::new(driver, device, host).await;
        let name = ["Ash", "Bo"][side];
        person.takes_seat(&of.invitations[side], name).await;
        person
    }

    /// Takes the seat of an invitation under a name.
    pub async fn takes_seat(&self, invitation: &str, name: &str) {
        self.visit(&format!("#invitation={invitation}")).await;
        self.until("document.querySelector('#player')", "a name is asked for")
            .await;
        self.fill("#player", name).await;
        self.press("Take the seat").await;
        self.sees_table().await;
    }

    /// Goes to an address of the page.
    pub async fn visit(&self, hash: &str) {
        // Another address of the same page does not load it anew.
        self.client.goto("about:blank").await.expect("gone");
        let address = format!("{}/{hash}", self.address);
        self.client.goto(&address).await.expect("gone there");
    }

    /// Waits for the table with its units.
    pub async fn sees_table(&self) {
        self.until(
            "document.querySelector('[data-place]')",
            "units can be picked",
        )
        .await;
    }

    /// What a script says.
    pub async fn script(&self, script: &str, arguments: Vec<Value>) -> Value {
        let said = self.client.execute(script, arguments).await;
        said.unwrap_or_else(|error| panic!("{script}: {error}"))
    }

    /// Waits until an expression holds.
    pub async fn until(&self, holds: &str, what: &str) {
        let began = Instant::now();
        let script = format!("return Boolean({holds});");
        while self.script(&script, vec![]).await != json!(true) {
            if began.elapsed() > PATIENCE {
                let seen = self.script("return document.body.innerText;", vec![]).await;
                panic!("{what}: not within {PATIENCE:?}; seen: {seen}");
            }
            tokio::time::sleep(LOOK).await;
        }
    }

    /// Waits until a text is seen in a part of the page.
    pub async fn reads(&self, css: &str, words: &str) {
        let holds = format!(
            "[...document.querySelectorAll({})].some((part) => part.textContent.includes({}))",
            json!(css),
            json!(words)
        );
        self.until(&holds, &format!("{css} says {words:?}")).await;
    }

    /// The sheet as it is written in the page.
    pub async fn sheet(&self) -> String {
        let script = "return document.querySelector('#sheet-text').value;";
        let said = self.script(script, vec![]).await;
        said.as_str().unwrap_or_default().to_owned()
    }

    /// Puts a text into a field.
    pub async fn fill(&self, css: &str, words: &str) {
        let field = self.client.find(fantoccini::Locator::Css(css)).await;
        let field = field.expect("a field");
        field.clear().await.expect("emptied");
        field.send_keys(words).await.expect("typed");
    }

    /// Presses the button of that label, as soon as it can be pressed.
    pub async fn press(&self, label: &str) {
        let find = format!(
            "[...document.querySelectorAll('button')].find((one) => one.textContent.startsWith({}) && !one.disabled && one.offsetParent)",
            json!(label)
        );
        self.until(&find, &format!("a button {label:?}")).await;
        self.script(&format!("({find}).click();"), vec![]).await;
    }

    /// Opens a leaf by its name.
    pub async fn open_leaf(&self, name: &str) {
        let script = "const tab = [...document.querySelectorAll('[role=tab]')].find((one) => one.textContent === arguments[0]);
            const away = document.querySelector('.leaves').classList.contains('put-away');
            if (away || tab.getAttribute('aria-selected') !== 'true') tab.click();";
        self.script(script, vec![json!(name)]).await;
    }

    /// Puts the leaf away that lies over the table, where one does.
    pub async fn put_leaf_away(&self) {
        let script = "const leaves = document.querySelector('.leaves');
            if (innerWidth < 900 && !leaves.classList.contains('put-away')) leaves.querySelector('[aria-selected=true]').click();";
        self.script(script, vec![]).await;
        tokio::time::sleep(Duration::from_millis(200)).await;
    }

    /// Picks a unit by a tap on it.
    pub async fn pick(&self, unit: &str) {
        self.put_leaf_away().await;
        let place = format!("[data-place=\"{unit}\"]");
        self.tap(&place).await;
        self.until(
            &format!(
                "document.querySelector({})?.getAttribute('aria-pressed') === 'true'",
                json!(place)
            ),
            &format!("{unit} is picked"),
        )
        .await;
    }

    /// Taps the middle of a part of the page.
    pub async fn tap(&self, css: &str) {
        let (x, y) = self.middle(css).await;
        self.pointer(&[(x, y)]).await;
    }

    /// Drags a handle so many millimetres of table east and north.
    pub async fn drag(&self, handle: &str, east_mm: f64, north_mm: f64) {
        self.put_leaf_away().await;
        let grip = format!("[data-handle=\"{handle}\"]");
        // Handles are laid at the frame after a unit is picked.
        tokio::time::sleep(LOOK * 2).await;
        self.until(
            &format!("document.querySelector({})", json!(grip)),
            "handles",
        )
        .await;
        let (x, y) = self.middle(&grip).await;
        let script = "return document.querySelector('table-view').mmOfPixel;";
        let mm = self
            .script(script, vec![])
            .await
            .as_f64()
            .expect("a number");
        let path: Vec<(f64, f64)> = (0..=STEPS)
            .map(|step| {
                let share = f64::from(step) / f64::from(STEPS) / mm;
                (x + east_mm * share, y - north_mm * share)
            })
            .collect();
        self.pointer(&path).await;
    }

    async fn middle(&self, css: &str) -> (f64, f64) {
        let script = "const box = document.querySelector(arguments[0]).getBoundingClientRect();
            return [box.x + box.width / 2, box.y + box.height / 2];";
        let at = self.script(script, vec![json!(css)]).await;
        let part = |which: usize| at[which].as_f64().expect("a number");
        (part(0), part(1))
    }

    /// Mouse or finger goes down, along a path and up.
    async fn pointer(&self, path: &[(f64, f64)]) {
        let mut moves = vec![];
        for (step, &(x, y)) in path.iter().enumerate() {
            let duration = Some(if step == 0 { Duration::ZERO } else { STEP });
            moves.push(PointerAction::MoveTo { duration, x, y });
            if step == 0 {
                moves.push(PointerAction::Down {
                    button: MOUSE_BUTTON_LEFT,
                });
            }
        }
        moves.push(PointerAction::Pause { duration: STEP * 4 });
        moves.push(PointerAction::Up {
            button: MOUSE_BUTTON_LEFT,
        });
        let actions = match self.device {
            Device::Desk => Actions::from(
                moves
                    .into_iter()
                    .fold(MouseActions::new("mouse".to_owned()), InputSource::then),
            ),
            Device::Phone => Actions::from(
                moves
                    .into_iter()
                    .fold(TouchActions::new("finger".to_owned()), InputSource::then),
            ),
        };
        self.client.perform_actions(actions).await.expect("done");
    }

    /// Waits until the referee has judged the sheet so.
    pub async fn is_judged(&self, order: usize, ruling: &str) {
        let holds = format!(
            "document.querySelectorAll('.orders > li')[{order}]?.dataset.ruling === {}",
            json!(ruling)
        );
        self.until(&holds, &format!("order {order} is {ruling}"))
            .await;
    }

    /// Presses the button that posts, as soon as it can be pressed.
    pub async fn press_post(&self) {
        self.open_leaf("Sheet").await;
        let post = "document.querySelector('.post .main:not(:disabled)')";
        self.until(post, "the sheet can be posted").await;
        self.script(&format!("{post}.click();"), vec![]).await;
    }

    /// Posts the sheet and goes through the story of what came of it.
    pub async fn post(&self) {
        self.press_post().await;
        self.until(
            "!document.querySelector('.telling').hidden",
            "the answer is told",
        )
        .await;
        self.press("To the table").await;
        self.put_leaf_away().await;
    }

    /// Waits for the other side, and for what they did to be told.
    pub async fn awaits_turn(&self) {
        let is_told = "!document.querySelector('.telling').hidden";
        self.until(is_told, "the other side's move is told").await;
        self.press("To the table").await;
        self.reads(".headline .turn", "Your turn").await;
    }
}
