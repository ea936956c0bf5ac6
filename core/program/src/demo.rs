//! Serving on loopback: the demo yard (a phone and an office in one program), or an office on its own.

use crate::{Ended, Serve, baked, pages, yard};
use axum::{Router, middleware::from_fn_with_state, response::Redirect, routing::get};
use bowseam_app::{
    app::{App, Kind},
    sending,
};
use bowseam_office::{Guard, Office, guard};
use std::{
    io::Write,
    net::{Ipv4Addr, SocketAddr},
    path::PathBuf,
    sync::Arc,
};
use tempfile::TempDir;
use tokio::net::TcpListener;

/// What the demo's office calls itself.
const OFFICE_NAME: &str = "Demo yard office";
/// Where the office's pages begin.
const OFFICE_LIST: &str = "/office/list.html";

/// The demo yard: a phone's screens at `/field/`, an office at `/office/`.
pub fn demo(serve: &Serve) -> Result<(), Ended> {
    let (data, _temporary) = folder(serve)?;
    let (phone, office) = baked::open(&data)?;
    let (phone, office) = (Arc::new(phone), Arc::new(office));
    sending::start_phone(&phone);
    sending::start_office(&office);
    let router = pages::phone(Arc::clone(&phone)).merge(office_pages(&office));
    run(serve, router, move |address| {
        // The demo's phone is known to the demo's office; on a kept folder the port may be another one than last time.
        let url = format!("http://{address}/office");
        eprintln!("The demo yard's office: {url}/");
        std::thread::spawn(move || {
            let code = bowseam_send::codes::new_code(&office.store(), chrono::Utc::now());
            if let Ok((code, _)) = code
                && let Err(e) = bowseam_send::enrol(&phone.store(), &url, &code, "demo phone")
            {
                eprintln!("The demo's phone is not known to its office: {e}");
            }
            phone.send_now();
        });
    })
}

/// An office on its own.
pub fn office(serve: &Serve) -> Result<(), Ended> {
    let (data, _temporary) = folder(serve)?;
    let app = Arc::new(App::open(&data, Kind::Office)?);
    if app
        .store()
        .people()
        .map_err(bowseam_app::answer::Refusal::from)?
        .is_empty()
    {
        yard::settings(&app)?;
        yard::people(&app, &yard::pin_hash()?)?;
        eprintln!(
            "A new office: its people are those of the demo, all with the PIN 1234, until the shop's own are entered."
        );
    }
    sending::start_office(&app);
    let router = Router::new()
        .nest("/office", office_pages(&app))
        .fallback(pages::screens);
    run(
        serve,
        router.route("/", get(|| async { Redirect::temporary("/office/list.html") })),
        |_| (),
    )
}

fn office_pages(app: &Arc<App>) -> Router {
    let office = bowseam_office::router(Office::new(Arc::clone(app), OFFICE_NAME));
    let to_list = || get(|| async { Redirect::temporary(OFFICE_LIST) });
    Router::new()
        .nest("/office", office)
        .route("/office", to_list())
        .route("/office/", to_list())
}

fn folder(serve: &Serve) -> Result<(PathBuf, Option<TempDir>), Ended> {
    match &serve.data {
        Some(data) => Ok((data.clone(), None)),
        None => {
            let made = TempDir::with_prefix("bowseam-")
                .map_err(|e| Ended::with(1, format!("No temporary folder can be made: {e}.")))?;
            Ok((made.path().to_owned(), Some(made)))
        }
    }
}

/// Serves until Ctrl-C or a polite end; `ready` is called with the address once it is listened at.
fn run(serve: &Serve, router: Router, ready: impl FnOnce(SocketAddr)) -> Result<(), Ended> {
    let runtime = tokio::runtime::Runtime::new()
        .map_err(|e| Ended::with(1, format!("The program cannot start: {e}.")))?;
    runtime.block_on(async {
        let at = SocketAddr::from((Ipv4Addr::LOCALHOST, serve.port));
        let listener = TcpListener::bind(at).await.map_err(|e| {
            Ended::with(
                1,
                format!(
                    "Port {} cannot be used: {e}. Give another one with --port, or none for a free one.",
                    serve.port
                ),
            )
        })?;
        let address = listener.local_addr().map_err(|e| Ended::with(1, e.to_string()))?;
        let app = router.layer(from_fn_with_state(Guard::new(address.port()), guard));
        let url = format!("http://{address}/");
        let mut out = std::io::stdout().lock();
        // A reader that is gone is no reason to stop serving.
        let _ = writeln!(out, "ready {url}").and_then(|()| out.flush());
        drop(out);
        ready(address);
        if !serve.no_browser {
            open_browser(&url);
        }
        axum::serve(listener, app)
            .with_graceful_shutdown(ended())
            .await
            .map_err(|e| Ended::with(1, format!("Serving stopped: {e}.")))
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
