//! A browser, as far as a server sees one: a cookie, and where its page comes from.

use serde_json::{Value, json};

use crate::host::{Answer, Ask, Host, text};

/// A browser, as far as a server sees one.
pub struct Browser<'h> {
    pub host: &'h Host,
    pub cookie: String,
}

pub fn origin(host: &Host) -> String {
    format!("http://{}", host.address)
}

/// The cookie that an answer gives.
pub fn given(answer: &Answer) -> String {
    let set = answer.header("set-cookie");
    set.split(';').next().unwrap_or_default().to_owned()
}

/// Comes in; the answer.
pub fn come_in(host: &Host, cookie: &str, body: &Value) -> Answer {
    let ask = host
        .ask("POST", "/v1/session")
        .header("origin", &origin(host))
        .header("idempotency-key", "come-in")
        .json(body);
    let ask = if cookie.is_empty() {
        ask
    } else {
        ask.header("cookie", cookie)
    };
    ask.send()
}

pub fn by_invitation(opened: &Value, place: usize, player: &str) -> Value {
    let invitation = &opened["invitations"][place]["invitation"];
    json!({"by": "invitation", "invitation": invitation, "player": player, "device": "A desk"})
}

impl<'h> Browser<'h> {
    /// One that has come in; and the session.
    pub fn come(host: &'h Host, cookie: &str, body: &Value) -> (Self, Value) {
        let answer = come_in(host, cookie, body);
        let session = answer.expect(201);
        let cookie = given(&answer);
        (Self { host, cookie }, session)
    }

    /// One that takes a seat of a game that has just been opened; with the key's id, and the game's.
    pub fn seated(host: &'h Host) -> (Self, String, String) {
        let opened = host.open(&json!({"shipped": "withy-bridge", "open_to_all": false}));
        let (browser, session) = Self::come(host, "", &by_invitation(&opened, 0, "Ash"));
        let game = text(&opened["game"]["id"]);
        (browser, text(&session["entered"]), game)
    }

    pub fn ask(&self, method: &str, path: &str) -> Ask {
        let ask = self.host.ask(method, path).header("cookie", &self.cookie);
        match method {
            "GET" | "HEAD" => ask,
            _ => ask.header("origin", &origin(self.host)),
        }
    }

    pub fn with(&self, key: &str, method: &str, path: &str) -> Ask {
        self.ask(method, path).header("fieldpost-key", key)
    }

    pub fn is_in(&self) -> bool {
        let answer = self.ask("GET", "/v1/session").send();
        match answer.status {
            200 => true,
            401 => {
                answer.problem(401, "wrong-session");
                false
            }
            status => panic!("{status}: {answer:?}"),
        }
    }
}
