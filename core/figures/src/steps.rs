//! The work in order: steps with their cautions, stop-and-check points, measured values and photos, made for
//! the ways that were chosen, and the roof-off check that stands before them.
//!
//! Order and values are common practice of the trade unless a value says otherwise. The maker's instructions,
//! local codes and licensed practice come first; nothing here says that a repair is safe.

mod cautions;
mod order;
mod other;
mod parts;
mod patch;
mod roof;
mod roof_off;
mod roof_seams;
mod side;

pub use cautions::Hazard;
use order::Turns;
pub(crate) use other::while_roof_is_off;
pub(crate) use parts::holds_the_wall;
pub use roof::opened;
pub use roof_off::{RoofOffKind, RoofOffRow, roof_off_rows};

use crate::basis::{Basis, Standing};
use crate::mark::{Part, Surface};
use crate::measure::{Length, Unit};
use crate::parts::{OnHand, PartTakeoff};
use crate::patch::PatchTakeoff;
use crate::rules::RoofRules;
use crate::side_patch::SideTakeoff;
use crate::takeoff::{RoofTakeoff, RoofWay};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// How the roof is repaired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum RoofMethod {
    /// A lapped patch.
    Patch,
    /// A front section, seam over a sound bow.
    FrontSection,
    /// A middle section, both seams over sound bows.
    MiddleSection,
    /// A rear section, seam over a sound bow.
    RearSection,
    /// The whole sheet.
    WholeRoof,
}

impl From<RoofWay> for RoofMethod {
    fn from(way: RoofWay) -> Self {
        match way {
            RoofWay::Section => Self::FrontSection,
            RoofWay::MiddleSection => Self::MiddleSection,
            RoofWay::RearSection => Self::RearSection,
            RoofWay::WholeRoof => Self::WholeRoof,
        }
    }
}

/// The roof's part of the work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct RoofWork {
    /// How.
    pub way: RoofMethod,
    /// Bow under the seam behind the damage; none for a patch, a rear section and a whole roof.
    pub seam_bow: Option<u32>,
    /// Its station.
    pub seam_station: Option<Length>,
    /// Bow under the seam ahead of the damage and its station; only for a middle and a rear section.
    #[serde(default)]
    pub front_seam: Option<(u32, Length)>,
    /// Sheet to cut: length and width.
    pub sheet: Option<[Length; 2]>,
    /// Large: it is lifted and every bow caulked while it is under tension.
    pub large: bool,
    /// Bows to be replaced.
    pub bows_hit: Vec<u32>,
    /// Bows that lie open.
    pub bows_opened: Vec<u32>,
    /// A new nose rail goes in.
    pub nose_rail: bool,
    /// The front roof bow goes in with it.
    pub front_bow: bool,
    /// Sheet rolled over each rail.
    pub edge: Length,
    /// Sheet kept in front of the nose rail.
    pub front_edge: Length,
    /// Lap of the new sheet over the old.
    pub lap: Length,
    /// Old sheet that is freed along the rails ahead of a front seam.
    #[serde(default)]
    pub freed: Length,
    /// Rivets of the seam into each top rail.
    pub seam_rivets_a_side: u32,
    /// Rows of tape in the seam.
    pub tape_rows: u32,
    /// Sealant on each top rail beside the seam.
    pub sealant_on_rail: Length,
    /// Whether the shop seals rolled edges.
    pub seal_edges: bool,
    /// Patches: all of them, or those beside a section.
    #[serde(default)]
    pub patches: Vec<PatchTakeoff>,
    /// The second of two sections; its steps follow those of the first, so that one opening at a time is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind: Option<Box<RoofWork>>,
}

/// The value from which the cure counts: when it started, and at which temperature.
pub const CURE_STARTED: &str = "cure_started";
/// Ends the keys of steps and values of the second of two sections.
pub const BEHIND: &str = ":behind";

impl RoofWork {
    /// By the shop's rules alone: nothing is opened yet.
    #[must_use]
    pub fn closed(way: RoofMethod, rules: &RoofRules) -> Self {
        RoofWork {
            way,
            seam_bow: None,
            seam_station: None,
            front_seam: None,
            sheet: None,
            large: false,
            bows_hit: Vec::new(),
            bows_opened: Vec::new(),
            nose_rail: false,
            front_bow: false,
            edge: rules.edge.value,
            front_edge: rules.front_edge.value,
            lap: rules.seam_lap.value,
            freed: rules.seam_freed.value,
            seam_rivets_a_side: rules.seam_rivets_a_side.value,
            tape_rows: rules.tape_rows.value,
            sealant_on_rail: rules.seam_sealant_on_rail.value,
            seal_edges: rules.seal_edges.value,
            patches: Vec::new(),
            behind: None,
        }
    }

    /// Of a roof takeoff; whether nose rail and front bow go in is seen at the unit.
    #[must_use]
    pub fn of(taken: &RoofTakeoff, rules: &RoofRules, nose_rail: bool, front_bow: bool) -> Self {
        RoofWork {
            seam_bow: taken.seam_bow,
            seam_station: taken.seam_station,
            front_seam: taken.front_seam_bow.zip(taken.front_seam_station),
            sheet: Some([
                taken.rough_length,
                taken.rough_width.unwrap_or(taken.finished_width),
            ]),
            large: taken.large,
            bows_hit: taken.bows_hit.clone(),
            bows_opened: taken.bows_opened.clone(),
            nose_rail,
            front_bow,
            ..Self::closed(taken.way.into(), rules)
        }
    }
}

/// How work outside the roof group is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum OtherMethod {
    /// By the technician's own entry.
    ByHand,
    /// Nothing is done before the maker's instruction is there.
    AskTheMaker,
    /// By a lapped patch on the side sheet.
    SidePatch,
    /// By a section of side sheet from post to post.
    SideSection,
    /// By whole side sheets.
    SideSheet,
    /// By a way of another part.
    Part,
}

/// Work on one mark outside the roof group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct OtherWork {
    /// The mark's id.
    pub mark: String,
    /// The part.
    pub part: Part,
    /// What is done, as the technician or the way wrote it.
    pub title: String,
    /// How.
    pub way: OtherMethod,
    /// The side sheet's facts, for the ways that mend one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<SideTakeoff>,
    /// The part's facts, for a way of another part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<PartTakeoff>,
    /// What has to lie ready besides: sealant of a side, what a person entered by hand as bought.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ready: Vec<OnHand>,
    /// The maker's instruction has to be in hand, whatever the way.
    #[serde(default)]
    pub maker: bool,
    /// The face that the mark is on, where it is known: what lies on another side is no neighbour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surface: Option<Surface>,
}

impl OtherWork {
    /// Work on a mark by hand, or as the maker says.
    #[must_use]
    pub fn new(mark: impl Into<String>, part: Part, title: impl Into<String>, way: OtherMethod) -> Self {
        Self {
            mark: mark.into(),
            part,
            title: title.into(),
            way,
            side: None,
            taken: None,
            ready: Vec::new(),
            maker: way == OtherMethod::AskTheMaker,
            surface: None,
        }
    }

    /// What has to lie ready for it, besides sheet and rivets of a side.
    fn on_hand(&self) -> impl Iterator<Item = &OnHand> {
        let taken = self.taken.iter().flat_map(|taken| &taken.on_hand);
        taken.chain(&self.ready)
    }
}

/// Tolerances of the shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Tolerances {
    /// Of the rolled edge (starting value 1/16 in, from memory).
    pub edge: Length,
    /// Between the diagonals before and after (starting value 1/8 in, from memory).
    pub diagonal: Length,
    /// Where both come from.
    pub standing: Standing,
}

impl Default for Tolerances {
    fn default() -> Self {
        Tolerances {
            edge: Length::sixty_fourths(4),
            diagonal: Length::sixty_fourths(8),
            standing: Standing::Memory,
        }
    }
}

/// Everything the steps are made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Work {
    /// The unit that the shop reads.
    pub unit: Unit,
    /// The roof, if it is repaired.
    pub roof: Option<RoofWork>,
    /// Marks outside the roof group.
    pub others: Vec<OtherWork>,
    /// Sealed when it was marked: the inside is not seen yet.
    pub sealed: bool,
    /// Wiring, antennas, panels and trackers were located.
    pub wiring_seen: bool,
    /// Cure of sealant and adhesive from the product label, in the shop's words; none = not entered.
    pub cure: Option<String>,
    /// Wind above which no sheet is handled, in the shop's words; none = not entered.
    pub wind_limit: Option<String>,
    /// The shop's tolerances.
    pub tolerances: Tolerances,
}

/// What a measured value is held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case", tag = "kind", content = "of")]
pub enum Target {
    /// A length.
    Length(Length),
    /// The value that was recorded earlier under this key.
    SameAs(String),
    /// Nothing: it is only recorded.
    Recorded,
    /// Words: what is to be found.
    Words(String),
    /// The same, with what is read or measured there written beside it.
    Written(String),
}

/// A value that a step asks for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Wanted {
    /// Stable, unique in the job.
    pub key: String,
    /// What is measured, and where.
    pub what: String,
    /// What it should be.
    pub wanted: Target,
    /// How far off still fits, either way.
    pub tolerance: Option<Length>,
    /// Where wanted and tolerance come from.
    pub standing: Standing,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Step {
    /// Stable: records of the work name it.
    pub key: String,
    /// A few words.
    pub title: String,
    /// What to do.
    pub text: String,
    /// Shown in words before the step starts.
    pub cautions: Vec<String>,
    /// The work stops here until somebody has looked.
    pub stop_and_check: bool,
    /// Photos that the packet wants of it.
    pub photos_wanted: u32,
    /// Values to be measured.
    pub values: Vec<Wanted>,
    /// The shop book's task that its hours belong to.
    pub task: Option<String>,
    /// Where the numbers in its text come from.
    pub basis: Vec<Basis>,
}

impl Step {
    fn new(key: impl Into<String>, title: impl Into<String>, text: impl Into<String>) -> Self {
        Step {
            key: key.into(),
            title: title.into(),
            text: text.into(),
            cautions: Vec::new(),
            stop_and_check: false,
            photos_wanted: 0,
            values: Vec::new(),
            task: None,
            basis: Vec::new(),
        }
    }

    /// The step again for the second section.
    fn behind(mut self) -> Self {
        self.key.push_str(BEHIND);
        self.title = format!("Second section: {}", self.title);
        for value in &mut self.values {
            value.key.push_str(BEHIND);
            if let Target::SameAs(key) = &mut value.wanted {
                key.push_str(BEHIND);
            }
        }
        self
    }

    fn hazards(mut self, hazards: &[Hazard]) -> Self {
        self.cautions
            .extend(hazards.iter().map(|hazard| hazard.words().to_owned()));
        self
    }

    fn stop(mut self, photos: u32) -> Self {
        self.stop_and_check = true;
        self.photos_wanted = photos;
        self
    }

    fn photos(mut self, photos: u32) -> Self {
        self.photos_wanted = photos;
        self
    }

    fn task(mut self, task: &str) -> Self {
        self.task = Some(task.to_owned());
        self
    }

    fn value(
        mut self,
        key: &str,
        what: impl Into<String>,
        wanted: Target,
        tolerance: Option<Length>,
        standing: Standing,
    ) -> Self {
        self.values.push(Wanted {
            key: key.to_owned(),
            what: what.into(),
            wanted,
            tolerance,
            standing,
        });
        self
    }

    fn basis(mut self, value: impl Into<String>, what: &str, standing: Standing) -> Self {
        self.basis.push(Basis {
            value: value.into(),
            what: what.to_owned(),
            standing,
        });
        self
    }
}

/// The steps of a job in their order. Keys are unique, and stay the same while the chosen ways do.
pub fn steps(work: &Work) -> Vec<Step> {
    let opened = work.roof.as_ref().filter(|roof| roof.way != RoofMethod::Patch);
    let turns = Turns::of(work, opened.is_some());
    let mut steps = other::begin(work);
    steps.extend(other::ask_the_maker(work));
    steps.extend(turns.inside_out);
    match (opened, &work.roof) {
        (Some(roof), _) => {
            steps.extend(roof::open(work, roof));
            steps.extend(turns.while_off);
            steps.extend(roof::close(work, roof));
            if let Some(behind) = &roof.behind {
                let second = roof::open(work, behind)
                    .into_iter()
                    .chain(roof::close(work, behind));
                steps.extend(second.map(Step::behind));
            }
            steps.extend(patch::beside(work, roof));
        }
        (None, Some(roof)) => steps.extend(patch::steps(work, roof)),
        (None, None) => {}
    }
    steps.extend(turns.after);
    steps.extend(other::finish(work, turns.new_lining, turns.new_band));
    steps
}

/// Whether a measured value fits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case", tag = "fits")]
pub enum Fits {
    /// Within the tolerance.
    Yes {
        /// Measured less wanted.
        off: Length,
    },
    /// Outside it.
    No {
        /// Measured less wanted.
        off: Length,
        /// How far outside the tolerance.
        beyond: Length,
    },
    /// There is nothing to hold it against: it is recorded.
    Recorded,
    /// The earlier value that it is held against is missing.
    EarlierMissing,
}

/// Holds a measured length against what is wanted. `earlier` gives a value recorded under a key.
pub fn check_value(wanted: &Wanted, measured: Length, earlier: impl Fn(&str) -> Option<Length>) -> Fits {
    let target = match &wanted.wanted {
        Target::Length(length) => *length,
        Target::SameAs(key) => match earlier(key) {
            Some(length) => length,
            None => return Fits::EarlierMissing,
        },
        Target::Recorded | Target::Words(_) | Target::Written(_) => return Fits::Recorded,
    };
    let (off, room) = (measured.minus(target), wanted.tolerance.unwrap_or_default());
    let beyond = measured.apart(target).minus(room);
    if beyond > Length::ZERO {
        Fits::No { off, beyond }
    } else {
        Fits::Yes { off }
    }
}

/// Growth of aluminium by temperature, parts in ten million a °F (handbook tables).
const ALUMINIUM: i64 = 131;
/// Growth of steel, parts in ten million a °F (from memory: about 6.5e-6).
const STEEL: i64 = 65;

/// How much longer a length of aluminium gets over a difference in temperature: L x 13.1e-6 a °F.
pub fn growth_of_aluminium(length: Length, degrees_f: i64) -> Length {
    growth(length, ALUMINIUM, degrees_f)
}

/// The same of steel, with 6.5e-6 a °F from memory.
pub fn growth_of_steel(length: Length, degrees_f: i64) -> Length {
    growth(length, STEEL, degrees_f)
}

fn growth(length: Length, parts: i64, degrees_f: i64) -> Length {
    let grown = i128::from(length.nm())
        .saturating_mul(i128::from(parts))
        .saturating_mul(i128::from(degrees_f));
    let grown = grown.checked_div(10_000_000).unwrap_or_default();
    Length::from_nm(i64::try_from(grown).unwrap_or(if grown < 0 { i64::MIN } else { i64::MAX }))
}
