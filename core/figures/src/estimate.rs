//! The estimate: what the chosen ways take in material, hours and money, with everything it rests on kept in
//! it (plan, marks, working), so that a go-ahead can name it by the hash of its canonical form
//! ([`crate::canonical::sha256`]) and it never has to be worked out again.
//!
//! Every number that may have a fraction is a decimal as text, so that the hash is the same everywhere.

use crate::basis::{Basis, Line};
use crate::bill::{Bought, MoneyLine, TaskHours, bill, once, open_roof, patches, side};
use crate::body::Plan;
use crate::error::Error;
use crate::group::{Together, WayKey, asks_the_maker, composite_side, groups, may_stay};
use crate::mark::{Age, Mark};
use crate::measure::Unit;
use crate::measured;
use crate::old_damage::{OldDamage, old_damage};
use crate::parts::PartTakeoff;
use crate::patch::{PatchTakeoff, patch, why_none};
use crate::price::{money, work_out};
use crate::rail_rivets::{Carrier, RailRivet};
use crate::range;
use crate::roof_repair::RoofRepair;
use crate::share::{SideWork, Sides, once_of, share, sides};
use crate::shop::Book;
use crate::side_patch::{SideTakeoff, SideWay};
use crate::takeoff::RoofTakeoff;
use crate::takeoff_lines::too_much;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

mod others;

pub use crate::added::{added, together};
pub use crate::change::{Changed, ChangedPart, compare};

/// Version of the rules that worked an estimate out; it changes whenever the same input would give other
/// figures.
pub const RULES_VERSION: &str = "7";

/// Hours and material that a person entered where nothing is figured. Decimals as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct ByHand {
    /// Hours of one person.
    pub hours: String,
    /// How many people.
    pub people: u32,
    /// Material.
    pub lines: Vec<HandLine>,
    /// A remark.
    pub note: String,
}

/// A material line entered by hand. Decimals as text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct HandLine {
    /// The item.
    pub item: String,
    /// How much.
    pub quantity: String,
    /// Price of one.
    pub unit_price: String,
}

/// The way that was chosen for a group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Chosen {
    /// The group: `roof`, or a mark's id.
    pub group: String,
    /// The way's key: see [`WayKey`].
    pub way: String,
    /// With the way `by_hand`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_hand: Option<ByHand>,
}

/// One group as it is fixed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct Group {
    /// `roof`, or the mark's id.
    pub group: String,
    /// As it is read.
    pub title: String,
    /// The way.
    pub way: WayKey,
    /// The way as it is read.
    pub way_title: String,
    /// The marks.
    pub marks: Vec<Mark>,
    /// The takeoff.
    pub lines: Vec<Line>,
    /// Material in money.
    pub goods: Vec<MoneyLine>,
    /// Hours by task.
    pub hours: Vec<TaskHours>,
    /// Material and labour of this group, before supplies and tax.
    pub amount: String,
    /// How many people.
    pub people: u32,
    /// Days of work for those people.
    pub days: String,
    /// The open roof's facts, for steps and cut list.
    pub roof: Option<RoofTakeoff>,
    /// Those of the second of two sections.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roof_behind: Option<RoofTakeoff>,
    /// The patches' facts.
    pub patches: Vec<PatchTakeoff>,
    /// The side sheet's facts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<SideTakeoff>,
    /// The facts of work on other parts, mark by mark.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<PartTakeoff>,
    /// A new nose rail goes in.
    pub nose_rail: bool,
    /// A new front bow goes in.
    pub front_bow: bool,
    /// A remark, as entered by hand, or why the maker is asked.
    pub note: String,
}

impl Group {
    /// Whether something is done that the figures hold.
    #[must_use]
    pub const fn is_worked_on(&self) -> bool {
        !matches!(self.way, WayKey::AskTheMaker | WayKey::LeaveIt)
    }

    /// What is opened of the roof: nothing, a section, two, or the whole.
    pub fn roofs(&self) -> impl Iterator<Item = &RoofTakeoff> {
        self.roof.iter().chain(&self.roof_behind)
    }
}

/// Where the total is expected to end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Range {
    /// Lower end.
    pub low: String,
    /// Upper end.
    pub high: String,
    /// The working.
    pub basis: Vec<Basis>,
}

/// An allowance for what only shows when the unit is open; not in the total.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Allowance {
    /// The amount.
    pub amount: String,
    /// The working.
    pub basis: Vec<Basis>,
}

/// The figures of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, TS)]
pub struct Estimate {
    /// [`RULES_VERSION`] of the program that worked it out.
    pub rules_version: String,
    /// The unit that it is read in.
    pub unit: Unit,
    /// The body plan that was used.
    pub plan: Plan,
    /// Measures that were not measured on this unit, in words.
    pub not_measured: Vec<String>,
    /// What is fixed, group by group.
    pub groups: Vec<Group>,
    /// Hours that the job has once.
    pub once: Vec<TaskHours>,
    /// All material.
    pub material: String,
    /// All labour.
    pub labour: String,
    /// Hours of one person, all tasks.
    pub total_hours: String,
    /// Shop supplies.
    pub supplies: String,
    /// Tax.
    pub tax: String,
    /// The working of the supplies.
    #[serde(default)]
    pub supplies_basis: Vec<Basis>,
    /// The working of the tax.
    #[serde(default)]
    pub tax_basis: Vec<Basis>,
    /// All together.
    pub total: String,
    /// Old damage apart from the rest, where some is mended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub old_damage: Option<OldDamage>,
    /// For hidden damage; not in the total.
    pub allowance: Allowance,
    /// Where the total is expected to end; none for what is added or compared: two ranges taken from each other are none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<Range>,
    /// What is not in the figures, in words.
    pub lacks: Vec<String>,
    /// What to look at before trusting them.
    pub warnings: Vec<String>,
}

impl Estimate {
    /// How many places wait for the maker and have no price in it yet.
    #[must_use]
    pub fn unpriced(&self) -> usize {
        let waits = self
            .groups
            .iter()
            .filter(|group| group.way == WayKey::AskTheMaker);
        waits.count()
    }
}

/// Works the chosen ways out. `not_measured` names measures of the plan that are starting values, in words.
/// Groups without a way, or whose way no longer fits, are named in `lacks` and are not in the price.
///
/// # Errors
/// A plan that cannot be worked with, hand-entered numbers that are none, prices that are none.
pub fn estimate(
    plan: &Plan,
    marks: &[Mark],
    chosen: &[Chosen],
    book: &Book,
    not_measured: &[String],
    unit: Unit,
) -> Result<Estimate, Error> {
    let mut figured = without_range(plan, marks, chosen, book, not_measured, unit)?;
    let total = Decimal::from_str(&figured.total).ok();
    let cents = total.and_then(|total| total.checked_mul(Decimal::ONE_HUNDRED));
    let bill = range::Bill {
        plan,
        book,
        groups: &figured.groups,
        once: &figured.once,
        total: cents.and_then(|cents| cents.to_i128()).ok_or_else(too_much)?,
    };
    figured.range = Some(bill.range()?);
    figured.old_damage = old_damage(
        &figured,
        marks,
        |marks, chosen| without_range(plan, marks, chosen, book, not_measured, unit),
        chosen,
    )?;
    Ok(figured)
}

/// The same without its range, for comparing many: drawing it takes longer than all the rest.
///
/// # Errors
/// As [`estimate`].
pub fn without_range(
    plan: &Plan,
    marks: &[Mark],
    chosen: &[Chosen],
    book: &Book,
    not_measured: &[String],
    unit: Unit,
) -> Result<Estimate, Error> {
    plan.check()?;
    let all = groups(marks);
    let worker = Worker {
        plan,
        book,
        unit,
        sides: sides(plan, &all, chosen, book, unit),
    };
    let mut found = Vec::new();
    let (mut lacks, mut left) = (Vec::new(), Vec::new());
    for together in all {
        match chosen.iter().find(|choice| choice.group == together.key) {
            // Old damage is marked so that nobody pays for it twice; it may stay as it is.
            None if together.marks.iter().all(|mark| mark.age == Age::Old) => {
                left.push(format!("{}: old damage, left as it is.", together.title));
            }
            None => lacks.push(format!("{}: no way is chosen yet.", together.title)),
            Some(choice) => match worker.group(&together, choice)? {
                Ok(group) => found.push(group),
                Err(why) => lacks.push(format!(
                    "{}: the chosen way does not fit any more. {why}",
                    together.title
                )),
            },
        }
    }
    for group in &mut found {
        measured::put(group, not_measured);
    }
    let mut warnings = warnings(&found, not_measured);
    warnings.extend(left);
    if marks.iter().any(|mark| mark.place.check(plan).is_err()) {
        warnings.push("A mark lies outside this body plan: check the measures or the mark.".to_owned());
    }
    worker.finish(found, not_measured, lacks, warnings)
}

fn warnings(groups: &[Group], not_measured: &[String]) -> Vec<String> {
    let mut warnings: Vec<String> = not_measured
        .iter()
        .map(|what| format!("Not measured on this unit: {what}."))
        .collect();
    for group in groups {
        warnings.extend(group.roofs().flat_map(|roof| roof.warnings.clone()));
        let side = group.side.iter().flat_map(|side| &side.warnings);
        let parts = group.parts.iter().flat_map(|part| &part.warnings);
        warnings.extend(
            side.chain(parts)
                .map(|warning| format!("{}: {warning}", group.title)),
        );
        let old = group.marks.iter().filter(|mark| mark.age == Age::Old).count();
        if old > 0 {
            let with = if old < group.marks.len() {
                "old damage is mended together with new"
            } else {
                "old damage"
            };
            warnings.push(format!(
                "{}: {with}; who pays for it is asked first.",
                group.title
            ));
        }
        match group.way {
            WayKey::AskTheMaker => warnings.push(format!(
                "{}: not in the price before the maker's instruction is there.",
                group.title
            )),
            WayKey::LeaveIt => warnings.push(format!(
                "{}: seen and left as it is; look at it again at the next walk round.",
                group.title
            )),
            WayKey::ByHand => warnings.push(format!(
                "{}: hours and material were entered by hand.",
                group.title
            )),
            _ => {}
        }
    }
    warnings
}

struct Worker<'a> {
    plan: &'a Plan,
    book: &'a Book,
    unit: Unit,
    sides: Sides,
}

impl Worker<'_> {
    /// One group worked out; or, inside, why its way does not fit.
    fn group(&self, together: &Together<'_>, choice: &Chosen) -> Result<Result<Group, String>, Error> {
        let unknown =
            || Error::new("way_unknown", format!("“{}” is no way of fixing.", choice.way)).at("/way");
        let way = WayKey::by_key(&choice.way).ok_or_else(unknown)?;
        let group = match way {
            WayKey::Patch if together.is_roof() => return self.patched(together),
            _ if way.opens_the_roof() && together.is_roof() => return self.opened(together, way),
            WayKey::SidePatch | WayKey::SideSection | WayKey::WholeSideSheet if !together.is_roof() => {
                return self.side(together, way);
            }
            WayKey::SidePatch | WayKey::SideSection | WayKey::WholeSideSheet => {
                return Ok(Err("It is a way for a side sheet only.".to_owned()));
            }
            _ if way.is_of_parts() => return self.part(together, way),
            WayKey::LeaveIt if !together.marks.iter().all(|mark| may_stay(mark)) => {
                return Ok(Err(
                    "Only a dent, a crease or a gouge of a sheet may stay as it is.".to_owned(),
                ));
            }
            WayKey::LeaveIt => Group {
                note: "Nothing is done; seen and left.".to_owned(),
                ..self.empty(together, way, "Leave it as it is")
            },
            WayKey::ByHand => self.by_hand(together, choice)?,
            WayKey::AskTheMaker => {
                let asked = |mark: &&Mark| asks_the_maker(mark).or(composite_side(self.plan, mark));
                let note = together.marks.iter().find_map(asked);
                let note = note.unwrap_or("Only as the maker says.");
                Group {
                    note: note.to_owned(),
                    ..self.empty(together, way, "Ask the maker")
                }
            }
            _ => return Ok(Err("It is a way for the roof only.".to_owned())),
        };
        Ok(Ok(group))
    }

    fn empty(&self, together: &Together<'_>, way: WayKey, way_title: &str) -> Group {
        Group {
            group: together.key.clone(),
            title: together.title.clone(),
            way,
            way_title: way_title.to_owned(),
            marks: together.marks.iter().map(|mark| (*mark).clone()).collect(),
            lines: Vec::new(),
            goods: Vec::new(),
            hours: Vec::new(),
            amount: money(0),
            people: 1,
            days: "0".to_owned(),
            roof: None,
            roof_behind: None,
            patches: Vec::new(),
            side: None,
            parts: Vec::new(),
            nose_rail: false,
            front_bow: false,
            note: String::new(),
        }
    }

    fn filled(&self, mut group: Group, bought: Bought, people: u32) -> Result<Group, Error> {
        group.people = people.max(1);
        group.goods = bought.goods;
        group.hours = bought.hours;
        group.days = days(&group, self.book)?;
        Ok(group)
    }

    fn patched(&self, together: &Together<'_>) -> Result<Result<Group, String>, Error> {
        let rules = &self.book.patch;
        let why = why_none(self.plan, &together.marks, rules, self.unit);
        if let Some(first) = why.first() {
            return Ok(Err(first.clone()));
        }
        let found: Vec<PatchTakeoff> = together
            .marks
            .iter()
            .map(|mark| patch(mark, rules, self.unit))
            .collect();
        let title = if found.len() == 1 {
            "Patch".to_owned()
        } else {
            format!("{} patches", found.len())
        };
        let mut group = self.empty(together, WayKey::Patch, &title);
        group.lines = found.iter().flat_map(|patch| patch.lines.clone()).collect();
        let bought = patches(self.book, &found)?;
        group.patches = found;
        self.filled(group, bought, self.book.planning.people_patch.value)
            .map(Ok)
    }

    fn opened(&self, together: &Together<'_>, way: WayKey) -> Result<Result<Group, String>, Error> {
        let found = RoofRepair::of(self.plan, &together.marks, way, self.book, self.unit)?;
        let repair = match found {
            Ok(repair) => repair,
            Err(why) => return Ok(Err(why.join(" "))),
        };
        let planning = &self.book.planning;
        let people = match way {
            WayKey::WholeRoof => planning.people_whole_roof.value,
            _ => planning.people_section.value,
        };
        let bought = open_roof(self.book, &repair, self.plan)?;
        let mut group = self.empty(together, way, &repair.title());
        group.lines = repair.lines;
        group.nose_rail = repair.job.nose_rail;
        group.front_bow = repair.job.front_bow;
        group.roof = Some(repair.taken);
        group.roof_behind = repair.behind;
        group.patches = repair.patches;
        self.filled(group, bought, people).map(Ok)
    }

    fn side(&self, together: &Together<'_>, way: WayKey) -> Result<Result<Group, String>, Error> {
        let work = self.sides.iter().find(|(group, _)| *group == together.key);
        let taken = match work.map(|(_, work)| work) {
            None => return Ok(Err("There is no mark.".to_owned())),
            Some(Err(why)) => return Ok(Err(why.join(" "))),
            Some(Ok(SideWork::Own(taken))) => taken.as_ref().clone(),
            Some(Ok(SideWork::With(_))) => {
                let mut group = self.empty(together, way, "With the side sheet that is replaced");
                group.note = "It lies in side sheet that another mark's way replaces: mended with it, and counted once."
                    .to_owned();
                return Ok(Ok(group));
            }
        };
        let planning = &self.book.planning;
        let (title, people) = match (taken.way, taken.sheets) {
            (SideWay::Patch, _) => ("Side patch".to_owned(), &planning.people_patch),
            (SideWay::Section, _) => (
                "Side section, post to post".to_owned(),
                &planning.people_side_sheet,
            ),
            (SideWay::WholeSheet, 1) => ("Whole side sheet".to_owned(), &planning.people_side_sheet),
            (SideWay::WholeSheet, many) => (format!("{many} whole side sheets"), &planning.people_side_sheet),
        };
        let bought = side(self.book, &taken)?;
        let mut group = self.empty(together, way, &title);
        group.lines = taken.lines.clone();
        let into = |line: &mut Line, into: Carrier| {
            let (sheet, diameter) = ([self.plan.side_sheet], self.book.side.diameter.value);
            RailRivet::of(self.plan, self.book, diameter, &sheet, (into, 1), self.unit)
                .beside(line, self.unit);
        };
        for line in &mut group.lines {
            match line.item.as_str() {
                "sheet rivets" => {
                    into(line, Carrier::Rail);
                    into(line, Carrier::Post);
                }
                "patch rivets" if !taken.posts.is_empty() => into(line, Carrier::Post),
                _ => {}
            }
        }
        group.side = Some(taken);
        self.filled(group, bought, people.value).map(Ok)
    }

    /// Prices everything at once, since supplies and tax are of the whole.
    fn finish(
        &self,
        mut groups: Vec<Group>,
        not_measured: &[String],
        lacks: Vec<String>,
        warnings: Vec<String>,
    ) -> Result<Estimate, Error> {
        share(&mut groups, self.plan, self.book, self.unit)?;
        let worked = groups.iter().any(|group| group.is_worked_on());
        let mut job_hours = if worked {
            once(self.book, once_of(&groups))?.hours
        } else {
            Vec::new()
        };
        let mut goods: Vec<&mut MoneyLine> = Vec::new();
        let mut hours: Vec<&mut TaskHours> = Vec::new();
        for group in &mut groups {
            goods.extend(&mut group.goods);
            hours.extend(&mut group.hours);
        }
        hours.extend(&mut job_hours);
        let total_hours = sum(hours.iter().map(|line| line.hours.as_str()))?;
        let priced = work_out(&bill(self.book, &goods, &hours)?)?;
        for (line, amount) in goods.into_iter().zip(&priced.lines) {
            line.amount = money(amount.cents);
        }
        for (line, amount) in hours.into_iter().zip(&priced.hours) {
            line.amount = money(amount.cents);
        }
        for group in &mut groups {
            let amounts = group
                .goods
                .iter()
                .map(|l| l.amount.as_str())
                .chain(group.hours.iter().map(|l| l.amount.as_str()));
            group.amount = format!("{:.2}", sum(amounts)?);
        }
        let allowance = range::allowance(self.book, priced.total)?;
        Ok(Estimate {
            rules_version: RULES_VERSION.to_owned(),
            unit: self.unit,
            plan: self.plan.clone(),
            not_measured: not_measured.to_vec(),
            groups,
            once: job_hours,
            material: money(priced.material),
            labour: money(priced.labour),
            total_hours: total_hours.normalize().to_string(),
            supplies: money(priced.supplies),
            tax: money(priced.tax),
            supplies_basis: range::supplies_basis(self.book, priced.labour),
            tax_basis: range::tax_basis(self.book),
            total: money(priced.total),
            old_damage: None,
            allowance,
            range: None,
            lacks,
            warnings,
        })
    }
}

/// Days of work of a group's people.
pub(crate) fn days(group: &Group, book: &Book) -> Result<String, Error> {
    let hours = sum(group.hours.iter().map(|line| line.hours.as_str()))?;
    let a_day = book.planning.hours_a_day.value.0;
    let a_day = a_day
        .checked_mul(Decimal::from(group.people))
        .ok_or_else(too_much)?;
    let days = hours.checked_div(a_day).unwrap_or_default();
    Ok(days
        .round_dp_with_strategy(1, RoundingStrategy::AwayFromZero)
        .normalize()
        .to_string())
}

/// Sum of decimals as text.
pub(crate) fn sum<'t>(texts: impl Iterator<Item = &'t str>) -> Result<Decimal, Error> {
    let mut total = Decimal::ZERO;
    for text in texts {
        let number = Decimal::from_str(text).map_err(|_| too_much())?;
        total = total.checked_add(number).ok_or_else(too_much)?;
    }
    Ok(total)
}

#[cfg(test)]
#[path = "estimate_tests.rs"]
mod tests;
