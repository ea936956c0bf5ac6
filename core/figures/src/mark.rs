//! Marks: damage put where it sits on the unfolded body, to scale, and the parts that it hits.

use crate::body::Plan;
use crate::error::Error;
use crate::measure::{Length, Unit};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A face of the body on which a mark can lie. *Inside* is three faces; the floor is walked with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Surface {
    Nose,
    Curbside,
    Rear,
    Roadside,
    Roof,
    InsideNose,
    InsideCurbside,
    InsideRoadside,
    Floor,
}

/// What is wrong, in trade words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum DamageKind {
    Hole,
    Tear,
    Crease,
    Dent,
    Bend,
    Crack,
    Gouge,
    Corrosion,
    LooseFasteners,
    Missing,
    Broken,
    Leak,
    Delamination,
    WaterStained,
}

/// Old damage and new are kept apart: it decides who pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Age {
    Old,
    New,
    NotKnown,
}

/// A rectangle on a surface. On the roof, the sides (outside and inside) and the floor `from` and `to` are
/// stations, back from the nose; on nose and rear (and the inside of the nose) they are measured from the
/// roadside edge. `low` and `high`: on walls the height above the bottom rail, on roof and floor the
/// distance from the roadside edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Place {
    /// The face.
    pub surface: Surface,
    /// Nearer end.
    pub from: Length,
    /// Farther end.
    pub to: Length,
    /// Lower edge.
    pub low: Length,
    /// Upper edge.
    pub high: Length,
}

/// A part of the body, in the trade's word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "each is its own trade word")]
pub enum Part {
    NoseWall,
    NoseRail,
    CornerPost,
    CornerCap,
    TopRail,
    BottomRail,
    RoofSheet,
    RoofBow,
    FrontRoofBow,
    RearHeader,
    RearFrame,
    SideSheet,
    SidePost,
    ScuffBand,
    Lining,
    Floor,
    Crossmember,
    Kingpin,
    LandingGear,
    MudFlap,
    RearGuard,
    Door,
    Hinge,
    Lamp,
    Harness,
    ReflectiveSheeting,
    Decal,
}

/// A part that a mark reaches, with its numbers from the nose where the part has numbers (bows, posts, sheets).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct PartHit {
    /// The part.
    pub part: Part,
    /// Its numbers, from the nose; empty where the part has none.
    pub numbers: Vec<u32>,
    /// Hidden behind the sheet: to be looked at when open, not seen yet.
    pub hidden: bool,
}

/// One mark as the figures need it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Mark {
    /// Its id, as text; figures only carry it through.
    pub id: String,
    /// Where and how large.
    pub place: Place,
    /// What is wrong.
    pub kind: DamageKind,
    /// The part it was put on.
    pub part: Part,
    /// Old or new.
    pub age: Age,
    /// How deep, or how far out of line, where somebody measured it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
}

/// How deep rails and frames reach from an edge of a surface; from memory, to be confirmed.
pub const RAIL_DEPTH: Length = Length::inches(4);

/// The walk round a unit: its stops in order, with the surfaces that are looked at there.
pub const WALK: [(&str, &[Surface]); 6] = [
    ("nose", &[Surface::Nose]),
    ("curbside", &[Surface::Curbside]),
    ("rear", &[Surface::Rear]),
    ("roadside", &[Surface::Roadside]),
    ("roof", &[Surface::Roof]),
    (
        "inside",
        &[
            Surface::InsideNose,
            Surface::InsideCurbside,
            Surface::InsideRoadside,
            Surface::Floor,
        ],
    ),
];

impl Surface {
    /// Seen only from inside.
    #[must_use]
    pub const fn is_inside(self) -> bool {
        matches!(
            self,
            Self::InsideNose | Self::InsideCurbside | Self::InsideRoadside | Self::Floor
        )
    }

    /// What its measures are taken from: along it, and up or across.
    #[must_use]
    pub const fn zeros(self) -> [&'static str; 2] {
        match self {
            Self::Roof | Self::Floor => ["from the nose", "from the roadside edge"],
            Self::Nose | Self::Rear | Self::InsideNose => ["from the roadside edge", "above the bottom rail"],
            _ => ["from the nose", "above the bottom rail"],
        }
    }

    /// A stretch along it as it is read.
    #[must_use]
    pub fn along(self, from: Length, to: Length, unit: Unit) -> String {
        format!("{} to {} {}", from.say(unit), to.say(unit), self.zeros()[0])
    }

    /// Two faces of one wall, from outside and from inside, are the same wall.
    #[must_use]
    pub fn same_wall(self, other: Self) -> bool {
        let outside = |surface| match surface {
            Self::InsideNose => Self::Nose,
            Self::InsideCurbside => Self::Curbside,
            Self::InsideRoadside => Self::Roadside,
            seen => seen,
        };
        outside(self) == outside(other)
    }

    /// The trade's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nose => "nose",
            Self::Curbside => "curbside",
            Self::Rear => "rear",
            Self::Roadside => "roadside",
            Self::Roof => "roof",
            Self::InsideNose => "inside of the nose",
            Self::InsideCurbside => "inside, curbside",
            Self::InsideRoadside => "inside, roadside",
            Self::Floor => "floor",
        }
    }

    /// The parts that a mark on this surface can be put on, the commonest first.
    #[must_use]
    pub const fn parts(self) -> &'static [Part] {
        use Part::*;
        match self {
            Self::Nose => &[
                NoseWall,
                NoseRail,
                CornerPost,
                CornerCap,
                BottomRail,
                Lamp,
                Harness,
                ReflectiveSheeting,
                Decal,
            ],
            Self::Curbside | Self::Roadside => &[
                SideSheet,
                SidePost,
                TopRail,
                BottomRail,
                CornerPost,
                RearFrame,
                LandingGear,
                MudFlap,
                Crossmember,
                Lamp,
                ReflectiveSheeting,
                Decal,
            ],
            Self::Rear => &[
                Door,
                Hinge,
                RearFrame,
                RearHeader,
                RearGuard,
                MudFlap,
                Lamp,
                Harness,
                ReflectiveSheeting,
                Decal,
            ],
            Self::Roof => &[
                RoofSheet,
                RoofBow,
                FrontRoofBow,
                NoseRail,
                TopRail,
                CornerCap,
                RearHeader,
                Lamp,
                Harness,
            ],
            Self::InsideNose => &[Lining, NoseWall, Harness],
            Self::InsideCurbside | Self::InsideRoadside => &[Lining, ScuffBand, SidePost],
            Self::Floor => &[Floor, Crossmember, Kingpin],
        }
    }
}

impl DamageKind {
    /// The trade's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::Tear => "tear",
            Self::Crease => "crease",
            Self::Dent => "dent",
            Self::Bend => "bend",
            Self::Crack => "crack",
            Self::Gouge => "gouge",
            Self::Corrosion => "corrosion",
            Self::LooseFasteners => "loose fasteners",
            Self::Missing => "missing",
            Self::Broken => "broken",
            Self::Leak => "leak",
            Self::Delamination => "delamination",
            Self::WaterStained => "water-stained",
        }
    }
}

impl Part {
    /// The trade's word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NoseWall => "nose wall",
            Self::NoseRail => "nose rail",
            Self::CornerPost => "corner post",
            Self::CornerCap => "corner cap",
            Self::TopRail => "top rail",
            Self::BottomRail => "bottom rail",
            Self::RoofSheet => "roof sheet",
            Self::RoofBow => "roof bow",
            Self::FrontRoofBow => "front roof bow",
            Self::RearHeader => "rear header",
            Self::RearFrame => "rear frame",
            Self::SideSheet => "side sheet",
            Self::SidePost => "side post",
            Self::ScuffBand => "scuff band",
            Self::Lining => "lining",
            Self::Floor => "floor",
            Self::Crossmember => "crossmember",
            Self::Kingpin => "kingpin",
            Self::LandingGear => "landing gear",
            Self::MudFlap => "mud flap",
            Self::RearGuard => "rear guard",
            Self::Door => "door",
            Self::Hinge => "hinge",
            Self::Lamp => "lamp",
            Self::Harness => "harness",
            Self::ReflectiveSheeting => "reflective sheeting",
            Self::Decal => "decal",
        }
    }
}

impl Place {
    /// As it is typed: `curbside 120 in to 132 in, 40 in to 52 in`.
    #[must_use]
    pub fn say(&self, unit: Unit) -> String {
        let [from, to, low, high] = [self.from, self.to, self.low, self.high].map(|at| at.say(unit));
        format!("{} {from} to {to}, {low} to {high}", self.surface.word())
    }

    /// As it is read, with what each measure is taken from: `curbside, 120 in to 132 in from the nose, 40 in to 52 in above
    /// the bottom rail`.
    #[must_use]
    pub fn said(&self, unit: Unit) -> String {
        format!(
            "{}, {}, {}",
            self.surface.word(),
            self.along(unit),
            self.across(unit)
        )
    }

    /// Its ends, with what they are measured from.
    #[must_use]
    pub fn along(&self, unit: Unit) -> String {
        self.surface.along(self.from, self.to, unit)
    }

    /// The same of its edges: heights, or offsets on roof and floor.
    #[must_use]
    pub fn across(&self, unit: Unit) -> String {
        let (low, high, from) = (self.low.say(unit), self.high.say(unit), self.surface.zeros()[1]);
        format!("{low} to {high} {from}")
    }

    /// Whether the place lies on its surface of this body.
    ///
    /// # Errors
    /// Ends in the wrong order, or outside the surface, with a pointer such as `/to`.
    pub fn check(&self, plan: &Plan) -> Result<(), Error> {
        let (reach, other) = plan.extent(self.surface);
        let pairs = [
            ("to", self.from, self.to, reach),
            ("high", self.low, self.high, other),
        ];
        for (name, near, far, most) in pairs {
            if near > far || !near.is_sound() {
                let sentence = format!(
                    "On the {}, the nearer end comes first and neither end is below 0: “{name}” is nearer than the end before it.",
                    self.surface.word()
                );
                return Err(Error::new("place_order", sentence).at(format!("/{name}")));
            }
            if far > most {
                let [inches, millimetres] = [Unit::In, Unit::Mm].map(|unit| most.say(unit));
                let sentence = format!(
                    "The {} of this unit ends before that: {inches} ({millimetres}) is the most that is accepted for “{name}”.",
                    self.surface.word()
                );
                return Err(Error::new("place_outside", sentence).at(format!("/{name}")));
            }
        }
        Ok(())
    }
}

/// The parts that a mark reaches: first the one it was put on, then what lies under its outline, what is
/// behind the sheet being hidden until it is opened. Depths of rails are from memory ([`RAIL_DEPTH`]).
#[must_use]
pub fn parts_hit(plan: &Plan, mark: &Mark) -> Vec<PartHit> {
    let mut hits = Hits {
        plan,
        place: mark.place,
        found: Vec::new(),
    };
    hits.put(mark.part, &hits.numbers_of(mark.part), false);
    if let Some(held_by) = fitting(mark.part) {
        for (part, hidden) in held_by {
            hits.put(*part, &[], *hidden);
        }
        return hits.found;
    }
    match mark.place.surface {
        Surface::Roof => hits.roof(),
        Surface::Curbside | Surface::Roadside => hits.side(),
        Surface::Nose => hits.nose(),
        Surface::Rear => hits.rear(),
        Surface::InsideNose | Surface::InsideCurbside | Surface::InsideRoadside | Surface::Floor => {
            hits.inside()
        }
    }
    hits.found
}

/// What a fitting is held by or fed from, hidden or not; none for parts of the body itself. Damage that is put on a fitting is
/// its own: whoever sees that the sheet or the door behind it is hurt as well marks that (common practice).
const fn fitting(part: Part) -> Option<&'static [(Part, bool)]> {
    match part {
        Part::Lamp => Some(&[(Part::Harness, true)]),
        Part::RearGuard => Some(&[(Part::RearFrame, false)]),
        Part::Hinge => Some(&[(Part::Door, false), (Part::RearFrame, false)]),
        Part::MudFlap | Part::LandingGear => Some(&[(Part::Crossmember, true)]),
        Part::ReflectiveSheeting | Part::Decal => Some(&[]),
        _ => None,
    }
}

struct Hits<'a> {
    plan: &'a Plan,
    place: Place,
    found: Vec<PartHit>,
}

impl Hits<'_> {
    fn put(&mut self, part: Part, numbers: &[u32], hidden: bool) {
        if !self.found.iter().any(|hit| hit.part == part) {
            self.found.push(PartHit {
                part,
                numbers: numbers.to_vec(),
                hidden,
            });
        }
    }

    fn put_if(&mut self, reached: bool, part: Part, hidden: bool) {
        if reached {
            self.put(part, &[], hidden);
        }
    }

    /// Numbers of the stations that lie under the mark.
    fn under(&self, stations: &[Length]) -> Vec<u32> {
        let hit = |at: &Length| *at >= self.place.from && *at <= self.place.to;
        (1..)
            .zip(stations)
            .filter(|(_, at)| hit(at))
            .map(|(number, _)| number)
            .collect()
    }

    /// Numbers of the side sheets under the mark; sheet 1 ends at the first joint.
    fn sheets(&self) -> Vec<u32> {
        let ends = self.plan.side_joints.iter().copied().chain([self.plan.length]);
        let starts = [Length::ZERO]
            .into_iter()
            .chain(self.plan.side_joints.iter().copied());
        let hit = |(start, end): &(Length, Length)| *start <= self.place.to && *end >= self.place.from;
        (1..)
            .zip(starts.zip(ends))
            .filter(|(_, sheet)| hit(sheet))
            .map(|(number, _)| number)
            .collect()
    }

    fn numbers_of(&self, part: Part) -> Vec<u32> {
        match part {
            Part::RoofBow => self.under(&self.plan.bows),
            Part::SidePost => self.under(self.plan.side_posts()),
            Part::SideSheet => self.sheets(),
            _ => Vec::new(),
        }
    }

    fn near_start(&self) -> bool {
        self.place.from < RAIL_DEPTH
    }

    fn near_end(&self) -> bool {
        let (reach, _) = self.plan.extent(self.place.surface);
        self.place.to > reach.minus(RAIL_DEPTH)
    }

    fn near_low(&self) -> bool {
        self.place.low < RAIL_DEPTH
    }

    fn near_high(&self) -> bool {
        let (_, reach) = self.plan.extent(self.place.surface);
        self.place.high > reach.minus(RAIL_DEPTH)
    }

    fn roof(&mut self) {
        let rail = self.near_low() || self.near_high();
        let bows = self.under(&self.plan.bows);
        self.put(Part::RoofSheet, &[], false);
        if !bows.is_empty() {
            self.put(Part::RoofBow, &bows, true);
        }
        self.put_if(self.near_start(), Part::NoseRail, false);
        self.put_if(self.near_start(), Part::FrontRoofBow, true);
        self.put_if(rail, Part::TopRail, false);
        self.put_if(rail && self.near_start(), Part::CornerCap, false);
        self.put_if(self.near_end(), Part::RearHeader, false);
        self.put_if(self.near_start(), Part::Harness, true);
    }

    fn side(&mut self) {
        let (sheets, posts) = (self.sheets(), self.under(self.plan.side_posts()));
        self.put(Part::SideSheet, &sheets, false);
        if !posts.is_empty() {
            self.put(Part::SidePost, &posts, true);
        }
        self.put_if(self.near_high(), Part::TopRail, false);
        self.put_if(self.near_low(), Part::BottomRail, false);
        self.put_if(self.near_start(), Part::CornerPost, false);
        self.put_if(self.near_end(), Part::RearFrame, false);
        self.put(Part::Lining, &[], true);
    }

    fn nose(&mut self) {
        self.put(Part::NoseWall, &[], false);
        self.put_if(self.near_high(), Part::NoseRail, false);
        self.put_if(self.near_start() || self.near_end(), Part::CornerPost, false);
        self.put_if(self.near_low(), Part::BottomRail, false);
        self.put(Part::Lining, &[], true);
        self.put(Part::Harness, &[], true);
    }

    fn rear(&mut self) {
        let edge = self.near_start() || self.near_end();
        self.put_if(edge || self.near_low(), Part::RearFrame, false);
        self.put_if(edge, Part::Hinge, false);
        self.put_if(self.near_high(), Part::RearHeader, false);
        self.put_if(!edge, Part::Door, false);
    }

    fn inside(&mut self) {
        if self.place.surface == Surface::Floor {
            self.put(Part::Floor, &[], false);
            self.put(Part::Crossmember, &[], true);
            return;
        }
        self.put(Part::Lining, &[], false);
        let posts = self.under(self.plan.side_posts());
        if self.place.surface == Surface::InsideNose {
            self.put(Part::NoseWall, &[], true);
        } else if !posts.is_empty() {
            self.put(Part::SidePost, &posts, true);
        }
    }
}

#[cfg(test)]
#[path = "mark_tests.rs"]
mod tests;
