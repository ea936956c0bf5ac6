//! Before and after photos of one place side by side: which belongs to which, and the part that both show, once the after
//! photo is laid over its before photo. A photo that somebody laid by hand belongs to the one it was laid over; of few
//! photos all are matched with all, so that four corners pair up whatever order they were taken in; what is left pairs
//! by the view of the unit that it was said to show, then in its order, and is shown as it was taken.

use crate::{
    answer::{Pair, Photo},
    now::Now,
    view::photo::{by_taps, of_job},
};
use bowseam_packet::{Error, Part};
use bowseam_photos::{Similarity, shared};
use std::collections::BTreeMap;

/// Most pairs of one place that are all tried; of more, each is tried with its own number alone.
const MOST_TRIED: usize = 36;

/// Two photos that differ by less than this at every corner, in widths, are seen to show the same.
const ALIKE: f64 = 0.02;

/// A before and an after photo, as far as there are both.
pub struct Twin<'p> {
    pub before: Option<&'p Photo>,
    pub after: Option<&'p Photo>,
    pub laid: Option<Laid>,
}

/// How they lie over each other.
pub struct Laid {
    /// Somebody put two points in both.
    pub by_hand: bool,
    /// They show the same as they were taken: nothing has to be turned or cut off to see it.
    pub as_taken: bool,
    /// The part that both show, of each.
    pub parts: [Part; 2],
}

/// A way that an after photo lies over a before photo, by their places in the pair.
struct Found {
    before: usize,
    after: usize,
    likeness: f64,
    by_hand: bool,
    map: Similarity,
}

/// The photos of a place, paired. `work_out`: what was not matched yet is matched now, else it is left for later and
/// shown as it was taken.
pub fn twins<'p>(now: &Now, pair: &'p Pair, work_out: bool) -> Vec<Twin<'p>> {
    let mut found = by_hand(now, pair);
    let tried = tried(pair, &found).into_iter();
    let mut matched: Vec<Found> = tried
        .filter_map(|two| matching(now, pair, two, work_out))
        .collect();
    // The most alike first; each photo once.
    matched.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
    for one in matched {
        if free(&found, [one.before, one.after]) {
            found.push(one);
        }
    }
    let mut twins: Vec<Twin> = Vec::new();
    let mut alone: Vec<usize> = (0..pair.after.len())
        .filter(|after| found.iter().all(|one| one.after != *after))
        .collect();
    let laid = |number: usize| found.iter().find(|one| one.before == number);
    // What was said to show the same goes before what only comes next.
    let mut same = BTreeMap::new();
    for (number, before) in pair
        .before
        .iter()
        .enumerate()
        .filter(|(number, _)| laid(*number).is_none())
    {
        let view = |after: &usize| pair.after.get(*after).and_then(|photo| photo.view);
        let at = alone
            .iter()
            .position(|after| before.view.is_some() && view(after) == before.view);
        same.extend(at.map(|at| (number, alone.remove(at))));
    }
    for (number, before) in pair.before.iter().enumerate() {
        let laid = laid(number);
        let after = laid.map(|one| one.after).or_else(|| same.remove(&number));
        let after = after.or_else(|| {
            let next = alone.iter().position(|after| may_pair(pair, [number, *after]))?;
            Some(alone.remove(next))
        });
        twins.push(Twin {
            before: Some(before),
            after: after.and_then(|at| pair.after.get(at)),
            laid: laid.and_then(|one| parts(now, pair, one)),
        });
    }
    let alone = alone.into_iter().filter_map(|at| pair.after.get(at));
    twins.extend(alone.map(|after| Twin {
        before: None,
        after: Some(after),
        laid: None,
    }));
    twins
}

/// Whether neither is paired yet.
fn free(found: &[Found], [before, after]: [usize; 2]) -> bool {
    found.iter().all(|one| one.before != before && one.after != after)
}

/// Not where both were said to show another view of the unit.
fn may_pair(pair: &Pair, [before, after]: [usize; 2]) -> bool {
    let view = |photos: &[Photo], at: usize| photos.get(at).and_then(|photo| photo.view);
    let both = view(&pair.before, before).zip(view(&pair.after, after));
    both.is_none_or(|(before, after)| before == after)
}

/// The pairs of a place that are tried, beside those that are found by hand.
fn tried(pair: &Pair, by_hand: &[Found]) -> Vec<[usize; 2]> {
    let all = pair.before.len().saturating_mul(pair.after.len()) <= MOST_TRIED;
    let every =
        (0..pair.before.len()).flat_map(|before| (0..pair.after.len()).map(move |after| [before, after]));
    every
        .filter(|two @ [before, after]| {
            (all || before == after) && free(by_hand, *two) && may_pair(pair, *two)
        })
        .collect()
}

/// Matches all that is tried and not known yet, so that [`twins`] finds it. `tell` hears before each how many are done of
/// how many, and ends it by its error.
pub fn match_all(
    now: &Now,
    pairs: &[Pair],
    tell: &mut dyn FnMut(usize, usize) -> Result<(), Error>,
) -> Result<(), Error> {
    let photos = now.app.photos();
    let unknown = |pair: &Pair| {
        let tried = tried(pair, &by_hand(now, pair)).into_iter();
        let shown = |photo: &Photo| (!photo.cannot_show).then(|| photo.sha256.clone());
        let two = tried.filter_map(|[before, after]| {
            Some([shown(pair.before.get(before)?)?, shown(pair.after.get(after)?)?])
        });
        two.filter(|[before, after]| photos.aligned(before, after).is_none())
            .collect::<Vec<_>>()
    };
    let unknown: Vec<[String; 2]> = pairs.iter().flat_map(unknown).collect();
    for (done, [before, after]) in unknown.iter().enumerate() {
        tell(done, unknown.len())?;
        // Where it cannot be matched the photos stand as they were taken.
        let _ = photos.align(before, after);
    }
    tell(unknown.len(), unknown.len())
}

/// Those that somebody laid over each other by two points.
fn by_hand(now: &Now, pair: &Pair) -> Vec<Found> {
    let one = |(after, photo): (usize, &Photo)| {
        let kept = of_job(now, &photo.sha256).ok()?;
        let over = &kept.aligned.as_ref()?.value.before;
        let before = pair.before.iter().position(|before| before.sha256 == *over)?;
        Some(Found {
            before,
            after,
            likeness: 1.0,
            by_hand: true,
            map: by_taps(now, kept, over)?,
        })
    };
    pair.after.iter().enumerate().filter_map(one).collect()
}

/// What matching came to, where it is sure.
fn matching(now: &Now, pair: &Pair, [before, after]: [usize; 2], work_out: bool) -> Option<Found> {
    let [one, other] = [pair.before.get(before)?, pair.after.get(after)?];
    if one.cannot_show || other.cannot_show {
        return None;
    }
    let photos = now.app.photos();
    let known = photos.aligned(&one.sha256, &other.sha256);
    if known.is_none() && !work_out {
        now.app.copies().pair_soon(&one.sha256, &other.sha256);
        return None;
    }
    let found = match known {
        Some(found) => found,
        None => photos.align(&one.sha256, &other.sha256).ok()?,
    };
    found.sure.then_some(Found {
        before,
        after,
        likeness: found.likeness,
        by_hand: false,
        map: found.map,
    })
}

/// The part that both show, in each.
fn parts(now: &Now, pair: &Pair, found: &Found) -> Option<Laid> {
    let photos = now.app.photos();
    let [before, after] = [
        photos.shape(&pair.before.get(found.before)?.sha256).ok()?,
        photos.shape(&pair.after.get(found.after)?.sha256).ok()?,
    ];
    let [left, top, width] = shared(&found.map, [before, after])?;
    let part = |photo: f64, map: Similarity| Part {
        frame: before,
        photo,
        lies: [
            map.a / width,
            map.b / width,
            (map.at[0] - left) / width,
            (map.at[1] - top) / width,
        ],
    };
    // Where the corners of the after photo lie, beside those of the before photo.
    let off = |corner: [f64; 2]| {
        let [x, y] = found.map.place(corner);
        (x - corner[0]).hypot(y - corner[1])
    };
    let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, before], [1.0, before]];
    let as_taken = (before - after).abs() < ALIKE && corners.into_iter().all(|corner| off(corner) < ALIKE);
    Some(Laid {
        by_hand: found.by_hand,
        as_taken,
        parts: [part(before, Similarity::NONE), part(after, found.map)],
    })
}
