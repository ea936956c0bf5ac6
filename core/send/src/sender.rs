//! The phone's side: one bounded round of sending and getting. It keeps nothing between rounds but what is in the
//! outbox, so it may be cut off anywhere (no network, a dead battery) and goes on from there.

use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Mutex, PoisonError, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use bowseam_jobs::Store;
use bowseam_jobs::entry::Entry;
use bowseam_jobs::outbox::{Item, ItemKind};
use bowseam_photos::Folder;
use chrono::{DateTime, TimeDelta, Utc};
use ureq::Agent;

use crate::buffers::Buffers;
use crate::link::{self, Link, Reach, Trouble};
use crate::network::{Network, OnItsWay, Watch, photos_wait};
use crate::office::Got;
use crate::plan::{Next, Plan};
use crate::whole::{Begun, Whole, part};
use crate::wire::{self, Outcome};
use crate::{Office, Result};

/// What stands beside everything that is stuck because the office does not know this phone.
pub const UNKNOWN_PHONE: &str = "The office does not know this phone: ask for a new code.";

/// First wait after a failure; it doubles with each.
const FIRST_WAIT: u32 = 10;
/// Longest wait, in seconds.
const LONGEST_WAIT: u32 = 3600;
/// So often an item is sent before it is stuck: some days with these waits.
const MOST_TRIES: u32 = 100;
/// Items looked at for the next thing to do.
const LOOK: usize = 5000;
/// So often a photo may start from another offset in one round.
const CORRECTIONS: u32 = 3;
/// A part that took less is followed by one that takes this long at the same speed (at least twice as long, at most what
/// the office takes); one that took longer than [`SLOW`] by one half as long, down to [`wire::PART`].
const QUICK: Duration = Duration::from_millis(700);
const SLOW: Duration = Duration::from_secs(8);
/// So many photos go side by side where the network took the longest parts quickly: while the office's disk takes one, the
/// next is on its way. On a slow network one after another, so that a break costs one.
const SIDE_BY_SIDE: usize = 4;
/// While photos are on their way, entries that nobody waits for are gathered so long: each message waits for the office's
/// disk, and so do the photos behind it.
const GATHERED: Duration = Duration::from_millis(200);
/// Troubles in a row after which the office is left alone until the next round.
const TROUBLES: u32 = 3;

/// How long a round may last.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// No new request is begun after this.
    pub time: Duration,
    /// Most requests that carry something.
    pub requests: usize,
    /// Also what waits for a later try: a person pressed *try now*.
    pub at_once: bool,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            time: Duration::from_secs(60),
            requests: 400,
            at_once: false,
        }
    }
}

/// Whether the office was heard in a round.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Heard {
    /// It answered, or there was nothing to ask.
    #[default]
    Answer,
    /// Nothing answered: no network, or an office that is off. Everything still waits.
    Nothing,
    /// It answered that it cannot just now, or does not know this phone.
    Trouble,
}

/// What a round did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RoundReport {
    /// Photos that the office has now.
    pub photos: usize,
    /// Entries that the office has now.
    pub entries: usize,
    /// Items that became stuck.
    pub stuck: usize,
    /// New entries of others.
    pub received: usize,
    /// Whether the office was heard.
    pub heard: Heard,
    /// There is more to do at once; the round came to its limits.
    pub more: bool,
    /// The trouble in words, if there was any.
    pub why: Option<String>,
}

/// Sends and gets; only one round at a time.
#[derive(Debug)]
pub struct Sender {
    agent: Agent,
    one: Mutex<()>,
    network: Network,
}

impl Default for Sender {
    fn default() -> Self {
        Self {
            agent: link::agent(),
            one: Mutex::new(()),
            network: Network::default(),
        }
    }
}

impl Sender {
    /// Puts in what asks the device whether its network costs money; only the first one counts.
    pub fn watch_network(&self, watch: Watch) {
        self.network.watch(watch);
    }

    /// Whether the network costs money, told by somebody who just looked: for where nothing watches it.
    pub fn network_is(&self, metered: bool) {
        self.network.tell(metered);
    }

    /// Whether the network costs money, as far as it is known.
    pub fn metered(&self) -> Option<bool> {
        self.network.metered()
    }

    /// The photo that is on its way now.
    pub fn on_its_way(&self) -> Option<OnItsWay> {
        self.network.photo()
    }

    /// One round with the usual limits: photos and entries to the office, then what others did.
    ///
    /// # Errors
    /// Only those of the phone's own store; what the network does is in the report.
    pub fn round(&self, store: &Store, photos: &Folder, office: &Office) -> Result<RoundReport> {
        self.round_within(store, photos, office, Limits::default())
    }

    /// One round with these limits.
    ///
    /// # Errors
    /// As [`Sender::round`].
    pub fn round_within(
        &self,
        store: &Store,
        photos: &Folder,
        office: &Office,
        limits: Limits,
    ) -> Result<RoundReport> {
        let _one = self.one.lock().unwrap_or_else(PoisonError::into_inner);
        let link = Link {
            agent: &self.agent,
            office,
        };
        let mut round = Round {
            store,
            photos,
            link,
            limits,
            begun: Instant::now(),
            requests: 0,
            troubles: 0,
            pushed: None,
            network: &self.network,
            buffers: &Buffers::default(),
            // Where nobody knows what the network costs, photos go.
            plan: Plan::new(photos_wait(store)? && self.network.metered() == Some(true)),
            part: wire::PART,
            mended: HashSet::new(),
            report: RoundReport::default(),
        };
        // Without a network nothing is tried, so that nothing counts as tried.
        match round.link.here() {
            Ok(clock) => {
                clock.map_or(Ok(()), |clock| Office::compare_clock(store, clock))?;
                round.send()?;
            }
            Err(trouble) => round.trouble(&[], trouble)?,
        }
        if round.report.heard == Heard::Answer {
            round.get()?;
        }
        Ok(round.report)
    }
}

struct Round<'a> {
    store: &'a Store,
    photos: &'a Folder,
    link: Link<'a>,
    limits: Limits,
    begun: Instant,
    requests: usize,
    /// In a row.
    troubles: u32,
    /// When entries went last.
    pushed: Option<Instant>,
    network: &'a Network,
    buffers: &'a Buffers,
    plan: Plan,
    /// Bytes of the next part, by how long the last ones took.
    part: usize,
    /// Entries whose photo was sent once more.
    mended: HashSet<i64>,
    report: RoundReport,
}

impl<'a> Round<'a> {
    /// Whether another request fits in the limits.
    fn fits(&mut self) -> bool {
        self.requests = self.requests.saturating_add(1);
        let fits = self.requests <= self.limits.requests && self.begun.elapsed() < self.limits.time;
        self.report.more |= !fits;
        fits
    }

    /// Sends what is due. While photos are on their way the next ones follow as places come free, and entries go beside
    /// them.
    fn send(&mut self) -> Result<()> {
        let (tell, back) = mpsc::channel();
        thread::scope(|scope| {
            let mut going = 0_usize;
            while self.report.heard == Heard::Answer {
                match self.next(self.side_by_side().saturating_sub(going), going > 0)? {
                    Some(_) if !self.fits() => break,
                    Some(Next::Entries(items)) => self.entries(&items)?,
                    Some(Next::Photos(items)) => {
                        going = going.saturating_add(items.len());
                        self.requests = self.requests.saturating_add(items.len().saturating_sub(1));
                        let numbers: Vec<i64> = items.iter().map(|item| item.n).collect();
                        self.store.on_the_way(&numbers)?;
                        let whole = self.whole();
                        for item in items {
                            let tell = tell.clone();
                            scope.spawn(move || {
                                // One that broke down goes in parts, and says there what is wrong.
                                let begun = catch_unwind(AssertUnwindSafe(|| whole.send(&item)));
                                // The round listens for as many as it began.
                                let _ = tell.send((item, begun.ok().flatten()));
                            });
                        }
                    }
                    None if going == 0 => break,
                    // What is saved meanwhile does not wait for a photo on a slow network.
                    None => {
                        let first = back.recv_timeout(GATHERED);
                        for (item, begun) in first.into_iter().chain(back.try_iter()) {
                            going = going.saturating_sub(1);
                            self.came_back(&item, begun)?;
                        }
                    }
                }
            }
            for (item, begun) in back.iter().take(going) {
                self.came_back(&item, begun)?;
            }
            self.network.set_photo(None);
            Ok(())
        })
    }

    /// What to do next, of photos so many more; `busy` while others are on their way.
    fn next(&mut self, photos: usize, busy: bool) -> Result<Option<Next>> {
        let until = if self.limits.at_once {
            DateTime::<Utc>::MAX_UTC
        } else {
            Utc::now()
        };
        let mut due = self.store.due_of(ItemKind::Entry, until, LOOK)?;
        if photos > 0 {
            due.extend(self.store.due_of(ItemKind::Photo, until, LOOK)?);
        }
        let gather = busy && self.pushed.is_some_and(|at| at.elapsed() < GATHERED);
        let store = self.store;
        Ok(self
            .plan
            .next(due, photos, gather, |item| store.entry(item.entry))?)
    }

    fn whole(&self) -> Whole<'a> {
        Whole {
            link: self.link,
            photos: self.photos,
            network: self.network,
            buffers: self.buffers,
            most: self.part,
        }
    }

    fn side_by_side(&self) -> usize {
        if self.part == wire::MOST_PART {
            SIDE_BY_SIDE
        } else {
            1
        }
    }

    /// A photo that was sent at once with its announcement, or is to go in parts.
    fn came_back(&mut self, item: &Item, begun: Begun) -> Result<()> {
        let sent = match begun {
            // Nobody is there any more.
            None if self.report.heard != Heard::Answer => Ok(false),
            None => self.parts(&item.sha256, None),
            Some(Err(trouble)) => Err(trouble),
            Some(Ok((reach, time))) => {
                self.took(time);
                if reach.complete {
                    Ok(true)
                } else {
                    self.parts(&item.sha256, Some(reach))
                }
            }
        };
        self.photo_sent(item, sent)
    }

    fn photo_sent(&mut self, item: &Item, sent: std::result::Result<bool, Trouble>) -> Result<()> {
        match sent {
            Ok(true) => {
                self.store.arrived(&[item.n])?;
                self.report.photos = self.report.photos.saturating_add(1);
                self.troubles = 0;
                Ok(())
            }
            // The round is over; what has arrived counts in the next one.
            Ok(false) => self.wait(item),
            Err(trouble) => self.trouble(&[item], trouble),
        }
    }

    /// An entry that the office does not take without its photo, though the photo is no longer in the outbox: it
    /// is stuck, or the office lost it. It is sent once more, and then the entry.
    fn photo_first(&mut self, item: &Item) -> Result<()> {
        if !self.mended.insert(item.n) {
            return self.stuck(item, "The office waits for the photo that this names.");
        }
        match self.parts(&item.sha256, None) {
            Ok(true) => Ok(self.store.later(&[item.n], Utc::now(), "")?),
            Ok(false) => self.wait(item),
            Err(trouble) => self.trouble(&[item], trouble),
        }
    }

    /// Sends all parts that the office does not have; `false` if the round's limits came first. `begun`: how far the office
    /// just said it has got; else it is asked.
    fn parts(&mut self, sha: &str, begun: Option<Reach>) -> std::result::Result<bool, Trouble> {
        let here = |error: bowseam_photos::Error| Trouble::Refused(error.to_string());
        let path = match self.photos.original(sha) {
            Ok(path) => path,
            // Freed from a full phone, since the office has it.
            Err(_) if self.link.offset(sha).is_ok_and(|reach| reach.complete) => return Ok(true),
            Err(error) => return Err(here(error)),
        };
        let mut file = File::open(path).map_err(|error| here(error.into()))?;
        let bytes = file.metadata().map_err(|error| here(error.into()))?.len();
        let mut reach = begun.map_or_else(|| self.link.announce(sha, bytes), Ok)?;
        let (mut corrections, mut buffer) = (0, Vec::new());
        while !reach.complete {
            if !self.fits() || !self.beside() {
                return Ok(false);
            }
            self.network.set_photo(Some(OnItsWay {
                sha256: sha.to_owned(),
                at: reach.at,
            }));
            let last = part(&mut file, reach.at, bytes, self.part, &mut buffer)?;
            let begun = Instant::now();
            reach = match self.link.append(sha, reach.at, &buffer, last) {
                Ok(reach) => {
                    self.took(begun.elapsed());
                    reach
                }
                Err(again) if corrections < CORRECTIONS => {
                    corrections = corrections.saturating_add(1);
                    match again {
                        // It did not fit: was it changed here? Else the same bytes again may get through.
                        Trouble::Changed(_) => {
                            self.photos.verify(sha).map_err(here)?;
                            reach
                        }
                        Trouble::WrongOffset(0) if last => {
                            self.photos.verify(sha).map_err(here)?;
                            self.link.announce(sha, bytes)?
                        }
                        Trouble::WrongOffset(at) if at < bytes => Reach { at, complete: false },
                        Trouble::WrongOffset(_) | Trouble::Missing => self.link.announce(sha, bytes)?,
                        // The part may have got there although its answer did not.
                        Trouble::Silent(_) => self.link.offset(sha)?,
                        other => return Err(other),
                    }
                }
                Err(trouble) => return Err(trouble),
            };
        }
        Ok(true)
    }

    /// Entries that were saved since go between two parts: on a slow network a photo takes minutes, and people may wait for
    /// what is told meanwhile. Whether the office is still there.
    fn beside(&mut self) -> bool {
        // What the store cannot do now the round meets again right after.
        if let Ok(Some(Next::Entries(items))) = self.next(0, true) {
            let _ = self.entries(&items);
        }
        self.report.heard == Heard::Answer
    }

    fn took(&mut self, time: Duration) {
        if time < QUICK {
            let longer = QUICK
                .as_millis()
                .checked_div(time.as_millis())
                .unwrap_or(u128::MAX);
            let longer = usize::try_from(longer).unwrap_or(usize::MAX).max(2);
            self.part = self.part.saturating_mul(longer).min(wire::MOST_PART);
        } else if time > SLOW {
            self.part = (self.part / 2).max(wire::PART);
        }
    }

    fn entries(&mut self, items: &[Item]) -> Result<()> {
        let mut entries: Vec<Entry> = Vec::with_capacity(items.len());
        for item in items {
            entries.extend(self.store.entry(item.entry)?);
        }
        let numbers: Vec<i64> = items.iter().map(|item| item.n).collect();
        self.store.on_the_way(&numbers)?;
        self.pushed = Some(Instant::now());
        let pushed = match self.link.push(&entries) {
            Ok(pushed) => pushed,
            Err(trouble) => return self.trouble(&items.iter().collect::<Vec<_>>(), trouble),
        };
        self.troubles = 0;
        let receipts: HashMap<_, _> = pushed
            .receipts
            .into_iter()
            .map(|receipt| (receipt.id, receipt.outcome))
            .collect();
        let mut arrived = Vec::new();
        for item in items {
            match receipts.get(&item.entry) {
                Some(Outcome::Arrived) => arrived.push(item.n),
                Some(Outcome::Refused { why }) => self.stuck(item, why)?,
                Some(Outcome::WaitsForPhoto { .. }) => self.photo_first(item)?,
                None => self.later(item, "The office said nothing about this.")?,
            }
        }
        self.store.arrived(&arrived)?;
        self.report.entries = self.report.entries.saturating_add(arrived.len());
        Ok(())
    }

    /// What a trouble means for the items that were on the way, and for the round.
    fn trouble(&mut self, items: &[&Item], trouble: Trouble) -> Result<()> {
        let why = match trouble {
            Trouble::Silent(cause) => {
                self.report.heard = Heard::Nothing;
                self.report.why = Some(cause);
                return items.iter().try_for_each(|item| self.wait(item));
            }
            Trouble::NotKnown => return self.not_known(),
            Trouble::Refused(why) => return items.iter().try_for_each(|item| self.stuck(item, &why)),
            Trouble::Later(why) | Trouble::Changed(why) => why,
            Trouble::WrongOffset(_) | Trouble::Missing => {
                "The office and this phone do not agree how far this has got.".to_owned()
            }
        };
        for item in items {
            self.later(item, &why)?;
        }
        self.troubles = self.troubles.saturating_add(1);
        self.report.why = Some(why);
        if self.troubles >= TROUBLES {
            self.report.heard = Heard::Trouble;
        }
        Ok(())
    }

    /// Nothing gets through without a new code, so everything is stuck and says why.
    fn not_known(&mut self) -> Result<()> {
        for item in &self.store.unsent(None, usize::MAX)? {
            self.stuck(item, UNKNOWN_PHONE)?;
        }
        self.report.heard = Heard::Trouble;
        self.report.why = Some(UNKNOWN_PHONE.to_owned());
        Ok(())
    }

    fn stuck(&mut self, item: &Item, why: &str) -> Result<()> {
        self.plan.tried.insert(item.n);
        self.report.stuck = self.report.stuck.saturating_add(1);
        Ok(self.store.stuck(item.n, why)?)
    }

    /// Back to waiting; it was not the item's fault.
    fn wait(&mut self, item: &Item) -> Result<()> {
        self.plan.tried.insert(item.n);
        Ok(self.store.later(&[item.n], Utc::now(), "")?)
    }

    /// Another try after a wait that grows; stuck when there were too many.
    fn later(&mut self, item: &Item, why: &str) -> Result<()> {
        if item.tries >= MOST_TRIES {
            return self.stuck(item, &format!("{why} It was tried {MOST_TRIES} times."));
        }
        self.plan.tried.insert(item.n);
        let seconds = FIRST_WAIT
            .saturating_mul(2_u32.saturating_pow(item.tries))
            .min(LONGEST_WAIT);
        let next = Utc::now()
            .checked_add_signed(TimeDelta::seconds(seconds.into()))
            .unwrap_or(DateTime::<Utc>::MAX_UTC);
        Ok(self.store.later(&[item.n], next, why)?)
    }

    /// What others did, and the office's decisions.
    fn get(&mut self) -> Result<()> {
        let mut pulled = Got::of(self.store)?;
        while self.fits() {
            let page = match self.link.pull(pulled.after, !pulled.caught_up) {
                Ok(page) => page,
                Err(trouble) => return self.trouble(&[], trouble),
            };
            if self.was_brought_back(&pulled, &page.epoch)? {
                pulled = Got {
                    epoch: page.epoch,
                    ..Got::default()
                };
                pulled.keep(self.store)?;
                continue;
            }
            let entries: Vec<Entry> = page
                .entries
                .into_iter()
                .filter_map(|value| serde_json::from_value(value).ok())
                .collect();
            let taken = self.store.receive(&entries)?;
            let new = taken
                .iter()
                .filter(|receipt| receipt.outcome == bowseam_jobs::Outcome::Taken);
            self.report.received = self.report.received.saturating_add(new.count());
            pulled = Got {
                after: page.next,
                caught_up: pulled.caught_up || !page.more,
                epoch: page.epoch,
            };
            pulled.keep(self.store)?;
            if page.shop != Office::shop_kept(self.store)? && !page.shop.is_empty() {
                self.shop()?;
            }
            if !page.more {
                break;
            }
        }
        Office::heard_now(self.store)
    }

    /// Whether the office was brought back from a backup since it was heard last: then everything waits again (what it has
    /// it says at once) and what others did is read from the first entry.
    fn was_brought_back(&mut self, got: &Got, epoch: &str) -> Result<bool> {
        // An older office says none.
        let other = !got.epoch.is_empty() && !epoch.is_empty() && got.epoch != epoch;
        if other {
            self.store.send_all_again()?;
            self.report.more = true;
        }
        Ok(other)
    }

    fn shop(&mut self) -> Result<()> {
        match self.link.shop() {
            Ok(shop) => Office::keep_shop(self.store, &shop),
            Err(trouble) => self.trouble(&[], trouble),
        }
    }
}
