//! The shortest plan: first plans by priority ([`first`](super::first)), then a search that learns from every
//! contradiction ([`learn`](super::learn)) under the rules of the project ([`rules`](super::rules)). Every other
//! start of the search tries the least finish that is not refuted, so that the bound rises too; the ones between
//! only ask for less than the best plan. All refuted means that the plan is proven.

use super::first::{finish, placed, swung, turned};
use super::learn::{Atom, Learner, Next, Why, least, most};
use super::rules::Rules;
use super::{Project, by_precedence};
use crate::search::{Stop, at};

/// Above this many tasks plans are made by priority alone.
const MOST_TASKS: usize = 400;
/// Plans by priority that are tried before the search, and once more where it takes long.
const TRIES: u32 = 150;
/// The same where the search is sooner done than they are: up to so many tasks, as a repair has.
const FEW_TRIES: u32 = 30;
const FEW_TASKS: usize = 50;
const MORE_TRIES: u32 = 4_000;
/// Contradictions after which the search counts as long.
const LONG: usize = 3_000;
/// Contradictions of the shortest start of the search.
const START: usize = 100;
/// Contradictions from one sorting of what is tried first to the next.
const SORT: usize = 50;
/// Clauses and atoms that are kept, at most.
const MOST_CLAUSES: usize = 12_000;
const MOST_KNOWN: usize = 6_000;

/// The plan found.
pub struct Shortest {
    pub starts: Vec<f64>,
    pub finish: f64,
    pub lower: f64,
}

/// Finds a plan and a bound; they are equal when the plan is proven.
pub fn shortest(project: &Project, stop: Stop<'_>) -> Shortest {
    let (early, late) = by_precedence(project).unwrap_or_default();
    let lower = early.last().copied().unwrap_or_default().max(by_work(project));
    let mut best = Shortest {
        starts: Vec::new(),
        finish: f64::INFINITY,
        lower,
    };
    let large = project.takes.len() > MOST_TASKS;
    let tries = if large {
        MORE_TRIES
    } else if project.takes.len() <= FEW_TASKS {
        FEW_TRIES
    } else {
        TRIES
    };
    by_priority(project, &late, &mut best, tries, stop);
    if best.finish > lower && !large {
        let (rules, domains) = Rules::new(project);
        let learner = Learner::new(&domains);
        let mut search = Search {
            project,
            learner,
            rules,
            best,
            values: Vec::new(),
        };
        search.run(&late, stop);
        best = search.best;
    }
    best.lower = best.lower.min(best.finish);
    best
}

/// Each resource's work over what there is of it, up to a whole step.
fn by_work(project: &Project) -> f64 {
    let work = |(slot, most): (usize, &f64)| {
        let all = project
            .takes
            .iter()
            .zip(&project.needs)
            .map(|(takes, needs)| takes * at(needs, slot));
        if *most > 0.0 {
            (all.sum::<f64>() / most - 1e-9).ceil()
        } else {
            0.0
        }
    };
    project.most.iter().enumerate().map(work).fold(0.0, f64::max)
}

/// Plans by shaken priorities: a third of them shake “latest start first”, the others the best plan so far.
fn by_priority(project: &Project, late: &[f64], best: &mut Shortest, tries: u32, stop: Stop<'_>) {
    let turned = turned(&project.after);
    let mut state = tries;
    let spread = late.iter().copied().fold(1.0, f64::max) / 3.0;
    for turn in 0..tries {
        if best.finish <= best.lower || (!best.starts.is_empty() && stop()) {
            break;
        }
        // A fixed sequence of shakes: the same on every machine.
        let mut shake = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        let size = spread * f64::from(turn & 7) / 8.0;
        let fresh = turn < tries / 3 || best.starts.is_empty();
        let (from, size) = if fresh {
            (late, size)
        } else {
            (best.starts.as_slice(), size / 2.0)
        };
        let priority: Vec<f64> = from.iter().map(|l| l + size * shake()).collect();
        let starts = swung(project, &turned, placed(project, &project.after, &priority));
        let ends = finish(project, &starts);
        if ends < best.finish || (ends <= best.finish && !fresh) {
            (best.starts, best.finish) = (starts, ends);
        }
    }
}

struct Search<'a> {
    project: &'a Project,
    learner: Learner,
    rules: Rules,
    best: Shortest,
    /// The best plan's value of every variable, to try first.
    values: Vec<f64>,
}

impl Search<'_> {
    fn end(&self) -> usize {
        self.project.takes.len().saturating_sub(1)
    }

    fn run(&mut self, late: &[f64], stop: Stop<'_>) {
        let mut long = false;
        for turn in 1_usize.. {
            self.values = self.best.starts.clone();
            self.values.extend(self.rules.orders(&self.best.starts));
            if !self.begin() {
                self.best.lower = self.best.finish;
                return;
            }
            self.best.lower = self.best.lower.max(self.learner.bounds.low(self.end()));
            if turn & 1 == 1 {
                let lowest = most(self.end(), self.learner.bounds.low(self.end()));
                self.learner.attempt(lowest);
            }
            match self.some(START.saturating_mul(luby(turn.saturating_add(1) / 2)), stop) {
                Ended::Refuted => {
                    self.best.lower = self.best.finish;
                    return;
                }
                Ended::Stopped => return,
                Ended::Plan => {
                    let starts = (0..self.project.takes.len()).map(|t| self.learner.bounds.low(t));
                    let starts = swung(self.project, &turned(&self.project.after), starts.collect());
                    self.best.finish = finish(self.project, &starts);
                    self.best.starts = starts;
                }
                Ended::Enough => {}
            }
            if !long && self.learner.clashes > LONG {
                long = true;
                by_priority(self.project, late, &mut self.best, MORE_TRIES, stop);
            }
        }
    }

    /// Back to nothing tried, with less than the best asked for; false if that is refuted.
    fn begin(&mut self) -> bool {
        self.learner.root();
        self.rules.again();
        let end = self.end();
        let bounds = &mut self.learner.bounds;
        let asked = bounds.set(least(end, self.best.lower), Why::Tried)
            && bounds.set(most(end, self.best.finish - 1.0), Why::Tried);
        if !asked || !self.narrow() {
            return false;
        }
        self.learner.settle();
        self.learner.forget(MOST_CLAUSES);
        self.learner.sort(MOST_KNOWN);
        self.narrow()
    }

    fn narrow(&mut self) -> bool {
        loop {
            match self.learner.next() {
                Next::Refuted => return false,
                Next::Side(side) => {
                    if !self.rules.follow(&mut self.learner.bounds, side) {
                        return false;
                    }
                }
                Next::Still => match self.rules.look(&mut self.learner.bounds) {
                    None => return false,
                    Some(true) => {}
                    Some(false) => return true,
                },
            }
        }
    }

    /// One start of the search, up to so many contradictions.
    fn some(&mut self, clashes: usize, stop: Stop<'_>) -> Ended {
        let (mut left, mut from) = (clashes, 0);
        loop {
            if stop() {
                return Ended::Stopped;
            }
            if self.narrow() {
                match self.choice(&mut from) {
                    Some(atom) => self.learner.attempt(atom),
                    None => return Ended::Plan,
                }
                continue;
            }
            if !self.learner.learn() {
                return Ended::Refuted;
            }
            self.rules.again();
            left = left.saturating_sub(1);
            if left == 0 || self.learner.bounds.level() == 0 {
                return Ended::Enough;
            }
            if self.learner.clashes.is_multiple_of(SORT) {
                self.learner.sort(MOST_KNOWN);
            }
            from = 0;
        }
    }

    /// What is tried next: the heaviest atom as in the best plan, else the task that can start first, at once.
    fn choice(&self, from: &mut usize) -> Option<Atom> {
        let bounds = &self.learner.bounds;
        if let Some(atom) = self.learner.heaviest(from) {
            let variable = atom.side >> 1;
            let as_best = variable != self.end() && at(&self.values, variable) >= atom.least;
            return Some(if as_best { atom } else { atom.not() });
        }
        let open = (0..self.project.takes.len()).filter(|t| bounds.low(*t) < bounds.high(*t));
        let first = open.min_by(|a, b| {
            let key = |t: &usize| (bounds.low(*t), bounds.high(*t));
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        first.map(|task| most(task, bounds.low(task)))
    }
}

enum Ended {
    /// Nothing shorter than the best can be.
    Refuted,
    /// All starts are set.
    Plan,
    /// As many contradictions as were allowed, or something new that holds for good.
    Enough,
    Stopped,
}

/// Lengths of the starts of the search: 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 ... (Luby, Sinclair and Zuckerman 1993).
fn luby(turn: usize) -> usize {
    let mut turn = turn.max(1);
    loop {
        let size = turn.saturating_add(1).next_power_of_two();
        if size == turn.saturating_add(1) {
            return size >> 1;
        }
        turn = turn.saturating_sub((size >> 1).saturating_sub(1));
    }
}
