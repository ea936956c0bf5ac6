//! The queue for the shop's bays and its people: from which day a job has a bay and the people that its crew plan needs, since
//! others with a go-ahead came before it. People who are on the jobs in the bays are not there for another one; while
//! something cures they are.
//!
//! What a job needs of a bay ([`Need`]) rests on its own entries and the shop book, so that every device says the same of
//! it. The queue rests on all jobs that are known here: an office may say a later day than a phone that knows its own job
//! alone. It is put together from the rows kept for lists (`view::yard`), stays in memory, and stands outside the figures:
//! no hash of what was asked or given rests on it. A job keeps the place of its first go-ahead; one that comes later
//! takes a gap at most and moves nobody.

use crate::{
    answer::Refusal,
    app::Kind,
    now::Now,
    view::yard,
    words::{count, people},
};
use bowseam_figures::{
    basis::{Basis, Standing},
    crew_plan::InBay,
    shop::Book,
};
use bowseam_jobs::Store;
use chrono::{DateTime, Datelike, Days, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::{
    collections::{BTreeSet, HashMap},
    sync::Arc,
};
use uuid::Uuid;

/// Farthest that a day is looked for, and longest job that one is worked out for, in days.
pub const MOST_DAYS: u32 = 2_000;
/// Most jobs that are named as waited for.
const MOST_NAMED: usize = 5;

/// What a job needs of a bay, by its own entries and the shop book alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Need {
    /// The unit's number, to be told.
    pub unit: String,
    /// When it first had its go-ahead: its place in the queue.
    pub since: DateTime<Utc>,
    /// First day that the job itself leaves open; none where it is in work and no day is known.
    pub first: Option<NaiveDate>,
    /// Working days of the work.
    pub days: u32,
    /// Most people at work on it at the same time.
    #[serde(default)]
    pub people: u32,
    /// Days of cure after them.
    pub cure_days: u32,
    /// It has its bay already.
    pub in_work: bool,
}

/// The shop's working days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week {
    workdays: u32,
    closed: BTreeSet<NaiveDate>,
}

/// Days in a bay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    /// First day of the work.
    pub first: NaiveDate,
    /// Last day of the work.
    pub last: NaiveDate,
    /// The day on which it is done and cured: the promised one.
    pub day: NaiveDate,
    /// It begins later than the job itself would, since no bay is free before.
    pub waits: bool,
    /// From when to when it keeps others out: one that is late stays until today, and one that was not begun begins
    /// today at the earliest. The promise does not move by that.
    pub held: [NaiveDate; 2],
    /// The last day of these on which its people are on it.
    pub manned: NaiveDate,
}

/// By job; none where the bays are taken for as long as is planned ahead.
pub type Stays = HashMap<Uuid, Option<Stay>>;

impl Week {
    /// Of the shop book.
    pub fn of(book: &Book) -> Self {
        Self {
            workdays: book.planning.workdays.value,
            closed: book
                .closed
                .iter()
                .filter_map(|one| one.day.parse().ok())
                .collect(),
        }
    }

    /// With no working days at all every day is one.
    fn is_working(&self, day: NaiveDate) -> bool {
        let in_week = self.workdays == 0 || day.weekday().num_days_from_monday() < self.workdays;
        in_week && !self.closed.contains(&day)
    }

    /// This day, or the next one that is worked on.
    pub fn working(&self, mut day: NaiveDate) -> NaiveDate {
        for _ in 0..MOST_DAYS {
            if self.is_working(day) {
                break;
            }
            day = after(day);
        }
        day
    }

    /// The days of a job whose work begins on this one.
    pub fn stay(&self, first: NaiveDate, need: &Need) -> Stay {
        let last = (1..need.days).fold(first, |day, _| self.working(after(day)));
        let over = last.checked_add_days(Days::new(need.cure_days.into()));
        let day = self.working(over.unwrap_or(last));
        Stay {
            first,
            last,
            day,
            waits: false,
            held: [first, day],
            manned: last,
        }
    }
}

/// The day after.
pub fn after(day: NaiveDate) -> NaiveDate {
    day.succ_opt().unwrap_or(day)
}

/// What the shop has of each, at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Bays.
    pub bays: u32,
    /// People of a shift, over all jobs.
    pub people: u32,
}

impl Room {
    /// Of the shop book; a job alone always finds its people.
    fn of(book: &Book) -> Self {
        let planning = &book.planning;
        Self {
            bays: planning.bays.value.max(1),
            people: planning.people_a_shift.value.max(1),
        }
    }

    /// People that a job takes: no more than there are.
    fn needed(self, need: &Need) -> u32 {
        need.people.clamp(1, self.people)
    }
}

/// Whether a stay has room.
enum Fits {
    Yes(Stay),
    /// Not before this day is over.
    After(NaiveDate),
    /// Within what is planned ahead.
    Never,
}

/// How many bays and people are taken, day by day.
struct Calendar<'w> {
    week: &'w Week,
    room: Room,
    origin: NaiveDate,
    /// Bays, and people.
    taken: Vec<[u32; 2]>,
    /// By people, days and days of cure: no such stay can begin from the first place on, before the second. Days only fill
    /// up, so what found no room finds none later, and a long queue is not walked along for each of its jobs.
    full: HashMap<[u32; 3], [usize; 2]>,
}

impl<'w> Calendar<'w> {
    fn new(week: &'w Week, room: Room, origin: NaiveDate) -> Self {
        Self {
            week,
            room,
            origin,
            taken: vec![[0; 2]; usize::try_from(MOST_DAYS.saturating_mul(2)).unwrap_or(0)],
            full: HashMap::new(),
        }
    }

    fn place(&self, day: NaiveDate) -> usize {
        usize::try_from(day.signed_duration_since(self.origin).num_days()).unwrap_or(0)
    }

    fn day(&self, place: usize) -> NaiveDate {
        let days = Days::new(u64::try_from(place).unwrap_or(u64::MAX));
        self.origin.checked_add_days(days).unwrap_or(self.origin)
    }

    /// Whether a day has no bay or not so many people.
    fn is_full(&self, [bays, people]: [u32; 2], needed: u32) -> bool {
        let too_few = needed > 0 && people.saturating_add(needed) > self.room.people;
        bays >= self.room.bays || too_few
    }

    /// The first stay from a day on for which a bay and the people are free all the time; none within what is planned.
    fn find(&mut self, first: NaiveDate, need: &Need) -> Option<Stay> {
        if self.place(first) >= self.taken.len() {
            // So far off that nobody else is planned there.
            return Some(self.week.stay(first, need));
        }
        let needed = self.room.needed(need);
        let shape = [needed, need.days, need.cure_days];
        let begun = self.week.working(first);
        let [from, to] = self.full.get(&shape).copied().unwrap_or_default();
        let skipped = |day: NaiveDate| match (from..to).contains(&self.place(day)) {
            true => self.week.working(self.day(to)),
            false => day,
        };
        let mut at = skipped(begun);
        let found = loop {
            match self.room_for(self.week.stay(at, need), needed) {
                Fits::Yes(stay) => break Some(stay),
                Fits::After(day) => at = skipped(self.week.working(after(day))),
                Fits::Never => break None,
            }
        };
        let until = found.map_or(self.taken.len(), |stay| self.place(stay.first));
        let begun = self.place(begun);
        // What was searched now joins what was known, or stands for it where it is longer.
        let known = match (from..=to).contains(&begun) {
            true => [from, until.max(to)],
            false if until.saturating_sub(begun) > to.saturating_sub(from) => [begun, until],
            false => [from, to],
        };
        self.full.insert(shape, known);
        found
    }

    /// Whether there is room for a stay.
    fn room_for(&self, stay: Stay, needed: u32) -> Fits {
        let [start, manned, end] = [stay.first, stay.manned, stay.day].map(|day| self.place(day));
        let Some(days) = self.taken.get(start..=end) else {
            return Fits::Never;
        };
        let full = |(at, taken): &(usize, &[u32; 2])| {
            let at_work = start.saturating_add(*at) <= manned;
            self.is_full(**taken, if at_work { needed } else { 0 })
        };
        // A later start stays longer: it runs into the last full day as well, so it begins after that.
        match days.iter().enumerate().rev().find(full) {
            None => Fits::Yes(stay),
            Some((at, _)) => Fits::After(self.day(start.saturating_add(at))),
        }
    }

    fn take(&mut self, stay: &Stay, need: &Need) {
        let (needed, [from, until]) = (self.room.needed(need), stay.held);
        for (end, place, many) in [(until, 0, 1), (stay.manned, 1, needed)] {
            if end < self.origin {
                continue;
            }
            let last = self.place(end).min(self.taken.len().saturating_sub(1));
            let start = self.place(from);
            for day in self.taken.get_mut(start..=last).into_iter().flatten() {
                if let Some(taken) = day.get_mut(place) {
                    *taken = taken.saturating_add(many);
                }
            }
        }
    }
}

/// Each job's stay: those in work have their bays and people, the others come by their go-ahead.
fn plan(needs: &HashMap<Uuid, Need>, room: Room, week: &Week, today: NaiveDate) -> Stays {
    let mut order: Vec<(&Uuid, &Need)> = needs.iter().collect();
    order.sort_by_key(|(id, need)| (!need.in_work, need.since, **id));
    let far = Days::new(MOST_DAYS.into());
    let waiting = order.iter().filter(|(_, need)| !need.in_work);
    let origin = waiting.filter_map(|(_, need)| need.first).chain([today]).min();
    let origin = origin.max(today.checked_sub_days(far)).unwrap_or(today);
    let mut calendar = Calendar::new(week, room, origin);
    let mut stays = Stays::new();
    for (id, need) in order {
        let from_today = || week.working(today);
        let stay = if need.in_work {
            // Where no day is known it has been there for some time, and stays for its days from now on.
            let mut stay = week.stay(need.first.unwrap_or_else(from_today), need);
            let since = need.first.unwrap_or(origin);
            stay.held = [since, stay.day.max(today)];
            // One that is late is still worked on, unless it cures.
            if stay.day < today {
                stay.manned = today;
            }
            Some(stay)
        } else {
            need.first.and_then(|first| {
                let mut stay = calendar.find(first, need)?;
                stay.waits = stay.first > week.working(first);
                if stay.first < today {
                    let late = calendar.find(from_today(), need)?;
                    (stay.held, stay.manned) = (late.held, late.manned);
                }
                Some(stay)
            })
        };
        if let Some(stay) = &stay {
            calendar.take(stay, need);
        }
        stays.insert(*id, stay);
    }
    stays
}

/// The jobs that take part, and how they stand in the bays.
#[derive(Debug, Default)]
pub struct Bays {
    needs: HashMap<Uuid, Need>,
    /// The newest entry of the store when it was looked at.
    seen: Option<i64>,
    planned: Option<Planned>,
    /// Crew plans in short, by the figures that they are of: the search for one takes as long as all else of an answer.
    plans: HashMap<String, InBay>,
}

/// So many crew plans are kept.
const MOST_PLANS: usize = 500;

#[derive(Debug)]
struct Planned {
    room: Room,
    week: Week,
    today: NaiveDate,
    stays: Arc<Stays>,
    /// Who keeps a bay from when on, the first before the others.
    in_turn: Vec<(NaiveDate, Uuid)>,
}

/// What is read of a row that was kept.
#[derive(Deserialize)]
struct KeptNeed {
    #[serde(default)]
    bay: Option<Need>,
}

impl Bays {
    /// A crew plan that is known already.
    pub fn known_plan(&self, of: &str) -> Option<InBay> {
        self.plans.get(of).cloned()
    }

    /// Keeps a crew plan.
    pub fn keep_plan(&mut self, of: String, plan: InBay) {
        if self.plans.len() >= MOST_PLANS {
            self.plans.clear();
        }
        self.plans.insert(of, plan);
    }

    /// What a job needs, as it is figured now; none: it takes no part.
    pub fn put(&mut self, job: Uuid, need: Option<Need>) {
        if self.needs.get(&job) == need.as_ref() {
            return;
        }
        self.planned = None;
        match need {
            Some(need) => self.needs.insert(job, need),
            None => self.needs.remove(&job),
        };
    }

    /// Takes over what was kept before a start, and lets go of jobs whose unit left.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn read(&mut self, store: &Store) -> Result<(), Refusal> {
        let newest = store.newest_of_all()?;
        match self.seen {
            None => {
                for (job, kept) in store.rows_of_open::<KeptNeed>()? {
                    self.put(job, kept.bay);
                }
            }
            Some(seen) if seen != newest => {
                for job in store.left_after(seen)? {
                    self.put(job, None);
                }
            }
            Some(_) => {}
        }
        self.seen = Some(newest);
        Ok(())
    }

    /// The stays of jobs that have a bay before this one, in the days that it would have it otherwise.
    fn ahead(&self, job: Uuid, need: &Need) -> Vec<(&Stay, &Need)> {
        let (Some(planned), Some(first)) = (&self.planned, need.first) else {
            return Vec::new();
        };
        let stay = |job| planned.stays.get(&job).and_then(Option::as_ref);
        let until = stay(job).map_or(NaiveDate::MAX, |stay| stay.first);
        if first >= until {
            return Vec::new();
        }
        let in_the_way = planned.in_turn.iter().take_while(|(from, _)| *from < until);
        let mut ahead: Vec<(&Stay, &Need)> = in_the_way
            .filter_map(|(_, other)| Some((stay(*other)?, self.needs.get(other)?, *other)))
            .filter(|(other, of, id)| {
                other.held[1] >= first && (!of.in_work, of.since, *id) < (true, need.since, job)
            })
            .map(|(stay, need, _)| (stay, need))
            .collect();
        ahead.sort_by_key(|(stay, need)| (stay.held, &need.unit));
        ahead
    }

    /// How they stand in the bays of the book.
    pub fn stays(&mut self, book: &Book) -> Arc<Stays> {
        let (room, week, today) = (Room::of(book), Week::of(book), Utc::now().date_naive());
        if let Some(known) = &self.planned
            && (known.room, &known.week, known.today) == (room, &week, today)
        {
            return Arc::clone(&known.stays);
        }
        let stays = Arc::new(plan(&self.needs, room, &week, today));
        let held = stays
            .iter()
            .filter_map(|(job, stay)| Some((stay.as_ref()?.held[0], *job)));
        let mut in_turn: Vec<(NaiveDate, Uuid)> = held.collect();
        in_turn.sort_unstable();
        self.planned = Some(Planned {
            room,
            week,
            today,
            stays: Arc::clone(&stays),
            in_turn,
        });
        stays
    }
}

/// Where a job stands in the queue.
pub struct Placed {
    /// Its days; none within what is planned ahead.
    pub stay: Option<Stay>,
    /// Whom it waits for, in words; nothing where a bay is free.
    pub waits: String,
    /// The working.
    pub basis: Vec<Basis>,
}

/// Places a job that is not in work.
///
/// # Errors
/// The store cannot be read, or other jobs cannot be figured.
pub fn place(now: &Now, need: &Need) -> Result<Placed, Refusal> {
    let not_figured = yard::figure_others(now)?;
    let mut bays = now.app.bays();
    let stays = bays.stays(&now.book);
    let stay = stays.get(&now.job.id).copied().flatten();
    let known = now.book.planning.bays.clone();
    let what = "bays; those in work and those with an earlier go-ahead have them first";
    let mut basis = vec![Basis::new(known.value.to_string(), what, known.standing)];
    let shift = now.book.planning.people_a_shift.clone();
    let room = Room::of(&now.book);
    basis.push(Basis::new(
        format!("{} of {}", room.needed(need), shift.value),
        "people that this job needs at a time, of those of a shift; jobs in the bays before it have theirs",
        shift.standing,
    ));
    if not_figured > 0 {
        let many = count(not_figured, "job", "jobs");
        let what = "or more not figured here yet: the day may be later, look again";
        basis.push(Basis::new(many, what, Standing::Worked));
    }
    let ahead = bays.ahead(now.job.id, need);
    basis.push(known_here(now.app.kind(), stays.len().saturating_sub(1)));
    basis.extend(ahead.iter().take(MOST_NAMED).map(|(stay, need)| {
        let [from, until] = stay.held;
        let what = match need.in_work {
            true => format!("is in a bay with {}, until {until}", people(need.people)),
            false => format!(
                "has a bay before it with {}, {from} to {until}",
                people(need.people)
            ),
        };
        Basis::new(format!("unit {}", need.unit), what, Standing::Worked)
    }));
    let waits = match ahead.as_slice() {
        [] => String::new(),
        [(_, one)] => format!("unit {}", one.unit),
        [(_, one), more @ ..] => format!(
            "unit {} and {}",
            one.unit,
            count(more.len(), "other job", "other jobs")
        ),
    };
    Ok(Placed { stay, waits, basis })
}

/// How many other jobs the queue counts, and what a phone cannot know.
fn known_here(kind: Kind, many: usize) -> Basis {
    let what = match kind {
        Kind::Phone => "with a go-ahead known on this phone; the office may know more, and say a later day",
        Kind::Office => "with a go-ahead",
    };
    let many = if many == 0 {
        "no other job".to_owned()
    } else {
        count(many, "other job", "other jobs")
    };
    Basis::new(many, what, Standing::Worked)
}

#[cfg(test)]
#[path = "bays_tests.rs"]
mod tests;
