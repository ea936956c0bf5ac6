//! Changes of photos: brought in, put elsewhere, taken off; a thing of known size in one, a mark sized from it,
//! and what is drawn over it. The original's bytes never change.

use super::Change;
use crate::{
    answer::{Answer, Refusal},
    app::Kind,
    ask::TypedScale,
    photo_scale, typed,
};
use bowseam_figures::{mark::Place, measure::Length};
use bowseam_jobs::{
    entry::{MarkChange, PhotoChange, PhotoOf, PhotoWhen, What},
    job::JobPhoto,
    on_photo::{MarkSide, PairTaps, Px, Shape, ShapeKind, SizedBy, UnitView},
};
use bowseam_send::Office;
use uuid::Uuid;

/// Furthest point from the corner of a photo, in hundredths of a pixel: 50 000 pixels.
const FURTHEST: i32 = 5_000_000;
/// Most points on one photo: four corners and ten lengths.
const MOST_POINTS: usize = 24;
/// Nearest that two points of a pair are to each other, in hundredths of a pixel.
const NEAREST: u32 = 2_000;
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
    let placed = placed(change, bytes)?;
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
    let beside = befores(change, &of, when);
    let added = PhotoChange::Added {
        of,
        when,
        name: typed::text(name, "name")?,
        bytes: kept.bytes,
        taken: kept.facts.as_ref().and_then(|facts| facts.taken),
        clock: match change.now.app.kind() {
            Kind::Phone => Office::clock(&change.now.app.store())?,
            Kind::Office => None,
        },
        placed,
    };
    let sha256 = kept.sha256.clone();
    let saved = change.one(What::Photo {
        sha256: kept.sha256,
        change: added,
    })?;
    // The copies that the next screens show are made meanwhile.
    let copies = change.now.app.copies();
    copies.soon(&sha256);
    for before in beside {
        copies.pair_soon(&before, &sha256);
    }
    Ok(saved)
}

/// Whether the file says where it was taken. A shop that does not want such photos is not given them: a position taken
/// out of the file would make it another file than the camera wrote.
fn placed(change: &Change, bytes: &[u8]) -> Result<bool, Refusal> {
    let placed = bowseam_photos::position(bytes).is_some();
    if placed && !change.now.book.planning.photo_positions.value {
        let sentence = "This photo's file says where it was taken, and this shop takes no such photos. Turn the position off in the camera's settings and take it again; a photo without it is accepted.";
        return Err(Refusal::new("photo_position", sentence));
    }
    Ok(placed)
}

/// Before photos that an after photo of this place may lie over: of few, all.
fn befores(change: &Change, of: &PhotoOf, when: PhotoWhen) -> Vec<String> {
    const MOST: usize = 6;
    let there = change.now.job.photos.iter();
    let before = there.filter(|photo| photo.of == *of && photo.when == PhotoWhen::Before);
    let before: Vec<String> = before.map(|photo| photo.sha256.clone()).collect();
    if when == PhotoWhen::After && before.len() <= MOST {
        before
    } else {
        Vec::new()
    }
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

/// Says which view of the whole unit a photo shows.
pub fn set_view(change: &Change, sha256: String, view: Option<UnitView>) -> Result<Answer, Refusal> {
    if known_photo(change, &sha256)?.of != PhotoOf::Unit {
        let sentence = "This photo is not of the whole unit: what it shows is said by where it stands.";
        return Err(Refusal::at("not_of_unit", "view", sentence));
    }
    change.one(What::Photo {
        sha256,
        change: PhotoChange::View(view),
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
            sound(&typed.outline)?;
            photo_scale::read(&change.now, photo, &typed)
        })
        .transpose()?;
    change.one(What::Photo {
        sha256,
        change: PhotoChange::Scaled(scale),
    })
}

/// Looks for the printed target, and puts its corners where they were found. Lengths that were measured from it stay.
pub fn find_target(change: &Change, sha256: String) -> Result<Answer, Refusal> {
    let photo = known_photo(change, &sha256)?;
    let found = change.now.app.photos().find_target(&sha256)?;
    let corners = found.ok_or_else(|| {
        let sentence = "The printed target was not found in this photo: set its four corners by hand. It is found where its middle and most of its black frame are seen, sharp and not too small.";
        Refusal::new("no_target", sentence)
    })?;
    let scale = photo_scale::of_target(&change.now, photo, corners);
    change.one(What::Photo {
        sha256,
        change: PhotoChange::Scaled(Some(scale)),
    })
}

/// Keeps two points that a before and an after photo both show; nothing goes back to matching.
pub fn align(
    change: &Change,
    before: String,
    after: String,
    taps: Option<[Px; 4]>,
) -> Result<Answer, Refusal> {
    known_photo(change, &before)?;
    known_photo(change, &after)?;
    if let Some(taps @ [a, b, c, d]) = taps {
        sound(&taps)?;
        let near = |[ax, ay]: Px, [bx, by]: Px| ax.abs_diff(bx).max(ay.abs_diff(by)) < NEAREST;
        if near(a, b) || near(c, d) {
            let sentence = "The two points of a photo are nearly the same. Choose two that lie far apart, such as rivets at both ends.";
            return Err(Refusal::at("pair_points", "taps", sentence));
        }
    }
    let aligned = taps.map(|taps| PairTaps { before, taps });
    change.one(What::Photo {
        sha256: after,
        change: PhotoChange::Aligned(aligned),
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
