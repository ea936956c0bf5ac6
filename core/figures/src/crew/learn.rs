//! Bounds of starts with the reason of each step, and learning from contradictions: what led to one is kept as
//! a clause, so that no part of the search meets the same contradiction again (lazy clause generation, after
//! Ohrimenko, Stuckey and Codish 2009, in our own form over bounds alone).
//!
//! Every variable has two sides: side `2 v` holds its least value, side `2 v + 1` the least of its negative, so
//! that a bound only ever rises. Values are whole numbers held in `f64`.

use crate::search::at;

/// No place.
const NONE: usize = usize::MAX;
/// Share of its weight that an atom keeps from one contradiction to the next.
const KEPT: f64 = 0.95;

/// “The value of `side` is at least `least`.”
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Atom {
    pub side: usize,
    pub least: f64,
}

/// Variable `v` is at least so much.
pub fn least(v: usize, value: f64) -> Atom {
    Atom {
        side: v << 1,
        least: value,
    }
}

/// Variable `v` is at most so much.
pub fn most(v: usize, value: f64) -> Atom {
    Atom {
        side: v << 1 | 1,
        least: -value,
    }
}

impl Atom {
    pub fn not(self) -> Self {
        Self {
            side: self.side ^ 1,
            least: 1.0 - self.least,
        }
    }
}

/// Why a bound rose.
#[derive(Clone, Copy)]
pub enum Why {
    /// It was tried, or holds for good.
    Tried,
    /// Another side stands `gap` below it, where the condition holds.
    Gap {
        side: usize,
        gap: f64,
        when: Option<Atom>,
    },
    /// All others of a clause fail.
    Clause(usize),
    /// Atoms of the list `told`.
    Told { from: usize, many: usize },
}

struct Step {
    side: usize,
    was: f64,
    /// The step of the same side before it.
    before: usize,
    why: Why,
    level: usize,
}

/// The bounds with how they came to be.
pub struct Bounds {
    now: Vec<f64>,
    last: Vec<usize>,
    trail: Vec<Step>,
    told: Vec<Atom>,
    /// Lengths of the trail and of `told` where each level began.
    levels: Vec<(usize, usize)>,
    /// What could not be set.
    clash: Option<(Atom, Why)>,
}

impl Bounds {
    fn new(domains: &[(f64, f64)]) -> Self {
        Self {
            now: domains.iter().flat_map(|(low, high)| [*low, -high]).collect(),
            last: vec![NONE; domains.len() << 1],
            trail: Vec::new(),
            told: Vec::new(),
            levels: Vec::new(),
            clash: None,
        }
    }

    pub fn side(&self, side: usize) -> f64 {
        at(&self.now, side)
    }

    pub fn low(&self, v: usize) -> f64 {
        at(&self.now, v << 1)
    }

    pub fn high(&self, v: usize) -> f64 {
        -at(&self.now, v << 1 | 1)
    }

    pub fn holds(&self, atom: Atom) -> bool {
        at(&self.now, atom.side) >= atom.least
    }

    pub fn level(&self) -> usize {
        self.levels.len()
    }

    /// Raises a bound; false if its opposite holds.
    pub fn set(&mut self, atom: Atom, why: Why) -> bool {
        if self.holds(atom) {
            return true;
        }
        if self.holds(atom.not()) {
            self.clash = Some((atom, why));
            return false;
        }
        let (Some(now), Some(last)) = (self.now.get_mut(atom.side), self.last.get_mut(atom.side)) else {
            return true;
        };
        self.trail.push(Step {
            side: atom.side,
            was: *now,
            before: *last,
            why,
            level: self.levels.len(),
        });
        *last = self.trail.len().wrapping_sub(1);
        *now = atom.least;
        true
    }

    /// Raises a bound for a list of reasons that hold.
    pub fn tell(&mut self, atom: Atom, because: &[Atom]) -> bool {
        if self.holds(atom) {
            return true;
        }
        let (from, many) = (self.told.len(), because.len());
        self.told.extend_from_slice(because);
        self.set(atom, Why::Told { from, many })
    }

    /// These atoms hold and cannot all hold.
    pub fn refute(&mut self, because: &[Atom]) -> bool {
        let Some((first, rest)) = because.split_first() else {
            return true;
        };
        self.tell(first.not(), rest)
    }

    fn deeper(&mut self) {
        self.levels.push((self.trail.len(), self.told.len()));
    }

    fn back(&mut self, level: usize) {
        let Some((trail, told)) = self.levels.get(level).copied() else {
            return;
        };
        for step in self.trail.drain(trail..).rev() {
            if let (Some(now), Some(last)) = (self.now.get_mut(step.side), self.last.get_mut(step.side)) {
                (*now, *last) = (step.was, step.before);
            }
        }
        self.told.truncate(told);
        self.levels.truncate(level);
    }

    /// What holds without anything tried needs no reasons.
    fn forget(&mut self) {
        self.trail.clear();
        self.told.clear();
        self.last.fill(NONE);
    }

    /// The step that first made an atom hold; none if it holds for good.
    fn place(&self, atom: Atom) -> Option<usize> {
        let mut place = at(&self.last, atom.side);
        loop {
            let step = self.trail.get(place)?;
            if step.was < atom.least {
                return (step.level > 0).then_some(place);
            }
            place = step.before;
        }
    }
}

struct Clause {
    atoms: Vec<Atom>,
    levels: usize,
    used: f64,
}

/// What narrowing by clauses comes to next.
pub enum Next {
    /// This side rose, and its clauses were looked at.
    Side(usize),
    /// Nothing is left to look at.
    Still,
    /// What was tried is refuted.
    Refuted,
}

/// Where a contradiction leads.
struct Lesson {
    atoms: Vec<Atom>,
    level: usize,
    levels: usize,
}

/// Bounds, the clauses learnt, and what to try next.
pub struct Learner {
    pub bounds: Bounds,
    clauses: Vec<Clause>,
    /// By side: thresholds at which a clause must be looked at.
    watch: Vec<Vec<(f64, usize)>>,
    head: usize,
    /// Of the contradiction at hand: what is needed of each side.
    need: Vec<f64>,
    active: Vec<usize>,
    /// Atoms met in contradictions, with their weight, heaviest first from time to time.
    known: Vec<(Atom, f64)>,
    place_of: std::collections::HashMap<(usize, u64), usize>,
    weight: f64,
    /// Contradictions met.
    pub clashes: usize,
    used: f64,
}

impl Learner {
    pub fn new(domains: &[(f64, f64)]) -> Self {
        let sides = domains.len() << 1;
        Self {
            bounds: Bounds::new(domains),
            clauses: Vec::new(),
            watch: vec![Vec::new(); sides],
            head: 0,
            need: vec![f64::NEG_INFINITY; sides],
            active: Vec::new(),
            known: Vec::new(),
            place_of: std::collections::HashMap::new(),
            weight: 1.0,
            clashes: 0,
            used: 1.0,
        }
    }

    /// Tries an atom on a level of its own.
    pub fn attempt(&mut self, atom: Atom) {
        self.bounds.deeper();
        self.bounds.set(atom, Why::Tried);
    }

    /// Back to what holds for good.
    pub fn root(&mut self) {
        self.bounds.back(0);
        self.head = self.head.min(self.bounds.trail.len());
    }

    /// Looks at the clauses of the next side that rose.
    pub fn next(&mut self) -> Next {
        let Some(side) = self.bounds.trail.get(self.head).map(|s| s.side) else {
            return Next::Still;
        };
        self.head = self.head.saturating_add(1);
        if by_clauses(&mut self.bounds, &mut self.watch, &mut self.clauses, side) {
            Next::Side(side)
        } else {
            Next::Refuted
        }
    }

    /// Where nothing is tried, what was narrowed holds for good and needs no reasons.
    pub fn settle(&mut self) {
        if self.bounds.level() == 0 {
            self.bounds.forget();
            self.head = 0;
        }
    }

    /// Learns from the contradiction and goes back to where the lesson says something new; false if there is
    /// nothing to go back to: the whole is refuted.
    pub fn learn(&mut self) -> bool {
        self.clashes = self.clashes.saturating_add(1);
        let Some(lesson) = self.lesson() else { return false };
        self.bounds.back(lesson.level);
        self.head = self.bounds.trail.len();
        self.weight /= KEPT;
        self.used *= 1.001;
        if self.weight > 1e100 {
            self.known.iter_mut().for_each(|k| k.1 *= 1e-100);
            self.weight *= 1e-100;
        }
        let Some(first) = lesson.atoms.first().copied() else {
            return false;
        };
        if lesson.atoms.len() == 1 {
            return self.bounds.set(first, Why::Tried);
        }
        let place = self.clauses.len();
        for atom in lesson.atoms.iter().take(2) {
            if let Some(list) = self.watch.get_mut(atom.side ^ 1) {
                list.push((1.0 - atom.least, place));
            }
        }
        self.clauses.push(Clause {
            atoms: lesson.atoms,
            levels: lesson.levels,
            used: self.used,
        });
        self.bounds.set(first, Why::Clause(place))
    }

    fn lesson(&mut self) -> Option<Lesson> {
        let (atom, why) = self.bounds.clash.take()?;
        for side in self.active.drain(..) {
            if let Some(need) = self.need.get_mut(side) {
                *need = f64::NEG_INFINITY;
            }
        }
        let mut reasons = Vec::new();
        self.add(atom.not());
        self.reasons(atom, why, &mut reasons);
        loop {
            for reason in reasons.drain(..) {
                self.add(reason);
            }
            let (top, level, many) = self.top()?;
            if many <= 1 {
                return Some(self.closed(top, level));
            }
            let step = self.bounds.trail.get(top)?;
            let (side, why) = (step.side, step.why);
            let needed = Atom {
                side,
                least: at(&self.need, side),
            };
            self.active.retain(|s| *s != side);
            if let Some(need) = self.need.get_mut(side) {
                *need = f64::NEG_INFINITY;
            }
            self.reasons(needed, why, &mut reasons);
        }
    }

    /// What made an atom hold, by its step's reason.
    fn reasons(&mut self, atom: Atom, why: Why, list: &mut Vec<Atom>) {
        match why {
            Why::Tried => {}
            Why::Gap { side, gap, when } => {
                list.push(Atom {
                    side,
                    least: atom.least - gap,
                });
                list.extend(when);
            }
            Why::Clause(place) => {
                if let Some(clause) = self.clauses.get_mut(place) {
                    clause.used = self.used;
                    list.extend(
                        clause
                            .atoms
                            .iter()
                            .filter(|a| a.side != atom.side)
                            .map(|a| a.not()),
                    );
                }
            }
            Why::Told { from, many } => list.extend(self.bounds.told.iter().skip(from).take(many)),
        }
    }

    fn add(&mut self, atom: Atom) {
        if self.bounds.place(atom).is_none() {
            return;
        }
        self.heavier(atom);
        if let Some(need) = self.need.get_mut(atom.side) {
            if *need == f64::NEG_INFINITY {
                self.active.push(atom.side);
            }
            *need = need.max(atom.least);
        }
    }

    /// The last step that is needed, its level, and how many needed steps that level has; none if nothing is.
    fn top(&self) -> Option<(usize, usize, usize)> {
        let (mut top, mut top_level, mut many) = (None, 0, 0_usize);
        for side in &self.active {
            let least = at(&self.need, *side);
            let Some(place) = self.bounds.place(Atom { side: *side, least }) else {
                continue;
            };
            let level = self.bounds.trail.get(place).map_or(0, |s| s.level);
            many = match level.cmp(&top_level) {
                std::cmp::Ordering::Less => many,
                std::cmp::Ordering::Equal => many.saturating_add(1),
                std::cmp::Ordering::Greater => 1,
            };
            top_level = top_level.max(level);
            top = top.max(Some(place));
        }
        top.map(|top| (top, top_level, many))
    }

    /// The clause of what is needed, the newest first, without what the others imply.
    fn closed(&mut self, top: usize, top_level: usize) -> Lesson {
        let mut others: Vec<(usize, Atom)> = Vec::new();
        let mut first = Vec::new();
        let sides = self.active.clone();
        let mut reasons = Vec::new();
        for side in sides {
            let atom = Atom {
                side,
                least: at(&self.need, side),
            };
            let Some(place) = self.bounds.place(atom) else {
                continue;
            };
            if place == top {
                first.push(atom.not());
                continue;
            }
            let Some((why, level)) = self.bounds.trail.get(place).map(|s| (s.why, s.level)) else {
                continue;
            };
            reasons.clear();
            self.reasons(atom, why, &mut reasons);
            // By what came before it alone: of two that imply each other one stays.
            let before = |side: usize, least: f64| {
                self.bounds
                    .place(Atom { side, least })
                    .is_none_or(|before| before < place)
            };
            let implied = |r: &Atom| {
                let need = at(&self.need, r.side);
                self.bounds.place(*r).is_none() || (need >= r.least && before(r.side, need))
            };
            if matches!(why, Why::Tried) || !reasons.iter().all(implied) {
                others.push((level, atom.not()));
            }
        }
        others.sort_by_key(|(level, _)| std::cmp::Reverse(*level));
        let level = others.first().map_or(0, |o| o.0).min(top_level.saturating_sub(1));
        let mut levels: Vec<usize> = others.iter().map(|o| o.0).collect();
        levels.dedup();
        first.extend(others.into_iter().map(|o| o.1));
        Lesson {
            atoms: first,
            level,
            levels: levels.len(),
        }
    }

    fn heavier(&mut self, atom: Atom) {
        let atom = if atom.side & 1 == 0 { atom } else { atom.not() };
        // Nothing is nothing, whatever its sign.
        let key = (atom.side, (atom.least + 0.0).to_bits());
        let place = *self.place_of.entry(key).or_insert(self.known.len());
        match self.known.get_mut(place) {
            Some(known) => known.1 += self.weight,
            None => self.known.push((atom, self.weight)),
        }
    }

    /// The heaviest atom that neither holds nor fails, from place `from` of the order on.
    pub fn heaviest(&self, from: &mut usize) -> Option<Atom> {
        loop {
            let (atom, _) = *self.known.get(*from)?;
            if !self.bounds.holds(atom) && !self.bounds.holds(atom.not()) {
                return Some(atom);
            }
            *from = from.saturating_add(1);
        }
    }

    /// Puts the heaviest atoms first; of too many the lightest are forgotten.
    pub fn sort(&mut self, most_known: usize) {
        self.known.sort_by(|a, b| b.1.total_cmp(&a.1));
        self.known.truncate(most_known);
        self.place_of.clear();
        for (place, (atom, _)) in self.known.iter().enumerate() {
            self.place_of
                .insert((atom.side, (atom.least + 0.0).to_bits()), place);
        }
    }

    /// Forgets half of the clauses if there are too many: those of many levels that were of no use lately. Only
    /// where nothing is tried.
    pub fn forget(&mut self, most_clauses: usize) {
        if self.clauses.len() < most_clauses || self.bounds.level() > 0 {
            return;
        }
        let mut old = std::mem::take(&mut self.clauses);
        let good = |c: &Clause| c.levels <= 2;
        old.sort_by(|a, b| good(b).cmp(&good(a)).then(b.used.total_cmp(&a.used)));
        old.truncate(most_clauses >> 1);
        self.watch.iter_mut().for_each(Vec::clear);
        for mut clause in old {
            // What fails for good falls out; what holds for good needs no clause.
            if clause.atoms.iter().any(|a| self.bounds.holds(*a)) {
                continue;
            }
            clause.atoms.retain(|a| !self.bounds.holds(a.not()));
            if let [only] = clause.atoms.as_slice() {
                self.bounds.set(*only, Why::Tried);
                continue;
            }
            for atom in clause.atoms.iter().take(2) {
                if let Some(list) = self.watch.get_mut(atom.side ^ 1) {
                    list.push((1.0 - atom.least, self.clauses.len()));
                }
            }
            self.clauses.push(clause);
        }
    }
}

/// Looks at the clauses that watch a side which rose.
fn by_clauses(
    bounds: &mut Bounds,
    watch: &mut [Vec<(f64, usize)>],
    clauses: &mut [Clause],
    side: usize,
) -> bool {
    let now = bounds.side(side);
    let mut list = watch.get_mut(side).map(std::mem::take).unwrap_or_default();
    let (mut place, mut sound) = (0_usize, true);
    while let Some((threshold, own)) = list.get(place).copied().filter(|_| sound) {
        place = place.saturating_add(1);
        if threshold > now {
            continue;
        }
        let Some(clause) = clauses.get_mut(own) else {
            continue;
        };
        if clause.atoms.first().is_some_and(|a| a.side == side ^ 1) {
            clause.atoms.swap(0, 1);
        }
        let Some(first) = clause.atoms.first().copied().filter(|a| !bounds.holds(*a)) else {
            continue;
        };
        let open = clause.atoms.iter().skip(2).position(|a| !bounds.holds(a.not()));
        if let Some(open) = open {
            clause.atoms.swap(1, open.saturating_add(2));
            if let Some(atom) = clause.atoms.get(1)
                && let Some(other) = watch.get_mut(atom.side ^ 1)
            {
                other.push((1.0 - atom.least, own));
            }
            place = place.saturating_sub(1);
            list.swap_remove(place);
            continue;
        }
        sound = bounds.set(first, Why::Clause(own));
    }
    if let Some(own) = watch.get_mut(side) {
        *own = list;
    }
    sound
}
