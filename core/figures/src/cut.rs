//! What a repair needs cut, what lies on the shelf, and the hole lines of a roof repair. How the pieces are
//! cut from the stock is in [`crate::cut_plan`].

use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff::{RoofBody, RoofTakeoff};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most holes of one line.
const MOST: u32 = 2_000;

/// How a piece of stock lies on the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, TS)]
#[serde(rename_all = "snake_case")]
pub enum StockKind {
    /// A left-over that was kept.
    Drop,
    /// A whole sheet.
    Sheet,
    /// A whole bar, rail or bow.
    Bar,
    /// A coil of sheet, or a roll of tape.
    Coil,
}

/// Stock of one size.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Stock {
    /// Its id, where it has one of its own (a drop that was kept); else name and place tell it apart.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub id: String,
    /// What it is cut for: the need's item, as in `roof sheet`.
    pub item: String,
    /// Its own name.
    pub name: String,
    /// How it lies.
    pub kind: StockKind,
    /// Length of one.
    pub length: Length,
    /// Width; none for bars and tape.
    pub width: Option<Length>,
    /// Thickness; none where it does not matter.
    pub thickness: Option<Length>,
    /// Shelf place.
    pub place: String,
    /// How many there are.
    pub count: u32,
    /// Price of one, decimal text; only carried along.
    pub price: Option<String>,
    /// What the last count found more than the list says, less is negative: pieces, or nanometres of rolls and coils.
    #[serde(default, skip_serializing_if = "is_nothing")]
    #[ts(type = "number")]
    pub counted: i64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference")]
const fn is_nothing(counted: &i64) -> bool {
    *counted == 0
}

impl Stock {
    /// What it is reserved by: the same on every phone that has the same stock list.
    #[must_use]
    pub fn key(&self) -> String {
        if self.id.is_empty() {
            format!("{} · {}", self.name, self.place)
        } else {
            self.id.clone()
        }
    }
}

/// A piece that is wanted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Need {
    /// What it is: also what the stock is for.
    pub item: String,
    /// Length as cut.
    pub length: Length,
    /// Width as cut; none for bars and tape.
    pub width: Option<Length>,
    /// Thickness; none where it does not matter.
    pub thickness: Option<Length>,
    /// How many.
    pub count: u32,
    /// Whether it may lie across.
    pub turn: bool,
}

/// The measures of a roof repair that the cut list needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct RoofFacts {
    /// Sheet to cut: length and width.
    pub sheet: [Length; 2],
    /// Its thickness.
    pub thickness: Length,
    /// Length of each strip of seam tape, and how many; nothing for no seam.
    pub seam_tape: (Length, u32),
    /// Length of foam tape along each top rail.
    pub foam_tape: Length,
    /// Length of a bow, and how many are replaced.
    pub bows: (Length, u32),
    /// Length of a new nose rail, if one goes in.
    pub nose_rail: Option<Length>,
    /// Length of a new front roof bow, if one goes in.
    pub front_bow: Option<Length>,
}

impl Need {
    /// Its size as it is read: `175 in by 102 1/4 in, 0.040 in`.
    #[must_use]
    pub fn size(&self, unit: Unit) -> String {
        size(self.length, self.width, self.thickness, unit)
    }
}

/// A size as it is read.
#[must_use]
pub fn size(length: Length, width: Option<Length>, thickness: Option<Length>, unit: Unit) -> String {
    let width = width
        .map(|width| format!(" by {}", width.say(unit)))
        .unwrap_or_default();
    let thick = thickness
        .map(|thick| format!(", {}", thick.say_decimal(unit)))
        .unwrap_or_default();
    format!("{}{width}{thick}", length.say(unit))
}

impl RoofFacts {
    /// Of a roof takeoff. `nose_rail` and `front_bow` are the lengths of those that go in new.
    #[must_use]
    pub fn of(
        taken: &RoofTakeoff,
        body: &RoofBody,
        rules: &RoofRules,
        bow: Length,
        [nose_rail, front_bow]: [Option<Length>; 2],
    ) -> Self {
        let rows = rules.tape_rows.value.saturating_mul(taken.seams());
        RoofFacts {
            sheet: [
                taken.rough_length,
                taken.rough_width.unwrap_or(taken.finished_width),
            ],
            thickness: body.roof_sheet,
            seam_tape: (body.rail_width_outside, rows),
            foam_tape: taken.opened_length(body.length),
            bows: (bow, u32::try_from(taken.bows_hit.len()).unwrap_or(u32::MAX)),
            nose_rail,
            front_bow,
        }
    }
}

/// Holes along one line, all from one hook of the tape.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Marks {
    /// What the holes are for.
    pub item: String,
    /// Where the tape hooks on, and what the marks are.
    pub what: String,
    /// The marks; the first and the last are the ends of the line.
    pub running: Vec<Length>,
}

/// The hole lines of a roof repair: the rail's existing ones up to the sheet's end, and the new ones of a new
/// nose rail. A line that cannot be (no pitch, too short for its margins) is left out.
#[must_use]
pub fn roof_marks(
    taken: &RoofTakeoff,
    body: &RoofBody,
    rules: &RoofRules,
    nose_rail: Option<Length>,
) -> Vec<Marks> {
    let end = taken
        .seam_station
        .map_or(body.length, |station| station.plus(rules.seam_lap.value));
    let margin = rules.rivet_diameter.value.times(2);
    // Ahead of a front seam the old sheet is freed, and riveted again, up to there.
    let start = taken
        .front_seam_station
        .map_or(Length::ZERO, |station| station.minus(rules.seam_freed.value));
    let rail = pitched_holes(body.rail_hole_pitch, end.min(body.length)).map(|mut running| {
        running.retain(|at| *at > start);
        Marks {
            item: "rail rivets".to_owned(),
            what: "hook at the nose, existing holes of each top rail".to_owned(),
            running,
        }
    });
    let nose = nose_rail
        .and_then(|length| even_holes(length, margin, body.rail_hole_pitch))
        .map(|running| Marks {
            item: "nose rail rivets".to_owned(),
            what: "hook at the roadside end, new holes".to_owned(),
            running,
        });
    rail.into_iter().chain(nose).collect()
}

/// The pieces of a roof repair. Lengths of nothing are left out.
pub fn roof_needs(facts: &RoofFacts) -> Vec<Need> {
    let [length, width] = facts.sheet;
    let long = |item: &str, length: Length, count: u32| Need {
        item: item.to_owned(),
        length,
        width: None,
        thickness: None,
        count,
        turn: false,
    };
    let mut needs = vec![
        Need {
            item: "roof sheet".to_owned(),
            length,
            width: Some(width),
            thickness: Some(facts.thickness),
            count: 1,
            turn: false,
        },
        long("roof bow", facts.bows.0, facts.bows.1),
        long("seam tape", facts.seam_tape.0, facts.seam_tape.1),
        long("foam tape", facts.foam_tape, 2),
    ];
    needs.extend(facts.nose_rail.map(|length| long("nose rail", length, 1)));
    needs.extend(facts.front_bow.map(|length| long("front roof bow", length, 1)));
    needs.retain(|need| need.length > Length::ZERO && need.count > 0);
    needs
}

/// Marks for holes along a line, from one hook at its end: the first and the last `margin` from the ends,
/// the pitch between them even and no wider than `widest`. Each mark is worked out from the hook, so nothing
/// adds up. None where the line is shorter than both margins, or would hold more than 2000.
pub fn even_holes(length: Length, margin: Length, widest: Length) -> Option<Vec<Length>> {
    let span = length.minus(margin.times(2)).nm();
    if span < 0 || margin < Length::ZERO || widest <= Length::ZERO {
        return None;
    }
    let gaps = i128::from(span)
        .checked_add(i128::from(widest.nm()).checked_sub(1)?)?
        .checked_div(i128::from(widest.nm()))?;
    if gaps > i128::from(MOST) {
        return None;
    }
    let mark = |i: i128| {
        let along = i128::from(span).checked_mul(i)?.checked_div(gaps.max(1))?;
        Some(margin.plus(Length::from_nm(i64::try_from(along).ok()?)))
    };
    (0..=gaps).map(mark).collect()
}

/// Marks at a fixed pitch, from one hook: pitch, 2 pitch ... up to `end` (holes that are there already).
/// None for no pitch, or for more than 2000.
pub fn pitched_holes(pitch: Length, end: Length) -> Option<Vec<Length>> {
    let count = end
        .holds(pitch)
        .filter(|count| pitch > Length::ZERO && (0..=i64::from(MOST)).contains(count))?;
    Some((1..=count).map(|i| pitch.times(i)).collect())
}
