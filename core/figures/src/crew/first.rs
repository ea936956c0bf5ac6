//! Plans by priority: each task as early as its forerunners and the resources allow, in the order of a
//! priority list. Swinging the plan to its late end and back again shortens it (forward-backward improvement).

use super::Project;
use crate::search::at;

/// Use of the resources over time: from each moment to the next one.
struct Use {
    moments: Vec<(f64, Vec<f64>)>,
}

impl Use {
    fn new(resources: usize) -> Self {
        Self {
            moments: vec![
                (f64::NEG_INFINITY, vec![0.0; resources]),
                (0.0, vec![0.0; resources]),
            ],
        }
    }

    /// Earliest start from `ready` on.
    fn earliest(&self, ready: f64, takes: f64, needs: &[f64], most: &[f64]) -> f64 {
        if takes <= 0.0 {
            return ready;
        }
        let mut start = ready;
        for (place, (moment, used)) in self.moments.iter().enumerate() {
            if *moment >= start + takes {
                break;
            }
            let next = self
                .moments
                .get(place.saturating_add(1))
                .map_or(f64::INFINITY, |m| m.0);
            if next <= start {
                continue;
            }
            if used
                .iter()
                .zip(needs)
                .zip(most)
                .any(|((used, need), most)| used + need > *most)
            {
                start = next;
            }
        }
        start
    }

    fn split(&mut self, moment: f64) {
        let place = self.moments.partition_point(|m| m.0 < moment);
        if self.moments.get(place).is_some_and(|m| m.0 == moment) {
            return;
        }
        let before = self.moments.get(place.saturating_sub(1)).map(|m| m.1.clone());
        self.moments.insert(place, (moment, before.unwrap_or_default()));
    }

    fn take(&mut self, start: f64, takes: f64, needs: &[f64]) {
        if takes <= 0.0 {
            return;
        }
        self.split(start);
        self.split(start + takes);
        for (_, used) in self
            .moments
            .iter_mut()
            .filter(|m| m.0 >= start && m.0 < start + takes)
        {
            used.iter_mut().zip(needs).for_each(|(used, need)| *used += need);
        }
    }
}

/// Starts when tasks are placed by `priority` (lowest first among those whose forerunners are placed).
pub fn placed(project: &Project, after: &[Vec<usize>], priority: &[f64]) -> Vec<f64> {
    let many = project.takes.len();
    let mut waits: Vec<usize> = after.iter().map(Vec::len).collect();
    let mut behind: Vec<Vec<usize>> = vec![Vec::new(); many];
    for (task, list) in after.iter().enumerate() {
        for before in list {
            if let Some(behind) = behind.get_mut(*before) {
                behind.push(task);
            }
        }
    }
    let mut ready: Vec<usize> = (0..many).filter(|t| at(&waits, *t) == 0).collect();
    let mut starts = vec![0.0; many];
    let mut used = Use::new(project.most.len());
    loop {
        let best = ready
            .iter()
            .enumerate()
            .min_by(|a, b| at(priority, *a.1).total_cmp(&at(priority, *b.1)));
        let Some((place, _)) = best else { return starts };
        let task = ready.swap_remove(place);
        let (takes, needs) = (
            at(&project.takes, task),
            project.needs.get(task).map_or(&[][..], |n| n),
        );
        let free = after.get(task).into_iter().flatten();
        let free = free
            .map(|before| at(&starts, *before) + at(&project.takes, *before))
            .fold(0.0, f64::max);
        let start = used.earliest(free, takes, needs, &project.most);
        used.take(start, takes, needs);
        if let Some(own) = starts.get_mut(task) {
            *own = start;
        }
        for other in behind.get(task).into_iter().flatten() {
            if let Some(wait) = waits.get_mut(*other) {
                *wait = wait.saturating_sub(1);
                if *wait == 0 {
                    ready.push(*other);
                }
            }
        }
    }
}

/// When the last task ends.
pub fn finish(project: &Project, starts: &[f64]) -> f64 {
    starts
        .iter()
        .zip(&project.takes)
        .map(|(start, takes)| start + takes)
        .fold(0.0, f64::max)
}

/// The same arrows the other way round.
pub fn turned(after: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut turned = vec![Vec::new(); after.len()];
    for (task, list) in after.iter().enumerate() {
        for before in list {
            if let Some(own) = turned.get_mut(*before) {
                own.push(task);
            }
        }
    }
    turned
}

/// A plan swung to the right by its ends and back to the left by its starts.
pub fn swung(project: &Project, turned: &[Vec<usize>], starts: Vec<f64>) -> Vec<f64> {
    let ends: Vec<f64> = starts.iter().zip(&project.takes).map(|(s, t)| -(s + t)).collect();
    let back = placed(project, turned, &ends);
    let length = finish(project, &back);
    let from_right: Vec<f64> = back
        .iter()
        .zip(&project.takes)
        .map(|(s, t)| length - s - t)
        .collect();
    let again = placed(project, &project.after, &from_right);
    if finish(project, &again) <= finish(project, &starts) {
        again
    } else {
        starts
    }
}
