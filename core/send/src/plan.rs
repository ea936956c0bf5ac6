//! What goes next. A *found more* holds up people at an open roof, so it, its photos and those of its marks go before everything else;
//! entries are small and go before other photos; an entry that names a photo waits until that has arrived.

use std::collections::{BTreeMap, HashMap, HashSet};

use bowseam_jobs::entry::{Entry, FoundChange, MarkChange, PhotoChange, PhotoOf, PhotoWhen, What};
use bowseam_jobs::outbox::{Item, ItemKind};
use bowseam_jobs::{Error, Store};
use uuid::Uuid;

use crate::wire;

/// One thing to do.
#[derive(Debug)]
pub enum Next {
    /// These photos, side by side.
    Photos(Vec<Item>),
    /// These entries in one message.
    Entries(Vec<Item>),
}

/// Remembers of each item whether it is urgent, so that a long outbox is read once a round.
#[derive(Debug, Default)]
pub struct Plan {
    urgent: HashMap<i64, bool>,
    /// Tried in this round without success: not again before the next one.
    pub tried: HashSet<i64>,
    /// Photos that nobody waits for stay until the network costs nothing.
    photos_wait: bool,
}

impl Plan {
    /// For one round.
    pub fn new(photos_wait: bool) -> Self {
        Self {
            photos_wait,
            ..Self::default()
        }
    }

    /// The next thing of what is due, `None` if nothing is; of photos so many at a time. With `gather`, entries that nobody
    /// waits for stay for now. `urgent` says whether somebody waits for an item; it is asked once a round of each.
    pub fn next(
        &mut self,
        due: Vec<Item>,
        photos_at_once: usize,
        gather: bool,
        mut urgent: impl FnMut(&Item) -> Result<bool, Error>,
    ) -> Result<Option<Next>, Error> {
        let mut photos: [Vec<Item>; 2] = [Vec::new(), Vec::new()];
        let mut entries: [Vec<Item>; 2] = [Vec::new(), Vec::new()];
        for item in due.into_iter().filter(|item| !self.tried.contains(&item.n)) {
            let urgent = match self.urgent.get(&item.n) {
                Some(known) => *known,
                None => urgent(&item)?,
            };
            self.urgent.insert(item.n, urgent);
            let [first, second] = &mut entries;
            let [first_photos, second_photos] = &mut photos;
            match (item.kind, urgent) {
                (ItemKind::Photo, true) => first_photos.push(item),
                (ItemKind::Photo, false) => second_photos.push(item),
                (ItemKind::Entry, true) => first.push(item),
                (ItemKind::Entry, false) => second.push(item),
            }
        }
        let [first, second] = entries;
        let [first_photos, second_photos] = photos.map(|mut photos| {
            photos.truncate(photos_at_once);
            (!photos.is_empty()).then_some(Next::Photos(photos))
        });
        let batch = |entries: Vec<Item>| (!entries.is_empty()).then(|| Next::Entries(fitting(entries)));
        Ok(first_photos
            .or_else(|| batch(first))
            .or_else(|| batch(second).filter(|_| !gather))
            .or_else(|| second_photos.filter(|_| !self.photos_wait)))
    }
}

/// As many as one message takes; one at least.
fn fitting(mut entries: Vec<Item>) -> Vec<Item> {
    let most = u64::try_from(wire::MOST_BODY).unwrap_or(u64::MAX) / 2;
    let mut bytes: u64 = 0;
    let fit = entries.iter().take(wire::MOST_ENTRIES).take_while(|item| {
        bytes = bytes.saturating_add(item.bytes);
        bytes <= most
    });
    let fit = fit.count().max(1);
    entries.truncate(fit);
    entries
}

/// What somebody waits for at the office. The marks of a job are read once, however many photos of them wait.
#[derive(Debug, Default)]
pub struct Urgent {
    marks: HashMap<Uuid, BTreeMap<Uuid, bool>>,
}

impl Urgent {
    /// Part of a *found more*: itself, its marks, their photos and its own, its figures. How its repair looks in the end is none.
    pub fn is(&mut self, store: &Store, entry: &Entry) -> Result<bool, Error> {
        match &entry.what {
            What::Photo {
                change:
                    PhotoChange::Added {
                        of: PhotoOf::Mark(mark),
                        when,
                        ..
                    }
                    | PhotoChange::Moved {
                        of: PhotoOf::Mark(mark),
                        when,
                    },
                ..
            } => Ok(*when != PhotoWhen::After && self.of_found(store, entry.job, *mark)?),
            what => Ok(by_itself(what)),
        }
    }

    fn of_found(&mut self, store: &Store, job: Uuid, mark: Uuid) -> Result<bool, Error> {
        if let Some(known) = self.marks.get(&job).and_then(|marks| marks.get(&mark)) {
            return Ok(*known);
        }
        // Not read yet, or the mark was made since.
        let marks = self.marks.entry(job).or_default();
        for entry in store.entries_where(job, |entry| matches!(entry.what, What::Mark { .. }))? {
            if let What::Mark { mark, change } = entry.what {
                *marks.entry(mark).or_default() |= matches!(change, MarkChange::Found(_));
            }
        }
        Ok(marks.get(&mark).copied().unwrap_or_default())
    }
}

/// What is part of a *found more* by what it says itself.
fn by_itself(what: &What) -> bool {
    let found = |of: &PhotoOf| matches!(of, PhotoOf::Found(_));
    match what {
        What::Found {
            change: FoundChange::Line { .. },
            ..
        }
        | What::Mark {
            change: MarkChange::Found(_),
            ..
        }
        | What::Asked { found: Some(_), .. } => true,
        What::Photo {
            change: PhotoChange::Added { of, .. } | PhotoChange::Moved { of, .. },
            ..
        } => found(of),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;
    use bowseam_jobs::outbox::ItemState;

    #[test]
    fn of_photos_so_many_go_at_a_time_as_are_asked_for_and_none_that_was_tried() {
        let photo = |n: i64| Item {
            n,
            kind: ItemKind::Photo,
            entry: Uuid::nil(),
            job: Uuid::nil(),
            sha256: n.to_string(),
            bytes: 1,
            state: ItemState::Waiting,
            tries: 0,
            why: String::new(),
            next_try: chrono::DateTime::UNIX_EPOCH,
        };
        let mut plan = Plan::new(false);
        plan.tried.insert(2);
        let numbers = |plan: &mut Plan, many: usize| {
            let due = (1..6).map(photo).collect();
            match plan.next(due, many, false, |_| Ok(false)).unwrap() {
                Some(Next::Photos(items)) => items.iter().map(|item| item.n).collect::<Vec<_>>(),
                other => panic!("{other:?}"),
            }
        };
        assert_eq!(numbers(&mut plan, 1), [1]);
        assert_eq!(numbers(&mut plan, 3), [1, 3, 4]);
        let entry = || Item {
            kind: ItemKind::Entry,
            ..photo(9)
        };
        let mut next = |gather| {
            plan.next(vec![photo(1), entry()], 1, gather, |_| Ok(false))
                .unwrap()
        };
        assert!(matches!(next(true), Some(Next::Photos(_))));
        assert!(matches!(next(false), Some(Next::Entries(_))));
    }
}
