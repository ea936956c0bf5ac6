//! What the journeys stand on: the real program, a real browser of a phone's size, the real Tauri window on a
//! screen of its own. Everything waits for what it wants to see, and nothing waits longer than [`PATIENCE`].
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use fantoccini::{Client, ClientBuilder, Locator, elements::Element, error::CmdError, wd::Capabilities};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::{
    io::{BufRead, BufReader},
    net::TcpListener,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};
use tempfile::TempDir;
use tokio::runtime::Runtime;

/// Longest wait for anything: two cores share a browser, a driver and the program.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// Root of the project.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// A built program of this workspace, beside the test itself.
#[must_use]
pub fn built(name: &str) -> PathBuf {
    let path = std::env::current_exe()
        .unwrap()
        .parent()
        .unwrap()
        .parent()
        .unwrap()
        .join(name);
    assert!(
        path.exists(),
        "{} is not built: run `cargo build --workspace --bins` first",
        path.display()
    );
    path
}

/// A child that ends with its test.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        self.0.kill().ok();
        self.0.wait().ok();
    }
}

/// The program, serving the demo yard.
pub struct Program {
    child: Ended,
    /// Address, with the slash at its end.
    pub base: String,
    data: PathBuf,
    _folder: Option<TempDir>,
}

impl Program {
    /// The demo yard on a fresh folder.
    #[must_use]
    pub fn serve() -> Self {
        let folder = TempDir::new().unwrap();
        let mut program = Self::serve_on(folder.path());
        program._folder = Some(folder);
        program
    }

    /// The demo yard on a folder that may hold one already.
    #[must_use]
    pub fn serve_on(data: &Path) -> Self {
        let mut child = Command::new(built("bowseam"))
            .args(["demo", "--no-browser", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let base = line
            .trim()
            .strip_prefix("ready ")
            .unwrap_or_else(|| panic!("not the ready line: {line:?}"))
            .to_owned();
        Self {
            child: Ended(child),
            base,
            data: data.to_owned(),
            _folder: None,
        }
    }

    /// Its data folder.
    #[must_use]
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// Ends it at once, as a dead battery does.
    pub fn kill(mut self) {
        self.child.0.kill().unwrap();
        self.child.0.wait().unwrap();
    }
}

/// A port that nobody listens on now.
fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port()
}

/// A page of a browser or window, driven by WebDriver.
pub struct Page {
    client: Option<Client>,
    runtime: Runtime,
    _driver: Ended,
    _screen: Option<Ended>,
    _profile: TempDir,
}

impl Page {
    /// A Chromium of a phone's size.
    #[must_use]
    pub fn phone() -> Self {
        let profile = TempDir::new().unwrap();
        let port = free_port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let driver = Ended(driver.expect("chromedriver runs (tests/set-up installs it)"));
        let mut arguments = vec![format!("--user-data-dir={}", profile.path().display())];
        arguments.extend(
            "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking \
             --disable-component-update --disable-sync --disable-dev-shm-usage --window-size=360,800 --lang=en-US"
                .split_whitespace()
                .map(str::to_owned),
        );
        let wanted = json!({"goog:chromeOptions": {"args": arguments,
            "mobileEmulation": {"deviceMetrics": {"width": 360, "height": 800, "pixelRatio": 1.0, "touch": true}}}});
        Self::connect(port, &wanted, driver, None, profile)
    }

    /// The Tauri window on `data`, on a virtual screen of its own.
    #[must_use]
    pub fn window(data: &Path) -> Self {
        let profile = TempDir::new().unwrap();
        let mut screen = Command::new("Xvfb")
            .args([
                "-displayfd",
                "1",
                "-screen",
                "0",
                "1000x1000x24",
                "-nolisten",
                "tcp",
            ])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb runs (tests/set-up installs it)");
        let mut number = String::new();
        BufReader::new(screen.stdout.take().unwrap())
            .read_line(&mut number)
            .unwrap();
        let (port, inner) = (free_port(), free_port());
        let cargo_bin = PathBuf::from(std::env::var_os("HOME").unwrap()).join(".cargo/bin/tauri-driver");
        let name = if cargo_bin.exists() {
            cargo_bin
        } else {
            PathBuf::from("tauri-driver")
        };
        let driver = Command::new(name)
            .args(["--port", &port.to_string(), "--native-port", &inner.to_string()])
            .env("DISPLAY", format!(":{}", number.trim()))
            .env("LIBGL_ALWAYS_SOFTWARE", "1")
            .env("WEBKIT_DISABLE_COMPOSITING_MODE", "1")
            .env("BOWSEAM_DATA", data)
            .env("XDG_CACHE_HOME", profile.path())
            .env("XDG_DATA_HOME", profile.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let driver = Ended(driver.expect("tauri-driver runs (tests/set-up installs it)"));
        let wanted = json!({"browserName": "wry", "tauri:options": {"application": built("bowseam-shell")}});
        Self::connect(port, &wanted, driver, Some(Ended(screen)), profile)
    }

    fn connect(port: u16, wanted: &Value, driver: Ended, screen: Option<Ended>, profile: TempDir) -> Self {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .unwrap();
        let wanted: Capabilities = serde_json::from_value(wanted.clone()).unwrap();
        let client = runtime.block_on(async {
            let start = Instant::now();
            loop {
                let made = ClientBuilder::new(HttpConnector::new())
                    .capabilities(wanted.clone())
                    .connect(&format!("http://127.0.0.1:{port}"))
                    .await;
                match made {
                    Ok(client) => return client,
                    Err(e) if start.elapsed() > PATIENCE => panic!("no session with the driver: {e}"),
                    Err(_) => tokio::time::sleep(Duration::from_millis(200)).await,
                }
            }
        });
        Self {
            client: Some(client),
            runtime,
            _driver: driver,
            _screen: screen,
            _profile: profile,
        }
    }

    fn client(&self) -> &Client {
        self.client.as_ref().unwrap()
    }

    /// Goes to an address.
    pub fn open(&self, address: &str) {
        self.runtime.block_on(self.client().goto(address)).unwrap();
    }

    /// Goes to an address and waits until the page is drawn; the words on it then.
    #[must_use]
    pub fn look(&self, address: &str) -> String {
        self.open(address);
        self.until("the page is drawn", || {
            self.run("const main = document.querySelector('main'); return !!main && main.innerText.trim().length > 0") == true
        });
        self.words()
    }

    /// Where it is.
    #[must_use]
    pub fn address(&self) -> String {
        self.runtime
            .block_on(self.client().current_url())
            .unwrap()
            .to_string()
    }

    /// Runs a script and gives what it returns.
    pub fn run(&self, script: &str) -> Value {
        self.runtime
            .block_on(self.client().execute(script, vec![]))
            .unwrap()
    }

    /// All words on the page that are shown.
    #[must_use]
    pub fn words(&self) -> String {
        self.run("return document.body ? document.body.innerText : ''")
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    /// Waits until `text` is on the page.
    pub fn see(&self, text: &str) {
        self.until(&format!("{text:?} is seen"), || self.words().contains(text));
    }

    /// Waits until `text` is not on the page.
    pub fn see_no(&self, text: &str) {
        self.until(&format!("{text:?} is gone"), || !self.words().contains(text));
    }

    /// Waits until something is so.
    pub fn until(&self, what: &str, so: impl Fn() -> bool) {
        let start = Instant::now();
        while !so() {
            assert!(
                start.elapsed() < PATIENCE,
                "waited {PATIENCE:?} until {what}; at {} the page says:\n{}",
                self.address(),
                self.words()
            );
            std::thread::sleep(Duration::from_millis(60));
        }
    }

    /// Taps the first shown button, link, radio label or summary that is called `name` (its words, or its label).
    pub fn tap(&self, name: &str) {
        self.tap_in("", name);
    }

    /// As [`Self::tap`], inside what the CSS selector names.
    pub fn tap_in(&self, inside: &str, name: &str) {
        let find = format!(
            r"const name = {name}, inside = {inside} ? document.querySelector({inside}) : document;
            const said = e => (e.getAttribute('aria-label') || e.innerText || e.value || '').replace(/\s+/g, ' ').trim();
            const all = inside ? [...inside.querySelectorAll('button, a, label, summary, [role=button]')].filter(e => e.getClientRects().length && !e.disabled) : [];
            return all.find(e => said(e) === name) || all.find(e => said(e).startsWith(name)) || null;",
            name = json!(name),
            inside = json!(inside)
        );
        self.click(&format!("{name:?}"), &find);
    }

    /// Taps what a CSS selector finds.
    pub fn tap_css(&self, css: &str) {
        self.click(css, &format!("return document.querySelector({})", json!(css)));
    }

    /// Clicks what a script finds, where the finger would touch it: something that covers it is a failure.
    fn click(&self, what: &str, find: &str) {
        let start = Instant::now();
        loop {
            let tried = self.runtime.block_on(async {
                let found = self.client().execute(find, vec![]).await?;
                if found.is_null() {
                    return Ok(false);
                }
                let element = self.element(found);
                self.client()
                    .execute(
                        "arguments[0].scrollIntoView({block: 'center'})",
                        vec![serde_json::to_value(&element).unwrap()],
                    )
                    .await?;
                element.click().await.map(|()| true)
            });
            match tried {
                Ok(true) => return,
                Ok(false) | Err(CmdError::Standard(_)) if start.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(80));
                }
                other => panic!(
                    "cannot tap {what}: {other:?}; at {} the page says:\n{}",
                    self.address(),
                    self.words()
                ),
            }
        }
    }

    fn element(&self, found: Value) -> Element {
        let id = found
            .as_object()
            .and_then(|o| o.values().next())
            .and_then(Value::as_str)
            .expect("an element");
        Element::from_element_id(self.client().clone(), id.to_owned().into())
    }

    /// Types into the field with this label, as a person does, and leaves it so that it is saved.
    pub fn fill(&self, label: &str, text: &str) {
        let find = format!(
            r"const label = {label};
            const shown = e => e.getClientRects().length && !e.disabled;
            const said = e => [e.getAttribute('aria-label'), ...[...(e.labels || [])].map(l => l.innerText)].filter(Boolean).map(s => s.replace(/\s+/g, ' ').trim());
            const all = [...document.querySelectorAll('input:not([type=file]):not([type=radio]), textarea, select')].filter(shown);
            return all.find(e => said(e).includes(label)) || all.find(e => said(e).some(s => s.startsWith(label))) || null;",
            label = json!(label)
        );
        let start = Instant::now();
        loop {
            let tried = self.runtime.block_on(async {
                let found = self.client().execute(&find, vec![]).await?;
                if found.is_null() {
                    return Ok(false);
                }
                let field = self.element(found);
                let value = serde_json::to_value(&field).unwrap();
                self.client().execute("arguments[0].scrollIntoView({block: 'center'}); arguments[0].focus(); arguments[0].select && arguments[0].select()", vec![value.clone()]).await?;
                if text.is_empty() {
                    field.clear().await?;
                } else {
                    field.send_keys(text).await?;
                }
                self.client().execute("arguments[0].blur()", vec![value]).await?;
                Ok::<_, CmdError>(true)
            });
            match tried {
                Ok(true) => return,
                Ok(false) | Err(CmdError::Standard(_)) if start.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(80));
                }
                other => panic!(
                    "cannot fill {label:?}: {other:?}; at {} the page says:\n{}",
                    self.address(),
                    self.words()
                ),
            }
        }
    }

    /// Gives files to the `n`th file input of the page (the one without `capture` comes where many are wanted).
    pub fn give_files(&self, css: &str, files: &[PathBuf]) {
        let paths = files
            .iter()
            .map(|f| f.to_str().unwrap())
            .collect::<Vec<_>>()
            .join("\n");
        let start = Instant::now();
        loop {
            let given = self.runtime.block_on(async {
                self.client()
                    .find(Locator::Css(css))
                    .await?
                    .send_keys(&paths)
                    .await
            });
            match given {
                Ok(()) => return,
                // The page was drawn anew between finding the input and giving it the files.
                Err(CmdError::Standard(_)) if start.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(80))
                }
                Err(e) => panic!("cannot give files to {css}: {e}"),
            }
        }
    }

    /// A picture of the page, PNG.
    #[must_use]
    pub fn picture(&self) -> Vec<u8> {
        self.runtime.block_on(self.client().screenshot()).unwrap()
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        if let Some(client) = self.client.take() {
            // The window or browser goes with the session; a driver that is gone already took it along.
            self.runtime.block_on(client.close()).ok();
        }
    }
}

/// One HTTP request as a stranger might make it, with the Host and Origin that are given; its status and body.
#[must_use]
pub fn request(
    base: &str,
    method: &str,
    path: &str,
    host: &str,
    origin: Option<&str>,
    body: &str,
) -> (u16, String) {
    use std::io::{Read, Write};
    let address = base.trim_start_matches("http://").trim_end_matches('/');
    let mut stream = std::net::TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let origin = origin.map(|o| format!("Origin: {o}\r\n")).unwrap_or_default();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\n{origin}bowseam: 1\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes()).unwrap();
    stream.write_all(body.as_bytes()).unwrap();
    let mut all = Vec::new();
    stream.read_to_end(&mut all).unwrap();
    let text = String::from_utf8_lossy(&all).into_owned();
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let status = head
        .split_whitespace()
        .nth(1)
        .and_then(|s| s.parse().ok())
        .unwrap_or(0);
    (status, body.to_owned())
}
