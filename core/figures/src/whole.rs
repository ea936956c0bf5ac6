//! Ways for the whole job at once: one way for each group, priced together with the work that they share
//! counted once, the cheapest and the one that is soonest out of the bay.
//!
//! A way that is dearest by itself can be the right one beside the others, so combinations are priced as jobs
//! ([`crate::estimate`]), not added up. How many were priced is said.

use crate::body::Plan;
use crate::crew_plan::in_bay;
use crate::error::Error;
use crate::estimate::{Chosen, Estimate, Group, sum, without_range};
use crate::group::WayKey;
use crate::mark::{Age, Mark};
use crate::measure::Unit;
use crate::shop::Book;
use crate::ways::{Choice, reckoned_with};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most combinations that are priced.
const MOST: usize = 64;

/// A way taken for a group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Taken {
    /// The group.
    pub group: String,
    /// As it is read.
    pub title: String,
    /// Key of the way.
    pub way: String,
    /// The way as it is read.
    pub way_title: String,
    /// Its price as the job's only work.
    pub single: String,
}

/// A sentence with the money that it is about.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Reason {
    /// The sentence.
    pub words: String,
    /// Money; negative is more than nothing saved, or less than the proposal.
    pub amount: Option<String>,
}

/// Ways for the whole job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Proposal {
    /// One way a group.
    pub ways: Vec<Taken>,
    /// Total of the job with supplies and tax.
    pub price: String,
    /// Hours of one person.
    pub hours: String,
    /// Hours in the bay by the crew plan with the shop's people, without cure.
    pub bay_hours: String,
    /// What the ways would come to one by one, each as the job's only work.
    pub singles: String,
    /// How much less the job is.
    pub saved: String,
    /// Where that comes from; the amounts together are `saved`.
    pub shared: Vec<Reason>,
    /// Other ways beside it: how much more each would be, or why it does not fit.
    pub others: Vec<Reason>,
}

/// The choice for the whole job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct WholeJob {
    /// Least price.
    pub cheapest: Option<Proposal>,
    /// Least time in the bay, if it is not the cheapest.
    pub fastest: Option<Proposal>,
    /// The ways as they are chosen now, if any are.
    pub now: Option<Proposal>,
    /// Combinations that were priced.
    pub priced: u32,
    /// Combinations that there are.
    pub of: u32,
    /// Groups that no proposal holds, and why.
    pub left_out: Vec<String>,
}

/// A way that a group may take.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Open {
    chosen: Chosen,
    /// Price and hours in the bay as the job's only work.
    alone: [Decimal; 2],
}

/// A combination worked out.
struct Priced {
    picks: Vec<usize>,
    job: Estimate,
    price: Decimal,
    bay: Decimal,
}

struct Chooser<'a> {
    plan: &'a Plan,
    marks: &'a [Mark],
    choices: Vec<&'a Choice>,
    book: &'a Book,
    unit: Unit,
}

/// Works the choice for the whole job out. `choices` are the ways of these marks, `chosen` what is chosen now.
///
/// # Errors
/// A plan or prices that cannot be worked with.
pub fn whole_job(
    plan: &Plan,
    marks: &[Mark],
    choices: &[Choice],
    chosen: &[Chosen],
    book: &Book,
    unit: Unit,
) -> Result<WholeJob, Error> {
    let mut left_out = Vec::new();
    let (mut held, mut open) = (Vec::new(), Vec::new());
    for choice in choices {
        let now = chosen.iter().find(|one| one.group == choice.group);
        let old = |id: &String| marks.iter().any(|mark| mark.id == *id && mark.age == Age::Old);
        if now.is_none() && choice.marks.iter().all(old) {
            left_out.push(format!("{}: old damage, left as it is.", choice.title));
            continue;
        }
        let ways = options(choice, now);
        if ways.is_empty() {
            left_out.push(format!(
                "{}: nothing is figured for it; enter hours and material by hand.",
                choice.title
            ));
            continue;
        }
        held.push(choice);
        open.push(ways);
    }
    let chooser = Chooser {
        plan,
        marks,
        choices: held,
        book,
        unit,
    };
    let of = product(&open);
    let picked = if of <= MOST { open } else { few(open) };
    let mut all = Vec::new();
    for picks in combinations(&picked) {
        all.extend(chooser.price(&picked, picks)?);
    }
    let many = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let least = |by: fn(&Priced) -> (Decimal, Decimal)| all.iter().min_by(|a, b| by(a).cmp(&by(b)));
    let cheapest = least(|one| (one.price, one.bay));
    let fastest = least(|one| (one.bay, one.price))
        .filter(|fast| cheapest.is_none_or(|cheap| cheap.picks != fast.picks && fast.bay < cheap.bay));
    let told = |one: Option<&Priced>| one.map(|one| chooser.proposal(one, &picked, &all)).transpose();
    let (cheapest, fastest) = (told(cheapest)?, told(fastest)?);
    // By the plan of the whole crew it has to be sooner as well.
    let hours = |of: &Proposal| Decimal::from_str(&of.bay_hours).unwrap_or_default();
    let sooner = |fast: &Proposal| cheapest.as_ref().is_none_or(|cheap| hours(fast) < hours(cheap));
    Ok(WholeJob {
        fastest: fastest.filter(sooner),
        cheapest,
        priced: many(all.len()),
        of: many(of),
        now: chooser.now(chosen)?,
        left_out,
    })
}

/// The ways that fit and have figures; nothing else than the maker's answer where that is all there is.
fn options(choice: &Choice, now: Option<&Chosen>) -> Vec<Open> {
    let number = |text: &Option<String>| text.as_deref().and_then(|text| Decimal::from_str(text).ok());
    let of = |key: WayKey| Chosen {
        group: choice.group.clone(),
        way: key.key().to_owned(),
        by_hand: None,
    };
    let may = reckoned_with(&choice.ways);
    let mut ways: Vec<Open> = choice
        .ways
        .iter()
        .filter(|way| may(way))
        .filter_map(|way| {
            let hours = number(&way.hours)?;
            let bay = hours.checked_div(Decimal::from(way.people.max(1)))?;
            Some(Open {
                chosen: of(way.key),
                alone: [number(&way.price)?, bay],
            })
        })
        .collect();
    // What was entered by hand is a way like the others, and the only one where none is figured.
    if let Some(hand) = now.filter(|now| now.by_hand.is_some()) {
        ways.push(Open {
            chosen: hand.clone(),
            alone: [Decimal::ZERO; 2],
        });
    }
    if ways.is_empty() && choice.ways.iter().any(|way| way.key == WayKey::AskTheMaker) {
        ways.push(Open {
            chosen: of(WayKey::AskTheMaker),
            alone: [Decimal::ZERO; 2],
        });
    }
    ways
}

fn product(open: &[Vec<Open>]) -> usize {
    open.iter()
        .fold(1, |product, ways| product.saturating_mul(ways.len()))
}

/// Too many combinations: ways go that another beats in both price and time by themselves; if that is not
/// enough, groups keep their cheapest way alone, the last ones first.
fn few(mut open: Vec<Vec<Open>>) -> Vec<Vec<Open>> {
    for ways in &mut open {
        let all = ways.clone();
        let beaten = |one: &Open| {
            let beats = |other: &Open| {
                other.alone != one.alone && other.alone.iter().zip(&one.alone).all(|(a, b)| a <= b)
            };
            one.chosen.by_hand.is_none() && all.iter().any(beats)
        };
        ways.retain(|one| !beaten(one));
    }
    for at in (0..open.len()).rev() {
        if product(&open) <= MOST {
            break;
        }
        if let Some(ways) = open.get_mut(at) {
            ways.sort_by_key(|way| way.alone);
            ways.truncate(1);
        }
    }
    open
}

fn combinations(open: &[Vec<Open>]) -> Vec<Vec<usize>> {
    if open.is_empty() {
        return Vec::new();
    }
    open.iter().fold(vec![Vec::new()], |all, ways| {
        all.iter()
            .flat_map(|picks: &Vec<usize>| {
                (0..ways.len()).map(move |pick| picks.iter().copied().chain([pick]).collect())
            })
            .collect()
    })
}

impl Chooser<'_> {
    fn job(&self, chosen: &[Chosen]) -> Result<Estimate, Error> {
        without_range(self.plan, self.marks, chosen, self.book, &[], self.unit)
    }

    /// A combination; none if one of its ways does not fit beside the others.
    fn price(&self, open: &[Vec<Open>], picks: Vec<usize>) -> Result<Option<Priced>, Error> {
        let chosen = chosen_of(open, &picks);
        let job = self.job(&chosen)?;
        if job.groups.len() < chosen.len() {
            return Ok(None);
        }
        Ok(Some(Priced {
            price: Decimal::from_str(&job.total).unwrap_or_default(),
            bay: self.bay(&job)?,
            picks,
            job,
        }))
    }

    /// Hours in the bay as if each group's own people did it, the rest the job's: quick, to choose by. What is told is
    /// of the crew plan.
    fn bay(&self, job: &Estimate) -> Result<Decimal, Error> {
        let shared =
            |hours: Decimal, people: u32| hours.checked_div(Decimal::from(people.max(1))).unwrap_or(hours);
        let mut bay = shared(
            sum(job.once.iter().map(|line| line.hours.as_str()))?,
            self.book.planning.people.value,
        );
        for group in &job.groups {
            let hours = sum(group.hours.iter().map(|line| line.hours.as_str()))?;
            bay = bay.saturating_add(shared(hours, group.people));
        }
        Ok(bay)
    }

    fn now(&self, chosen: &[Chosen]) -> Result<Option<Proposal>, Error> {
        let held: Vec<Chosen> = chosen
            .iter()
            .filter(|one| self.choices.iter().any(|choice| choice.group == one.group))
            .cloned()
            .collect();
        let job = self.job(&held)?;
        if job.groups.is_empty() {
            return Ok(None);
        }
        let one = Priced {
            price: Decimal::from_str(&job.total).unwrap_or_default(),
            bay: self.bay(&job)?,
            picks: Vec::new(),
            job,
        };
        self.told(&one, &held, Vec::new()).map(Some)
    }

    fn proposal(&self, one: &Priced, open: &[Vec<Open>], all: &[Priced]) -> Result<Proposal, Error> {
        self.told(one, &chosen_of(open, &one.picks), self.others(one, all))
    }

    fn told(&self, one: &Priced, chosen: &[Chosen], others: Vec<Reason>) -> Result<Proposal, Error> {
        let taken = |choice: &&Chosen| one.job.groups.iter().any(|group| group.group == choice.group);
        let alone = chosen
            .iter()
            .filter(taken)
            .map(|choice| self.job(std::slice::from_ref(choice)))
            .collect::<Result<Vec<Estimate>, Error>>()?;
        let together = sum(alone.iter().map(|job| job.total.as_str()))?;
        let saved = together.saturating_sub(one.price);
        let ways = one.job.groups.iter().map(|group| {
            let single = alone
                .iter()
                .find(|job| job.groups.iter().any(|other| other.group == group.group));
            Taken {
                group: group.group.clone(),
                title: group.title.clone(),
                way: group.way.key().to_owned(),
                way_title: group.way_title.clone(),
                single: single.map(|job| job.total.clone()).unwrap_or_default(),
            }
        });
        Ok(Proposal {
            ways: ways.collect(),
            price: one.job.total.clone(),
            hours: one.job.total_hours.clone(),
            bay_hours: in_bay(&one.job, self.book)?.hours,
            singles: format!("{together:.2}"),
            saved: format!("{saved:.2}"),
            shared: shared(&one.job, &alone, saved)?,
            others,
        })
    }

    /// The same with one other way, and ways that do not fit.
    fn others(&self, one: &Priced, all: &[Priced]) -> Vec<Reason> {
        let mut others = Vec::new();
        for other in all {
            let apart: Vec<usize> = (0..one.picks.len())
                .filter(|at| one.picks.get(*at) != other.picks.get(*at))
                .collect();
            let [at] = apart.as_slice() else { continue };
            let Some(group) = self
                .choices
                .get(*at)
                .and_then(|choice| other.job.groups.iter().find(|group| group.group == choice.group))
            else {
                continue;
            };
            let work = |job: &Estimate| Decimal::from_str(&job.total_hours).unwrap_or_default();
            let hours = work(&other.job).saturating_sub(work(&one.job)).normalize();
            let words = if hours.is_sign_negative() {
                format!("{} h of work less", hours.abs())
            } else {
                format!("{hours} h of work more")
            };
            others.push(Reason {
                words: format!("{} for {}: {words}", group.way_title, group.title),
                amount: Some(format!("{:.2}", other.price.saturating_sub(one.price))),
            });
        }
        for choice in &self.choices {
            others.extend(choice.ways.iter().filter(|way| !way.fits).map(|way| Reason {
                words: format!(
                    "{} for {} does not fit: {}",
                    way.title,
                    choice.title,
                    way.why.join(" ")
                ),
                amount: None,
            }));
        }
        others
    }
}

fn chosen_of(open: &[Vec<Open>], picks: &[usize]) -> Vec<Chosen> {
    open.iter()
        .zip(picks)
        .filter_map(|(ways, pick)| ways.get(*pick).map(|way| way.chosen.clone()))
        .collect()
}

/// Where the difference between the single ways and the job comes from.
fn shared(job: &Estimate, alone: &[Estimate], saved: Decimal) -> Result<Vec<Reason>, Error> {
    let mut reasons = Vec::new();
    let mut rest = saved;
    let mut put = |rest: &mut Decimal, words: String, amount: Decimal| {
        if !amount.is_zero() {
            *rest = rest.saturating_sub(amount);
            reasons.push(Reason {
                words,
                amount: Some(format!("{amount:.2}")),
            });
        }
    };
    let once = |job: &Estimate| sum(job.once.iter().map(|line| line.amount.as_str()));
    let mut twice = Decimal::ZERO;
    for single in alone {
        twice = twice.saturating_add(once(single)?);
    }
    let tasks: Vec<String> = job
        .once
        .iter()
        .filter(|line| {
            let has = |single: &&Estimate| single.once.iter().any(|other| other.task == line.task);
            alone.iter().filter(has).count() > 1
        })
        .map(|line| line.title.to_lowercase())
        .collect();
    put(
        &mut rest,
        format!("Set-up and cleaning once for the job: {}", tasks.join("; ")),
        twice.saturating_sub(once(job)?),
    );
    for group in &job.groups {
        let single = alone
            .iter()
            .flat_map(|single| &single.groups)
            .find(|other| other.group == group.group);
        let (Some(single), now) = (single, Decimal::from_str(&group.amount).unwrap_or_default()) else {
            continue;
        };
        let was = Decimal::from_str(&single.amount).unwrap_or_default();
        put(&mut rest, why(group, single), was.saturating_sub(now));
    }
    let left = rest;
    put(
        &mut rest,
        "Supplies under their cap once, and tax".to_owned(),
        left,
    );
    Ok(reasons)
}

/// Why a group costs less, or more, beside the others.
fn why(group: &Group, single: &Group) -> String {
    let hours = |group: &Group| {
        group
            .hours
            .iter()
            .map(|line| line.hours.clone())
            .collect::<Vec<_>>()
    };
    let what = if group.side.is_none() && single.side.is_some() {
        "mended with the side sheet that is replaced for another mark"
    } else if group.side.as_ref().map(|side| side.sheet) != single.side.as_ref().map(|side| side.sheet) {
        "its sheets reach over other marks as well"
    } else if hours(group) != hours(single) {
        "made while the roof is off over it"
    } else {
        "uses up a cartridge or a roll that is opened anyway"
    };
    format!("{}: {what}", group.title)
}

#[cfg(test)]
#[path = "whole_tests.rs"]
mod tests;
