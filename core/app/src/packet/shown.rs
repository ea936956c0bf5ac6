//! The photos of a packet: before and after side by side, the others, the list of all with their hashes, and which
//! of their times are in doubt.

use super::{
    Packet,
    blocks::Page,
    over,
    pairs::{Laid, Twin, twins},
};
use crate::{
    answer::{Pair, Photo},
    now::Now,
    words,
};
use bowseam_packet::{Cell, Photo as Shown};
use std::collections::{BTreeMap, BTreeSet};

/// Said once, above all pairs.
const LAID: &str = "Where an after photo could be laid over its before photo, the part that both show stands first: \
    the after photo is turned and scaled for it, nothing else is changed. Both whole photos stand below it as they were \
    taken.";
/// Most names of photos in one line.
const MOST_NAMES: usize = 6;

/// All of them.
pub fn photos(page: &mut Page, now: &Now, packet: &Packet, work_out: bool) {
    page.part("Before and after");
    let full = |pair: &&Pair| !pair.before.is_empty() || !pair.after.is_empty();
    let pairs: Vec<(&Pair, Vec<Twin>)> = packet
        .pairs
        .iter()
        .filter(full)
        .map(|pair| (pair, twins(now, pair, work_out)))
        .collect();
    let parted = |twin: &Twin| twin.laid.as_ref().is_some_and(|laid| !laid.as_taken);
    if pairs.iter().flat_map(|(_, twins)| twins).any(parted) {
        page.line(LAID);
    }
    let mut paired = BTreeSet::new();
    for (pair, twins) in pairs {
        page.thing(&pair.words);
        of_place(page, &twins);
        let all = pair.before.iter().chain(&pair.after);
        paired.extend(all.map(|shown| shown.sha256.clone()));
    }
    let others: Vec<_> = packet
        .photos
        .iter()
        .filter(|photo| !paired.contains(&photo.sha256))
        .map(|shown| photo(words::photo_when(shown.when), shown))
        .collect();
    if !others.is_empty() {
        page.part("Other photos");
        page.photos(others);
    }
    list(page, packet);
}

/// The photos of one place: pairs first, each in its own row, then those that have no other.
fn of_place(page: &mut Page, twins: &[Twin]) {
    let mut alone = Vec::new();
    for twin in twins {
        let (Some(before), Some(after)) = (twin.before, twin.after) else {
            alone.extend(twin.before.map(|shown| photo("before", shown)));
            alone.extend(twin.after.map(|shown| photo("after", shown)));
            continue;
        };
        let laid = twin.laid.as_ref();
        if let Some(laid) = laid.filter(|laid| !laid.as_taken) {
            page.photos(parts([before, after], laid));
        }
        let mut whole = [photo("before", before), photo("after", after)];
        if laid.is_some_and(|laid| laid.as_taken) {
            let [_, after] = &mut whole;
            after
                .lines
                .insert(1, "it shows the same part, as it was taken".to_owned());
        }
        page.photos(whole.into());
    }
    page.photos(alone);
}

/// The same part of both.
fn parts([before, after]: [&Photo; 2], laid: &Laid) -> Vec<Shown> {
    let by = if laid.by_hand {
        "by two points that were put in both"
    } else {
        "by matching"
    };
    let one = |photo: &Photo, word: &str, said: String, part| Shown {
        sha256: photo.sha256.clone(),
        alt: format!("{word}, the part that both photos show: {}", photo.shows),
        lines: vec![said],
        over: None,
        part: Some(part),
    };
    let [of_before, of_after] = laid.parts;
    let said = format!("the same part, after: laid over it {by}");
    vec![
        one(before, "before", "the same part, before".to_owned(), of_before),
        one(after, "after", said, of_after),
    ]
}

/// A photo with what is said of it; its hash stands last.
fn photo(word: &str, photo: &Photo) -> Shown {
    let taken = photo
        .taken
        .map(|taken| format!(", taken {}", taken.format("%Y-%m-%d %H:%M")));
    let doubt = if photo.doubt.is_some() {
        " (time in doubt: see the list)"
    } else {
        ""
    };
    let mut lines = vec![
        format!("{word}{}{doubt}, {}", taken.unwrap_or_default(), photo.by),
        photo.shows.clone(),
    ];
    if !photo.measured.is_empty() {
        let measured = words::list(&photo.measured);
        lines.push(format!("measured in it: {measured} (95 of 100 times within)"));
    }
    lines.push(photo.sha256.clone());
    Shown {
        sha256: photo.sha256.clone(),
        alt: format!("{word}: {}", photo.shows),
        lines,
        over: over::drawing(photo),
        part: None,
    }
}

/// All photos by name and hash, with what has to be known of their files and times.
fn list(page: &mut Page, packet: &Packet) {
    page.part("All photos, with the SHA-256 of the original");
    page.line("The original of each photo is kept as the camera made it. Its SHA-256 is the same as long as not one bit of it changed.");
    let placed = packet.photos.iter().filter(|photo| photo.placed).count();
    if placed > 0 {
        page.line(&format!(
            "{} in the file itself where it was taken. No picture of this packet holds that; the original does, as the camera wrote it.",
            words::count(placed, "original says", "originals say")
        ));
    }
    let rows = packet.photos.iter().map(|photo| {
        vec![
            photo.name.clone().into(),
            photo.shows.clone().into(),
            Cell::Small(photo.sha256.clone()),
        ]
    });
    page.table(&["photo", "shows", "SHA-256"], rows.collect());
    let mut doubts: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for photo in &packet.photos {
        if let Some(doubt) = &photo.doubt {
            doubts.entry(doubt).or_default().push(&photo.name);
        }
    }
    if !doubts.is_empty() {
        page.thing("Times in doubt");
        let said = doubts.into_iter().map(|(doubt, names)| {
            let more = match names.len().saturating_sub(MOST_NAMES) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let named: Vec<&str> = names.iter().take(MOST_NAMES).copied().collect();
            format!("{}{more}: {doubt}", named.join(", "))
        });
        page.list(&said.collect::<Vec<_>>());
    }
    if !packet.photos_changed.is_empty() {
        page.text(bowseam_packet::Style::Banner, "Not as they came:");
        page.list(&packet.photos_changed);
    }
}
