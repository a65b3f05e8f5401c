//! Notices through both programs: asked for and answered by the client, carried by the server to a mail server
//! and a webhook's receiver.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use fieldpost_tests::receivers::{Hook, HookServer, Mail, MailServer};
use hmac::{Hmac, KeyInit, Mac};
use mail_parser::{MessageParser, MimeHeaders};
use serde_json::Value;
use sha2::Sha256;

use crate::programs::{Player, Post};

/// A server that sends mail there, and webhooks anywhere.
fn with_mail(mail: &MailServer) -> Post {
    let server = format!("smtp://{}", mail.address);
    Post::start_with(&[
        "--mail-server",
        &server,
        "--mail-sender",
        "Fieldpost <post@games.example>",
        "--public-address",
        "https://games.example",
        "--webhooks",
        "anywhere",
    ])
}

/// A mail to one recipient: its subject, its text, and the picture within it.
fn read(mail: &Mail, recipient: &str) -> (String, String, Vec<u8>) {
    assert_eq!(mail.to, [recipient]);
    let parsed = MessageParser::default()
        .parse(mail.text.as_bytes())
        .expect("a mail");
    let picture = parsed.attachments().next().expect("an attachment");
    assert_eq!(picture.attachment_name(), Some("table.png"));
    assert_eq!(picture.content_id(), Some("table.png"));
    let page = parsed.body_html(0).expect("HTML");
    assert!(page.contains("src=\"cid:table.png\""), "{page}");
    (
        parsed.subject().expect("a subject").to_owned(),
        parsed.body_text(0).expect("text").into_owned(),
        picture.contents().to_vec(),
    )
}

/// What a webhook holds, if it is signed with that secret (Standard Webhooks specification 1.0.0).
fn verified(hook: &Hook, secret: &str) -> Value {
    let secret = secret.trim().strip_prefix("whsec_").expect("its prefix");
    let secret = STANDARD.decode(secret).expect("base64");
    let mut mac = Hmac::<Sha256>::new_from_slice(&secret).expect("any length");
    let head = [hook.header("webhook-id"), hook.header("webhook-timestamp")];
    mac.update(format!("{}.{}.", head[0], head[1]).as_bytes());
    mac.update(&hook.body);
    let signed = hook.header("webhook-signature");
    let signature = signed.strip_prefix("v1,").expect("its version");
    let signature = STANDARD.decode(signature).expect("base64");
    mac.verify_slice(&signature).expect("signed by the server");
    serde_json::from_slice(&hook.body).expect("json")
}

/// The commands that a mail tells its reader to type.
fn commands(text: &str) -> Vec<Vec<&str>> {
    let lines = text
        .lines()
        .filter_map(|line| line.strip_prefix("  fieldpost "));
    lines
        .map(|line| {
            let (typed, _) = line.split_once("  ").expect("and what it does");
            typed.split(' ').collect()
        })
        .collect()
}

fn words_of_the_last_turn(player: &Player) -> Vec<String> {
    let news = player.ok(&["news", "--all", "--json"]);
    let news: Value = serde_json::from_str(&news).expect("json");
    let items = news["news"].as_array().expect("news");
    let accepted = items
        .iter()
        .rposition(|item| item["event"] == "sheet-accepted")
        .expect("a turn");
    let words = items[accepted..].iter();
    words
        .map(|item| item["words"].as_str().expect("words").trim().to_owned())
        .filter(|words| !words.is_empty())
        .collect()
}

#[test]
fn a_turn_is_told_by_mail_and_webhook_and_answered_as_the_mail_says() {
    let (mail, hooks) = (
        MailServer::start(|_| ""),
        HookServer::start(|_, _| "204 No Content".to_owned()),
    );
    let post = with_mail(&mail);
    let [red, blue] = post.open_battle("withy-bridge", ["red", "blue"]);
    let secret = blue.folder().join("hook.secret");
    let url = format!("http://{}/blue", hooks.address);
    let set = ["notices", "set", "--mail", "birch@example.org"];
    let secret_file = secret.display().to_string();
    let webhook = ["--webhook", &url, "--secret-file", &secret_file];
    let shown = blue.ok(&[&set[..], &webhook[..]].concat());
    assert!(
        shown.contains("birch@example.org") && !shown.contains("whsec_"),
        "{shown}"
    );
    let secret = std::fs::read_to_string(secret).expect("written by the client");
    let (subject, ..) = read(&mail.mails.wait_for(1)[0], "birch@example.org");
    assert!(
        subject.contains("You will hear of this game here"),
        "{subject}"
    );
    assert_eq!(
        verified(&hooks.hooks.wait_for(1)[0], &secret)["type"],
        "notices.welcome"
    );

    let sheet = red.write("red.txt", "red-1: forward 40 mm\n");
    red.ok(&["post", &sheet]);
    let told = &hooks.hooks.wait_for(2)[1];
    assert_eq!(told.path, "/blue");
    let told = verified(told, &secret);
    assert_eq!(told["type"], "game.your_turn");
    assert_eq!(told["data"]["side"], "blue");
    assert_eq!(told["data"]["to_move"], "blue");
    let (subject, text, picture) = read(&mail.mails.wait_for(2)[1], "birch@example.org");
    assert!(subject.contains("Your turn: game turn 1"), "{subject}");
    assert!(picture.starts_with(b"\x89PNG"), "{picture:?}");
    // The table is there for those who see no pictures.
    let table = blue.ok(&["table", "--width", "72"]);
    let rows: Vec<&str> = table.lines().filter(|row| row.contains('│')).collect();
    assert!(rows.len() > 10, "{table}");
    for row in rows {
        assert!(text.contains(row.trim_end()), "{row:?} is not in {text}");
    }
    let news = words_of_the_last_turn(&blue);
    assert!(news.iter().any(|words| words.contains("40")), "{news:?}");
    // The same words by every way.
    let text = text.replace("\r\n", "\n");
    for words in &news {
        assert!(text.contains(words.as_str()), "{words:?} is not in {text}");
        let is_told = |item: &Value| {
            item["words"]
                .as_str()
                .is_some_and(|told| told.trim() == words)
        };
        let told = told["data"]["news"].as_array().expect("news");
        assert!(told.iter().any(is_told), "{words:?} is not in {told:?}");
    }

    // What it says to type does what it says.
    blue.write("orders.txt", "blue-1: forward 20 mm\n");
    let commands = commands(&text);
    assert_eq!(commands.last().map(|typed| typed[0]), Some("post"));
    for typed in commands {
        blue.ok(&typed);
    }
    let table: Value = serde_json::from_str(&red.ok(&["table", "--json"])).expect("json");
    assert_eq!(table["to_move"], "red");
    assert!(blue.ok(&["notices", "stop"]).contains("webhook  none"));
    let sheet = red.write("red.txt", "red-1: forward 10 mm\n");
    red.ok(&["notices", "set", "--mail", "ash@example.org"]);
    red.ok(&["post", &sheet]);
    red.ok(&["dispute", "Was it not too far?"]);
    let sheet = blue.write("orders.txt", "blue-1: forward 10 mm\n");
    blue.ok(&["post", &sheet]);
    let (subject, ..) = read(&mail.mails.wait_for(4)[3], "ash@example.org");
    assert!(subject.contains("Your turn: game turn 3"), "{subject}");
    assert_eq!(hooks.hooks.now().len(), 2, "blue wants to hear no more");
}

#[test]
fn an_umpire_is_told_of_a_dispute_and_the_players_of_the_ruling() {
    let (mail, hooks) = (
        MailServer::start(|_| ""),
        HookServer::start(|_, _| "204 No Content".to_owned()),
    );
    let post = with_mail(&mail);
    let (organiser, [red, blue]) = post.open_battle_with("withy-bridge", &[], ["red", "blue"]);
    let invitation = organiser.folder().join("umpire.txt").display().to_string();
    organiser.ok(&["seating", "add", "--umpire", "--out", &invitation]);
    let umpire = Player::new("umpire");
    let join = [
        "join",
        "--player",
        "Dogwood",
        "--invitation-file",
        &invitation,
    ];
    umpire.ok(&[&join[..], &["--server", &post.url()]].concat());
    umpire.ok(&["notices", "set", "--mail", "dogwood@example.org"]);
    let url = format!("http://{}/red", hooks.address);
    red.ok(&[
        "notices",
        "set",
        "--webhook",
        &url,
        "--secret-file",
        "secret",
    ]);
    let secret = std::fs::read_to_string(red.folder().join("secret")).expect("written");
    mail.mails.wait_for(1);
    hooks.hooks.wait_for(1);

    let sheet = red.write("red.txt", "red-1: forward 40 mm\n");
    red.ok(&["post", &sheet]);
    blue.ok(&["dispute", "--about", "4", "Was the bank not in the way?"]);
    // Not the turn: nothing is asked of the umpire there.
    let (subject, text, _) = read(&mail.mails.wait_for(2)[1], "dogwood@example.org");
    assert!(subject.contains("The umpire is asked"), "{subject}");
    assert!(text.contains("Was the bank not in the way?"), "{text}");
    assert!(text.contains("Dogwood, umpire of"), "{text}");
    assert!(
        commands(&text).iter().any(|typed| typed[0] == "rule"),
        "{text}"
    );
    umpire.ok(&["rule", "--about", "4", "It stands as measured."]);
    let hooks = hooks.hooks.wait_for(3);
    let told: Vec<Value> = hooks.iter().map(|hook| verified(hook, &secret)).collect();
    let kinds: Vec<&str> = told
        .iter()
        .filter_map(|told| told["type"].as_str())
        .collect();
    assert_eq!(kinds, ["notices.welcome", "game.dispute", "game.ruling"]);
    assert!(
        hooks[2]
            .body
            .windows(22)
            .any(|part| part == b"It stands as measured.")
    );
}
