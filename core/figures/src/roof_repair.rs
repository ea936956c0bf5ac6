//! A roof repair by a way that opens the roof: what the section covers, and what patches beside it mend. A small
//! hole at the other end of the roof is no reason to take the sheet off up to there (common practice).

use crate::basis::{Basis, Given, Line, Standing, many};
use crate::body::Plan;
use crate::cut::even_holes;
use crate::error::Error;
use crate::group::{RoofJob, WayKey, reach};
use crate::mark::Mark;
use crate::measure::{Length, Unit};
use crate::patch::{PatchTakeoff, patch, why_none};
use crate::rail_rivets;
use crate::shop::Book;
use crate::takeoff::{RoofTakeoff, RoofWay};
use crate::takeoff_lines::{cartridges, too_much};
use rust_decimal::Decimal;

/// The repair as it is figured.
#[derive(Debug, Clone, PartialEq)]
pub struct RoofRepair {
    /// What goes in new with the open roof.
    pub job: RoofJob,
    /// The section, or the whole roof; of two sections the one nearer the nose.
    pub taken: RoofTakeoff,
    /// The second section.
    pub behind: Option<RoofTakeoff>,
    /// Patches beside the sections.
    pub patches: Vec<PatchTakeoff>,
    /// All takeoff lines; those of patches are named apart, sealant is bought for all together.
    pub lines: Vec<Line>,
}

/// What is opened for some marks, or why it does not fit.
type Opened = Result<(RoofJob, RoofTakeoff, Option<RoofTakeoff>), Vec<String>>;

/// What opens the roof for marks.
struct Opener<'a> {
    plan: &'a Plan,
    key: WayKey,
    book: &'a Book,
    unit: Unit,
}

impl RoofRepair {
    /// The repair of the roof's marks by a way that opens it. A mark that may be patched and lies clear of the sections
    /// gets a patch; all others are covered. Where every mark may be patched, the section covers them all.
    ///
    /// # Errors
    /// A plan that cannot be worked with. Inside: why the way does not fit, in sentences.
    pub fn of(
        plan: &Plan,
        marks: &[&Mark],
        key: WayKey,
        book: &Book,
        unit: Unit,
    ) -> Result<Result<Self, Vec<String>>, Error> {
        let patchable =
            |mark: &&Mark| key != WayKey::WholeRoof && why_none(plan, &[*mark], &book.patch, unit).is_empty();
        let (mut beside, mut covered): (Vec<&Mark>, Vec<&Mark>) = marks.iter().copied().partition(patchable);
        if covered.is_empty() || !why_none(plan, &beside, &book.patch, unit).is_empty() {
            covered.append(&mut beside);
        }
        let opener = Opener {
            plan,
            key,
            book,
            unit,
        };
        loop {
            let (job, mut taken, behind) = match opener.open(&covered)? {
                Ok(opened) => opened,
                Err(why) => return Ok(Err(why)),
            };
            let clear = |mark: &&Mark| {
                let mut sections = std::iter::once(&taken).chain(&behind);
                sections.all(|taken| is_clear(mark, taken, plan, book))
            };
            let (stay, join): (Vec<&Mark>, Vec<&Mark>) = beside.iter().copied().partition(clear);
            if !join.is_empty() {
                covered.extend(join);
                beside = stay;
                continue;
            }
            taken.why.extend(beside.iter().map(|mark| {
                let (from, to) = (mark.place.from.say(unit), mark.place.to.say(unit));
                format!(
                    "The damage from station {from} to {to} lies clear of it and gets a patch of its own."
                )
            }));
            let mut repair = Self {
                job,
                taken,
                behind,
                patches: beside.iter().map(|mark| patch(mark, &book.patch, unit)).collect(),
                lines: Vec::new(),
            };
            repair.lines = repair.all_lines(book, unit)?;
            let fitted = fitted(&repair, plan, book, unit);
            repair.lines.extend(fitted);
            rail_rivets::of_roof(&mut repair.lines, plan, book, unit);
            return Ok(Ok(repair));
        }
    }

    /// The sections, the one nearer the nose first; or the whole roof.
    pub fn sections(&self) -> impl Iterator<Item = &RoofTakeoff> + Clone {
        std::iter::once(&self.taken).chain(&self.behind)
    }

    /// As it is read: the way, its seams, and what is patched beside it.
    #[must_use]
    pub fn title(&self) -> String {
        let way = match &self.behind {
            None => titled(&self.taken),
            Some(behind) => format!("Two sections: {}; {}", titled(&self.taken), titled(behind)),
        };
        match self.patches.len() {
            0 => way,
            1 => format!("{way}, and a patch"),
            many => format!("{way}, and {many} patches"),
        }
    }

    /// Numbers of the bows that are replaced, and how many lie open.
    #[must_use]
    pub fn bows(&self) -> (usize, usize) {
        self.sections().fold((0, 0), |(hit, opened), taken| {
            (
                hit.saturating_add(taken.bows_hit.len()),
                opened.saturating_add(taken.bows_opened.len()),
            )
        })
    }

    fn all_lines(&self, book: &Book, unit: Unit) -> Result<Vec<Line>, Error> {
        let mut lines = match &self.behind {
            None => self.taken.lines.clone(),
            Some(behind) => together(&self.taken, behind)?,
        };
        if self.behind.is_none() && self.patches.is_empty() {
            return Ok(lines);
        }
        let round = self
            .patches
            .iter()
            .fold(Length::ZERO, |sum, patch| sum.plus(patch.round));
        let beads = self
            .sections()
            .fold(Length::ZERO, |sum, taken| sum.plus(taken.beads(unit)));
        if let Some(line) = lines.iter_mut().find(|line| line.item == "sealant cartridges") {
            let (count, exact) = cartridges(beads.plus(round), &book.roof)?;
            line.quantity = count.to_string();
            line.basis.pop();
            if !self.patches.is_empty() {
                let round = Basis::new(
                    format!("+ {}", round.say(unit)),
                    "round the patches",
                    Standing::Worked,
                );
                line.basis.push(round);
            }
            line.basis.extend([
                Basis::new(
                    exact.to_string(),
                    "all together, before rounding up",
                    Standing::Worked,
                ),
                Basis::new(format!("{count} each"), "sealant cartridges", Standing::Worked),
            ]);
        }
        let of_patches = self.patches.iter().flat_map(|patch| patch.lines.iter().cloned());
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
}

impl Opener<'_> {
    fn open(&self, marks: &[&Mark]) -> Result<Opened, Error> {
        if let Some(way) = self.key.roof_way() {
            let job = RoofJob::of(self.plan, marks);
            let taken = job.takeoff(self.plan, way, &self.book.roof, self.unit)?;
            return Ok(taken.map(|taken| (job, taken, None)));
        }
        let strip = self.book.roof.seam_strip.value;
        let Some((ahead, behind)) = apart(marks, strip) else {
            return Ok(Err(vec![format!(
                "Two sections want at least {} of sound roof between two damages (shop rule).",
                strip.say(self.unit)
            )]));
        };
        let front = self.shortest(&ahead, [RoofWay::Section, RoofWay::MiddleSection])?;
        let rear = self.shortest(&behind, [RoofWay::MiddleSection, RoofWay::RearSection])?;
        let ((job, front), (_, rear)) = match (front, rear) {
            (Ok(front), Ok(rear)) => (front, rear),
            (front, rear) => {
                let why = front.err().into_iter().chain(rear.err()).flatten();
                return Ok(Err(why.collect()));
            }
        };
        let ([_, end], [start, _]) = (front.span(self.plan.length), rear.span(self.plan.length));
        let left = start.minus(end);
        if left < strip {
            return Ok(Err(vec![format!(
                "Between the seams of two sections {} of old roof would stay: at least {} has to (shop rule).",
                left.max(Length::ZERO).say(self.unit),
                strip.say(self.unit)
            )]));
        }
        Ok(Ok((job, front, Some(rear))))
    }

    /// The section that takes the least sheet.
    fn shortest(
        &self,
        marks: &[&Mark],
        ways: [RoofWay; 2],
    ) -> Result<Result<(RoofJob, RoofTakeoff), Vec<String>>, Error> {
        let job = RoofJob::of(self.plan, marks);
        let (mut fit, mut why): (Vec<RoofTakeoff>, Vec<String>) = Default::default();
        for way in ways {
            match job.takeoff(self.plan, way, &self.book.roof, self.unit)? {
                Ok(taken) => fit.push(taken),
                Err(not) => why.extend(not),
            }
        }
        why.dedup();
        let least = fit.into_iter().min_by_key(|taken| taken.rough_length);
        Ok(least.map(|taken| (job, taken)).ok_or(why))
    }
}

/// Marks ahead of and behind the longest stretch of roof that no mark reaches; none if that is under `strip`.
#[must_use]
pub fn apart<'m>(marks: &[&'m Mark], strip: Length) -> Option<(Vec<&'m Mark>, Vec<&'m Mark>)> {
    let mut sorted = marks.to_vec();
    sorted.sort_by_key(|mark| reach(mark));
    let mut end = Length::ZERO;
    let mut gaps = Vec::new();
    for (at, mark) in sorted.iter().enumerate() {
        let (from, to) = reach(mark);
        if at > 0 {
            gaps.push((from.minus(end), at));
        }
        end = end.max(to);
    }
    // The first of several equal ones.
    let (gap, at) = gaps
        .into_iter()
        .max_by_key(|(gap, at)| (*gap, std::cmp::Reverse(*at)))?;
    (gap >= strip && gap > Length::ZERO).then(|| {
        let behind = sorted.split_off(at);
        (sorted, behind)
    })
}

fn titled(taken: &RoofTakeoff) -> String {
    match (taken.front_seam_bow, taken.seam_bow) {
        (None, Some(bow)) => format!("Front section, seam at bow {bow}"),
        (Some(front), Some(rear)) => format!("Middle section, seams at bows {front} and {rear}"),
        (Some(bow), None) => format!("Rear section, seam at bow {bow}"),
        (None, None) => "Whole roof".to_owned(),
    }
}

/// Lines of two sections, each item once, with the working of both.
fn together(front: &RoofTakeoff, behind: &RoofTakeoff) -> Result<Vec<Line>, Error> {
    let mut lines: Vec<Line> = Vec::new();
    for taken in [front, behind] {
        for line in &taken.lines {
            let named = Basis::new(titled(taken), "", Standing::Worked);
            let own = std::iter::once(named).chain(line.basis.iter().cloned());
            match lines
                .iter_mut()
                .find(|known| known.item == line.item && known.unit == line.unit)
            {
                None => lines.push(Line {
                    basis: own.collect(),
                    ..line.clone()
                }),
                Some(known) => {
                    let number = |line: &Line| line.quantity.parse::<Decimal>().map_err(|_| too_much());
                    let sum = number(known)?.checked_add(number(line)?).ok_or_else(too_much)?;
                    known.quantity = sum.to_string();
                    known.standing = Standing::weakest([&known.standing, &line.standing]).clone();
                    known.more = known.more.take().or_else(|| line.more.clone());
                    known.basis.extend(own);
                    let said = format!("{} {}", sum.normalize(), line.unit);
                    known
                        .basis
                        .push(Basis::new(said, "both sections", Standing::Worked));
                }
            }
        }
    }
    Ok(lines)
}

/// What bows, nose rail and corners are fixed with: a shop that has the rail and not its plates still waits.
fn fitted(repair: &RoofRepair, plan: &Plan, book: &Book, unit: Unit) -> Vec<Line> {
    let (job, rules) = (&repair.job, &book.parts);
    let bows = u32::try_from(repair.bows().0)
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
    let nose = job
        .nose_rail
        .then(|| nose_wall_rivets(plan, book, unit))
        .flatten();
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
    .chain(nose)
    .collect()
}

/// The row that holds the nose sheet to a new nose rail: as far apart as the rail's other rivets.
fn nose_wall_rivets(plan: &Plan, book: &Book, unit: Unit) -> Option<Line> {
    let (width, pitch) = (plan.rail_width_outside, plan.rail_hole_pitch);
    let margin = book.roof.rivet_diameter.value.times(2);
    let holes = even_holes(width, margin, pitch)?.len();
    let basis = vec![
        Basis::new(width.say(unit), "nose rail, outside to outside", Standing::Unit),
        Basis::new(
            pitch.say(unit),
            "pitch as in the top rails, 2 D from the ends",
            Standing::Memory,
        ),
    ];
    let count = u32::try_from(holes).unwrap_or(u32::MAX);
    Some(Line::of("nose wall rivets", count.into(), "each", basis))
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
