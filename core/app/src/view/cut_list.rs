//! Cut list: what to cut from which stock or drop, with the marks of the tape from one hook; what is reserved, what
//! was cut already, and the holes to drill.

use crate::{
    answer::{Answer, CutDoneRow, CutListView, CutPlan, Refusal, ReservedRow},
    now::Now,
    roof,
    shelf::{self, Shelf},
    view::{buying, head, rivets},
};
use bowseam_figures::{
    basis::Basis,
    cut::{Need, Stock, StockKind, size},
    cut_plan::{CutList, StockPlan, plan},
    measure::Length,
};
use bowseam_jobs::stock::{CutDone, ForWay, JobCut, Reserved};
use std::{
    collections::BTreeMap,
    time::{Duration, Instant},
};

/// The longest that one item's plan is searched for before the best so far is shown.
const SEARCH: Duration = Duration::from_millis(150);

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn cut_list(now: &Now) -> Result<Answer, Refusal> {
    let list = now.cut_list()?;
    let rivets = rivets::lines(now);
    let nothing = list.is_none() && now.job.cuts.is_empty() && rivets.is_empty();
    let why_not = nothing.then(|| {
        "No way is chosen that cuts sheet, rail or board: there is nothing to cut from stock that the program figures."
            .to_owned()
    });
    let nothing = CutList::default();
    let list = list.unwrap_or(&nothing);
    let wanted = reservations(now, list);
    let here = buying::here(now, list)?;
    let bought = buying::rows(now)?;
    let to_buy = bought.iter().filter(|row| row.wanted && row.here.is_none());
    let plans = list.plans.iter().map(|plan| CutPlan {
        here: here
            .iter()
            .find(|(key, _)| plan.buy && *key == buying::key(plan))
            .map(|(_, place)| place.clone()),
        reserved: now.job.reserved.contains_key(&plan.stock),
        plan: plan.clone(),
    });
    Ok(Answer::CutList(CutListView {
        head: head::head(now)?,
        plans: plans.collect(),
        proofs: list.proofs.clone(),
        reserved: reserved(now, now.shelf()?, &wanted)?,
        to_reserve: wanted
            .iter()
            .any(|(key, of)| now.job.reserved.get(key).map(|kept| &kept.value) != Some(of)),
        buying: to_buy.count().try_into().unwrap_or(u32::MAX),
        done: now.job.cuts.iter().map(|cut| done(now, cut)).collect(),
        rivets,
        basis: basis(now),
        why_not,
    }))
}

/// Searches for the list: [`Now::cut_list`] keeps it.
///
/// # Errors
/// The figures cannot be worked out.
pub fn search(now: &Now) -> Result<Option<CutList>, Refusal> {
    let needs = open_needs(now);
    if needs.is_empty() {
        return Ok(None);
    }
    let stock = now.shelf()?.for_job(now.job.id);
    search_in(now, &needs, stock).map(Some)
}

/// The same with what the job holds alone: that is what its people took, whatever came to the shelf since. Of what another
/// job reserved first it holds nothing. None where nothing is reserved nor bought.
///
/// # Errors
/// The figures cannot be worked out.
pub fn of_held(now: &Now) -> Result<Option<CutList>, Refusal> {
    if now.job.reserved.is_empty() && now.job.buying.values().all(|line| line.here.is_none()) {
        return Ok(None);
    }
    let lines = now.shelf()?.lines.iter();
    let own = lines.map(|line| {
        let held = line.held_by(now.job.id);
        let mut stock = line.stock.clone();
        if shelf::by_length(stock.kind) {
            stock.count = u32::from(held > 0);
            // One of which none is reserved still says in which size it is bought.
            if stock.count > 0 {
                stock.length = Length::from_nm(held);
            }
        } else {
            stock.count = u32::try_from(held).unwrap_or(u32::MAX);
        }
        stock
    });
    search_in(now, &open_needs(now), own.collect()).map(Some)
}

/// These needs cut from what no other job holds and these plans do not take.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn of_rest(now: &Now, needs: &[Need], planned: &CutList) -> Result<CutList, Refusal> {
    let planned = |key: &str| {
        let own = planned.plans.iter().filter(|plan| !plan.buy && plan.stock == key);
        amount(own)
    };
    search_in(now, needs, now.shelf()?.beside(now.job.id, planned))
}

fn search_in(now: &Now, needs: &[Need], mut stock: Vec<Stock>) -> Result<CutList, Refusal> {
    stock.retain(|stock| needs.iter().any(|need| need.item == stock.item));
    let begun = Instant::now();
    Ok(plan(needs, &stock, &now.book.cutting, now.unit, &mut || {
        begun.elapsed() > SEARCH
    })?)
}

/// What is still to be cut: the needs of the ways, less the pieces of the cuts that are done.
pub fn open_needs(now: &Now) -> Vec<Need> {
    let mut needs = roof::needs(now);
    for cut in &now.job.cuts {
        take_off(&mut needs, &cut.done);
    }
    needs.retain(|need| need.count > 0);
    needs
}

/// Takes the pieces of a cut off what is needed; whether one of them was.
pub fn take_off(needs: &mut [Need], done: &CutDone) -> bool {
    let mut any = false;
    for piece in &done.pieces {
        let mut left = piece.count;
        let same = |need: &&mut Need| is_piece(need, done, piece.length, piece.width);
        for need in needs.iter_mut().filter(same) {
            let some = left.min(need.count);
            need.count = need.count.saturating_sub(some);
            left = left.saturating_sub(some);
            any |= some > 0;
        }
    }
    any
}

/// Whether a piece of a cut is one that is needed.
fn is_piece(need: &Need, done: &CutDone, length: Length, width: Option<Length>) -> bool {
    let turned = need.turn && Some(need.length) == width && need.width == Some(length);
    need.item == done.item && (turned || (need.length == length && need.width == width))
}

/// What the list takes of each stock, by what it is reserved by, for the ways that need it: stock whose ways are all
/// others, or have no go-ahead, is free again.
pub fn reservations(now: &Now, list: &CutList) -> BTreeMap<String, Reserved> {
    let pieces = now.pieces();
    let ways = |item: &str| -> Vec<ForWay> {
        let wants = |group: &String| {
            let mut own = pieces.iter().filter(|piece| piece.group == *group);
            own.any(|piece| piece.need.item == item)
        };
        let ways = now.job.ways.iter().filter(|(group, _)| wants(group));
        ways.map(|(group, kept)| ForWay {
            group: group.clone(),
            way: kept.value.way.clone(),
        })
        .collect()
    };
    let mut taken: BTreeMap<String, Reserved> = BTreeMap::new();
    for plan in list.plans.iter().filter(|plan| !plan.buy) {
        let of = taken.entry(plan.stock.clone()).or_insert_with(|| Reserved {
            item: plan.item.clone(),
            name: plan.from.clone(),
            count: 0,
            length: Length::ZERO,
            ways: ways(&plan.item),
        });
        let (count, length) = takes(plan);
        of.count = of.count.saturating_add(count);
        of.length = of.length.plus(length);
    }
    taken
}

/// Pieces, or length of a roll or coil, that a plan takes.
pub fn takes(plan: &StockPlan) -> (u32, Length) {
    if plan.kind.is_some_and(shelf::by_length) {
        (0, plan.taken().times(plan.times.into()))
    } else {
        (plan.times, Length::ZERO)
    }
}

/// What plans of one stock take: pieces, or nanometres of a roll or coil.
pub fn amount<'p>(plans: impl Iterator<Item = &'p StockPlan>) -> i64 {
    let each = plans.map(|plan| match takes(plan) {
        (0, length) => length.nm(),
        (count, _) => count.into(),
    });
    each.fold(0, i64::saturating_add)
}

/// What the job has reserved, and whether it holds it and still wants it.
fn reserved(
    now: &Now,
    shelf: &Shelf,
    wanted: &BTreeMap<String, Reserved>,
) -> Result<Vec<ReservedRow>, Refusal> {
    let clashes = shelf::clashes(now)?;
    let rows = now.job.reserved.iter().map(|(key, kept)| {
        let of = &kept.value;
        let line = shelf.line(key);
        let said = if of.length > Length::ZERO {
            of.length.say(now.unit)
        } else {
            of.count.to_string()
        };
        let holds = line.and_then(|line| line.claims.iter().find(|claim| claim.job == now.job.id));
        ReservedRow {
            name: of.name.clone(),
            place: line.map(|line| line.stock.place.clone()).unwrap_or_default(),
            amount: said,
            held: holds.is_some_and(|claim| claim.holds >= claim.wanted),
            free: !now.job.holds(of),
            wanted: wanted.contains_key(key),
            remark: clashes
                .iter()
                .find(|said| said.starts_with(&format!("{}:", of.name)))
                .cloned(),
            by: now.name(kept.by),
            at: kept.at,
        }
    });
    Ok(rows.collect())
}

fn done(now: &Now, cut: &JobCut) -> CutDoneRow {
    let of = &cut.done;
    let say = |length, width| size(length, width, of.thickness, now.unit);
    let wanted = roof::needs(now);
    let stray = of.pieces.iter().find(|piece| {
        !wanted
            .iter()
            .any(|need| is_piece(need, of, piece.length, piece.width))
    });
    let left = of.left.iter().enumerate().map(|(at, left)| {
        let kept = now.job.drops.iter().filter(|drop| {
            drop.kept.cut == cut.id && (drop.kept.length, drop.kept.width) == (left.length, left.width)
        });
        crate::answer::LeftRow {
            left: u32::try_from(at).unwrap_or(u32::MAX),
            size: say(left.length, left.width),
            place: of.place.clone(),
            kept: kept.map(|drop| drop.kept.place.clone()).collect(),
            count: left.count,
        }
    });
    CutDoneRow {
        cut: cut.id,
        item: of.item.clone(),
        from: of.name.clone(),
        pieces: of
            .pieces
            .iter()
            .map(|piece| format!("{} × {}", piece.count, say(piece.length, piece.width)))
            .collect(),
        left: left.collect(),
        remark: stray.map(|piece| {
            format!(
                "The figures do not want {} any more: they changed after it was cut.",
                say(piece.length, piece.width)
            )
        }),
        by: now.name(cut.by),
        at: cut.at,
    }
}

/// The shop's values that the list rests on.
fn basis(now: &Now) -> Vec<Basis> {
    let cutting = &now.book.cutting;
    let say = |length: Length| length.say(now.unit);
    [
        (&cutting.saw_kerf, "width of the saw's cut, bars"),
        (&cutting.sheet_kerf, "width of a cut in sheet"),
        (&cutting.end_trim, "trimmed off a bar, both ends together"),
        (
            &cutting.keep_from,
            "a left-over from this length on is kept as a drop",
        ),
    ]
    .into_iter()
    .map(|(given, what)| Basis::new(say(given.value), what, given.standing.clone()))
    .collect()
}

/// Left-overs of a plan that are worth a shelf place: rests of rolls and coils go back by themselves.
pub fn worth_keeping(plan: &StockPlan) -> impl Iterator<Item = &bowseam_figures::cut_plan::Left> {
    let roll = plan.kind == Some(StockKind::Coil) && plan.width.is_none();
    plan.left.iter().filter(move |left| left.keep && !roll)
}
