//! Buying list: what the cut list is short of, what the figures take that the stock list does not know, what the
//! Roof-off check found missing, and what a person put on it; with the day each is needed by and arrives on. No
//! supplier: the shop orders where it does.

use crate::{
    answer::{BuyRow, BuyingList, Refusal},
    now::Now,
    roof,
    view::{head, roof_off},
};
use bowseam_figures::{
    bill::MoneyLine,
    cut_plan::{CutList, StockPlan},
    steps::{RoofOffKind, RoofOffRow, roof_off_rows},
};
use bowseam_jobs::stock::JobBuying;
use rust_decimal::Decimal;

/// What a plan that has to be bought is on the list by.
pub fn key(plan: &StockPlan) -> String {
    line_of(&plan.item, &plan.from, &plan.size)
}

fn line_of(item: &str, name: &str, size: &str) -> String {
    format!("cut/{item}/{name}/{size}")
}

/// What a row of the Roof-off check is on the list by.
pub fn line_of_check(key: &str) -> String {
    format!("check/{key}")
}

/// The quantity of what a row of the check wants.
pub fn quantity(wanted: &str) -> &str {
    wanted.trim_end_matches(", with its shelf place")
}

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn buying_list(now: &Now) -> Result<BuyingList, Refusal> {
    let rows = rows(now)?;
    let why_not = rows
        .is_empty()
        .then(|| "Nothing has to be bought: the shelf gives what the cut list takes.".to_owned());
    Ok(BuyingList {
        head: head::head(now)?,
        csv: csv(now, &rows),
        rows,
        promise: now.promise()?.clone(),
        why_not,
    })
}

/// The rows, what is wanted first.
///
/// # Errors
/// The figures cannot be worked out.
pub fn rows(now: &Now) -> Result<Vec<BuyRow>, Refusal> {
    let (list, asked) = (now.cut_list()?, asked(now)?);
    let mut rows: Vec<BuyRow> = Vec::new();
    for short in list.iter().flat_map(|list| &list.short) {
        let line = line_of(&short.item, &short.name, &short.size);
        let quantity = short.count.to_string();
        rows.push(row(now, &asked, line, [&short.item, &short.size, &quantity]));
    }
    let missing = |row: &&RoofOffRow| {
        let answer = now.job.on_hand.get(&row.key);
        row.kind == RoofOffKind::OnHand && answer.is_some_and(|kept| !kept.value.have)
    };
    for (item, quantity) in not_in_stock(now)? {
        if !rows.iter().any(|row| same_item(&item, &row.item)) {
            rows.push(row(
                now,
                &asked,
                format!("figured/{item}"),
                [&item, "", &quantity],
            ));
        }
    }
    for check in asked.iter().filter(missing) {
        if !rows.iter().any(|row| same_item(&check.title, &row.item)) {
            let line = line_of_check(&check.key);
            rows.push(row(
                now,
                &asked,
                line,
                [&check.title, "", quantity(&check.wanted)],
            ));
        }
    }
    for (line, kept) in &now.job.buying {
        let over = kept.here.is_some() && !line.starts_with("own/");
        let open =
            !over && !kept.removed && !kept.item.is_empty() && !rows.iter().any(|row| row.line == *line);
        if open {
            let own = line.starts_with("own/");
            let here = kept.here.clone();
            rows.push(BuyRow {
                own,
                wanted: own,
                ..of(line.clone(), kept, here, [&kept.item, &kept.size, &kept.quantity])
            });
        }
    }
    rows.sort_by_key(|row| (!row.wanted, row.here.is_some()));
    Ok(rows)
}

/// Material of the figures that is neither cut from stock nor in the stock list: nobody knows of it on a shelf. What
/// two groups take is one line.
fn not_in_stock(now: &Now) -> Result<Vec<(String, String)>, Refusal> {
    let main = now.main()?;
    let list = now.cut_list()?;
    let cut: Vec<&str> = list
        .iter()
        .flat_map(|list| {
            list.plans
                .iter()
                .map(|plan| plan.item.as_str())
                .chain(list.short.iter().map(|short| short.item.as_str()))
        })
        .collect();
    let shelf = now.shelf()?;
    let known = |item: &str| {
        let item = item.strip_prefix("patch ").unwrap_or(item);
        let same = |other: &str| same_item(item, other) || same_item(other, item) || other.ends_with(item);
        cut.iter().any(|other| same(other)) || shelf.lines.iter().any(|line| same(&line.stock.item))
    };
    let mut sums: Vec<(&MoneyLine, Decimal)> = Vec::new();
    let goods = main
        .estimate
        .iter()
        .flat_map(|estimate| &estimate.groups)
        .flat_map(|group| &group.goods);
    for line in goods.filter(|line| !known(&line.item)) {
        let quantity = line.quantity.parse::<Decimal>().unwrap_or_default();
        match sums
            .iter_mut()
            .find(|(other, _)| other.item == line.item && other.unit == line.unit)
        {
            Some((_, sum)) => *sum = sum.saturating_add(quantity),
            None => sums.push((line, quantity)),
        }
    }
    let read = |(line, quantity): (&MoneyLine, Decimal)| {
        let each = line.unit == "each";
        let said = if each {
            quantity.normalize().to_string()
        } else {
            format!("{} {}", quantity.normalize(), line.unit)
        };
        (line.item.clone(), said)
    };
    Ok(sums.into_iter().map(read).collect())
}

fn row(now: &Now, asked: &[RoofOffRow], line: String, said: [&str; 3]) -> BuyRow {
    let nothing = JobBuying::default();
    let kept = now.job.buying.get(&line).unwrap_or(&nothing);
    let [item, _, _] = said;
    let here = kept.here.clone().or_else(|| on_hand(now, asked, item));
    of(line, kept, here, said)
}

fn of(line: String, kept: &JobBuying, here: Option<String>, [item, size, quantity]: [&str; 3]) -> BuyRow {
    BuyRow {
        line,
        item: item.to_owned(),
        size: size.to_owned(),
        quantity: quantity.to_owned(),
        needed_by: kept.needed_by.map(|day| day.to_string()),
        arrives_on: kept.arrives_on.map(|day| day.to_string()),
        here,
        wanted: true,
        own: false,
    }
}

/// Lines that are here, each with its place.
///
/// # Errors
/// The figures cannot be worked out.
pub fn here(now: &Now, list: &CutList) -> Result<Vec<(String, String)>, Refusal> {
    let asked = asked(now)?;
    let lines = now.job.buying.iter();
    let mut here: Vec<(String, String)> = lines
        .filter_map(|(line, kept)| Some((line.clone(), kept.here.clone()?)))
        .collect();
    // What the Roof-off check has on hand is here as well, under whatever line.
    for plan in list.plans.iter().filter(|plan| plan.buy) {
        here.extend(on_hand(now, &asked, &plan.item).map(|place| (key(plan), place)));
    }
    Ok(here)
}

/// Where the Roof-off check has an item on hand, for what is wanted now.
fn on_hand(now: &Now, asked: &[RoofOffRow], item: &str) -> Option<String> {
    let check = asked
        .iter()
        .find(|row| row.kind == RoofOffKind::OnHand && same_item(&row.title, item))?;
    let kept = &now.job.on_hand.get(&check.key)?.value;
    (kept.have && kept.wanted == check.wanted).then(|| kept.place.clone())
}

/// The rows of the Roof-off check as they are asked; none where no roof is opened.
///
/// # Errors
/// The figures cannot be worked out.
pub fn asked(now: &Now) -> Result<Vec<RoofOffRow>, Refusal> {
    if !roof_off::is_needed(now) {
        return Ok(Vec::new());
    }
    Ok(roof_off_rows(now.work(), &roof::lines(now)?))
}

/// A row of the check and an item of the cut list are the same thing: `roof bows` is `roof bow`.
pub fn same_item(title: &str, item: &str) -> bool {
    title == item || title.strip_suffix('s') == Some(item)
}

fn csv(now: &Now, rows: &[BuyRow]) -> String {
    let field = |text: &str| {
        // A spreadsheet would take a text that begins so for something to work out.
        let text = if text.starts_with(['=', '+', '-', '@']) {
            format!("'{text}")
        } else {
            text.to_owned()
        };
        if text.contains([',', '"', '\n']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text
        }
    };
    let mut text = "item,size,quantity,needed by,arrives on,for unit\r\n".to_owned();
    for row in rows.iter().filter(|row| row.wanted && row.here.is_none()) {
        let day = |day: &Option<String>| day.clone().unwrap_or_default();
        let fields = [
            row.item.clone(),
            row.size.clone(),
            row.quantity.clone(),
            day(&row.needed_by),
            day(&row.arrives_on),
            now.job.unit.clone(),
        ];
        let fields: Vec<String> = fields.iter().map(|text| field(text)).collect();
        text.push_str(&fields.join(","));
        text.push_str("\r\n");
    }
    text
}
