//! Changes around material: what is reserved, cut, kept, bought, and what lies on a shelf.

use super::{Change, nothing_made};
use crate::{
    answer::{Answer, BuyRow, Refusal, RoofOffRow},
    ask::BuyField,
    now::Now,
    typed,
    view::{buying, cut_list, rivets, roof_off},
};
use bowseam_figures::{
    cut_plan::{CutList, StockPlan},
    measure::Length,
};
use bowseam_jobs::{
    entry::{OnHand, What},
    stock::{BuyChange, CutDone, CutPiece, DropKept, JobBuying},
};
use chrono::NaiveDate;
use uuid::Uuid;

/// Most holes of a line that are typed in.
const MOST_HOLES: usize = 500;

/// Reserves what the cut list takes and frees the rest; what it is short of goes on the buying list. Or frees all.
pub fn set_reserved(change: &Change, reserved: bool) -> Result<Answer, Refusal> {
    let now = &change.now;
    let list = if reserved { now.cut_list()? } else { None };
    let wanted = list
        .map(|list| cut_list::reservations(now, list))
        .unwrap_or_default();
    let mut what: Vec<What> = Vec::new();
    for stock in now
        .job
        .reserved
        .keys()
        .filter(|stock| !wanted.contains_key(*stock))
    {
        what.push(What::Reserved {
            stock: stock.clone(),
            reserved: None,
        });
    }
    for (stock, of) in wanted {
        if now.job.reserved.get(&stock).map(|kept| &kept.value) != Some(&of) {
            what.push(What::Reserved {
                stock,
                reserved: Some(of),
            });
        }
    }
    if reserved {
        what.extend(to_buy(change)?);
    }
    save(change, what)
}

/// An act of nothing is none.
fn save(change: &Change, what: Vec<What>) -> Result<Answer, Refusal> {
    if what.is_empty() {
        return Ok(nothing_made(None));
    }
    change.save(None, what)
}

/// Lines that the list is short of go on the buying list; those that it is not short of any more come off.
fn to_buy(change: &Change) -> Result<Vec<What>, Refusal> {
    let job = &change.now.job;
    let rows = buying::rows(&change.now)?;
    let mut what = Vec::new();
    for row in rows.iter().filter(|row| row.line.starts_with("cut/")) {
        let kept = job.buying.get(&row.line);
        let has = kept.is_some_and(|kept| !kept.removed && kept.quantity == row.quantity);
        if row.wanted && row.here.is_none() && !has {
            what.push(wanted(&row.line, &row.item, &row.size, &row.quantity));
            if kept.is_some_and(|kept| kept.removed) {
                what.push(buy(&row.line, BuyChange::Removed(false)));
            }
        } else if !row.wanted && row.here.is_none() {
            what.push(buy(&row.line, BuyChange::Removed(true)));
        }
    }
    Ok(what)
}

fn buy(line: &str, change: BuyChange) -> What {
    What::Buying {
        line: line.to_owned(),
        change,
    }
}

fn wanted(line: &str, item: &str, size: &str, quantity: &str) -> What {
    let change = BuyChange::Wanted {
        item: item.to_owned(),
        size: size.to_owned(),
        quantity: quantity.to_owned(),
    };
    buy(line, change)
}

/// A row of the buying list as it is now.
fn row(now: &Now, line: &str) -> Result<BuyRow, Refusal> {
    let row = buying::rows(now)?.into_iter().find(|row| row.line == line);
    row.ok_or_else(|| Refusal::at("no_line", "line", "This line is not on the buying list any more."))
}

/// A plan of the list is done: its stock is used, its pieces are not planned again. Or a cut is not done after all.
pub fn set_cut(change: &Change, cut: &str, done: bool) -> Result<Answer, Refusal> {
    let now = &change.now;
    if !done {
        let id = cut.parse::<Uuid>().ok();
        let kept = now.job.cuts.iter().find(|kept| Some(kept.id) == id);
        let kept =
            kept.ok_or_else(|| Refusal::at("no_cut", "cut", "This cut is not on the job any more."))?;
        let mut what = vec![What::Cut {
            cut: kept.id,
            done: None,
        }];
        let drops = now.job.drops.iter().filter(|drop| drop.kept.cut == kept.id);
        what.extend(drops.map(|drop| What::Drop {
            drop: drop.id,
            kept: None,
        }));
        return change.save(None, what);
    }
    let nothing = CutList::default();
    let list = now.cut_list()?.unwrap_or(&nothing);
    let plan = list.plans.iter().find(|plan| plan.key == cut).ok_or_else(|| {
        let sentence = "The cut list is another by now: stock or figures changed. Look at it again.";
        Refusal::at("no_cut", "cut", sentence)
    })?;
    let place = if plan.buy {
        let here = buying::here(now, list)?;
        let (_, place) = here
            .into_iter()
            .find(|(line, _)| *line == buying::key(plan))
            .ok_or_else(|| {
                let sentence = format!(
                    "{} is not here yet. Say on the Buying list that it is here, and where.",
                    plan.from
                );
                Refusal::at("not_here", "cut", sentence)
            })?;
        place
    } else {
        plan.place.clone()
    };
    let id = Uuid::now_v7();
    let mut what = vec![What::Cut {
        cut: id,
        done: Some(as_done(plan, place)),
    }];
    let used = cut_list::amount(std::iter::once(plan).filter(|plan| !plan.buy));
    what.extend(less_reserved(change, &plan.stock, used));
    change.save(Some(id), what)
}

pub(super) fn as_done(plan: &StockPlan, place: String) -> CutDone {
    let (count, length) = if plan.buy {
        (0, Length::ZERO)
    } else {
        cut_list::takes(plan)
    };
    let mut pieces: Vec<CutPiece> = Vec::new();
    let add = |to: &mut Vec<CutPiece>, length, width| match to
        .iter_mut()
        .find(|had| (had.length, had.width) == (length, width))
    {
        Some(had) => had.count = had.count.saturating_add(plan.times),
        None => to.push(CutPiece {
            length,
            width,
            count: plan.times,
        }),
    };
    for piece in &plan.pieces {
        // As it is wanted, not as it lay on the stock.
        match piece.width.filter(|_| piece.turned) {
            Some(width) => add(&mut pieces, width, Some(piece.length)),
            None => add(&mut pieces, piece.length, piece.width),
        }
    }
    let mut left = Vec::new();
    for rest in cut_list::worth_keeping(plan) {
        add(&mut left, rest.length, rest.width);
    }
    CutDone {
        item: plan.item.clone(),
        stock: plan.stock.clone(),
        name: plan.from.clone(),
        place,
        count,
        length,
        thickness: plan.thickness,
        pieces,
        left,
    }
}

/// What cuts of one stock used, in pieces or nanometres, is not reserved any more.
pub(super) fn less_reserved(change: &Change, stock: &str, used: i64) -> Option<What> {
    let kept = change.now.job.reserved.get(stock).filter(|_| used > 0)?;
    let mut rest = kept.value.clone();
    if rest.length > Length::ZERO {
        rest.length = rest.length.minus(Length::from_nm(used)).max(Length::ZERO);
    } else {
        rest.count = rest.count.saturating_sub(u32::try_from(used).unwrap_or(u32::MAX));
    }
    let some = rest.count > 0 || rest.length > Length::ZERO;
    Some(What::Reserved {
        stock: stock.to_owned(),
        reserved: some.then_some(rest),
    })
}

/// One left-over of a cut goes on the shelf as a drop; without a place the last one kept of it does not after all.
pub fn keep_drop(change: &Change, cut: Uuid, left: u32, place: &str) -> Result<Answer, Refusal> {
    let job = &change.now.job;
    let gone = || Refusal::at("no_left", "left", "This left-over is not of a cut of this job.");
    let done = job.cuts.iter().find(|kept| kept.id == cut).ok_or_else(gone)?;
    let at = usize::try_from(left).unwrap_or(usize::MAX);
    let rest = done.done.left.get(at).ok_or_else(gone)?;
    let kept: Vec<_> = job
        .drops
        .iter()
        .filter(|drop| {
            drop.kept.cut == cut && (drop.kept.length, drop.kept.width) == (rest.length, rest.width)
        })
        .collect();
    let place = typed::text(place, "place")?;
    if place.is_empty() {
        let last = kept.last().ok_or_else(|| {
            Refusal::at(
                "place_missing",
                "place",
                "Say where the drop lies: a rack, a shelf, a bay.",
            )
        })?;
        return change.one(What::Drop {
            drop: last.id,
            kept: None,
        });
    }
    if u32::try_from(kept.len()).unwrap_or(u32::MAX) >= rest.count {
        let sentence = "It is kept already: there is no other one of this size left over.";
        return Err(Refusal::at("kept_already", "left", sentence));
    }
    let drop = Uuid::now_v7();
    let what = What::Drop {
        drop,
        kept: Some(DropKept {
            item: done.done.item.clone(),
            length: rest.length,
            width: rest.width,
            thickness: done.done.thickness,
            place,
            cut,
        }),
    };
    change.save(Some(drop), vec![what])
}

/// Holes that are there on a line of rivets.
pub fn set_holes(change: &Change, line: &str, holes: &str) -> Result<Answer, Refusal> {
    let now = &change.now;
    let known = rivets::lines(now);
    let of = known.iter().find(|known| known.key == line).ok_or_else(|| {
        Refusal::at(
            "no_line",
            "line",
            "This line of rivets is not part of the work of this job any more.",
        )
    })?;
    let line = line.to_owned();
    if holes.trim().is_empty() {
        return change.one(What::Holes { line, holes: None });
    }
    let holes = rivets::read(holes, now.unit)?;
    if holes.len() > MOST_HOLES || holes.iter().any(|hole| hole.at > of.length) {
        let length = of.length.say(now.unit);
        let sentence = format!(
            "Up to {MOST_HOLES} holes are taken, each on the line: from 0 to {length} from the hook."
        );
        return Err(Refusal::at("holes_off", "holes", sentence));
    }
    change.one(What::Holes {
        line,
        holes: Some(holes),
    })
}

fn day(value: &str) -> Result<Option<NaiveDate>, Refusal> {
    if value.trim().is_empty() {
        return Ok(None);
    }
    let said = typed::date(value, false)?;
    Ok(NaiveDate::parse_from_str(&said, "%Y-%m-%d").ok())
}

/// A field of a line of the buying list. What is here is on hand for the Roof-off check as well.
pub fn set_buying(change: &Change, line: String, field: BuyField, value: &str) -> Result<Answer, Refusal> {
    let now = &change.now;
    let row = row(now, &line)?;
    let mut what: Vec<What> = Vec::new();
    if now.job.buying.get(&line).is_none_or(|kept| kept.item.is_empty()) {
        what.push(wanted(&line, &row.item, &row.size, &row.quantity));
    }
    match field {
        BuyField::NeededBy => what.push(buy(&line, BuyChange::NeededBy(day(value)?))),
        BuyField::ArrivesOn => what.push(buy(&line, BuyChange::ArrivesOn(day(value)?))),
        BuyField::Here => {
            let place = Some(typed::text(value, "value")?).filter(|place| !place.is_empty());
            what.push(buy(&line, BuyChange::Here(place.clone())));
            if let Some(place) = place {
                // What is left of a line is of the rows that were not found before.
                let asked = buying::asked(now)?.into_iter();
                let open = asked.filter(|check| {
                    buying::belongs(check, &row.item) && buying::found_at(now, check).is_none()
                });
                what.extend(open.map(|check| What::OnHand {
                    item: check.key,
                    on_hand: Some(OnHand {
                        have: true,
                        place: place.clone(),
                        wanted: check.wanted,
                    }),
                }));
            }
        }
    }
    change.save(None, what)
}

/// A line that a person puts on the list.
pub fn add_buying(change: &Change, item: &str, size: &str, quantity: &str) -> Result<Answer, Refusal> {
    let item = typed::text(item, "item")?;
    if item.is_empty() {
        return Err(Refusal::at(
            "item_missing",
            "item",
            "Say what is to be bought. Any words are accepted.",
        ));
    }
    let quantity = typed::text(quantity, "quantity")?;
    let quantity = if quantity.is_empty() {
        "1".to_owned()
    } else {
        quantity
    };
    let id = Uuid::now_v7();
    let what = wanted(
        &format!("own/{id}"),
        &item,
        &typed::text(size, "size")?,
        &quantity,
    );
    change.save(Some(id), vec![what])
}

/// A line comes off the list: one that was typed in, or that nothing wants any more.
pub fn remove_buying(change: &Change, line: String) -> Result<Answer, Refusal> {
    let row = row(&change.now, &line)?;
    if row.wanted && !row.own {
        let sentence =
            "The cut list or the Roof-off check wants it: it comes off the list when they do not any more.";
        return Err(Refusal::at("wanted", "line", sentence));
    }
    change.one(buy(&line, BuyChange::Removed(true)))
}

/// A thing of the Roof-off check is there or not. Material that is not goes on the buying list; what is on that list
/// and is there now is said to be here.
pub fn on_hand(change: &Change, row: &RoofOffRow, have: bool, place: String) -> Vec<What> {
    let job = &change.now.job;
    let mut what = Vec::new();
    let asked = buying::asked(&change.now).unwrap_or_default();
    let mine = |line: &JobBuying| {
        let open = !line.removed && line.here.is_none();
        let same = buying::same_item(&row.title, &line.item);
        // A line of rivets is here when the last kind of them is.
        let last = have
            && buying::is_of(&row.title, &line.item)
            && buying::others_found(&change.now, &asked, &row.key, &line.item);
        open && (same || last)
    };
    let listed: Vec<&String> = job
        .buying
        .iter()
        .filter(|(_, line)| mine(line))
        .map(|(key, _)| key)
        .collect();
    if roof_off::is_material(row) && have {
        what.extend(
            listed
                .into_iter()
                .map(|line| buy(line, BuyChange::Here(Some(place.clone())))),
        );
    } else if roof_off::is_material(row) && listed.is_empty() {
        let line = buying::line_of_check(&row.key);
        let removed = job.buying.get(&line).is_some_and(|kept| kept.removed);
        let here = job.buying.get(&line).is_some_and(|kept| kept.here.is_some());
        what.push(wanted(&line, &row.title, "", buying::quantity(&row.wanted)));
        what.extend(removed.then(|| buy(&line, BuyChange::Removed(false))));
        what.extend(here.then(|| buy(&line, BuyChange::Here(None))));
    }
    what.push(What::OnHand {
        item: row.key.clone(),
        on_hand: Some(OnHand {
            have,
            place,
            wanted: row.wanted.clone(),
        }),
    });
    what
}

/// All these things of the Roof-off check are on hand at one place.
pub fn set_shelf(change: &Change, items: &[String], place: &str) -> Result<Answer, Refusal> {
    let place = typed::text(place, "place")?;
    if place.is_empty() {
        return Err(Refusal::at(
            "place_missing",
            "place",
            "Say where they lie: a shelf, a rack or a bay.",
        ));
    }
    let check = roof_off::roof_off(&change.now)?;
    let mut what = Vec::new();
    for item in items {
        let row = check
            .rows
            .iter()
            .find(|row| row.key == *item && roof_off::is_material(row));
        let row = row.ok_or_else(|| {
            Refusal::at(
                "no_item",
                "items",
                "The Roof-off check does not ask for one of these any more. Look again.",
            )
        })?;
        what.extend(on_hand(change, row, true, place.clone()));
    }
    save(change, what)
}
