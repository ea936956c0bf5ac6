//! A roof repair by a way that opens the roof: what the section covers, and what patches beside it mend. A small
//! hole at the other end of the roof is no reason to take the sheet off up to there (common practice).

use crate::basis::{Basis, Given, Line, Standing, many};
use crate::body::Plan;
use crate::error::Error;
use crate::group::RoofJob;
use crate::mark::Mark;
use crate::measure::{Length, Unit};
use crate::parts::PartRules;
use crate::patch::{PatchTakeoff, patch, why_none};
use crate::shop::Book;
use crate::takeoff::{RoofTakeoff, RoofWay};
use crate::takeoff_lines::cartridges;

/// The repair as it is figured.
#[derive(Debug, Clone, PartialEq)]
pub struct RoofRepair {
    /// What goes in new with the open roof.
    pub job: RoofJob,
    /// The section, or the whole roof.
    pub taken: RoofTakeoff,
    /// Patches beside the section.
    pub patches: Vec<PatchTakeoff>,
    /// All takeoff lines; those of patches are named apart, sealant is bought for both together.
    pub lines: Vec<Line>,
}

impl RoofRepair {
    /// The repair of the roof's marks by a way. A mark that may be patched and lies clear of the section gets a
    /// patch; all others are covered. Where every mark may be patched, the section covers them all.
    ///
    /// # Errors
    /// A plan that cannot be worked with. Inside: why the way does not fit, in sentences.
    pub fn of(
        plan: &Plan,
        marks: &[&Mark],
        way: RoofWay,
        book: &Book,
        unit: Unit,
    ) -> Result<Result<Self, Vec<String>>, Error> {
        let patchable = |mark: &&Mark| {
            way != RoofWay::WholeRoof && why_none(plan, &[*mark], &book.patch, unit).is_empty()
        };
        let (mut beside, mut covered): (Vec<&Mark>, Vec<&Mark>) = marks.iter().copied().partition(patchable);
        if covered.is_empty() || !why_none(plan, &beside, &book.patch, unit).is_empty() {
            covered.append(&mut beside);
        }
        loop {
            let job = RoofJob::of(plan, &covered);
            let mut taken = match job.takeoff(plan, way, &book.roof, unit)? {
                Ok(taken) => taken,
                Err(why) => return Ok(Err(why)),
            };
            let clear = |mark: &&Mark| is_clear(mark, &taken, plan, book);
            let (stay, join): (Vec<&Mark>, Vec<&Mark>) = beside.iter().copied().partition(clear);
            if !join.is_empty() {
                covered.extend(join);
                beside = stay;
                continue;
            }
            taken.why.extend(beside.iter().map(|mark| {
                let (from, to) = (mark.place.from.say(unit), mark.place.to.say(unit));
                format!("The damage from {from} to {to} lies clear of it and gets a patch of its own.")
            }));
            let patches: Vec<PatchTakeoff> =
                beside.iter().map(|mark| patch(mark, &book.patch, unit)).collect();
            let mut lines = lines(&taken, &patches, book, unit)?;
            lines.extend(fitted(&job, &taken, &book.parts));
            return Ok(Ok(Self {
                job,
                taken,
                patches,
                lines,
            }));
        }
    }

    /// As it is read: the way, its seams, and what is patched beside it.
    #[must_use]
    pub fn title(&self) -> String {
        let way = match (self.taken.front_seam_bow, self.taken.seam_bow) {
            (None, Some(bow)) => format!("Front section, seam at bow {bow}"),
            (Some(front), Some(rear)) => format!("Middle section, seams at bows {front} and {rear}"),
            (Some(bow), None) => format!("Rear section, seam at bow {bow}"),
            (None, None) => "Whole roof".to_owned(),
        };
        match self.patches.len() {
            0 => way,
            1 => format!("{way}, and a patch"),
            many => format!("{way}, and {many} patches"),
        }
    }
}

fn lines(taken: &RoofTakeoff, patches: &[PatchTakeoff], book: &Book, unit: Unit) -> Result<Vec<Line>, Error> {
    let mut lines = taken.lines.clone();
    if patches.is_empty() {
        return Ok(lines);
    }
    let round = patches
        .iter()
        .fold(Length::ZERO, |sum, patch| sum.plus(patch.round));
    if let Some(line) = lines.iter_mut().find(|line| line.item == "sealant cartridges") {
        let (count, exact) = cartridges(taken.beads(unit).plus(round), &book.roof)?;
        line.quantity = count.to_string();
        line.basis.pop();
        line.basis.extend([
            Basis::new(
                format!("+ {}", round.say(unit)),
                "round the patches",
                Standing::Worked,
            ),
            Basis::new(
                exact.to_string(),
                "with the patches, before rounding up",
                Standing::Worked,
            ),
            Basis::new(format!("{count} each"), "sealant cartridges", Standing::Worked),
        ]);
    }
    let of_patches = patches.iter().flat_map(|patch| patch.lines.iter().cloned());
    lines.extend(of_patches.map(|line| Line {
        item: match line.item.as_str() {
            "roof sheet" => "patch sheet".to_owned(),
            "seam tape" => "patch tape".to_owned(),
            _ => line.item,
        },
        ..line
    }));
    Ok(lines)
}

/// What bows, nose rail and corners are fixed with: a shop that has the rail and not its plates still waits.
fn fitted(job: &RoofJob, taken: &RoofTakeoff, rules: &PartRules) -> Vec<Line> {
    let bows = u32::try_from(taken.bows_hit.len())
        .unwrap_or(u32::MAX)
        .saturating_add(job.front_bow.into());
    let rail = u32::from(job.nose_rail);
    let practice = |count: u32, what: &str| Basis::new(count.to_string(), what, Standing::CommonPractice);
    let line = |item: &str, of: Basis, each: &Given<u32>, what: &str, by: u32| {
        let count = each.value.saturating_mul(by);
        let each = Basis::new(each.value.to_string(), what, each.standing.clone());
        (count > 0).then(|| Line::of(item, count.into(), "each", vec![of, each]))
    };
    let caps = job.corner_caps;
    let new_bows = Basis::new(many(bows, "bow", "bows"), "new, both ends", Standing::Worked);
    [
        line(
            "bow rivets",
            new_bows,
            &rules.bow_end_fasteners,
            "fasteners of an end",
            bows.saturating_mul(2),
        ),
        line(
            "corner plates",
            practice(rail, "nose rail, tied to the side rails"),
            &rules.corner_plates,
            "inner and outer, both corners",
            rail,
        ),
        line(
            "holding bolts",
            practice(rail, "nose rail"),
            &rules.holding_bolts,
            "hold it until it is riveted",
            rail,
        ),
        line(
            "corner caps",
            practice(caps, "corners that are opened or hit"),
            &Given::practice(1),
            "a corner",
            caps,
        ),
        line(
            "cap rivets",
            Basis::new(caps.to_string(), "new caps", Standing::Worked),
            &rules.cap_fasteners,
            "fasteners of a cap",
            caps,
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Whether a patch of a mark keeps the shop's distance from the section and its seams.
fn is_clear(mark: &Mark, taken: &RoofTakeoff, plan: &Plan, book: &Book) -> bool {
    let (patch, [from, to]) = (&book.patch, taken.span(plan.length));
    let reach = patch
        .clean_margin
        .value
        .plus(patch.overlap.value)
        .plus(patch.seam_clear.value);
    let lap = taken
        .seam_station
        .map_or(Length::ZERO, |_| book.roof.seam_lap.value);
    mark.place.to.plus(reach) <= from || mark.place.from.minus(reach) >= to.plus(lap)
}
