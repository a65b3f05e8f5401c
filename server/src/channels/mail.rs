//! Notices by e-mail.

use std::time::{Duration, SystemTime};

use async_trait::async_trait;
use lettre::message::header::{HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, Message, MultiPart};
use lettre::transport::smtp::extension::ClientId;
use lettre::transport::smtp::response::Category;
use lettre::transport::smtp::{AsyncSmtpTransport, Error};
use lettre::{AsyncTransport, Tokio1Executor};

use crate::settings::{MailSettings, PublicAddress};
use crate::store::{Channel, NoticeAddress};

use super::message::NoticeMessage;
use super::template::{PICTURE, one_line, render};
use super::unsubscribe::UnsubscribeToken;
use super::{Delivery, NoticeChannel, mail_address};

/// For each answer of the mail server.
const TIMEOUT: Duration = Duration::from_secs(20);

/// Sends mails.
pub struct MailChannel {
    transport: AsyncSmtpTransport<Tokio1Executor>,
    sender: Mailbox,
    server: PublicAddress,
}

impl MailChannel {
    /// Sends mails as the settings say.
    #[must_use]
    pub fn new(settings: MailSettings) -> Self {
        let MailSettings {
            transport,
            sender,
            public_address,
        } = settings;
        Self {
            transport: transport
                .timeout(Some(TIMEOUT))
                .hello_name(ClientId::Domain(public_address.host().to_owned()))
                .build(),
            sender,
            server: public_address,
        }
    }

    /// The mail that holds a message.
    fn message(
        &self,
        message: &NoticeMessage,
        to: &NoticeAddress,
        now: i64,
    ) -> Result<Message, String> {
        let token = UnsubscribeToken::new(&message.id, to).text();
        let unsubscribe = self.server.unsubscribe_link(&token);
        let rendered = render(message, &self.server, &unsubscribe);
        let address = to
            .address
            .parse()
            .map_err(|_| "The address is not fit for mail.".to_owned())?;
        // The mails of one game hang together: each answers one that never was.
        let root = format!("<{}@{}>", message.game, self.server.host());
        let words = MultiPart::alternative_plain_html(rendered.text(), rendered.html());
        let body = match &message.picture {
            None => words,
            Some(picture) => {
                let name = PICTURE.to_owned();
                let part = Attachment::new_inline_with_name(name.clone(), name);
                let part = part.body(picture.clone(), png()?);
                MultiPart::related().multipart(words).singlepart(part)
            }
        };
        let date = SystemTime::UNIX_EPOCH + Duration::from_millis(u64::try_from(now).unwrap_or(0));
        Message::builder()
            .from(self.sender.clone())
            .to(Mailbox::new(
                message.player.as_deref().map(one_line),
                address,
            ))
            .subject(rendered.subject)
            .date(date)
            .message_id(Some(format!("<{}@{}>", message.id, self.server.host())))
            .in_reply_to(root.clone())
            .references(root)
            // RFC 8058: one press of a button in the mail program.
            .raw_header(header("List-Unsubscribe", format!("<{unsubscribe}>")))
            .raw_header(header(
                "List-Unsubscribe-Post",
                "List-Unsubscribe=One-Click".to_owned(),
            ))
            // RFC 3834: no absence notes, please.
            .raw_header(header("Auto-Submitted", "auto-generated".to_owned()))
            .multipart(body)
            .map_err(|error| format!("The mail could not be written: {error}."))
    }
}

fn png() -> Result<lettre::message::header::ContentType, String> {
    "image/png"
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

#[async_trait]
impl NoticeChannel for MailChannel {
    fn channel(&self) -> Channel {
        Channel::Mail
    }

    fn accept(&self, address: &str) -> Result<String, String> {
        mail_address::accept(address)
    }

    async fn deliver(&self, message: &NoticeMessage, to: &NoticeAddress, now: i64) -> Delivery {
        let message = match self.message(message, to, now) {
            Ok(message) => message,
            Err(trouble) => return Delivery::Hopeless { trouble },
        };
        match self.transport.send(message).await {
            Ok(_) => Delivery::Arrived,
            Err(error) => failed(&error),
        }
    }
}

/// What a refusal of the mail server means. Its words are not passed on: they often hold the address.
fn failed(error: &Error) -> Delivery {
    if let Some(code) = error.status() {
        let trouble = format!("The mail server answered {code}.");
        // 55x: about this mail and its address (RFC 5321, section 4.2.3). Others, such as 53x for a wrong password,
        // are for the host to mend, and then the mail shall go.
        return if error.is_permanent() && code.category == Category::MailSystem {
            Delivery::Hopeless { trouble }
        } else {
            Delivery::Failed {
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
    Delivery::Failed {
        trouble: trouble.to_owned(),
        wait: None,
    }
}
