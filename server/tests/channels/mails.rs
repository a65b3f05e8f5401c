//! Mails that hostile names would bend: nothing in them becomes a header, a recipient or a second mail.

use fieldpost_server::channels::{Delivery, NoticeChannel};
use fieldpost_server::store::SeatRole;
use fieldpost_tests::receivers::MailServer;
use mail_parser::MessageParser;

use crate::fixtures::{Table, mail_channel};

const HOSTILE: &str = "Withy\r\nBcc: victim@example.org\r\n\r\n.\r\nMAIL FROM:<mallory@example.org>\r\nRCPT TO:<victim@example.org>\r\nDATA\r\n<script>alert(1)</script>";

#[tokio::test(flavor = "multi_thread")]
async fn hostile_names_stay_in_their_places() {
    let server = MailServer::start(|_| "");
    let table = Table::on_sqlite().await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let (notice, mut message, now) = table.welcome().await;
    message.battle = HOSTILE.to_owned();
    message.player = Some(HOSTILE.to_owned());
    message.role = SeatRole::Player {
        side: "blue".to_owned(),
        side_name: HOSTILE.to_owned(),
    };
    message.words = HOSTILE.to_owned();
    let mail_channel = mail_channel(&format!("smtp://{}", server.address));
    assert_eq!(
        mail_channel.deliver(&message, &notice.to, now).await,
        Delivery::Arrived
    );
    let mails = server.mails.now();
    assert_eq!(mails.len(), 1, "one mail");
    assert_eq!(mails[0].to, ["birch@example.org"]);
    let mail = MessageParser::default()
        .parse(mails[0].text.as_bytes())
        .expect("a mail");
    assert!(mail.bcc().is_none());
    assert_eq!(mail.to().map(|to| to.iter().count()), Some(1));
    let names: Vec<&str> = mail.headers().iter().map(|header| header.name()).collect();
    let mut once = names.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), names.len(), "{names:?}");
    assert!(
        mail.subject()
            .is_some_and(|subject| subject.starts_with("[Withy Bcc: victim@example.org"))
    );
    let page = mail.body_html(0).expect("HTML");
    assert!(
        page.contains("&lt;script&gt;") && !page.contains("<script"),
        "{page}"
    );
    let date = mail.date().expect("a date");
    assert_eq!(date.to_timestamp(), now / 1000);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mail_goes_without_a_picture_that_could_not_be_painted() {
    let server = MailServer::start(|_| "");
    let table = Table::on_sqlite().await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let (notice, mut message, now) = table.welcome().await;
    assert!(message.picture.is_some(), "this one could");
    message.picture = None;
    let mail_channel = mail_channel(&format!("smtp://{}", server.address));
    assert_eq!(
        mail_channel.deliver(&message, &notice.to, now).await,
        Delivery::Arrived
    );
    let mails = server.mails.now();
    let mail = MessageParser::default()
        .parse(mails[0].text.as_bytes())
        .expect("a mail");
    assert_eq!(mail.attachment_count(), 0);
    let (text, page) = (mail.body_text(0), mail.body_html(0));
    for said in [text.expect("text"), page.expect("HTML")] {
        assert!(said.contains("The table stands below."), "{said}");
        assert!(
            !said.contains("in the picture") && !said.contains("cid:"),
            "{said}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mail_server_that_is_not_there_or_says_later_is_asked_again() {
    let busy = MailServer::start(|_| "451 4.3.2 not now");
    let table = Table::on_sqlite().await;
    table
        .hears(&table.blue, Some("birch@example.org"), None)
        .await;
    let (notice, message, now) = table.welcome().await;
    let said = mail_channel(&format!("smtp://{}", busy.address))
        .deliver(&message, &notice.to, now)
        .await;
    assert_eq!(
        said,
        Delivery::Failed {
            trouble: "The mail server answered 451.".to_owned(),
            wait: None
        }
    );
    // A port that was free a moment ago.
    let nobody = std::net::TcpListener::bind("127.0.0.1:0")
        .expect("a port")
        .local_addr()
        .expect("an address");
    let mail_channel = mail_channel(&format!("smtp://{nobody}"));
    let said = mail_channel.deliver(&message, &notice.to, now).await;
    let Delivery::Failed { trouble, .. } = said else {
        panic!("{said:?}");
    };
    assert!(
        trouble.contains("connected") && !trouble.contains("birch"),
        "{trouble}"
    );
}
