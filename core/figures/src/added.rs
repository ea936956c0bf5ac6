//! The part that a *found more* adds to figures already agreed.

use crate::basis::{Basis, Line, Standing};
use crate::bill::{MoneyLine, TaskHours};
use crate::change::{group, keys};
use crate::error::Error;
use crate::estimate::{Allowance, Estimate, Group, sum};
use crate::takeoff_lines::too_much;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;

/// The part that new figures add to agreed ones: `agreed` and this together are `new`, to the cent. Groups
/// that did not change are left out; in a changed one quantities, hours and amounts are the differences, and
/// may be negative where less is needed.
///
/// # Errors
/// Stored figures whose numbers cannot be read.
pub fn added(agreed: &Estimate, new: &Estimate) -> Result<Estimate, Error> {
    let mut groups = Vec::new();
    for key in keys(agreed, new) {
        let (was, now) = (group(agreed, &key), group(new, &key));
        if was != now {
            groups.extend(difference(was, now)?);
        }
    }
    let less = |sum: fn(&Estimate) -> &String| minus(sum(new), sum(agreed));
    Ok(Estimate {
        rules_version: new.rules_version.clone(),
        unit: new.unit,
        plan: new.plan.clone(),
        not_measured: new.not_measured.clone(),
        groups,
        once: hours(&agreed.once, &new.once)?,
        material: less(|e| &e.material)?,
        labour: less(|e| &e.labour)?,
        total_hours: less(|e| &e.total_hours)?,
        supplies: less(|e| &e.supplies)?,
        tax: less(|e| &e.tax)?,
        supplies_basis: Vec::new(),
        tax_basis: Vec::new(),
        total: less(|e| &e.total)?,
        old_damage: None,
        allowance: Allowance {
            amount: less(|e| &e.allowance.amount)?,
            basis: Vec::new(),
        },
        range: None,
        lacks: new
            .lacks
            .iter()
            .filter(|lack| !agreed.lacks.contains(lack))
            .cloned()
            .collect(),
        warnings: new
            .warnings
            .iter()
            .filter(|warning| !agreed.warnings.contains(warning))
            .cloned()
            .collect(),
    })
}

fn difference(was: Option<&Group>, now: Option<&Group>) -> Result<Option<Group>, Error> {
    let Some(shape) = now.or(was) else { return Ok(None) };
    let none = Group {
        lines: Vec::new(),
        goods: Vec::new(),
        hours: Vec::new(),
        amount: "0.00".to_owned(),
        ..shape.clone()
    };
    let (was, now) = (was.unwrap_or(&none), now.unwrap_or(&none));
    Ok(Some(Group {
        lines: lines(&was.lines, &now.lines)?,
        goods: goods(&was.goods, &now.goods)?,
        hours: hours(&was.hours, &now.hours)?,
        amount: minus(&now.amount, &was.amount)?,
        ..shape.clone()
    }))
}

/// Takeoff lines with how much more is needed than was agreed; the working says of what.
fn lines(was: &[Line], now: &[Line]) -> Result<Vec<Line>, Error> {
    let same = |a: &Line, b: &Line| a.item == b.item && a.unit == b.unit;
    let zero = "0".to_owned();
    let agreed = "agreed before";
    let with = |line: &Line, (quantity, before): (String, String)| {
        let mut basis = line.basis.clone();
        let unit = &line.unit;
        if before != zero {
            basis.push(Basis::new(format!("- {before} {unit}"), agreed, Standing::Worked));
            basis.push(Basis::new(
                format!("{quantity} {unit}"),
                "added",
                Standing::Worked,
            ));
        }
        Line {
            quantity,
            basis,
            ..line.clone()
        }
    };
    let mut left: Vec<&Line> = was.iter().collect();
    let mut added = Vec::new();
    for line in now {
        let found = left.iter().position(|old| same(old, line));
        let before = found.map_or(&zero, |at| &left.remove(at).quantity).clone();
        let more = minus(&line.quantity, &before)?;
        if Decimal::from_str(&more).is_ok_and(|more| !more.is_zero()) {
            added.push(with(line, (more, before)));
        }
    }
    for line in left {
        let less = minus("0", &line.quantity)?;
        if Decimal::from_str(&less).is_ok_and(|less| !less.is_zero()) {
            added.push(with(line, (less, line.quantity.clone())));
        }
    }
    Ok(added)
}

fn goods(was: &[MoneyLine], now: &[MoneyLine]) -> Result<Vec<MoneyLine>, Error> {
    let same =
        |a: &MoneyLine, b: &MoneyLine| a.item == b.item && a.unit_price == b.unit_price && a.unit == b.unit;
    paired(
        was,
        now,
        same,
        |line, (quantity, amount)| MoneyLine {
            quantity,
            amount,
            ..line.clone()
        },
        |line| (&line.quantity, &line.amount),
    )
}

fn hours(was: &[TaskHours], now: &[TaskHours]) -> Result<Vec<TaskHours>, Error> {
    let same = |a: &TaskHours, b: &TaskHours| a.task == b.task && a.rate == b.rate && a.title == b.title;
    paired(
        was,
        now,
        same,
        |line, (hours, amount)| TaskHours {
            hours,
            amount,
            ..line.clone()
        },
        |line| (&line.hours, &line.amount),
    )
}

/// Lines of `now` less those of `was`, same with same, each used once; what stays the same is left out.
fn paired<L>(
    was: &[L],
    now: &[L],
    same: impl Fn(&L, &L) -> bool,
    with: impl Fn(&L, (String, String)) -> L,
    numbers: impl Fn(&L) -> (&String, &String),
) -> Result<Vec<L>, Error> {
    let zero = "0".to_owned();
    let mut left: Vec<&L> = was.iter().collect();
    let mut lines = Vec::new();
    let mut put = |line: &L, before: (&String, &String), after: (&String, &String)| -> Result<(), Error> {
        if before != after {
            lines.push(with(line, (minus(after.0, before.0)?, minus(after.1, before.1)?)));
        }
        Ok(())
    };
    for line in now {
        let found = left.iter().position(|old| same(old, line));
        let old = found.map(|at| left.remove(at));
        put(line, old.map_or((&zero, &zero), &numbers), numbers(line))?;
    }
    for line in left {
        put(line, numbers(line), (&zero, &zero))?;
    }
    Ok(lines)
}

/// Agreed figures with what was agreed after them, for planning all the work at once: hours, material and takeoff facts of
/// each group, and what the job has once. The other way round of [`added`].
///
/// # Errors
/// Stored figures whose numbers cannot be read.
pub fn together(agreed: &Estimate, more: &[&Estimate]) -> Result<Estimate, Error> {
    let mut all = agreed.clone();
    for added in more {
        for group in &added.groups {
            match all.groups.iter_mut().find(|known| known.group == group.group) {
                None => all.groups.push(group.clone()),
                // Facts of the roof or sheet are the newer ones, hours and goods those of both.
                Some(known) => {
                    *known = Group {
                        goods: sum_goods(&known.goods, &group.goods)?,
                        hours: sum_hours(&known.hours, &group.hours)?,
                        amount: plus(&known.amount, &group.amount)?,
                        ..group.clone()
                    }
                }
            }
        }
        all.once = sum_hours(&all.once, &added.once)?;
        for (sum, more) in [
            (&mut all.material, &added.material),
            (&mut all.labour, &added.labour),
            (&mut all.total_hours, &added.total_hours),
            (&mut all.supplies, &added.supplies),
            (&mut all.tax, &added.tax),
            (&mut all.total, &added.total),
        ] {
            *sum = plus(sum, more)?;
        }
    }
    Ok(all)
}

fn sum_goods(was: &[MoneyLine], more: &[MoneyLine]) -> Result<Vec<MoneyLine>, Error> {
    let mut lines = was.to_vec();
    for line in more {
        let same = |a: &&mut MoneyLine| {
            (&a.item, &a.unit, &a.unit_price) == (&line.item, &line.unit, &line.unit_price)
        };
        match lines.iter_mut().find(same) {
            None => lines.push(line.clone()),
            Some(known) => {
                known.quantity = plus(&known.quantity, &line.quantity)?;
                known.amount = plus(&known.amount, &line.amount)?;
            }
        }
    }
    lines.retain(|line| !is_zero(&line.quantity));
    Ok(lines)
}

fn sum_hours(was: &[TaskHours], more: &[TaskHours]) -> Result<Vec<TaskHours>, Error> {
    let mut lines = was.to_vec();
    for line in more {
        match lines.iter_mut().find(|known| known.task == line.task) {
            None => lines.push(line.clone()),
            Some(known) => {
                known.hours = plus(&known.hours, &line.hours)?;
                known.amount = plus(&known.amount, &line.amount)?;
            }
        }
    }
    lines.retain(|line| !is_zero(&line.hours));
    Ok(lines)
}

fn is_zero(number: &str) -> bool {
    Decimal::from_str(number).is_ok_and(|number| number.is_zero())
}

/// Sum of two decimals as text; keeps the cents.
fn plus(a: &str, b: &str) -> Result<String, Error> {
    Ok(sum([a, b].into_iter())?.to_string())
}

/// Difference of two decimals as text; keeps the cents.
fn minus(a: &str, b: &str) -> Result<String, Error> {
    let number = |text: &str| Decimal::from_str(text).map_err(|_| too_much());
    Ok(number(a)?
        .checked_sub(number(b)?)
        .ok_or_else(too_much)?
        .to_string())
}
