//! Sessions of browsers: coming in, another device, ending; and whoever tries to use somebody else's.

use std::io::{BufRead, BufReader};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::browser::{Browser, by_invitation, come_in, given, origin};
use crate::host::{Ask, Host, sheet, text};

#[test]
fn an_invitation_gives_a_seat_and_a_cookie_and_no_key() {
    let host = Host::start();
    let opened = host.open(&json!({"shipped": "withy-bridge", "open_to_all": false}));
    let body = by_invitation(&opened, 0, " Ash ");
    let answer = come_in(&host, "", &body);
    let session = answer.expect(201);
    let set = answer.header("set-cookie");
    for part in ["fieldpost=", "; HttpOnly", "; SameSite=Strict", "; Path=/"] {
        assert!(set.contains(part), "{set}");
    }
    assert_eq!(answer.header("cache-control"), "no-store");
    let key = text(&session["entered"]);
    let game = text(&opened["game"]["id"]);
    let own = &session["keys"][0];
    assert_eq!(own["id"], key);
    assert_eq!(
        (&own["game"], &own["side"], &own["player"]),
        (&json!(game), &json!("red"), &json!("Ash"))
    );
    assert_eq!(
        (&session["own"], &session["device"]),
        (&json!(true), &json!("A desk"))
    );
    // The key's secret is nobody's: what looks like a key is the cookie's alone.
    assert!(!answer.text.contains('.') || !answer.text.contains(&format!("{key}.")));
    let browser = Browser {
        host: &host,
        cookie: given(&answer),
    };
    let table = format!("/v1/games/{game}/table");
    let read = browser.with(&key, "GET", &table).send();
    assert_eq!(read.expect(200)["own"]["side"], "red");
    let head = text(&read.expect(200)["head"]["hash"]);
    let posted = browser
        .with(&key, "POST", &format!("/v1/games/{game}/sheets"))
        .header("if-match", &format!("\"{head}\""))
        .header("idempotency-key", "first")
        .json(&json!({"sheet": sheet(1, "red", json!([])), "number": "5a".repeat(32)}));
    posted.clone().send().expect(201);
    let again = posted.send();
    assert_eq!(again.header("idempotency-replayed"), "true");
    // The answer was lost: the same again is a session for the same seat.
    let (second, other) = Browser::come(&host, "", &body);
    assert_eq!(other["entered"], key);
    assert!(second.is_in() && browser.is_in());
    let ask = host
        .ask("POST", "/v1/session")
        .header("origin", &origin(&host));
    ask.json(&body).send().problem(400, "no-idempotency-key");
    // Its games, in one answer.
    let games = browser.ask("GET", "/v1/session/games").send().expect(200);
    assert_eq!(games["games"][0]["key"], key);
    assert_eq!(games["games"][0]["game"]["id"], game);
    assert_eq!(games["games"][0]["clock"], Value::Null);
}

#[test]
fn a_key_starts_a_session_that_shows_neither_it_nor_another() {
    let host = Host::start();
    let battle = host.battle();
    let ask = |key: &str| {
        host.ask("POST", "/v1/session")
            .header("origin", &origin(&host))
            .key(key)
            .json(&json!({"by": "key"}))
            .send()
    };
    let answer = ask(&battle.red);
    let session = answer.expect(201);
    let (id, secret) = battle.red.split_once('.').expect("id and secret");
    assert_eq!(session["entered"], id);
    assert!(!answer.text.contains(secret));
    let browser = Browser {
        host: &host,
        cookie: given(&answer),
    };
    let renew = browser
        .with(id, "POST", "/v1/key")
        .header("idempotency-key", "once");
    renew.send().problem(403, "not-allowed");
    let whose = browser.with(id, "GET", "/v1/seat").send().expect(200);
    assert_eq!(whose["side"], "red");
    // A key beside a cookie counts alone.
    let both = browser.with(id, "GET", "/v1/seat").key(&battle.blue).send();
    assert_eq!(both.expect(200)["side"], "blue");
    let mut wrong = battle.red.clone();
    wrong.replace_range(20..24, "0000");
    ask(&wrong).problem(401, "wrong-key");
    let none = host
        .ask("POST", "/v1/session")
        .header("origin", &origin(&host));
    none.json(&json!({"by": "key"}))
        .send()
        .problem(401, "no-key");
    // A session is no key that could start another.
    let again = browser
        .with(id, "POST", "/v1/session")
        .json(&json!({"by": "key"}));
    again.send().problem(401, "no-key");
}

#[test]
fn none_of_its_keys_is_guessed_and_no_other_is_taken() {
    let host = Host::start();
    let (browser, key, game) = Browser::seated(&host);
    let table = format!("/v1/games/{game}/table");
    browser.ask("GET", "/v1/seat").send().problem(401, "no-key");
    browser
        .ask("GET", &table)
        .send()
        .problem(404, "no-such-game");
    let (_, other_key, _) = Browser::seated(&host);
    for foreign in [other_key.as_str(), "0123456789abcdef", "", "key", "a, b"] {
        let ask = browser.with(foreign, "GET", &table);
        ask.send().problem(401, "wrong-session");
    }
    // Named without a cookie, or with one that is none.
    let named = host.ask("GET", &table).header("fieldpost-key", &key);
    named.clone().send().problem(401, "wrong-session");
    let rubbish = named.clone().header("cookie", "fieldpost=rubbish");
    rubbish.send().problem(401, "wrong-session");
    let mut wrong = browser.cookie.clone();
    let end = wrong.len() - 4;
    let last = wrong.split_off(end);
    wrong.push_str(if last == "0000" { "1111" } else { "0000" });
    named
        .clone()
        .header("cookie", &wrong)
        .send()
        .problem(401, "wrong-session");
    let twice = format!("{}; {}", browser.cookie, browser.cookie);
    named
        .header("cookie", &twice)
        .send()
        .problem(400, "bad-request");
    browser.with(&key, "GET", &table).send().expect(200);
}

/// Paths of a route with ids in them that are there.
fn filled(path: &str, game: &str, seat: &str) -> String {
    path.replace("{game}", game)
        .replace("{seat}", seat)
        .replace("{number}", "1")
        .replace("{member}", "0123456789abcdef")
        .replace("{session}", "0123456789abcdef")
        .replace("{key}", "0123456789abcdef")
        .replace("{hash}/{name}", "0123456789abcdef/start.js")
}

/// Every route that may need somebody's word, asked with a cookie from somewhere else: by a form, by a script, in a frame.
#[test]
fn from_another_origin_a_cookie_does_nothing_on_any_route() {
    let host = Host::start();
    let (browser, key, game) = Browser::seated(&host);
    let seat = text(&browser.with(&key, "GET", "/v1/seat").send().expect(200)["seat"]);
    let own = |path: &str| browser.with(&key, "GET", path).send().expect(200);
    let card = format!("/v1/games/{game}");
    let before = (own(&card), own(&format!("{card}/notices")), own("/v1/seat"));
    let routes = host.get("/openapi.json").expect(200);
    let mut tried = 0;
    for (path, operations) in routes["paths"].as_object().expect("paths") {
        for (method, operation) in operations.as_object().expect("operations") {
            // Those that look at nobody's word do not look at a cookie either.
            if operation["security"] == json!([]) {
                continue;
            }
            tried += 1;
            let (method, path) = (method.to_ascii_uppercase(), filled(path, &game, &seat));
            let bodies = [
                ("application/json", "{}"),
                ("text/plain", "red-1: forward 1 cm"),
                ("application/x-www-form-urlencoded", "a=b"),
            ];
            for (media_type, body) in bodies {
                let ask = |from: &[(&str, &str)]| {
                    let ask = host.ask(&method, &path).header("cookie", &browser.cookie);
                    let ask = match method.as_str() {
                        "GET" => ask,
                        _ => ask
                            .header("if-match", &format!("\"{}\"", "0".repeat(64)))
                            .header("idempotency-key", "foreign")
                            .body(media_type, body.as_bytes().to_vec()),
                    };
                    from.iter()
                        .fold(ask, |ask, (name, value)| ask.header(name, value))
                };
                let refused = |from: &[(&str, &str)]| {
                    let answer = ask(from).send();
                    assert_eq!(answer.status, 403, "{method} {path} {from:?}: {answer:?}");
                    answer.problem(403, "wrong-origin");
                };
                let named = ("fieldpost-key", key.as_str());
                let site = origin(&host);
                refused(&[named, ("sec-fetch-site", "cross-site"), ("origin", &site)]);
                refused(&[named, ("sec-fetch-site", "same-site"), ("origin", &site)]);
                if method != "GET" {
                    for foreign in ["https://evil.example", "null", "http://127.0.0.1:1", ""] {
                        refused(&[named, ("origin", foreign)]);
                    }
                    // Absent, as some send it.
                    refused(&[named]);
                    // A form names no key: it is nobody's word.
                    let form = ask(&[("origin", "https://evil.example")]).send();
                    assert!(
                        form.status >= 400 || is_open(&path),
                        "{method} {path}: {form:?}"
                    );
                }
            }
        }
    }
    assert!(tried > 40, "{tried} routes");
    assert_eq!(
        before,
        (own(&card), own(&format!("{card}/notices")), own("/v1/seat"))
    );
    assert!(browser.is_in());
}

/// Routes that answer whoever asks, and change nothing.
fn is_open(path: &str) -> bool {
    ["/check", "/reach", "/measure"]
        .iter()
        .any(|end| path.ends_with(end))
}

/// Somebody has put the cookie of a session of theirs into a browser: whoever comes in there has a fresh one, and the old
/// one opens nothing of theirs.
#[test]
fn a_cookie_that_was_there_before_opens_nothing_afterwards() {
    let host = Host::start();
    let (planted, own_key, _) = Browser::seated(&host);
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let body = by_invitation(&opened, 0, "Birch");
    let (browser, session) = Browser::come(&host, &planted.cookie, &body);
    assert_ne!(browser.cookie, planted.cookie);
    let key = text(&session["entered"]);
    assert_eq!(
        session["keys"].as_array().expect("keys").len(),
        2,
        "those of before are there"
    );
    assert!(!planted.is_in());
    planted
        .with(&key, "GET", "/v1/seat")
        .send()
        .problem(401, "wrong-session");
    planted
        .with(&own_key, "GET", "/v1/seat")
        .send()
        .problem(401, "wrong-session");
    for key in [&key, &own_key] {
        browser.with(key, "GET", "/v1/seat").send().expect(200);
    }
    // One that has ended, or never was, is in nobody's way.
    for old in [planted.cookie.as_str(), "fieldpost=rubbish"] {
        let (fresh, _) = Browser::come(&host, old, &body);
        assert!(fresh.is_in());
    }
    // One of its keys can be let go.
    let path = format!("/v1/session/keys/{own_key}");
    let left = browser.ask("DELETE", &path).send().expect(200);
    assert_eq!(left["keys"].as_array().expect("keys").len(), 1);
    let path = format!("/v1/session/keys/{key}");
    browser
        .ask("DELETE", &path)
        .send()
        .problem(401, "wrong-session");
    assert!(!browser.is_in());
}

#[test]
fn a_session_ends_with_its_seat_its_key_and_its_member() {
    let host = Host::start();
    let organiser = host.organiser();
    let (browser, key, game) = Browser::seated(&host);
    let seats = format!("/v1/games/{game}/seats");
    let seat =
        text(&host.ask("GET", &seats).key(&organiser).send().expect(200)["seats"][0]["seat"]);
    let free = host.ask("DELETE", &format!("{seats}/{seat}/player"));
    free.key(&organiser).send().expect(200);
    browser
        .with(&key, "GET", "/v1/seat")
        .send()
        .problem(401, "wrong-session");
    assert!(!browser.is_in());

    let battle = host.battle();
    let by_key = |key: &str| {
        let answer = host
            .ask("POST", "/v1/session")
            .header("origin", &origin(&host))
            .key(key)
            .json(&json!({"by": "key"}))
            .send();
        answer.expect(201);
        Browser {
            host: &host,
            cookie: given(&answer),
        }
    };
    let renewed = by_key(&battle.red);
    let renew = host.ask("POST", "/v1/key").key(&battle.red);
    renew.header("idempotency-key", "once").send().expect(201);
    assert!(
        !renewed.is_in(),
        "whoever had the old key has no session by it"
    );
    let revoked = by_key(&battle.blue);
    host.ask("DELETE", "/v1/key")
        .key(&battle.blue)
        .send()
        .expect(200);
    assert!(!revoked.is_in());

    let added = host.ask("POST", "/v1/members").key(&organiser);
    let added = added.json(&json!({"name": "Rowan"})).send().expect(201);
    let member = by_key(&text(&added["key"]));
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let id = text(&added["key"])[..16].to_owned();
    let body = by_invitation(&opened, 1, "Rowan");
    let taking = member
        .with(&id, "POST", "/v1/session")
        .header("idempotency-key", "a-seat")
        .json(&body)
        .send();
    taking.expect(201);
    let member = Browser {
        host: &host,
        cookie: given(&taking),
    };
    // The member's key opens the seat as well: a game is listed with each.
    let games = member.ask("GET", "/v1/session/games").send().expect(200);
    assert_eq!(games["games"].as_array().expect("games").len(), 2);
    let remove = host.ask(
        "DELETE",
        &format!("/v1/members/{}", text(&added["member"]["id"])),
    );
    assert_eq!(remove.key(&organiser).send().status, 204);
    assert!(!member.is_in());
}

#[test]
fn another_device_comes_in_by_a_link_that_works_once() {
    let host = Host::start();
    let (browser, key, _) = Browser::seated(&host);
    let give = || browser.ask("POST", "/v1/session/links").send();
    let first = give().expect(201);
    let answer = give();
    let second = answer.expect(201);
    assert_eq!(answer.header("cache-control"), "no-store");
    let secret = text(&second["link"]);
    assert_eq!(
        second["address"],
        format!("{}/#device={secret}", origin(&host))
    );
    assert!(text(&second["qr"]).starts_with("<svg ") && !text(&second["qr"]).contains(&secret));
    let by_link = |link: &Value| json!({"by": "link", "link": link, "device": "A phone"});
    come_in(&host, "", &by_link(&first["link"])).problem(410, "link-expired");
    let (phone, session) = Browser::come(&host, "", &by_link(&second["link"]));
    assert_eq!(session["keys"][0]["id"], key);
    assert_eq!(session["device"], "A phone");
    phone.with(&key, "GET", "/v1/seat").send().expect(200);
    for used in [
        &second["link"],
        &json!("rubbish"),
        &json!(format!("{}0", &secret[..secret.len() - 1])),
    ] {
        come_in(&host, "", &by_link(used)).problem(410, "link-expired");
    }
    // Each device sees both, and ends the other without ending itself.
    let listed = browser.ask("GET", "/v1/sessions").send().expect(200);
    let listed = listed["sessions"].as_array().expect("sessions");
    assert_eq!(listed.len(), 2);
    assert_eq!(
        listed
            .iter()
            .filter(|session| session["own"] == true)
            .count(),
        1
    );
    let other = listed
        .iter()
        .find(|session| session["own"] == false)
        .expect("the phone");
    assert_eq!(other["device"], "A phone");
    let path = format!("/v1/sessions/{}", text(&other["session"]));
    assert_eq!(browser.ask("DELETE", &path).send().status, 204);
    assert!(!phone.is_in() && browser.is_in());
    let unused = give().expect(201);
    assert_eq!(browser.ask("DELETE", "/v1/sessions").send().status, 204);
    assert!(!browser.is_in());
    come_in(&host, "", &by_link(&unused["link"])).problem(410, "link-expired");
}

/// Whoever organises by the page hands over links; the command line makes its own words of the same.
#[test]
fn invitations_that_are_issued_in_a_session_are_links() {
    let host = Host::start();
    let answer = host
        .ask("POST", "/v1/session")
        .header("origin", &origin(&host))
        .key(&host.organiser())
        .json(&json!({"by": "key"}))
        .send();
    let session = answer.expect(201);
    assert_eq!(session["keys"][0]["role"], "organiser");
    let browser = Browser {
        host: &host,
        cookie: given(&answer),
    };
    let key = text(&session["entered"]);
    let open = browser.with(&key, "POST", "/v1/games");
    let opened = open
        .json(&json!({"shipped": "withy-bridge"}))
        .send()
        .expect(201);
    let game = text(&opened["game"]["id"]);
    let issue = |ask: Ask| ask.json(&json!({"side": "red"})).send().expect(201);
    let path = format!("/v1/games/{game}/invitations");
    let by_page = issue(browser.with(&key, "POST", &path));
    let secret = text(&by_page["invitation"]);
    assert_eq!(
        by_page["address"],
        format!("{}/#invitation={secret}", origin(&host))
    );
    assert!(text(&by_page["qr"]).starts_with("<svg "));
    let seats = format!("/v1/games/{game}/seats");
    let umpire = browser
        .with(&key, "POST", &seats)
        .json(&json!({"role": "umpire"}));
    assert!(umpire.send().expect(201)["address"].is_string());
    for invitation in opened["invitations"].as_array().expect("two") {
        assert!(invitation["address"].is_string(), "{invitation}");
    }
    let by_key = issue(host.ask("POST", &path).key(&host.organiser()));
    assert_eq!((by_key.get("address"), by_key.get("qr")), (None, None));
}

/// Whoever has the key sees the sessions that have it too, and nothing else of them.
#[test]
fn the_key_itself_lists_and_ends_sessions_that_hold_it() {
    let host = Host::start();
    let battle = host.battle();
    let (browser, own_key, _) = Browser::seated(&host);
    let answer = host
        .ask("POST", "/v1/session")
        .header("origin", &origin(&host))
        .header("cookie", &browser.cookie)
        .key(&battle.red)
        .json(&json!({"by": "key"}))
        .send();
    assert_eq!(
        answer.expect(201)["keys"].as_array().expect("keys").len(),
        2
    );
    let browser = Browser {
        host: &host,
        cookie: given(&answer),
    };
    let listed = host.ask("GET", "/v1/sessions").key(&battle.red).send();
    assert!(!listed.text.contains(&own_key));
    let listed = listed.expect(200);
    assert_eq!(listed["sessions"].as_array().expect("sessions").len(), 1);
    assert_eq!(listed["sessions"][0]["keys"][0]["id"], battle.red[..16]);
    let none = host
        .ask("GET", "/v1/sessions")
        .key(&battle.blue)
        .send()
        .expect(200);
    assert_eq!(none, json!({"sessions": []}));
    let path = format!("/v1/sessions/{}", text(&listed["sessions"][0]["session"]));
    assert_eq!(
        host.ask("DELETE", &path).key(&battle.blue).send().status,
        204
    );
    assert!(browser.is_in(), "another's key ends nothing");
    assert_eq!(
        host.ask("DELETE", "/v1/sessions")
            .key(&battle.red)
            .send()
            .status,
        204
    );
    browser
        .with(&battle.red[..16], "GET", "/v1/seat")
        .send()
        .problem(401, "wrong-session");
    browser.with(&own_key, "GET", "/v1/seat").send().expect(200);
    host.ask("GET", "/v1/sessions")
        .send()
        .problem(401, "wrong-session");
}

#[test]
fn signing_out_closes_the_stream_and_takes_the_cookie_back() {
    let host = Host::start();
    let (browser, key, game) = Browser::seated(&host);
    let path = format!("/v1/games/{game}/events?after=0");
    let stream = browser.with(&key, "GET", &path).open();
    assert_eq!(stream.status(), 200);
    let mut lines = BufReader::new(stream.into_body().into_reader()).lines();
    lines.next().expect("a line").expect("read");
    let out = browser.ask("DELETE", "/v1/session").send();
    assert_eq!(out.status, 204);
    let set = out.header("set-cookie");
    assert!(
        set.starts_with("fieldpost=; ") && set.contains("Max-Age=0"),
        "{set}"
    );
    let began = Instant::now();
    while let Some(Ok(_)) = lines.next() {}
    assert!(began.elapsed() < Duration::from_secs(12));
    assert!(!browser.is_in());
    // Doing so again is as well.
    assert_eq!(browser.ask("DELETE", "/v1/session").send().status, 204);
}

#[test]
fn no_secret_of_a_session_is_told_twice_or_kept() {
    let host = Host::start();
    let (browser, key, game) = Browser::seated(&host);
    let link = text(&browser.ask("POST", "/v1/session/links").send().expect(201)["link"]);
    for path in [
        "/v1/session",
        "/v1/sessions",
        "/v1/session/games",
        "/v1/seat",
    ] {
        browser.with(&key, "GET", path).send();
    }
    // By mistake, in an address.
    let cookie = browser.cookie.trim_start_matches("fieldpost=").to_owned();
    host.get(&format!("/v1/games/{game}?session={cookie}"));
    host.get(&format!("/{link}"));
    let of = |whole: &str| whole.split_once('.').expect("id and secret").1.to_owned();
    for secret in [of(&cookie), of(&link)] {
        assert!(!host.log.holds(&secret, usize::MAX), "in the log");
        let raw = hex::decode(&secret).expect("hex");
        for (name, bytes) in host.kept() {
            let holds = |part: &[u8]| bytes.windows(part.len()).any(|window| window == part);
            assert!(!holds(secret.as_bytes()) && !holds(&raw), "{name}");
        }
    }
    // The cookie is given at coming in, and again to this browser alone, so that it keeps it for longer.
    assert_eq!(host.answers.count(&of(&cookie)), 2);
    assert_eq!(host.answers.count(&of(&link)), 1);
}

/// The address is known where the server listens on its own machine alone; else it must be set.
#[test]
fn without_an_address_nobody_comes_in_and_with_one_only_from_there() {
    let host = Host::start_with(&["--public-address", "https://games.example"]);
    let opened = host.open(&json!({"shipped": "withy-bridge"}));
    let body = by_invitation(&opened, 0, "Ash");
    come_in(&host, "", &body).problem(403, "wrong-origin");
    let ask = host
        .ask("POST", "/v1/session")
        .header("idempotency-key", "once")
        .json(&body);
    ask.clone().send().problem(403, "wrong-origin");
    let answer = ask.header("origin", "https://games.example").send();
    answer.expect(201);
    // A host that says https to the world is behind somebody who speaks TLS.
    let set = answer.header("set-cookie");
    assert!(
        set.starts_with("__Host-fieldpost=") && set.ends_with("; Secure"),
        "{set}"
    );
}
