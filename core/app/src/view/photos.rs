//! Photos as screens show them, and before and after side by side.

use crate::{
    answer::{Pair, Photo},
    now::Now,
    words,
};
use bowseam_jobs::{
    entry::{PhotoOf, PhotoWhen},
    job::JobPhoto,
};

/// One photo.
pub fn photo(now: &Now, photo: &JobPhoto) -> Photo {
    Photo {
        sha256: photo.sha256.clone(),
        of: photo.of.clone(),
        when: photo.when,
        name: photo.name.clone(),
        bytes: photo.bytes,
        taken: photo.taken,
        by: now.name(photo.by),
        at: photo.at,
        cannot_show: matches!(
            now.app.photos().small(&photo.sha256),
            Err(bowseam_photos::Error::CannotShow(_))
        ),
        shows: now.shows(&photo.of),
    }
}

/// The photos of one thing.
pub fn of(now: &Now, of: &PhotoOf) -> Vec<Photo> {
    now.job
        .photos
        .iter()
        .filter(|p| &p.of == of)
        .map(|p| photo(now, p))
        .collect()
}

/// How many of one thing at one time.
pub fn count(now: &Now, of: &PhotoOf, when: PhotoWhen) -> usize {
    now.job
        .photos
        .iter()
        .filter(|p| &p.of == of && p.when == when)
        .count()
}

/// Before and after: of the unit, and at each mark.
pub fn pairs(now: &Now) -> Vec<Pair> {
    let marks = now.job.marks.iter().map(|mark| PhotoOf::Mark(mark.id));
    let pair = |of: PhotoOf| {
        let all = self::of(now, &of);
        let at = |when| all.iter().filter(|p| p.when == when).cloned().collect();
        Pair {
            words: now.shows(&of),
            before: at(PhotoWhen::Before),
            after: at(PhotoWhen::After),
            of,
        }
    };
    std::iter::once(PhotoOf::Unit).chain(marks).map(pair).collect()
}

/// What lacks to each pair: an after photo where there is a mark or a before photo.
pub fn pairs_lack(now: &Now) -> Vec<String> {
    let mut lacks = Vec::new();
    for pair in pairs(now) {
        let wanted = matches!(pair.of, PhotoOf::Mark(_)) || !pair.before.is_empty();
        if wanted && pair.after.is_empty() {
            lacks.push(format!("an after photo of {}", pair.words));
        }
    }
    lacks
}

/// Before photos still wanted, in words: the unit's four corners, a close-up of each mark.
pub fn wanted(now: &Now) -> Vec<String> {
    const CORNERS: usize = 4;
    let mut wanted = Vec::new();
    let unit = count(now, &PhotoOf::Unit, PhotoWhen::Before);
    if unit < CORNERS {
        let there = if unit == 0 {
            String::new()
        } else {
            format!(" ({} there)", words::count(unit, "photo is", "photos are"))
        };
        wanted.push(format!("the four corners of the unit{there}"));
    }
    for mark in &now.job.marks {
        let of = PhotoOf::Mark(mark.id);
        if count(now, &of, PhotoWhen::Before) == 0 && mark.found.is_none() {
            wanted.push(format!("a close-up of {}", now.shows(&of)));
        }
    }
    wanted
}
