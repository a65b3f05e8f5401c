//! Notices by e-mail.

use std::fmt;
use std::time::{Duration, SystemTime};

use async_trait::async_trait;
use lettre::message::header::{HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, Message, MultiPart};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::Category;
use lettre::transport::smtp::{AsyncSmtpTransport, Error};
use lettre::{AsyncTransport, Tokio1Executor};
use url::{Host, Url};

use crate::office::{Letter, stop_token};
use crate::store::NoticeAddress;

use super::said::{one_line, said};
use super::{Carried, Carry};

/// For each word of the mail server's.
const PATIENCE: Duration = Duration::from_secs(20);

/// Why mail cannot be sent as it is set up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadMail(String);

impl BadMail {
    pub(crate) fn new(why: impl Into<String>) -> Self {
        Self(why.into())
    }
}

impl fmt::Display for BadMail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for BadMail {}

/// The address by which players reach this server, for links in mails.
#[derive(Debug, Clone)]
pub struct Links {
    base: String,
    host: String,
}

impl Links {
    /// Links that begin with an address such as `https://games.example`.
    ///
    /// # Errors
    /// When it is no such address.
    pub fn to(address: &str) -> Result<Self, BadMail> {
        let url = Url::parse(address).ok().filter(|url| {
            matches!(url.scheme(), "http" | "https")
                && url.query().is_none()
                && url.fragment().is_none()
        });
        let bad = || {
            BadMail(format!(
                "{address:?} is no address such as https://games.example"
            ))
        };
        let url = url.ok_or_else(bad)?;
        let host = url.host_str().ok_or_else(bad)?.to_owned();
        Ok(Self {
            base: url.as_str().trim_end_matches('/').to_owned(),
            host,
        })
    }

    /// The address.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.base
    }

    /// The link that stops mails.
    pub(super) fn stop(&self, token: &str) -> String {
        format!("{}/v1/notices/stop/{token}", self.base)
    }
}

/// Sends mails.
pub struct Mailer {
    transport: AsyncSmtpTransport<Tokio1Executor>,
    sender: Mailbox,
    links: Links,
}

impl Mailer {
    /// Sends by a mail server, `smtps://USER@HOST` or `smtp://USER@HOST:587?tls=required`, with its password there or given apart,
    /// as a sender such as `Fieldpost <post@games.example>`.
    ///
    /// # Errors
    /// When one of them is not what it should be, or the password would travel in the clear.
    pub fn new(
        server: &str,
        password: Option<&str>,
        sender: &str,
        links: Links,
    ) -> Result<Self, BadMail> {
        // Neither is told here what was given: it may hold the password.
        let no_url = |_| {
            BadMail(
                "mail_server is no URL such as smtps://USER@mail.example or smtp://localhost"
                    .to_owned(),
            )
        };
        let mut url = Url::parse(server).map_err(no_url)?;
        if let Some(password) = password {
            url.set_password(Some(password)).map_err(|()| {
                BadMail("mail_server names no host to give the password to".to_owned())
            })?;
        }
        if url.password().is_some() && !is_safe(&url) {
            return Err(BadMail(
                "the password for the mail server would travel in the clear: use smtps:// or add ?tls=required".to_owned(),
            ));
        }
        let builder = AsyncSmtpTransport::<Tokio1Executor>::from_url(url.as_str()).map_err(|_| {
            BadMail("mail_server is none that mail can be sent by: smtps://HOST, smtp://HOST or smtp://HOST?tls=required".to_owned())
        })?;
        let sender = sender
            .parse()
            .map_err(|error| BadMail(format!("mail_sender {sender:?} is no sender such as Fieldpost <post@games.example>: {error}")))?;
        Ok(Self {
            transport: builder
                .timeout(Some(PATIENCE))
                .hello_name(ClientId::Domain(links.host.clone()))
                .build(),
            sender,
            links,
        })
    }

    /// The mail that holds a letter.
    fn message(&self, letter: &Letter, to: &NoticeAddress, now: i64) -> Result<Message, String> {
        let token = stop_token(&letter.id, to);
        let said = said(letter, &self.links, &token);
        let address = to
            .address
            .parse()
            .map_err(|_| "The address is not fit for mail.".to_owned())?;
        // The mails of one game hang together: each answers one that never was.
        let root = format!("<{}@{}>", letter.game, self.links.host);
        let picture = Attachment::new("table.svg".to_owned());
        let picture = picture.body(letter.table_svg.clone(), svg()?);
        let words = MultiPart::alternative_plain_html(said.text(), said.html());
        let date = SystemTime::UNIX_EPOCH + Duration::from_millis(u64::try_from(now).unwrap_or(0));
        Message::builder()
            .from(self.sender.clone())
            .to(Mailbox::new(
                letter.player.as_deref().map(one_line),
                address,
            ))
            .subject(said.subject)
            .date(date)
            .message_id(Some(format!("<{}@{}>", letter.id, self.links.host)))
            .in_reply_to(root.clone())
            .references(root)
            // RFC 8058: one press of a button in the mail program.
            .raw_header(header(
                "List-Unsubscribe",
                format!("<{}>", self.links.stop(&token)),
            ))
            .raw_header(header(
                "List-Unsubscribe-Post",
                "List-Unsubscribe=One-Click".to_owned(),
            ))
            // RFC 3834: no absence notes, please.
            .raw_header(header("Auto-Submitted", "auto-generated".to_owned()))
            .multipart(MultiPart::mixed().multipart(words).singlepart(picture))
            .map_err(|error| format!("The mail could not be written: {error}."))
    }
}

fn svg() -> Result<lettre::message::header::ContentType, String> {
    "image/svg+xml"
        .parse()
        .map_err(|error| format!("The picture could not be attached: {error}."))
}

/// A header whose value is made here, of ASCII, and must not be folded.
fn header(name: &'static str, value: String) -> HeaderValue {
    HeaderValue::dangerous_new_pre_encoded(
        HeaderName::new_from_ascii_str(name),
        value.clone(),
        value,
    )
}

/// Whether what is said to the mail server cannot be read on the way: by TLS, or never leaving this machine.
fn is_safe(url: &Url) -> bool {
    let is_here = match url.host() {
        Some(Host::Ipv4(address)) => address.is_loopback(),
        Some(Host::Ipv6(address)) => address.is_loopback(),
        // Of schemes that it does not know, the parser leaves hosts as they are.
        Some(Host::Domain(name)) => {
            name == "localhost"
                || name
                    .parse()
                    .is_ok_and(|address: std::net::IpAddr| address.is_loopback())
        }
        None => false,
    };
    let has_tls = url
        .query_pairs()
        .any(|(name, value)| name == "tls" && value == "required");
    is_here || has_tls || url.scheme() == "smtps"
}

#[async_trait]
impl Carry for Mailer {
    async fn carry(&self, letter: &Letter, to: &NoticeAddress, now: i64) -> Carried {
        let message = match self.message(letter, to, now) {
            Ok(message) => message,
            Err(trouble) => return Carried::Hopeless { trouble },
        };
        match self.transport.send(message).await {
            Ok(_) => Carried::Arrived,
            Err(error) => failed(&error),
        }
    }
}

/// What the mail server's no means. Its words are not told: they often hold the address.
fn failed(error: &Error) -> Carried {
    if let Some(code) = error.status() {
        let trouble = format!("The mail server answered {code}.");
        // 55x: about this mail and its address (RFC 5321, section 4.2.3). Others, such as 53x for a wrong password,
        // are for the host to mend, and then the mail shall go.
        return if error.is_permanent() && code.category == Category::MailSystem {
            Carried::Hopeless { trouble }
        } else {
            Carried::Failed {
                trouble,
                wait: None,
            }
        };
    }
    let trouble = if error.is_tls() {
        "No safe connection to the mail server could be made."
    } else if error.is_timeout() {
        "The mail server did not answer in time."
    } else if error.is_response() || error.is_client() {
        "The mail server and this one do not understand each other."
    } else {
        "The mail server could not be connected to, or the connection broke off."
    };
    Carried::Failed {
        trouble: trouble.to_owned(),
        wait: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mailer(server: &str, password: Option<&str>, sender: &str) -> Result<(), BadMail> {
        let links = Links::to("https://games.example/post/").expect("good");
        Mailer::new(server, password, sender, links).map(|_| ())
    }

    const SENDER: &str = "Fieldpost <post@games.example>";

    #[test]
    fn a_password_does_not_travel_in_the_clear() {
        for (server, is_safe) in [
            ("smtps://club@mail.example", true),
            ("smtp://club@mail.example:587?tls=required", true),
            ("smtp://club@127.0.0.1:2525", true),
            ("smtp://club@localhost", true),
            ("smtp://club@mail.example", false),
            ("smtp://club@mail.example?tls=opportunistic", false),
        ] {
            assert_eq!(
                mailer(server, Some("s3cret"), SENDER).is_ok(),
                is_safe,
                "{server}"
            );
            let inside = server.replace("club@", "club:s3cret@");
            let outcome = mailer(&inside, None, SENDER);
            assert_eq!(outcome.is_ok(), is_safe, "{inside}");
            if let Err(error) = outcome {
                assert!(!error.to_string().contains("s3cret"), "{error}");
            }
        }
        assert!(
            mailer("smtp://mail.example", None, SENDER).is_ok(),
            "no password, no harm"
        );
    }

    #[test]
    fn settings_that_cannot_work_are_refused() {
        for server in [
            "",
            "mail.example",
            "http://mail.example",
            "imap://mail.example",
        ] {
            assert!(mailer(server, None, SENDER).is_err(), "{server}");
        }
        for sender in ["", "Fieldpost", "a@b\r\nBcc: c@d", "Fieldpost <post>"] {
            assert!(
                mailer("smtp://localhost", None, sender).is_err(),
                "{sender}"
            );
        }
        for address in [
            "",
            "games.example",
            "ftp://games.example",
            "https://games.example/?a=b",
        ] {
            assert!(Links::to(address).is_err(), "{address}");
        }
    }

    #[test]
    fn links_begin_with_the_public_address() {
        let links = Links::to("https://games.example/post/").expect("good");
        assert_eq!(
            links.stop("a.b"),
            "https://games.example/post/v1/notices/stop/a.b"
        );
    }
}
