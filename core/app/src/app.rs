//! The door itself: an [`Ask`] in, an [`Answer`] out. It keeps the store, the photos and who is signed in, and
//! hands every ask to the one function that answers it; nothing is worked out here.

use crate::{
    answer::{Answer, Refusal},
    ask::Ask,
    bays::Bays,
    book, card, change,
    copies::Copies,
    draft, learn,
    now::Now,
    packet, people, phones, room, undo, view, words,
};
use bowseam_jobs::{
    Store,
    people::{Door, Person, PinCheck},
};
use bowseam_photos::Folder;
use bowseam_send::OnItsWay;
pub use bowseam_send::Watch;
use chrono::{DateTime, Utc};
use std::{
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, OnceLock, PoisonError, TryLockError,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};
use uuid::Uuid;

/// Setting of the store: who is signed in on this phone.
const SIGNED_IN: &str = "signed_in";

/// Which door this is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A phone: the signed-in person is kept here and survives a restart.
    Phone,
    /// The office: each session names its person.
    Office,
}

/// Who asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Asker {
    /// The person of the session; on a phone nobody is named here, the phone knows who signed in.
    pub person: Option<Uuid>,
}

/// What a round of sending came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Round {
    /// All that could be sent is with the office, or no office knows this phone.
    Done,
    /// There is more to send at once.
    More,
    /// The office was not heard, or cannot just now: later.
    Later,
}

/// What reaches out of this program: the network side, which the shell that runs it puts in ([`crate::sending`]).
pub trait Outside: Send + Sync {
    /// Makes this phone known to an office with its short-lived code; answers the office's name.
    ///
    /// # Errors
    /// What the office or the network said, as a sentence.
    fn enrol(&self, office: &str, code: &str, name: &str) -> Result<String, Refusal>;
    /// Something new waits: tries to send it; returns without waiting for the end.
    fn send_now(&self);
    /// A person wants everything sent now, also what waits for a later try; returns without waiting for the end.
    fn try_now(&self);
    /// One round of sending that ends within about this time, and whether there is more to send at once: for a
    /// worker that the system lets run for a while.
    ///
    /// # Errors
    /// The store cannot be read. An office reaches nobody and has nothing to send.
    fn send_round(&self, _time: Duration) -> Result<Round, Refusal> {
        Ok(Round::Done)
    }
    /// Puts in what asks the device whether its network costs money; only the first one counts.
    fn watch_network(&self, _watch: Watch) {}
    /// Whether the network costs money, told by a worker that just looked.
    fn network_is(&self, _metered: bool) {}
    /// Whether the network costs money, as far as it is known.
    fn metered(&self) -> Option<bool> {
        None
    }
    /// The photo that is on its way now.
    fn on_its_way(&self) -> Option<OnItsWay> {
        None
    }
    /// Mints a short-lived code for a new phone, with the time until which it is good.
    ///
    /// # Errors
    /// On a phone: codes come from the office.
    fn new_code(&self) -> Result<(String, DateTime<Utc>), Refusal>;
}

/// The app that stands behind every screen.
pub struct App {
    store: Arc<Store>,
    photos: Folder,
    kind: Kind,
    folder: PathBuf,
    /// What the person is told once this has started: what was saved from a damaged store, photos that were found.
    at_start: Mutex<Vec<String>>,
    photo_files: AtomicBool,
    outside: OnceLock<Box<dyn Outside>>,
    /// Rows of Yard, so that a long list is not figured anew at every look.
    rows: Mutex<view::yard::KeptRows>,
    /// Who has the shop's bays when; `rows` is never locked while this is.
    bays: Mutex<Bays>,
    copies: Copies,
    /// Packets that are being made.
    packets_at: packet::At,
    /// Where the shell wants files that a person looks for.
    files: OnceLock<PathBuf>,
}

impl App {
    /// Opens the store and the photos in a folder, making them if they are not there.
    ///
    /// # Errors
    /// The folder cannot be written, or another program has it open.
    pub fn open(folder: &Path, kind: Kind) -> Result<Self, Refusal> {
        let opened = Store::open(folder)?;
        let photos = Folder::open(folder.join("photos"))?;
        let app = Self::over(folder, kind, opened.store, photos);
        if let Some(salvage) = opened.salvage {
            app.say_at_start(salvage.to_string());
        }
        Ok(app)
    }

    /// An app over a store and photos that were opened elsewhere, as one receiver of several has them; `folder` is for
    /// files that may be thrown away.
    pub fn over(folder: &Path, kind: Kind, store: Store, photos: Folder) -> Self {
        Self {
            store: Arc::new(store),
            copies: Copies::of(photos.clone()),
            photos,
            kind,
            folder: folder.to_owned(),
            at_start: Mutex::default(),
            photo_files: AtomicBool::new(false),
            outside: OnceLock::new(),
            rows: Mutex::default(),
            bays: Mutex::default(),
            packets_at: packet::At::default(),
            files: OnceLock::new(),
        }
    }

    /// The store, which sending shares.
    pub fn store(&self) -> Arc<Store> {
        Arc::clone(&self.store)
    }

    /// The photos, which sending shares.
    pub const fn photos(&self) -> &Folder {
        &self.photos
    }

    /// Which door this is.
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    /// The folder that was opened.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What was saved from a damaged store, and other news of the start, in words.
    pub fn salvage(&self) -> Option<String> {
        let said = self.at_start.lock().unwrap_or_else(PoisonError::into_inner);
        (!said.is_empty()).then(|| said.join(" "))
    }

    /// Adds to what the person is told once this has started.
    pub(crate) fn say_at_start(&self, sentence: String) {
        let mut said = self.at_start.lock().unwrap_or_else(PoisonError::into_inner);
        said.push(sentence);
    }

    /// Puts in what reaches out of this program; only the first one counts.
    pub fn reach_out(&self, outside: Box<dyn Outside>) {
        let _first_counts = self.outside.set(outside);
    }

    /// Something new waits: tries to send now, where this program sends at all.
    pub fn send_now(&self) {
        if let Some(outside) = self.outside.get() {
            outside.send_now();
        }
    }

    /// One round of sending ([`Outside::send_round`]).
    ///
    /// # Errors
    /// As there; or this program was started without sending.
    pub fn send_round(&self, time: Duration) -> Result<Round, Refusal> {
        self.outside()?.send_round(time)
    }

    /// Puts in what asks the device whether its network costs money ([`Outside::watch_network`]).
    pub fn watch_network(&self, watch: Watch) {
        if let Some(outside) = self.outside.get() {
            outside.watch_network(watch);
        }
    }

    /// Whether the network costs money, told by a worker that just looked ([`Outside::network_is`]).
    pub fn network_is(&self, metered: bool) {
        if let Some(outside) = self.outside.get() {
            outside.network_is(metered);
        }
    }

    pub(crate) fn outside(&self) -> Result<&dyn Outside, Refusal> {
        self.outside.get().map(Box::as_ref).ok_or_else(|| {
            let sentence = "This program was started without sending; what is saved waits here until it is started with it.";
            Refusal::new("no_sending", sentence)
        })
    }

    /// Screens read photos from files under [`App::photos`]'s folder: for a shell whose web view can, not over HTTP.
    pub fn show_photo_files(&self) {
        self.photo_files.store(true, Ordering::Relaxed);
    }

    /// Files that are made for a person (a packet) are put into this folder too: for a shell, not over HTTP. Only the
    /// first folder counts.
    pub fn save_files_to(&self, folder: PathBuf) {
        let _first_counts = self.files.set(folder);
    }

    pub(crate) fn files(&self) -> Option<&Path> {
        self.files.get().map(PathBuf::as_path)
    }

    /// Where packets lie that were made.
    pub fn packets(&self) -> PathBuf {
        self.folder.join("packets")
    }

    pub(crate) const fn packets_at(&self) -> &packet::At {
        &self.packets_at
    }

    pub(crate) fn photo_files(&self) -> Option<String> {
        let shown = self.photo_files.load(Ordering::Relaxed);
        self.photos.root().to_str().map(str::to_owned).filter(|_| shown)
    }

    /// Has the copies of a photo that came made beside the asks, one after another, once no more come for a while.
    pub fn shrink_soon(&self, sha256: &str) {
        self.copies.came(sha256);
    }

    pub(crate) const fn copies(&self) -> &Copies {
        &self.copies
    }

    /// The person who asks, if someone is signed in.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn person(&self, asker: &Asker) -> Result<Option<Person>, Refusal> {
        let id = match (asker.person, self.kind) {
            (Some(id), _) => Some(id),
            (None, Kind::Phone) => self.store.setting::<Option<Uuid>>(SIGNED_IN)?.flatten(),
            (None, Kind::Office) => None,
        };
        Ok(match id {
            // Who is here no more is nobody, also where a session or a phone still names the person.
            Some(id) => {
                let people = self.store.people()?.into_iter();
                let mut here = people.filter(|person| !person.ended(Utc::now()));
                here.find(|person| person.id == id)
            }
            None => None,
        })
    }

    /// The person who asks.
    ///
    /// # Errors
    /// `sign_in` if nobody is signed in.
    pub fn signed_in(&self, asker: &Asker) -> Result<Person, Refusal> {
        self.person(asker)?.ok_or_else(|| {
            Refusal::new(
                "sign_in",
                "Say who you are first: every change is kept with the person who made it.",
            )
        })
    }

    /// Checks the PIN; on a phone the person then stays signed in.
    fn sign_in(&self, person: Uuid, pin: &str) -> Result<Answer, Refusal> {
        let door = match self.kind {
            Kind::Phone => Door::Phone,
            Kind::Office => Door::Office,
        };
        match self.store.check(person, pin, Utc::now(), door)? {
            PinCheck::Right => {}
            PinCheck::Wrong { left } => {
                let tries = words::count(usize::try_from(left).unwrap_or_default(), "try is", "tries are");
                let what = match door {
                    Door::Phone => "PIN",
                    Door::Office => "PIN or password",
                };
                let sentence = format!("This is not the {what} of this person; {tries} left before a wait.");
                return Err(Refusal::at("pin_wrong", "pin", sentence));
            }
            PinCheck::Wait { until } => {
                let sentence = format!("Too many wrong PINs: try again after {}.", words::time(until));
                return Err(Refusal::at("pin_wait", "pin", sentence));
            }
        }
        if self.kind == Kind::Phone {
            self.store.set_setting(SIGNED_IN, &Some(person))?;
        }
        Ok(change::nothing_made(Some(person)))
    }

    fn sign_out(&self) -> Result<Answer, Refusal> {
        if self.kind == Kind::Phone {
            self.store.set_setting(SIGNED_IN, &None::<Uuid>)?;
        }
        Ok(change::nothing_made(None))
    }

    /// Figures rows of lists that are not figured as they stand, for some milliseconds; answers how many are left. The
    /// office does this beside its answers, so that a list is there before somebody asks for it.
    ///
    /// # Errors
    /// The store cannot be read or written.
    pub fn figure_rows(&self) -> Result<u32, Refusal> {
        for open in [true, false] {
            let left = view::yard::figure(self, &[], Some(open))?.not_figured(self, open)?;
            if left > 0 {
                return Ok(left);
            }
        }
        Ok(0)
    }

    /// Rows of Yard; a panic elsewhere does not spoil them.
    pub(crate) fn kept_rows(&self) -> std::sync::MutexGuard<'_, view::yard::KeptRows> {
        self.rows.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The same, if nobody is at them just now.
    pub(crate) fn kept_rows_if_free(&self) -> Option<std::sync::MutexGuard<'_, view::yard::KeptRows>> {
        match self.rows.try_lock() {
            Ok(kept) => Some(kept),
            Err(TryLockError::Poisoned(kept)) => Some(kept.into_inner()),
            Err(TryLockError::WouldBlock) => None,
        }
    }

    /// Who has the shop's bays when; a panic elsewhere does not spoil it.
    pub(crate) fn bays(&self) -> std::sync::MutexGuard<'_, Bays> {
        self.bays.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Answers an ask. `bytes` are those of a photo, for [`Ask::AddPhoto`], or of a file, for [`Ask::ReadCardBack`].
    ///
    /// # Errors
    /// A refusal with a stable code, a sentence that says what is accepted, and the ask's field it is about.
    pub fn ask(&self, asker: &Asker, ask: Ask, bytes: Option<&[u8]>) -> Result<Answer, Refusal> {
        let of = |job| Now::of(self, asker, job);
        match ask {
            Ask::Hello {} => view::hello::hello(self, asker),
            Ask::SignIn { person, pin } => self.sign_in(person, &pin),
            Ask::SignOut {} => self.sign_out(),
            Ask::Enrol { office, code, name } => view::hello::enrol(self, &office, &code, &name),
            Ask::Outbox {} => view::outbox::outbox(self),
            Ask::Room {} => room::room(self),
            Ask::FreeRoom { originals } => room::free(self, asker, originals),
            Ask::WriteCard {} => card::write(self, asker),
            Ask::ReadCardBack {} => card::read(self, asker, bytes),
            Ask::TryNow {} => view::outbox::try_now(self),
            Ask::ShopBook {} => view::shop_book::shop_book(self, asker),
            Ask::SetBook { group, key, value } => {
                book::set(self, &self.signed_in(asker)?, &group, &key, &value)
            }
            Ask::SetCure { product, at, hours } => {
                book::set_cure(self, &self.signed_in(asker)?, &product, &at, &hours)
            }
            Ask::SetClosed { day, why, closed } => {
                book::set_closed(self, &self.signed_in(asker)?, &day, &why, closed)
            }
            Ask::SetStock { stock, line } => {
                book::set_stock(self, &self.signed_in(asker)?, stock, line.as_ref())
            }
            Ask::PhotosWait { wait } => view::outbox::photos_wait(self, asker, wait),
            Ask::Yard { find } => view::yard::yard(self, &find).map(Answer::Yard),
            Ask::OfficeJobs { find, show, most } => view::office::jobs(self, asker, &find, show, most),
            Ask::OfficeJob { job } => view::office::job(&of(job)?),
            Ask::PartSum { job, hash, groups } => view::office::part_sum(&of(job)?, &hash, groups),
            Ask::Looked { job, newest } => view::office::looked(&of(job)?, newest),
            Ask::People {} => people::view(self, &self.signed_in(asker)?),
            Ask::SetPerson {
                person,
                name,
                roles,
                qualified,
            } => people::set(self, &self.signed_in(asker)?, person, &name, &roles, &qualified),
            Ask::SetSecret {
                person,
                secret,
                password,
            } => people::set_secret(self, &self.signed_in(asker)?, person, &secret, password),
            Ask::EndPerson { person, ended } => people::end(self, &self.signed_in(asker)?, person, ended),
            Ask::Phones {} => phones::view(self, &self.signed_in(asker)?),
            Ask::NewCode { office } => phones::new_code(self, &self.signed_in(asker)?, &office),
            Ask::TakeBack { device } => phones::take_back(self, &self.signed_in(asker)?, device),
            Ask::TakeIn { device } => phones::take_in(self, &self.signed_in(asker)?, device),
            Ask::Learned {} => learn::view(self, &self.signed_in(asker)?),
            Ask::Learn { task, now, take } => learn::decide(self, &self.signed_in(asker)?, &task, &now, take),
            Ask::Arrival { job } => view::arrival::arrival(&of(job)?).map(Answer::Arrival),
            Ask::FoldOut { job } => view::fold_out::fold_out(&of(job)?).map(Answer::FoldOut),
            Ask::PlaceAt {
                job,
                inside,
                x1,
                y1,
                x2,
                y2,
            } => view::fold_out::place_at(&of(job)?, inside, [x1, y1, x2, y2]),
            Ask::Mark { job, mark } => view::mark::mark(&of(job)?, mark),
            Ask::Photo { job, sha256 } => view::photo::photo(&of(job)?, &sha256),
            Ask::PairAligned { job, before, after } => view::photo::pair_aligned(&of(job)?, &before, &after),
            Ask::Photos { job } => view::photo::photos(&of(job)?),
            Ask::Ways { job } => view::ways::ways(&of(job)?),
            Ask::Figures { job } => view::figures::figures(&of(job)?).map(Answer::Figures),
            Ask::CompareFigures { job, was, now } => view::figures::compared(&of(job)?, &was, &now),
            Ask::CrewPlan { job, temperature } => view::figures::crew_plan(&of(job)?, &temperature),
            Ask::CutList { job } => view::cut_list::cut_list(&of(job)?),
            Ask::BuyingList { job } => view::buying::buying_list(&of(job)?).map(Answer::BuyingList),
            Ask::RoofOff { job } => view::roof_off::roof_off(&of(job)?).map(Answer::RoofOff),
            Ask::Steps { job } => view::steps::steps(&of(job)?).map(Answer::Steps),
            Ask::FoundMore { job, found } => view::found::found_more(&of(job)?, found).map(Answer::FoundMore),
            Ask::Proof { job } => view::proof::proof(&of(job)?).map(Answer::Proof),
            Ask::HandOver { job } => view::handover::hand_over(&of(job)?).map(Answer::HandOver),
            Ask::Packet { job, form, prices } => packet::packet(&of(job)?, form, prices),
            Ask::MakePacket { job, form, prices } => packet::make(&of(job)?, form, prices),
            Ask::PacketProgress { job } => Ok(packet::progress(self, job)),
            Ask::StopPacket { job } => Ok(packet::stop(self, job)),
            Ask::Drafts { job } => draft::drafts(self, job),
            Ask::KeepDraft { job, key, text } => draft::keep(self, asker, job, &key, &text),
            Ask::Undo { job } => undo::undo(self, &self.signed_in(asker)?, job),
            other => change::change(self, self.signed_in(asker)?, other, bytes),
        }
    }
}
