//! Serving: on loopback for this machine alone, or at another address under TLS, by a certificate of the shop's own or by a
//! proxy that stands before this program. Without either nothing but loopback is listened at: what phones send, and who
//! signs in, could be read on the way.

use crate::{Ended, Serve, tls::Tls};
use axum::{Router, middleware::from_fn_with_state, response::Redirect, routing::get};
use bowseam_office::{Guard, Office, guard};
use std::{
    io::Write,
    net::{IpAddr, Ipv4Addr, SocketAddr},
    path::{Path, PathBuf},
};
use tempfile::TempDir;
use tokio::net::TcpListener;

/// Where the office's pages begin.
pub const OFFICE_LIST: &str = "/office/list.html";

/// Where and how to listen.
pub struct At {
    pub address: SocketAddr,
    /// Certificate and key, PEM.
    pub tls: Option<(PathBuf, PathBuf)>,
    /// A proxy before this one does TLS.
    pub proxy: bool,
    pub open_browser: bool,
}

impl At {
    /// On this machine.
    pub fn loopback(serve: &Serve) -> Self {
        Self {
            address: SocketAddr::from((Ipv4Addr::LOCALHOST, serve.port)),
            tls: None,
            proxy: false,
            open_browser: !serve.no_browser,
        }
    }

    /// At an address that others may reach.
    ///
    /// # Errors
    /// It is not loopback, and neither a certificate nor a proxy is named.
    pub fn new(
        address: IpAddr,
        serve: &Serve,
        tls: Option<(PathBuf, PathBuf)>,
        proxy: bool,
    ) -> Result<Self, Ended> {
        if !address.is_loopback() && tls.is_none() && !proxy {
            return Err(Ended::with(
                2,
                format!(
                    "At {address} others could read what is sent: give --certificate and --key (PEM files), or --behind-proxy where a proxy before this program does TLS."
                ),
            ));
        }
        Ok(Self {
            address: SocketAddr::from((address, serve.port)),
            tls,
            proxy,
            open_browser: !serve.no_browser,
        })
    }

    /// Whether only pages of this same machine are served.
    pub fn is_private(&self) -> bool {
        self.address.ip().is_loopback() && !self.proxy
    }
}

/// The office's router with its pages.
pub fn office_pages(office: Office) -> Router {
    let to_list = || get(|| async { Redirect::temporary(OFFICE_LIST) });
    Router::new()
        .nest("/office", bowseam_office::router(office))
        .route("/office", to_list())
        .route("/office/", to_list())
}

/// The folder for data, a temporary one if none is given.
pub fn folder(data: Option<&Path>) -> Result<(PathBuf, Option<TempDir>), Ended> {
    match data {
        Some(data) => Ok((data.to_owned(), None)),
        None => {
            let made = TempDir::with_prefix("bowseam-")
                .map_err(|e| Ended::with(1, format!("No temporary folder can be made: {e}.")))?;
            Ok((made.path().to_owned(), Some(made)))
        }
    }
}

/// Serves until Ctrl-C or a polite end; `ready` is called with the address once it is listened at.
pub fn run(at: &At, router: Router, ready: impl FnOnce(SocketAddr)) -> Result<(), Ended> {
    let runtime = tokio::runtime::Runtime::new()
        .map_err(|e| Ended::with(1, format!("The program cannot start: {e}.")))?;
    runtime.block_on(async {
        let listener = TcpListener::bind(at.address).await.map_err(|e| {
            let port = at.address.port();
            Ended::with(
                1,
                format!(
                    "Port {port} cannot be used: {e}. Give another one with --port, or none for a free one."
                ),
            )
        })?;
        let address = listener.local_addr().map_err(|e| Ended::with(1, e.to_string()))?;
        // Other addresses are reached by names that are not known here; each door looks at where a page comes from.
        let router = match at.is_private() {
            true => router.layer(from_fn_with_state(Guard::new(address.port()), guard)),
            false => router,
        };
        let tls = at
            .tls
            .as_ref()
            .map(|(certificate, key)| Tls::settings(certificate, key))
            .transpose()?;
        let scheme = if tls.is_some() { "https" } else { "http" };
        let url = format!("{scheme}://{address}/");
        let mut out = std::io::stdout().lock();
        // A reader that is gone is no reason to stop serving.
        let _ = writeln!(out, "ready {url}").and_then(|()| out.flush());
        drop(out);
        ready(address);
        if at.open_browser {
            open_browser(&url);
        }
        let served = match tls {
            None => {
                axum::serve(listener, router)
                    .with_graceful_shutdown(ended())
                    .await
            }
            Some(tls) => {
                let listener = Tls::listen(listener, address, tls);
                axum::serve(listener, router)
                    .with_graceful_shutdown(ended())
                    .await
            }
        };
        served.map_err(|e| Ended::with(1, format!("Serving stopped: {e}.")))
    })
}

/// Waits for Ctrl-C or a polite end.
async fn ended() {
    let ctrl_c = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let Ok(mut term) = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) else {
            return;
        };
        tokio::select! { _ = ctrl_c => (), _ = term.recv() => () }
    }
    #[cfg(not(unix))]
    let _ = ctrl_c.await;
}

fn open_browser(url: &str) {
    let (program, arguments): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("explorer", &[])
    } else {
        ("xdg-open", &[])
    };
    let quiet = std::process::Stdio::null;
    let opened = std::process::Command::new(program)
        .args(arguments)
        .arg(url)
        .stdout(quiet())
        .stderr(quiet())
        .spawn();
    if opened.is_err() {
        eprintln!("Open {url} in a browser.");
    }
}
