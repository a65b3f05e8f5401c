//! Whom a server's certificate must be signed by, and what is told when it is not.

use std::env;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fieldpost_command_line::in_plain_words;
use rustls::CertificateError;
use ureq::tls::{PemItem, RootCerts, TlsConfig, parse_pem};

use crate::error::{CliError, CliResult};

/// The environment's variable that names a file of certificate authorities.
const CA_FILE: &str = "SSL_CERT_FILE";

/// The file of certificate authorities to trust: the one given, else the seat's, else the environment's. Without any the
/// public ones are trusted that come with this program.
#[must_use]
pub fn ca_file(given: Option<&Path>, of_seat: Option<&Path>) -> Option<PathBuf> {
    let own = given.or(of_seat).map(Path::to_owned);
    own.or_else(|| {
        let named = env::var_os(CA_FILE).filter(|path| !path.is_empty());
        named.map(PathBuf::from)
    })
}

/// What TLS trusts: the authorities of a file, else the public ones.
///
/// # Errors
/// When the file cannot be read or holds no certificate.
pub fn config(ca_file: Option<&Path>) -> CliResult<TlsConfig> {
    let Some(path) = ca_file else {
        return Ok(TlsConfig::default());
    };
    let text = std::fs::read(path)
        .map_err(|error| CliError::of_file("read the certificate authorities in", path, &error))?;
    let certificates: Vec<_> = parse_pem(&text)
        .filter_map(|item| match item {
            Ok(PemItem::Certificate(certificate)) => Some(certificate),
            _ => None,
        })
        .collect();
    if certificates.is_empty() {
        return Err(CliError::Invalid(format!(
            "error: {} holds no certificate; one is text that begins with -----BEGIN CERTIFICATE-----",
            path.display()
        )));
    }
    let roots = RootCerts::Specific(Arc::new(certificates));
    Ok(TlsConfig::builder().root_certs(roots).build())
}

/// Why a server could not be spoken to, in plain words.
#[must_use]
pub fn network_words(error: &ureq::Error, has_ca_file: bool) -> String {
    if let Some(fault) = tls_fault(error) {
        return tls_words(fault, has_ca_file);
    }
    if is_unknown_host(error) {
        return "no machine of that name is known; is the address right?".to_owned();
    }
    match error {
        ureq::Error::Io(error) => in_plain_words(error),
        ureq::Error::Timeout(_) => "no answer came in time".to_owned(),
        ureq::Error::Protocol(_) => {
            "what answers there does not speak HTTP as this program does; is it an https address?"
                .to_owned()
        }
        other => in_plain_words(&std::io::Error::other(other.to_string())),
    }
}

/// Whether no machine has the name in an address.
#[must_use]
pub fn is_unknown_host(error: &ureq::Error) -> bool {
    match error {
        ureq::Error::HostNotFound => true,
        // the standard library gives this fault no kind of its own
        ureq::Error::Io(error) => error.to_string().starts_with("failed to lookup address"),
        _ => false,
    }
}

/// The fault of TLS within an error, however deep.
fn tls_fault(error: &ureq::Error) -> Option<&rustls::Error> {
    let io = match error {
        ureq::Error::Rustls(fault) => return Some(fault),
        ureq::Error::Io(error) => error,
        _ => return None,
    };
    let mut inner: &(dyn Error + 'static) = io.get_ref()?;
    loop {
        if let Some(fault) = inner.downcast_ref() {
            return Some(fault);
        }
        inner = inner.source()?;
    }
}

fn tls_words(fault: &rustls::Error, has_ca_file: bool) -> String {
    match fault {
        rustls::Error::InvalidCertificate(
            CertificateError::UnknownIssuer | CertificateError::BadSignature,
        ) => {
            let why = if has_ca_file {
                "its certificate is not signed by an authority in the file named by --ca-file, the seat or SSL_CERT_FILE"
            } else {
                "its certificate is signed by an authority that this program does not know"
            };
            format!(
                "{why}. If the host has a certificate authority of their own, ask them for its file and name that: \
                 --ca-file FILE. Taking a seat with it keeps it for the seat"
            )
        }
        rustls::Error::InvalidCertificate(
            CertificateError::Expired | CertificateError::ExpiredContext { .. },
        ) => "its certificate has run out, or this machine's clock is wrong; tell the host"
            .to_owned(),
        rustls::Error::InvalidCertificate(
            CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. },
        ) => "its certificate counts only from a later day, or this machine's clock is wrong"
            .to_owned(),
        rustls::Error::InvalidCertificate(
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
        ) => "its certificate is for another name than that address has".to_owned(),
        rustls::Error::InvalidMessage(_) => {
            "it does not answer in TLS; is it an http address, without the s?".to_owned()
        }
        other => format!("no secure connection could be made: {other}"),
    }
}
