//! How mail is sent: the mail server, the sender, and the address that links in mails begin with.

use lettre::Tokio1Executor;
use lettre::message::Mailbox;
use lettre::transport::smtp::{AsyncSmtpTransport, AsyncSmtpTransportBuilder};
use thiserror::Error;
use url::{Host, Url};

/// Why mail cannot be sent as it is set up.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct MailSettingsError(String);

impl MailSettingsError {
    pub(super) fn new(why: impl Into<String>) -> Self {
        Self(why.into())
    }
}

/// The address by which players reach this server, for links in mails.
#[derive(Debug, Clone)]
pub struct PublicAddress {
    base: String,
    host: String,
    origin: String,
}

impl PublicAddress {
    /// An address such as `https://games.example`.
    ///
    /// # Errors
    /// When it is no such address.
    pub fn parse(address: &str) -> Result<Self, MailSettingsError> {
        let url = Url::parse(address).ok().filter(|url| {
            matches!(url.scheme(), "http" | "https")
                && url.query().is_none()
                && url.fragment().is_none()
        });
        let bad = || {
            MailSettingsError(format!(
                "{address:?} is no address such as https://games.example"
            ))
        };
        let url = url.ok_or_else(bad)?;
        let host = url.host_str().ok_or_else(bad)?.to_owned();
        Ok(Self {
            base: url.as_str().trim_end_matches('/').to_owned(),
            origin: url.origin().ascii_serialization(),
            host,
        })
    }

    /// Its scheme, host and port, as browsers name where a page comes from.
    #[must_use]
    pub fn origin(&self) -> &str {
        &self.origin
    }

    /// The address, without a slash at its end.
    #[must_use]
    pub fn base(&self) -> &str {
        &self.base
    }

    /// Its host.
    #[must_use]
    pub fn host(&self) -> &str {
        &self.host
    }

    /// The link that stops mails.
    #[must_use]
    pub fn unsubscribe_link(&self, token: &str) -> String {
        format!("{}/v1/notices/stop/{token}", self.base)
    }
}

/// All that sending mails needs, checked.
#[derive(Debug)]
pub struct MailSettings {
    /// The way to the mail server.
    pub transport: AsyncSmtpTransportBuilder,
    /// Whom mails are from.
    pub sender: Mailbox,
    /// The address by which players reach this server.
    pub public_address: PublicAddress,
}

impl MailSettings {
    /// Mail by a server, `smtps://USER@HOST` or `smtp://USER@HOST:587?tls=required`, with its password there or given
    /// apart, from a sender such as `Fieldpost <post@games.example>`.
    ///
    /// # Errors
    /// When one of them is not what it should be, or the password would travel in the clear.
    pub fn new(
        server: &str,
        password: Option<&str>,
        sender: &str,
        public_address: PublicAddress,
    ) -> Result<Self, MailSettingsError> {
        // No message here repeats what was given: it may hold the password.
        let no_url = |_| {
            MailSettingsError::new(
                "mail_server is no URL such as smtps://USER@mail.example or smtp://localhost",
            )
        };
        let mut url = Url::parse(server).map_err(no_url)?;
        if let Some(password) = password {
            url.set_password(Some(password)).map_err(|()| {
                MailSettingsError::new("mail_server names no host to give the password to")
            })?;
        }
        if url.password().is_some() && !is_safe(&url) {
            return Err(MailSettingsError::new(
                "the password for the mail server would travel in the clear: use smtps:// or add ?tls=required",
            ));
        }
        let transport = AsyncSmtpTransport::<Tokio1Executor>::from_url(url.as_str()).map_err(|_| {
            MailSettingsError::new("mail_server is none that mail can be sent by: smtps://HOST, smtp://HOST or smtp://HOST?tls=required")
        })?;
        let sender = sender.parse().map_err(|error| {
            MailSettingsError::new(format!("mail_sender {sender:?} is no sender such as Fieldpost <post@games.example>: {error}"))
        })?;
        Ok(Self {
            transport,
            sender,
            public_address,
        })
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn mail(server: &str, password: Option<&str>, sender: &str) -> Result<(), MailSettingsError> {
        let address = PublicAddress::parse("https://games.example/post/").expect("good");
        MailSettings::new(server, password, sender, address).map(|_| ())
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
                mail(server, Some("s3cret"), SENDER).is_ok(),
                is_safe,
                "{server}"
            );
            let inside = server.replace("club@", "club:s3cret@");
            let outcome = mail(&inside, None, SENDER);
            assert_eq!(outcome.is_ok(), is_safe, "{inside}");
            if let Err(error) = outcome {
                assert!(!error.to_string().contains("s3cret"), "{error}");
            }
        }
        assert!(
            mail("smtp://mail.example", None, SENDER).is_ok(),
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
            assert!(mail(server, None, SENDER).is_err(), "{server}");
        }
        for sender in ["", "Fieldpost", "a@b\r\nBcc: c@d", "Fieldpost <post>"] {
            assert!(mail("smtp://localhost", None, sender).is_err(), "{sender}");
        }
        for address in [
            "",
            "games.example",
            "ftp://games.example",
            "https://games.example/?a=b",
        ] {
            assert!(PublicAddress::parse(address).is_err(), "{address}");
        }
    }

    #[test]
    fn links_begin_with_the_public_address() {
        let address = PublicAddress::parse("https://games.example/post/").expect("good");
        assert_eq!(
            address.unsubscribe_link("a.b"),
            "https://games.example/post/v1/notices/stop/a.b"
        );
    }
}
