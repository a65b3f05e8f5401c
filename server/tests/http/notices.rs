//! `/v1/games/{game}/notices` and what comes of it: mails at a real mail server, webhooks at a real receiver.

use fieldpost_tests::receivers::{HookServer, Mail, MailServer};
use mail_parser::{MessageParser, MimeHeaders};
use serde_json::{Value, json};

use crate::host::{Answer, Battle, Host, forward, sheet, text};

const PUBLIC: &str = "https://games.example";

/// A server that sends mails to that mail server, and webhooks anywhere.
fn host(mail: &MailServer) -> Host {
    let server = format!("smtp://{}", mail.address);
    Host::start_with(&[
        "--mail-server",
        &server,
        "--mail-sender",
        "Fieldpost <post@games.example>",
        "--public-address",
        PUBLIC,
        "--webhooks",
        "anywhere",
    ])
}

fn set(host: &Host, battle: &Battle, key: &str, requested: &Value) -> Answer {
    let ask = host.ask("PUT", &battle.path("notices")).key(key);
    ask.json(requested).send()
}

fn shown(host: &Host, battle: &Battle, key: &str) -> Value {
    host.ask("GET", &battle.path("notices"))
        .key(key)
        .send()
        .expect(200)
}

/// A game of a battle whose players go by those names.
fn battle_between(host: &Host, opening: &Value, red: &str, blue: &str) -> Battle {
    let ask = host.ask("POST", "/v1/games").key(&host.organiser());
    let opened = ask.json(opening).send().expect(201);
    let take = |side: usize, player: &str| {
        let invitation = text(&opened["invitations"][side]["invitation"]);
        let ask = host.ask("POST", "/v1/seats");
        let taken = ask
            .json(&json!({"invitation": invitation, "player": player}))
            .send();
        text(&taken.expect(201)["key"])
    };
    Battle {
        game: text(&opened["game"]["id"]),
        red: take(0, red),
        blue: take(1, blue),
    }
}

fn parsed(mail: &Mail) -> mail_parser::Message<'_> {
    MessageParser::default()
        .parse(mail.text.as_bytes())
        .expect("a mail")
}

/// The link of the button in a mail program (RFC 8058), as a path on the server.
fn stop_path(mail: &Mail) -> String {
    let mail = parsed(mail);
    let link = mail
        .header_raw("List-Unsubscribe")
        .expect("the header")
        .trim()
        .to_owned();
    let link = link.trim_start_matches('<').trim_end_matches('>');
    link.strip_prefix(PUBLIC)
        .expect("the public address")
        .to_owned()
}

#[test]
fn a_mail_holds_the_news_the_picture_and_how_to_answer() {
    let server = MailServer::start(|_| "");
    let host = host(&server);
    let shipped = json!({"shipped": "withy-bridge"});
    let battle = battle_between(
        &host,
        &shipped,
        "Ash",
        "<b>Birch</b> & \"Co\", <x@example.org>",
    );
    let own = set(
        &host,
        &battle,
        &battle.blue,
        &json!({"mail": "birch@example.org"}),
    )
    .expect(200);
    assert_eq!(own["mail"]["address"], "birch@example.org");
    server.mails.wait_for(1);
    let orders = json!([forward("red-2", 20.0)]);
    let posted = host
        .post(&battle, &battle.red, &sheet(1, "red", orders))
        .expect(201);
    let mails = server.mails.wait_for(2);
    for mail in &mails {
        assert_eq!(
            (mail.from.as_str(), &mail.to[..]),
            ("post@games.example", &["birch@example.org".to_owned()][..])
        );
    }
    let (welcome, turn) = (parsed(&mails[0]), parsed(&mails[1]));
    let to = turn.to().and_then(|to| to.first()).expect("whom it is to");
    assert_eq!(to.address(), Some("birch@example.org"));
    assert_eq!(to.name(), Some("<b>Birch</b> & \"Co\", <x@example.org>"));
    assert_eq!(turn.to().map(|to| to.iter().count()), Some(1));
    assert_eq!(
        turn.from().and_then(|from| from.first()?.address()),
        Some("post@games.example")
    );
    let subject = turn.subject().expect("a subject");
    assert!(
        subject.contains("Your turn") && subject.contains("game turn 1"),
        "{subject}"
    );
    assert_eq!(
        turn.header_raw("Auto-Submitted").map(str::trim),
        Some("auto-generated")
    );
    assert_eq!(
        turn.header_raw("List-Unsubscribe-Post").map(str::trim),
        Some("List-Unsubscribe=One-Click")
    );

    // The mails of one game hang together, and each is its own.
    let root = format!("{}@games.example", battle.game);
    for mail in [&welcome, &turn] {
        assert_eq!(mail.references().as_text(), Some(root.as_str()));
        assert_eq!(mail.in_reply_to().as_text(), Some(root.as_str()));
        assert!(
            mail.message_id()
                .is_some_and(|id| id.ends_with("@games.example"))
        );
    }
    assert_ne!(welcome.message_id(), turn.message_id());

    let words = turn.body_text(0).expect("text").replace("\r\n", "\n");
    for item in posted["news"].as_array().expect("news") {
        let told = text(&item["words"]);
        assert!(words.contains(told.trim_end()), "{told}\n---\n{words}");
    }
    for needed in [
        "It is your turn to post",
        "fieldpost post",
        &battle.game,
        PUBLIC,
        "fieldpost notices stop",
        "/v1/notices/stop/",
    ] {
        assert!(words.contains(needed), "{needed}: {words}");
    }
    let page = turn.body_html(0).expect("HTML");
    assert!(
        page.contains("&lt;b&gt;Birch&lt;/b&gt; &amp; &quot;Co&quot;"),
        "{page}"
    );
    assert!(!page.contains("<b>") && !page.contains("<x@"), "{page}");
    let picture = turn.attachment(0).expect("a picture");
    assert_eq!(picture.attachment_name(), Some("table.png"));
    assert_eq!(picture.content_id(), Some("table.png"));
    assert!(picture.contents().starts_with(b"\x89PNG"));
    let of_welcome = welcome.attachment(0).expect("a picture").contents();
    assert_ne!(picture.contents(), of_welcome, "something has moved");
    assert!(page.contains("src=\"cid:table.png\""), "{page}");
    let table = host
        .ask("GET", &battle.path("table.txt?width=72"))
        .key(&battle.blue)
        .send()
        .text;
    assert!(words.contains(table.trim_end()), "{table}\n---\n{words}");
}

#[test]
fn a_name_adds_no_header_and_no_recipient() {
    let server = MailServer::start(|_| "");
    let host = host(&server);
    let shipped = json!({"shipped": "withy-bridge"});
    let player = "Ash\" <victim@example.org>, \"";
    let battle = battle_between(&host, &shipped, player, "=?utf-8?q?Birch?=");
    for bad in [
        "ash@example.org\r\nBcc: victim@example.org",
        "ash@example.org>, <victim@example.org",
    ] {
        set(&host, &battle, &battle.red, &json!({"mail": bad})).problem(422, "bad-address");
    }
    for (key, mail) in [
        (&battle.red, "ash@example.org"),
        (&battle.blue, "birch@example.org"),
    ] {
        set(&host, &battle, key, &json!({"mail": mail})).expect(200);
    }
    for mail in server.mails.wait_for(2) {
        assert_eq!(mail.to.len(), 1);
        assert_ne!(mail.to[0], "victim@example.org");
        let message = parsed(&mail);
        assert!(
            message.bcc().is_none() && message.cc().is_none(),
            "{}",
            mail.text
        );
        let to: Vec<_> = message.to().expect("whom").iter().collect();
        assert_eq!(to.len(), 1, "{}", mail.text);
        assert_eq!(to[0].address(), Some(mail.to[0].as_str()));
        let name = to[0].name().expect("a name");
        assert!(name == player || name == "=?utf-8?q?Birch?=", "{name}");
    }
}

#[test]
fn one_click_stops_the_mails_and_a_look_does_not() {
    let server = MailServer::start(|_| "");
    let host = host(&server);
    let battle = host.battle();
    set(
        &host,
        &battle,
        &battle.blue,
        &json!({"mail": "birch@example.org"}),
    )
    .expect(200);
    let path = stop_path(&server.mails.wait_for(1)[0]);
    // Programs look at links; and who guesses gets nowhere.
    let page = host.get(&path);
    assert_eq!(
        (page.status, page.header("content-type")),
        (200, "text/html; charset=utf-8")
    );
    assert!(
        page.text.contains("<form method=\"post\">") && !page.text.contains("birch@"),
        "{}",
        page.text
    );
    let (start, proof) = path.rsplit_once('.').expect("a proof");
    for guess in [
        format!("{start}.{}", "0".repeat(64)),
        start.to_owned(),
        "/v1/notices/stop/x".to_owned(),
        format!("{}.1.welcome.{proof}", &start[..start.len() - 10]),
    ] {
        let answer = host.ask("POST", &guess).send();
        assert_eq!(
            answer.status, 200,
            "it tells nobody whether there is such a link"
        );
    }
    assert_eq!(
        shown(&host, &battle, &battle.blue)["mail"]["address"],
        "birch@example.org"
    );
    let click = host.ask("POST", &path).body(
        "application/x-www-form-urlencoded",
        b"List-Unsubscribe=One-Click".to_vec(),
    );
    assert_eq!(click.clone().send().status, 200);
    assert_eq!(shown(&host, &battle, &battle.blue)["mail"], Value::Null);
    assert_eq!(click.send().status, 200, "again changes nothing");
    assert!(!host.get(&path).text.contains("<form"));
    // The next address has links of its own.
    set(
        &host,
        &battle,
        &battle.blue,
        &json!({"mail": "birch@example.org"}),
    )
    .expect(200);
    let again = stop_path(&server.mails.wait_for(2)[1]);
    assert_ne!(again, path);
    host.ask("POST", &path).send();
    assert_eq!(
        shown(&host, &battle, &battle.blue)["mail"]["address"],
        "birch@example.org"
    );
    assert!(
        !host.log.holds(proof, usize::MAX),
        "who reads the log stops nobody's mails"
    );
}

#[test]
fn an_address_is_its_own_seats_to_know() {
    let server = MailServer::start(|to| match to {
        "secret-birch@example.org" => "550 5.1.1 <secret-birch@example.org>: no such person",
        _ => "",
    });
    let receiver = HookServer::start(|_, _| "500 Internal Server Error".to_owned());
    let host = host(&server);
    let battle = host.battle();
    let url = format!("http://localhost:{}/secret-path", receiver.address.port());
    let requested = json!({"mail": "secret-birch@example.org", "webhook": url});
    let own = set(&host, &battle, &battle.blue, &requested).expect(200);
    let secret = text(&own["webhook"]["secret"]);
    assert!(secret.starts_with("whsec_"));
    assert!(
        !host
            .ask("GET", &battle.path("notices"))
            .key(&battle.blue)
            .send()
            .text
            .contains("whsec_"),
        "shown once"
    );
    receiver.hooks.wait_for(1);
    let organiser = host.organiser();
    let dead = || host.ask("GET", "/v1/notices/dead").key(&organiser).send();
    let listed =
        awaited(|| Some(dead().expect(200)).filter(|dead| dead["notices"][0] != Value::Null));
    let notice = &listed["notices"][0];
    assert_eq!(
        (&notice["side"], &notice["player"], &notice["way"]),
        (&json!("blue"), &json!("Birch"), &json!("mail"))
    );
    assert_eq!(notice["trouble"], "The mail server answered 550.");
    awaited(|| {
        shown(&host, &battle, &battle.blue)["mail"]["trouble"]
            .as_str()
            .map(str::to_owned)
    });

    let mut answers = vec![dead()];
    for key in [Some(battle.red.clone()), Some(organiser.clone()), None] {
        for path in [
            "",
            "table",
            "table.svg",
            "table.txt",
            "news",
            "record",
            "events/3",
            "notices",
            "instructions",
        ] {
            let ask = host.ask("GET", battle.path(path).trim_end_matches('/'));
            answers.push(key.iter().fold(ask, |ask, key| ask.key(key)).send());
        }
        let ask = host
            .ask("PUT", &battle.path("notices"))
            .json(&json!({"mail": null}));
        answers.push(key.iter().fold(ask, |ask, key| ask.key(key)).send());
    }
    answers.push(host.get("/v1/games"));
    for answer in &answers {
        for hidden in ["secret-birch", "secret-path", secret.as_str()] {
            assert!(!answer.text.contains(hidden), "{hidden}: {answer:?}");
        }
    }
    for hidden in ["secret-birch", "secret-path", secret.as_str()] {
        assert!(
            !host.log.holds(hidden, usize::MAX),
            "{hidden} is in the log"
        );
    }
    let own = shown(&host, &battle, &battle.blue);
    assert_eq!(
        own["mail"]["address"], "secret-birch@example.org",
        "others changed nothing"
    );

    // The organiser may have it tried again, without knowing where it goes.
    let again = host
        .ask("POST", "/v1/notices/dead/again")
        .json(&json!({"ids": [notice["id"]]}));
    again.clone().send().problem(401, "no-key");
    again
        .clone()
        .key(&battle.blue)
        .send()
        .problem(403, "not-allowed");
    assert_eq!(again.key(&organiser).send().expect(200)["again"], 1);
}

fn awaited<T>(mut look: impl FnMut() -> Option<T>) -> T {
    for _ in 0..1500 {
        if let Some(found) = look() {
            return found;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    panic!("it does not come");
}

#[test]
fn addresses_that_cannot_be_are_refused() {
    let server = MailServer::start(|_| "");
    let mailing = host(&server);
    let battle = mailing.battle();
    for mail in [
        "",
        "ash",
        "ash@localhost",
        "ash@[127.0.0.1]",
        "Ash <ash@example.org>",
    ] {
        let problem =
            set(&mailing, &battle, &battle.red, &json!({"mail": mail})).problem(422, "bad-address");
        assert_eq!(problem["pointer"], "/mail");
    }
    set(
        &mailing,
        &battle,
        &battle.red,
        &json!({"male": "ash@example.org"}),
    )
    .problem(400, "bad-json");
    set(
        &mailing,
        &battle,
        &battle.red,
        &json!({"topics": ["weather"]}),
    )
    .problem(400, "bad-json");
    let path = battle.path("notices");
    mailing.get(&path).problem(401, "no-key");
    mailing
        .ask("GET", &path)
        .key(&mailing.organiser())
        .send()
        .problem(403, "not-allowed");
    // Somebody else's mailbox is not flooded from here.
    for place in 0..5 {
        let mail = format!("ash-{place}@example.org");
        set(&mailing, &battle, &battle.red, &json!({"mail": mail})).expect(200);
    }
    set(
        &mailing,
        &battle,
        &battle.red,
        &json!({"mail": "ash-9@example.org"}),
    )
    .problem(429, "too-many-addresses");
    set(
        &mailing,
        &battle,
        &battle.red,
        &json!({"mail": "ash-4@example.org", "topics": ["turns"]}),
    )
    .expect(200);

    // A server as it comes sends no mail, and webhooks to public addresses only.
    let usual = Host::start();
    let battle = usual.battle();
    assert_eq!(
        shown(&usual, &battle, &battle.red)["ways"],
        json!(["webhook"])
    );
    set(
        &usual,
        &battle,
        &battle.red,
        &json!({"mail": "ash@example.org"}),
    )
    .problem(409, "not-sent-here");
    for webhook in [
        "http://hooks.example",
        "https://127.0.0.1/",
        "https://10.1.2.3",
        "https://[::1]",
        "https://[::ffff:169.254.169.254]",
        "https://2130706433/",
        "https://ash:pw@hooks.example",
        "file:///etc/passwd",
        "hooks.example",
        "",
    ] {
        let problem = set(&usual, &battle, &battle.red, &json!({"webhook": webhook}))
            .problem(422, "bad-address");
        assert_eq!(problem["pointer"], "/webhook");
    }
    let none = Host::start_with(&["--webhooks", "off"]);
    let battle = none.battle();
    set(
        &none,
        &battle,
        &battle.red,
        &json!({"webhook": "https://hooks.example"}),
    )
    .problem(409, "not-sent-here");
}

#[test]
fn the_last_seat_taken_opens_the_game_for_those_who_wait() {
    let receiver = HookServer::start(|_, _| "204 No Content".to_owned());
    let server = MailServer::start(|_| "");
    let host = host(&server);
    let ask = host.ask("POST", "/v1/games").key(&host.organiser());
    let opened = ask
        .json(&json!({"shipped": "withy-bridge"}))
        .send()
        .expect(201);
    let take = |side: usize| {
        let invitation = text(&opened["invitations"][side]["invitation"]);
        let ask = host
            .ask("POST", "/v1/seats")
            .json(&json!({"invitation": invitation, "player": "Somebody"}));
        text(&ask.send().expect(201)["key"])
    };
    let path = format!("/v1/games/{}/notices", text(&opened["game"]["id"]));
    let webhook = json!({"webhook": format!("http://{}/", receiver.address), "topics": ["game"]});
    host.ask("PUT", &path)
        .key(&take(0))
        .json(&webhook)
        .send()
        .expect(200);
    receiver.hooks.wait_for(1);
    take(1);
    let told: Value = serde_json::from_slice(&receiver.hooks.wait_for(2)[1].body).expect("JSON");
    assert_eq!(told["type"], "game.opened");
    assert_eq!(told["data"]["side"], "red");
    assert_eq!(told["data"]["to_move"], "red");
}
