//! Identifiers of entries: RFC 9562, version 7.
#![allow(clippy::unwrap_used)]

use bowseam_jobs::{Store, entry::What};
use uuid::Uuid;

/// RFC 9562 A.6: 2022-02-22T14:22:22-05:00.
#[test]
fn the_published_identifier_holds_its_moment_and_so_do_those_of_the_store() {
    let published: Uuid = "017F22E2-79B0-7CC3-98C4-DC0C0C07398F".parse().unwrap();
    let seconds = |id: Uuid| id.get_timestamp().unwrap().to_unix().0;
    assert_eq!(
        (published.get_version_num(), seconds(published)),
        (7, 1_645_557_742)
    );

    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(folder.path()).unwrap().store;
    let begun = seconds(Uuid::now_v7());
    let unit = "T-104".to_owned();
    let (job, person, act) = (Uuid::from_u128(1), Uuid::from_u128(2), Uuid::from_u128(3));
    let entries = store
        .append(job, person, act, vec![What::Opened { unit }])
        .unwrap();
    for entry in &entries {
        assert_eq!(entry.id.get_version_num(), 7);
        assert!((begun..begun.saturating_add(60)).contains(&seconds(entry.id)));
    }
    assert_eq!(entries.len(), 1);
}
