//! The simple cut list of one roof section, roof or patch: which piece comes from which drop, sheet, coil or
//! bar, and at which marks of the tape.
//!
//! A drop that is enough goes first, the smallest such; then stock, again the smallest; what is left over is
//! *short* and is bought. All marks of one piece of stock run from one hook of the tape, so that errors do
//! not add up. Plans of least cost over many jobs are another computation; this one is for the bench.

use crate::Error;
use crate::measure::{Length, Unit};
use crate::rules::RoofRules;
use crate::takeoff::{RoofBody, RoofTakeoff};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// Most pieces and most holes of one list.
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

/// What a cut leaves of its piece of stock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Left {
    /// Length that is left.
    pub length: Length,
    /// Width that is left; none for bars and tape.
    pub width: Option<Length>,
    /// Kept as a drop; otherwise scrap.
    pub keep: bool,
}

/// Pieces cut from one piece of stock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Cut {
    /// The item.
    pub item: String,
    /// How many from this piece of stock.
    pub count: u32,
    /// Name of the stock.
    pub from: String,
    /// Its shelf place.
    pub place: String,
    /// Size as it is read.
    pub size: String,
    /// Marks to cut at, from one hook at the stock's end.
    pub running: Vec<Length>,
    /// Width to cut to, if the stock is wider.
    pub rip_to: Option<Length>,
    /// It lies across the stock.
    pub turned: bool,
    /// What is left.
    pub left: Vec<Left>,
}

/// What the stock does not give.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Short {
    /// The item.
    pub item: String,
    /// How many are missing.
    pub count: u32,
    /// Size as it is read.
    pub size: String,
}

/// The cut list.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, TS)]
pub struct CutList {
    /// Cuts, in the order of the needs.
    pub cuts: Vec<Cut>,
    /// What has to be bought.
    pub short: Vec<Short>,
}

/// How the shop cuts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Cutting {
    /// The unit in which sizes are read.
    pub unit: Unit,
    /// Width of a cut; nothing for shears.
    pub kerf: Length,
    /// A left-over of at least this length (and a third of it in width) is kept.
    pub keep_from: Length,
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

/// The cut list.
///
/// # Errors
/// `cut_size` for a piece or a stock without length, `cut_many` for more than 2000 pieces.
pub fn cut_list(needs: &[Need], stock: &[Stock], cutting: &Cutting) -> Result<CutList, Error> {
    check(needs, stock, cutting)?;
    let mut shelf = Shelf {
        untouched: stock.iter().map(|stock| (stock, stock.count)).collect(),
        open: Vec::new(),
        cutting,
    };
    let mut list = CutList::default();
    // Long pieces first, so that short ones find room in what is left; the list keeps the needs' order.
    let mut order: Vec<&Need> = needs.iter().collect();
    order.sort_by_key(|need| std::cmp::Reverse((need.width, need.length)));
    for need in order {
        let missing = (0..need.count).filter(|_| !shelf.take(need)).count();
        if let Some(count) = u32::try_from(missing).ok().filter(|count| *count > 0) {
            list.short.push(Short {
                item: need.item.clone(),
                count,
                size: size(need, cutting.unit),
            });
        }
    }
    for need in needs {
        list.cuts
            .extend(shelf.open.iter().filter_map(|open| open.cut(need, cutting)));
    }
    Ok(list)
}

fn check(needs: &[Need], stock: &[Stock], cutting: &Cutting) -> Result<(), Error> {
    let sound = |length: Length| length > Length::ZERO && length.is_sound();
    let fine = needs.iter().all(|n| sound(n.length) && n.width.is_none_or(sound))
        && stock.iter().all(|s| sound(s.length) && s.width.is_none_or(sound));
    if !fine || !cutting.kerf.is_sound() {
        return Err(Error::new(
            "cut_size",
            "Pieces and stock have a length (and sheet a width) over 0 and up to 100 m; the width of a \
             cut is 0 or more.",
        ));
    }
    let pieces = needs
        .iter()
        .fold(0_u32, |sum, need| sum.saturating_add(need.count));
    if pieces > MOST || stock.len() > usize::try_from(MOST).unwrap_or(usize::MAX) {
        return Err(Error::new(
            "cut_many",
            "A cut list holds up to 2000 pieces from up to 2000 kinds of stock.",
        ));
    }
    Ok(())
}

/// A piece of stock that is being cut.
struct Open<'a> {
    stock: &'a Stock,
    /// Where the next piece starts, from the hook.
    next: Length,
    /// What was cut: the need, the mark behind it, and whether it lies across.
    cuts: Vec<(&'a Need, Length, bool)>,
}

/// The stock as it is used up.
struct Shelf<'a> {
    untouched: Vec<(&'a Stock, u32)>,
    open: Vec<Open<'a>>,
    cutting: &'a Cutting,
}

impl<'a> Shelf<'a> {
    /// Cuts one piece; false if nothing is enough.
    fn take(&mut self, need: &'a Need) -> bool {
        let room = |open: &Open| open.stock.length.minus(open.next);
        let begun = self
            .open
            .iter_mut()
            .filter(|open| along(need, open.stock, room(open)).is_some());
        if let Some(open) = begun.min_by_key(|open| room(open)) {
            open.add(need, self.cutting);
            return true;
        }
        let whole = self
            .untouched
            .iter_mut()
            .filter(|(stock, count)| *count > 0 && along(need, stock, stock.length).is_some());
        // A drop before whole stock, the smallest that is enough, the first of equals.
        let Some((stock, count)) =
            whole.min_by_key(|(stock, _)| (stock.kind != StockKind::Drop, area(stock), stock.name.clone()))
        else {
            return false;
        };
        *count = count.saturating_sub(1);
        let mut open = Open {
            stock,
            next: Length::ZERO,
            cuts: Vec::new(),
        };
        open.add(need, self.cutting);
        self.open.push(open);
        true
    }
}

impl<'a> Open<'a> {
    fn add(&mut self, need: &'a Need, cutting: &Cutting) {
        let Some((long, turned)) = along(need, self.stock, self.stock.length.minus(self.next)) else {
            return;
        };
        let end = self.next.plus(long);
        self.cuts.push((need, end, turned));
        self.next = end.plus(cutting.kerf).min(self.stock.length);
    }

    /// The line of the list for one need, if any of it comes from here.
    fn cut(&self, need: &Need, cutting: &Cutting) -> Option<Cut> {
        let mine: Vec<_> = self
            .cuts
            .iter()
            .filter(|(of, _, _)| std::ptr::eq(*of, need))
            .collect();
        let (_, _, turned) = mine.first()?;
        let across = if *turned { Some(need.length) } else { need.width };
        let rip_to = across.filter(|across| self.stock.width.is_some_and(|width| width > *across));
        // What is left at the far end is told once, with the last piece that was cut here.
        let last = self.cuts.last().is_some_and(|(of, _, _)| std::ptr::eq(*of, need));
        let mut left = Vec::new();
        if last && self.next < self.stock.length {
            left.push(self.left(self.stock.length.minus(self.next), self.stock.width, cutting));
        }
        if let (Some(to), Some(width)) = (rip_to, self.stock.width) {
            let strip = width.minus(to).minus(cutting.kerf);
            let long = if *turned {
                need.width.unwrap_or_default()
            } else {
                need.length
            };
            if strip > Length::ZERO {
                left.push(self.left(long, Some(strip), cutting));
            }
        }
        Some(Cut {
            item: need.item.clone(),
            count: u32::try_from(mine.len()).unwrap_or(u32::MAX),
            from: self.stock.name.clone(),
            place: self.stock.place.clone(),
            size: size(need, cutting.unit),
            running: mine.iter().map(|(_, end, _)| *end).collect(),
            rip_to,
            turned: *turned,
            left,
        })
    }

    fn left(&self, length: Length, width: Option<Length>, cutting: &Cutting) -> Left {
        // A coil or roll goes back on the shelf whatever its rest is.
        let whole_width = width == self.stock.width;
        let long = length.max(width.unwrap_or_default());
        let wide_enough = width.is_none_or(|width| width.min(length).times(3) >= cutting.keep_from);
        let keep =
            (self.stock.kind == StockKind::Coil && whole_width) || (long >= cutting.keep_from && wide_enough);
        Left { length, width, keep }
    }
}

/// How long the piece is along the stock and whether it is turned, if it fits into a rest of this length.
fn along(need: &Need, stock: &Stock, rest: Length) -> Option<(Length, bool)> {
    let alike = need.item == stock.item && (need.thickness.is_none() || need.thickness == stock.thickness);
    if !alike {
        return None;
    }
    match (need.width, stock.width) {
        (None, None) => (need.length <= rest).then_some((need.length, false)),
        (Some(width), Some(across)) if width <= across && need.length <= rest => Some((need.length, false)),
        (Some(width), Some(across)) if need.turn && need.length <= across && width <= rest => {
            Some((width, true))
        }
        _ => None,
    }
}

fn area(stock: &Stock) -> i128 {
    i128::from(stock.length.nm()).saturating_mul(stock.width.map_or(1, |width| i128::from(width.nm())))
}

fn size(need: &Need, unit: Unit) -> String {
    let width = need
        .width
        .map(|width| format!(" by {}", width.say(unit)))
        .unwrap_or_default();
    let thick = need
        .thickness
        .map(|thick| format!(", {}", thick.say_decimal(unit)))
        .unwrap_or_default();
    format!("{}{width}{thick}", need.length.say(unit))
}
