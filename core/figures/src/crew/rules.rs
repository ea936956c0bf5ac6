//! What follows for the starts of tasks, each step with its reasons for [`super::learn`]: arrows, pairs that
//! cannot run at the same time, use that is sure at a moment, and work that must fit between two moments.

use super::Project;
use super::learn::{Atom, Bounds, Why, least, most};
use crate::search::at;

/// Pairs that cannot run at the same time, at most: each has a variable of its own.
const MOST_PAIRS: usize = 8_000;

/// One side rises with another: the other's task must be over, or may not have begun.
struct Arrow {
    to: usize,
    gap: f64,
}

/// Two tasks that cannot run at the same time; the variable is 1 where `a` comes first.
struct Pair {
    a: usize,
    b: usize,
    variable: usize,
}

#[derive(Clone, Copy)]
struct User {
    task: usize,
    takes: f64,
    need: f64,
}

/// From one moment to another so much is sure to be in use.
struct Span {
    from: f64,
    to: f64,
    used: f64,
}

pub struct Rules {
    many: usize,
    takes: Vec<f64>,
    most: Vec<f64>,
    users: Vec<Vec<User>>,
    /// By task: the resources that it uses.
    slots_of: Vec<Vec<usize>>,
    arrows: Vec<Vec<Arrow>>,
    pairs: Vec<Pair>,
    /// By variable: the pairs that it stands in.
    pairs_of: Vec<Vec<usize>>,
    /// Resources whose use must be looked at.
    dirty: Vec<bool>,
}

impl Rules {
    /// The rules of a project and the domain of every variable: the tasks, then one a pair.
    pub fn new(project: &Project) -> (Self, Vec<(f64, f64)>) {
        let many = project.takes.len();
        let horizon: f64 = project.takes.iter().sum();
        let mut domains: Vec<(f64, f64)> = project.takes.iter().map(|t| (0.0, horizon - t)).collect();
        let mut arrows: Vec<Vec<Arrow>> = (0..many << 1).map(|_| Vec::new()).collect();
        for (task, list) in project.after.iter().enumerate() {
            for before in list {
                let gap = at(&project.takes, *before);
                if let Some(own) = arrows.get_mut(before << 1) {
                    own.push(Arrow { to: task << 1, gap });
                }
                if let Some(own) = arrows.get_mut(task << 1 | 1) {
                    let to = before << 1 | 1;
                    own.push(Arrow { to, gap });
                }
            }
        }
        let users = |slot: usize| {
            let user = |task: usize| User {
                task,
                takes: at(&project.takes, task),
                need: project.needs.get(task).map_or(0.0, |n| at(n, slot)),
            };
            (0..many)
                .map(user)
                .filter(|u| u.need > 0.0 && u.takes > 0.0)
                .collect()
        };
        let users: Vec<Vec<User>> = (0..project.most.len()).map(users).collect();
        let uses = |task: usize| {
            let used = |own: &Vec<User>| own.iter().any(|u| u.task == task);
            (0..users.len())
                .filter(|slot| users.get(*slot).is_some_and(used))
                .collect()
        };
        let slots_of = (0..many).map(uses).collect();
        let mut rules = Self {
            many,
            takes: project.takes.clone(),
            most: project.most.clone(),
            users,
            slots_of,
            arrows,
            pairs: Vec::new(),
            pairs_of: vec![Vec::new(); many],
            dirty: vec![true; project.most.len()],
        };
        rules.pair_up(project, &mut domains);
        (rules, domains)
    }

    fn pair_up(&mut self, project: &Project, domains: &mut Vec<(f64, f64)>) {
        let behind = closure(project);
        let ordered = |a: usize, b: usize| behind.get(a).is_some_and(|row| row.get(b) == Some(&true));
        for a in 0..self.many {
            for b in 0..a {
                if self.pairs.len() >= MOST_PAIRS {
                    return;
                }
                if ordered(a, b) || ordered(b, a) || !over(project, a, b) {
                    continue;
                }
                let (place, variable) = (self.pairs.len(), domains.len());
                domains.push((0.0, 1.0));
                self.pairs.push(Pair { a, b, variable });
                self.pairs_of.push(vec![place]);
                for task in [a, b] {
                    if let Some(own) = self.pairs_of.get_mut(task) {
                        own.push(place);
                    }
                }
            }
        }
    }

    /// Whether `a` comes first, for each pair's variable, by these starts.
    pub fn orders<'a>(&'a self, starts: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        let first = |p: &Pair| f64::from(u8::from(at(starts, p.a) < at(starts, p.b)));
        self.pairs.iter().map(first)
    }

    /// What follows at once from a side that rose; false if that refutes the bounds.
    pub fn follow(&mut self, bounds: &mut Bounds, side: usize) -> bool {
        let now = bounds.side(side);
        for arrow in self.arrows.get(side).into_iter().flatten() {
            let atom = Atom {
                side: arrow.to,
                least: now + arrow.gap,
            };
            let why = Why::Gap {
                side,
                gap: arrow.gap,
                when: None,
            };
            if !bounds.set(atom, why) {
                return false;
            }
        }
        let variable = side >> 1;
        for slot in self.slots_of.get(variable).into_iter().flatten() {
            if let Some(dirty) = self.dirty.get_mut(*slot) {
                *dirty = true;
            }
        }
        let pairs = self.pairs_of.get(variable).into_iter().flatten();
        pairs
            .filter_map(|place| self.pairs.get(*place))
            .all(|pair| self.apart(bounds, pair))
    }

    fn apart(&self, bounds: &mut Bounds, pair: &Pair) -> bool {
        let Pair { a, b, variable } = *pair;
        let (a_first, b_first) = (least(variable, 1.0), most(variable, 0.0));
        for (a, b, so, not) in [(a, b, a_first, b_first), (b, a, b_first, a_first)] {
            let takes = at(&self.takes, a);
            if bounds.holds(so) {
                let why = |side| Why::Gap {
                    side,
                    gap: takes,
                    when: Some(so),
                };
                return bounds.set(least(b, bounds.low(a) + takes), why(a << 1))
                    && bounds.set(most(a, bounds.high(b) - takes), why(b << 1 | 1));
            }
            let ends = bounds.low(a) + takes;
            if ends > bounds.high(b) && !bounds.holds(not) {
                let because = [least(a, ends - takes), most(b, ends - 1.0)];
                if !bounds.tell(not, &because) {
                    return false;
                }
                return self.apart(bounds, pair);
            }
        }
        true
    }

    /// Looks at the resources that changed; none if that refutes the bounds, else whether a bound rose.
    pub fn look(&mut self, bounds: &mut Bounds) -> Option<bool> {
        for slot in 0..self.users.len() {
            if !at(&self.dirty, slot) {
                continue;
            }
            if let Some(dirty) = self.dirty.get_mut(slot) {
                *dirty = false;
            }
            let users = self.users.get(slot).map_or(&[][..], |u| u);
            let room = at(&self.most, slot);
            if self.sure(bounds, users, room)? {
                return Some(true);
            }
            if !work_fits(bounds, users, room) {
                return None;
            }
        }
        Some(false)
    }

    /// After a contradiction everything is looked at again.
    pub fn again(&mut self) {
        self.dirty.fill(true);
    }

    /// Moves tasks out of the way of what is sure to be in use.
    fn sure(&self, bounds: &mut Bounds, users: &[User], room: f64) -> Option<bool> {
        let spans = spans(bounds, users);
        if let Some(span) = spans.iter().find(|s| s.used > room) {
            let moment = ((span.from + span.to - 1.0) / 2.0).floor();
            let because = cover(bounds, users, moment, moment + 1.0, usize::MAX, room);
            bounds.refute(&because);
            return None;
        }
        let mut changed = false;
        let top = spans.iter().map(|s| s.used).fold(0.0, f64::max);
        for user in users.iter().filter(|u| u.need + top > room) {
            let (low, high) = (bounds.low(user.task), bounds.high(user.task));
            if low >= high {
                continue;
            }
            let sure = |from: f64| high <= from && from < low + user.takes;
            let blocks = |s: &&Span| s.used - if sure(s.from) { user.need } else { 0.0 } + user.need > room;
            let mut start = low;
            for span in spans.iter().filter(blocks) {
                if span.to <= start {
                    continue;
                }
                if span.from >= start + user.takes {
                    break;
                }
                let short = span.to <= start + user.takes;
                let from = if short {
                    span.to - 1.0
                } else {
                    start + user.takes - 1.0
                };
                let from = from.max(span.from);
                let mut because = cover(bounds, users, from, span.to, user.task, room - user.need);
                because.push(least(user.task, from + 1.0 - user.takes));
                if !bounds.tell(least(user.task, span.to), &because) {
                    return None;
                }
                start = span.to;
                changed = true;
            }
            let mut last = high;
            for span in spans.iter().rev().filter(blocks) {
                if span.from >= last + user.takes {
                    continue;
                }
                if span.to <= last {
                    break;
                }
                // The task may not run at the last moment before `to`.
                let short = span.from >= last;
                let to = if short { span.from + 1.0 } else { last + 1.0 };
                let to = to.min(span.to);
                let mut because = cover(bounds, users, span.from, to, user.task, room - user.need);
                because.push(most(user.task, to - 1.0));
                if !bounds.tell(most(user.task, span.from - user.takes), &because) {
                    return None;
                }
                last = span.from - user.takes;
                changed = true;
            }
        }
        Some(changed)
    }
}

/// Which task starts behind which by way of arrows.
fn closure(project: &Project) -> Vec<Vec<bool>> {
    let many = project.takes.len();
    let mut behind = vec![vec![false; many]; many];
    for task in super::sorted(project).unwrap_or_default() {
        let mut row = vec![false; many];
        for before in project.after.get(task).into_iter().flatten() {
            if let Some(own) = row.get_mut(*before) {
                *own = true;
            }
            for (own, other) in row.iter_mut().zip(behind.get(*before).into_iter().flatten()) {
                *own = *own || *other;
            }
        }
        if let Some(own) = behind.get_mut(task) {
            *own = row;
        }
    }
    behind
}

/// Whether two tasks together need more than there is.
fn over(project: &Project, a: usize, b: usize) -> bool {
    let need = |task: usize, slot: usize| project.needs.get(task).map_or(0.0, |n| at(n, slot));
    let long = at(&project.takes, a) > 0.0 && at(&project.takes, b) > 0.0;
    let mut slots = project.most.iter().enumerate();
    long && slots.any(|(slot, most)| need(a, slot) + need(b, slot) > *most)
}

/// What is sure to be in use, moment by moment.
fn spans(bounds: &Bounds, users: &[User]) -> Vec<Span> {
    let mut events: Vec<(f64, f64)> = Vec::new();
    for user in users {
        let (from, to) = (bounds.high(user.task), bounds.low(user.task) + user.takes);
        if from < to {
            events.push((from, user.need));
            events.push((to, -user.need));
        }
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut spans, mut used) = (Vec::new(), 0.0);
    for pair in events.windows(2) {
        let [(from, need), (to, _)] = pair else { continue };
        used += need;
        if from < to && used > 0.0 {
            spans.push(Span {
                from: *from,
                to: *to,
                used,
            });
        }
    }
    spans
}

/// Why more than `room` is in use all the time from one moment to another, without task `not`: the fewest of the
/// tasks that are sure to run then, largest need first.
fn cover(bounds: &Bounds, users: &[User], from: f64, to: f64, not: usize, room: f64) -> Vec<Atom> {
    let runs = |u: &&User| u.task != not && bounds.high(u.task) <= from && to <= bounds.low(u.task) + u.takes;
    let mut running: Vec<&User> = users.iter().filter(runs).collect();
    running.sort_by(|a, b| b.need.total_cmp(&a.need));
    let (mut used, mut because) = (0.0, Vec::new());
    for user in running {
        if used > room {
            break;
        }
        used += user.need;
        because.push(least(user.task, to - user.takes));
        because.push(most(user.task, from));
    }
    because
}

/// Whether all work that must lie between two moments finds room there; if not, the bounds are refuted.
fn work_fits(bounds: &mut Bounds, users: &[User], room: f64) -> bool {
    let mut tasks: Vec<(f64, f64, User)> = users
        .iter()
        .map(|u| (bounds.low(u.task), bounds.high(u.task) + u.takes, *u))
        .collect();
    tasks.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut ends: Vec<f64> = tasks.iter().map(|t| t.1).collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    for end in ends {
        let mut work = 0.0;
        for (place, (begin, _, user)) in tasks.iter().enumerate().filter(|(_, t)| t.1 <= end) {
            work += user.takes * user.need;
            let mut over = work - room * (end - begin);
            if over <= 0.0 {
                continue;
            }
            let mut because = Vec::new();
            for (_, _, user) in tasks.iter().take(place.saturating_add(1)).filter(|t| t.1 <= end) {
                let own = user.takes * user.need;
                if own < over {
                    over -= own;
                    continue;
                }
                because.push(least(user.task, *begin));
                because.push(most(user.task, end - user.takes));
            }
            return bounds.refute(&because);
        }
    }
    true
}
