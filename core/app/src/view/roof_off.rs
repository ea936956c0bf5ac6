//! Roof-off check: go or no-go before anything is opened. Every row is a yes, or nothing is opened; a
//! supervisor may overrule with a reason that stays on record.

use crate::{
    answer::{BuyRow, Refusal, RoofOff, RoofOffRow, Shelf},
    now::Now,
    roof,
    view::{buying, head, steps},
    words,
};
use bowseam_figures::{
    cut_plan::CutList,
    steps::{RoofMethod, RoofOffKind},
};
use bowseam_jobs::entry::RoofOffField;
use rust_decimal::Decimal;
use std::str::FromStr;

/// People that set a large sheet without a hoist (from memory, to be confirmed).
const PEOPLE_FOR_A_SHEET: u32 = 4;
/// People for a sheet that a hoist carries.
const PEOPLE_WITH_A_HOIST: u32 = 2;

/// Whether the chosen way opens the roof: a section or the whole, not a patch.
pub fn is_needed(now: &Now) -> bool {
    now.work()
        .roof
        .as_ref()
        .is_some_and(|roof| roof.way != RoofMethod::Patch)
}

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn roof_off(now: &Now) -> Result<RoofOff, Refusal> {
    let needed = is_needed(now);
    // What is on the buying list and not here yet: asked for only where there is a check.
    let (rows, bought) = if needed {
        let bought = buying::rows(now)?;
        (rows(now, &bought)?, bought)
    } else {
        Default::default()
    };
    let lacks: Vec<String> = rows.iter().filter(|row| !row.ok).map(lack).collect();
    let overruled = now.job.overruled.as_ref();
    let me = now
        .person
        .and_then(|id| now.people.iter().find(|person| person.id == id));
    Ok(RoofOff {
        head: head::head(now)?,
        needed,
        why_not_needed: (!needed).then(|| why_not(now)),
        go: needed && lacks.is_empty(),
        shelves: shelves(&rows, &bought),
        rows,
        lacks,
        overruled: overruled.map(|kept| format!("{} overruled the no-go: {}", now.name(kept.by), kept.value)),
        may_overrule: me.is_some_and(crate::now::is_supervisor),
        opened: now
            .job
            .roof_opened
            .as_ref()
            .filter(|kept| kept.value)
            .map(|kept| kept.at),
    })
}

fn why_not(now: &Now) -> String {
    if now.work().roof.is_some() {
        "A patch does not open the roof: no check is needed.".to_owned()
    } else {
        "No way is chosen that opens the roof: no check is needed.".to_owned()
    }
}

fn lack(row: &RoofOffRow) -> String {
    match &row.remark {
        Some(remark) => format!("{}: {remark}", row.title),
        None => row.title.clone(),
    }
}

fn rows(now: &Now, bought: &[BuyRow]) -> Result<Vec<RoofOffRow>, Refusal> {
    let no_go_ahead = steps::no_go_ahead(now)?;
    let of = Of {
        now,
        no_go_ahead: no_go_ahead.as_ref(),
        list: now.cut_list()?,
        bought,
    };
    Ok(buying::asked(now)?.into_iter().map(|row| one(&of, row)).collect())
}

/// What the rows are answered from.
struct Of<'a> {
    now: &'a Now<'a>,
    no_go_ahead: Option<&'a String>,
    list: Option<&'a CutList>,
    bought: &'a [BuyRow],
}

/// Material by the place where it was found or where stock has it; what has no place yet, and what has to be
/// bought, by themselves at the end.
fn shelves(rows: &[RoofOffRow], bought: &[BuyRow]) -> Vec<Shelf> {
    let mut shelves: Vec<Shelf> = Vec::new();
    for row in rows.iter().filter(|row| is_material(row)) {
        let there = row.have == Some(true);
        let to_buy = !there && is_to_come(bought, &row.title).is_some();
        let found = Some(&row.place).filter(|place| there && !place.is_empty());
        let place = found.or(row.stock_place.as_ref()).cloned().unwrap_or_default();
        // What was to be bought is said to be here at once when it has come.
        let open = (!row.ok && (to_buy || row.have != Some(false))).then(|| row.key.clone());
        match shelves
            .iter_mut()
            .find(|shelf| shelf.place == place && shelf.to_buy == to_buy)
        {
            Some(shelf) => {
                shelf.rows.push(row.key.clone());
                shelf.open.extend(open);
            }
            None => shelves.push(Shelf {
                place,
                to_buy,
                rows: vec![row.key.clone()],
                open: open.into_iter().collect(),
            }),
        }
    }
    shelves.sort_by_key(|shelf| (shelf.to_buy, shelf.place.is_empty()));
    shelves
}

/// Rows about material carry their shelf place; the others are conditions of the day.
pub fn is_material(row: &RoofOffRow) -> bool {
    row.key.starts_with("on_hand")
}

fn one(of: &Of<'_>, asked: bowseam_figures::steps::RoofOffRow) -> RoofOffRow {
    let now = of.now;
    let field = match asked.kind {
        RoofOffKind::People => Some(RoofOffField::People),
        RoofOffKind::DryHours => Some(RoofOffField::DryHours),
        RoofOffKind::Cover => Some(RoofOffField::Cover),
        _ => None,
    };
    let entered = field.and_then(|field| now.job.roof_off.get(&field));
    let on_hand = now.job.on_hand.get(&asked.key);
    let value = entered.map(|kept| kept.value.clone()).unwrap_or_default();
    let cut = (asked.kind == RoofOffKind::OnHand).then(|| cut_from(of, &asked.title));
    // Who said that it is not there said so before it was cut.
    let cut = cut
        .flatten()
        .filter(|_| on_hand.is_none_or(|kept| !kept.value.have));
    let (ok, remark) = match (asked.kind, field) {
        (RoofOffKind::GoAhead, _) => (of.no_go_ahead.is_none(), of.no_go_ahead.cloned()),
        (_, Some(_)) if value.is_empty() => (false, Some("not entered".to_owned())),
        (RoofOffKind::People, _) => enough_people(&value),
        (RoofOffKind::DryHours, _) => dry_enough(now, &value),
        (RoofOffKind::Cover, _) => (true, None),
        _ if cut.is_some() => (true, None),
        _ => match on_hand {
            None => (
                false,
                Some(to_come(of, &asked.title).unwrap_or_else(|| "not answered".to_owned())),
            ),
            Some(kept) if !kept.value.have => (
                false,
                Some(to_come(of, &asked.title).unwrap_or_else(|| "not there".to_owned())),
            ),
            // Figures that changed under the answer, as a found more does it, ask again.
            Some(kept) if !kept.value.wanted.is_empty() && kept.value.wanted != asked.wanted => {
                let was = &kept.value.wanted;
                (
                    false,
                    Some(format!(
                        "was said to be there for {was}; look again, now {} is wanted",
                        asked.wanted
                    )),
                )
            }
            Some(kept) if asked.kind == RoofOffKind::OnHand && kept.value.place.is_empty() => {
                (false, Some("its place is not entered".to_owned()))
            }
            Some(_) => (true, None),
        },
    };
    RoofOffRow {
        stock_place: (asked.kind == RoofOffKind::OnHand)
            .then(|| stock_place(of, &asked.title))
            .flatten(),
        wanted: match asked.kind {
            RoofOffKind::DryHours => match roof::open_words(now) {
                Some(open) => format!("{}; the roof is open for {open}", asked.wanted),
                None => asked.wanted,
            },
            _ => asked.wanted,
        },
        key: asked.key,
        title: asked.title,
        field,
        have: if cut.is_some() {
            Some(true)
        } else {
            on_hand.map(|kept| kept.value.have)
        },
        place: cut.unwrap_or_else(|| on_hand.map(|kept| kept.value.place.clone()).unwrap_or_default()),
        value,
        ok,
        remark,
        by: entered
            .map(|kept| kept.by)
            .or_else(|| on_hand.map(|kept| kept.by))
            .map(|by| now.name(by)),
    }
}

/// The number that a person's entry begins with: `4, with the hoist` is 4.
pub fn leading_number(typed: &str) -> Option<Decimal> {
    let digits: String = typed
        .trim()
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    Decimal::from_str(digits.trim_end_matches('.')).ok()
}

fn enough_people(value: &str) -> (bool, Option<String>) {
    let hoist = value.to_lowercase().contains("hoist");
    let wanted = if hoist {
        PEOPLE_WITH_A_HOIST
    } else {
        PEOPLE_FOR_A_SHEET
    };
    let there = leading_number(value).unwrap_or_default();
    if there >= Decimal::from(wanted) {
        return (true, None);
    }
    let is = if there == Decimal::ONE { "is" } else { "are" };
    (
        false,
        Some(format!(
            "{there} {is} too few: {PEOPLE_FOR_A_SHEET}, or {PEOPLE_WITH_A_HOIST} with a hoist"
        )),
    )
}

/// The hours that stay dry against the hours for which the roof is figured to be open.
fn dry_enough(now: &Now, value: &str) -> (bool, Option<String>) {
    let dry = leading_number(value).unwrap_or_default();
    let open = match roof::open_hours(now) {
        Some(open) if dry < open => open,
        _ => return (true, None),
    };
    let hours = if dry == Decimal::ONE {
        "dry hour"
    } else {
        "dry hours"
    };
    (
        false,
        Some(format!(
            "{dry} {hours}, but the roof is open for {open} by the crew plan; cover it, or take more time"
        )),
    )
}

/// The line of the buying list for something that is wanted and not here yet.
fn is_to_come<'b>(bought: &'b [BuyRow], title: &str) -> Option<&'b BuyRow> {
    let open = || bought.iter().filter(|line| line.wanted && line.here.is_none());
    let own = open().find(|line| buying::same_item(title, &line.item));
    own.or_else(|| open().find(|line| buying::is_of(title, &line.item)))
}

/// Where something was cut from, once nothing of it is left to cut.
fn cut_from(of: &Of<'_>, title: &str) -> Option<String> {
    let mine = |item: &str| buying::same_item(title, item);
    let open = of.list.iter().any(|list| {
        let mut short = list.short.iter().map(|short| &short.item);
        list.plans.iter().any(|plan| mine(&plan.item)) || short.any(|item| mine(item))
    });
    let cuts = of.now.job.cuts.iter().filter(|cut| !open && mine(&cut.done.item));
    let mut places: Vec<String> = Vec::new();
    for cut in cuts {
        let from = [&cut.done.place, &cut.done.name]
            .into_iter()
            .find(|said| !said.is_empty());
        places.extend(from.filter(|from| !places.contains(from)).cloned());
    }
    (!places.is_empty()).then(|| format!("cut, from {}", words::list(&places)))
}

/// When something that has to be bought is there, in words.
fn to_come(of: &Of<'_>, title: &str) -> Option<String> {
    let line = is_to_come(of.bought, title)?;
    Some(match &line.arrives_on {
        Some(day) => format!("to be bought: arrives on {day}"),
        None => "to be bought: the Buying list has no arrival day yet".to_owned(),
    })
}

/// Where it lies, to be offered as the place: what is cut comes from where the cut list takes it, what was bought
/// from where it was put, and what is still to be bought from nowhere.
fn stock_place(of: &Of<'_>, title: &str) -> Option<String> {
    let bought = of
        .bought
        .iter()
        .find(|line| line.wanted && buying::is_of(title, &line.item));
    if let Some(line) = bought {
        return line.here.clone().filter(|place| !place.is_empty());
    }
    let mut places: Vec<String> = Vec::new();
    for plan in of.list.iter().flat_map(|list| &list.plans) {
        let mine = buying::same_item(title, &plan.item) && !plan.place.is_empty();
        if mine && !places.contains(&plan.place) {
            places.push(plan.place.clone());
        }
    }
    if places.is_empty() {
        // Things that are not cut, now or already: where the stock list has them.
        let listed = of
            .now
            .stock
            .iter()
            .filter(|stock| stock.count > 0 && !stock.place.is_empty());
        let planned = |item: &str| {
            of.list
                .iter()
                .flat_map(|list| &list.plans)
                .any(|plan| plan.item == item)
        };
        let cut = |item: &str| planned(item) || of.now.job.cuts.iter().any(|cut| cut.done.item == item);
        let found = listed
            .filter(|stock| !cut(&stock.item))
            .find(|stock| buying::is_of(title, &stock.item));
        places.extend(found.map(|stock| stock.place.clone()));
    }
    (!places.is_empty()).then(|| words::list(&places))
}
