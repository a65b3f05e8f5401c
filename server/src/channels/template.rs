//! The template of a notice for people: the same for mail as text and mail as HTML.

use fieldpost_rules::record::fingerprint;

use crate::html::escaped;
use crate::settings::PublicAddress;
use crate::store::{Kind, SeatRole};

use super::message::NoticeMessage;

/// What the picture of a mail is called, as a file and within the mail.
pub(super) const PICTURE: &str = "table.png";

/// A notice in words, to be written in either form.
pub(super) struct RenderedNotice {
    /// The subject, on one line.
    pub(super) subject: String,
    parts: Vec<Part>,
}

enum Part {
    Heading(&'static str),
    /// Lines.
    Paragraph(String),
    /// Lines whose letters stand below each other.
    Drawing(String),
    /// The picture that comes with the mail; nothing as text, where its file is told of in words.
    Picture,
    /// What to type, each with what it does.
    Commands(Vec<(String, &'static str)>),
    Link {
        before: &'static str,
        address: String,
    },
}

/// A message in words, with the link that stops such mails.
pub(super) fn render(
    message: &NoticeMessage,
    server: &PublicAddress,
    unsubscribe: &str,
) -> RenderedNotice {
    let headline = headline(message);
    let battle = one_line(&message.battle);
    let mut parts = vec![Part::Paragraph(greeting(message, &headline))];
    if !message.words.is_empty() {
        parts.push(Part::Paragraph(message.words.clone()));
    }
    if !message.news.is_empty() {
        parts.push(Part::Heading("What happened"));
        let news = message.news.iter();
        parts.extend(news.map(|item| Part::Paragraph(item.words.trim_end().to_owned())));
    }
    parts.push(Part::Heading("How it stands"));
    parts.push(Part::Paragraph(position(message)));
    parts.push(Part::Paragraph(format!(
        "Event {} of the record, to be read to the other side: {}",
        message.id.number.max(1),
        fingerprint(&message.hash)
    )));
    if message.picture.is_some() {
        parts.push(Part::Picture);
    }
    parts.push(Part::Drawing(message.table_text.trim_end().to_owned()));
    parts.push(Part::Heading("What to do"));
    parts.push(Part::Commands(commands(message)));
    parts.push(Part::Paragraph(format!(
        "Without a seat of your own chosen, add --server {} --game {}.",
        server.base(),
        message.game
    )));
    parts.push(Part::Link {
        before: "Your seat asked for these mails. To get no more of them: fieldpost notices stop, or",
        address: unsubscribe.to_owned(),
    });
    RenderedNotice {
        subject: format!("[{battle}] {headline}"),
        parts,
    }
}

/// What it is about, in a few words.
fn headline(message: &NoticeMessage) -> String {
    let turn = format!("game turn {} of {}", message.game_turn, message.game_turns);
    match message.id.kind {
        Kind::Welcome => "You will hear of this game here".to_owned(),
        Kind::Opened => "Every seat is taken, the battle can begin".to_owned(),
        Kind::YourTurn => format!("Your turn: {turn}"),
        Kind::Ended => "The battle is over".to_owned(),
        Kind::Dispute => "The umpire is asked".to_owned(),
        Kind::Ruling => "The umpire has ruled".to_owned(),
        Kind::Reminder(0) => format!("Your turn is due today: {turn}"),
        Kind::Reminder(1) => format!("One day left for your turn: {turn}"),
        Kind::Reminder(days) => format!("{days} days left for your turn: {turn}"),
        Kind::TimeOut => format!("Time is out: {turn}"),
        Kind::KeyReplaced => "A player's key is to be replaced".to_owned(),
    }
}

fn greeting(message: &NoticeMessage, headline: &str) -> String {
    let battle = one_line(&message.battle);
    let (side, part) = match &message.role {
        SeatRole::Player { side_name, .. } => {
            let side = one_line(side_name);
            let part = format!("for {side} in {battle}");
            (side, part)
        }
        SeatRole::Umpire | SeatRole::Spectator => {
            ("Umpire".to_owned(), format!("umpire of {battle}"))
        }
    };
    let who = message.player.as_deref().map_or(side, one_line);
    format!("{who}, {part}: {headline}.")
}

fn position(message: &NoticeMessage) -> String {
    let shown = if message.picture.is_some() {
        format!("The table stands below, and with what moved in the picture {PICTURE}.")
    } else {
        "The table stands below.".to_owned()
    };
    match &message.to_move {
        None => format!("The battle is over. {shown}"),
        Some((_, name)) => {
            let whose = if message.is_to_move() {
                "It is your turn to post".to_owned()
            } else {
                format!("It is the turn of {} to post", one_line(name))
            };
            format!(
                "Game turn {} of {}. {whose}. {shown}",
                message.game_turn, message.game_turns
            )
        }
    }
}

fn commands(message: &NoticeMessage) -> Vec<(String, &'static str)> {
    let command = |line: &str, does| (format!("fieldpost {line}"), does);
    let mut commands = vec![
        command("news", "what happened, in order"),
        command(
            &format!("event {}", message.id.number.max(1)),
            "one event with everything that was measured",
        ),
        command("table --png table.png", "the table as a picture"),
        command(
            &format!("compare --at {}", message.id.number.max(1)),
            "the digits above, from your own copy of the record",
        ),
    ];
    if message.is_to_move() {
        commands.push(command("try orders.txt", "measure your orders at home"));
        commands.push(command("post orders.txt", "post them"));
    }
    if message.role == SeatRole::Umpire && message.to_move.is_some() {
        commands.push(command("rule \"…\"", "your ruling, for everybody to read"));
        commands.push(command("rule --help", "what a ruling may do besides"));
    }
    commands
}

/// A name on one line and not too long, whatever its author wrote.
pub(super) fn one_line(text: &str) -> String {
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c.is_control())
        .filter(|word| !word.is_empty())
        .collect();
    words.join(" ").chars().take(100).collect()
}

impl RenderedNotice {
    /// As text.
    pub(super) fn text(&self) -> String {
        let mut text = String::new();
        for part in &self.parts {
            match part {
                Part::Heading(heading) => text.push_str(&format!("{}\n", heading.to_uppercase())),
                Part::Paragraph(lines) | Part::Drawing(lines) => {
                    text.push_str(&format!("{lines}\n"));
                }
                Part::Picture => continue,
                Part::Commands(commands) => {
                    let longest = commands
                        .iter()
                        .map(|(line, _)| line.len())
                        .max()
                        .unwrap_or(0);
                    for (line, does) in commands {
                        text.push_str(&format!("  {line:longest$}  {does}\n"));
                    }
                }
                Part::Link { before, address } => {
                    text.push_str(&format!("-- \n{before}\n{address}\n"))
                }
            }
            text.push('\n');
        }
        text
    }

    /// As HTML that fetches nothing and runs nothing.
    pub(super) fn html(&self) -> String {
        let mut html = format!(
            "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{}</title></head>\n\
             <body style=\"font-family: sans-serif; max-width: 45em\">\n",
            escaped(&self.subject)
        );
        for part in &self.parts {
            match part {
                Part::Heading(heading) => {
                    html.push_str(&format!("<h2>{}</h2>\n", escaped(heading)))
                }
                Part::Paragraph(lines) => html.push_str(&format!(
                    "<p style=\"white-space: pre-line\">{}</p>\n",
                    escaped(lines)
                )),
                Part::Drawing(lines) => html.push_str(&format!(
                    "<pre style=\"line-height: 1.1\">{}</pre>\n",
                    escaped(lines)
                )),
                Part::Picture => html.push_str(&format!(
                    "<p><img src=\"cid:{PICTURE}\" alt=\"The table, with what moved\" style=\"max-width: 100%\"></p>\n"
                )),
                Part::Commands(commands) => {
                    html.push_str("<table>\n");
                    for (line, does) in commands {
                        html.push_str(&format!(
                            "<tr><td><code>{}</code></td><td>{}</td></tr>\n",
                            escaped(line),
                            escaped(does)
                        ));
                    }
                    html.push_str("</table>\n");
                }
                Part::Link { before, address } => html.push_str(&format!(
                    "<hr><p><small>{} <a href=\"{address}\">{address}</a></small></p>\n",
                    escaped(before),
                    address = escaped(address)
                )),
            }
        }
        html.push_str("</body></html>\n");
        html
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_keep_to_one_line() {
        assert_eq!(
            one_line("Withy\r\nBcc: x@example.org\tBridge\u{0}"),
            "Withy Bcc: x@example.org Bridge"
        );
        assert_eq!(one_line(&"x".repeat(1000)).len(), 100);
    }
}
