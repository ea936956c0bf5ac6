//! Faults over real HTTP between the real program and phones that are programs of their own: `faults N [FIRST]` makes N
//! faults on SQLite and a folder, and N on PostgreSQL and an S3 store with two receivers.
//!
//! A history is ten faults on one office. In each a phone saves something, begins to send, and after a random moment
//! something happens: a receiver is killed (SIGKILL), the phone is, the wire is cut after so many bytes, PostgreSQL or the
//! S3 server crashes. What fell is started again and the history goes on. At the end the rest is sent undisturbed, and
//! the office must have every entry once, as the phone wrote it, every photo to the byte, and fold to the same jobs.
//! What was *arrived* is never sent again, so anything that the office answered for and lost shows there.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::print_stdout
)]

#[path = "../../shared/tests/servers/mod.rs"]
mod servers;

#[path = "../../jobs/examples/common/dice.rs"]
mod dice;

#[path = "common/photo.rs"]
mod taken;

use bowseam_jobs::Store;
use bowseam_jobs::entry::{ArrivalField, Entry, What};
use bowseam_jobs::outbox::ItemState;
use bowseam_photos::{Folder, sha256};
use bowseam_send::{Limits, Office, Sender, wire};
use dice::Dice;
use serde_json::{Value, json};
use servers::{KEY, Postgres, S3, SECRET, are_there, free_port};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitCode, Stdio};
use std::sync::atomic::{AtomicI64, AtomicU16, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};
use taken::added;
use uuid::Uuid;

const FAULTS: u64 = 10;
const PERSON: Uuid = Uuid::from_u128(7);

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    match words[..] {
        ["phone", folder, url] => {
            send(Path::new(folder), url);
            ExitCode::SUCCESS
        }
        [count] => all(count.parse().unwrap(), 0),
        [count, first] => all(count.parse().unwrap(), first.parse().unwrap()),
        _ => panic!("faults N [FIRST]"),
    }
}

/// A phone's program: one round, also of what waits for a later try.
fn send(folder: &Path, url: &str) {
    let store = Store::open(folder).unwrap().store;
    let photos = Folder::open(folder.join("photos")).unwrap();
    let mut office = Office::of(&store).unwrap().unwrap();
    office.url = url.to_owned();
    let limits = Limits {
        at_once: true,
        ..Limits::default()
    };
    Sender::default()
        .round_within(&store, &photos, &office, limits)
        .unwrap();
}

// --- what falls and is started again ----------------------------------------------------------------------

/// The program `bowseam` beside this one.
fn program() -> PathBuf {
    let here = std::env::current_exe().unwrap();
    let program = here.parent().unwrap().parent().unwrap().join("bowseam");
    assert!(program.exists(), "build it first: cargo build -p bowseam");
    program
}

struct Receiver {
    data: PathBuf,
    port: u16,
    places: Vec<String>,
    process: Child,
    /// What it said on standard error.
    said: Arc<Mutex<String>>,
}

impl Receiver {
    fn start(data: PathBuf, port: u16, places: Vec<String>) -> Self {
        let mut process = Command::new(program())
            .args([
                "office",
                "--no-browser",
                "--behind-proxy",
                "--port",
                &port.to_string(),
                "--data",
            ])
            .arg(&data)
            .args(&places)
            .env("AWS_ACCESS_KEY_ID", KEY)
            .env("AWS_SECRET_ACCESS_KEY", SECRET)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let said = Arc::new(Mutex::new(String::new()));
        let (mut errors, heard) = (process.stderr.take().unwrap(), Arc::clone(&said));
        thread::spawn(move || {
            let mut buffer = [0; 1000];
            while let Ok(n @ 1..) = errors.read(&mut buffer) {
                heard
                    .lock()
                    .unwrap()
                    .push_str(&String::from_utf8_lossy(&buffer[..n]));
            }
        });
        let mut line = String::new();
        BufReader::new(process.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        assert!(line.starts_with("ready "), "the office does not start: {line:?}");
        Self {
            data,
            port,
            places,
            process,
            said,
        }
    }

    /// The PIN that a new office says once.
    fn pin(&self) -> String {
        let begun = Instant::now();
        loop {
            let said = self.said.lock().unwrap().clone();
            if let Some(pin) = said.split_once("the PIN ").and_then(|(_, rest)| rest.get(..12)) {
                return pin.to_owned();
            }
            assert!(
                begun.elapsed() < Duration::from_secs(20),
                "a new office says its first PIN: {said}"
            );
            thread::sleep(Duration::from_millis(5));
        }
    }

    fn kill(&mut self) {
        self.process.kill().unwrap();
        self.process.wait().unwrap();
    }

    fn go_on(&mut self) {
        self.kill();
        *self = Self::start(self.data.clone(), self.port, self.places.clone());
    }
}

/// Ends without a word, as a dead battery would.
impl Drop for Receiver {
    fn drop(&mut self) {
        self.kill();
    }
}

/// A wire to a receiver that is cut after so many bytes, either way.
struct Wire {
    port: u16,
    to: Arc<AtomicU16>,
    left: Arc<AtomicI64>,
}

impl Wire {
    fn new() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let (to, left) = (Arc::new(AtomicU16::new(0)), Arc::new(AtomicI64::new(i64::MAX)));
        let (at, budget) = (Arc::clone(&to), Arc::clone(&left));
        thread::spawn(move || {
            for near in listener.incoming().flatten() {
                let Ok(far) = TcpStream::connect(("127.0.0.1", at.load(Ordering::SeqCst))) else {
                    continue;
                };
                let back = (far.try_clone().unwrap(), near.try_clone().unwrap());
                for (from, to) in [(near, far), back] {
                    let budget = Arc::clone(&budget);
                    thread::spawn(move || carry(from, to, &budget));
                }
            }
        });
        Self { port, to, left }
    }
}

fn carry(mut from: TcpStream, mut to: TcpStream, left: &AtomicI64) {
    let mut buffer = [0; 8192];
    while let Ok(n) = from.read(&mut buffer) {
        let most = left.fetch_sub(n as i64, Ordering::SeqCst).clamp(0, n as i64) as usize;
        if n == 0 || to.write_all(&buffer[..most]).is_err() || most < n {
            break;
        }
    }
    let _ = to.shutdown(Shutdown::Both);
    let _ = from.shutdown(Shutdown::Both);
}

// --- a history --------------------------------------------------------------------------------------------

struct History<'a> {
    dice: Dice,
    folder: &'a Path,
    receivers: Vec<Receiver>,
    servers: Option<&'a mut (Postgres, S3)>,
    wire: Wire,
}

fn phone_folder(folder: &Path) -> PathBuf {
    folder.join("phone")
}

/// Asks at a receiver's pages.
fn ask(port: u16, cookie: &str, ask: Value) -> (String, Value) {
    let request = ureq::post(format!("http://127.0.0.1:{port}/office/ask")).header("bowseam", "1");
    let mut answer = request.header("cookie", cookie).send_json(ask).unwrap();
    let cookie = answer
        .headers()
        .get("set-cookie")
        .map(|set| set.to_str().unwrap().to_owned());
    let cookie = cookie.unwrap_or_default().split(';').next().unwrap().to_owned();
    (cookie, answer.body_mut().read_json().unwrap())
}

impl History<'_> {
    fn url(&self) -> String {
        format!("http://127.0.0.1:{}/office", self.wire.port)
    }

    fn enrol(&self) {
        let port = self.receivers[0].port;
        let person = ask(port, "", json!({"kind": "hello"})).1["people"][0]["id"].clone();
        let sign_in = json!({"kind": "sign_in", "person": person, "pin": self.receivers[0].pin()});
        let (cookie, _) = ask(port, "", sign_in);
        let code = ask(port, &cookie, json!({"kind": "new_code", "office": ""})).1["code"].clone();
        let store = Store::open(&phone_folder(self.folder)).unwrap().store;
        let url = format!("http://127.0.0.1:{port}/office");
        bowseam_send::enrol(&store, &url, code.as_str().unwrap(), "Phone").unwrap();
    }

    /// Some entries, and perhaps a photo of one to four parts.
    fn save(&mut self) {
        let store = Store::open(&phone_folder(self.folder)).unwrap().store;
        let photos = Folder::open(phone_folder(self.folder).join("photos")).unwrap();
        for _ in 0..1 + self.dice.roll(5) {
            let job = Uuid::from_u128(u128::from(self.dice.roll(3)) + 1);
            let value = Some("x".repeat(self.dice.roll(3000) as usize));
            let field = ArrivalField::Slot;
            let what = What::Arrival { field, value };
            store.append(job, PERSON, Uuid::now_v7(), vec![what]).unwrap();
        }
        if self.dice.roll(3) > 0 {
            let bytes = self.photo();
            let kept = photos.keep(&bytes).unwrap();
            let what = added(kept.sha256, "1.png".into(), kept.bytes);
            store
                .append(Uuid::from_u128(1), PERSON, Uuid::now_v7(), vec![what])
                .unwrap();
        }
    }

    fn photo(&mut self) -> Vec<u8> {
        let mut bytes = include_bytes!("../../../src-tauri/icons/32x32.png").to_vec();
        for _ in 0..self.dice.roll(130_000) {
            bytes.extend(self.dice.roll(u64::MAX).to_le_bytes());
        }
        bytes
    }

    fn phone(&self) -> Child {
        let sent = Command::new(std::env::current_exe().unwrap())
            .arg("phone")
            .arg(phone_folder(self.folder))
            .arg(self.url())
            .stderr(Stdio::null())
            .spawn();
        sent.unwrap()
    }

    fn to(&self, receiver: usize) {
        self.wire
            .to
            .store(self.receivers[receiver].port, Ordering::SeqCst);
    }

    /// One fault; answers what it was.
    fn fault(&mut self) -> &'static str {
        self.save();
        self.wire.left.store(i64::MAX, Ordering::SeqCst);
        let receiver = self.dice.roll(self.receivers.len() as u64) as usize;
        self.to(receiver);
        let kinds = if self.servers.is_some() { 6 } else { 3 };
        let kind = self.dice.roll(kinds);
        let cut = self.dice.roll(900_000) as i64;
        if kind == 2 {
            self.wire.left.store(cut, Ordering::SeqCst);
        }
        let mut phone = self.phone();
        thread::sleep(Duration::from_millis(20 + self.dice.roll(250)));
        let what = match kind {
            0 => {
                self.receivers[receiver].kill();
                // Nobody answers: the phone's round ends by itself.
                phone.wait().unwrap();
                self.receivers[receiver].go_on();
                "office killed"
            }
            1 => {
                phone.kill().unwrap();
                "phone killed"
            }
            2 => "wire cut",
            3 => {
                self.servers.as_mut().unwrap().0.crash();
                thread::sleep(Duration::from_millis(self.dice.roll(400)));
                self.servers.as_mut().unwrap().0.go_on();
                "PostgreSQL crashed"
            }
            4 => {
                self.servers.as_mut().unwrap().1.crash();
                thread::sleep(Duration::from_millis(self.dice.roll(400)));
                self.servers.as_mut().unwrap().1.go_on();
                "S3 store crashed"
            }
            _ => {
                // The rest goes to the other receiver, in the middle of a photo or a message.
                self.to((receiver + 1) % self.receivers.len());
                self.receivers[receiver].kill();
                phone.wait().unwrap();
                let mut again = self.phone();
                again.wait().unwrap();
                self.receivers[receiver].go_on();
                "office killed, the other one went on"
            }
        };
        phone.wait().unwrap();
        what
    }

    /// Sends the rest; then all of it must be there once and equal.
    fn finish(&mut self) -> Result<(), String> {
        self.wire.left.store(i64::MAX, Ordering::SeqCst);
        let folder = phone_folder(self.folder);
        for round in 0..40 {
            self.to(round % self.receivers.len());
            self.phone().wait().unwrap();
            let store = Store::open(&folder).unwrap().store;
            let left = store.unsent(None, 100_000).unwrap();
            if let Some(stuck) = left.iter().find(|item| item.state == ItemState::Stuck) {
                return Err(format!("stuck: {}", stuck.why));
            }
            if left.is_empty() {
                break;
            }
            if round == 39 {
                return Err(format!("{} never sent: {:?}", left.len(), left[0].why));
            }
        }
        (0..self.receivers.len()).try_for_each(|receiver| self.compare(receiver))
    }

    fn compare(&self, receiver: usize) -> Result<(), String> {
        let store = Store::open(&phone_folder(self.folder)).unwrap().store;
        let port = self.receivers[receiver].port;
        let token = format!("Bearer {}", Office::of(&store).unwrap().unwrap().token);
        let get = |path: &str| {
            let request = ureq::get(format!("http://127.0.0.1:{port}/office/{path}"));
            request
                .header("authorization", &token)
                .call()
                .map_err(|e| format!("{path}: {e}"))
        };
        let mut there: Vec<Entry> = Vec::new();
        let mut after = 0;
        loop {
            let mut answer = get(&format!("entries?after={after}&own=true"))?;
            let page: wire::Pulled = answer
                .body_mut()
                .with_config()
                .limit(1 << 26)
                .read_json()
                .unwrap();
            there.extend(
                page.entries
                    .into_iter()
                    .map(|value| serde_json::from_value(value).unwrap()),
            );
            after = page.next;
            if !page.more {
                break;
            }
        }
        let ours: BTreeMap<Uuid, Entry> = own(&store);
        let ids: BTreeSet<Uuid> = there.iter().map(|entry| entry.id).collect();
        if ids.len() != there.len() {
            return Err("doubled".into());
        }
        if let Some(lost) = ours.keys().find(|id| !ids.contains(id)) {
            return Err(format!("lost: entry {lost}"));
        }
        if there
            .iter()
            .any(|entry| ours.get(&entry.id).is_some_and(|own| own != entry))
        {
            return Err("unequal: an entry is another one".into());
        }
        for entry in ours.values() {
            if let What::Photo { sha256: sha, .. } = &entry.what {
                let mut answer = get(&format!("photo/{sha}/original"))?;
                let bytes = answer
                    .body_mut()
                    .with_config()
                    .limit(1 << 26)
                    .read_to_vec()
                    .unwrap();
                if sha256(&bytes) != *sha {
                    return Err(format!("unequal: photo {sha}"));
                }
            }
        }
        let other = tempfile::tempdir().unwrap();
        let other = Store::open(other.path()).unwrap().store;
        other.receive(&there).unwrap();
        let fold = |store: &Store, n| serde_json::to_value(store.job(Uuid::from_u128(n)).unwrap()).unwrap();
        match (1..4).all(|n| fold(&other, n) == fold(&store, n)) {
            true => Ok(()),
            false => Err("unequal: a job folds otherwise".into()),
        }
    }
}

/// The entries that this phone wrote.
fn own(store: &Store) -> BTreeMap<Uuid, Entry> {
    let all = store.entries_after(0, usize::MAX).unwrap().into_iter();
    all.map(|(_, entry)| (entry.id, entry))
        .filter(|(_, entry)| entry.device == store.device())
        .collect()
}

fn history(seed: u64, servers: Option<&mut (Postgres, S3)>, told: &mut Told) -> Result<(), String> {
    let folder = tempfile::tempdir().unwrap();
    let places = servers.as_ref().map_or_else(Vec::new, |(database, photos)| {
        let photos = photos.address().replace("/photos", &format!("/seed{seed}"));
        vec![
            "--database".into(),
            database.new_database(),
            "--photos".into(),
            photos,
        ]
    });
    let count = if servers.is_some() { 2 } else { 1 };
    let receivers = (0..count).map(|n: u64| {
        Receiver::start(
            folder.path().join(format!("office{n}")),
            free_port(),
            places.clone(),
        )
    });
    let mut history = History {
        dice: Dice(seed.wrapping_mul(0x1234_5678_9abc_def1)),
        folder: folder.path(),
        receivers: receivers.collect(),
        servers,
        wire: Wire::new(),
    };
    history.enrol();
    for _ in 0..FAULTS {
        *told.entry(history.fault()).or_default() += 1;
    }
    history.finish()?;
    if history.servers.is_none() {
        // After a last kill the file is whole, and rebuilding it changes nothing.
        let data = history.receivers[0].data.clone();
        history.receivers.clear();
        let opened = Store::open(&data).map_err(|e| e.to_string())?;
        if let Some(salvage) = opened.salvage {
            return Err(format!("damaged: {salvage}"));
        }
        let list = opened.store.jobs(100, None).unwrap();
        opened.store.rebuild().unwrap();
        if opened.store.jobs(100, None).unwrap() != list {
            return Err("unequal: rebuilding changed a list".into());
        }
    }
    Ok(())
}

/// So many histories go on side by side, each with servers of its own: most of one is waiting for what was started again.
const SIDE_BY_SIDE: u64 = 3;

type Told = BTreeMap<&'static str, u64>;

/// Every so many-th of these histories, one after another; how many failed, and what happened.
fn some(seeds: std::ops::Range<u64>, shared: bool) -> (u64, Told) {
    let mut servers = shared.then(|| (Postgres::start(), S3::start()));
    let (mut failed, mut told) = (0, Told::new());
    for seed in seeds.step_by(SIDE_BY_SIDE as usize) {
        if let Err(why) = history(seed, servers.as_mut(), &mut told) {
            failed += 1;
            println!(
                "seed {seed} {} failed: {why}",
                if shared { "shared" } else { "alone" }
            );
        }
        if seed % 25 == 24 {
            println!("seed {seed} done");
        }
    }
    (failed, told)
}

fn all(count: u64, first: u64) -> ExitCode {
    let begun = Instant::now();
    let mut failed = 0;
    let end = first + count.div_ceil(FAULTS);
    for (shared, on) in [
        (false, "SQLite and a folder"),
        (true, "PostgreSQL and S3, two receivers"),
    ] {
        if shared && !are_there() {
            continue;
        }
        let done: Vec<(u64, Told)> = thread::scope(|scope| {
            let all: Vec<_> = (first..end.min(first + SIDE_BY_SIDE))
                .map(|from| scope.spawn(move || some(from..end, shared)))
                .collect();
            all.into_iter().map(|one| one.join().unwrap()).collect()
        });
        let mut told = Told::new();
        for (lost, happened) in done {
            failed += lost;
            for (what, often) in happened {
                *told.entry(what).or_default() += often;
            }
        }
        println!(
            "on {on}: {} faults in {} histories, {:.0} s, {told:?}",
            told.values().sum::<u64>(),
            end - first,
            begun.elapsed().as_secs_f64()
        );
    }
    println!(
        "faults over HTTP: {failed} histories failed, {:.0} s",
        begun.elapsed().as_secs_f64()
    );
    if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
