//! A yard for tests: an office served on loopback in this process, phones with stores of their own, and a wire
//! between them that can be cut.
#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use std::io::{Read, Write};
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};
use std::thread;

use bowseam_app::app::{App, Kind};
use bowseam_jobs::Store;
use bowseam_jobs::entry::{ArrivalField, Entry, PhotoChange, PhotoOf, PhotoWhen, What};
use bowseam_jobs::outbox::Item;
use bowseam_jobs::people::{Person, Role};
use bowseam_office::{Office, router};
use bowseam_photos::Folder;
use bowseam_send::{Limits, RoundReport, Sender, codes, wire};
use bowseam_shared::{Objects, Shared};
use chrono::Utc;
use tempfile::TempDir;
use uuid::Uuid;

/// The shared places that this run of the tests is given, a new database for each yard; none: SQLite and a folder.
fn shared_of_run() -> Option<Shared> {
    let server = std::env::var("BOWSEAM_TEST_DATABASE").ok()?;
    let photos = std::env::var("BOWSEAM_TEST_PHOTOS").unwrap();
    let name = format!("yard_{}", Uuid::new_v4().simple());
    let mut client = postgres::Client::connect(&server, postgres::NoTls).unwrap();
    client.batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
    let database = server.replace("/postgres", &format!("/{name}"));
    // A prefix of its own: other yards lie in the same bucket.
    let photos = photos.replace("/photos", &format!("/{name}"));
    let key = |name: &str| std::env::var(name).unwrap();
    let objects = Objects::new(
        &photos,
        &key("AWS_ACCESS_KEY_ID"),
        &key("AWS_SECRET_ACCESS_KEY"),
        None,
    );
    Some(Shared::open(&database, None, None, objects.unwrap()).unwrap())
}

/// An office on loopback; the server ends with the test's process.
pub struct Yard {
    pub app: Arc<App>,
    pub office: Office,
    pub store: Arc<Store>,
    pub photos: Folder,
    pub address: SocketAddr,
    pub supervisor: Uuid,
    pub technician: Uuid,
    _folder: TempDir,
}

pub const PIN: &str = "4417";

impl Yard {
    pub fn new() -> Self {
        match shared_of_run() {
            Some(shared) => Self::receiver(&shared),
            None => {
                let folder = tempfile::tempdir().unwrap();
                Self::of(App::open(folder.path(), Kind::Office).unwrap(), folder)
            }
        }
    }

    /// One receiver of an office on shared places; the first one makes the people.
    pub fn receiver(shared: &Shared) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = shared.store(folder.path()).unwrap();
        let photos = shared.photos(&folder.path().join("photos")).unwrap();
        Self::of(App::over(folder.path(), Kind::Office, store, photos), folder)
    }

    fn of(app: App, folder: TempDir) -> Self {
        let app = Arc::new(app);
        let store = app.store();
        let known = store.people().unwrap();
        let of = |name: &str, role: Role, may_release: bool| {
            let known = known.iter().find(|person| person.name == name);
            known.map_or_else(|| person(&store, name, &[role], may_release), |known| known.id)
        };
        let supervisor = of("Sam Supervisor", Role::Supervisor, true);
        let technician = of("Toni Technician", Role::Technician, false);
        let office = Office::new(Arc::clone(&app), "Yard office");
        let served = axum::Router::new().nest("/office", router(office.clone()));
        let (listener, address) = listen();
        serve(listener, served);
        let photos = app.photos().clone();
        Self {
            app,
            office,
            store,
            photos,
            address,
            supervisor,
            technician,
            _folder: folder,
        }
    }

    pub fn url(&self) -> String {
        format!("http://{}/office", self.address)
    }

    pub fn code(&self) -> String {
        codes::new_code(&self.store, Utc::now()).unwrap().0
    }
}

pub fn listen() -> (TcpListener, SocketAddr) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.set_nonblocking(true).unwrap();
    let address = listener.local_addr().unwrap();
    (listener, address)
}

pub fn serve(listener: TcpListener, router: axum::Router) {
    thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .unwrap();
        runtime.block_on(async {
            let listener = tokio::net::TcpListener::from_std(listener).unwrap();
            axum::serve(listener, router).await.unwrap();
        });
    });
}

fn person(store: &Store, name: &str, roles: &[Role], may_release: bool) -> Uuid {
    let id = Uuid::now_v7();
    let roles = roles.iter().copied().collect();
    store
        .put_person(&Person {
            id,
            name: name.to_owned(),
            roles,
            may_release,
            pin_hash: None,
            ..Person::default()
        })
        .unwrap();
    store.set_pin(id, PIN).unwrap();
    id
}

/// A phone with a store and photos of its own.
pub struct Phone {
    pub store: Store,
    pub photos: Folder,
    pub sender: Sender,
    folder: TempDir,
}

impl Phone {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path()).unwrap().store;
        let photos = Folder::open(folder.path().join("photos")).unwrap();
        Self {
            store,
            photos,
            sender: Sender::default(),
            folder,
        }
    }

    /// A phone that the office knows.
    pub fn known_to(yard: &Yard) -> Self {
        let phone = Self::new();
        bowseam_send::enrol(&phone.store, &yard.url(), &yard.code(), "Phone").unwrap();
        phone
    }

    pub fn round(&self) -> RoundReport {
        let office = bowseam_send::Office::of(&self.store).unwrap().unwrap();
        self.sender.round(&self.store, &self.photos, &office).unwrap()
    }

    /// A round that also sends what waits for a later try.
    pub fn round_at_once(&self, office: &bowseam_send::Office) -> RoundReport {
        let limits = Limits {
            at_once: true,
            ..Limits::default()
        };
        self.sender
            .round_within(&self.store, &self.photos, office, limits)
            .unwrap()
    }

    /// A round over a wire.
    pub fn round_over(&self, wire: &Wire) -> RoundReport {
        let mut office = bowseam_send::Office::of(&self.store).unwrap().unwrap();
        office.url = format!("http://{}/office", wire.address);
        // A connection that was cut must not be used again.
        Sender::default()
            .round(&self.store, &self.photos, &office)
            .unwrap()
    }

    pub fn save(&self, job: Uuid, person: Uuid, what: What) -> Uuid {
        self.store
            .append(job, person, Uuid::now_v7(), vec![what])
            .unwrap()[0]
            .id
    }

    pub fn open_job(&self, person: Uuid, unit: &str) -> Uuid {
        let job = Uuid::now_v7();
        self.save(
            job,
            person,
            What::Opened {
                unit: unit.to_owned(),
            },
        );
        job
    }

    /// Takes a photo of so many pixels of noise a side: 3 bytes a pixel. Answers its SHA-256.
    pub fn take_photo(&self, job: Uuid, person: Uuid, of: PhotoOf, side: u32, seed: u32) -> String {
        let bytes = noise(side, seed);
        let kept = self.photos.keep(&bytes).unwrap();
        let change = PhotoChange::Added {
            of,
            when: PhotoWhen::Before,
            name: "p.png".to_owned(),
            bytes: kept.bytes,
            taken: None,
            clock: None,
            placed: false,
        };
        self.save(
            job,
            person,
            What::Photo {
                sha256: kept.sha256.clone(),
                change,
            },
        );
        kept.sha256
    }
}

/// A PNG of noise, which no compression shortens.
pub fn noise(side: u32, seed: u32) -> Vec<u8> {
    let mut state = seed * 2 + 1;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        (state >> 8) as u8
    };
    let picture = image::RgbImage::from_fn(side, side, |_, _| image::Rgb([next(), next(), next()]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// A wire to an office that carries so many bytes and is then cut; counts what it carried.
pub struct Wire {
    pub address: SocketAddr,
    left: Arc<AtomicI64>,
    carried: Arc<AtomicU64>,
}

impl Wire {
    /// A wire that is cut after `bytes` towards the office.
    pub fn new(to: SocketAddr, bytes: i64) -> Self {
        Self::slow(to, bytes, std::time::Duration::ZERO)
    }

    /// The same with a pause after every 8 kB.
    pub fn slow(to: SocketAddr, bytes: i64, pause: std::time::Duration) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        let left = Arc::new(AtomicI64::new(bytes));
        let carried = Arc::new(AtomicU64::new(0));
        let (budget, count) = (Arc::clone(&left), Arc::clone(&carried));
        thread::spawn(move || {
            for phone in listener.incoming().flatten() {
                if budget.load(Ordering::SeqCst) <= 0 {
                    continue;
                }
                let office = TcpStream::connect(to).unwrap();
                let back = (office.try_clone().unwrap(), phone.try_clone().unwrap());
                let (budget, count) = (Arc::clone(&budget), Arc::clone(&count));
                thread::spawn(move || carry(phone, office, (&budget, &count), pause));
                thread::spawn(move || {
                    let (mut from, mut to) = back;
                    let _ = std::io::copy(&mut from, &mut to);
                });
            }
        });
        Self {
            address,
            left,
            carried,
        }
    }

    /// Carries so many bytes more.
    pub fn mend(&self, bytes: i64) {
        self.left.store(bytes, Ordering::SeqCst);
    }

    pub fn carried(&self) -> u64 {
        self.carried.load(Ordering::SeqCst)
    }
}

fn carry(
    mut phone: TcpStream,
    mut office: TcpStream,
    (left, carried): (&AtomicI64, &AtomicU64),
    pause: std::time::Duration,
) {
    let mut buffer = [0; 8192];
    while let Ok(n) = phone.read(&mut buffer) {
        thread::sleep(pause);
        let most = left.fetch_sub(n as i64, Ordering::SeqCst).clamp(0, n as i64) as usize;
        carried.fetch_add(most as u64, Ordering::SeqCst);
        if n == 0 || office.write_all(&buffer[..most]).is_err() || most < n {
            break;
        }
    }
    let _ = office.shutdown(Shutdown::Both);
    let _ = phone.shutdown(Shutdown::Both);
}

/// Waits until something holds, at most ten seconds.
pub fn until(what: &str, mut holds: impl FnMut() -> bool) {
    for _ in 0..1000 {
        if holds() {
            return;
        }
        thread::sleep(std::time::Duration::from_millis(10));
    }
    panic!("never: {what}");
}

/// What the office does not have yet.
pub fn unsent(phone: &Phone) -> Vec<Item> {
    phone.store.unsent(None, 10_000).unwrap()
}

/// A change that anyone may make.
pub fn note(value: &str) -> What {
    What::Arrival {
        field: ArrivalField::Account,
        value: Some(value.to_owned()),
    }
}

/// A client that shows refusals as answers.
pub fn agent() -> ureq::Agent {
    ureq::Agent::config_builder()
        .http_status_as_error(false)
        .build()
        .new_agent()
}

/// Sends entries by hand.
pub fn push(office: &bowseam_send::Office, entries: &[Entry]) -> wire::Pushed {
    post_entries(
        office,
        &wire::Push {
            entries: entries
                .iter()
                .map(|entry| serde_json::to_value(entry).unwrap())
                .collect(),
        },
    )
}

/// Sends a message of entries by hand.
pub fn post_entries(office: &bowseam_send::Office, push: &wire::Push) -> wire::Pushed {
    let request = agent()
        .post(format!("{}/entries", office.url))
        .header("authorization", format!("Bearer {}", office.token));
    request.send_json(push).unwrap().body_mut().read_json().unwrap()
}
