//! A side sheet patch between the posts: what is cut out, how far the patch laps, which edge is carried to a
//! post, and when a section from post to post or a whole sheet is the way instead.
//!
//! Rules are common practice with the shop's values ([`SideRules`]); spacing and edges come from the published
//! handbooks that the working names. Strength is advice: see [`crate::joint`].

use crate::basis::Line;
use crate::error::Error;
use crate::fasten::{RivetKind, RivetLine, rivets};
use crate::mark::Place;
use crate::measure::{Length, Unit};
use crate::rules::RivetRules;
use crate::side_patch_lap::{Lap, Notes};
use crate::side_patch_lines::{beads, patch_lines, patch_rivets, sheet_lines, sheet_rivets};
use crate::side_patch_section::Posts;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

pub use crate::side_patch_figure::figure;
pub use crate::side_patch_rules::SideRules;
pub use crate::side_patch_ways::{is_side_sheet, side_need, side_sealant, side_way};

/// Most rows of rivets round a patch.
pub(crate) const MOST_ROWS: u32 = 20;

/// A rectangle on a side: stations, and heights above the bottom rail.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Rect {
    /// Nearer end.
    pub from: Length,
    /// Farther end.
    pub to: Length,
    /// Lower edge.
    pub low: Length,
    /// Upper edge.
    pub high: Length,
}

impl Rect {
    /// Of a place, whatever its surface.
    #[must_use]
    pub const fn of(place: &Place) -> Self {
        Self {
            from: place.from,
            to: place.to,
            low: place.low,
            high: place.high,
        }
    }

    /// Larger by `more` all round.
    #[must_use]
    pub const fn grown(self, more: Length) -> Self {
        Self {
            from: self.from.minus(more),
            to: self.to.plus(more),
            low: self.low.minus(more),
            high: self.high.plus(more),
        }
    }

    /// Length along the side.
    #[must_use]
    pub const fn along(self) -> Length {
        self.to.minus(self.from)
    }

    /// Height.
    #[must_use]
    pub const fn up(self) -> Length {
        self.high.minus(self.low)
    }

    /// Whether the two overlap.
    #[must_use]
    pub fn touches(self, other: Self) -> bool {
        self.from < other.to && other.from < self.to && self.low < other.high && other.low < self.high
    }

    fn in_order(self) -> bool {
        Length::ZERO <= self.from && self.from <= self.to && Length::ZERO <= self.low && self.low <= self.high
    }
}

/// The side that a patch lies on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideBody {
    /// Outside length, nose to rear.
    pub length: Length,
    /// Bottom rail to top rail.
    pub side_height: Length,
    /// Stations of the posts' rivet lines.
    pub posts: Vec<Length>,
    /// Stations where side sheets lap.
    pub sheet_joints: Vec<Length>,
    /// Earlier patches.
    pub earlier_patches: Vec<Rect>,
    /// Thickness of the sheet; the patch is cut from like material.
    pub sheet: Length,
}

/// How a side sheet is mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum SideWay {
    /// A lapped patch.
    Patch,
    /// A section from post to post, from rail to rail.
    Section,
    /// A whole side sheet, from joint to joint.
    WholeSheet,
}

/// What mending a side sheet takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct SideTakeoff {
    /// How.
    pub way: SideWay,
    /// What is cut out for a patch.
    pub cut_out: Rect,
    /// The patch as it would lie.
    pub patch: Rect,
    /// The sheet that is replaced: from joint to joint, or of a section from post to post.
    pub sheet: Rect,
    /// Stations where the old sheet is cut for a section.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cuts: Vec<Length>,
    /// How many side sheets those are.
    pub sheets: u32,
    /// Width of the widest of them, joint to joint.
    pub widest: Length,
    /// Cut back to sound sheet all round the damage.
    pub margin: Length,
    /// Lap of the patch all round.
    pub overlap: Length,
    /// Rows of rivets round it.
    pub rows: u32,
    /// Widest pitch.
    pub pitch: Length,
    /// Edge distance.
    pub edge: Length,
    /// Radius of the corners.
    pub corner_radius: Length,
    /// Rivet diameter.
    pub diameter: Length,
    /// Rivet length that is sold.
    pub rivet_length: Option<Length>,
    /// Posts, by number, that lie behind patch or sheet.
    pub posts: Vec<u32>,
    /// Rivets of the way.
    pub rivets: u32,
    /// All beads of sealant together.
    pub beads: Length,
    /// Why this way, and why an edge was carried on.
    pub why: Vec<String>,
    /// The takeoff of the way.
    pub lines: Vec<Line>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// Works out the way that is asked for on a damage; the whole sheet, with the reason, where a patch or a section
/// may not lie.
///
/// # Errors
/// Measures that cannot be, damage outside the side, a joint that the table does not hold; with pointers as in
/// `bowseam figure side-patch`.
pub fn side_patch(
    body: &SideBody,
    damage: Rect,
    rules: &SideRules,
    asked: SideWay,
    unit: Unit,
) -> Result<SideTakeoff, Error> {
    check(body, damage, rules)?;
    let lap = Lap::of(body, rules, unit)?;
    let cut_out = damage.grown(rules.clean_margin.value);
    let (mut why, mut warnings) = (vec![lap.why.clone()], lap.warnings.clone());
    let mut notes = Notes {
        why: &mut why,
        warnings: &mut warnings,
    };
    let plain = cut_out.grown(lap.overlap);
    // The nearer end is seen from behind, so that it runs outwards as well.
    let behind = |at: Length| Length::ZERO.minus(at);
    let posts: Vec<Length> = body.posts.iter().copied().map(behind).collect();
    let from = lap.carried(behind(cut_out.from), behind(plain.from), &posts, unit, &mut notes);
    let patch = Rect {
        from: behind(from),
        to: lap.carried(cut_out.to, plain.to, &body.posts, unit, &mut notes),
        ..plain
    };
    let (sheet, sheets, widest) = sheet_of(body, cut_out);
    let mut taken = SideTakeoff {
        way: SideWay::Patch,
        cut_out,
        patch,
        sheet,
        cuts: Vec::new(),
        sheets,
        widest,
        margin: rules.clean_margin.value,
        overlap: lap.overlap,
        rows: lap.rows,
        pitch: lap.pitch,
        edge: lap.edge,
        corner_radius: rules.corner_radius.value,
        diameter: rules.diameter.value,
        rivet_length: None,
        posts: Vec::new(),
        rivets: 0,
        beads: Length::ZERO,
        why,
        lines: Vec::new(),
        warnings,
    };
    let shut = why_whole(body, patch, rules, unit);
    if asked != SideWay::Patch || !shut.is_empty() {
        taken.way = SideWay::WholeSheet;
        // They speak of the patch's lap.
        taken.warnings.clear();
        let fits = "A patch would fit as well; the sheet was asked for.".to_owned();
        taken.why = if shut.is_empty() { vec![fits] } else { shut };
    }
    if asked == SideWay::Section {
        let posts = Posts {
            body,
            rules,
            cut_out,
            sheet,
            unit,
        };
        match posts.section() {
            Ok(section) => {
                taken.way = SideWay::Section;
                taken.widest = section.rect.along();
                (taken.sheet, taken.cuts, taken.why) = (section.rect, section.cuts, section.why);
            }
            Err(why) => taken.why = why,
        }
    }
    finish(body, rules, &lap, unit, &mut taken)?;
    Ok(taken)
}

/// Rivets, posts and lines of the way that was found.
fn finish(
    body: &SideBody,
    rules: &SideRules,
    lap: &Lap,
    unit: Unit,
    taken: &mut SideTakeoff,
) -> Result<(), Error> {
    let reach = match taken.way {
        SideWay::Patch => taken.patch,
        SideWay::Section | SideWay::WholeSheet => taken.sheet,
    };
    taken.posts = (1_u32..)
        .zip(&body.posts)
        .filter(|(_, at)| **at >= reach.from && **at <= reach.to)
        .map(|(number, _)| number)
        .collect();
    let cut_posts = body
        .posts
        .iter()
        .any(|at| *at > taken.cut_out.from && *at < taken.cut_out.to);
    if cut_posts && taken.way == SideWay::Patch {
        taken.warnings.push(
            "A post lies behind the cut-out: look at it from inside, leave it whole, and rivet the patch to it through its own holes."
                .to_owned(),
        );
    }
    let line = RivetLine {
        layers: vec![body.sheet, body.sheet],
        film: vec![rules.film.value],
        diameter: rules.diameter.value,
        kind: RivetKind::Solid,
        line_length: lap.edge.times(2).plus(reach.along()),
        existing_holes: Vec::new(),
        edge: Some(lap.edge),
        pitch: Some(lap.pitch),
    };
    let found = rivets(&line, &RivetRules::default(), unit)?;
    taken.rivet_length = found.length;
    taken.warnings.extend(found.warnings);
    let many = match taken.way {
        SideWay::Patch => patch_rivets(taken),
        SideWay::Section | SideWay::WholeSheet => sheet_rivets(body, rules, taken),
    };
    taken.rivets = u32::try_from(many)
        .map_err(|_| Error::new("side_rivets", "More rivets than can be; check the unit.").at("/diameter"))?;
    taken.beads = beads(taken);
    taken.lines = match taken.way {
        SideWay::Patch => patch_lines(taken, lap, unit)?,
        SideWay::Section | SideWay::WholeSheet => sheet_lines(rules, taken, unit)?,
    };
    Ok(())
}

/// Why a patch may not lie here; empty if it may.
fn why_whole(body: &SideBody, patch: Rect, rules: &SideRules, unit: Unit) -> Vec<String> {
    let say = |length: Length| length.say(unit);
    let gap = rules.rail_gap.value;
    let mut why = Vec::new();
    let mut near = |hit: bool, what: &str| {
        if hit {
            why.push(format!(
                "The patch would come nearer than {} to the {what} (shop rule).",
                say(gap)
            ));
        }
    };
    near(patch.low < gap, "bottom rail");
    near(patch.high > body.side_height.minus(gap), "top rail");
    near(patch.from < gap, "corner post");
    near(patch.to > body.length.minus(gap), "rear frame");
    let apart = rules.patch_gap.value;
    if body
        .earlier_patches
        .iter()
        .any(|earlier| patch.touches(earlier.grown(apart)))
    {
        why.push(format!(
            "The patch would come nearer than {} to an earlier patch (shop rule).",
            say(apart)
        ));
    }
    let joints = body.sheet_joints.iter();
    for joint in joints.filter(|at| **at >= patch.from && **at <= patch.to) {
        why.push(format!(
            "The patch would cross the sheet joint at station {}.",
            say(*joint)
        ));
    }
    why
}

/// The side sheets that a cut-out lies on, from joint to joint, how many they are, and the widest of them.
fn sheet_of(body: &SideBody, cut_out: Rect) -> (Rect, u32, Length) {
    let joints = || body.sheet_joints.iter().copied();
    let from = joints().filter(|at| *at <= cut_out.from).max();
    let from = from.unwrap_or(Length::ZERO);
    let to = joints()
        .filter(|at| *at >= cut_out.to)
        .min()
        .unwrap_or(body.length);
    let inner: Vec<Length> = joints().filter(|at| *at > from && *at < to).collect();
    let starts = [from].into_iter().chain(inner.iter().copied());
    let ends = inner.iter().copied().chain([to]);
    let widest = starts.zip(ends).map(|(a, b)| b.minus(a)).max();
    let sheets = u32::try_from(inner.len()).unwrap_or(u32::MAX);
    let sheet = Rect {
        from,
        to,
        low: Length::ZERO,
        high: body.side_height,
    };
    (sheet, sheets.saturating_add(1), widest.unwrap_or_default())
}

fn check(body: &SideBody, damage: Rect, rules: &SideRules) -> Result<(), Error> {
    let wrong = |at: &str, sentence: &str| Err(Error::new("side_body", sentence).at(at));
    for (at, length) in [
        ("/body/length", body.length),
        ("/body/side_height", body.side_height),
        ("/sheet", body.sheet),
        ("/diameter", rules.diameter.value),
    ] {
        if let Err(sentence) = length.measured("side", at.rsplit('/').next().unwrap_or_default()) {
            return wrong(at, &sentence);
        }
    }
    if rules.diameter.value > Length::inches(2) {
        return wrong("/diameter", "A rivet is at most 2 in in diameter.");
    }
    for (at, pitch) in [
        ("joint_pitch", rules.joint_pitch.value),
        ("post_pitch", rules.post_pitch.value),
    ] {
        if pitch < Length::sixty_fourths(8) {
            return wrong(
                &format!("/shop/{at}"),
                "A pitch of at least 1/8 in is expected here.",
            );
        }
    }
    if rules.rows.value.is_some_and(|rows| rows == 0 || rows > MOST_ROWS) {
        return wrong("/shop/rows", "A patch has 1 to 20 rows of rivets.");
    }
    if !damage.in_order() {
        return wrong(
            "/damage",
            "Damage has from up to to and low up to high, none of them below 0.",
        );
    }
    if damage.to > body.length || damage.high > body.side_height {
        return wrong(
            "/damage",
            "The damage lies outside the side: check length and side height.",
        );
    }
    for (name, stations) in [("/posts", &body.posts), ("/sheet_joints", &body.sheet_joints)] {
        let rising = stations.iter().zip(stations.iter().skip(1)).all(|(a, b)| a < b);
        let inside = stations
            .iter()
            .all(|at| *at >= Length::ZERO && *at <= body.length);
        if !rising || !inside {
            return wrong(
                name,
                "Stations rise from the nose to the rear, none twice, none behind the body's end.",
            );
        }
    }
    match body.earlier_patches.iter().position(|patch| !patch.in_order()) {
        Some(i) => wrong(
            &format!("/earlier_patches/{i}"),
            "A patch has from up to to and low up to high, none of them below 0.",
        ),
        None => Ok(()),
    }
}

#[cfg(test)]
#[path = "side_patch_tests.rs"]
mod tests;
