//! The fold-out: the body unfolded along its edges like a sheet-metal development, nose up. The roof lies in the
//! middle, roadside on its left and curbside on its right (each seen from outside), the nose wall above, the
//! rear below; on the inside sheet the floor lies in the middle between its linings.
//!
//! The drawing has the unit's own measure (nanometres), x to the right and y down, so that a mark on it is to
//! scale, and a tap on it is a station and a height.

use crate::body::Plan;
use crate::mark::{Place, Surface};
use crate::measure::{Length, Unit};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A line to draw on the fold-out, in the fold-out's own coordinates (x to the right, y down, nose up).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Drawn {
    /// What it is: `bow`, `post`, `rail`, `sheet_joint`, `roof_seam`, `door`.
    pub what: String,
    /// Its number from the nose, where it has one.
    pub number: Option<u32>,
    /// Ends: x1, y1, x2, y2.
    pub line: [Length; 4],
}

/// One face of the fold-out: where it lies, and how its own measures run there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Face {
    /// Which face.
    pub surface: Surface,
    /// Left, top, width, height in the fold-out.
    pub rect: [Length; 4],
}

/// The body unfolded: faces and lines of one sheet (outside, or inside).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct FoldOut {
    /// Width and height of the whole drawing.
    pub size: [Length; 2],
    /// The faces.
    pub faces: Vec<Face>,
    /// Bows, posts, rails, joints.
    pub lines: Vec<Drawn>,
}

/// How a face's own measures run on the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Run {
    /// Stations (`from`, `to`) run down; else they run to the right, from the roadside edge.
    stations_down: bool,
    /// The other measure (`low`, `high`) runs against its axis.
    turned: bool,
}

impl Run {
    const fn of(surface: Surface) -> Self {
        let (stations_down, turned) = match surface {
            Surface::Roof | Surface::Floor | Surface::Roadside | Surface::InsideCurbside => (true, false),
            Surface::Curbside | Surface::InsideRoadside => (true, true),
            Surface::Nose => (false, false),
            Surface::Rear | Surface::InsideNose => (false, true),
        };
        Self {
            stations_down,
            turned,
        }
    }
}

/// Unfolds a body: its outside, or its inside.
#[must_use]
pub fn fold_out(plan: &Plan, inside: bool) -> FoldOut {
    let (length, width, height) = (plan.length, plan.width, plan.side_height);
    let zero = Length::ZERO;
    let right = height.plus(width);
    let [nose, middle, left, curb] = if inside {
        [
            Surface::InsideNose,
            Surface::Floor,
            Surface::InsideRoadside,
            Surface::InsideCurbside,
        ]
    } else {
        [Surface::Nose, Surface::Roof, Surface::Roadside, Surface::Curbside]
    };
    let face = |surface, rect| Face { surface, rect };
    let mut faces = vec![
        face(nose, [height, zero, width, height]),
        face(left, [zero, height, height, length]),
        face(middle, [height, height, width, length]),
        face(curb, [right, height, height, length]),
    ];
    let rear_height = if inside { zero } else { height };
    if !inside {
        faces.push(face(Surface::Rear, [height, height.plus(length), width, height]));
    }
    let size = [right.plus(height), height.plus(length).plus(rear_height)];
    let mut sheet = FoldOut {
        size,
        faces,
        lines: Vec::new(),
    };
    sheet.lines = if inside {
        inside_lines(plan, &sheet)
    } else {
        outside_lines(plan, &sheet)
    };
    sheet
}

fn outside_lines(plan: &Plan, sheet: &FoldOut) -> Vec<Drawn> {
    let mut lines = Vec::new();
    for (what, stations) in [("bow", &plan.bows), ("roof_seam", &plan.roof_seams)] {
        lines.extend(sheet.across(Surface::Roof, what, stations));
    }
    for side in [Surface::Roadside, Surface::Curbside] {
        for (what, stations) in [
            ("post", plan.side_posts()),
            ("sheet_joint", plan.side_joints.as_slice()),
        ] {
            lines.extend(sheet.across(side, what, stations));
        }
        lines.extend(sheet.along(side, "rail", Length::ZERO));
        lines.extend(sheet.along(side, "rail", plan.side_height));
    }
    lines.extend(
        plan.earlier_patches
            .iter()
            .flat_map(|patch| sheet.outline("earlier_patch", patch)),
    );
    // Nose rail and rear header are the roof's ends; the doors meet in the middle of the rear.
    lines.extend(sheet.across(Surface::Roof, "rail", &[Length::ZERO]));
    lines.extend(sheet.across(Surface::Roof, "rail", &[plan.length]));
    let middle = plan.width.part(2).unwrap_or_default();
    lines.extend(sheet.across(Surface::Rear, "door", &[middle]));
    for line in lines
        .iter_mut()
        .filter(|line| !matches!(line.what.as_str(), "bow" | "post" | "sheet_joint" | "roof_seam"))
    {
        line.number = None;
    }
    lines
}

fn inside_lines(plan: &Plan, sheet: &FoldOut) -> Vec<Drawn> {
    let mut lines = Vec::new();
    for side in [Surface::InsideRoadside, Surface::InsideCurbside] {
        lines.extend(sheet.across(side, "post", plan.side_posts()));
    }
    lines
}

impl FoldOut {
    fn face(&self, surface: Surface) -> Option<&Face> {
        self.faces.iter().find(|face| face.surface == surface)
    }

    /// Left, top, width and height of a place on the drawing; none if its surface is on the other sheet.
    #[must_use]
    pub fn to_drawing(&self, place: &Place) -> Option<[Length; 4]> {
        let face = self.face(place.surface)?;
        let [left, top, width, height] = face.rect;
        let run = Run::of(place.surface);
        let (along, across) = (place.to.minus(place.from), place.high.minus(place.low));
        let reach = if run.stations_down { width } else { height };
        let start = if run.turned {
            reach.minus(place.high)
        } else {
            place.low
        };
        Some(if run.stations_down {
            [left.plus(start), top.plus(place.from), across, along]
        } else {
            [left.plus(place.from), top.plus(start), along, across]
        })
    }

    /// What lies at a point of the drawing: the surface, the station (or the distance from the roadside edge on
    /// nose and rear), and the height (or the distance from the roadside edge on roof and floor).
    #[must_use]
    pub fn from_drawing(&self, x: Length, y: Length) -> Option<(Surface, Length, Length)> {
        let within = |at: Length, start: Length, size: Length| at >= start && at <= start.plus(size);
        let holds = |face: &&Face| {
            let [left, top, width, height] = face.rect;
            within(x, left, width) && within(y, top, height)
        };
        let face = self.faces.iter().find(holds)?;
        let [left, top, width, height] = face.rect;
        let run = Run::of(face.surface);
        let (right, down) = (x.minus(left), y.minus(top));
        let (along, across, reach) = if run.stations_down {
            (down, right, width)
        } else {
            (right, down, height)
        };
        Some((
            face.surface,
            along,
            if run.turned { reach.minus(across) } else { across },
        ))
    }

    /// Lines across a face at stations, numbered from 1.
    fn across(&self, surface: Surface, what: &str, stations: &[Length]) -> Vec<Drawn> {
        let Some(face) = self.face(surface) else {
            return Vec::new();
        };
        let [left, top, width, height] = face.rect;
        let down = Run::of(surface).stations_down;
        let line = |at: Length| {
            if down {
                [left, top.plus(at), left.plus(width), top.plus(at)]
            } else {
                [left.plus(at), top, left.plus(at), top.plus(height)]
            }
        };
        let drawn = |(number, at): (u32, &Length)| Drawn {
            what: what.to_owned(),
            number: Some(number),
            line: line(*at),
        };
        (1..).zip(stations).map(drawn).collect()
    }

    /// The four edges of a place; none if it is on the other sheet.
    fn outline(&self, what: &str, place: &Place) -> Vec<Drawn> {
        let Some([left, top, width, height]) = self.to_drawing(place) else {
            return Vec::new();
        };
        let (right, bottom) = (left.plus(width), top.plus(height));
        let edges = [
            [left, top, right, top],
            [right, top, right, bottom],
            [left, bottom, right, bottom],
            [left, top, left, bottom],
        ];
        let drawn = |line| Drawn {
            what: what.to_owned(),
            number: None,
            line,
        };
        edges.into_iter().map(drawn).collect()
    }

    /// A line along a whole side at a height.
    fn along(&self, surface: Surface, what: &str, height: Length) -> Option<Drawn> {
        let [_, _, _, length] = self.face(surface)?.rect;
        let place = Place {
            surface,
            from: Length::ZERO,
            to: length,
            low: height,
            high: height,
        };
        let [left, top, width, height] = self.to_drawing(&place)?;
        Some(Drawn {
            what: what.to_owned(),
            number: None,
            line: [left, top, left.plus(width), top.plus(height)],
        })
    }
}

/// A place with its edges drawn to what is near: bows, posts, joints and the edges of the surface; else to a
/// whole inch or centimetre: a finger is no tape. Also says what it was drawn to.
#[must_use]
pub fn snap(plan: &Plan, place: &Place, within: Length, unit: Unit) -> (Place, Vec<String>) {
    let (reach, other) = plan.extent(place.surface);
    let edges = |[near, far]: [&str; 2], reach: Length| {
        vec![(near.to_owned(), Length::ZERO), (far.to_owned(), reach)]
    };
    let roadside_first = ["roadside edge", "curbside edge"];
    let [along, up] = place.surface.zeros();
    let mut stations = match along {
        "from the nose" => edges(["nose end", "rear end"], reach),
        _ => edges(roadside_first, reach),
    };
    let numbered = |word: &str, list: &[Length]| -> Vec<(String, Length)> {
        (1..)
            .zip(list)
            .map(|(i, at): (u32, &Length)| (format!("{word} {i}"), *at))
            .collect()
    };
    match place.surface {
        Surface::Roof => stations.extend(numbered("bow", &plan.bows)),
        Surface::Roadside | Surface::Curbside | Surface::InsideRoadside | Surface::InsideCurbside => {
            stations.extend(numbered("post", plan.side_posts()));
        }
        _ => {}
    }
    let heights = match up {
        "above the bottom rail" => edges(["lower edge", "upper edge"], other),
        _ => edges(roadside_first, other),
    };
    let mut words = Vec::new();
    let whole = match unit {
        Unit::In => Length::inches(1),
        Unit::Mm => Length::mm(10),
    };
    let mut to = |at: Length, marks: &[(String, Length)], (reach, from): (Length, &str)| {
        let near = marks
            .iter()
            .filter(|(_, mark)| mark.apart(at) <= within)
            .min_by_key(|(_, mark)| mark.apart(at));
        if let Some((word, mark)) = near {
            let said = format!("{word}, {} {from}", mark.say(unit));
            if !words.contains(&said) {
                words.push(said);
            }
            return *mark;
        }
        rounded(at, whole).max(Length::ZERO).min(reach)
    };
    let (mut from, mut until) = (
        to(place.from, &stations, (reach, along)),
        to(place.to, &stations, (reach, along)),
    );
    let (mut low, mut high) = (
        to(place.low, &heights, (other, up)),
        to(place.high, &heights, (other, up)),
    );
    // Two edges that are drawn to the same line would leave nothing: then they stay about where they were, an inch
    // or a centimetre long at least.
    let about = |one: Length, two: Length, reach: Length| {
        let from = rounded(one, whole).min(reach.minus(whole)).max(Length::ZERO);
        (from, rounded(two, whole).max(from.plus(whole)).min(reach))
    };
    if from == until && place.from != place.to {
        (from, until) = about(place.from, place.to, reach);
    }
    if low == high && place.low != place.high {
        (low, high) = about(place.low, place.high, other);
    }
    (
        Place {
            surface: place.surface,
            from,
            to: until,
            low,
            high,
        },
        words,
    )
}

fn rounded(length: Length, step: Length) -> Length {
    let half = step.part(2).unwrap_or_default();
    step.times(length.plus(half).holds(step).unwrap_or_default())
}
