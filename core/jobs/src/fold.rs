//! The fold itself: entries sorted into registers, and a job read off them.
//!
//! Registers grow one entry at a time, so that saving a change does not read the whole history again; and
//! since every list in them is kept in the one order of all entries, it does not matter in which order they
//! came. Nothing is decided when an entry is added: an undo may come before what it takes back.

use crate::on_photo::{MarkSide, PairTaps, PhotoScale, PhotoShape, Shape, SizedBy, UnitView};
use crate::{
    clash,
    clock::wall,
    entry::{
        ArrivalField, Decision, Entry, FoundChange, MarkChange, PhotoChange, PhotoOf, PhotoWhen, ProofOk,
        What,
    },
    job::{Asked, Clash, Job, JobFound, JobMark, JobPhoto, Kept, Stage, StepState},
    stock::{JobCut, JobDrop, JobReserved, Reserved},
};
use bowseam_figures::mark::{Age, DamageKind, Part, Place};
use bowseam_figures::measure::Length;
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use uuid::Uuid;

/// The one order of all entries.
type Order<'a> = (&'a str, Uuid, u64);

pub(crate) fn order(entry: &Entry) -> Order<'_> {
    (&entry.at, entry.device, entry.seq)
}

/// The entries of one job by register, each list in order.
#[derive(Default)]
pub(crate) struct Registers {
    had: HashSet<Uuid>,
    by_register: BTreeMap<String, Vec<Entry>>,
    not_known: Vec<Entry>,
    /// Per act the greatest undo so far, and what it says.
    undone: HashMap<Uuid, (Entry, bool)>,
}

impl Registers {
    /// Adds an entry; one that is there already changes nothing.
    pub(crate) fn add(&mut self, entry: Entry) {
        if !self.had.insert(entry.id) {
            return;
        }
        if let What::Undone { act, undone } = entry.what
            && self
                .undone
                .get(&act)
                .is_none_or(|(before, _)| order(before) < order(&entry))
        {
            self.undone.insert(act, (entry.clone(), undone));
        }
        let list = match entry.what.register(entry.id) {
            Some(register) => self.by_register.entry(register).or_default(),
            None => &mut self.not_known,
        };
        let place = list.partition_point(|other| order(other) < order(&entry));
        list.insert(place, entry);
    }

    /// Not taken back: the greatest undo of its act says so, or it is of a kind that undo does not touch.
    pub(crate) fn lives(&self, entry: &Entry) -> bool {
        !(entry.what.can_be_taken_back() && self.undone.get(&entry.act).is_some_and(|(_, undone)| *undone))
    }

    /// The entry that holds a register.
    pub(crate) fn holder(&self, register: &str) -> Option<&Entry> {
        self.holder_of(self.by_register.get(register)?)
    }

    /// The newest entries of a register beside its holder: whoever writes now knows them too.
    pub(crate) fn beside(&self, register: &str, holder: Option<Uuid>) -> Vec<Uuid> {
        let Some(list) = self.by_register.get(register) else {
            return Vec::new();
        };
        let mut newest = clash::newest(list);
        newest.retain(|id| Some(*id) != holder);
        newest
    }

    fn holder_of<'a>(&self, list: &'a [Entry]) -> Option<&'a Entry> {
        list.iter().rev().find(|entry| self.lives(entry))
    }

    /// Every entry, in no order.
    pub(crate) fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.by_register.values().flatten().chain(&self.not_known)
    }

    /// The job as it stands.
    pub(crate) fn job(&self, id: Uuid) -> Job {
        let mut draft = Draft::new(id);
        for (register, list) in &self.by_register {
            if let Some(holder) = self.holder_of(list) {
                let first = list.iter().find(|entry| self.lives(entry)).unwrap_or(holder);
                draft.take(holder, first);
                if let What::Reserved {
                    stock,
                    reserved: Some(value),
                } = &holder.what
                {
                    draft
                        .job
                        .reserved
                        .insert(stock.clone(), self.reserved(list, holder, value));
                }
                if list.len() > 1 {
                    self.clashes(register, list, holder, &mut draft.job.clashes);
                }
            }
        }
        draft.job.not_known = u32::try_from(self.not_known.len()).unwrap_or(u32::MAX);
        let last = self.entries().map(|entry| entry.at.as_str()).max();
        draft.finish(last.and_then(wall))
    }

    /// A reservation counts from when the job first held as much of the stock, for the same ways, without a break.
    fn reserved(&self, list: &[Entry], holder: &Entry, value: &Reserved) -> JobReserved {
        let as_much = |entry: &&Entry| {
            matches!(&entry.what, What::Reserved { reserved: Some(before), .. }
                if before.ways == value.ways && before.count >= value.count && before.length >= value.length)
        };
        let living = list.iter().rev().filter(|entry| self.lives(entry));
        let since = living.take_while(as_much).last().unwrap_or(holder);
        JobReserved {
            value: value.clone(),
            by: since.person,
            at: time(since),
            order: format!("{}{}", since.at, since.id),
        }
    }

    /// Who lost to the holder without its having been seen.
    fn clashes(&self, register: &str, list: &[Entry], holder: &Entry, clashes: &mut Vec<Clash>) {
        for lost in clash::lost(list, holder, |entry| self.lives(entry)) {
            clashes.push(Clash {
                register: register.to_owned(),
                holds: holder.id,
                held_by: holder.person,
                lost: lost.id,
                lost_by: lost.person,
            });
        }
    }
}

/// A mark before it is known whether it has all it needs.
#[derive(Default)]
struct MarkDraft<'a> {
    made: Option<(Order<'a>, Uuid)>,
    place: Option<Place>,
    kind: Option<DamageKind>,
    part: Option<Part>,
    age: Option<Age>,
    note: &'a str,
    depth: Option<Length>,
    found: Option<Uuid>,
    sized: BTreeMap<MarkSide, SizedBy>,
    removed: bool,
}

/// What a photo's registers hold.
#[derive(Default)]
struct PhotoDraft<'a> {
    photo: Option<(Order<'a>, JobPhoto)>,
    moved: Option<(Order<'a>, &'a PhotoOf, PhotoWhen)>,
    removed: Option<Order<'a>>,
    scale: Option<Kept<PhotoScale>>,
    aligned: Option<Kept<PairTaps>>,
    view: Option<UnitView>,
    shapes: Vec<(Order<'a>, Uuid, &'a Shape)>,
}

/// What a *found more*'s registers hold.
#[derive(Default)]
struct FoundDraft<'a> {
    found: Option<(Order<'a>, JobFound)>,
    removed: bool,
}

/// A job being read off the registers.
struct Draft<'a> {
    job: Job,
    marks: BTreeMap<Uuid, MarkDraft<'a>>,
    photos: BTreeMap<&'a str, PhotoDraft<'a>>,
    founds: BTreeMap<Uuid, FoundDraft<'a>>,
    asked: Vec<(Order<'a>, Kept<Asked>)>,
    times: Vec<(Order<'a>, &'a str, Kept<bool>)>,
    /// Somebody was on a step.
    begun: bool,
}

fn time(entry: &Entry) -> DateTime<Utc> {
    wall(&entry.at).unwrap_or_default()
}

fn keep<T>(entry: &Entry, value: T) -> Kept<T> {
    Kept {
        value,
        by: entry.person,
        at: time(entry),
        entry: entry.id,
    }
}

fn kept<T: Clone>(entry: &Entry, value: Option<&T>) -> Option<Kept<T>> {
    value.map(|value| keep(entry, value.clone()))
}

fn set<K: Ord, T: Clone>(map: &mut BTreeMap<K, Kept<T>>, key: K, entry: &Entry, value: Option<&T>) {
    if let Some(kept) = kept(entry, value) {
        map.insert(key, kept);
    }
}

impl<'a> Draft<'a> {
    fn new(id: Uuid) -> Self {
        Self {
            job: Job {
                id,
                unit: String::new(),
                opened: None,
                arrival: BTreeMap::new(),
                plan: BTreeMap::new(),
                roll: None,
                looked: BTreeSet::new(),
                marks: Vec::new(),
                photos: Vec::new(),
                ways: BTreeMap::new(),
                asked: Vec::new(),
                decided: BTreeMap::new(),
                hold: None,
                on_hand: BTreeMap::new(),
                roof_off: BTreeMap::new(),
                overruled: None,
                roof_opened: None,
                reserved: BTreeMap::new(),
                cuts: Vec::new(),
                drops: Vec::new(),
                buying: BTreeMap::new(),
                holes: BTreeMap::new(),
                steps: BTreeMap::new(),
                found: Vec::new(),
                proof: BTreeMap::new(),
                released: None,
                handed_over: None,
                office: BTreeMap::new(),
                sublets: BTreeMap::new(),
                notes: Vec::new(),
                on_job: BTreeSet::new(),
                reopened: Vec::new(),
                clashes: Vec::new(),
                not_known: 0,
                stage: Stage::Marked,
                last: None,
            },
            marks: BTreeMap::new(),
            photos: BTreeMap::new(),
            founds: BTreeMap::new(),
            asked: Vec::new(),
            times: Vec::new(),
            begun: false,
        }
    }

    /// Takes what one register holds; `first` is the earliest entry of it that lives.
    fn take(&mut self, e: &'a Entry, first: &'a Entry) {
        let job = &mut self.job;
        match &e.what {
            What::Opened { unit } => job.opened = Some(keep(e, unit.clone())),
            What::Arrival { field, value } => set(&mut job.arrival, *field, e, value.as_ref()),
            What::Plan { field, value } => set(&mut job.plan, *field, e, value.as_ref()),
            What::Roll { answer } => job.roll = kept(e, answer.as_ref()),
            What::Looked { surface, seen } => {
                if *seen {
                    job.looked.insert(*surface);
                }
            }
            What::Mark { mark, change } => self.take_mark(*mark, change, first),
            What::Photo { sha256, change } => self.take_photo(e, sha256, change, first),
            What::Way { group, chosen } => set(&mut job.ways, group.clone(), e, chosen.as_ref()),
            What::Asked {
                hash,
                figures,
                found,
                note,
            } => {
                let asked = Asked {
                    note: note.clone(),
                    hash: hash.clone(),
                    figures: figures.clone(),
                    found: *found,
                };
                self.asked.push((order(e), keep(e, asked)));
            }
            What::Decided { hash, decision } => set(&mut job.decided, hash.clone(), e, Some(decision)),
            What::Held { hold } => job.hold = kept(e, hold.as_ref()),
            What::OnHand { item, on_hand } => set(&mut job.on_hand, item.clone(), e, on_hand.as_ref()),
            What::RoofOff { field, value } => set(&mut job.roof_off, *field, e, value.as_ref()),
            What::Overruled { reason } => job.overruled = kept(e, reason.as_ref()),
            What::RoofOpened { opened } => job.roof_opened = opened.then(|| keep(e, true)),
            What::Cut { cut, done } => job.cuts.extend(done.clone().map(|done| JobCut {
                id: *cut,
                done,
                by: e.person,
                at: time(e),
            })),
            What::Drop { drop, kept } => {
                job.drops
                    .extend(kept.clone().map(|kept| JobDrop { id: *drop, kept }));
            }
            What::Buying { line, change } => job.buying.entry(line.clone()).or_default().take(change),
            What::Holes { line, holes } => set(&mut job.holes, line.clone(), e, holes.as_ref()),
            What::Time { step, on } => self.times.push((order(e), step, keep(e, *on))),
            What::StepDone { step, done } => self.step(step).done = Some(keep(e, *done)),
            What::Measured {
                step,
                value,
                measured,
            } => {
                set(&mut self.step(step).values, value.clone(), e, measured.as_ref());
            }
            What::Found { found, change } => self.take_found(*found, change, first),
            What::Proof { row, answer } => set(&mut job.proof, row.clone(), e, answer.as_ref()),
            What::Released { release } => job.released = kept(e, release.as_ref()),
            What::HandedOver { handed_over } => job.handed_over = handed_over.then(|| keep(e, true)),
            What::Office { field, value } => set(&mut job.office, *field, e, value.as_ref()),
            What::Sublet { sublet, work } => set(&mut job.sublets, *sublet, e, work.as_ref()),
            What::Note { note, text } => job
                .notes
                .extend(kept(first, text.as_ref()).map(|kept| (*note, kept))),
            What::OnJob { on, put } => {
                if *put {
                    job.on_job.insert(*on);
                }
            }
            What::Reopened { reason } => job.reopened.push(keep(e, reason.clone())),
            What::Reserved { .. } | What::Undone { .. } | What::NotKnown(_) => {}
        }
    }

    fn step(&mut self, step: &str) -> &mut StepState {
        self.job.steps.entry(step.to_owned()).or_default()
    }

    fn take_mark(&mut self, mark: Uuid, change: &'a MarkChange, first: &'a Entry) {
        let draft = self.marks.entry(mark).or_default();
        let made = order(first);
        if draft.made.as_ref().is_none_or(|(before, _)| made < *before) {
            draft.made = Some((made, first.person));
        }
        match change {
            MarkChange::Place(place) => draft.place = Some(*place),
            MarkChange::Kind(kind) => draft.kind = Some(*kind),
            MarkChange::Part(part) => draft.part = Some(*part),
            MarkChange::Age(age) => draft.age = Some(*age),
            MarkChange::Note(note) => draft.note = note,
            MarkChange::Depth(depth) => draft.depth = *depth,
            MarkChange::Found(found) => draft.found = Some(*found),
            MarkChange::Sized { side, by } => {
                if let Some(by) = by {
                    draft.sized.insert(*side, by.clone());
                }
            }
            MarkChange::Removed(removed) => draft.removed = *removed,
        }
    }

    fn take_photo(&mut self, e: &'a Entry, sha256: &'a str, change: &'a PhotoChange, first: &'a Entry) {
        let draft = self.photos.entry(sha256).or_default();
        match change {
            PhotoChange::Added {
                of,
                when,
                name,
                bytes,
                taken,
                clock,
                placed,
            } => {
                let photo = JobPhoto {
                    sha256: sha256.to_owned(),
                    of: of.clone(),
                    when: *when,
                    view: None,
                    name: name.clone(),
                    bytes: *bytes,
                    taken: *taken,
                    clock: *clock,
                    placed: *placed,
                    by: e.person,
                    at: time(e),
                    scale: None,
                    aligned: None,
                    shapes: Vec::new(),
                };
                draft.photo = Some((order(e), photo));
            }
            PhotoChange::Moved { of, when } => draft.moved = Some((order(e), of, *when)),
            PhotoChange::Removed(removed) => draft.removed = removed.then(|| order(e)),
            PhotoChange::Scaled(scale) => draft.scale = kept(e, scale.as_ref()),
            PhotoChange::Aligned(taps) => draft.aligned = kept(e, taps.as_ref()),
            PhotoChange::View(view) => draft.view = *view,
            PhotoChange::Drawn { id, shape } => {
                draft
                    .shapes
                    .extend(shape.as_ref().map(|shape| (order(first), *id, shape)));
            }
        }
    }

    fn take_found(&mut self, id: Uuid, change: &'a FoundChange, first: &'a Entry) {
        let draft = self.founds.entry(id).or_default();
        match change {
            FoundChange::Line { line, step } => {
                let (line, step) = (line.clone(), step.clone());
                draft.found = Some((
                    order(first),
                    JobFound {
                        id,
                        line,
                        step,
                        by: first.person,
                        at: time(first),
                    },
                ));
            }
            FoundChange::Removed(removed) => draft.removed = *removed,
        }
    }

    fn finish(mut self, last: Option<DateTime<Utc>>) -> Job {
        self.job.last = last;
        self.finish_lists();
        self.finish_times();
        let begun = self.begun;
        let job = &mut self.job;
        let unit = job.arrival.get(&ArrivalField::Unit).or(job.opened.as_ref());
        job.unit = unit.map(|unit| unit.value.clone()).unwrap_or_default();
        job.stage = stage(job, begun);
        self.job
    }

    /// Lists in the order their things were made.
    fn finish_lists(&mut self) {
        self.job.notes.sort_by_key(|(id, note)| (note.at, *id));
        self.job.reopened.sort_by_key(|kept| (kept.at, kept.entry));
        // By id within one moment, since registers stand in the order of their names.
        self.job.cuts.sort_by_key(|cut| (cut.at, cut.id));
        let mut marks: Vec<(Order<'a>, JobMark)> = std::mem::take(&mut self.marks)
            .into_iter()
            .filter_map(|(id, draft)| draft.mark(id))
            .collect();
        marks.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.id.cmp(&b.1.id)));
        self.job.marks = marks.into_iter().map(|(_, mark)| mark).collect();

        let mut photos: Vec<(Order<'a>, JobPhoto)> = std::mem::take(&mut self.photos)
            .into_values()
            .filter_map(PhotoDraft::photo)
            .collect();
        photos.sort_by(|a, b| a.0.cmp(&b.0));
        self.job.photos = photos.into_iter().map(|(_, photo)| photo).collect();

        let founds = std::mem::take(&mut self.founds).into_values();
        let mut founds: Vec<(Order<'a>, JobFound)> = founds
            .filter(|draft| !draft.removed)
            .filter_map(|draft| draft.found)
            .collect();
        founds.sort_by(|a, b| a.0.cmp(&b.0));
        self.job.found = founds.into_iter().map(|(_, found)| found).collect();

        self.asked.sort_by(|a, b| a.0.cmp(&b.0));
        self.job.asked = std::mem::take(&mut self.asked)
            .into_iter()
            .map(|(_, asked)| asked)
            .collect();
    }

    /// Each person's stretches on a step, closed by that person's next *off*; going on twice is going on once.
    fn finish_times(&mut self) {
        let mut times = std::mem::take(&mut self.times);
        times.sort_by(|a, b| a.0.cmp(&b.0));
        let mut on: BTreeMap<(&str, Uuid), (Order<'a>, Kept<bool>)> = BTreeMap::new();
        for (order, step, kept) in times {
            let key = (step, kept.by);
            if kept.value {
                self.begun = true;
                on.entry(key).or_insert((order, kept));
            } else if let Some((_, since)) = on.remove(&key) {
                let seconds = kept.at.signed_duration_since(since.at).num_seconds();
                let state = self.step(key.0);
                state.seconds = state.seconds.saturating_add(u64::try_from(seconds).unwrap_or(0));
            }
        }
        let mut on: Vec<_> = on.into_iter().collect();
        on.sort_by(|a, b| a.1.0.cmp(&b.1.0));
        for ((step, person), (_, kept)) in on {
            let state = self.step(step);
            state.people_on.insert(person, kept.at);
            state.on = Some(kept);
        }
    }
}

impl<'a> MarkDraft<'a> {
    /// The mark, if all it needs has arrived and it was not taken off.
    fn mark(self, id: Uuid) -> Option<(Order<'a>, JobMark)> {
        let (made, by) = self.made?;
        let at = wall(made.0).unwrap_or_default();
        let (place, kind, part) = (self.place?, self.kind?, self.part?);
        let age = self.age.unwrap_or(Age::NotKnown);
        let mark = JobMark {
            id,
            place,
            kind,
            part,
            age,
            note: self.note.to_owned(),
            depth: self.depth,
            found: self.found,
            sized: self.sized,
            by,
            at,
        };
        (!self.removed).then_some((made, mark))
    }
}

impl<'a> PhotoDraft<'a> {
    /// The photo where it was last put, unless it was taken off after it was last added.
    fn photo(mut self) -> Option<(Order<'a>, JobPhoto)> {
        let (added, mut photo) = self.photo?;
        if self.removed.is_some_and(|removed| removed > added) {
            return None;
        }
        if let Some((moved, of, when)) = self.moved
            && moved > added
        {
            (photo.of, photo.when) = (of.clone(), when);
        }
        photo.scale = self.scale;
        photo.aligned = self.aligned;
        // On a mark or at a step it shows that.
        photo.view = self.view.filter(|_| photo.of == PhotoOf::Unit);
        self.shapes.sort_by(|a, b| a.0.cmp(&b.0));
        let shape = |(_, id, shape): (_, Uuid, &Shape)| PhotoShape {
            id,
            shape: shape.clone(),
        };
        photo.shapes = self.shapes.into_iter().map(shape).collect();
        Some((added, photo))
    }
}

/// What a job waits for, the furthest that holds.
fn stage(job: &Job, begun: bool) -> Stage {
    let newest = job.asked.iter().rev().find(|asked| asked.value.found.is_none());
    let decided = newest
        .and_then(|asked| job.answer_to(asked))
        .map(|kept| &kept.value);
    let done = |step: &StepState| step.done.as_ref().is_some_and(|done| done.value);
    let complete = job
        .proof
        .get("complete")
        .is_some_and(|row| row.value.ok == ProofOk::Yes);
    if job.handed_over.is_some() {
        Stage::HandedOver
    } else if job.hold.is_some() {
        Stage::OnHold
    } else if complete || job.released.is_some() {
        Stage::Proved
    } else if begun || job.roof_opened.is_some() || job.steps.values().any(done) {
        Stage::InTheBay
    } else {
        match decided {
            Some(Decision::GoAhead { .. }) => Stage::GoAhead,
            Some(Decision::SentBack { .. }) => Stage::SentBack,
            None if job.asked.is_empty() && job.ways.is_empty() => Stage::Marked,
            None => Stage::Figured,
        }
    }
}
