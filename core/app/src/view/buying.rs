//! Buying list: what the cut list is short of, what the figures take that the stock list does not know, what the
//! Roof-off check found missing, and what a person put on it; with the day each is needed by and arrives on. No
//! supplier: the shop orders where it does.

use crate::{
    answer::{BuyRow, BuyingList, Refusal},
    now::Now,
    roof,
    view::{head, roof_off},
    words,
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
    for (item, quantity, unit) in not_in_stock(now)? {
        if !rows.iter().any(|row| same_item(&item, &row.item)) {
            let said = still_wanted(now, &asked, &item, quantity).map(|left| said(left, &unit));
            rows.extend(said.map(|said| row(now, &asked, format!("figured/{item}"), [&item, "", &said])));
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
/// two groups take is one line. What has no go-ahead is not bought.
fn not_in_stock(now: &Now) -> Result<Vec<(String, Decimal, String)>, Refusal> {
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
        let same = |other: &str| same_item(item, other) || is_of(other, item) || other.ends_with(item);
        cut.iter().any(|other| same(other)) || shelf.lines.iter().any(|line| same(&line.stock.item))
    };
    let mut sums: Vec<(&MoneyLine, Decimal)> = Vec::new();
    let agreed = now.agreed()?;
    let goods = agreed
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
    let wanted = sums.into_iter().filter(|(_, sum)| *sum > Decimal::ZERO);
    Ok(wanted
        .map(|(line, sum)| (line.item.clone(), sum, line.unit.clone()))
        .collect())
}

/// A quantity as it is read.
fn said(quantity: Decimal, unit: &str) -> String {
    match unit {
        "each" => quantity.normalize().to_string(),
        _ => format!("{} {unit}", quantity.normalize()),
    }
}

/// What is left to buy of something that the Roof-off check asks for in several rows, as it does for rivets: less those that
/// were found, and those that were not, since they have a line of their own. All of it while it is of one row, or bought in
/// another measure than it is asked for; nothing where every row has its answer.
fn still_wanted(now: &Now, asked: &[RoofOffRow], item: &str, quantity: Decimal) -> Option<Decimal> {
    let own = || asked.iter().filter(|row| belongs(row, item));
    if own().count() < 2 || own().all(|row| found_at(now, row).is_some()) {
        return Some(quantity);
    }
    let answered = |row: &&RoofOffRow| {
        let kept = now.job.on_hand.get(&row.key).map(|kept| &kept.value);
        kept.is_some_and(|kept| !kept.have || kept.wanted == row.wanted)
    };
    let counted = |row: &RoofOffRow| {
        let (number, unit) = row.wanted.split_once(' ')?;
        unit.starts_with("each").then(|| number.parse::<Decimal>().ok())?
    };
    let left = own().filter(answered).filter_map(counted);
    let left = left.fold(quantity, Decimal::saturating_sub);
    (left > Decimal::ZERO && !own().all(|row| answered(&row))).then_some(left)
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

/// Whether the work still asks for a line that is kept: one that a go-ahead for a part left out holds nothing up. Told without
/// the search for a cut list, since every list of jobs asks.
pub fn is_asked(now: &Now, line: &str, item: &str) -> bool {
    match line.split_once('/') {
        Some(("cut", _)) => now.pieces().iter().any(|piece| piece.need.item == item),
        Some(("figured", _)) => {
            let agreed = now.agreed().ok().flatten();
            let mut groups = agreed.iter().flat_map(|work| &work.groups);
            groups.any(|group| group.goods.iter().any(|goods| goods.item == item))
        }
        Some(("check", key)) => asked(now).is_ok_and(|rows| rows.iter().any(|row| row.key == key)),
        _ => true,
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

/// Where the Roof-off check has an item on hand, for what is wanted now: in every row that asks for it.
fn on_hand(now: &Now, asked: &[RoofOffRow], item: &str) -> Option<String> {
    let rows = asked.iter().filter(|row| belongs(row, item));
    let places: Option<Vec<String>> = rows.map(|row| found_at(now, row)).collect();
    let mut places = places.filter(|places| !places.is_empty())?;
    places.dedup();
    Some(words::list(&places))
}

/// Where a row of the check was found, for what is wanted now.
pub fn found_at(now: &Now, row: &RoofOffRow) -> Option<String> {
    let kept = &now.job.on_hand.get(&row.key)?.value;
    (kept.have && kept.wanted == row.wanted).then(|| kept.place.clone())
}

/// Whether a row of the check asks for an item of the buying list.
pub fn belongs(row: &RoofOffRow, item: &str) -> bool {
    row.kind == RoofOffKind::OnHand && is_of(&row.title, item)
}

/// Whether all other rows that ask for this item have it on hand already.
pub fn others_found(now: &Now, asked: &[RoofOffRow], key: &str, item: &str) -> bool {
    let mut others = asked.iter().filter(|row| row.key != key && belongs(row, item));
    others.all(|row| found_at(now, row).is_some())
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

/// The same, or one kind of what is bought together: rivets, whatever they are set into.
pub fn is_of(title: &str, item: &str) -> bool {
    let rivets = item == "rivets" && (title.ends_with(" rivets") || title == "rivets set anew");
    same_item(title, item) || rivets
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
