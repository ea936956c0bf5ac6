//! Who overwrote what without having seen it.
//!
//! An entry names the entry that held its register when it was written (`saw`) and those beside it that had already
//! lost (`also`): together the newest that its writer had. What these lead back to, step by step, is all that the
//! writer knew, whatever the clocks said. An entry that nobody who wrote after it knew was overwritten unseen.

use crate::entry::Entry;
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

fn before(entry: &Entry) -> impl Iterator<Item = Uuid> {
    entry.saw.into_iter().chain(entry.also.iter().copied())
}

/// The newest entries of a register: those that no other of the list leads back to.
pub(crate) fn newest(list: &[Entry]) -> Vec<Uuid> {
    let followed: HashSet<Uuid> = list.iter().flat_map(before).collect();
    let all = list.iter().map(|entry| entry.id);
    all.filter(|id| !followed.contains(id)).collect()
}

/// All that the writers of these entries knew of the register.
fn known<'a>(list: &[Entry], writers: impl Iterator<Item = &'a Entry>) -> HashSet<Uuid> {
    let by_id: HashMap<Uuid, &Entry> = list.iter().map(|entry| (entry.id, entry)).collect();
    let mut open: Vec<Uuid> = writers.flat_map(before).collect();
    let mut known = HashSet::new();
    while let Some(id) = open.pop() {
        if known.insert(id) {
            open.extend(by_id.get(&id).into_iter().flat_map(|entry| before(entry)));
        }
    }
    known
}

/// Entries of a register that lost to the holder, on other devices, and that nobody knew who wrote after them.
pub(crate) fn lost<'a>(list: &'a [Entry], holder: &Entry, lives: impl Fn(&Entry) -> bool) -> Vec<&'a Entry> {
    let may_be = |entry: &&Entry| {
        entry.device != holder.device && entry.what != holder.what && entry.id != holder.id && lives(entry)
    };
    if !holder.what.can_clash() || !list.iter().any(|entry| may_be(&entry)) {
        return Vec::new();
    }
    let known = known(list, list.iter().filter(|entry| lives(entry)));
    list.iter()
        .filter(|entry| may_be(entry) && !known.contains(&entry.id))
        .collect()
}
