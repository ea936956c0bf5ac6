//! A real PostgreSQL (Debian's) and a real S3 server (`s3s-fs`) for tests, each in a temporary folder: started, stopped
//! hard, started again. PostgreSQL does not run as root, so there it runs as an unprivileged user.
#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use std::fs;
use std::net::{TcpListener, TcpStream};
use std::os::unix::{fs::MetadataExt, process::CommandExt};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use tempfile::TempDir;

pub const KEY: &str = "bowseamkey";
pub const SECRET: &str = "bowseamsecret";
pub const BUCKET: &str = "yard";

/// A port that is free now, and that nothing here takes while its server is being started again: none of those that the
/// system gives to outgoing connections, and each once in a process.
pub fn free_port() -> u16 {
    const FIRST: u32 = 12_000;
    const PORTS: u32 = 20_000;
    static TAKEN: AtomicU32 = AtomicU32::new(0);
    loop {
        let n = std::process::id() * 101 + TAKEN.fetch_add(1, Ordering::Relaxed);
        let port = u16::try_from(FIRST + n % PORTS).unwrap();
        if TcpListener::bind(("127.0.0.1", port)).is_ok() {
            return port;
        }
    }
}

fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let begun = Instant::now();
    while !holds() {
        assert!(begun.elapsed() < Duration::from_secs(60), "never: {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Where Debian keeps the programs of its newest PostgreSQL.
fn postgres_programs() -> Option<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir("/usr/lib/postgresql")
        .ok()?
        .filter_map(|version| Some(version.ok()?.path().join("bin")))
        .filter(|bin| bin.join("initdb").exists())
        .collect();
    all.sort();
    all.pop()
}

fn s3_program() -> Option<PathBuf> {
    let home = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| Some(PathBuf::from(std::env::var_os("HOME")?).join(".cargo")));
    let program = home?.join("bin/s3s-fs");
    program.exists().then_some(program)
}

/// Whether both are installed (`tests/set-up` does it); says so if not.
pub fn are_there() -> bool {
    let there = postgres_programs().is_some() && s3_program().is_some();
    if !there {
        eprintln!("skipped: PostgreSQL or s3s-fs is not installed; tests/set-up installs both");
    }
    there
}

/// The user and group that PostgreSQL runs as: ours, or an unprivileged one where we are root.
fn user() -> Option<(u32, u32)> {
    if fs::metadata("/proc/self").unwrap().uid() != 0 {
        return None;
    }
    let all = fs::read_to_string("/etc/passwd").unwrap();
    let of = |name: &str| {
        let line = all.lines().find(|line| line.split(':').next() == Some(name))?;
        let mut numbers = line.split(':').skip(2).map(|n| n.parse().unwrap());
        Some((numbers.next()?, numbers.next()?))
    };
    of("postgres").or_else(|| of("nobody"))
}

fn as_user(program: &Path) -> Command {
    let mut command = Command::new(program);
    if let Some((user, group)) = user() {
        command.uid(user).gid(group);
    }
    command
        .current_dir("/")
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// A PostgreSQL server.
pub struct Postgres {
    programs: PathBuf,
    folder: TempDir,
    pub port: u16,
    process: Option<Child>,
    made: AtomicU32,
}

impl Postgres {
    pub fn start() -> Self {
        let programs = postgres_programs().expect("PostgreSQL is installed");
        let folder = tempfile::tempdir().unwrap();
        if let Some((user, group)) = user() {
            std::os::unix::fs::chown(folder.path(), Some(user), Some(group)).unwrap();
        }
        let made = as_user(&programs.join("initdb"))
            .args([
                "--no-sync",
                "--auth=trust",
                "--username=bowseam",
                "--encoding=UTF8",
                "--locale=C",
                "-D",
            ])
            .arg(folder.path().join("data"))
            .status()
            .unwrap();
        assert!(made.success(), "initdb");
        let mut server = Self {
            programs,
            folder,
            port: free_port(),
            process: None,
            made: AtomicU32::new(0),
        };
        server.go_on();
        server
    }

    /// Starts it, again.
    pub fn go_on(&mut self) {
        let log = fs::File::options()
            .create(true)
            .append(true)
            .open(self.folder.path().join("log"))
            .unwrap();
        let started = as_user(&self.programs.join("postgres"))
            .arg("-D")
            .arg(self.folder.path().join("data"))
            .args(["-p", &self.port.to_string(), "-k", ""])
            .args(["-c", "listen_addresses=127.0.0.1", "-c", "max_connections=80"])
            .stderr(log)
            .spawn()
            .unwrap();
        self.process = Some(started);
        let server = self.url("postgres");
        until("PostgreSQL answers", || {
            postgres::Client::connect(&server, postgres::NoTls).is_ok()
        });
    }

    /// Stops it as a crash would: nothing is written down on the way.
    pub fn crash(&mut self) {
        if let Some(mut process) = self.process.take() {
            signal("QUIT", &process);
            process.wait().unwrap();
        }
    }

    pub fn url(&self, database: &str) -> String {
        format!("postgres://bowseam@127.0.0.1:{}/{database}", self.port)
    }

    /// A new database; its address.
    pub fn new_database(&self) -> String {
        let n = self.made.fetch_add(1, Ordering::Relaxed);
        new_database(&self.url("postgres"), &format!("yard_{n}"))
    }
}

/// Makes a database on a server; its address.
pub fn new_database(server: &str, name: &str) -> String {
    let mut client = postgres::Client::connect(server, postgres::NoTls).unwrap();
    client.batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
    server.replace("/postgres", &format!("/{name}"))
}

fn signal(name: &str, process: &Child) {
    let done = Command::new("kill")
        .args(["-s", name, &process.id().to_string()])
        .status();
    assert!(done.unwrap().success());
}

impl Drop for Postgres {
    fn drop(&mut self) {
        self.crash();
    }
}

/// An S3 server with one bucket.
pub struct S3 {
    folder: TempDir,
    pub port: u16,
    process: Option<Child>,
}

impl S3 {
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join(BUCKET)).unwrap();
        let mut server = Self {
            folder,
            port: free_port(),
            process: None,
        };
        server.go_on();
        server
    }

    pub fn go_on(&mut self) {
        let started = Command::new(s3_program().expect("s3s-fs is installed"))
            .args(["--host", "127.0.0.1", "--port", &self.port.to_string()])
            .args(["--access-key", KEY, "--secret-key", SECRET])
            .arg(self.folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        self.process = Some(started);
        until("the S3 server answers", || {
            TcpStream::connect(("127.0.0.1", self.port)).is_ok()
        });
    }

    pub fn crash(&mut self) {
        if let Some(mut process) = self.process.take() {
            process.kill().unwrap();
            process.wait().unwrap();
        }
    }

    pub fn address(&self) -> String {
        format!("s3://{BUCKET}/photos?endpoint=http://127.0.0.1:{}", self.port)
    }

    /// Files of all objects.
    pub fn objects(&self) -> Vec<PathBuf> {
        let shelves = fs::read_dir(self.folder.path().join(BUCKET).join("photos"));
        let shelves = shelves.into_iter().flatten().map(|shelf| shelf.unwrap().path());
        shelves
            .flat_map(|shelf| fs::read_dir(shelf).unwrap().map(|file| file.unwrap().path()))
            .collect()
    }
}

impl Drop for S3 {
    fn drop(&mut self) {
        self.crash();
    }
}
