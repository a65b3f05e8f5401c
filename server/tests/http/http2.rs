//! HTTP/2 under TLS: many requests on a connection, and a peer that grants no room.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::body::Body;
use axum::http::{Request, Version};
use http_body_util::BodyExt;
use hyper::client::conn::http2::{self, SendRequest};
use hyper_util::rt::{TokioExecutor, TokioIo};
use tokio::net::TcpStream;
use tokio::task::JoinHandle;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

use crate::host::Host;

/// Writes a fresh certificate for this machine and its private key; the certificate in PEM.
fn certify(folder: &Path) -> String {
    let made = rcgen::generate_simple_self_signed(["127.0.0.1".to_owned()]).expect("a certificate");
    let pem = made.cert.pem();
    std::fs::write(folder.join("chain.pem"), &pem).expect("written");
    std::fs::write(folder.join("key.pem"), made.signing_key.serialize_pem()).expect("written");
    pem
}

struct Place {
    host: Host,
    trusted: String,
    _folder: tempfile::TempDir,
}

impl Place {
    fn new(flags: &[&str]) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let trusted = certify(folder.path());
        let file = |name: &str| folder.path().join(name).display().to_string();
        let (chain, key) = (file("chain.pem"), file("key.pem"));
        let mut all = vec!["--tls-certificate", &chain, "--tls-private-key", &key];
        all.extend(flags);
        Self {
            host: Host::start_trusting(Some(trusted.clone()), &all),
            trusted,
            _folder: folder,
        }
    }

    /// A connection on which HTTP/2 was agreed on, and the task that drives it.
    async fn connect(&self) -> (SendRequest<Body>, JoinHandle<bool>) {
        let mut roots = RootCertStore::empty();
        let pem = self.trusted.as_bytes();
        roots
            .add(CertificateDer::from_pem_slice(pem).expect("a certificate"))
            .expect("a root");
        let provider = Arc::new(ring::default_provider());
        let mut config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        config.alpn_protocols = vec![b"h2".to_vec()];
        let socket = TcpStream::connect(&self.host.address)
            .await
            .expect("connects");
        let name = ServerName::try_from("127.0.0.1").expect("a name");
        let connector = TlsConnector::from(Arc::new(config));
        let stream = connector.connect(name, socket).await.expect("agreed");
        assert_eq!(stream.get_ref().1.alpn_protocol(), Some(&b"h2"[..]));
        let (sender, connection) = http2::Builder::new(TokioExecutor::new())
            .initial_stream_window_size(20_000)
            .handshake(TokioIo::new(stream))
            .await
            .expect("spoken");
        (
            sender,
            tokio::spawn(async move { connection.await.is_ok() }),
        )
    }

    fn get(&self, path: &str) -> Request<Body> {
        let uri = format!("https://{}{path}", self.host.address);
        Request::get(uri).body(Body::empty()).expect("a request")
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn many_requests_share_a_connection_and_older_clients_go_on() {
    let place = Place::new(&[]);
    let battle = tokio::task::block_in_place(|| place.host.battle());
    let (sender, _driven) = place.connect().await;
    let path = battle.path("table.svg?map=true");
    // Drawn once, it is there for all.
    let plain = tokio::task::block_in_place(|| place.host.get(&path).text);
    let asked = (0..40).map(|_| {
        let (mut sender, request) = (sender.clone(), place.get(&path));
        tokio::spawn(async move {
            sender.ready().await.expect("open");
            let answer = sender.send_request(request).await.expect("answered");
            assert_eq!(
                (answer.status().as_u16(), answer.version()),
                (200, Version::HTTP_2)
            );
            let body = answer.into_body().collect().await.expect("read");
            body.to_bytes()
        })
    });
    let mut bodies = Vec::new();
    for answer in asked.collect::<Vec<_>>() {
        bodies.push(answer.await.expect("no panic"));
    }
    assert!(bodies[0].len() > 20_000 && bodies.iter().all(|body| *body == bodies[0]));
    assert_eq!(plain.as_bytes(), bodies[0], "over HTTP/1.1 it is the same");
}

/// It leaves the socket free and reads nothing: it is closed, and so is one that takes a little now and then.
#[tokio::test(flavor = "multi_thread")]
async fn whoever_grants_no_room_is_let_go() {
    let place = Place::new(&["--unread-seconds", "1"]);
    let battle = tokio::task::block_in_place(|| place.host.battle());
    let (mut sender, driven) = place.connect().await;
    let request = place.get(&battle.path("table.svg"));
    let answer = sender.send_request(request).await.expect("answered");
    assert_eq!(answer.status().as_u16(), 200);
    let began = Instant::now();
    let ended = tokio::time::timeout(Duration::from_secs(20), driven).await;
    ended.expect("closed by the server").expect("no panic");
    assert!(began.elapsed() >= Duration::from_millis(700));
    drop(answer);
    // A stream of news on which nothing happens is no such thing.
    let (mut sender, driven) = place.connect().await;
    let request = place.get(&battle.path("events"));
    let mut answer = sender.send_request(request).await.expect("answered");
    let waited = tokio::time::timeout(Duration::from_secs(4), answer.body_mut().frame()).await;
    assert!(waited.is_err(), "{waited:?}");
    assert!(!driven.is_finished());
}
