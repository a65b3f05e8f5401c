//! TLS from a certificate and a private key in files, read again when the process is told to (SIGHUP).

use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock};

use fieldpost_command_line::in_plain_words;
use thiserror::Error;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::{self, PemObject};
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{self, ServerConfig};
use tokio_rustls::server::TlsStream;

/// Why TLS cannot be spoken.
#[derive(Debug, Error)]
pub enum TlsError {
    /// A file cannot be read as PEM.
    #[error("{} cannot be read for TLS: {}", path.display(), why(source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: pem::Error,
    },
    /// The file holds no certificate.
    #[error("{} holds no certificate in PEM (-----BEGIN CERTIFICATE-----)", .0.display())]
    NoCertificate(PathBuf),
    /// The two do not fit each other, or are of a kind that is not spoken.
    #[error("the certificate and the private key cannot be used together: {0}")]
    Unfit(#[source] rustls::Error),
}

/// Why a file of PEM cannot be read, in plain words.
fn why(error: &pem::Error) -> String {
    match error {
        pem::Error::Io(error) => in_plain_words(error),
        error => error.to_string(),
    }
}

/// The certificate and private key in use.
pub(crate) struct Tls {
    certificate: PathBuf,
    private_key: PathBuf,
    config: RwLock<Arc<ServerConfig>>,
}

impl Tls {
    pub(crate) fn read(certificate: &Path, private_key: &Path) -> Result<Self, TlsError> {
        Ok(Self {
            config: RwLock::new(config(certificate, private_key)?),
            certificate: certificate.to_owned(),
            private_key: private_key.to_owned(),
        })
    }

    /// Reads the files again; connections from now on use what they hold. On an error what was in use stays.
    pub(crate) fn reload(&self) -> Result<(), TlsError> {
        let fresh = config(&self.certificate, &self.private_key)?;
        *self.config.write().unwrap_or_else(PoisonError::into_inner) = fresh;
        Ok(())
    }

    pub(crate) fn acceptor(&self) -> TlsAcceptor {
        let config = self.config.read().unwrap_or_else(PoisonError::into_inner);
        TlsAcceptor::from(Arc::clone(&config))
    }
}

/// Its name where a protocol is agreed on (RFC 9113, section 3.2).
const HTTP_2: &[u8] = b"h2";

/// Whether HTTP/2 was agreed on.
pub(super) fn agreed_on_http2<S>(stream: &TlsStream<S>) -> bool {
    stream.get_ref().1.alpn_protocol() == Some(HTTP_2)
}

fn config(certificate: &Path, private_key: &Path) -> Result<Arc<ServerConfig>, TlsError> {
    let unreadable = |path: &Path| {
        let path = path.to_owned();
        move |source| TlsError::Unreadable { path, source }
    };
    let chain = CertificateDer::pem_file_iter(certificate)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(unreadable(certificate))?;
    if chain.is_empty() {
        return Err(TlsError::NoCertificate(certificate.to_owned()));
    }
    let key = PrivateKeyDer::from_pem_file(private_key).map_err(unreadable(private_key))?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .and_then(|builder| builder.with_no_client_auth().with_single_cert(chain, key))
        .map_err(TlsError::Unfit)?;
    config.alpn_protocols = vec![HTTP_2.to_vec(), b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}
