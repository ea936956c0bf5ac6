//! What changed between two estimates, to the last line, and why: which measure, which shop value, which way.
//! Everything is read from the estimates themselves, whose lines carry their working, so figures that were
//! frozen long ago can still be held against those of now.

use crate::basis::{Basis, Line, Standing};
use crate::bill::{MoneyLine, TaskHours};
use crate::body::Plan;
use crate::estimate::{Estimate, Group};
use crate::mark::Mark;
use crate::measure::{Length, Unit};
use crate::measured::is_measure;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What kind of thing changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum ChangedPart {
    /// A sum of the whole.
    Sum,
    /// The way of fixing something.
    Way,
    /// A measure of the body, or a mark.
    Measure,
    /// A value of the shop, of common practice or from memory.
    Shop,
    /// The program's own rules.
    Rules,
    /// A takeoff line.
    Line,
    /// Material in money.
    Material,
    /// Hours.
    Hours,
}

/// One thing that is not as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Changed {
    /// What kind of thing.
    pub part: ChangedPart,
    /// What.
    pub what: String,
    /// As it was; empty if it was not there.
    pub was: String,
    /// As it is; empty if it is gone.
    pub now: String,
    /// Why, or what it moves; empty where it stands for itself.
    pub why: String,
}

/// Everything that is not the same in two estimates: sums, ways, measures, shop values, then line by line.
#[must_use]
pub fn compare(old: &Estimate, new: &Estimate) -> Vec<Changed> {
    let mut found = Found::default();
    found.sums(old, new);
    found.measures(old, new);
    for key in keys(old, new) {
        found.group(group(old, &key), group(new, &key), new.unit);
    }
    found.hours("", &old.once, &new.once);
    for (name, was, now) in [
        ("supplies", &old.supplies_basis, &new.supplies_basis),
        ("tax", &old.tax_basis, &new.tax_basis),
        ("allowance", &old.allowance.basis, &new.allowance.basis),
    ] {
        found.working(name, was, now);
    }
    found.range(old, new);
    let mut changes = found.changes;
    for shop in found.shop {
        changes.push(Changed {
            part: ChangedPart::Shop,
            what: shop.what,
            was: shop.was,
            now: shop.now,
            why: format!("moves {}", shop.moves.join(", ")),
        });
    }
    changes.sort_by_key(|change| change.part);
    changes
}

/// A shop value that is another, with what it moves.
struct ShopValue {
    what: String,
    was: String,
    now: String,
    moves: Vec<String>,
}

#[derive(Default)]
struct Found {
    changes: Vec<Changed>,
    shop: Vec<ShopValue>,
}

impl Found {
    fn put(&mut self, part: ChangedPart, what: impl Into<String>, was: String, now: String, why: String) {
        if was != now {
            self.changes.push(Changed {
                part,
                what: what.into(),
                was,
                now,
                why,
            });
        }
    }

    fn sums(&mut self, old: &Estimate, new: &Estimate) {
        type Sum = (&'static str, for<'e> fn(&'e Estimate) -> &'e String);
        let sums: [Sum; 7] = [
            ("total", |e| &e.total),
            ("material", |e| &e.material),
            ("labour", |e| &e.labour),
            ("hours", |e| &e.total_hours),
            ("supplies", |e| &e.supplies),
            ("tax", |e| &e.tax),
            ("allowance", |e| &e.allowance.amount),
        ];
        for (what, sum) in sums {
            self.put(
                ChangedPart::Sum,
                what,
                sum(old).clone(),
                sum(new).clone(),
                String::new(),
            );
        }
        let rules = |e: &Estimate| format!("version {}", e.rules_version);
        self.put(
            ChangedPart::Rules,
            "rules of the program",
            rules(old),
            rules(new),
            String::new(),
        );
    }

    /// Ranges are compared where both were drawn: before rules 6 what is added had one that nobody drew.
    fn range(&mut self, old: &Estimate, new: &Estimate) {
        let (Some(was), Some(now)) = (&old.range, &new.range) else {
            return;
        };
        for (what, was, now) in [
            ("range, lower end", &was.low, &now.low),
            ("range, upper end", &was.high, &now.high),
        ] {
            self.put(ChangedPart::Sum, what, was.clone(), now.clone(), String::new());
        }
        self.working("range", &was.basis, &now.basis);
    }

    fn measures(&mut self, old: &Estimate, new: &Estimate) {
        for (what, measure) in PLAN {
            let what = format!("body plan, {what}");
            self.put(
                ChangedPart::Measure,
                what,
                measure(old),
                measure(new),
                String::new(),
            );
        }
        let taken = |e: &Estimate, name: &String| match e.not_measured.contains(name) {
            true => "a starting value".to_owned(),
            false => "measured on this unit".to_owned(),
        };
        let mut names: Vec<&String> = old.not_measured.iter().chain(&new.not_measured).collect();
        names.sort();
        names.dedup();
        for name in names {
            self.put(
                ChangedPart::Measure,
                name,
                taken(old, name),
                taken(new, name),
                String::new(),
            );
        }
    }

    fn group(&mut self, was: Option<&Group>, now: Option<&Group>, unit: Unit) {
        let Some(title) = now.or(was).map(|group| group.title.clone()) else {
            return;
        };
        let way = |group: Option<&Group>| group.map(|group| group.way_title.clone()).unwrap_or_default();
        self.put(ChangedPart::Way, title.clone(), way(was), way(now), String::new());
        let amount = |group: Option<&Group>| group.map(|group| group.amount.clone()).unwrap_or_default();
        let what = format!("{title}, material and labour");
        self.put(ChangedPart::Sum, what, amount(was), amount(now), String::new());
        let said = |mark: &Mark| {
            let place = mark.place;
            format!("{}, {}", mark.kind.word(), place.said(unit))
        };
        let marks = |group: Option<&Group>| -> Vec<(String, String)> {
            let all = group.into_iter().flat_map(|group| &group.marks);
            all.map(|mark| (mark.id.clone(), said(mark))).collect()
        };
        for (_, was, now) in paired(&marks(was), &marks(now), |mark| mark.0.clone()) {
            let said = |mark: Option<&(String, String)>| mark.map(|mark| mark.1.clone()).unwrap_or_default();
            self.put(
                ChangedPart::Measure,
                format!("{title}, mark"),
                said(was),
                said(now),
                String::new(),
            );
        }
        let none: (Vec<Line>, Vec<MoneyLine>, Vec<TaskHours>) = Default::default();
        let parts = |group: Option<&'_ Group>| match group {
            Some(group) => (group.lines.clone(), group.goods.clone(), group.hours.clone()),
            None => none.clone(),
        };
        let ((lines, goods, hours), (lines_now, goods_now, hours_now)) = (parts(was), parts(now));
        self.lines(&title, &lines, &lines_now);
        self.goods(&title, &goods, &goods_now);
        self.hours(&title, &hours, &hours_now);
    }

    fn lines(&mut self, title: &str, was: &[Line], now: &[Line]) {
        for (item, was, now) in paired(was, now, |line| line.item.clone()) {
            let say = |line: Option<&Line>| line.map(|line| format!("{} {}", line.quantity, line.unit));
            let (before, after) = (say(was).unwrap_or_default(), say(now).unwrap_or_default());
            let (Some(was), Some(now)) = (was, now) else {
                self.put(
                    ChangedPart::Line,
                    format!("{title}, {item}"),
                    before,
                    after,
                    String::new(),
                );
                continue;
            };
            let why = self.working(&item, &was.basis, &now.basis);
            self.put(ChangedPart::Line, format!("{title}, {item}"), before, after, why);
        }
    }

    fn goods(&mut self, title: &str, was: &[MoneyLine], now: &[MoneyLine]) {
        for (item, was, now) in paired(was, now, |line| line.item.clone()) {
            let say = |line: Option<&MoneyLine>| {
                line.map(|l| format!("{} {} at {} = {}", l.quantity, l.unit, l.unit_price, l.amount))
                    .unwrap_or_default()
            };
            let mut why = String::new();
            if let (Some(was), Some(now)) = (was, now)
                && was.unit_price != now.unit_price
            {
                let name = format!("price of {item}");
                self.value(&name, &was.unit_price, &now.unit_price, &item);
                why = format!("price was {}, is {}", was.unit_price, now.unit_price);
            }
            self.put(
                ChangedPart::Material,
                format!("{title}, {item}"),
                say(was),
                say(now),
                why,
            );
        }
    }

    fn hours(&mut self, title: &str, was: &[TaskHours], now: &[TaskHours]) {
        for (task, was, now) in paired(was, now, |line| line.title.clone()) {
            let name = match title {
                "" => format!("the whole job, {}", task.to_lowercase()),
                _ => format!("{title}, {}", task.to_lowercase()),
            };
            let say = |line: Option<&TaskHours>| {
                line.map(|l| format!("{} h at {} = {}", l.hours, l.rate, l.amount))
                    .unwrap_or_default()
            };
            let mut why = String::new();
            if let (Some(was), Some(now)) = (was, now) {
                why = self.working(&task, &was.basis, &now.basis);
                if was.rate != now.rate {
                    self.value("labour, an hour", &was.rate, &now.rate, &task.to_lowercase());
                }
            }
            self.put(ChangedPart::Hours, name, say(was), say(now), why);
        }
    }

    /// Steps of the working that are not as they were, in words; shop values among them are kept by themselves.
    fn working(&mut self, moves: &str, was: &[Basis], now: &[Basis]) -> String {
        let mut words = Vec::new();
        let same_steps = was.len() == now.len();
        for (place, old) in was.iter().enumerate() {
            let same = now.iter().find(|step| step.what == old.what);
            let Some(new) = same.or_else(|| now.get(place).filter(|_| same_steps)) else {
                continue;
            };
            if old.value == new.value || old.standing == Standing::Worked {
                continue;
            }
            let what = match old.what.as_str() {
                "shop book" => format!("hours of {}", moves.to_lowercase()),
                what => what.to_owned(),
            };
            words.push(if old.what == new.what {
                format!("{what}: was {}, is {}", old.value, new.value)
            } else {
                format!("was {} {}, is {} {}", old.value, old.what, new.value, new.what)
            });
            if old.standing != Standing::Unit && !is_measure(&old.what) {
                self.value(&what, &old.value, &new.value, &moves.to_lowercase());
            }
        }
        words.join("; ")
    }

    fn value(&mut self, what: &str, was: &str, now: &str, moves: &str) {
        let known = self
            .shop
            .iter_mut()
            .find(|value| value.what == what && value.was == was && value.now == now);
        match known {
            Some(known) if known.moves.iter().any(|one| one == moves) => {}
            Some(known) => known.moves.push(moves.to_owned()),
            None => self.shop.push(ShopValue {
                what: what.to_owned(),
                was: was.to_owned(),
                now: now.to_owned(),
                moves: vec![moves.to_owned()],
            }),
        }
    }
}

/// Old and new with the same name, each used once; several of one name pair in their order.
fn paired<'t, T>(
    was: &'t [T],
    now: &'t [T],
    name: impl Fn(&T) -> String,
) -> Vec<(String, Option<&'t T>, Option<&'t T>)> {
    let mut left: Vec<&T> = was.iter().collect();
    let mut pairs: Vec<(String, Option<&T>, Option<&T>)> = Vec::new();
    for new in now {
        let of = name(new);
        let at = left.iter().position(|old| name(old) == of);
        pairs.push((of, at.map(|at| left.remove(at)), Some(new)));
    }
    pairs.extend(left.into_iter().map(|old| (name(old), Some(old), None)));
    pairs
}

/// A measure of the plan with its name.
type Measure = (&'static str, fn(&Estimate) -> String);

const PLAN: [Measure; 17] = [
    ("length", |e| e.plan.length.say(e.unit)),
    ("width", |e| e.plan.width.say(e.unit)),
    ("rail width outside", |e| e.plan.rail_width_outside.say(e.unit)),
    ("rail hole pitch", |e| e.plan.rail_hole_pitch.say(e.unit)),
    ("flange of the rails", |e| flange(e, e.plan.rail_flange)),
    ("flange of the posts", |e| flange(e, e.plan.post_flange)),
    ("flange of the header", |e| flange(e, e.plan.header_flange)),
    ("end clips of the bows", |e| flange(e, e.plan.bow_end)),
    ("corner caps", |e| flange(e, e.plan.corner_cap)),
    ("roof sheet", |e| e.plan.roof_sheet.say_decimal(e.unit)),
    ("bows", |e| stations(e, |plan| &plan.bows)),
    ("posts", |e| stations(e, |plan| &plan.posts)),
    ("roof seams", |e| stations(e, |plan| &plan.roof_seams)),
    ("side height", |e| e.plan.side_height.say(e.unit)),
    ("side sheet", |e| e.plan.side_sheet.say_decimal(e.unit)),
    ("side joints", |e| stations(e, |plan| &plan.side_joints)),
    ("sides of composite plate", |e| {
        if e.plan.composite_sides { "yes" } else { "no" }.to_owned()
    }),
];

fn flange(estimate: &Estimate, measured: Option<Length>) -> String {
    measured.map_or_else(
        || "as in the shop book".to_owned(),
        |flange| flange.say_decimal(estimate.unit),
    )
}

fn stations(estimate: &Estimate, of: fn(&Plan) -> &Vec<Length>) -> String {
    let all: Vec<String> = of(&estimate.plan)
        .iter()
        .map(|at| at.say(estimate.unit))
        .collect();
    all.join(", ")
}

/// Keys of the groups of both, in their order.
pub(crate) fn keys(old: &Estimate, new: &Estimate) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for group in old.groups.iter().chain(&new.groups) {
        if !keys.contains(&group.group) {
            keys.push(group.group.clone());
        }
    }
    keys
}

/// A group by its key.
pub(crate) fn group<'e>(estimate: &'e Estimate, key: &str) -> Option<&'e Group> {
    estimate.groups.iter().find(|group| group.group == key)
}

#[cfg(test)]
#[path = "change_tests.rs"]
mod tests;
