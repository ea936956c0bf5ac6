//! TLS by rustls over a listener. Handshakes run beside one another and within a time, so that somebody who connects and
//! says nothing holds up nobody.

use crate::Ended;
use axum::serve::Listener;
use std::{net::SocketAddr, path::Path, sync::Arc, time::Duration};
use tokio::{
    net::{TcpListener, TcpStream},
    sync::{Semaphore, mpsc},
    time::timeout,
};
use tokio_rustls::{
    TlsAcceptor,
    rustls::{
        ServerConfig,
        crypto::ring,
        pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject},
    },
    server::TlsStream,
};

/// Most handshakes at a time.
const MOST: usize = 200;
const PATIENCE: Duration = Duration::from_secs(10);

/// Connections that have shaken hands.
pub struct Tls {
    shaken: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    address: SocketAddr,
}

impl Tls {
    /// Reads certificate and key.
    ///
    /// # Errors
    /// A file cannot be read or holds something else, or both do not go together.
    pub fn settings(certificate: &Path, key: &Path) -> Result<Arc<ServerConfig>, Ended> {
        let wrong = |what: &str, file: &Path, e: &dyn std::fmt::Display| {
            Ended::with(
                2,
                format!(
                    "The {what} in {} cannot be used: {e}. PEM files are accepted.",
                    file.display()
                ),
            )
        };
        let chain: Result<Vec<CertificateDer<'_>>, _> =
            CertificateDer::pem_file_iter(certificate).and_then(Iterator::collect);
        let chain = chain.map_err(|e| wrong("certificate", certificate, &e))?;
        let private = PrivateKeyDer::from_pem_file(key).map_err(|e| wrong("key", key, &e))?;
        let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|e| wrong("certificate", certificate, &e))?
            .with_no_client_auth()
            .with_single_cert(chain, private)
            .map_err(|e| wrong("certificate", certificate, &e))?;
        Ok(Arc::new(config))
    }

    /// Shakes hands with who connects, until this is dropped.
    pub fn listen(listener: TcpListener, address: SocketAddr, settings: Arc<ServerConfig>) -> Self {
        let (shaken_by, shaken) = mpsc::channel(64);
        let acceptor = TlsAcceptor::from(settings);
        let room = Arc::new(Semaphore::new(MOST));
        tokio::spawn(async move {
            while !shaken_by.is_closed() {
                let Ok(place) = Arc::clone(&room).acquire_owned().await else {
                    return;
                };
                let Ok((stream, from)) = listener.accept().await else {
                    // Too many open files, or a connection that is gone already: others go on.
                    tokio::time::sleep(Duration::from_millis(50)).await;
                    continue;
                };
                let (acceptor, shaken_by) = (acceptor.clone(), shaken_by.clone());
                tokio::spawn(async move {
                    let _place = place;
                    if let Ok(Ok(stream)) = timeout(PATIENCE, acceptor.accept(stream)).await {
                        // Nobody listens any more only when the program ends.
                        let _ = shaken_by.send((stream, from)).await;
                    }
                });
            }
        });
        Self { shaken, address }
    }
}

impl Listener for Tls {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.shaken.recv().await {
            Some(shaken) => shaken,
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> std::io::Result<Self::Addr> {
        Ok(self.address)
    }
}
