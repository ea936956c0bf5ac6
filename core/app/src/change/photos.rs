//! Changes of photos: brought in, put elsewhere, taken off; a thing of known size in one, a mark sized from it,
//! and what is drawn over it. The original's bytes never change.

use super::Change;
use crate::{
    answer::{Answer, Refusal},
    ask::TypedScale,
    photo_scale, typed,
};
use bowseam_figures::{mark::Place, measure::Length};
use bowseam_jobs::{
    entry::{MarkChange, PhotoChange, PhotoOf, PhotoWhen, What},
    job::JobPhoto,
    on_photo::{MarkSide, Px, Shape, ShapeKind, SizedBy},
};
use uuid::Uuid;

/// Furthest point from the corner of a photo, in hundredths of a pixel: 50 000 pixels.
const FURTHEST: i32 = 5_000_000;
/// Most points on one photo: four corners and ten lengths.
const MOST_POINTS: usize = 24;
/// Most shapes over one photo.
const MOST_SHAPES: usize = 100;
/// Longest words over a photo.
const LONGEST_WORDS: usize = 120;

/// Keeps a photo's bytes and puts it where it belongs.
pub fn add_photo(
    change: &Change,
    of: PhotoOf,
    when: PhotoWhen,
    name: &str,
    bytes: Option<&[u8]>,
) -> Result<Answer, Refusal> {
    let bytes = bytes.ok_or_else(|| {
        Refusal::new(
            "photo_missing",
            "The photo itself is missing. Take or choose it again.",
        )
    })?;
    known_place(change, &of)?;
    let kept = change.now.app.photos().keep(bytes)?;
    if let Some(there) = change.now.job.photos.iter().find(|p| p.sha256 == kept.sha256) {
        if there.of == of && there.when == when {
            return Ok(super::nothing_made(None));
        }
        let sentence = format!(
            "This photo is on the job already, at {}. Move it there if it belongs here.",
            change.now.shows(&there.of)
        );
        return Err(Refusal::new("photo_twice", sentence));
    }
    let added = PhotoChange::Added {
        of,
        when,
        name: typed::text(name, "name")?,
        bytes: kept.bytes,
        taken: kept.facts.and_then(|facts| facts.taken),
    };
    let sha256 = kept.sha256.clone();
    let saved = change.one(What::Photo {
        sha256: kept.sha256,
        change: added,
    })?;
    // The copies that the next screens show are made meanwhile.
    change.now.app.copies().soon(&sha256);
    Ok(saved)
}

fn known_place(change: &Change, of: &PhotoOf) -> Result<(), Refusal> {
    match of {
        PhotoOf::Unit => Ok(()),
        PhotoOf::Mark(id) => change.now.job_mark(*id).map(|_| ()),
        PhotoOf::Found(id) => change.now.job_found(*id).map(|_| ()),
        PhotoOf::Step(key) => change.now.step(key).map(|_| ()),
    }
}

fn known_photo<'a>(change: &'a Change, sha256: &str) -> Result<&'a JobPhoto, Refusal> {
    crate::view::photo::of_job(&change.now, sha256)
}

/// Puts a photo elsewhere.
pub fn move_photo(change: &Change, sha256: String, of: PhotoOf, when: PhotoWhen) -> Result<Answer, Refusal> {
    known_photo(change, &sha256)?;
    known_place(change, &of)?;
    change.one(What::Photo {
        sha256,
        change: PhotoChange::Moved { of, when },
    })
}

/// Takes a photo off the job; its original stays in the folder.
pub fn remove_photo(change: &Change, sha256: String) -> Result<Answer, Refusal> {
    known_photo(change, &sha256)?;
    change.one(What::Photo {
        sha256,
        change: PhotoChange::Removed(true),
    })
}

fn sound(points: &[Px]) -> Result<(), Refusal> {
    let inside = |at: &i32| (0..=FURTHEST).contains(at);
    if points.len() > MOST_POINTS || !points.iter().flatten().all(inside) {
        let sentence = "A point lies outside the photo, or there are more than 24. Four corners and up to ten lengths are accepted.";
        return Err(Refusal::at("photo_points", "points", sentence));
    }
    Ok(())
}

/// Sets the thing of known size and the points as far as they are put, with what comes out of them; nothing takes
/// all of it away. Points from which nothing comes out are kept too: the screen says what is wrong with them.
pub fn set_scale(change: &Change, sha256: String, scale: Option<TypedScale>) -> Result<Answer, Refusal> {
    let photo = known_photo(change, &sha256)?;
    let scale = scale
        .map(|typed| {
            sound(&typed.points)?;
            photo_scale::read(&change.now, photo, &typed)
        })
        .transpose()?;
    change.one(What::Photo {
        sha256,
        change: PhotoChange::Scaled(scale),
    })
}

/// A measured length becomes one side of a mark, whose middle stays where it was.
pub fn size_from(
    change: &Change,
    sha256: String,
    mark: Uuid,
    side: MarkSide,
    line: u32,
) -> Result<Answer, Refusal> {
    let photo = known_photo(change, &sha256)?;
    let place = change.now.job_mark(mark)?.place;
    let at = usize::try_from(line).unwrap_or(usize::MAX);
    let measured = photo.scale.as_ref().and_then(|kept| kept.value.lengths.get(at));
    let mut length = *measured.ok_or_else(|| {
        let sentence = "This length is not measured yet: set both of its ends first.";
        Refusal::at("no_length", "line", sentence)
    })?;
    length.value = photo_scale::on_the_tape(length.value, change.now.unit);
    let place = resized(place, side, length.value, &change.now);
    place.check(&change.now.plan)?;
    let by = Some(SizedBy { sha256, length });
    let changes = [MarkChange::Place(place), MarkChange::Sized { side, by }];
    let what = changes.map(|change| What::Mark { mark, change });
    change.save(Some(mark), what.into())
}

/// The place with another size on one side: about its middle, but never beyond the body's beginning.
fn resized(place: Place, side: MarkSide, size: Length, now: &crate::now::Now) -> Place {
    let about = |from: Length, to: Length| {
        let middle = from.plus(to).minus(size);
        let half = middle.part(2).unwrap_or_default().max(Length::ZERO);
        let from = photo_scale::on_the_tape(half, now.unit);
        (from, from.plus(size))
    };
    let mut place = place;
    match side {
        MarkSide::Along => (place.from, place.to) = about(place.from, place.to),
        MarkSide::Across => (place.low, place.high) = about(place.low, place.high),
    }
    place
}

/// Draws over a photo, draws anew what has this id, or takes it off.
pub fn draw(
    change: &Change,
    sha256: String,
    id: Option<Uuid>,
    shape: Option<Shape>,
) -> Result<Answer, Refusal> {
    let photo = known_photo(change, &sha256)?;
    let there = id.and_then(|id| photo.shapes.iter().find(|shape| shape.id == id));
    if id.is_some() && there.is_none() {
        let sentence = "This is not on the photo any more. What is there is shown.";
        return Err(Refusal::at("no_shape", "id", sentence));
    }
    let shape = shape.map(sound_shape).transpose()?;
    if shape.as_ref() == there.map(|there| &there.shape) {
        return Ok(super::nothing_made(id));
    }
    if there.is_none() && photo.shapes.len() >= MOST_SHAPES {
        let sentence = "A hundred things are drawn over this photo already. Take some off first.";
        return Err(Refusal::at("shapes_many", "shape", sentence));
    }
    let id = id.unwrap_or_else(Uuid::now_v7);
    let what = What::Photo {
        sha256,
        change: PhotoChange::Drawn { id, shape },
    };
    change.save(Some(id), vec![what])
}

fn sound_shape(mut shape: Shape) -> Result<Shape, Refusal> {
    sound(&shape.at)?;
    shape.text = typed::text(&shape.text, "text")?.replace('\n', " ");
    if shape.text.chars().count() > LONGEST_WORDS {
        let sentence = "These words are too long to stand on a photo: up to 120 characters are accepted.";
        return Err(Refusal::at("shape_text", "text", sentence));
    }
    let [from, to] = shape.at;
    match shape.kind {
        ShapeKind::Text if shape.text.is_empty() => Err(Refusal::at(
            "shape_text",
            "text",
            "There are no words yet. Type what is to stand on the photo.",
        )),
        ShapeKind::Text => {
            shape.at = [from, from];
            Ok(shape)
        }
        _ if from == to => Err(Refusal::at(
            "shape_size",
            "at",
            "Both ends are the same point. Put the second one elsewhere.",
        )),
        _ => Ok(shape),
    }
}
