//! What a step fits, taken out of stock in the act that marks it as done.
//!
//! Sheet that is on the roof is not on the shelf, whether or not somebody reserved it or tapped *Cut is done* at the saw:
//! the next job reserves, buys and is promised by what the stock list says. So a step takes, in this order,
//! 1. what this job holds, and what it bought and said to be here: that is what its people took;
//! 2. what lies there and nobody reserved, or this job reserved for nothing any more: a shop that has the material and forgot
//!    to reserve it took it from there. It goes as the Cut list would have cut it;
//! 3. what the Roof-off check found at a place and the stock list does not have: it is cut, and no stock is less.
//!
//! What another job holds is never taken, since its people count on it, and no line goes below nothing: what is left to be
//! had from nowhere is said, for somebody to count the shelf anew. What is on the buying list and not said to be here takes
//! nothing off the shelf either: somebody said that it comes from elsewhere.
//!
//! What was cut by hand before is not planned again, so nothing goes twice; undo brings all of it back with the step. A piece of
//! stock goes as a whole, with the left-overs offered as drops as after any cut. A step that is opened again takes nothing off
//! the unit: a cut that was none is taken back on the Cut list.

use super::{
    Change,
    stock::{as_done, less_reserved},
};
use crate::{
    answer::Refusal,
    now::Now,
    shelf::Line,
    view::{buying, cut_list},
    words,
};
use bowseam_figures::{
    cut::{Need, size},
    cut_plan::StockPlan,
};
use bowseam_jobs::{entry::What, stock::CutDone};
use uuid::Uuid;

/// What a step takes.
#[derive(Default)]
pub struct Fitted {
    /// The cuts, and what is not reserved any more with them.
    pub cuts: Vec<What>,
    /// What went out of stock, and what is short, in words.
    pub said: Vec<String>,
}

/// The same while it is put together.
struct Fit {
    /// What is still to be had.
    wanted: Vec<Need>,
    cuts: Vec<CutDone>,
}

impl Fit {
    /// Takes as many pieces of stock of a plan as hold something that is wanted; answers the plan of those.
    fn take(&mut self, plan: &StockPlan, place: &str) -> Option<StockPlan> {
        let of = |times: u32| StockPlan {
            times,
            ..plan.clone()
        };
        let one = as_done(&of(1), place.to_owned());
        let pieces = (0..plan.times).take_while(|_| cut_list::take_off(&mut self.wanted, &one));
        let times = u32::try_from(pieces.count()).unwrap_or_default();
        let used = (times > 0).then(|| of(times))?;
        self.cuts.push(as_done(&used, place.to_owned()));
        Some(used)
    }
}

/// What a step fits, taken.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn fitted(change: &Change, step: &str) -> Result<Fitted, Refusal> {
    let now = &change.now;
    let mut open = cut_list::open_needs(now);
    let mut fit = Fit {
        wanted: wanted(now, step, &open),
        cuts: Vec::new(),
    };
    if fit.wanted.is_empty() {
        return Ok(Fitted::default());
    }
    let held = cut_list::of_held(now)?.unwrap_or_default();
    let mut of_held: Vec<StockPlan> = Vec::new();
    for plan in &held.plans {
        let place = if plan.buy {
            bought(now, plan)
        } else {
            Some(plan.place.as_str())
        };
        if let Some(place) = place {
            cut_list::take_off(&mut open, &as_done(plan, place.to_owned()));
            of_held.extend(fit.take(plan, place));
        }
    }
    open.retain(|need| need.count > 0 && !is_awaited(now, need));
    let rest = cut_list::of_rest(now, &open, &held)?;
    let in_stock = rest.plans.iter().filter(|plan| !plan.buy);
    let of_rest: Vec<StockPlan> = in_stock.filter_map(|plan| fit.take(plan, &plan.place)).collect();
    let here = buying::here(now, &rest)?;
    for plan in rest.plans.iter().filter(|plan| plan.buy) {
        if let Some((_, place)) = here.iter().find(|(line, _)| *line == buying::key(plan)) {
            fit.take(plan, place);
        }
    }
    let mut said: Vec<String> = out_of_stock(&fit.cuts).into_iter().collect();
    said.extend(short(now, &fit.wanted)?);
    let cut = |done| What::Cut {
        cut: Uuid::now_v7(),
        done: Some(done),
    };
    let mut cuts: Vec<What> = fit.cuts.into_iter().map(cut).collect();
    cuts.extend(not_reserved(change, &held.plans, &of_held, &of_rest)?);
    Ok(Fitted { cuts, said })
}

/// What is not reserved any more once these plans are cut, of all that stand on what the job holds and of the rest.
fn not_reserved(
    change: &Change,
    held: &[StockPlan],
    of_held: &[StockPlan],
    of_rest: &[StockPlan],
) -> Result<Vec<What>, Refusal> {
    let now = &change.now;
    let less = |line: &Line| {
        let key = line.stock.key();
        let of = |plans: &[StockPlan]| {
            cut_list::amount(plans.iter().filter(|plan| !plan.buy && plan.stock == key))
        };
        // Held and planned for nothing: a roll of which more is taken than was reserved is the same roll.
        let spare = line.held_by(now.job.id).saturating_sub(of(held)).max(0);
        less_reserved(change, &key, of(of_held).saturating_add(of(of_rest).min(spare)))
    };
    Ok(now.shelf()?.lines.iter().filter_map(less).collect())
}

/// What went out of stock, in words.
fn out_of_stock(cuts: &[CutDone]) -> Option<String> {
    let from = cuts.iter().filter(|cut| !cut.stock.is_empty());
    let mut from: Vec<String> = from
        .map(|cut| format!("{} from {}", cut.item, cut.name))
        .collect();
    from.dedup();
    (!from.is_empty()).then(|| format!("Out of stock: {}.", words::list(&from)))
}

/// What a step fits and was not cut before.
fn wanted(now: &Now, step: &str, open: &[Need]) -> Vec<Need> {
    let mut left = open.to_vec();
    let mut wanted = Vec::new();
    for piece in now.pieces().iter().filter(|piece| piece.step == step) {
        let own = &piece.need;
        let same = |need: &&mut Need| {
            (&need.item, need.length, need.width) == (&own.item, own.length, own.width) && need.count > 0
        };
        if let Some(need) = left.iter_mut().find(same) {
            let count = own.count.min(need.count);
            need.count = need.count.saturating_sub(count);
            wanted.push(Need { count, ..own.clone() });
        }
    }
    wanted
}

/// Where a plan's stock lies that was bought for this job and is here.
fn bought<'n>(now: &'n Now, plan: &StockPlan) -> Option<&'n str> {
    now.job.buying.get(&buying::key(plan))?.here.as_deref()
}

/// On the buying list as a line of the cut list, and not said to be here.
fn is_awaited(now: &Now, need: &Need) -> bool {
    let mut lines = now.job.buying.iter();
    lines.any(|(line, kept)| line.starts_with("cut/") && kept.item == need.item && kept.is_awaited())
}

/// What is to be had from nowhere, of what the shop keeps in stock.
fn short(now: &Now, wanted: &[Need]) -> Result<Vec<String>, Refusal> {
    let shelf = now.shelf()?;
    let kept = |need: &&Need| need.count > 0 && shelf.keeps(&need.item);
    let (comes, lacks): (Vec<&Need>, Vec<&Need>) =
        wanted.iter().filter(kept).partition(|need| is_awaited(now, need));
    let list = |needs: &[&Need]| {
        let said = needs.iter().map(|need| {
            let size = size(need.length, need.width, need.thickness, now.unit);
            format!("{} × {} {size}", need.count, need.item)
        });
        words::list(&said.collect::<Vec<_>>())
    };
    let comes = (!comes.is_empty()).then(|| {
        format!(
            "{} is on the buying list and not said to be here: nothing was taken out of stock for it.",
            list(&comes)
        )
    });
    let lacks = (!lacks.is_empty()).then(|| {
        format!(
            "Short in stock: {}. No more of it lies there than other jobs reserved, so nothing was taken: count the shelf anew.",
            list(&lacks)
        )
    });
    Ok(comes.into_iter().chain(lacks).collect())
}
