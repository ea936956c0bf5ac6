//! The photos of the demo yard go through the folder as a phone's photos do.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects
)]

use std::collections::BTreeSet;
use std::path::Path;

use bowseam_photos::Folder;
use serde_json::Value;

#[test]
fn every_demo_photo_is_kept_dated_and_shown_upright() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-data");
    let listed: Value = serde_json::from_slice(&std::fs::read(demo.join("photos.json")).unwrap()).unwrap();
    let room = tempfile::tempdir().unwrap();
    let folder = Folder::open(room.path()).unwrap();
    let (mut turns, mut files, mut cards) = (BTreeSet::new(), BTreeSet::new(), 0);
    for entry in listed.as_array().unwrap() {
        let file = entry["file"].as_str().unwrap();
        let bytes = std::fs::read(demo.join(file)).unwrap();
        assert!(bytes.len() <= 250_000, "{file}");
        let kept = folder.keep(&bytes).unwrap();
        let facts = kept.facts.unwrap();
        assert!(
            facts.taken.is_some() && facts.position.is_none() && kept.note.is_none(),
            "{file}"
        );
        assert!(
            matches!((facts.width, facts.height), (4000, 3000) | (3000, 4000)),
            "{file}"
        );
        turns.insert(facts.orientation);
        files.insert(file.to_owned());
        let small = folder.small(&kept.sha256).unwrap();
        assert_eq!(
            image::image_dimensions(small).unwrap(),
            (facts.width * 320 / 4000, facts.height * 320 / 4000)
        );
        if let Some(corners) = entry["card_px"].as_array() {
            cards += 1;
            // The card has a blue edge: just inside each corner of the upright copy, at half size, it must be found.
            let copy = image::open(folder.large(&kept.sha256).unwrap())
                .unwrap()
                .into_rgb8();
            let corners: Vec<[f64; 2]> = corners
                .iter()
                .map(|c| [0, 1].map(|i| c[i].as_f64().unwrap() / 2.0))
                .collect();
            let middle = [0, 1].map(|i| corners.iter().map(|c| c[i]).sum::<f64>() / 4.0);
            for corner in corners {
                let [x, y] = [0, 1].map(|i| (corner[i] + (middle[i] - corner[i]) * 0.06).round() as u32);
                let [r, _, b] = copy.get_pixel(x, y).0;
                assert!(b > r + 60, "{file}: no card at {x}, {y}");
            }
        }
    }
    assert_eq!(turns, BTreeSet::from([1, 3, 6, 8]));
    assert_eq!((folder.list().unwrap().len(), cards), (files.len(), 3));
    let on_disk = std::fs::read_dir(demo.join("photos")).unwrap().count();
    assert_eq!(files.len(), on_disk, "photos.json lists each photo once");
}
