//! Roof-off check: go or no-go before anything is opened. Every row is a yes, or nothing is opened; a
//! supervisor may overrule with a reason that stays on record.

use crate::{
    answer::{Refusal, RoofOff, RoofOffRow},
    now::Now,
    roof,
    view::{cut_list, head, steps},
};
use bowseam_figures::{
    basis::Line,
    cut::CutList,
    steps::{RoofMethod, RoofOffKind, roof_off_rows},
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
    let rows = if needed { rows(now)? } else { Vec::new() };
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

fn rows(now: &Now) -> Result<Vec<RoofOffRow>, Refusal> {
    let lines: Vec<Line> = roof::lines(now)?;
    let no_go_ahead = steps::no_go_ahead(now)?;
    let cuts = cut_list::list(now)?;
    Ok(roof_off_rows(now.work(), &lines)
        .into_iter()
        .map(|row| one(now, row, no_go_ahead.as_ref(), cuts.as_ref()))
        .collect())
}

fn one(
    now: &Now,
    asked: bowseam_figures::steps::RoofOffRow,
    no_go_ahead: Option<&String>,
    cuts: Option<&CutList>,
) -> RoofOffRow {
    let field = match asked.kind {
        RoofOffKind::People => Some(RoofOffField::People),
        RoofOffKind::DryHours => Some(RoofOffField::DryHours),
        RoofOffKind::Cover => Some(RoofOffField::Cover),
        _ => None,
    };
    let entered = field.and_then(|field| now.job.roof_off.get(&field));
    let on_hand = now.job.on_hand.get(&asked.key);
    let value = entered.map(|kept| kept.value.clone()).unwrap_or_default();
    let (ok, remark) = match (asked.kind, field) {
        (RoofOffKind::GoAhead, _) => (no_go_ahead.is_none(), no_go_ahead.cloned()),
        (_, Some(_)) if value.is_empty() => (false, Some("not entered".to_owned())),
        (RoofOffKind::People, _) => enough_people(&value),
        (RoofOffKind::DryHours, _) => dry_enough(now, &value),
        (RoofOffKind::Cover, _) => (true, None),
        _ => match on_hand {
            None => (false, Some("not answered".to_owned())),
            Some(kept) if !kept.value.have => (false, Some("not there".to_owned())),
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
            .then(|| stock_place(now, cuts, &asked.title))
            .flatten(),
        key: asked.key,
        title: asked.title,
        wanted: asked.wanted,
        field,
        have: on_hand.map(|kept| kept.value.have),
        place: on_hand.map(|kept| kept.value.place.clone()).unwrap_or_default(),
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
    (
        false,
        Some(format!(
            "{there} are too few: {PEOPLE_FOR_A_SHEET}, or {PEOPLE_WITH_A_HOIST} with a hoist"
        )),
    )
}

/// The hours that stay dry against the hours for which the roof is figured to be open.
fn dry_enough(now: &Now, value: &str) -> (bool, Option<String>) {
    let dry = leading_number(value).unwrap_or_default();
    let open = roof::open_hours(now);
    if dry >= open {
        return (true, None);
    }
    (
        false,
        Some(format!(
            "{dry} dry hours, but the roof is open for {open} by the figures; cover it, or take more time"
        )),
    )
}

/// Where stock has it, to be offered as the place: what is cut comes from where the cut list takes it, and not at
/// all where the list is short of it.
fn stock_place(now: &Now, cuts: Option<&CutList>, item: &str) -> Option<String> {
    if let Some(list) = cuts {
        if list.short.iter().any(|short| short.item == item) {
            return None;
        }
        if let Some(cut) = list
            .cuts
            .iter()
            .find(|cut| cut.item == item && !cut.place.is_empty())
        {
            return Some(cut.place.clone());
        }
    }
    let stock = now
        .stock
        .iter()
        .find(|stock| stock.item == item && stock.count > 0 && !stock.place.is_empty())?;
    Some(stock.place.clone())
}
