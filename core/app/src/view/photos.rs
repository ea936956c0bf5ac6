//! Photos as screens show them, and before and after side by side.

use crate::{
    answer::{Pair, Photo},
    app::App,
    now::Now,
    view::{handover::Lack, steps, yard::small},
    words,
};
use bowseam_figures::mark::Surface;
use bowseam_jobs::{
    entry::{ArrivalField, PhotoOf, PhotoWhen},
    job::JobPhoto,
};
use bowseam_photos::Kind;
use chrono::TimeDelta;
use uuid::Uuid;

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
        cannot_show: cannot_show(now.app, photo),
        shows: now.shows(&photo.of),
        doubt: doubt(photo),
        placed: photo.placed,
        shapes: photo.shapes.clone(),
        measured: crate::photo_scale::measured(photo, now.unit),
        // Read from the file only where something has to be drawn to its scale.
        size: drawn_on(photo).then(|| size(now.app, &photo.sha256)).flatten(),
    }
}

/// Where clocks cannot all be right: the camera's and the phone's, the phone's and the office's.
fn doubt(photo: &JobPhoto) -> Option<String> {
    let said: Vec<String> = [camera_doubt(photo), phone_doubt(photo)]
        .into_iter()
        .flatten()
        .collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// A phone's clock that is set by hand, or whose battery was empty: camera and phone agree then, and both are wrong.
fn phone_doubt(photo: &JobPhoto) -> Option<String> {
    /// Seconds that nobody minds; the network's own way is in them.
    const RIGHT: u64 = 300;
    let clock = photo.clock?;
    let off = clock.ahead.unsigned_abs();
    if off <= RIGHT {
        return None;
    }
    let (days, hours, minutes) = (off / 86_400, off / 3600 % 24, off / 60 % 60);
    let count = |n: u64, one, many| words::count(usize::try_from(n).unwrap_or_default(), one, many);
    let off = match (days, hours) {
        (0, 0) => count(minutes, "minute", "minutes"),
        (0, _) => format!("{hours} h {minutes} min"),
        _ => count(days, "day", "days"),
    };
    let side = if clock.ahead > 0 { "ahead of" } else { "behind" };
    Some(format!(
        "The clock of the phone that brought it in was {off} {side} the office's when they were last compared, {}: its times are off by as much.",
        words::time(clock.at)
    ))
}

/// Cameras seldom say their time zone, so up to 14 hours ahead of UTC and 12 behind it may be right; a photo may be
/// brought in a day after it was taken.
fn camera_doubt(photo: &JobPhoto) -> Option<String> {
    const AHEAD: TimeDelta = TimeDelta::minutes(14 * 60 + 10);
    const BEHIND: TimeDelta = TimeDelta::hours(36);
    let early = photo.taken?.and_utc().signed_duration_since(photo.at);
    if early > AHEAD {
        Some(
            "By its camera's clock this photo was taken after it was brought in: one of the clocks is wrong."
                .to_owned(),
        )
    } else if early < BEHIND.checked_mul(-1)? {
        let days = early.num_days().unsigned_abs();
        Some(format!(
            "By its camera's clock this photo was taken {days} days before it was brought in: it is an older photo, or the camera's clock is wrong."
        ))
    } else {
        None
    }
}

/// Whether anything is drawn over it or measured in it.
fn drawn_on(photo: &JobPhoto) -> bool {
    !photo.shapes.is_empty() || photo.scale.is_some()
}

/// Focal length as on 35 mm film, where the photo says it.
pub fn lens(app: &App, sha256: &str) -> Option<u32> {
    app.photos().facts(sha256).ok()??.focal_35mm
}

/// Width and height of the upright original, if it is here and says so.
pub fn size(app: &App, sha256: &str) -> Option<[u32; 2]> {
    let facts = app.photos().facts(sha256).ok()??;
    Some([facts.width, facts.height])
}

/// Whether a screen is told to say so instead of showing the picture.
pub fn cannot_show(app: &App, photo: &JobPhoto) -> bool {
    // A window that reads the copy from its file needs it made, and asks for the picture again until it is. Over
    // HTTP the picture's own request makes it.
    if app.photo_files().is_some() {
        app.copies().soon(&photo.sha256);
    }
    app.copies().did_not_show(&photo.sha256) || is_heic(app, photo)
}

/// By its file; one that would have to be fetched for that by its name, since a page of a hundred photos fetches none.
fn is_heic(app: &App, photo: &JobPhoto) -> bool {
    match app.photos().kind_here(&photo.sha256) {
        Some(kind) => kind == Kind::Heic,
        None => [".heic", ".heif"]
            .iter()
            .any(|end| photo.name.to_lowercase().ends_with(end)),
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

/// The photos of a *found more*: its own, and those of its marks before the work.
pub fn of_found(now: &Now, found: Uuid) -> Vec<Photo> {
    shows_found(now, found).map(|p| photo(now, p)).collect()
}

/// How many photos show a *found more*.
pub fn count_found(now: &Now, found: Uuid) -> usize {
    shows_found(now, found).count()
}

fn shows_found<'n>(now: &'n Now, found: Uuid) -> impl Iterator<Item = &'n JobPhoto> {
    let mark = move |id: Uuid| {
        now.job
            .marks
            .iter()
            .any(|mark| mark.id == id && mark.found == Some(found))
    };
    let shows = move |of: &PhotoOf, when: PhotoWhen| match of {
        PhotoOf::Found(id) => *id == found,
        PhotoOf::Mark(id) => when != PhotoWhen::After && mark(*id),
        PhotoOf::Unit | PhotoOf::Step(_) => false,
    };
    now.job.photos.iter().filter(move |p| shows(&p.of, p.when))
}

/// How many of one thing at any time.
pub fn all(now: &Now, of: &PhotoOf) -> usize {
    now.job.photos.iter().filter(|p| &p.of == of).count()
}

/// How many of one thing at one time.
pub fn count(now: &Now, of: &PhotoOf, when: PhotoWhen) -> usize {
    now.job
        .photos
        .iter()
        .filter(|p| &p.of == of && p.when == when)
        .count()
}

/// What is shown before and after: the unit, and each mark that a go-ahead for a part does not leave out.
fn paired(now: &Now) -> impl Iterator<Item = PhotoOf> {
    let out = now.left_out();
    let marks = now.job.marks.iter().filter(move |mark| !out.contains(&mark.id));
    let marks = marks.map(|mark| PhotoOf::Mark(mark.id));
    std::iter::once(PhotoOf::Unit).chain(marks)
}

/// Before and after: of the unit, and at each mark.
pub fn pairs(now: &Now) -> Vec<Pair> {
    let pair = |of: PhotoOf| {
        let all = self::of(now, &of);
        let at = |when| all.iter().filter(|p| p.when == when).cloned().collect();
        let mut before: Vec<Photo> = at(PhotoWhen::Before);
        // What was found while the unit was open was photographed as it was found, on its mark or beside it.
        if let Some(found) = found_as(now, &of) {
            before.extend(at(PhotoWhen::During));
            before.extend(self::of(now, &found));
        }
        Pair {
            words: now.shows(&of),
            before,
            after: at(PhotoWhen::After),
            of,
        }
    };
    paired(now).map(pair).collect()
}

/// The *found more* that brought a mark: its photos are the mark's before photos.
pub fn found_as(now: &Now, of: &PhotoOf) -> Option<PhotoOf> {
    let PhotoOf::Mark(id) = of else { return None };
    now.job_mark(*id).ok()?.found.map(PhotoOf::Found)
}

/// What lacks to each pair: an after photo where there is a mark or a before photo.
pub fn pairs_lack(now: &Now) -> Vec<String> {
    // Counted, not shown: this is asked after every save, and showing reads the photos' files.
    let mut lacks = Vec::new();
    for of in paired(now) {
        let wanted = matches!(of, PhotoOf::Mark(_)) || count(now, &of, PhotoWhen::Before) > 0;
        if wanted && count(now, &of, PhotoWhen::After) == 0 {
            lacks.push(format!("an after photo of {}", now.shows(&of)));
        }
    }
    lacks
}

/// The photos of the unit as a whole at one time; close-ups stand with their marks.
pub fn of_unit(now: &Now, when: PhotoWhen) -> Vec<Photo> {
    let all = now.job.photos.iter();
    all.filter(|each| each.when == when && each.of == PhotoOf::Unit)
        .map(|each| photo(now, each))
        .collect()
}

/// Corners of a unit, each a photo.
const CORNERS: u32 = 4;

/// Which photos of the whole unit are wanted before the work, beside its corners: its roof, and its inside unless that is
/// sealed or nobody said yet how it came; a close-up there shows it.
fn beside_corners(now: &Now) -> Vec<&'static str> {
    let shown = |is: fn(Surface) -> bool| {
        let mut marks = now.job.marks.iter().filter(|mark| is(mark.place.surface));
        marks.any(|mark| count(now, &PhotoOf::Mark(mark.id), PhotoWhen::Before) > 0)
    };
    let roof = !shown(|surface| surface == Surface::Roof);
    let seen = now.arrival(ArrivalField::Load).is_some() && now.sealed().is_none();
    let inside = seen && !shown(Surface::is_inside);
    let wanted = [(roof, "the roof"), (inside, "the inside")];
    wanted
        .into_iter()
        .filter_map(|(is, what)| is.then_some(what))
        .collect()
}

/// How many photos of the whole unit are wanted before the work.
pub fn unit_wanted(now: &Now) -> u32 {
    CORNERS.saturating_add(small(beside_corners(now).len()))
}

/// Before photos still wanted, in words: the unit's four corners, its roof and inside, a close-up of each mark.
pub fn wanted(now: &Now) -> Vec<String> {
    wanted_where(now).into_iter().map(|lack| lack.words).collect()
}

/// The same, each with the screen on which it is taken.
pub fn wanted_where(now: &Now) -> Vec<Lack> {
    let mut wanted = Vec::new();
    // What an older program took at the step is of the unit as well.
    let at_step = all(now, &PhotoOf::Step(steps::BEFORE_PHOTOS.to_owned()));
    let unit = count(now, &PhotoOf::Unit, PhotoWhen::Before).saturating_add(at_step);
    let beside = beside_corners(now);
    let many = CORNERS.saturating_add(small(beside.len()));
    if small(unit) < many {
        let there = if unit == 0 {
            String::new()
        } else {
            format!(" ({} of {many} there)", words::count(unit, "photo", "photos"))
        };
        let corners = (small(unit) < CORNERS).then_some("the four corners");
        let what: Vec<String> = corners.into_iter().chain(beside).map(str::to_owned).collect();
        let unit = format!("{} of the unit{there}", words::list(&what));
        wanted.push(Lack::new(unit, "arrival"));
    }
    for mark in &now.job.marks {
        let of = PhotoOf::Mark(mark.id);
        if count(now, &of, PhotoWhen::Before) == 0 && mark.found.is_none() {
            let close_up = format!("a close-up of {}", now.shows(&of));
            wanted.push(Lack::new(close_up, format!("mark?mark={}", mark.id)));
        }
    }
    wanted
}
