//! One photo with what lies beside it (where it stood, what was measured and drawn), and all photos of a job.

use crate::{
    answer::{AlignedBy, Answer, PairAligned, PhotoPlace, PhotoView, PhotosView, Refusal, SizedMark},
    now::Now,
    photo_scale, undo,
    view::{fold_out, head, photos, yard::small},
    words,
};
use bowseam_figures::body::fold_out as unfold;
use bowseam_jobs::{
    entry::{PhotoChange, PhotoOf, What},
    job::JobPhoto,
    on_photo::Px,
};
use bowseam_photos::Similarity;
use uuid::Uuid;

/// A photo of the job.
///
/// # Errors
/// `no_photo`.
pub fn of_job<'a>(now: &'a Now, sha256: &str) -> Result<&'a JobPhoto, Refusal> {
    let found = now.job.photos.iter().find(|photo| photo.sha256 == sha256);
    found.ok_or_else(|| Refusal::at("no_photo", "sha256", "This photo is not on the job."))
}

/// The screens of one photo.
///
/// # Errors
/// `no_photo`, or the store cannot be read.
pub fn photo(now: &Now, sha256: &str) -> Result<Answer, Refusal> {
    let photo = of_job(now, sha256)?;
    Ok(Answer::Photo(PhotoView {
        head: head::head(now)?,
        photo: photos::photo(now, photo),
        size: photos::size(now.app, sha256),
        places: places(now),
        history: history(now, sha256)?,
        kinds: photo_scale::kinds(now),
        scale: photo
            .scale
            .as_ref()
            .map(|kept| photo_scale::view(now, photo, kept)),
        marks: marks(now, &photo.of),
    }))
}

/// How an after photo lies over its before photo.
///
/// # Errors
/// `no_photo`; a copy cannot be read.
pub fn pair_aligned(now: &Now, before: &str, after: &str) -> Result<Answer, Refusal> {
    of_job(now, before)?;
    let kept = of_job(now, after)?;
    let taps = taps(kept, before);
    let (by, map) = match by_taps(now, kept, before) {
        Some(map) => (AlignedBy::Taps, map),
        None => match now.app.copies().pair_now(before, after)? {
            Some(found) if found.sure => (AlignedBy::Match, found.map),
            Some(_) => (AlignedBy::Unsure, Similarity::NONE),
            None => (AlignedBy::Later, Similarity::NONE),
        },
    };
    Ok(Answer::PairAligned(PairAligned {
        by,
        a: map.a,
        b: map.b,
        at: map.at,
        taps,
    }))
}

/// The points that lay an after photo over this before photo.
fn taps(after: &JobPhoto, before: &str) -> Option<[Px; 4]> {
    let kept = after.aligned.as_ref().map(|kept| &kept.value);
    kept.filter(|kept| kept.before == before).map(|kept| kept.taps)
}

/// How an after photo lies over this before photo by the points that somebody put in both.
pub fn by_taps(now: &Now, after: &JobPhoto, before: &str) -> Option<Similarity> {
    let [a, b, c, d] = taps(after, before)?;
    let width = |sha256| photos::size(now.app, sha256).map(|[width, _]| f64::from(width.max(1)));
    let (of_before, of_after) = (width(before)?, width(&after.sha256)?);
    let share = |point: Px, width: f64| point.map(|c| f64::from(c) / 100.0 / width);
    Similarity::of_taps(
        [share(c, of_after), share(d, of_after)],
        [share(a, of_before), share(b, of_before)],
    )
}

/// The grid.
///
/// # Errors
/// The store cannot be read.
pub fn photos(now: &Now) -> Result<Answer, Refusal> {
    Ok(Answer::Photos(PhotosView {
        head: head::head(now)?,
        photos: now
            .job
            .photos
            .iter()
            .map(|photo| photos::photo(now, photo))
            .collect(),
        places: places(now),
    }))
}

/// Where a photo can go: the unit, each mark, what was found more, each step.
fn places(now: &Now) -> Vec<PhotoPlace> {
    let marks = now.job.marks.iter().map(|mark| PhotoOf::Mark(mark.id));
    let found = now.job.found.iter().map(|found| PhotoOf::Found(found.id));
    let steps = now.steps().iter().map(|step| PhotoOf::Step(step.key.clone()));
    std::iter::once(PhotoOf::Unit)
        .chain(marks)
        .chain(found)
        .chain(steps)
        .map(|of| PhotoPlace {
            words: named(now, &of),
            photos: small(photos::all(now, &of)),
            before_as: photos::found_as(now, &of),
            of,
        })
        .collect()
}

/// A place by its name, a mark with its station: two tears on one roof are told apart.
fn named(now: &Now, of: &PhotoOf) -> String {
    let PhotoOf::Mark(id) = of else {
        return now.shows(of);
    };
    let from = now.job_mark(*id).map(|mark| mark.place.from.say(now.unit));
    from.map_or_else(
        |_| now.shows(of),
        |from| format!("{}, from {from}", now.shows(of)),
    )
}

/// What happened to a photo, oldest first, what was taken back too.
fn history(now: &Now, sha256: &str) -> Result<Vec<String>, Refusal> {
    let entries = now.app.store().entries(now.job.id)?;
    let taken_back = undo::taken_back(&entries);
    let mut said = Vec::new();
    for entry in &entries {
        let What::Photo { sha256: of, change } = &entry.what else {
            continue;
        };
        if of != sha256 {
            continue;
        }
        let words = match change {
            PhotoChange::Added { of, .. } => format!("brought in at {}", now.shows(of)),
            PhotoChange::Moved { of, when } => {
                format!("put to {}, {}", now.shows(of), words::photo_when(*when))
            }
            PhotoChange::Removed(true) => "taken off".to_owned(),
            PhotoChange::Removed(false) => "put back".to_owned(),
            PhotoChange::View(Some(view)) => format!("said to show {}", words::view(*view)),
            PhotoChange::View(None) => "not said any more what it shows".to_owned(),
            PhotoChange::Scaled(_) | PhotoChange::Aligned(_) | PhotoChange::Drawn { .. } => continue,
        };
        let back = if taken_back.contains(&entry.act) {
            " (taken back)"
        } else {
            ""
        };
        let time = bowseam_jobs::clock::wall(&entry.at)
            .map(words::time)
            .unwrap_or_default();
        said.push(format!("{words}{back}, {}, {time}", now.name(entry.person)));
    }
    Ok(said)
}

/// Marks that a photo of this place can size: its own alone, else all.
fn marks(now: &Now, of: &PhotoOf) -> Vec<SizedMark> {
    let own = |id: Uuid| match of {
        PhotoOf::Mark(mark) => *mark == id,
        _ => true,
    };
    now.job
        .marks
        .iter()
        .filter(|mark| own(mark.id))
        .map(|mark| {
            let sheet = unfold(&now.plan, mark.place.surface.is_inside());
            let row = fold_out::row(now, mark, [&sheet, &sheet]);
            SizedMark {
                id: mark.id,
                words: named(now, &PhotoOf::Mark(mark.id)),
                size: row.size,
                from_photo: row.from_photo,
                surface: mark.place.surface,
            }
        })
        .collect()
}
