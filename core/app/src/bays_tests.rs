#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap
)]

use super::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A five-day week; 2026-11-02 is a Monday.
fn week() -> Week {
    Week {
        workdays: 5,
        closed: BTreeSet::new(),
    }
}

fn need(place: i64, first: &str, days: u32) -> Need {
    Need {
        unit: place.to_string(),
        since: DateTime::from_timestamp(place, 0).unwrap(),
        first: Some(day(first)),
        days,
        people: 1,
        cure_days: 0,
        in_work: false,
    }
}

/// With more people than any of these jobs needs.
fn planned(needs: &[Need], bays: u32, today: &str) -> Vec<String> {
    let people = 1_000;
    planned_by(needs, Room { bays, people }, today)
}

fn planned_by(needs: &[Need], room: Room, today: &str) -> Vec<String> {
    let ids: Vec<Uuid> = (1..=needs.len()).map(|n| Uuid::from_u128(n as u128)).collect();
    let all = ids.iter().copied().zip(needs.iter().cloned()).collect();
    let stays = plan(&all, room, &week(), day(today));
    let said = |id: &Uuid| stays[id].map_or_else(|| "none".to_owned(), |stay| stay.day.to_string());
    ids.iter().map(said).collect()
}

#[test]
fn a_second_job_waits_for_the_one_bay_and_has_its_own_in_two() {
    let two = [need(1, "2026-11-02", 3), need(2, "2026-11-02", 2)];
    // Monday to Wednesday, then Thursday and Friday.
    assert_eq!(planned(&two, 1, "2026-11-02"), ["2026-11-04", "2026-11-06"]);
    assert_eq!(planned(&two, 2, "2026-11-02"), ["2026-11-04", "2026-11-03"]);
}

fn by(people: u32, mut need: Need) -> Need {
    need.people = people;
    need
}

#[test]
fn two_jobs_that_need_all_people_are_one_after_the_other_however_many_bays_there_are() {
    let two = [by(2, need(1, "2026-11-02", 3)), by(2, need(2, "2026-11-02", 2))];
    let room = |bays, people| Room { bays, people };
    let days = |bays, people| planned_by(&two, room(bays, people), "2026-11-02");
    assert_eq!(days(3, 2), ["2026-11-04", "2026-11-06"]);
    assert_eq!(days(3, 3), ["2026-11-04", "2026-11-06"], "one person is too few");
    assert_eq!(days(3, 4), ["2026-11-04", "2026-11-03"]);
    // A job that wants more people than there are has all of them, and still finds a day.
    let large = [by(9, need(1, "2026-11-02", 1)), by(1, need(2, "2026-11-02", 1))];
    assert_eq!(
        planned_by(&large, room(2, 2), "2026-11-02"),
        ["2026-11-02", "2026-11-03"]
    );
}

#[test]
fn people_are_free_for_another_job_while_one_cures_and_its_bay_is_not() {
    let mut cures = by(2, need(1, "2026-11-02", 1));
    cures.cure_days = 3;
    let two = [cures, by(2, need(2, "2026-11-02", 1))];
    let days = |bays| planned_by(&two, Room { bays, people: 2 }, "2026-11-02");
    // Monday, cured on Thursday: the second has the people on Tuesday, and the only bay on Friday.
    assert_eq!(days(2), ["2026-11-05", "2026-11-03"]);
    assert_eq!(days(1), ["2026-11-05", "2026-11-06"]);
}

#[test]
fn one_that_comes_later_moves_nobody_and_takes_a_gap() {
    let mut jobs = vec![need(1, "2026-11-02", 2), need(2, "2026-11-09", 2)];
    let before = planned(&jobs, 1, "2026-11-02");
    jobs.push(need(3, "2026-11-02", 2));
    jobs.push(need(4, "2026-11-02", 4));
    let after = planned(&jobs, 1, "2026-11-02");
    assert_eq!(after[..2], before);
    // Wednesday and Thursday are free for the short one, the long one begins behind all of them.
    assert_eq!(after[2..], ["2026-11-05", "2026-11-16"]);
}

#[test]
fn one_in_work_has_its_bay_whoever_was_first_and_keeps_it_past_its_day() {
    let mut late = need(2, "2026-11-02", 2);
    late.in_work = true;
    let jobs = [need(1, "2026-11-02", 1), late];
    // It should have left on the 3rd and is still there on the 5th; its own promise stays what it was.
    assert_eq!(planned(&jobs, 1, "2026-11-05"), ["2026-11-06", "2026-11-03"]);
}

#[test]
fn one_in_work_without_a_day_keeps_its_bay_from_today_for_its_days() {
    let mut open = need(1, "2026-11-02", 3);
    open.in_work = true;
    open.first = None;
    assert_eq!(
        planned(&[open, need(2, "2026-11-02", 1)], 1, "2026-11-04")[1],
        "2026-11-09"
    );
}

#[test]
fn one_that_was_not_begun_on_its_day_keeps_its_promise_and_takes_the_bay_from_today_on() {
    let jobs = [need(1, "2026-11-02", 2), need(2, "2026-11-10", 1)];
    assert_eq!(planned(&jobs, 1, "2026-11-10"), ["2026-11-03", "2026-11-12"]);
}

#[test]
fn weekends_closed_days_and_cure_count() {
    let mut week = week();
    week.closed.insert(day("2026-11-06"));
    let mut cures = need(1, "2026-11-04", 2);
    cures.cure_days = 2;
    // Wednesday and Thursday; cured on Saturday, so Monday.
    let stay = week.stay(day("2026-11-04"), &cures);
    assert_eq!([stay.last, stay.day], [day("2026-11-05"), day("2026-11-09")]);
    cures.cure_days = 0;
    cures.days = 3;
    assert_eq!(week.stay(day("2026-11-04"), &cures).day, day("2026-11-09"));
}

#[test]
fn a_queue_longer_than_what_is_planned_has_no_day_and_is_found_fast() {
    let many: Vec<Need> = (0..5_000).map(|n| need(n, "2026-11-02", 4)).collect();
    let days = planned(&many, 1, "2026-11-02");
    assert_eq!(days[0], "2026-11-05");
    assert_eq!(days[4_999], "none");
    let placed = days.iter().filter(|day| *day != "none").count();
    // 4 000 days ahead are looked at, five of seven are worked, four a job.
    assert_eq!(placed, 4_000 * 5 / 7 / 4);
}

/// Random yards: no more units than bays on any day, nobody before the day that the job itself leaves open, and one more
/// job with a later go-ahead moves nobody.
#[test]
fn no_day_has_more_units_than_bays_and_a_later_job_moves_nobody() {
    let mut state = u64::from(std::process::id());
    let mut dice = move |sides: u64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % sides
    };
    let (monday, week) = (day("2026-11-02"), week());
    for _ in 0..200 {
        let bays = 1 + dice(3) as u32;
        let room = Room {
            bays,
            people: 1 + dice(5) as u32,
        };
        let mut needs: HashMap<Uuid, Need> = HashMap::new();
        for place in 0..1 + dice(25) {
            let first = week.working(monday + Days::new(dice(40)));
            let mut one = need(place as i64, &first.to_string(), 1 + dice(9) as u32);
            one.cure_days = dice(4) as u32;
            one.people = 1 + dice(3) as u32;
            needs.insert(Uuid::from_u128(u128::from(place)), one);
        }
        let stays = plan(&needs, room, &week, monday);
        for (id, stay) in &stays {
            let stay = stay.unwrap();
            assert!(stay.first >= needs[id].first.unwrap(), "{needs:?}");
            assert!(
                week.is_working(stay.first) && week.is_working(stay.day),
                "{needs:?}"
            );
            let on = |day: NaiveDate| {
                let all = stays.values().flatten();
                all.filter(|other| other.held[0] <= day && day <= other.held[1])
                    .count()
            };
            assert!(
                on(stay.first) <= bays as usize && on(stay.day) <= bays as usize,
                "{needs:?}"
            );
            let hands = |day: NaiveDate| -> u32 {
                let there = stays.iter().filter_map(|(id, stay)| Some((id, stay.as_ref()?)));
                there
                    .filter(|(_, other)| other.first <= day && day <= other.last)
                    .map(|(id, _)| needs[id].people.min(room.people))
                    .sum()
            };
            assert!(
                hands(stay.first) <= room.people && hands(stay.last) <= room.people,
                "{needs:?}"
            );
        }
        let first = week.working(monday + Days::new(dice(40)));
        needs.insert(
            Uuid::from_u128(99),
            need(99, &first.to_string(), 1 + dice(9) as u32),
        );
        let after = plan(&needs, room, &week, monday);
        assert!(stays.iter().all(|(id, stay)| after[id] == *stay), "{needs:?}");
    }
}
