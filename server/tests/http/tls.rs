//! TLS from files, and a certificate that is renewed while the server runs.

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::{Duration, Instant};

use crate::host::{Host, server};

/// Writes a fresh certificate for this machine and its private key; the certificate in PEM.
fn certify(folder: &Path) -> String {
    let made = rcgen::generate_simple_self_signed(["127.0.0.1".to_owned()]).expect("a certificate");
    let pem = made.cert.pem();
    fs::write(folder.join("chain.pem"), &pem).expect("written");
    fs::write(folder.join("key.pem"), made.signing_key.serialize_pem()).expect("written");
    pem
}

fn serving(folder: &Path, trusted: &str) -> Host {
    let file = |name: &str| folder.join(name).display().to_string();
    Host::start_trusting(
        Some(trusted.to_owned()),
        &[
            "--tls-certificate",
            &file("chain.pem"),
            "--tls-private-key",
            &file("key.pem"),
            "--header-seconds",
            "2",
        ],
    )
}

#[test]
fn games_are_served_over_tls_and_nothing_in_the_clear() {
    let folder = tempfile::tempdir().expect("a folder");
    let trusted = certify(folder.path());
    let host = serving(folder.path(), &trusted);
    let battle = host.battle();
    host.get(&battle.path("table")).expect(200);
    let mut clear = TcpStream::connect(&host.address).expect("connects");
    clear
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("set");
    clear
        .write_all(b"GET /healthz HTTP/1.1\r\nhost: x\r\n\r\n")
        .expect("sent");
    let mut answer = Vec::new();
    let _ = clear.read_to_end(&mut answer);
    assert!(!answer.starts_with(b"HTTP"), "{answer:?}");
    // Who says nothing is not waited for.
    let mut silent = TcpStream::connect(&host.address).expect("connects");
    silent
        .set_read_timeout(Some(Duration::from_secs(20)))
        .expect("set");
    assert_eq!(silent.read(&mut [0]).expect("closed by the server"), 0);
    let stranger = certify(tempfile::tempdir().expect("a folder").path());
    let ask = host.ask("GET", "/healthz").trusting(&stranger);
    assert!(ask.try_send().is_err(), "another certificate is not taken");
}

#[test]
fn a_renewed_certificate_is_used_when_told_and_a_broken_one_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = certify(folder.path());
    let host = serving(folder.path(), &first);
    let second = certify(folder.path());
    assert!(
        host.ask("GET", "/healthz")
            .trusting(&second)
            .try_send()
            .is_err()
    );
    host.signal("-HUP");
    let began = Instant::now();
    while host
        .ask("GET", "/healthz")
        .trusting(&second)
        .try_send()
        .is_err()
    {
        assert!(
            began.elapsed() < Duration::from_secs(20),
            "never read again"
        );
    }
    fs::write(folder.path().join("key.pem"), "not a key").expect("written");
    host.signal("-HUP");
    let began = Instant::now();
    while !host.log.holds("the certificate in use stays", usize::MAX) {
        assert!(began.elapsed() < Duration::from_secs(20), "not told");
        std::thread::sleep(Duration::from_millis(20));
    }
    host.ask("GET", "/healthz")
        .trusting(&second)
        .send()
        .expect(200);
}

#[test]
fn files_that_do_not_do_are_told_by_name() {
    let folder = tempfile::tempdir().expect("a folder");
    certify(folder.path());
    fs::write(folder.path().join("empty.pem"), "").expect("written");
    let run = |certificate: &str, key: &str| {
        let output = server()
            .current_dir(folder.path())
            .args(["--listen", "127.0.0.1:0", "--database", "sqlite:games.db"])
            .args(["--tls-certificate", certificate, "--tls-private-key", key])
            .output()
            .expect("runs");
        let code = output.status.code();
        assert_eq!(code, Some(2), "trying again would not mend it");
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    assert!(run("nowhere.pem", "key.pem").contains("nowhere.pem"));
    assert!(run("empty.pem", "key.pem").contains("empty.pem holds no certificate"));
    assert!(run("chain.pem", "chain.pem").contains("chain.pem"));
    assert!(
        !folder.path().join("games.db").exists(),
        "nothing was begun"
    );
}
