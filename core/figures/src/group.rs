//! Marks grouped into what is fixed together: everything of the open roof is one group, each other mark is
//! its own. And what is known of a group before a way is chosen.

use crate::body::Plan;
use crate::error::Error;
use crate::mark::{DamageKind, Mark, Part, Surface};
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::side_patch::SideWay;
use crate::takeoff::{Damage, RoofBody, RoofTakeoff, RoofWay, roof_way};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// The roof group's name.
pub const ROOF: &str = "roof";

/// A way of fixing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum WayKey {
    /// A lapped patch on each mark.
    Patch,
    /// A front section, its seam over a sound bow.
    FrontSection,
    /// A middle section between two seams, each over a sound bow.
    MiddleSection,
    /// A rear section, its seam over a sound bow ahead of the damage.
    RearSection,
    /// Two sections with old roof between them, each over its own damage.
    TwoSections,
    /// The whole roof.
    WholeRoof,
    /// A lapped patch on a side sheet.
    SidePatch,
    /// A section of a side sheet from post to post.
    SideSection,
    /// Whole side sheets, from joint to joint.
    WholeSideSheet,
    /// Loose fasteners set anew, a worn hole in the next size.
    Refasten,
    /// A leak found and sealed anew.
    Reseal,
    /// Wet layers dried and looked at.
    DryOut,
    /// A worn place dressed and coated.
    Dress,
    /// Straightened cold, within the shop's limit.
    Straighten,
    /// A new hinge pin.
    NewPin,
    /// A new door gasket.
    NewGasket,
    /// A lapped patch on nose wall or door.
    LappedPatch,
    /// A piece over the cut-out, fastened each side of it.
    Splice,
    /// A new section of the part, from post to post or crossmember to crossmember.
    NewSection,
    /// A new part beside the old one, which stays.
    Sister,
    /// The whole part new.
    Replace,
    /// Nothing is done: it is whole, keeps water out and carries nothing.
    LeaveIt,
    /// Hours and material that a technician enters.
    ByHand,
    /// Nothing is figured before the maker's instruction is there.
    AskTheMaker,
}

impl WayKey {
    /// All of them.
    pub const ALL: [Self; 24] = [
        Self::Patch,
        Self::FrontSection,
        Self::MiddleSection,
        Self::RearSection,
        Self::TwoSections,
        Self::WholeRoof,
        Self::SidePatch,
        Self::SideSection,
        Self::WholeSideSheet,
        Self::Refasten,
        Self::Reseal,
        Self::DryOut,
        Self::Dress,
        Self::Straighten,
        Self::NewPin,
        Self::NewGasket,
        Self::LappedPatch,
        Self::Splice,
        Self::NewSection,
        Self::Sister,
        Self::Replace,
        Self::LeaveIt,
        Self::ByHand,
        Self::AskTheMaker,
    ];

    /// Its name in stored entries.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Patch => "patch",
            Self::FrontSection => "front_section",
            Self::MiddleSection => "middle_section",
            Self::RearSection => "rear_section",
            Self::TwoSections => "two_sections",
            Self::WholeRoof => "whole_roof",
            Self::SidePatch => "side_patch",
            Self::SideSection => "side_section",
            Self::WholeSideSheet => "whole_side_sheet",
            Self::Refasten => "refasten",
            Self::Reseal => "reseal",
            Self::DryOut => "dry_out",
            Self::Dress => "dress",
            Self::Straighten => "straighten",
            Self::NewPin => "new_pin",
            Self::NewGasket => "new_gasket",
            Self::LappedPatch => "lapped_patch",
            Self::Splice => "splice",
            Self::NewSection => "new_section",
            Self::Sister => "sister",
            Self::Replace => "replace",
            Self::LeaveIt => "leave_it",
            Self::ByHand => "by_hand",
            Self::AskTheMaker => "ask_the_maker",
        }
    }

    /// Whether it is a way of [`crate::parts`].
    #[must_use]
    pub const fn is_of_parts(self) -> bool {
        matches!(
            self,
            Self::Refasten
                | Self::Reseal
                | Self::DryOut
                | Self::Dress
                | Self::Straighten
                | Self::NewPin
                | Self::NewGasket
                | Self::LappedPatch
                | Self::Splice
                | Self::NewSection
                | Self::Sister
                | Self::Replace
        )
    }

    /// By its name.
    #[must_use]
    pub fn by_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|way| way.key() == key)
    }

    /// Whether it opens the roof.
    #[must_use]
    pub const fn opens_the_roof(self) -> bool {
        matches!(self, Self::TwoSections) || self.roof_way().is_some()
    }

    /// How it opens the roof in one piece; none for a way that does not.
    #[must_use]
    pub const fn roof_way(self) -> Option<RoofWay> {
        match self {
            Self::FrontSection => Some(RoofWay::Section),
            Self::MiddleSection => Some(RoofWay::MiddleSection),
            Self::RearSection => Some(RoofWay::RearSection),
            Self::WholeRoof => Some(RoofWay::WholeRoof),
            _ => None,
        }
    }

    /// How it mends a side sheet; none for a way that does not.
    #[must_use]
    pub const fn side_way(self) -> Option<SideWay> {
        match self {
            Self::SidePatch => Some(SideWay::Patch),
            Self::SideSection => Some(SideWay::Section),
            Self::WholeSideSheet => Some(SideWay::WholeSheet),
            _ => None,
        }
    }
}

/// Marks that are fixed together.
#[derive(Debug, Clone)]
pub struct Together<'a> {
    /// `roof`, or the mark's id.
    pub key: String,
    /// As it is read.
    pub title: String,
    /// The marks.
    pub marks: Vec<&'a Mark>,
}

impl Together<'_> {
    /// Whether it is the roof.
    #[must_use]
    pub fn is_roof(&self) -> bool {
        self.key == ROOF
    }
}

/// Whether a part is mended with the roof.
#[must_use]
pub const fn of_the_roof(part: Part) -> bool {
    matches!(
        part,
        Part::RoofSheet | Part::RoofBow | Part::FrontRoofBow | Part::NoseRail | Part::CornerCap
    )
}

/// Groups the marks, the roof first, the others in their order.
#[must_use]
pub fn groups(marks: &[Mark]) -> Vec<Together<'_>> {
    let (roof, others): (Vec<&Mark>, Vec<&Mark>) = marks.iter().partition(|mark| of_the_roof(mark.part));
    let mut groups = Vec::new();
    if !roof.is_empty() {
        let mut words: Vec<(String, usize)> = Vec::new();
        for word in roof.iter().map(|mark| said(mark)) {
            match words.iter_mut().find(|(known, _)| *known == word) {
                Some((_, count)) => *count = count.saturating_add(1),
                None => words.push((word, 1)),
            }
        }
        let words: Vec<String> = words
            .into_iter()
            .map(|(word, count)| {
                if count > 1 {
                    format!("{word} in {count} places")
                } else {
                    word
                }
            })
            .collect();
        groups.push(Together {
            key: ROOF.to_owned(),
            title: format!("Roof: {}", words.join(", ")),
            marks: roof,
        });
    }
    groups.extend(others.into_iter().map(|mark| Together {
        key: mark.id.clone(),
        title: said(mark),
        marks: vec![mark],
    }));
    groups
}

/// Part, surface and damage of a mark, as it is read.
#[must_use]
pub fn said(mark: &Mark) -> String {
    let (part, kind) = (mark.part.word(), mark.kind.word());
    let surface = mark.place.surface.word();
    if part == surface || part.starts_with(surface) {
        format!("{part}, {kind}")
    } else {
        format!("{part} ({surface}), {kind}")
    }
}

/// What the roof group comes to, whichever way it is opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoofJob {
    from: Length,
    to: Length,
    sound: Vec<u32>,
    /// A new nose rail goes in.
    pub nose_rail: bool,
    /// A new front bow goes in.
    pub front_bow: bool,
    /// New corner caps.
    pub corner_caps: u32,
}

/// Where a mark of the roof group lies along the roof: what is marked on the nose lies at its front end.
pub(crate) const fn reach(mark: &Mark) -> (Length, Length) {
    match mark.place.surface {
        Surface::Roof => (mark.place.from, mark.place.to),
        _ => (Length::ZERO, Length::ZERO),
    }
}

impl RoofJob {
    /// Of the marks of the roof group.
    #[must_use]
    pub fn of(plan: &Plan, marks: &[&Mark]) -> Self {
        let reaches: Vec<(Length, Length)> = marks.iter().map(|mark| reach(mark)).collect();
        // Where somebody has marked bows under torn sheet, the bows there were looked at: those without a mark are
        // sound until the sheet is off.
        let bows = |mark: &Mark| mark.part == Part::RoofBow;
        let meet = |(from, to): (Length, Length), (start, end): (Length, Length)| from <= end && start <= to;
        let looked_at = |mark: &Mark| {
            let mut marked = marks.iter().filter(|other| bows(other));
            marked.any(|other| meet(reach(other), reach(mark)))
        };
        let bow_reaches: Vec<(Length, Length)> = marks
            .iter()
            .filter(|mark| bows(mark) || !looked_at(mark))
            .map(|mark| reach(mark))
            .collect();
        let hit = |at: Length| bow_reaches.iter().any(|(from, to)| at >= *from && at <= *to);
        let has = |part: Part| marks.iter().any(|mark| mark.part == part);
        let nose_rail = has(Part::NoseRail);
        let caps = marks.iter().filter(|mark| mark.part == Part::CornerCap).count();
        Self {
            from: reaches
                .iter()
                .map(|(from, _)| *from)
                .min()
                .unwrap_or_default()
                .min(plan.length),
            to: reaches
                .iter()
                .map(|(_, to)| *to)
                .max()
                .unwrap_or_default()
                .min(plan.length),
            sound: (1_u32..)
                .zip(&plan.bows)
                .filter(|(_, at)| !hit(**at))
                .map(|(number, _)| number)
                .collect(),
            nose_rail,
            // The front bow goes in with a nose rail (common practice).
            front_bow: nose_rail || has(Part::FrontRoofBow),
            corner_caps: if nose_rail {
                2
            } else {
                u32::try_from(caps).unwrap_or(2).min(2)
            },
        }
    }

    /// The takeoff of a way of opening the roof.
    ///
    /// # Errors
    /// A plan that cannot be worked with. Inside: why the way does not fit, in sentences.
    pub fn takeoff(
        &self,
        plan: &Plan,
        way: RoofWay,
        rules: &RoofRules,
        unit: Unit,
    ) -> Result<Result<RoofTakeoff, Vec<String>>, Error> {
        if !way.reaches_the_nose() && (self.front_bow || self.corner_caps > 0) {
            let why =
                "Nose rail, front roof bow or corner caps are renewed: the roof has to be open at the nose.";
            return Ok(Err(vec![why.to_owned()]));
        }
        // Between two marks nothing is hit: the bows that are lie in the list, not in the span.
        let damage = Damage {
            from: self.from,
            to: self.to,
            sound: Some(&self.sound),
            scattered: true,
        };
        roof_way(&RoofBody::of(plan), &damage, way, rules, unit)
    }
}

/// Whether a mark may stay as it is: a dent, a crease or a gouge of a sheet that has no hole and carries no rail.
#[must_use]
pub const fn may_stay(mark: &Mark) -> bool {
    matches!(
        mark.kind,
        DamageKind::Dent | DamageKind::Crease | DamageKind::Gouge
    ) && matches!(
        mark.part,
        Part::SideSheet | Part::NoseWall | Part::Door | Part::ScuffBand | Part::Lining | Part::MudFlap
    )
}

/// Why a mark has to wait for the maker's instruction; none if it does not.
#[must_use]
pub const fn asks_the_maker(mark: &Mark) -> Option<&'static str> {
    use DamageKind::{
        Bend, Broken, Corrosion, Crack, Crease, Delamination, Dent, Gouge, Hole, Leak, LooseFasteners,
        Missing, Tear, WaterStained,
    };
    match (mark.part, mark.kind) {
        (Part::TopRail | Part::BottomRail, Crack | Bend | Broken | Tear | Missing) => Some(
            "A rail that is cracked, bent or torn carries the body. It is not straightened with heat or welded here: the maker says how, and only qualified people weld.",
        ),
        (Part::BottomRail, Hole | Dent | Crease) => {
            Some("A section of bottom rail carries the floor: it is cut and joined only as the maker says.")
        }
        (Part::CornerPost, Crack) => Some(
            "A crack in a corner post runs on under rails and plates: the maker says how the corner is mended, and only qualified people weld.",
        ),
        (
            Part::RearGuard,
            Crack | Tear | Hole | Gouge | Corrosion | LooseFasteners | Leak | WaterStained | Delamination,
        ) => Some(
            "A cracked, rusted or loose rear guard, its bolts and brackets: only as the maker says; its label is kept (49 CFR 393.86, 571.223).",
        ),
        (Part::RearHeader, Leak | WaterStained) => None,
        (Part::RearFrame | Part::RearHeader, _) => Some(
            "The rear frame with its header is structure (49 CFR 393.201): no welding or holes but as the maker says.",
        ),
        (Part::Kingpin, _) => {
            Some("The kingpin and its plate carry the unit: only as the maker says, by qualified people.")
        }
        (Part::LandingGear, _) => {
            Some("The landing gear carries the unit when it stands: only as the maker says.")
        }
        (Part::Crossmember, _) => {
            Some("A crossmember is frame (49 CFR 393.201): no welding or holes but as the maker says.")
        }
        _ => None,
    }
}

/// Why no joint is figured on a side sheet of this body; none if it is.
#[must_use]
pub fn composite_side(plan: &Plan, mark: &Mark) -> Option<&'static str> {
    (plan.composite_sides && matches!(mark.part, Part::SideSheet | Part::NoseWall)).then_some(
        "The walls are composite plate: no solid-rivet joint is figured there, the maker's data decide. Not worked \
         out without them: size limit and shape of a patch, lap, kind, size and pitch of the fasteners and their \
         distance from the edge, how the core's edge is closed and bonded, strength, hours and price.",
    )
}
