//! The shortest plan: wherever tasks that start as early as they may would use more than there is, one of them
//! must wait for another; the search tries which. Each choice is carried through the net of least times, and
//! windows are narrowed by what is sure to be in use. All choices tried means that the plan is proven.
//!
//! The idea is Laborie's (complete search by minimal critical sets, IJCAI 2005), in our own form.

use super::first::{finish, placed, swung, turned};
use super::net::Net;
use super::{Project, by_precedence};
use crate::search::{Stop, at};

/// Above this many tasks there is no search by order: its nets would take too much memory.
const MOST_TASKS: usize = 120;
/// Plans by priority that are tried first.
const TRIES: u32 = 4_000;
/// Of these, so many are shakes of “latest start first”; the others shake the best plan so far.
const FRESH: u32 = 400;

/// The plan found.
pub struct Shortest {
    pub starts: Vec<f64>,
    pub finish: f64,
    pub lower: f64,
}

/// Finds a plan and a bound; they are equal when the plan is proven.
pub fn shortest(project: &Project, stop: Stop<'_>) -> Shortest {
    let (early, late) = by_precedence(project).unwrap_or_default();
    let mut lower = early.last().copied().unwrap_or_default().max(by_work(project));
    let mut best = by_priority(project, &late, lower, stop);
    let many = project.takes.len();
    if best.finish > lower && many <= MOST_TASKS {
        let mut search = Search::new(project, stop);
        search.best = best;
        lower = search.raise(lower);
        if search.best.finish > lower && search.go(&mut search.root.clone()) {
            lower = search.best.finish;
        }
        best = search.best;
    }
    best.lower = lower.min(best.finish);
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

fn by_priority(project: &Project, late: &[f64], lower: f64, stop: Stop<'_>) -> Shortest {
    let turned = turned(&project.after);
    let mut best = Shortest {
        starts: Vec::new(),
        finish: f64::INFINITY,
        lower,
    };
    let mut state = 12_345_u32;
    let spread = late.iter().copied().fold(1.0, f64::max) / 3.0;
    for turn in 0..TRIES {
        if best.finish <= lower || (turn > 0 && stop()) {
            break;
        }
        // A fixed sequence of shakes around “latest start first”: the same on every machine.
        let mut shake = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        let size = if turn == 0 {
            0.0
        } else {
            spread * f64::from((turn & 7).saturating_add(1)) / 8.0
        };
        let (from, size) = if turn < FRESH {
            (late, size)
        } else {
            (best.starts.as_slice(), size / 2.0)
        };
        let priority: Vec<f64> = from.iter().map(|l| l + size * shake()).collect();
        let starts = swung(project, &turned, placed(project, &project.after, &priority));
        let ends = finish(project, &starts);
        if ends < best.finish || (ends <= best.finish && turn >= FRESH) {
            best = Shortest {
                starts,
                finish: ends,
                lower,
            };
        }
    }
    best
}

struct Search<'a> {
    project: &'a Project,
    stop: Stop<'a>,
    root: Net,
    /// Pairs that cannot run at the same time.
    pairs: Vec<(usize, usize)>,
    best: Shortest,
    stopped: bool,
}

impl<'a> Search<'a> {
    fn new(project: &'a Project, stop: Stop<'a>) -> Self {
        let many = project.takes.len();
        let mut root = Net::new(many);
        for (task, after) in project.after.iter().enumerate() {
            for before in after {
                root.post(*before, task, at(&project.takes, *before));
            }
        }
        let mut pairs = Vec::new();
        for a in 0..many {
            for b in 0..a {
                if over(project, &[a, b]) && at(&project.takes, a) > 0.0 && at(&project.takes, b) > 0.0 {
                    pairs.push((a, b));
                }
            }
        }
        let best = Shortest {
            starts: Vec::new(),
            finish: f64::INFINITY,
            lower: 0.0,
        };
        Self {
            project,
            stop,
            root,
            pairs,
            best,
            stopped: false,
        }
    }

    fn end(&self) -> usize {
        self.project.takes.len().saturating_sub(1)
    }

    fn takes(&self, task: usize) -> f64 {
        at(&self.project.takes, task)
    }

    /// Raises the bound to the least finish that narrowing alone does not refute.
    fn raise(&mut self, lower: f64) -> f64 {
        let (mut low, mut high) = (lower, self.best.finish);
        while low < high && !(self.stop)() {
            let middle = ((low + high) / 2.0).floor();
            let mut net = self.root.clone();
            if net.post(self.end(), 0, -middle) && self.narrow(&mut net) {
                high = middle;
            } else {
                low = middle + 1.0;
            }
        }
        low
    }

    /// Searches below a net for a shorter plan; false if it was stopped before all was tried.
    fn go(&mut self, net: &mut Net) -> bool {
        loop {
            self.stopped = self.stopped || (self.stop)();
            if self.stopped {
                return false;
            }
            if !net.post(self.end(), 0, 1.0 - self.best.finish) || !self.narrow(net) {
                return true;
            }
            let starts: Vec<f64> = (0..self.project.takes.len()).map(|t| net.least(0, t)).collect();
            let Some(choices) = self.conflict(net, &starts) else {
                let finish = finish(self.project, &starts);
                self.best = Shortest {
                    starts,
                    finish,
                    lower: 0.0,
                };
                return true;
            };
            match choices.as_slice() {
                [] => return true,
                [(a, b)] => {
                    if !net.post(*a, *b, self.takes(*a)) {
                        return true;
                    }
                }
                _ => return self.each(net, &choices),
            }
        }
    }

    /// Tries each choice; behind it, its opposite holds.
    fn each(&mut self, net: &mut Net, choices: &[(usize, usize)]) -> bool {
        for (a, b) in choices {
            let takes = self.takes(*a);
            let mut with = net.clone();
            if with.post(*a, *b, takes) && !self.go(&mut with) {
                return false;
            }
            if !net.post(self.end(), 0, 1.0 - self.best.finish) || !net.post(*b, *a, 1.0 - takes) {
                return true;
            }
        }
        true
    }

    /// Narrows until nothing changes; false if that refutes the net.
    fn narrow(&self, net: &mut Net) -> bool {
        loop {
            let mut changed = false;
            for (a, b) in &self.pairs {
                let (first, second) = (self.takes(*a), self.takes(*b));
                if net.least(*a, *b) >= first || net.least(*b, *a) >= second {
                    continue;
                }
                let a_first = net.least(*b, *a) + first <= 0.0;
                let b_first = net.least(*a, *b) + second <= 0.0;
                let sound = match (a_first, b_first) {
                    (false, false) => false,
                    (true, false) => net.post(*a, *b, first),
                    (false, true) => net.post(*b, *a, second),
                    (true, true) => continue,
                };
                if !sound {
                    return false;
                }
                changed = true;
            }
            match self.push(net) {
                None => return false,
                Some(pushed) if pushed || changed => {}
                Some(_) => return self.energy(net),
            }
        }
    }

    /// Earliest and latest starts.
    fn windows(&self, net: &Net) -> Vec<(f64, f64)> {
        (0..self.project.takes.len())
            .map(|t| (net.least(0, t), -net.least(t, 0)))
            .collect()
    }

    /// Pushes starts out of the way of what is sure to be in use; none if that refutes the net.
    fn push(&self, net: &mut Net) -> Option<bool> {
        let windows = self.windows(net);
        let mut changed = false;
        for slot in 0..self.project.most.len() {
            let most = at(&self.project.most, slot);
            let need = |task: usize| self.project.needs.get(task).map_or(0.0, |n| at(n, slot));
            let sure: Vec<(usize, f64, f64)> = windows
                .iter()
                .enumerate()
                .map(|(t, (early, late))| (t, *late, early + self.takes(t)))
                .filter(|(t, from, to)| from < to && need(*t) > 0.0)
                .collect();
            let mut cuts: Vec<f64> = sure.iter().flat_map(|(_, from, to)| [*from, *to]).collect();
            cuts.sort_by(f64::total_cmp);
            cuts.dedup();
            let used = |from: f64, not: usize| -> f64 {
                sure.iter()
                    .filter(|(t, a, b)| *t != not && *a <= from && from < *b)
                    .map(|(t, _, _)| need(*t))
                    .sum()
            };
            let spans: Vec<(f64, f64, f64)> = cuts
                .windows(2)
                .filter_map(|w| match w {
                    [from, to] => Some((*from, *to, used(*from, usize::MAX))),
                    _ => None,
                })
                .collect();
            if spans.iter().any(|(_, _, used)| *used > most) {
                return None;
            }
            for (task, (early, late)) in windows.iter().enumerate() {
                let (needed, takes) = (need(task), self.takes(task));
                if needed <= 0.0 || takes <= 0.0 {
                    continue;
                }
                let own = |from: f64| {
                    if *late <= from && from < early + takes {
                        needed
                    } else {
                        0.0
                    }
                };
                let mut start = *early;
                for (from, to, used) in &spans {
                    if *from < start + takes && *to > start && used - own(*from) + needed > most {
                        start = *to;
                    }
                }
                let mut last = *late;
                for (from, to, used) in spans.iter().rev() {
                    if *from < last + takes && *to > last && used - own(*from) + needed > most {
                        last = from - takes;
                    }
                }
                if start > *early || last < *late {
                    changed = true;
                    if !net.post(0, task, start) || !net.post(task, 0, -last) {
                        return None;
                    }
                }
            }
        }
        Some(changed)
    }

    /// Whether the work that must lie between two moments finds room there, for all pairs that matter.
    fn energy(&self, net: &Net) -> bool {
        let windows = self.windows(net);
        for slot in 0..self.project.most.len() {
            let most = at(&self.project.most, slot);
            let tasks: Vec<(f64, f64, f64, f64)> = windows
                .iter()
                .enumerate()
                .filter_map(|(t, (early, late))| {
                    let need = self.project.needs.get(t).map_or(0.0, |n| at(n, slot));
                    let takes = self.takes(t);
                    (need > 0.0 && takes > 0.0).then_some((*early, late + takes, takes, need))
                })
                .collect();
            for (from, ..) in &tasks {
                for (_, to, ..) in &tasks {
                    if to <= from {
                        continue;
                    }
                    let inside = |(early, end, takes, need): &(f64, f64, f64, f64)| {
                        let left = early + takes - from;
                        let right = to - (end - takes);
                        left.min(right).min(*takes).min(to - from).max(0.0) * need
                    };
                    if tasks.iter().map(inside).sum::<f64>() > most * (to - from) + 1e-6 {
                        return false;
                    }
                }
            }
        }
        true
    }

    /// Who could wait for whom where starts as early as may be use too much; none if they do not.
    fn conflict(&self, net: &Net, starts: &[f64]) -> Option<Vec<(usize, usize)>> {
        let mut best: Option<Vec<(usize, usize)>> = None;
        let runs = |task: usize, moment: f64| {
            let start = at(starts, task);
            start <= moment && moment < start + self.takes(task)
        };
        for moment in starts {
            for slot in 0..self.project.most.len() {
                let need = |t: usize| self.project.needs.get(t).map_or(0.0, |n| at(n, slot));
                let mut set: Vec<usize> = (0..starts.len())
                    .filter(|t| need(*t) > 0.0 && runs(*t, *moment))
                    .collect();
                let most = at(&self.project.most, slot);
                if set.iter().map(|t| need(*t)).sum::<f64>() <= most {
                    continue;
                }
                set.sort_by(|a, b| need(*b).total_cmp(&need(*a)));
                for first in 0..set.len() {
                    let choices = self.choices(net, &least_over(&set, first, most, need));
                    if best.as_ref().is_none_or(|had| choices.len() < had.len()) {
                        best = Some(choices);
                    }
                }
            }
            if best.as_ref().is_some_and(|had| had.len() <= 1) {
                break;
            }
        }
        best
    }

    /// The pairs of a set of which one may wait for the other, most room first.
    fn choices(&self, net: &Net, set: &[usize]) -> Vec<(usize, usize)> {
        let mut choices = Vec::new();
        for a in set {
            for b in set.iter().filter(|b| *b != a) {
                let room = -(net.least(*b, *a) + self.takes(*a));
                if room >= 0.0 {
                    choices.push((room, (*a, *b)));
                }
            }
        }
        choices.sort_by(|a, b| b.0.total_cmp(&a.0));
        choices.into_iter().map(|(_, pair)| pair).collect()
    }
}

/// A set around its `first` member that uses too much, and none of whose others can be spared.
fn least_over(set: &[usize], first: usize, most: f64, need: impl Fn(usize) -> f64) -> Vec<usize> {
    let mut chosen: Vec<usize> = set.get(first).copied().into_iter().collect();
    let mut sum: f64 = chosen.iter().map(|t| need(*t)).sum();
    for task in set {
        if sum > most {
            break;
        }
        if !chosen.contains(task) {
            chosen.push(*task);
            sum += need(*task);
        }
    }
    for task in chosen.clone() {
        if sum - need(task) > most {
            sum -= need(task);
            chosen.retain(|t| *t != task);
        }
    }
    chosen
}

/// Whether these together need more than there is.
fn over(project: &Project, tasks: &[usize]) -> bool {
    project.most.iter().enumerate().any(|(slot, most)| {
        let need = |t: &usize| project.needs.get(*t).map_or(0.0, |n| at(n, slot));
        tasks.iter().map(need).sum::<f64>() > *most
    })
}
